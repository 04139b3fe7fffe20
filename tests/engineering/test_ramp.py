"""Ramps: steps of the worked crossing, limits, laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.ramp import (
    bend_radius_m,
    crossed_m,
    ramp_run_m,
    swing_angle_deg,
    swing_length_m,
)


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


def test_radius_by_bend_or_by_side_wall():
    assert bend_radius_m(least_bend_m=3.5, pull_kN=10.0, side_wall_kN_per_m=5.0) == 3.5
    assert bend_radius_m(least_bend_m=3.5, pull_kN=78.0, side_wall_kN_per_m=5.0) == pytest.approx(15.6)


def shortest_m(across_m, radius_m, angle_deg):
    """Length of the cable in the shortest ramp."""
    return swing_length_m(across_m, ramp_run_m(across_m, radius_m, angle_deg), radius_m)


@pytest.mark.parametrize(
    ("rise_m", "expected_m"),
    [
        # 2 x 5 x pi/6 = 5.236; (8.78 - 1.3397) / 0.5 = 14.88
        pytest.param(8.78, 20.117, id="arcs and straight"),
        pytest.param(0.0, 0.0, id="nothing to climb"),
        pytest.param(-2.0, 0.0, id="bore above the trench"),
        # acos(1 - 0.05 / 10) = 0.10004 rad
        pytest.param(0.05, 1.0004, id="arcs alone"),
    ],
)
def test_length_of_the_cable(rise_m, expected_m):
    assert shortest_m(rise_m, 5.0, 30.0) == pytest.approx(expected_m, rel=1e-3, abs=1e-12)


def test_a_gentler_way_over_the_same_run_by_hand():
    # Arcs of 5 m to 20 deg and 10 m of straight: run 10 sin 20 + 10 cos 20 = 12.8171 m, across
    # 10 (1 - cos 20) + 10 sin 20 = 4.0233 m, cable 10 x 0.349066 + 10 = 13.4907 m.
    assert swing_angle_deg(4.0233, 12.8171, 5.0) == pytest.approx(20.0, abs=1e-3)
    assert swing_length_m(4.0233, 12.8171, 5.0) == pytest.approx(13.4907, abs=1e-3)
    # where the first arc ends, and in the middle
    here = crossed_m([5.0 * math.sin(math.radians(20.0)), 12.8171 / 2.0], 4.0233, 12.8171, 5.0)
    assert here == pytest.approx([5.0 * (1.0 - math.cos(math.radians(20.0))), 4.0233 / 2.0], abs=1e-3)


def test_straight_on_over_a_given_run():
    assert swing_angle_deg(0.0, 20.0, 5.0) == pytest.approx(0.0, abs=1e-12)
    assert swing_length_m(0.0, 20.0, 5.0) == pytest.approx(20.0)


def test_a_run_too_short_for_both_arcs_is_not_evaluated():
    # 3 m across on arcs of 5 m need 10 sin(acos 0.7) = 7.1414 m
    assert np.isnan(swing_angle_deg(3.0, 7.1, 5.0))
    assert np.isnan(swing_length_m(3.0, 7.1, 5.0))
    assert not np.isnan(swing_angle_deg(3.0, 7.15, 5.0))


@given(st.floats(0.01, 30.0), st.floats(1.0, 30.0), st.floats(5.0, 45.0))
def test_the_shortest_way_turns_as_far_as_is_allowed(across_m, radius_m, angle_deg):
    by_arcs_m = 2.0 * radius_m * (1.0 - math.cos(math.radians(angle_deg)))
    flat_deg = math.degrees(math.acos(1.0 - min(across_m, by_arcs_m) / (2.0 * radius_m)))
    found = swing_angle_deg(across_m, ramp_run_m(across_m, radius_m, angle_deg), radius_m)
    assert found == pytest.approx(flat_deg, abs=1e-3)


@given(st.floats(0.01, 30.0), st.floats(1.0, 30.0), st.floats(1.0, 3.0))
def test_a_longer_run_turns_less(across_m, radius_m, factor):
    run_m = float(ramp_run_m(across_m, radius_m, 30.0))
    near, far = swing_angle_deg(across_m, [run_m, run_m * factor], radius_m)
    assert far <= near + 1e-6


@given(st.floats(0.01, 30.0), st.floats(1.0, 30.0), st.floats(5.0, 45.0))
def test_cable_is_longer_than_run_and_chord_but_not_by_more_than_its_steepest_part(
    rise_m, radius_m, angle_deg
):
    length, run = shortest_m(rise_m, radius_m, angle_deg), ramp_run_m(rise_m, radius_m, angle_deg)
    assert math.hypot(run, rise_m) <= length * (1.0 + 1e-6)
    assert length <= run / math.cos(math.radians(angle_deg)) * (1.0 + 1e-6)


def test_height_climbed_by_hand():
    # 5 (1 - cos 30) = 0.670 after 5 sin 30 = 2.5 m; at mid-run half of the rise
    run = float(ramp_run_m(8.78, 5.0, 30.0))
    climbed = crossed_m([-1.0, 0.0, 2.5, run / 2.0, run - 2.5, run, run + 9.0], 8.78, run, 5.0)
    assert climbed == pytest.approx([0.0, 0.0, 0.670, 4.39, 8.11, 8.78, 8.78], abs=1e-3)


@given(st.floats(0.01, 30.0), st.floats(1.0, 30.0), st.floats(5.0, 45.0), st.floats(1.0, 2.0))
def test_profile_climbs_evenly_and_is_as_long_as_the_cable(rise_m, radius_m, angle_deg, factor):
    whole = factor * float(ramp_run_m(rise_m, radius_m, angle_deg))
    run = np.linspace(0.0, whole, 4001)
    climbed = crossed_m(run, rise_m, whole, radius_m)
    steps = np.diff(climbed)
    assert np.all(steps >= -1e-9)
    assert np.all(steps <= np.diff(run) * math.tan(math.radians(angle_deg)) * (1.0 + 1e-6) + 1e-9)
    along = np.hypot(np.diff(run), steps).sum()
    assert along == pytest.approx(float(swing_length_m(rise_m, whole, radius_m)), rel=1e-5)


@given(st.floats(0.0, 30.0), st.floats(1.0, 30.0), st.floats(0.1, 10.0))
def test_ramp_scales_with_lengths(rise_m, radius_m, scale):
    for function in (lambda d, r: ramp_run_m(d, r, 30.0), lambda d, r: shortest_m(d, r, 30.0)):
        here = function(rise_m, radius_m)
        assert function(rise_m * scale, radius_m * scale) == pytest.approx(here * scale, rel=1e-5)
    here = crossed_m(3.0, rise_m, 60.0, radius_m)
    there = crossed_m(3.0 * scale, rise_m * scale, 60.0 * scale, radius_m * scale)
    assert there == pytest.approx(here * scale, rel=1e-5, abs=1e-9)
