"""The cable's part of an own worked crossing: four bores, pipes filled with grout, cables of 140 mm.

Own arithmetic by hand, step by step; never published. Every number within 0.5 %.
"""

import math

import numpy as np
import pytest

from routescreen.engineering.cable_pull import eye_limit_kN, pull_both_ways_kN, pull_kN, side_wall_kN_per_m
from routescreen.engineering.field import cable_field_uT
from routescreen.engineering.heat import conductor_ohm_per_m, group_log, layer_K_m_per_W, own_ground_log
from routescreen.engineering.ramp import bend_radius_m, ramp_run_m
from routescreen.engineering.rating import HeatPath, dc_rating_A, group_rating
from routescreen.engineering.rating_solved import spacing_needed_m
from routescreen.engineering.spacing import bore_spacing_m, deviation_spacing_m

PLACES_M = (-9.0, -3.0, 3.0, 9.0)
DEPTH_M = 10.28
BORE_M, PIPE_M, INSIDE_M = 0.56, 0.50, 0.4091
RHO = 0.8
LAYERS = {
    "T1": (0.063, 0.122, 3.5),
    "T3": (0.128, 0.140, 3.5),
    "grout fill": (0.140, INSIDE_M, 1.0),
    "pipe wall": (INSIDE_M, PIPE_M, 3.5),
    "ring of grout": (PIPE_M, BORE_M, 1.0),
}
INSIDE_K_M_PER_W = sum(float(layer_K_m_per_W(*layer)) for layer in LAYERS.values())
PATH = HeatPath(
    conductor_ohm_per_m=float(conductor_ohm_per_m(7.2e-6, 0.00393, 70.0)),
    inside_K_m_per_W=INSIDE_K_M_PER_W,
    outer_diameter_m=BORE_M,
    conductor_degC=70.0,
    ground_degC=11.0,
    rho_K_m_per_W=RHO,
)
# Bends of 30 deg down and up, 620 m between them rising 1 in 200.
SEGMENTS = ((0.0, 620.0, 0.0), (0.0, math.degrees(math.atan(0.005)), 0.0), (30.0, 0.0, 30.0))


def near(expected):
    return pytest.approx(expected, rel=0.005)


def test_resistance_at_70_degC():
    assert conductor_ohm_per_m(7.2e-6, 0.00393, 70.0) == near(8.6148e-6)


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("T1", 0.3681),
        ("T3", 0.0499),
        ("grout fill", 0.1707),
        ("pipe wall", 0.1118),
        ("ring of grout", 0.0180),
    ],
)
def test_layers(name, expected):
    assert layer_K_m_per_W(*LAYERS[name]) == near(expected)


def test_own_soil():
    assert np.cosh(own_ground_log(DEPTH_M, BORE_M)) == near(36.71)
    assert RHO / (2.0 * math.pi) * own_ground_log(DEPTH_M, BORE_M) == near(0.5470)


@pytest.mark.parametrize(
    ("apart", "expected"),
    [
        pytest.param(1, 1.2725, id="6 m"),
        pytest.param(2, 0.6850, id="12 m"),
        pytest.param(3, 0.4175, id="18 m"),
    ],
)
def test_logarithms_of_the_group(apart, expected):
    logs = group_log(np.full(4, DEPTH_M), PLACES_M, BORE_M)
    assert logs[0, apart] == near(expected)
    assert logs[apart, 0] == near(expected)


@pytest.mark.parametrize(
    ("cable", "expected"),
    [pytest.param(1, 0.4112, id="inner"), pytest.param(0, 0.3024, id="outer")],
)
def test_neighbours(cable, expected):
    logs = group_log(np.full(4, DEPTH_M), PLACES_M, BORE_M)[cable]
    assert RHO / (2.0 * math.pi) * (logs.sum() - logs[cable]) == near(expected)


def test_inner_sum():
    total = (
        INSIDE_K_M_PER_W + RHO / (2.0 * math.pi) * group_log(np.full(4, DEPTH_M), PLACES_M, BORE_M)[1].sum()
    )
    assert total == near(1.6768)
    assert dc_rating_A(59.0, 8.6148e-6, 1.6768) == near(2021.0)


def test_ratings():
    rated = group_rating(np.full(4, DEPTH_M), PLACES_M, PATH)
    assert rated.by_cable_A == near(np.array([2090.0, 2021.0, 2021.0, 2090.0]))
    assert rated.rating_A == near(2021.0)
    assert rated.hottest in (1, 2)


def test_spacing_needed():
    assert spacing_needed_m(2000.0, DEPTH_M, 4, PATH, least_m=1.0, most_m=30.0) == near(5.40)


def test_spacing_chosen():
    by_deviation = deviation_spacing_m(
        pipe_diameter_m=PIPE_M, bore_diameter_m=BORE_M, deviation_frac=0.001, length_m=620.0
    )
    assert by_deviation == near(2.30)
    thermal = float(spacing_needed_m(2000.0, DEPTH_M, 4, PATH, least_m=1.0, most_m=30.0))
    needed = bore_spacing_m(
        thermal_m=thermal,
        least_m=0.0,
        pipe_diameter_m=PIPE_M,
        bore_diameter_m=BORE_M,
        deviation_frac=0.001,
        length_m=620.0,
        diameters=3.0,
    )
    assert needed == near(5.40)
    assert math.ceil(needed * 2.0) / 2.0 == 5.5  # the crossing takes 6.0
    assert needed < 6.0


def test_pull():
    pulls = pull_kN(*SEGMENTS, weight_kN_per_m=42.0 * 9.81e-3, friction=0.25, back_tension_kN=3.0)
    assert pulls == near(np.array([3.0, 3.42, 68.56, 78.1]))
    assert pulls[1] / pulls[0] == near(1.1399)
    # 78.1 / 125, which two digits show as 0.62 to 0.63
    assert pulls[-1] / eye_limit_kN(2500.0, 50.0) == near(0.6248)


def test_the_other_way_is_a_little_less():
    # Downhill: 3.42 + 620 x 0.412 x 0.245 = 66.0, x 1.1399 = 75.2 kN
    _, backward = pull_both_ways_kN(*SEGMENTS, weight_kN_per_m=0.412, friction=0.25, back_tension_kN=3.0)
    assert backward[0] == near(75.2)


def test_side_wall_and_radius():
    assert side_wall_kN_per_m(78.1, 5.0) == near(15.6)
    assert bend_radius_m(least_bend_m=3.5, pull_kN=78.1, side_wall_kN_per_m=10.0) == near(7.8)


@pytest.mark.parametrize(("radius_m", "expected_m"), [(5.0, 17.9), (7.8, 19.4)])
def test_ramp(radius_m, expected_m):
    assert ramp_run_m(8.78, radius_m, 30.0) == near(expected_m)


@pytest.mark.parametrize(
    ("signs", "expected_uT"),
    [
        pytest.param((1, -1, -1, 1), 49.4, id="+ - - +"),
        pytest.param((1, -1, 1, -1), 36.4, id="+ - + -"),
        pytest.param((1, 1, -1, -1), 91.0, id="+ + - -"),
    ],
)
def test_largest_field_above_reception(signs, expected_uT):
    across = np.linspace(-30.0, 30.0, 6001)
    right, up = cable_field_uT(
        across,
        np.full(across.shape, 0.2),
        cable_offset_m=PLACES_M,
        cable_height_m=np.full(4, -7.18),
        current_A=2000.0 * np.array(signs),
    )
    assert np.hypot(right, up).max() == near(expected_uT)


def test_field_of_one_pole_alone():
    right, up = cable_field_uT([0.0], [0.2], cable_offset_m=[0.0], cable_height_m=[-7.18], current_A=[2000.0])
    assert np.hypot(right, up) == near(np.array([54.2]))
