"""What a bath is after a job or a topping up: ferric and metal are kept account of, by the formulas.

The volume is that of the etchant as if fresh, at the temperature at which it
is made up: metal in it hardly adds to it.
"""

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from etchcalc.core import tables
from etchcalc.core.faults import BadInput
from etchcalc.core.units import LITRE, ONE, G, Quantity, show, unit
from etchcalc.core.vocabulary import term
from etchcalc.process import bath, hydrometer, solutions

MADE_UP_AT = term("mixing_temperature").quantity(float(term("mixing_temperature").start or 0))
PER_LITRE = unit("g/L")
NOTHING, WHOLE = Quantity(0.0, ONE), Quantity(1.0, ONE)


@dataclass(frozen=True)
class State:
    """What a bath is.

    Parameters
    ----------
    strength, volume : Quantity
        As if it were fresh.
    bath_spent_share : Quantity
        Share of its ferric that metal has spent.
    copper_atom_share : Quantity
        Copper among the atoms of the metal in it; 1 where there is none.
    metal_dissolved : Quantity
        Mass of the metal that is in it.
    """

    strength: Any
    volume: Any
    bath_spent_share: Any
    copper_atom_share: Any
    metal_dissolved: Any


def new(strength, volume) -> State:
    """Return a bath fresh from mixing."""
    return State(strength.to(PER_LITRE), volume.to(LITRE), NOTHING, WHOLE, Quantity(0.0, G))


@cache
def composition(metal: str) -> dict[str, Any]:
    """Return the density and the mass shares of an alloy, as the formulas name them."""
    alloy = tables.load("alloys.toml")[metal]
    metals = ("copper", "zinc", "nickel", "tin", "lead")
    shares = {f"{m}_share": Quantity(float(alloy.get(m, 0.0)), ONE) for m in metals}
    density = Quantity(float(alloy["density"]) * 1000, term("metal_density").unit)
    return {**shares, "metal_density": density}


def after_job(now: State, metal: str, metal_removed) -> State:
    """Return the bath after it has dissolved so much of a metal.

    Parameters
    ----------
    now : State
    metal : str
        Key in alloys.toml.
    metal_removed : Quantity

    Raises
    ------
    BadInput
        The ferric left cannot dissolve so much.
    """
    alloy = composition(metal)
    demand = bath.ferric_demand(**alloy)
    used = bath.ferric_used(
        metal_removed=metal_removed, metal_density=alloy["metal_density"], ferric_demand=demand
    ).to(G)
    crystals = solutions.etchant_crystals(etchant_volume=now.volume, strength=now.strength).to(G)
    left = bath.ferric_left(
        crystals_when_fresh=crystals, bath_spent_share=now.bath_spent_share, ferric_used=used
    ).to(G)
    if left < -1e-9 * crystals:  # a hair more, for a bath that is spent to the last ion
        most = show(metal_removed * ((left + used) / used), "mass", count=2, toward=-1)
        raise BadInput(
            f"{show(metal_removed, 'mass')} of metal is more than the ferric left can dissolve, which "
            f"is {most}; type less, or enter first how the bath was topped up."
        )
    share = bath.spent_share(ferric_left=left, crystals_when_fresh=crystals).to(ONE)
    return replace(
        now,
        bath_spent_share=min(share, WHOLE),
        copper_atom_share=_copper(now, crystals * now.bath_spent_share, alloy, used),
        metal_dissolved=now.metal_dissolved + metal_removed.to(G),
    )


def _copper(now: State, used_before, alloy: dict, used):
    """Return the copper among all atoms dissolved: any metal takes two ferric ions an atom."""
    whole = used_before + used
    if not whole.magnitude > 0:
        return now.copper_atom_share
    share = bath.copper_atom_share(
        metal_density=alloy["metal_density"],
        copper_share=alloy["copper_share"],
        ferric_demand=bath.ferric_demand(**alloy),
    )
    return ((used_before * now.copper_atom_share + used * share) / whole).to(ONE)


def after_topping(now: State, taken_out, crystals, water) -> State:
    """Return the bath after a share was taken out, and crystals and water were put in.

    Raises
    ------
    BadInput
        It is no bath any more, too strong or too weak.
    """
    w = solutions.etchant_mass_fraction(strength=now.strength, mixing_temperature=MADE_UP_AT)
    density = solutions.etchant_density(mass_fraction=w, temperature=MADE_UP_AT)
    # asked of the etchant as if fresh, whose volume is the one kept account of
    kept = hydrometer.etchant_mass_kept(
        etchant_volume=now.volume,
        used_density=density,
        metal_to_etchant=NOTHING,
        replaced_share=taken_out.to(ONE),
    )
    old = {"etchant_mass_kept": kept, "mass_fraction": w}
    whole = hydrometer.topped_crystals(**old, added_crystals=crystals)
    mixed = hydrometer.topped_mass_fraction(**old, added_crystals=crystals, added_water=water)
    strength = hydrometer.topped_strength(
        topped_mass_fraction=mixed, mixing_temperature=MADE_UP_AT
    ).to(PER_LITRE)
    word = term("topped_strength")
    if not word.low <= strength.magnitude <= word.high:
        raise BadInput(
            f"the bath would hold {show(strength, 'strength')} of crystals, and a bath is of "
            f"{word.low} to {word.high} g/L; type what was put in anew."
        )
    volume = hydrometer.topped_volume(topped_crystals=whole, topped_strength=strength).to(LITRE)
    spent = hydrometer.topped_spent_share(
        **old, bath_spent_share=now.bath_spent_share, topped_crystals=whole
    )
    metal = hydrometer.topped_metal(
        metal_in_bath=hydrometer.metal_in_bath(
            metal_dissolved=now.metal_dissolved, whole_bath=now.volume
        ),
        etchant_mass_kept=kept,
        etchant_density=density,
        topped_crystals=whole,
        topped_strength=strength,
    )
    return State(strength, volume, spent.to(ONE), now.copper_atom_share, (metal * volume).to(G))
