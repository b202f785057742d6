"""Depth against time in a bath that does not keep its temperature."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, unit
from etchcalc.job import answers
from etchcalc.job.commission_file import opened
from etchcalc.job.plan import planned

ORDER = """
[plate]
plate_width = "120 mm"
plate_height = "45 mm"
metal = "CW508L"
[lines]
finest_line = "0.4 mm"
depth = "0.2 mm"
[bath]
temperature = "{celsius} °C"
{more}
"""


@pytest.fixture
def of(tmp_path):
    def build(more="", celsius=42, log=""):
        (tmp_path / "log.csv").write_text(log, encoding="utf-8")
        path = tmp_path / "commission.toml"
        path.write_text(ORDER.format(more=more, celsius=celsius), encoding="utf-8")
        return opened(path)

    return build


def minutes(plan, name="etch_time"):
    f = plan.figures(name)[name]
    return [float(q.to(unit("min")).magnitude) for q in (f.low, f.value, f.high)]


LOGGED = 'temperature_log = "log.csv"'


def test_a_log_that_keeps_its_temperature_is_the_plan_without_one(of):
    plain = planned(of())
    log = "time (min),temperature (°C)\n" + "".join(f"{m},42\n" for m in range(0, 200, 20))
    same = planned(of(LOGGED, log=log))
    # twelve slices against twenty-four, and rates between seven temperatures
    assert minutes(same) == pytest.approx(minutes(plain), rel=5e-3)
    assert same.number("gauge_time") == pytest.approx(plain.number("gauge_time"), rel=5e-3)
    assert same.number("field_depth") == pytest.approx(plain.number("field_depth"), rel=5e-3)
    depths = Quantity(np.array([0.05, 0.1, 0.2, 0.28]), unit("mm"))
    assert same.depth_against_time(depths) == pytest.approx(
        plain.depth_against_time(depths), rel=0.01
    )


def test_a_bath_that_tires_much_takes_as_long_as_the_closed_form_says(of):
    # 40 plates in a weak bath use up near half of it: share/−ln(1 − share) of the fresh rate
    heavy = 'strength = "150 g/L"\n'
    log = "time (min),temperature (°C)\n" + "".join(f"{m},42\n" for m in range(0, 200, 20))
    plain, same = (
        planned(of(heavy + more, log=log).changed(plate_count="6", open_fraction="60 %"))
        for more in ("", LOGGED)
    )
    assert plain.number("load_share") > 30
    # the mean of the fresh rate and of the tiring stand for their product: within 2 %
    assert same.number("etch_time") == pytest.approx(plain.number("etch_time"), rel=0.02)


def test_against_a_solver_of_differential_equations(of):
    # a bath that cools from 42 to 28 °C: the rate at each temperature and depth from plans of their
    # own, put together by scipy's solver with an event at the depth
    minute = np.arange(0, 241, 20.0)
    celsius = 28 + 14 * np.exp(-minute / 70)
    log = "min,°C\n" + "".join(f"{m:.0f},{c:.3f}\n" for m, c in zip(minute, celsius, strict=True))
    plan = planned(of(LOGGED, log=log))
    grid = np.arange(26.0, 45.0, 2.0)
    deep = np.linspace(1e-4, 0.21, 60)
    columns = []
    for t in grid:
        at = planned(of(celsius=t))
        per = at.depth_against_time(Quantity(deep, unit("mm")))[1] * at.number("tiring")
        columns.append(np.gradient(deep, per))  # mm/min at each depth, not tired
    table = np.array(columns)

    def rate(t, d):
        now = np.interp(t, minute, celsius)
        fresh = np.exp(np.interp(now, grid, [np.log(np.interp(d[0], deep, c)) for c in table]))
        return [fresh * (1 - plan.number("load_share") / 100 * d[0] / 0.2)]

    def there(t, d):
        return d[0] - 0.2

    there.terminal = True
    found = solve_ivp(rate, (0, 2000), [1e-4], events=there, rtol=1e-8, max_step=5)
    assert plan.number("etch_time") == pytest.approx(found.t_events[0][0], rel=0.01)


def test_warming_up_takes_longer_and_cooling_longer_still(of):
    warm = planned(of())
    warming = planned(of('plates_go_in = "while it warms up"'))
    cooling = planned(of('plates_go_in = "as it cools"'))
    assert minutes(warm)[1] < minutes(warming)[1] < minutes(warm)[1] + warm.number("warm_up_time")
    assert minutes(cooling)[1] > minutes(warm)[1]
    for plan in (warming, cooling):
        working = plan.working("etch_time")
        assert "24 slices" in working.method and working.result and working.sources
        assert plan.number("etch_rate") * plan.number("etch_time") == pytest.approx(200, rel=1e-6)
        assert "Lift and gauge after" in answers.lift_answer(plan)


def test_two_depths_through_a_history(of):
    log = "time (min),temperature (°C)\n" + "".join(f"{m},42\n" for m in range(0, 400, 20))
    two = {"second_line": "0.8 mm", "second_depth": "0.3 mm"}
    plain, same = planned(of().changed(**two)), planned(of(LOGGED, log=log).changed(**two))
    assert same.number("second_time") == pytest.approx(plain.number("second_time"), rel=5e-3)
    cooling = planned(of('plates_go_in = "as it cools"').changed(**two))
    assert cooling.number("second_time") > 1.2 * plain.number("second_time")


def test_a_reading_corrects_the_forecast_through_a_history(of):
    order = of('plates_go_in = "while it warms up"')
    plan = planned(order)
    slow = {"reading_time": f"{plan.number('etch_time'):.1f} min", "reading_depth": "0.1 mm"}
    told = planned(order.with_row("reading", slow))
    low, middle, high = minutes(told)
    assert middle > 1.5 * plan.number("etch_time")
    assert high / low < minutes(plan)[2] / minutes(plan)[0]


@pytest.mark.parametrize(
    ("log", "words"),
    [
        ("time (min),temperature (°C)\n0,40\n10,41\n10,42\n", "line"),
        ("time (min),temperature (°C)\n0,40\n10,104\n20,41\n", "type 104 °F"),
        ("", "log.csv"),
    ],
)
def test_a_bad_log_gets_one_sentence(of, log, words):
    with pytest.raises(BadInput, match=words) as fault:
        planned(of(LOGGED, log=log))
    assert "\n" not in str(fault.value)


def test_a_log_that_is_not_there(of):
    with pytest.raises(BadInput, match=r"no thermometer's log “none\.csv” beside the commission"):
        of('temperature_log = "none.csv"')
