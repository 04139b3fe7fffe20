"""A dewatered pit, from a course's collection of formulae after Herth and Arndts 1994.

Jade Hochschule, Oldenburg, Geotechnik; formel.baugrund-han.de, geschlossene Wasserhaltung.
[seen]: pit with its wells 22 m x 27 m, water 10 m above the base, lowered by 4 m, k 5e-4 m/s, effective
radius of a well 0.175 m, 3.80 m of filter in water; every step printed.
"""

import pytest

from routescreen.assumptions import load_assumptions
from routescreen.engineering.dewatering import (
    n_wells,
    pit_radius_m,
    radial_inflow_m3_per_s,
    reach_m,
    well_yield_m3_per_s,
)

K = 5e-4
pit = pit_radius_m(22.0, 27.0)
reach = reach_m(4.0, K, load_assumptions().checks.shaft.drawdown_radius_factor)
inflow = radial_inflow_m3_per_s(K, 10.0, 6.0, reach, pit)
one_well = well_yield_m3_per_s(0.175, 3.80, K)


def test_radius_of_the_pit():
    assert pit == pytest.approx(13.75, abs=0.005)  # [seen]


def test_reach():
    assert reach == pytest.approx(268.33, abs=0.005)  # [seen]


def test_inflow():
    assert inflow == pytest.approx(0.0338, abs=5e-5)  # [seen]
    assert 3600.0 * inflow == pytest.approx(121.8091, abs=1e-3)  # [seen]


def test_a_well():
    assert one_well == pytest.approx(0.0062, abs=5e-5)  # [seen]
    assert 3600.0 * one_well == pytest.approx(22.4232, abs=1e-3)  # [seen]


def test_number_of_wells():
    assert inflow / one_well == pytest.approx(5.4323, abs=5e-4)  # [seen]
    assert n_wells(inflow, one_well, 1.0) == 6.0  # [seen]
    assert inflow / n_wells(inflow, one_well, 1.0) == pytest.approx(0.0056, abs=5e-5)  # [seen]
