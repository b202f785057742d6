"""Hostile and broken SVG drawings."""

import base64
import gzip
from collections.abc import Iterator

from hostile_case import Bait, Case, cut

BAR = '<rect x="10" y="10" width="20" height="10"/>'
AREA = 200.0
SIZED = 'width="60mm" height="40mm" viewBox="0 0 60 40"'
LINKS = 'xmlns:xlink="http://www.w3.org/1999/xlink"'
FAR = r"refers to something outside itself"
UNREAD = "cannot be read as an SVG drawing"
MANY = "parts once all copies are laid out|copies more than"
BEYOND = "beyond all bounds|cannot be read"


def svg(body: str, about: str = SIZED, before: str = "") -> bytes:
    return f'{before}<svg xmlns="http://www.w3.org/2000/svg" {LINKS} {about}>{body}</svg>'.encode()


def files(bait: Bait) -> Iterator[Case]:
    yield from cut("cut.svg", svg(f"<g>{BAR * 4}</g>" * 3), UNREAD)
    for i, (ends, body) in enumerate(drawn(bait)):
        yield Case(f"drawn-{i:02}.svg", svg(body), ends)
    for i, (ends, about) in enumerate(SIZES):
        yield Case(f"size-{i:02}.svg", svg(BAR, about), ends)
    for i, (ends, before, body) in enumerate(prologues(bait)):
        yield Case(f"prologue-{i}.svg", svg(body, before=before), ends)
    yield from letters()
    yield from bombs()


def prologues(bait: Bait) -> Iterator[tuple[str | float, str, str]]:
    """What stands before the drawing: entities, style sheets, declarations."""
    entities = "defines entities"
    laughs = '<!ENTITY a0 "ha">' + "".join(
        f'<!ENTITY a{i} "' + f"&a{i - 1};" * 10 + '">' for i in range(1, 10)
    )
    yield entities, f"<!DOCTYPE svg [{laughs}]>", "<desc>&a9;</desc>" + BAR
    long = '<!ENTITY a "' + "x" * 100_000 + '">'
    yield entities, f"<!DOCTYPE svg [{long}]>", "<desc>" + "&a;" * 10_000 + "</desc>" + BAR
    for where in ("file:///etc/passwd", bait.file("svg"), bait.url + "entity"):
        yield entities, f'<!DOCTYPE svg [<!ENTITY a SYSTEM "{where}">]>', f"&a;{BAR}"
    yield entities, f'<!DOCTYPE svg [<!ENTITY % a SYSTEM "{bait.url}dtd"> %a;]>', BAR
    yield AREA, f'<!DOCTYPE svg SYSTEM "{bait.url}dtd">', BAR
    yield AREA, f'<!DOCTYPE svg SYSTEM "{bait.file("dtd")}">', BAR
    yield FAR, f'<?xml-stylesheet href="{bait.url}css" type="text/css"?>', BAR
    yield FAR, f'<?xml-stylesheet href="{bait.file("css")}" type="text/xsl"?>', BAR
    yield AREA, "<?php system('touch pwned'); ?>", BAR
    yield entities, "<!DOCTYPE svg [<!ENTITY a ", BAR


def drawn(bait: Bait) -> Iterator[tuple[str | float, str]]:
    """What stands in the drawing: what is outside it, what acts, what is no black and white."""
    black = base64.b64encode(svg('<rect width="60" height="40"/>')).decode()
    places = (bait.url + "a.svg#a", bait.file("svg") + "#a", "file:///etc/passwd", "//127.0.0.1/a")
    data = f"data:image/svg+xml;base64,{black}"
    for where in (*places, data):
        yield FAR, f'<use href="{where}"/>{BAR}'
        yield "embedded image", f'<image href="{where}" width="60" height="40"/>{BAR}'
        yield FAR, f'<g style="clip-path:url({where})">{BAR}</g>'
    for key in ("fill", "stroke", "mask", "filter", "marker-end", "cursor"):
        yield FAR, f'<path d="M0 0h60v40z" {key}="url({bait.url}{key}#a)"/>{BAR}'
    for rule in ("@import '%s';", "@import url(%s);", "@font-face{font-family:a;src:url(%s)}"):
        yield "style sheet holds a rule", f"<style>{rule % (bait.url + 'css')}</style>{BAR}"
    yield "style sheet holds a rule", f"<style>\\40 import '{bait.url}css';</style>{BAR}"
    yield FAR, f"<style>.a{{fill:url('{bait.file('svg')}#a')}}</style>{BAR}"
    yield "cannot be read", f'<path style="fill:u\\72l({bait.url}a)" d="M0 0h9v9"/>{BAR}'
    yield AREA, f'<include xmlns="http://www.w3.org/2001/XInclude" href="{bait.file("svg")}"/>{BAR}'
    yield AREA, f'<link xmlns="http://www.w3.org/1999/xhtml" href="{bait.url}css"/>{BAR}'
    yield "<tref>", f'<tref xlink:href="{bait.file("svg")}#a"/>{BAR}'
    yield AREA, f'<g xml:base="{bait.url}">{BAR}</g>'
    yield AREA, f'<filter id="a"><feImage href="{bait.url}a.png"/></filter>{BAR}'
    yield "uses a filter", f'<filter id="a"><feTurbulence/></filter><g filter="url(#a)">{BAR}</g>'
    yield (
        "uses a pattern",
        (
            '<pattern id="a" width="1e-9" height="1e-9" fill="url(#a)"><path fill="url(#a)" '
            'd="M0 0h1v1z"/></pattern><rect fill="url(#a)" width="60" height="40"/>'
        ),
    )
    yield "a script", f"<script>fetch('{bait.url}')</script>{BAR}"
    yield AREA, f"<g onload=\"fetch('{bait.url}')\">{BAR}</g>"
    yield "a link", f'<a href="javascript:fetch(1)">{BAR}</a>'
    frame = f'<iframe xmlns="http://www.w3.org/1999/xhtml" src="{bait.url}"/>'
    yield "foreign object", f"<foreignObject>{frame}</foreignObject>{BAR}"
    yield "an animation", f'<set attributeName="href" to="{bait.url}"/>{BAR}'
    yield "live text", f'<text font-family="{bait.url}">a</text>{BAR}'
    yield "holds <unheard>", f"<unheard/>{BAR}"
    for odd in ("&#10;two lines", "\u202eright to left", "&#133;", "long" * 9999):
        yield "cannot be read", f'<g fill="{odd}">{BAR}</g>'
        yield "translucent", f'<g opacity="{odd}">{BAR}</g>'
        yield "blends colours", f'<g mix-blend-mode="{odd}">{BAR}</g>'
        yield "cannot be read", f'<path d="{odd}"/>{BAR}'
        yield FAR, f'<use href="{odd}"/>{BAR}'
    yield 0.0, ""
    yield AREA, f'<use href="#gone"/><g clip-path="none">{BAR}</g>'
    for number in ("1e308", "1e99999", "-1e12", "nan", "inf", "0x10", "1" * 400, "1e-99999"):
        ends = AREA if number == "1e-99999" else BEYOND
        yield ends, f'<rect width="{number}" height="0"/>{BAR}'
        yield ends, f'<path d="M0 0L{number} 0"/>{BAR}'
        yield ends, f'<g transform="translate({number})"><path d="M0 0"/></g>{BAR}'
    yield AREA, f'<g transform="matrix(0 0 0 0 0 0)">{BAR}</g>{BAR}'
    yield AREA, f'<g transform="scale(1e-200)">{BAR}</g>{BAR}'
    yield AREA, '<g transform="' + "scale(1e6)" * 60 + f'">{BAR}</g>{BAR}'
    yield "vector-effect|no true size", f'<g vector-effect="non-scaling-stroke">{BAR}</g>'


SIZES: list[tuple[str | float, str]] = [
    ("viewBox", 'width="0" height="0" viewBox="0 0 0 0"'),
    ("viewBox", 'width="60mm" height="40mm" viewBox="0 0 0 40"'),
    ("viewBox", 'width="60mm" height="40mm" viewBox="0 0 -60 -40"'),
    (BEYOND, 'width="60mm" height="40mm" viewBox="0 0 1e300 1e300"'),
    (BEYOND, 'width="60mm" height="40mm" viewBox="nan nan nan nan"'),
    ("viewBox", 'width="60mm" height="40mm" viewBox="0 0 1e-300 1e-300"'),
    ("viewBox", 'width="60mm" height="40mm" viewBox="0 0 60"'),
    ("how large it is", 'width="-60mm" height="40mm"'),
    (BEYOND, 'width="1e9mm" height="1e9mm" viewBox="0 0 60 40"'),
    ("plate is 60 × 40 mm", 'width="10000mm" height="10000mm" viewBox="0 0 60 40"'),
    ("cannot be read", 'width="10m" height="10m" viewBox="0 0 60 40"'),
    ("how large it is|true size", 'width="100%" height="100%"'),
    ("how large it is", ""),
    (AREA, f'{SIZED} preserveAspectRatio="none" x="1e6" y="1e6"'),
    ("cannot be read", 'width="1' + " " * 200_000 + '!" height="40mm"'),
]


def letters() -> Iterator[Case]:
    """The same drawing in other letters, and in what is none."""
    text = svg(BAR).decode()
    for name in ("utf-16", "utf-16-be", "utf-16-le", "utf-8-sig"):
        yield Case(f"{name}.svg", text.encode(name), AREA)
    for name in ("utf-7", "utf-32", "rot13", "zlib_codec", "undefined", "idna", "cp037", "", "ä"):
        data = f'<?xml version="1.0" encoding="{name}"?>{text}'.encode()
        yield Case(f"said-{name or 'nothing'}.svg", data, UNREAD)
    seven = '<?xml version="1.0" encoding="utf-7"?>' + text.replace("<", "+ADw-")
    yield Case("utf-7-tags.svg", seven.encode(), UNREAD)
    yield Case("noughts-inside.svg", text.replace("<rect", "<rect\0").encode(), UNREAD)
    yield Case("noughts-before.svg", b"\0" * 9 + text.encode(), UNREAD)
    yield Case("two-marks.svg", b"\xef\xbb\xbf" * 2 + text.encode(), "none of the kinds")
    yield Case("not-letters.svg", text.encode().replace(b"<rect", b"<!--\xff\xfe--><rect"), UNREAD)
    yield Case("also-a-pdf.svg", svg(f"<!-- %PDF-1.7 %%EOF -->{BAR}"), AREA)
    yield Case("named.pdf", svg(BAR), AREA)
    yield Case("packed.svg", gzip.compress(svg("<g/>" * 10**6)), "compressed")
    yield Case("packed-bomb.svgz", gzip.compress(bytes(10**8)), "compressed")
    yield Case("page.svg", b"<html><svg/></html>", "not an SVG drawing")
    yield Case("two-roots.svg", svg(BAR) * 2, UNREAD)
    yield Case("large.svg", svg(BAR + "<!--" + " " * 20_000_000 + "-->"), "accepted are up to")


def copies(element: str, many: int, deep: int) -> str:
    """Copies of copies, `many` at each of `deep` levels."""
    levels = (
        f'<{element} id="a{i}">' + f'<use xlink:href="#a{i - 1}"/>' * many + f"</{element}>"
        for i in range(1, deep)
    )
    return f'<defs><g id="a0">{BAR}</g>{"".join(levels)}</defs><use href="#a{deep - 1}"/>'


def within(tag: str, deep: int, about: str = "") -> str:
    return f"<{tag} {about}>" * deep + BAR + f"</{tag}>" * deep


def chain(tag: str, key: str, deep: int) -> str:
    """Clips (or masks) each of which is cut by the one before."""
    each = (
        f'<{tag} id="c{i}"><rect width="60" height="40" fill="#fff" {key}="url(#c{i - 1})"/></{tag}>'
        for i in range(1, deep)
    )
    first = f'<{tag} id="c0"><rect width="60" height="40" fill="#fff"/></{tag}>'
    return f'{first}{"".join(each)}<g {key}="url(#c{deep - 1})">{BAR}</g>'


def bombs() -> Iterator[Case]:
    """What is short to write and long to draw."""
    itself = "copies itself"
    layers = "clips and masks"
    deep = "groups more than 200 deep"
    dashed = '<path d="M0 20H60" stroke="#000" stroke-dasharray='
    made: list[tuple[str, str | float, str]] = [
        ("copies-of-copies", MANY, copies("g", 10, 10)),
        ("symbols-of-symbols", MANY, copies("symbol", 2, 40)),
        ("copies-in-a-row", MANY, copies("g", 1, 5000)),
        ("copy-of-itself", itself, '<use id="a" href="#a"/>'),
        ("copy-of-what-holds-it", itself, f'<g id="a">{BAR}<use href="#a"/></g>'),
        ("copies-in-a-ring", itself, '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'),
        ("symbol-in-itself", itself, '<symbol id="a"><use href="#a"/></symbol><use href="#a"/>'),
        ("clip-by-itself", itself, f'<clipPath id="a" clip-path="url(#a)">{BAR}</clipPath>{BAR}'),
        ("mask-by-itself", itself, f'<mask id="a"><g mask="url(#a)">{BAR}</g></mask>{BAR}'),
        ("mask-in-a-style", itself, f"<mask id='a'><g style='mask:url(#a)'>{BAR}</g></mask>{BAR}"),
        ("groups", deep, within("g", 100_000)),
        ("drawings", deep, within("svg", 100_000)),
        ("groups-just-allowed", AREA, within("g", 190)),
        ("drawings-just-allowed", AREA, within("svg", 150)),
        ("clips", layers, chain("clipPath", "clip-path", 60)),
        ("masks", layers, chain("mask", "mask", 60)),
        ("clips-just-allowed", AREA, chain("clipPath", "clip-path", 8)),
        ("masks-just-allowed", AREA, chain("mask", "mask", 8)),
        ("clipped-groups", layers, '<clipPath id="a"><path d="M0 0h1v1"/></clipPath>' + within("g", 150, 'clip-path="url(#a)"')),
        ("dashes", "dashes so short", f'{dashed}"1e-7"/>'),
        ("dashes-of-nothing", 60.0, f'{dashed}"0"/>'),
        ("dashes-below-nothing", "dashes so short", f'{dashed}"-1e-9 1e-9"/>'),
        ("dashes-in-a-style", "dashes so short", "<style>*{stroke-dasharray:1e-9}</style>" + BAR),
        ("markers", MANY, '<marker id="m"><g>' + BAR * 100 + '</g></marker><path marker-mid="url(#m)" d="M0 0' + "l1 1" * 5000 + '"/>'),
        ("marker-in-itself", itself, '<marker id="m"><path d="M0 0L1 1" marker-end="url(#m)"/></marker>' + BAR),
        ("remarks-never-closed", AREA, "<style>" + "/*" * 200_000 + f"</style>{BAR}"),
        ("remarks-in-a-style", AREA, '<g style="' + "/*" * 200_000 + f'">{BAR}</g>'),
        ("sheet-without-rules", AREA, "<style>" + "a" * 400_000 + f"</style>{BAR}"),
        ("path-that-is-none", "cannot be read", '<path d="M' + "0 0," * 200_000 + 'x"/>'),
        ("transform-that-is-none", "cannot be read", '<g transform="' + "scale(1) " * 100_000 + 'x"/>'),
        ("colour-that-is-none", "which cannot be read", '<g fill="rgb(' + "1," * 100_000 + '"/>'),
        ("attributes", "more than 1000 attributes", "<g " + " ".join(f'a{i}="1"' for i in range(50_000)) + f"/>{BAR}"),
        ("elements", MANY, "<g/>" * 250_000),
        ("stroke-beyond-all", BEYOND, '<path d="M0 0L1 1" stroke="#000" stroke-width="1e30"/>'),
        ("stroke-in-a-style", BEYOND, '<path d="M0 0L1 1" style="stroke:#000;stroke-width:1e38"/>'),
        ("mitre", "", '<path d="M10 10L20 10L10 10.0001" stroke="#000" stroke-miterlimit="1e38"/>'),
        ("arc-beyond-all", "", '<path d="M10 10A9999999 1e-7 0 0 1 20 20"/>'),
    ]  # fmt: skip
    for name, ends, body in made:
        yield Case(f"{name}.svg", svg(body), ends)
    nodes = "".join(f"L{i % 60} {i * 7 % 40}" for i in range(200_000))
    yield Case("nodes.svg", svg(f'<path d="M0 0{nodes}"/>'), "")
    dots = "".join(f'<circle cx="{i % 60}" cy="{i % 40}" r="0.2"/>' for i in range(100_000))
    yield Case("dots.svg", svg(dots), "")
