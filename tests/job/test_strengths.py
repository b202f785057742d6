"""An etchant's strength in any measure: read as makers say it, said in all, refused in a sentence."""

import csv
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from thermo.electrochem import Laliberte_density

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, read, unit
from etchcalc.core.vocabulary import term
from etchcalc.job.strengths import read_hydrometer, read_strength, said_every_way

TRIED = settings(deadline=None, derandomize=True, max_examples=40)
TWENTY = read("20 °C")
# library chemicals
ANHYDROUS, CRYSTALS = 162.204, 270.295
PUBLISHED = Path(__file__).parents[1] / "published"


def rows(name):
    text = (PUBLISHED / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in text if not line.startswith("#")))


def grams(text, temperature=TWENTY, **more):
    return float(read_strength(text, temperature, **more).to(unit("g/L")).magnitude)


def figures(text, temperature=TWENTY):
    """The eight figures as bare numbers, for a strength as typed."""
    said = said_every_way(read_strength(text, temperature), temperature)
    return [float(re.search(r"[\d.]+", figure)[0]) for _, figure in said]


def refusal(function, *arguments):
    with pytest.raises(BadInput) as fault:
        function(*arguments)
    sentence = str(fault.value)
    assert sentence.endswith(".") and "\n" not in sentence and "type " in sentence
    assert not re.search(r"Quantity|Error|None|dimensionless|_|nan", sentence)
    return sentence.replace(" ", " ")


@pytest.mark.parametrize("row", rows("baume.csv"), ids=lambda row: row["baume"])
def test_a_baume_in_every_measure(row):
    _, salt, crystals, molar, molal, gravity, degrees, _ = figures(f"{row['baume']} °Bé")
    # scale by its definition, per cent by Laliberté & Cooper 2004 at 60 °F
    assert gravity == pytest.approx(float(row["specific_gravity"]), abs=1e-4)
    assert degrees == pytest.approx(float(row["baume"]), abs=0.051)
    assert salt == pytest.approx(float(row["percent_model"]), abs=0.1)
    assert crystals == pytest.approx(float(row["hexahydrate_percent"]), abs=0.5)
    # 1 %, since the handbook column was recalled
    assert molar == pytest.approx(float(row["mol_per_litre"]), rel=0.01)
    assert molal == pytest.approx(float(row["mol_per_kg"]), rel=0.01)
    assert grams(f"{row['g_per_litre']} g/L FeCl3") == pytest.approx(
        grams(f"{row['baume']} Baumé"), rel=0.01
    )


def test_half_a_kilogram_made_up_to_a_litre_in_every_measure():
    # Laliberté & Cooper 2004, molar masses of the library chemicals (mixes.csv, last row)
    strength, salt, crystals, molar, _, _, degrees, density = figures("500 g/L")
    assert strength == 500
    assert salt == pytest.approx(24.41, abs=0.006)
    assert crystals == pytest.approx(100 * 500 / 1229.3, abs=0.02)
    assert molar == pytest.approx(1.850, abs=6e-4)
    assert degrees == pytest.approx(27.3, abs=0.051)
    assert density == pytest.approx(1229.3, abs=1)


def test_the_strength_in_moles_of_a_published_bath():
    # 2.25 mol/L of Sharpe & Garn 1959: 28.6 %, 1276 kg/m³, 31.6 °Bé, by Laliberté & Cooper 2004
    for typed in ("2.25 mol/L", "2.25 M", "2,25 M FeCl3", "2 1/4 mol per litre"):
        assert grams(typed) == pytest.approx(2.25 * CRYSTALS, rel=1e-9)
    _, salt, _, _, molal, _, degrees, density = figures("2.25 M")
    assert salt == pytest.approx(28.6, abs=0.05)
    assert molal == pytest.approx(2.47, abs=0.01)
    assert degrees == pytest.approx(31.6, abs=0.15)  # the published one is from SG 20/20 °C
    assert density == pytest.approx(1276, abs=1)


ALIKE = [
    ("17.6 oz/L", "498.952 g/L"),  # avoirdupois ounce of 28.349523125 g
    ("5 lb/imperial gallon", "498.88 g/L"),  # 5 × 453.59237 / 4.54609
    ("24.4 % anhydrous", "24.4 % FeCl3"),
    ("24,4 % w/w FeCl₃", "24.4 % FeCl3"),
    ("24.4 % anhydrous ferric chloride by mass", "24.4 % FeCl3"),
    ("40 % hexahydrate", "40 % crystals"),
    ("40 per cent crystals", "40 % crystals"),
    ("40 % FeCl3·6H2O", "40 % crystals"),
    ("500 g/L crystals", "500 g/L"),
    ("1.23 SG", "SG 1.23"),
    ("s.g. 1,23", "SG 1.23"),
    ("specific gravity 1.23", "SG 1.23"),
    ("27.3 Be", "27.3 °Bé"),
    ("27.3 Baume", "27.3 °Bé"),
    ("27.3 degrees Baumé", "27.3 °Bé"),
    ("27.3 º Be\u0301", "27.3 °Bé"),
    ("27½ °Bé", "27.5 °Bé"),
    ("27 1/2 °Bé", "27.5 °Bé"),
    ("27.3 °Bé at 60 °F", "27.3 °Bé"),
    ("27.3 °Bé at 104 °F", "27.3 °Bé @ 40 °C"),
    ("density 1.2293 kg/L", "density 1229.3 kg/m3"),
    ("density 1229.3 kg/m3 at 20 °C", "density 1229.3 kg/m3"),
]


@pytest.mark.parametrize(("typed", "alike"), ALIKE)
def test_as_people_say_it(typed, alike):
    assert grams(typed) == pytest.approx(grams(alike), rel=2e-5)


def test_a_percentage_of_crystals_is_the_lesser_strength():
    # by mass, 0.6001 of the crystals is anhydrous: molar masses of the library chemicals
    assert grams("40 % crystals") == pytest.approx(
        grams(f"{40 * ANHYDROUS / CRYSTALS} % FeCl3"), rel=1e-9
    )


@pytest.mark.parametrize("celsius", [20, 30, 40])
def test_a_hydrometer_read_warm(celsius):
    # densities of 36 % at that temperature and at 60 °F: library thermo; glass expands 25 in a
    # million a kelvin, which lightens the reading by less than 0.05 °Bé
    warm, cold = (Laliberte_density(273.15 + t, [0.36], ["7705-08-0"]) for t in (celsius, 15.5556))
    degrees = 145 - 145 * 999.02 / warm
    expected = grams(f"{145 - 145 * 999.02 / cold} °Bé")
    assert grams(f"{degrees} °Bé at {celsius} °C") == pytest.approx(expected, rel=0.004)
    assert grams(f"density {warm} kg/m3 at {celsius} °C") == pytest.approx(expected, rel=1e-3)
    if celsius > 20:  # and not corrected it would be another strength altogether
        assert grams(f"{degrees} °Bé") < expected * (1 - 0.001 * (celsius - 20))


def test_the_error_of_the_hydrometer_is_taken_off():
    error = Quantity(1.5, unit("dimensionless"))
    for warm in ("", " at 40 °C"):
        shown, true = grams(f"28.8 °Bé{warm}", hydrometer_error=error), grams(f"27.3 °Bé{warm}")
        assert shown == pytest.approx(true, rel=1e-9)


REFUSED = [
    ("40 %", "40 % by mass of what? type 40 % FeCl3 for anhydrous ferric chloride, or 40 % crystals."),
    ("40", "40 of what? say g/L"),
    ("", "nothing was typed; type a strength"),
    ("strong", "“strong” does not begin with a number; type a strength"),
    ("20 g/L", "20 g/L cannot be meant; type a strength from 50 g/L to 1150 g/L"),
    ("70 % FeCl3", "70 % FeCl3 cannot be meant; type a strength from 50 g/L to 1150 g/L"),
    # there the density of the model, far beyond its data, would make it a bath again
    ("350 % FeCl3", "350 % FeCl3 cannot be meant"),
    ("0 mol/kg", "0 mol/kg cannot be meant"),
    ("27 °C", "is not a strength"),
    ("± 500 g/L", "is a difference"),
    ("± 27 °Bé", "“± 27 °Bé” is not a hydrometer's reading; type degrees Baumé from 0 to 70"),
    ("27 g °Bé", "is not a hydrometer's reading"),
    ("1.4 °Bé", "1.4 °Bé looks like a specific gravity; type SG 1.4, which is 41.4 °Bé."),
    ("SG 41", "SG 41 looks like degrees Baumé; type 41 °Bé, which is SG 1.394."),
    ("SG 0", "SG 0 cannot be meant; type degrees Baumé from 0 to 70, such as 27.3 °Bé or SG 1.23."),
    ("SG 3", "SG 3 cannot be meant; type degrees Baumé"),
    ("145 °Bé", "145 °Bé cannot be meant; type degrees Baumé"),
    ("SG 1.85", "SG 1.85 is denser than any fresh ferric chloride; type a strength"),
    ("SG 1.01 at 5 °C", "SG 1.01 at 5 °C cannot be meant; type a strength"),
    ("density 950 kg/m3", "density 950 kg/m3 is lighter than water; type a strength"),
    ("1.26 g/mL", "1.26 g/mL looks like the density of the etchant; type density 1.26 g/mL."),
    ("SG 1.23 at 40", "reading temperature: 40 of what? say °C or °F"),
    ("SG 1.23 at 95 °C", "reading temperature: 95 °C cannot be meant"),
    ("500 g/L at 20 °C", "only a hydrometer's reading or a density has a temperature; type 500 g/L."),
    ("1,100 g/L", "can be read in two ways: type 1100 or 1.100"),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "sentence"), REFUSED)
def test_one_sentence_for_what_is_no_strength(typed, sentence):
    assert sentence in refusal(read_strength, typed, TWENTY)


def test_what_the_muddle_says_can_be_typed():
    # 145 − 145/1.4 = 41.43 by the scale's definition
    assert grams("SG 1.4") == pytest.approx(grams("41.4 °Bé"), rel=2e-3)
    assert grams("41 °Bé") == pytest.approx(grams("SG 1.394"), rel=2e-3)


def test_a_hydrometers_reading():
    for typed in ("27", "27 °Bé", "27 Be", f"SG {145 / 118}"):
        found = read_hydrometer(typed)
        assert found.units == unit("dimensionless")
        assert float(found.magnitude) == pytest.approx(27, rel=1e-9)
    for typed in ("1.4", "1,4", "1.4 °Bé"):
        assert "looks like a specific gravity; type SG 1.4, which is 41.4 °Bé." in refusal(
            read_hydrometer, typed
        )
    assert "1.0 looks like a specific gravity" in refusal(read_hydrometer, "1.0")
    assert "type 41 °Bé" in refusal(read_hydrometer, "SG 41")
    for typed in ("90", "3 °Bé", "27 °C", "27 %", "", "heavy", "1,230"):
        assert refusal(read_hydrometer, typed).startswith("hydrometer reading: ")


@TRIED
@given(st.floats(55, 1080), st.floats(5, 40), st.sampled_from(["metric", "imperial", "US"]))
def test_every_figure_said_is_read_back(strength, celsius, system):
    temperature = Quantity(celsius, unit("degC"))
    said = said_every_way(Quantity(strength, unit("g/L")), temperature, system)
    assert len(said) == 8
    for what, figure in said:
        assert what
        typed = f"density {figure}" if what.startswith("density") else figure
        # the last digit shown, by half: of 1.2323 or of 1229 it is 1.3 g/L at most, and 2 % at 3.5 °Bé
        number = re.search(r"[\d.]+", figure)[0]
        half = 0.5 / 10 ** len(number.partition(".")[2])
        slack = 2.6 * half / (float(number) - lightest(figure)) + 1e-9
        assert grams(typed, temperature, system=system) == pytest.approx(strength, rel=slack)


def lightest(figure):
    """What water would show in that measure."""
    return 1 if figure.startswith("SG") else 992 if "m³" in figure else 0


@TRIED
@given(st.floats(60, 1000), st.floats(5, 40))
def test_a_stronger_etchant_has_more_of_every_measure(strength, celsius):
    temperature = Quantity(celsius, unit("degC"))
    weak, strong = (figures(f"{s} g/L", temperature) for s in (strength, strength * 1.05))
    assert all(a < b for a, b in zip(weak, strong, strict=True))


pieces = st.sampled_from(
    ["SG", "°Bé", "Be", "%", "FeCl3", "crystals", "anhydrous", "M", "mol/L", "mol/kg", "g/L", "at",
     "°C", "density", "kg/m3", "1.23", "27", "40", "500", "1e9", "½", "-", "±", "nan", "inf", "@", " "]
)  # fmt: skip


@settings(TRIED, max_examples=300)
@given(st.one_of(st.text(max_size=20), st.lists(pieces, max_size=6).map(" ".join)))
def test_any_text_is_a_strength_or_a_sentence(text):
    entry = term("strength")
    for function in (lambda: read_strength(text, TWENTY), lambda: read_hydrometer(text)):
        try:
            found = function()
        except BadInput as fault:
            assert str(fault).endswith(".")
            continue
        value = float(found.magnitude)
        assert np.isfinite(value)
        if found.units != unit("dimensionless"):
            assert entry.low <= float(found.to(unit("g/L")).magnitude) <= entry.high + 1e-6
        else:
            assert 5 <= value <= 70
