"""Thermometer logs and lists of readings: what makers' files hold, and one sentence for each fault."""

import csv
import io

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from etchcalc.core.faults import BadInput
from etchcalc.job.logs import readings_from, thermometer_log
from etchcalc.job.measured import reading_faults

QUICK = settings(
    deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@pytest.fixture
def saved(tmp_path):
    def save(text, encoding="utf-8"):
        path = tmp_path / "tray.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return path

    return save


def refusal(path, reader=thermometer_log):
    with pytest.raises(BadInput) as fault:
        reader(path)
    sentence = str(fault.value)
    assert sentence.startswith("tray.csv") and sentence.endswith(".") and ".;" not in sentence
    assert "\n" not in sentence
    return sentence


# ---- a log as makers save it

SAID = [
    ("time (min), temperature (°C)\n0,40\n5,41.5\n10,42\n", "utf-8"),
    ("minutes;°C\r\n0;40\r\n5;41,5\r\n10;42\r\n", "cp1252"),
    ("\ufefftime,°F\n0 min,104\n5 min,106.7\n10 min,107.6\n", "utf-8"),
    ("# tray 1\n\nTime [h]\tBath temp ºC\n0\t40\n# lid on\n\n0,083333333\t41,5\n0,166666667\t42\n", "utf-8"),
    ("0 min,40 °C\n5 min,106.7 °F\n10 min,42 °C\n", "utf-8"),
    ("clock;temp °C\n23:54:30;40\n23:59:30;41,500\n00:04:30;42\n", "utf-8"),
    ("no,temp (K),humidity %,elapsed (s)\r1,313.15,50,0\r2,314.65,51,300\r3,315.15,,600\r", "utf-8"),
    ('"time, min","temperature, °C"\n"0","40,0"\n"5","41,5"\n"10","42,0"\n', "utf-8"),
    ("temperature in deg C;minutes from plate in;\n40;0;\n41,5;5;\n42;10;\n", "utf-8"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "encoding"), SAID)
def test_a_log_is_read_as_it_is_saved(saved, text, encoding):
    log = thermometer_log(saved(text, encoding))
    assert log.minutes == pytest.approx([0, 5, 10], abs=1e-6)
    assert log.celsius == pytest.approx([40, 41.5, 42])


def test_an_hour_and_twenty_minutes(saved):
    log = thermometer_log(saved("time;°C\n10 min;40\n1 h 20 min;41\n2 h;42\n"))
    assert log.minutes.tolist() == [10, 80, 120]


def test_between_rows_it_is_straight_and_the_ends_are_held(saved):
    log = thermometer_log(saved("min,°C\n10,40\n20,44\n"))
    assert log.celsius_at(np.array([0, 10, 15, 20, 99])).tolist() == [40, 40, 42, 44, 44]


def test_a_clock_with_seconds(saved):
    log = thermometer_log(saved("time,°C\n9:59:30,40\n10:00:45,41\n10:02,42\n"))
    assert log.minutes == pytest.approx([0, 1.25, 2.5])


def test_a_long_night(saved):
    # two midnights, and hourly rows, whose usual step is no gap
    hours = [f"{h % 24:02d}:00,30" for h in range(22, 22 + 30)]
    log = thermometer_log(saved("\n".join(["time,°C", *hours])))
    assert log.minutes == pytest.approx(60 * np.arange(30))


# ---- faults

BAD = [
    ("", "is no table of time and temperature; save it as CSV"),
    ("dear diary\nit was warm\n", "is no table of time and temperature"),
    ("min,°C\n", "is no table of time and temperature"),
    ("min,°C\n0,40\n", "line 2 is the only row; write at least two"),
    ("a,b,c\n0,40,1\n5,41,2\n", "is no table of time and temperature"),
    ("min,°C\n0,40\n5,41\n5,42\n", "line 4 has the same time as line 3; keep one"),
    ("min,°C\n0,40\n10,41\n# x\n8,42\n", "line 5: 8 min is not later than 10 min in line 3"),
    ("clock,°C\n14:20,40\n14:10,41\n", "line 3: 14:10 is not later than 14:20 in line 2"),
    (
        "min,°C\n0,40\n10,40\n20,41\n30,41\n40,41\n110,40\n",
        "lines 6 and 7: nothing from 40 min to 110 min; fill in",
    ),
    (
        "time,°C\n14:20,40\n14:30,40\n14:40,40\n16:30,41\n",
        "lines 4 and 5: nothing from 14:40 to 16:30",
    ),
    (
        "min,°C\n0,40\n5,104\n10,41\n",
        "line 3, temperature: 104 °C is refused, since above 60 °C the bath fumes acid and the "
        "resist lets go; if that is °F, type 104 °F",
    ),
    ("min,°F\n0,104\n5,40\n10,106\n", "line 3, temperature: 40 °F cannot be meant; if that is °C"),
    ("min,temp\n0,40\n5,41\n10,104\n", "line 4, temperature: 104 °C is refused"),
    ("min,temp\n0,104\n5,105\n10,40\n", "line 4, temperature: 40 °F cannot be meant"),
    (
        "min,temp\n0,40\n5,41\n",
        "is the temperature in °C or °F? begin the file with a line such as",
    ),
    ("time,temp\n0,40\n5,41\n", "is the temperature in °C or °F, the time in min or h?"),
    ("0,40\n5,41\n", "is the temperature in °C or °F, the time in min or h?"),
    ("time of day,°C\n0,40\n5,41\n", "is the time in min or h?"),
    ("time (min or h),°C\n0,40\n5,41\n", "is the time in min or h?"),
    ("min,°C\n0,40\n5,70 °C\n", "line 3, temperature: 70 °C is refused, since above 60 °C"),
    ("min,°C\n0,40\n5,250\n", "line 3, temperature: 250 °C is refused"),
    ("min,°C\n0,40\n5,-3\n", "line 3, temperature: -3 °C cannot be meant; type a temperature"),
    ("min,°C\n0,40\n5,warm\n", "line 3, “warm” is no temperature; write a number"),
    ("min,°C\n0,40\n5,nan\n", "line 3, “nan” is no temperature"),
    ("min,°C\n0,40\n5,5/00\n", "line 3, “5/00” is no temperature"),
    ("min,°C\n0,40\n5,20 mm\n", "line 3, “20 mm” is no temperature"),
    ("min,°C\n0,40\nlater,41\n", "line 3, “later” is no time"),
    ("min,°C\n0,40\n5,\n", "line 3, the temperature is missing"),
    ("min,°C\n0,40\n14:20,41\n", "line 3, “14:20”: write every time in minutes from plate in"),
    ("time (min),°C\n14:20,40\n5,41\n", "line 3, “5 min”: write every time on the clock"),
    ("min,°C\n0,40\n99999,41\n", "line 3, “99999 min” is too long a time"),
    ("min,°C\n0,40,5\n5,41,0\n", "line 2 has 3 columns, line 1 2; with decimal commas put semi"),
    ('min,°C\n0,40\n"5,41\n9,42\n', "line 3 cannot be read as CSV; look for a quotation mark"),
    (b"min,C\n0,40\n5,41\x81\n", "is no text; save the table as CSV"),
    ("min,°C\n" + "0,40\n" * 20_001, "has more than 20000 lines"),
    (b"0,40\n" * 500_000, "is larger than 2 MB"),
]


@pytest.mark.parametrize(("text", "expected"), BAD, ids=[expected[:40] for _, expected in BAD])
def test_a_fault_is_one_sentence_that_names_its_line(saved, text, expected):
    assert expected in refusal(saved(text))


def test_several_faults_are_one_sentence_and_the_rest_a_number(saved):
    found = refusal(saved("min,°C\n0,40\n5,x\n6,y\n7,z\n7,40\n3,40\n"))
    assert [f"line {n}" in found for n in (3, 4, 5, 6, 7)] == [True, True, True, False, False]
    # two more: the same time, and one that is not later
    assert found.endswith("; and 2 more faults.")


def test_a_gap_is_long_beside_the_usual_step(saved):
    # 30 min, and five usual steps: neither alone makes a gap
    assert len(thermometer_log(saved("min,°C\n0,40\n2,40\n4,40\n34,40\n")).minutes) == 4
    assert len(thermometer_log(saved("min,°C\n0,40\n20,40\n40,40\n140,40\n")).minutes) == 4
    assert "nothing from 40 min to 141 min" in refusal(
        saved("min,°C\n0,40\n20,40\n40,40\n141,40\n")
    )


def test_no_file_and_no_folder(tmp_path):
    for path in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(BadInput, match="cannot be read"):
            thermometer_log(path)


# ---- any table in any style


def number(value, comma):
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return text.replace(".", ",") if comma else text


@st.composite
def tables(draw):
    """A file and what it means: (bytes, minutes, celsius)."""
    steps = draw(st.lists(st.integers(1, 25), min_size=1, max_size=12))
    start = draw(st.integers(0, 1439))
    minutes = np.concatenate([[0], np.cumsum(steps)])
    fahrenheit = draw(st.booleans())
    typed = draw(
        st.lists(
            st.integers(50, 1390).map(lambda n: n / 10),
            min_size=len(minutes),
            max_size=len(minutes),
        )
    )
    typed = [min(max(t, 41.0), 140.0) if fahrenheit else min(max(t / 2, 5.0), 60.0) for t in typed]
    celsius = [(t - 32) / 1.8 if fahrenheit else t for t in typed]
    mark = draw(st.sampled_from(",;\t"))
    comma = mark != "," and draw(st.booleans())
    by_time = draw(st.sampled_from(["bare", "min", "h and min", "clock", "s"]))
    in_cell = draw(st.booleans())
    degree = draw(st.sampled_from(["°F", "F", "deg F"] if fahrenheit else ["°C", "C", "celsius"]))
    times = {
        "bare": [str(m) for m in minutes],
        "min": [f"{m} min" for m in minutes],
        "h and min": [f"{m // 60} h {m % 60} min" if m >= 60 and m % 60 else f"{m} min" for m in minutes],
        "clock": [f"{(start + m) // 60 % 24:02d}:{(start + m) % 60:02d}" for m in minutes],
        "s": [str(60 * m) for m in minutes],
    }[by_time]  # fmt: skip
    heads = {"bare": ["minutes", "time (min)", "reading_time [min]"], "s": ["time in s"]}
    head = draw(st.sampled_from(heads.get(by_time, ["time", "Time"])))
    temps = [number(t, comma) + (f" {degree}" if in_cell else "") for t in typed]
    title = draw(st.sampled_from(["temperature ({})", "Temp. {}"])).format(degree)
    rows = list(zip([head, *times], [title, *temps], strict=True))
    if draw(st.booleans()):
        rows = [row[::-1] for row in rows]
    text = io.StringIO()
    quoting = draw(st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
    writer = csv.writer(text, delimiter=mark, quoting=quoting, lineterminator="\n")
    writer.writerows(rows)
    lines = text.getvalue().splitlines()
    for place in draw(st.lists(st.integers(0, len(lines)), max_size=3)):
        lines.insert(place, draw(st.sampled_from(["", "# lid off; 20, 30", "  "])))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    whole = end.join(lines) + draw(st.sampled_from(["", end]))
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "cp1252"]))
    return whole.encode(encoding), minutes, celsius


@settings(QUICK, max_examples=200)
@given(tables())
def test_any_table_reads_back_the_same(saved, table):
    content, minutes, celsius = table
    log = thermometer_log(saved(content))
    assert log.minutes == pytest.approx(minutes, abs=1e-9)
    assert log.celsius == pytest.approx(celsius, abs=1e-6)


PIECES = st.sampled_from(
    ["time", "min", "°C", "°F", ",", ";", "\t", "\n", "\r\n", "#", '"', "0", "5", "40,5", "1/0",
     "-", "14:20", "e9", "½", "nan", "1 h 20 min", "104 °F", "²", "depth", "mm", "^", "/", " "]
)  # fmt: skip
ANYTHING = st.binary(max_size=200) | st.lists(PIECES, max_size=60).map(
    lambda pieces: "".join(pieces).encode()
)


@settings(QUICK, max_examples=500)
@given(ANYTHING)
def test_nothing_but_a_sentence_comes_of_rubbish(saved, content):
    path = saved(content)
    for reader in (thermometer_log, readings_from):
        try:
            reader(path)
        except BadInput as fault:
            assert str(fault).endswith(".") and "\n" not in str(fault)


# ---- readings


def test_readings_in_the_words_of_a_commission(saved):
    text = (
        "time (min); depth (mm); film under gauge (µm); gauged on\n"
        "20;0,06;30;finest line\n45 min;5 thou;;Wide field\n1 h 20 min;0,15;;\n"
    )
    assert readings_from(saved(text)) == (
        {
            "reading_time": "20 min",
            "reading_depth": "0.06 mm",
            "film_under_gauge": "30 µm",
            "gauged_on": "finest line",
        },
        {"reading_time": "45 min", "reading_depth": "5 thou", "gauged_on": "wide field"},
        {"reading_time": "1 h 20 min", "reading_depth": "0.15 mm"},
    )


@pytest.mark.parametrize(
    "head", ["reading_time,reading_depth", "min,mm", "elapsed min,gauge in mm"]
)
def test_readings_by_the_words_of_the_first_line(saved, head):
    bare = "reading" not in head
    row = "20,0.06" if bare else "20 min,0.06 mm"
    found = readings_from(saved(f"{head}\n{row}\n"))
    assert found == ({"reading_time": "20 min", "reading_depth": "0.06 mm"},)
    assert not reading_faults(found[0], 1)


BAD_READINGS = [
    ("time,depth\n20,0.06\n", "is the depth in mm or thou, the time in min or h?"),
    ("time (min),film (mm)\n20,0.03\n", "is no table of time and depth"),
    ("min,mm\n20,0.06\n30,9\n", "line 3, reading depth: 9 mm cannot be meant; type a length"),
    ("min,mm\n5,0.02\nsoon,0.06\n", "line 3, reading time: “soon” does not begin with a number"),
    ("min,mm\n14:20,0.06\n", "line 2, reading time: “:20” is not a unit"),
    ("min,mm\n5/00,0.06\n", "“5/00” divides by nothing"),
    ("min,depth mm,where\n5,0.06,edge\n", "line 2, gauged on finest line or wide field, not “edge”"),
    ("min,depth mm,film mm\n5,0.06,0.1\n", "line 2, the film alone is as thick as what the gauge"),
    ("min,mm\n5,\n", "line 2, reading depth: nothing was typed"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), BAD_READINGS)
def test_a_reading_at_fault_is_named_by_its_line(saved, text, expected):
    assert expected in refusal(saved(text), readings_from)
