"""Questions on how sure a figure is: errors together, what to measure better, when to lift."""

from etchcalc.core.units import Quantity, show, unit
from etchcalc.job.first_order import Estimate, first_order, rectangular
from etchcalc.job.lesson_questions import Draw, Lesson, Question, Slip, Sum, question
from etchcalc.process.gauging import depth_by_weight

ADDED = "That adds them as they stand: errors that know nothing of each other add by squares."
NO_ROOT = "That is the sum of the squares: take its root."
ONE_ALONE = "That is the greatest alone: the others add a little to it, by squares."
READING_ALONE = "That is the reading alone: what drifts after it stays, and adds by squares."
HALF_WIDTH = "That is the half width: where none within it is likelier, divide it by √3."
BY_THREE = "That divides by 3: divide by its root, √3."
WHOLE_WIDTH = "That takes the whole width: count from the middle to one end."
LESSER = "That halves the lesser one: the greater weighs by its square, halve that."
BOTH = "That halves both: only one is measured better."
AS_IT_WAS = "That is how it was before: halve the greater one."
MIDDLE = "That is the middle: half of such plates are too deep by then. Lift at the early end."
LATE_END = "That is the late end: nearly all plates are too deep by then."
TAKEN_OFF = "That takes a share off: the early end is the middle divided by the factor."

PERCENT = unit("percent")
BRASS, BRASS_OFF = Quantity(8440.0, unit("kg/m^3")), Quantity(20.0, unit("kg/m^3"))
PARTS = ("3 %", "4 %", "5 %", "6 %", "8 %", "10 %", "12 %", "15 %")


def together(*errors):
    """Return the combined standard uncertainty of what each error moves by itself.

    Parameters
    ----------
    *errors : Quantity
        Standard uncertainties, of one kind, that know nothing of each other.
    """
    own = errors[0].units
    each = {str(i): Estimate(0.0, float(e.to(own).magnitude)) for i, e in enumerate(errors)}
    return Quantity(first_order(lambda **moved: sum(moved.values()), each).uncertainty, own)


def _squares(*shares):
    """Return the sum of the squares of shares in per cent, as one does who forgets the root."""
    return Quantity(sum(float(s.to(PERCENT).magnitude) ** 2 for s in shares), PERCENT)


def _root(*shares) -> str:
    """Return how shares are put together, as a sum."""
    shown = [show(share, "share", fixed=False) for share in shares]
    whole = show(together(*shares), "share", fixed=False)
    return f"√({' + '.join(f'({share})²' for share in shown)}) = {whole}"


def weighed(draw: Draw) -> Question:
    """Ask how uncertain a depth by weighing is."""
    lost, lost_off = draw.one("10 g | 0.4 oz", "12 g | 0.5 oz"), draw.one("0.1 g | 0.005 oz", "0.2 g | 0.01 oz")  # fmt: skip
    face = draw.one("40 cm² | 6 sq in", "50 cm² | 8 sq in")
    face_off = draw.one("0.8 cm² | 0.1 sq in", "1 cm² | 0.2 sq in", "1.5 cm² | 0.3 sq in")
    said = {
        "weight_lost": (lost.quantity, lost_off.quantity, "kg"),
        "metal_density": (BRASS, BRASS_OFF, "kg/m^3"),
        "open_area_of_all": (face.quantity, face_off.quantity, "m^2"),
    }
    depth = Sum(depth_by_weight, **{name: middle for name, (middle, _, _) in said.items()})
    known = {
        name: Estimate(float(middle.to(of).magnitude), float(off.to(of).magnitude))
        for name, (middle, off, of) in said.items()
    }
    right = Quantity(first_order(depth_by_weight, known).uncertainty, unit("m"))
    shares = [(off / middle).to(PERCENT) for middle, off, _ in said.values()]
    return question(
        draw,
        f"A plate of brass has lost {lost} in the bath, with {face} open. The standard uncertainties "
        f"are {lost_off} of the weight, {face_off} of the area, and 20 kg/m³ of the metal's 8440 "
        "kg/m³. What is the standard uncertainty of the depth?",
        "uncertainty of the depth", "film", depth,
        f"of weight, density and area, as shares of themselves: {_root(*shares)}",
        "uncertainty of the depth = that share of the depth", right=right,
        slips=[
            Slip(ADDED, depth.value * sum(shares)), Slip(NO_ROOT, depth.value * _squares(*shares)),
            Slip(ONE_ALONE, depth.value * max(shares)),
        ],
    )  # fmt: skip


def half_width(draw: Draw) -> Question:
    """Ask for the standard uncertainty of what lies within a half width."""
    half = draw.one("0.01 mm | 0.4 thou", "0.015 mm | 0.6 thou", "0.02 mm | 0.8 thou", "0.025 mm | 1 thou", "0.03 mm | 1.2 thou",
                    "0.04 mm | 1.6 thou", "0.05 mm | 2 thou", "0.06 mm | 2.4 thou")  # fmt: skip
    bare = float(half.quantity.magnitude)
    right = Quantity(rectangular(-bare, bare).uncertainty, half.quantity.units)
    return question(
        draw,
        f"A gauge is good for ± {half}: no error within that is likelier than another, none is "
        "greater. What is its standard uncertainty?",
        "standard uncertainty", "film", f"standard uncertainty = half width / √3 = {half} / √3",
        right=right,
        slips=[
            Slip(HALF_WIDTH, half.quantity), Slip(BY_THREE, half.quantity / 3),
            Slip(WHOLE_WIDTH, 2 * right),
        ],
    )  # fmt: skip


def drifting(draw: Draw) -> Question:
    """Ask how uncertain the rate is at the lift, after a reading."""
    reading, drift = draw.one(*PARTS), draw.one(*PARTS)
    both = reading.quantity, drift.quantity
    return question(
        draw,
        f"A reading tells the rate with a standard uncertainty of {reading}. From then to the lift it "
        f"may drift by {drift} more, whatever the reading's error was. What is the standard "
        "uncertainty of the rate at the lift?",
        "uncertainty of the rate", "share", _root(*both), right=together(*both),
        slips=[
            Slip(ADDED, sum(both)), Slip(NO_ROOT, _squares(*both)),
            Slip(READING_ALONE, reading.quantity),
        ],
    )  # fmt: skip


def measured_better(draw: Draw) -> Question:
    """Ask what is left when the better one of two errors is halved."""
    warm, strong = draw.one(*PARTS), draw.one(*PARTS)
    less, more = sorted((warm.quantity, strong.quantity))
    right = together(more / 2, less)
    return question(
        draw,
        f"The bath's temperature makes the rate uncertain by {warm}, its strength by {strong}, and neither "
        "hangs on the other. You have time to measure one of them twice as well. How uncertain is "
        "the rate then, at best?",
        "uncertainty left", "share", f"the greater halved: {_root(more / 2, less)}", right=right,
        within="2 %",
        slips=[
            Slip(LESSER, together(more, less / 2)),
            Slip(NO_ROOT, _squares(more / 2, less)), Slip(BOTH, together(more, less) / 2),
            Slip(AS_IT_WAS, together(more, less)),
        ],
    )  # fmt: skip


def lift(draw: Draw) -> Question:
    """Ask when to lift so that the chance of too deep is 5 %."""
    middle = draw.one("3 h", "200 min", "4 h", "5 h", "6 h")
    factor = draw.one("1.2", "1.25", "1.3", "1.4")
    time, times = middle.quantity, factor.quantity
    return question(
        draw,
        f"A plate is deep enough after {middle} in the middle. Nine in ten such plates take between "
        f"that divided by {factor} and that times {factor}, half of the rest less, half more. When is "
        "it lifted, so that the chance of too deep is 5 %?",
        "time to lift", "time", "one in twenty is done before the early end",
        f"early end = middle / factor = {middle} / {factor}", right=time / times,
        within="2 %",
        slips=[
            Slip(MIDDLE, time), Slip(LATE_END, time * times), Slip(TAKEN_OFF, time * (2 - times)),
        ],
    )  # fmt: skip


HOW_SURE = Lesson(
    "how-sure",
    "How sure?",
    (
        "A figure without a range is half a figure. Its standard uncertainty is the usual miss: two times in three the truth lies within it. Where all that is said is ±, and nothing within that is likelier, it is the half width / √3.",
        "Errors that know nothing of each other add by squares: 3 % and 4 % are √(3² + 4²) = 5 % together. Where figures are multiplied or divided, take each as a share of itself.",
        "Measure better what weighs most: 8 % and 3 % are 8.5 %. Halve the 8 %, and 5 % are left; halve the 3 %, and it is still 8.1 %.",
        "A reading narrows the range; what may drift after it stays. Of the times to a depth nine in ten lie between an early and a late end, one in twenty before: lift at the early end, and the chance of too deep is 5 %.",
    ),
    (weighed, half_width, drifting, measured_better, lift),
    example=3,
)
