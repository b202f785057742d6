"""What the bench takes beside the answers, step by step: worked only when somebody reads it."""

from etchcalc.job.book import Use, use
from etchcalc.job.commission import Commission

_MIXED = {"mass_fraction": "etchant_mass_fraction"}
# A drawing tells how long its edges are, and so what the quarter ellipses under them hold.
GROOVES = (use("groove_volume"), use("mean_groove_area"))
DRAWN_FINISHED = (
    use("film_open_area"),
    use("groove_volume", open_area_of_all="film_open_area"),
    GROOVES[1],
)
SHEET = (
    use("blanks_per_sheet"),
    use("sheets_to_buy"),
    use("blank_mass"),
    use("metal_bought"),
)
COAT = (use("resist_area"),)
BY_DOSE = (use("exposure_by_dose", "exposure_time"),)
EXPOSE = (
    use("step_factor"),
    use("lamp_distance_factor"),
    use("exposure_time"),
)
# Which hydrate the washing soda is; where it is not said, all three may be meant.
SODA, SOME_SODA = (use("soda_share"),), (use("soda_share_guess", "soda_share"),)
DEVELOP = (use("developer_soda"), use("developing_time"), use("developer_plates"))
STRIP = (
    use("soda_solubility"),
    use("saturated_share"),
    use("developer_density", "stripper_density", developer_share="saturated_share"),
    use("dissolving_soda"),
    use("stripper_soda"),
    use("stripper_water"),
    use("soda_solubility", "cold_solubility", room_temperature="cold_room_temperature"),
    use("soda_dropped_out"),
    use("thinners_needed"),
)
# What is lost of a paint hangs on how it is laid on.
LOSSES = {"by brush": "paint_loss", "by spray": "spray_loss"}
DRY = (
    use("thinned_solids"),
    use("wet_film", stop_out_solids="thinned_solids"),
    use("drying_time"),
    use("paint_to_mix", wet_paint="stop_out_paint"),
    use("tins_to_buy", wet_paint="stop_out_paint"),
)
FILLS = (
    use("fill_coats"),
    use("filled_share", fills="fill_coats"),
    use("paint_to_mix", "fill_to_mix", wet_paint="fill_paint"),
)
# A plate that lies face down stands on spacers.
SPACERS = (
    use("spacer_span"),
    use("spacer_count"),
    use("ferric_at_once"),
    use("needed_spacer_height", strength_left="strength"),
    use("sag"),
    use("spacers_volume"),
)
TRAY = (
    use("greatest_tilt"),
    use("shim_needed"),
    use("water_each_look"),
    use("lid_saving"),
)
FINISH = (use("finished_mass"), use("lacquer_area"))
METALS = ("copper", "zinc", "nickel", "tin", "lead")
AWAY = (
    use("metal_taken_up"),
    use("waste_iron"),
    use("waste_chloride"),
    use("waste_water", **_MIXED),
    use("waste_mass", **_MIXED),
    use("soda_taken_up"),
    use("carbon_dioxide"),
    use("sludge_when_dry"),
    use("wetted_area"),
    use("carried_over"),
    use("rinse_share"),
    use("rinse_copper"),
    use("rinse_content", "second_rinse_copper", content_before="rinse_copper"),
    use("times_over_limit", content_of_rinse="rinse_copper"),
)


def bench(commission: Commission, drawn: bool = False) -> list[tuple[str, tuple[Use, ...]]]:
    """Return what the bench takes beside the answers: worked when it is read.

    Parameters
    ----------
    commission : Commission
    drawn : bool
        A drawing tells the length of its edges.

    Returns
    -------
    list
        As `sequence` gives it.
    """
    words, values = commission.words, commission.values
    loss = LOSSES[words["painted"]]
    filled = "mean_groove_area" if drawn else "open_area_of_all"
    lacquer = {
        "stop_out_area": "lacquer_area", "coats": "lacquer_coats", "coat_thickness": "lacquer_film",
        "stop_out_solids": "lacquer_solids", "paint_loss": loss,
    }  # fmt: skip
    found = [
        ("blank", SHEET),
        ("coat", COAT),
        ("expose", BY_DOSE if "wanted_dose" in values else EXPOSE),
        ("develop", SODA if "soda_waters" in values else SOME_SODA),
        ("develop", DEVELOP),
        ("stop_out", (use("stop_out_area"), use("stop_out_paint", paint_loss=loss))),
        ("stop_out", DRY),
        ("strip", STRIP),
        ("fill", (use("fill_paint", open_area_of_all=filled),)),
        ("fill", FILLS),
        ("finish", FINISH),
        ("finish", (use("stop_out_paint", "lacquer_paint", **lacquer),)),
        ("put_away", AWAY),
        ("put_away", _metals(commission)),
        ("etch", TRAY),
    ]
    if drawn:
        finished = words["shows"] != "film as it is"
        found.insert(0, ("fill", DRAWN_FINISHED if finished else GROOVES))
    if words["plate_lies"] == "face down":
        found.append(("etch", SPACERS))
    return found


def _metals(commission: Commission) -> tuple[Use, ...]:
    """Return what is left of each metal of the alloy in the bath."""
    return tuple(
        use("waste_metal", f"waste_{metal}", alloy_share=f"{metal}_share")
        for metal in METALS
        if commission.alloy.get(metal)
    )
