"""EN 1997, Eurocode 7: uplift of a base, distance of boreholes on linear works.

[seen]: read in an excerpt; [memory]: recalled. National annexes rule.
"""

from routescreen.assumptions import load_assumptions

A = load_assumptions()


def test_factors_on_uplift():
    # EN 1997-1, 2.4.7.4
    assert A.shaft.uplift_weight_factor == 0.9  # [seen]
    assert A.checks.shaft.water_factor == 1.0  # [memory]


def test_boreholes_stand_20_to_200_m_apart():
    # EN 1997-2, annex B [seen]
    assert 20.0 <= A.shaft.borehole_critical_spacing_m <= A.shaft.borehole_spacing_m <= 200.0
