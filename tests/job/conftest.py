"""A small commission without artwork, and its plan."""

import pytest

from etchcalc.job.commission_file import parsed
from etchcalc.job.plan import planned

ORDER = """# an order of the tests
[commission]
title = "Tide table"  # as the client calls it
units = "metric"

[plate]
metal = "CuZn37"
plate_width = "120 mm"
plate_height = "45 mm"  # measured twice
plate_thickness = "1.6 mm"
plate_count = "3"

[lines]
finest_line = "0.40 mm"
depth = "0.15 mm"

[artwork]
open_fraction = "15 %"

[bath]
strength = "500 g/L"
temperature = "42 °C"
"""


@pytest.fixture(scope="session")
def order():
    return ORDER


@pytest.fixture(scope="session")
def commission():
    return parsed(ORDER)


@pytest.fixture(scope="session")
def plan(commission):
    return planned(commission)
