"""Solved problems on retaining walls, revision of September 2008 (scribd.com, 269520493).

[seen]: Rankine's coefficients, active 0.33 at 30 degrees and passive 3.690 at 35 degrees.
"""

import pytest

from routescreen.engineering.ground_stress import active_coefficient
from routescreen.engineering.thrust_wall import passive_coefficient


def test_coefficients():
    assert active_coefficient(30.0) == pytest.approx(0.33, abs=0.005)  # [seen]
    assert passive_coefficient(35.0) == pytest.approx(3.690, abs=5e-4)  # [seen]
