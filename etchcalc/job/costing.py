"""What a job costs and what to ask for it: amounts of the plan times the shop's prices.

Every printed line is rounded once, at its end, to 0.01, halves up; a total is the
sum of the rounded lines, so that what is printed adds up. Each sum stands once,
in operators alone, and works decimals for the page and, over the ways in which
the job may run, arrays for the range.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import numpy as np

from etchcalc.core.faults import BadInput
from etchcalc.core.units import HOUR, figures, show, unit
from etchcalc.core.vocabulary import term
from etchcalc.job import ranges
from etchcalc.job.plan import Plan
from etchcalc.job.prices import PENNY, RATES, UNITS, Prices, Rate, exact, missing, money

RULE = "Each line is rounded to 0.01, halves up; totals are sums of the rounded lines."
BASIS = "assumed"  # the hours and the spoilage, if nothing else, are guesses
ZERO, MOST_SPOILT = Decimal(0), Decimal("0.8")
KW, KWH = unit("kW"), unit("kWh")
# The lines of a quotation: what it is called, whose price it takes, and whether it takes what is
# once for the job, what is for each plate, or both.
LINES = (
    ("work, once for the job", "work", "once"),
    ("work, plate by plate", "work", "each"),
    *((asked.words, name, "both") for name, asked in RATES.items() if name != "work"),
)
FIXED = ("packing", "carriage")
# What the plan gives for all plates together, by whose price it takes.
OF_ALL = {
    "resist": "resist_area", "stop_out_paint": "stop_out_paint", "fill_paint": "fill_paint",
    "lacquer": "lacquer_paint", "thinners": "thinners_needed",
}  # fmt: skip
COUNTED = ("sheet", "film", "job", "plate")
SHOWN_FIGURES = range(3, 13)  # of an amount: three, and more where the sum would not come out
Pair = tuple[Any, Any]
ByLine = dict[tuple[str, str], Any]  # by the line's words and whose price it takes


@dataclass(frozen=True)
class Amounts:
    """What a job takes, each amount as a pair: once for the job, and for each plate.

    Numbers are decimals, or arrays over the ways whose first element is the middle.

    Parameters
    ----------
    plates, jobs : int
        `jobs` is 1; nothing for one plate more of a job that is made anyhow.
    work : pair
        Hours at the bench.
    sheet_metal, sheets : pair
        Kilograms of sheet, and sheets: the share of a sheet that its blank takes, the saw's dust
        and the strip at the edges that gives no blank counted.
    film, films : pair
        Square metres, the blank's face; films, one for the job.
    resist : pair
        Square metres, with the overlap.
    crystals : pair
        Kilograms: the ferric used over the share at which a bath is refreshed, so that what is
        thrown away with the bath is paid for by the jobs that it did.
    soda : pair
        Kilograms of washing soda, developer and stripper.
    stop_out_paint, fill_paint, lacquer, thinners : pair
        Litres.
    energy : pair
        Kilowatt hours that warm the bath and hold it warm.
    waste : pair
        Litres for the carrier: this job's share of the bath, and the first rinse.
    offcut : str
        What is left of the sheet, as a sentence.
    """

    plates: int
    work: Pair
    sheet_metal: Pair
    sheets: Pair
    film: Pair
    films: Pair
    resist: Pair
    crystals: Pair
    soda: Pair
    stop_out_paint: Pair
    fill_paint: Pair
    lacquer: Pair
    thinners: Pair
    energy: Pair
    waste: Pair
    offcut: str = ""
    jobs: int = 1

    def pair(self, name: str, per: str) -> Pair:
        """Return the amount that a price of `name` counts, in `per`."""
        if per in ("job", "plate"):
            return (1, 0) if per == "job" else (0, 1)
        return getattr(self, {"sheet": "sheets", "film": "films"}.get(per, name))

    def each(self, change) -> "Amounts":
        """Return the amounts, every number changed alike."""
        pairs: dict[str, Any] = {
            field.name: tuple(change(number) for number in getattr(self, field.name))
            for field in fields(self)
            if field.name not in ("plates", "jobs", "offcut")
        }
        return replace(self, **pairs)


@dataclass(frozen=True)
class Line:
    """A printed line: what, how much of it in the price's own unit, its price, the sum."""

    what: str
    amount: Decimal
    rate: Rate
    sum: Decimal

    @property
    def shown(self) -> str:
        """The amount as it stands on the page: in as many figures as the printed sum asks for."""
        numbers = [figures(float(self.amount), count) for count in SHOWN_FIGURES]
        number = next(filter(self._gives_the_sum, numbers), numbers[-1])
        number = number.rstrip("0").rstrip(".") if "." in number and "e" not in number else number
        many = "s" if self.rate.word in COUNTED and self.amount != 1 else ""
        return f"{number} {self.rate.word}{many}"

    def _gives_the_sum(self, amount: str) -> bool:
        """Return whether a rounded amount times the price is the printed sum."""
        taken = self.rate.size * exact(amount.replace("−", "-"))
        return charged(self.rate.amount, taken) == self.sum


@dataclass(frozen=True)
class Cost:
    """A quotation worked out; money in the shop's currency.

    Parameters
    ----------
    plates : int
    lines : tuple of Line
        Work, material, packing and carriage.
    work, material, fixed : Decimal
        Sums of their lines; fixed is packing and carriage.
    overhead : Decimal
        Share of work and material.
    spoilage : Decimal
        What the good plates pay for those spoilt: of work, material and overhead, share / (1 − share).
    profit : Decimal
        Markup on the cost; a margin of the price is worked as the markup that it comes to.
    rounding : Decimal
        What rounding the price to the shop's step adds or takes.
    net, tax, gross : Decimal
        The price before tax, the tax, what the client pays.
    second_plate : Decimal
        What one more plate adds to the price before tax, while the tray has room for it.
    low, high : Decimal
        Ends of the 90 % range of `gross` over the ways in which the job may run.
    spoilt : Decimal
        The share of plates spoilt that was counted.
    offcut : str
        What is left of the sheet.
    prices : Prices
    """

    plates: int
    lines: tuple[Line, ...]
    work: Decimal
    material: Decimal
    fixed: Decimal
    overhead: Decimal
    spoilage: Decimal
    profit: Decimal
    rounding: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal
    second_plate: Decimal
    low: Decimal
    high: Decimal
    spoilt: Decimal
    offcut: str
    prices: Prices
    basis: str = BASIS

    @property
    def break_even(self) -> Decimal:
        """The price before tax below which the job loses money: what it costs."""
        return self.work + self.material + self.fixed + self.overhead + self.spoilage

    @property
    def per_plate(self) -> Decimal:
        """What the client pays, over the plates."""
        return near(self.gross / self.plates, PENNY)

    @property
    def parts(self) -> tuple[tuple[str, Decimal], ...]:
        """Everything that is printed, in order; it adds up to `gross`."""
        typed = self.prices.typed
        profit = "margin" if "margin" in typed else "markup"
        shares = (
            (f"overhead, {typed.get('overhead', '')}", self.overhead),
            (f"spoilage, {figures(100 * float(self.spoilt), 2)} % of the plates", self.spoilage),
            (f"profit, {profit} {typed.get(profit, '')}", self.profit),
            ("rounding", self.rounding),
            (f"tax, {typed.get('tax', '')}", self.tax),
        )
        return (*((line.what, line.sum) for line in self.lines), *shares)

    def asked(self, net: Decimal) -> "Cost":
        """Return the same job at another price before tax: what it leaves, below nothing a loss."""
        tax = near(net * self.prices.shares.get("tax", ZERO), PENNY)
        gross = net + tax
        return replace(
            self, profit=net - self.break_even, rounding=ZERO, net=net, tax=tax, gross=gross,
            low=gross, high=gross,
        )  # fmt: skip

    def said(self) -> list[str]:
        """Return the quotation as lines of text."""
        label = self.prices.currency
        rows = [
            f"{line.what}: {line.shown} at {line.rate.typed} = {money(line.sum)}"
            for line in self.lines
        ]
        rows += [f"{what}: {money(sum_)}" for what, sum_ in self.parts[len(self.lines) :] if sum_]
        each = f", {money(self.per_plate)} a plate" if self.plates > 1 else ""
        rows += [
            f"To pay: {money(self.gross, label)}{each}; {money(self.low)} to {money(self.high)} "
            "as the job may run.",
            f"One plate more adds {money(self.second_plate, label)}; below "
            f"{money(self.break_even, label)} before tax the job loses money.",
        ]
        left = self.prices.not_counted
        rows += [f"Not counted, as no price is typed: {', '.join(left)}."] if left else []
        return [*rows, self.offcut, RULE]


def amounts(plan: Plan, hands_on_once, hands_on_per_plate) -> Amounts:
    """Return what a planned job takes.

    Parameters
    ----------
    plan : Plan
    hands_on_once, hands_on_per_plate : Quantity
        Time at the bench, once for the job and for each plate; scalars, or arrays over the ways.

    Raises
    ------
    BadInput
        The blank does not fit the sheet.
    """
    of = plan.book.values
    count, blanks = int(plan.number("plate_count")), _blanks_per_sheet(plan)
    sheet = of["sheet_length"] * of["sheet_width"] * of["plate_thickness"] * of["metal_density"]
    crystals = of["ferric_used"] / of["practical_stop"]
    carried = of["whole_bath"] * crystals / of["crystals_when_fresh"]
    of_all: dict[str, Any] = {
        price: _in(price, each=of[name] / count) for price, name in OF_ALL.items()
    }
    return Amounts(
        plates=count,
        work=_in("work", hands_on_once, hands_on_per_plate),
        sheet_metal=_in("sheet_metal", each=sheet / blanks),
        sheets=(0.0, 1 / blanks),
        film=_in("film", of["blank_area"]),
        films=(1.0, 0.0),
        soda=_in("soda", of["developer_soda"] + of["stripper_soda"]),
        crystals=_in("crystals", each=crystals / count),
        energy=_energy(plan),
        waste=_in("waste", of["rinse_volume"], carried / count),
        offcut=_offcut(count, blanks),
        **of_all,
    )


def cost(amounts: Amounts, prices: Prices, spoilage: Decimal | None = None) -> Cost:
    """Return what a job costs and what to ask for it.

    Parameters
    ----------
    amounts : Amounts
    prices : Prices
    spoilage : Decimal, optional
        Share of the plates begun that are spoilt, 0 to 0.8; the shop's own where not given.

    Raises
    ------
    BadInput
        A price is missing, or the plan has no end, or nearly every plate is spoilt.
    """
    spoilt = prices.shares.get("spoilage", ZERO) if spoilage is None else spoilage
    middle = amounts.each(_middle)
    taken = _taken(middle, prices)
    _refuse(taken, prices, spoilt)
    shares = {"overhead": ZERO, "tax": ZERO, **prices.shares}
    shares |= {"spoilage": spoilt, "on_cost": prices.on_cost}
    sums = _sums(taken, prices)
    totals = _totals(sums, shares, prices.step)
    one_more = _totals(
        _sums(_taken(replace(middle, jobs=0, plates=1), prices), prices), shares, PENNY
    )
    low, high = _range(amounts, prices, shares, totals["gross"])
    return Cost(
        plates=amounts.plates, lines=_lines(taken, prices, sums), second_plate=one_more["net"],
        low=low, high=high, spoilt=spoilt, offcut=amounts.offcut, prices=prices, **totals,
    )  # fmt: skip


def spoilage_of(plan: Plan, prices: Prices) -> Decimal:
    """Return the share of plates spoilt: by the forecast, and by what else the shop knows.

    Parameters
    ----------
    plan : Plan
        A way in which the finest line is too deep when it is first gauged counts as spoilt; and one
        in which it does not take the depth at all, where the shop has measured its own etch factor:
        not to know that is no spoilt plate yet, a test strip tells it first.
    prices : Prices
        Their `spoilage` is what is spoilt for other reasons, such as scratches and resist that
        lifts: by the shop's own history.

    Returns
    -------
    Decimal
        1 − (1 − forecast) · (1 − other): the two have nothing to do with each other.
    """
    names = ("too_deep_time", "gauge_time", "greatest_depth", "depth")
    too_deep, gauged, takes, depth = (_ways(plan, name) for name in names)
    measured = plan.book.basis["etch_factor"] == "measured here"
    forecast = exact(np.mean(((too_deep < gauged) | ((takes < depth) & measured))[1:]))
    return 1 - (1 - forecast) * (1 - prices.shares.get("spoilage", ZERO))


# ---- the sums, for decimals and for arrays alike


def near(amount, step: Decimal):
    """Return money to the nearest step, halves up; a decimal, or an array over the ways."""
    if isinstance(amount, Decimal):
        return (amount / step).quantize(Decimal(1), ROUND_HALF_UP) * step
    return np.floor(amount / float(step) + 0.5) * float(step)


def charged(price, taken):
    """Return the rounded sum of a line: its price times what is taken."""
    return near(price * taken, PENNY)


def _taken(amounts: Amounts, prices: Prices) -> ByLine:
    """Return how much each line takes, in the unit of its price, by the line's words and price."""
    found = {}
    for words, name, part in LINES:
        if name in prices.rates:
            first, each = amounts.pair(name, prices.rates[name].per)
            once, plates = amounts.jobs * first, amounts.plates * each
            found[words, name] = {"once": once, "each": plates, "both": once + plates}[part]
    return found


def _sums(taken: ByLine, prices: Prices, number=Decimal) -> ByLine:
    """Return the sum of each line, rounded; `number` is what prices are reckoned in."""
    return {
        key: charged(number(prices.rates[key[1]].amount), amount) for key, amount in taken.items()
    }


def _totals(sums: ByLine, shares: Mapping[str, Any], step) -> dict[str, Any]:
    """Return the totals of a quotation from the sums of its lines."""
    zero = 0 * shares["tax"]
    work = sum((s for (_, name), s in sums.items() if name == "work"), zero)
    fixed = sum((s for (_, name), s in sums.items() if name in FIXED), zero)
    material = sum(sums.values(), zero) - work - fixed
    overhead = near(shares["overhead"] * (work + material), PENNY)
    spoilt = shares["spoilage"] / (1 - shares["spoilage"])
    spoilage = near(spoilt * (work + material + overhead), PENNY)
    spent = work + material + fixed + overhead + spoilage
    profit = near(shares["on_cost"] * spent, PENNY)
    net = near(spent + profit, step)
    tax = near(shares["tax"] * net, PENNY)
    return {
        "work": work, "material": material, "fixed": fixed, "overhead": overhead,
        "spoilage": spoilage, "profit": profit, "rounding": net - spent - profit, "net": net,
        "tax": tax, "gross": net + tax,
    }  # fmt: skip


def _range(amounts: Amounts, prices: Prices, shares: Mapping[str, Decimal], middle: Decimal):
    """Return the ends of the range of what the client pays; the middle twice where nothing varies."""
    ways = amounts.each(lambda n: float(n) if isinstance(n, Decimal) else np.asarray(n))
    bare = {name: float(share) for name, share in shares.items()}
    gross = np.asarray(
        _totals(_sums(_taken(ways, prices), prices, float), bare, prices.step)["gross"]
    )
    if gross.size == 1:
        return middle, middle
    low, high = (exact(end) for end in ranges.ends(gross))
    return min(near(low, PENNY), middle), max(
        near(high, PENNY) if high.is_finite() else high, middle
    )


def _lines(taken: ByLine, prices: Prices, sums: ByLine) -> tuple[Line, ...]:
    """Return the printed lines that come to something."""
    rates = prices.rates
    return tuple(
        Line(words, amount / rates[n].size, rates[n], sums[words, n])
        for (words, n), amount in taken.items()
        if amount
    )


def _middle(number) -> Decimal:
    return number if isinstance(number, Decimal) else exact(np.ravel(number)[0])


def _refuse(taken: ByLine, prices: Prices, spoilt: Decimal) -> None:
    """Refuse what has no price, in one sentence."""
    lacking = missing(prices)
    if lacking:
        raise BadInput(lacking)
    if not ZERO <= spoilt <= MOST_SPOILT:
        raise BadInput(
            f"price: {100 * spoilt:.0f} % of the plates would be spoilt, and nobody can price that; "
            "order a shallower depth or a wider finest line."
        )
    if not all(Decimal(amount).is_finite() for amount in taken.values()):
        raise BadInput(
            "price: by this plan the ordered depth is never reached; change that first, as the plan says."
        )


# ---- what the plan takes


def _ways(plan: Plan, name: str) -> np.ndarray:
    magnitudes = plan.book.values[name].to(term(name).unit).magnitude
    return np.broadcast_to(magnitudes, ranges.WAYS + 1)


def _in(name: str, once=None, each=None) -> Pair:
    """Return an amount once and for each plate, in the unit of its price, as bare numbers."""
    of = UNITS[RATES[name].per]
    return tuple(0.0 if q is None else q.to(of).magnitude for q in (once, each))  # type: ignore[return-value]


def _energy(plan: Plan) -> Pair:
    """Return the heat that warms the bath and holds it, once and for each plate.

    On the way the tray loses about half of what it loses warm. A heater that never gets there
    runs all the time. Where the tray takes all plates at once, one plate more needs no more
    holding; where it is filled several times, holding goes with the plates.
    """
    of = plan.book.values
    loss, warm, warm_up, kept, rating = (
        np.asarray(of[name].to(in_unit).magnitude, dtype=float)
        for name, in_unit in (
            ("heat_loss", KW), ("heat_to_warm", KWH), ("warm_up_time", HOUR), ("bench_time", HOUR),
            ("heater_rating", KW),
        )
    )  # fmt: skip
    if "second_time" in of:
        kept = np.maximum(kept, of["second_time"].to(HOUR).magnitude)
    loss = np.maximum(loss, 0.0)
    reached = np.isfinite(warm_up)
    on_the_way = np.where(
        reached, np.maximum(warm, 0.0) + loss * np.where(reached, warm_up, 0) / 2, 0.0
    )
    holding = np.minimum(loss, rating) * kept
    count, at_once = plan.number("plate_count"), max(plan.number("plates_at_once"), 1.0)
    fillings = np.ceil(count / at_once)
    return (
        (on_the_way + holding, 0.0) if fillings == 1 else (on_the_way, holding * fillings / count)
    )


def _blanks_per_sheet(plan: Plan) -> int:
    """Return how many blanks the sheet gives, at least one."""
    blanks = int(plan.number("blanks_per_sheet"))
    if not blanks:
        units = plan.commission.units
        length, width = (
            show(plan.middle(n), "size", units) for n in ("sheet_length", "sheet_width")
        )
        raise BadInput(
            f"price: the blank does not fit a sheet of {length} by {width}; type sheet_length and "
            "sheet_width of the sheet that it is cut from."
        )
    return blanks


def _offcut(count: int, blanks: int) -> str:
    """Return what is left of the sheets, as a sentence."""
    sheets = -(-count // blanks)
    left = sheets * blanks - count
    cut = f"{sheets} sheet{'s' * (sheets > 1)} of {blanks} blank{'s' * (blanks > 1)}"
    rest = f"metal for {left} more stays in the shop, not charged" if left else "no blank is left"
    return f"The metal is charged by the share of a sheet that each blank takes: {cut}, of which {rest}."
