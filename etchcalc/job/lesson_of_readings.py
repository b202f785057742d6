"""Questions on gauging: three readings, one of them over film; when to lift."""

from functools import lru_cache

import numpy as np

from etchcalc.core.units import HOUR, MM, Quantity, show, unit
from etchcalc.job.calibrate import ALONE, Reading, learnt
from etchcalc.job.commission_file import parsed
from etchcalc.job.lesson_questions import Draw, Lesson, Question, Slip, Sum, question
from etchcalc.job.plan import Plan, planned
from etchcalc.process.etching import etch_time
from etchcalc.process.gauging import depth_by_weight, late_depth, late_shortfall, time_to_go

OVER_FILM = "The gauge stood on the resist: take its thickness off what it read."
TAKEN_ON = "The film is above the metal's face: take it off, do not add it."
ALREADY = "That is the time in all: so much of it is over already."
TO_GO = "That is what is left from now: the question is how long in all."
ONE_PLATE = "The plates were weighed together: take the open area of all of them."
NO_LATER = "It began later than the others, so it is not as deep when they are done."

TIMES = ("30 min", "40 min", "45 min", "60 min", "90 min")
RESISTS = ("0.03 mm | 1.2 thou", "0.04 mm | 1.6 thou", "0.05 mm | 2 thou")
ORDERED = ("0.2 mm | 8 thou", "0.25 mm | 10 thou", "0.3 mm | 12 thou", "0.4 mm | 16 thou")
SO_FAR = ("0.08 mm | 3 thou", "0.1 mm | 4 thou", "0.12 mm | 5 thou", "0.15 mm | 6 thou")
GAUGE_ERROR, DRIFT = 0.02, 0.05  # mm; of ln(rate): as the forecast takes them


def over_film(draw: Draw) -> Question:
    """Ask for the depth by a gauge that stood on the resist."""
    metal, resist = draw.one(*SO_FAR), draw.one(*RESISTS)
    read = draw.shown(metal.quantity + resist.quantity, "fine")
    right = read.quantity - resist.quantity
    return question(
        draw,
        f"The foot of a gauge stands on resist {resist} thick. Its tip, on the groove's floor, reads "
        f"{read}. How deep is the groove in the metal?",
        "depth", "fine", f"depth = reading − resist = {read} − {resist}", right=right,
        within="0.005 mm",
        slips=[Slip(OVER_FILM, read.quantity), Slip(TAKEN_ON, read.quantity + resist.quantity)],
    )  # fmt: skip


def to_go(draw: Draw) -> Question:
    """Ask for the time to go by one reading over film."""
    ordered, metal, resist = draw.one(*ORDERED), draw.one(*SO_FAR), draw.one(*RESISTS)
    minutes, read = draw.one(*TIMES), draw.shown(metal.quantity + resist.quantity, "fine")

    def left(reached):
        rate = reached / minutes.quantity
        return time_to_go(depth=ordered.quantity, reached_depth=reached, etch_rate=rate)

    reached = read.quantity - resist.quantity
    rate = reached / minutes.quantity
    return question(
        draw,
        f"A line is ordered {ordered} deep. After {minutes} in the bath the gauge, on resist {resist} "
        f"thick, reads {read}. At the same rate, how long is still to go?",
        "time to go", "time", f"depth reached = reading − resist = {read} − {resist} = {show(reached, 'fine', draw.system)}",
        "rate = depth reached / time so far",
        Sum(time_to_go, depth=ordered.quantity, reached_depth=reached, etch_rate=rate), within="4 %",
        slips=[
            Slip(OVER_FILM, left(read.quantity)),
            Slip(ALREADY, etch_time(depth=ordered.quantity, etch_rate=rate)),
        ],
    )  # fmt: skip


def _alone(readings: list[Reading], depth: float, rate: float):
    """Return the time to a depth (mm) by readings alone, from a rate in mm an hour to begin with."""
    told = learnt(
        readings, lambda depths, wide: np.asarray(depths) / rate * 60, depth,
        prior=ALONE, drift=DRIFT, gauge_error=GAUGE_ERROR,
    )  # fmt: skip
    return etch_time(
        depth=Quantity(depth, MM), etch_rate=Quantity(rate * told.correction, unit("mm/hour"))
    )


def _together(deep: list[float], ordered: float) -> list:
    """Return the time to a depth (mm) by readings after 1, 2 and 3 h, as one may put them together.

    Each rate counts alike, or the deeper reading more, by least squares, or the last one alone.
    """
    hours, read = np.arange(1.0, 4.0), np.array(deep)
    rates = (read / hours).mean(), read @ hours / (hours @ hours), read[2] / hours[2]
    return [
        etch_time(depth=Quantity(ordered, MM), etch_rate=Quantity(float(r), unit("mm/hour")))
        for r in rates
    ]


def three(draw: Draw) -> Question:
    """Ask for the time in all by three readings, the last of them over film."""
    rate = draw.one("0.05 mm | 2 thou", "0.06 mm | 2.4 thou", "0.075 mm | 3 thou").quantity
    hours = draw.random.choice((4, 4.5, 5, 6))
    resist = draw.one(*RESISTS[1:], "0.06 mm | 2.4 thou")  # a thin one is lost in the gauge's error
    ordered = draw.shown(rate * hours, "fine")
    off = [draw.random.choice((-0.02, 0.0, 0.02)) for _ in range(3)]
    metal = [rate * (h + 1) * (1 + o) for h, o in enumerate(off)]
    texts = [draw.shown(m, "fine") for m in (*metal[:2], metal[2] + resist.quantity)]
    deep = [t.quantity.to(MM).magnitude for t in texts]
    deep[2] -= resist.quantity.to(MM).magnitude
    depth, begun = ordered.quantity.to(MM).magnitude, rate.to(MM).magnitude
    read = [Reading(60.0 * (i + 1), d) for i, d in enumerate(deep)]
    right = _alone(read, depth, begun)
    fooled = _together([t.quantity.to(MM).magnitude for t in texts], depth)
    return question(
        draw,
        f"A line is ordered {ordered} deep. The gauge reads {texts[0]} after 1 h and {texts[1]} after "
        f"2 h, on bare metal; after 3 h it reads {texts[2]}, but on resist {resist} thick. When is the "
        "plate done, counted from the start?",
        "time in all", "time", f"third depth = {texts[2]} − {resist}",
        "each reading tells a rate; the deeper it is, the less the gauge's own error counts in it",
        f"rate = depth / time, of the three together; time = {ordered} / rate", right=right,
        within="4 %", as_good=_together(deep, depth),
        slips=[
            *(Slip(OVER_FILM, time) for time in fooled), Slip(TO_GO, right - Quantity(3.0, HOUR)),
        ],
    )  # fmt: skip


def weighed(draw: Draw) -> Question:
    """Ask for the mean depth by what the plates have lost."""
    plates = draw.random.choice((2, 3, 4, 6))
    lost = draw.one("10 g | 0.35 oz", "12 g | 0.4 oz", "14 g | 0.5 oz", "16 g | 0.6 oz")
    open_area = draw.one("20 cm² | 3 sq in", "25 cm² | 4 sq in", "30 cm² | 5 sq in")
    brass = Quantity(8440.0, unit("kg/m^3"))
    said = {"weight_lost": lost.quantity, "metal_density": brass}
    right = Sum(depth_by_weight, **said, open_area_of_all=plates * open_area.quantity)
    return question(
        draw,
        f"{plates} plates of brass (8440 kg/m³), each with {open_area} open, have lost {lost} together "
        "since they were weighed before the bath. How deep are they etched, in the mean?",
        "mean depth", "fine", right, within="4 %",
        slips=[Slip(ONE_PLATE, depth_by_weight(**said, open_area_of_all=open_area.quantity))],
    )  # fmt: skip


def late(draw: Draw) -> Question:
    """Ask for how much a place that cleared late falls short."""
    ordered, time = draw.one(*ORDERED), draw.one("90 min", "2 h", "150 min", "3 h")
    cleared = draw.one("15 min", "20 min", "30 min", "40 min")
    said = {"depth": ordered.quantity, "etch_time": time.quantity, "cleared_late": cleared.quantity}
    deep = Sum(late_depth, **said)
    return question(
        draw,
        f"A line is ordered {ordered} deep and takes {time}. One place was covered by a smear and "
        f"began {cleared} after the others. By how much is it too shallow when the others are done?",
        "shortfall", "fine", deep, Sum(late_shortfall, depth=ordered.quantity, late_depth=deep.value),
        within="0.005 mm",
        slips=[
            Slip("That is how deep it is: the question is by how much it falls short.", deep.value),
            Slip(NO_LATER, ordered.quantity),
        ],
    )  # fmt: skip


THREE_READINGS = Lesson(
    "three-readings",
    "Three readings, one over film",
    (
        "A gauge tells the depth below where its foot stands. On bare metal that is the depth; on resist the film's thickness is in it.",
        "0.13 mm (5 thou) read over 0.05 mm (2 thou) of resist is 0.08 mm (3 thou) of metal. Taken as it stands, the plate is lifted hours too early.",
        "Each reading tells a rate. The first is taken when the groove is shallow, where the gauge's own error counts most; three together tell when to lift.",
        "A time is never known to the minute: lift before it may be too deep, gauge, and put the plate back.",
    ),
    (over_film, to_go, three, weighed, late),
    example=1,
)

# An invented commission for the picture: 0.25 mm in four hours.
_INVENTED = """
[plate]
plate_width = "120 mm"
plate_height = "45 mm"
metal = "brass"
[lines]
finest_line = "0.6 mm"
depth = "0.25 mm"
"""
DEPTHS_READ = (
    "0.06 mm",
    "0.13 mm",
    "0.24 mm",
)  # after one, two and three hours, the last over film


@lru_cache(maxsize=64)
def forecast(readings: int, resist: float) -> Plan:
    """Return the plan of an invented job after so many of three readings.

    Parameters
    ----------
    readings : int
        0 to 3.
    resist : float
        What is taken off the third for the film under the gauge, in mm.
    """
    commission = parsed(_INVENTED)
    for hour, deep in enumerate(DEPTHS_READ[:readings], 1):
        said = {"reading_time": f"{hour} h", "reading_depth": deep,
                "film_under_gauge": f"{resist:g} mm" if hour == 3 else "0 mm"}  # fmt: skip
        commission = commission.with_row("reading", said)
    return planned(commission)
