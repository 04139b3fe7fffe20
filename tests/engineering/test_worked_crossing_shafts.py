"""The shafts' part of an own worked crossing: thrust wall, base, quantities, boreholes, pull-in.

Ground at 32.0, water at 30.0; sand of 18 and 20 kN/m3, 33 degrees; four bores of 0.56 m, 620 m long, 6 m
apart; pipes of 0.50 m; railway from 120 to 134 m, river from 300 to 380 m.
Own arithmetic by hand, step by step; never published. Every number within 0.5 %.
"""

import numpy as np
import pytest

from routescreen.engineering.base_uplift import (
    UpliftFactors,
    held_force_kN,
    highest_head_m,
    plug_thickness_m,
    uplift_utilisation,
)
from routescreen.engineering.investigation import Stretches, borehole_chainages_m, spacing_utilisation
from routescreen.engineering.seasons import pull_in_h
from routescreen.engineering.shaft import shaft_width_m, uplift_deficit_kPa
from routescreen.engineering.slurry import spoil_m3
from routescreen.engineering.thrust_wall import (
    passive_coefficient,
    passive_stress_kPa,
    square_block_m,
    thrust_left_kN,
    thrust_wall_kN,
)
from routescreen.engineering.uplift import grout_m3
from routescreen.engineering.values import utilisation

WATER = 9.81
# Axis 0.28 m below the crown at 22.00: 2 m of moist sand, 8.28 m under water.
STRESS_KPA = 2.0 * 18.0 + (30.0 - 21.72) * (20.0 - WATER)
THRUST_KN = 1692.0  # after a stop
WALL = {"share": 0.5, "factor": 1.3}
PLUG_TOP_M = 22.0 - 0.56 - 0.6
FACTORS = UpliftFactors(24.0, WATER, 0.9, 1.0)
BASE = {"concrete_kN_per_m3": 24.0, "water_kN_per_m3": WATER, "water_factor": 1.0}
CROSSINGS = Stretches(np.array([120.0, 300.0]), np.array([134.0, 380.0]), np.array([50.0, 50.0]))
BOREHOLES_M = np.array([0.0, 95.0, 145.0, 220.0, 290.0, 340.0, 390.0, 480.0, 570.0, 620.0])


def near(expected):
    return pytest.approx(expected, rel=0.005)


def test_stress_that_the_ground_sets_against_the_wall():
    assert near(120.4) == STRESS_KPA
    assert passive_coefficient(33.0) == near(3.392)
    assert passive_stress_kPa(STRESS_KPA, 33.0) == near(408.3)


@pytest.mark.parametrize(
    ("side_m", "bears_kN", "used"),
    [
        pytest.param(2.5, 982.0, 1.72, id="2.5 m square fails"),
        pytest.param(3.5, 1924.0, 0.88, id="3.5 m square bears it"),
    ],
)
def test_thrust_wall(side_m, bears_kN, used):
    passive = passive_stress_kPa(STRESS_KPA, 33.0)
    bears = thrust_wall_kN(passive, side_m, side_m, **WALL)
    assert bears == near(bears_kN)
    assert utilisation(THRUST_KN, bears) == near(used)


def test_whole_passive_force_and_what_is_missing():
    passive = passive_stress_kPa(STRESS_KPA, 33.0)
    assert thrust_wall_kN(passive, 2.5, 2.5, share=1.0, factor=1.0) == near(2552.0)
    assert 2.5 < square_block_m(THRUST_KN, passive, **WALL) < 3.5
    # 1 692 - 982 for anchors, were the block kept
    left = thrust_left_kN(THRUST_KN, thrust_wall_kN(passive, 2.5, 2.5, **WALL))
    assert left == near(710.0)


def test_head_on_the_plug():
    assert near(20.84) == PLUG_TOP_M
    assert highest_head_m(PLUG_TOP_M, [30.0]) == near(9.16)


def test_plug_by_weight_alone():
    # 89.86/(0.9 x 24 - 9.81)
    assert highest_head_m(PLUG_TOP_M, [30.0]) * WATER == near(89.86)
    thickness = plug_thickness_m(highest_head_m(PLUG_TOP_M, [30.0]), FACTORS)
    assert thickness == near(7.62)


def test_plug_of_2_m_with_anchors():
    depth, water_depth = 32.0 - PLUG_TOP_M, 2.0
    lifts = uplift_deficit_kPa(depth, water_depth, 2.0, weight_factor=0.0, **BASE)
    left = uplift_deficit_kPa(depth, water_depth, 2.0, weight_factor=0.9, **BASE)
    assert lifts == near(109.5)
    assert lifts - left == near(43.2)
    assert left == near(66.3)
    width = shaft_width_m(4, 6.0, 3.0)
    assert width == near(21.0)
    assert held_force_kN(left, 8.0, width) == near(11100.0)
    assert uplift_utilisation(9.16, 2.0, FACTORS, left) == near(1.0)


def test_quantities():
    per_m = spoil_m3(0.56, 1.0, 1)
    assert spoil_m3(0.56, 620.0, 4) / per_m == near(2480.0)
    assert spoil_m3(0.56, 620.0, 4) == near(610.8)
    assert spoil_m3(0.56, 620.0, 4, 1.30) == near(794.0)
    assert grout_m3(0.56, 0.50, 620.0, 0.0) == near(30.97)
    assert 4 * grout_m3(0.56, 0.50, 620.0, 0.25) == near(154.8)


def test_boreholes_keep_their_distances_and_none_is_one_too_many():
    assert spacing_utilisation(BOREHOLES_M, 100.0, CROSSINGS).max() <= 1.0
    for left_out in range(1, 9):
        fewer = np.delete(BOREHOLES_M, left_out)
        assert spacing_utilisation(fewer, 100.0, CROSSINGS).max() > 1.0
    assert len(borehole_chainages_m([0.0, 620.0], 100.0, CROSSINGS, clear_m=5.0)) == len(BOREHOLES_M)


def test_pull_in_without_a_break():
    assert pull_in_h(620.0, 1.0) == near(10.3)
