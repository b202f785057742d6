"""A maker's SVG drawing, parsed safely and checked before anything renders it.

Whatever cannot be one bit a pixel, or cannot be checked, is refused by name:
never guessed. Nothing outside the file is ever fetched.
"""

import math
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree as ET  # only its tree; the parsing is done below
from xml.parsers import expat

from PIL import ImageColor

from etchcalc.core.faults import BadInput

LARGEST = 20_000_000  # bytes
_DEEPEST = 200  # elements within one another
_MOST_ATTRIBUTES = 1000  # of an element; the renderer compares each with each
_SVG = "{http://www.w3.org/2000/svg}"
_MILLIMETRES = {"mm": 1.0, "cm": 10.0, "in": 25.4}
_MM_A_PIXEL = 25.4 / 96
# A point counts as three quarters of a pixel in every SVG; whether its maker meant it is unsure.
_PIXELS = {"": 1.0, "px": 1.0, "pt": 4 / 3, "pc": 16.0}
BLACKEST, WHITEST = 64, 230  # of 255: darker in every channel is black, lighter is white


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_DRAWN = _words(
    "svg g defs symbol use path rect circle ellipse line polyline polygon clipPath mask "
    "style switch marker"
)
# Says nothing, or is only reached through a paint, which is refused where it is used.
_DROPPED = _words(
    "title desc metadata view linearGradient radialGradient meshgradient pattern hatch "
    "filter solidColor font font-face color-profile cursor"
)
_REFUSED = {
    "text": "live text: convert text to outlines (paths)",
    "flowRoot": "live text: convert text to outlines (paths)",
    "image": "an embedded image: trace it to black shapes, or take it out",
    "foreignObject": "a foreign object: take it out",
    "script": "a script: take it out",
    "a": "a link: take it out (ungroup it)",
    "animate": "an animation: take it out",
    "animateTransform": "an animation: take it out",
    "animateMotion": "an animation: take it out",
    "animateColor": "an animation: take it out",
    "set": "an animation: take it out",
}
_PAINT_NAMES = {
    "linearGradient": "a gradient",
    "radialGradient": "a gradient",
    "meshgradient": "a gradient",
    "pattern": "a pattern",
    "hatch": "a pattern",
}
_UNPAINTED = frozenset(("none", "inherit", "currentcolor", "context-fill", "context-stroke"))
_SOLID_ONLY = "Accepted is solid black on white"
_REMARK = r"/\*.*?(?:\*/|\Z)"  # one that is never closed goes to the end
# A style sheet's rule: its selectors and its body, each begun only where none is begun.
RULE = re.compile(r"(?<![^{}])([^{}]*)\{([^{}]*)\}")


def parse_drawing(path: Path | str) -> ET.Element:
    """Return the checked tree of an SVG drawing, ready to be rendered.

    Parameters
    ----------
    path : path
        An SVG file of at most 20 MB.

    Returns
    -------
    Element
        The root. Hidden parts, comments, editors' notes and unused paints are gone.

    Raises
    ------
    BadInput
        One sentence that says what the drawing holds that a film cannot, what
        is accepted and what to do.
    """
    path = Path(path)
    root = _parsed(_contents(path), path.name)
    paints = {name: local_name(e) for e in root.iter() if (name := e.get("id")) is not None}
    _prune(root)
    for element in root.iter():
        _check_element(element, paints)
    return root


def drawn_size(root: ET.Element, unit: float | None = None) -> tuple[float, float, bool]:
    """Return the drawing's own width and height in millimetres, and whether they are sure.

    Parameters
    ----------
    root : Element
        The drawing.
    unit : float, optional
        Millimetres to a unit of a drawing that is not sized in mm, cm or in;
        without it such a drawing counts 96 pixels to the inch, unsure.

    Raises
    ------
    BadInput
        Where it has no size at all, or none above nought.
    """
    said = [root.get(side, "").strip() for side in ("width", "height")]
    sure = [_length(text, _MILLIMETRES) for text in said]
    if None not in sure:
        return sure[0], sure[1], True  # type: ignore[return-value]  # None is not in it
    box = [_length(side, {"": 1.0}) for side in root.get("viewBox", "").replace(",", " ").split()]
    seen = (box if len(box) == 4 else [None] * 4)[2:]
    pixels = [_length(text, _PIXELS) for text in said]
    sides = [
        first or second
        for first, second in zip(*((seen, pixels) if unit else (pixels, seen)), strict=True)
    ]
    if not all(sides):
        raise BadInput(
            "The drawing does not say how large it is: set the document's unit to mm and save it "
            'again, so that it begins with a size such as width="120mm" height="45mm".'
        )
    scale = unit or _MM_A_PIXEL
    return sides[0] * scale, sides[1] * scale, unit is not None


def _contents(path: Path) -> bytes:
    """Return the file's bytes, refusing what is missing, empty or too large."""
    try:
        size = path.stat().st_size
        if size > LARGEST:
            raise BadInput(
                f"The drawing {path.name} has {size / 1e6:.0f} MB; accepted are up to "
                f"{LARGEST / 1e6:.0f} MB: simplify its paths or take out embedded images."
            )
        data = path.read_bytes()
    except OSError as fault:
        raise BadInput(
            f"The drawing {path.name} cannot be opened ({fault.strerror}): give the path of an "
            "SVG file that is there."
        ) from fault
    if data.startswith(b"\x1f\x8b"):
        raise BadInput(
            f"The drawing {path.name} is compressed (svgz): unpack it, or save it as plain SVG."
        )
    if not data.strip():
        raise BadInput(f"The drawing {path.name} is empty: save it again as SVG.")
    return data


def _parsed(data: bytes, name: str) -> ET.Element:
    """Return the tree of an SVG, without its comments; no entity is ever expanded."""
    builder = ET.TreeBuilder()
    parser = expat.ParserCreate(namespace_separator="}")
    parser.buffer_text = True
    depth = 0

    def named(text: str) -> str:
        return "{" + text if "}" in text else text

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > _DEEPEST:
            raise BadInput(
                f"The drawing {name} has groups more than {_DEEPEST} deep: ungroup them."
            )
        if len(attributes) > _MOST_ATTRIBUTES:
            raise BadInput(
                f"The drawing {name} holds an element with more than {_MOST_ATTRIBUTES} "
                "attributes: save it again as plain SVG."
            )
        builder.start(named(tag), {named(key): value for key, value in attributes.items()})

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(named(tag))

    def doctype(_name: str, _system: object, _public: object, has_internal: int) -> None:
        if has_internal:
            raise BadInput(
                f"The drawing {name} defines entities in its DOCTYPE, which are not read: save "
                "it again as plain SVG."
            )

    def instruction(target: str, _data: str) -> None:
        if target == "xml-stylesheet":
            raise BadInput(_external("a style sheet"))

    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.CharacterDataHandler = builder.data
    parser.StartDoctypeDeclHandler, parser.ProcessingInstructionHandler = doctype, instruction
    try:
        parser.Parse(data, True)
        root = builder.close()
    except (UnicodeError, LookupError) as fault:
        raise BadInput(
            f"{name} cannot be read as an SVG drawing (it is in letters of an unknown kind): save "
            "it again as plain SVG."
        ) from fault
    except (expat.ExpatError, ValueError) as fault:
        if isinstance(fault, BadInput):
            raise
        raise BadInput(
            f"{name} cannot be read as an SVG drawing ({fault}): save it again as plain SVG."
        ) from fault
    if root.tag != _SVG + "svg":
        raise BadInput(
            f"{name} is not an SVG drawing (it holds <{shown(local_name(root))}>): save it as plain SVG."
        )
    return root


def _prune(parent: ET.Element) -> None:
    """Take out all that is not drawn, and what could act: hidden parts, notes, handlers."""
    for key in list(parent.attrib):
        if key.startswith(("on", "{")) and not key.endswith("}href"):
            del parent.attrib[key]
    for child in list(parent):
        if not child.tag.startswith(_SVG) or local_name(child) in _DROPPED or _is_hidden(child):
            parent.remove(child)
        else:
            _prune(child)


def _is_hidden(element: ET.Element) -> bool:
    """Return whether an element says itself that it is not displayed."""
    inline = dict(declarations(element.get("style", "")))
    return inline.get("display", element.get("display", "")).strip() == "none"


def _check_element(element: ET.Element, paints: dict[str, str]) -> None:
    """Refuse an element, or a property of one, that a film cannot hold."""
    kind = local_name(element)
    if kind not in _DRAWN:
        what = _REFUSED.get(kind, f"<{shown(kind)}>: take it out")
        raise BadInput(f"The drawing holds {what}. Only shapes in solid black and white are read.")
    for key, value in element.attrib.items():
        if key.rpartition("}")[2] == "href" and not value.startswith("#"):
            raise BadInput(_external(value))
        if key != "style":
            _check_property(key, value, paints)
    inline = element.get("style", "")
    sheet = rules(element.text or "") if kind == "style" else ()
    for key, value in (*declarations(inline), *sheet):
        if key in ("transform", "d"):
            raise BadInput(
                f"The drawing sets {key} in a style, which is not read alike everywhere: save it "
                "again as plain SVG."
            )
        _check_property(key, value, paints)


def _check_property(key: str, value: str, paints: dict[str, str]) -> None:
    """Refuse a presentation property that does not leave pure black and white."""
    value = value.strip()
    for target in re.findall(r"url\(\s*['\"]?([^'\")]*)", value):
        if not target.startswith("#"):
            raise BadInput(_external(target))
    if key in ("fill", "stroke", "color"):
        _check_paint(key, value, paints)
    elif key in ("opacity", "fill-opacity", "stroke-opacity"):
        _check_opacity(key, value)
    elif key == "filter" and value != "none":
        raise BadInput(f"The drawing uses a filter. {_SOLID_ONLY}: take the filter off.")
    elif key == "mix-blend-mode" and value != "normal":
        raise BadInput(
            f"The drawing blends colours ({shown(value)}). {_SOLID_ONLY}: take that off."
        )
    elif key == "vector-effect" and value != "none":
        raise BadInput(
            f"The drawing uses {shown(value)}, which has no true size: convert it to a path."
        )
    elif key == "-inkscape-stroke" and value == "hairline":
        raise BadInput("The drawing holds a hairline, which has no true width: give it one in mm.")


def _check_paint(key: str, value: str, paints: dict[str, str]) -> None:
    """Refuse a fill or stroke that is neither black, white nor nothing."""
    if match := re.match(r"url\(\s*['\"]?#([^'\")]*)", value):
        name = _PAINT_NAMES.get(paints.get(match[1], ""), "a paint that cannot be read")
        raise BadInput(f"The drawing uses {name}. {_SOLID_ONLY}: give it a solid colour.")
    if value.lower() in _UNPAINTED:
        return
    if value.lower() == "transparent":
        return
    try:
        channels = ImageColor.getrgb(value)
    except ValueError as fault:
        raise BadInput(
            f"The drawing has the {key} '{shown(value)}', which cannot be read. {_SOLID_ONLY}: write "
            "#000000 or #ffffff."
        ) from fault
    if len(channels) == 4 and channels[3] < 255:
        raise BadInput(f"The drawing has the translucent {key} {value}. {_SOLID_ONLY}.")
    if max(channels[:3]) > BLACKEST and min(channels[:3]) < WHITEST:
        raise BadInput(
            f"The drawing has the {key} {value}, which is neither black nor white. {_SOLID_ONLY}: "
            "make it black (#000000) or white (#ffffff)."
        )


def _check_opacity(key: str, value: str) -> None:
    """Refuse anything less than opaque."""
    try:
        share = float(value.rstrip("%")) / (100 if value.endswith("%") else 1)
    except ValueError:
        share = 1.0 if value == "inherit" else 0.0
    if not share > 0.995:
        raise BadInput(
            f"The drawing is translucent somewhere ({key} {shown(value)}). {_SOLID_ONLY}: make it opaque."
        )


def declarations(style: str) -> Iterator[tuple[str, str]]:
    """Yield each property and value of a style attribute or a rule's body."""
    for declaration in re.sub(_REMARK, "", style, flags=re.DOTALL).split(";"):
        key, colon, value = declaration.partition(":")
        if colon:
            yield key.strip().lower(), value.replace("!important", "").strip()


def rules(sheet: str) -> Iterator[tuple[str, str]]:
    """Yield each declaration of a style sheet, whichever elements it is meant for."""
    sheet = re.sub(rf"{_REMARK}|<!--|-->", "", sheet, flags=re.DOTALL)
    if "@" in sheet or "\\" in sheet:
        raise BadInput(
            "The drawing's style sheet holds a rule that cannot be checked (with @ or \\): save "
            "it again as plain SVG with presentation attributes."
        )
    for body in re.findall(r"\{([^{}]*)\}", sheet):
        yield from declarations(body)


def _length(text: str, units: dict[str, float]) -> float | None:
    """Return a length above nought in units, None where its unit is none of them."""
    match = re.fullmatch(r"\s*\+?([0-9.]+(?:e[+-]?\d+)?)\s*([a-z]*)\s*", text, re.IGNORECASE)
    try:
        length = float(match[1]) * units[match[2].lower()] if match else 0.0
    except (ValueError, KeyError):
        return None
    return length if 0 < length < math.inf else None


def _external(what: str) -> str:
    """Return the sentence that refuses a thing outside the file."""
    return (
        f"The drawing refers to something outside itself ({shown(what)}), which is never fetched: "
        "put it into the file as black shapes, or take it out."
    )


def shown(text: str) -> str:
    """Return what a drawing says as it can stand in a sentence: short, and printable."""
    return "".join(letter if letter.isprintable() else "?" for letter in text[:60])


def local_name(element: ET.Element) -> str:
    """Return an element's name without its namespace."""
    return element.tag.rpartition("}")[2]
