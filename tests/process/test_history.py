"""Depth through a temperature history: closed forms, a moving front, a library's integrator, laws."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.special import erf

from etchcalc.process.history import times_through

TRIED = settings(deadline=None, derandomize=True, max_examples=40)
GRID = np.linspace(15.0, 60.0, 7)
EDGES = np.linspace(0.0, 0.2, 25)
MIDDLES = (EDGES[1:] + EDGES[:-1]) / 2


def still(celsius):
    return lambda minutes: np.full(np.shape(minutes), celsius)


def through(of_depth, load=0.0, depths=EDGES, celsius_at=None, shift=0.0, begin=0.0, warmth=None):
    """Minutes of one way whose rate goes with the depth, and with the temperature where told."""
    middles = (depths[1:] + depths[:-1]) / 2
    by_heat = np.ones(len(GRID)) if warmth is None else warmth(GRID)
    rates = (of_depth(middles)[:, None] * by_heat)[:, :, None]
    history = celsius_at or still(42.0)
    return times_through(depths, rates, GRID, history, np.array([shift]), np.array([load]), begin)[
        :, 0
    ]


# ---- closed forms


def test_a_constant_rate_is_a_division():
    assert through(lambda d: np.full(len(d), 0.002)) == pytest.approx(EDGES / 0.002, rel=1e-6)


@pytest.mark.parametrize("load", [0.5, 2.0, 4.5, 4.999])
def test_a_bath_that_tires_is_a_logarithm(load):
    # d' = v(1 − load·d): the time to use the share s is −ln(1 − s)/s of that at the fresh rate
    share = load * EDGES[1:]
    expected = EDGES[1:] / 0.002 * -np.log(1 - share) / share
    assert through(lambda d: np.full(len(d), 0.002), load)[1:] == pytest.approx(expected, rel=1e-9)


def test_a_spent_bath_never_gets_there():
    # 1/0.15 per mm: spent at 0.15 mm, which is the edge 18
    found = through(lambda d: np.full(len(d), 0.002), 1 / 0.15)
    assert np.isfinite(found[:18]).all()
    assert np.isinf(found[18:]).all()


# ---- one-dimensional diffusion into still etchant (Neumann's solution for a moving front)


def front(beta):
    """λ of s = 2λ√(Dt), β the ferric that the metal takes over the ferric in as much etchant."""
    return brentq(
        lambda x: np.sqrt(np.pi) * x * np.exp(x**2) * (1 + erf(x)) - 1 / beta, 1e-6, 2, xtol=1e-14
    )


# the same equation solved elsewhere, to six figures
SOLVED = {
    1: 0.357835, 5: 0.100376, 10: 0.0530836, 50: 0.0111423, 83.43: 0.0067113, 200: 0.00281200
}  # fmt: skip


@pytest.mark.parametrize("beta", SOLVED)
def test_diffusion_alone(beta):
    exact = front(beta)
    assert exact == pytest.approx(SOLVED[beta], rel=1e-5)
    diffusivity = 0.015  # mm²/min, 250 µm²/s
    found = through(lambda d: 2 * exact**2 * diffusivity / d)
    assert found == pytest.approx((EDGES / (2 * exact)) ** 2 / diffusivity, rel=1e-6)


def stepped_front(beta, nodes=240, far=10.0, nearest=1e-3):
    """Depth at Dt = 1 by differences in a frame that moves with the metal; no closed form in it."""
    away = np.sinh(np.linspace(0, np.arcsinh(far / nearest), nodes + 1)) * nearest
    gaps = np.diff(away)
    apart = gaps[:-1] + gaps[1:]

    def change(_, state):
        slope = np.diff(np.concatenate([[0.0], state[:-1], [1.0]])) / gaps
        speed = (slope[0] - (slope[1] - slope[0]) * gaps[0] / apart[0]) / beta
        between = (slope[:-1] * gaps[1:] + slope[1:] * gaps[:-1]) / apart
        return np.append(2 * np.diff(slope) / apart - speed * between, speed)

    start = np.append(np.ones(nodes - 1), 0.0)
    return solve_ivp(change, (0, 1), start, method="BDF", rtol=1e-6, atol=1e-8).y[-1, -1]


def test_diffusion_stepped_in_space_and_time():
    exact = front(10)
    depths = np.linspace(0, 0.12, 25)
    found = through(lambda d: 2 * exact**2 / d, depths=depths)
    reached = np.interp(1.0, found**0.5, depths)  # depth goes straight with the root of time
    # 0.106154: an explicit scheme that fixes the front
    assert reached == pytest.approx(0.106154, rel=2e-4)
    assert reached == pytest.approx(stepped_front(10), rel=2e-4)


# ---- against a library's integrator


def groove(depth):
    """A rate that falls with the depth, as transport out of a groove does."""
    return 0.0035 / (1 + depth / 0.2)


def arrhenius(celsius):
    return np.exp(4500 * (1 / 315.15 - 1 / (np.asarray(celsius) + 273.15)))


RAGGED = np.random.default_rng(5).normal(40, 1.0, 400)
LOG = np.cumsum(np.random.default_rng(6).uniform(0.5, 6.0, 400))
HISTORIES = {
    "warming": lambda t: 44 - 24 * np.exp(-np.asarray(t) / 15),
    "warming, then held": lambda t: np.interp(t, [0, 12, 24, 36], [20, 29, 37, 42]),
    "cooling": lambda t: 20 + 25 * np.exp(-np.asarray(t) / 60),
    "a ragged log": lambda t: np.interp(t, LOG, RAGGED),
    "lifted and put back": lambda t: np.interp(t, [30, 31, 45, 50], [42, 32, 34, 42]),
}


def integrated(history, depth, shift, load, begin=0.0):
    def reached(_, state):
        return state[0] - depth

    reached.terminal = True
    found = solve_ivp(
        lambda t, d: groove(d) * arrhenius(history(begin + t) + shift) * (1 - load * d),
        (0, 5000),
        [0.0],
        events=reached,
        rtol=1e-9,
        atol=1e-12,
        max_step=2.0,
    )
    return float(found.t_events[0][0])


@pytest.mark.parametrize("name", HISTORIES)
@pytest.mark.parametrize(("shift", "load"), [(0.0, 0.0), (-4.0, 2.5), (3.0, 4.0)])
def test_histories_by_a_library(name, shift, load):
    # a log that jumps by a degree at every row is met by a sample of it only
    within = 1e-2 if name == "a ragged log" else 3e-3
    history = HISTORIES[name]
    found = through(groove, load, celsius_at=history, shift=shift, warmth=arrhenius)
    for place in (8, 24):
        exact = integrated(history, EDGES[place], shift, load)
        assert found[place] == pytest.approx(exact, rel=within)


def test_smooth_histories_are_within_a_thousandth():
    for name in ("warming", "cooling"):
        found = through(groove, 2.5, celsius_at=HISTORIES[name], warmth=arrhenius)[-1]
        assert found == pytest.approx(integrated(HISTORIES[name], 0.2, 0.0, 2.5), rel=1e-3)


def test_a_plate_that_goes_in_later():
    history = HISTORIES["warming"]
    found = through(groove, celsius_at=history, warmth=arrhenius, begin=25.0)
    assert found[0] == 0
    assert found[-1] == pytest.approx(integrated(history, 0.2, 0.0, 0.0, 25.0), rel=1e-3)
    assert found[-1] < through(groove, celsius_at=history, warmth=arrhenius)[-1]


def test_a_slice_in_which_it_warms_is_cut():
    # one slice: uncut it would take the temperature of half its time for all of it, 29 % wrong
    depths = np.array([0.0, 0.02])
    history = HISTORIES["warming, then held"]
    found = through(
        lambda d: np.full(len(d), 0.001), depths=depths, celsius_at=history, warmth=arrhenius
    )
    minutes = np.linspace(0, 100, 100001)
    rate = 0.001 * arrhenius(history(minutes))
    deep = np.concatenate([[0], np.cumsum((rate[1:] + rate[:-1]) / 2 * 0.001)])
    assert found[-1] == pytest.approx(np.interp(0.02, deep, minutes), rel=1e-2)


# ---- laws


def many(seed, count=12):
    rng = np.random.default_rng(seed)
    correction = np.exp(0.45 * rng.standard_normal(count))
    rates = groove(MIDDLES)[:, None, None] * arrhenius(GRID)[None, :, None] * correction
    return rates, rng.normal(0, 2, count), rng.uniform(0, 4.5, count)


def test_all_ways_at_once_are_one_at_a_time():
    rates, shift, load = many(1)
    # smooth enough that no slice is cut: the widest way rules the cuts of all
    history = lambda t: 42 - 3 * np.exp(-np.asarray(t) / 30)  # noqa: E731
    together = times_through(EDGES, rates, GRID, history, shift, load)
    for way in range(len(shift)):
        one = slice(way, way + 1)
        alone = times_through(EDGES, rates[:, :, one], GRID, history, shift[one], load[one])
        assert together[:, way] == pytest.approx(alone[:, 0], rel=1e-12)


def test_a_way_that_is_no_number_leaves_the_others():
    rates, shift, load = many(2, 4)
    sound = times_through(EDGES, rates, GRID, HISTORIES["warming"], shift, load)
    rates[:, :, 1] = np.nan
    found = times_through(EDGES, rates, GRID, HISTORIES["warming"], shift, load)
    assert np.isnan(found[1:, 1]).all()
    assert found[:, [0, 2, 3]] == pytest.approx(sound[:, [0, 2, 3]])


@st.composite
def logs(draw):
    count = draw(st.integers(2, 8))
    gaps = draw(st.lists(st.floats(2, 60), min_size=count, max_size=count))
    celsius = draw(st.lists(st.floats(18, 55), min_size=count, max_size=count))
    return np.cumsum(gaps), np.array(celsius)


# a law may fail by what the step itself is wrong: where a log jumps, less than a hundredth
SLACK = 0.01


@TRIED
@given(logs(), st.floats(0, 4.5), st.floats(1, 8))
def test_a_hotter_history_is_never_later(log, load, hotter):
    minutes, celsius = log
    cool, warm = (
        through(groove, load, celsius_at=lambda t, c=c: np.interp(t, minutes, c), warmth=arrhenius)
        for c in (celsius, celsius + hotter)
    )
    assert (warm <= cool * (1 + SLACK)).all()


@TRIED
@given(logs(), st.floats(0, 4), st.floats(0.01, 3))
def test_more_load_is_never_earlier(log, load, more):
    history = lambda t: np.interp(t, *log)  # noqa: E731
    light, heavy = (
        through(groove, of, celsius_at=history, warmth=arrhenius) for of in (load, load + more)
    )
    assert (heavy >= light * (1 - SLACK)).all()


@TRIED
@given(logs(), st.floats(0, 8), st.floats(-3, 3))
def test_deeper_is_later(log, load, shift):
    found = through(
        groove, load, celsius_at=lambda t: np.interp(t, *log), shift=shift, warmth=arrhenius
    )
    reached = found[np.isfinite(found)]
    assert (np.diff(reached) > 0).all()
    assert np.isinf(found[len(reached) :]).all(), "what is spent stays spent"


@TRIED
@given(logs(), st.floats(0, 4.5), st.floats(0, 600), st.floats(0.1, 60))
def test_clock_and_unit_of_time_do_not_matter(log, load, begin, scale):
    minutes, celsius = log
    known = {"load": load, "warmth": arrhenius}
    plain = through(groove, celsius_at=lambda t: np.interp(t, minutes, celsius), **known)
    later = through(
        groove, celsius_at=lambda t: np.interp(t, minutes + begin, celsius), begin=begin, **known
    )
    assert later == pytest.approx(plain, rel=1e-9)
    other = through(
        lambda d: groove(d) / scale,
        celsius_at=lambda t: np.interp(t, minutes * scale, celsius),
        **known,
    )
    assert other == pytest.approx(plain * scale, rel=1e-6)
    # a length in another unit: depth and rate a thousandfold, load a thousandth
    thousandfold = through(
        lambda d: 1000 * groove(d / 1000),
        depths=1000 * EDGES,
        celsius_at=lambda t: np.interp(t, minutes, celsius),
        load=load / 1000,
        warmth=arrhenius,
    )
    assert thousandfold == pytest.approx(plain, rel=1e-5)
