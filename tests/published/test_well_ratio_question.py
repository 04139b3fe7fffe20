"""An exam question on two drawdowns of one well (curioustab.com, 69464).

[seen]: 100 m of water without pressure; discharges at 20 m and at 40 m of drawdown are as 9 to 16.
"""

import pytest

from routescreen.engineering.dewatering import radial_inflow_m3_per_s


def test_ratio():
    first, second = radial_inflow_m3_per_s(1.0, 100.0, [80.0, 60.0], 300.0, 0.15)
    assert first / second == pytest.approx(9.0 / 16.0)  # [seen]
