"""A conduit maker's construction manual (CommScope, ConQuest Conduit Construction, appendix 8.12): bends.

[seen]: Tb = Ts e^(f a). The table is printed with two digits: 0.01; the example in whole pounds.
"""

import pytest

from routescreen.engineering.cable_pull import bend_factor, pull_kN

FRICTIONS = (0.7, 0.6, 0.5, 0.4, 0.3, 0.15)


@pytest.mark.parametrize(
    ("bend_deg", "factors"),
    [  # [seen]
        (15.0, (1.20, 1.17, 1.14, 1.11, 1.08, 1.04)),
        (30.0, (1.44, 1.37, 1.30, 1.23, 1.17, 1.08)),
        (45.0, (1.73, 1.60, 1.48, 1.37, 1.27, 1.13)),
        (60.0, (2.08, 1.87, 1.68, 1.52, 1.37, 1.17)),
        (75.0, (2.50, 2.19, 1.92, 1.69, 1.48, 1.22)),
        (90.0, (3.00, 2.57, 2.19, 1.87, 1.60, 1.27)),
    ],
)
def test_factors(bend_deg, factors):
    assert bend_factor(bend_deg, FRICTIONS) == pytest.approx(factors, abs=0.01)


def test_example():
    assert bend_factor(90.0, 0.5) == pytest.approx(2.192, abs=0.003)  # [seen], with e = 2.718, a = 1.571
    beyond = pull_kN([0.0], [0.0], [90.0], weight_kN_per_m=0.0, friction=0.5, back_tension_kN=36.0)
    assert beyond[-1] == pytest.approx(79.0, abs=0.5)  # [seen] 36 lb -> 79 lb
