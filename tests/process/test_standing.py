"""How plates stand: ferric under the face, sag, spacers, tilting, level, water, places."""

from itertools import combinations

import numpy as np
import periodictable
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_bvp

from etchcalc.core import tables
from etchcalc.core.units import Quantity, read, unit
from etchcalc.core.vocabulary import term
from etchcalc.process import bath, coatings, heating, standing, tray

TRIED = settings(deadline=None, derandomize=True, max_examples=40)


def q(number, name=""):
    return Quantity(float(number), unit(name))


def value(quantity, name=""):
    return float(quantity.to(unit(name)).magnitude)


# ---- how high


def crystals_per_litre():
    """Hexahydrate in g that a litre of CuZn37 takes, two ferric ions an atom."""
    mass = {m: getattr(periodictable, m).mass for m in ("Cu", "Zn")}
    hexahydrate = periodictable.formula("FeCl3(H2O)6").mass
    return 8440 * 2 * (0.63 / mass["Cu"] + 0.37 / mass["Zn"]) * hexahydrate


def used(area, depth="0.25 mm"):
    """Hexahydrate for so much open CuZn37, by the formulas of the bath."""
    density = read("8.44 g/cm3")
    none = {f"{metal}_share": q(0) for metal in ("nickel", "tin", "lead")}
    demand = bath.ferric_demand(
        metal_density=density, copper_share=q(0.63), zinc_share=q(0.37), **none
    )
    removed = bath.metal_removed(open_area_of_all=area, depth=read(depth), metal_density=density)
    return bath.ferric_used(metal_removed=removed, metal_density=density, ferric_demand=demand)


def height(ferric, strength="500 g/L", stop="50 %", length="1 m", width="1 m"):
    return standing.needed_spacer_height(
        ferric_at_once=ferric,
        strength_left=read(strength),
        practical_stop=read(stop),
        tray_length=read(length),
        tray_width=read(width),
    )


def test_the_ferric_under_the_face():
    # by hand, molar masses of periodictable: 22 % of 60 % of the tray, 0.25 mm deep, half of 500 g/L
    by_hand = 0.22 * 0.6 * 0.25 * crystals_per_litre() / (0.5 * 500)
    assert by_hand == pytest.approx(9.4, abs=0.05)
    assert value(height(used(read("0.132 m2"))), "mm") == pytest.approx(by_hand, rel=1e-4)


def test_only_the_liquor_under_the_plates_would_take_more():
    # as if nothing came from beside the plates: a tray of which they cover all
    alone = height(used(read("0.132 m2")), width="0.6 m")
    assert value(alone, "mm") == pytest.approx(15.6, abs=0.05)


def test_the_undercut_takes_more():
    # lines 0.5 mm wide on the film, two edges to each: 0.132 m² has 528 m of edge; by 0.25 mm / 1.4
    # a quarter of the ellipse goes under each edge, π/4 · 0.17857 mm · 528 m = 0.07405 m² more
    volume = coatings.groove_volume(
        open_area_of_all=read("0.132 m2"),
        edge_length=read("528 m"),
        undercut=read("0.25 mm") / 1.4,
        depth=read("0.25 mm"),
    )
    grown = coatings.mean_groove_area(groove_volume=volume, depth=read("0.25 mm"))
    more = height(used(grown)) / height(used(read("0.132 m2")))
    assert value(more) == pytest.approx(1 + 0.07405 / 0.132, rel=1e-4)


@TRIED
@given(st.floats(1, 500), st.floats(100, 1000), st.floats(0.1, 0.9), st.floats(0.05, 2))
def test_the_liquor_up_to_the_face_holds_what_the_plates_take(grams, strength, stop, length):
    high = standing.needed_spacer_height(
        ferric_at_once=q(grams, "g"),
        strength_left=q(strength, "g/L"),
        practical_stop=q(stop),
        tray_length=q(length, "m"),
        tray_width=read("25 cm"),
    )
    volume = tray.etchant_volume(
        tray_length=q(length, "m"), tray_width=read("25 cm"), etchant_level=high
    )
    assert value(volume, "L") * strength * stop == pytest.approx(grams, rel=1e-9)


@TRIED
@given(st.floats(1, 500), st.integers(1, 40), st.integers(1, 40))
def test_batches_take_the_ferric_of_all_plates(grams, batches, at_once):
    each = standing.ferric_at_once(
        ferric_used=q(grams, "g"), plate_count=q(batches * at_once), plates_at_once=q(at_once)
    )
    assert value(each, "g") * batches == pytest.approx(grams, rel=1e-9)


# ---- how far apart

BRASS = {
    "metal_density": read("8.44 g/cm3"),
    "etchant_density": read("1230 kg/m3"),
    "elastic_modulus": read("103 GPa"),
}


def sagged(thickness, span):
    found = standing.sag(plate_thickness=q(thickness, "mm"), spacer_span=q(span, "mm"), **BRASS)
    return value(found, "mm")


@pytest.mark.parametrize(("thickness", "span"), [(1.6, 150), (0.5, 300), (3.0, 900)])
def test_sag_by_integrating_the_beam(thickness, span):
    # E I y'''' = w, ends that turn freely, solved by scipy for a strip 1 m wide, in SI
    stiff = 103e9 * (thickness / 1e3) ** 3 / 12
    load = (8440 - 1230) * 9.80665 * thickness / 1e3
    length = span / 1e3
    found = solve_bvp(
        lambda x, y: np.vstack([y[1], y[2], y[3], np.full_like(x, load / stiff)]),
        lambda left, right: np.array([left[0], left[2], right[0], right[2]]),
        np.linspace(0, length, 11),
        np.zeros((4, 11)),
        tol=1e-8,
    )
    assert found.success
    assert sagged(thickness, span) == pytest.approx(float(found.sol(length / 2)[0]) * 1e3, rel=1e-5)


def test_sag_by_hand():
    # 1.6 mm brass over 300 mm: w = 7210 · 9.807 · 0.0016 = 113.1 N/m², E I = 103e9 · 3.413e-10 = 35.16,
    # 5 · 113.1 · 0.0081 / (384 · 35.16) = 0.339 mm
    assert sagged(1.6, 300) == pytest.approx(0.339, abs=5e-4)


@TRIED
@given(st.floats(0.3, 6), st.floats(0.01, 5))
def test_the_span_is_that_of_the_accepted_sag(thickness, accepted):
    span = standing.spacer_span(
        plate_thickness=q(thickness, "mm"), accepted_sag=q(accepted, "mm"), **BRASS
    )
    assert sagged(thickness, value(span, "mm")) == pytest.approx(accepted, rel=1e-9)
    assert sagged(thickness * 1.1, value(span, "mm")) < accepted


def test_the_stiffness_of_brass():
    # data sheet of CZ108: modulus of elasticity 15 000 ksi; psi by pint
    modulus = term("elastic_modulus")
    assert value(q(15e6, "psi"), "GPa") == pytest.approx(modulus.start, abs=0.5)
    # a sheet of cold-formed CuZn33: 99 to 115 GPa, of which anything is as likely: width / √12
    assert modulus.start * modulus.spread == pytest.approx((115 - 99) / np.sqrt(12), rel=0.05)
    assert 99 < modulus.start < 115


def spacers(width, height, span):
    found = standing.spacer_count(
        blank_width=q(width, "mm"), blank_height=q(height, "mm"), spacer_span=q(span, "mm")
    )
    return value(found)


@pytest.mark.parametrize(
    ("blank", "span", "count"),
    [
        ((144, 69), 150, 3),  # two and one: never rocks
        ((150, 150), 150, 3),  # exactly a span
        ((151, 69), 150, 6),  # three along each of two sides
        ((300, 100), 150, 6),
        ((69, 301), 150, 8),
        ((300, 300), 150, 9),  # a row between the sides
    ],
)
def test_spacers_drawn_on_paper(blank, span, count):
    assert spacers(*blank, span) == count
    assert spacers(*blank[::-1], span) == count


@TRIED
@given(st.floats(10, 2000), st.floats(10, 2000), st.floats(5, 1000))
def test_never_fewer_than_three_nor_further_apart_than_the_span(width, height, span):
    count = spacers(width, height, span)
    assert count >= 3
    assert count == int(count)
    assert spacers(width, height, span * 1.3) <= count
    if count > 4:
        # a grid of so many points divides the blank into fields, none of them longer than the span
        assert (count + 1) * span**2 * 1.001 > width * height


def test_spacers_displace_etchant():
    # three pegs of 1.5 cm² and 9 mm under each of four plates of 16 mL: 4 · 3 · 1.35 = 16.2 mL
    volume = standing.spacers_volume(
        spacer_count=q(3),
        plates_at_once=q(4),
        spacer_foot=read("1.5 cm2"),
        spacer_height=read("9 mm"),
    )
    assert value(volume, "mL") == pytest.approx(16.2)
    lying = {"plates_volume": read("64 mL") + volume, "heater_volume": read("50 mL")}
    inside = {"tray_length": read("330 mm"), "tray_width": read("250 mm")}
    poured = heating.volume_to_pour(etchant_level=read("36 mm"), **inside, **lying)
    # 33 · 25 · 3.6 cm³ less metal, spacers and heater
    assert value(poured, "mL") == pytest.approx(2970 - 64 - 16.2 - 50, rel=1e-9)
    back = heating.poured_level(etchant_volume=poured, **inside, **lying)
    assert value(back, "mm") == pytest.approx(36, rel=1e-9)


# ---- tilting and level


def lifted(length, depth, margin, level):
    found = standing.greatest_tilt(
        tray_length=q(length, "mm"),
        tray_depth=q(depth, "mm"),
        slosh_margin=q(margin, "mm"),
        etchant_level=q(level, "mm"),
    )
    return value(found, "mm")


@TRIED
@given(st.floats(150, 1000), st.floats(10, 60), st.floats(1, 40), st.floats(0, 15))
def test_a_tilted_tray_holds_what_was_poured(length, level, free, margin):
    assume(free < level)  # the high end is not bared
    lift = lifted(length, level + free + margin, margin, level)
    # the liquid is a trapezium in the tray's own frame, its surface sloped by the tilt's tangent;
    # its deep end must come up to the margin below the rim, and its area stays length · level
    slope = np.tan(np.arcsin(lift / length))
    deep = level + free
    shallow = deep - length * slope
    assert (deep + shallow) / 2 * length == pytest.approx(level * length, rel=1e-9)


def test_a_tray_that_is_full_cannot_be_tilted():
    assert lifted(330, 46, 10, 36) == pytest.approx(0, abs=1e-9)
    assert lifted(330, 40, 10, 36) < 0
    # 65 mm walls, 36 mm deep, 10 mm kept: 2 · 19 mm, a little less along the slope
    assert lifted(330, 65, 10, 36) == pytest.approx(38 / np.hypot(1, 38 / 330))


def shimmed(slope, level, spacer=10):
    found = standing.shim_needed(
        bench_slope=q(slope, "percent"),
        tray_length=read("400 mm"),
        etchant_level=q(level, "mm"),
        spacer_height=q(spacer, "mm"),
    )
    return value(found, "mm")


def test_shimming_a_bench_that_slopes():
    # 1 % of 400 mm is 4 mm; 3 mm of etchant stand above the face
    assert shimmed(1, 13) == pytest.approx(1)
    assert shimmed(1, 14) == pytest.approx(0, abs=1e-9)
    assert shimmed(1, 36) == 0
    assert shimmed(0, 13) == 0


@TRIED
@given(st.floats(0, 5), st.floats(0.5, 10))
def test_with_the_shim_the_shallow_end_touches(slope, cover):
    shim = shimmed(slope, 10 + cover)
    rise_left = 400 * slope / 100 - shim
    assert rise_left <= cover + 1e-9
    assert shim == 0 or rise_left == pytest.approx(cover)


# ---- water


def test_water_to_add_at_each_look():
    # 90 mL/h for an hour in the bath and three minutes out: 94.5 mL
    each = standing.water_each_look(
        evaporation_rate=read("90 mL/hour"), look_interval=read("1 hour"), look_pause=read("3 min")
    )
    assert value(each, "mL") == pytest.approx(94.5)
    lost = heating.water_lost(evaporation_rate=read("90 mL/hour"), time_kept_warm=read("63 min"))
    assert value(each / lost) == pytest.approx(1, rel=1e-9)


@TRIED
@given(st.floats(0, 1), st.floats(0, 1))
def test_a_lid_saves_what_evaporates_no_more(cover, passes):
    def rate(covered):
        return heating.evaporation_rate(
            tray_length=read("330 mm"),
            tray_width=read("250 mm"),
            temperature=read("45 °C"),
            room_temperature=read("20 °C"),
            lid_cover=q(covered),
            lid_loss=q(passes),
            loss_correction=q(1),
        )

    saved = standing.lid_saving(lid_cover=q(cover), lid_loss=q(passes))
    assert 1 - value(rate(cover) / rate(0)) == pytest.approx(value(saved), abs=1e-9)


# ---- places


def places(*sides):
    """Rectangles in mm of a tray's length and width, a plate's two sides, gap, heater's two sides."""
    found = tray.places_in_tray(*(q(side, "mm") for side in sides))
    return [tuple(value(size, "mm") for size in place) for place in found]


def test_places_drawn_on_paper():
    drawn = [(x, y, 144, 69) for y in (10, 89, 168) for x in (10, 164)]
    assert places(330, 250, 144, 69, 10, 0, 0) == drawn
    # only when turned
    assert places(200, 100, 80, 180, 10, 0, 0) == [(10, 10, 180, 80)]
    assert places(100, 100, 80.1, 80, 10, 0, 0) == []


def test_the_heaters_corner_stays_free():
    kept = places(330, 250, 144, 69, 10, 60, 100)
    whole = places(330, 250, 144, 69, 10, 0, 0)
    # it reaches from y = 150, 10 mm nearer counts: the second plate in the rows at 89 and 168 go
    assert kept == [place for place in whole if place[:2] not in ((164, 89), (164, 168))]
    # 2 mm beside the plates that end at x = 308, 7 mm beyond those that end at y = 158: too near
    assert kept == places(330, 250, 144, 69, 10, 20, 100) == places(330, 250, 144, 69, 10, 60, 85)
    # a rod along one wall of a tray otherwise full
    assert places(100, 100, 80, 80, 10, 100, 20) == []
    # six lie straight and five turned; a heater 55 mm wide leaves three of those, four of these
    assert [place[0] for place in places(200, 110, 90, 30, 5, 55, 110)] == [5, 40, 75, 110]
    assert len(places(200, 110, 90, 30, 5, 0, 0)) == 6


LENGTH = st.floats(20, 400)


@TRIED
@given(LENGTH, LENGTH, LENGTH, LENGTH, st.floats(0, 20), st.floats(0, 150), st.floats(0, 150))
def test_places_overlap_nothing(length, width, a, b, gap, heater_x, heater_y):
    sides = (length, width, a, b, gap)
    laid = places(*sides, heater_x, heater_y)
    count = tray.plates_in_tray(*(q(side, "mm") for side in sides))
    assert len(places(*sides, 0, 0)) == count
    assert len(laid) <= count
    heater = (length - heater_x, width - heater_y, heater_x, heater_y)
    around = [heater, *laid] if heater_x and heater_y else laid
    for (x, y, w, h), (x2, y2, w2, h2) in combinations(around, 2):
        room = max(x2 - x - w, x - x2 - w2, y2 - y - h, y - y2 - h2)
        assert room >= gap - 1e-5
    for x, y, w, h in laid:
        assert min(x, y, length - x - w, width - y - h) >= gap - 1e-5
        assert sorted((w, h)) == pytest.approx(sorted((a, b)))


def test_places_in_inches():
    inches = tray.places_in_tray(*(q(s, "inch") for s in (13, 10, 5.5, 2.75, 0.4, 2, 4)))
    same = tray.places_in_tray(*(q(s * 25.4, "mm") for s in (13, 10, 5.5, 2.75, 0.4, 2, 4)))
    assert [[value(s, "mm") for s in p] for p in inches] == [
        pytest.approx([value(s, "mm") for s in p]) for p in same
    ]
    assert len(inches) > 2


# ---- sizes


def test_gastronorm_sizes():
    # EN 631-1 builds all on 530 × 325 mm: a part and its fellows, a little play between, fill the whole
    sizes = {r["name"]: (int(r["length"]), int(r["width"])) for r in tables.rows("tray_sizes.csv")}
    assert sizes["GN 1/1"] == (530, 325)
    assert tables.source("gastronorm")
    for name, (length, width) in sizes.items():
        over, under = map(int, name.removeprefix("GN ").split("/"))
        assert length >= width
        share = length * width / (530 * 325)
        assert over / under * 0.94 < share <= over / under * 1.005
