"""A working that is shown is the sum that was done: every displayed expression is evaluated."""

import importlib.util
import math
import re

import numpy as np
import pytest

from etchcalc import process  # registers the formulas
from etchcalc.core import formula, tables
from etchcalc.core.formula import REGISTERED, working
from etchcalc.core.units import Quantity, read, unit

SHOWN = sorted(name for name, entry in REGISTERED.items() if not entry.method)
METHODS = sorted(name for name, entry in REGISTERED.items() if entry.method)
assert process

# a reader of the displayed text: numbers with units, operators between blanks, brackets, functions

_NUMBER = r"\d+(?:\.\d+)?(?:e[−+]?\d+)?"
_UNIT = r"(?: (?![−+·/] )(?:%|°[CF]|[^\d\s()^,+−·/][^\s()^,]*))?"
_TOKEN = re.compile(rf"\s*({_NUMBER}{_UNIT}|ln|sqrt|exp|min|max|floor|[-+−·/^(),])")
_CALLS = {"ln": np.log, "sqrt": np.sqrt, "exp": np.exp, "min": min, "max": max, "floor": np.floor}
_MINUS, _TIMES = " − ", " · "


def tokens(text):
    found, end = [], 0
    while end < len(text):
        match = _TOKEN.match(text, end)
        assert match, f"cannot read {text[end:]!r} of {text!r}"
        found.append(match[1])
        end = match.end()
    return found


class Reader:
    """Evaluates a displayed expression; a number may be nudged by half its last digit."""

    def __init__(self, found, nudged=None, by=0.0):
        self.found, self.place, self.nudged, self.by = found, 0, nudged, by
        self.exponents = set()

    def next(self):
        token = self.found[self.place] if self.place < len(self.found) else ""
        self.place += 1
        return token

    def take(self, *signs):
        if self.place < len(self.found) and self.found[self.place] in signs:
            return self.next()
        return ""

    def all(self):
        result = self.sum()
        assert self.place == len(self.found), f"left over: {self.found[self.place :]}"
        return result

    def sum(self):
        result = self.product()
        while sign := self.take("+", "−"):
            result = result + self.product() if sign == "+" else result - self.product()
        return result

    def product(self):
        result = self.signed()
        while sign := self.take("·", "/"):
            result = result * self.signed() if sign == "·" else result / self.signed()
        return result

    def signed(self):
        return -self.signed() if self.take("−") else self.power()

    def power(self):
        base = self.one()
        if self.take("^"):
            begun = self.place
            exponent = float(self.signed().to("").magnitude)
            self.exponents |= set(range(begun, self.place))
            # in base units, so that a third of their powers still cancels
            return base.to_base_units() ** exponent
        return base

    def one(self):
        place, token = self.place, self.next()
        if token == "(":
            result = self.sum()
            assert self.next() == ")"
            return result
        if token in _CALLS:
            assert self.next() == "("
            given = [self.sum()]
            while self.take(","):
                given.append(self.sum())
            assert self.next() == ")"
            return _CALLS[token](*given)
        quantity = read(token.replace("−", "-"))
        if place == self.nudged:
            quantity = quantity + Quantity(self.by * half_digit(token), quantity.units)
        return quantity


def half_digit(text):
    """Half of the last digit that a number is shown to: four figures, trailing noughts dropped."""
    number = re.match(_NUMBER, text.lstrip("−"))[0].replace("−", "-")
    if float(number) == 0:
        return 0.0
    digits = len(number.partition("e")[0].replace(".", "").strip("0"))
    return 0.5 * 10.0 ** (math.floor(math.log10(float(number))) + 1 - max(4, digits))


def plain(text):
    return text.replace(" ", " ")


def agrees(numbers, result):
    """Whether the displayed numbers make the displayed result, within the digits of both."""
    found = tokens(plain(numbers))
    shown = Reader(tokens(plain(result))).all()
    reader = Reader(found)
    value = reader.all().to(shown.units)
    room = half_digit(plain(result))
    for place, token in enumerate(found):
        if token[0].isdigit() and place not in reader.exponents:
            moved = Reader(found, place, 1.0).all().to(shown.units)
            room += abs(moved.magnitude - value.magnitude)
    assert value.magnitude == pytest.approx(shown.magnitude, abs=1.01 * room + 1e-12, rel=0), (
        f"{numbers} is {value}, not {result}"
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    # arithmetic by hand, so that the reader itself is known to read
    [
        ("2 + 3 · 4", 14),
        ("(2 + 3) · 4", 20),
        ("10 − 2 − 3", 5),
        ("12 / 2 / 3", 2),
        ("2^3^1", 8),
        ("−2 · 3", -6),
        ("2 · 3 mm / 1 cm", 0.6),
        ("min(3 mm, 1 cm) / 1 mm", 3),
        ("−ln(1 − 50 %)", math.log(2)),
        ("8^(1 / 3)", 2),
        ("6.04e−10 m²/s / 1 µm²/s", 604),
        ("262.9 mol/L / 1000 mol/m³", 262.9),
        ("3 − −2", 5),
    ],
)
def test_the_reader_of_displayed_sums(text, expected):
    assert float(Reader(tokens(text)).all().to("").magnitude) == pytest.approx(expected)


def test_the_reader_sees_a_wrong_result():
    agrees("2 · 0.1481 mm", "0.2962 mm")
    for wrong in ("0.297 mm", "0.2962 thou", "0.148 mm"):
        with pytest.raises(AssertionError):
            agrees("2 · 0.1481 mm", wrong)


@pytest.mark.parametrize("name", SHOWN)
def test_displayed_numbers_make_the_displayed_result(name, realistic):
    shown = working(name, realistic(name))
    assert shown.lines
    for line in shown.lines:
        agrees(line.numbers, line.result)
    assert shown.lines[-1].result == shown.result


@pytest.mark.parametrize("name", SHOWN)
def test_at_random_inputs_too(name, scattered):
    for seed in range(20):
        for line in working(name, scattered(name, seed)).lines:
            agrees(line.numbers, line.result)


@pytest.mark.parametrize("name", SHOWN)
def test_the_displayed_result_is_what_the_function_returns(name, scattered):
    inputs = scattered(name, 77)
    returned = REGISTERED[name].function(**inputs)
    shown = read(plain(working(name, inputs).result).replace("−", "-"))
    assert returned.to(shown.units).magnitude == pytest.approx(
        shown.magnitude, abs=half_digit(plain(working(name, inputs).result))
    )


@pytest.mark.parametrize("name", SHOWN)
def test_every_input_and_constant_stands_in_the_words(name, realistic):
    entry = REGISTERED[name]
    words = " ".join(line.words for line in working(name, realistic(name)).lines)
    for key in entry.inputs:
        assert key.replace("_", " ") in words
    for constant in formula.constants_used(entry.function):
        assert constant.name.replace("_", " ") in words


@pytest.mark.parametrize("name", METHODS)
def test_a_method_shows_inputs_sentence_and_result(name, realistic):
    shown = working(name, realistic(name))
    assert shown.lines == ()
    assert len(shown.method) > 20 and not shown.method.endswith(".")
    assert [words for words, _ in shown.inputs] == [
        key.replace("_", " ") for key in REGISTERED[name].inputs
    ]
    assert shown.result


@pytest.mark.parametrize("name", sorted(REGISTERED))
def test_a_working_names_its_sources(name, realistic):
    entry = REGISTERED[name]
    sources = working(name, realistic(name)).sources
    assert sources[0] == tables.source(entry.source).citation
    for value in formula.constants_used(entry.function):
        assert any(tables.source(value.source).citation in line for line in sources)


def test_of_an_array_the_first_is_shown():
    inputs = {
        "depth": Quantity(np.array([0.2, 9.0]), unit("mm")),
        "etch_factor": Quantity(1.25, unit("")),
    }
    assert working("undercut", inputs).result == "0.16 mm"


def test_a_result_under_another_name():
    inputs = {"fresh_rate": read("2 um/min"), "tiring": read("0.5")}
    shown = working("etch_rate", inputs, "field_rate")
    assert shown.title == "field rate"
    assert shown.lines[-1].name == "field rate"


# tiny formulas in modules of their own


@pytest.fixture
def tiny(tmp_path, monkeypatch):
    """Register a formula written as text, in a register of its own."""
    monkeypatch.setattr(formula, "REGISTERED", {})

    def made(body, name="undercut", inputs="depth, etch_factor", how='source="geometry"'):
        path = tmp_path / f"tiny{len(list(tmp_path.iterdir()))}.py"
        path.write_text(
            "import numpy as np\n"
            "from etchcalc.core.formula import formula\n"
            "from etchcalc.core.tables import constant\n"
            'GRAVITY = constant("gravity")\n\n\n'
            f"@formula({how})\ndef {name}(*, {inputs}):\n"
            f'    """Return it."""\n    {body}\n',
            encoding="utf-8",
        )
        spec = importlib.util.spec_from_file_location(path.stem, path)
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        monkeypatch.setitem(formula.REGISTERED, name, formula.REGISTERED.pop(name))
        return getattr(module, name)

    return made


DEPTH = {"depth": Quantity(0.2, unit("mm")), "etch_factor": Quantity(1.25, unit(""))}


@pytest.mark.parametrize(
    ("body", "words", "numbers", "result"),
    [
        ("return depth / etch_factor", "depth / etch factor", "0.2 mm / 1.25", "0.16 mm"),
        ("return depth * etch_factor", "depth · etch factor", "0.2 mm · 1.25", "0.25 mm"),
        (
            "return 2 * (depth + depth) / etch_factor",
            "2 · (depth + depth) / etch factor",
            "2 · (0.2 mm + 0.2 mm) / 1.25",
            "0.64 mm",
        ),
        (
            "return depth / (etch_factor * etch_factor)",
            "depth / (etch factor · etch factor)",
            "0.2 mm / (1.25 · 1.25)",
            "0.128 mm",
        ),
        (
            "return depth - (depth - depth * etch_factor)",
            "depth − (depth − depth · etch factor)",
            "0.2 mm − (0.2 mm − 0.2 mm · 1.25)",
            "0.25 mm",
        ),
        (
            "return np.minimum(depth, depth / etch_factor)",
            "min(depth, depth / etch factor)",
            "min(0.2 mm, 0.2 mm / 1.25)",
            "0.16 mm",
        ),
        (
            "return (depth**2 * etch_factor) ** (1 / 2)",
            "(depth^2 · etch factor)^(1 / 2)",
            "((0.2 mm)^2 · 1.25)^(1 / 2)",
            "0.2236 mm",
        ),
        ("return -depth", "−depth", "−0.2 mm", "−0.2 mm"),
        ("return depth * (-etch_factor) ** 2", None, None, "0.3125 mm"),
        ("return depth * (-etch_factor + 0) ** 2", None, None, "0.3125 mm"),
        ("return -(depth + depth)", None, None, "−0.4 mm"),
        ("return depth - -depth", None, None, "0.4 mm"),
        ("return depth * np.exp(-np.log(etch_factor))", None, None, "0.16 mm"),
        ("return depth * np.sqrt(etch_factor)", None, None, "0.2236 mm"),
    ],
)
def test_the_displayed_formula_follows_the_code(tiny, body, words, numbers, result):
    tiny(body)
    (line,) = working("undercut", DEPTH).lines
    if words:
        assert (line.words, plain(line.numbers)) == (words, numbers)
    assert plain(line.result) == result
    agrees(line.numbers, line.result)


def test_a_negative_number_keeps_its_power(tiny):
    # (−0.5)² is 0.25, and no reader of "−0.5^2" would think so
    tiny("return depth**2 * etch_factor", inputs="depth, etch_factor", name="edges")
    tiny("return depth * etch_factor**2")
    (line,) = working("undercut", DEPTH | {"etch_factor": Quantity(-0.5, unit(""))}).lines
    agrees(line.numbers, line.result)


def test_assignments_show_themselves_line_by_line(tiny):
    tiny("film_line = depth / etch_factor\n    return 2 * film_line")
    first, last = working("undercut", DEPTH).lines
    assert (first.name, first.words, first.result) == (
        "film line",
        "depth / etch factor",
        "0.16 mm",
    )
    assert (last.name, last.words, plain(last.numbers)) == (
        "undercut",
        "2 · film line",
        "2 · 0.16 mm",
    )


def test_the_code_changed_and_so_did_the_display(tiny):
    tiny("return depth / etch_factor")
    before = working("undercut", DEPTH).lines
    formula.REGISTERED.clear()
    tiny("return depth / etch_factor + depth")
    after = working("undercut", DEPTH).lines
    assert before != after
    assert after[0].words == "depth / etch factor + depth"


@pytest.mark.parametrize(
    "body",
    [
        "return depth if depth > etch_factor else depth",
        "return max(depth, depth)",
        "return [depth][0]",
        "return depth * LOCAL",
    ],
)
def test_what_cannot_be_shown_wants_a_method(tiny, body):
    tiny(body).__globals__["LOCAL"] = 2.0
    with pytest.raises((TypeError, KeyError)):
        working("undercut", DEPTH)


@pytest.mark.parametrize(
    ("changes", "complaint"),
    [
        ({"how": 'source="somebody"'}, "no source is named 'somebody'"),
        ({"how": 'source="geometry", status="certain"'}, "no status is named 'certain'"),
        ({"name": "undercut_mm"}, "no word 'undercut_mm'"),
        ({"inputs": "depth, ef"}, "no word 'ef'"),
    ],
)
def test_registration_refuses(tiny, changes, complaint):
    with pytest.raises(KeyError, match=complaint):
        tiny("return depth", **changes)


def test_two_formulas_of_one_name(tiny):
    tiny("return depth")
    with pytest.raises(KeyError, match="two formulas are named 'undercut'"):
        tiny("return 2 * depth")


def test_nothing_is_added_to_the_call(tiny):
    function = tiny("return depth")
    assert formula.REGISTERED["undercut"].function is function
    assert not hasattr(function, "__wrapped__")
