"""Hostile and broken bitmaps, and files that are of no kind that is read."""

import struct
import zlib
from collections.abc import Iterator

from hostile_case import Bait, Case, cut

COLUMNS, ROWS = 720, 480  # 60.96 × 40.64 mm at 300 dpi; the plate is cut from its middle
MIDDLE = {"placed": "cut from the middle"}
DAMAGED = "damaged|cut short"
LARGE = "thousand million|large|million"
Tag = tuple[int, int, int, bytes]


def face() -> bytes:
    """Return the rows of a black bar 20 × 10 mm in the middle, packed, 1 where black."""
    bar = bytes(30) + b"\xff" * 30 + bytes(30)
    return bytes(90 * 181) + bar * 118 + bytes(90 * 181)


AREA = 118 * 240 / (300 / 25.4) ** 2


def short(code: int, *values: int) -> Tag:
    return code, 3, len(values), struct.pack(f"<{len(values)}H", *values)


def long(code: int, *values: int) -> Tag:
    return code, 4, len(values), struct.pack(f"<{len(values)}I", *values)


def dots(code: int, top: int, below: int = 1) -> Tag:
    return code, 5, 1, struct.pack("<II", top, below)


def tiff(
    data: bytes | None = None, *other: Tag, then: int = 0, without: tuple[int, ...] = ()
) -> bytes:
    """Return a TIFF of one bit a pixel, some of its tags in other words."""
    data = face() if data is None else data
    tags = [
        long(256, COLUMNS), long(257, ROWS), short(258, 1), short(259, 1), short(262, 0),
        long(273, 8), short(277, 1), long(278, ROWS), long(279, len(data)),
        dots(282, 300), dots(283, 300), short(296, 2),
    ]  # fmt: skip
    said = {tag[0]: tag for tag in (*tags, *other) if tag[0] not in without}
    start = 8 + len(data)
    after = start + 2 + 12 * len(said) + 4
    entries, beyond = b"", b""
    for code, kind, count, value in sorted(said.values()):
        entries += struct.pack("<HHI", code, kind, count)
        if len(value) > 4:
            entries += struct.pack("<I", after + len(beyond))
            beyond += value
        else:
            entries += value.ljust(4, b"\0")
    directory = (
        struct.pack("<H", len(said))
        + entries
        + struct.pack("<I", then and (then if then > 1 else start))
    )
    return b"II*\0" + struct.pack("<I", start) + data + directory + beyond


def chunk(kind: bytes, data: bytes, check: int | None = None) -> bytes:
    check = zlib.crc32(kind + data) if check is None else check
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", check)


DENSITY = chunk(b"pHYs", struct.pack(">IIB", 11811, 11811, 1))
HEAD = b"\x89PNG\r\n\x1a\n"
END = chunk(b"IEND", b"")


def header(columns: int, rows: int, bits: int = 1, kind: int = 0, *more: int) -> bytes:
    return chunk(b"IHDR", struct.pack(">IIBBBBB", columns, rows, bits, kind, *(more or (0, 0, 0))))


def lines(bits: bytes, across: int = 90, kind: int = 0) -> bytes:
    rows = [bits[i : i + across] for i in range(0, len(bits), across)]
    return zlib.compress(b"".join(bytes([kind]) + row for row in rows), 9)


WHITE_IS_ONE = bytes(byte ^ 0xFF for byte in face())


def png(
    head: bytes = b"", data: bytes | None = None, before: bytes = b"", after: bytes = b""
) -> bytes:
    data = lines(WHITE_IS_ONE) if data is None else data
    return (
        HEAD
        + (head or header(COLUMNS, ROWS))
        + DENSITY
        + before
        + chunk(b"IDAT", data)
        + after
        + END
    )


def files(bait: Bait) -> Iterator[Case]:
    yield from (Case(c.name, c.data, c.ends, MIDDLE) for c in cut("cut.tif", tiff(), ""))
    early = zlib.compress(face())
    yield from (Case(c.name, c.data, c.ends, MIDDLE) for c in cut("cut.png", png()[:-12], DAMAGED))
    for name, ends, data in (*tiffs(bait, early), *pngs(bait)):
        yield Case(name, data, ends, MIDDLE)
    for name, ends, data in others():
        yield Case(name, data, ends)
    speckled = bytes(i * 37 % 251 for i in range(COLUMNS * ROWS))
    photograph = tiff(speckled, short(258, 8), short(262, 1))
    yield Case("photograph.tif", photograph, "neither dark nor light", MIDDLE)
    for scan in (1e-300, 1e300, 1e-9):
        yield Case(f"scanned-at-{scan}.tif", tiff(), "", {**MIDDLE, "scanned": scan})


Made = Iterator[tuple[str, str | float, bytes]]


def tiffs(bait: Bait, early: bytes) -> Made:
    yield "sound.tif", AREA, tiff()
    for side in (10**6, 2**31, 2**32 - 1):
        sides = long(256, side), long(257, side), long(278, side)
        yield f"bomb-{side}.tif", f"{LARGE}|{DAMAGED}", tiff(None, *sides)
        for kind in (2, 3, 4, 5, 8, 32773):
            yield f"bomb-{side}-packed-{kind}.tif", "", tiff(early, *sides, short(259, kind))
    square = long(256, 80_000), long(257, 80_000), long(278, 80_000)
    for kind in (4, 5, 8):
        yield (
            f"bomb-of-a-film-{kind}.tif",
            f"{DAMAGED}|{LARGE}",
            tiff(early, *square, short(259, kind)),
        )
    yield "directory-in-a-ring.tif", "", tiff(then=1)
    yield "directory-beyond.tif", "", tiff(then=2**31)
    yield "directory-nowhere.tif", "damaged", b"II*\0\xff\xff\xff\x7f"
    yield "directory-none.tif", "damaged", b"II*\0\0\0\0\0" + bytes(99)
    yield "directory-of-itself.tif", "", b"II*\0\x04\0\0\0" + bytes(99)
    yield (
        "tags-by-thousands.tif",
        "",
        b"II*\0\x08\0\0\0\xff\xff" + b"\x01\x01\x03\0\1\0\0\0\1\0\0\0" * 65535 + bytes(4),
    )
    for name, tag in {
        "strip-beyond": long(273, 2**31), "strip-at-nothing": long(273, 0),
        "strip-of-none": long(279, 0), "strip-endless": long(279, 2**32 - 1),
        "strip-short": long(279, 9), "strips-too-many": long(273, *[8] * 5000),
        "strips-claimed": (273, 4, 2**32 - 1, b"\xff\xff\xff\x7f"),
        "rows-none": long(278, 0), "rows-endless": long(278, 2**32 - 1), "rows-three": long(278, 3),
        "width-none": long(256, 0), "width-in-words": (256, 2, 4, b"720\0"),
        "width-no-number": (256, 11, 1, struct.pack("<f", float("nan"))),
        "width-of-many": long(256, 1, 2, 3), "width-below": (256, 9, 1, struct.pack("<i", -720)),
        "bits-none": short(258, 0), "bits-many": short(258, 1, 1, 1), "bits-64": short(258, 64),
        "bits-claimed": (258, 3, 2**31, b"\xff\xff\xff\x7f"), "kind-unheard": (256, 99, 1, b"\1\0\0\0"),
        "samples-none": short(277, 0), "samples-many": short(277, 65535), "samples-three": short(277, 3),
        "packing-unheard": short(259, 9999), "packing-zstd": short(259, 50000),
        "packing-old-jpeg": short(259, 6), "packing-jpeg": short(259, 7), "packing-webp": short(259, 50001),
        "packing-jpeg2000": short(259, 34712), "packing-lerc": short(259, 34887),
        "inks": short(262, 5), "palette-without-map": short(262, 3), "mask": short(262, 4),
        "sense-unheard": short(262, 999), "dots-none": dots(282, 0), "dots-by-nothing": dots(282, 1, 0),
        "dots-endless": dots(282, 2**32 - 1), "dots-in-words": (282, 2, 4, b"300\0"),
        "dots-unlike": dots(283, 600), "unit-unheard": short(296, 77), "shifted": short(317, 3),
        "floating": short(339, 3), "order-unheard": short(266, 9), "deep": long(32997, 10**6),
        "tiles": long(322, 2**31), "tiles-none": long(322, 0), "pages-beneath": long(330, 8),
    }.items():  # fmt: skip
        yield f"{name}.tif", "", tiff(None, tag)
    for side in (16, 24, 2**20, 2**31 - 16):
        tiles = long(322, side), long(323, side), long(324, 8), long(325, 4000)
        yield f"tiles-of-{side}.tif", "", tiff(None, *tiles, without=(273, 278, 279))
    for kind in (2, 3, 4, 5, 7, 8, 32773):
        garbage = bytes(i * 97 % 256 for i in range(5000))
        yield (
            f"garbage-{kind}.tif",
            DAMAGED,
            tiff(garbage, short(259, kind))
            if kind != 7
            else tiff(garbage, short(259, 7), short(258, 8)),
        )
    bomb = zlib.compress(bytes(10**8), 9)
    yield "strip-bomb.tif", DAMAGED, tiff(bomb, short(259, 8))
    apart = short(258, 8, 8, 8), short(277, 3), short(284, 2), short(262, 2)
    yield "colours-apart.tif", "colours apart", tiff(None, *apart)
    for name, text in {
        "other-files": f'<?xml version="1.0"?><OME><Image><Pixels SizeX="720" SizeY="480" SizeC="1" SizeT="1" SizeZ="1" DimensionOrder="XYZCT" Type="bit"><TiffData><UUID FileName="{bait.file("tif")}">urn:uuid:1</UUID></TiffData></Pixels></Image></OME>',
        "entities": f'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY a SYSTEM "{bait.url}">]><OME>&a;</OME>',
        "imagej": "ImageJ=1.11a\nimages=999999999\nslices=999999999\n",
        "shaped": '{"shape": [99999, 99999, 99999]}',
    }.items():
        word = text.encode() + b"\0"
        yield f"described-{name}.tif", AREA, tiff(None, (270, 2, len(word), word))
    for name, head in {
        "odd": b"II+\0\x10\0\0\0" + bytes(99),
        "beyond": b"II+\0\x08\0\0\0" + b"\xff" * 8 + bytes(99),
        "many": b"II+\0\x08\0\0\0\x10\0\0\0\0\0\0\0" + b"\xff" * 8 + bytes(99),
        "ring": b"II+\0\x08\0\0\0\x10\0\0\0\0\0\0\0" + bytes(8) + b"\x10" + bytes(7),
    }.items():
        yield f"big-{name}.tif", "damaged|no pixels", head
    yield "other-way-round.tif", "damaged", b"MM\0*" + tiff()[4:]


def pngs(bait: Bait) -> Made:
    yield "sound.png", AREA, png()
    for side in (60_000, 2**31 - 1, 2**32 - 1):
        yield f"bomb-{side}.png", f"million|{DAMAGED}", png(header(side, side))
    yield "wide.png", "", png(header(2**31 - 1, 1))
    yield "none.png", "damaged", png(header(0, 0))
    yield "beyond-its-data.png", DAMAGED, png(header(20_000, 20_000))
    head = header(COLUMNS, ROWS)
    yield "check-of-head.png", "damaged", png(head[:-1] + bytes([head[-1] ^ 1]))
    good = lines(WHITE_IS_ONE)
    yield "check-of-data.png", AREA, HEAD + head + DENSITY + chunk(b"IDAT", good, 1) + END
    yield "check-within.png", DAMAGED, png(data=good[:-4] + b"abcd")
    yield "data-cut.png", DAMAGED, png(data=good[: len(good) // 2])
    yield "data-garbage.png", DAMAGED, png(data=b"\xff" * 999)
    yield "no-data.png", DAMAGED, HEAD + head + DENSITY + END
    yield "no-end.png", "", png()[:-12]
    yield "length-lies.png", DAMAGED, HEAD + head + DENSITY + b"\x7f\xff\xff\xffIDAT" + good
    yield "only-head.png", DAMAGED, HEAD
    yield "head-twice.png", "", png(before=head)
    bomb = zlib.compress(bytes(10**8), 9)
    yield "profile-bomb.png", "", png(before=chunk(b"iCCP", b"a\0\0" + bomb))
    yield "text-bomb.png", "", png(before=chunk(b"zTXt", b"a\0\0" + bomb))
    yield "words-bomb.png", "", png(before=chunk(b"iTXt", b"a\0\1\0\0\0" + bomb))
    yield "texts.png", "", png(before=chunk(b"tEXt", b"a\0" + b"x" * 60_000) * 2000)
    yield "address.png", AREA, png(before=chunk(b"tEXt", f"XML:com.adobe.xmp\0{bait.url}".encode()))
    frame = struct.pack(">IIIIIHHBB", 0, COLUMNS, ROWS, 0, 0, 1, 10, 0, 0)
    moving = chunk(b"acTL", struct.pack(">II", 99, 0)) + chunk(b"fcTL", frame)
    yield "moving.png", "99 pictures", png(before=moving)
    endless = chunk(b"acTL", struct.pack(">II", 2**32 - 1, 0)) + chunk(b"fcTL", frame)
    yield "moving-for-ever.png", "", png(before=endless)
    grey = b"".join(
        bytes([255 * (byte >> bit & 1) for bit in range(7, -1, -1)]) for byte in WHITE_IS_ONE
    )
    deep = b"".join(bytes([value, value]) for value in grey)
    yield "eight-bits.png", AREA, png(header(COLUMNS, ROWS, 8), lines(grey, 720))
    yield "sixteen-bits.png", AREA, png(header(COLUMNS, ROWS, 16), lines(deep, 1440))
    yield (
        "sixteen-bits-in-colours.png",
        "",
        png(header(COLUMNS, ROWS, 16, 2), lines(deep * 3, 4320)),
    )
    yield "in-passes.png", DAMAGED, png(header(COLUMNS, ROWS, 1, 0, 0, 0, 1))
    yield "in-passes-unheard.png", "", png(header(COLUMNS, ROWS, 1, 0, 0, 0, 9))
    yield "packing-unheard.png", "", png(header(COLUMNS, ROWS, 1, 0, 7, 0, 0))
    yield "bits-unheard.png", "", png(header(COLUMNS, ROWS, 3))
    yield "kind-unheard.png", "", png(header(COLUMNS, ROWS, 1, 5))
    yield "filter-unheard.png", DAMAGED, png(data=lines(WHITE_IS_ONE, kind=77))
    yield "no-palette.png", "damaged", png(header(COLUMNS, ROWS, 1, 3))
    short_map = chunk(b"PLTE", b"\0\0\0")
    yield "beyond-its-palette.png", "", png(header(COLUMNS, ROWS, 1, 3), before=short_map)
    unseen = chunk(b"PLTE", b"\0\0\0\xff\xff\xff") + chunk(b"tRNS", b"\0\0")
    yield "unseen.png", "", png(header(COLUMNS, ROWS, 1, 3), before=unseen)
    for dense in (0, 2**32 - 1, 1):
        said = chunk(b"pHYs", struct.pack(">IIB", dense, dense, 1))
        yield f"density-{dense}.png", "", png().replace(DENSITY, said)
    yield "density-absent.png", "scan_resolution", png().replace(DENSITY, b"")
    turned = b"II*\0\x08\0\0\0\1\0\x12\1\3\0\1\0\0\0\6\0\0\0\0\0\0\0"
    yield "turned.png", AREA, png(before=chunk(b"eXIf", turned))
    yield "and-an-archive.png", AREA, png() + b"PK\3\4" + bytes(999)


def others() -> Made:
    """What is of no kind that is read, whatever it is called."""
    none = "none of the kinds"
    yield "photograph.png", "a JPEG", b"\xff\xd8\xff\xe0\0\x10JFIF" + bytes(99)
    yield "moving.gif", "a picture that is not read", b"GIF89a" + bytes(99)
    yield "picture.svg", "a picture that is not read", b"BM" + bytes(99)
    yield "picture.webp", "a picture that is not read", b"RIFF\1\0\0\0WEBP" + bytes(99)
    yield "drawing.dwg", "a DWG drawing", b"AC1032" + bytes(99)
    yield "drawing.pdf", "PostScript", b"%!PS-Adobe-3.0\n(/etc/passwd) run"
    for name, start in {
        "zip": b"PK\3\4",
        "rar": b"Rar!",
        "7z": b"7z\xbc\xaf",
        "bz2": b"BZh9",
    }.items():
        yield f"packed-{name}.svg", "compressed", start + bytes(99)
    yield "program.svg", none, b"MZ" + bytes(9999)
    yield "program.png", none, b"\x7fELF" + bytes(9999)
    yield "script.svg", none, b"#!/bin/sh\ntouch pwned\n"
    yield "words.dxf", none, b"root:x:0:0:root:/root:/bin/bash\n" * 99
    yield "random.tif", none, bytes(i * 151 % 256 for i in range(9999))
    yield "noughts.png", none, bytes(9999)
    yield "empty.svg", "is empty", b""
    yield "blank.svg", "is empty", b" \n\t" * 999
