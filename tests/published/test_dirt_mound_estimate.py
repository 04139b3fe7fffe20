"""Volume of a mound of earth (panswork.com, thread 26346).

[seen]: 12 feet high with sides of 5 to 1 all round, radius 60 feet: 45 239 cubic feet, 1 675 cubic yards.
"""

import math

import pytest

from routescreen.engineering.soil_heaps import cone_m3, heap_cone_m


def test_volume():
    volume = cone_m3(12.0, 120.0)
    assert volume == pytest.approx(45239.0, abs=0.5)  # [seen]
    assert volume / 27.0 == pytest.approx(1675.0, abs=1.0)  # [seen]


def test_height_and_radius():
    height, diameter = heap_cone_m(45239.0, math.degrees(math.atan(1.0 / 5.0)))
    assert (height, diameter / 2.0) == pytest.approx((12.0, 60.0), rel=1e-4)  # [seen]
