"""The telephone, the price, the day and the shelf driven in-process: every box, every button, faults.

All prices are invented.
"""

import re
import shutil
from datetime import UTC, date, datetime, time, timedelta

import icalendar
import ipywidgets as widgets
import pytest

from etchcalc.core.faults import BadInput
from etchcalc.job import clocks, opening, prices, schedule, shelf, shop_prices
from etchcalc.job.commission import understood
from etchcalc.job.plan import planned
from etchcalc.job.schema import SECTIONS
from etchcalc.job.shop import DEMO, Shop
from etchcalc.pages.panels import JobSheet, RecordsAndPrice
from etchcalc.pages.panels.day import DayPart
from etchcalc.pages.panels.price import PricePart
from etchcalc.pages.panels.shelf import ShelfPart
from etchcalc.pages.panels.telephone import Telephone

SCRIPT = "<img src=x onerror=alert(1)>"
CALLER = {"plate_width": "6 in", "plate_height": "4 in", "plate_count": "2"}
OWN = {"currency": "EUR", "work": "30 / h", "sheet_metal": "10 / kg", "markup": "20 %"}


class Parts(RecordsAndPrice):
    """The four parts on one commission, as the workbook composes them."""

    def _build(self):
        self.phone, self.price, self.day, self.shelf = self.parts = [
            make(self) for make in (Telephone, PricePart, DayPart, ShelfPart)
        ]
        self.box = widgets.VBox([self._head(), *(part.body for part in self.parts)])


@pytest.fixture(scope="module")
def lasting(tmp_path_factory, measured):
    """Return a panel for tests that leave it as they found it."""
    return Parts(Shop(shutil.copytree(measured, tmp_path_factory.mktemp("lasting") / "shop")))


@pytest.fixture
def panel(shop):
    return Parts(shop)


def of_own(shop, panel, **words):
    """Turn to a job that is not the invented demonstration, with no price in it."""
    panel.choose(**{**dict.fromkeys(prices.KNOWN, ""), "invented": "", **words})
    return panel


def typed(part, said):
    for name, text in said.items():
        part.boxes[name].box.value = text


def alerts(*boxes):
    return [b for b in boxes if "role='alert'" in b.value]


# ---- the telephone


def test_nothing_is_quoted_until_it_is_asked(panel):
    assert panel.phone.text() == [] and panel.phone.answer.value == ""
    typed(panel.phone, CALLER)
    assert panel.phone.answer.value == ""


def test_a_quote_says_price_day_and_what_is_assumed(panel):
    typed(panel.phone, {**CALLER, "due": "2027-03-26"})
    panel.phone.quote.click()
    said = panel.phone.answer.value
    for word in ("2 plates of", "GBP", "earliest day", "open metal 15 %", "nothing else is on the",
                 "invented", "2027-03-26"):  # fmt: skip
        assert word in said
    assert re.search(r"The earliest day is 20\d\d-\d\d-\d\d", said)
    panel.phone.lettering.box.value = "dense"
    panel.phone.quote.click()
    assert "open metal 30 %" in panel.phone.answer.value


@pytest.mark.parametrize(
    ("name", "text", "word"),
    [
        ("plate_width", "many bananas", "plate width"),
        ("plate_height", "", "plate height is missing"),
        ("plate_count", "1.5", "whole number"),
        ("due", SCRIPT, "not a date"),
        ("due", "next week", "2026-02-01"),
        ("plate_thickness", "0.0001 mm", "thickness"),
    ],
)
def test_what_cannot_be_quoted_gets_a_sentence_and_stays(lasting, name, text, word):
    panel, shop = lasting, lasting.shop
    typed(panel.phone, {**dict.fromkeys(panel.phone.boxes, ""), **CALLER, name: text})
    before = shop.names
    for button in (panel.phone.quote, panel.phone.keep):
        button.click()
        assert alerts(panel.phone.says) and word in panel.phone.says.value
        assert "<img" not in panel.phone.says.value
    assert panel.phone.answer.value == "" and shop.names == before
    assert panel.phone.boxes[name].box.value == text


def test_a_size_that_cannot_be_meant_is_told_under_its_box(panel):
    box = panel.phone.boxes["plate_width"]
    box.box.value = SCRIPT
    assert alerts(box.says) and "<img" not in box.says.value and box.box.value == SCRIPT
    box.box.value = "120 mm"
    assert not alerts(box.says)


def test_what_is_kept_opens_as_a_job_and_all_panels_turn_to_it(panel, shop, monkeypatch):
    monkeypatch.setattr(clocks, "own_zone", lambda: "Europe/Lisbon")  # of this computer
    other = JobSheet(shop)
    typed(panel.phone, {**CALLER, "client": SCRIPT, "title": "Door plate"})
    panel.phone.keep.click()
    assert panel.name == shop.current == "door-plate"
    assert "Kept" in panel.phone.says.value and panel.phone.boxes["title"].box.value == ""
    kept = shop.open("door-plate")
    assert kept.words["client"] == SCRIPT and kept.words["zone"] == "Europe/Lisbon"
    assert "Assumed, to be asked: open metal 15 %" in kept.words["notes"]
    assert not kept.price_lines, "invented prices do not go into a client's job"
    assert float(kept.values["plate_width"].to("mm").magnitude) == pytest.approx(6 * 25.4)
    other.look()
    assert other.name == "door-plate" and "<img" not in other.title.value
    typed(panel.phone, {**CALLER, "title": "Door plate"})
    panel.phone.keep.click()
    assert panel.name == "door-plate-2" and shop.open("door-plate-2").title == "Door plate"


def test_without_prices_there_is_no_quote_but_a_job(panel, shop):
    of_own(shop, panel)
    typed(panel.phone, CALLER)
    panel.phone.quote.click()
    assert alerts(panel.phone.says) and "No price yet" in panel.phone.says.value
    panel.phone.keep.click()
    assert panel.name.startswith("enquiry-2-plates-of-") and shop.open().title.startswith("Enquiry")


def test_prices_of_a_job_of_its_own_go_with_the_one_kept(panel, shop):
    of_own(shop, panel, **OWN)
    typed(panel.phone, CALLER)
    panel.phone.quote.click()
    assert "EUR" in panel.phone.answer.value and "invented" not in panel.phone.answer.value
    panel.phone.keep.click()
    assert shop.open(panel.name).price_lines == OWN


def test_the_earliest_day_fills_the_hours_that_the_shop_is_open():
    plan = planned(understood({"plate_width": "120 mm", "plate_height": "45 mm", "metal": "brass",
                               "finest_line": "0.4 mm", "depth": "0.2 mm"}))  # fmt: skip
    today = date(2026, 11, 25)
    job = schedule.day(plan, datetime(2026, 11, 26, 8, tzinfo=UTC), opens=time(8), closes=time(20))
    taken = (job.end - job.begin) / timedelta(hours=1)
    for open_for in (9.5, 3.0, 14.0):
        closes = (datetime(2026, 1, 1, 8) + timedelta(hours=open_for)).strftime("%H:%M")
        plan.commission.words.update(opens="08:00", closes=closes)
        days = next(n for n in range(1, 40) if n * open_for >= taken)
        assert opening.earliest(plan, today) == today + timedelta(days=days)
    plan.commission.words["closes"] = "07:00"
    assert opening.earliest(plan, today) is None


def test_a_currency_is_a_label_and_no_tag(panel, shop):
    of_own(shop, panel, **{**OWN, "currency": "<b>GBP"})
    typed(panel.phone, CALLER)
    panel.phone.quote.click()
    for shown in (panel.phone.answer, panel.price.answer, panel.price.lines):
        assert "&lt;b&gt;GBP" in shown.value and "<b>GBP" not in shown.value


# ---- the price


def test_the_price_is_that_of_the_table_and_adds_up(panel):
    cells = re.findall(r"<tr>(.*?)</tr>", panel.price.lines.value)[1:]
    sums = [re.findall(r"<td>([^<]*)</td>", row)[-1].replace("−", "-") for row in cells]
    names = [re.search(r"<th scope='row'>([^<]*)", row)[1] for row in cells]
    by = dict(zip(names, sums, strict=True))
    net, to_pay = float(by.pop("price before tax")), float(by.pop("to pay, GBP"))
    tax = float(by.pop("tax, 20 %"))
    assert sum(map(float, by.values())) == pytest.approx(net, abs=1e-9)
    assert net + tax == pytest.approx(to_pay, abs=1e-9)
    said = panel.price.answer.value
    for word in (f"{to_pay:.2f} GBP", "a plate", "One plate more adds", "loses money", "invented",
                 "rounded to 0.01", "charged by the share", "As the job may run"):  # fmt: skip
        assert word in said
    assert any(f"To pay: {to_pay:.2f} GBP" in line for line in panel.price.text())


@pytest.mark.parametrize("name", prices.KNOWN)
def test_every_price_has_a_box_that_moves_it_or_refuses(lasting, name):
    panel = lasting
    box = panel.price.boxes[name]
    assert len(box.box.description) <= 20 and box.box.placeholder
    before, was = panel.price.text(), box.box.value
    box.box.value = f"{SCRIPT} 5"
    assert alerts(box.says) and "<img" not in box.says.value
    assert panel.price.text() == before and box.box.value == f"{SCRIPT} 5", "nothing is lost"
    new = {"currency": "EUR", "rounding": "0.01"}.get(name) or (
        "11 %" if name in prices.SHARES else f"77 / {(prices.RATES[name].per or 'job')}"
    )
    if name == "margin":
        box.box.value = new
        assert "both" in box.says.value, "markup is typed already"
        markup = panel.price.boxes["markup"].box
        kept, markup.value = markup.value, ""
    box.box.value = ""
    box.box.value = new
    assert not alerts(box.says) and panel.commission.price_lines[name] == new
    assert panel.price.text() != before
    box.box.value = was
    if name == "margin":
        markup.value = kept
    assert panel.price.text() == before


def test_without_prices_it_says_what_to_type(panel, shop):
    of_own(shop, panel)
    assert panel.price.text()[0].startswith("No price yet") and len(panel.price.text()) == 1
    assert alerts(panel.price.answer) and panel.price.lines.value == ""


def test_the_shops_own_prices_are_written_and_leave_the_commission(panel, shop):
    of_own(shop, panel, **OWN)
    before = panel.price.text()
    panel.price.own.click()
    assert "prices.toml" in panel.price.says.value and not alerts(panel.price.says)
    assert prices.opened(shop.root) == OWN
    assert shop.open().price_lines == {} == panel.commission.price_lines
    assert panel.price.text() == before, "they count as before"
    box = panel.price.boxes["work"].box
    assert box.value == "" and box.placeholder == "30 / h, the shop's"
    assert Parts(shop).price.text() == before
    panel.price.own.click()
    assert alerts(panel.price.says), "nothing is typed here any more"


def test_another_panel_reckons_with_them(panel, shop):
    of_own(shop, panel, **OWN)
    other = Parts(shop)
    panel.price.own.click()
    other.look()
    assert other.price.text() == panel.price.text() and "EUR" in " ".join(other.price.text())


def test_invented_prices_are_never_the_shops_own(panel, shop):
    panel.price.own.click()
    assert alerts(panel.price.says) and not (shop.root / prices.NAME).exists()
    assert panel.commission.price_lines


def test_remarks_of_the_shops_file_stay(tmp_path):
    path = shop_prices.keep(tmp_path, {"work": "30 / h", "margin": "20 %"})
    first = path.read_text(encoding="utf-8")
    assert 'work = "30 / h"  # an hour at the bench' in first and '# film = ""' in first
    path.write_text(first.replace("# an hour at the bench", "# since spring"), encoding="utf-8")
    shop_prices.keep(tmp_path, {"work": "31 / h", "markup": "25 %"})
    again = path.read_text(encoding="utf-8")
    assert 'work = "31 / h"  # since spring' in again
    assert prices.opened(tmp_path) == {"work": "31 / h", "markup": "25 %"}, "one profit counts"
    for lines in ({"work": "bananas"}, {"wrok": "30 / h"}, {}):
        with pytest.raises(BadInput):
            shop_prices.keep(tmp_path, lines)
        assert path.read_text(encoding="utf-8") == again


def test_a_faulty_file_of_prices_gets_a_sentence(panel, shop):
    of_own(shop, panel, **OWN)
    for text in ("[price\n", '[price]\nfilm = "bananas"\n'):
        (shop.root / prices.NAME).write_text(text, encoding="utf-8")
        panel.price.own.click()
        assert alerts(panel.price.says)
        assert (shop.root / prices.NAME).read_text(encoding="utf-8") == text
        assert panel.commission.price_lines == OWN


# ---- the day


def test_the_day_stands_by_the_clock(panel):
    text = panel.day.text()
    assert text[0].startswith("08:30–09:00  Mix the bath") and text == panel.day.text()
    assert any("hands on for" in line and "waiting for" in line for line in text)
    assert any("closing time, 17:30" in line for line in text)
    assert "<svg" in panel.day.picture.value and "08:30–09:00" in panel.day.list.body.value
    assert "UTC" not in panel.day.answer.value
    panel.day.boxes["zone"].box.value = ""
    assert "counts as UTC" in panel.day.answer.value


@pytest.mark.parametrize(
    ("name", "text"),
    [("starts", SCRIPT), ("starts", "2027-02-30 08:00"), ("starts", "2027-03-28 01:30"),
     ("opens", "25:00"), ("closes", SCRIPT), ("zone", "Atlantis")],
)  # fmt: skip
def test_what_no_clock_shows_gets_a_sentence(lasting, name, text):
    panel = lasting
    before = panel.day.text()
    box = panel.day.boxes[name]
    box.box.value = text
    assert alerts(box.says) and "<img" not in box.says.value
    assert box.box.value == text and panel.day.text() == before
    box.box.value = panel.commission.words[name]


def test_a_shop_that_closes_before_it_opens_has_no_day(panel):
    panel.day.boxes["closes"].box.value = "07:00"
    assert alerts(panel.day.answer) and "closing time" in panel.day.answer.value
    assert panel.day.picture.value == "" and panel.day.button.disabled
    panel.day.boxes["closes"].box.value = ""
    assert "<svg" in panel.day.picture.value, "the usual closing time"


@pytest.mark.parametrize("name", SECTIONS["day"])
def test_every_time_at_the_bench_has_a_box(lasting, name):
    panel = lasting
    box = panel.day.times[name]
    assert len(box.box.description) <= 20 and box.box.placeholder.endswith("min")
    before = panel.day.text()
    box.box.value = "many bananas"
    assert alerts(box.says) and panel.day.text() == before
    box.box.value = "55 min"
    assert panel.commission.typed[name] == "55 min" and not alerts(box.says)
    assert panel.day.text() != before
    box.box.value = ""
    assert name not in panel.commission.typed and panel.day.text() == before


def test_without_a_start_it_says_what_to_type(panel, shop):
    panel.day.boxes["starts"].box.value = ""
    assert panel.day.text() == [panel.day.text()[0]] and "2027-03-26 08:30" in panel.day.text()[0]
    assert panel.day.picture.value == "" and panel.day.button.disabled
    panel.day.button.click()
    assert alerts(panel.day.says) and not list(shop.folder(DEMO).glob("*.ics"))


def test_the_calendars_file_lies_beside_the_commission(panel, shop):
    panel.day.button.click()
    assert f"/files/commissions/{DEMO}/{DEMO}.ics" in panel.day.says.value
    calendar = icalendar.Calendar.from_ical((shop.folder(DEMO) / f"{DEMO}.ics").read_bytes())
    first = min(event["dtstart"].dt for event in calendar.walk("VEVENT"))
    assert first == clocks.read_start("2027-03-26 08:30", "Europe/London")


def test_jobs_that_want_the_tray_at_once_are_told(panel, shop):
    assert panel.day.clashes.value == ""
    one = shop.open()
    shop.keep(one.changed(title=SCRIPT, starts="2027-03-26 09:00", file=""), "other")
    panel.day.draw()
    assert "Tray busy from" in panel.day.clashes.value and "<img" not in panel.day.clashes.value
    for change in ({"done_on": "2027-03-26"}, {"starts": ""}, {"starts": "2027-05-26 09:00"}):
        shop.keep(one.changed(**{"starts": "2027-03-26 09:00", "file": "", **change}), "other")
        panel.day.draw()
        assert panel.day.clashes.value == "", change
    (shop.folder("other") / "commission.toml").write_text("[plate\n", encoding="utf-8")
    panel.day.draw()
    assert "other cannot be read and is passed over" in panel.day.clashes.value


def test_a_job_of_another_month_is_not_planned(panel, shop, monkeypatch):
    shop.keep(shop.open().changed(starts="2027-05-26 09:00", file=""), "other")
    monkeypatch.setattr(opening, "planned", lambda *_, **__: pytest.fail("it takes time"))
    panel.day.draw()


def test_another_page_moves_the_day(panel, shop):
    other = Parts(shop)
    other.day.boxes["starts"].box.value = "2027-04-01 10:00"
    panel.look()
    assert panel.day.boxes["starts"].box.value == "2027-04-01 10:00"
    assert panel.day.text() == other.day.text() and panel.day.text()[0].startswith("10:00")


# ---- the shelf


def put(part, kind="crystals", **said):
    part.kind.value = kind
    typed(part, said)
    part.add.click()


def test_what_is_put_on_the_shelf_counts(panel, shop):
    assert any(line.startswith("crystals: the job takes") for line in panel.shelf.text())
    put(panel.shelf, name=SCRIPT, amount="9 kg", package="2.5 kg", best_before="2999-01-01")
    (item,) = shelf.opened(shop.root / shelf.NAME)
    assert (item.name, item.kind, item.amount, item.package) == (SCRIPT, "crystals", "9 kg", "2.5 kg")  # fmt: skip
    assert "<img" not in panel.shelf.items.value and "2999-01-01" in panel.shelf.items.value
    assert "and it is there" in panel.shelf.takes.value
    # 2.5 kg at 500 g/L: 2.5 / 0.5 L
    assert "A package of 2.5 kg of crystals makes 5 L of 500 g/L." in panel.shelf.takes.value
    assert panel.shelf.boxes["name"].box.value == "" and not alerts(panel.shelf.says)


def test_what_is_missing_is_bought_in_packages(panel):
    put(panel.shelf, name="Tub", amount="100 g", package="500 g")
    needed = float(shelf.takes(panel.plan)["crystals"].to("g").magnitude)
    count = next(n for n in range(1, 99) if 100 + n * 500 >= needed)
    assert any(f"buy {count} of 500 g" in line for line in panel.shelf.text())


def test_an_amount_is_changed_and_an_item_taken_away(panel, shop):
    put(panel.shelf, name="Tub", amount="100 g")
    put(panel.shelf, name="Soda", kind="soda", amount="1 kg")
    panel.shelf.which.index = 1
    panel.shelf.left.box.value = "many bananas"
    panel.shelf.change.click()
    assert alerts(panel.shelf.changed) and panel.shelf.left.box.value == "many bananas"
    panel.shelf.left.box.value = "800 g"
    panel.shelf.change.click()
    assert [i.amount for i in shelf.opened(shop.root / shelf.NAME)] == ["100 g", "800 g"]
    assert not alerts(panel.shelf.changed) and panel.shelf.which.value.name == "Soda"
    panel.shelf.away.click()
    panel.shelf.away.click()
    assert shelf.opened(shop.root / shelf.NAME) == ()
    assert "Nothing is on the shelf" in panel.shelf.items.value


def test_a_shelf_changed_by_another_page_is_not_written_over(panel, shop):
    put(panel.shelf, name="Tub", amount="100 g")
    other = Parts(shop)
    other.shelf.left.box.value = "50 g"
    other.shelf.change.click()
    panel.shelf.away.click()
    assert alerts(panel.shelf.changed) and "50 g" in panel.shelf.items.value
    panel.shelf.away.click()
    assert shelf.opened(shop.root / shelf.NAME) == ()


@pytest.mark.parametrize(
    ("kind", "said", "word"),
    [
        ("crystals", {"name": "Tub"}, "how much is left"),
        ("crystals", {"name": "Tub", "amount": "3 L"}, "such as 2.5 kg"),
        ("crystals", {"name": "Tub", "amount": SCRIPT}, "amount"),
        ("crystals", {"name": "Tub", "amount": "1 kg", "package": "0 kg"}, "package"),
        ("crystals", {"name": "Tub", "amount": "1 kg", "best_before": "soon"}, "not a date"),
        ("metal", {"name": "brass", "amount": "1 kg"}, "how thick"),
        ("metal", {"name": "cheese", "amount": "1 kg", "thickness": "1 mm"}, "cheese"),
    ],
)
def test_what_no_shelf_holds_gets_a_sentence(lasting, kind, said, word):
    panel, shop = lasting, lasting.shop
    typed(panel.shelf, dict.fromkeys(panel.shelf.boxes, ""))
    put(panel.shelf, kind, **said)
    assert alerts(panel.shelf.says) and word in panel.shelf.says.value
    assert "<img" not in panel.shelf.says.value
    assert not (shop.root / shelf.NAME).exists()
    assert panel.shelf.boxes["name"].box.value == said["name"], "nothing is lost"


def test_metal_is_asked_for_its_thickness(panel):
    field = panel.shelf._fields["thickness"]
    assert "etch-hidden" in field._dom_classes
    put(panel.shelf, "metal", name="brass", amount="5 kg", thickness="3 mm")
    assert "etch-hidden" not in field._dom_classes
    assert any(line.startswith("metal: the job takes") for line in panel.shelf.text())
    assert not any("metal" in line and "is there" in line for line in panel.shelf.text())


def test_what_is_past_its_best_counts_on_the_page_only(panel):
    put(panel.shelf, name="Tub", amount="9 kg", best_before="2020-01-01")
    assert "Tub is past its best before" in panel.shelf.takes.value
    assert any("crystals" in line and "is there" in line for line in panel.shelf.text())


def test_a_faulty_shelf_gets_a_sentence(panel, shop):
    (shop.root / shelf.NAME).write_text('[[item]]\nname = "Tub"\n', encoding="utf-8")
    panel.shelf.show()
    assert alerts(panel.shelf.items) and "kind is missing" in panel.shelf.text()[0]
    put(panel.shelf, name="Tub", amount="9 kg")
    assert alerts(panel.shelf.says)


def test_units_switch_every_part(panel):
    panel.units.value = "imperial"
    takes = [line for line in panel.shelf.text() if "the job takes" in line]
    assert takes and " oz" in takes[0] and " g " not in takes[0]
