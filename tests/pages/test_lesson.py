"""The lessons driven in-process, their pictures against geometry, their printed sheets."""

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from etchcalc.core.units import KINDS, SYSTEMS, Quantity, unit
from etchcalc.job.lesson_progress import NAME, Done, opened
from etchcalc.job.lessons import LESSONS, sheet
from etchcalc.pages import lesson_drawings as drawn
from etchcalc.pages import lesson_sheet
from etchcalc.pages.panels import lesson
from etchcalc.pages.panels.lesson import _others

WORKBOOKS = Path(__file__).parents[2] / "workbooks" / "lessons"
NASTY = "<img src=x onerror=alert(1)>"


@pytest.fixture
def panel(tmp_path):
    return lesson("guess-the-width", str(tmp_path))


def answer(panel, place, text):
    panel.asked[place - 1].box.box.value = text
    return panel.asked[place - 1].verdict.value


def answer_all(panel, wrong=0):
    for place, q in enumerate(panel.sheet.questions, 1):
        given = q.slips[0].wrong if place <= wrong else q.right
        answer(panel, place, f"{given.to_reduced_units():~P}".replace("µ", "u"))


# the panel


@pytest.mark.parametrize("key", LESSONS)
def test_the_workbook_holds_the_lesson_as_it_is(key, tmp_path):
    book = json.loads((WORKBOOKS / f"{key}.ipynb").read_text(encoding="utf-8"))
    code = next(cell for cell in book["cells"] if cell["cell_type"] == "code")
    assert f'lesson("{key}")' in "".join(code["source"])
    assert "".join(code["outputs"][0]["data"]["text/plain"]) == lesson(key, str(tmp_path)).text()


def test_every_lesson_has_a_workbook_and_a_picture():
    assert {path.stem for path in WORKBOOKS.glob("*.ipynb")} == set(LESSONS) == set(drawn.PLAYS)


def test_right_wrong_and_unreadable(panel):
    q = panel.sheet.questions[0]
    slip = q.slips[0]
    assert slip.hint in answer(panel, 1, f"{slip.wrong.m} mm")
    assert "0 of 5 right" in panel.score.value and "4 still" in panel.score.value
    assert "etch-right" in answer(panel, 1, f"{q.right.m} mm")
    assert "0 of 5 right" in panel.score.value  # the first answer counts
    assert answer(panel, 2, "12 bananas") == ""
    assert "bananas" in panel.asked[1].box.says.value
    assert "4 still" in panel.score.value
    answer(panel, 2, f"{panel.sheet.questions[1].right.m} mm")
    assert "1 of 5 right" in panel.score.value and panel.asked[1].box.says.value == ""


def test_what_is_typed_is_escaped(panel):
    answer(panel, 1, NASTY)
    panel.number.box.value = NASTY
    assert "<img" not in panel.asked[0].box.says.value + panel.number.says.value
    assert "no number of a sheet" in panel.number.says.value and panel.sheet.number == 1


def test_another_sheet_is_a_fresh_one(panel):
    before = [q.text for q in panel.sheet.questions]
    answer_all(panel)
    panel.number.box.value = "2"
    assert panel.sheet.number == 2 and panel.asked[0].box.box.value == ""
    assert [q.text for q in panel.sheet.questions] != before
    assert "0 of 5 right" in panel.score.value
    panel.number.box.value = "1"
    assert [q.text for q in panel.sheet.questions] == before


def test_units_turn_questions_picture_and_sliders(panel):
    picture = panel.picture.value
    panel.units.value = "imperial"
    assert "thou" in panel.asked[0].text.value and "thou" in panel.handles[0].note.value
    assert panel.picture.value != picture and "metric units" in panel.example.value


def test_a_slider_moves_picture_and_words(panel):
    before = panel.picture.value
    panel.handles[1].slider.value = 0.28  # 0.2 mm of film, 0.28 mm deep at 1.4: twice 0.2 mm more
    assert panel.picture.value != before and panel.handles[1].note.value == "0.28 mm"
    assert "0.60 mm" not in panel.picture.value and "too narrow" in panel.picture.value
    panel.handles[3].slider.value = 0.61
    assert "0.60 mm finished" in panel.picture.value
    assert "it is 0.60\u00a0mm" in panel.picture.value, "a number does not part from its unit"
    panel.handles[3].slider.value = 0.9
    assert "much too wide" in panel.picture.value


def test_a_score_is_kept_once_and_only_when_all_is_answered(panel, tmp_path):
    panel.who.box.value = NASTY
    assert "Answer all 5 questions first" in panel.keep()
    answer_all(panel, wrong=2)
    said = panel.keep()
    assert "3 of 5" in said and "<img" not in said
    kept = opened(tmp_path)
    assert [(d.who, d.sheet, d.right, d.of) for d in kept] == [(NASTY, 1, 3, 5)]
    assert "take another sheet" in panel.keep()
    panel.who.box.value = ""
    assert "type the name" in panel.keep()


def test_sheets_are_written_and_linked(panel, tmp_path):
    said = panel.print_questions()
    assert "/files/lessons/guess-the-width-1-metric.html" in said
    assert (tmp_path / "lessons" / "guess-the-width-1-metric.html").is_file()
    assert "/files/lessons/progress.html" in panel.print_progress()
    (tmp_path / NAME).write_text("no TOML", encoding="utf-8")
    assert "role='alert'" in panel.print_progress()


def test_the_other_lessons_lie_beside_this_one(panel):
    found = re.findall(r"href='([^']*)'", _others(panel.lesson.key))
    assert found == [f"{key}.ipynb" for key in LESSONS if key != panel.lesson.key]
    assert all((WORKBOOKS / href).is_file() for href in found)


def test_a_number_stays_with_its_unit_and_a_sum_s_lines_with_their_sign(panel):
    assert "0.25\u00a0mm wide" in panel.asked[0].text.value
    rows = re.findall(r"<span class='etch-line' style='--in:(\d+)'>([^<]*)<", panel.example.value)
    lines = lesson_sheet.sums(panel.sheet.example).split("\n")
    shown = [" " * int(indent) + words for indent, words in rows]
    assert [line.replace("\u00a0", " ") for line in shown] == lines
    assert any("0.1\u00a0mm" in line for line in shown)


# the pictures


@pytest.mark.parametrize("key", LESSONS)
def test_every_picture_draws_at_every_end_of_its_sliders(key):
    play = drawn.PLAYS[key]
    for system in SYSTEMS:
        for end in ("low", "start", "high"):
            at = [Quantity(float(getattr(k, end)), KINDS[k.kind].unit()) for k in play.knobs]
            svg, words = play.drawn(at, system)
            assert (
                svg.count("<svg") == 1 and "nan" not in svg + words and "-" not in words.split()[0]
            )


def corners(lines):
    """Corners of the triangle inside three lines, each a point, a direction, a shift inward."""
    found = []
    for i in range(3):
        (p, d, s), (q, e, t) = lines[i], lines[(i + 1) % 3]
        normal = [np.array([-v[1], v[0]]) / np.hypot(*v) for v in (d, e)]
        found.append(np.linalg.solve(normal, [normal[0] @ p + s, normal[1] @ q + t]))
    return np.array(found)


def area(points):
    x, y = points.T
    return abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


@pytest.mark.parametrize("undercut", [0.0, 0.05, 0.1, 0.2])
def test_the_counter_closes_as_its_edges_move_in(undercut):
    # the three strokes' inner edges, moved in by the undercut, cut by linear algebra
    half = drawn.FOOT * drawn.BAR / drawn.HEIGHT
    apex, left, right = (
        np.array([0, 0.0]),
        np.array([-half, drawn.BAR]),
        np.array([half, drawn.BAR]),
    )
    ends = [(apex, right), (right, left), (left, apex)]

    def triangle(shift):
        return corners([(a, b - a, shift) for a, b in ends])

    film = drawn.STROKE.m / 2
    expected = area(triangle(film + undercut)) / area(triangle(film))
    share = drawn.counter_share(Quantity(undercut * 1.4, unit("mm")), Quantity(1.4, unit("")))
    assert share == pytest.approx(expected, rel=1e-9)


def test_a_closed_counter_stays_closed():
    assert drawn.counter_share(Quantity(0.5, unit("mm")), Quantity(1.0, unit(""))) == 0


def test_the_third_reading_says_how_much_film_was_taken_off():
    mm = unit("mm")
    for off, said in ((0.0, "none of it taken off"), (0.05, "0.05 mm of it taken off")):
        at = [Quantity(3.0, unit("dimensionless")), Quantity(off, mm)]
        words = drawn.PLAYS["three-readings"].drawn(at, "metric")[1]
        assert (
            "0.06 mm after 1 h, 0.13 mm after 2 h and 0.24 mm after 3 h" in words and said in words
        )
    bare = drawn.PLAYS["three-readings"].drawn([0 * at[0], at[1]], "metric")[1]
    assert "No reading yet" in bare and "taken off" not in bare


@pytest.mark.parametrize("key", ["used-bath", "price-a-plate", "how-sure"])
def test_a_part_in_a_colour_of_its_own_is_named(key):
    play = drawn.PLAYS[key]
    at = [Quantity(knob.start, KINDS[knob.kind].unit()) for knob in play.knobs]
    picture, words = play.drawn(at, "metric")
    assert "--e-band" in picture and "last part" in words and "pale" not in words, (
        "pale in the light alone"
    )


def test_bars_stand_on_one_scale():
    svg = drawn.bars("t", "w", [("a", [(10.0, "brown"), (5.0, "blue")]), ("b", [(3.0, "brown")])])
    widths = [float(w) for w in re.findall(r"class='etch-part'[^>]* width='([\d.]+)'", svg)]
    assert widths == pytest.approx([280.0, 140.0, 84.0])


# what is printed


class Tags(HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.found = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))


def test_a_printed_sheet_has_its_answers_overleaf_and_no_script():
    of = sheet("price-a-plate", 4, "imperial")
    page = lesson_sheet.questions_page(of)
    front, back = page.split('<div class="over">')
    for q in of.questions:
        assert q.text in front.replace("&#39;", "'")
        assert f"{q.asked}: {q.shown(q.right)}" in back
    tags = Tags(page).found
    assert not {"script", "img", "iframe", "link"} & {tag for tag, _ in tags}
    assert not any(name.startswith("on") or name in ("src", "href") for _, a in tags for name in a)


def test_the_progress_sheet_lists_every_lesson_and_a_name_does_nothing():
    rows = [
        Done(NASTY, "used-bath", 3, 4, 5, "2026-01-05"),
        Done("B", "used-bath", 9, 5, 5, "2026-01-06"),
    ]
    page = lesson_sheet.progress_page(rows)
    assert all(one.title in page for one in LESSONS.values())
    assert "4 of 5" in page and "2026-01-06" in page
    assert "img" not in {tag for tag, _ in Tags(page).found}
    assert "2026-01-05" not in lesson_sheet.progress_page(rows, "B")
