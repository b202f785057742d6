"""What earlier jobs taught: kept with the maker's remarks, combined by Bayes' rule, its laws."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.faults import BadInput
from etchcalc.core.units import read
from etchcalc.job import corrections
from etchcalc.job.corrections import Corrections, Entry, kept, opened

TRIED = settings(deadline=None, derandomize=True, max_examples=60)
FIRST = Entry(
    commission="tide-table",
    date="2026-02-01",
    tray="polypropylene 330 × 250 mm",
    moved="tilted by hand",
    lies="face down",
    metal="CW508L",
    line="0.4 mm",
    rate=0.83,
    rate_spread=0.08,
    readings=3,
)
SECTIONED = replace(FIRST, commission="mill-line", etch_factor=0.9, etch_factor_spread=0.05)
PRIOR, TAU = 0.45, corrections.RATE_JOB_TO_JOB


def own(*entries, line="0.4 mm", prior=PRIOR, without="", **said):
    sort = {key: said.get(key, getattr(FIRST, key)) for key in ("tray", "moved", "lies", "metal")}
    return Corrections(entries).found(**sort, line=read(line), prior_spread=prior, without=without)


def job(rate, spread, **said):
    return replace(FIRST, rate=math.exp(rate), rate_spread=spread, **said)


# combining


def test_nothing_kept_tells_nothing():
    assert own() is None


@pytest.mark.parametrize("prior", [0.45, 0.6])
def test_two_variance_components(prior):
    # the other road to the same: jobs as one normal vector with the shop's part in common, the
    # next job conditioned on what was read (numpy's solver)
    rates, spreads = np.array([-0.2, 0.1, -0.35]), np.array([0.05, 0.2, 0.1])
    covariance = np.full((4, 4), prior**2 - TAU**2) + np.diag([*(spreads**2 + TAU**2), TAU**2])
    told, cross = covariance[:3, :3], covariance[3, :3]
    found = own(*(job(r, s) for r, s in zip(rates, spreads, strict=True)), prior=prior)
    assert found.rate == pytest.approx(cross @ np.linalg.solve(told, rates))
    variance = covariance[3, 3] - cross @ np.linalg.solve(told, cross)
    assert found.rate_spread == pytest.approx(math.sqrt(variance))
    assert (found.factor, found.factor_spread, found.jobs) == (None, None, 3)


jobs = st.lists(st.builds(job, st.floats(-1.2, 1.2), st.floats(0.01, 1.0)), min_size=1, max_size=8)


@TRIED
@given(jobs, st.sampled_from([0.45, 0.6]), st.randoms())
def test_more_jobs_never_widen_and_their_order_does_not_matter(entries, prior, chance):
    spreads = [own(*entries[: n + 1], prior=prior).rate_spread for n in range(len(entries))]
    assert all(later < earlier for earlier, later in pairwise(spreads))
    assert spreads[0] < prior
    assert spreads[-1] > TAU  # the next job has its own way
    assert own(*chance.sample(entries, len(entries)), prior=prior) == own(*entries, prior=prior)


@TRIED
@given(st.floats(-1.0, 1.0))
def test_a_first_job_read_well_brings_the_mean_near_it(rate):
    found = own(job(rate, 0.01))
    assert abs(found.rate - rate) <= 0.12 * abs(rate) + 1e-9
    assert found.rate_spread < PRIOR / 2


@TRIED
@given(st.floats(-0.8, 0.8), st.floats(-0.3, 0.3))
def test_the_tenth_job_hardly_moves_it(rate, off):
    nine = [job(rate, 0.08)] * 9
    before, after = own(*nine), own(*nine, job(rate + off, 0.08))
    assert abs(after.rate - before.rate) < 0.03 + 0.01 * abs(rate)
    assert before.rate_spread - after.rate_spread < 0.002


@TRIED
@given(st.floats(0.5, 2.0), st.floats(0.02, 0.3))
def test_a_measured_etch_factor_counts_beside_the_rate(factor, spread):
    measured = replace(SECTIONED, etch_factor=factor, etch_factor_spread=spread)
    found = own(FIRST, measured)
    # 0.195 is the usual range 1.0 to 1.9 about 1.4: ln(1.9/1.0)/(2·1.645)
    shop = 0.195**2 - corrections.FACTOR_JOB_TO_JOB**2
    weight = shop / (shop + spread**2 + corrections.FACTOR_JOB_TO_JOB**2)
    assert found.factor == pytest.approx(weight * math.log(factor))
    assert corrections.FACTOR_JOB_TO_JOB < found.factor_spread < 0.195
    assert found.jobs == 2
    assert found.rate == own(FIRST, replace(FIRST, commission="other")).rate


@pytest.mark.parametrize(
    ("said", "same"),
    [
        ({"tray": "glass 330 × 250 mm"}, False),
        ({"tray": "Polypropylene  330 × 250 mm"}, True),
        ({"moved": "rocked by motor"}, False),
        ({"lies": "on edge"}, False),
        ({"metal": "copper"}, False),
        ({"metal": "brass"}, True),  # another name of CW508L
        ({"line": "0.6 mm"}, True),  # a factor of 1.5
        ({"line": "0.27 mm"}, True),
        ({"line": "0.61 mm"}, False),
        ({"line": "0.26 mm"}, False),
        ({"line": "16 thou"}, True),
        ({"without": "tide-table"}, False),  # its own readings tell it already
    ],
)
def test_only_jobs_of_the_same_sort_count(said, same):
    assert (own(FIRST, **said) is not None) == same


# the file


@pytest.fixture
def path(tmp_path):
    return tmp_path / "corrections.toml"


def test_no_file_is_none_kept(path):
    assert opened(path) == Corrections()


def test_kept_and_opened(path):
    assert kept(path, FIRST) == opened(path) == Corrections((FIRST,))
    assert kept(path, SECTIONED) == opened(path) == Corrections((FIRST, SECTIONED))


def test_the_same_commission_again_replaces_its_entry_and_remarks_stay(path):
    kept(path, FIRST)
    kept(path, SECTIONED)
    mine = "# mine\n" + path.read_text(encoding="utf-8").replace(
        "rate = 0.83\n", "rate = 0.83  # a cold day\n", 1
    )
    path.write_text(mine + "\n# the last", encoding="utf-8")
    plain = replace(SECTIONED, etch_factor=None, etch_factor_spread=None, readings=5)
    kept(path, replace(FIRST, rate=0.9))
    kept(path, plain)
    text = path.read_text(encoding="utf-8")
    assert opened(path).entries == (replace(FIRST, rate=0.9), plain)
    assert text.startswith("# mine\n") and text.rstrip().endswith("# the last")
    assert "rate = 0.9  # a cold day\n" in text
    # a third goes below, on lines of its own
    third = replace(FIRST, commission="third")
    kept(path, third)
    assert opened(path).entries[2] == third
    assert "# the last\n\n[[correction]]\n" in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("rate = 0.83", 'rate = "fast"', "correction 2, rate: .*“fast” does not begin"),
        ("rate = 0.83", "rate = -1", "correction 2, rate: .*cannot be meant"),
        ("rate = 0.83", "rate = nan", "correction 2, rate: .*cannot be meant"),
        ("rate_spread = 0.08", "rate_spread = 0", "correction 2, rate_spread: “0” is no spread"),
        ("rate_spread = 0.08", "rate_spread = nan", "correction 2, rate_spread"),
        ("rate_spread = 0.08", "", "correction 2: rate_spread is missing"),
        ("readings = 3", "readings = 2.5", "correction 2, readings: “2.5” is no number"),
        ("etch_factor = 0.9", "etch_factor = 30", "correction 2, etch_factor: .*cannot be meant"),
        ("etch_factor = 0.9", "", "correction 2: etch_factor and etch_factor_spread go together"),
        ('"2026-02-01"', '"2026-02-31"', "correction 2, date: “2026-02-31” is not a date"),
        ('"tilted by hand"', '"thrown"', "correction 2, moved: .*rocked by motor"),
        ('"face down"', "3", "correction 2, lies: .*on edge"),
        ('"CW508L"', '"gold"', "correction 2, metal: “gold” is not a metal"),
        ('"0.4 mm"', '"0.4"', "correction 2, line: .*0.4 of what"),
        ('"polypropylene 330 × 250 mm"', '" "', "correction 2, tray: nothing is said"),
        (
            "readings = 3",
            "readings = 3\nraet = 2",
            "correction 2 knows no “raet”; did you mean rate",
        ),
        ('"mill-line"', '"tide-table"', "correction 2, commission: .*is correction 1 already"),
        ("readings = 3", "readings = ", "cannot be read as TOML"),
    ],
)
def test_a_wrong_entry_is_named_and_nothing_is_written(path, old, new, words):
    kept(path, FIRST)
    kept(path, SECTIONED)
    first, mark, second = path.read_text(encoding="utf-8").rpartition("[[correction]]")
    assert old in second
    spoilt = first + mark + second.replace(old, new, 1)
    path.write_text(spoilt, encoding="utf-8")
    for attempt in (lambda: opened(path), lambda: kept(path, FIRST)):
        with pytest.raises(BadInput, match=words) as fault:
            attempt()
        said = str(fault.value)
        assert said.startswith("corrections.toml: ") and said.endswith(".")
    assert path.read_text(encoding="utf-8") == spoilt


@pytest.mark.parametrize("text", ["correction = 3", "correction = [1]", "[correction]\nrate = 1"])
def test_no_entries_at_all_are_refused(path, text):
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=r"write \[\[correction\]\]"):
        opened(path)


def test_a_damaged_file(path):
    path.write_bytes(b"\xff\xfe\x00rate")
    with pytest.raises(BadInput, match="cannot be read"):
        opened(path)


def test_an_entry_that_cannot_be_meant_is_not_written(path):
    kept(path, FIRST)
    before = path.read_bytes()
    with pytest.raises(BadInput, match="correction 2, rate"):
        kept(path, replace(SECTIONED, rate=math.nan))
    assert path.read_bytes() == before
