"""A cable maker's installation sheet (Nexans Canada, CN Installation): pulls in ducts.

[seen]: T = 9.81 L W f on straights, T1 e^(f a) in bends with the factors below (two digits: 0.01), at most
29.2 kN per metre of radius.
"""

import pytest

from routescreen.engineering.cable_pull import bend_factor, pull_kN, side_wall_kN_per_m


@pytest.mark.parametrize(
    ("bend_deg", "factors"),
    [  # [seen], friction 0.25 / 0.30 / 0.40
        (30.0, (1.14, 1.17, 1.23)),
        (45.0, (1.22, 1.27, 1.37)),
        (60.0, (1.30, 1.37, 1.52)),
        (90.0, (1.48, 1.60, 1.88)),
    ],
)
def test_bend(bend_deg, factors):
    assert bend_factor(bend_deg, [0.25, 0.30, 0.40]) == pytest.approx(factors, abs=0.01)


def test_straight_and_bend_together():
    # 9.81 x 500 x 20 x 0.25 = 24 525 N, then the sheet's 1.48 of 90 deg
    pulls = pull_kN(
        [500.0, 0.0],
        [0.0, 0.0],
        [0.0, 90.0],
        weight_kN_per_m=9.81 * 20.0 / 1000.0,
        friction=0.25,
        back_tension_kN=0.0,
    )
    assert pulls[1] == pytest.approx(24.525)
    assert pulls[2] == pytest.approx(24.525 * 1.48, rel=0.005)


def test_side_wall():
    assert side_wall_kN_per_m(29.2 * 2.5, 2.5) == pytest.approx(29.2)
