"""A student's question on a pumped layer under pressure, with its answer (stored page parte/16252333).

[seen]: 2 000 m3/day, heads 249 m at 160 m and 250 m at 453 m, layer of 33 m.
"""

import pytest

from routescreen.engineering.dewatering import head_at_m, radial_inflow_m3_per_s


def test_permeability_and_transmissivity():
    k = 2000.0 / radial_inflow_m3_per_s(1.0, 250.0, 249.0, 453.0, 160.0, thickness_m=33.0)
    assert k == pytest.approx(10.039, abs=1e-3)  # [seen]
    assert 33.0 * k == pytest.approx(331.287, abs=0.05)  # [seen], printed from the rounded k


def test_drawdown_at_100_m():
    head = 250.0 - 1.452  # [seen]
    found = head_at_m([160.0, 453.0], 2000.0, 10.039, head, 100.0, thickness_m=33.0)
    assert found == pytest.approx([249.0, 250.0], abs=1e-3)
