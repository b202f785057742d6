"""What the maker should read with the plan: ways out where a wish cannot be had, and what to know."""

from etchcalc.job import (
    advice_on_bath,
    advice_on_bench,
    advice_on_drawing,
    advice_on_film,
    advice_on_tray,
)
from etchcalc.job.answers import Advice
from etchcalc.job.plan import Plan

RULES = (
    *advice_on_film.RULES,
    *advice_on_drawing.RULES,
    *advice_on_tray.RULES,
    *advice_on_bath.RULES,
    *advice_on_bench.RULES,
)


def advice(plan: Plan) -> list[Advice]:
    """Return every sentence that the maker should read with the plan, ways out first."""
    said = [found for rule in RULES if (found := rule(plan)) is not None]
    return sorted(said, key=lambda a: not a.way_out)
