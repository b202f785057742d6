"""When the shop is open: what is left of the day for the etch."""

import pytest

from etchcalc.job import opening
from etchcalc.job.plan import planned


def left(commission, **said):
    return opening.minutes_left(planned(commission.changed(**said)))


def test_minutes_left_run_from_the_plates_going_in_to_closing(commission):
    assert left(commission) is None, "nobody has said when it starts"
    early = left(commission, starts="2027-03-26 08:30", closes="17:30", zone="Europe/London")
    later = left(commission, starts="2027-03-26 09:30", closes="17:30", zone="Europe/London")
    # an hour later to begin leaves an hour less; an hour longer open leaves an hour more
    assert early - later == pytest.approx(60)
    longer = left(commission, starts="2027-03-26 08:30", closes="18:30", zone="Europe/London")
    assert longer - early == pytest.approx(60)
    assert left(commission, starts="2027-03-26 16:30", closes="17:30", zone="Europe/London") == 0
