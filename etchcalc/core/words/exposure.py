"""The words of exposing, developing, stripping."""

from etchcalc.core.term import Term

# fmt: off
WORDS: tuple[Term, ...] = (
)
# fmt: on
