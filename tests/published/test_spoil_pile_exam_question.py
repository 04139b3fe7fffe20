"""An exam question on a conical spoil pile (gauthmath.com, 1815946365439239).

[seen]: 76.5 m3 in place, 12 % swell, 32 degrees; of the four answers offered one is 10.156 m and 3.173 m.
"""

import pytest

from routescreen.engineering.soil_heaps import heap_cone_m
from routescreen.engineering.trench import loose_volume_m3


def test_diameter_and_height():
    height, diameter = heap_cone_m(loose_volume_m3(76.5, 0.12), 32.0)
    assert diameter == pytest.approx(10.156, abs=1e-3)  # [seen]
    assert height == pytest.approx(3.173, abs=1e-3)  # [seen]
