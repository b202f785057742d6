"""What a commission can say: its parts, their quantities and words, and the accepted answers."""

from etchcalc.core.units import SYSTEMS
from etchcalc.job.prices import KNOWN as PRICED

# Quantities by section, in the order of the file.
SECTIONS: dict[str, tuple[str, ...]] = {
    "plate": ("plate_width", "plate_height", "plate_thickness", "plate_count", "waste_margin",
              "sheet_length", "sheet_width", "saw_kerf", "rub_down"),
    "lines": ("finest_line", "depth", "depth_allowance", "narrowest_film_line",
              "narrowest_resist_land", "etch_factor", "worked_etch_factor", "worked_depth",
              "worked_line", "second_line", "second_depth"),
    "artwork": ("open_fraction", "film_resolution", "scan_resolution", "thin_line"),
    "bath": ("strength", "temperature", "mixing_temperature", "bath_volume", "metal_dissolved",
             "hydrometer_reading", "reading_temperature", "hydrometer_error", "copper_lost",
             "sample_volume", "strip_share", "practical_stop"),
    "tray": ("tray_length", "tray_width", "liquid_depth", "spacer_height", "touching_margin", "accepted_sag",
             "heater_cover", "plate_gap", "tilt_habit", "look_interval", "look_pause", "heater_rating", "heater_volume", "lid_cover",
             "room_temperature", "starting_temperature", "wanted_warm_up_time", "heater_margin",
             "tray_depth", "slosh_margin", "bench_slope", "spacer_foot", "heater_length", "heater_width"),
    "resist": ("resist_overlap", "coated_faces", "resist_held_time", "resist_held_temperature"),
    "exposure": ("test_exposure", "step_density", "wanted_step", "held_step", "lamp_distance",
                 "test_distance", "lamp_falloff", "lamp_output",
                 "wanted_dose", "irradiance"),
    "soda": ("soda_waters", "developer_volume", "developer_strength", "developer_temperature",
             "breakpoint_time", "breakpoint_share", "developer_allowance", "stripper_volume", "soda_reserve",
             "cold_room_temperature"),
    "paint": ("coats", "coat_thickness", "coat_interval", "stop_out_solids", "thinner_added", "fill_solids",
              "paint_loss", "spray_loss", "mixing_margin", "tin_volume", "thinners_use", "wanted_fill",
              "lacquer_coats", "lacquer_film", "lacquer_solids"),
    "day": ("mixing_time", "setting_up_time", "clearing_time", "preparing_time", "coating_time",
            "exposure_handling", "developing_handling", "retouching_time", "painting_time",
            "back_cleaning_time", "filling_time", "rubbing_down_time", "cutting_time", "gauging_pause",
            "stripping_soak"),
    "rinse": ("rinse_volume", "drag_out"),
    "done": ("done_time", "done_depth", "done_width", "done_temperature"),
    "forecast": ("chance_too_deep", "gauge_error", "rate_drift", "cleared_late", "gauge_tip"),
}  # fmt: skip
# Words by section: the accepted answers, or None for any text; the first is taken when nothing is said.
WORDS: dict[str, dict[str, tuple[str, ...] | None]] = {
    "commission": {"title": None, "client": None, "due": None, "notes": None, "invented": None,
                   "units": SYSTEMS},
    "plate": {"metal": None},
    "lines": {"depth_is": ("as etched", "after rubbing down")},
    "artwork": {"file": None, "black": ("etched", "kept"), "shows": ("finished plate", "film as it is"),
                "mirrored": ("no", "yes"),
                "placed": ("as drawn", "cut from the middle", "scaled to the plate"),
                "drawing_unit": ("as the file says", "mm", "cm", "m", "in"),
                "emulsion": ("up", "down")},
    "bath": {"bath_is": ("new", "used and written down", "found on the shelf"), "bath_name": None,
             "plates_go_in": ("when it is warm", "while it warms up", "as it cools"),
             "temperature_log": None},
    "tray": {"tray_material": None, "plate_lies": ("face down", "on edge", "face up"),
             "moved": ("tilted by hand", "rocked by motor")},
    "paint": {"painted": ("by brush", "by spray")},
    "done": dict.fromkeys(("done_on", "done_notes", "photographs")),
    "day": dict.fromkeys(("starts", "opens", "closes", "zone")),
    "price": dict.fromkeys(PRICED),
}  # fmt: skip
PARTS = (
    "commission",
    "plate",
    "lines",
    "artwork",
    "resist",
    "exposure",
    "soda",
    "bath",
    "tray",
    "paint",
    "rinse",
    "day",
    "forecast",
    "price",
    "done",
)
# Words that name a file beside the commission, and what it is.
FILES = {"file": "drawing", "temperature_log": "thermometer's log"}
MUST = ("plate_width", "plate_height", "metal", "finest_line", "depth")
READING = ("reading_time", "reading_depth")
READING_KEYS = (*READING, "film_under_gauge", "gauged_on", "weight_lost")
SECTION = ("section_film", "section_line", "section_depth")
SECTION_KEYS = (*SECTION, "developed_line")
WEDGE = ("test_exposure", "held_step")
BLEMISH = ("blemish", "place", "mended")
# What is noted while the job goes: parts of the file that may stand more than once, and the
# commission's own names for them.
ROWS = {"reading": "readings", "section": "sections", "wedge": "wedges", "blemish": "blemishes"}
GAUGED_ON = ("finest line", "wide field")
OPTIONAL = ("etch_factor", "worked_etch_factor", "worked_depth", "worked_line", "second_line", "second_depth",
            "hydrometer_reading", "copper_lost", "strip_share", "cleared_late", "gauge_tip", "scan_resolution", "thin_line", "soda_waters", "resist_held_time",
            "resist_held_temperature", "wanted_dose", "irradiance", "done_time", "done_depth", "done_width",
            "done_temperature")  # fmt: skip
# What a new commission does not take over from the last.
OF_ONE_JOB = ("starts", "done_time", "done_depth", "done_width", "done_temperature", "done_on", "done_notes",
              "photographs", "client", "due", "notes", "invented", "file", "temperature_log", "scan_resolution", "thin_line",
              "second_line", "second_depth", "cleared_late", "bath_is", "metal_dissolved", "hydrometer_reading",
              "copper_lost", "strip_share", "bath_volume")  # fmt: skip
# Of a bath found on the shelf, beside the hydrometer's reading; the first that is told counts.
SECOND_FACTS = ("metal_dissolved", "copper_lost", "strip_share")
QUANTITIES = tuple(name for names in SECTIONS.values() for name in names)
# What a tray may be of: known to stand ferric chloride, warm too. What is neither known nor metal
# is to be tried first (`advice_on_bench`).
TRAYS = ("polypropylene", "polyethylene", "photographic tray of plastic")
EATEN = ("steel", "stainless", "alumin", "iron", "zinc", "galvan", "tin", "brass", "copper", "metal",
          "pewter", "bronze", "gastronorm", "silver", "titanium", "nickel")  # fmt: skip
