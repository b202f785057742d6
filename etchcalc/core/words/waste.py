"""The words of spent etchant, rinse water, what the carrier takes."""

from etchcalc.core.term import Term

# fmt: off
WORDS: tuple[Term, ...] = (
)
# fmt: on
