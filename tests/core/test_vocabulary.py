"""Every word of the trade: checked, declared once, with a sentence for what cannot be meant."""

import numpy as np
import pytest

from etchcalc.core.faults import BadInput
from etchcalc.core.tables import STATUSES, source
from etchcalc.core.units import KINDS, Quantity, read, unit
from etchcalc.core.vocabulary import VOCABULARY, Term, term

UNITS = {
    "mm",
    "um",
    "cm",
    "thou",
    "inch",
    "oz",
    "ml",
    "celsius",
    "minutes",
    "hours",
    "grams",
    "percent",
}
TYPED = [t for t in VOCABULARY.values() if t.start is not None]


@pytest.mark.parametrize("entry", VOCABULARY.values(), ids=VOCABULARY)
def test_every_word(entry):
    assert entry.kind in KINDS
    assert entry.status in STATUSES
    assert source(entry.source).citation
    assert entry.meaning and not entry.meaning.endswith(".")
    assert not UNITS & set(entry.name.split("_")), "no unit in a name"
    assert entry.low < entry.high
    for ends in (entry.reach, entry.usual):
        assert ends is None or entry.low <= ends[0] < ends[1] <= entry.high
    if entry.usual and entry.reach:
        assert entry.reach[0] <= entry.usual[0] and entry.usual[1] <= entry.reach[1]
    if entry.start is not None:
        assert entry.low <= entry.start <= entry.high
        entry.check(entry.quantity(float(entry.start)))


def test_an_unknown_word():
    with pytest.raises(KeyError, match="no word 'depth_mm'"):
        term("depth_mm")


@pytest.mark.parametrize(
    ("name", "typed", "sentence"),
    [
        (
            "finest_line",
            "0.4",
            "finest line: 0.4 of what? say mm or thou; type a length from 0.05 mm to 25 mm, such as 0.4 mm.",
        ),
        (
            "finest_line",
            "-3 mm",
            "finest line: -3 mm cannot be meant; type a length from 0.05 mm to 25 mm, such as 0.4 mm.",
        ),
        (
            "finest_line",
            "3 mm2",
            "finest line: “3 mm2” is not a length; type a length from 0.05 mm to 25 mm, such as 0.4 mm.",
        ),
        (
            "finest_line",
            "nan mm",
            "finest line: nan mm cannot be meant; type a length from 0.05 mm to 25 mm, such as 0.4 mm.",
        ),
        (
            "finest_line",
            "",
            "finest line: nothing was typed; type a length from 0.05 mm to 25 mm, such as 0.4 mm.",
        ),
        (
            "temperature",
            "75 °C",
            "temperature: 75 °C is refused, since above 60 °C the bath fumes acid and the resist lets go; "
            "type a temperature from 5 °C to 60 °C, such as 42 °C.",
        ),
        (
            "temperature",
            "± 2 °C",
            "temperature: ± 2 °C is a difference; type a temperature from 5 °C to 60 °C, such as 42 °C.",
        ),
        (
            "plate_count",
            "1,000",
            "plate count: “1,000” can be read in two ways: type 1000 or 1.000; "
            "type a number from 1 to 500, such as 1.",
        ),
        (
            "etchant_volume",
            "3 pints",
            "etchant volume: a pint is of two sizes: type “imperial pint” or “US pint”; "
            "type a volume from 0 L to 1000 L, such as 3 L.",
        ),
        (
            "strength",
            "500",
            "strength: 500 of what? say g/L or oz/imp gal or oz/US gal; "
            "type a strength from 50 g/L to 1150 g/L, such as 500 g/L.",
        ),
    ],
)
def test_one_sentence_for_what_cannot_be_meant(name, typed, sentence):
    with pytest.raises(BadInput) as fault:
        term(name).read(typed)
    assert str(fault.value).replace(" ", " ") == sentence


@pytest.mark.parametrize(
    "typed", ["nan", "inf", "-inf", "1e400 mm", "-0.4 mm", "0 mm", "26 mm", "5 kg"]
)
def test_what_no_line_can_be(typed):
    with pytest.raises(BadInput):
        term("finest_line").read(typed)


@pytest.mark.parametrize("entry", TYPED, ids=[t.name for t in TYPED])
def test_the_ends_that_the_sentence_names_can_be_typed(entry):
    for system in ("metric", "imperial", "US"):
        sentence = entry.accepted(system)
        assert sentence.startswith("type a")
        example = sentence.rpartition("such as ")[2]
        entry.read(example, system)
    assert entry.check(entry.quantity(entry.low)) is not None
    if np.isfinite(entry.high):
        entry.check(entry.quantity(entry.high))
        with pytest.raises(BadInput):
            entry.check(entry.quantity(entry.high + 1.0))


@pytest.mark.parametrize("system", ["metric", "imperial", "US"])
def test_the_least_and_the_most_that_the_sentence_names_are_accepted(system):
    refused = []
    for entry in TYPED:
        sentence = entry.accepted(system)
        least = sentence.partition(" from ")[2].partition(" to ")[0]
        most = sentence.partition(" to ")[2].partition(", such as")[0]
        for end in filter(None, (least, most)):
            try:
                entry.read(end, system)
            except BadInput as fault:
                refused.append(str(fault))
    assert refused == []


def test_units_of_choice_in_the_sentence():
    with pytest.raises(BadInput, match=r"from 1\.97 thou to 984 thou, such as 15\.7 thou\.$"):
        term("finest_line").read("0.4", "imperial")


def test_a_length_with_plus_or_minus_is_a_difference_too():
    # "± 0.2 mm" is no depth
    with pytest.raises(BadInput):
        term("depth").read("± 0.2 mm")


def test_arrays_are_checked_whole():
    entry = term("depth")
    entry.check(Quantity(np.array([0.1, 0.2]), unit("mm")))
    for bad in (np.nan, -0.1, 99.0):
        with pytest.raises(BadInput):
            entry.check(Quantity(np.array([0.1, bad]), unit("mm")))


def test_what_is_read_keeps_its_unit():
    assert term("depth").read("8 thou") == read("8 thou")
    assert str(term("depth").read("8 thou").units) == "thou"


def test_a_word_declared_with_an_unknown_source_fails():
    from etchcalc.core import vocabulary

    with pytest.raises(KeyError, match="no source"):
        vocabulary._terms(Term("x", "fine", "a thing", source="somebody"))
    with pytest.raises(KeyError, match="no status"):
        vocabulary._terms(Term("x", "fine", "a thing", status="certain"))
    with pytest.raises(KeyError, match="twice"):
        vocabulary._terms(Term("x", "fine", "a thing"), Term("x", "fine", "another"))
