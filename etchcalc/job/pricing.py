"""The price of a planned job: its amounts, the hours of its day, the shop's prices."""

import numpy as np

from etchcalc.core.faults import BadInput
from etchcalc.job import prices, schedule
from etchcalc.job.costing import Cost, amounts, cost, spoilage_of
from etchcalc.job.plan import Plan


def prices_of(plan: Plan) -> prices.Prices:
    """Return the prices of a plan: the commission's own lines, then the shop's."""
    return prices.understood(plan.commission.price_lines, plan.known.prices)


def cost_of(plan: Plan) -> Cost | None:
    """Return what a job costs; None where too little is said for a price, or it is never done."""
    asked = prices_of(plan)
    if prices.missing(asked) or not np.isfinite(plan.number("etch_time")):
        return None
    try:
        return cost(amounts(plan, *schedule.hands_on(plan)), asked, spoilage_of(plan, asked))
    except BadInput:  # such as a sheet too small for one blank: `why_not` says it
        return None


def why_not(plan: Plan) -> str:
    """Return in a sentence why there is no price; "" where there is one."""
    asked = prices_of(plan)
    if missing := prices.missing(asked):
        return missing
    if not np.isfinite(plan.number("etch_time")):
        return "No price yet: by this plan the depth is never reached."
    try:
        cost(amounts(plan, *schedule.hands_on(plan)), asked, spoilage_of(plan, asked))
    except BadInput as fault:
        return str(fault)
    return ""
