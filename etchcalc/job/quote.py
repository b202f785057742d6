"""The quote on the telephone: a commission from what a caller can say, its price and earliest day.

What a caller cannot say is assumed and listed; the commission keeps the list in
its notes, so that it is asked about before the film is drawn.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date as day
from decimal import Decimal
from typing import Any

from etchcalc.core.faults import BadInput, listed
from etchcalc.core.units import MM, figures, show
from etchcalc.core.vocabulary import term
from etchcalc.job.commission import Commission, understood
from etchcalc.job.commission_file import written
from etchcalc.job.costing import Cost, amounts, cost, spoilage_of
from etchcalc.job.plan import Plan, planned
from etchcalc.job.prices import Prices, money
from etchcalc.job.schema import SECTIONS, WORDS

# Open metal in per cent of the face, by how dense the lettering is: guesses.
LETTERING = {"light": 5.0, "medium": 15.0, "dense": 30.0}
NOT_SURE = 2.0  # the open metal may be half as much, or twice as much: a guess
# What is ordered where the caller does not say: a line that most films hold, and a depth that such
# a line takes with ease.
LINE, DEPTH, OF_LINE, OF_THICKNESS = 0.5, 0.15, 0.3, 0.25
SHEET = ("sheet_length", "sheet_width", "saw_kerf")
USUAL = ("units", "strength", "temperature", *SHEET, *SECTIONS["tray"], *WORDS["tray"])
A_DAY = "type year, month and day, such as 2026-02-01"


@dataclass(frozen=True)
class Quote:
    """What is said on the telephone, and the commission that keeps it.

    Parameters
    ----------
    commission : Commission
        Ready to be kept; its notes say what was assumed.
    cost : Cost
        Of the middle.
    low, high : Decimal
        What the client pays, the open metal not known counted too.
    earliest : date or None
    assumed : tuple of str
        What to ask the client yet.
    """

    commission: Commission
    cost: Cost
    low: Decimal
    high: Decimal
    earliest: day | None
    assumed: tuple[str, ...]

    @property
    def text(self) -> str:
        """The commission as its file."""
        return written(self.commission)

    @property
    def late(self) -> bool:
        """Whether the earliest day is after the one that was wished."""
        due = self.commission.words["due"]
        return bool(due and self.earliest and self.earliest > day.fromisoformat(due))

    def said(self) -> str:
        """Return the quote in a few sentences."""
        label = self.cost.prices.currency
        price = (
            f"{_ordered(self.commission)}: about {money(self.cost.gross, label)}, "
            f"{money(self.low)} to {money(self.high, label)}."
        )
        due = self.commission.words["due"]
        when = f" The earliest day is {self.earliest}" if self.earliest else ""
        if when and due:
            when += f", too late for {due}" if self.late else f", in time for {due}"
        guessed = f" Assumed, to be asked: {', '.join(self.assumed)}." if self.assumed else ""
        return price + (f"{when}." if when else "") + guessed


def enquiry(said: dict[str, str], usual: Commission | None = None) -> tuple[Commission, list[str]]:
    """Return the commission that a caller's words mean, and the names of what was assumed.

    Parameters
    ----------
    said : dict of str to str
        `plate_width`, `plate_height`, `plate_thickness`, `metal`, `lettering` (light, medium,
        dense), `plate_count`, `due` as 2026-02-01; any other line of a commission wins over what
        is assumed.
    usual : Commission, optional
        The one whose tray, sheet, strength and temperature the shop would take.

    Raises
    ------
    BadInput
        One sentence that names every fault.
    """
    lines = {name: str(text).strip() for name, text in said.items() if str(text).strip()}
    faults: list[str] = []
    lettering = lines.pop("lettering", "medium")
    if lettering not in LETTERING:
        faults.append(f"lettering: “{lettering}” is not known here; type {listed([*LETTERING])}.")
    if not _is_day(lines.get("due", "")):
        faults.append(f"due: “{lines['due']}” is not a date; {A_DAY}.")
    known = (
        *(n for names in SECTIONS.values() for n in names),
        *(n for w in WORDS.values() for n in w),
    )
    faults += [f"an enquiry knows no “{name}”." for name in lines if name not in known]
    guesses = {"open_fraction": f"{LETTERING.get(lettering, 15):g} %", **_groove(lines)}
    assumed = {name: text for name, text in guesses.items() if name not in lines}
    habit = {**usual.words, **usual.typed} if usual else {}
    of_shop = {name: habit[name] for name in USUAL if habit.get(name)}
    commission = understood({**of_shop, **assumed, **lines}, None, faults)
    words = {
        **commission.words,
        "title": lines.get("title") or f"Enquiry: {_ordered(commission)}",
        "notes": _notes(lines.get("notes", ""), _guessed(commission, list(assumed))),
    }
    return replace(commission, words=words), list(assumed)


def quoted(
    said: dict[str, str],
    prices: Prices,
    *,
    hands_on: Callable[[Plan], tuple[Any, Any]],
    earliest: Callable[[Plan], day | None],
    usual: Commission | None = None,
) -> Quote:
    """Return the quote for what a caller says.

    Parameters
    ----------
    said, usual
        Those of `enquiry`.
    prices : Prices
    hands_on : callable
        Gives a plan's time at the bench, once for the job and for each plate.
    earliest : callable
        Gives the earliest day on which a plan's plates are done, or None.

    Raises
    ------
    BadInput
        What was said cannot be meant, or a price is missing.
    """
    commission, assumed = enquiry(said, usual)
    # what nobody said must not pass for said
    typed = {name: text for name, text in commission.typed.items() if name not in assumed}
    plan = planned(replace(commission, typed=typed))
    costs = [_cost(plan, prices, hands_on)]
    if "open_fraction" in assumed:
        for factor in (1 / NOT_SURE, NOT_SURE):
            costs.append(_cost(_with_lettering(plan, factor), prices, hands_on))
    return Quote(
        commission, costs[0], min(c.low for c in costs), max(c.high for c in costs), earliest(plan),
        tuple(_guessed(commission, assumed)),
    )  # fmt: skip


def paper(
    commission: Commission, cost: Cost, assumed: tuple[str, ...] = (), valid_until: str = ""
) -> dict[str, Any]:
    """Return a quotation as the texts of a printed one: what the client is to see, no more."""
    label, count = cost.prices.currency, str(cost.plates)
    return {
        "client": commission.words["client"],
        "title": commission.title,
        "lines": [(_ordered(commission), count, money(cost.net, label))],
        "net": money(cost.net, label),
        "tax": money(cost.tax, label) if cost.tax else "",
        "gross": money(cost.gross, label),
        "valid_until": valid_until,
        "assumptions": [f"Assumed: {line}." for line in assumed],
    }


def _cost(plan: Plan, prices: Prices, hands_on: Callable[[Plan], tuple[Any, Any]]) -> Cost:
    return cost(amounts(plan, *hands_on(plan)), prices, spoilage_of(plan, prices))


def _with_lettering(plan: Plan, factor: float) -> Plan:
    """Return the plan of as many times the open metal."""
    commission = plan.commission
    share = commission.values["open_fraction"] * factor
    other = replace(commission, values={**commission.values, "open_fraction": share})
    return planned(other, None, plan)


def _groove(lines: dict[str, str]) -> dict[str, str]:
    """Return the sheet, the finest line and the depth to assume, each to suit the others.

    A line that cannot be read is told as a fault by `understood`; here its start does.
    """
    line, depth = (_millimetres(lines, name) for name in ("finest_line", "depth"))
    thickness = _millimetres(lines, "plate_thickness") or float(term("plate_thickness").start or 0)
    sheet = {"plate_thickness": f"{figures(thickness, 3)} mm"}
    deep = min(DEPTH, OF_THICKNESS * thickness, OF_LINE * (line or LINE))
    wide = max(LINE, (depth or 0) / OF_LINE)
    return {**sheet, "finest_line": f"{figures(wide, 2)} mm", "depth": f"{figures(deep, 2)} mm"}


def _millimetres(lines: dict[str, str], name: str) -> float | None:
    try:
        return float(term(name).read(lines[name]).to(MM).magnitude)
    except (KeyError, BadInput):
        return None


def _is_day(text: str) -> bool:
    """Tell whether a wished day can be read; none is wished where nothing is said."""
    try:
        return not text or bool(re.fullmatch(r"\d{4}-\d\d-\d\d", text) and day.fromisoformat(text))
    except ValueError:
        return False


def _ordered(commission: Commission) -> str:
    """Return what is ordered in a few words."""
    count = int(commission.values["plate_count"].magnitude)
    width, height = (
        show(commission.values[n], "size", commission.units, fixed=False) for n in ("plate_width", "plate_height")
    )  # fmt: skip
    return f"{count} plate{'s' * (count > 1)} of {commission.alloy['known_as'][0]}, {width} by {height}"


def _guessed(commission: Commission, assumed: list[str]) -> list[str]:
    """Return what was assumed, in words and figures."""
    said = {"open_fraction": "open metal"}
    return [
        f"{said.get(n, term(n).words)} {show(commission.values[n], term(n).kind, commission.units, fixed=False)}"
        for n in assumed
    ]


def _notes(said: str, guessed: list[str]) -> str:
    told = "Quoted on the telephone."
    told += f" Assumed, to be asked: {', '.join(guessed)}." if guessed else ""
    return f"{said} {told}".strip()
