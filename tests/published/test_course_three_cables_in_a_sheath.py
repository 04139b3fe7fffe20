"""A solved problem on documen.tv (question 15648628): three cables in one sheath, 10.0 m away.

[seen]: 22.3 A to the south, 18.9 A and 8.6 A to the north: 1.04e-7 T.
"""

import numpy as np
import pytest

from routescreen.engineering.field import cable_field_uT


def test_field():
    right, up = cable_field_uT(
        [10.0],
        [0.0],
        cable_offset_m=np.zeros(3),
        cable_height_m=np.zeros(3),
        current_A=[-22.3, 18.9, 8.6],
    )
    assert np.hypot(right, up)[0] == pytest.approx(0.104, abs=5e-4)  # [seen]
