"""What the shop pays and asks: the ``[price]`` table, as typed and as understood.

It may stand in the shop's own ``prices.toml`` and in a commission, whose lines
win. An amount of money is typed with what it buys: "12.40 / kg", "18 / 5 L",
"31 / sheet". Money is counted in decimals, never in binary fractions. Nothing
is started from: the package holds no amount of money.
"""

import difflib
import re
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from etchcalc.core.faults import BadInput, joined, listed
from etchcalc.core.term import Term
from etchcalc.core.units import KG, LITRE, ONE, read, unit
from etchcalc.job.files import text_of, toml_of

NAME = "prices.toml"
UNITS = {"h": unit("hour"), "kg": KG, "m²": unit("m^2"), "L": LITRE, "kWh": unit("kWh")}
MOST = Decimal(10) ** 9
PENNY = Decimal("0.01")


@dataclass(frozen=True)
class Asked:
    """What can have a price: what it is, the unit it is counted in, and what else it goes by."""

    words: str
    per: str = ""
    counted: tuple[str, ...] = ()

    @property
    def examples(self) -> str:
        """How its price is typed, as it stands in a sentence."""
        return listed([f"“1.00 / {per}”" for per in (self.per, *self.counted) if per])


RATES = {
    "work": Asked("an hour at the bench", "h"),
    "sheet_metal": Asked("metal off the sheet", "kg", ("sheet",)),
    "film": Asked("film", "m²", ("film",)),
    "resist": Asked("resist", "m²"),
    "crystals": Asked("crystals", "kg"),
    "soda": Asked("washing soda", "kg"),
    "stop_out_paint": Asked("stop-out paint", "L"),
    "fill_paint": Asked("fill paint", "L"),
    "lacquer": Asked("lacquer", "L"),
    "thinners": Asked("thinners", "L"),
    "energy": Asked("heating", "kWh"),
    "waste": Asked("waste carried away", "L"),
    "packing": Asked("packing", "", ("job", "plate")),
    "carriage": Asked("carriage", "", ("job", "plate")),
}
SHARES = {
    "overhead": Term("overhead", "share", "rent and tools, over work and material", 0, 1000, 10),
    "spoilage": Term("spoilage", "share", "plates spoilt, of those begun", 0, 80, 10),
    "markup": Term("markup", "share", "profit over cost", 0, 1000, 10),
    "margin": Term("margin", "share", "profit over the price before tax", 0, 90, 10),
    "tax": Term("tax", "share", "tax over the price before tax", 0, 100, 10),
}
PROFIT = ("markup", "margin")
KNOWN = ("currency", *RATES, *SHARES, "rounding")
MUST = ("work", "sheet_metal")


@dataclass(frozen=True)
class Rate:
    """A price of something.

    Parameters
    ----------
    typed : str
        Such as "6.80 / lb".
    amount : Decimal
        Money for one of `per`.
    per : str
        A key of `UNITS`, or what is counted: "sheet", "film", "job", "plate".
    word : str
        The unit as it was typed: "lb".
    size : Decimal
        How many of `per` one typed unit is.
    """

    typed: str
    amount: Decimal
    per: str
    word: str
    size: Decimal


@dataclass(frozen=True)
class Prices:
    """What the shop pays and asks.

    Parameters
    ----------
    typed : dict of str to str
        What was written, by name.
    currency : str
        Its label, such as "GBP"; "" where it is not said.
    rates : dict of str to Rate
    shares : dict of str to Decimal
        Of one, not of a hundred.
    step : Decimal
        To which the price before tax is rounded.
    """

    typed: dict[str, str]
    currency: str
    rates: dict[str, Rate]
    shares: dict[str, Decimal]
    step: Decimal

    @property
    def on_cost(self) -> Decimal:
        """The profit over the cost: the markup, or what the margin comes to."""
        if "margin" in self.shares:
            return self.shares["margin"] / (1 - self.shares["margin"])
        return self.shares.get("markup", Decimal(0))

    @property
    def not_counted(self) -> tuple[str, ...]:
        """What has no price here."""
        return tuple(asked.words for name, asked in RATES.items() if name not in self.rates)


def understood(commission: dict[str, Any], shop: dict[str, Any] | None = None) -> Prices:
    """Return the prices that typed lines mean.

    Parameters
    ----------
    commission : dict of str to str
        Lines of the commission's ``[price]``; they win.
    shop : dict of str to str, optional
        Lines of the shop's own `prices.toml`.

    Raises
    ------
    BadInput
        One sentence that names every fault.
    """
    faults: list[str] = []
    for where, said in (("shop's prices", shop or {}), ("price", commission)):
        if all(_text(said, name) for name in PROFIT):
            faults.append(f"{where}: markup and margin are both typed; type one of them")
    typed = _merged(commission, shop or {})
    currency = typed.get("currency", "")
    if len(currency) > 12 or re.search(r"[\d/]", currency):
        faults.append(
            f"currency: “{currency[:20]}” is no label; type a short one without figures, such as GBP"
        )
    rates = {n: _tried(_rate, n, typed[n], currency, faults) for n in RATES if n in typed}
    shares = {n: _tried(_share, n, typed[n], currency, faults) for n in SHARES if n in typed}
    step = _tried(_step, "rounding", typed.get("rounding", "0.01"), currency, faults)
    for name in typed:
        if name not in KNOWN:
            near = difflib.get_close_matches(name, KNOWN, 1)
            hint = f"did you mean {near[0]}?" if near else f"it knows {listed(KNOWN)}"
            faults.append(f"[price] knows no “{name}”; {hint}")
    if faults:
        raise BadInput(joined(faults))
    return Prices(typed, currency, rates, shares, step)


def missing(prices: Prices) -> str:
    """Return what is to be typed before there is a price, as a sentence; "" where nothing is."""
    wanted = [] if prices.currency else ["currency, such as “GBP”"]
    wanted += [
        f"{n} ({RATES[n].words}), such as {RATES[n].examples}"
        for n in MUST
        if n not in prices.rates
    ]
    if not any(name in prices.shares for name in PROFIT):
        wanted.append("markup (on cost) or margin (of the price), such as “10 %”")
    if not wanted:
        return ""
    return f"No price yet: in {NAME} or in the commission's [price] type {'; '.join(wanted)}."


def parsed(text: str) -> dict[str, str]:
    """Return the lines of the ``[price]`` table of a TOML text, not yet checked.

    Raises
    ------
    BadInput
        It is no TOML, or holds anything else.
    """
    document = toml_of(text, NAME, 'work = "1.00 / h"')
    table = document.pop("price", {})
    if document or not isinstance(table, dict):
        raise BadInput(f"{NAME}: it holds one part; write [price] and its lines below it.")
    return {name: str(value) for name, value in table.items()}


def opened(root: Path) -> dict[str, str]:
    """Return the lines of the shop's own prices; none where it has no `prices.toml`."""
    path = root / NAME
    return parsed(text_of(path, "The file of prices")) if path.is_file() else {}


def blank() -> str:
    """Return a commented `prices.toml` to fill in."""
    lines = ["# What the shop pays and asks. An amount stands with what it buys; the package holds no price.",
             "", "[price]", '# currency = ""  # its label']  # fmt: skip
    lines += [f'# {name} = ""  # {a.words}: {a.examples}' for name, a in RATES.items()]
    lines += [f'# {name} = ""  # {entry.meaning}, in %' for name, entry in SHARES.items()]
    lines += ["# type markup or margin, one of them"]
    lines += ['# rounding = "0.01"  # step of the price before tax: 0.01, 1 or 5', ""]
    return "\n".join(lines)


def money(amount, currency: str = "") -> str:
    """Return an amount of money as it stands on the page: two decimals and the label."""
    return f"{amount:.2f} {currency}".strip().replace("-", "−")


def exact(value: Any) -> Decimal:
    """Return the decimal that a number was typed as: to twelve figures."""
    return Decimal(f"{float(value):.12g}")


def _text(said: dict[str, Any], name: str) -> str:
    return str(said.get(name) or "").strip()


def _merged(commission: dict[str, Any], shop: dict[str, Any]) -> dict[str, str]:
    """Return the typed lines, the commission's in the place of the shop's."""
    own = {name: _text(commission, name) for name in commission if _text(commission, name)}
    if any(name in own for name in PROFIT):
        shop = {name: text for name, text in shop.items() if name not in PROFIT}
    return {**{name: _text(shop, name) for name in shop if _text(shop, name)}, **own}


def _tried(reader, name: str, text: str, currency: str, faults: list[str]) -> Any:
    """Return what a line means, or None and its fault."""
    try:
        return reader(name, text, currency)
    except BadInput as fault:
        faults.append(str(fault))
        return None


def _rate(name: str, text: str, currency: str) -> Rate:
    asked = RATES[name]
    typed_money, per = _parts(text)
    if not per and "job" in asked.counted:
        per, text = "job", f"{text} / job"
    if not per:
        raise BadInput(f"{name}: {text} for how much? Type {asked.examples}")
    amount = _money(name, typed_money, currency, asked.examples)
    word, number = _counted(per)
    if word in asked.counted:
        return Rate(text, amount / number, word, word, Decimal(1))
    one = _measured(name, per, asked)
    word = re.sub(r"^[\d\s.,/½¼¾⅓⅔⅛⅜⅝⅞]+", "", per)
    to_one = one.to(UNITS[asked.per])
    size = exact(to_one.magnitude)
    return Rate(text, amount / size, asked.per, word, size / exact(one.magnitude))


def _parts(text: str) -> tuple[str, str]:
    """Return the money and what it buys; "" where that is not said."""
    for between in (r"\s+/\s+", r"\s*\bper\b\s*", r"\s*/\s*(?=[^\d\s])", r"\s*/\s*"):
        parts = re.split(between, text.strip(), maxsplit=1)
        if len(parts) == 2:
            return parts[0], parts[1].strip()
    return text, ""


def _money(name: str, text: str, currency: str, examples: str) -> Decimal:
    bare = text.replace(currency, "") if currency else text
    try:
        quantity = read(bare)
    except BadInput as fault:
        raise BadInput(f"{name}: {fault}; type {examples}") from None
    value = float(quantity.magnitude)
    if quantity.units != ONE or not 0 <= value <= MOST:
        raise BadInput(f"{name}: “{text}” is no amount of money; type {examples}")
    return exact(value)


def _counted(per: str) -> tuple[str, Decimal]:
    """Return what is counted and how many: "2 sheets"; ("", 1) where it is something else."""
    found = re.fullmatch(r"([1-9]\d{0,5})?\s*([a-z]+)", per.lower())
    return (found[2].removesuffix("s"), Decimal(found[1] or 1)) if found else ("", Decimal(1))


def _measured(name: str, per: str, asked: Asked):
    """Return the quantity that an amount of money buys."""
    refused = f"{name}: “{per}” is not what it is counted in here; type {asked.examples}"
    if not asked.per:
        raise BadInput(refused)
    try:
        one = read(per if re.match(r"[\d.,½¼¾⅓⅔⅛⅜⅝⅞]", per) else f"1 {per}")
    except BadInput as fault:
        raise BadInput(f"{name}: {fault}; type {asked.examples}") from None
    if one.units == unit("day"):
        raise BadInput(f"{name}: a day at the bench is not 24 hours; type {asked.examples}")
    alike = one.dimensionality == UNITS[asked.per].dimensionality
    if not alike or not 1e-9 < one.to(UNITS[asked.per]).magnitude < 1e9:
        raise BadInput(refused)
    return one


def _share(name: str, text: str, _: str) -> Decimal:
    return exact(SHARES[name].read(text).to(ONE).magnitude)


def _step(name: str, text: str, currency: str) -> Decimal:
    step = _money(name, text, currency, "0.01, 1 or 5")
    if step < PENNY or step % PENNY:
        raise BadInput(f"{name}: “{text}” is no step of money; type 0.01, 1 or 5")
    return step
