"""A formula that shows its own working.

A formula is a plain function, registered by `formula`. Nothing is added to
the call. When a working is asked for, the function's own syntax tree is read:
each straight assignment, and the value returned, is shown with words, with
numbers put in, and with the result of running that very statement. A formula
that iterates or integrates declares a `method` instead, and shows its inputs,
that sentence and its result.
"""

import ast
import inspect
import textwrap
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from etchcalc.core import tables
from etchcalc.core.units import first, in_full, show, show_in_full
from etchcalc.core.vocabulary import term

REGISTERED: dict[str, "Formula"] = {}


@dataclass(frozen=True)
class Formula:
    """A registered function: what it needs, where it comes from, how it is worked."""

    name: str
    function: Callable
    inputs: tuple[str, ...]
    source: str
    status: str
    method: str


@dataclass(frozen=True)
class Line:
    """One statement of a working: name, formula in words, the same with numbers, result."""

    name: str
    words: str
    numbers: str
    result: str


@dataclass(frozen=True)
class Working:
    """The sum behind one figure, ready to be shown."""

    name: str
    title: str
    meaning: str
    inputs: tuple[tuple[str, str], ...]
    lines: tuple[Line, ...]
    method: str
    result: str
    sources: tuple[str, ...]


def formula(*, source: str, status: str = "given", method: str = ""):
    """Register a function under its name, which is a term of the vocabulary.

    Parameters
    ----------
    source : str
        Key in sources.toml of the formula itself (constants bring their own).
    status : str
        What the formula adds to what its inputs rest on: ``given`` for a
        definition or a mass balance, ``assumed`` for a guess.
    method : str
        One sentence, for a formula whose body is not straight assignments.
    """
    tables.checked(status, source)

    def register(function: Callable) -> Callable:
        name = function.__name__
        inputs = tuple(inspect.signature(function).parameters)
        for word in (name, *inputs):
            term(word)
        if name in REGISTERED and REGISTERED[name].function.__module__ != function.__module__:
            raise KeyError(f"two formulas are named {name!r}")
        REGISTERED[name] = Formula(name, function, inputs, source, status, method)
        return function

    return register


def constants_used(function: Callable) -> list[tables.Value]:
    """Return the constants of tables that a formula's code names."""
    names = function.__code__.co_names
    found = [tables.constant_of(function.__globals__.get(name)) for name in names]
    return [value for value in found if value is not None]


def working(name: str, inputs: dict, named: str = "") -> Working:
    """Return the working of a formula for given inputs.

    Parameters
    ----------
    name : str
        A registered formula.
    inputs : dict of str to Quantity
        Its keyword arguments; of an array the first element is shown.
    named : str
        Another name that the result goes by.
    """
    entry = REGISTERED[name]
    middle = {key: first(value) for key, value in inputs.items()}
    # a method may need the whole array, such as a share of the spread
    result = first(entry.function(**(inputs if entry.method else middle)))
    called = named or name
    lines = () if entry.method else tuple(_lines(entry, middle, called))
    sources = [tables.source(entry.source).citation]
    sources += [value.said for value in constants_used(entry.function)]
    return Working(
        called,
        term(called).words,
        term(called).meaning,
        tuple((term(key).words, _value(key, value)) for key, value in middle.items()),
        lines,
        entry.method,
        _value(called, result),
        tuple(dict.fromkeys(sources)),
    )


def _value(name: str, quantity) -> str:
    return show(quantity, term(name).kind, count=4, fixed=False)


@cache
def _statements(function: Callable) -> list[Any]:
    """Return the assignments and the return of a formula; its docstring is an expression."""
    tree: Any = ast.parse(textwrap.dedent(inspect.getsource(function))).body[0]
    return [s for s in tree.body if not isinstance(s, ast.Expr)]


def _lines(entry: Formula, inputs: dict, called: str):
    """Run a function statement by statement, yielding a line for each."""
    space = dict(inputs)
    for statement in _statements(entry.function):
        name = statement.targets[0].id if hasattr(statement, "targets") else called
        teller = _Teller(entry.function.__globals__, space)
        words, numbers = teller.tell(statement.value)
        space[name] = teller.value(statement.value)
        yield Line(term(name).words, words, numbers, _value(name, space[name]))


_OPERATORS = {
    ast.Add: (" + ", 1),
    ast.Sub: (" − ", 1),
    ast.Mult: (" · ", 2),
    ast.Div: (" / ", 2),
    ast.Pow: ("^", 3),
}
_CALLS = {
    "sqrt": "sqrt",
    "log": "ln",
    "exp": "exp",
    "minimum": "min",
    "maximum": "max",
    "floor": "floor",
}


class _Teller:
    """Says an expression twice: with words, and with the numbers of one run."""

    def __init__(self, globals_: dict, locals_: dict):
        self.globals, self.locals = globals_, locals_

    def value(self, node: ast.expr):
        code = compile(ast.Expression(node), "<working>", "eval")
        return eval(code, self.globals, dict(self.locals))

    def tell(self, node: ast.expr, above: int = 0) -> tuple[str, str]:
        """Return (words, numbers) of a node, bracketed where the node above binds tighter."""
        if isinstance(node, ast.BinOp):
            return self._operation(node, above)
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            both = [f"−{text}" for text in self.tell(node.operand, 2)]
            return tuple(f"({text})" if above > 2 else text for text in both)  # type: ignore[return-value]
        if isinstance(node, ast.Constant):
            return (in_full(float(str(node.value))),) * 2
        if isinstance(node, ast.Name):
            return self._name(node.id)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            if node.func.attr == "to":  # a change of unit: a name is shown in that unit
                inner = self.tell(node.func.value, above)
                named = isinstance(node.func.value, ast.Name)
                return inner[0], show_in_full(self.value(node)) if named else inner[1]
            parts = [self.tell(a) for a in node.args]
            call = _CALLS[node.func.attr]
            return tuple(f"{call}({', '.join(p)})" for p in zip(*parts, strict=True))  # type: ignore[return-value]
        raise TypeError(f"a formula may not contain {ast.unparse(node)!r}: give it a method")

    def _operation(self, node: ast.BinOp, above: int) -> tuple[str, str]:
        sign, strength = _OPERATORS[type(node.op)]
        right_side = strength + isinstance(node.op, ast.Sub | ast.Div | ast.Pow)
        left = self.tell(node.left, strength + isinstance(node.op, ast.Pow))
        right = self.tell(node.right, right_side)
        if (
            isinstance(node.op, ast.Pow)
            and left[1][0] != "("
            and (" " in left[1] or "−" in left[1])
        ):
            left = left[0], f"({left[1]})"  # a number with its sign and its unit is one thing
        both = [f"{a}{sign}{b}" for a, b in zip(left, right, strict=True)]
        if strength < above:
            both = [f"({text})" for text in both]
        return both[0], both[1]

    def _name(self, name: str) -> tuple[str, str]:
        if name in self.locals:
            return term(name).words, _value(name, first(self.locals[name]))
        constant = tables.constant_of(self.globals[name])
        if constant is None:
            raise TypeError(f"{name} is neither an input nor a constant of a table")
        return constant.name.replace("_", " "), show_in_full(constant.quantity)
