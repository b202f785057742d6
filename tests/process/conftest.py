"""Published tables: ``@pytest.mark.published("file.csv")`` gives a test one `row` at a time.

Further names in the marker are columns: rows that leave one of them empty are left out.
"""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

PUBLISHED = Path(__file__).parents[1] / "published"


def pytest_configure(config):
    config.addinivalue_line(
        "markers", "published(file, *columns): one `row` of a published table at a time"
    )


def pytest_generate_tests(metafunc):
    marker = metafunc.definition.get_closest_marker("published")
    if marker and "row" in metafunc.fixturenames:
        text = (PUBLISHED / marker.args[0]).read_text(encoding="utf-8")
        lines = [line for line in text.splitlines() if not line.startswith("#")]
        rows = [row for row in csv.DictReader(lines) if all(row[c] for c in marker.args[1:])]
        metafunc.parametrize("row", rows, ids=[" ".join(list(row.values())[:2]) for row in rows])


def _printed(text: str, units: float = 0.5) -> object:
    """A published number, within so many units of its last printed digit."""
    exponent = Decimal(text).as_tuple().exponent
    # a hair more, for a value that lies on the half itself
    return pytest.approx(float(text), abs=1.0001 * units * 10.0**exponent, rel=0)


@pytest.fixture(scope="session")
def printed():
    return _printed
