"""What takes down what a DXF draws, in strokes and fills; and ezdxf, imported so as to leave no trace."""

import contextlib
import json
import math
import os
import tempfile
from collections.abc import Iterable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

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
_MOST_PIECES = 1_000_000
_LONGEST = 5000.0  # mm of a drawing's side


class Pen(Backend):
    """Takes down what is drawn, as paths with a colour and the width of their stroke.

    Attributes
    ----------
    drawn : list
        Paths, whether they are white, and their stroke's width in mm (None for a fill).
    thin : int
        How many strokes have no width.
    """

    def __init__(self) -> None:
        super().__init__()
        self.drawn: list[tuple[list[BkPath2d], bool, float | None]] = []
        self.thin = self._pieces = 0

    def _take(self, paths: list[BkPath2d], said: Any, stroked: bool) -> None:
        self._pieces += len(paths)
        if self._pieces > _MOST_PIECES:
            raise BadInput(
                f"The drawing has more than {_MOST_PIECES} pieces, dashes and hatch lines among "
                "them: simplify it."
            )
        width = said.lineweight if stroked else None
        if stroked and said.lineweight <= _UNSAID:
            self.thin += 1
            width = 0.0
        self.drawn.append((paths, said.color[:7] == WHITE, width))

    def set_background(self, color: str) -> None:
        """Draw nothing: the film is white."""

    def draw_point(self, pos: Any, properties: Any) -> None:
        """Draw nothing: a point has no size."""

    def draw_line(self, start: Any, end: Any, properties: Any) -> None:
        """Take down a line."""
        self._take([BkPath2d.from_vertices([start, end])], properties, True)

    def draw_solid_lines(self, lines: Iterable[Any], properties: Any) -> None:
        """Take down lines, such as dashes."""
        self._take([BkPath2d.from_vertices(line) for line in lines], properties, True)

    def draw_path(self, path: BkPath2d, properties: Any) -> None:
        """Take down a stroke."""
        self._take(path.sub_paths(), properties, True)

    def draw_filled_paths(self, paths: Iterable[BkPath2d], properties: Any) -> None:
        """Take down a fill with its holes."""
        parts = [part for path in paths if len(path) for part in path.sub_paths()]
        self._take(parts, properties, False)

    def draw_filled_polygon(self, points: BkPoints2d, properties: Any) -> None:
        """Take down a filled polygon."""
        self._take([BkPath2d.from_vertices(points.vertices())], properties, False)

    def draw_image(self, image_data: Any, properties: Any) -> None:
        """Draw nothing: pictures were refused."""

    def clear(self) -> None:
        """Do nothing: a pen is used once."""

    def lines(self, unit: float) -> list[tuple[list[Points], bool, float | None]]:
        """Return what was drawn with its curves as short lines, each an array of points in mm.

        Parameters
        ----------
        unit : float
            Millimetres to a unit of the drawing.

        Raises
        ------
        BadInput
            Where nothing is drawn, or something lies further than 5 m from the rest.
        """
        handles = [p for paths, _, _ in self.drawn for path in paths for p in path.extents()]
        ends = np.array([(p.x, p.y) for p in handles]).reshape(-1, 2) * unit
        # Before any curve is taken apart, which takes longer the larger it is.
        with np.errstate(invalid="ignore"):
            near = len(ends) == 0 or (np.ptp(ends, axis=0) <= 2 * _LONGEST).all()
        if not (near and (abs(ends) < 1e9).all()):
            raise BadInput(
                f"The drawing is larger than {_LONGEST:g} mm, or has something far from the rest: "
                "take that out, or check its unit."
            )
        return [
            (
                [
                    np.array([(p.x, p.y) for p in path.flattening(SAGITTA / unit)]) * unit
                    for path in paths
                ],
                white,
                width,
            )
            for paths, white, width in self.drawn
        ]


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
            if not length / dash * len(said.linetype_pattern) < _MOST_PIECES:
                raise BadInput(
                    f"The drawing has a line of more than {_MOST_PIECES} dashes: set its line type "
                    "to continuous, or check the scale of its line type."
                )

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
