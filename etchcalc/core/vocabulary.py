"""Every physical quantity of the trade that a formula takes or gives, declared once.

One entry gives the check of what is typed, the error sentence, the slider, the
word in the working and the commission's schema. Names are whole words without
units; values stand in the metric unit of their kind (`units.KINDS`).
"""

from etchcalc.core.tables import checked
from etchcalc.core.term import Term
from etchcalc.core.words import (
    bath,
    day,
    exposure,
    finish,
    gauging,
    plate,
    rate,
    stand,
    tray,
    waste,
)


def _terms(*entries: Term) -> dict[str, Term]:
    found = {entry.name: entry for entry in entries}
    if len(found) != len(entries):
        raise KeyError("a term is declared twice")
    for entry in entries:
        checked(entry.status, entry.source)
    return found


VOCABULARY = _terms(
    *plate.WORDS,
    *bath.WORDS,
    *rate.WORDS,
    *tray.WORDS,
    *gauging.WORDS,
    *exposure.WORDS,
    *finish.WORDS,
    *stand.WORDS,
    *waste.WORDS,
    *day.WORDS,
)


def term(name: str) -> Term:
    """Return a term; raise KeyError for a word that the vocabulary lacks."""
    if name not in VOCABULARY:
        raise KeyError(f"the vocabulary has no word {name!r}")
    return VOCABULARY[name]
