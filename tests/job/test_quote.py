"""The quote on the telephone: what is not said is assumed, listed, and kept. All prices are invented."""

from datetime import date
from decimal import Decimal

import pytest

from etchcalc.core.faults import BadInput
from etchcalc.core.units import read
from etchcalc.job import prices, quote
from etchcalc.job.commission_file import parsed
from etchcalc.job.plan import planned
from etchcalc.job.shop import Shop, folder_name

PRICES = prices.understood({
    "currency": "GBP", "work": "20 / h", "sheet_metal": "12 / kg", "film": "9 / film", "crystals": "90 / kg",
    "fill_paint": "20 / 250 ml", "markup": "25 %", "tax": "20 %",
})  # fmt: skip
CALLER = {
    "plate_width": "6 in", "plate_height": "4 in", "plate_thickness": "1.5 mm", "metal": "brass",
    "lettering": "medium", "plate_count": "2", "due": "2026-03-10",
}  # fmt: skip


def quoted(earliest=date(2026, 3, 5), usual=None, hands_on=None, **said):
    hours = hands_on or (lambda plan: (read("150 min"), read("35 min")))
    return quote.quoted({**CALLER, **said}, PRICES, hands_on=hours, earliest=lambda plan: earliest, usual=usual)  # fmt: skip


def test_a_quote_says_price_day_and_what_was_assumed():
    found = quoted()
    said = found.said()
    assert found.low <= found.cost.gross <= found.high
    for word in ("2 plates", prices.money(found.cost.gross, "GBP"), "2026-03-05, in time for 2026-03-10",
                 "open metal 15 %", "finest line 0.5 mm", "depth 0.15 mm"):  # fmt: skip
        assert word in said
    assert "thickness" not in said  # it was said


def test_it_is_kept_as_a_commission(tmp_path):
    found = quoted()
    shop = Shop(tmp_path)
    name = folder_name(found.commission.title)
    shop.keep(found.commission, name)
    again = shop.open(name)
    assert again.values == found.commission.values
    assert again.words["due"] == "2026-03-10"
    assert "Assumed, to be asked: open metal 15 %" in again.words["notes"]
    assert parsed(found.text).values == again.values


@pytest.mark.parametrize(
    ("lettering", "share"), [("light", 5), ("medium", 15), ("dense", 30), ("", 15)]
)
def test_lettering_is_a_share_of_open_metal(lettering, share):
    commission, assumed = quote.enquiry({**CALLER, "lettering": lettering})
    assert commission.values["open_fraction"].to("percent").magnitude == pytest.approx(share)
    assert "open_fraction" in assumed


def test_denser_lettering_costs_more():
    net = [quoted(lettering=how).cost.net for how in ("light", "medium", "dense")]
    assert net == sorted(net) and net[0] < net[-1]


def test_the_band_holds_half_and_twice_the_open_metal():
    found = quoted()
    half, twice = (quoted(open_fraction=share).cost for share in ("7.5 %", "30 %"))
    assert (found.low, found.high) == (half.low, twice.high)
    said = quoted(open_fraction="15 %")  # then it is known
    assert (said.low, said.high) == (said.cost.low, said.cost.high)
    assert found.low < said.low and said.high < found.high


def test_what_nobody_said_does_not_pass_for_said():
    plans = []
    quoted(
        hands_on=lambda plan: (plans.append(plan), (read("1 h"), read("1 h")))[1], depth="0.1 mm"
    )
    basis = plans[0].book.basis
    assert basis["finest_line"] == basis["open_fraction"] == "assumed"
    assert basis["depth"] == basis["plate_width"] == "given"


@pytest.mark.parametrize(
    "said",
    [{}, {"plate_thickness": "0.25 mm"}, {"finest_line": "0.3 mm"}, {"depth": "0.3 mm"}, {"plate_thickness": ""}],
)  # fmt: skip
def test_the_groove_that_is_assumed_can_be_etched(said):
    commission, _ = quote.enquiry({**CALLER, **said})
    plan = planned(commission)
    assert plan.number("depth") < plan.number("greatest_depth")
    assert plan.number("depth") < plan.number("plate_thickness") / 2
    assert quote.spoilage_of(plan, PRICES) < Decimal("0.15")


def test_the_shops_usual_tray_and_sheet_are_taken(commission):
    usual = commission.changed(
        tray_length="500 mm", temperature="45 °C", sheet_length="1 m", title="Old"
    )
    found = quoted(usual=usual).commission
    assert [found.typed[n] for n in ("tray_length", "temperature", "sheet_length")] == ["500 mm", "45 °C", "1 m"]  # fmt: skip
    assert "Old" not in found.title
    assert "plate_count" in found.typed and found.typed["plate_count"] == "2"


def test_too_late_is_said():
    late = quoted(earliest=date(2026, 3, 11))
    assert late.late and "too late for 2026-03-10" in late.said()
    assert not quoted(earliest=date(2026, 3, 10)).late
    assert "earliest" not in quoted(earliest=None).said()
    assert quoted(due="").said().count("2026") == 1


def test_every_fault_stands_in_one_sentence():
    with pytest.raises(BadInput) as fault:
        quoted(lettering="thick", metal="gold", due="soon", plate_width="3 kg", colour="red")
    for word in ("lettering", "gold", "due", "plate width", "colour"):
        assert word in str(fault.value)
    with pytest.raises(BadInput, match="No price yet"):
        quote.quoted(CALLER, prices.understood({}), hands_on=lambda plan: (read("1 h"),) * 2, earliest=lambda plan: None)  # fmt: skip


def test_the_paper_for_the_client_adds_up_and_shows_no_profit():
    found = quoted()
    paper = quote.paper(found.commission, found.cost, found.assumed, "2026-04-01")
    net, tax, gross = (Decimal(paper[n].removesuffix(" GBP")) for n in ("net", "tax", "gross"))
    assert net + tax == gross
    assert [price for *_, price in paper["lines"]] == [paper["net"]]
    assert "profit" not in str(paper)
    assert len(paper["assumptions"]) == 3
