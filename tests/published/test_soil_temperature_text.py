"""Rain or Shine, an introduction to soil physical properties and processes (Oklahoma State), 13.4.

[seen]: d = sqrt(a P / pi); for a day in soil of 0.50e-6 m2/s d = 11.7 cm; an amplitude of 7 degC at the
surface is only 3 degC at 10 cm; d is where 37 % are left; a year reaches 19.1 times as deep as a day.
"""

import pytest

from routescreen.engineering.ground_heat import damping_depth_m, ground_degC

DAY_S = 86400.0


def test_damping_depth_of_a_day():
    assert damping_depth_m(0.50e-6, DAY_S) == pytest.approx(0.117, abs=5e-4)  # [seen]


def test_year_over_day():
    ratio = damping_depth_m(0.50e-6, 365.0 * DAY_S) / damping_depth_m(0.50e-6, DAY_S)
    assert ratio == pytest.approx(19.1, abs=0.05)  # [seen]


@pytest.mark.parametrize(
    ("depth_m", "swing_K", "expected_K", "tolerance"),
    [
        pytest.param(0.10, 7.0, 3.0, 0.05, id="10 cm"),  # [seen]
        pytest.param(0.117, 100.0, 37.0, 0.5, id="damping depth"),  # [seen] 37 %
    ],
)
def test_amplitude(depth_m, swing_K, expected_K, tolerance):
    left = ground_degC(depth_m, mean_degC=0.0, swing_K=swing_K, damping_m=0.117)
    assert left == pytest.approx(expected_K, abs=tolerance)
