"""The maker's drawing in the plan: read as said, what is lost, the film written and read back."""

import itertools
import json
import math
from dataclasses import replace

import pytest

from etchcalc.artwork import worker
from etchcalc.artwork.film import WIDTHS
from etchcalc.core.faults import BadInput
from etchcalc.core.units import MM
from etchcalc.job import advice, commission_file, drawing, record
from etchcalc.job.film import drawn_widths, write_film
from etchcalc.job.losses import looked_up
from etchcalc.job.plan import planned

# ticks of 0.30 and 0.60 mm on a base of 2 mm, a ring round a metal island of 1 mm, a dot near the edge
SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">
<path d="M2 14h20v2h-20zM4 8h.3v6.5h-.3zM8 8h.3v6.5h-.3zM12 8h.6v6.5h-.6z"/>
<path fill-rule="evenodd" d="M18 4h6v6h-6zM20.5 6.5v1h1v-1z"/>
<rect x="28.5" y="2" width="1" height="1"/></svg>"""
ORDER = """
[plate]
metal = "CuZn37"
plate_width = "30 mm"
plate_height = "20 mm"
[lines]
finest_line = "0.30 mm"
depth = "0.12 mm"
[artwork]
file = "dial.svg"
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("drawn")
    (path / "dial.svg").write_text(SVG)
    return path


def ordered(folder, *replaced):
    text = ORDER
    for old, new in replaced:
        assert old in text
        text = text.replace(old, new)
    return commission_file.parsed(text, folder)


def plan_of(order):
    return looked_up(planned(order, drawing.measured(order)))


def lost(plan, name):
    figure = plan.figures(name)[name]
    return [float(end.magnitude) for end in (figure.low, figure.value, figure.high)]


def test_what_was_measured_stands_in_the_plan(folder):
    plan = plan_of(ordered(folder))
    found = plan.figures("open_area", "narrowest_line", "narrowest_land")
    # closed forms: base 40, ticks 2 x 0.3 x 6 and 0.6 x 6 above it, ring 36 - 1, dot 1
    assert found["open_area"].value.to("mm^2").magnitude == pytest.approx(
        40 + 3.6 + 3.6 + 35 + 1, abs=0.5
    )
    width = found["narrowest_line"]
    assert width.low <= width.value <= width.high
    assert width.value.to(MM).magnitude == pytest.approx(0.3, abs=0.003)
    assert found["narrowest_land"].value.to(MM).magnitude == pytest.approx(1, abs=0.011)
    assert found["narrowest_line"].basis == "drawing"


@pytest.mark.parametrize(("depth", "lines"), [("0.12 mm", 0), ("0.25 mm", 2), ("0.45 mm", 3)])
def test_lines_lost_by_depth(folder, depth, lines):
    # at an etch factor of 1.4 the undercut is 0.086, 0.179, 0.321 mm: twice that against 0.3, 0.6
    order = ordered(folder, ('depth = "0.12 mm"', f'depth = "{depth}"\netch_factor = "1.4"'))
    plan = plan_of(order)
    assert lost(plan, "lines_lost")[1] == lines
    assert lost(plan, "islands_lost") == [0, 0, 0]
    said = [a for a in advice.advice(plan) if a.key == "lost"]
    assert len(said) == (1 if lines else 0)
    if lines:
        assert said[0].way_out and f"{lines} lines vanish" in said[0].text


def test_lines_lost_have_the_range_of_the_undercut(folder):
    plan = plan_of(ordered(folder, ('"0.12 mm"', '"0.19 mm"')))
    low, middle, high = lost(plan, "lines_lost")
    assert low == 0 and middle in (0, 2) and high == 2


def test_the_film_as_it_is_loses_islands(folder):
    shows = 'file = "dial.svg"\nshows = "film as it is"'
    for depth, islands in (
        ("0.3 mm", 0),
        ("0.8 mm", 1),
    ):  # undercut 0.21, 0.57 of an island 1 mm wide
        plan = plan_of(
            ordered(
                folder,
                ('file = "dial.svg"', shows),
                ('"0.12 mm"', f'"{depth}"\netch_factor = "1.4"'),
            )
        )
        assert lost(plan, "islands_lost")[1] == islands
        assert lost(plan, "lines_lost") == [0, 0, 0]
    assert any(a.key == "lost" and "island floats off" in a.text for a in advice.advice(plan))


def test_nothing_is_rendered_again_where_nothing_can_be_lost(folder, monkeypatch):
    order = ordered(folder, ('"0.12 mm"', '"0.05 mm"'))
    found = drawing.measured(order)
    plan = planned(order, found)
    monkeypatch.setattr(worker.SHARED, "ask", None)
    assert lost(looked_up(plan), "lines_lost") == [0, 0, 0]


def test_near_the_edge_is_said(folder):
    plan = plan_of(ordered(folder))
    (said,) = [a.text for a in advice.advice(plan) if a.key == "edge"]
    assert ("0.50 mm" in said or "0.51 mm" in said) and "29.5 mm from the left, 2.5 mm down" in said


def test_the_record_holds_what_was_measured(folder):
    found = record.record(plan_of(ordered(folder)))
    assert json.loads(json.dumps(found))["drawing"]["read"]["kind"] == "SVG"
    assert sum(found["drawing"]["measures"]["shares"]) == pytest.approx(1)
    assert found["results"]["lines_lost"]["unit"] == "dimensionless"


def test_as_it_is_asked(folder):
    said = [
        'file = "dial.svg"', 'black = "kept"', 'mirrored = "yes"', 'placed = "cut from the middle"',
        'drawing_unit = "in"', 'film_resolution = "3600 dpi"', 'thin_line = "10 thou"',
        'scan_resolution = "50 px/mm"',
    ]  # fmt: skip
    asked = drawing.asked(ordered(folder, ('file = "dial.svg"', "\n".join(said))))
    assert asked.pop("path").endswith("dial.svg")
    assert asked == {
        "width": 30, "height": 20, "resolution": pytest.approx(3600 / 25.4), "black": "kept",
        "mirrored": True, "placed": "cut from the middle", "unit": 25.4,
        "thin_line": pytest.approx(0.254), "scanned": pytest.approx(50),
    }  # fmt: skip
    plain = drawing.asked(ordered(folder))
    assert plain["resolution"] is plain["unit"] is plain["thin_line"] is plain["scanned"] is None


def test_the_cache_is_used_and_a_broken_one_is_not(folder, tmp_path, monkeypatch):
    order, cache = ordered(folder), tmp_path / "cache"
    first = drawing.measured(order, cache)
    (kept,) = cache.iterdir()
    with monkeypatch.context() as patch:
        patch.setattr(worker.SHARED, "ask", None)
        assert drawing.measured(order, cache) == first
        other = ordered(folder, ('file = "dial.svg"', 'file = "dial.svg"\nblack = "kept"'))
        with pytest.raises(TypeError):  # another question is not answered from it
            drawing.measured(other, cache)
    for broken in ("", "{", "[]", "{}"):
        kept.write_text(broken)
        assert drawing.measured(order, cache) == first
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    assert drawing.measured(order, blocked / "cache") == first


def test_a_missing_drawing(folder):
    order = ordered(folder)
    away = folder / "dial.svg"
    away.rename(folder / "gone.svg")
    try:
        with pytest.raises(BadInput, match=r"dial\.svg cannot be opened"):
            drawing.measured(order)
    finally:
        (folder / "gone.svg").rename(away)


@pytest.mark.parametrize("emulsion", ["up", "down"])
def test_the_film_is_written_and_reads_back_as_the_corrected_drawing(folder, tmp_path, emulsion):
    order = ordered(
        folder,
        ('"0.12 mm"', '"0.14 mm"\netch_factor = "1.4"'),
        ('file = "dial.svg"', f'file = "dial.svg"\nemulsion = "{emulsion}"'),
    )
    shares = []
    film = write_film(plan_of(order), tmp_path, shares.append)
    assert [path.name for path in film.paths] == ["film.tif", "film.pdf"]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["film.pdf", "film.tif"]
    assert film.width > 30 and film.height > 20 and max(shares) > 0.9
    mirrored = "yes" if emulsion == "down" else "no"
    for path in film.paths:
        back = commission_file.parsed(
            ORDER.replace(
                'file = "dial.svg"',
                f'file = "{path.name}"\nplaced = "cut from the middle"\nmirrored = "{mirrored}"',
            ),
            tmp_path,
        )
        found = drawing.measured(back).found
        # each edge is 0.1 mm in: base 39.2 - ..., ticks 0.1 and 0.4 wide, ring, dot 0.64
        assert found["narrowest_line"] == pytest.approx(0.1, abs=0.022)
        assert found["open_area"] == pytest.approx(
            19.8 * 1.8 + 2 * 0.1 * 6 + 0.4 * 6 + 5.8**2 - 1.2**2 + 0.64, abs=0.6
        )
        assert found["line_place"][0] < 15  # not mirrored
    assert "film.tif" in str(film.paths[0])


def test_a_film_that_cannot_be_saved_leaves_what_was_there(folder, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    with pytest.raises(BadInput, match="could not be saved"):
        write_film(plan_of(ordered(folder)), blocked / "here")
    assert blocked.read_text() == "in the way"


def test_widths_for_those_who_redraw(folder):
    order = ordered(folder, ('"0.12 mm"', '"0.1399 mm"\netch_factor = "1.4"'))
    rows = {float(line.magnitude): drawn for line, drawn in drawn_widths(plan_of(order))}
    # two undercuts of 0.10 mm; the narrowest line that a film draws is 0.10 mm
    assert rows[0.3].to(MM).magnitude == pytest.approx(0.1, abs=0.001)
    assert rows[0.8].to(MM).magnitude == pytest.approx(0.6, abs=0.001)
    assert rows[0.2] is None


def test_a_weighing_shares_lines_and_fields_as_the_drawing_does(folder):
    # 4 % of the open metal are lines to 0.3 mm, 4 % to 0.6, 48 % to 2 mm, 44 % fields: by width alone
    # the mean goes mostly with the fields, and its error is less than where that is not known
    weighed = {"reading_time": "1 h", "weight_lost": "0.08 g"}
    order = ordered(folder).with_row("reading", weighed)
    (read,) = planned(order, drawing.measured(order)).readings
    unknown = replace(order, words={**order.words, "file": ""})
    (blind,) = planned(unknown).readings
    assert blind.field == 0.5 and 0.5 < read.field < 1
    assert read.error / read.depth < blind.error / blind.depth
    (svg := folder / "lines.svg").write_text(
        SVG.split("<path")[0] + '<path d="M2 2h20v.3h-20zM2 5h20v.3h-20z"/></svg>'
    )
    lines = replace(order, words={**order.words, "file": svg.name})
    (fine,) = planned(lines, drawing.measured(lines)).readings
    assert fine.field < 0.1


def test_the_share_of_fields_is_a_mean_over_widths(folder):
    """By hand: each band at its own rate, worked by a plan of a line of that width."""
    order = ordered(folder).with_row("reading", {"reading_time": "1 h", "weight_lost": "0.08 g"})
    plan = planned(order, drawing.measured(order))
    shares = plan.drawing.found["shares"]
    ends = (0.1, *WIDTHS)
    rates = []
    for low, high in itertools.pairwise(ends):
        width = max(0.3, math.sqrt(low * high))
        other = planned(order.with_one("finest_line", f"{width} mm"), plan.drawing).before
        rates.append(other.number("fresh_rate"))
    line, field = plan.before.number("fresh_rate"), plan.before.number("field_fresh_rate")
    mean = sum(s * r for s, r in zip(shares, [*rates, field], strict=True))
    assert plan.readings[0].field == pytest.approx((mean - line) / (field - line), abs=1e-6)
