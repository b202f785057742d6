"""What a DXF holds: refused by name where a film cannot hold it, the rest drawn with a pen."""

import math
from typing import Any

from etchcalc.artwork.dxf_pen import SAGITTA, WHITE, Context, Pen, Pipeline, check_pieces
from etchcalc.core.faults import BadInput

# isort: split
from ezdxf.addons import acadctb
from ezdxf.addons.drawing import config
from ezdxf.addons.drawing.frontend import UniversalFrontend
from ezdxf.entities import Insert

_MOST_OBJECTS, _MOST_NODES, _DEEPEST = 100_000, 5_000, 20
_DRAWN = frozenset(
    [
        "LINE",
        "ARC",
        "CIRCLE",
        "ELLIPSE",
        "SPLINE",
        "LWPOLYLINE",
        "POLYLINE",
        "SOLID",
        "TRACE",
        "HATCH",
        "INSERT",
        "WIPEOUT",
    ]
)
_KINDS = {
    "live text: convert it to outlines (explode it to polylines or solid hatches)": (
        "TEXT MTEXT ATTRIB ATTDEF RTEXT ARCALIGNEDTEXT SHAPE"
    ),
    "a dimension, leader or table: take it out": (
        "DIMENSION ARC_DIMENSION LARGE_RADIAL_DIMENSION LEADER MULTILEADER MLEADER TOLERANCE "
        "ACAD_TABLE"
    ),
    "a picture or an object of another program: trace it to solid hatches, or take it out": (
        "IMAGE OLE2FRAME OLEFRAME ACAD_PROXY_ENTITY"
    ),
    "something that lies outside the file, which is never opened: take it out": (
        "PDFUNDERLAY DWFUNDERLAY DGNUNDERLAY UNDERLAY POINTCLOUD"
    ),
    "a solid, surface or mesh in space: draw its outline flat": (
        "3DSOLID BODY REGION MESH SURFACE EXTRUDEDSURFACE LOFTEDSURFACE REVOLVEDSURFACE "
        "SWEPTSURFACE PLANESURFACE 3DFACE"
    ),
    "a line without an end (a construction line): take it out": "RAY XLINE",
}
_REFUSED = {kind: what for what, kinds in _KINDS.items() for kind in kinds.split()}


class Walk(UniversalFrontend):
    """One walk through a DXF's model space, which refuses by name and draws the rest with a pen.

    Parameters
    ----------
    document : ezdxf.document.Drawing
        What was read.
    unit : float
        Millimetres to its unit.
    """

    def __init__(self, document: Any, unit: float):
        # A plot style of its own, for a named one would be looked for outside the file.
        context = Context(document, ctb=acadctb.new_ctb(), export_mode=True)
        self.pen = Pen()
        self.points = self.closed = 0
        self._layers, self._sagitta = document.layers, SAGITTA / unit
        self.coloured = False
        self._objects, self._within = 0, []  # type: int, list[str]
        said = config.Configuration(
            background_policy=config.BackgroundPolicy.WHITE,
            max_flattening_distance=SAGITTA / unit,
            min_dash_length=0.01 / unit,
            min_hatch_line_distance=1e-9,  # the walk counts them
            hatching_timeout=10,
        )
        super().__init__(context, Pipeline(self.pen), said)

    def draw_entity(self, entity: Any, properties: Any) -> None:
        """Draw an object, or refuse it."""
        kind = entity.dxftype()
        layer = properties.layer.lower()
        self._count(1)
        if layer == "defpoints" or (kind == "INSERT" and self._is_frozen(layer)):
            return
        if kind == "POINT":
            self.points += 1
            return
        if kind not in _DRAWN or (kind == "POLYLINE" and not _is_flat(entity)):
            mesh = "a solid, surface or mesh in space: draw its outline flat"
            name = kind.encode("ascii", "replace").decode()[:40]
            other = f"{name}: explode it into lines, arcs and solid hatches, or take it out"
            what = mesh if kind == "POLYLINE" else _REFUSED.get(kind, other)
            raise BadInput(f"The drawing holds {what}. Only lines and solid hatches are read.")
        if kind == "SPLINE":
            _check_spline(entity)
        if kind == "HATCH" and properties.filling.type == properties.filling.GRADIENT:
            raise BadInput("The drawing holds a gradient: make it a solid hatch.")
        if kind != "INSERT":
            self._look(entity, properties)
        super().draw_entity(entity, properties)

    def draw_composite_entity(self, entity: Any, properties: Any) -> None:
        """Draw a block, or refuse it."""
        assert isinstance(entity, Insert)  # the only one that is drawn
        name, layout = entity.dxf.name, entity.block()
        block = layout.block if layout is not None else None
        if block is None:
            raise BadInput(
                f"The drawing places a block {name[:40]!r} that is not in the file: take it out."
            )
        if block.dxf.flags & 0b1100:
            raise BadInput(
                f"The drawing refers to another drawing ({name[:40]!r}), which is never opened: bind it "
                "into the file, or take it out."
            )
        if name.lower() in self._within:
            raise BadInput(f"The block {name[:40]!r} holds itself: take it out.")
        if len(self._within) >= _DEEPEST:
            raise BadInput(f"The drawing has blocks more than {_DEEPEST} deep: explode them.")
        self._count(entity.mcount)
        self._within.append(name.lower())
        super().draw_composite_entity(entity, properties)
        self._within.pop()

    def draw_polyline_entity(self, entity: Any, properties: Any) -> None:
        """Draw a polyline, its broad arcs in as many pieces as they need."""
        pieces = _pieces_a_turn(entity, self._sagitta) if entity.has_width else 8
        self.config = self.config.with_changes(circle_approximation_count=2 * pieces)
        super().draw_polyline_entity(entity, properties)

    def draw_hatch_pattern(self, polygon: Any, paths: Any, properties: Any) -> None:
        """Draw a hatch's lines, unless they are too many; they would then be drawn solid."""
        handles = [vertex for path in paths for vertex in path.control_vertices()]
        span = sum(max(axis) - min(axis) for axis in zip(*(v.vec2 for v in handles), strict=True))
        for line in polygon.pattern.lines:
            turn = math.radians(line.angle)
            apart = abs(line.offset.y * math.cos(turn) - line.offset.x * math.sin(turn))
            lengths = line.dash_length_items
            dash = sum(map(abs, lengths)) / len(lengths) if lengths else span
            check_pieces(span / apart * span / dash if apart and dash else math.inf)
        super().draw_hatch_pattern(polygon, paths, properties)

    def skip_entity(self, entity: Any, msg: str) -> None:
        """Refuse what would be left out, but for what is not to be seen."""
        if msg != "invisible":
            raise BadInput(
                f"The drawing holds {entity.dxftype()} that cannot be drawn ({msg}): explode it, "
                "or take it out."
            )

    def _count(self, objects: int) -> None:
        self._objects += objects
        if self._objects > _MOST_OBJECTS:
            raise BadInput(
                f"The drawing holds more than {_MOST_OBJECTS} objects, with those in its blocks: "
                "simplify it."
            )

    def _is_frozen(self, layer: str) -> bool:
        """Return whether a layer is frozen, which hides the blocks on it whole."""
        layers = self._layers
        return layers.has_entry(layer) and layers.get(layer).is_frozen()

    def _look(self, entity: Any, said: Any) -> None:
        """Refuse translucent paint; note colours and closed outlines."""
        if said.color[7:] not in ("", "ff"):
            raise BadInput(
                "The drawing is translucent somewhere. Accepted is solid black on white: set its "
                "transparency to 0."
            )
        if entity.dxftype() != "WIPEOUT" and said.color[:7] not in ("#000000", WHITE):
            self.coloured = True
        self.closed += _is_outline(entity)


def _is_flat(entity: Any) -> bool:
    return not (entity.is_polygon_mesh or entity.is_poly_face_mesh)


def _is_outline(entity: Any) -> bool:
    """Return whether an object is a line that closes on itself."""
    match entity.dxftype():
        case "CIRCLE":
            return True
        case "LWPOLYLINE":
            return bool(entity.closed)
        case "POLYLINE":
            return bool(entity.is_closed)
        case "SPLINE":
            return bool(entity.closed)
        case "ELLIPSE":
            return math.isclose(abs(entity.dxf.end_param - entity.dxf.start_param), math.tau)
    return False


def _check_spline(entity: Any) -> None:
    """Refuse a spline that would take too long to work out."""
    nodes = max(len(entity.control_points), len(entity.fit_points), len(entity.knots))
    if nodes > _MOST_NODES or entity.dxf.degree > 11:
        raise BadInput(
            f"The drawing holds a spline of {nodes} nodes and degree {entity.dxf.degree}; accepted "
            f"are up to {_MOST_NODES} and 11: convert it to a polyline."
        )


def _pieces_a_turn(entity: Any, sagitta: float) -> int:
    """Return in how many straight pieces a whole turn of a polyline's widest arc is true."""
    most = 8.0
    if entity.dxftype() == "LWPOLYLINE":
        nodes = [tuple(node) for node in entity.get_points("xyseb")]
    else:
        nodes = [
            (*v.dxf.location.vec2, v.dxf.start_width, v.dxf.end_width, v.dxf.bulge)
            for v in entity.vertices
        ]
    for (x, y, start, end, bulge), (to_x, to_y, *_) in zip(
        nodes, [*nodes[1:], *nodes[:1]], strict=True
    ):
        if bulge:
            radius = math.hypot(to_x - x, to_y - y) * (1 + bulge**2) / (4 * abs(bulge))
            most = max(most, math.pi / math.sqrt(2 * sagitta / (radius + max(start, end) / 2)))
    check_pieces(most)
    return math.ceil(most)
