"""Films grown and shrunk against scipy's distances and Steiner's formula; what is lost, by name."""

import math

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scipy import ndimage

from etchcalc.artwork import film as films
from etchcalc.artwork.film import Film, film_of
from etchcalc.artwork.narrowest import narrowest
from etchcalc.artwork.offset import (
    APART,
    COUNTER,
    ISLAND,
    LAND,
    LINE,
    POINTED,
    THROUGH,
    grown,
    lost,
    pixels,
    shrunk,
)

ROWS, COLUMNS = 240, 330


def lines_lost(changes):
    return changes.counts.get(LINE, 0) + changes.counts.get(COUNTER, 0)


def islands_lost(changes):
    return changes.counts.get(ISLAND, 0)


def canvas(rows=ROWS, columns=COLUMNS):
    down, across = np.mgrid[:rows, :columns] + 0.5
    return across, down


def convex(corners, rows=ROWS, columns=COLUMNS):
    across, down = canvas(rows, columns)
    inside = np.ones((rows, columns), bool)
    for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True):
        inside &= (x1 - x0) * (down - y0) - (y1 - y0) * (across - x0) >= 0
    return inside


def disc(diameter, middle=(165.2, 120.4)):
    across, down = canvas()
    return np.hypot(across - middle[0], down - middle[1]) <= diameter / 2


def turned(sides, radius, degrees, middle=(165.2, 120.4)):
    """Return the corners of a regular polygon."""
    angles = np.radians(degrees) + np.arange(sides) * 2 * math.pi / sides
    return [(middle[0] + radius * math.cos(a), middle[1] + radius * math.sin(a)) for a in angles]


def near(inside, radius):
    """Return what lies within the radius of a set, by scipy; nothing comes in from outside."""
    if not inside.any():
        return inside
    return ndimage.distance_transform_edt(~inside) <= radius


def random_pixels(seed):
    random = np.random.default_rng(seed)
    shape = int(random.integers(1, 60)), int(random.integers(1, 150))
    return random.random(shape) < random.choice([0.01, 0.1, 0.5, 0.9, 0.99]), random


def test_grown_and_shrunk_are_scipys(monkeypatch):
    for seed in range(200):
        inside, random = random_pixels(seed)
        monkeypatch.setattr(films, "_BAND", int(random.choice([1, 2000, 10**6])))
        radius = float(random.choice([random.integers(0, 12), random.uniform(0, 12)]))
        assert np.array_equal(grown(film_of(inside), radius).unpacked(), near(inside, radius))
        assert np.array_equal(shrunk(film_of(inside), radius).unpacked(), ~near(~inside, radius))


def test_progress_is_told_and_may_break_off(monkeypatch):
    monkeypatch.setattr(films, "_BAND", 1)
    shares = []
    grown(film_of(disc(50)), 4, shares.append)
    assert shares == sorted(shares)
    assert len(shares) > 5
    assert shares[-1] == 1
    lost_shares = []
    lost(film_of(disc(50)), 4, kept=True, progress=lost_shares.append)
    assert lost_shares == sorted(lost_shares)
    assert lost_shares[-1] <= 1

    def stop(share):
        raise InterruptedError

    with pytest.raises(InterruptedError):
        grown(film_of(disc(50)), 4, stop)


def test_an_undercut_in_pixels_is_the_nearest_whole_number():
    film = Film(np.zeros((1, 1), np.uint8), 1, 1, 2400 / 25.4)  # 0.010583 mm a pixel
    assert pixels(0.15, film) == 14
    assert pixels(0.155, film) == 15
    assert pixels(0.005, film) == 0


SHAPES = {
    "disc": (disc(90), math.pi * 45**2, math.pi * 90),
    "bar": (convex([(60, 90), (250, 90), (250, 150), (60, 150)]), 190 * 60, 2 * 190 + 2 * 60),
    **{
        f"{sides} sides at {degrees}": (
            convex(turned(sides, 60, degrees)),
            sides * 60**2 * math.sin(2 * math.pi / sides) / 2,
            2 * sides * 60 * math.sin(math.pi / sides),
        )
        for sides, degrees in ((3, 11), (4, 33), (5, 7), (7, 20))
    },
}


@pytest.mark.parametrize("radius", [1, 3.3, 8, 20])
@pytest.mark.parametrize("name", SHAPES)
def test_convex_shapes_grow_as_steiner_says(name, radius):
    inside, area, edge = SHAPES[name]
    expected = area + edge * radius + math.pi * radius**2
    after = edge + 2 * math.pi * radius
    assert grown(film_of(inside), radius).unpacked().sum() == pytest.approx(expected, abs=after / 2)


@pytest.mark.parametrize("seed", range(20))
def test_shrinking_and_growing_back_is_the_opening(seed):
    inside, random = random_pixels(seed)
    radius = float(random.uniform(1, 5))

    def opening(film):
        return grown(shrunk(film, radius), radius)

    once = opening(film_of(inside))
    assert not (once.unpacked() & ~inside).any()
    assert np.array_equal(opening(once).bits, once.bits)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0, 9), st.floats(0, 9))
def test_a_larger_undercut_takes_more_and_each_is_the_others_complement(seed, one, other):
    inside, _ = random_pixels(seed)
    film, less, more = film_of(inside), min(one, other), max(one, other)
    assert not (grown(film, less).unpacked() & ~grown(film, more).unpacked()).any()
    assert not (shrunk(film, more).unpacked() & ~shrunk(film, less).unpacked()).any()
    assert np.array_equal(~shrunk(film, one).unpacked(), grown(film_of(~inside), one).unpacked())


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0, 9))
@example(0, math.nextafter(2, 0))  # whether it counts as two is the same across and down
def test_mirrored_and_turned_films_give_mirrored_and_turned_ones(seed, radius):
    inside, _ = random_pixels(seed)
    for move in (np.rot90, np.flipud, np.fliplr, np.transpose):
        moved = grown(film_of(np.ascontiguousarray(move(inside))), radius).unpacked()
        assert np.array_equal(moved, move(grown(film_of(inside), radius).unpacked()))


TICKS = (3, 4, 5, 6, 7, 8, 11, 12, 15, 16)


def comb():
    inside = np.zeros((200, 700), bool)
    inside[140:180, 20:680] = True
    for number, width in enumerate(TICKS):
        inside[60:145, 50 + 60 * number : 50 + 60 * number + width] = True
    return inside


@pytest.mark.parametrize("radius", [1, 2, 3, 4, 5, 6, 8])
def test_a_comb_loses_its_narrow_ticks_and_no_other(radius):
    changes = lost(film_of(comb(), 1.0), radius, kept=False)
    gone = [number for number, width in enumerate(TICKS) if width <= 2 * radius]
    assert changes.counts == ({LINE: len(gone)} if gone else {})
    assert lines_lost(changes) == len(gone)
    at = sorted(change.place[0] for change in changes.listed)
    for number, across in zip(gone, at, strict=True):
        assert 50 + 60 * number <= across <= 50 + 60 * number + TICKS[number]
    for change in changes.listed:
        left, top, right, bottom = change.box
        assert left <= change.place[0] <= right
        assert top <= change.place[1] <= bottom
        assert change.area == pytest.approx((right - left) * (bottom - top), rel=0.1)


@pytest.mark.parametrize("radius", [2, 5, 8])
def test_lands_between_ticks_break_through(radius):
    changes = lost(film_of(~comb(), 1.0), radius, kept=True)
    assert changes.counts.get(LAND, 0) == sum(width <= 2 * radius for width in TICKS)
    assert lines_lost(changes) == islands_lost(changes) == 0


def test_a_long_undercut_still_finds_the_finest_line():
    # Lost already at a fraction of it: no reason to take it for the tip of something.
    inside = np.zeros((200, 500), bool)
    inside[90:190, 20:480] = True
    inside[65:95, 200:205] = True  # shorter than what the disc leaves of corners
    assert lost(film_of(inside), 20, kept=False).counts == {LINE: 1}


def test_wide_lines_are_looked_for_on_a_film_half_as_fine():
    inside = np.zeros((330, 500), bool)
    inside[200:300, 20:480] = True
    inside[30:200, 100:138] = inside[30:200, 300:350] = True
    changes = lost(film_of(inside, 1.0), 22, kept=False)
    assert changes.counts == {LINE: 1}
    assert 100 <= changes.listed[0].place[0] <= 138


def test_whole_pieces_vanish():
    inside = disc(10) | disc(40, (60, 60))
    assert lost(film_of(inside), 4, kept=False).counts == {}
    changes = lost(film_of(inside, 10.0), 6, kept=False)
    assert changes.counts == {LINE: 1}
    (change,) = changes.listed
    assert change.place == pytest.approx((16.5, 12.0), abs=0.6)
    assert change.area == pytest.approx(disc(10).sum() / 100)
    assert lost(film_of(inside), 21, kept=False).counts == {LINE: 2}


def test_a_line_close_to_another_vanishes_all_the_same():
    inside = np.zeros((150, 300), bool)
    inside[50:90, 20:280] = True
    inside[42:47, 20:280] = True  # three pixels away
    assert narrowest(film_of(inside)).width == 5
    assert lost(film_of(inside), 2, kept=False).counts == {}
    assert lost(film_of(inside), 3, kept=False).counts == {LINE: 1}


def test_an_island_floats_off_and_a_counter_closes():
    field = np.zeros((ROWS, COLUMNS), bool)
    field[20:220, 20:310] = True
    island = field & ~disc(12)
    changes = lost(film_of(island), 7, kept=True)
    assert changes.counts == {ISLAND: 1}
    assert islands_lost(changes) == 1
    assert lost(film_of(island), 5, kept=True).counts == {}
    counter = field & ~disc(90) | disc(12)
    changes = lost(film_of(counter), 7, kept=False)
    assert changes.counts == {COUNTER: 1}
    assert lines_lost(changes) == 1


def test_lands_between_fields_break_through_and_the_fields_run_together():
    inside = np.zeros((200, 320), bool)
    inside[50:150, 40:140] = inside[50:150, 148:248] = True
    assert lost(film_of(inside), 3, kept=True).counts == {}
    changes = lost(film_of(inside), 4, kept=True)
    assert changes.counts == {LAND: 1, THROUGH: 1}
    land = changes.listed[0]
    assert land.what == LAND
    assert 140 <= land.place[0] * films.RESOLUTION <= 148


def test_dots_that_touch_run_together_without_a_land():
    inside = disc(40, (100, 120)) | disc(40, (145, 120))  # five pixels apart at one point
    changes = lost(film_of(inside), 3, kept=True)
    assert changes.counts == {THROUGH: 1}


def test_a_short_thin_neck_comes_apart():
    inside = disc(60, (100, 120)) | disc(60, (166, 120))
    inside[117:123, 120:140] = True
    assert lost(film_of(inside), 2, kept=False).counts == {}
    assert lost(film_of(inside), 4, kept=False).counts == {APART: 1}


def test_a_loss_is_not_hidden_by_a_gain():
    # One line goes, another piece comes in two: as many pieces as before.
    inside = disc(60, (100, 120)) | disc(60, (166, 120))
    inside[117:123, 120:140] = True
    inside[20:25, 40:300] = True
    film = film_of(inside)
    assert lost(film, 4, kept=False).counts == {LINE: 1, APART: 1}


@pytest.mark.parametrize("degrees", [0, 20, 45, 77])
def test_a_sharp_point_is_blunted_and_not_counted(degrees):
    tip, along = np.array([165.2, 120.3]), math.radians(degrees)
    sides = [along + math.radians(side) for side in (-10, 10)]
    inside = convex([tip, *(tip + 110 * np.array([math.cos(a), math.sin(a)]) for a in sides)])
    changes = lost(film_of(inside), 8, kept=False)
    assert changes.counts == {POINTED: 1}
    assert lines_lost(changes) == 0
    assert changes.listed[0].place == pytest.approx(tip / films.RESOLUTION, abs=0.15)


@pytest.mark.parametrize("radius", [1, 5, 14, 25])
def test_a_plain_field_loses_nothing(radius):
    film = film_of(convex(turned(4, 110, 33)))
    assert lost(film, radius, kept=False).counts == {}
    assert lost(film, radius, kept=True).counts == {}


def test_less_than_a_pixel_loses_nothing():
    inside, _ = random_pixels(3)
    assert lost(film_of(inside), 0.99, kept=True).counts == {}


def test_a_border_along_the_plates_edge_is_lost_though_all_is_etched_beyond():
    inside = np.zeros((200, 300), bool)
    inside[60:140, 100:200] = True
    inside[6:10, 6:294] = inside[6:100, 6:10] = inside[96:100, 6:120] = True
    assert lost(film_of(inside), 3, kept=False).counts == {LINE: 1}


def test_what_lies_in_other_bands_is_seen(monkeypatch):
    inside = comb()
    whole = [lost(film_of(side), 4, kept=kept) for side in (inside, inside.T) for kept in (0, 1)]
    monkeypatch.setattr(films, "_BAND", 1)
    bands = [lost(film_of(side), 4, kept=kept) for side in (inside, inside.T) for kept in (0, 1)]
    assert whole == bands


SCENES = st.lists(
    st.tuples(st.integers(2, 90), st.integers(2, 110), st.integers(3, 40), st.integers(3, 60)),
    min_size=1,
    max_size=5,
)


@settings(max_examples=80, deadline=None)
@given(SCENES, st.integers(1, 12), st.booleans())
def test_nothing_counts_as_lost_below_the_narrowest_and_something_above(boxes, radius, kept):
    inside = np.zeros((132, 172), bool)
    for top, left, high, wide in boxes:
        inside[top : top + high, left : left + wide] = True
    film = film_of(inside)
    found = narrowest(film, kept=kept)
    assume(found.hair is None)
    counts = lost(film, radius, kept=kept).counts
    gone = sum(counts.get(what, 0) for what in (LINE, COUNTER, LAND, ISLAND))
    if found.width is None or 2 * radius < found.width:
        assert gone == 0
    elif 2 * radius >= found.width + 1:
        assert gone >= 1
