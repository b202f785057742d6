"""The ways in which a job may run: exact margins, no correlation, the middle first."""

from statistics import NormalDist

import numpy as np
import pytest

from etchcalc.core.units import Quantity, unit
from etchcalc.core.vocabulary import VOCABULARY, term
from etchcalc.job import ranges

NORMAL = NormalDist()


def test_the_first_way_is_the_middle():
    assert np.all(ranges.scores()[0] == 0)
    assert ranges.scores().shape == (257, len(ranges.UNCERTAIN))


def test_every_margin_is_exactly_normal():
    # Hazen's plotting positions (i + 1/2)/n of the standard normal
    expected = [NORMAL.inv_cdf((i + 0.5) / 256) for i in range(256)]
    for column in ranges.scores()[1:].T:
        assert np.sort(column) == pytest.approx(expected)
        assert column.mean() == pytest.approx(0, abs=1e-12)
        assert column.std() == pytest.approx(1, abs=0.02)


def test_the_columns_are_not_correlated():
    found = np.corrcoef(ranges.scores()[1:].T)
    off = found - np.eye(len(found))
    assert np.abs(off).max() < 0.06


def test_nor_are_their_squares():
    # a hidden pattern would show here
    found = np.corrcoef(ranges.scores()[1:].T ** 2)
    assert np.abs(found - np.eye(len(found))).max() < 0.3


def test_the_points_are_fixed():
    before = ranges.scores().copy()
    ranges.scores.cache_clear()
    assert np.array_equal(before, ranges.scores())


def test_every_spread_has_a_column():
    assert set(ranges.UNCERTAIN) == {name for name, entry in VOCABULARY.items() if entry.spread}


def test_before_calibration_the_rate_is_known_within_a_factor_of_two():
    # exp(1.645 × 0.45) = 2.1, the 90 % range of a normal ln(rate) of spread 0.45
    entry = term("rate_correction")
    ways = ranges.ways(entry, Quantity(1.0, unit("")))
    low, high = ranges.ends(ways.magnitude)
    assert high == pytest.approx(2.1, abs=0.03)
    assert low == pytest.approx(1 / 2.1, abs=0.01)
    assert ways.magnitude[0] == 1


def test_a_difference_is_added():
    # a bath of 42 °C known to 2 K: 90 % within ± 3.29 K
    ways = ranges.ways(term("temperature"), Quantity(42.0, unit("degC")))
    low, high = ranges.ends(ways.magnitude)
    assert (low, high) == pytest.approx((42 - 3.29, 42 + 3.29), abs=0.05)


def test_a_typed_unit_does_not_change_the_ways():
    metric = ranges.ways(term("temperature"), Quantity(40.0, unit("degC")))
    american = ranges.ways(term("temperature"), Quantity(104.0, unit("degF")))
    assert american.to(unit("degC")).magnitude == pytest.approx(metric.magnitude)


def test_what_is_certain_stays_single():
    depth = Quantity(0.2, unit("mm"))
    assert ranges.ways(term("depth"), depth) is depth
    assert ranges.ways(term("etch_factor"), Quantity(1.3, unit("")), 0.0).magnitude == 1.3


def test_the_ends_leave_out_five_percent_each():
    ways = np.array([0.5, *(np.arange(1000) + 0.5) / 1000])
    assert ranges.ends(ways) == (pytest.approx(0.05), pytest.approx(0.95))
    table = np.vstack([ways, 2 * ways])
    low, high = ranges.ends(table)
    assert low == pytest.approx([0.05, 0.1]) and high == pytest.approx([0.95, 1.9])


def test_shares_of_a_range_are_those_of_its_inputs():
    # ln y = 0.4 z1 + 0.3 z2: the variance is shared 16 to 9 (independent scores)
    scores = ranges.scores()
    one, two = (scores[:, ranges.UNCERTAIN.index(n)] for n in ("rate_correction", "temperature"))
    found = ranges.shares(np.exp(0.4 * one + 0.3 * two))
    assert list(found)[:2] == ["rate_correction", "temperature"]
    assert found["rate_correction"] == pytest.approx(16 / 25, abs=0.01)
    assert found["temperature"] == pytest.approx(9 / 25, abs=0.01)
    assert sum(found.values()) == pytest.approx(1, abs=0.02)
    assert ranges.shares(np.full(ranges.WAYS + 1, 3.0)) == {}
