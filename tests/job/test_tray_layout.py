"""Where plates, spacers and heater lie in the tray: measured with a ruler, not with our own sums."""

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.units import read
from etchcalc.core.vocabulary import term
from etchcalc.job.plan import planned
from etchcalc.job.tray_layout import Box, layout, places

TRIED = settings(max_examples=40, deadline=None)


def laid(commission, heater=("0 mm", "0 mm"), **said):
    plan = planned(commission.changed(**said))
    for name, text in zip(("heater_length", "heater_width"), heater, strict=True):
        plan.book.values[name] = read(text).to(term(name).unit)
    return layout(plan), plan


def apart(one, other):
    """How far two rectangles stand apart; below nothing where they overlap."""
    return max(
        one.x - other.x - other.w, other.x - one.x - one.w,
        one.y - other.y - other.h, other.y - one.y - one.h,
    )  # fmt: skip


def inside(small, large):
    """The narrowest rim round a rectangle in another; below nothing where it stands out."""
    return min(
        small.x - large.x, small.y - large.y,
        large.x + large.w - small.x - small.w, large.y + large.h - small.y - small.h,
    )  # fmt: skip


def test_a_tray_drawn_on_paper(commission):
    # tray 330 × 250, blank 144 × 69, gaps of 10 mm: 2 along by 3 across; feet of 1 cm² in 12 mm
    found, _ = laid(commission)
    assert (found.length, found.width, found.depth, found.level) == (330, 250, 65, 36)
    assert found.fits == 6 and found.count == 3 and found.batches == 1
    assert found.plates[:2] == (Box(10, 10, 144, 69), Box(164, 10, 144, 69))
    assert found.faces[0] == Box(22, 22, 120, 45)
    feet = [(11, 11), (143, 11), (77, 68)]
    assert [(foot.x, foot.y) for foot in found.spacers[:3]] == [pytest.approx(at) for at in feet]
    assert {round(foot.w, 9) for foot in found.spacers} == {10}
    assert found.heater is None and found.face == found.spacer_height == 10
    assert found.sentences == (
        "All 3 plates go in at once.",
        "Lay them with the long side along the tray.",
        "All 3 spacers of each plate stand under its waste margin.",
    )


def test_plates_are_turned_where_more_fit(commission):
    # 250 × 330: across the tray 3 by 2 = 6, along it 1 by 4
    found, _ = laid(commission, tray_length="250 mm", tray_width="330 mm")
    assert found.fits == 6 and (found.plates[0].w, found.plates[0].h) == (69, 144)
    assert "Lay them with the long side across the tray." in found.sentences
    # turned too: two feet under one long side, one under the middle of the other
    feet = [(11, 11), (11, 143), (68, 77)]
    assert [(foot.x, foot.y) for foot in found.spacers[:3]] == [pytest.approx(at) for at in feet]


def test_batches_are_counted_out(commission):
    found, _ = laid(commission, plate_count="14")
    assert len(found.plates) == 6 and found.batches == 3
    assert "The tray holds 6 of 14 plates at once: 3 batches: 6, then 6, then 2." in found.sentences
    many, _ = laid(commission, plate_count="500")
    assert many.batches == 84  # 83 × 6 = 498
    assert "84 batches of up to 6." in many.sentences[0]


def test_the_heater_takes_plates_their_place(commission):
    # 60 × 100 in the far corner, from x = 270, y = 150: the second of two rows is in its way
    found, _ = laid(commission, ("60 mm", "100 mm"), plate_count="6")
    assert found.heater == Box(270, 150, 60, 100) and found.fits == 4
    assert found.sentences[0] == "The tray holds 4 of 6 plates at once: 2 batches: 4, then 2."
    # a heater of the tray's own size
    filled, _ = laid(commission, ("330 mm", "250 mm"))
    assert (
        filled.fits == 0
        and filled.batches == 0
        and filled.spacers == ()
        and filled.heater == Box(0, 0, 330, 250)
    )
    assert filled.sentences[0].startswith("No plate fits this tray beside the heater:")
    long, _ = laid(commission, ("400 mm", "20 mm"))
    assert long.heater == Box(0, 230, 330, 20)
    assert "The heater, 400 mm, is longer than the tray, 330 mm." in long.sentences


def test_no_room_for_spacers_off_the_artwork(commission):
    found, plan = laid(commission, waste_margin="8 mm")
    assert found.sentences[-1].startswith(
        "No room for spacers off the artwork: a foot is 10 mm wide, the waste margin 8 mm."
    )
    assert len(found.spacers) == 3 * plan.number("spacer_count")
    # at the blank's edge, so that as little as can be stands under the face
    assert inside(found.spacers[0], found.plates[0]) == pytest.approx(0)
    # 5.5 cm square under 144 × 69: two stand no wider than 34.5 mm beside each other
    wide, _ = laid(commission, spacer_foot="30 cm2")
    assert "34.5 mm at most" in wide.sentences[-1]
    assert wide.spacers[0].w == pytest.approx(34.5)


def test_spacers_in_rows_stand_under_the_face_in_the_middle(commission):
    # 0.3 mm sheet of 250 × 150: rows of 4 by 3, of which 2 inside
    found, plan = laid(
        commission, tray_length="900 mm", tray_width="400 mm", plate_thickness="0.3 mm",
        plate_width="250 mm", plate_height="150 mm",
    )  # fmt: skip
    assert plan.number("spacer_count") == 12
    assert found.sentences[-1] == (
        "2 of 12 spacers stand under the face: put them where nothing is etched."
    )
    ends = {round(foot.x, 6) for foot in found.spacers[:12]}
    assert len(ends) == 4 and max(ends) - min(ends) <= 3 * plan.number("spacer_span")


def test_face_up_and_on_edge(commission):
    up, _ = laid(commission, plate_lies="face up")
    assert up.spacers == () and up.spacer_height == 0
    assert up.face == pytest.approx(1.6) == up.tall
    # on its long edge: 144 × 1.6 of the floor, 10 mm apart: 2 along, (250 − 10)/11.6 = 20 across
    edge, _ = laid(commission, plate_lies="on edge")
    assert edge.fits == 40 and edge.tall == 69 and edge.spacers == edge.faces == ()
    assert edge.plates[0] == Box(10, 10, 144, 1.6)
    assert edge.sentences[1:] == (
        "Stand them on their long edge, along the tray.",
        "On edge the blank stands 69 mm high in 36 mm of etchant: lay it flat, or use a deeper tray.",
    )
    deep, _ = laid(commission, plate_lies="on edge", tray_depth="120 mm")
    assert deep.sentences[-1].endswith("pour as deep as that, or lay it flat.")
    full, _ = laid(commission, plate_lies="on edge", tray_depth="120 mm", liquid_depth="75 mm")
    assert not any("On edge" in sentence for sentence in full.sentences)


def test_places_want_no_heater_in_what_is_known(plan):
    values = {name: q for name, q in plan.book.values.items() if not name.startswith("heater_")}
    assert len(places(values, plan.blank_size, "face down")) == 6


def test_sentences_speak_the_commissions_units(commission):
    found, _ = laid(commission, waste_margin="0.25 in", units="imperial")
    assert "a foot is 0.394 in wide, the waste margin 0.25 in." in found.sentences[-1]


SIDE, PLATE = st.floats(100, 900), st.floats(20, 300)


@TRIED
@given(
    SIDE, SIDE, PLATE, PLATE, st.floats(0, 30), st.floats(0.3, 3), st.floats(0, 25), st.floats(0.2, 3),
    st.floats(0, 300), st.floats(0, 300), st.sampled_from(["face down", "on edge", "face up"]),
)  # fmt: skip
def test_laws_of_the_loaded_tray(
    commission, length, width, w, h, margin, thickness, gap, foot, heater_x, heater_y, lies
):
    said = {"tray_length": length, "tray_width": width, "plate_width": w, "plate_height": h,
            "waste_margin": margin, "plate_thickness": thickness, "plate_gap": gap}  # fmt: skip
    found, plan = laid(
        commission,
        (f"{heater_x} mm", f"{heater_y} mm"),
        **{name: f"{size:.6f} mm" for name, size in said.items()},
        spacer_foot=f"{foot:.6f} cm2",
        plate_lies=lies,
        plate_count="12",
    )
    tray = Box(0, 0, found.length, found.width)
    around = [found.heater] if found.heater else []
    for one, other in combinations([*found.plates, *around], 2):
        assert apart(one, other) >= gap - 1e-5
    assert all(inside(plate, tray) >= gap - 1e-5 for plate in found.plates)
    assert not around or inside(around[0], tray) >= -1e-9
    for plate, face in zip(found.plates, found.faces, strict=bool(found.faces)):
        assert inside(face, plate) == pytest.approx(margin, abs=1e-5)
        assert sorted((face.w, face.h)) == pytest.approx(sorted((w, h)), abs=1e-5)
    if lies != "face down":
        assert found.spacers == ()
        return
    count, side = round(plan.number("spacer_count")), (foot * 100) ** 0.5  # of a square foot, mm
    assert len(found.spacers) == count * len(found.plates)
    for i, plate in enumerate(found.plates):
        under, face = found.spacers[i * count : (i + 1) * count], found.faces[i]
        assert all(inside(spacer, plate) >= -1e-6 for spacer in under)
        assert all(apart(a, b) >= -1e-6 for a, b in combinations(under, 2))
        assert under[0].w <= side + 1e-4
        off = [apart(spacer, face) >= -1e-6 for spacer in under]
        if margin >= side + 1e-4 and count == 3:
            assert all(off)
    if found.plates and "stand under its waste margin" in found.sentences[-1]:
        assert all(apart(spacer, face) >= -1e-6 for spacer in found.spacers for face in found.faces)


def test_the_order_takes_as_many_loads_as_it_needs(commission):
    found, _ = laid(commission)
    assert replace(found, fits=3).batches == 1
    assert replace(found, fits=2).batches == 2
    assert replace(found, fits=0).batches == 0
