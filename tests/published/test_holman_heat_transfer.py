"""Holman, Heat Transfer, chapter 3: a buried pipe.

Data [seen]: 15 cm, 4 m long, 20 cm deep, 75 degC over 5 degC, 0.8 W/m K. Results [memory]: 15.35 m, 859.6 W.
"""

import math

import pytest

from routescreen.engineering.heat import own_ground_log


def test_buried_pipe():
    shape_m = 2.0 * math.pi * 4.0 / own_ground_log(0.20, 0.15)
    assert shape_m == pytest.approx(15.35, abs=0.01)  # [memory]
    assert 0.8 * shape_m * 70.0 == pytest.approx(859.6, abs=0.5)  # [memory]
