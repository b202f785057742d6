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
    assert "allows for 0.02 mm more than ordered" in started.text()
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


def test_what_was_set_at_the_gauge_stays_when_film_or_place_is_told_after_it(started, clock):
    clock.on(36)
    gauge = started.gauge
    started.bars["gauged"].click()
    gauge.more.click()
    gauge.more.click()
    read = gauge.box.box.value
    gauge.over.box.value = "film"
    gauge.film.box.value = "40 µm"
    gauge.place.box.value = "wide field"
    assert gauge.box.box.value == read, "what the gauge reads does not change by what is said of it"
    started.bars["gauged"].click()
    started.bars["gauged"].click()
    gauge.box.box.value = "0.17 mm"  # typed, not stepped
    gauge.over.box.value = "film"
    assert gauge.box.box.value == "0.17 mm"
    started.bars["gauged"].click()
    started.bars["gauged"].click()
    assert gauge.box.box.value != "0.17 mm", "opened again it begins at what is foretold"


def test_beside_the_gauge_the_likely_depth_is_that_of_the_metal(started, clock):
    clock.on(36)
    started.bars["gauged"].click()
    low, high = (round(q.to("mm").m, 2) for q in (started.standing.low, started.standing.high))
    assert f"{low:.2f} to {high:.2f} mm of metal is likely" in started.gauge.about.value


def test_a_reading_taken_is_told_in_hours_and_minutes(started, clock):
    clock.on(95)
    take(started)
    assert "after 1 h 35 min in the bath" in started.told.value


def boxes(picture):
    """Where the words of a picture stand: ``{words: (top, bottom)}``, at the page's 16 px."""
    found = re.findall(r"<text x='[\d.]+' y='([\d.]+)'[^>]*>([^<]*)</text>", picture)
    return {words: (float(y) - 12, float(y) + 4) for y, words in found}


def test_in_the_groove_no_words_stand_on_others(started, clock):
    for _ in range(30):
        clock.on(5)
        started.tick()
        places = boxes(started.picture.value)
        now = next((b for words, b in places.items() if words.startswith("now ")), None)
        if now:
            metal = places["metal"]
            assert now[1] <= metal[0] or metal[1] <= now[0], started.standing.minutes


def test_a_reading_of_an_earlier_load_warns_of_nothing_in_this_one(started, clock):
    clock.on(75)
    started.bars["gauged"].click()
    started.gauge.box.box.value = "0.25 mm"
    started.gauge.take.click()
    started.end.click()
    started.next.click()
    clock.on(1)
    started.go.click()
    clock.on(40)
    started.bars["gauged"].click()
    started.gauge.box.box.value = "0.12 mm"
    started.gauge.take.click()
    assert len(started.commission.readings) == 2 and "0.25 mm" not in started.warned.value
    clock.on(20)
    started.bars["gauged"].click()
    started.gauge.box.box.value = "0.24 mm"
    started.gauge.take.click()
    assert "Gauged 0.24 mm" in started.warned.value and "0.25 mm" not in started.warned.value


def test_out_of_the_bath_a_clock_that_is_over_is_not_still_to_come(started, clock):
    clock.on(40)
    started.out.click()
    assert "due since 13:20" in started.bars["tilted"].description
    assert "etch-due" not in started.bars["tilted"]._dom_classes


def test_a_line_that_has_only_begun_is_not_called_nothing_deep(started, clock):
    clock.on(30)
    started._cleared_now()
    assert "0.00 mm" not in started.late_said.value.split("</p>")[0]
    assert "only begun" in started.late_said.value


def test_deep_enough_it_says_where_the_last_button_is(started, clock):
    clock.on(75)
    started.bars["gauged"].click()
    started.gauge.box.box.value = "0.20 mm"
    started.gauge.take.click()
    assert "The etch is done" in started.under.value and "Taken out for good" in started.under.value


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


# ---- a plate with two depths


@pytest.fixture
def deeper(shop, clock):
    said = shop.open().changed(second_line="0.8 mm", second_depth="0.35 mm")
    shop.keep(said, shop.current)
    panel = RunningEtch(shop, clock, UTC)
    panel.go.click()
    return panel


def under(panel):
    return re.sub(r"<[^>]*>", "\n", panel.under.value)


def rung(panel):
    return re.search(r"data-bell='([^']*)' data-words='([^']*)'", panel.bell.value).groups()


def to(panel, clock, instant):
    """Bring the clock forward, tilting and looking when it is time."""
    clock.now = instant
    for kind in ("tilted", "looked"):
        panel.press(kind)


def test_of_one_depth_nothing_is_said_of_stopping_out(started):
    assert "stop" not in started.text().lower() and hidden(started.bars["stopped"])


def test_before_it_is_started_both_depths_are_told(shop, clock):
    shop.keep(shop.open().changed(second_line="0.8 mm", second_depth="0.35 mm"), shop.current)
    assert "Two depths: stop the fine lines out at" in RunningEtch(shop, clock, UTC).text()


def test_both_lifts_stand_there_the_sooner_first(deeper):
    lines = under(deeper)
    span = r"\d\d:\d\d \(\d\d:\d\d to \d\d:\d\d\)"
    found = re.findall(rf"Lift (?:to stop out the fine lines|for good) at {span}", lines)
    assert len(found) == 2 and "to stop out" in found[0] and "for good" in found[1]
    stop, last = (re.search(r"at (\d\d:\d\d)", line)[1] for line in found)
    assert stop < last
    # three plates of five minutes, five to gauge; the look in the first hour
    assert "Counted in: up to 2 looks of 3 min, 20 min to gauge and stop out" in lines
    assert "done between" not in lines, "each range is said once"
    assert "by " + stop in deeper.bars["stopped"].description
    assert all(line in deeper.text() for line in found)


def test_a_whole_run_with_two_depths(deeper, shop, clock):
    found = deeper.standing
    to(deeper, clock, found.lift + timedelta(seconds=2))
    take(deeper)
    stop = deeper.standing.stop.at
    to(deeper, clock, stop + timedelta(minutes=-1))
    assert "stop@" not in rung(deeper)[0]
    while deeper.standing.stop.at > clock.now:
        clock.on(1)
    deeper.tick()
    first = rung(deeper)
    assert "stop@" in first[0] and first[1] == "Stop out now" and large(deeper) == "Lift now"
    assert "to stop out the fine lines, and press Lifted to stop out" in under(deeper)
    assert "etch-due" in deeper.bars["stopped"]._dom_classes
    lifted = clock.now
    deeper.bars["stopped"].click()
    assert large(deeper) == f"Out since {lifted:%H:%M}" and rung(deeper) == ("", "")
    assert f"Fine lines stopped out at {lifted:%H:%M}" in under(deeper)
    assert "Lift for good at" in under(deeper) and hidden(deeper.bars["stopped"])
    assert deeper.back.description == f"Undo: Lifted to stop out, {lifted:%H:%M}"
    # another phone, and the page loaded anew
    again = RunningEtch(Shop(shop.root), clock, UTC)
    assert again.text() == deeper.text() and under(again) == under(deeper)
    clock.on(50)
    deeper.out.click()
    again.look()
    assert under(again) == under(deeper) and large(again) == large(deeper)
    said = r"The fine lines about (\S+) mm. The deeper now about <b>(\S+) mm</b> \((\S+) to (\S+) mm\) of 0.35"
    fine, now, low, high = map(float, re.search(said, deeper.deep.value).groups())
    assert 0.15 < fine < 0.25 and low < now < high and now < 0.35
    last = deeper.standing.lift
    assert last > clock.now and large(deeper) == f"Lift at {last:%H:%M}"
    assert f"Fine lines stopped out at {lifted:%H:%M}" in under(deeper)
    clock.now = last + timedelta(seconds=2)
    deeper.tick()
    assert rung(deeper)[1] == "Lift now" and large(deeper) == "Lift now"
    deeper.end.click()
    assert large(deeper).startswith("Out at") and "stop" not in under(deeper)


def test_stopping_out_is_undone_and_a_second_phone_sees_it(deeper, shop, clock):
    clock.on(70)
    deeper.tick()
    before = deeper.text()
    other = RunningEtch(shop, clock, UTC)
    deeper.bars["stopped"].click()
    other.look()
    assert "stopped out at 14:15" in under(other)
    other.back.click()
    deeper.look()
    assert deeper.text() == other.text() == before and not hidden(other.bars["stopped"])


def test_gauged_as_deep_as_ordered_the_fine_lines_are_stopped_out(deeper, clock):
    clock.on(70)
    deeper.bars["gauged"].click()
    deeper.gauge.box.box.value = "0.21 mm"
    deeper.gauge.take.click()
    assert large(deeper) == "Stop out now" and rung(deeper)[1] == "Stop out now"


def test_stopped_out_a_fine_line_is_gauged_no_more(deeper, clock):
    clock.on(70)
    deeper.bars["stopped"].click()
    clock.on(50)
    deeper.out.click()
    clock.on(20)
    deeper.bars["gauged"].click()
    assert (
        deeper.gauge.place.box.value == "wide field" and "stopped out" in deeper.gauge.about.value
    )
    wide = float(deeper.gauge.box.box.value.split()[0])
    deeper.gauge.place.box.value = "finest line"
    deeper.gauge.take.click()
    assert "stopped out" in deeper.gauge.says.value and deeper.commission.readings == ()
    deeper.gauge.place.box.value = "wide field"
    assert float(deeper.gauge.box.box.value.split()[0]) == wide
    deeper.gauge.take.click()
    assert len(deeper.commission.readings) == 1
