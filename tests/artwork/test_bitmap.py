import io
import itertools
import math
import struct
import zlib

import imagecodecs
import numpy as np
import pytest
import tifffile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from etchcalc.artwork import bitmap, fax, read, strips
from etchcalc.artwork.source import Asked
from etchcalc.core.faults import BadInput

DPI = 600
FINE = DPI / 25.4
RANDOM = np.random.default_rng(7)


def blots(rows=150, columns=101, seed=5):
    """Rows of runs of all lengths, some of them the same as the row above."""
    random = np.random.default_rng(seed)
    black = np.cumsum(random.random((rows, columns)) < 0.08, axis=1) % 2 == 1
    black[1::3] = black[::3][: len(black[1::3])]
    return black


BLACK = blots()


def asked(path, **more):
    return Asked(path, 10.0, 10.0, **more)


def black_in(path, **more):
    """Read a whole file on its own grid, one bool a pixel."""
    source = bitmap.opened(asked(path, **more))
    columns, rows = (round(side * source.resolution) for side in (source.width, source.height))
    bits = source.rendered(0.0, 0.0, source.resolution, columns, rows)
    return np.unpackbits(bits, axis=1, count=columns).astype(bool)


def tiff(folder, pixels, name="film.tif", **how):
    path = folder / name
    how = {"resolution": (DPI, DPI), "resolutionunit": "inch", "metadata": None, **how}
    tifffile.imwrite(path, pixels, **how)
    return path


def by_pillow(folder, black, name="film.tif", white_is_nought=False, **how):
    """Write by another library than the one that reads; True is black."""
    path = folder / name
    if white_is_nought:
        how["tiffinfo"] = {262: 0, **how.get("tiffinfo", {})}
    Image.fromarray(~black).save(path, dpi=(DPI, DPI), **how)
    return path


def refusal(path, **more):
    with pytest.raises(BadInput) as caught:
        source = bitmap.opened(asked(path, **more))
        source.rendered(0.0, 0.0, source.resolution, 10, 10)
    assert "\n" not in str(caught.value)
    return str(caught.value)


@pytest.mark.parametrize("columns", [1, 7, 8, 101, 1700, 6000])
@pytest.mark.parametrize("compression", ["group4", "group3", "tiff_ccitt", "mixed group3"])
def test_fax_codes_against_libtiff(tmp_path, columns, compression):
    more = {"tiffinfo": {292: 1}} if compression.startswith("mixed") else {}
    for black in (blots(60, columns), RANDOM.random((9, columns)) < 0.5):
        path = by_pillow(tmp_path, black, compression=compression.split()[-1], **more)
        assert np.array_equal(black_in(path), black)


def test_every_run_of_the_fax_codes(tmp_path):
    # A row for each length of a run, of either colour, written by libtiff.
    columns = 2700
    length = np.arange(2 * columns) % columns
    runs = np.arange(columns) < length[:, np.newaxis]
    runs[columns:] ^= True
    for compression in ("tiff_ccitt", "group4"):
        path = by_pillow(tmp_path, runs[::3], compression=compression)
        assert np.array_equal(black_in(path), runs[::3])


def test_fax_rows_put_together_by_hand():
    # T.6: two runs (001) of 4 white (1011) and no black (0000110111), then no change (1) as far as
    # the end; in the second row that black of no length is no change: 1 for all of it.
    out = np.zeros((2, 1), np.uint8)
    data = int("001" + "1011" + "0000110111" + "1" + "1" + "0" * 5, 2).to_bytes(3, "big")
    assert fax.unpack(data, 8, out, fax.GROUP_4) == 2
    assert not out.any()
    # T.4: 2 white (0111), 1 black (010), 3 white (1000), of which the last bits are missing.
    out = np.zeros((1, 1), np.uint8)
    assert fax.unpack(bytes([0b01110101]), 6, out, fax.HUFFMAN) == 0
    assert fax.unpack(bytes([0b01110101, 0]), 6, out, fax.HUFFMAN) == 1
    assert list(out[0]) == [0b00100000]


def test_no_fax_code_begins_another():
    for colour in (fax._WHITE, fax._BLACK):
        codes = (colour + fax._LONG).split()
        assert len(codes) == 64 + 27 + 13
        assert not any(a != b and b.startswith(a) for a in codes for b in codes)


@pytest.mark.parametrize("compression", [None, "packbits", "lzw", "zlib", "adobe_deflate"])
@pytest.mark.parametrize("photometric", ["miniswhite", "minisblack"])
@pytest.mark.parametrize("rows", [1, 64, 10_000])
def test_one_bit_comes_out_bit_for_bit(tmp_path, compression, photometric, rows):
    one = BLACK if photometric == "miniswhite" else ~BLACK
    if compression is None or rows == 64:
        path = tiff(tmp_path, one, photometric=photometric, rowsperstrip=rows, compression=compression)  # fmt: skip
        assert np.array_equal(black_in(path), BLACK)


def test_both_libraries_and_both_senses_agree(tmp_path):
    for compression in ("raw", "packbits", "tiff_lzw", "tiff_adobe_deflate", "group4"):
        path = by_pillow(tmp_path, BLACK, compression=compression)
        assert np.array_equal(black_in(path), BLACK), compression


def test_tiles(tmp_path):
    path = tiff(tmp_path, BLACK, photometric="miniswhite", tile=(32, 48), compression="zlib")
    assert np.array_equal(black_in(path), BLACK)
    grey = np.where(BLACK, 10, 240).astype(np.uint8)
    path = tiff(tmp_path, grey, photometric="minisblack", tile=(32, 48), compression="zlib")
    assert np.array_equal(black_in(path), BLACK)


@pytest.mark.parametrize("compression", ["raw", "packbits", "group4", "tiff_lzw"])
def test_lowest_bit_first(tmp_path, compression):
    path = by_pillow(tmp_path, BLACK, compression=compression)
    with tifffile.TiffFile(path) as whole:
        page = whole.pages.first
        order, parts = page.fillorder, zip(page.dataoffsets, page.databytecounts, strict=True)
        data = bytearray(path.read_bytes())
        for offset, count in parts:
            data[offset : offset + count] = imagecodecs.bitorder_decode(
                bytes(data[offset : offset + count])
            )
    assert order == 1
    path.write_bytes(with_tag(bytes(data), 266, 2))
    assert np.array_equal(black_in(path), BLACK)


def with_tag(data, code, value):
    """Return a small little-endian TIFF with one more tag (SHORT), its list moved to the end."""
    start = struct.unpack_from("<I", data, 4)[0]
    many = struct.unpack_from("<H", data, start)[0]
    entries = [data[start + 2 + 12 * i :][:12] for i in range(many)]
    entries = [e for e in entries if struct.unpack_from("<H", e)[0] != code]
    entries.append(struct.pack("<HHIHH", code, 3, 1, value, 0))
    entries.sort(key=lambda entry: struct.unpack_from("<H", entry)[0])
    data += b"\0" * (len(data) % 2)
    tail = struct.pack("<H", len(entries)) + b"".join(entries) + b"\0\0\0\0"
    return data[:4] + struct.pack("<I", len(data)) + data[8:] + tail


def test_large_uncompressed_strip_is_read_in_parts(tmp_path, monkeypatch):
    monkeypatch.setattr(strips, "_BAND", 100)
    path = tiff(tmp_path, BLACK, photometric="miniswhite", rowsperstrip=150)
    assert np.array_equal(black_in(path), BLACK)


@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
@pytest.mark.parametrize("how", ["plain", "lzw", "predictor", "big-endian"])
def test_greys_are_cut_at_half(tmp_path, kind, how):
    most = np.iinfo(kind).max
    grey = np.where(BLACK, most * 0.1, most * 0.9).astype(kind)
    grey[0, 0], grey[0, 1] = most * 0.49, most * 0.51
    more = {
        "plain": {},
        "lzw": {"compression": "lzw"},
        "predictor": {"compression": "zlib", "predictor": True},
        "big-endian": {"byteorder": ">"},
    }[how]
    path = tiff(tmp_path, grey, photometric="minisblack", rowsperstrip=16, **more)
    got = black_in(path)
    assert np.array_equal(got[1:], BLACK[1:])
    assert list(got[0, :2]) == [True, False]
    note = bitmap.opened(asked(path)).notes[0]
    assert f"{2 / grey.size:.2%}" in note
    turned = tiff(tmp_path, most - grey, photometric="miniswhite")
    assert np.array_equal(black_in(turned), got)


def test_colours_palette_and_what_is_seen_through(tmp_path):
    colours = np.where(BLACK[..., None], (0, 0, 120), (255, 255, 0)).astype(np.uint8)
    colours[0, 0], colours[0, 1] = (0, 255, 0), (255, 0, 0)  # BT.601: 59 % and 30 % of full light
    got = black_in(tiff(tmp_path, colours, photometric="rgb"))
    assert np.array_equal(got[1:], BLACK[1:])
    assert list(got[0, :2]) == [False, True]
    clear = np.zeros((*BLACK.shape, 4), np.uint8)  # black all over, seen where it is wanted
    clear[..., 3] = np.where(BLACK, 255, 0)
    clear[0, 0] = (80, 80, 80, 200)  # 80 + 55 of 255; where 80 is yet to be weighed, 63 + 55
    for kind, black in (("unassalpha", True), ("assocalpha", False)):
        got = black_in(tiff(tmp_path, clear, photometric="rgb", extrasamples=[kind]))
        assert np.array_equal(got[1:], BLACK[1:])
        assert got[0, 0] == black
    table = np.zeros((3, 256), np.uint16)
    table[:, 3] = 65535
    index = np.where(BLACK, 9, 3).astype(np.uint8)
    assert np.array_equal(black_in(tiff(tmp_path, index, photometric="palette", colormap=table)), BLACK)  # fmt: skip


def test_jpeg_in_a_tiff_is_read_as_grey(tmp_path):
    black = np.kron(blots(8, 8), np.ones((16, 16), bool))
    grey = np.where(black, 0, 255).astype(np.uint8)
    path = tiff(tmp_path, grey, photometric="minisblack", compression="jpeg", rowsperstrip=64)
    assert np.array_equal(black_in(path), black)


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGB", "RGBA", "LA", "I;16"])
def test_png(tmp_path, mode):
    light = Image.fromarray(np.where(BLACK, 0, 255).astype(np.uint8))
    if mode == "I;16":
        image = Image.fromarray(np.where(BLACK, 0, 65535).astype(np.uint16))
    elif mode in ("RGBA", "LA"):
        image = Image.new(mode, light.size)
        image.putalpha(Image.fromarray(np.where(BLACK, 255, 0).astype(np.uint8)))
    else:
        image = light.convert(mode)
    path = tmp_path / "film.png"
    image.save(path, dpi=(DPI, DPI))
    source = bitmap.opened(asked(path))
    assert np.array_equal(black_in(path), BLACK)
    assert source.resolution == DPI / 25.4  # though it says 23622 pixels a metre
    assert bool(source.notes) == (mode != "1")


def test_photograph_is_refused(tmp_path):
    grey = RANDOM.integers(0, 256, (80, 80), dtype=np.uint8)
    assert "photograph" in refusal(tiff(tmp_path, grey, photometric="minisblack"))
    path = tmp_path / "film.png"
    Image.fromarray(grey).save(path, dpi=(300, 300))
    assert "photograph" in refusal(path)


@pytest.mark.parametrize("dpi", [72, 300, 600, 1000, 1200, 2400, 2540, 3048, 4000])
def test_whole_dpi_in_a_png(tmp_path, dpi):
    for metre in {math.floor(dpi / 0.0254), round(dpi / 0.0254)}:
        path = tmp_path / "film.png"
        path.write_bytes(png(metre, metre))
        assert bitmap.opened(asked(path)).resolution * 25.4 == pytest.approx(dpi, rel=1e-12)


def png(across, down, columns=4, rows=4, content=None, unit=1):
    """Return a PNG put together by hand, one bit a pixel, all black."""
    content = zlib.compress(bytes((1 + (columns + 7) // 8) * rows)) if content is None else content

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))  # fmt: skip

    head = struct.pack(">IIBBBBB", columns, rows, 1, 0, 0, 0, 0)
    scale = chunk(b"pHYs", struct.pack(">IIB", across, down, unit)) if across else b""
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + scale + chunk(b"IDAT", content) + chunk(b"IEND", b"")  # fmt: skip


@pytest.mark.parametrize(
    ("resolution", "unit", "dpi"),
    [((2400, 2400), "inch", 2400), (((94488, 100),) * 2, "centimeter", 2400),
     (((47, 1),) * 2, "centimeter", 119.38), (((24003, 10),) * 2, "inch", 2400.3)],
)  # fmt: skip
def test_resolution_of_a_tiff(tmp_path, resolution, unit, dpi):
    path = tiff(tmp_path, BLACK, resolution=resolution, resolutionunit=unit)
    assert bitmap.opened(asked(path)).resolution == pytest.approx(dpi / 25.4, rel=1e-9)


def test_resolution_absent_is_asked_for_and_a_wrong_one_can_be_put_right(tmp_path):
    none = tmp_path / "none.png"
    none.write_bytes(png(0, 0))
    aspect = tmp_path / "aspect.png"
    aspect.write_bytes(png(2, 2, unit=0))
    unit = tiff(tmp_path, BLACK, resolution=(1, 1), resolutionunit="none")
    for path in (none, aspect, unit):
        assert refusal(path).endswith('scan_resolution = "2400 dpi".')
        source = bitmap.opened(asked(path, scanned=2400 / 25.4))
        assert (source.resolution, source.sized, source.notes) == (2400 / 25.4, True, ())
        scaled = bitmap.opened(asked(path, placed="scaled to the plate"))
        assert (scaled.width, scaled.sized) == (10.0, False)
    uneven = tiff(tmp_path, BLACK, resolution=(600, 1200))
    assert "600 dpi across and 1200 dpi down" in refusal(uneven)
    screen = tiff(tmp_path, BLACK, resolution=(72, 72))
    source = bitmap.opened(asked(screen, scanned=600 / 25.4))
    assert source.width == pytest.approx(101 / 600 * 25.4)
    assert "72 dpi" in source.notes[0]


@given(st.integers(-30, 120), st.integers(-30, 170), st.integers(1, 140), st.integers(1, 60))
def test_any_part_on_the_own_grid_is_the_files_own_bits(left, top, columns, rows):
    wide = np.zeros((400, 400), bool)
    wide[100:250, 100:201] = BLACK
    want = wide[100 + top :, 100 + left :][:rows, :columns]
    pixels = bitmap.Pixels(101, 150, (DPI, DPI), False, lambda: (np.packbits(BLACK, axis=1), ""))
    source = bitmap.Bitmap(pixels, bitmap._Scale(FINE, True, ""))
    got = source.rendered(left / FINE, top / FINE, FINE, columns, rows)
    assert np.array_equal(np.unpackbits(got, axis=1, count=columns).astype(bool)[: len(want)], want)


@given(st.just(1.0) | st.floats(0.2, 4.0), st.floats(-1.0, 3.0), st.floats(-1.0, 3.0))
def test_another_grid_takes_the_pixel_in_which_each_centre_lies(scale, left, top):
    pixels = bitmap.Pixels(101, 150, (DPI, DPI), False, lambda: (np.packbits(BLACK, axis=1), ""))
    source = bitmap.Bitmap(pixels, bitmap._Scale(FINE, True, ""))
    bits = source.rendered(left, top, FINE * scale, 60, 50)
    got = np.unpackbits(bits, axis=1, count=60).astype(bool)
    for row in range(0, 50, 7):
        for column in range(0, 60, 7):
            across = (left + (column + 0.5) / FINE / scale) * FINE
            down = (top + (row + 0.5) / FINE / scale) * FINE
            if min(abs(across - round(across)), abs(down - round(down))) < 1e-5:
                continue
            inside = 0 <= across < 101 and 0 <= down < 150
            assert got[row, column] == (inside and BLACK[int(down), int(across)])


@pytest.mark.parametrize("dpi", [300, 600, 1200])
@pytest.mark.parametrize("ending", ["tif", "png"])
def test_areas_and_lengths_of_edge_by_closed_forms(tmp_path, dpi, ending):
    # A ring 2 to 4 mm in radius; a comb of ten teeth 0.5 x 4 mm; a Koch curve of the third order.
    side = 10.0
    pixels = round(side * dpi / 25.4)
    place = (np.arange(pixels) + 0.5) / dpi * 25.4
    across, down = np.meshgrid(place, place)
    from_middle = np.hypot(across - 5, down - 5)
    shapes = [
        ((from_middle > 2) & (from_middle < 4), math.pi * (16 - 4), 2 * math.pi * 6),
        ((across % 1 < 0.5) & (np.abs(down - 5) < 2) & (across < 10), 10 * 0.5 * 4, 10 * 9),
    ]
    corners = koch(3, 8.0)
    # Area of the snowflake of side s after n steps: s²√3/4 (1 + 3/5 (1 - (4/9)^n)), edge 3s (4/3)^n.
    area = 8.0**2 * math.sqrt(3) / 4 * (1 + 0.6 * (1 - (4 / 9) ** 3))
    shapes.append((inside(corners, across, down), area, 24 * (4 / 3) ** 3))
    for black, area, edge in shapes:
        if ending == "tif":
            path = tiff(tmp_path, black, photometric="miniswhite", resolution=(dpi, dpi))
        else:
            path = tmp_path / "film.png"
            Image.fromarray(~black).save(path, dpi=(dpi, dpi))
        film, how = read.film(Asked(path, side, side))
        assert how.kind == {"tif": "TIFF", "png": "PNG"}[ending]
        assert film.unpacked().sum() / film.resolution**2 == pytest.approx(
            area, abs=edge * 25.4 / dpi / 2
        )


def koch(order, side):
    turn = np.exp(1j * np.pi / 3)
    points = side * np.array([0, turn, 1, 0])
    for _ in range(order):
        step = np.diff(points) / 3
        start = points[:-1]
        # Clockwise as it is listed, so that the peaks point outwards.
        points = np.append(
            np.stack([start, start + step, start + step + step * turn, start + 2 * step], 1), 0
        )
    return points + (5 - side / 2) + 1j * (5 - side * math.sqrt(3) / 6)


def inside(corners, across, down):
    """Whether each place lies in a polygon: the parity of its edges to the right of it."""
    found = np.zeros(across.shape, bool)
    for a, b in itertools.pairwise(corners):
        if a.imag != b.imag:
            crossed = (a.imag > down[:, :1]) != (b.imag > down[:, :1])
            found ^= crossed & (
                across < a.real + (down - a.imag) * (b.real - a.real) / (b.imag - a.imag)
            )
    return found


def test_pages_tables_and_kinds_that_are_refused(tmp_path):
    both = tmp_path / "two.tif"
    with tifffile.TiffWriter(both) as writer:
        for _ in range(2):
            writer.write(BLACK, resolution=(DPI, DPI), metadata=None)
    assert "2 pages" in refusal(both)
    inks = np.zeros((9, 9, 4), np.uint8)
    assert "printing inks" in refusal(tiff(tmp_path, inks, photometric="separated"))
    real = np.zeros((9, 9), np.float32)
    assert "not accepted" in refusal(tiff(tmp_path, real, photometric="minisblack"))
    apart = np.zeros((3, 9, 9), np.uint8)
    assert "apart" in refusal(tiff(tmp_path, apart, photometric="rgb", planarconfig="separate"))
    modern = tiff(tmp_path, np.zeros((9, 9), np.uint8), compression="zstd")
    assert "ZSTD" in refusal(modern)
    assert "cannot be opened" in refusal(tmp_path / "absent.tif")
    nothing = tmp_path / "film.png"
    nothing.write_bytes(b"\x89PNG\r\n\x1a\n")
    assert "damaged" in refusal(nothing)
    moving = tmp_path / "moving.png"
    frames = [Image.fromarray(BLACK), Image.fromarray(~BLACK)]
    frames[0].save(moving, save_all=True, append_images=frames[1:], dpi=(300, 300))
    assert "2 pictures" in refusal(moving)


def changed(data, code, value):
    """Return a little-endian TIFF with the value of a tag of the first page exchanged."""
    start = struct.unpack_from("<I", data, 4)[0]
    for i in range(struct.unpack_from("<H", data, start)[0]):
        at = start + 2 + 12 * i
        if struct.unpack_from("<H", data, at)[0] == code:
            return data[: at + 2] + struct.pack("<HII", 4, 1, value) + data[at + 12 :]
    raise AssertionError(code)


@pytest.mark.parametrize("compression", ["group4", "packbits", "raw", "tiff_lzw"])
def test_damage_gets_one_sentence(tmp_path, compression):
    path = by_pillow(tmp_path, BLACK, compression=compression)
    data = path.read_bytes()
    for code, value in (
        (256, 0), (257, 0), (256, 2**32 - 1), (257, 2**32 - 1), (257, 10**6), (273, 10**8), (273, 0),
        (279, 10**8), (278, 3), (259, 99), (262, 77),
    ):  # fmt: skip
        path.write_bytes(changed(data, code, value))
        said = refusal(path)
        assert value != 10**8 or "beyond the end" in said
    for code, value in ((277, 5), (258, 3), (284, 7), (317, 9)):
        path.write_bytes(with_tag(data, code, value))
        if code in (277, 258):
            refusal(path)
        else:  # means nothing for one bit a pixel
            assert np.array_equal(black_in(path), BLACK)
    path.write_bytes(changed(data, 279, 40))  # the strip ends early
    assert "cut short or damaged" in refusal(path)
    path.write_bytes(data[:-2])
    refusal(path)


def test_damaged_fax_strip_names_its_row(tmp_path):
    path = by_pillow(tmp_path, np.ones_like(BLACK), compression="group4")
    with tifffile.TiffFile(path) as whole:
        offset = whole.pages.first.dataoffsets[0]
    data = bytearray(path.read_bytes())
    # Rows without a change take a bit each: 8 bytes of 64 rows stay, then nothing that is a code.
    data[offset + 8 : offset + 12] = bytes(4)
    path.write_bytes(bytes(data))
    assert "from row 65 on" in refusal(path)


def test_bombs(tmp_path):
    huge = tmp_path / "film.png"
    huge.write_bytes(png(9449, 9449, 30_000, 30_000, b""))
    assert "400 million" in refusal(huge)
    path = tiff(tmp_path, np.zeros((64, 64), bool), photometric="miniswhite", compression="zlib")
    with tifffile.TiffFile(path) as whole:
        page = whole.pages.first
        count = page.tags[279].valueoffset
    data = path.read_bytes()
    bomb = zlib.compress(bytes(10**7), 9)
    moved = changed(changed(data, 273, len(data)), 279, len(bomb))
    assert count
    path.write_bytes(moved + bomb)
    assert "cut short or damaged" in refusal(path)


def test_cut_short_png(tmp_path):
    path = tmp_path / "film.png"
    Image.fromarray(RANDOM.random((300, 300)) < 0.5).save(path, dpi=(300, 300))
    data = path.read_bytes()
    for part in (len(data) // 2, len(data) - 30, 60, 20):
        path.write_bytes(data[:part])
        assert "damaged" in refusal(path)


def samples():
    """Small files of most kinds, to be damaged."""
    found, grey = [], np.where(BLACK, 20, 230).astype(np.uint8)
    for compression in ("group4", "group3", "tiff_ccitt", "packbits", "tiff_lzw", "raw"):
        out = io.BytesIO()
        Image.fromarray(~BLACK).save(out, "TIFF", compression=compression, dpi=(DPI, DPI))
        found.append(out.getvalue())
    for how in ({"compression": "zlib", "tile": (32, 48)}, {"compression": "jpeg"}, {}):
        out = io.BytesIO()
        tifffile.imwrite(out, grey, photometric="minisblack", metadata=None,
                         resolution=(DPI, DPI), **how)  # fmt: skip
        found.append(out.getvalue())
    for image in (Image.fromarray(~BLACK), Image.fromarray(grey)):
        out = io.BytesIO()
        image.save(out, "PNG", dpi=(DPI, DPI))
        found.append(out.getvalue())
    return found


SAMPLES = samples()


@settings(
    max_examples=400, deadline=2000, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.sampled_from(SAMPLES),
    st.lists(st.tuples(st.floats(0, 1, exclude_max=True), st.integers(0, 255)), max_size=8),
    st.floats(0.3, 1),
)
def test_a_damaged_file_is_read_or_refused(tmp_path, data, changes, kept):
    damaged = bytearray(data)
    for place, value in changes:
        damaged[int(place * len(damaged))] = value
    path = tmp_path / "film"
    path.write_bytes(bytes(damaged[: int(kept * len(damaged))] if len(changes) % 2 else damaged))
    try:
        source = bitmap.opened(asked(path, scanned=FINE))
        assert source.rendered(0.0, 0.0, FINE, 101, 150).shape == (150, 13)
        assert isinstance(source.notes, tuple)
    except BadInput as fault:
        assert "\n" not in str(fault) and len(str(fault)) < 400
