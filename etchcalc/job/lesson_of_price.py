"""Questions on the price of a plate: markup and margin, the second plate, the spoilt one."""

from decimal import Decimal
from typing import Any

from etchcalc.core.units import HOUR, KG, ONE, Quantity, read
from etchcalc.job.costing import Amounts, Cost, cost, near
from etchcalc.job.lesson_questions import Draw, Given, Lesson, Question, Slip, question
from etchcalc.job.prices import PENNY, Prices, exact, money, understood

NO = (0, 0)
NOTHING = dict.fromkeys(
    ("sheet_metal", "sheets", "film", "films", "resist", "crystals", "soda", "stop_out_paint",
     "fill_paint", "lacquer", "thinners", "energy", "waste"), NO)  # fmt: skip

MARKUP_FOR_MARGIN = "That is a markup, on the cost. A margin is a share of the price: divide the cost by what is left of one."
MARGIN_FOR_MARKUP = "That is a margin, of the price. A markup goes on the cost: multiply the cost by one and the markup."
MEAN = "That is half of what two cost. What is done once is paid with the first: the second adds only its own."
FIRST_AGAIN = "That is the first plate over again: what is done once is not done twice."
OWN_ALONE = "That divides only each plate's own: what was done once is lost with the spoilt ones too, so divide the whole cost."
ON_TOP = "The good plates pay for the spoilt ones: divide by the share that is good, do not add the share that is not."

COSTS = ("80", "100", "120", "150", "160", "200", "240")
PERCENT = ("20 %", "25 %", "30 %", "40 %", "50 %")


def prices(**more: str) -> Prices:
    """Return prices in money without a name; nothing for metal, no profit, unless it is said."""
    said = {"currency": "money", "work": "0 / h", "sheet_metal": "0 / kg"}
    said |= {} if {"markup", "margin"} & set(more) else {"markup": "0 %"}
    return understood({**said, **more})


def job(once, each, metal, plates: int, asked: Prices, spoilage: str = "0 %") -> Cost:
    """Return what a job costs: hours once and for each plate, metal for each plate."""
    hours = [exact(h.to(HOUR).magnitude) for h in (once, each)]
    weight = exact(metal.to(KG).magnitude)
    taken: dict[str, Any] = {**NOTHING, "work": tuple(hours), "sheet_metal": (Decimal(0), weight)}
    share = exact(read(spoilage).to(ONE).magnitude)
    return cost(Amounts(plates=plates, **taken), asked, share)


def _number(amount: Decimal):
    return Quantity(float(amount), ONE)


def with_profit(amount: Given, **profit: str) -> Decimal:
    """Return the price of what costs so much, by the shop's own way from cost to price."""
    return near(Decimal(amount.text) * (1 + prices(**profit).on_cost), PENNY)


def by_margin(draw: Draw) -> Question:
    """Ask for the price that leaves a margin."""
    amount, share = draw.one(*COSTS), draw.one(*PERCENT)
    price = with_profit(amount, margin=share.text)
    return question(
        draw,
        f"A job costs {amount}. You want a margin of {share} of the price. What do you ask?",
        "price", "money", f"price = cost / (1 − margin) = {amount} / (1 − {share}) = {money(price)}",
        right=_number(price), within="0.5 %",
        slips=[Slip(MARKUP_FOR_MARGIN, _number(with_profit(amount, markup=share.text)))],
    )  # fmt: skip


def by_markup(draw: Draw) -> Question:
    """Ask for the price with a markup."""
    amount, share = draw.one(*COSTS), draw.one(*PERCENT)
    price = with_profit(amount, markup=share.text)
    return question(
        draw,
        f"A job costs {amount}. You put a markup of {share} on it. What do you ask?",
        "price", "money", f"price = cost · (1 + markup) = {amount} · (1 + {share}) = {money(price)}",
        right=_number(price), within="0.5 %",
        slips=[Slip(MARGIN_FOR_MARKUP, _number(with_profit(amount, margin=share.text)))],
    )  # fmt: skip


def margin_of_markup(draw: Draw) -> Question:
    """Ask what margin a markup comes to."""
    amount, share = draw.one(*COSTS), draw.one(*PERCENT)
    price = with_profit(amount, markup=share.text)
    profit = price - Decimal(amount.text)
    return question(
        draw,
        f"A job that costs {amount} is sold with a markup of {share}. What margin of the price is that?",
        "margin", "share", f"price = cost · (1 + markup) = {money(price)}",
        f"margin = profit / price = {money(profit)} / {money(price)}",
        right=_number(profit / price), within="2 %",
        slips=[
            Slip("That is the markup, over the cost: a margin is the same profit over the price.",
                 share.quantity),
            Slip("That is what the cost is of the price: the margin is the rest.",
                 _number(Decimal(amount.text) / price)),
        ],
    )  # fmt: skip


def _bench(draw: Draw) -> tuple[Given, Given, Given, Given, Given, Prices]:
    """Return hours once and for each, the hour's price, metal for each and its price, the prices."""
    once, each = draw.one("2 h", "3 h", "4 h"), draw.one("30 min", "1 h", "90 min")
    hour = draw.one("20", "25", "30")
    metal, of = draw.one("0.5 kg | 1 lb", "1 kg | 2 lb", "1.5 kg | 3 lb"), draw.one("8", "10", "12")
    per = "kg" if draw.system == "metric" else "lb"
    return once, each, hour, metal, of, prices(work=f"{hour} / h", sheet_metal=f"{of} / {per}")


def second_plate(draw: Draw) -> Question:
    """Ask what the second plate costs."""
    once, each, hour, metal, of, asked = _bench(draw)
    per = "kg" if draw.system == "metric" else "lb"
    one, two = (job(once.quantity, each.quantity, metal.quantity, n, asked) for n in (1, 2))
    right = one.second_plate
    return question(
        draw,
        f"Film, bath and clearing up take {once} for the whole job, each plate {each} more. An hour is "
        f"{hour}; a plate takes {metal} of metal at {of} a {per}. What does the second plate add to the "
        "cost?",
        "cost of the second plate", "money",
        f"its own work + its own metal = {each} · {hour} + {metal} · {of} = {money(right)}",
        f"one plate costs {money(one.net)}, two cost {money(two.net)}",
        right=_number(right), within="1 %",
        slips=[Slip(MEAN, _number(two.net / 2)), Slip(FIRST_AGAIN, _number(one.net))],
    )  # fmt: skip


def spoilt(draw: Draw) -> Question:
    """Ask what a job costs when some plates are spoilt."""
    once, each, hour, metal, of, asked = _bench(draw)
    per, share = "kg" if draw.system == "metric" else "lb", draw.one("10 %", "20 %", "25 %")
    plates = draw.random.choice((2, 3, 4))
    said = once.quantity, each.quantity, metal.quantity, plates, asked
    nothing = job(once.quantity, 0 * each.quantity, 0 * metal.quantity, plates, asked)
    none, some = job(*said), job(*said, spoilage=share.text)
    own = nothing.net + (none.net - nothing.net) * some.net / none.net
    added = none.net * (1 + exact(share.quantity.to(ONE).magnitude))
    return question(
        draw,
        f"A job takes {once} once and {each} for each of {plates} plates, an hour at {hour}, and {metal} "
        f"of metal for each at {of} a {per}. In such work {share} of the plates are spoilt, and what was "
        "done once is lost with them. What does the job cost, the spoilt ones counted?",
        "cost of the job", "money", f"with none spoilt: {money(none.net)}",
        f"cost = {money(none.net)} / (1 − {share}) = {money(some.net)}",
        right=_number(some.net), within="0.4 %",
        slips=[
            Slip(ON_TOP, _number(added)),
            Slip(OWN_ALONE, _number(own)), Slip("That counts none as spoilt.", _number(none.net)),
        ],
    )  # fmt: skip


PRICE_A_PLATE = Lesson(
    "price-a-plate",
    "Price a plate",
    (
        "A markup is profit over the cost, a margin is the same profit over the price. 25 on a cost of 100 is a markup of 25 %, but of the price of 125 only 20 %.",
        "By markup: price = cost × (1 + markup). By margin: price = cost / (1 − margin).",
        "Much is done once for a job: film, bath, clearing up. The first plate carries it; the second adds only its own work and metal.",
        "The good plates pay for those spoilt: divide the whole cost by the share that is good. Amounts are in your own money; type them without its name.",
    ),
    (by_margin, by_markup, margin_of_markup, second_plate, spoilt),
)
