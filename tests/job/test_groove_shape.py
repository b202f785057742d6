"""The process that works out grooves, as its caller sees it; an invented bath."""

import numpy as np
import pytest

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, read
from etchcalc.job import groove_shape
from etchcalc.job.commission_file import parsed
from etchcalc.job.groove_shape import Shaper
from etchcalc.job.plan import planned
from etchcalc.process.groove import groove

ASKED = {
    "film_line": read("0.2 mm"),
    "depth": read("0.1 mm"),
    "transport_velocity": Quantity(2.5e-6, "m/s"),
    "reaction_velocity": Quantity(3e-5, "m/s"),
    "ferric_diffusivity": Quantity(1.25e-10, "m^2/s"),
    "ferric_concentration": Quantity(2250.0, "mol/m^3"),
    "ferric_demand": Quantity(282000.0, "mol/m^3"),
    "turning": Quantity(0.8),
    "shown": (read("0.05 mm"), read("0.1 mm")),
}


@pytest.fixture(scope="module")
def shaper():
    found = Shaper()
    yield found
    found.close()


def test_it_says_what_is_worked_out_here(shaper):
    there, here = shaper.groove(**ASKED), groove(**ASKED)
    for name in ("depth", "undercut", "bulge", "own_time", "rate_time", "mass_error"):
        one, two = getattr(there, name), getattr(here, name)
        assert np.allclose(one.magnitude, two.to(one.units).magnitude, rtol=1e-12)
    assert len(there.outlines) == 2


def test_it_starts_again_when_it_has_ended(shaper):
    shaper.groove(**ASKED)
    shaper._child.kill()
    shaper._child.wait()
    assert shaper.groove(**ASKED).depth[-1] == read("0.1 mm")


def test_one_sentence_where_it_ends_at_its_work(shaper, monkeypatch):
    monkeypatch.setattr("etchcalc.job.groove_shape._COMMAND", ("false",))
    shaper.close()
    with pytest.raises(BadInput, match="could not be worked out: try again"):
        shaper.groove(**ASKED)
    monkeypatch.undo()
    assert shaper.groove(**ASKED).depth[-1] == read("0.1 mm")


def test_bad_numbers_never_reach_it():
    fresh = Shaper()
    with pytest.raises(BadInput):
        fresh.groove(**{**ASKED, "depth": read("0 mm")})
    assert fresh._child is None


def planned_line(width, depth):
    return planned(
        parsed(
            '[plate]\nplate_width = "120 mm"\nplate_height = "45 mm"\nmetal = "CW508L"\n'
            f'[lines]\nfinest_line = "{width} mm"\ndepth = "{depth} mm"\n'
        )
    )


def test_the_groove_of_a_plan_ends_as_wide_as_ordered(shaper):
    found = groove_shape.of_plan(planned_line(0.6, 0.2), shaper)
    width = found.film_line + 2 * found.undercut[-1]
    assert width.to("mm").magnitude == pytest.approx(0.6, abs=0.005)
    assert found.depth[-1].to("mm").magnitude == pytest.approx(0.2)
    # common practice, no source: 1.0 to 1.8 in a still tray
    assert 1.0 < found.etch_factor[-1].magnitude < 1.8


def test_its_clock_agrees_with_the_rates(shaper):
    plan = planned_line(1.0, 0.2)
    own = groove_shape.of_plan(plan, shaper).own_time[-1].to("min").magnitude
    fresh = (plan.middle("depth") / plan.middle("fresh_rate")).to("min").magnitude
    assert own == pytest.approx(fresh, rel=0.1)


def test_a_line_that_no_film_can_give_is_refused(shaper):
    with pytest.raises(BadInput, match="too narrow for its depth"):
        groove_shape.of_plan(planned_line(0.2, 0.2), shaper)


def test_asked_again_after_its_factor_was_taken_it_says_the_same(commission):
    # a line that nearly closes asks for a film that hardly differs from the one it was given
    told = []
    for factor in ("", "1.3", "1.07"):
        plan = planned(commission.changed(depth="0.2 mm", worked_etch_factor=factor))
        told.append(float(groove_shape.of_plan(plan, cells=60).etch_factor[-1].magnitude))
    assert told == pytest.approx([told[0]] * 3, rel=1e-6)
