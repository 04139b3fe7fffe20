"""Solved problems of physics courses on long parallel wires.

[seen], each with its page. Fields in uT, tolerance by the digits printed.
"""

import numpy as np
import pytest

from routescreen.engineering.field import cable_field_uT


@pytest.mark.parametrize(
    ("point", "places_m", "currents_A", "expected_uT", "tolerance"),
    [
        # [seen] toughstem.com problem 821: 2.00 A, opposite, 0.200 m apart, midway: 8 x 10^-6 T
        pytest.param((0.0, 0.0), (-0.1, 0.1), (2.0, -2.0), 8.0, 1e-6, id="2 A opposite"),
        # [seen] toughstem.com problem 869 (University of Rhode Island, PHY204): 2.0 A, 30 cm
        pytest.param((0.0, 0.0), (-0.15, 0.15), (2.0, 2.0), 0.0, 1e-6, id="2 A alike"),
        pytest.param((0.0, 0.0), (-0.15, 0.15), (2.0, -2.0), 5.33, 0.005, id="2 A opposite, 30 cm"),
        # [seen] documen.tv 15648628: 22.3 A south, 18.9 and 8.6 A north, 10 m away: 1.04 x 10^-7 T
        pytest.param((10.0, 0.0), (0.0, 0.0, 0.0), (-22.3, 18.9, 8.6), 0.104, 5e-4, id="three in a sheath"),
        # [seen] ans.fyi: 18 and 5.4 A opposite, 0.15 m apart, midway: 6.2 (exponent misprinted)
        pytest.param((0.0, 0.0), (-0.075, 0.075), (18.0, -5.4), 62.0, 0.5, id="18 and 5.4 A"),
        # [seen] allaboutcircuits.com 162095: 100 A rms, opposite, 1 m apart, 6 m above ground: 0.78 uT peak
        pytest.param((0.0, -6.0), (-0.5, 0.5), (141.42, -141.42), 0.78, 0.005, id="two wires above ground"),
        # [seen] the same: 4.7 uT peak of one of them
        pytest.param((0.0, -6.0), (0.5,), (141.42,), 4.7, 0.05, id="one of them"),
    ],
)
def test_field(point, places_m, currents_A, expected_uT, tolerance):
    right, up = cable_field_uT(
        [point[0]],
        [point[1]],
        cable_offset_m=places_m,
        cable_height_m=np.zeros(len(places_m)),
        current_A=currents_A,
    )
    assert np.hypot(right, up)[0] == pytest.approx(expected_uT, abs=tolerance)
