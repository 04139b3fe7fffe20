"""I. Smith, Elements of Soil Mechanics, example 7.2: two soils behind a smooth wall.

[seen] (what-when-how.com, topic 206): 3 m of 16 kN/m3 above; coefficients 0.33 at 30 degrees, 0.49 at
20 degrees; active pressure jumps from 16 to 23.5 kPa.
"""

import pytest

from routescreen.engineering.ground_stress import active_coefficient


@pytest.mark.parametrize(
    ("phi_deg", "coefficient", "pressure_kPa"),
    [
        pytest.param(30.0, 0.33, 16.0, id="upper soil"),  # [seen]
        pytest.param(20.0, 0.49, 23.5, id="lower soil"),  # [seen]
    ],
)
def test_active_pressure(phi_deg, coefficient, pressure_kPa):
    found = active_coefficient(phi_deg)
    assert found == pytest.approx(coefficient, abs=0.005)
    assert found * 16.0 * 3.0 == pytest.approx(pressure_kPa, abs=0.1)
