"""A cable maker's handling sheet (Fujikura): side wall pressure T / R of at most 500 kg/m.

[seen]. 500 kgf/m = 4.9 kN/m, which common practice rounds to 5.
"""

import pytest

from routescreen.engineering.cable_pull import side_wall_kN_per_m
from routescreen.engineering.ramp import bend_radius_m

KN_PER_KGF = 9.80665e-3


def test_pressure_and_the_radius_that_keeps_it():
    limit = 500.0 * KN_PER_KGF  # [seen]
    assert limit == pytest.approx(5.0, rel=0.02)
    radius_m = bend_radius_m(least_bend_m=0.0, pull_kN=2000.0 * KN_PER_KGF, side_wall_kN_per_m=limit)
    assert radius_m == pytest.approx(4.0)  # 2 000 kg / 500 kg/m
    assert side_wall_kN_per_m(2000.0 * KN_PER_KGF, radius_m) == pytest.approx(limit)
