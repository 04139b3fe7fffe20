"""A solved problem discussed on forum.allaboutcircuits.com (thread 162095): two wires 6 m above ground.

[seen]: 1 m apart, 100 A rms in opposing directions, on the ground below: peaks of 4.7 uT each and 0.78 uT
together. Peaks of the sine stand for steady currents.
"""

import math

import numpy as np
import pytest

from routescreen.engineering.field import cable_field_uT

PEAK_A = 100.0 * math.sqrt(2.0)


@pytest.mark.parametrize(
    ("currents_A", "expected_uT", "tolerance"),
    [
        pytest.param((PEAK_A, 0.0), 4.7, 0.05, id="one of them"),  # [seen]
        pytest.param((PEAK_A, -PEAK_A), 0.78, 0.005, id="both"),  # [seen]
    ],
)
def test_on_the_ground(currents_A, expected_uT, tolerance):
    right, up = cable_field_uT(
        [0.0], [0.0], cable_offset_m=[-0.5, 0.5], cable_height_m=[6.0, 6.0], current_A=currents_A
    )
    assert np.hypot(right, up)[0] == pytest.approx(expected_uT, abs=tolerance)
