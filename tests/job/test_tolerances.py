"""Inputs with a tolerance: as people write them, and how they go through the plan's ranges."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, unit
from etchcalc.core.vocabulary import term
from etchcalc.job import ranges, tolerances
from etchcalc.job.book import Book
from etchcalc.job.plan import planned
from etchcalc.job.schema import QUANTITIES
from etchcalc.job.tolerances import Tolerance, read


@pytest.mark.parametrize(
    ("name", "typed", "middle", "half"),
    [
        # by hand, in the metric unit of the kind
        ("temperature", "42 ± 2 °C", 42, 2),
        ("temperature", "42 °C +/- 2 °C", 42, 2),
        ("temperature", "42 °C ± 2", 42, 2),
        ("temperature", "104 ± 4 °F", 40, 4 * 5 / 9),
        ("strength", "500 g/L ± 3 %", 500, 15),
        ("strength", "500 ± 10 g/L", 500, 10),
        ("finest_line", "0.40 mm +/- 0.01 mm", 0.40, 0.01),
        ("finest_line", "0,40 +- 0,01 mm", 0.40, 0.01),
        ("finest_line", "0.40 mm ± 10 µm", 0.40, 0.01),
        ("depth", "8 thou ± ½ thou", 0.2032, 0.0127),
        ("open_fraction", "15 % ± 3 %", 15, 3),
        ("open_fraction", "15 ± 3 %", 15, 3),
        ("etch_factor", "1.4 ± 0.1", 1.4, 0.1),
        ("etch_factor", "1.4 ± 5 %", 1.4, 0.07),
        ("hydrometer_reading", "27 °Bé ± 0.3 °Bé", 27, 0.3),
        ("temperature", "42 °C ± 0 °C", 42, 0),
    ],
)
def test_as_people_write_them(name, typed, middle, half):
    found, tolerance = read(name, typed)
    assert found.to(term(name).unit).magnitude == pytest.approx(middle)
    assert tolerance.name == name
    assert tolerance.half_width == pytest.approx(half)


@pytest.mark.parametrize(
    ("typed", "low", "high"),
    [
        ("27 ± 0.5 °Bé", "26.5 °Bé", "27.5 °Bé"),
        ("SG 1.23 ± 0.01", "SG 1.22", "SG 1.24"),
        ("40 % FeCl3 ± 1 %", "39 % FeCl3", "41 % FeCl3"),
        ("1.5 ± 0.1 mol/L", "1.4 mol/L", "1.6 mol/L"),
    ],
)
def test_a_strength_in_another_measure_lies_between_its_ends(typed, low, high):
    _, tolerance = read("strength", typed)
    ends = [read("strength", end)[0].to(unit("g/L")).magnitude for end in (low, high)]
    assert tolerance.half_width == pytest.approx((ends[1] - ends[0]) / 2, rel=1e-6)


def test_a_strength_by_mass_hangs_on_how_warm_it_was_made_up():
    cold, warm = (
        read("strength", "40 % FeCl3", mixing_temperature=Quantity(t, unit("degC")))
        for t in (5.0, 35.0)
    )
    assert cold[0] > warm[0]


def test_what_has_none_is_read_as_before():
    found, tolerance = read("depth", "0.2 mm")
    assert tolerance is None
    assert found == term("depth").read("0.2 mm")


@pytest.mark.parametrize(
    ("name", "typed", "sentence"),
    [
        ("depth", "0.2 mm ± 0.3 mm", "depth: ± 0.3 mm cannot be meant, since that is as much as the value itself; type how far off it may be either way, such as 0.2 mm ± 5 %."),
        ("depth", "0.2 mm ± -0.01 mm", "depth: ± -0.01 mm cannot be meant, since a tolerance is how far off it may be, and not below nothing; type how far off it may be either way, such as 0.2 mm ± 5 %."),
        ("depth", "0.2 mm ± 2 g", "depth: ± 2 g cannot be meant, since 2 g is not a length; type how far off it may be either way, such as 0.2 mm ± 5 %."),
        ("temperature", "42 °C ± 5 %", "temperature: ± 5 % cannot be meant, since a share of a temperature means nothing; type how far off it may be either way, such as ± 2 °C."),
        ("temperature", "42 ± 50 °C", "temperature: ± 50 °C cannot be meant, since that is more than all that can be meant; type how far off it may be either way, such as ± 2 °C."),
        ("plate_count", "3 ± 1", "plate count: it is decided, not measured; leave the ± out."),
        ("depth", "0.2 mm ± 0.1 mm ± 0.1 mm", "depth: ± stands twice; type the value once and how far off once."),
        ("depth", "± 0.2 mm", "depth: ± 0.2 mm is a difference; type a length from 0.01 mm to 3 mm, such as 0.2 mm."),
    ],
)  # fmt: skip
def test_one_sentence_for_what_cannot_be_meant(name, typed, sentence):
    with pytest.raises(BadInput) as fault:
        read(name, typed)
    assert str(fault.value) == sentence


@pytest.mark.parametrize(
    "typed",
    ["0.2 mm ±", "0.2 mm ± nan mm", "0.2 mm ± inf mm", "0.2 mm ± lots", "9 mm ± 1 mm", "0.2 ± 0.1",
     "0.2 mm ± 1 °C", "0.2 mm ± 1 gallon", "0.2 mm ± 100 %", "0.2 mm ± 1/0 mm"],
)  # fmt: skip
def test_what_no_depth_can_be(typed):
    with pytest.raises(BadInput) as fault:
        read("depth", typed)
    assert str(fault.value).count("depth: ") == 1


def test_a_baume_reading_is_not_off_by_grams():
    with pytest.raises(BadInput, match="is not in g"):
        read("strength", "27 °Bé ± 1 g")


@given(st.text(alphabet="0123456789.,±+-/ %°CmgLBé", max_size=14))
def test_whatever_is_typed_is_read_or_refused(typed):
    for name in ("strength", "temperature", "depth", "open_fraction"):
        try:
            _, tolerance = read(name, typed)
        except BadInput:
            continue
        assert tolerance is None or tolerance.half_width >= 0


def test_its_standard_uncertainty():
    # a/√3 of a rectangle (JCGM 100, 4.3.7)
    assert Tolerance("depth", 0.03).uncertainty == pytest.approx(0.0173205, abs=1e-7)
    ways = ranges.within(term("depth"), Quantity(0.2, unit("mm")), 0.03).magnitude
    assert ways[1:].std() == pytest.approx(0.0173205, rel=1e-3)
    assert ways[0] == 0.2
    # evenly between its ends, as many in each stretch
    even = 0.2 + 0.03 * (2 * (np.arange(256) + 0.5) / 256 - 1)
    assert np.sort(ways[1:]) == pytest.approx(even)


def test_no_way_leaves_what_can_be_meant():
    ways = ranges.within(term("temperature"), Quantity(59.0, unit("degC")), 4.0).magnitude
    assert ways.max() == 60 and ways.min() == pytest.approx(55, abs=0.05)


def test_a_column_for_every_input_leaves_the_others_as_they_are():
    before = ranges.scores().copy()
    columns = np.array([ranges.column(name)[1:] for name in QUANTITIES])
    assert np.array_equal(before, ranges.scores())
    expected = np.sort(before[1:, 0])
    assert all(np.array_equal(np.sort(column), expected) for column in columns)
    # turned away from what is always uncertain, and from each other by chance: 1/√256 = 0.06
    more = [i for i, name in enumerate(QUANTITIES) if name not in ranges.UNCERTAIN]
    with_always = np.corrcoef(columns[more], before[1:].T)[: len(more), len(more) :]
    assert np.abs(with_always).max() < 0.06
    each_other = np.corrcoef(columns[more])[np.triu_indices(len(more), 1)]
    assert each_other.std() < 0.07 and np.abs(each_other).max() < 0.3


@pytest.fixture
def plan_with(commission, monkeypatch):
    """A plan of the order with tolerances said, whoever reads them from the commission."""
    said, say = {}, Book.say

    def with_tolerance(self, name, quantity, status, tolerance=None):
        say(self, name, quantity, status, tolerance or said.get(name))

    monkeypatch.setattr(Book, "say", with_tolerance)

    def worked(before=None, **half_widths):
        said.clear()
        said.update({n: Tolerance(n, half) for n, half in half_widths.items()})
        return planned(commission, None, before)

    return worked


def ways(plan, name):
    return plan.book.values[name].to(term(name).unit).magnitude


def test_it_goes_into_every_result_that_rests_on_it(plan_with):
    plan = plan_with(depth=0.015)
    depth = ways(plan, "depth")
    # nine in ten of a rectangle lie within 0.9 of its half width, by hand
    low, high = ranges.ends(depth)
    assert (low, high) == pytest.approx((0.15 - 0.0135, 0.15 + 0.0135), abs=1e-9)
    # one cause, several results: way by way, exactly
    assert ways(plan, "undercut") == pytest.approx(depth / ways(plan, "etch_factor"))
    assert ways(plan, "film_line") == pytest.approx(0.40 - 2 * ways(plan, "undercut"))
    assert plan.number("etch_time") == plan_with().number("etch_time")
    assert ranges.shares(ways(plan, "metal_removed"), ("depth",))["depth"] > 0.5


def test_the_range_of_the_time_widens_with_it(plan_with):
    # time goes nearly with depth: ln t of a spread of 0.45 and of a depth of 0.15 ± 0.08 mm together
    width = [
        np.log(ways(plan_with(depth=half), "etch_time")[1:]).std() for half in (1e-9, 0.04, 0.08)
    ]
    assert width[0] < width[1] < width[2]
    log_depth = np.log(0.15 + 0.08 * (2 * (np.arange(256) + 0.5) / 256 - 1)).std()
    assert width[2] == pytest.approx(np.hypot(width[0], 1.1 * log_depth), rel=0.06)


def test_it_takes_the_place_of_the_usual_spread(plan_with):
    # 42 ± 0.5 °C in the place of a standard uncertainty of 2 K
    plan = plan_with(temperature=0.5)
    assert np.ptp(ways(plan, "temperature")) == pytest.approx(1.0, abs=0.01)
    assert plan.book.tolerances == {"temperature": Tolerance("temperature", 0.5)}


def test_a_plan_before_with_another_tolerance_is_not_taken(plan_with):
    before = plan_with(depth=0.015)
    for half_widths in ({"depth": 0.03}, {}, {"depth": 0.015}):
        again = plan_with(before, **half_widths)
        assert np.array_equal(ways(again, "undercut"), ways(plan_with(**half_widths), "undercut"))


def test_ranges_with_tolerances_hold_the_truth_as_often_as_they_say(plan_with):
    # 4000 true jobs drawn at random, not by the plan's fixed ways: nine in ten within
    plan = plan_with(depth=0.02, plate_thickness=0.2, temperature=3.0, liquid_depth=3.0)
    random = np.random.default_rng(20260503)
    drawn = {}
    for name in ranges.UNCERTAIN:
        if name not in plan.book.values or name in plan.book.uses or name in plan.book.tolerances:
            continue
        entry, middle = term(name), plan.number(name)
        scores = random.standard_normal(4000)
        true = (
            middle + entry.spread * scores
            if entry.additive
            else middle * np.exp(entry.spread * scores)
        )
        drawn[name] = Quantity(np.clip(true, entry.low, entry.high), entry.unit)
    for name, tolerance in plan.book.tolerances.items():
        true = plan.number(name) + tolerance.half_width * random.uniform(-1, 1, 4000)
        drawn[name] = Quantity(true, term(name).unit)
    names = ("etch_time", "undercut", "etchant_crystals", "heater_power", "stop_out_paint")
    plan.book.finish()
    true = plan.book.middled().reworked(drawn, names)
    for name in names:
        low, high = ranges.ends(ways(plan, name))
        jobs = true[name].to(term(name).unit).magnitude
        assert 0.88 <= np.mean((jobs >= low) & (jobs <= high)) <= 0.92, name


def test_what_is_decided_is_an_input():
    assert set(tolerances.DECIDED) <= set(QUANTITIES)
