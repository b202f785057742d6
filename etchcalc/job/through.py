"""Depth against time where the bath does not keep its temperature: warming, cooling, or as logged."""

from dataclasses import dataclass, field

import numpy as np

from etchcalc.core.formula import REGISTERED
from etchcalc.core.units import CELSIUS, MINUTE, MM, Quantity
from etchcalc.core.vocabulary import term
from etchcalc.job import logs
from etchcalc.job.book import Book, number
from etchcalc.job.commission import Commission
from etchcalc.process import heating, rates
from etchcalc.process.history import times_through

SLICES = 24
GRID = 7
BEYOND = 8.0  # °C that a way may lie beside the history's middle
HOT = (
    "reaction_velocity",
    "density_rise",
    "viscosity",
    "ferric_diffusivity",
    "ferric_concentration",
)
COLD = ("groove_turning", "ferric_demand", "rate_correction")
SOURCES = ("turnover", "first_order_tiring")
METHOD = (
    "time summed over 24 slices of the depth, in each the rate at the temperature of the bath when the "
    "groove gets there, and falling with the ferric left"
)


@dataclass(frozen=True)
class History:
    """How the bath's temperature goes, and the book whose bath it is.

    Parameters
    ----------
    book : Book
    minutes, celsius : array of shape (n,)
        The middle temperature on the clock that starts when the plates go in; held after the last.
    """

    book: Book
    minutes: np.ndarray
    celsius: np.ndarray
    _kept: dict = field(default_factory=dict, compare=False, repr=False)

    def minutes_to(
        self, depths, line_width: str = "finest_line", middle: bool = False
    ) -> np.ndarray:
        """Return minutes to depths in mm, shape (n, ways), for a line or field of the book.

        Parameters
        ----------
        depths : array of shape (n,)
        line_width : str
            ``finest_line``, ``field_width`` or ``second_line``.
        middle : bool
            Of the middle only, shape (n, 1).
        """
        edges, times = self._marched(float(np.max(depths)), line_width, middle)
        return np.array([np.interp(depths, edges, way) for way in times.T]).T

    def _marched(self, most: float, line_width: str, middle: bool) -> tuple:
        """Return slices' edges in mm and the minutes to them, kept for the next question."""
        known = self._kept.get((line_width, middle))
        if known is not None and known[0][-1] >= most:
            return known
        # the forecast is drawn a little deeper than the job goes: one march serves both
        most = max(most, 1.45 * number(self.book, "depth"), number(self.book, "gauge_depth"))
        # thinner slices near the face, where a reading may be
        edges = most * np.linspace(0.0, 1.0, SLICES + 1) ** 1.5
        grid = np.linspace(self.celsius.min() - BEYOND, self.celsius.max() + BEYOND, GRID)
        grid = np.clip(grid, 1.0, 80.0)
        deep = Quantity(((edges[1:] + edges[:-1]) / 2)[:, None, None], MM)
        shift, load = self._shift(), self._load()
        if middle:
            shift, load = shift[:1], np.ravel(load)[:1]
        rate = self._rates(deep, grid, line_width, middle)
        found = edges, times_through(edges, rate, grid, self._celsius_at, shift, load)
        self._kept[line_width, middle] = found
        return found

    def _celsius_at(self, minutes):
        return np.interp(minutes, self.minutes, self.celsius)

    def _rates(self, depth, grid, line_width: str, middle: bool) -> np.ndarray:
        hot = dict(self._hot(grid, line_width))
        velocities = {width: hot.pop(name) for width, name in VELOCITIES.items() if name in hot}
        known = {n: self.book.values[n] for n in COLD} | hot
        known |= {"transport_velocity": velocities[line_width]}
        known["line_width"] = self.book.values[line_width]
        if middle:
            known = {n: q[..., :1] if np.ndim(q.magnitude) else q for n, q in known.items()}
        return rates.local_rate(depth=depth, **known).to(MM / MINUTE).magnitude

    def _hot(self, grid, line_width: str) -> dict:
        """Return what goes with the temperature, at each of the grid's."""
        if VELOCITIES[line_width] not in self._kept.get("hot", ()):
            warm = {"temperature": Quantity(grid[:, None], CELSIUS)}
            velocities = [name for name in VELOCITIES.values() if name in self.book.values]
            self._kept["hot"] = self.book.reworked(warm, (*velocities, *HOT))
        return self._kept["hot"]

    def _shift(self) -> np.ndarray:
        ways = np.atleast_1d(self.book.values["temperature"].to(CELSIUS).magnitude)
        return ways - ways[0]

    def _load(self):
        """Return the share of the ferric that a mm of depth uses."""
        depth = self.book.values["depth"].to(MM).magnitude
        return self.book.values["load_share"].to("").magnitude / depth


VELOCITIES = {
    "finest_line": "transport_velocity",
    "field_width": "field_velocity",
    "second_line": "second_velocity",
}


def history(book: Book, commission: Commission) -> History | None:
    """Return how the bath's temperature goes, None where it is kept.

    Raises
    ------
    BadInput
        The thermometer's log is missing or faulty.
    """
    name = commission.words["temperature_log"]
    if name and commission.folder:
        log = logs.thermometer_log(commission.folder / name)
        return History(book, log.minutes, log.celsius)
    goes = commission.words["plates_go_in"]
    if goes == "when it is warm":
        return None
    inputs = {name: book.values[name] for name in REGISTERED["warm_up_time"].inputs}
    if goes == "as it cools":
        nothing = term("heater_rating").quantity(0.0)
        inputs |= {
            "heater_rating": nothing,
            "starting_temperature": inputs["temperature"],
            "temperature": term("temperature").quantity(term("temperature").low),
        }
    return History(book, *heating.temperature_curve(**inputs))


def enter_times(history: History) -> None:
    """Enter the times of the finest line and the depth of a wide field, which formulas give otherwise."""
    book = history.book
    depth, deeper = (number(book, name) for name in ("depth", "gauge_depth"))
    times = history.minutes_to(np.array([depth, deeper]))
    edges = np.linspace(0.0, depth, SLICES + 1)
    slower = history.minutes_to(edges, "field_width")
    reached = np.array([np.interp(t, f, edges) for t, f in zip(times[0], slower.T, strict=True)])
    basis = book.basis["fresh_rate"]
    for name, quantity in (
        ("etch_time", Quantity(times[0], MINUTE)),
        ("too_deep_time", Quantity(times[1], MINUTE)),
        ("etch_rate", book.values["depth"] / Quantity(times[0], MINUTE)),
        ("field_depth", Quantity(reached, MM)),
    ):
        book.put(name, quantity, basis)
        book.methods[name] = METHOD


def enter_second(history: History) -> None:
    """Enter the time of the deeper lines of a plate with two depths."""
    book = history.book
    minutes = history.minutes_to(np.array([number(book, "second_depth")]), "second_line")[0]
    book.put("second_time", Quantity(minutes, MINUTE), book.basis["second_fresh_rate"])
    book.methods["second_time"] = METHOD
