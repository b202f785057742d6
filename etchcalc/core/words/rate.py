"""The words of the rate: how fast it etches, readings of the gauge, the forecast."""

from etchcalc.core.term import PRACTICE, Term

# fmt: off
WORDS: tuple[Term, ...] = (
    # the rate
    Term("line_width", "fine", "width of the open line or field", 0.02, 2000, 0.4),
    Term("reaction_constant", "kinetic", "first-order rate constant of copper in ferric chloride"),
    Term("reaction_velocity", "velocity", "how fast the reaction alone would take up ferric ions"),
    Term("open_plate_velocity", "velocity", "how fast sinking liquor brings ferric ions to a wide field"),
    Term("narrow_line_velocity", "velocity", "how fast sinking liquor brings ferric ions to a narrow line"),
    Term("transport_velocity", "velocity", "how fast ferric ions are brought to the metal", 0, 1000, 3),
    Term("recess_number", "number", "how strongly the liquor in the groove turns over"),
    Term("rate_correction", "number", "the true rate over the rate worked out", 0.02, 50, 1,
         spread=0.45, status="worked out", source="rate_spread"),
    Term("rate_drift", "share", "drift of the rate through a job, one standard deviation", 0, 50, 5),
    Term("gauge_error", "fine", "error of one gauge reading, one standard deviation",
         0.001, 0.5, 0.02, **PRACTICE),
    Term("reading_time", "time", "time in the bath when the plate was gauged", 0.5, 6000),
    Term("reading_depth", "fine", "what the gauge read", 0.005, 5),
    Term("film_under_gauge", "fine", "resist under the gauge's foot; nothing on bare metal",
         0, 0.5, 0, **PRACTICE),
    Term("local_rate", "rate", "rate at which a groove of that depth deepens"),
    Term("fresh_rate", "rate", "mean rate over the depth in a fresh bath"),
    Term("tiring", "number", "mean rate while the ferric is used up, over the fresh rate", 0, 1, 1),
    Term("etch_rate", "rate", "mean rate of the finest line over the ordered depth", 0, 1000, 1.7),
    Term("etch_time", "time", "time in the bath to the ordered depth, finest line"),
    Term("gauge_depth", "fine", "depth that is just not too deep: ordered depth and allowance"),
    Term("gauge_fresh_rate", "rate", "mean rate over the depth that is just not too deep, fresh bath"),
    Term("gauge_rate", "rate", "mean rate over the depth that is just not too deep"),
    Term("too_deep_time", "time", "time at which the finest line would be just not too deep"),
    Term("gauge_time", "time", "time at which to lift the plate and gauge it"),
    Term("field_depth", "fine", "depth of a wide field when the finest line is done"),
    Term("field_fresh_rate", "rate", "mean rate of a wide open field over the ordered depth, fresh bath"),
    Term("field_width", "fine", "width of a field so wide that its edges do not matter", 1, 2000, 50,
         **PRACTICE),
    Term("field_rate", "rate", "mean rate of a wide open field over the ordered depth"),
)
# fmt: on
