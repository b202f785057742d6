"""The words of how plates stand in the tray: spacers, layout, levels."""

from etchcalc.core.term import Term

# fmt: off
WORDS: tuple[Term, ...] = (
)
# fmt: on
