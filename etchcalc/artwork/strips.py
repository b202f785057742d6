"""The pixels of a TIFF, strip by strip or tile by tile, so that memory stays small."""

import logging
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import imagecodecs
import numpy as np
import numpy.typing as npt
import tifffile

from etchcalc.artwork import fax
from etchcalc.artwork.film import Bits, blank
from etchcalc.artwork.read import LARGEST
from etchcalc.artwork.shades import Pixels, Shades
from etchcalc.core.faults import BadInput

logging.getLogger("tifffile").addHandler(logging.NullHandler())  # what is wrong is said here

_AGAIN = "save it again as a TIFF of one bit a pixel with one page"
_LARGEST = 400_000_000  # bytes of a strip as it is unpacked
_BAND = 4_000_000  # bytes of an uncompressed strip, or pixels, looked at at a time
_PLAIN, _JPEG = 1, 7
_FAX = (fax.HUFFMAN, fax.GROUP_3, fax.GROUP_4)
_UNPACK = {
    5: imagecodecs.lzw_decode,
    8: imagecodecs.zlib_decode,
    32946: imagecodecs.zlib_decode,
    32773: imagecodecs.packbits_decode,
}
_WHITE_IS_NOUGHT, _BLACK_IS_NOUGHT, _RGB, _PALETTE, _YCBCR = 0, 1, 2, 3, 6
_LATER = (292, 320, 347)  # options of Group 3, palette, tables of JPEG
_COLOURS = {5: "printing inks (CMYK)", 4: "a mask", 8: "Lab", 9: "Lab", 10: "Lab"}


class _Segment(NamedTuple):
    """A strip or tile: where it lies in the file and in the picture."""

    number: int
    start: int
    length: int  # bytes
    top: int
    left: int
    rows: int  # that it holds of the picture


def opened(path: Path) -> Pixels:
    """Return what a TIFF holds, refusing in one sentence what cannot be read."""
    page: Any
    with path.open("rb") as file:
        try:
            # A file without a name: nothing beside it can be looked for.
            with tifffile.TiffFile(file, name="") as whole:
                page = whole.pages.first
                pages = len(whole.pages)
                many = _checked(path.name, page, pages, file.seek(0, 2))
                dpi = _dpi(page)
                shaded = page.bitspersample != 1 or page.photometric == _PALETTE
                _read_ahead(page, shaded)
        except BadInput:
            raise
        except Exception as fault:  # damaged tags raise whatever their reader stumbles on
            raise _damaged(path.name) from fault
    columns, rows = page.imagewidth, page.imagelength
    unpacked = partial(_shades if shaded else _bits, path, page, many)
    return Pixels(columns, rows, dpi, shaded, unpacked)


def _read_ahead(page: Any, shaded: bool) -> None:
    """Read what is else only read when it is asked for, which is after the file is closed."""
    for code in _LATER:
        page.tags.valueof(code)
    if shaded:
        _ = page.decode


def _checked(name: str, page: Any, pages: int, size: int) -> list[_Segment]:
    """Check a page's tags and return its segments."""
    columns, rows, bits = page.imagewidth, page.imagelength, page.bitspersample
    if pages != 1:
        raise BadInput(
            f"The TIFF {name} has {pages} pages; accepted is one: save the one that is the plate."
        )
    if not (isinstance(columns, int) and isinstance(rows, int) and columns > 0 and rows > 0):
        raise BadInput(f"The TIFF {name} has no pixels: {_AGAIN}.")
    if page.compression not in (_PLAIN, _JPEG, *_FAX, *_UNPACK):
        kind = getattr(page.compression, "name", page.compression)
        raise BadInput(
            f"The TIFF {name} is compressed in a way that is not read ({kind}); accepted are Group "
            f"3 and 4, LZW, PackBits, Deflate, JPEG and none: {_AGAIN}."
        )
    _check_colours(name, page)
    if page.compression in _FAX and (bits != 1 or page.photometric == _PALETTE):
        raise _damaged(name)
    if page.photometric == _PALETTE and np.shape(page.colormap) != (3, 2**bits):
        raise _damaged(name)
    if page.compression == _PLAIN and not page.is_tiled and columns * rows <= LARGEST:
        _cut_up(page)
    tiled = bool(page.is_tiled)
    across = page.tilewidth if tiled else columns
    deep = page.tilelength if tiled else min(page.rowsperstrip or rows, rows)
    if not (isinstance(across, int) and isinstance(deep, int) and across > 0 and deep > 0):
        raise _damaged(name)
    if not tiled:
        page.rowsperstrip = deep
    if tiled and across % 8:
        raise BadInput(
            f"The TIFF {name} has tiles {across} pixels wide, not whole bytes: {_AGAIN}."
        )
    row = (across * page.samplesperpixel * bits + 7) // 8
    if page.compression not in _FAX and max(row, across * page.samplesperpixel) * deep > _LARGEST:
        raise BadInput(
            f"The TIFF {name} has strips of {deep:,} rows, too large to unpack: save it in smaller "
            f"strips, without compression or with that of Group 4."
        )
    return list(_segments(name, page, across, deep, size))


def _check_colours(name: str, page: Any) -> None:
    """Refuse pixels that are neither one bit nor shades that can be cut."""
    bits, samples, colours = page.bitspersample, page.samplesperpixel, page.photometric
    if page.planarconfig == 2 and samples > 1:
        raise BadInput(f"The TIFF {name} keeps each of its colours apart: {_AGAIN}.")
    known = {_WHITE_IS_NOUGHT: 1, _BLACK_IS_NOUGHT: 1, _RGB: 3, _PALETTE: 1}
    if page.compression == _JPEG:
        known[_YCBCR] = 3
    extra = page.extrasamples or ()
    accepted = (
        colours in known
        and samples in (known[colours], known[colours] + 1)
        and len(extra) == samples - known[colours]
        and all(kind in (1, 2) for kind in extra)  # see-through, and nothing else
        and not (extra and colours == _PALETTE)
        and (page.sampleformat == 1 and page.imagedepth == 1)
        and (bits in (8, 16) or (samples == 1 and bits in (1, 2, 4)))
        and (bits == 8 or page.compression != _JPEG)
    )
    if not accepted:
        kind = _COLOURS.get(colours, f"{samples} values of {bits} bits to a pixel")
        raise BadInput(
            f"The TIFF {name} has colours of a kind that is not accepted ({kind}): {_AGAIN}."
        )


def _cut_up(page: Any) -> None:
    """Take an uncompressed page's strips in smaller ones: some programs write a single one."""
    row = (page.imagewidth * page.samplesperpixel * page.bitspersample + 7) // 8
    deep = min(page.rowsperstrip or page.imagelength, page.imagelength)
    smaller = max(_BAND // row, 1)
    if smaller >= deep or len(page.dataoffsets) != 1 or page.predictor != 1:
        return
    tops = range(0, page.imagelength, smaller)
    offset, end = page.dataoffsets[0], page.dataoffsets[0] + page.databytecounts[0]
    page.dataoffsets = tuple(offset + top * row for top in tops)
    page.databytecounts = tuple(max(min(smaller * row, end - at), 0) for at in page.dataoffsets)
    page.rowsperstrip = smaller


def _segments(name: str, page: Any, across: int, deep: int, size: int) -> Iterator[_Segment]:
    """Yield the strips or tiles, each of which must lie in the file."""
    columns, rows = page.imagewidth, page.imagelength
    abreast = -(-columns // across)
    many = abreast * -(-rows // deep)
    offsets, counts = page.dataoffsets, page.databytecounts
    if len(offsets) != many or len(counts) != many:
        raise _damaged(name)
    for i, (offset, count) in enumerate(zip(offsets, counts, strict=True)):
        top, left = i // abreast * deep, i % abreast * across
        if offset <= 0 or count <= 0 or offset + count > size:
            raise BadInput(
                f"The TIFF {name} is cut short or damaged: its rows from {top + 1:,} on lie beyond "
                "the end of the file: copy it again from where it came."
            )
        yield _Segment(i, offset, count, top, left, min(deep, rows - top))


def _bits(path: Path, page: Any, segments: list[_Segment]) -> tuple[Bits, str]:
    """Return the packed pixels of a one-bit page, 1 where black; spare bits may be either."""
    bits = blank(page.imagewidth, page.imagelength).bits
    across = page.tilewidth if page.is_tiled else page.imagewidth
    with path.open("rb") as file:
        for part in segments:
            file.seek(part.start)
            data = file.read(part.length)
            if page.fillorder == 2:
                data = bytes(imagecodecs.bitorder_decode(data))
            target = bits[part.top : part.top + part.rows, part.left // 8 :][:, : (across + 7) // 8]
            _lay(path.name, page, part, data, across, target)
    if page.photometric == _BLACK_IS_NOUGHT:
        np.invert(bits, out=bits)
    return bits, ""


def _lay(name: str, page: Any, part: _Segment, data: bytes, across: int, target: Bits) -> None:
    """Unpack a segment of a one-bit page into its place."""
    deep = page.tilelength if page.is_tiled else part.rows
    row = (across + 7) // 8
    if page.compression in _FAX:
        unpacked = np.zeros((deep, row), np.uint8) if page.is_tiled else target
        options = page.tags.valueof(292) or 0
        mixed = page.compression == fax.GROUP_3 and bool(options & 1)
        came = fax.unpack(data, across, unpacked, page.compression, mixed=mixed)
        if came < part.rows:
            raise _broken(name, part, came)
    else:
        if page.compression != _PLAIN:
            # A last strip may be as deep as the others; room for no more than that.
            room = row * (page.tilelength if page.is_tiled else page.rowsperstrip)
            try:
                data = bytes(_UNPACK[int(page.compression)](data, out=room))
            except Exception as fault:
                raise _broken(name, part, 0) from fault
        if len(data) < row * deep:
            raise _broken(name, part, len(data) // row)
        unpacked = np.frombuffer(data, np.uint8, row * deep).reshape(deep, row)
    if unpacked is not target:
        target[:] = unpacked[: len(target), : target.shape[1]]


def _shades(path: Path, page: Any, segments: list[_Segment]) -> tuple[Bits, str]:
    """Return the packed pixels of a page with shades, cut at half of full light."""
    shades = Shades(path.name, page.imagewidth, page.imagelength)
    columns, tables = page.imagewidth, {}
    if page.compression == _JPEG:
        tables = {"jpegtables": page.jpegtables}
    with path.open("rb") as file:
        for part in segments:
            file.seek(part.start)
            try:
                made, _, _ = page.decode(file.read(part.length), part.number, **tables)
                pixels = made[0, : part.rows, : columns - part.left]
                if len(pixels) != part.rows:
                    raise _broken(path.name, part, len(pixels))
            except BadInput:
                raise
            except Exception as fault:  # damaged strips raise whatever their codec stumbles on
                raise _broken(path.name, part, 0) from fault
            deep = max(_BAND // pixels.shape[1], 1)
            for top in range(0, part.rows, deep):
                light = _light(page, pixels[top : top + deep])
                shades.lay(part.top + top, part.left, light)
    return shades.result()


def _light(page: Any, pixels: npt.NDArray) -> npt.NDArray[np.uint8]:
    """Return how light each pixel is, 0 to 255; what is seen through is laid over white."""
    if page.photometric == _PALETTE:
        table = np.asarray(page.colormap) >> 8  # three rows of 16-bit values
        return _luminance(table.T.astype(np.uint32))[pixels[..., 0]]
    bits = page.bitspersample
    values = (pixels >> 8 if bits == 16 else pixels * (255 // (2**bits - 1))).astype(np.uint32)
    colours = values[..., :3] if page.photometric in (_RGB, _YCBCR) else values[..., :1]
    light = _luminance(colours)
    if page.photometric == _WHITE_IS_NOUGHT:
        light = 255 - light
    if page.extrasamples:
        seen = values[..., -1]
        own = light.astype(np.uint32)
        if page.extrasamples[0] == 2:  # else it is already laid over black
            own = own * seen // 255
        light = np.minimum(own + 255 - seen, 255).astype(np.uint8)
    return light


def _luminance(colours: npt.NDArray[np.uint32]) -> npt.NDArray[np.uint8]:
    """Return how light colours are to the eye (ITU-R BT.601), by the last axis."""
    if colours.shape[-1] == 1:
        return colours[..., 0].astype(np.uint8)
    return ((colours @ np.array([299, 587, 114], np.uint32)) // 1000).astype(np.uint8)


def _dpi(page: Any) -> tuple[float, float] | None:
    """Return the resolution across and down in dpi, None where the file does not say it."""
    inches = {2: 1.0, 3: 2.54}.get(page.tags.valueof(296, 2))
    try:
        across, down = (num / den for num, den in (page.tags.valueof(c) for c in (282, 283)))
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    if inches is None or not (across > 0 and down > 0):
        return None
    return across * inches, down * inches


def _damaged(name: str) -> BadInput:
    return BadInput(f"The TIFF {name} is damaged: copy it again from where it came, or {_AGAIN}.")


def _broken(name: str, part: _Segment, came: int) -> BadInput:
    return BadInput(
        f"The TIFF {name} is cut short or damaged from row {part.top + came + 1:,} on: copy it "
        f"again from where it came, or {_AGAIN}."
    )
