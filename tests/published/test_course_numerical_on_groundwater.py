"""A course's numerical on groundwater (ques10.com, 29590).

[seen]: without pressure, 20 m of water, 5 000 l/min, drawdown 1 m at 30 m and 0.5 m at 100 m. The printed
solution rounds pi/ln(10) = 1.364 to 1.36, so 0.3 % are its own.
"""

import pytest

from routescreen.engineering.dewatering import radial_inflow_m3_per_s

k = 5.0 / 60.0 / radial_inflow_m3_per_s(1.0, 19.5, 19.0, 100.0, 30.0)


def test_permeability():
    assert k == pytest.approx(1.663e-3, rel=3.5e-3)  # [seen]


def test_transmissibility():
    assert 20.0 * k == pytest.approx(0.0332, rel=3.5e-3)  # [seen]
