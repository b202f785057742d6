"""The tray as loaded: what it measures, how the plates stand in it, drawn to scale."""

from collections.abc import Callable
from html import escape

from etchcalc.core import tables
from etchcalc.job import bench_words, tray_layout
from etchcalc.job.plan import Plan
from etchcalc.pages import tray_drawing
from etchcalc.pages.panels import texts, widgets
from etchcalc.pages.panels.controls import Typed, Word, field, html

BOXES = {
    "tray_material": ("The tray is of", "such as polypropylene"),
    "tray_length": ("Length inside", ""),
    "tray_width": ("Width inside", ""),
    "tray_depth": ("Height inside", ""),
    "liquid_depth": ("Depth of etchant", ""),
    "heater_cover": ("To cover the heater", ""),
    "heater_length": ("Heater's length", "0 mm if it lies outside"),
    "heater_width": ("Heater's width", ""),
    "plate_gap": ("Gap round a plate", ""),
    "spacer_height": ("Height of spacers", ""),
    "spacer_foot": ("A spacer's foot", ""),
    "accepted_sag": ("A plate may sag", ""),
    "slosh_margin": ("Rim kept clear, tilted", ""),
    "bench_slope": ("The bench slopes", "1 % is 10 mm in a metre"),
    "touching_margin": ("Etchant over the face", ""),
}
SUMS = ("spacer_span", "spacer_count", "sag", "ferric_at_once", "needed_spacer_height", "spacers_volume",
        "etchant_level", "greatest_tilt", "shim_needed", "water_each_look", "lid_saving")  # fmt: skip


class Tray:
    """Boxes for the tray, what to do with it, the drawings, the sums.

    Parameters
    ----------
    changed : callable
        Called with (name, text, control) when a person has typed.
    """

    def __init__(self, changed: Callable):
        self.boxes: dict[str, Word] = {}
        rows = []
        for name, (words, hint) in BOXES.items():
            make: Callable = Word if name == "tray_material" else Typed
            self.boxes[name] = make(name, changed, words)
            rows.append(field(self.boxes[name], hint))
        self.said, self.above, self.side, self.sums, self.sizes = (html() for _ in range(5))
        self.body = widgets.VBox(
            [
                widgets.VBox(rows, classes="etch-grid"),
                self.said,
                widgets.HBox([self.above, self.side], classes="etch-two"),
                self.sums,
                self.sizes,
            ],
            classes="etch-body",
        )
        self.sizes.value = _sizes_html()

    def show(self, plan: Plan) -> None:
        """Draw the tray of a plan."""
        units = plan.commission.units
        laid = tray_layout.layout(plan)
        says = tray_drawing.says(laid, units)
        rows = "".join(f"<li>{escape(line)}</li>" for line in told(plan))
        self.said.value = f"<ul>{rows}</ul>"
        self.above.value = tray_drawing.above(laid, says)
        self.side.value = tray_drawing.side(laid, says)
        self.sums.value = texts.sums_html(plan, SUMS)


def told(plan: Plan) -> list[str]:
    """Return how many plates fit and which way round, how they stand, how far to tilt, what to add."""
    say = bench_words.stand_said, bench_words.tilt_limit, bench_words.water_said
    lines = [*tray_layout.layout(plan).sentences, *(words(plan) for words in say)]
    return [line for line in lines if line]


def _sizes_html() -> str:
    rows = tables.rows("tray_sizes.csv")
    said = "; ".join(f"{row['name']} {row['length']} × {row['width']} mm" for row in rows)
    return (
        f"<p class='etch-source'>Sizes of food trays (EN 631-1, outside of the rim): {escape(said)}. For the size "
        "only: most are of stainless steel, which the bath eats.</p>"
    )
