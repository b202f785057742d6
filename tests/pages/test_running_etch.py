"""The page of the running etch driven in-process, by a clock of the test's own."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from etchcalc.job.running import NAME
from etchcalc.job.shop import Shop
from etchcalc.pages.panels import JobSheet, RunningEtch

START = datetime(2026, 3, 2, 13, 5, tzinfo=UTC)


class Clock:
    """A clock that the test sets."""

    def __init__(self):
        self.now = START

    def __call__(self):
        return self.now

    def on(self, minutes):
        self.now += timedelta(minutes=minutes)


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def panel(shop, clock):
    return RunningEtch(shop, clock, UTC)


@pytest.fixture
def started(panel):
    panel.go.click()
    return panel


def hidden(widget):
    return "etch-hidden" in widget._dom_classes


def large(panel):
    return re.sub(r"<[^>]*>", "", panel.large.value)


def test_before_it_is_started_the_text_holds_no_clock(panel):
    text = panel.text()
    assert "Not started" in text and not re.search(r"\d{1,2}:\d{2}", text)
    assert "Lift and gauge after" in text and "Tilt every" in text
    assert hidden(panel.body) and hidden(panel.pair) and not hidden(panel.entry)
    bundle = panel._repr_mimebundle_()
    assert bundle["application/vnd.jupyter.widget-view+json"]["model_id"] == panel.box.model_id


def test_the_plates_are_in_now(started):
    # the plan's own stretch from 13:05, cut to the minute
    lift = START + timedelta(minutes=started.plan.number("gauge_time"))
    assert large(started) == f"Lift at {lift:%H:%M}"
    assert "then gauge; done between" in started.under.value
    assert not hidden(started.body) and hidden(started.entry)


def test_the_plates_are_in_since_a_typed_clock(panel, clock):
    clock.on(60)
    panel.since.box.value = "13:05"
    panel.go.click()
    assert panel.running.started == START and "1 h 00 min in the bath" in panel.text()
    assert panel.since.box.value == ""


def test_a_clock_that_is_still_to_come_gets_a_sentence(panel):
    panel.since.box.value = "14:00"
    panel.go.click()
    assert "still to come" in panel.since.says.value and panel.running.started is None
    assert panel.since.box.value == "14:00", "it stays as typed"


def test_each_bar_says_when_it_was_last_done_and_by_when_next(started, clock):
    clock.on(5)
    for kind, name in (("tilted", "Tilted"), ("moved", "Moved round"), ("looked", "Looked")):
        assert started.bars[kind].description.startswith(f"{name}\nnot yet")
        started.bars[kind].click()
        assert "last 13:10" in started.bars[kind].description
    assert "by 13:25" in started.bars["tilted"].description  # every 15 min, by habit
    # an hour in the bath after five minutes in it and three out of it
    assert "by 14:13" in started.bars["looked"].description
    assert "by 13:50" in started.bars["gauged"].description  # 42 min, and three out
    assert started.back.description == "Undo: Looked, 13:10"


def test_the_groove_fills_as_the_clock_goes_on(started, clock):
    def floor():
        path = re.search(r"class='etch-now' d='([^']*)'", started.picture.value)
        return float(re.findall(r"[\d.]+", path[1])[5])

    depths = []
    for _ in range(3):
        clock.on(15)
        started.tick()
        depths.append(floor())
    assert depths == sorted(depths) and depths[0] < depths[-1]
    assert "now 0." in started.picture.value and "Now about" in started.deep.value
    ordered = re.search(r"class='etch-wall' d='([^']*)'", started.picture.value)
    clock.now = START + timedelta(minutes=started.plan.number("etch_time"))
    started.tick()
    wall = [float(n) for n in re.findall(r"[\d.]+", ordered[1])]
    assert floor() == pytest.approx(wall[5], abs=1.0), "as deep as ordered when it is done"


def test_the_bell_s_mark_changes_at_the_instant(started, clock):
    def mark():
        return re.search(r"data-bell='([^']*)' data-words='([^']*)'", started.bell.value).groups()

    clock.now = START + timedelta(minutes=15, seconds=-1)
    started.tick()
    assert mark() == ("", "")
    clock.on(2 / 60)
    started.tick()
    rung, words = mark()
    assert rung.startswith("tilt@") and words == "Tilt now"
    assert "etch-due" in started.bars["tilted"]._dom_classes
    clock.on(1)
    started.tick()
    assert mark() == (rung, words), "it rings once"
    started.bars["tilted"].click()
    assert mark() == ("", "") and "etch-due" not in started.bars["tilted"]._dom_classes
    clock.now = START + timedelta(minutes=started.plan.number("gauge_time"), seconds=2)
    started.tick()
    assert "lift@" in mark()[0] and mark()[1] == "Lift now" and large(started) == "Lift now"
    started.out.click()
    assert mark() == ("", ""), "the plates are out already"


def test_out_of_the_bath_the_time_stands_still(started, clock):
    clock.on(20)
    started.out.click()
    assert large(started) == "Out since 13:25" and started.out.description == "Plates back in"
    clock.on(11)
    started.out.click()
    clock.on(9)
    started.tick()
    assert "29 min in the bath" in started.deep.value
    lift = START + timedelta(minutes=started.plan.number("gauge_time") + 11)
    assert large(started) == f"Lift at {lift:%H:%M}"


def test_water_is_asked_for_and_taken_off_when_it_was_added(started, clock):
    clock.on(30)
    started.tick()
    each = started.plan.number("evaporation_rate") / 2  # mL in half an hour
    said = int(re.search(r"<b>(\d+) mL", started.water.value)[1])
    assert said == pytest.approx(each, rel=0.05)
    started.watered.click()
    assert "No water to add yet" in started.water.value
    assert started.running.last("watered").said["water"] == f"{said} mL"


def take(panel, steps=0):
    panel.bars["gauged"].click()
    for _ in range(abs(steps)):
        (panel.gauge.more if steps > 0 else panel.gauge.less).click()
    panel.gauge.take.click()


def test_the_gauge_begins_at_the_depth_foretold_and_steps_by_a_hundredth(started, clock):
    clock.on(36)
    started.bars["gauged"].click()
    foretold = started.standing.depth.to("mm").magnitude
    assert started.gauge.box.box.value == f"{round(foretold, 2):.2f} mm"
    started.gauge.more.click()
    assert started.gauge.box.box.value == f"{round(foretold, 2) + 0.01:.2f} mm"
    started.gauge.less.click()
    started.gauge.less.click()
    assert started.gauge.box.box.value == f"{round(foretold, 2) - 0.01:.2f} mm"
    started.bars["gauged"].click()
    assert hidden(started.gauge.body) and started.commission.readings == (), "closed, nothing taken"


def test_a_reading_taken_here_stands_on_the_job_sheet_and_corrects_it(started, shop, clock):
    sheet = JobSheet(shop)
    before, lift = sheet.text(), large(started)
    clock.on(36)
    take(started, steps=3)
    assert not started.gauge.is_open and "Taken: 0.12 mm on bare metal" in started.told.value
    assert large(started) != lift, "the forecast corrects itself"
    sheet.look()
    assert sheet.commission.readings == started.commission.readings
    assert sheet.commission.readings[0]["reading_time"] == "36.0 min"
    assert sheet.text() != before
    assert "0.12 mm" in sheet.readings.list.value


def test_undo_takes_the_reading_back_too(started, shop, clock):
    clock.on(20)
    started.bars["tilted"].click()
    before = started.text()
    take(started, steps=2)
    # noted elsewhere meanwhile: it stays
    started._take(started.commission.with_row("blemish", {"blemish": "pinhole"}))
    started.back.click()
    assert started.commission.readings == () and started.text() == before
    assert len(started.commission.blemishes) == 1
    assert Shop(shop.root).open(started.name).readings == ()
    for words in ("Undo: Tilted, 13:25", "Undo: The plates are in, 13:05"):
        assert started.back.description == words
        started.back.click()
    assert large(started) == "Not started" and not hidden(started.entry)


def test_the_time_of_a_reading_is_that_of_the_lift_not_of_the_writing(started, clock):
    clock.on(36)
    started.bars["gauged"].click()
    clock.on(4)
    started.gauge.take.click()
    assert started.commission.readings[0]["reading_time"] == "36.0 min"
    assert started.running.last("gauged").at == START + timedelta(minutes=36)


def test_over_film_asks_how_thick_and_knows_it_the_next_time(started, shop, clock):
    clock.on(36)
    started.bars["gauged"].click()
    bare = float(started.gauge.box.box.value.split()[0])
    started.gauge.over.box.value = "film"
    started.gauge.take.click()
    assert "how thick" in started.gauge.film.says.value and started.commission.readings == ()
    started.gauge.film.box.value = "40 µm"
    assert started.gauge.box.box.value == f"{bare + 0.04:.2f} mm", "the film stands on top"
    started.gauge.take.click()
    assert started.commission.readings[0]["film_under_gauge"] == "40 µm"
    clock.on(10)
    started.bars["gauged"].click()
    assert started.gauge.over.box.value == "film" and started.gauge.film.box.value == "40 µm"
    # the next job of the shop knows it too
    name = shop.begin("Tide table")
    shop.choose(name)
    other = RunningEtch(shop, clock, UTC)
    other.go.click()
    clock.on(30)
    other.bars["gauged"].click()
    assert other.gauge.film.box.value == "40 µm" and other.gauge.over.box.value == "bare"


@pytest.mark.parametrize("typed", ["many bananas", "", "9 mm", "-1 mm"])
def test_a_reading_that_cannot_be_meant_gets_one_sentence(started, clock, typed):
    clock.on(36)
    started.bars["gauged"].click()
    started.gauge.box.box.value = typed
    before = started.running
    started.gauge.take.click()
    assert "alert" in started.gauge.says.value and started.commission.readings == ()
    assert started.running == before and started.gauge.is_open


def test_a_wide_field_is_foretold_less_deep_and_said_so(started, clock):
    clock.on(36)
    started.bars["gauged"].click()
    line = float(started.gauge.box.box.value.split()[0])
    started.gauge.place.box.value = "wide field"
    assert float(started.gauge.box.box.value.split()[0]) < line
    started.gauge.take.click()
    assert started.commission.readings[0]["gauged_on"] == "wide field"


def test_gauged_as_deep_as_ordered_it_says_so(started, clock):
    clock.on(75)
    started.bars["gauged"].click()
    started.gauge.box.box.value = "0.20 mm"
    started.gauge.take.click()
    assert large(started) == "Deep enough" and "data-bell=''" in started.bell.value


def test_gauged_too_deep_the_warning_stands_here_too(started, clock):
    clock.on(75)
    started.bars["gauged"].click()
    started.gauge.box.box.value = "0.25 mm"
    started.gauge.take.click()
    assert "Stop, and show the client." in started.warned.value
    started.back.click()
    assert started.warned.value == ""


def test_in_imperial_the_steps_are_half_a_thou(started, clock):
    started.choose(units="imperial")
    clock.on(36)
    started.bars["gauged"].click()
    before = started.gauge.box.box.value
    started.gauge.more.click()
    first, then = (float(t.removesuffix(" thou")) for t in (before, started.gauge.box.box.value))
    assert then - first == pytest.approx(0.5)
    started.gauge.take.click()
    assert started.commission.readings[0]["reading_depth"] == f"{then:.1f} thou"


def test_what_is_typed_at_the_gauge_outlives_another_s_press(started, shop, clock):
    clock.on(36)
    started.bars["gauged"].click()
    started.gauge.box.box.value = "0.14 mm"
    RunningEtch(shop, clock, UTC).bars["tilted"].click()
    started.look()
    assert "last 13:41" in started.bars["tilted"].description
    assert started.gauge.is_open and started.gauge.box.box.value == "0.14 mm"


def test_the_zone_of_the_shop_counts_where_the_commission_says_one(shop, clock):
    panel = RunningEtch(shop, clock)
    panel.commission.words["zone"] = "Asia/Kolkata"  # five hours and a half ahead (tz database)
    panel.go.click()
    assert "18:35" in panel.back.description


def test_two_pages_on_one_etch(started, shop, clock):
    other = RunningEtch(shop, clock, UTC)
    assert large(other) == large(started)
    clock.on(10)
    started.bars["tilted"].click()
    other.bars["looked"].click()  # pressed before it has looked at the file
    started.look()
    for page in (started, other):
        assert "last 13:15" in page.bars["tilted"].description
        assert "last 13:15" in page.bars["looked"].description
    other.bars["gauged"].click()
    other.gauge.take.click()
    started.look()
    assert started.commission.readings == other.commission.readings != ()
    assert large(started) == large(other)
    started.back.click()
    other.look()
    assert other.commission.readings == () and started.running.held == other.running.held


def test_after_a_restart_it_is_the_same(started, shop, clock):
    clock.on(16)
    started.bars["tilted"].click()
    take(started)
    again = RunningEtch(Shop(shop.root), clock, UTC)
    assert again.text() == started.text() and again.back.description == started.back.description


def test_a_damaged_file_gets_one_sentence_and_nothing_is_lost(started, shop, clock):
    started.bars["tilted"].click()
    path = shop.folder(started.name) / NAME
    path.write_bytes(b'{"schema": 1, "events": [')
    other = RunningEtch(shop, clock, UTC)
    assert "set aside whole as running-damaged.json" in other.says.value
    assert large(other) == "Not started"
    assert (path.parent / "running-damaged.json").read_bytes() == b'{"schema": 1, "events": ['
    # the page that has it still brings it back with the next press
    started.bars["looked"].click()
    other.look()
    assert [e.kind for e in other.running.held] == ["started", "tilted", "looked"]


def test_a_page_that_is_open_mends_a_damaged_file_itself(started, shop):
    path = shop.folder(started.name) / NAME
    path.write_bytes(b"half a f")
    started.look()
    assert "set aside" in started.says.value and started.running.started == START
    assert RunningEtch(shop, lambda: START, UTC).running.started == START


def test_a_line_that_cleared_late_says_how_much_shallower_and_the_ways_out(started, clock):
    clock.on(20)
    started.cleared.click()
    assert started.commission.typed["cleared_late"] == started.late.box.value == "20 min"
    said = started.late_said.value
    assert "less than the others" in said and "Accept it" in said
    started.late.box.value = "many bananas"
    assert "alert" in started.late.says.value and "Accept it" in started.late_said.value
    started.late.box.value = ""
    assert started.late_said.value == "" and "cleared_late" not in started.commission.typed


def test_taken_out_for_good_and_another_load(started, shop, clock):
    clock.on(90)
    started.end.click()
    assert large(started) == "Out at 14:35" and hidden(started.body) and not hidden(started.next)
    assert "1 h 30 min in the bath" in started.under.value
    assert not hidden(started.pair) and started.back.description.startswith("Undo: Taken out")
    clock.on(30)
    started.next.click()
    assert large(started) == "Not started"
    assert (shop.folder(started.name) / "running-2026-03-02-1505.json").is_file()
    started.go.click()
    assert started.running.started == START + timedelta(minutes=120)


def test_another_job_of_the_shop_has_an_etch_of_its_own(started, shop):
    shop.choose(shop.begin("Tide table"))
    started.look()
    assert large(started) == "Not started" and "Tide table" in started.title.value
    shop.choose("rain-gauge-scale")
    started.look()
    assert large(started).startswith("Lift at")


def test_a_folder_that_cannot_be_written_gets_a_sentence(started, monkeypatch):
    from etchcalc.core.faults import BadInput
    from etchcalc.job import files

    def full(path, content):
        raise BadInput("running.json could not be saved (no space left).")

    monkeypatch.setattr(files, "write_whole", full)
    before = started.running
    started.bars["tilted"].click()
    assert "no space left" in started.says.value and started.running == before


def test_what_was_typed_is_escaped(shop, clock):
    name = shop.begin("Tide <img src=x onerror=alert(1)> table")
    shop.choose(name)
    panel = RunningEtch(shop, clock, UTC)
    panel.go.click()
    everything = "".join(
        w.value for w in (panel.title, panel.large, panel.under, panel.picture, panel.deep)
    )
    assert "<img" not in everything
