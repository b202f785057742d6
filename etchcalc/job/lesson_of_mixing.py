"""Questions on mixing from another packet than the recipe's: soda, crystals, bottles, gallons."""

from functools import cache

from etchcalc.core.units import ONE, Quantity, read, show
from etchcalc.job.lesson_questions import Draw, Lesson, Question, Slip, Sum, question
from etchcalc.process.developing import developer_soda, made_strength, other_soda, soda_share
from etchcalc.process.solutions import (
    crystal_water,
    dilution_water,
    etchant_crystals,
    mass_fraction,
    mass_fraction_of_crystals,
    specific_gravity,
)

SODAS = {"clear lumps (decahydrate)": 10, "monohydrate powder": 1, "anhydrous powder": 0}
ALL = Quantity(1.0, ONE)

SAME = "That is the recipe's own weight: the two packets do not hold the same share of dry soda."
RATIO = "The ratio is upside down: of a packet with more water in its crystals you need more."
FOR_ONE = "That is for the recipe's volume: you make up more."
HYDRATE = (
    "That is the weight of crystals: two fifths of them are water, of the anhydrous you need less."
)
DIVIDED = "The crystals hold three fifths of anhydrous: multiply by that share, do not divide."
CRYSTAL_WATER = "The crystals bring water with them, the anhydrous does not: pour that water too."


def other_packet(draw: Draw) -> Question:
    """Ask for the weight of another hydrate than the recipe's."""
    recipe, packet = draw.random.sample(list(SODAS), 2)
    weight = draw.one("8 g | 1 oz", "10 g | 1½ oz", "12 g | 2 oz", "15 g | 2½ oz", "20 g | 3 oz")
    each = draw.typed("1 L") if draw.system == "metric" else draw.one("1 imperial gallon")
    volume = draw.one(
        "1.5 L | 1½ imperial gallons", "2 L | 2 imperial gallons", "2.5 L | 2½ imperial gallons"
    )
    shares = [Sum(soda_share, soda_waters=Quantity(float(SODAS[n]), ONE)) for n in (recipe, packet)]
    said, has = (s.value for s in shares)
    strength = Sum(
        made_strength, weighed_soda=weight.quantity, soda_share=said, developer_volume=each.quantity
    )
    right = Sum(
        developer_soda, developer_volume=volume.quantity, developer_strength=strength.value,
        soda_share=has,
    )  # fmt: skip
    return question(
        draw,
        f"A recipe for developer says {weight} of washing soda, {recipe}, to {each}. Your packet is "
        f"{packet}. How much of it for {volume}?",
        "weight of your soda", "mass", f"{recipe}:", shares[0], f"{packet}:", shares[1],
        "the recipe, in dry soda:", strength, "what to weigh:", right,
        slips=[
            Slip(SAME, developer_soda(
                developer_volume=volume.quantity, developer_strength=strength.value, soda_share=said)),
            Slip(RATIO, other_soda(
                weighed_soda=weight.quantity * (volume.quantity / each.quantity).to(ONE),
                soda_share=has, other_soda_share=said)),
            Slip(FOR_ONE, other_soda(
                weighed_soda=weight.quantity, soda_share=said, other_soda_share=has)),
        ],
    )  # fmt: skip


def anhydrous_ferric(draw: Draw) -> Question:
    """Ask for the weight of anhydrous ferric chloride in the place of crystals."""
    strength = draw.one("400 g/L | 64 oz/imperial gallon", "450 g/L | 72 oz/imperial gallon",
                        "500 g/L | 80 oz/imperial gallon", "600 g/L | 96 oz/imperial gallon")  # fmt: skip
    volume = draw.one("1.5 L | ½ imperial gallon", "2 L | 2 imperial gallons",
                      "3 L | 3 imperial gallons", "5 L | 1½ imperial gallons")  # fmt: skip
    crystals = Sum(
        etchant_crystals, etchant_volume=volume.quantity, strength=strength.quantity.to("g/L")
    )
    share = Sum(mass_fraction_of_crystals, crystal_share=ALL)
    mass = crystals.value.to("g")
    one = strength.quantity * (draw.typed("1 L") if draw.system == "metric" else draw.one("1 imperial gallon")).quantity  # fmt: skip
    return question(
        draw,
        f"An etchant is to hold {strength} of crystals (hexahydrate). You make {volume} of it, from "
        "anhydrous ferric chloride. How much of that do you weigh?",
        "weight of the anhydrous", "mass", crystals, share,
        f"the anhydrous in it = crystals · share = {show(mass * share.value, 'mass', fixed=False)}",
        right=mass * share.value,
        slips=[
            Slip(HYDRATE, mass), Slip(DIVIDED, mass / share.value),
            Slip("That is for one litre or gallon: you make another volume.", one.to("g") * share.value),
        ],
    )  # fmt: skip


def water_to_pour(draw: Draw) -> Question:
    """Ask for the water with anhydrous where the recipe takes crystals."""
    crystals = draw.one("500 g | 20 oz", "800 g | 30 oz", "1000 g | 40 oz", "1500 g | 60 oz")
    water = draw.one("900 g | 32 oz", "1200 g | 48 oz", "1500 g | 60 oz", "2000 g | 80 oz")
    share = Sum(mass_fraction_of_crystals, crystal_share=ALL)
    dry = draw.shown(crystals.quantity * share.value, "mass")
    within = Sum(crystal_water, etchant_crystals=crystals.quantity)
    right = water.quantity.to("g") + within.value.to("g")
    return question(
        draw,
        f"A recipe says {crystals} of crystals into {water} of water. You take {dry} of anhydrous "
        "instead, which is as much ferric chloride. Into what weight of water?",
        "weight of the water", "mass", share, within,
        f"water to pour = water of the recipe + water in the crystals = {show(right, 'mass', fixed=False)}",
        right=right,
        slips=[
            Slip(CRYSTAL_WATER, water.quantity),
            Slip("The crystals' water is what they weigh less the anhydrous, not the anhydrous itself.",
                 water.quantity + dry.quantity),
        ],
    )  # fmt: skip


@cache
def _bottled(degrees: str) -> Sum:
    """Return the share of ferric chloride in a bottle of so many degrees; it is sought, which takes time."""
    heavy = specific_gravity(baume=read(degrees))
    return Sum(mass_fraction, specific_gravity=heavy)


def bottle(draw: Draw) -> Question:
    """Ask for the water that dilutes a solution sold by its degrees Baumé."""
    baume = draw.one("38", "40", "42", "44")
    mass = draw.one("1 kg | 2 lb", "2 kg | 4 lb", "3 kg | 6 lb")
    wanted = draw.one("20 %", "25 %", "28 %")
    heavy = Sum(specific_gravity, baume=baume.quantity)
    share = _bottled(baume.text)
    bottled = draw.typed(show(share.value, "share"))
    said = {"etchant_mass": mass.quantity}
    right = Sum(
        dilution_water, **said, mass_fraction=bottled.quantity,
        wanted_mass_fraction=wanted.quantity,
    )  # fmt: skip
    return question(
        draw,
        f"A bottle is marked {baume} °Bé: by the table that is {bottled} of ferric chloride by mass. You "
        f"take {mass} of it and want {wanted}. What weight of water do you add?",
        "weight of the water", "mass", heavy, share, right,
        slips=[
            Slip("That is what the whole weighs in the end: ask how much is added.",
                 mass.quantity + right.value),
            Slip("The ferric chloride stays the same, the whole grows: divide by the share that is wanted, not by what the bottle has.",
                 -dilution_water(
                     **said, mass_fraction=wanted.quantity, wanted_mass_fraction=bottled.quantity)),
            Slip("The degrees are no percentage: take the share that the table gives for them.",
                 dilution_water(
                     **said, mass_fraction=baume.quantity / 100,
                     wanted_mass_fraction=wanted.quantity)),
        ],
    )  # fmt: skip


def gallons(draw: Draw) -> Question:
    """Ask for the soda by a recipe for the other gallon."""
    here, there = ("imperial", "US") if draw.system == "imperial" else ("US", "imperial")
    of = draw.random.choice((here, there)) if draw.system == "metric" else there
    weight = draw.one("1½ oz", "2 oz", "3 oz", "4 oz")
    volume = draw.one("1.5 L", "2 L", "4 L", "5 L") if draw.system == "metric" else draw.one(
        "1 imperial gallon", "1½ imperial gallons", "2 imperial gallons", "3 imperial gallons"
    )  # fmt: skip
    strengths = {
        name: Sum(made_strength, weighed_soda=weight.quantity, soda_share=ALL,
                  developer_volume=draw.typed(f"1 {name} gallon").quantity)
        for name in ("imperial", "US")
    }  # fmt: skip
    mixes = {
        name: Sum(developer_soda, developer_volume=volume.quantity,
                  developer_strength=strength.value, soda_share=ALL)
        for name, strength in strengths.items()
    }  # fmt: skip
    other = "US" if of == "imperial" else "imperial"
    book = "an old British" if of == "imperial" else "an American"
    measures = "4.546 L" if of == "imperial" else "3.785 L"
    return question(
        draw,
        f"{book[0].upper()}{book[1:]} book says {weight} of anhydrous soda to the gallon. You make up "
        f"{volume}. How much of the same soda do you weigh?",
        "weight of the soda", "mass", strengths[of], mixes[of],
        slips=[
            Slip(f"That is the other gallon: in {book} book a gallon is {measures}.", mixes[other].value),
            Slip("That is for one gallon of the book: you make another volume.", weight.quantity),
        ],
    )  # fmt: skip


MIX_FROM_THE_WRONG_PACKET = Lesson(
    "mix-from-the-wrong-packet",
    "Mix from the wrong packet",
    (
        "A salt in crystals has water in it, which weighs but does no work. Clear lumps of washing soda are 37 % dry soda, monohydrate 85 %, anhydrous all of it.",
        "So weigh by what is dry: weight × its dry share is the same for every packet. Of ferric chloride the crystals are three fifths anhydrous, two fifths water.",
        "What the crystals brought in water must be poured when they are left out. Dilute by mass, since volumes do not add.",
        "An imperial gallon is 4.546 L, a US gallon 3.785 L: a sixth less. The degrees Baumé on a bottle are a density, no percentage; a table tells the share.",
    ),
    (other_packet, anhydrous_ferric, water_to_pour, bottle, gallons),
)
