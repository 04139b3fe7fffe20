"""A public table of factors for the DC resistance of copper wire over that at 25 degC.

[seen], page without a name. Three digits are printed: 0.002. Temperature coefficient at 20 degC 0.00393.
"""

import pytest

from routescreen.engineering.heat import conductor_ohm_per_m


@pytest.mark.parametrize(
    ("degC", "factor"),
    [  # [seen]
        (25, 1.000),
        (40, 1.058),
        (50, 1.096),
        (55, 1.116),
        (60, 1.135),
        (65, 1.154),
        (70, 1.173),
        (75, 1.193),
        (80, 1.212),
        (85, 1.231),
        (90, 1.250),
        (100, 1.289),
        (105, 1.308),
        (125, 1.385),
        (130, 1.404),
        (150, 1.482),
        (200, 1.674),
    ],
)
def test_factor(degC, factor):
    warm, cool = conductor_ohm_per_m(1.0, 0.00393, [degC, 25.0])
    assert warm / cool == pytest.approx(factor, abs=0.002)
