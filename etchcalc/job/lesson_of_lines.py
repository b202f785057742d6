"""Questions on the sideways etch: guess the width; the closing counter."""

from etchcalc.core.units import MM, Quantity
from etchcalc.job.lesson_questions import Draw, Lesson, Question, Slip, Sum, question
from etchcalc.process.coatings import groove_volume
from etchcalc.process.gauging import line_now, measured_etch_factor
from etchcalc.process.undercut import (
    film_line,
    greatest_depth,
    land_limit,
    line_limit,
    narrowest_finished_line,
    undercut,
)

FILMS = ("0.1 mm | 4 thou", "0.15 mm | 6 thou", "0.2 mm | 8 thou", "0.25 mm | 10 thou",
         "0.3 mm | 12 thou")  # fmt: skip
DEPTHS = ("0.1 mm | 4 thou", "0.15 mm | 6 thou", "0.2 mm | 8 thou", "0.25 mm | 10 thou",
          "0.3 mm | 12 thou")  # fmt: skip
LINES = ("0.4 mm | 16 thou", "0.5 mm | 20 thou", "0.6 mm | 24 thou", "0.7 mm | 28 thou",
         "0.8 mm | 32 thou")  # fmt: skip
LANDS = ("0.5 mm | 20 thou", "0.6 mm | 24 thou", "0.8 mm | 32 thou", "1 mm | 40 thou")
HELD = ("0.1 mm | 4 thou", "0.15 mm | 6 thou", "0.2 mm | 8 thou")
FACTORS = ("1.25", "1.3", "1.4", "1.5", "1.6", "1.8")
NEAR = "0.01 mm"
NOTHING = Quantity(0.0, MM)

BOTH_EDGES = "Both edges undercut: the undercut counts twice."
ONCE = "The undercut is half of what the line has grown: it grew at both edges."
UPSIDE_DOWN = "The etch factor is depth over undercut: divide the depth by it, do not multiply."
OTHER_WAY = (
    "A line is drawn narrower on the film than it is wanted, since it grows: take off, do not add."
)
LAND_SHRINKS = "A land shrinks while the lines beside it grow: take off, do not add."
FILM_ITSELF = "That is the line on the film: the etch has undercut both its edges since."
AREA_TIMES_DEPTH = "Area on the film times depth is too little: the groove has grown under both edges of the resist."
UPRIGHT = "Finished width times depth is too much: the walls are curved, not upright."


def finished_width(draw: Draw) -> Question:
    """Ask how wide a groove becomes."""
    film, depth, factor = draw.one(*FILMS), draw.one(*DEPTHS), draw.one(*FACTORS)
    said = {"film_line": film.quantity, "reached_depth": depth.quantity}
    f = factor.quantity
    return question(
        draw,
        f"A line is {film} wide on the film and is etched {depth} deep. The etch factor is {factor}. "
        "How wide is the groove at its top?",
        "finished width", "fine", Sum(line_now, **said, etch_factor=f), within=NEAR,
        slips=[
            Slip(BOTH_EDGES, line_now(**said, etch_factor=2 * f)),
            Slip(UPSIDE_DOWN, line_now(**said, etch_factor=1 / f)),
            Slip(FILM_ITSELF, film.quantity),
        ],
    )  # fmt: skip


def film_for_line(draw: Draw) -> Question:
    """Ask how wide to draw a line that is to become so wide."""
    line, depth, factor = draw.one(*LINES), draw.one(*DEPTHS), draw.one(*FACTORS)
    under = Sum(undercut, depth=depth.quantity, etch_factor=factor.quantity)
    wrong = undercut(depth=depth.quantity, etch_factor=1 / factor.quantity)
    width = line.quantity
    return question(
        draw,
        f"A line is wanted {line} wide and {depth} deep. The etch factor is {factor}. "
        "How wide is it drawn on the film?",
        "width on the film", "fine", under,
        Sum(film_line, finest_line=width, undercut=under.value), within=NEAR,
        slips=[
            Slip(BOTH_EDGES, film_line(finest_line=width, undercut=under.value / 2)),
            Slip(OTHER_WAY, narrowest_finished_line(narrowest_film_line=width, undercut=under.value)),
            Slip(UPSIDE_DOWN, film_line(finest_line=width, undercut=wrong)),
        ],
    )  # fmt: skip


def factor_of_groove(draw: Draw) -> Question:
    """Ask for the etch factor of a measured groove."""
    film, depth = draw.one(*FILMS), draw.one(*DEPTHS)
    grown = draw.one("0.16 mm | 6 thou", "0.2 mm | 8 thou", "0.24 mm | 10 thou", "0.3 mm | 12 thou")
    line = draw.shown(film.quantity + grown.quantity, "fine")
    said = {"section_film": film.quantity, "section_line": line.quantity}
    whole = 2 * line.quantity - film.quantity  # as if so much had grown at either edge
    right = Sum(measured_etch_factor, **said, section_depth=depth.quantity)
    return question(
        draw,
        f"A test groove is {line} wide at its top and {depth} deep; its line on the film is {film} "
        "wide. What is the etch factor?",
        "etch factor", "number", right, within="4 %",
        slips=[
            Slip(ONCE, measured_etch_factor(
                section_depth=depth.quantity, section_film=film.quantity, section_line=whole)),
            Slip("That is undercut over depth: the etch factor is depth over undercut.",
                 1 / right.value),
        ],
    )  # fmt: skip


def deepest(draw: Draw) -> Question:
    """Ask how deep a line can be etched before it is too wide."""
    line, film = draw.one(*LINES), draw.one("0.1 mm | 4 thou", "0.15 mm | 6 thou")
    factor = draw.one(*FACTORS)
    said = {"finest_line": line.quantity, "narrowest_film_line": film.quantity}
    f = factor.quantity
    return question(
        draw,
        f"The film resolves no line under {film}. The finest line is to be {line} wide when finished. "
        f"The etch factor is {factor}. How deep can it be etched at most?",
        "greatest depth", "fine", Sum(greatest_depth, **said, etch_factor=f), within=NEAR,
        slips=[
            Slip(BOTH_EDGES, greatest_depth(**said, etch_factor=2 * f)),
            Slip("The etch factor is depth over undercut: multiply the undercut by it.",
                 greatest_depth(**said, etch_factor=1 / f)),
            Slip("What may grow is the finished width less the line on the film, not the whole width.",
                 greatest_depth(finest_line=line.quantity, narrowest_film_line=NOTHING, etch_factor=f)),
        ],
    )  # fmt: skip


def fill(draw: Draw) -> Question:
    """Ask what a groove holds."""
    film, depth, factor = draw.one(*FILMS), draw.one(*DEPTHS), draw.one(*FACTORS)
    length = draw.one("2 m | 6 ft", "3 m | 10 ft", "5 m | 15 ft", "8 m | 25 ft")
    under = Sum(undercut, depth=depth.quantity, etch_factor=factor.quantity)
    width = line_now(
        film_line=film.quantity, reached_depth=depth.quantity, etch_factor=factor.quantity
    )
    said = {"undercut": under.value, "depth": depth.quantity}
    opened = length.quantity * film.quantity
    none = 0 * length.quantity
    return question(
        draw,
        f"A plate has {length} of lines, {film} wide on the film, etched {depth} deep at an etch factor "
        f"of {factor}. How much do the grooves hold, level full?",
        "volume", "little volume", under,
        Sum(groove_volume, **said, open_area_of_all=opened, edge_length=2 * length.quantity),
        slips=[
            Slip(AREA_TIMES_DEPTH, groove_volume(**said, open_area_of_all=opened, edge_length=none)),
            Slip(UPRIGHT, groove_volume(
                **said, open_area_of_all=length.quantity * width, edge_length=none)),
            Slip("A line has two edges: the length of the edges is twice that of the lines.",
                 groove_volume(**said, open_area_of_all=opened, edge_length=length.quantity)),
        ],
    )  # fmt: skip


GUESS_THE_WIDTH = Lesson(
    "guess-the-width",
    "Guess the width",
    (
        "The etchant bites sideways too. While it goes down it creeps under the resist, at both edges of a line.",
        "The etch factor says how much: depth over undercut at one edge. At 1.4, a groove 0.14 mm (5.6 thou) deep is undercut 0.1 mm (4 thou) at each edge.",
        "So finished width = film + 2 × undercut, and the film is drawn that much narrower than the line is wanted.",
        "Cut through, each wall is a quarter of an ellipse: it adds 0.785 × undercut × depth to what the groove holds, at each edge.",
    ),
    (finished_width, film_for_line, factor_of_groove, deepest, fill),
)


# the closing counter


def land_left(draw: Draw) -> Question:
    """Ask how wide a land is left."""
    land, depth, factor = draw.one(*LANDS), draw.one(*DEPTHS), draw.one(*FACTORS)
    under = Sum(undercut, depth=depth.quantity, etch_factor=factor.quantity)
    wrong = undercut(depth=depth.quantity, etch_factor=1 / factor.quantity)
    width = land.quantity
    return question(
        draw,
        f"The counter of a letter, metal that stays, is {land} across on the film. The lines round it "
        f"are etched {depth} deep at an etch factor of {factor}. How far across is its face then?",
        "what is left", "fine", under,
        "for a land the sum is a line's: its width on the film stands for the finest line, what is left for the film line",
        Sum(film_line, finest_line=width, undercut=under.value), within=NEAR,
        slips=[
            Slip(BOTH_EDGES, film_line(finest_line=width, undercut=under.value / 2)),
            Slip(LAND_SHRINKS, narrowest_finished_line(narrowest_film_line=width, undercut=under.value)),
            Slip(UPSIDE_DOWN, film_line(finest_line=width, undercut=wrong)),
        ],
    )  # fmt: skip


def land_lost(draw: Draw) -> Question:
    """Ask at what depth a land no longer holds its resist."""
    land, held, factor = draw.one(*LANDS), draw.one(*HELD), draw.one(*FACTORS)
    said, f = {"drawn_land": land.quantity}, factor.quantity
    return question(
        draw,
        f"A land is {land} wide on the film. Resist holds on metal no narrower than {held}. The etch "
        f"factor is {factor}. At what depth does the resist over the land lose its hold?",
        "depth", "fine",
        Sum(land_limit, **said, narrowest_resist_land=held.quantity, etch_factor=f), within=NEAR,
        slips=[
            Slip(BOTH_EDGES, land_limit(**said, narrowest_resist_land=held.quantity, etch_factor=2 * f)),
            Slip("The resist lets go before the land is gone: take off what must be left under it.",
                 land_limit(**said, narrowest_resist_land=NOTHING, etch_factor=f)),
            Slip("The etch factor is depth over undercut: multiply the undercut by it.",
                 land_limit(**said, narrowest_resist_land=held.quantity, etch_factor=1 / f)),
        ],
    )  # fmt: skip


def line_too_wide(draw: Draw) -> Question:
    """Ask at what depth a line of the film as it is has its width."""
    film, line, factor = draw.one(*FILMS), draw.one(*LINES), draw.one(*FACTORS)
    said = {"finest_line": line.quantity, "drawn_line": film.quantity}
    f = factor.quantity
    return question(
        draw,
        f"The film is made already: its finest line is {film} wide and may become {line}. The etch factor "
        f"is {factor}. At what depth has it become so wide?",
        "depth", "fine", Sum(line_limit, **said, etch_factor=f), within=NEAR,
        slips=[
            Slip(BOTH_EDGES, line_limit(**said, etch_factor=2 * f)),
            Slip("The etch factor is depth over undercut: multiply the undercut by it.",
                 line_limit(**said, etch_factor=1 / f)),
            Slip("It has only to grow from its width on the film, not from nothing.",
                 line_limit(finest_line=line.quantity, drawn_line=NOTHING, etch_factor=f)),
        ],
    )  # fmt: skip


def lost_first(draw: Draw) -> Question:
    """Ask which is lost first, line or land, by the depth."""
    film, line, factor = draw.one(*FILMS), draw.one(*LINES), draw.one(*FACTORS)
    land, held, f = draw.one(*LANDS), draw.one(*HELD), factor.quantity
    of_line = Sum(line_limit, finest_line=line.quantity, drawn_line=film.quantity, etch_factor=f)
    of_land = Sum(
        land_limit, drawn_land=land.quantity, narrowest_resist_land=held.quantity, etch_factor=f
    )
    early, late = sorted((of_line, of_land), key=lambda s: s.value)
    other = "land" if late is of_land else "line"
    return question(
        draw,
        f"On the film the finest line is {film} and may become {line}; the narrowest land is {land} and "
        f"its resist holds down to {held}. The etch factor is {factor}. At what depth is the first of "
        "the two lost?",
        "depth", "fine", late, early, within=NEAR,
        slips=[
            Slip(f"That is the {other}'s depth: the other of the two is lost before it.", late.value),
            Slip(BOTH_EDGES, 2 * early.value),
        ],
    )  # fmt: skip


def triangle(draw: Draw) -> Question:
    """Ask when the counter of an A has closed."""
    across, foot = draw.one(
        "0.3 mm | 12 thou", "0.4 mm | 16 thou", "0.5 mm | 20 thou", "0.6 mm | 24 thou"
    ), draw.one("0.8 mm | 32 thou", "1 mm | 40 thou", "1.2 mm | 48 thou")  # fmt: skip
    factor = draw.one(*FACTORS)
    said, f = {"narrowest_resist_land": NOTHING}, factor.quantity
    return question(
        draw,
        f"The counter of an A is a triangle with a foot {foot} wide; the largest circle that fits into "
        f"it is {across} across. The etch factor is {factor}. At what depth has it closed to nothing?",
        "depth", "fine", Sum(land_limit, **said, drawn_land=across.quantity, etch_factor=f),
        within=NEAR,
        slips=[
            Slip("The foot is its widest place: it closes when the largest circle in it has.",
                 land_limit(**said, drawn_land=foot.quantity, etch_factor=f)),
            Slip(BOTH_EDGES, land_limit(**said, drawn_land=across.quantity, etch_factor=2 * f)),
            Slip("The etch factor is depth over undercut: multiply the undercut by it.",
                 land_limit(**said, drawn_land=across.quantity, etch_factor=1 / f)),
        ],
    )  # fmt: skip


CLOSING_COUNTER = Lesson(
    "closing-counter",
    "The closing counter",
    (
        "What is etched grows, so what stays shrinks by as much: the counter inside an A, the land between two lines.",
        "A land loses an undercut at each edge. Its resist lets go before it is gone: below about 0.1 mm (4 thou) of metal there is too little to hold on.",
        "Every film has two depths that it will not go beyond: where the finest line is too wide, and where the narrowest land has lost its hold. The lesser counts.",
        "A counter with corners closes when the largest circle that fits into it has closed.",
    ),
    (land_left, land_lost, line_too_wide, lost_first, triangle),
    example=3,
)
