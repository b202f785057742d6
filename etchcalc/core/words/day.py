"""The words of the day sheet: times at the bench that no formula gives."""

from etchcalc.core.term import PRACTICE, Term

# fmt: off
WORDS: tuple[Term, ...] = (
    # once for the job
    Term("mixing_time", "time", "time to weigh and mix a new bath", 0, 600, 30),
    Term("setting_up_time", "time", "time to set up the tray: spacers, heater, bath poured to its level", 0, 240, 10),
    Term("clearing_time", "time", "time to put the bath and the rinse away and clear the bench", 0, 600, 30, spread=0.3),
    # for each plate
    Term("preparing_time", "time", "time to cut and clean one blank", 0, 240, 10, spread=0.3),
    Term("coating_time", "time", "time to coat one face with resist", 0, 240, 5),
    Term("exposure_handling", "time", "time to lay one face under its film and take it out, the light apart",
         0, 240, 3),
    Term("developing_handling", "time", "time to put one plate into the developer, take it out and rinse it",
         0, 240, 3),
    Term("retouching_time", "time", "time to look one plate over with a glass and touch it out", 0, 600, 15, spread=0.5),
    Term("painting_time", "time", "time to lay one coat on one plate: stop-out or lacquer", 0, 240, 5),
    Term("back_cleaning_time", "time", "time to take the stop-out off one plate with thinners and wash it",
         0, 240, 5),
    Term("filling_time", "time", "time to fill the lines of one plate once and scrape it back", 0, 240, 8, spread=0.3),
    Term("rubbing_down_time", "time", "time to rub down one plate", 0, 600, 20, spread=0.4),
    Term("cutting_time", "time", "time to cut one plate to size and file its edges", 0, 240, 10, spread=0.3),
    # while the plates are out of the bath, or in the soda
    Term("gauging_pause", "time", "time out of the bath at each lift: rinse, dry, gauge", 0, 120, 5),
    Term("stripping_soak", "time", "time in the soda until the resist comes off", 1, 1440, 20, **PRACTICE),
)
# fmt: on
