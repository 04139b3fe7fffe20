"""How far a drawdown reaches, a question in civil engineering with its answer (assignmentexpert.com, 317058).

[seen]: without pressure, layer of 14.05 m, 0.028 m3/s, k 1.4e-4 m/s, drawdown 9.52 m at 10.0 m; it is
4.81 m at 27.70 m.
"""

import pytest

from routescreen.engineering.dewatering import head_at_m, radial_inflow_m3_per_s


def test_distance_of_the_smaller_drawdown():
    found = head_at_m(27.70, 0.028, 1.4e-4, 14.05 - 9.52, 10.0)  # [seen]
    assert 14.05 - found == pytest.approx(4.81, abs=0.005)  # [seen]


def test_and_back():
    inflow = radial_inflow_m3_per_s(1.4e-4, 14.05 - 4.81, 14.05 - 9.52, 27.70, 10.0)
    assert inflow == pytest.approx(0.028, rel=1e-3)  # [seen]
