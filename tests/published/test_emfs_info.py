"""Fields of underground DC cables: emfs.info, static fields, sources, HVDC (UK electricity industry).

[seen]: two cables 0.5 m apart, 1 m deep, 2 000 A each, field 1 m above ground; with the earth's field of
exactly 50 uT and the line to the north also the total and the turn of a compass. The dip isn't printed: the
first total, 96.9 uT above the cables, gives it; the others check it. Fields are printed to 0.01 uT: 0.005.
"""

import math

import numpy as np
import pytest

from routescreen.engineering.field import cable_field_uT, compass_error_deg, with_earth_uT

DISTANCES_M = np.array([0.0, 5.0, 10.0, 20.0])
EARTH_UT = 50.0  # [seen]
# H^2 + (Z + B)^2 = 96.9^2 with B = 49.23 and H^2 + Z^2 = 50^2.
DOWN_UT = (96.9**2 - EARTH_UT**2 - 49.23**2) / (2.0 * 49.23)
HORIZONTAL_UT = math.sqrt(EARTH_UT**2 - DOWN_UT**2)


def field(first_A):
    return cable_field_uT(
        DISTANCES_M,
        np.full(4, 1.0),
        cable_offset_m=[-0.25, 0.25],
        cable_height_m=[-1.0, -1.0],
        current_A=[first_A, -first_A],
    )


def test_field_of_the_cables():
    expected_uT = np.array([49.23, 6.91, 1.92, 0.50])  # [seen]
    assert np.hypot(*field(2000.0)) == pytest.approx(expected_uT, abs=0.005)


def test_dip_is_that_of_the_place():
    assert math.degrees(math.asin(DOWN_UT / EARTH_UT)) == pytest.approx(66.0, abs=2.0)  # [memory]


def test_total_field():
    # Downwards between both cables, as the earth's.
    right, up = field(2000.0)
    down_first = up[0] < 0.0
    right, up = (right, up) if down_first else field(-2000.0)
    total = with_earth_uT(
        right, up, bearing_deg=0.0, earth_horizontal_uT=HORIZONTAL_UT, earth_down_uT=DOWN_UT
    )
    assert total[1:] == pytest.approx([45.77, 48.40, 49.56], rel=0.001)  # [seen]


def test_compass():
    right, _ = field(2000.0)
    error = compass_error_deg(right, bearing_deg=0.0, earth_horizontal_uT=HORIZONTAL_UT)
    assert np.abs(error) == pytest.approx([0.0, 12.7, 2.0, 0.3], abs=0.1)  # [seen]
