"""The pieces of a film against scipy's labels, and against what `around` means."""

import numpy as np
import pytest
from scipy import ndimage

from etchcalc.artwork import pieces as module
from etchcalc.artwork.film import film_of
from etchcalc.artwork.pieces import pieces
from etchcalc.core.faults import BadInput

CORNERS, SIDES = np.ones((3, 3)), ndimage.generate_binary_structure(2, 1)


def images(count, seed):
    random = np.random.default_rng(seed)
    for _ in range(count):
        rows, columns = int(random.integers(1, 40)), int(random.integers(1, 80))
        pixels = random.random((rows, columns)) < random.choice([0.02, 0.3, 0.5, 0.7, 0.98])
        if random.random() < 0.5:  # in blocks, so that pieces lie in pieces
            pixels = np.kron(pixels[:8, :16], np.ones((3, 5))) > 0
        yield pixels


def labelled(pixels):
    """Return a label for each pixel by scipy: etched over corners, kept over sides."""
    etched, many = ndimage.label(pixels, CORNERS)
    kept, _ = ndimage.label(~pixels, SIDES)
    return np.where(pixels, etched, kept + many)


def test_pieces_are_scipys():
    for pixels in images(400, 1):
        labels = labelled(pixels)
        found = pieces(film_of(pixels))
        assert len(found.area) == len(np.unique(labels))
        met = list(dict.fromkeys(labels.ravel()))  # in the order in which a reader meets them
        for piece, label in enumerate(met):
            here = labels == label
            down, across = np.nonzero(here)
            assert found.area[piece] == here.sum()
            assert tuple(found.first[piece]) == (down[0], across[0])
            box = (down.min(), across.min(), down.max() + 1, across.max() + 1)
            assert tuple(found.box[piece]) == box
            assert found.etched[piece] == pixels[down[0], across[0]]
            reaches = min(box[:2]) == 0 or box[2] == len(pixels) or box[3] == pixels.shape[1]
            assert found.reaches_edge[piece] == reaches


def test_around_is_the_only_way_out():
    # What lies round a piece that does not reach the edge: with that taken for a wall, the
    # piece cannot be left (kept and etched cross no corners of each other).
    tried = 0
    for pixels in images(150, 2):
        labels = labelled(pixels)
        met = list(dict.fromkeys(labels.ravel()))
        found = pieces(film_of(pixels))
        for piece in np.flatnonzero(~found.reaches_edge):
            around = found.around[piece]
            assert found.etched[around] != found.etched[piece]
            structure = CORNERS if found.etched[piece] else SIDES
            inside, _ = ndimage.label(labels != met[around], structure)
            down, across = np.nonzero(inside == inside[tuple(found.first[piece])])
            assert min(down.min(), across.min()) > 0
            assert down.max() < len(pixels) - 1
            assert across.max() < pixels.shape[1] - 1
            tried += 1
    assert tried > 300


def test_around_touches_the_piece():
    for pixels in images(100, 3):
        labels = labelled(pixels)
        met = list(dict.fromkeys(labels.ravel()))
        found = pieces(film_of(pixels))
        for piece in np.flatnonzero(found.around >= 0):
            near = ndimage.binary_dilation(labels == met[piece], CORNERS)
            assert (labels[near] == met[found.around[piece]]).any()


def test_the_piece_at_each_point():
    random = np.random.default_rng(4)
    for pixels in images(150, 4):
        labels = labelled(pixels)
        met = list(dict.fromkeys(labels.ravel()))
        rows, columns = pixels.shape
        points = np.stack([random.integers(rows, size=30), random.integers(columns, size=30)], 1)
        points = points[np.argsort(points[:, 0], kind="stable")]  # by rows; columns as they come
        found = pieces(film_of(pixels), points)
        assert [met[piece] for piece in found.at] == [labels[tuple(point)] for point in points]


def test_islands_and_counters():
    pixels = np.zeros((60, 90), bool)
    pixels[10:50, 10:60] = True  # a field
    pixels[20:40, 20:40] = False  # a raised letter in it
    pixels[25:35, 25:35] = True  # and its counter
    pixels[28:31, 28:31] = False  # metal within the counter
    pixels[5:7, 70:90] = True  # a line that runs off
    found = pieces(film_of(pixels))
    # in the order of the rows: the plate, the line, the field, letter, counter, metal
    assert list(found.etched) == [False, True, True, False, True, False]
    assert list(found.island) == [False, False, False, True, False, True]
    assert list(found.counter) == [False, False, False, False, True, False]
    assert list(found.reaches_edge) == [True, True, False, False, False, False]
    assert list(found.around) == [-1, 0, 0, 2, 3, 4]
    assert list(found.area) == [60 * 90 - 40 - 2000, 40, 2000 - 400, 400 - 100, 100 - 9, 9]


def test_etched_pixels_hang_together_over_corners_and_kept_ones_do_not():
    pixels = np.eye(6, dtype=bool)
    found = pieces(film_of(pixels))
    assert list(found.etched) == [True, False, False]
    assert list(found.area) == [6, 15, 15]


def test_more_pieces_than_there_was_room_for(monkeypatch):
    monkeypatch.setattr(module, "_START", 2)
    for pixels in images(30, 6):
        assert sum(pieces(film_of(pixels)).area) == pixels.size


def test_noise_is_refused(monkeypatch):
    dots = np.zeros((21, 40), bool)
    dots[1::2, 1::2] = True  # two hundred dots on one ground
    monkeypatch.setattr(module, "MOST", 201)
    assert len(pieces(film_of(dots)).area) == 201
    monkeypatch.setattr(module, "MOST", 200)
    with pytest.raises(BadInput, match="specks"):
        pieces(film_of(dots))
