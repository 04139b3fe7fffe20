"""Engineering mechanics 1, exercise 27, rope friction (pickedshares.com): lowering a load around a pole.

[seen]: 100 kg, g = 9.81, friction 0.2, three quarters of a turn: 382.26 N.
"""

import pytest

from routescreen.engineering.cable_pull import bend_factor


def test_holding_force():
    assert 100.0 * 9.81 / bend_factor(270.0, 0.2) == pytest.approx(382.26, abs=0.005)  # [seen]
