"""A pumping test under pressure, solved question 6.4 of a hydrology text (holooly.com, solutions v20).

[seen]: water-bearing layer 20 m thick below 30 m of tight ground, 0.1 m3/s, drawdown 4 m at 10 m and 3 m at
60 m; permeability, and drawdown in the test well of 0.5 m diameter.
"""

import pytest

from routescreen.engineering.dewatering import head_at_m, radial_inflow_m3_per_s

UNDISTURBED_M = 50.0  # under pressure only differences count; the drawn-down heads stay above the roof


def test_permeability():
    of_unit = radial_inflow_m3_per_s(
        1.0, UNDISTURBED_M - 3.0, UNDISTURBED_M - 4.0, 60.0, 10.0, thickness_m=20.0
    )
    assert 0.1 / of_unit == pytest.approx(1.43e-3, abs=5e-6)  # [seen]


def test_drawdown_in_the_well():
    in_well = UNDISTURBED_M - 6.05  # [seen]
    found = head_at_m(10.0, 0.1, 1.43e-3, in_well, 0.25, thickness_m=20.0)
    assert UNDISTURBED_M - found == pytest.approx(4.0, abs=0.005)  # [seen]
