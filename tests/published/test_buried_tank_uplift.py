"""Uplift of a buried tank to EN 1997-1, 2.4.7.4 and 10.2 (structville.com, 29 December 2018).

[seen]: concrete tank of 3.7 m x 2.7 m x 4.35 m outside, empty, water 1.0 m below ground; weight 486.41 kN,
uplift 334.665 kN; with 0.9 and 1.1 437.769 and 368.131 kN; unit weight of water 10 kN/m3.
"""

import pytest

from routescreen.engineering.base_uplift import held_force_kN, highest_head_m, upl_utilisation


def test_uplift():
    head = highest_head_m(-4.35, [-1.0])
    assert head == pytest.approx(3.35)  # [seen]
    assert held_force_kN(10.0 * head, 3.7, 2.7) == pytest.approx(334.665)  # [seen]


def test_the_tank_stays_down():
    used = upl_utilisation(334.665, 486.41, destabilising_factor=1.1, stabilising_factor=0.9)
    assert used == pytest.approx(368.131 / 437.769, rel=1e-5)  # [seen]
