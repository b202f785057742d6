"""What one hostile or broken file is, and the baits that it may name."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

WIDTH, HEIGHT = 60.0, 40.0  # mm of the plate that is asked for


@dataclass(frozen=True)
class Bait:
    """What lies outside the files, and must never be opened or asked.

    Attributes
    ----------
    folder : Path
        Holds a drawing, all black, of each kind: `bait.svg`, `bait.pdf`, ...
    url : str
        Of a server on this machine that waits in vain, with a slash at its end.
    """

    folder: Path
    url: str

    def file(self, ending: str) -> str:
        """Return the path of the bait of a kind."""
        return f"{self.folder}/bait.{ending}"


@dataclass(frozen=True)
class Case:
    """A file, and how its reading must end.

    Attributes
    ----------
    name : str
        The file's.
    data : bytes
        What is in it.
    ends : str or float
        What the sentence that refuses it says (a regular expression), or what
        is etched of a harmless one, mm²; "" where either will do.
    asked : dict
        What is said of it beside the plate's size.
    """

    name: str
    data: bytes = field(repr=False)
    ends: str | float
    asked: dict[str, Any] = field(default_factory=dict)


def cut(name: str, data: bytes, ends: str, many: int = 8) -> list[Case]:
    """Return a file cut short in many places, the last a few bytes before its end."""
    stem, _, ending = name.rpartition(".")
    places = [len(data) * i // many for i in range(1, many)] + [len(data) - 9]
    return [Case(f"{stem}-{at}.{ending}", data[:at], ends) for at in places]
