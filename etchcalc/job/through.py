"""Depth against time where the bath does not keep its temperature: warming, cooling, or as logged."""

from dataclasses import dataclass

import numpy as np

from etchcalc.core.formula import REGISTERED
from etchcalc.core.units import CELSIUS, MINUTE, MM, Quantity
from etchcalc.core.vocabulary import term
from etchcalc.job import logs
from etchcalc.job.book import Book
from etchcalc.job.commission import Commission
from etchcalc.process import heating, rates
from etchcalc.process.history import times_through

SLICES = 24
GRID = 7
BEYOND = 8.0  # °C that a way may lie beside the history's middle
HOT = ("transport_velocity", "reaction_velocity", "density_rise", "viscosity", "ferric_diffusivity",
       "ferric_concentration")  # fmt: skip
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

    def minutes_to(self, depths, line_width: str = "finest_line") -> np.ndarray:
        """Return minutes to depths in mm, shape (n, ways), for a line or field of the book.

        Parameters
        ----------
        depths : array of shape (n,)
            Rising; the last is beyond 0.
        line_width : str
            ``finest_line``, ``field_width`` or ``second_line``.
        """
        # thinner slices near the face, where a reading may be
        edges = float(np.max(depths)) * np.linspace(0.0, 1.0, SLICES + 1) ** 1.5
        grid = np.linspace(self.celsius.min() - BEYOND, self.celsius.max() + BEYOND, GRID)
        grid = np.clip(grid, 1.0, 80.0)
        middle = Quantity(((edges[1:] + edges[:-1]) / 2)[:, None, None], MM)
        found = times_through(
            edges, self._rates(middle, grid, line_width), grid, self._celsius_at,
            self._shift(), self._load(),
        )  # fmt: skip
        return np.array([np.interp(depths, edges, way) for way in found.T]).T

    def _celsius_at(self, minutes):
        return np.interp(minutes, self.minutes, self.celsius)

    def _rates(self, depth, grid, line_width: str) -> np.ndarray:
        velocity = VELOCITIES[line_width]
        warm = {"temperature": Quantity(grid[:, None], CELSIUS)}
        hot = self.book.reworked(warm, (velocity, *HOT[1:]))
        hot["transport_velocity"] = hot.pop(velocity)
        known = {
            k: self.book.values[k] for k in ("groove_turning", "ferric_demand", "rate_correction")
        }
        rate = rates.local_rate(
            depth=depth, line_width=self.book.values[line_width], **hot, **known
        )  # fmt: skip
        return rate.to(MM / MINUTE).magnitude

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
    depth, deeper = (
        float(np.ravel(book.values[n].to(MM).magnitude)[0]) for n in ("depth", "gauge_depth")
    )
    times = history.minutes_to(np.array([depth, deeper]))
    edges = np.linspace(0.0, depth, SLICES + 1)
    field = history.minutes_to(edges, "field_width")
    reached = np.array([np.interp(t, f, edges) for t, f in zip(times[0], field.T, strict=True)])
    basis = book.basis["fresh_rate"]
    for name, quantity in (
        ("etch_time", Quantity(times[0], MINUTE)),
        ("too_deep_time", Quantity(times[1], MINUTE)),
        ("etch_rate", book.values["depth"] / Quantity(times[0], MINUTE)),
        ("field_depth", Quantity(reached, MM)),
    ):
        book.put(name, quantity, basis)
        book.methods[name] = METHOD
