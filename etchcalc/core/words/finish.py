"""The words of coating, filling, finishing, cutting."""

from etchcalc.core.term import PRACTICE, Term

# fmt: off
WORDS: tuple[Term, ...] = (
    # sheet and blank
    Term("blank_width", "size", "width of the blank: the finished plate and its waste margin", 5, 3000, 144),
    Term("blank_height", "size", "height of the blank: the finished plate and its waste margin", 5, 3000, 69),
    Term("sheet_length", "size", "length of the sheet that is bought", 20, 5000, 600),
    Term("sheet_width", "size", "width of the sheet that is bought", 20, 5000, 300),
    Term("saw_kerf", "size", "metal that one saw cut turns to dust; nothing for shears", 0, 10, 1),
    Term("blanks_per_sheet", "number", "blanks that one sheet gives in whole rows and columns", 0, 1e6, 16),
    Term("sheets_to_buy", "number", "sheets that give all the blanks", 1, 1e4, 1),
    Term("blank_mass", "mass", "mass of one blank before it is etched"),
    Term("metal_bought", "mass", "mass of the sheets that are bought"),
    Term("finished_mass", "mass", "mass of one finished plate, its paint not counted"),
    Term("rub_down", "fine", "metal that rubbing down takes off the face after the etch", 0, 0.5, 0.02,
         spread=0.25, **PRACTICE),
    Term("depth_to_etch", "fine", "depth to etch, so that the ordered depth is left after rubbing down"),
    Term("finished_depth", "fine", "depth ordered, as it is measured after rubbing down", 0.01, 3, 0.2),
    Term("finished_second_depth", "fine", "depth ordered of the deeper lines, after rubbing down", 0.01, 3, 0.3),
    # resist and stop-out
    Term("resist_overlap", "size", "resist beyond the blank on every side", 0, 100, 5),
    Term("coated_faces", "number", "faces of a blank that are coated with resist: the face alone, or both",
         1, 2, 1),
    Term("piece", "area", "resist for one face of one blank"),
    Term("resist_held_time", "time", "for how long this resist has stood up in a bath before, by the shop's own note",
         1, 1e5, 300),
    Term("resist_held_temperature", "temperature", "temperature of the bath in which it did", 0, 100, 42),
    Term("resist_area", "area", "resist to cut for all blanks"),
    Term("coat_interval", "time", "time that one coat takes to dry", 1, 10000, 60),
    Term("drying_time", "time", "time until all coats are dry"),
    Term("thinners_use", "drag-out", "thinners that take the stop-out off an area", 0.01, 50, 0.5, spread=0.4),
    Term("thinners_needed", "little volume", "thinners that take all the stop-out off again"),
    # any paint
    Term("spray_loss", "share", "paint lost when it is sprayed; airless about 30 %", 0, 90, 50, spread=0.2,
         status="published", source="spray_loss"),
    Term("thinner_added", "share", "thinner put into the paint, by volume of the paint", 0, 500, 10),
    Term("thinned_solids", "share", "volume solids of the thinned paint"),
    Term("wet_film", "film", "wet film of one coat that dries to the film wanted"),
    Term("spreading_rate", "spreading rate", "area that paint covers in one coat, nothing lost", 0.1, 500, 10),
    Term("practical_spreading_rate", "spreading rate", "area that paint covers in one coat, loss counted"),
    Term("wet_paint", "little volume", "wet paint that the work takes", 0, 1e5, 30),
    Term("mixing_margin", "share", "paint mixed beyond what the work takes", 0, 300, 20),
    Term("paint_to_mix", "little volume", "paint to mix, with a margin"),
    Term("fill_to_mix", "little volume", "fill paint to mix, with a margin"),
    Term("tin_volume", "little volume", "contents of one tin", 1, 1e5, 100),
    Term("tins_to_buy", "number", "tins that hold the paint"),
    # fill
    Term("edge_length", "size", "length of all edges of the open lines on the film, on all plates", 0, 1e7, 4000),
    Term("film_open_area", "area", "open area of all films, where the drawing shows the finished lines"),
    Term("groove_volume", "little volume", "volume of all etched grooves, undercut counted", 0, 1e5, 0.2),
    Term("mean_groove_area", "area", "open area that would hold as much as the grooves do, with upright sides"),
    Term("fills", "number", "how many times the lines are filled, each fill dried before the next", 0, 100, 4),
    Term("filled_share", "share", "how full the lines are after so many fills"),
    Term("wanted_fill", "share", "how full the lines are wanted", 1, 99.9, 80),
    Term("fill_coats", "number", "fills after which the lines are as full as wanted"),
    # lacquer
    Term("lacquer_area", "area", "finished faces of all plates, to be lacquered"),
    Term("lacquer_coats", "number", "coats of lacquer on the face", 1, 20, 2),
    Term("lacquer_film", "film", "dry film of one coat of lacquer", 1, 500, 10, spread=0.2),
    Term("lacquer_solids", "share", "volume solids of the lacquer", 1, 100, 20, spread=0.2),
    Term("lacquer_paint", "little volume", "lacquer for the faces of all plates"),
)
# fmt: on
