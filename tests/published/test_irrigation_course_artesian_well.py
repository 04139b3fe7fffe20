"""An artesian well, problem 3 of a course on irrigation and drainage (scribd.com, 623557107).

[seen]: well of 0.10 m, layer of 4 m, 75 m/day, drawdown 2.5 m, radius of influence 120 m.
"""

import pytest

from routescreen.engineering.dewatering import radial_inflow_m3_per_s


def test_discharge():
    per_day = radial_inflow_m3_per_s(75.0, 12.5, 10.0, 120.0, 0.05, thickness_m=4.0)
    assert per_day == pytest.approx(605.472, rel=1e-4)  # [seen], printed with a rounded logarithm
