"""The discs on packed words, pixel for pixel against brute force a byte a pixel.

Distances come from scipy's Euclidean distance transform; a disc on a corner, which
that does not know, is laid pixel by pixel.
"""

import math

import numpy as np
import pytest
from scipy import ndimage

from etchcalc.artwork import bits, film
from etchcalc.artwork.film import film_of

IMAGES = 250  # of each kind; a chord that grows too fast shows in one of some 400


def images(count=IMAGES, seed=1):
    """Yield random images of every density and of widths on both sides of bytes and words."""
    random = np.random.default_rng(seed)
    for _ in range(count):
        rows, columns = int(random.integers(1, 30)), int(random.integers(1, 140))
        dense = random.choice([0.004, 0.05, 0.5, 0.95, 0.996])
        yield random.random((rows, columns)) < dense, random


def near(pixels, radius):
    """Return which pixels have one of the set within the radius: scipy's distances."""
    if not pixels.any():
        return np.zeros_like(pixels)
    return ndimage.distance_transform_edt(~pixels) <= radius


def under(width):
    """Yield the steps (down, across) from a place to each pixel under a disc of this width."""
    half = 0.5 if width % 2 == 0 else 0.0
    reach = range(-(width // 2) - 1, width // 2 + 2)
    for down in reach:
        for across in reach:
            if (down + half) ** 2 + (across + half) ** 2 <= width**2 / 4:
                yield down, across


def fitting(pixels, width):
    """Return the places on which all pixels under a disc are set, none beyond the array."""
    fits = np.ones_like(pixels)
    for down, across in under(width):
        fits &= moved(pixels, -down, -across)
    return fits


def covered(fits, width):
    """Return the pixels under discs on those places."""
    found = np.zeros_like(fits)
    for down, across in under(width):
        found |= moved(fits, down, across)
    return found


def moved(pixels, down, across):
    """Return the pixels moved, nothing coming in from outside."""
    rows, columns = pixels.shape
    room = max(abs(down), abs(across))
    wide = np.pad(pixels, room)
    return wide[room - down :, room - across :][:rows, :columns]


def unpacked(plane, words):
    """Return a band's words as bools."""
    return np.unpackbits(plane.packed(words), axis=1, count=plane.columns).view(np.bool_)


def padded(pixels, by, outside):
    return np.pad(pixels, by, constant_values=outside)


@pytest.mark.parametrize("outside", [False, True])
@pytest.mark.parametrize("inverse", [False, True])
def test_dilating_is_all_pixels_within_the_radius(outside, inverse):
    for pixels, random in images(seed=2 + outside):
        radius = float(random.choice([random.integers(0, 24), random.uniform(0, 24)]))
        plane = bits.lay(film_of(pixels), outside=outside, inverse=inverse, margin=radius)
        laid = padded(pixels ^ inverse, 25, outside)
        expected = near(laid, radius)[25:-25, 25:-25]
        assert np.array_equal(unpacked(plane, bits.dilate(plane.words, radius)), expected)


def test_dilating_right_up_to_the_last_word_of_a_row():
    # No margin: what runs off the last word must not be missed in what is near it.
    for pixels, random in images(seed=4):
        columns = -(-pixels.shape[1] // 64) * 64
        wide = np.zeros((len(pixels), columns), bool)
        wide[:, -pixels.shape[1] :] = pixels
        radius = float(random.uniform(0, 40))
        words = np.packbits(wide, axis=1).view(np.uint64).byteswap()
        got = np.unpackbits(bits.dilate(words, radius).byteswap().view(np.uint8), axis=1)
        assert np.array_equal(got.view(np.bool_), near(wide, radius))


@pytest.mark.parametrize("outside", [False, True])
def test_discs_fit_where_all_under_them_is_set(outside):
    for pixels, random in images(seed=6 + outside):
        width = int(random.integers(1, 33))
        laid = padded(pixels, 40, outside)
        plane = bits.lay(film_of(pixels), outside=outside)
        got = np.unpackbits(bits.erode(plane.words, width).byteswap().view(np.uint8), axis=1)
        first = plane.margin - 2  # corners and pixels a little beyond the film too
        rows, columns = (side + 4 for side in pixels.shape)
        inner = got[first : first + rows, first : first + columns].view(np.bool_)
        assert np.array_equal(inner, fitting(laid, width)[38 : 38 + rows, 38 : 38 + columns])


def test_opening_is_what_discs_that_fit_cover():
    for pixels, random in images(seed=8):
        width = int(random.integers(1, 33))
        plane = bits.lay(film_of(pixels), outside=False)
        laid = padded(pixels, 20, False)
        expected = covered(fitting(laid, width), width)[20:-20, 20:-20]
        assert np.array_equal(unpacked(plane, bits.opened(plane, width)), expected)


def test_odd_discs_also_agree_with_distances_inside_the_set():
    for pixels, random in images(seed=9):
        width = 2 * int(random.integers(0, 15)) + 1
        plane = bits.lay(film_of(pixels), outside=False)
        room = ndimage.distance_transform_edt(padded(pixels, 1, False))[1:-1, 1:-1]
        assert np.array_equal(unpacked(plane, bits.erode(plane.words, width)), room > width / 2)


@pytest.mark.parametrize("outside", [False, True])
def test_bands_do_not_show(monkeypatch, outside):
    random = np.random.default_rng(11)
    monkeypatch.setattr(film, "_BAND", 1)
    for _ in range(IMAGES // 5):
        pixels = random.random((int(random.integers(20, 120)), 67)) < random.choice([0.02, 0.9])
        radius = float(random.uniform(0, 6))
        whole = film_of(pixels)
        got = [
            unpacked(plane, bits.dilate(plane.words, radius))
            for rows in whole.bands(math.ceil(radius))
            for plane in [bits.lay(whole, rows, outside=outside, margin=radius)]
        ]
        assert len(got) > 1
        expected = near(padded(pixels, 8, outside), radius)[8:-8, 8:-8]
        assert np.array_equal(np.vstack(got), expected)


def test_laying_and_packing_give_the_film_back():
    for pixels, random in images(seed=12):
        whole = film_of(pixels)
        top = int(random.integers(0, len(pixels)))
        rows = slice(top, int(random.integers(top, len(pixels))) + 1)
        for outside in (False, True):
            plane = bits.lay(whole, rows, outside=outside, margin=float(random.integers(1, 200)))
            assert np.array_equal(plane.packed(plane.words), whole.bits[rows])
            inverse = bits.lay(whole, rows, outside=outside, inverse=True)
            assert np.array_equal(inverse.packed(~inverse.words), whole.bits[rows])
            edge = bits.lay(whole, rows, outside=outside)
            laid = np.unpackbits(edge.words.byteswap().view(np.uint8), axis=1).view(np.bool_)
            known = padded(pixels, edge.margin, outside)[rows.start : rows.stop + 2 * edge.margin]
            assert np.array_equal(laid[:, : known.shape[1]], known)
            assert (laid[:, known.shape[1] :] == outside).all()


def test_counting():
    for pixels, _ in images(seed=13):
        whole = film_of(pixels)
        assert bits.count_film(whole) == pixels.sum()
        plane = bits.lay(whole, outside=True)
        inner = plane.inner(plane.words)
        outside = inner.shape[1] * 64 * len(inner) - pixels.size
        assert bits.count(inner) == pixels.sum() + outside


def test_crossings_are_pairs_that_differ(monkeypatch):
    monkeypatch.setattr(film, "_BAND", 300)
    for pixels, random in images(seed=14):
        across, down = int(random.integers(-5, 6)), int(random.integers(0, 5))
        rows, columns = pixels.shape
        expected = sum(
            bool(pixels[row, column] != pixels[row + down, column + across])
            for row in range(rows - down)
            for column in range(max(-across, 0), min(columns, columns - across))
        )
        whole = film_of(pixels)
        got = 0
        for band in whole.bands():
            plane = bits.lay(whole, band, outside=False, margin=4)
            got += bits.crossings(plane, rows - band.start, across, down)
        assert got == expected
