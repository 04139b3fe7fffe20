"""S. W. Nunnally, Construction Methods and Management, spoil banks: two examples, from memory.

[memory]: 100 cubic yards in place, 25 % swell, 37 degrees, a bank 30 feet long: base 24.4, height 9.2 feet;
150 cubic yards, 12 % swell, 32 degrees, a cone: base 38.1, height 11.9 feet.
"""

import pytest

from routescreen.engineering.soil_heaps import heap_cone_m, soil_heap
from routescreen.engineering.trench import loose_volume_m3


def test_triangular_bank():
    area = loose_volume_m3(27.0 * 100.0, 0.25) / 30.0
    bank = soil_heap(area, most_height_m=100.0, slope_deg=37.0)
    assert bank.width_m == pytest.approx(24.4, abs=0.05)  # [memory]
    assert bank.height_m == pytest.approx(9.2, abs=0.05)  # [memory]


def test_conical_pile():
    height, diameter = heap_cone_m(loose_volume_m3(27.0 * 150.0, 0.12), 32.0)
    assert diameter == pytest.approx(38.1, abs=0.05)  # [memory]
    assert height == pytest.approx(11.9, abs=0.05)  # [memory]
