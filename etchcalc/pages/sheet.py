"""The printed record: one self-contained page from a record, and the saving of both."""

from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import Any

import numpy as np
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from etchcalc.core.faults import BadInput
from etchcalc.core.units import KINDS, Quantity, clock, show, unit
from etchcalc.core.vocabulary import term
from etchcalc.job import files, keeping
from etchcalc.job import record as records
from etchcalc.job.plan import Plan
from etchcalc.job.prices import money
from etchcalc.pages import drawings

PAGES = Environment(
    loader=PackageLoader("etchcalc.pages"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


def bold(text: str) -> Markup:
    """Return a sentence as HTML: everything escaped, what stands between ** in bold."""
    parts = escape(text).split("**")
    return Markup("".join(f"<b>{p}</b>" if i % 2 else p for i, p in enumerate(parts)))


def sum_text(working: dict, ends: str = "") -> str:
    """Return a working as plain text: formula, numbers, result; or inputs, method, result.

    Parameters
    ----------
    working : dict
        As a record holds it.
    ends : str
        The range, to stand after the result.
    """
    if working["method"]:
        width = max((len(name) for name, _ in working["inputs"]), default=0)
        rows = [f"{name:<{width}} = {value}" for name, value in working["inputs"]]
        return "\n".join(
            [*rows, f"{working['title']}: {working['method']}", f"= {working['result']}{ends}"]
        )
    rows = []
    for line in working["lines"]:
        indent = " " * len(line["name"])
        rows += [
            f"{line['name']} = {line['words']}",
            f"{indent} = {line['numbers']}",
            f"{indent} = {line['result']}",
        ]
    rows[-1] += ends
    marked = [f"{name}: {value}" for name, value in working["inputs"] if value.endswith(")")]
    return "\n".join(rows + ([f"({'; '.join(marked)})"] if marked else []))


def _shown(name: str, entry: dict, system: str, key: str = "value") -> str:
    if entry[key] is None:
        return "–"
    if name == "price":
        return money(entry[key], entry["unit"])
    kind = term(name).kind
    quantity = Quantity(entry[key], unit(entry["unit"])).to(KINDS[kind].unit())
    return show(quantity, kind, system, fixed=kind in ("fine", "time", "volume"))


def _figures(record: dict, system: str) -> list[dict]:
    found = []
    for name, entry in record["results"].items():
        ends = [_shown(name, entry, system, key) for key in ("low", "high")]
        found.append(
            {
                "words": records.said_of(name)[0],
                "meaning": records.said_of(name)[1],
                "value": _shown(name, entry, system),
                "range": "" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}",
                "basis": entry["basis"],
            }
        )
    return found


def _inputs(record: dict, system: str) -> list[dict]:
    return [
        {
            "words": term(name).words,
            "typed": record["typed"].get(name, ""),
            "value": _shown(name, entry, system),
            "basis": entry["basis"],
            "source": entry["source"],
        }
        for name, entry in record["understood"].items()
    ]


def pictures(record: dict, reach: tuple[float, float] | None = None) -> tuple[str, str]:
    """Return the groove and the forecast of a record, or of the part of one that they need.

    The groove has a handle where `reach` gives the depths in mm between which it is pulled.
    """
    ordered = record["understood"]["depth"]["value"]
    gauge = record["results"]["gauge_time"]["value"]
    system = record["words"]["units"]
    points = [(r["minutes"], r["depth"]) for r in record["readings"] if not r["wide"]]
    before = record.get("before_any_reading")
    fan = fan_picture(record["depth_against_time"], ordered, gauge, system, points, before)
    return groove_of(record, reach), fan


def groove_of(record: dict, reach: tuple[float, float] | None = None) -> str:
    """Return the groove's picture of a record, with a handle where it has a reach in mm."""
    r, system = record["results"], record["words"]["units"]
    mm = {name: r[name]["value"] for name in ("undercut", "greatest_depth")}
    depth = record["understood"]["depth"]["value"]
    line = record["understood"]["finest_line"]["value"]
    film, wanted = line - 2 * mm["undercut"], None
    narrowest = record["understood"]["narrowest_film_line"]["value"]
    if record["words"]["shows"] == "film as it is" and "narrowest_line" in r:
        film, wanted = r["narrowest_line"]["value"], line
    elif film < narrowest - 1e-9 and depth > mm["greatest_depth"] + 1e-6:
        film, wanted = narrowest, line
    return groove_picture(film, mm["undercut"], depth, wanted, system, reach)


def groove_picture(
    film: float,
    undercut: float,
    depth: float,
    wanted: float | None,
    system: str,
    reach: tuple[float, float] | None = None,
) -> str:
    """Return the groove's picture for lengths in mm, its texts in a system of units."""

    def fine(value: float) -> str:
        return show(Quantity(value, unit("mm")), "fine", system)

    says = {
        "film": f"film {fine(film)}",
        "line": f"{fine(film + 2 * undercut)} finished",
        "depth": fine(depth),
        "undercut": f"Undercut {fine(undercut)}",
        "wanted": f"ordered {fine(wanted)}" if wanted is not None else "",
    }
    return drawings.groove(
        film=film, undercut=undercut, depth=depth, says=says, wanted=wanted, reach=reach
    )


def fan_picture(
    curve: dict,
    ordered: float,
    gauge: float,
    system: str,
    points: list[tuple[float, float]],
    before: dict | None = None,
) -> str:
    """Return depth against time for a record's curve; ordered depth in mm, gauge in minutes.

    Points are gauge readings of the finest line: minutes and depth in mm; before is the curve
    before any reading.
    """
    most = curve["depth"][-1]
    per = {"metric": 1.0}.get(system, 0.0254)
    unit_words = "mm" if system == "metric" else "thou"
    step = next(
        s
        for s in (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100)
        if most / per / s <= 5
    )
    ticks = [(i * step * per, f"{i * step:g}") for i in range(int(most / per / step) + 1)]
    ticks[0] = 0.0, f"0 {unit_words}"
    says = {
        "ordered": f"{show(Quantity(ordered, unit('mm')), 'fine', system)} ordered",
        "gauge": f"lift and gauge {clock(gauge, -1)}",
    }
    return drawings.fan(
        depths=np.array(curve["depth"]), early=curve["early"], middle=curve["middle"], late=curve["late"],
        ordered=ordered, gauge=gauge, says=says, ticks=ticks, points=points,
        before=[before["early"], before["late"]] if before else [],
    )  # fmt: skip


def plate_picture(record: dict, preview: bytes) -> str:
    """Return the plate's picture with its sizes written on its edges."""
    sizes = {n: record["understood"][n] for n in ("plate_width", "plate_height")}
    says = {n: _shown(n, e, record["words"]["units"]) for n, e in sizes.items()}
    picture, places = drawings.plate(
        sizes["plate_width"]["value"],
        sizes["plate_height"]["value"],
        preview,
        f"The plate, {says['plate_width']} by {says['plate_height']}",
    )
    return drawings.with_words(picture, [(places[n], says[n]) for n in sizes])


def page(record: dict, preview: bytes = b"", plot: str = "") -> str:
    """Return record.html: first the page for the bench, then figures, inputs and sums.

    Parameters
    ----------
    record : dict
        As `etchcalc.job.record.record` gives it, or read from record.json.
    preview : bytes
        PNG of the plate's face.
    plot : str
        SVG that follows the figures.
    """
    system = record["words"]["units"]
    drawn = [plate_picture(record, preview), *pictures(record)]
    numbers = _source_numbers(record)
    shown_apart = ("title", "client", "due", "units")
    return PAGES.get_template("record.html").render(
        r=record,
        invented=record["words"].get("invented", "") in ("yes", "True", "true"),
        answers=[bold(a) for a in record["answers"]],
        facts=_facts(record, system),
        plot=Markup(plot),
        pictures=[Markup(p) for p in drawn],
        figures=_figures(record, system),
        inputs=_inputs(record, system),
        words=[(n, t) for n, t in record["words"].items() if n not in shown_apart],
        cautions=_cautions_once(record),
        sources=list(numbers),
        numbers=numbers,
        sums={w["name"]: sum_text(w) for step in record["steps"] for w in step["workings"]},
    )


def _facts(record: dict, system: str) -> str:
    size = " × ".join(
        _shown(n, record["understood"][n], system)
        for n in ("plate_width", "plate_height", "plate_thickness")
    )
    count = record["understood"]["plate_count"]["value"]
    share = _shown("open_fraction", record["results"]["open_fraction"], system)
    return f"{count:g} of {size} {record['metal']['name']}; {share} of the face is open metal ({record['results']['open_fraction']['basis']})."


def _cautions_once(record: dict) -> dict[str, tuple[list[str], list[str]]]:
    """Return for each step the cautions in full that are new on the page, and the others in short."""
    seen: set[str] = set()
    found = {}
    for step in record["steps"]:
        new = [c["text"] for c in step["cautions"] if c["text"] not in seen]
        known = [c["short"] for c in step["cautions"] if c["text"] in seen]
        seen.update(new)
        found[step["key"]] = new, known
    return found


def _source_numbers(record: dict) -> dict[str, int]:
    """Return the sources of all workings and cautions, numbered in order."""
    named = [s for step in record["steps"] for w in step["workings"] for s in w["sources"]]
    named += [c["source"] for step in record["steps"] for c in step["cautions"]]
    return {text: i for i, text in enumerate(dict.fromkeys(named), 1)}


def save(
    plan: Plan,
    folder: Path,
    saved: str = "",
    seen: int | None = None,
    tell: Callable[[str], Any] | None = None,
) -> Path:
    """Save the worked record of a plan into a folder and return the page's path.

    Writes the drawing and the thermometer's log, then record.json and record.html together, as
    the next version (`etchcalc.job.keeping`).

    Parameters
    ----------
    plan : Plan
    folder : Path
    saved : str
        Day of saving, ISO 8601.
    seen : int, optional
        The version that this window opened or saved last (`keeping.version`).
    tell : callable, optional
        Told in one sentence where another window had saved meanwhile.

    Raises
    ------
    BadInput
        The folder cannot be written; whatever stood there still stands.
    """
    from etchcalc.pages import figures  # matplotlib: only where a page is saved

    record = records.record(plan, saved)
    preview = plan.drawing.preview if plan.drawing else b""
    html = page(record, preview, figures.time_against_temperature(plan))
    for what, path in plan.commission.files.items():
        target = folder / path.name
        if not (target.exists() and target.samefile(path)):
            try:
                content = path.read_bytes()
            except OSError as fault:
                raise BadInput(
                    f"The {what} {path.name} cannot be read ({fault.strerror}); copy it beside the commission again."
                ) from None
            files.write_whole(target, content)
    kept = keeping.keep(folder, record, html, seen)
    if tell and kept.told:
        tell(kept.told)
    return kept.page
