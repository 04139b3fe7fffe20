"""Ramps: steps of the worked crossing, limits, laws."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.ramp import bend_radius_m, pull_above_bend_kN, ramp_run_m


@pytest.mark.parametrize(
    ("rise_m", "radius_m", "expected_m"),
    [
        # the worked crossing: 10 sin 30 + (8.78 - 10 (1 - cos 30)) / tan 30 = 5 + 12.89
        pytest.param(8.78, 5.0, 17.9, id="radius 5 m"),
        pytest.param(8.78, 7.8, 19.4, id="radius 7.8 m"),
        pytest.param(8.74, 15.6, 23.6, id="radius 15.6 m"),
        pytest.param(0.0, 5.0, 0.0, id="nothing to climb"),
        pytest.param(-2.0, 5.0, 0.0, id="bore above the trench"),
        pytest.param(0.05, 5.0, 0.999, id="arcs alone: 10 sin(acos(1 - 0.05/10))"),
    ],
)
def test_run(rise_m, radius_m, expected_m):
    assert ramp_run_m(rise_m, radius_m, 30.0) == pytest.approx(expected_m, rel=0.005, abs=1e-12)


def test_both_forms_meet_where_the_straight_vanishes():
    by_arcs = 2.0 * 5.0 * (1.0 - math.cos(math.radians(30.0)))
    below, above = ramp_run_m([by_arcs - 1e-9, by_arcs + 1e-9], 5.0, 30.0)
    assert below == pytest.approx(above, abs=1e-6)
    assert above == pytest.approx(5.0, abs=1e-6)  # 2 R sin 30


@given(st.floats(0.0, 30.0), st.floats(0.0, 30.0), st.floats(1.0, 30.0), st.floats(5.0, 45.0))
def test_higher_is_never_shorter_and_never_steeper_than_allowed(one_m, other_m, radius_m, angle_deg):
    low_m, high_m = sorted((one_m, other_m))
    low_run, high_run = ramp_run_m([low_m, high_m], radius_m, angle_deg)
    assert high_run >= low_run - 1e-9
    assert high_run >= high_m / math.tan(math.radians(angle_deg)) - 1e-9


def test_pull_of_the_worked_crossing():
    # 3.0 -> 3.42 at the first bend, + 620 x 0.412 x 0.255 = 68.56, x 1.1399 = 78.1 kN
    pull = pull_above_bend_kN(
        length_m=620.0, weight_kN_per_m=0.412, friction=0.25, bend_deg=30.0, back_tension_kN=3.0
    )
    grade = 620.0 * 0.412 * 0.005 * math.exp(0.25 * math.radians(30.0))  # its 0.5 % of rise, not counted here
    assert pull + grade == pytest.approx(78.1, abs=0.1)


def test_no_friction_no_gain():
    pull = pull_above_bend_kN(
        length_m=500.0, weight_kN_per_m=0.4, friction=0.0, bend_deg=30.0, back_tension_kN=3.0
    )
    assert pull == 3.0


def test_radius_by_bend_or_by_side_wall():
    assert bend_radius_m(least_bend_m=3.5, pull_kN=10.0, side_wall_kN_per_m=5.0) == 3.5
    assert bend_radius_m(least_bend_m=3.5, pull_kN=78.0, side_wall_kN_per_m=5.0) == pytest.approx(15.6)
