"""What the bench asks for, step by step, in the maker's words: labels, hints, choices."""

from etchcalc.core import tables
from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job.answers import plain
from etchcalc.job.placeholders import placeholders
from etchcalc.job.plan import Plan

# Boxes by step of data/steps.toml: label, and what stands in them while nothing is said.
BOXES: dict[str, dict[str, tuple[str, str]]] = {
    "blank": {
        "waste_margin": ("Margin to cut off", ""),
        "saw_kerf": ("Lost to a saw cut", ""),
        "sheet_length": ("Sheet bought, length", ""),
        "sheet_width": ("Sheet bought, width", ""),
    },
    "coat": {
        "resist_overlap": ("Resist over each edge", ""),
        "coated_faces": ("Faces coated, 1 or 2", ""),
        "resist_held_time": ("It has stood up for", "such as 5 h"),
        "resist_held_temperature": ("in a bath of", "such as 42 °C"),
    },
    "expose": {
        "wanted_step": ("Step to be held", ""),
        "step_density": ("Density of each step", ""),
        "test_exposure": ("Exposure of the test", ""),
        "held_step": ("It held step", ""),
        "lamp_distance": ("Lamp to film now", ""),
        "test_distance": ("Lamp to film then", ""),
        "lamp_falloff": ("Falloff: bulb 2, tube 1", "2 bulb, 1 tube, 0 panel"),
        "lamp_output": ("Light left in the lamp", ""),
        "wanted_dose": ("Or a dose to give", "such as 60 mJ/cm²"),
        "irradiance": ("at a light of", "such as 1 mW/cm²"),
    },
    "develop": {
        "developer_volume": ("Developer", ""),
        "developer_strength": ("Dry soda in it", ""),
        "developer_temperature": ("Its temperature", ""),
        "breakpoint_time": ("First bare metal after", ""),
        "breakpoint_share": ("Share of the full time", ""),
        "developer_allowance": ("A litre develops", ""),
    },
    "stop_out": {
        "coats": ("Coats", ""),
        "coat_thickness": ("Dry film of each", ""),
        "stop_out_solids": ("Solids, by volume", ""),
        "thinner_added": ("Thinned by", ""),
        "coat_interval": ("A coat dries in", ""),
        "paint_loss": ("Lost in brush and pot", ""),
        "spray_loss": ("Lost when sprayed", ""),
        "tin_volume": ("A tin holds", ""),
        "mixing_margin": ("Mixed beyond need", ""),
    },
    "strip": {
        "stripper_volume": ("Stripper", ""),
        "room_temperature": ("The room", ""),
        "soda_reserve": ("Soda left undissolved", ""),
        "cold_room_temperature": ("The room at its coldest", ""),
        "thinners_use": ("Thinners for an area", ""),
    },
    "fill": {
        "fill_solids": ("Solids, by volume", ""),
        "wanted_fill": ("How full", ""),
    },
    "finish": {
        "rub_down": ("Rubbing down takes", ""),
        "lacquer_coats": ("Coats of lacquer", ""),
        "lacquer_film": ("Dry film of each", ""),
        "lacquer_solids": ("Lacquer's solids", ""),
    },
    "put_away": {
        "rinse_volume": ("First rinse", ""),
        "drag_out": ("Etchant clings to a plate", ""),
    },
}  # fmt: skip
SODAS = {"not known": "", "clear lumps": "10", "white powder, monohydrate": "1", "white powder, anhydrous": "0"}  # fmt: skip
CHOICES = {"stop_out": ("painted", "Laid on"), "finish": ("depth_is", "Depth meant")}
WEDGE = {
    "test_exposure": ("Exposed for", "such as 2 min"),
    "held_step": ("It held step", "such as 7"),
}
BLEMISH = {
    "blemish": ("What", "such as pinhole"),
    "place": ("Where", "top left, by the 5"),
    "mended": ("What was done", "such as touched out"),
}


def wedge_said(row: dict[str, str]) -> str:
    """Return a reading of the wedge in words."""
    return f"{row['test_exposure']} held step {row['held_step']}"


def blemish_said(row: dict[str, str]) -> str:
    """Return an entry of the retouch log in words."""
    return ", ".join(row[key] for key in BLEMISH if row.get(key))


def steps_said(plan: Plan) -> dict[str, tuple[str, list[str]]]:
    """Return title and sentences of every step of the bench, by its key."""
    said = placeholders(plan)
    return {
        step["key"]: (step["title"], [line.format(**said).strip() for line in step["do"]])
        for step in tables.load("steps.toml")["step"]
        if step["key"] in BOXES
    }


def as_text(plan: Plan) -> str:
    """Return the whole bench as plain text: every step, every figure with its range."""
    said = [plan.commission.title]
    for key, (title, lines) in steps_said(plan).items():
        said += [f"{title}.", *(plain(line) for line in lines if line)]
        for name, figure in plan.figures(*plan.worked_in(key)).items():
            kind, units = term(name).kind, plan.commission.units
            if figure.low is None:
                continue
            ends = [show(end, kind, units, 2) for end in (figure.low, figure.high)]
            span = "" if ends[0] == ends[1] else f"   ({ends[0]} to {ends[1]})"
            row = f"{term(name).words:<32} {show(figure.value, kind, units):>14}{span}"
            said.append(f"{row}   {tables.STATUSES[figure.basis]}")
    return "\n".join(said)
