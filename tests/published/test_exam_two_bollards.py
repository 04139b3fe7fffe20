"""A mathematics paper's solution on thestudentroom.co.uk (thread 155631): a rope around two bollards.

[seen]: 50 N, friction 0.2, 5 pi / 3 around each: 406 N.
"""

import pytest

from routescreen.engineering.cable_pull import pull_kN


def test_greatest_force():
    pulls = pull_kN(
        [0.0, 0.0],
        [0.0, 0.0],
        [300.0, 300.0],
        weight_kN_per_m=0.0,
        friction=0.2,
        back_tension_kN=0.050,
    )
    assert pulls[-1] == pytest.approx(0.406, abs=5e-4)  # [seen]
