"""A course's question on a well that draws from a layer under pressure (justaaa.com, 1097501).

[seen]: well of 0.30 m, layer of 20 m, 45 m/day, drawdown 3.00 m, radius of influence 300 m.
"""

import pytest

from routescreen.engineering.dewatering import radial_inflow_m3_per_s


def test_discharge():
    per_day = radial_inflow_m3_per_s(45.0, 33.0, 30.0, 300.0, 0.15, thickness_m=20.0)
    assert per_day == pytest.approx(2231.92, abs=0.05)  # [seen]
    assert per_day / 86400.0 == pytest.approx(0.02583, abs=5e-6)  # [seen]
