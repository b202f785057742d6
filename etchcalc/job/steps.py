"""The formulas of a plan, step by step, and which of them a commission takes.

By step of data/steps.toml, but worked in the order in which each needs the
ones before. A value that is known already is not worked again, so what is
known of a used bath stands before what a new one takes. What no answer rests on
is worked only when somebody reads it (`bench_steps`).
"""

from etchcalc.job.book import Use, use
from etchcalc.job.commission import Commission
from etchcalc.job.schema import SECOND_FACTS

LEVEL = (
    use("etchant_level"),
    use("plates_volume"),
    use("volume_to_pour", "etchant_volume"),
    use("whole_bath"),
)
# What a bath is that is not new, by what is known of it; then what it is made of.
WRITTEN = (use("metal_in_bath"), use("strength_spent"), use("bath_spent_share"))
READ = (
    use("spent_guess"),
    use("true_density"),
    use("corrected_gravity", bath_spent_share="spent_guess"),
)
SHELF = {
    "metal_dissolved": (*READ, *WRITTEN[:2], use("strength_by_metal", "strength"), WRITTEN[2]),
    "copper_lost": (
        *READ,
        use("trial_strength_left", "strength_left"),
        use("strength_by_trial", "strength"),
        use("spent_by_trial", "strength_spent"),
        use("bath_spent_share"),
    ),
    "strip_share": (
        *READ,
        use("spent_by_strip", "bath_spent_share"),
        use("strength_when_fresh", "strength"),
    ),
    "": (*READ, use("spent_guess", "bath_spent_share"), use("strength_when_fresh", "strength")),
}
_MIXED = {"mass_fraction": "etchant_mass_fraction"}
USED = (
    use("etchant_mass_fraction"),
    use("metal_to_etchant", **_MIXED),
    use("ferric_fraction", **_MIXED),
    use("ferrous_fraction", **_MIXED),
    use("cupric_fraction", **_MIXED),
    use("zinc_fraction", **_MIXED),
    use("used_density", "etchant_density", temperature="mixing_temperature"),
    use("used_specific_gravity"),
    use("baume", "etchant_baume", specific_gravity="used_specific_gravity"),
    use("used_molality", "molality"),
    use("used_density", "warm_density"),
    use("used_viscosity", "viscosity"),
    use("ferric_concentration", mass_fraction="ferric_fraction", etchant_density="warm_density"),
)
NEW = (
    use("etchant_mass_fraction"),
    use("etchant_density", mass_fraction="etchant_mass_fraction", temperature="mixing_temperature"),
    use("etchant_baume", mass_fraction="etchant_mass_fraction"),
    use("etchant_crystals"),
    use("etchant_water"),
)
METAL = (
    use("ferric_demand"),
    use("copper_atom_share"),
    use("open_area_of_all"),
    use("metal_removed"),
    use("ferric_used"),
)
LIFE = (
    use("etchant_crystals", "crystals_when_fresh", etchant_volume="whole_bath"),
    use("ferric_in_bath"),
    use("ferric_left"),
    use("spent_share"),
    use("load_share"),
    use("plates_to_come"),
    use("bath_copper_after"),
)
FRESH = (
    use("molality", mass_fraction="etchant_mass_fraction"),
    use("etchant_density", "warm_density", mass_fraction="etchant_mass_fraction"),
    use("ferric_concentration", mass_fraction="etchant_mass_fraction", etchant_density="warm_density"),
    use("viscosity", mass_fraction="etchant_mass_fraction"),
)  # fmt: skip
_LINE, _FIELD = {"line_width": "finest_line"}, {"line_width": "field_width"}
POSTURES = {
    "face down": (
        use("open_plate_velocity"),
        use("narrow_line_velocity", **_LINE),
        use("face_down_velocity", "still_velocity"),
        use("transport_velocity", "field_velocity", still_velocity="open_plate_velocity"),
    ),
    "on edge": (
        use("on_edge_velocity", "still_velocity", **_LINE),
        use("on_edge_velocity", "field_still_velocity", line_width="plate_height"),
        use("transport_velocity", "field_velocity", still_velocity="field_still_velocity"),
    ),
    "face up": (
        use("face_up_velocity", "still_velocity", **_LINE),
        use("face_up_velocity", "field_still_velocity", **_FIELD),
        use("transport_velocity", "field_velocity", still_velocity="field_still_velocity"),
    ),
}
REACTION = (
    *FRESH,
    use("density_rise", mass_fraction="etchant_mass_fraction"),
    use("ferric_diffusivity"),
    use("reaction_constant"),
    use("reaction_velocity"),
)
SPEED = (use("transport_velocity"), use("fresh_rate", **_LINE), use("tiring"), use("gauge_depth"))
# What a bath that does not keep its temperature gives otherwise (`through`).
TIMES = (
    use("etch_rate"),
    use("etch_time"),
    use("fresh_rate", "gauge_fresh_rate", depth="gauge_depth", **_LINE),
    use("etch_rate", "gauge_rate", fresh_rate="gauge_fresh_rate"),
    use("etch_time", "too_deep_time", depth="gauge_depth", etch_rate="gauge_rate"),
    use("gauge_time"),
    use("fresh_rate", "field_fresh_rate", transport_velocity="field_velocity", **_FIELD),
    use("etch_rate", "field_rate", fresh_rate="field_fresh_rate"),
    use("field_depth"),
)
# Spent liquor pools under a plate that lies face down; otherwise the habit decides.
TILT = (use("pooling_interval"), use("tilt_interval"))
NO_POOL = (use("tilt_interval", pooling_interval="tilt_habit"),)
HEAT = (
    use("heat_capacity", **_MIXED),
    use("surface_heat_flux"),
    use("wall_heat_flux"),
    use("surface_loss"),
    use("wall_area"),
    use("wall_loss"),
    use("heat_loss"),
    use("heat_to_warm", heat_capacity="greatest_heat_capacity"),
    use("warming_power"),
    use("heater_power"),
    use("warm_up_time"),
    use("evaporation_rate"),
    use("heater_bared_time"),
)
WATER = (use("bench_time"), use("water_lost", time_kept_warm="bench_time"))
FILM = (
    use("usual_etch_factor", line_width="finest_line"),
    use("etch_factor"),
    use("undercut"),
    use("film_line"),
    use("film_line_compensation"),
    use("greatest_depth"),
    use("narrowest_finished_line"),
)
FILM_AS_IT_IS = (use("line_limit"), use("land_limit"))
BLANK = (use("blank_area"), use("blank_width"), use("blank_height"))
# Rubbing down takes depth off: what is etched is deeper than what is delivered.
RUB_DOWN = {
    "depth": use("depth_to_etch", "depth", depth="finished_depth"),
    "second_depth": use("depth_to_etch", "second_depth", depth="finished_second_depth"),
}
# A second depth on the same plate: the fine lines are stopped out, the numerals go on.
_SECOND = {"line_width": "second_line"}
SECOND_FILM = (
    use("usual_etch_factor", "second_usual_etch_factor", **_SECOND),
    use("etch_factor", "second_etch_factor", usual_etch_factor="second_usual_etch_factor"),
    use("undercut", "second_undercut", depth="second_depth", etch_factor="second_etch_factor"),
    use("film_line", "second_film_line", finest_line="second_line", undercut="second_undercut"),
)
SECOND_STILL = {
    "face down": (
        use("narrow_line_velocity", "second_narrow_velocity", **_SECOND),
        use("face_down_velocity", "second_still_velocity", narrow_line_velocity="second_narrow_velocity"),
    ),
    "on edge": (use("on_edge_velocity", "second_still_velocity", **_SECOND),),
    "face up": (use("face_up_velocity", "second_still_velocity", **_SECOND),),
}  # fmt: skip
SECOND_TIME = (
    use("transport_velocity", "second_velocity", still_velocity="second_still_velocity"),
    use("fresh_rate", "second_fresh_rate", depth="second_depth", transport_velocity="second_velocity", **_SECOND),
    use("etch_rate", "second_rate", fresh_rate="second_fresh_rate"),
    use("etch_time", "second_time", depth="second_depth", etch_rate="second_rate"),
)  # fmt: skip
# the whole open area is taken to go as deep as the deeper of the two: an upper bound
_DEEPER = tuple(
    use("metal_removed", depth="second_depth") if u.name == "metal_removed" else u for u in METAL
)


# A line or place that was blocked, and cleared so long after the others began.
LATE = (
    use("late_depth"),
    use("late_shortfall"),
    use("shared_depth"),
    use("shared_extra_width"),
)


def sequence(commission: Commission, logged: bool = False) -> list[tuple[str, tuple[Use, ...]]]:
    """Return what a commission takes: steps of data/steps.toml and their formulas, in order.

    Parameters
    ----------
    commission : Commission
    logged : bool
        The bath's log tells its strength and how far it is spent.
    """
    lies = commission.words["plate_lies"]
    second = "second_depth" in commission.values
    found = [
        ("blank", BLANK),
        ("film", FILM),
        ("put_away", _DEEPER if second else METAL),
        ("mix", LEVEL),
        ("mix", _bath(commission, logged)),
        ("put_away", LIFE),
        ("etch", HEAT),
        ("etch", (*REACTION, *POSTURES[lies], *SPEED)),
        ("etch", TIMES),
        ("etch", WATER),
        ("etch", TILT if lies == "face down" else NO_POOL),
    ]
    if "cleared_late" in commission.values:
        found.append(("etch", LATE))
    if second:
        found += [("film", SECOND_FILM), ("etch", (*SECOND_STILL[lies], *SECOND_TIME))]
    return found


def second_fact(commission: Commission) -> str:
    """Return the second fact that is told of a bath found on the shelf; "" where none is."""
    told = (name for name in SECOND_FACTS if name in commission.typed)
    return next(told, "")


def _bath(commission: Commission, logged: bool) -> tuple[Use, ...]:
    state = commission.words["bath_is"]
    if state == "new":
        return NEW
    if state == "found on the shelf":
        return (*SHELF[second_fact(commission)], *USED)
    return USED if logged else (*WRITTEN, *USED)
