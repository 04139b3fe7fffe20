"""Problems 821 and 869 on toughstem.com (the latter of a course PHY204): midway between two long wires.

[seen]: 2.00 A opposite, 0.200 m apart: 8 uT; 2.0 A, 0.30 m apart: 0 alike and 5.33 uT opposite.
"""

import numpy as np
import pytest

from routescreen.engineering.field import cable_field_uT


@pytest.mark.parametrize(
    ("apart_m", "currents_A", "expected_uT", "tolerance"),
    [
        pytest.param(0.2, (2.0, -2.0), 8.0, 1e-6, id="opposite"),  # [seen]
        pytest.param(0.3, (2.0, 2.0), 0.0, 1e-6, id="alike"),  # [seen]
        pytest.param(0.3, (2.0, -2.0), 5.33, 0.005, id="opposite, farther apart"),  # [seen]
    ],
)
def test_midway(apart_m, currents_A, expected_uT, tolerance):
    right, up = cable_field_uT(
        [0.0],
        [0.0],
        cable_offset_m=[-apart_m / 2.0, apart_m / 2.0],
        cable_height_m=[0.0, 0.0],
        current_A=currents_A,
    )
    assert np.hypot(right, up)[0] == pytest.approx(expected_uT, abs=tolerance)
