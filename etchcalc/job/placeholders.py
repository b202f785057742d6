"""What the sentences of data/steps.toml may name, in the maker's units."""

from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job.answers import answers, plain, plates_left, shown
from etchcalc.job.plan import Plan


def placeholders(plan: Plan) -> dict[str, str]:
    """Return what the sentences of data/steps.toml may name, in the maker's units."""
    units = plan.commission.units
    words = {name: shown(plan, name, fixed=_fixed(name)) for name in plan.book.values}
    sides = [show(side, "size", units, fixed=False) for side in plan.blank_size]
    film, bath, lift = (plain(answer) for answer in answers(plan))
    return words | {
        "answer_film": film,
        "answer_bath": bath,
        "answer_lift": lift,
        "blank_size": f"{sides[0]} × {sides[1]}",
        "plate_size": f"{words['plate_width']} × {words['plate_height']}",
        "plates_left": plates_left(plan) + ".",
    }


def _fixed(name: str) -> bool:
    """Sizes that were said stand as said; times and fine lengths in the trade's decimals."""
    return term(name).kind not in ("size", "number", "share")
