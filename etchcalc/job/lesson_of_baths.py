"""Questions on a used bath: what the hydrometer says, and what is left."""

from functools import cache
from math import floor

from etchcalc.core.units import CELSIUS, ONE, Quantity, read, show, unit
from etchcalc.job.lesson_questions import Draw, Lesson, Question, Slip, Sum, question
from etchcalc.process.bath import ferric_demand, ferric_left, plates_to_come
from etchcalc.process.hydrometer import (
    bath_spent_share,
    crystals_left,
    cupric_fraction,
    ferric_fraction,
    ferrous_fraction,
    metal_to_etchant,
    strength_left,
    strength_spent,
    strength_when_fresh,
    trial_strength_left,
    used_specific_gravity,
    zinc_fraction,
)
from etchcalc.process.solutions import baume, etchant_mass_fraction, mass_fraction_of_crystals

ALL, NONE = Quantity(1.0, ONE), Quantity(0.0, ONE)
ROOM = Quantity(20.0, CELSIUS)
COPPER_DENSITY = Quantity(8940.0, unit("kg/m^3"))  # it falls out of the sum

TRUSTED = "That is what the hydrometer would mean in a fresh bath: in a used one the dissolved metal reads too."
TWO_FERRIC = "Each atom of copper uses up two of ferric, not one."
ANHYDROUS = "That counts anhydrous ferric chloride: the bath is counted in crystals (hexahydrate)."
NOT_LEFT = "That is the other part: one is what is spent, the other what is left."
LAST_OF_IT = "That uses the bath to the last of its ferric: it is refreshed before."
SPENT_ALREADY = "Part of it is spent already: only what is left before the stop counts."
SAMPLE = "That is for the sample: ask how often it goes into the whole."

STRENGTHS = ("400 g/L | 64 oz/imperial gallon", "450 g/L | 72 oz/imperial gallon",
             "500 g/L | 80 oz/imperial gallon", "600 g/L | 96 oz/imperial gallon")  # fmt: skip
METAL = ("10 g/L", "15 g/L", "20 g/L", "25 g/L", "30 g/L")


def demand():
    """Return the ferric ions that a volume of copper takes to dissolve."""
    parts = dict.fromkeys(("zinc_share", "nickel_share", "tin_share", "lead_share"), NONE)
    return ferric_demand(metal_density=COPPER_DENSITY, copper_share=ALL, **parts)


def gravity(strength, spent):
    """Return the specific gravity at 60 °F of a bath made at a strength, its share spent on copper."""
    fresh = etchant_mass_fraction(strength=strength, mixing_temperature=ROOM)
    said = {"mass_fraction": fresh, "bath_spent_share": spent}
    copper = {**said, "copper_atom_share": ALL}
    metal = {"metal_to_etchant": metal_to_etchant(**copper)}
    return used_specific_gravity(
        ferric_fraction=ferric_fraction(**said, **metal),
        ferrous_fraction=ferrous_fraction(**said, **metal),
        cupric_fraction=cupric_fraction(**copper, **metal),
        zinc_fraction=zinc_fraction(**copper, **metal),
    )


def as_if_fresh(specific_gravity):
    """Return the strength that a hydrometer's reading would mean in a fresh bath."""
    return strength_when_fresh(
        corrected_gravity=specific_gravity, bath_spent_share=NONE, copper_atom_share=ALL,
        mixing_temperature=ROOM,
    )  # fmt: skip


def _spent(strength, metal) -> tuple[str, Sum, Sum]:
    """Return the sums from copper dissolved to the share spent."""
    takes = demand()
    used = Sum(
        strength_spent, metal_in_bath=metal, metal_density=COPPER_DENSITY, ferric_demand=takes
    )
    said = f"copper takes two ferric ions an atom: {show(takes, 'concentration')} of the metal"
    return said, used, Sum(bath_spent_share, strength=strength, strength_spent=used.value)


@cache
def _reads(strength: str, metal: str):
    """Return the gravity of a bath that was made up so and holds so much copper, and the strength
    that its hydrometer would mean in a fresh one; both are sought, which takes time."""
    reads = gravity(read(strength), _spent(read(strength), read(metal))[2].value)
    return reads, as_if_fresh(reads)


def what_is_left(draw: Draw) -> Question:
    """Ask for the crystals left in a litre of a bath that has dissolved copper."""
    strength, metal = draw.one(*STRENGTHS), draw.one(*METAL)
    takes, used, share = _spent(strength.quantity, metal.quantity)
    reads, fresh = _reads(strength.text, metal.text)
    shown = f"{baume(specific_gravity=reads).to(ONE).magnitude:.1f}"
    left = Sum(strength_left, strength=strength.quantity, bath_spent_share=share.value)

    def slipped(times):
        return strength_left(strength=strength.quantity, bath_spent_share=share.value * times)

    dry = mass_fraction_of_crystals(crystal_share=ALL)
    return question(
        draw,
        f"A bath was made up at {strength} of crystals and has dissolved {metal} of copper since. The "
        f"hydrometer reads {shown} °Bé in it. What strength of crystals is left to work?",
        "strength left", "strength", takes, used, share, left, within="2 %",
        slips=[
            Slip(TRUSTED, fresh), Slip(TWO_FERRIC, slipped(0.5)),
            Slip(ANHYDROUS, slipped(dry)), Slip(ANHYDROUS, left.value * dry),
            Slip(NOT_LEFT, used.value), *draw.other_gallon(left.value, turned=True),
        ],
    )  # fmt: skip


def share_spent(draw: Draw) -> Question:
    """Ask for the share spent."""
    strength, metal = draw.one(*STRENGTHS), draw.one(*METAL)
    takes, used, share = _spent(strength.quantity, metal.quantity)
    return question(
        draw,
        f"A bath made up at {strength} of crystals has dissolved {metal} of copper. What share of its "
        "ferric is spent?",
        "share spent", "share", takes, used, share,
        slips=[
            Slip(NOT_LEFT, 1 - share.value), Slip(TWO_FERRIC, share.value / 2),
            Slip(ANHYDROUS, share.value * mass_fraction_of_crystals(crystal_share=ALL)),
            *draw.other_gallon(share.value),
        ],
    )  # fmt: skip


def trial(draw: Draw) -> Question:
    """Ask for the strength left by copper left overnight in a sample."""
    lost = draw.one("1.5 g | 0.05 oz", "2 g | 0.07 oz", "2.5 g | 0.09 oz", "3 g | 0.1 oz")
    sample = draw.one("50 mL", "100 mL")
    right = Sum(trial_strength_left, copper_lost=lost.quantity, sample_volume=sample.quantity)
    dry = mass_fraction_of_crystals(crystal_share=ALL)
    return question(
        draw,
        f"Copper left overnight in a warm sample of {sample} of the bath has lost {lost}. What strength "
        "of crystals had the sample left, at most?",
        "strength left", "strength", right,
        slips=[
            Slip(TWO_FERRIC, right.value / 2), Slip(ANHYDROUS, right.value * dry),
            *draw.other_gallon(right.value, turned=True),
        ],
    )  # fmt: skip


def whole_bath(draw: Draw) -> Question:
    """Ask for the crystals left in the whole bath by the trial."""
    lost = draw.one("1.5 g | 0.05 oz", "2 g | 0.07 oz", "2.5 g | 0.09 oz", "3 g | 0.1 oz")
    sample = draw.one("50 mL", "100 mL")
    bath = draw.one(
        "2 L | ½ imperial gallon", "3 L | 1 imperial gallon", "5 L | 1½ imperial gallons"
    )
    said = {"copper_lost": lost.quantity, "sample_volume": sample.quantity}
    right = Sum(crystals_left, **said, etchant_volume=bath.quantity)
    return question(
        draw,
        f"Copper left overnight in a warm sample of {sample} has lost {lost}. The bath is {bath}. What "
        "weight of crystals is left in it, at most?",
        "crystals left", "mass", right,
        slips=[
            Slip(TWO_FERRIC, right.value / 2),
            Slip(ANHYDROUS, right.value * mass_fraction_of_crystals(crystal_share=ALL)),
            Slip(SAMPLE, crystals_left(**said, etchant_volume=sample.quantity)),
            *draw.other_gallon(right.value),
        ],
    )  # fmt: skip


def _whole(plates):
    """Return how many plates that is at the bench, where the last part of one is none."""
    return Quantity(float(floor(plates.to(ONE).magnitude + 1e-6)), ONE)


def jobs_to_come(draw: Draw) -> Question:
    """Ask how many more plates a bath does before it is refreshed."""
    fresh = draw.one("1000 g | 36 oz", "1500 g | 48 oz", "2000 g | 64 oz")
    spent, stop = draw.one("10 %", "15 %", "20 %", "25 %"), draw.one("40 %", "50 %", "60 %")
    each = draw.one("20 g | ½ oz", "25 g | 0.8 oz", "30 g | 1 oz")
    before = Sum(
        ferric_left, crystals_when_fresh=fresh.quantity, bath_spent_share=spent.quantity,
        ferric_used=0 * each.quantity,
    )  # fmt: skip
    said = {"crystals_when_fresh": fresh.quantity, "ferric_used": each.quantity, "plate_count": ALL}
    last = {**said, "ferric_left": before.value, "practical_stop": ALL}
    right = Sum(
        plates_to_come, **said, ferric_left=before.value, practical_stop=stop.quantity
    )  # fmt: skip
    to_the_last = plates_to_come(**last)
    anew = plates_to_come(**said, ferric_left=fresh.quantity, practical_stop=stop.quantity)
    return question(
        draw,
        f"A bath was made with {fresh} of crystals, {spent} of them are spent. It is refreshed when "
        f"{stop} are spent. A plate takes {each} of crystals. How many more plates does it do?",
        "plates to come", "number", before, right, within="4 %",
        as_good=[_whole(right.value)],
        slips=[
            *(Slip(LAST_OF_IT, plates) for plates in (to_the_last, _whole(to_the_last))),
            *(Slip(SPENT_ALREADY, plates) for plates in (anew, _whole(anew))),
        ],
    )  # fmt: skip


USED_BATH = Lesson(
    "used-bath",
    "The used bath",
    (
        "A hydrometer tells how heavy a liquid is, not what is in it. In a fresh bath that is the ferric chloride; in a used one the dissolved metal reads too.",
        "So a tired bath reads as strong as on its first day, or stronger. Trusted, it says crystals that are no longer there to work.",
        "What is left: two ferric ions go for each atom of copper. 1 g of copper uses up 8.5 g of crystals.",
        "When nobody wrote it down: leave a weighed piece of copper overnight in a warm sample. What it loses tells what was left.",
    ),
    (what_is_left, share_spent, trial, whole_bath, jobs_to_come),
)
