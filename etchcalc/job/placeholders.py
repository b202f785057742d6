"""What the sentences of data/steps.toml may name, in the maker's units."""

import numpy as np

from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job.answers import answers, plain, plates_left, shown, tilt_reason
from etchcalc.job.bench_words import bench_words
from etchcalc.job.plan import Plan


def placeholders(plan: Plan) -> dict[str, str]:
    """Return what the sentences of data/steps.toml may name, in the maker's units."""
    units = plan.commission.units
    plan.book.finish()
    words = {name: shown(plan, name, fixed=_fixed(name)) for name in plan.book.values}
    sides = [show(side, "size", units, fixed=False) for side in plan.blank_size]
    film, bath, lift = (plain(answer) for answer in answers(plan))
    lies = plan.commission.words["plate_lies"]
    return words | {
        "answer_film": film,
        "answer_bath": bath,
        "answer_lift": lift,
        "blank_size": f"{sides[0]} × {sides[1]}",
        "plate_size": f"{words['plate_width']} × {words['plate_height']}",
        "plates_left": plates_left(plan) + ".",
        "plate_lies": lies
        + (f" on spacers of {words['spacer_height']}" if lies == "face down" else ""),
        "warming": _warming(plan),
        "tilt_reason": tilt_reason(plan),
        "which_soda": which_soda(plan),
        **bench_words(plan),
    }


def which_soda(plan: Plan) -> str:
    """Ask which washing soda is weighed, where that is not said; else say which it is."""
    if "soda_waters" in plan.commission.values:
        return f"Of a soda that is {shown(plan, 'soda_share', fixed=False)} dry soda."
    return (
        "Which soda is not said, so this is the middle of a wide range: of dry "
        "white powder least, of clear lumps most. Look at the label and say which it is."
    )


def _fixed(name: str) -> bool:
    """Sizes that were said stand as said; times and fine lengths in the trade's decimals."""
    return term(name).kind not in ("size", "number", "share")


def _warming(plan: Plan) -> str:
    if plan.number("heater_rating") <= 0 or not np.isfinite(plan.number("warm_up_time")):
        return ""
    time, start, rating = (
        shown(plan, n) for n in ("warm_up_time", "starting_temperature", "heater_rating")
    )
    return f" (about {time} from {start} with {rating})"
