"""IEC 60228: factors that bring a conductor's measured resistance to 20 degC, as a maker's page prints them.

[seen]: uecables.com, power copper conductors according to IEC 60228. The factors stand for
1 / (1 + 0.004 (T - 20)), three digits: 0.001.
"""

import pytest

from routescreen.engineering.heat import conductor_ohm_per_m


@pytest.mark.parametrize(
    ("degC", "factor"),
    [  # [seen]
        (5, 1.064),
        (10, 1.042),
        (15, 1.020),
        (20, 1.000),
        (25, 0.980),
        (30, 0.962),
        (35, 0.943),
        (40, 0.926),
        (45, 0.909),
        (50, 0.893),
        (55, 0.877),
        (60, 0.862),
        (65, 0.847),
        (70, 0.833),
        (75, 0.820),
        (80, 0.806),
        (85, 0.794),
        (90, 0.781),
        (95, 0.769),
        (100, 0.758),
    ],
)
def test_factor(degC, factor):
    assert 1.0 / conductor_ohm_per_m(1.0, 0.004, degC) == pytest.approx(factor, abs=0.001)
