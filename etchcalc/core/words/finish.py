"""The words of coating, filling, finishing, cutting."""

from etchcalc.core.term import Term

# fmt: off
WORDS: tuple[Term, ...] = (
)
# fmt: on
