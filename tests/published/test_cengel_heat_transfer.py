"""Cengel, Heat and Mass Transfer, chapter 3: a hot water pipe of a geothermal heating system.

Data [seen]: 30 m long, 10 cm, 50 cm deep, 80 over 10 degC, 0.9 W/m K. Results [memory]: 62.9 m, 3 963 W,
by ln(4 z / D), which for deep pipes is the same to 0.1 %.
"""

import math

import pytest

from routescreen.engineering.heat import own_ground_log


def test_buried_pipe():
    shape_m = 2.0 * math.pi * 30.0 / own_ground_log(0.50, 0.10)
    assert shape_m == pytest.approx(62.9, rel=0.002)  # [memory]
    assert 0.9 * shape_m * 70.0 == pytest.approx(3963.0, rel=0.002)  # [memory]
