"""What a bottle or tray holds: the data behind its label and the carrier's sheet, from a plan.

Etchant and first rinse by the mass balance of `etchcalc.process.waste`: what went in is there.
Nothing is analysed, and nothing here is a step of the job. The hazard statements are those of
the substances in a bottle, as data/hazard_statements.csv gives them; they are no classification
of the mixture. Whoever hands the bottle over answers for its label.
"""

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from etchcalc.core import tables
from etchcalc.core.faults import BadInput, listed
from etchcalc.core.units import LITRE, Quantity, first, unit
from etchcalc.job import ranges
from etchcalc.job.plan import Plan
from etchcalc.process import bath, waste

METALS = ("copper", "zinc", "nickel", "tin", "lead")
# what can stand in a bottle, and what its label is headed
BOTTLES = {
    "etchant": "Ferric chloride etchant",
    "used": "Used ferric chloride etchant",
    "spent": "Spent ferric chloride etchant",
    "rinse": "First rinse after ferric chloride",
    "developer": "Developer: weak washing soda",
    "stripper": "Stripper: strong washing soda",
}
_G, _G_L = unit("g"), unit("g/L")


@dataclass(frozen=True)
class Part:
    """One thing that a bottle holds.

    Parameters
    ----------
    name : str
        ``"iron"``, ``"chloride"``, ``"water"`` or a metal of the alloy.
    mass, low, high : Quantity
        Middle, and the ends of its 90 % range.
    in_litre : Quantity
        Middle, mass in a litre.
    """

    name: str
    mass: Any
    low: Any
    high: Any
    in_litre: Any


@dataclass(frozen=True)
class Statement:
    """A hazard statement: its code, its official wording, the substance, the source's key."""

    code: str
    text: str
    substance: str
    source: str

    @property
    def recalled(self) -> bool:
        """Whether it was recalled, and not seen in print."""
        return tables.source(self.source).seen == "memory"


@dataclass(frozen=True)
class Contents:
    """What a bottle holds.

    Parameters
    ----------
    kind : str
        A key of `BOTTLES`.
    volume : Quantity
    mass : Quantity or None
        None for a soda, whose mass the plan does not ask for.
    parts : tuple of Part
        Of an etchant or a rinse. Iron, chloride, water and metals of an etchant add up to
        `mass`; of a rinse, which is nearly all water, the water is left out.
    statements : tuple of Statement
        The weaker of two that say the same is left out.
    """

    kind: str
    volume: Any
    mass: Any
    parts: tuple[Part, ...]
    statements: tuple[Statement, ...]

    @property
    def name(self) -> str:
        """What the label is headed."""
        return BOTTLES[self.kind]

    @property
    def metals(self) -> tuple[Part, ...]:
        """The parts that came from the plates."""
        return tuple(part for part in self.parts if part.name in METALS)

    @property
    def signal(self) -> str:
        """The signal word: "Danger", "Warning", or "" where no statement asks for one."""
        words = {sign["signal"] for sign in map(_sign, self.statements)}
        return next((word for word in ("Danger", "Warning") if word in words), "")

    @property
    def pictograms(self) -> tuple[str, ...]:
        """The pictograms by short names, each once, as data/hazard_signs.csv orders them."""
        wanted = {sign["pictogram"] for sign in map(_sign, self.statements)}
        order = dict.fromkeys(row["pictogram"] for row in tables.rows("hazard_signs.csv"))
        return tuple(name for name in order if name in wanted and name != "none")


def contents(plan: Plan, kind: str = "spent", *, acid_added: bool = False) -> Contents:
    """Return what a bottle holds.

    Parameters
    ----------
    plan : Plan
    kind : str
        A key of `BOTTLES`. ``"etchant"`` is the bath before the commission; ``"used"`` and
        ``"spent"`` are the same bath after it, to be kept or handed over.
    acid_added : bool
        The shop has put hydrochloric acid into its bath: that adds a hazard, and is counted in
        no mass.

    Raises
    ------
    BadInput
        There is no such kind.
    """
    if kind in ("etchant", "used", "spent"):
        return _bath(plan, kind, acid_added)
    if kind == "rinse":
        return _rinse(plan, acid_added)
    if kind in ("developer", "stripper"):
        return Contents(kind, plan.middle(f"{kind}_volume").to(LITRE), None, (), (SODA,))
    raise BadInput(
        f"contents: “{kind}” is nothing that is bottled here; say {listed(list(BOTTLES))}."
    )


def dissolved(plan: Plan, kind: str = "spent") -> Any:
    """Return the metal in the whole bath before or after the commission, over its ways."""
    values = plan.book.values
    left = values["ferric_left"]
    if kind == "etchant":
        nothing = Quantity(0.0, _G)
        left = bath.ferric_left(
            crystals_when_fresh=values["crystals_when_fresh"],
            bath_spent_share=values["bath_spent_share"],
            ferric_used=nothing,
        )
    return waste.metal_taken_up(
        crystals_when_fresh=values["crystals_when_fresh"],
        ferric_left=left,
        ferric_demand=values["ferric_demand"],
        metal_density=values["metal_density"],
    )


def masses(plan: Plan, kind: str = "spent") -> dict[str, Any]:
    """Return the mass of each thing in the whole bath, over its ways; metals of the alloy alone.

    Parameters
    ----------
    plan : Plan
    kind : {"etchant", "used", "spent"}
        Before the commission, or after it.
    """
    values, metal = plan.book.values, dissolved(plan, kind)
    fresh = values["crystals_when_fresh"]
    found = {
        "iron": waste.waste_iron(crystals_when_fresh=fresh),
        "chloride": waste.waste_chloride(crystals_when_fresh=fresh),
        "water": waste.waste_water(
            crystals_when_fresh=fresh, mass_fraction=values["etchant_mass_fraction"]
        ),
    }
    for name in METALS:
        share = values[f"{name}_share"]
        # a hair below nothing is a rounding of a bath that has dissolved none
        if first(share).magnitude > 0 and first(metal.to(_G)).magnitude > 1e-9:
            found[name] = waste.waste_metal(metal_taken_up=metal, alloy_share=share)
    return found


def carrier_figures(plan: Plan) -> dict[str, Any]:
    """Return what the bath would take up, for the carrier's explanation: never a step.

    ``soda_taken_up``, ``carbon_dioxide`` and ``sludge_when_dry``, middles.
    """
    parts = masses(plan)
    soda = waste.soda_taken_up(crystals_when_fresh=plan.book.values["crystals_when_fresh"])
    sludge = waste.sludge_when_dry(
        waste_iron=parts["iron"],
        metal_taken_up=dissolved(plan),
        waste_chloride=parts["chloride"],
    )
    gas = waste.carbon_dioxide(soda_taken_up=soda)
    return {
        "soda_taken_up": first(soda.to(_G)),
        "carbon_dioxide": first(gas.to(LITRE)),
        "sludge_when_dry": first(sludge.to(_G)),
    }


def after_job(plan: Plan) -> str:
    """Return whether the bath after the commission is ``"used"``, with more plates in it, or ``"spent"``."""
    return "used" if plan.number("spent_share") < plan.number("practical_stop") else "spent"


def statements(metals: tuple[str, ...], acid_added: bool = False) -> tuple[Statement, ...]:
    """Return the hazard statements of an etchant that holds so many metals, by code.

    Parameters
    ----------
    metals : tuple of str
        Of `METALS`.
    acid_added : bool
    """
    there = {"always", *metals, *(["acid"] if acid_added else [])}
    found: dict[str, Statement] = {}
    for row in tables.rows("hazard_statements.csv"):
        if row["when"] in there:
            one = Statement(row["statement"], row["text"], row["substance"], row["source"])
            found.setdefault(one.code, one)
    weaker = {code for one in found.values() for code in _sign(one)["instead_of"].split()}
    return tuple(found[code] for code in sorted(found) if code not in weaker)


SODA = Statement("H319", "Causes serious eye irritation.", "sodium carbonate", "carbonate_label")


@cache
def _sign(statement: Statement) -> dict[str, str]:
    """Return the row of data/hazard_signs.csv of a statement; H360Df is signed as H360."""
    signs = {row["statement"]: row for row in tables.rows("hazard_signs.csv")}
    return signs[statement.code[:4]]


def _bath(plan: Plan, kind: str, acid_added: bool) -> Contents:
    values, there = plan.book.values, masses(plan, kind)
    parts = tuple(_part(name, mass, values["whole_bath"]) for name, mass in there.items())
    whole = waste.waste_mass(
        crystals_when_fresh=values["crystals_when_fresh"],
        mass_fraction=values["etchant_mass_fraction"],
        metal_taken_up=dissolved(plan, kind),
    )
    told = statements(tuple(name for name in there if name in METALS), acid_added)
    return Contents(kind, first(values["whole_bath"].to(LITRE)), first(whole.to(_G)), parts, told)


def _rinse(plan: Plan, acid_added: bool) -> Contents:
    """Return the first rinse after one lift of every plate: the bath, thinned."""
    values, there = plan.book.values, masses(plan)
    del there["water"]
    parts = []
    for name, mass in there.items():
        in_bath = waste.waste_in_litre(waste_part=mass, whole_bath=values["whole_bath"])
        thin = waste.rinse_content(content_before=in_bath, rinse_share=values["rinse_share"])
        parts.append(_part(name, thin * values["rinse_volume"], values["rinse_volume"]))
    told = statements(tuple(name for name in there if name in METALS), acid_added)
    volume = first(values["rinse_volume"].to(LITRE))
    return Contents("rinse", volume, None, tuple(parts), told)


def _part(name: str, mass: Any, volume: Any) -> Part:
    grams = mass.to(_G)
    in_litre = waste.waste_in_litre(waste_part=mass, whole_bath=volume)
    ways = np.broadcast_to(grams.magnitude, ranges.WAYS + 1)
    low, high = (Quantity(float(end), _G) for end in ranges.ends(ways))
    return Part(name, first(grams), low, high, first(in_litre.to(_G_L)))
