"""NCERT, Physics for class XII, chapter 5, exercise 5.19: a telephone cable in the earth's field.

[seen] in solutions of several publishers: four wires of 1.0 A from east to west, earth 0.39 G, dip 35 deg,
points 4.0 cm below and above. Two digits are printed, steps rounded or cut: 0.005 G each.
"""

import math

import numpy as np
import pytest

from routescreen.engineering.field import cable_field_uT, with_earth_uT

UT_PER_G = 100.0
TO_WEST_DEG = 270.0
HORIZONTAL_UT = 39.0 * math.cos(math.radians(35.0))
DOWN_UT = 39.0 * math.sin(math.radians(35.0))


def field():
    return cable_field_uT(
        [0.0, 0.0],
        [-0.04, 0.04],
        cable_offset_m=np.zeros(4),
        cable_height_m=np.zeros(4),
        current_A=np.ones(4),
    )


def test_parts():
    right, _ = field()
    assert right / UT_PER_G == pytest.approx([-0.2, 0.2], abs=1e-9)  # [seen]; the right of west is north
    assert (HORIZONTAL_UT + right) / UT_PER_G == pytest.approx([0.12, 0.52], abs=0.005)  # [seen]


def test_resultants():
    total = with_earth_uT(
        *field(), bearing_deg=TO_WEST_DEG, earth_horizontal_uT=HORIZONTAL_UT, earth_down_uT=DOWN_UT
    )
    assert total[0] / UT_PER_G == pytest.approx(0.25, abs=0.005)  # [seen]
    assert total[1] / UT_PER_G == pytest.approx(0.566, abs=0.005)  # [seen], cut to 0.56
