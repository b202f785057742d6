"""Hostile and broken PDFs."""

import zlib
from collections.abc import Iterator

from hostile_case import Bait, Case, cut

BAR = b"28.346 56.693 56.693 28.346 re f "  # 20 × 10 mm, 10 mm from the left and from the top
AREA = 200.0
BOX = b"[0 0 170.079 113.386]"  # 60 × 40 mm
BROKEN = "broken or cut short"
NO_SIZE = "accepted is up to 5000 mm|has no size|broken"


def stream(data: bytes, about: bytes = b"") -> bytes:
    return b"<< %s /Length %d >>\nstream\n%s\nendstream" % (about, len(data), data)


def packed(data: bytes, times: int = 1, about: bytes = b"") -> bytes:
    for _ in range(times):
        data = zlib.compress(data, 9)
    return stream(data, b"/Filter [%s] %s" % (b"/FlateDecode " * times, about))


def form(content: bytes, resources: bytes = b"") -> bytes:
    about = b"/Type /XObject /Subtype /Form /BBox [0 0 999 999] /Resources << %s >>"
    return stream(content, about % resources)


def picture(columns: int, rows: int, data: bytes, about: bytes, bits: int = 1) -> bytes:
    said = b"/Type /XObject /Subtype /Image /Width %d /Height %d /BitsPerComponent %d %s"
    return stream(data, said % (columns, rows, bits, about))


def pdf(
    content: bytes = BAR,
    *more: bytes,
    page: bytes = b"",
    resources: bytes = b"",
    root: bytes = b"",
    box: bytes = BOX,
    pages: bytes = b"/Kids [3 0 R] /Count 1",
    trailer: bytes = b"",
    body: bytes | None = None,
) -> bytes:
    """Return a PDF; `more` are its objects from 5 on, `body` the object that is its content."""
    sized = b"/MediaBox " + box if box else b""
    parts = [
        b"<< /Type /Catalog /Pages 2 0 R %s >>" % root,
        b"<< /Type /Pages %s >>" % pages,
        b"<< /Type /Page /Parent 2 0 R %s /Contents 4 0 R /Resources << %s >> %s >>"
        % (sized, resources, page),
        stream(content) if body is None else body,
        *more,
    ]
    out, table = b"%PDF-1.7\n", b"0000000000 65535 f \n"
    for number, part in enumerate(parts, 1):
        table += b"%010d 00000 n \n" % len(out)
        out += b"%d 0 obj\n%s\nendobj\n" % (number, part)
    many = len(parts) + 1
    end = b"xref\n0 %d\n%strailer << /Size %d /Root 1 0 R %s >>\nstartxref\n%d\n%%%%EOF\n"
    return out + end % (many, table, many, trailer, len(out))


def files(bait: Bait) -> Iterator[Case]:
    whole = pdf(BAR * 20, form(BAR))
    yield from cut("cut.pdf", whole, BROKEN)
    for case in cut("cut-with-an-end.pdf", whole, ""):
        yield Case(case.name, case.data + b"\n%%EOF\n", "")
    groups = (documents(), pages(), acting(bait), drawn(bait), pictures(bait), bombs())
    for name, ends, data in (each for group in groups for each in group):
        yield Case(f"{name}.pdf", data, ends)
    turned = pdf(BAR, box=b"[0 0 113.386 170.079]", page=b"/Rotate 90")
    yield Case("turned.pdf", turned, AREA)
    yield Case("named.svg", pdf(), AREA)
    yield Case("also-an-svg.pdf", b"%<svg xmlns='http://www.w3.org/2000/svg'/>\n" + pdf(), AREA)
    yield Case("after-an-svg.pdf", b"<svg/>\n" + pdf(), "cannot be read as an SVG")
    yield Case("far-in.pdf", b"\0" * 900 + pdf(), AREA)
    yield Case("large.pdf", b"%PDF-1.7\n" + bytes(101_000_000), "accepted are up to")


Made = Iterator[tuple[str, str | float, bytes]]


def documents() -> Made:
    """Documents that are locked, broken or go round in rings."""
    locked = b"/Encrypt << /Filter /Standard /V 1 /R 2 /P -4 /O <%s> /U <%s> >> /ID [<00> <00>]"
    yield "locked", "locked with a password", pdf(trailer=locked % (b"41" * 32, b"42" * 32))
    other = b"/Encrypt << /Filter /Unheard /V 9 /R 9 >> /ID [<00> <00>]"
    yield "locked-otherwise", "locked with a password", pdf(trailer=other)
    yield "head-only", BROKEN, b"%PDF-1.7\n%%EOF\n"
    yield "no-root", BROKEN, pdf().replace(b"/Root 1 0 R", b"/Root 9 0 R")
    yield "no-page", r"has 0 pages|broken", pdf(pages=b"/Kids [] /Count 0")
    yield "no-kids", r"has \d+ pages|broken", pdf(pages=b"/Count 1")
    yield "two-pages", "has 2 pages", pdf(pages=b"/Kids [3 0 R 3 0 R] /Count 2")
    many = pdf(pages=b"/Kids [" + b"3 0 R " * 5000 + b"] /Count 5000")
    yield "many-pages", "has 5000 pages", many
    yield "countless-pages", AREA, pdf(pages=b"/Kids [3 0 R] /Count 2147483647")
    yield "fewer-than-none", AREA, pdf(pages=b"/Kids [3 0 R] /Count -1")
    yield "pages-in-a-ring", "", pdf(pages=b"/Kids [2 0 R] /Count 1")
    yield "page-is-a-number", "", pdf(pages=b"/Kids [7] /Count 1")
    yield "table-before-itself", "", pdf(trailer=b"/Prev 9")
    start = pdf().rindex(b"xref\n0")
    yield "tables-in-a-ring", "", pdf(trailer=b"/Prev %d" % (start - 0))
    wrong = pdf().replace(b"startxref\n", b"startxref\n9999999999999")
    yield "table-nowhere", AREA, wrong
    yield "size-lies", "", pdf().replace(b"/Size 5", b"/Size 2147483647")
    table = b"/Type /XRef /Size 2147483647 /Index [0 2147483647] /W [8 8 8] /Root 1 0 R"
    yield (
        "table-of-millions",
        "",
        pdf(BAR, packed(bytes(10**6), about=table)).replace(b"startxref\n", b"startxref\n0"),
    )
    yield (
        "length-of-itself",
        AREA,
        pdf(body=b"<< /Length 4 0 R >>\nstream\n" + BAR + b"\nendstream"),
    )
    yield "length-lies", "", pdf(body=b"<< /Length 99999999 >>\nstream\n" + BAR + b"\nendstream")
    ring = b"/Type /ObjStm /N 1 /First 4 /Extends 5 0 R"
    yield "object-stream-in-a-ring", AREA, pdf(BAR, stream(b"5 0 << >>", ring))
    nested = b"[" * 100_000 + b"]" * 100_000
    yield "lists-in-lists", "", pdf(BAR, nested, page=b"/Other 5 0 R")
    yield "itself-by-reference", "", pdf(BAR, b"5 0 R", page=b"/Rotate 5 0 R")
    yield "garbage-between", "", pdf(BAR, b"\xff\xfe\0<<<<(((" * 1000)


def pages() -> Made:
    """Pages of absurd sizes."""
    for name, box in {
        "long": b"[0 0 14401 113.386]",
        "endless": b"[0 0 1e30 1e30]",
        "enormous": b"[0 0 1000000000 1000000000]",
        "none": b"[0 0 0 0]",
        "no-number": b"[0 0 nan inf]",
        "line": b"[0 0 170.079 0]",
        "turned-round": b"[170.079 113.386 0 0]",
        "short-list": b"[0 0]",
        "below-nothing": b"[0 0 -170 -113]",
        "overflow": b"[0 0 99999999999999999999999999 99999999999999999999999]",
        "missing": b"",
    }.items():
        yield f"page-{name}", f"{NO_SIZE}|but the plate is", pdf(box=box)
    yield "units", "UserUnit", pdf(page=b"/UserUnit 1000000")
    yield "units-small", "UserUnit", pdf(page=b"/UserUnit 0.000001")
    yield "turned-askew", "", pdf(page=b"/Rotate 45")
    yield "turned-for-ever", "", pdf(page=b"/Rotate 99999999999999")
    yield "crop-outside", "", pdf(page=b"/CropBox [900 900 901 901]")
    yield "crop-of-nothing", "", pdf(page=b"/CropBox [5 5 5 5]")


def acting(bait: Bait) -> Made:
    """Actions, attachments and remarks: nothing of them acts, and nothing is drawn."""
    url, file = bait.url.encode(), bait.file("pdf").encode()
    actions = {
        "script": b"<< /S /JavaScript /JS (app.launchURL\\('%s'\\); while\\(1\\);) >>" % url,
        "launch": b"<< /S /Launch /F (%s) /Win << /F (cmd) >> >>" % file,
        "address": b"<< /S /URI /URI (%s) >>" % url,
        "other-file": b"<< /S /GoToR /F (%s) /D [0 /Fit] >>" % file,
        "form": b"<< /S /SubmitForm /F << /FS /URL /F (%s) >> >>" % url,
        "data": b"<< /S /ImportData /F (%s) >>" % file,
        "thread": b"<< /S /Thread /F (%s) /D 0 >>" % file,
    }
    for name, action in actions.items():
        link = b"<< /Type /Annot /Subtype /Link /Rect [0 0 170 113] /A %s >>" % action
        everywhere = b"/AA << /O %s /C %s >> /Annots [5 0 R]" % (action, action)
        yield f"act-{name}", AREA, pdf(BAR, link, page=everywhere, root=b"/OpenAction " + action)
    black = form(b"0 0 999 999 re f")
    stamp = b"<< /Type /Annot /Subtype /Stamp /Rect [0 0 170 113] /F 4 /AP << /N 6 0 R >> >>"
    yield "stamp", AREA, pdf(BAR, stamp, black, page=b"/Annots [5 0 R]")
    yield "remarks-in-a-ring", "", pdf(BAR, b"[5 0 R]", page=b"/Annots 5 0 R")
    names = (
        b"/Names << /EmbeddedFiles << /Names [(a) << /F (%s) /EF << /F 5 0 R >> >>] >> >>" % file
    )
    yield "file-inside", AREA, pdf(BAR, stream(b"MZ" * 99, b"/Type /EmbeddedFile"), root=names)
    xfa = b"/AcroForm << /XFA [(template) 5 0 R] /Fields [] >>"
    entity = b'<!DOCTYPE a [<!ENTITY a SYSTEM "%s">]><xdp>&a;</xdp>' % url
    yield "form-of-xml", AREA, pdf(BAR, stream(entity), root=xfa)
    other = b"<< /F (%s) /Length 0 >>\nstream\n\nendstream" % file
    yield "content-elsewhere", 0.0, pdf(body=other)


def drawn(bait: Bait) -> Made:
    """What a page draws that cannot be one bit a pixel, or cannot be drawn."""
    yield "nothing", 0.0, pdf(b"")
    shading = b"/Shading << /S << /ShadingType 2 /ColorSpace /DeviceGray /Coords [0 0 170 0] "
    ramp = b"/Function << /FunctionType 2 /Domain [0 1] /C0 [0] /C1 [1] /N 1 >> >> >>"
    yield "shading", "a gradient", pdf(b"/S sh", resources=shading + ramp)
    tile = b"/Type /Pattern /PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 1 1] "
    tile += b"/XStep %s /YStep %s /Resources << /Pattern << /P 5 0 R >> >>"
    used = b"/Pattern cs /P scn 0 0 170 113 re f"
    for name, step in {"itself": b"2", "tiny": b"0.00001", "none": b"0", "huge": b"1e30"}.items():
        inner = used if name == "itself" else b"0 0 1 1 re f"
        each = stream(inner, tile % (step, step))
        yield f"pattern-{name}", "", pdf(used, each, resources=b"/Pattern << /P 5 0 R >>")
    state = b"/ExtGState << /G << %s >> >>"
    yield "see-through", "translucent", pdf(b"/G gs " + BAR, resources=state % b"/ca 0.5")
    yield "blended", "translucent", pdf(b"/G gs " + BAR, resources=state % b"/BM /Multiply")
    mask = state % b"/SMask << /S /Luminosity /G 5 0 R >>"
    yield (
        "masked",
        "translucent|grey",
        pdf(b"/G gs " + BAR, form(b"0.5 g 0 0 999 999 re f"), resources=mask),
    )
    own = state % b"/SMask << /S /Alpha /G 5 0 R >>"
    yield "masked-by-itself", "", pdf(b"/G gs " + BAR, form(b"/G gs " + BAR, own), resources=own)
    font = b"/Font << /F << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >>"
    yield "font-elsewhere", "not in the file", pdf(b"BT /F 9 Tf (a) Tj ET", resources=font)
    file = bait.file("ttf").encode()
    outside = b"/FontDescriptor << /Type /FontDescriptor /FontName /X /Flags 4 /FontFile2 5 0 R >>"
    font = b"/Font << /F << /Type /Font /Subtype /TrueType /BaseFont /X %s >> >>" % outside
    body = stream(b"", b"/F (%s)" % file)
    yield (
        "font-in-another-file",
        "not in the file",
        pdf(b"BT /F 9 Tf (a) Tj ET", body, resources=font),
    )
    broken = stream(b"\0\1\0\0\xff\xff" + b"\xff" * 999)
    yield "font-broken", "", pdf(b"BT /F 9 Tf (a) Tj ET", broken, resources=font)
    glyph = (
        b"/Type /Font /Subtype /Type3 /FontBBox [0 0 9 9] /FontMatrix [1 0 0 1 0 0] /FirstChar 97 "
    )
    glyph += (
        b"/LastChar 97 /Widths [9] /Encoding << /Differences [97 /a] >> /CharProcs << /a 6 0 R >> "
    )
    glyph += b"/Resources << /Font << /F 5 0 R >> >>"
    again = stream(b"9 0 d0 BT /F 9 Tf (a) Tj ET")
    yield (
        "letter-of-itself",
        "",
        pdf(
            b"BT /F 9 Tf (a) Tj ET",
            b"<< " + glyph + b" >>",
            again,
            resources=b"/Font << /F 5 0 R >>",
        ),
    )
    yield "coloured", "neither black nor white", pdf(b"1 0 0 rg " + BAR)
    for number in (b"1e308", b"nan", b"inf", b"9" * 400, b"-99999999999"):
        path = b"%s 0 m 0 %s l %s %s l f " % (number, number, number, number)
        yield f"far-{number[:6].decode()}", "", pdf(path + BAR)
        yield (
            f"turned-{number[:6].decode()}",
            "",
            pdf(b"q %s 0 0 %s 0 0 cm %s Q " % (number, number, BAR) + BAR),
        )
    yield "thick", "", pdf(b"1e30 w 0 0 m 9 9 l S")
    yield "nothing-times", AREA, pdf(b"q 0 0 0 0 0 0 cm " + BAR + b"Q " + BAR)
    yield "unheard-of", AREA, pdf(b"BX frob (x) nicate EX ] >> ) 5 5 5 q Q Q Q Q " + BAR)
    yield "no-widths", "no width", pdf(b"0 w 0 0 m 9 9 l S")


def pictures(bait: Bait) -> Made:
    """Pictures: photographs, pictures elsewhere, pictures of absurd size."""
    gray, one = b"/ColorSpace /DeviceGray", b"/ColorSpace /DeviceGray /Filter /FlateDecode"
    use, named = b"q 170 0 0 113 0 0 cm /X Do Q", b"/XObject << /X 5 0 R >>"

    def shown(*made: bytes) -> bytes:
        return pdf(use, *made, resources=named)

    for kind in (b"DCTDecode", b"JPXDecode", b"JBIG2Decode", b"CCITTFaxDecode", b"Unheard"):
        for bits in (8, 1):
            ends = (
                BROKEN if kind == b"JBIG2Decode" else "" if b"Fax" in kind else "greys or colours"
            )
            data = b"\xff\xd8\xff\xe0" * 99
            yield (
                f"picture-{kind.decode()}-{bits}",
                ends,
                shown(picture(64, 64, data, gray + b" /Filter /" + kind, bits)),
            )
    few = zlib.compress(bytes(1000), 9)
    lines = zlib.compress(bytes(12_500_000), 9)
    yield "picture-of-few-rows", BROKEN, shown(picture(8000, 8000, few, one))
    yield "picture-bomb", BROKEN, shown(picture(100_000, 100_000, few, one))
    yield "picture-bomb-filled", "", shown(picture(10_000, 10_000, lines, one))
    yield "picture-beyond-all", "", shown(picture(2**31 - 1, 2**31 - 1, few, one))
    yield "picture-of-none", "", shown(picture(0, -5, few, one))
    fax = gray + b" /Filter /CCITTFaxDecode /DecodeParms << /K -1 /Columns %d /Rows %d >>"
    for side in (60_000, 10**9):
        yield f"fax-{side}", "", shown(picture(side, side, b"\xff" * 99, fax % (side, side)))
    predicted = one + b" /DecodeParms << /Predictor 15 /Columns 2000000000 /Colors 32 >>"
    yield "picture-predicted", "", shown(picture(64, 64, few, predicted))
    file = bait.file("png").encode()
    yield "picture-elsewhere", "", shown(picture(64, 64, b"", one + b" /F (%s)" % file))
    yield "picture-masked-by-itself", "", shown(picture(8, 8, bytes(8), gray + b" /Mask 5 0 R"))
    yield "picture-softly-masked", "", shown(picture(8, 8, bytes(8), gray + b" /SMask 5 0 R"))
    yield (
        "picture-in-line",
        "",
        pdf(b"q 9 0 0 9 0 0 cm BI /W 99999 /H 99999 /BPC 1 /CS /G ID x EI Q"),
    )


def bombs() -> Made:
    """What is short to write and long to draw."""
    named = b"/XObject << /X 5 0 R >>"
    yield (
        "form-of-itself",
        "groups more than 20 deep",
        pdf(b"/X Do " + BAR, form(b"/X Do " + BAR, named), resources=named),
    )
    ring = form(b"/X Do", b"/XObject << /X 6 0 R >>"), form(b"/X Do", named)
    yield (
        "forms-in-a-ring",
        "groups more than 20 deep",
        pdf(b"/X Do " + BAR, *ring, resources=named),
    )
    levels = [form(b"/X Do " * 10, b"/XObject << /X %d 0 R >>" % (6 + i)) for i in range(9)]
    yield "forms-of-forms", "", pdf(b"/X Do", *levels, form(BAR), resources=named)
    deep = [form(b"/X Do", b"/XObject << /X %d 0 R >>" % (6 + i)) for i in range(60)]
    yield (
        "forms-in-a-row",
        "groups more than 20 deep",
        pdf(b"/X Do", *deep, form(BAR), resources=named),
    )
    yield "content-packed-twice", "", pdf(body=packed(b" " * 10**8, 2))
    yield "content-packed-tenfold", "", pdf(body=packed(b" " * 10**8, 10))
    yield "saved-for-ever", "", pdf(b"q " * 500_000 + BAR)
    yield "objects", "more than 200000 objects", pdf(b"0 0 1 1 re f " * 250_000)
    yield "dashes", "", pdf(b"[0.0000001] 0 d 1 w 0 50 m 170 50 l S")
    yield "dashes-of-nothing", "", pdf(b"[0 0] 0 d 1 w 0 50 m 170 50 l S")
    yield "dashes-before", "", pdf(b"[0.001] 1e30 d 1 w 0 50 m 170 50 l S")
    yield "clips", "", pdf(b"0 0 170 113 re W n " * 20_000 + BAR)
    yield "slanted-clips", "more than 50 clips", pdf(b"0 0 m 170 0 l 90 113 l W n " * 5_000 + BAR)
    nodes = b"".join(b"%d %d l " % (i % 170, i * 7 % 113) for i in range(200_000))
    yield "nodes", "", pdf(b"0 0 m " + nodes + b"f")
