"""Handbook of Electrical Engineering (Sheldrake, 2003), table 9.15: XLPE cables in ground of 15 degC.

Conductor 90 degC. [seen], author and year [memory]. Two digits are printed: 0.006.
"""

import pytest

from routescreen.engineering.rating import HeatPath, group_rating


@pytest.mark.parametrize(
    ("ground_degC", "factor"),
    [  # [seen]
        (10.0, 1.03),
        (15.0, 1.00),
        (20.0, 0.97),
        (25.0, 0.93),
        (30.0, 0.89),
        (35.0, 0.86),
        (40.0, 0.82),
    ],
)
def test_ground_temperature_factor(ground_degC, factor):
    rated, base = (
        group_rating([0.5], [0.0], HeatPath(1e-4, 0.5, 0.02, 90.0, degC, 1.2)).rating_A
        for degC in (ground_degC, 15.0)
    )
    assert rated / base == pytest.approx(factor, abs=0.006)
