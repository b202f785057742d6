"""What is measured on a film, against closed forms and against the definition done the slow way."""

import math
from dataclasses import replace
from pathlib import Path

import matplotlib
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont
from scipy import ndimage

import etchcalc
from etchcalc.artwork import film as films
from etchcalc.artwork import read
from etchcalc.artwork.film import film_of
from etchcalc.artwork.measure import edge_length, measure, open_shares
from etchcalc.artwork.narrowest import narrowest
from etchcalc.artwork.source import Asked

DEMO = Path(etchcalc.__file__).parent / "data" / "demo" / "artwork.svg"


FONT = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"


def measured(pixels):
    """Measure with a millimetre to the pixel, so that all comes in pixels."""
    return measure(film_of(pixels, 1.0))


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
    assert measured(~black).narrowest_land == width


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
    # The smallest, a triangle of 20 degrees with sides of 90, takes a circle of 26.2.
    assert result.narrowest_line is None or result.narrowest_line >= 25
    assert result.hairline_place is None
    land = measured(~black).narrowest_land
    assert land is None or land >= 25


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
    assert measured(~full).open_area == 0


def test_lengths_come_in_millimetres():
    black = np.zeros((150, 300), bool)
    black[50:60, 30:250] = True
    result = measure(film_of(black, 20.0))
    assert result.narrowest_line == pytest.approx(0.5)
    assert result.open_area == pytest.approx(0.5 * 11)
    assert result.pixel == 0.05


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
    one, other = measured(black), measured(~black)
    assert one.open_fraction + other.open_fraction == pytest.approx(1, abs=1e-12)


@settings(max_examples=15, deadline=None)
@given(st.floats(4, 25), st.floats(0.5, 6), st.floats(0, 180))
def test_a_wider_bar_is_never_narrower(width, more, degrees):
    narrow, wide = measured(bar(width, degrees)), measured(bar(width + more, degrees))
    assert wide.narrowest_line >= narrow.narrowest_line - 1  # each is right to a pixel


def discs(width):
    """Return the pixels under a disc, steps from its place: a pixel, or the corner above left."""
    half = 0.5 if width % 2 == 0 else 0.0
    steps = np.arange(-(width // 2) - 1, width // 2 + 2)
    down, across = np.meshgrid(steps, steps, indexing="ij")
    return (down + half) ** 2 + (across + half) ** 2 <= width**2 / 4


def loses(inside, width, slack=0.0):
    """Return whether opening loses something farther than 2.87 radii from what remains, by scipy."""
    inside = np.pad(inside, 4)
    remains = ndimage.binary_opening(inside, discs(width))
    away = ndimage.distance_transform_edt(~remains)
    return not remains.any() or (away[inside] > 2.87 * width / 2 + slack).any()


def narrowest_by_definition(inside):
    """Return the greatest width at which nothing is lost."""
    return next((width - 1 for width in range(3, 40) if loses(inside, width)), math.inf)


@pytest.mark.parametrize("size", [60, 110])
def test_letters_measure_as_the_definition_says(size):
    font = ImageFont.truetype(FONT, size)
    for letter in "AKSWegx47&":
        image = Image.new("1", (2 * size, 2 * size))
        ImageDraw.Draw(image).text((10, 10), letter, fill=1, font=font)
        black = np.asarray(image).astype(bool)
        got = narrowest(film_of(black)).width
        assert got == pytest.approx(narrowest_by_definition(black), abs=1), letter


@settings(max_examples=40, deadline=None)
@given(SCENES)
def test_scenes_measure_as_the_definition_says(boxes):
    black = scene(boxes)
    got = narrowest(film_of(black)).width
    got = math.inf if got is None else got
    if got <= 32:  # a loss counts when it is a pixel farther, and for a disc a pixel wider too
        assert not all(loses(black, width, slack=1.5) for width in (got - 1, got))
    _, pieces = ndimage.label(black, np.ones((3, 3)))
    if pieces == 1:  # else a piece that vanishes near another is found sooner
        assert got >= min(narrowest_by_definition(black), 32) - 1


@pytest.mark.parametrize(("line", "land"), [(5, 9), (8, 7), (14, 30), (25, 12)])
@pytest.mark.parametrize("degrees", [0, 90])
def test_a_combs_lines_and_lands(line, land, degrees):
    black = np.zeros((300, 400), bool)
    for left in range(20, 380 - line, line + land):
        black[40:260, left : left + line] = True
    black[230:260, 20:380] = True
    black = np.rot90(black) if degrees else black
    result = measured(black)
    assert result.narrowest_line == pytest.approx(line, abs=1)
    assert result.narrowest_land == pytest.approx(land, abs=1)


@pytest.mark.parametrize("turned", [0, 23, 45])
@pytest.mark.parametrize("end", [4.0, 7.0, 12.4, 20.0])
@pytest.mark.parametrize("joined", [False, True])
def test_a_taper_measures_as_its_thin_end(end, turned, joined):
    taper = math.tan(math.radians(1))
    along = np.array([math.cos(math.radians(turned)), math.sin(math.radians(turned))])
    over = np.array([-along[1], along[0]])
    first = np.array([150.2, 120.3]) - 100 * along
    last, wide = first + 200 * along, end / 2 + 200 * taper
    black = convex(
        [first - over * end / 2, last - over * wide, last + over * wide, first + over * end / 2]
    )
    if joined:
        black |= disc(70, last + 20 * along)
    assert measured(black).narrowest_line == pytest.approx(end, abs=1 + 0.05 * end)


@pytest.mark.parametrize("turned", [0, 10, 45, 133])
@pytest.mark.parametrize("degrees", [4, 6, 10])
def test_a_needle_is_a_point_and_no_line(degrees, turned):
    tip = np.array([200.2, 150.3])
    tip = tip - 110 * np.array([math.cos(math.radians(turned)), math.sin(math.radians(turned))])
    black = wedge(degrees, turned, tip)
    result = measured(black)
    # Only the whole piece is lost, by a disc as wide as its widest.
    widest = 220 * 2 * math.tan(math.radians(degrees / 2))
    assert result.narrowest_line >= 0.9 * widest - 2
    away = np.array(result.hairline_place) - tip
    assert math.hypot(*away) < 3 / math.tan(math.radians(degrees / 2))
    assert measured(~black).hairland_place is not None


def test_a_stars_points_are_no_lines():
    corners = []
    for i in range(10):
        radius, angle = 110 if i % 2 == 0 else 42, math.radians(7 + 36 * i)
        corners.append((200 + radius * math.cos(angle), 150 + radius * math.sin(angle)))
    image = Image.new("1", (400, 300))
    ImageDraw.Draw(image).polygon(corners, fill=1)
    result = measured(np.asarray(image).astype(bool))
    assert result.narrowest_line is None or result.narrowest_line > 60
    assert result.hairline_place is None


def test_a_line_close_to_another_is_as_wide_as_it_is():
    # All of it lies near what remains of the other; yet it vanishes whole.
    black = np.zeros((150, 300), bool)
    black[50:90, 20:280] = True
    black[42:47, 20:280] = True
    assert measured(black).narrowest_line == 5
    assert measured(~black).narrowest_land == 5
    black[42:45, 20:280] = False  # two are left: too fine to measure
    result = measured(black)
    assert result.narrowest_line == pytest.approx(40, abs=1)
    assert result.hairline_place[1] == pytest.approx(46, abs=1)


def test_bands_do_not_show(monkeypatch):
    black = bar(6, 30) | disc(60, (60, 60)) | ~disc(500, (200, 150))
    places = {"line_place": None, "land_place": None}  # any point on it will do

    def all_measures():
        return [replace(measured(side), **places) for side in (black, ~black)]

    whole = all_measures()
    monkeypatch.setattr(films, "_BAND", 1)
    assert all_measures() == whole


@pytest.mark.parametrize("degrees", [0, 11, 30, 45, 60, 83])
def test_areas_and_edges_of_polygons(degrees):
    for sides in (3, 4, 7):
        angles = np.radians(degrees) + np.arange(sides) * 2 * math.pi / sides
        black = convex(np.stack([200.2 + 130 * np.cos(angles), 150.4 + 130 * np.sin(angles)], 1))
        area = sides * 130**2 * math.sin(2 * math.pi / sides) / 2
        edge = 2 * sides * 130 * math.sin(math.pi / sides)
        result = measured(black)
        assert result.open_area == pytest.approx(area, abs=edge / 2)
        assert result.edge_length == pytest.approx(edge, rel=0.02)


@pytest.mark.parametrize("degrees", range(0, 180, 5))
def test_the_length_of_a_straight_edge_of_any_direction(degrees):
    # A bar's long edges only: its ends are the same for both lengths.
    short, long = (film_of(bar(20, degrees, length)) for length in (80, 240))
    assert edge_length(long) - edge_length(short) == pytest.approx(2 * 160, rel=0.02)


@pytest.mark.parametrize("diameter", [60, 133, 250])
def test_the_area_and_edge_of_a_disc_and_a_ring(diameter):
    result = measured(disc(diameter, (200.3, 150.2)))
    assert result.edge_length == pytest.approx(math.pi * diameter, rel=0.005)
    assert result.open_area == pytest.approx(math.pi * diameter**2 / 4, abs=math.pi * diameter / 2)
    result = measured(disc(diameter) & ~disc(diameter - 30))
    edges = math.pi * (2 * diameter - 30)
    assert result.edge_length == pytest.approx(edges, rel=0.005)
    assert result.open_area == pytest.approx(
        math.pi * (diameter**2 - (diameter - 30) ** 2) / 4, abs=edges / 2
    )


def test_the_films_own_edge_is_no_edge():
    black = np.zeros((150, 200), bool)
    black[:, :100] = True
    assert edge_length(film_of(black)) == pytest.approx(150, abs=4)  # 1.5 less at each end
    assert edge_length(film_of(np.ones((150, 200), bool))) == 0


def test_the_open_area_shared_out_by_line_width():
    black = np.zeros((300, 400), bool)
    widths, tall = (6, 14, 30), 200
    for number, width in enumerate(widths):
        black[50 : 50 + tall, 50 + 100 * number : 50 + 100 * number + width] = True
    film = film_of(black, 20.0)  # 0.3, 0.7 and 1.5 mm
    # A disc leaves the four corners of a line, (1 - pi / 4) of its width squared or less.
    corners = 0.22 * 30**2 / (tall * sum(widths))
    parts = [width / sum(widths) for width in widths]
    assert open_shares(film, (0.3, 0.7, 1.5)) == pytest.approx([0, *parts], abs=corners)
    assert open_shares(film, (0.35, 0.75, 1.55)) == pytest.approx([*parts, 0], abs=corners)
    shares = open_shares(film, (0.2, 0.5, 1.0, 2.0))
    assert shares == pytest.approx([0, *parts, 0], abs=corners)
    assert sum(shares) == pytest.approx(1)
    assert open_shares(film_of(~black & False)) == (0.0,) * 8


def test_the_open_area_of_wide_lines_on_a_coarser_film():
    black = np.zeros((600, 900), bool)
    black[50:550, 50:250] = black[50:550, 350:390] = True
    shares = open_shares(film_of(black, 100.0), (0.5, 1.0, 3.0))  # 50, 100 and 300 pixels
    assert shares == pytest.approx([40 / 240, 0, 200 / 240, 0], abs=0.03)


def test_islands_counters_and_the_way_to_the_edge():
    black = np.zeros((200, 300), bool)
    black[20:180, 30:200] = True  # a field
    black[40:80, 50:90] = False  # a raised letter
    black[55:65, 60:80] = True  # its counter
    black[120:130, 150:170] = False  # a smaller island
    black[90:110, 250:300] = True  # runs off
    result = measured(black)
    assert (result.etched_pieces, result.kept_pieces, result.running_off) == (3, 3, 1)
    assert result.island_area == 200
    assert result.island_place == (160, 125)
    assert result.counter_area == 200
    assert result.counter_place == (70, 60)
    assert result.edge_distance == 20
    assert result.edge_place == (115, 20)
    swapped = measured(~black)  # the field is an island now, but for what reaches the edge
    assert swapped.island_area == 10 * 20
    assert swapped.counter_area == 200


@pytest.mark.parametrize("side", ["top", "left", "bottom", "right"])
def test_the_nearest_to_the_edge_on_every_side(side):
    black = np.zeros((100, 100), bool)
    black[5:60, 40:70] = True
    turns = ("top", "left", "bottom", "right").index(side)
    result = measured(np.ascontiguousarray(np.rot90(black, turns)))
    assert result.edge_distance == 5
    assert result.edge_place == {
        "top": (55, 5), "left": (5, 45), "bottom": (45, 95), "right": (95, 55)
    }[side]  # fmt: skip


def test_the_demo_plate():
    film, _ = read.film(Asked(DEMO, width=120, height=45))
    result = measure(film)
    assert result.narrowest_line == pytest.approx(0.40, abs=result.pixel)
    assert 0.45 <= result.narrowest_land < 0.6
    assert result.hairline_place is None
    assert result.hairland_place is None
    assert 0.08 < result.open_fraction < 0.2
