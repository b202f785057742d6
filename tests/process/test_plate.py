"""The blank and its open metal."""

import pytest

from etchcalc.core.units import read, unit
from etchcalc.process import plate


def test_the_margin_is_on_every_side():
    # 120 + 24 by 45 + 24 mm
    area = plate.blank_area(
        plate_width=read("120 mm"), plate_height=read("45 mm"), waste_margin=read("12 mm")
    )
    assert area.to(unit("mm^2")).magnitude == pytest.approx(144 * 69)


def test_open_metal_is_a_share_of_the_finished_face():
    # 100 × 100 mm, 40 % open: 40 cm²
    area = plate.open_area(
        open_fraction=read("40 %"), plate_width=read("100 mm"), plate_height=read("10 cm")
    )
    assert area.to(unit("cm^2")).magnitude == pytest.approx(40)
