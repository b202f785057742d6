"""What takes down what a DXF draws, in strokes and fills; and ezdxf, imported so as to leave no trace."""

import contextlib
import json
import math
import os
import tempfile
from collections.abc import Iterable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from etchcalc.core.faults import BadInput


@contextlib.contextmanager
def _nothing_of_the_user() -> Iterator[None]:
    """Keep ezdxf, as it is imported, from the user's settings, and from listing fonts in his home."""
    keys = ("XDG_CONFIG_HOME", "XDG_CACHE_HOME", "EZDXF_CONFIG_FILE")
    before = {key: os.environ.pop(key) for key in keys if key in os.environ}
    with tempfile.TemporaryDirectory() as folder:
        fonts = Path(folder, "ezdxf", "font_manager_cache.json")
        fonts.parent.mkdir()
        fonts.write_text(json.dumps({"version": 2, "font-faces": []}))
        os.environ.update(XDG_CONFIG_HOME=folder, XDG_CACHE_HOME=folder)
        try:
            yield
        finally:
            for key in keys:
                os.environ.pop(key, None)
            os.environ.update(before)


with _nothing_of_the_user():
    import ezdxf

ezdxf.options.reset()  # of a settings file that lies in the folder at hand
from ezdxf.addons.drawing.backend import Backend, BkPath2d, BkPoints2d  # noqa: E402
from ezdxf.addons.drawing.pipeline import RenderPipeline2d  # noqa: E402
from ezdxf.addons.drawing.properties import RenderContext  # noqa: E402

Points = npt.NDArray[np.float64]

WHITE = "#ffffff"
SAGITTA = 0.0005  # mm by which a curve may be off
_UNSAID = 0.01  # mm; what ezdxf makes of a line's width of 0, and here of one not said
_MOST_PIECES = 300_000
_TOGETHER = 100  # polygons in one fill
_LONGEST = 5000.0  # mm of a drawing's side


class Mark(NamedTuple):
    """A stroke or a fill.

    Attributes
    ----------
    paths : list
        Points, and paths where there are curves.
    white : bool
        Whether it is white, not black.
    width : float or None
        Its stroke's width in mm, nought where there is none; None for a fill.
    rule : {"evenodd", "nonzero"}
        What a fill's paths leave open where they lie on one another.
    """

    paths: list[Any]
    white: bool
    width: float | None
    rule: str = "evenodd"


class Pen(Backend):
    """Takes down what is drawn.

    Attributes
    ----------
    drawn : list of Mark
        What was drawn, in order.
    thin : int
        How many strokes have no width.
    """

    def __init__(self) -> None:
        super().__init__()
        self.drawn: list[Mark] = []
        self.thin = self._pieces = 0

    def _take(self, paths: list[Points | BkPath2d], said: Any, stroked: bool) -> None:
        check_pieces(self._pieces + len(paths))
        self._pieces += len(paths)
        width = said.lineweight if stroked else None
        if stroked and said.lineweight <= _UNSAID:
            self.thin += 1
            width = 0.0
        self.drawn.append(Mark(paths, said.color[:7] == WHITE, width))

    def set_background(self, color: str) -> None:
        """Draw nothing: the film is white."""

    def draw_point(self, pos: Any, properties: Any) -> None:
        """Draw nothing: a point has no size."""

    def draw_line(self, start: Any, end: Any, properties: Any) -> None:
        """Take down a line."""
        self._take([_points((start, end))], properties, True)

    def draw_solid_lines(self, lines: Iterable[Any], properties: Any) -> None:
        """Take down lines, such as dashes."""
        self._take([_points(line) for line in lines], properties, True)

    def draw_path(self, path: BkPath2d, properties: Any) -> None:
        """Take down a stroke."""
        self._take(_parts(path), properties, True)

    def draw_filled_paths(self, paths: Iterable[BkPath2d], properties: Any) -> None:
        """Take down a fill with its holes."""
        self._take([part for path in paths for part in _parts(path)], properties, False)

    def draw_filled_polygon(self, points: BkPoints2d, properties: Any) -> None:
        """Take down a filled polygon, with those before it: a broad polyline is many."""
        polygon = points.np_vertices()
        x, y = polygon.T
        if np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) < 0:  # all turn the same way
            polygon = polygon[::-1]
        before = self.drawn.pop() if self.drawn else Mark([], False, 0.0)
        self._take([polygon], properties, False)
        mark = self.drawn.pop()._replace(rule="nonzero")
        if before[1:] == mark[1:] and len(before.paths) < _TOGETHER:
            before.paths.append(polygon)
            mark = before
        elif before.paths:
            self.drawn.append(before)
        self.drawn.append(mark)

    def draw_image(self, image_data: Any, properties: Any) -> None:
        """Draw nothing: pictures were refused."""

    def clear(self) -> None:
        """Do nothing: a pen is used once."""

    def lines(self, unit: float) -> list[Mark]:
        """Return what was drawn with its curves as short lines, in mm.

        Parameters
        ----------
        unit : float
            Millimetres to a unit of the drawing.

        Raises
        ------
        BadInput
            Where something lies further than 5 m from the rest.
        """
        handles = [_handles(path) for mark in self.drawn for path in mark.paths]
        ends = np.concatenate([*handles, np.zeros((0, 2))]) * unit
        # Before any curve is taken apart, which takes longer the larger it is.
        if len(ends) and not (abs(ends).max() < 1e9 and np.ptp(ends, axis=0).max() < 2 * _LONGEST):
            raise BadInput(
                f"The drawing is larger than {_LONGEST:g} mm, or has something far from the rest: "
                "take that out, or check its unit."
            )
        return [
            mark._replace(paths=[_flat(path, SAGITTA / unit) * unit for path in mark.paths])
            for mark in self.drawn
        ]


def check_pieces(pieces: float) -> None:
    """Refuse more pieces than can be drawn; a number that is none counts as too many."""
    if not pieces <= _MOST_PIECES:
        raise BadInput(
            f"The drawing has more than {_MOST_PIECES} pieces, dashes and hatch lines among them: "
            "simplify it, or check the scale of its line types and hatches."
        )


def _points(vertices: Iterable[Any]) -> Points:
    return np.array([(vertex.x, vertex.y) for vertex in vertices])


def _parts(path: BkPath2d) -> list[Points | BkPath2d]:
    parts = path.sub_paths() if len(path) else []
    return [part if part.has_curves else part.np_vertices() for part in parts]


def _handles(path: Points | BkPath2d) -> Points:
    return path if isinstance(path, np.ndarray) else path.np_vertices()


def _flat(path: Points | BkPath2d, sagitta: float) -> Points:
    return path if isinstance(path, np.ndarray) else _points(path.flattening(sagitta))


class Context(RenderContext):
    """What ezdxf works widths and colours out from, without a file beside the drawing."""

    def add_text_style(self, text_style: Any) -> None:
        """Look for no font."""

    def default_lineweight(self) -> float:
        """Leave a width that was not said unsaid."""
        return 0.0


class Pipeline(RenderPipeline2d):
    """Refuses what would fall into too many dashes."""

    def _check_dashes(self, length: float, said: Any) -> None:
        if len(said.linetype_pattern) > 1:
            dash = max(
                sum(said.linetype_pattern) * said.linetype_scale, self.config.min_dash_length
            )
            check_pieces(length / dash * len(said.linetype_pattern))

    def draw_line(self, start: Any, end: Any, properties: Any) -> None:
        """Draw a line of dashes or in one piece."""
        self._check_dashes((end - start).magnitude, properties)
        super().draw_line(start, end, properties)

    def draw_path(self, path: Any, properties: Any) -> None:
        """Draw a stroke of dashes or in one piece."""
        if len(properties.linetype_pattern) > 1:
            handles = path.control_vertices()
            length = sum(math.dist(a, b) for a, b in pairwise(handles))
            self._check_dashes(length, properties)
        super().draw_path(path, properties)
