"""Hostile and broken DXF drawings."""

from collections.abc import Iterator

from hostile_case import Bait, Case, cut

BROKEN = "broken or cut short"
OBJECT = "broken or cut short|an object that cannot be drawn"
FAR = "has something far from the rest|larger than 5000 mm"
PIECES = "pieces, dashes and hatch lines"
POLYLINE = "0 LWPOLYLINE 100 AcDbEntity 8 0 100 AcDbPolyline"
BAR = f"{POLYLINE} 90 2 70 0 43 10 10 10 20 25 10 30 20 25"  # 20 × 10 mm
AREA = 200.0


def tags(text: str) -> str:
    """Return a DXF's lines from codes and values in one line; ~ in a value is a blank."""
    return "".join(f"{word.replace('~', ' ')}\n" for word in text.split())


def dxf(
    entities: str = BAR,
    blocks: str = "",
    tables: str = "",
    header: str = "9 $INSUNITS 70 4",
    version: str = "AC1015",
    objects: str = "",
) -> bytes:
    parts = {"HEADER": f"9 $ACADVER 1 {version} {header}", "TABLES": tables, "BLOCKS": blocks}
    parts |= {"ENTITIES": entities, "OBJECTS": objects and f"0 DICTIONARY 5 D1 {objects}"}
    text = " ".join(f"0 SECTION 2 {name} {part} 0 ENDSEC" for name, part in parts.items())
    return tags(text + " 0 EOF").encode("utf-8", "surrogateescape")


def block(name: str, entities: str, flags: int = 0, more: str = "") -> str:
    head = f"0 BLOCK 8 0 2 {name} 70 {flags} 10 0 20 0 30 0 3 {name} {more}"
    return f"{head} {entities} 0 ENDBLK 8 0"


def insert(name: str, more: str = "") -> str:
    return f"0 INSERT 8 0 2 {name} 10 0 20 0 30 0 {more}"


def hatch(pattern: str, side: str = "60", solid: int = 0) -> str:
    corners = f"10 0 20 0 10 {side} 20 0 10 {side} 20 {side} 10 0 20 {side}"
    head = f"0 HATCH 100 AcDbEntity 8 0 100 AcDbHatch 10 0 20 0 30 0 210 0 220 0 230 1 2 NET 70 {solid} 71 0 91 1"
    return f"{head} 92 3 72 0 73 1 93 4 {corners} 97 0 75 0 76 1 {pattern} 98 0"


def files(bait: Bait) -> Iterator[Case]:
    whole = dxf(BAR * 5)
    yield from cut("cut.dxf", whole[:-8], f"{BROKEN}|none of the kinds")
    made = (*drawn(), *outside(bait), *blocks(), *numbers(), *bombs())
    for name, ends, data in made:
        yield Case(f"{name}.dxf", data, ends)
    yield Case("no-unit.dxf", dxf(header=""), 'drawing_unit = "mm"')
    yield Case("metres.dxf", dxf(header="9 $INSUNITS 70 6"), "larger than 5000|but the plate is")
    yield Case("unit-of-light-years.dxf", dxf(header="9 $INSUNITS 70 19"), 'drawing_unit = "mm"')
    yield Case("unit-unheard-of.dxf", dxf(header="9 $INSUNITS 70 -9999"), 'drawing_unit = "mm"')
    yield Case("named.svg", dxf(), AREA)
    yield Case("unit-as-said.dxf", dxf(header=""), AREA, {"unit": 1.0})
    yield Case("unit-of-nothing.dxf", dxf(header=""), 0.0, {"unit": 1e-300})
    yield Case("large.dxf", whole + b"999\nx\n" * 9_000_000, "accepted are up to")


Made = Iterator[tuple[str, str | float, bytes]]


def drawn() -> Made:
    """Files that are none, and objects that a film cannot hold."""
    yield "empty", "is empty", dxf("")
    yield "version-to-come", "", dxf(version="AC9999")
    yield "version-of-old", "", dxf(version="MC0.0")
    yield "version-of-none", "", dxf(version="~")
    for page in ("utf-7", "ANSI_99999", "zlib_codec", "undefined", "../../etc/passwd"):
        yield (
            f"letters-{page.replace('/', '-')}",
            "",
            dxf(header=f"9 $DWGCODEPAGE 3 {page} 9 $INSUNITS 70 4"),
        )
    yield "letters-that-are-none", "", dxf().replace(b"LWPOLYLINE", b"LWPOLY\xff\xfeLINE")
    yield "noughts", "", dxf().replace(b"ENTITIES", b"ENTI\0TIES")
    yield "binary-garbage", BROKEN, b"AutoCAD Binary DXF\r\n\x1a\0" + bytes(range(256)) * 40
    yield "binary-only-head", BROKEN, b"AutoCAD Binary DXF\r\n\x1a\0"
    yield "code-that-is-none", BROKEN, dxf().replace(b"\n90\n", b"\nninety\n")
    yield "code-beyond-all", "", dxf().replace(b"\n90\n", b"\n99999999999999\n")
    yield "code-below-nothing", "", dxf().replace(b"\n90\n", b"\n-7\n")
    yield "section-in-a-section", "", dxf("0 SECTION 2 ENTITIES " + BAR)
    yield "section-twice", "", dxf() + dxf()
    yield "handles-alike", "", dxf(" ".join(f"{BAR} 5 1F" for _ in range(5)))
    for kind, says in {
        "TEXT": "live text", "MTEXT": "live text", "ATTDEF": "live text", "SHAPE": "live text",
        "DIMENSION": "a dimension", "LEADER": "a dimension", "TOLERANCE": "a dimension",
        "IMAGE": "a picture", "OLE2FRAME": "a picture", "OLEFRAME": "a picture",
        "PDFUNDERLAY": "outside the file", "DWFUNDERLAY": "outside the file",
        "3DSOLID": "a solid", "BODY": "a solid", "MESH": "a solid", "3DFACE": "a solid",
        "XLINE": "without an end", "RAY": "without an end", "MLINE": "MLINE", "FROB": "FROB",
        "ACAD_PROXY_ENTITY": "a picture or an object", "LIGHT": "LIGHT", "HELIX": "HELIX",
    }.items():  # fmt: skip
        more = f"0 {kind} 8 0 10 0 20 0 30 0 11 1 21 1 31 0 40 5 1 a 2 NAME"
        yield f"holds-{kind.lower()}", f"{says}|{OBJECT}", dxf(f"{more} {BAR}")
    yield "points-only", "holds points only", dxf("0 POINT 8 0 10 5 20 5 30 0")
    yield "no-widths", "no width", dxf("0 LINE 8 0 10 5 20 5 11 9 21 9")
    gradient = (
        "450 1 451 0 460 0 461 0 452 0 462 1 453 2 463 0 63 5 421 255 463 1 63 2 421 9 470 LINEAR"
    )
    yield "gradient", "a gradient", dxf(hatch(gradient, solid=1))
    yield "mesh", "a solid", dxf("0 POLYLINE 8 0 66 1 70 16 71 2 72 2 0 SEQEND")
    yield "never-ended", "", dxf("0 POLYLINE 8 0 66 1 70 0 0 VERTEX 8 0 10 1 20 1")
    yield "see-through", "translucent", dxf(f"{BAR} 440 33554559")


def outside(bait: Bait) -> Made:
    """What points to other files."""
    dwg, png = bait.file("dxf"), bait.file("png")
    far = block("FAR", "", 4, f"1 {dwg}")
    yield "other-drawing", "refers to another drawing", dxf(f"{BAR} {insert('FAR')}", far)
    laid = block("FAR", "", 8, f"1 {bait.url}a.dwg")
    yield "other-drawing-laid-over", "refers to another drawing", dxf(insert("FAR"), laid)
    image = "0 IMAGE 100 AcDbEntity 8 0 100 AcDbRasterImage 90 0 10 0 20 0 30 0 340 A1 360 A2 13 60 23 40"
    defined = f"0 IMAGEDEF 5 A1 1 {png} 10 60 20 40"
    yield "picture-in-a-file", "a picture", dxf(f"{image} {BAR}", objects=defined)
    under = f"0 PDFDEFINITION 5 A1 1 {bait.file('pdf')} 2 1"
    yield (
        "pdf-beneath",
        "outside the file",
        dxf(
            "0 PDFUNDERLAY 100 AcDbEntity 8 0 100 AcDbUnderlayReference 340 A1 10 0 20 0",
            objects=under,
        ),
    )
    style = (
        f"0 TABLE 2 STYLE 0 STYLE 2 S 70 1 40 0 3 {bait.file('shx')} 4 {bait.file('ttf')} 0 ENDTAB"
    )
    yield "font-in-a-file", AREA, dxf(tables=style)
    yield (
        "plot-style-in-a-file",
        AREA,
        dxf(header=f"9 $INSUNITS 70 4 9 $STYLESHEET 1 {bait.url}a.ctb"),
    )
    link = f"{BAR} 1001 PE_URL 1000 {bait.url} 1000 {dwg}"
    yield "link", AREA, dxf(link)


def blocks() -> Made:
    """Blocks that hold themselves, or far too much."""
    yield "block-in-itself", "holds itself", dxf(insert("A"), block("A", f"{BAR} {insert('A')}"))
    ring = block("A", insert("B")) + " " + block("B", insert("A"))
    yield "blocks-in-a-ring", "holds itself", dxf(insert("A"), ring)
    other = block("A", f"{BAR} {insert('a')}")
    yield "block-in-itself-by-another-name", "holds itself", dxf(insert("A"), other)
    yield "block-that-is-not-there", "not in the file", dxf(insert("GONE" * 99))
    rows = "70 1000000 71 1000000 44 1 45 1"
    yield "array", "objects, with those in its blocks", dxf(insert("A", rows), block("A", BAR))
    below = "70 -5 71 -5 44 1 45 1"
    yield "array-below-nothing", "", dxf(insert("A", below) + " " + BAR, block("A", BAR))
    most = "70 32767 71 3 44 0 45 0"
    yield "array-just-allowed", "", dxf(insert("A", most), block("A", "0 POINT 8 0 10 0 20 0"))
    nested = " ".join(block(f"B{i}", " ".join([insert(f"B{i + 1}")] * 10)) for i in range(12))
    yield (
        "blocks-of-blocks",
        "objects, with those in",
        dxf(insert("B0"), f"{nested} {block('B12', BAR)}"),
    )
    deep = " ".join(block(f"B{i}", insert(f"B{i + 1}")) for i in range(200))
    yield (
        "blocks-in-a-row",
        "blocks more than 20 deep",
        dxf(insert("B0"), f"{deep} {block('B200', BAR)}"),
    )
    for scale in ("0", "1e300", "-1e-300", "nan", "inf"):
        size = f"41 {scale} 42 {scale} 43 {scale}"
        yield f"block-times-{scale}", "", dxf(insert("A", size) + " " + BAR, block("A", BAR))
    yield (
        "block-of-text",
        "live text",
        dxf(insert("A"), block("A", "0 TEXT 8 0 10 0 20 0 40 1 1 a")),
    )
    yield (
        "dimension-of-itself",
        "a dimension",
        dxf("0 DIMENSION 8 0 2 A", block("A", "0 DIMENSION 8 0 2 A")),
    )


def numbers() -> Made:
    """Numbers that are none, or beyond all bounds."""
    for number in ("1e300", "-1e300", "nan", "inf", "1e99999", "9" * 400, "1,5", "0x1"):
        name = number[:8].replace(",", "-")
        ends = f"{FAR}|{OBJECT}|{BROKEN}|{PIECES}"
        line = f"0 LINE 8 0 370 50 10 0 20 0 11 {number} 21 5 {BAR}"
        yield f"line-to-{name}", ends, dxf(line)
        yield f"circle-of-{name}", "", dxf(f"0 CIRCLE 8 0 370 50 10 5 20 5 40 {number} {BAR}")
        arc = f"0 ARC 8 0 370 50 10 5 20 5 40 3 50 0 51 {number} {BAR}"
        yield f"arc-to-{name}", "", dxf(arc)
        bulge = f"{POLYLINE} 90 2 43 1 10 5 20 5 42 {number} 10 9 20 9"
        yield f"bulge-of-{name}", "", dxf(f"{bulge} {BAR}")
        turned = f"0 CIRCLE 8 0 370 50 10 5 20 5 40 3 210 {number} 220 0 230 0"
        yield f"turned-by-{name}", "", dxf(f"{turned} {BAR}")
    for number in ("0", "-5", "1e-300"):
        yield f"circle-of-{number}", "", dxf(f"0 CIRCLE 8 0 370 50 10 5 20 5 40 {number} {BAR}")
        flat = f"0 ELLIPSE 8 0 370 50 10 9 20 9 11 5 21 0 40 {number} 41 0 42 6.283"
        yield f"ellipse-of-{number}", "", dxf(f"{flat} {BAR}")


def bombs() -> Made:
    """What is short to write and long to draw."""
    line = "53 0 43 0 44 0 45 0 46 {apart} 79 {count} {dashes}"
    for name, side, apart in (("fine", "60", "1e-7"), ("none", "60", "0"), ("nan", "60", "nan")):
        pattern = "52 0 41 1 77 0 78 1 " + line.format(apart=apart, count=0, dashes="")
        yield f"hatch-{name}", f"{PIECES}|{OBJECT}", dxf(hatch(pattern, side))
    dots = "52 0 41 1 77 0 78 1 " + line.format(apart="1", count=2, dashes="49 1e-9 49 -1e-9")
    yield "hatch-dots", f"{PIECES}|{OBJECT}", dxf(hatch(dots))
    far = "52 0 41 1 77 0 78 1 " + line.format(apart="1", count=0, dashes="")
    yield "hatch-far", f"{PIECES}|{FAR}", dxf(hatch(far, "1e12"))
    yield "hatch-lies", OBJECT, dxf(hatch("").replace("93 4", "93 99999999"))
    dashes = "0 TABLE 2 LTYPE 0 LTYPE 2 D 70 0 3 x 72 65 73 2 40 2e-9 49 1e-9 74 0 49 -1e-9 74 0 0 ENDTAB"
    dashed = "0 LINE 8 0 6 D 370 50 10 0 20 5 11 50 21 5"
    yield "dashes", "", dxf(dashed, tables=dashes)
    small = dxf(f"{dashed} 48 1e-300", tables=dashes.replace("1e-9", "1"))
    yield "dashes-times-nothing", "", small
    spline = "0 SPLINE 100 AcDbEntity 8 0 370 50 100 AcDbSpline 70 8 71 {degree} 72 {knots} 73 {nodes} {said}"
    knots = " ".join(["40 0"] * 4 + [f"40 {i}" for i in range(1, 5997)] + ["40 5997"] * 4)
    nodes = " ".join(f"10 {i % 60} 20 {i % 40} 30 0" for i in range(6000))
    many = spline.format(degree=3, knots=6004, nodes=6000, said=f"{knots} {nodes}")
    yield "spline-of-many", "a spline of", dxf(many)
    lies = spline.format(degree=3, knots=1_000_000, nodes=1_000_000, said="40 0 10 0 20 0")
    yield "spline-that-lies", "", dxf(f"{lies} {BAR}")
    few = "40 0 40 0 40 0 40 0 40 1 40 1 40 1 40 1 10 0 20 0 10 9 20 9 10 {x} 20 0 10 5 20 5"
    for x in ("nan", "1e300"):
        said = few.format(x=x)
        yield (
            f"spline-{x}",
            f"{OBJECT}|{FAR}",
            dxf(spline.format(degree=3, knots=8, nodes=4, said=said)),
        )
    steep = spline.format(degree=1000000, knots=8, nodes=4, said=few.format(x="1"))
    yield "spline-steep", f"a spline of|{OBJECT}", dxf(steep)
    yield (
        "objects",
        "objects, with those in",
        dxf(" ".join(["0 LINE 8 0 10 0 20 0 11 1 21 1"] * 101_000)),
    )
    yield "long-word", "", dxf(f"{BAR} 1 {'x' * 5_000_000}")
    yield "remarks", "", b"999\nx\n" * 300 + dxf()
    lines = " ".join(
        f"0 LINE 8 0 370 50 10 {i % 60} 20 {i % 40} 11 {i * 7 % 60} 21 5" for i in range(20_000)
    )
    yield "lines", "", dxf(lines)
