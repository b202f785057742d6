"""The words of gauging: depth by weight, a measured section, places that cleared late."""

from etchcalc.core.term import Term

# fmt: off
WORDS: tuple[Term, ...] = (
    Term("gauge_tip", "fine", "width of the gauge's tip, which must reach the floor of what it gauges", 0.01, 10, 0.4),
    Term("weight_lost", "mass", "metal gone since the plates were weighed before the bath, dry, with all their paint and resist",
         0.01, 1e5, 6.75),
    Term("depth_by_weight", "fine", "mean depth over all open metal, by what the plates have lost"),
    # a groove that was cut through, or measured under the microscope
    Term("section_depth", "fine", "depth of the measured groove", 0.01, 3, 0.25),
    Term("section_line", "fine", "width of the measured groove at its top", 0.05, 25, 0.6),
    Term("section_film", "fine", "width of the same line on the film", 0.005, 25, 0.22),
    Term("measured_etch_factor", "number", "etch factor of the measured groove"),
    # now, and what is left to do
    Term("reached_depth", "fine", "depth reached so far", 0, 5, 0.15),
    Term("line_now", "fine", "width of the finest line at its top at the depth reached so far"),
    Term("time_to_go", "time", "time from now to the ordered depth"),
    # as it was done
    Term("done_time", "time", "time the plates were in the etchant in all", 0.1, 1e5, 80),
    Term("done_depth", "fine", "depth reached in the finest line, gauged on bare metal", 0.005, 3, 0.2),
    Term("done_width", "fine", "width that the finest line came to, at its top", 0.02, 30, 0.4),
    Term("done_temperature", "temperature", "temperature that the bath was at, over the etch", 0, 100, 42),
    # a place that began to etch late
    Term("cleared_late", "time", "how much later than the others the place began to etch", 0, 6000, 20),
    Term("late_depth", "fine", "depth of the late place when the others are done", 0, 3, 0.15),
    Term("late_shortfall", "fine", "by how much the late place is shallower than ordered", 0, 3, 0.04),
    Term("shared_depth", "fine", "depth of the others when all go on for half of the difference"),
    Term("shared_extra_width", "fine", "how much wider the others' lines become by going on so"),
)
# fmt: on
