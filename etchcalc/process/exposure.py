"""Exposing the resist: time from a step wedge, lamp, dose, and what spread under the film."""

from etchcalc.core.formula import formula
from etchcalc.core.units import ONE, Quantity


@formula(source="step_wedge", method="10^(step density · (wanted step − held step))")
def step_factor(*, step_density, wanted_step, held_step):
    """Return how many times as long to expose, from the last step that a test held.

    Each step of the wedge lets pass the same share of the light that the one
    before it does: a density of 0.15 a step is a factor of 1.413.
    """
    return Quantity(10 ** (step_density * (wanted_step - held_step)).to(ONE).magnitude, ONE)


@formula(source="lamp_falloff")
def lamp_distance_factor(*, lamp_distance, test_distance, lamp_falloff):
    """Return how many times as long to expose when the lamp is moved.

    Parameters
    ----------
    lamp_distance, test_distance : Quantity
        Lamp to film, now and when the test was made.
    lamp_falloff : Quantity
        Power of the distance: 2 for a bulb that is small beside its distance,
        1 for one long tube, nothing for a wide panel or bank close by.
    """
    return (lamp_distance / test_distance) ** lamp_falloff


@formula(source="exposure_law")
def exposure_time(*, test_exposure, step_factor, lamp_distance_factor, lamp_output):
    """Return the exposure: that of the test, corrected for step, distance and an ageing lamp."""
    return test_exposure * step_factor * lamp_distance_factor / lamp_output


@formula(source="exposure_law")
def exposure_dose(*, irradiance, exposure_time):
    """Return the dose that an exposure gives."""
    return irradiance * exposure_time


@formula(source="exposure_law")
def exposure_by_dose(*, wanted_dose, irradiance):
    """Return the exposure that gives the dose of the resist's sheet."""
    return wanted_dose / irradiance


# ---- the test strip: film, developed resist, etched metal


@formula(source="geometry")
def exposure_growth(*, developed_line, section_film):
    """Return how much wider a line opened in the resist than it stands on the film.

    Negative where light crept under the film's edge and the line came out narrower.
    """
    return developed_line - section_film


@formula(source="ipc_t_50")
def strip_undercut(*, section_line, developed_line):
    """Return the undercut at one edge, with no error of exposure in it.

    The depth over it is the etch factor of the bath alone: `measured_etch_factor`
    with the developed width in place of the film's.
    """
    return (section_line - developed_line) / 2
