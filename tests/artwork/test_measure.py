import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import etchcalc
from etchcalc.artwork import bits
from etchcalc.artwork.film import film_of
from etchcalc.artwork.measure import measure
from etchcalc.artwork.read import read_svg

DEMO = Path(etchcalc.__file__).parent / "data" / "demo" / "artwork.svg"


def measured(pixels, /, black="etched"):
    """Measure with a millimetre to the pixel, so that all comes in pixels."""
    return measure(film_of(pixels if black == "etched" else ~pixels, 1.0))


def canvas(rows=300, columns=400):
    down, across = np.mgrid[:rows, :columns] + 0.5
    return across, down


def convex(corners, rows=300, columns=400):
    across, down = canvas(rows, columns)
    inside = np.ones((rows, columns), bool)
    for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True):
        inside &= (x1 - x0) * (down - y0) - (y1 - y0) * (across - x0) >= 0
    return inside


def bar(width, degrees, length=200, middle=(200.3, 150.4)):
    along = np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])
    over = np.array([-along[1], along[0]])
    ends = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return convex([middle + a * along * length / 2 + b * over * width / 2 for a, b in ends])


def wedge(degrees, turned, tip=(60.2, 150.3), length=220):
    sides = [math.radians(turned + side * degrees / 2) for side in (-1, 1)]
    return convex([tip, *((tip[0] + length * math.cos(a), tip[1] + length * math.sin(a))
                          for a in sides)])  # fmt: skip


def disc(diameter, middle=(200, 150)):
    across, down = canvas()
    return np.hypot(across - middle[0], down - middle[1]) <= diameter / 2


@pytest.mark.parametrize("width", [3, 4, 5, 8, 13, 18, 19, 24, 31, 32])
def test_a_bar_of_whole_pixels_measures_exactly_that(width):
    black = np.zeros((150, 300), bool)
    black[50 : 50 + width, 30:250] = True
    result = measured(black)
    assert result.narrowest_line == width
    assert result.narrowest_land is None
    assert result.open_area == width * 220
    assert result.open_fraction == width * 220 / (150 * 300)
    assert 30 < result.line_place[0] < 250
    assert 50 < result.line_place[1] < 50 + width
    assert measured(black, black="kept").narrowest_land == width


@pytest.mark.parametrize("width", [33, 40, 61, 90])
def test_wide_bars_are_found_on_coarser_films_and_measured_to_a_pixel(width):
    black = np.zeros((150, 300), bool)
    black[30 : 30 + width, 20:280] = True
    assert measured(black).narrowest_line == pytest.approx(width, abs=1)


@pytest.mark.parametrize("degrees", [0, 7, 30, 45, 71, 90])
@pytest.mark.parametrize("width", [4.0, 7.5, 12.3, 18.9, 28.0])
def test_tilted_bars(width, degrees):
    assert measured(bar(width, degrees)).narrowest_line == pytest.approx(width, abs=1)


def test_bars_too_fine_to_measure_are_told_and_not_counted():
    black = np.zeros((150, 300), bool)
    black[20:22, 30:250] = True
    black[60:70, 30:250] = True
    result = measured(black)
    assert result.narrowest_line == 10
    assert result.hairline_place[1] == pytest.approx(21, abs=1)
    assert result.hairland_place is None


@pytest.mark.parametrize("width", [5, 8.5, 20])
def test_rings(width):
    black = disc(200 + width) & ~disc(200 - width)
    result = measured(black)
    assert result.narrowest_line == pytest.approx(width, abs=1)
    area = math.pi * ((100 + width / 2) ** 2 - (100 - width / 2) ** 2)
    assert result.open_area == pytest.approx(area, rel=0.01)


@pytest.mark.parametrize("diameter", [4, 6, 10, 19, 30, 60])
def test_dots_and_holes(diameter):
    bound = 1 if diameter <= 32 else 2  # wide discs are tried on one grid only
    assert measured(disc(diameter)).narrowest_line == pytest.approx(diameter, abs=bound)
    assert measured(~disc(diameter)).narrowest_land == pytest.approx(diameter, abs=bound)


def test_the_area_of_a_disc():
    assert measured(disc(200)).open_area == pytest.approx(math.pi * 100**2, rel=1e-3)


@pytest.mark.parametrize("side", [5, 12, 30])
def test_squares(side):
    black = np.zeros((120, 120), bool)
    black[40 : 40 + side, 40 : 40 + side] = True
    assert measured(black).narrowest_line == side


@pytest.mark.parametrize("gap", [3, 4, 11, 21])
def test_the_land_between_two_squares(gap):
    black = np.zeros((200, 320), bool)
    black[50:150, 40:140] = True
    black[50:150, 140 + gap : 240 + gap] = True
    result = measured(black)
    assert result.narrowest_land == gap
    assert result.land_place[0] == pytest.approx(140 + gap / 2, abs=1)
    assert result.narrowest_line == pytest.approx(100, abs=100 / 16)


@pytest.mark.parametrize("turned", [0, 13, 45, 200.5])
@pytest.mark.parametrize("degrees", [20, 27, 30, 60])
def test_corners_are_no_lines(degrees, turned):
    tip = (60.2, 150.3) if turned < 100 else (330.2, 200.3)
    black = wedge(degrees, turned, tip, 90 if turned == 45 else 220)
    result = measured(black)
    assert result.narrowest_line is None or result.narrowest_line > 25
    assert result.hairline_place is None
    land = measured(~black).narrowest_land
    assert land is None or land > 25


def test_a_line_with_sharp_ends_still_counts():
    middle, half = 150.3, 6.0
    needle = [(60, middle), (100, middle - half), (300, middle - half), (340, middle),
              (300, middle + half), (100, middle + half)]  # fmt: skip
    assert measured(convex(needle)).narrowest_line == pytest.approx(12, abs=1)


def test_a_tick_on_a_border_is_found_and_so_is_its_place():
    black = np.zeros((300, 400), bool)
    black[200:240, 20:380] = True
    black[100:200, 120:129] = True
    result = measured(black)
    assert result.narrowest_line == 9
    assert result.line_place[0] == pytest.approx(124.5, abs=1)
    assert 100 < result.line_place[1] < 200


def test_the_plates_edge_is_no_land():
    black = np.zeros((200, 300), bool)
    black[:, 4:200] = True  # four pixels of metal are left at the plate's edge
    assert measured(black).narrowest_land is None


def test_no_line_and_no_land():
    clear, full = np.zeros((100, 200), bool), np.ones((100, 200), bool)
    assert measured(clear).narrowest_line is None
    assert measured(clear).narrowest_land is None
    assert measured(clear).open_area == 0
    assert measured(full).narrowest_land is None
    assert measured(full).narrowest_line == pytest.approx(100, abs=2)
    assert measured(full).open_fraction == 1
    assert measured(full, black="kept").open_area == 0


def test_lengths_come_in_millimetres():
    black = np.zeros((150, 300), bool)
    black[50:60, 30:250] = True
    result = measure(film_of(black, 20.0))
    assert result.narrowest_line == pytest.approx(0.5)
    assert result.open_area == pytest.approx(0.5 * 11)
    assert result.pixel == 0.05


def test_black_is_etched_or_kept():
    with pytest.raises(ValueError, match="'etched' or 'kept'"):
        measured(np.zeros((5, 5), bool), black="both")


SCENES = st.lists(
    st.tuples(
        st.integers(0, 90), st.integers(0, 120), st.integers(3, 30), st.integers(3, 40)
    ),
    min_size=1,
    max_size=4,
)  # fmt: skip


def scene(boxes):
    black = np.zeros((100, 140), bool)
    for top, left, high, wide in boxes:
        black[top : top + high, left : left + wide] = True
    return black


@settings(max_examples=25, deadline=None)
@given(SCENES)
def test_turning_and_mirroring_change_nothing(boxes):
    black = scene(boxes)
    first = measured(black)
    for other in (np.rot90(black), black[::-1], black[:, ::-1]):
        again = measured(np.ascontiguousarray(other))
        assert again.open_area == first.open_area
        for one, two in (
            (first.narrowest_line, again.narrowest_line),
            (first.narrowest_land, again.narrowest_land),
        ):
            assert (one is None) == (two is None)
            assert one == pytest.approx(two, abs=1 if one and one <= 32 else 3)


@settings(max_examples=25, deadline=None)
@given(SCENES)
def test_etched_and_kept_are_complements(boxes):
    black = scene(boxes)
    one, other = measured(black), measured(black, black="kept")
    assert one.open_fraction + other.open_fraction == pytest.approx(1, abs=1e-12)


@settings(max_examples=15, deadline=None)
@given(st.floats(4, 25), st.floats(0.5, 6), st.floats(0, 180))
def test_a_wider_bar_is_never_narrower(width, more, degrees):
    narrow, wide = measured(bar(width, degrees)), measured(bar(width + more, degrees))
    assert wide.narrowest_line >= narrow.narrowest_line - 1  # each is right to a pixel


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 12), st.floats(0.5, 20))
def test_discs_against_brute_force(seed, width, radius):
    random = np.random.default_rng(seed)
    black = random.random((40, 75)) < 0.9
    plane = bits.plane(np.packbits(black, axis=1), 75, outside=False)
    fits = bits.erode(plane.words, width)
    half = 0.5 if width % 2 == 0 else 0.0
    down, across = np.nonzero(plane.like(~fits).unpacked() == 0)
    wide = np.pad(black, 10)
    reach = range(-8, 9)
    for row, column in zip(down[:20], across[:20], strict=True):
        for dy in reach:
            for dx in reach:
                if (dy + half) ** 2 + (dx + half) ** 2 <= width**2 / 4:
                    assert wide[row + dy + 10, column + dx + 10]
    sparse = np.zeros_like(black)
    sparse[random.integers(40), random.integers(75)] = True
    (row, column), *_ = np.argwhere(sparse)
    covered = bits.plane(np.packbits(sparse, axis=1), 75, outside=False)
    got = covered.like(bits.dilate(covered.words, radius)).unpacked()
    y, x = np.mgrid[:40, :75]
    assert np.array_equal(got, (y - row) ** 2 + (x - column) ** 2 <= radius**2)


def test_the_demo_plate():
    result = measure(read_svg(DEMO, width=120, height=45))
    assert result.narrowest_line == pytest.approx(0.40, abs=result.pixel)
    assert 0.45 <= result.narrowest_land < 0.6
    assert result.hairline_place is None
    assert result.hairland_place is None
    assert 0.08 < result.open_fraction < 0.2
