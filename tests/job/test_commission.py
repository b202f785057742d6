"""The order: read as people write, refused in plain sentences, written back with its remarks."""

import re
import tomllib
from pathlib import Path

import pytest

from etchcalc.core.faults import BadInput
from etchcalc.core.units import read
from etchcalc.job.commission import understood
from etchcalc.job.commission_file import blank, opened, parsed, written
from etchcalc.job.schema import MUST

GOOD = {
    "metal": "CuZn37",
    "plate_width": "120 mm",
    "plate_height": "45 mm",
    "finest_line": "0.4 mm",
    "depth": "0.2 mm",
}


def refusal(text="", **said):
    with pytest.raises(BadInput) as fault:
        parsed(text) if text else understood({**GOOD, **said})
    return str(fault.value)


BAD = [
    ({"depth": "-0.2 mm"}, "depth: -0.2 mm cannot be meant; type a length"),
    ({"finest_line": "0 mm"}, "finest line: 0 mm cannot be meant; type a length"),
    ({"plate_count": "0"}, "plate count: 0 cannot be meant; type a number from 1 to 500"),
    ({"depth": "nan mm"}, "depth: nan mm cannot be meant"),
    ({"depth": "nan"}, "depth: nan of what? say mm or thou"),
    ({"depth": "0.2 g"}, "depth: “0.2 g” is not a length"),
    ({"depth": "0.2"}, "depth: 0.2 of what? say mm or thou"),
    (
        {"plate_width": "40 m"},
        "plate width: 40 m cannot be meant; type a length from 5 mm to 2000 mm",
    ),
    ({"plate_width": ""}, "plate width is missing; type a length from 5 mm"),
    (
        {"metal": "unobtainium"},
        "metal: “unobtainium” is not a metal that is known here; type CuZn37",
    ),
    ({"metal": ""}, "metal: is missing; type CuZn37"),
    (
        {"tray_material": "stainless steel"},
        "is refused for safety, since ferric chloride eats metal",
    ),
    ({"tray_material": "Aluminium"}, "is refused for safety"),
    ({"tray_material": "gastronorm pan"}, "is refused for safety"),
    (
        {"tray_material": "galvanised"},
        "is refused for safety, since ferric chloride eats metal; type",
    ),
    ({"tray_material": "enamelled steel"}, "is refused for safety"),
    ({"temperature": "75 °C"}, "75 °C is refused, since above 60 °C the bath fumes acid"),
    ({"temperature": "170 °F"}, "170 °F is refused, since above 60 °C"),
    ({"temperature": "± 2 °C"}, "is a difference"),
    ({"plate_count": "2.5"}, "plate count: 2.5 cannot be meant; type a whole number"),
    ({"coats": "1.5"}, "coats: 1.5 cannot be meant; type a whole number"),
    ({"depth": "1.6 mm"}, "depth: it goes through the plate"),
    ({"strength": "1,000 g/L"}, "can be read in two ways: type 1000 or 1.000"),
    ({"units": "furlongs"}, "units: “furlongs” is not an answer here; type metric, imperial or US"),
    ({"black": "maybe"}, "black: “maybe” is not an answer here; type etched or kept"),
]


@pytest.mark.parametrize(
    ("said", "expected"), BAD, ids=[f"{k}={v}" for b, _ in BAD for k, v in b.items()]
)
def test_a_bad_commission_gets_one_plain_sentence(said, expected):
    sentence = refusal(**said)
    assert expected in sentence
    assert sentence.endswith(".") and "\n" not in sentence
    assert "type " in sentence, "it says what to type instead"
    assert not re.search(r"Quantity|Error|None|dimensionless|_", sentence)


def test_a_share_is_not_a_whole_number_of_plates():
    # 250 % is two and a half
    assert "is not a number" in refusal(plate_count="250 %")


BAD_FILES = [
    ('[plate]\nplate_with = "3 mm"', "[plate] knows no “plate_with”; did you mean plate_width?"),
    ('[plate]\nplate_weight = "3 kg"', "[plate] knows no “plate_weight”"),
    (
        '[plates]\nplate_width = "3 mm"',
        "“plates” is no part of a commission; its parts are commission",
    ),
    ("depth = 3", "“depth” is no part of a commission"),
    ('[lines]\nplate_width = "3 mm"', "[lines] knows no “plate_width”"),
    ("[plate\n", "The commission cannot be read as TOML"),
    ('[plate]\nmetal = "a"\nmetal = "b"', "The commission cannot be read as TOML"),
    ("dear client, please", "The commission cannot be read as TOML"),
    ("[plate]\nplate_width = [1, 2]", "[plate] knows no “plate_width”"),
]


@pytest.mark.parametrize(
    ("text", "expected"), BAD_FILES, ids=[expected for _, expected in BAD_FILES]
)
def test_a_bad_file_gets_one_plain_sentence(text, expected):
    sentence = refusal(text)
    assert expected in sentence
    assert "\n" not in sentence


def test_every_fault_is_named_at_once():
    sentence = refusal(
        depth="-1 mm",
        plate_width="wide",
        metal="gold",
        temperature="75 °C",
        tray_material="steel tub",
        plate_count="2.5",
        units="cubits",
    )
    for named in ("depth:", "plate width:", "metal:", "temperature:", "tray material:", "plate count:",
                  "units:"):  # fmt: skip
        assert sentence.count(named) == 1


def test_a_misspelt_word_does_not_hide_the_other_faults():
    sentence = refusal(
        '[plate]\nplate_with = "3 mm"\nplate_count = "0"\n[lines]\ndepth = "-3 mm"\n'
    )
    assert "plate_with" in sentence
    assert "depth:" in sentence
    assert "plate count:" in sentence


def test_what_must_be_said():
    with pytest.raises(BadInput) as fault:
        understood({})
    for name in MUST:
        assert name.replace("_", " ") in str(fault.value)


def test_quantities_as_people_write_them():
    commission = understood(
        {
            **GOOD,
            "finest_line": "16 thou",
            "depth": "0,2 mm",
            "strength": "17.6 oz/L",
            "temperature": "104 °F",
        }
    )
    assert commission.values["finest_line"] == read("16 thou")
    assert float(commission.values["depth"].to("mm").magnitude) == pytest.approx(0.2)
    # 17.6 × 28.349523125 g, by definition of the pound
    assert float(commission.values["strength"].to("g/L").magnitude) == pytest.approx(
        498.95, abs=0.005
    )
    assert float(commission.values["temperature"].to("degC").magnitude) == pytest.approx(40)
    assert commission.typed["depth"] == "0,2 mm"


@pytest.mark.parametrize(
    ("typed", "key"),
    # names of the alloys: CDA Publication 120, Table 16, and UNS numbers
    [
        ("CuZn37", "CW508L"), ("cz108", "CW508L"), ("brass", "CW508L"), (" C26000 ", "CW505L"),
        ("CZ106", "CW505L"), ("nickel silver", "CW409J"), ("CW453K", "CW453K"), ("copper", "CW024A"),
        ("CZ131", "CW601N"), ("CZ118", "CW600N"),
    ],
)  # fmt: skip
def test_metals_by_any_of_their_names(typed, key):
    assert understood({**GOOD, "metal": typed}).metal == key


@pytest.mark.parametrize("tray", ["PVC", "pvc", "Glass", "photographic tray of plastic"])
def test_trays_that_stand_it(tray):
    assert understood({**GOOD, "tray_material": tray}).words["tray_material"] == tray


def test_what_a_value_rests_on():
    commission = understood({**GOOD, "etch_factor": "1.3"})
    assert commission.status("depth") == "given"
    assert commission.status("etch_factor") == "measured here"
    assert commission.status("strength") == "common practice"
    assert commission.status("mixing_temperature") == "published"


def test_one_quantity_typed_anew(commission):
    deeper = commission.with_one("depth", " 0.2 mm ")
    assert deeper.typed["depth"] == "0.2 mm"
    assert deeper.values["depth"] == read("0.2 mm")
    assert commission.values["depth"] == read("0.15 mm")
    for typed in ("3 mm", "0.2", "1.6 mm", "deep"):
        with pytest.raises(BadInput):
            commission.with_one("depth", typed)


def test_the_sentence_speaks_the_makers_units():
    sentence = refusal(units="imperial", depth="0.2")
    assert "type a length from 0.394 thou to 118 thou" in sentence


# written and read again


def same(one, other):
    assert one.typed == other.typed
    assert one.words == other.words
    assert one.metal == other.metal
    assert {k: str(v) for k, v in one.values.items()} == {
        k: str(v) for k, v in other.values.items()
    }


def test_written_and_parsed_again_it_is_the_same_order(commission, order):
    same(parsed(written(commission)), commission)
    same(parsed(written(commission, order)), commission)


def test_remarks_are_kept(commission, order):
    text = written(commission.with_one("depth", "0.18 mm"), order)
    for remark in ("# an order of the tests", "# as the client calls it", "# measured twice"):
        assert remark in text
    assert 'depth = "0.18 mm"' in text
    assert parsed(text).typed["depth"] == "0.18 mm"
    assert text.index("[plate]") < text.index("[lines]") < text.index("[bath]")


def test_written_twice_it_is_the_same_text(commission, order):
    once = written(commission, order)
    assert written(commission, once) == once


@pytest.mark.parametrize(
    "said",
    [
        {"title": 'A "quoted" name # with a hash'},
        {"client": "Zoë & Søn <ltd>"},
        {"notes": "two\nlines and a \\ backslash"},
        {"etch_factor": "1.3"},
        {"units": "imperial"},
        {"chance_too_deep": "2 %"},
        {"plate_count": "12"},
    ],
)
def test_any_word_survives_the_file(commission, order, said):
    changed = commission.changed(**said)
    same(parsed(written(changed, order)), changed)


@pytest.mark.parametrize(("name", "first"), [("notes", "call on Friday"), ("etch_factor", "1.3")])
def test_what_is_taken_back_leaves_the_file(commission, order, name, first):
    with_it = commission.changed(**{name: first})
    text = written(with_it, order)
    without = with_it.changed(**{name: ""})
    same(parsed(written(without, text)), without)


def test_bare_numbers_and_days_of_toml_are_read():
    commission = parsed(
        "[commission]\ndue = 2030-05-01\ntitle = 7\n[plate]\nmetal = 'brass'\nplate_width = '120 mm'\n"
        "plate_height = '45 mm'\nplate_count = 3\n[lines]\nfinest_line = '0.4 mm'\ndepth = '0.2 mm'\n"
    )
    assert commission.words["due"] == "2030-05-01"
    assert commission.values["plate_count"].magnitude == 3


def test_the_blank_form_can_be_parsed():
    commission = parsed(blank())
    assert set(commission.typed) == {name for name in MUST if name != "metal"}
    assert commission.title == "Name of the job"


def test_every_remark_of_the_blank_form_can_be_uncommented():
    text = re.sub(r"(?m)^# (?=\w+ = )", "", blank())
    text = re.sub(r"(?m)^file = .*$", "", text)
    commission = parsed(text)
    for name, typed in tomllib.loads(text)["bath"].items():
        assert (commission.typed | commission.words).get(name, "") == typed


def test_what_stands_after_the_hash_is_what_is_taken():
    # the blank form says so in its second line
    plain = parsed(blank())
    for line in blank().splitlines():
        found = re.match(r'# (\w+) = "([^"]+)"', line)
        if found and found[1] in plain.values:
            assert plain.values[found[1]] == read(found[2]), found[1]
        elif found and found[1] == "etch_factor":
            pytest.fail("no single etch factor is taken: it goes by the width of the line")


# files


def test_a_missing_file(tmp_path):
    with pytest.raises(BadInput, match=r"The commission no\.toml cannot be read \(No such file"):
        opened(tmp_path / "no.toml")


def test_a_file_that_is_not_text(tmp_path):
    path = tmp_path / "picture.toml"
    path.write_bytes(b"\xff\xd8\xff\xe0")
    with pytest.raises(BadInput, match="it is not text"):
        opened(path)


@pytest.mark.parametrize("name", ["../secret.svg", "/etc/passwd", "a/../../b.svg"])
def test_a_drawing_outside_the_folder(tmp_path, order, name):
    (tmp_path / "secret.svg").write_text("<svg/>")
    folder = tmp_path / "job"
    folder.mkdir()
    text = order.replace("[artwork]", f'[artwork]\nfile = "{name}"')
    with pytest.raises(BadInput, match="lies outside the commission's folder"):
        parsed(text, folder)


def test_a_drawing_that_is_not_there(tmp_path, order):
    text = order.replace("[artwork]", '[artwork]\nfile = "plate.svg"')
    with pytest.raises(BadInput, match=r"there is no drawing “plate\.svg”"):
        parsed(text, tmp_path)
    (tmp_path / "plate.svg").write_text("<svg/>")
    assert parsed(text, tmp_path).artwork == Path(tmp_path / "plate.svg")
