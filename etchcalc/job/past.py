"""Past jobs: a record of any schema read, made a commission again, worked again."""

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import etchcalc
from etchcalc.core.faults import BadInput
from etchcalc.core.units import KINDS, MM, Quantity, show, unit
from etchcalc.core.vocabulary import VOCABULARY, term
from etchcalc.job import drawing as drawings
from etchcalc.job import keeping
from etchcalc.job import record as records
from etchcalc.job.commission import Commission, understood
from etchcalc.job.drawing import Drawing
from etchcalc.job.givens import NOTHING_MORE
from etchcalc.job.known import known_to
from etchcalc.job.losses import looked_up
from etchcalc.job.plan import Plan, planned
from etchcalc.job.prices import money
from etchcalc.job.schema import QUANTITIES, ROWS, WORDS

NEWEST = records.SCHEMA
_NEEDED = {"typed": dict, "words": dict, "metal": dict, "results": dict, "steps": list, "files": dict}  # fmt: skip
_ALIKE = 1e-6  # figures that differ by less, relative to their size, are the same
_LOST = ("lines_lost", "islands_lost")
_OWN_WAY = "the package's way of working it out"
_OF_THE_SHOP = ("rate_correction", "etch_factor_correction")
_OF_THE_BATH = ("strength", "bath_volume", "bath_spent_share", "metal_dissolved")


@dataclass(frozen=True)
class Difference:
    """A figure of a past job that would now be another: then and now with their ranges, and why."""

    name: str
    then: str
    now: str
    why: str

    def __str__(self) -> str:
        """Return it as a sentence."""
        words = VOCABULARY[self.name].words if self.name in VOCABULARY else self.name
        return f"{words}: {self.then} then, {self.now} now; {self.why}."


def opened(path: Path) -> dict:
    """Return a record of any schema in today's shape.

    Raises
    ------
    BadInput
        It cannot be read, is no record, or was written by a newer package.
    """
    try:
        return present(json.loads(path.read_bytes()), path.name)
    except OSError as fault:
        raise BadInput(
            f"The record {path.name} cannot be read ({fault.strerror}); give the path of a {keeping.RECORD}."
        ) from None
    except (ValueError, RecursionError) as fault:
        if isinstance(fault, BadInput):
            raise
        raise BadInput(
            f"The record {path.name} is broken and cannot be read as JSON; copy the newest of the folder "
            f"“{keeping.EARLIER}” beside it, or of your backup, over it."
        ) from None


def present(record: Any, name: str = keeping.RECORD) -> dict:
    """Return what was read from a record in today's shape; its `schema` stays that of the file."""
    schema = record.get("schema") if isinstance(record, dict) else None
    if not isinstance(schema, int) or isinstance(schema, bool) or schema < 1:
        raise BadInput(f"{name} is no record of etchcalc; give a {keeping.RECORD} that it saved.")
    if schema > NEWEST:
        raise BadInput(
            f"{name} is a record of schema {schema}, written by etchcalc {record.get('package_version')}; this is "
            f"etchcalc {etchcalc.__version__}, which reads schemas 1 to {NEWEST}: install the newer one to open it."
        )
    for key, kind in _NEEDED.items():
        if not isinstance(record.get(key), kind):
            raise BadInput(
                f"{name} is broken: its part “{key}” is missing or damaged; copy the newest of the folder "
                f"“{keeping.EARLIER}” beside it, or of your backup, over it."
            )
    readings = record.get("readings", [])  # the first records had none
    if not isinstance(readings, list) or not all(
        isinstance(r, dict) and isinstance(r.get("typed"), dict) for r in readings
    ):
        raise BadInput(
            f"{name} is broken: its part “readings” is damaged; copy the newest of the folder "
            f"“{keeping.EARLIER}” beside it, or of your backup, over it."
        )
    rows = {part: [] for part in ROWS} | {"reading": [r["typed"] for r in readings]}
    start = {"version": 0, "drawing": None, "before_any_reading": None}
    return start | record | {"readings": readings, "noted": rows | record.get("noted", {})}


def commission_of(record: dict, folder: Path | None = None) -> Commission:
    """Return the commission of a record, exactly as it was typed.

    Records before schema 4 did not hold measured grooves, wedges and blemishes.

    Parameters
    ----------
    record : dict
        As `opened` gives it.
    folder : Path, optional
        Where its drawing and log lie; they must be there if it is given.
    """
    said = {**record["words"], **record["typed"], "metal": record["metal"]["key"]}
    noted: dict[str, Any] = {
        name: tuple(dict(row) for row in record["noted"][part]) for part, name in ROWS.items()
    }
    order = replace(understood(said, folder), **noted)
    known = {name for names in WORDS.values() for name in names}
    rest = {k: v for k, v in record["typed"].items() if k not in QUANTITIES}
    words = {k: v for k, v in record["words"].items() if k not in known}
    return replace(order, typed={**order.typed, **rest}, words={**order.words, **words})


def worked_again(record: dict, folder: Path | None = None) -> list[Difference]:
    """Return every figure of a record that this package, in this shop, would now work out otherwise.

    Parameters
    ----------
    record : dict
        As `opened` gives it.
    folder : Path, optional
        Its folder; without it, or where its files are gone, the drawing counts as it was measured
        then.
    """
    plan, aside = _planned_again(record, folder)
    now = records.everything(plan)
    why = _Why(record, plan, aside)
    found = []
    for name, then in record["results"].items():
        if name not in now and name in _LOST and plan.losses is None:
            continue  # told only by the drawing's file
        if name not in now:
            found.append(Difference(name, _shown(name, then), "–", "no longer worked out so"))
        elif not _same(then, now[name]):
            found.append(
                Difference(name, _shown(name, then), _shown(name, now[name]), why.of(name))
            )
    return found


def _planned_again(record: dict, folder: Path | None) -> tuple[Plan, str]:
    """Return today's plan of a record, and what of it is not as it was then."""
    known, aside = NOTHING_MORE, ""
    try:
        order = commission_of(record, folder)
        drawing = drawings.measured(order) if folder else _drawn_then(record)
        if folder and any(keeping.altered(folder, record)):
            aside = "; ".join(line.rstrip(".") for line in keeping.altered(folder, record))
    except BadInput as fault:
        if folder is None:
            raise
        order, drawing, aside = commission_of(record), _drawn_then(record), str(fault).rstrip(".")
    if drawing is None and "file" in record["words"]:
        share = f"{100 * record['results']['open_fraction']['value']:.10g} %"
        order = order.changed(file="", open_fraction=share)
    if folder and folder.resolve().parent.name == "commissions":
        try:
            known = known_to(folder.resolve().parents[1], order, folder.name)
        except BadInput as fault:
            aside = str(fault).rstrip(".")
            order = order.changed(bath_name="")
    plan = planned(order, drawing, known=known)
    return (looked_up(plan) if order.folder else plan), aside


def _drawn_then(record: dict) -> Drawing | None:
    """Return the drawing as it was measured when the record was made; None where that is not told."""
    if not record["drawing"]:
        return None
    found = record["drawing"]["measures"]

    def length(name: str):
        return None if found[name] is None else Quantity(found[name], MM)

    return Drawing(
        Quantity(found["open_area"], unit("mm^2")),
        Quantity(found["open_fraction"], unit("dimensionless")),
        length("narrowest_line"),
        length("narrowest_land"),
        length("width_bound"),
        found,
        record["drawing"]["read"],
        next(iter(record["files"].values()), ""),
    )


class _Why:
    """Why a figure differs: the first thing among what went into it, as displayed, that does."""

    def __init__(self, record: dict, plan: Plan, aside: str):
        self.grooves_told = record["schema"] >= 4
        self.aside, self.bath = aside, bool(record["words"].get("bath_name"))
        self.then = _workings(record["steps"])
        self.now = _workings(records.steps(plan))
        versions = record["package_version"], etchcalc.__version__
        self.version = (
            "" if versions[0] == versions[1] else "etchcalc {} then, {} now: ".format(*versions)
        )

    def of(self, name: str) -> str:
        cause = self._cause(records.said_of(name)[0], set())
        return self.version + (cause or self.aside or _OWN_WAY)

    def _cause(self, title: str, seen: set[str]) -> str:
        then, now = self.then.get(title), self.now.get(title)
        if then is None or now is None or title in seen:
            return ""
        seen.add(title)
        before, after = dict(then["inputs"]), dict(now["inputs"])
        for words in [w for w in before if w in after and before[w] != after[w]]:
            deeper = self._cause(words, seen)
            return deeper or self._leaf(words, before[words], after[words])
        ways = [(w["method"], [line["words"] for line in w["lines"]]) for w in (then, now)]
        if ways[0] != ways[1] or set(before) != set(after):
            return f"another formula for {title}"
        for one, other in zip(then["lines"], now["lines"], strict=True):
            if one["numbers"] != other["numbers"]:
                return (
                    f"a value of a table in {title}, {one['numbers']} then, {other['numbers']} now"
                )
        return ""

    def _leaf(self, words: str, then: str, now: str) -> str:
        if words in self.then or words in self.now:  # it has a working, which looks the same
            return f"{words} is worked out otherwise, {then} then, {now} now"
        what = "a start value or table"
        if words in [term(n).words for n in _OF_THE_SHOP]:
            what = "what the shop's jobs have taught since"
            if words == term("etch_factor_correction").words and not self.grooves_told:
                what = "what grooves or the shop's jobs taught, and a record of then does not hold"
        elif self.bath and words in [term(n).words for n in _OF_THE_BATH]:
            what = f"the bath's log{f' ({self.aside})' if self.aside else ''}"
        return f"{what}: {words} {then} then, {now} now"


def _workings(steps: list[dict]) -> dict[str, dict]:
    return {w["title"]: w for step in steps for w in step["workings"]}


def _same(then: dict, now: dict) -> bool:
    alike = then["unit"] == now["unit"]  # a currency is only a label
    factor = 1.0 if alike else float(Quantity(1.0, _plain(then["unit"])).m_as(_plain(now["unit"])))
    scale = max(abs(now["value"] or 0.0), 1e-9)
    for key in ("value", "low", "high"):
        one, other = then.get(key), now.get(key)
        if (one is None) != (other is None):
            return False
        if one is not None and abs(one * factor - other) > _ALIKE * scale:
            return False
    return True


def _plain(name: str):
    """Return the unit of a figure; a temperature's is never changed."""
    return unit("delta_degC" if name == "degC" else name)


def _shown(name: str, entry: dict) -> str:
    """Return a figure with its range to four figures, by its own unit where its name is gone."""
    texts = []
    for value in (entry[key] for key in ("value", "low", "high") if entry.get(key) is not None):
        if name in VOCABULARY:
            kind = term(name).kind
            quantity = Quantity(value, unit(entry["unit"])).to(KINDS[kind].unit())
            texts.append(show(quantity, kind, count=4, fixed=False))
        else:
            texts.append(money(value, entry["unit"]))
    ends = f" ({texts[1]} to {texts[2]})" if len(texts) == 3 and texts[1] != texts[2] else ""
    return (texts[0] if texts else "–") + ends
