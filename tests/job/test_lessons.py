"""The lesson book: questions with clear answers, slips with their hints, progress kept."""

import re
from random import Random

import numpy as np
import pytest
from scipy.stats import lognorm, norm

from etchcalc.core.faults import BadInput
from etchcalc.core.units import KINDS, SYSTEMS, Quantity, unit
from etchcalc.job import (
    lesson_of_baths,
    lesson_of_lines,
    lesson_of_mixing,
    lesson_of_price,
    lesson_of_ranges,
    lesson_of_readings,
)
from etchcalc.job.lesson_progress import NAME, Done, keep, name_of, opened
from etchcalc.job.lesson_questions import Draw, Slip, judged, made, question
from etchcalc.job.lessons import LESSONS, sheet, sheet_number

NUMBERS = range(1, 201)


def typed(quantity, kind, system="metric"):
    """An answer as a person types it in a system of units."""
    how = KINDS["number" if kind == "money" else kind]
    word = how.words[SYSTEMS.index(system)]
    return f"{quantity.to(how.unit(system)).magnitude:.6f} {word}".strip()


class Fixed(Draw):
    """A draw whose numbers are laid down, in the order in which a question takes them."""

    def __init__(self, *said, system="metric", picks=()):
        super().__init__(Random(1), system)
        self.said = list(said)
        if picks:
            self.random = Picks(picks)

    def one(self, *choices):
        return self.typed(self.said.pop(0))


class Picks:
    def __init__(self, picks):
        self.picks = list(picks)

    def choice(self, choices):
        return self.picks.pop(0)

    def sample(self, choices, count):
        return [self.picks.pop(0) for _ in range(count)]


def right_of(ask, *said, **more):
    return ask(Fixed(*said, **more)).right


# every question of every lesson


@pytest.mark.parametrize("key", LESSONS)
def test_right_is_right_and_each_slip_gets_its_hint(key):
    for number in NUMBERS:
        for q in sheet(key, number, SYSTEMS[number % 3]).questions:
            assert judged(q, typed(q.right, q.kind)).right
            assert judged(q, typed(q.right, q.kind, "imperial")).right
            for slip in q.slips:
                said = judged(q, typed(slip.wrong, q.kind, SYSTEMS[number // 3 % 3]))
                assert not said.right and slip.hint in said.said, (number, q.text)


@pytest.mark.parametrize("key", LESSONS)
def test_every_question_has_a_slip_and_its_answer_as_shown_is_right(key):
    for system in SYSTEMS:
        for number in range(1, 6):
            for q in sheet(key, number, system).questions:
                assert q.slips and judged(q, q.shown(q.right)).right
                assert q.text.endswith("?") and q.text.isprintable()


@pytest.mark.parametrize("key", LESSONS)
def test_a_number_stands_for_its_questions(key):
    one, again, other = sheet(key, 7), sheet(key, 7), sheet(key, 8)
    assert [q.text for q in one.questions] == [q.text for q in again.questions]
    assert [q.text for q in one.questions] != [q.text for q in other.questions]


def test_numbers_are_round_in_the_units_of_the_page():
    assert " mm" in sheet("guess-the-width", 3).questions[0].text
    for system in ("imperial", "US"):
        text = sheet("guess-the-width", 3, system).questions[0].text
        assert re.search(r"\b\d+ thou wide", text) and " mm" not in text
    assert "US gallon" in sheet("mix-from-the-wrong-packet", 3, "US").questions[0].text


def test_answers_too_near_one_another_are_drawn_again():
    wrong = iter((1.02, 1.05, 1.5))

    def ask(draw):
        slip = Slip("no", Quantity(next(wrong), unit("mm")))
        one = Quantity(1.0, unit("mm"))
        return question(draw, "How?", "width", "fine", slips=[slip], right=one)

    found = made(ask, Draw(Random(1), "metric"))  # 3 % of each: 1.05 is too near still
    assert found.slips[0].wrong.magnitude == 1.5


# against sums by hand


def test_the_etch_factor_is_depth_over_the_undercut_at_one_edge():
    # IPC-T-50: 0.14 mm deep at 1.4 is undercut 0.1 mm at each edge
    lines = lesson_of_lines
    assert right_of(lines.finished_width, "0.2 mm", "0.14 mm", "1.4").m == pytest.approx(0.4)
    assert right_of(lines.film_for_line, "0.4 mm", "0.14 mm", "1.4").m == pytest.approx(0.2)
    found = right_of(lines.factor_of_groove, "0.2 mm", "0.14 mm", "0.2 mm")
    assert found.to("").m == pytest.approx(1.4)
    # the same in thousandths of an inch: 5.6 thou deep, 4 thou at each edge
    width = right_of(lines.finished_width, "8 thou", "5.6 thou", "1.4", system="imperial")
    assert width.to("thou").m == pytest.approx(16)


def test_limits_of_line_and_land_by_hand():
    lines = lesson_of_lines
    # (0.6 − 0.1)/2 = 0.25 mm of undercut, times 1.4
    assert right_of(lines.deepest, "0.6 mm", "0.1 mm", "1.4").m == pytest.approx(0.35)
    assert right_of(lines.land_lost, "0.6 mm", "0.1 mm", "1.4").m == pytest.approx(0.35)
    assert right_of(lines.line_too_wide, "0.2 mm", "0.5 mm", "1.4").m == pytest.approx(0.21)
    assert right_of(lines.land_left, "0.6 mm", "0.14 mm", "1.4").m == pytest.approx(0.4)
    # line 0.21 mm, land 0.35 mm: the line first; with a land of 0.3 mm it is 0.14 mm
    first = right_of(lines.lost_first, "0.2 mm", "0.5 mm", "1.4", "0.6 mm", "0.1 mm")
    assert first.m == pytest.approx(0.21)
    first = right_of(lines.lost_first, "0.2 mm", "0.5 mm", "1.4", "0.3 mm", "0.1 mm")
    assert first.m == pytest.approx(0.14)
    assert right_of(lines.triangle, "0.5 mm", "1 mm", "1.4").m == pytest.approx(0.35)


def test_a_groove_holds_its_section_times_its_length():
    # a quarter ellipse has π/4 of its half axes: 3 m · (0.2 + 2 · π/4 · 0.1) mm · 0.14 mm
    found = right_of(lesson_of_lines.fill, "0.2 mm", "0.14 mm", "1.4", "3 m")
    assert found.to("mL").m == pytest.approx(3 * (0.2 + np.pi / 2 * 0.1) * 0.14, rel=1e-3)


@pytest.mark.parametrize(
    ("packet", "molar"),
    [("anhydrous powder", 105.988), ("monohydrate powder", 124.004)],
)
def test_one_soda_for_another_by_molar_masses(packet, molar):
    # 10 g a litre of Na2CO3·10H2O, 286.141 g/mol; 1.5 L of it from another
    lumps = "clear lumps (decahydrate)"
    found = right_of(lesson_of_mixing.other_packet, "10 g", "1.5 L", picks=(lumps, packet))
    assert found.to("g").m == pytest.approx(15 * molar / 286.141, rel=1e-4)


def test_ferric_chloride_without_its_water_by_molar_masses():
    # FeCl3 162.204, FeCl3·6H2O 270.295 g/mol; 3 L at 500 g/L
    found = right_of(lesson_of_mixing.anhydrous_ferric, "500 g/L", "3 L", "1 L")
    assert found.to("g").m == pytest.approx(1500 * 162.204 / 270.295, rel=1e-5)
    # six waters of 18.0153 g/mol in 800 g of crystals
    found = right_of(lesson_of_mixing.water_to_pour, "800 g", "1200 g")
    assert found.to("g").m == pytest.approx(1200 + 800 * 6 * 18.0153 / 270.295, rel=1e-4)


def test_dilution_keeps_the_ferric_chloride():
    q = lesson_of_mixing.bottle(Fixed("42", "2 kg", "25 %"))
    share = float(re.search(r"that is ([\d.]+) %", q.text)[1])
    assert 2000 * share / (2000 + q.right.to("g").m) == pytest.approx(25, rel=1e-6)


def test_a_gallon_is_of_the_books_country():
    # 4.54609 L and 3.785411784 L exactly; an ounce is 28.349523125 g
    for country, litres in (("imperial", 4.54609), ("US", 3.785411784)):
        found = right_of(lesson_of_mixing.gallons, "2 oz", "5 L", picks=(country,))
        assert found.to("g").m == pytest.approx(2 * 28.349523125 * 5 / litres, rel=1e-6)


def test_film_under_the_gauge_by_hand():
    # 0.15 mm over 0.05 mm of resist after 60 min is 0.1 mm: 0.1 mm an hour, 0.15 mm to go
    to_go = right_of(lesson_of_readings.to_go, "0.25 mm", "0.1 mm", "0.05 mm", "60 min")
    assert to_go.to("min").m == pytest.approx(90)
    assert right_of(lesson_of_readings.over_film, "0.1 mm", "0.05 mm").m == pytest.approx(0.1)
    # a third of the time late, a third too shallow
    late = right_of(lesson_of_readings.late, "0.3 mm", "90 min", "30 min")
    assert late.to("mm").m == pytest.approx(0.1)


def test_depth_by_weight_by_hand():
    # 16.88 g of brass of 8.44 g/cm³ are 2 cm³, off 4 × 25 cm²: 0.2 mm
    found = right_of(lesson_of_readings.weighed, "16.88 g", "25 cm²", picks=(4,))
    assert found.to("mm").m == pytest.approx(0.2)


def test_three_readings_by_hand_come_near_enough():
    # a straight line through nothing by least squares, the film taken off the third
    for number in NUMBERS:
        q = sheet("three-readings", number).questions[2]
        ordered, *read_off, film = map(float, re.findall(r"([\d.]+) mm", q.text))
        deep = np.array(read_off) - [0, 0, film]
        hours = np.array([1.0, 2.0, 3.0])
        rate = deep @ hours / (hours @ hours)
        assert judged(q, f"{ordered / rate * 60:.0f} min").right, (number, q.text)


def test_copper_uses_up_two_ferric_ions():
    # 2 · 270.295 / 63.546 g of crystals for each gram
    used = 2 * 270.295 / 63.546
    found = right_of(lesson_of_baths.what_is_left, "500 g/L", "20 g/L")
    assert found.to("g/L").m == pytest.approx(500 - 20 * used, rel=1e-4)
    found = right_of(lesson_of_baths.share_spent, "500 g/L", "20 g/L")
    assert found.to("percent").m == pytest.approx(20 * used / 5, rel=1e-4)
    found = right_of(lesson_of_baths.trial, "2 g", "100 mL")
    assert found.to("g/L").m == pytest.approx(20 * used, rel=1e-4)
    found = right_of(lesson_of_baths.whole_bath, "2 g", "100 mL", "3 L")
    assert found.to("g").m == pytest.approx(60 * used, rel=1e-4)


def test_a_used_bath_reads_heavier_than_it_is_strong():
    q = lesson_of_baths.what_is_left(Fixed("500 g/L", "20 g/L"))
    trusted = next(s for s in q.slips if s.hint == lesson_of_baths.TRUSTED)
    assert trusted.wrong.to("g/L").m > 500 > q.right.to("g/L").m


def test_plates_to_come_by_hand():
    # 50 % less 20 % of 1500 g, 25 g a plate
    found = right_of(lesson_of_baths.jobs_to_come, "1500 g", "20 %", "50 %", "25 g")
    assert found.to("").m == pytest.approx(18)


def test_markup_and_margin_by_hand():
    # 100 at 25 %: 125 by markup, 133.33 by margin; that markup is a margin of a fifth
    price = lesson_of_price
    assert right_of(price.by_markup, "100", "25 %").m == pytest.approx(125)
    assert right_of(price.by_margin, "100", "25 %").m == pytest.approx(133.33)
    assert right_of(price.margin_of_markup, "100", "25 %").to("percent").m == pytest.approx(20)


def test_the_second_plate_adds_only_its_own():
    # 3 h once, 1 h each at 20; 0.5 kg each at 8: a plate's own is 20 + 4
    said = "3 h", "1 h", "20", "0.5 kg", "8"
    assert right_of(lesson_of_price.second_plate, *said).m == pytest.approx(24)
    # 2 plates, a fifth spoilt: (60 + 48) / 0.8
    found = right_of(lesson_of_price.spoilt, *said, "20 %", picks=(2,))
    assert found.m == pytest.approx(135)


def test_a_gauge_block_as_the_guide_works_it():
    # JCGM 100, H.1: 25 nm, 9.7 nm, 2.9 nm, and 50.000623 mm · 11.5e-6 /°C · 0.029 °C: 32 nm
    last = 50.000623e6 * 11.5e-6 * 0.029
    parts = [Quantity(part, unit("nm")) for part in (25.0, 9.7, 0.0, 0.0, 2.9, last)]
    found = lesson_of_ranges.together(*parts).to("nm").m
    assert round(found) == 32 and found == pytest.approx(31.71, abs=0.005)


def test_a_half_width_as_the_guide_takes_it():
    # JCGM 100, H.1.3: bounds of ±0.05 °C and ±1e-6 /°C are 0.029 °C and 0.58e-6 /°C
    for half, told in ((0.05, 0.029), (1.0, 0.58)):
        found = right_of(lesson_of_ranges.half_width, f"{half} mm").to("mm").m
        assert f"{found:.2g}" == f"{told:.2g}"


def test_depth_by_weighing_adds_shares_by_squares():
    # JCGM 100, 5.1.6: of a product, relative variances add; 6.752 g ± 0.005 g, 8.44 ± 0.02 g/cm³,
    # 40.0 ± 0.4 cm²: 0.2000 mm, 0.0021 mm by hand
    q = lesson_of_ranges.weighed(Fixed("6.752 g", "0.005 g", "40 cm²", "0.4 cm²"))
    shares = np.array([0.005 / 6.752, 0.02 / 8.44, 0.4 / 40])
    assert f"{q.sums[0].value.to('mm').m:.4f}" == "0.2000"
    assert q.right.to("mm").m == pytest.approx(0.2 * np.sqrt(shares @ shares), rel=1e-4)
    assert f"{q.right.to('mm').m:.4f}" == "0.0021"


def test_errors_together_and_one_of_them_halved_by_hand():
    # the triangles 3, 4, 5 and 5, 12, 13
    ranges = lesson_of_ranges
    assert right_of(ranges.drifting, "3 %", "4 %").to("percent").m == pytest.approx(5)
    for said in (("5 %", "24 %"), ("24 %", "5 %")):
        found = right_of(ranges.measured_better, *said)
        assert found.to("percent").m == pytest.approx(13)


def test_lifted_at_the_early_end_one_in_twenty_is_too_deep():
    # a time whose logarithm is normal, nine in ten within a factor of 1.3: scipy's own quantile
    times = lognorm(np.log(1.3) / norm.ppf(0.95), scale=240)
    found = right_of(lesson_of_ranges.lift, "4 h", "1.3").to("min").m
    assert found == pytest.approx(times.ppf(0.05)) and times.cdf(found) == pytest.approx(0.05)


# answers that are as good, and slips as they are made


@pytest.mark.parametrize("system", SYSTEMS)
def test_three_readings_put_together_in_any_way_and_film_forgotten_in_any_way(system):
    # each rate counting alike; the deeper counting more, by least squares; the last one alone
    hours = np.array([1.0, 2.0, 3.0])
    ways = (
        lambda deep: (deep / hours).mean(),
        lambda deep: deep @ hours / (hours @ hours),
        lambda deep: deep[2] / 3,
    )
    for number in NUMBERS:
        q = sheet("three-readings", number, system).questions[2]
        ordered, *read_off, film = map(float, re.findall(r"([\d.]+) (?:mm|thou)", q.text))
        for rate in ways:
            metal = np.array(read_off) - [0, 0, film]
            assert judged(q, f"{ordered / rate(metal) * 60:.1f} min").right, (number, q.text)
            said = judged(q, f"{ordered / rate(np.array(read_off)) * 60:.1f} min")
            assert not said.right and lesson_of_readings.OVER_FILM in said.said, (number, q.text)


@pytest.mark.parametrize("system", SYSTEMS)
def test_whole_plates_are_right(system):
    for number in NUMBERS:
        q = sheet("used-bath", number, system).questions[4]
        whole = np.floor(q.right.to("").m + 1e-9)
        assert judged(q, f"{whole:.0f}").right, (number, q.text)
        for slip in q.slips:
            said = judged(q, f"{np.floor(slip.wrong.to('').m + 1e-9):.0f}")
            assert slip.hint in said.said, (number, q.text)


def test_crystals_taken_for_anhydrous_by_hand():
    # a gram of copper takes 2 · 162.204 / 63.546 g of FeCl3; its share of the crystals is 162.204 / 270.295
    baths, used = lesson_of_baths, 2 * 162.204 / 63.546
    for q, typed_in in (
        (baths.share_spent(Fixed("500 g/L", "20 g/L")), f"{20 * used / 5:.2f} %"),
        (baths.what_is_left(Fixed("500 g/L", "20 g/L")), f"{500 - 20 * used:.1f} g/L"),
        (baths.what_is_left(Fixed("500 g/L", "20 g/L")), f"{(500 - 40 * 270.295 / 63.546) * 162.204 / 270.295:.1f} g/L"),
        (baths.trial(Fixed("2 g", "100 mL")), f"{20 * used:.1f} g/L"),
        (baths.whole_bath(Fixed("2 g", "100 mL", "3 L")), f"{60 * used:.1f} g"),
    ):  # fmt: skip
        said = judged(q, typed_in)
        assert not said.right and baths.ANHYDROUS in said.said, (q.text, typed_in)


@pytest.mark.parametrize(
    ("system", "said", "meant"), [("imperial", "US", "imp"), ("US", "imp", "US")]
)
def test_the_other_gallon_gets_its_own_hint(system, said, meant):
    for number in NUMBERS:
        questions = sheet("used-bath", number, system).questions
        for q in (questions[0], questions[2]):
            right = q.right.to(f"oz/{'US_liquid' if meant == 'US' else 'imperial'}_gallon").m
            assert judged(q, f"{right:.2f} oz/{meant} gal").right
            wrong = judged(q, f"{right:.2f} oz/{said} gal")
            assert not wrong.right and "4.546 L" in wrong.said and "3.785 L" in wrong.said, q.text
        share_of = 3.785411784 / 4.54609 if system == "imperial" else 4.54609 / 3.785411784
        wrong = judged(questions[1], f"{questions[1].right.to('percent').m * share_of:.3f} %")
        assert not wrong.right and "4.546 L" in wrong.said
        # what the sample held, times a bath counted in the other gallon
        wrong = judged(questions[3], f"{questions[3].right.to('oz').m * share_of:.3f} oz")
        assert not wrong.right and "4.546 L" in wrong.said


def test_of_spoilt_plates_what_was_done_once_is_lost_too():
    # 3 h once and 2 · 1 h at 20, 2 · 0.5 kg at 8, a fifth spoilt: not 60 + 48 / 0.8
    q = lesson_of_price.spoilt(Fixed("3 h", "1 h", "20", "0.5 kg", "8", "20 %", picks=(2,)))
    assert "done once is lost with them" in q.text
    said = judged(q, "120")
    assert not said.right and "done once" in said.said


# what is typed


@pytest.mark.parametrize(
    "bad", ["", "12 bananas", "0.4", "-1 mm", "nan mm", "1,200 mm", "5 g", "<img src=x>", "mm"]
)
def test_a_bad_answer_gets_one_sentence(bad):
    q = sheet("guess-the-width").questions[0]
    with pytest.raises(BadInput) as fault:
        judged(q, bad)
    said = str(fault.value)
    assert said.startswith("finished width: ") and said.endswith(".") and "type" in said
    assert not re.search(r"\. [A-Z]", said)
    assert q.shown(q.right) not in said


def test_an_answer_near_nothing_gets_no_hint_of_another():
    q = sheet("guess-the-width").questions[0]
    said = judged(q, "7 mm")
    assert not said.right and "none of the usual slips" in said.said


@pytest.mark.parametrize("bad", ["", "0", "-1", "1.5", "ten", "99999", "²", "9" * 5000])
def test_a_bad_number_of_a_sheet(bad):
    with pytest.raises(BadInput, match="whole number from 1 to 9999"):
        sheet_number(bad)


def test_no_such_lesson_or_units():
    with pytest.raises(BadInput, match="guess-the-width"):
        sheet("alchemy")
    with pytest.raises(BadInput, match="metric"):
        sheet("used-bath", 1, "furlongs")


# progress


def done(**more):
    row = {"who": "A Learner", "lesson": "used-bath", "sheet": 3, "right": 4, "of": 5,
           "date": "2026-01-05"}  # fmt: skip
    return Done(**{**row, **more})


def test_progress_is_kept_and_remarks_stay(tmp_path):
    keep(tmp_path, done())
    path = tmp_path / NAME
    path.write_text("# mine\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    keep(tmp_path, done(sheet=4))
    assert opened(tmp_path) == [done(), done(sheet=4)]
    assert path.read_text(encoding="utf-8").startswith("# mine\n")
    with pytest.raises(BadInput, match="take another sheet"):
        keep(tmp_path, done(right=5))


def test_any_name_comes_back_as_typed(tmp_path):
    name = '<img src=x onerror=alert(1)> "O\'Neill" \\ ]]'
    keep(tmp_path, done(who=name_of(name)))
    assert opened(tmp_path)[0].who == name


@pytest.mark.parametrize("bad", ["", "  ", "x" * 61, "a\x00b"])
def test_no_name(bad):
    with pytest.raises(BadInput, match="Done by"):
        name_of(bad)


@pytest.mark.parametrize(
    "text",
    [
        "this is no TOML",
        "done = 3",
        '[[done]]\nwho = "x"\n',
        '[[done]]\nwho="x"\nlesson="alchemy"\nsheet=1\nright=1\nof=5\ndate="2026-01-05"\n',
        '[[done]]\nwho="x"\nlesson="used-bath"\nsheet=1\nright=9\nof=5\ndate="2026-01-05"\n',
        '[[done]]\nwho="x"\nlesson="used-bath"\nsheet="1"\nright=1\nof=5\ndate="2026-01-05"\n',
    ],
)
def test_a_progress_file_that_cannot_be_read_is_left_alone(tmp_path, text):
    (tmp_path / NAME).write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=NAME):
        keep(tmp_path, done())
    assert (tmp_path / NAME).read_text(encoding="utf-8") == text


def test_a_full_disk_leaves_the_progress_as_it_was(tmp_path, monkeypatch):
    keep(tmp_path, done())
    before = (tmp_path / NAME).read_bytes()

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(BadInput, match="No space left"):
        keep(tmp_path, done(sheet=4))
    assert (tmp_path / NAME).read_bytes() == before
