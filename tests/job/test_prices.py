"""What the shop pays and asks: read as typed, every fault named, nothing started from."""

import tomllib
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.faults import BadInput
from etchcalc.job import prices

TRIED = settings(deadline=None, derandomize=True, max_examples=100)
# invented
ENOUGH = {"currency": "GBP", "work": "21.50 / h", "sheet_metal": "12.40 / kg", "markup": "25 %"}


def rate(name, typed, **more):
    return prices.understood({name: typed, **more}).rates[name]


# The factors are the definitions of the units: one pound 0.45359237 kg, one ounce a sixteenth of
# it, one foot 0.3048 m, gallons of 4.54609 L (imperial) and 3.785411784 L (US).
@pytest.mark.parametrize(
    ("name", "typed", "expected"),
    [
        ("sheet_metal", "12.40 / kg", "12.40"),
        ("sheet_metal", "12.40/kg", "12.40"),
        ("sheet_metal", "12.40 per kilogram", "12.40"),
        ("sheet_metal", "0.0124 / g", "12.40"),
        ("sheet_metal", "6.80 / lb", str(Decimal("6.80") / Decimal("0.45359237"))),
        ("sheet_metal", "1 / 4 oz", str(Decimal(4) / Decimal("0.45359237"))),
        ("stop_out_paint", "18 / 5 L", "3.6"),
        ("fill_paint", "12.50 / 250 ml", "50"),
        ("thinners", "9 / imperial gallon", str(9 / Decimal("4.54609"))),
        ("waste", "9 / US gallon", str(9 / Decimal("3.785411784"))),
        ("resist", "4.20 / sq ft", str(Decimal("4.20") / Decimal("0.09290304"))),
        ("film", "0.02 / cm2", "200"),
        ("energy", "0.31 / kWh", "0.31"),
        ("work", "0.50 / min", "30"),
        ("work", "12 1/2 / h", "12.5"),
        ("work", "1/2 / min", "30"),
        ("sheet_metal", "31 / sheet", "31"),
        ("sheet_metal", "31 / 2 sheets", "15.5"),
        ("film", "9.50 per film", "9.50"),
        ("packing", "1.20 / plate", "1.20"),
        ("carriage", "8", "8"),
    ],
)
def test_an_amount_with_its_unit(name, typed, expected):
    assert float(rate(name, typed).amount) == pytest.approx(float(expected), rel=1e-11)


@pytest.mark.parametrize(
    ("typed", "expected"),
    [("1,200.50 / h", "1200.50"), ("12,50 / h", "12.50"), ("1.200,50 / h", "1200.50"),
     ("1 200.50 / h", "1200.50"), ("GBP 12.50 / h", "12.50"), ("12.50 GBP / h", "12.50")],
)  # fmt: skip
def test_commas_and_the_label_are_read_sensibly(typed, expected):
    assert rate("work", typed, currency="GBP").amount == Decimal(expected)


def test_a_comma_of_two_readings_is_asked_about():
    with pytest.raises(BadInput, match=r"two ways: type 1200 or 1\.200"):
        prices.understood({"work": "1,200 / h"})


@TRIED
@given(pence=st.integers(0, 10**8))
def test_money_is_exact(pence):
    amount = Decimal(pence) / 100
    assert rate("work", f"{amount:.2f} / h").amount == amount


def test_what_is_counted_keeps_its_unit_as_typed():
    said = rate("sheet_metal", "6.80 / lb")
    assert (said.per, said.word, said.size) == ("kg", "lb", Decimal("0.45359237"))
    assert rate("sheet_metal", "31 / sheet").per == "sheet"
    assert rate("carriage", "8").typed == "8 / job"


def test_shares_and_rounding():
    said = prices.understood({"tax": "20 %", "overhead": "12.5 %", "rounding": "5"})
    assert said.shares == {"tax": Decimal("0.2"), "overhead": Decimal("0.125")}
    assert said.step == 5
    assert prices.understood({}).step == Decimal("0.01")


# By definition: a price of 100 with a margin of 20 leaves a cost of 80, and 20 is 25 % of 80.
def test_a_margin_of_20_per_cent_is_a_markup_of_25():
    margin, markup = (
        prices.understood({n: t}) for n, t in (("margin", "20 %"), ("markup", "25 %"))
    )
    assert margin.on_cost == markup.on_cost == Decimal("0.25")


def test_every_fault_stands_in_one_sentence():
    bad = {
        "currency": "12", "work": "160 / day", "sheet_metal": "6.80", "film": "nothing / film",
        "energy": "3 / L", "crystals": "-3 / kg", "waste": "nan / L", "soda": "3 / 0 kg",
        "packing": "3 / kg", "markup": "0.25", "tax": "200 %", "rounding": "0.015", "sheet_metl": "3 / kg",
        "resist": "€3 / m2",
    }  # fmt: skip
    with pytest.raises(BadInput) as fault:
        prices.understood(bad)
    text = str(fault.value)
    for name in bad:
        assert f"{name}:" in text or f"“{name}”" in text
    assert "did you mean sheet_metal" in text
    assert "a day at the bench is not 24 hours" in text
    assert "\n" not in text


@pytest.mark.parametrize("where", [0, 1])
def test_markup_and_margin_are_not_both_typed(where):
    both = {"markup": "25 %", "margin": "20 %"}
    with pytest.raises(BadInput, match="type one of them"):
        prices.understood(*(({}, both) if where else (both, {})))


def test_the_commission_wins_over_the_shop():
    shop = {**ENOUGH, "film": "9 / film", "tax": "20 %"}
    said = prices.understood({"film": "11 / film", "margin": "30 %"}, shop)
    assert said.rates["film"].amount == 11
    assert said.rates["work"].amount == Decimal("21.5")
    assert set(said.shares) == {"margin", "tax"}
    assert not prices.missing(said)


def test_nothing_said_has_no_price_and_says_what_to_type():
    nothing = prices.understood({})
    assert not nothing.rates and not nothing.shares and not nothing.currency
    sentence = prices.missing(nothing)
    for word in ("currency", "work", "sheet_metal", "markup", "margin", "/ h", "/ kg"):
        assert word in sentence
    assert not prices.missing(prices.understood(ENOUGH))
    for name in ENOUGH:
        lacking = {k: v for k, v in ENOUGH.items() if k != name}
        assert name in prices.missing(prices.understood(lacking))


def test_an_empty_line_is_no_line():
    assert prices.understood({"work": " ", "tax": ""}).typed == {}


def test_the_shops_file(tmp_path):
    assert prices.opened(tmp_path) == {}
    (tmp_path / prices.NAME).write_text(
        '[price]\nwork = "21.50 / h"  # since spring\ncarriage = 8\n'
    )
    assert prices.opened(tmp_path) == {"work": "21.50 / h", "carriage": "8"}


@pytest.mark.parametrize(
    "text", ['work = "1 / h"', "price = 3", '[prices]\nwork = "1 / h"', "[price"]
)
def test_a_file_that_is_something_else_is_refused(text):
    with pytest.raises(BadInput, match=r"\[price\]|TOML"):
        prices.parsed(text)


def test_the_blank_file_is_read_and_says_nothing():
    text = prices.blank()
    assert tomllib.loads(text) == {"price": {}}
    assert prices.understood(prices.parsed(text)).typed == {}
    # every line that it offers is known, and every line that is known is offered
    offered = tomllib.loads(text.replace("# ", "", 1).replace("\n# ", "\n").split("\n", 1)[1].replace(
        "type markup or margin, one of them", ""))  # fmt: skip
    assert set(offered["price"]) == set(prices.KNOWN)


def test_money_as_it_stands_on_the_page():
    assert prices.money(Decimal("1234.5"), "GBP") == "1234.50 GBP"
    assert prices.money(Decimal("-0.18")) == "−0.18"
