"""The quotation: by hand to the penny, sums that add up, laws of prices. All prices are invented."""

import random
from dataclasses import fields, replace
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.faults import BadInput
from etchcalc.core.units import read
from etchcalc.job import costing, prices
from etchcalc.job.costing import Amounts, Line, amounts, cost, near, spoilage_of
from etchcalc.job.plan import planned
from etchcalc.job.prices import Rate

D = Decimal
TRIED = settings(deadline=None, derandomize=True, max_examples=100)
PAIRS = [f.name for f in fields(Amounts) if f.name not in ("plates", "jobs", "offcut")]
SHOP = {
    "currency": "GBP", "work": "21.50 / h", "sheet_metal": "12.40 / kg", "film": "9.50 / film",
    "crystals": "4.25 / kg", "stop_out_paint": "18 / 5 L", "energy": "0.31 / kWh", "waste": "1.25 / L",
    "packing": "1.15 / plate", "carriage": "7.80", "overhead": "15 %", "spoilage": "5 %",
    "markup": "25 %", "tax": "20 %", "rounding": "1",
}  # fmt: skip
PRICES = prices.understood(SHOP)
TIMES = (read("150 min"), read("24 min"))


def job(plates=4, **pairs):
    nothing = {name: (D(0), D(0)) for name in PAIRS}
    said = {name: tuple(D(str(x)) for x in pair) for name, pair in pairs.items()}
    return Amounts(plates=plates, **{**nothing, **said})


# once for the job, and for each plate
BY_HAND = {
    "work": (2.5, 0.4), "sheet_metal": (0, 0.155), "films": (1, 0), "crystals": (0, 0.0231),
    "stop_out_paint": (0, 0.0025), "energy": (0.25, 0), "waste": (10, 0.05), "sheets": (0, 0.0625),
}  # fmt: skip


def shop(**other):
    return prices.understood(other, {k: v for k, v in SHOP.items() if k not in other})


def test_a_quotation_by_hand():
    # Four plates.
    # work once          2.5 h × 21.50                       53.75
    # work of the plates 4 × 0.4 = 1.6 h × 21.50             34.40
    # metal              4 × 0.155 = 0.62 kg × 12.40 = 7.688  7.69
    # film               1 × 9.50                             9.50
    # crystals           4 × 0.0231 = 0.0924 kg × 4.25 = 0.3927  0.39
    # stop-out           4 × 2.5 mL = 0.01 L × 18/5 = 0.036   0.04
    # heating            0.25 kWh × 0.31 = 0.0775             0.08
    # waste              10 + 4 × 0.05 = 10.2 L × 1.25       12.75
    # packing            4 × 1.15                             4.60
    # carriage                                                7.80
    found = cost(job(**BY_HAND), PRICES)
    assert {line.what: line.sum for line in found.lines} == {
        "work, once for the job": D("53.75"), "work, plate by plate": D("34.40"),
        "metal off the sheet": D("7.69"), "film": D("9.50"), "crystals": D("0.39"),
        "stop-out paint": D("0.04"), "heating": D("0.08"), "waste carried away": D("12.75"),
        "packing": D("4.60"), "carriage": D("7.80"),
    }  # fmt: skip
    assert found.work == D("88.15")
    assert found.material == D("30.45")
    assert found.fixed == D("12.40")
    assert found.overhead == D("17.79")  # 15 % of 118.60
    assert found.spoilage == D("7.18")  # 5/95 of 136.39 = 7.1784
    assert found.break_even == D("155.97")
    assert found.profit == D("38.99")  # 25 % of 155.97 = 38.9925
    assert found.rounding == D("0.04")  # 194.96 to whole pounds
    assert found.net == D("195")
    assert found.tax == D("39.00")
    assert found.gross == D("234.00")
    assert found.per_plate == D("58.50")
    # one plate more: work 8.60; metal 1.92, crystals 0.10, paint 0.01, waste 0.06; overhead 15 % of
    # 10.69 = 1.60; spoilage 5/95 of 12.29 = 0.65; packing 1.15; in all 14.09, and 25 % = 3.52
    assert found.second_plate == D("17.61")
    assert found.low == found.high == found.gross  # nothing varies


def test_the_page_says_each_line_so_that_it_can_be_checked():
    said = cost(job(**BY_HAND), PRICES).said()
    assert "stop-out paint: 0.01 L at 18 / 5 L = 0.04" in said
    assert "packing: 4 plates at 1.15 / plate = 4.60" in said
    assert "tax, 20 %: 39.00" in said
    assert any("resist" in line and "Not counted" in line for line in said)
    assert costing.RULE in said


@given(
    amount=st.decimals("0.000001", "9999", places=6),
    price=st.decimals("0.01", "999", places=2),
    size=st.sampled_from([D(1), D("0.45359237"), D(5)]),
)
def test_a_printed_amount_times_its_price_is_the_printed_sum(amount, price, size):
    rate = Rate("", price / size, "kg", "lb", size)
    line = Line("crystals", amount, rate, near(price * amount, costing.PENNY))
    printed = D(line.shown.split()[0].replace("−", "-"))
    assert near(price * printed, costing.PENNY) == line.sum
    assert printed == pytest.approx(amount, rel=D("0.005"))


def test_a_small_amount_is_not_printed_longer_than_its_sum_asks_for():
    fill = Line("fill paint", D("0.001031364"), Rate("26 / L", D(26), "L", "L", D(1)), D("0.03"))
    assert fill.shown == "0.00103 L"
    work = Line("work", D("1.383333333"), Rate("20 / h", D(20), "h", "h", D(1)), D("27.67"))
    assert work.shown == "1.3833 h"  # 1.383 h would be 27.66


@pytest.mark.parametrize(
    ("amount", "step", "expected"),
    [("0.125", "0.01", "0.13"), ("0.135", "0.01", "0.14"), ("0.1249", "0.01", "0.12"),
     ("2.5", "1", "3"), ("3.5", "1", "4"), ("2.5", "5", "5"), ("12.4", "5", "10")],
)  # fmt: skip
def test_halves_go_up(amount, step, expected):
    # bankers would give 0.12, 0.14, 0.12, 2, 4, 0
    assert near(D(amount), D(step)) == D(expected)
    assert near(np.array([float(amount)]), D(step))[0] == pytest.approx(float(expected))


RANDOM_SHOPS = [
    shop(**{"overhead": f"{o} %", "spoilage": f"{s} %", kind: f"{p} %", "tax": f"{t} %", "rounding": r,
            "sheet_metal": m})
    for o, s, kind, p, t, r, m in (
        (0, 0, "markup", 0, 0, "0.01", "12.40 / kg"), (17.5, 3.3, "margin", 33, 19, "0.05", "31 / sheet"),
        (40, 12, "markup", 70, 20, "5", "6.80 / lb"), (8, 1, "margin", 12.5, 7.7, "0.5", "1.10 / oz"),
    )
]  # fmt: skip


def test_the_parts_add_up_to_the_total_in_ten_thousand_jobs():
    dice = random.Random(1)
    for _ in range(10_000):
        pairs = {
            name: (D(dice.randrange(10**6)) / 10**5, D(dice.randrange(10**6)) / 10**6)
            for name in PAIRS
        }
        found = cost(Amounts(dice.randrange(1, 40), **pairs), dice.choice(RANDOM_SHOPS))  # fmt: skip
        assert sum(part for _, part in found.parts) == found.gross
        assert found.work + found.material + found.fixed == sum(line.sum for line in found.lines)
        assert found.net + found.tax == found.gross
        assert all(part == part.quantize(D("0.01")) for _, part in found.parts)
        assert found.net % found.prices.step == 0


def test_each_line_is_its_own_product_rounded_once():
    # in exact fractions, apart from decimals
    dice = random.Random(2)
    for _ in range(200):
        once, each = dice.randrange(10**5), dice.randrange(10**5)
        found = cost(
            job(plates=7, sheet_metal=(D(once) / 10**4, D(each) / 10**4)),
            shop(sheet_metal="6.80 / lb"),
        )
        line = next((line for line in found.lines if "metal" in line.what), None)
        whole = Fraction(once + 7 * each, 10**4) * Fraction(680, 100) / Fraction(45359237, 10**8)
        assert line is not None
        assert abs(Fraction(line.sum) - whole) <= Fraction(5001, 10**6)


@TRIED
@given(hours=st.integers(0, 10**5), margin=st.sampled_from(["markup", "margin"]))
def test_markup_is_on_the_cost_and_margin_of_the_price(hours, margin):
    share = {"markup": "25 %", "margin": "20 %"}[margin]
    base = {k: v for k, v in SHOP.items() if k not in ("markup", "rounding")}
    found = cost(job(work=(D(hours) / 1000, 0)), prices.understood({**base, margin: share}))
    # by definition, to the penny that is rounded
    assert abs(found.profit - found.break_even / 4) <= D("0.005")
    assert abs(found.profit - found.net / 5) <= D("0.005")


@TRIED
@given(hours=st.integers(1, 10**5), tax=st.integers(0, 4000))
def test_tax_is_a_share_of_the_price_before_it(hours, tax):
    found = cost(job(work=(D(hours) / 1000, 0)), shop(tax=f"{tax / 100} %"))
    assert abs(found.tax - found.net * D(tax) / 10000) <= D("0.005")
    assert found.gross == found.net + found.tax


@TRIED
@given(
    name=st.sampled_from(sorted(BY_HAND)), more=st.integers(0, 10**4), place=st.integers(0, 1),
    plates=st.integers(1, 30),
)  # fmt: skip
def test_more_of_anything_never_costs_less(name, more, place, plates):
    little = job(plates, **BY_HAND)
    pair = list(getattr(little, name))
    pair[place] += D(more) / 1000
    much = replace(little, **{name: tuple(pair)})
    first, second = cost(little, PRICES), cost(much, PRICES)
    assert second.net >= first.net
    assert second.break_even >= first.break_even
    assert cost(replace(little, plates=plates + 1), PRICES).net >= first.net


@TRIED
@given(
    share=st.sampled_from(["overhead", "spoilage", "markup", "tax"]), low=st.integers(0, 70),
    more=st.integers(0, 10),
)  # fmt: skip
def test_a_higher_share_never_costs_less(share, low, more):
    first, second = (cost(job(**BY_HAND), shop(**{share: f"{s} %"})) for s in (low, low + more))
    assert second.gross >= first.gross


def test_a_price_is_the_same_in_pounds_and_kilograms():
    # 12.40 a kilogram is 12.40 × 0.45359237 = 5.624545388 a pound, by the pound's definition
    other = shop(sheet_metal="5.624545388 / lb", work="0.3583333333333 / min", waste="5.6826125 / imperial gallon")  # fmt: skip
    found, same = (cost(job(**BY_HAND), p) for p in (PRICES, other))
    assert [line.sum for line in found.lines] == [line.sum for line in same.lines]
    assert found.gross == same.gross
    metal = next(line for line in same.lines if "metal" in line.what)
    assert metal.shown == "1.367 lb"  # 0.62 / 0.45359237


def test_whole_sheets_are_charged_by_the_share_used():
    # a sixteenth of a sheet each: 4 × 31 / 16 = 7.75
    found = cost(job(**BY_HAND), shop(sheet_metal="31 / sheet"))
    line = next(line for line in found.lines if "metal" in line.what)
    assert (line.sum, line.shown) == (D("7.75"), "0.25 sheets")


def test_at_the_price_below_which_it_loses_money_nothing_is_left():
    found = cost(job(**BY_HAND), PRICES)
    even = found.asked(found.break_even)
    assert even.profit == even.rounding == 0
    assert found.asked(found.break_even - D("0.01")).profit < 0
    assert sum(part for _, part in even.parts) == even.gross
    # a markup of nothing asks for just that
    assert cost(job(**BY_HAND), shop(markup="0 %", rounding="0.01")).net == found.break_even


@TRIED
@given(
    once=st.tuples(*[st.integers(0, 10**4)] * 3), each=st.tuples(*[st.integers(1, 10**4)] * 3),
    plates=st.integers(1, 20),
)  # fmt: skip
def test_the_second_plate_costs_less_than_the_first(once, each, plates):
    pairs = {n: (D(o) / 1000, D(e) / 1000) for n, o, e in zip(("work", "sheet_metal", "waste"), once, each, strict=True)}  # fmt: skip
    exact = shop(rounding="0.01")
    first, some, more = (
        cost(job(n, films=(1, 0), **pairs), exact) for n in (1, plates, plates + 1)
    )
    assert first.second_plate < first.net
    # what one more adds is the difference of the two quotations, rounded lines apart
    assert abs(more.net - some.net - first.second_plate) < D("0.25")


def test_the_range_is_that_of_the_ways():
    # only the waste varies: 1.25 a litre, from 10 to 20 L evenly; its 5 % and 95 % by hand
    ways = np.concatenate([[15.0], 10 + 10 * (np.arange(256) + 0.5) / 256])
    bare = prices.understood({"currency": "X", "work": "1 / h", "sheet_metal": "1 / kg", "waste": "1.25 / L",
                              "markup": "100 %", "tax": "20 %"})  # fmt: skip
    found = cost(replace(job(1), waste=(ways, D(0))), bare)
    assert found.gross == D("45.00")  # 15 × 1.25 × 2 × 1.2
    assert float(found.low) == pytest.approx(10.5 * 3, abs=0.03)
    assert float(found.high) == pytest.approx(19.5 * 3, abs=0.03)


def test_arrays_and_decimals_go_through_the_same_sums():
    dice = random.Random(3)
    for _ in range(50):
        pairs = {
            n: (D(dice.randrange(10**6)) / 10**5, D(dice.randrange(10**6)) / 10**6) for n in PAIRS
        }
        as_ways = {n: tuple(np.full(257, float(x)) for x in pair) for n, pair in pairs.items()}
        terms = RANDOM_SHOPS[0]
        found, ways = cost(Amounts(3, **pairs), terms), cost(Amounts(3, **as_ways), terms)
        assert found.gross == ways.gross
        assert ways.low <= ways.gross <= ways.high
        assert ways.high - ways.low <= D("0.02")  # a half penny may fall otherwise in binary


# ---- from a plan


def test_what_the_plan_takes(plan):
    found = amounts(plan, *TIMES).each(lambda n: float(np.ravel(n)[0]))
    assert found.plates == 3
    assert found.work == pytest.approx((2.5, 0.4))
    # a sheet of 600 × 300 × 1.6 mm of 8.44 g/cm³ weighs 2430.72 g; blanks of 144 × 69 mm, with a
    # cut of 1 mm between: 4 by 4
    assert found.sheet_metal == pytest.approx((0, 2.43072 / 16))
    assert found.sheets == pytest.approx((0, 1 / 16))
    assert found.film == pytest.approx((0.144 * 0.069, 0))
    # crystals of two ferric ions for each atom of CuZn37, 0.15 mm deep on 15 % of 120 × 45 mm;
    # half of a bath is thrown away unused. Atomic masses of IUPAC.
    grams = 0.15 * 12 * 4.5 * 0.015 * 8.44
    crystals = grams * 2 * (0.63 / 63.546 + 0.37 / 65.38) * 270.295
    assert found.crystals[1] == pytest.approx(crystals / 0.5 / 1000, rel=1e-3)
    # 500 g of crystals are a litre of the bath
    assert found.waste == pytest.approx((10, crystals / 0.5 / 500), rel=1e-3)
    # one kilowatt hour is 3600 kJ
    warm = (
        plan.number("heat_to_warm")
        + plan.number("heat_loss") * plan.number("warm_up_time") * 60 / 2000
    )
    hold = plan.number("heat_loss") * plan.number("bench_time") * 60 / 1000
    assert found.energy == pytest.approx(((warm + hold) / 3600, 0), rel=1e-9)


def test_where_the_tray_is_filled_several_times_holding_goes_with_the_plates(commission):
    # each filling is held warm, the last one too, which may not be full
    plan = planned(commission.changed(plate_count="31"))
    once, each = amounts(plan, *TIMES).each(lambda n: float(np.ravel(n)[0])).energy
    fillings = -(-31 // round(plan.number("plates_at_once")))
    assert fillings > 1
    hold = plan.number("heat_loss") * plan.number("bench_time") * 60 / 1000 / 3600
    warm = (
        plan.number("heat_to_warm")
        + plan.number("heat_loss") * plan.number("warm_up_time") * 60 / 2000
    )
    assert once == pytest.approx(warm / 3600)
    assert 31 * each == pytest.approx(fillings * hold)


def test_no_heater_takes_no_energy(commission):
    cold = planned(commission.changed(heater_rating="0 W", temperature="20 °C", starting_temperature="20 °C"))  # fmt: skip
    assert np.max(amounts(cold, *TIMES).energy[0][0]) == 0


def test_the_offcut_is_said(plan):
    # three of the sixteen blanks of the sheet
    assert "1 sheet of 16 blanks, of which metal for 13 more stays" in amounts(plan, *TIMES).offcut


def test_a_price_from_a_plan(plan):
    exact = shop(rounding="0.01")
    found = cost(amounts(plan, *TIMES), exact, spoilage_of(plan, exact))
    assert found.low <= found.gross <= found.high
    assert found.low < found.high
    assert sum(part for _, part in found.parts) == found.gross
    deeper = planned(plan.commission.changed(open_fraction="60 %"))
    assert cost(amounts(deeper, *TIMES), PRICES).gross >= cost(amounts(plan, *TIMES), PRICES).gross


def test_units_of_the_commission_change_no_price(plan, commission):
    inches = planned(commission.changed(plate_width=f"{120 / 25.4!r} in", plate_thickness=f"{1.6 / 0.0254!r} thou"))  # fmt: skip
    found, same = (cost(amounts(p, *TIMES), PRICES) for p in (plan, inches))
    assert found.parts == same.parts


def test_spoilage_counts_the_ways_one_by_one(commission):
    plan = planned(commission.changed(depth="0.2 mm", etch_factor="1.39"))
    of = plan.book.values
    too_deep = np.broadcast_to(of["too_deep_time"].to("min").magnitude, 257)[1:]
    takes = np.broadcast_to(of["greatest_depth"].to("mm").magnitude, 257)[1:]
    gauge = plan.number("gauge_time")
    spoilt = sum(
        1 for late, deep in zip(too_deep, takes, strict=True) if late < gauge or deep < 0.2
    )
    nothing_else = shop(spoilage="0 %")
    assert float(spoilage_of(plan, nothing_else)) == pytest.approx(spoilt / 256)
    # of 100 plates 10 are scratched, and of the other 90 so many fail in the bath
    assert float(spoilage_of(plan, shop(spoilage="10 %"))) == pytest.approx(
        1 - 0.9 * (1 - spoilt / 256)
    )


def test_a_deeper_line_spoils_more(commission):
    known = commission.changed(etch_factor="1.39")
    shares = [spoilage_of(planned(known.changed(depth=d)), PRICES) for d in ("0.10 mm", "0.15 mm", "0.20 mm", "0.3 mm")]  # fmt: skip
    assert shares == sorted(shares)
    assert shares[-1] > D("0.8") > shares[0]
    # an etch factor not measured yet spoils no plate: a test strip tells it first
    guessed = spoilage_of(planned(commission.changed(depth="0.3 mm")), PRICES)
    assert guessed < D("0.15")


def test_what_has_no_price_is_refused_in_one_sentence(plan, commission):
    with pytest.raises(BadInput, match="No price yet"):
        cost(job(**BY_HAND), prices.understood({}))
    with pytest.raises(BadInput, match="90 % of the plates would be spoilt"):
        cost(job(**BY_HAND), PRICES, D("0.9"))
    with pytest.raises(BadInput, match="never reached"):
        cost(replace(job(**BY_HAND), work=(float("inf"), 0.0)), PRICES)
    large = planned(commission.changed(plate_width="590 mm", plate_height="290 mm", tray_length="800 mm", tray_width="500 mm"))  # fmt: skip
    with pytest.raises(BadInput, match="type sheet_length"):
        amounts(large, *TIMES)
