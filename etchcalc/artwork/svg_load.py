"""How much work an SVG drawing would be, judged before it is rendered.

A few hundred letters can ask for a million copies, a million dashes or masks
within masks, and a renderer draws coordinates beyond its reach silently wrong.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from etchcalc.artwork.svg_checks import RULE, declarations, local_name, rules, shown
from etchcalc.artwork.svg_outline import ARC, GAP, NUMBER, numbers, outline_length
from etchcalc.core.faults import BadInput

PARTS = 200_000  # elements once copies are laid out; 200 letters of a path count as one more
DASHES = 200_000
LAYERS = 5_000  # clips and masks
_NESTED_LAYERS = 8  # each holds a picture of its own meanwhile
_DEEPEST = 200  # elements within one another once copies are laid out
_FURTHEST = 1e7  # user units; further out the renderer loses shapes

_ARGUMENTS = {"HhVv": 1, "MmLlTt": 2, "SsQq": 4, "Cc": 6}
_COMMANDS = "|".join(
    [rf"[{letters}](?:{(GAP + NUMBER) * many})++" for letters, many in _ARGUMENTS.items()]
    + [f"[Aa](?:{GAP}{ARC})++", "[Zz]"]
)
_LIST = rf"(?:{GAP}{NUMBER})*+{GAP}"
_LENGTH = rf"\s*+(?:{NUMBER}(?:px|pt|pc|mm|cm|in|Q|em|ex|rem|%)?|auto|)\s*+"
_TRANSFORM = rf"(?:{GAP}(?:matrix|translate|scale|rotate|skewX|skewY)\s*+\({_LIST}\))*+{GAP}"
_LENGTHS = "x y width height rx ry r cx cy x1 y1 x2 y2 stroke-width markerWidth markerHeight"
_GRAMMARS = {
    "d": re.compile(rf"{GAP}(?:(?=[Mm])(?:(?:{_COMMANDS}){GAP})++)?+"),
    "points": re.compile(_LIST),
    "transform": re.compile(_TRANSFORM),
    "viewBox": re.compile(_LIST),
    **{key: re.compile(_LENGTH, re.IGNORECASE) for key in _LENGTHS.split()},
}
_MAY_BE_LARGE = re.compile(r"(?<![\d.])\d{8}|[eE]\+?\d")
_SIMPLER = "simplify it and save it again as plain SVG"
_TOO_DEEP = f"The drawing has copies more than {_DEEPEST} deep: {_SIMPLER}."


@dataclass(frozen=True)
class _Load:
    """What an element asks for, with all that is within it and that it copies."""

    parts: int = 0
    layers: int = 0
    nested: int = 0
    deep: int = 1
    letters: int = 0
    length: float = 0.0


def check_load(root: ET.Element) -> int:
    """Refuse a drawing whose shapes cannot be read, or that is too much to render.

    Returns
    -------
    int
        How much there is to do before the first pixel, in letters of a path.
    """
    periods = [period for element in root.iter() for period in _periods(element)]
    for element in root.iter():
        _check_numbers(element)
    load = _weighed(root, dashed=bool(periods))
    dashes = load.length / min(periods) if periods else 0.0
    if dashes > DASHES:
        raise BadInput(
            f"The drawing has dashes so short ({min(periods):g} of its units from one to the next) "
            f"that there might be more than {DASHES:,}: draw those lines solid, or make the "
            "dashes longer."
        )
    return round(load.letters + 100 * load.parts + 10 * dashes)


def _check_numbers(element: ET.Element) -> None:
    """Refuse what would be drawn in part only, or not at all, and what lies absurdly far out."""
    kind = local_name(element)
    inline = declarations(element.get("style", ""))
    sheet = rules(element.text or "") if kind == "style" else ()
    for key, text in (*element.attrib.items(), *inline, *sheet):
        if key not in _GRAMMARS:
            continue
        if not _GRAMMARS[key].fullmatch(text):
            raise BadInput(
                f'The drawing holds a <{kind}> whose {key} cannot be read ("{shown(text)}"): save '
                "it again as plain SVG, or take it out."
            )
        if _MAY_BE_LARGE.search(text) and any(
            abs(float(number)) > _FURTHEST for number in numbers(text)
        ):
            raise BadInput(
                f"The drawing holds a <{kind}> whose {key} goes beyond all bounds; accepted are "
                f"numbers up to {_FURTHEST:,.0f}: take it out, or draw it smaller."
            )
    sides = numbers(element.get("viewBox", "0 0 1 1"))
    if len(sides) != 4 or min(map(float, sides[2:])) < 1 / _FURTHEST:
        raise BadInput(
            f'The drawing has the viewBox "{shown(element.get("viewBox", ""))}": accepted are four '
            "numbers (left, top, width and height), the last two above nought: save it again."
        )


def _weighed(root: ET.Element, dashed: bool) -> _Load:
    """Return a drawing's load, each element weighed once however often it is copied."""
    named = {name: element for element in root.iter() if (name := element.get("id"))}
    sheets = _sheets(root)
    known: dict[ET.Element, _Load] = {}
    above: list[ET.Element] = []

    def weighed(element: ET.Element) -> _Load:
        if element in known:
            return known[element]
        if element in above:
            raise BadInput(
                f"The drawing holds a <{local_name(element)}> that copies itself: take it out, and "
                "save the drawing again as plain SVG."
            )
        if len(above) > _DEEPEST:
            raise BadInput(_TOO_DEEP)
        above.append(element)
        used = [(key, named[name]) for key, name in _used(element, sheets) if name in named]
        loads = [weighed(child) for child in (*element, *(target for _, target in used))]
        markers = sum(known[target].parts for key, target in used if key.startswith("marker"))
        above.pop()
        known[element] = load = _together(element, loads, markers, [key for key, _ in used], dashed)
        _check_total(load)
        return load

    return weighed(root)


def _together(
    element: ET.Element, loads: list[_Load], markers: int, uses: list[str], dashed: bool
) -> _Load:
    """Return the load of an element from those of all it holds and uses."""
    shape = element.get("d") or element.get("points") or ""
    letters = len(shape) + sum(load.letters for load in loads)
    layers = sum(key in ("clip-path", "mask") for key in uses)
    return _Load(
        # A marker stands at each node of all that is within: at most one in two letters.
        parts=1 + len(shape) // 200 + sum(load.parts for load in loads) + markers * letters // 2,
        layers=layers + sum(load.layers for load in loads),
        nested=layers + max((load.nested for load in loads), default=0),
        deep=1 + max((load.deep for load in loads), default=0),
        letters=letters,
        length=(outline_length(element) if dashed else 0.0) + sum(load.length for load in loads),
    )


def _check_total(load: _Load) -> None:
    if load.deep > _DEEPEST:
        raise BadInput(_TOO_DEEP)
    if load.parts > PARTS:
        raise BadInput(
            f"The drawing has more than {PARTS:,} parts once all copies are laid out: {_SIMPLER}."
        )
    if load.layers > LAYERS or load.nested > _NESTED_LAYERS:
        raise BadInput(
            f"The drawing has more than {LAYERS:,} clips and masks, or more than {_NESTED_LAYERS} "
            f"within one another: {_SIMPLER}."
        )


def _sheets(root: ET.Element) -> dict[str, list[tuple[str, str]]]:
    """Return what each class of the style sheets refers to: properties and names."""
    found: dict[str, list[tuple[str, str]]] = {}
    for sheet in (e.text or "" for e in root.iter() if local_name(e) == "style"):
        for selector, body in RULE.findall(sheet):
            for name in re.findall(r"\.([\w-]+)", selector):
                found.setdefault(name, []).extend(_references(declarations(body)))
    return found


def _used(
    element: ET.Element, sheets: dict[str, list[tuple[str, str]]]
) -> Iterator[tuple[str, str]]:
    """Yield the property and the name of each other element that this one uses."""
    for key, value in element.attrib.items():
        if key.rpartition("}")[2] == "href":
            yield "href", value[1:].strip()
    yield from _references(element.attrib.items())
    yield from _references(declarations(element.get("style", "")))
    for name in element.get("class", "").split():
        yield from sheets.get(name, ())


def _references(properties: Iterable[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    for key, value in properties:
        if key.startswith(("clip-path", "mask", "marker")):
            for name in re.findall(r"url\(\s*['\"]?#([^'\")]*)", value):
                yield key, name.strip()


def _periods(element: ET.Element) -> Iterator[float]:
    """Yield the length of each run of dashes and gaps that an element sets."""
    inline = declarations(element.get("style", ""))
    sheet = rules(element.text or "") if local_name(element) == "style" else ()
    for key, value in (*element.attrib.items(), *inline, *sheet):
        if key == "stroke-dasharray":
            lengths = [abs(float(number)) for number in numbers(value)]
            if sum(lengths) > 0:
                yield sum(lengths)
