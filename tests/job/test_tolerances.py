"""Inputs with a tolerance: as people write them, and how they go through the plan's ranges."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from etchcalc.core.faults import BadInput
from etchcalc.core.units import SYSTEMS, Quantity, share_of, show, unit
from etchcalc.core.vocabulary import term
from etchcalc.job import better, chances, maps, past, pricing, ranges, tolerances
from etchcalc.job import record as records
from etchcalc.job.book import Book
from etchcalc.job.commission_file import parsed, written
from etchcalc.job.first_order import RECTANGULAR, first_order
from etchcalc.job.plan import planned
from etchcalc.job.propagation import propagate
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


# ---- how a tolerance is meant: by a certificate, or mostly in the middle

# What is said behind ± a, what scipy calls it, and its standard deviation.
MEANT = {
    "": stats.uniform(-1, 2),
    " (95 %)": stats.norm(0, 1 / stats.norm.ppf(0.975)),
    " (k=2)": stats.norm(0, 0.5),
    ", mostly in the middle": stats.triang(0.5, -1, 2),
}
said_as = pytest.mark.parametrize("words", MEANT)


@pytest.mark.parametrize(
    ("words", "width"),
    [
        # of a half width of 2 °C: JCGM 100, 4.3.4 (1.64, 1.96 and 2.58 for 90, 95 and 99 %), G.1
        # (table G.1: 1.645, 1.960, 2.576, and 2 for 95.45 %), 4.3.3, 4.3.9 and 4.3.7
        ("(90 %)", 2 / 1.645),
        ("(95 %)", 2 / 1.960),
        ("(95%)", 2 / 1.960),
        ("( 95 % )", 2 / 1.960),
        ("at 95 %", 2 / 1.960),
        ("AT 95 per cent", 2 / 1.960),
        ("(at 95 %)", 2 / 1.960),
        ("at 95,45 %", 1),
        ("at 99 %", 2 / 2.576),
        ("at 50 %", 2 / 0.6745),
        ("(99.9 %)", 2 / 3.2905),
        ("(k=2)", 1),
        ("(K = 2)", 1),
        ("k=2", 1),
        (", k=1", 2),
        ("(k=1,96)", 2 / 1.96),
        ("(k=4)", 0.5),
        (", mostly in the middle", 2 / 6**0.5),
        ("mostly in  the middle", 2 / 6**0.5),
        ("(Mostly in the middle)", 2 / 6**0.5),
        ("triangular", 2 / 6**0.5),
        (", triangular", 2 / 6**0.5),
        ("rectangular", 2 / 3**0.5),
        ("", 2 / 3**0.5),
    ],
)
def test_how_it_is_meant(words, width):
    for typed in ("42 ± 2 °C", "42 °C +/- 2", "42 °C ± 2 °C"):
        middle, tolerance = read("temperature", f"{typed} {words}")
        assert middle.to(unit("degC")).magnitude == pytest.approx(42)
        assert tolerance.half_width == pytest.approx(2)
        assert tolerance.uncertainty == pytest.approx(width, rel=3e-4)


@pytest.mark.parametrize(
    ("name", "typed", "half"),
    [
        ("open_fraction", "15 ± 3 % (95 %)", 3),
        ("strength", "500 g/L ± 3 % at 95 %", 15),
        ("hydrometer_reading", "27 °Bé ± 0.3 °Bé (k=2)", 0.3),
        ("etch_factor", "1,4 ± 0,1, triangular", 0.1),
        ("finest_line", "0,40 +- 0,01 mm, mostly in the middle", 0.01),
        ("depth", "8 thou ± ½ thou k=2", 0.0127),
    ],
)
def test_of_any_quantity_in_any_measure(name, typed, half):
    _, tolerance = read(name, typed)
    assert tolerance.half_width == pytest.approx(half)
    assert tolerance.shape.name in ("normal", "triangular")


def test_a_measure_that_holds_words_of_its_own_is_read_as_before():
    for name, typed in (
        ("strength", "40 ± 1 % FeCl3 (w/w)"),
        ("strength", "27 ± 0.5 °Bé at 40 °C"),
        ("open_fraction", "95 %"),
    ):
        _, tolerance = read(name, typed)
        assert tolerance is None or tolerance.shape.name == "rectangular"


BEHIND = (
    "after a ± type nothing, (95 %) with any level from 50 % to 99.9 %, (k=2) with any k from 1 to 4, "
    "or mostly in the middle."
)


@pytest.mark.parametrize(
    ("name", "typed", "sentence"),
    [
        ("temperature", "42 °C (95 %)", "temperature: “(95 %)” tells how a ± is meant, and there is none; type how far off it may be too, such as 42 °C ± 2 °C (95 %)."),
        ("temperature", "42 °C at 95 %", "temperature: “at 95 %” tells how a ± is meant, and there is none; type how far off it may be too, such as 42 °C ± 2 °C (95 %)."),
        ("depth", "0.2 mm, mostly in the middle", "depth: “mostly in the middle” tells how a ± is meant, and there is none; type how far off it may be too, such as 0.2 mm ± 5 % (95 %)."),
        ("temperature", "42 ± 2 °C (k=9)", f"temperature: (k=9) cannot be meant, since that is no coverage factor of a certificate; {BEHIND}"),
        ("temperature", "42 ± 2 °C (k=0.5)", f"temperature: (k=0.5) cannot be meant, since that is no coverage factor of a certificate; {BEHIND}"),
        ("temperature", "42 ± 2 °C at 100 %", f"temperature: at 100 % cannot be meant, since that is no level of a certificate; {BEHIND}"),
        ("temperature", "42 ± 2 °C (49 %)", f"temperature: (49 %) cannot be meant, since that is no level of a certificate; {BEHIND}"),
        ("temperature", "42 ± 2 °C (0 %)", f"temperature: (0 %) cannot be meant, since that is no level of a certificate; {BEHIND}"),
        ("temperature", "42 ± 2 °C (95 %, k=2)", f"temperature: (95 %, k=2) cannot be meant, since one of them says it all; {BEHIND}"),
        ("temperature", "42 ± 2 °C (95 %) (k=2)", f"temperature: (95 %) (k=2) cannot be meant, since one of them says it all; {BEHIND}"),
        ("temperature", "42 ± 2 °C at 95 %, triangular", f"temperature: at 95 %, triangular cannot be meant, since one of them says it all; {BEHIND}"),
        ("temperature", "42 ± 2 °C, probably", f"temperature: “probably” is not known here; {BEHIND}"),
        ("temperature", "42 °C ± 2 probably", f"temperature: “probably” is not known here; {BEHIND}"),
        ("temperature", "42 ± 2 °C (95 % sure)", f"temperature: “(95 % sure)” is not known here; {BEHIND}"),
        ("temperature", "42 ± 2 °C at 95", f"temperature: “at 95” is not known here; {BEHIND}"),
        ("temperature", "42 ± 2 °C k=-2", f"temperature: “k=-2” is not known here; {BEHIND}"),
        ("temperature", "42 ± 2 °C normal", f"temperature: “normal” is not known here; {BEHIND}"),
        ("plate_count", "3 ± 1 (95 %)", "plate count: it is decided, not measured; leave the ± out."),
        ("temperature", "± 2 °C (95 %)", "temperature: ± 2 °C is a difference; type a temperature from 5 °C to 60 °C, such as 42 °C."),
        ("depth", "0.2 mm ± 0.3 mm (k=2)", "depth: ± 0.3 mm cannot be meant, since that is as much as the value itself; type how far off it may be either way, such as 0.2 mm ± 5 %."),
    ],
)  # fmt: skip
def test_one_sentence_for_what_cannot_be_meant_of_a_tolerance(name, typed, sentence):
    with pytest.raises(BadInput) as fault:
        read(name, typed)
    assert str(fault.value) == sentence


def test_a_unit_that_is_wrong_is_told_as_a_unit():
    with pytest.raises(BadInput, match="two sizes"):
        read("bath_volume", "10 L ± 0.1 gallon")
    with pytest.raises(BadInput, match=r"0\.1 g is not a length"):
        read("depth", "0.2 mm ± 0.1 g")


@given(
    st.lists(
        st.sampled_from(["(", ")", " ", ",", "at ", "95 %", "k=", "2", "9", "triangular", "mostly in the middle", "±", "°C", "so"]),
        max_size=6,
    ).map("".join)
)  # fmt: skip
def test_whatever_is_typed_behind_a_tolerance_is_read_or_refused(typed):
    try:
        _, tolerance = read("temperature", f"42 ± 2 °C {typed}")
    except BadInput as fault:
        assert str(fault).startswith("temperature: ")
    else:
        assert tolerance.uncertainty >= 0


@said_as
def test_its_standard_uncertainty_is_scipys(words):
    _, tolerance = read("depth", f"0.2 mm ± 0.03 mm{words}")
    assert tolerance.uncertainty == pytest.approx(0.03 * MEANT[words].std())
    estimate = tolerance.about(0.2)
    assert (estimate.middle, estimate.uncertainty) == (0.2, tolerance.uncertainty)


@given(st.floats(0.001, 0.1))
def test_which_is_the_narrower(half):
    # a/√6 < a/2 < a/1.96 < a/√3 < a/1.645
    order = (", triangular", " (k=2)", " (95 %)", "", " (90 %)")
    widths = [read("depth", f"0.2 mm ± {half} mm{words}")[1].uncertainty for words in order]
    assert widths == sorted(widths) and len(set(widths)) == len(order)


@said_as
@given(degrees=st.floats(0.01, 10), thou=st.floats(0.01, 10))
def test_it_does_not_hang_on_the_unit(words, degrees, thou):
    pairs = (
        ("temperature", f"42 ± {degrees} °C", f"107.6 °F ± {1.8 * degrees} °F"),
        ("depth", f"12 thou ± {thou} thou", f"{12 * 0.0254} mm ± {thou * 0.0254} mm"),
        ("depth", f"12 thou ± {thou} thou", f"12 thou ± {thou * 25.4} µm"),
    )
    for name, one, other in pairs:
        (value, first), (again, second) = (read(name, f"{typed}{words}") for typed in (one, other))
        own = term(name).unit
        assert value.to(own).magnitude == pytest.approx(again.to(own).magnitude)
        assert first.uncertainty == pytest.approx(second.uncertainty)
        assert first.shape == second.shape


@pytest.mark.parametrize("system", SYSTEMS)
@given(
    words=st.sampled_from([*MEANT, " at 99 %", " (k=1.65)", ", triangular"]),
    share=st.floats(1e-3, 0.2),
    name=st.sampled_from(
        ["temperature", "depth", "strength", "open_fraction", "etch_factor", "drag_out",
         "spacer_height", "hydrometer_reading", "heater_rating", "mixing_time"]
    ),
)  # fmt: skip
def test_it_is_shown_as_it_was_said_and_reads_again(system, words, share, name):
    entry = term(name)
    value = show(entry.quantity(entry._example()), entry.kind, system, fixed=False)
    _, meant = read("depth", f"1 mm ± 0.1 mm{words}")
    tolerance = Tolerance(name, share * entry._example(), meant.shape, meant.words)
    said = tolerance.said(system)
    assert said.startswith("± ") and said.endswith(words)
    _, again = read(name, f"{value} {said}")
    assert again.half_width == pytest.approx(tolerance.half_width, rel=2e-5)
    assert again.shape == tolerance.shape
    assert again.said(system) == said


def test_what_was_typed_as_a_share_is_shown_as_a_width():
    assert read("strength", "500 g/L ± 3 % (95 %)")[1].said() == "± 15 g/L (95 %)"
    assert read("temperature", "42 ± 2 °C (k = 2)")[1].said("US") == "± 3.6 °F (k = 2)"
    assert read("temperature", "42 ± 2 °C at  95 %")[1].said() == "± 2 °C at 95 %"


@said_as
def test_the_ways_are_scipys_inverse_distribution(words):
    _, tolerance = read("depth", f"0.2 mm ± 0.03 mm{words}")
    middle = Quantity(0.2, unit("mm"))
    ways = ranges.within(term("depth"), middle, 0.03, shape=tolerance.shape).magnitude
    shares = (np.arange(256) + 0.5) / 256
    assert ways[0] == 0.2
    assert np.sort(ways[1:]) == pytest.approx(0.2 + 0.03 * MEANT[words].ppf(shares), rel=1e-9)
    assert ways[1:].std() == pytest.approx(tolerance.uncertainty, rel=6e-3)
    # the same numbers in the same order, whatever the shape; no more of them
    plain = ranges.within(term("depth"), middle, 0.03).magnitude
    assert np.array_equal(ways.argsort(), plain.argsort()) and len(ways) == 257


def test_a_normal_that_must_stay_positive_is_truncated():
    # 2 L ± 1.9 L (k=1) of a bath: scipy's truncated normal between nothing and 10 000 L
    middle, tolerance = read("bath_volume", "2 L ± 1.9 L (k=1)")
    ways = ranges.within(term("bath_volume"), middle, 1.9, shape=tolerance.shape).magnitude
    between = stats.truncnorm((0 - 2) / 1.9, (10_000 - 2) / 1.9, 2, 1.9)
    assert np.sort(ways[1:]) == pytest.approx(between.ppf((np.arange(256) + 0.5) / 256))
    assert ways[0] == 2 and ways.min() > 0
    for half in (0.0, 1e-12):
        still = ranges.within(term("bath_volume"), middle, half, shape=tolerance.shape)
        assert still.magnitude == pytest.approx(2)


def test_a_normal_of_many_middles_is_that_of_each():
    entry, shape = term("temperature"), read("temperature", "42 ± 4 °C (k=1)")[1].shape
    middles = np.array([[6.0], [42.0], [59.0]])
    together = ranges.within(entry, Quantity(middles, entry.unit), 4.0, shape=shape).magnitude
    for middle, row in zip(middles[:, 0], together, strict=True):
        one = ranges.within(entry, Quantity(middle, entry.unit), 4.0, shape=shape).magnitude
        assert np.array_equal(row, one)
        assert row.min() >= entry.low and row.max() <= entry.high


def added(a, b, c, d):
    return a + b + c + d


@pytest.mark.parametrize(
    ("typed", "reach"),
    [
        # JCGM 101, 9.2.2 and 9.2.3: four inputs of a standard uncertainty of 1; 2.00 and ± 3.92 for
        # four normal, ± 3.88 for four rectangular
        ("500 g/L ± 1.96 g/L (95 %)", 3.92),
        ("500 g/L ± 2 g/L (k=2)", 3.92),
        ("500 g/L ± 1.7320508 g/L", 3.88),
        # four triangular: by hand the same 2.00; between the two, being nearer to the normal
        ("500 g/L ± 2.4494897 g/L, triangular", 3.91),
    ],
)
def test_four_inputs_added_as_they_are_typed(typed, reach):
    middle, tolerance = read("strength", typed)
    inputs = dict.fromkeys("abcd", tolerance.about(float(middle.magnitude)))
    drawn = propagate(added, inputs, 1_000_000)
    assert drawn.uncertainty == pytest.approx(2.00, abs=0.005)
    assert drawn.ends() - 2000 == pytest.approx([-reach, reach], abs=0.015)
    found = first_order(added, inputs)
    assert found.uncertainty == pytest.approx(2.00, abs=1e-4)
    assert found.ends()[1] - 2000 == pytest.approx(3.92, abs=0.001)


def test_one_of_them_ten_times_as_wide():
    # JCGM 101, 9.2.4: 10.1 and ± 17.0; by the law of propagation ± 19.9
    one, wide = (read("strength", f"500 g/L ± {half} g/L")[1] for half in (1.7320508, 17.320508))
    inputs = dict(zip("abcd", [one.about(500)] * 3 + [wide.about(500)], strict=True))
    drawn = propagate(added, inputs, 1_000_000)
    assert drawn.ends()[1] - 2000 == pytest.approx(17.0, abs=0.05)
    assert first_order(added, inputs).ends()[1] - 2000 == pytest.approx(19.9, abs=0.05)


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

    def worked(before=None, shape=RECTANGULAR, **half_widths):
        said.clear()
        said.update({n: Tolerance(n, half, shape) for n, half in half_widths.items()})
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


@said_as
def test_ranges_with_tolerances_hold_the_truth_as_often_as_they_say(plan_with, words):
    # 20 000 true jobs drawn at random, not by the plan's fixed ways: nine in ten within, and 95 %
    shape = read("depth", f"0.2 mm ± 0.02 mm{words}")[1].shape
    plan = plan_with(
        shape=shape, depth=0.02, plate_thickness=0.2, temperature=3.0, liquid_depth=3.0
    )
    random = np.random.default_rng(20260503)
    drawn = {}
    for name in ranges.UNCERTAIN:
        if name not in plan.book.values or name in plan.book.uses or name in plan.book.tolerances:
            continue
        entry, middle = term(name), plan.number(name)
        scores = random.standard_normal(20_000)
        true = (
            middle + entry.spread * scores
            if entry.additive
            else middle * np.exp(entry.spread * scores)
        )
        drawn[name] = Quantity(np.clip(true, entry.low, entry.high), entry.unit)
    for name, tolerance in plan.book.tolerances.items():
        off = MEANT[words].rvs(20_000, random_state=random)
        true = plan.number(name) + tolerance.half_width * off
        drawn[name] = Quantity(true, term(name).unit)
    names = ("etch_time", "undercut", "etchant_crystals", "heater_power", "stop_out_paint")
    plan.book.finish()
    true = plan.book.middled().reworked(drawn, names)
    for name in names:
        low, high = ranges.ends(ways(plan, name))
        jobs = true[name].to(term(name).unit).magnitude
        assert 0.88 <= np.mean((jobs >= low) & (jobs <= high)) <= 0.92, name
        low, high = (share_of(ways(plan, name), share) for share in (0.025, 0.975))
        assert 0.93 <= np.mean((jobs >= low) & (jobs <= high)) <= 0.97, name


def test_what_is_decided_is_an_input():
    assert set(tolerances.DECIDED) <= set(QUANTITIES)


# ---- through the whole of a job


def with_depth(order, typed):
    return parsed(order.replace('depth = "0.15 mm"', f'depth = "{typed}"'))


def test_another_shape_is_another_tolerance(commission):
    before = planned(commission.changed(depth="0.15 mm ± 0.02 mm"))
    for typed in ("0.15 mm ± 0.02 mm (95 %)", "0.15 mm ± 0.02 mm, triangular", "0.15 mm ± 0.02 mm"):
        order = commission.changed(depth=typed)
        again, anew = planned(order, before=before), planned(order)
        assert np.array_equal(ways(again, "undercut"), ways(anew, "undercut"))
        assert again.book.tolerances["depth"] == anew.book.tolerances["depth"]


@said_as
def test_a_files_tolerance_reaches_every_result(order, words):
    plan = planned(with_depth(order, f"0.15 mm ± 0.02 mm{words}"))
    shares = (np.arange(256) + 0.5) / 256
    expected = 0.15 + 0.02 * MEANT[words].ppf(shares)
    assert np.sort(ways(plan, "depth")[1:]) == pytest.approx(expected)
    assert ways(plan, "undercut") == pytest.approx(ways(plan, "depth") / ways(plan, "etch_factor"))


def test_a_narrower_shape_narrows_the_range(order):
    width = {}
    for words in (", triangular", " (95 %)", "", " (90 %)"):
        plan = planned(with_depth(order, f"0.15 mm ± 0.08 mm{words}"))
        width[words] = np.log(ways(plan, "undercut")[1:]).std()
        width[words, "taken"] = np.std(ways(plan, "metal_removed")[1:])
    for more in ((), ("taken",)):
        found = [
            width[(w, *more) if more else w] for w in (", triangular", " (95 %)", "", " (90 %)")
        ]
        assert found == sorted(found)


def test_the_file_and_the_record_open_again_as_they_were_said(order):
    for words in ("", " (95 %)", " at 99 %", " (k=2)", ", mostly in the middle", ", triangular"):
        first = with_depth(order, f"0.15 mm ± 0.02 mm{words}")
        assert parsed(written(first, order)) == first
        assert f'depth = "0.15 mm ± 0.02 mm{words}"' in written(first, order)
        told = records.record(planned(first))
        assert told["typed"]["depth"] == f"0.15 mm ± 0.02 mm{words}"
        again = past.commission_of(past.present(told))
        assert again.tolerances == first.tolerances
        assert again.typed["depth"] == first.typed["depth"]


def test_a_record_with_a_shape_is_worked_again_without_a_difference(order):
    plan = planned(with_depth(order, "0.15 mm ± 0.02 mm (95 %)"))
    assert past.worked_again(past.present(records.record(plan))) == []


def test_what_may_be_missed_is_the_half_width_whatever_the_shape(commission):
    pairs = [
        chances.depth_misses(planned(commission.changed(depth=f"0.15 mm ± 0.02 mm{words}")), half_width=half)
        for words in ("", " (k=2)")
        for half in (None, 0.02)
    ]  # fmt: skip
    assert pairs[0] == pairs[1] and pairs[2] == pairs[3]


def test_the_chance_that_a_line_closes_hangs_on_the_shape(commission):
    # w − 2 d/(F e^(0.195 z)) < 0.1 e^(0.1 y), the line w of 0.30 mm ± 0.06 mm as it is meant, by
    # a million draws of scipy; F of a line of 0.3 mm is 1.30, straight between 1.25 and 1.4
    random = np.random.default_rng(20260504)
    z, y = random.standard_normal((2, 1_000_000))
    for words, off in MEANT.items():
        line = 0.30 + 0.06 * off.rvs(1_000_000, random_state=random)
        factor = np.interp(line, (0.2, 0.5), (1.25, 1.4)) * np.exp(0.195 * z)
        expected = np.mean(line - 2 * 0.15 / factor < 0.1 * np.exp(0.1 * y))
        plan = planned(commission.changed(finest_line=f"0.30 mm ± 0.06 mm{words}"))
        assert chances.line_closes(plan).share == pytest.approx(expected, abs=0.03), words


def test_what_to_measure_better_hangs_on_the_shape(commission):
    # u of ln(undercut): of the factor 0.195, of the depth a/d; the depth's share of the variance
    # s gives 1 − √(1 − ¾ s)
    for words, off in MEANT.items():
        plan = planned(commission.changed(depth=f"0.15 mm ± 0.04 mm{words}"))
        log = np.log(0.15 + 0.04 * off.ppf((np.arange(4096) + 0.5) / 4096))
        share = log.var() / (log.var() + 0.195**2)
        told = {found.name: found.narrowing for found in better.ranked(plan, "undercut")}
        assert told["depth"] == pytest.approx(1 - (1 - 0.75 * share) ** 0.5, abs=0.025), words


def test_a_map_takes_the_shape_too(commission):
    plan = planned(commission.changed(temperature="42 ± 4 °C (k=1)"))
    found = maps.mapped(plan, "temperature", "depth", "gauge_time", columns=3, rows=3)
    for column, degrees in enumerate(found.xs):
        for row, depth in enumerate(found.ys):
            order = plan.commission.changed(
                temperature=f"{degrees} ± 4 °C (k=1)", depth=f"{depth} mm"
            )
            expected = planned(order).number("gauge_time")
            assert found.values[row, column] == pytest.approx(expected, rel=1e-6)


def test_the_price_takes_the_shape_too(commission):
    # a job whose paint costs far more than all else: of a coat of 30 µm ± 24 µm nine in ten lie
    # within 0.9 a of a rectangle, 1.645/1.96 a of a normal, (1 − √0.1) a of a triangle
    asked = {"currency": "GBP", "work": "0.01 / h", "sheet_metal": "0.01 / kg", "markup": "25 %",
             "stop_out_paint": "400 / L"}  # fmt: skip
    widths = []
    for words in ("", " (95 %)", ", triangular"):
        order = commission.changed(coat_thickness=f"30 µm ± 24 µm{words}", **asked)
        cost = pricing.cost_of(planned(order))
        widths.append(float(cost.high - cost.low))
    assert widths[0] > widths[1] > widths[2]
    assert widths[2] / widths[0] == pytest.approx((1 - 0.1**0.5) / 0.9, abs=0.06)


def test_what_stands_behind_a_value_goes_on_with_it(commission):
    order = commission.changed(temperature="42 ± 2 °C (95 %)", depth="6 thou ± 5 %")
    assert order.off("temperature") == " ± 2 °C (95 %)"
    assert order.off("temperature", "US") == " ± 3.6 °F (95 %)"
    assert order.off("strength") == ""
    # moved, the half width stays as it is, however often; typed anew without a ± it is gone
    for name, places in (("temperature", (43, 38, 50)), ("depth", (0.2, 0.1, 0.15))):
        told = order.tolerances[name]
        for place in places:
            own = "°C" if name == "temperature" else "mm"
            order = order.with_one(name, f"{place} {own}{order.off(name, 'metric')}")
            assert order.tolerances[name].half_width == pytest.approx(told.half_width, rel=1e-6)
            assert order.tolerances[name].shape == told.shape
            assert order.values[name].to(term(name).unit).magnitude == pytest.approx(place)
        assert name not in order.with_one(name, f"{place} {own}").tolerances
        assert order.with_one(name, f"{place} {own}").off(name) == ""
