"""Pulling cables: cases by hand, limits, laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.cable_pull import (
    bend_factor,
    cut_corner_radius_m,
    eye_limit_kN,
    least_pipe_inside_m,
    pull_both_ways_kN,
    pull_kN,
    pull_reach,
    side_wall_kN_per_m,
    straight_gain_kN,
    straight_reach_m,
)

# 200 m level, a bend of 90 deg, 100 m level
LEVEL = ((200.0, 0.0, 100.0), (0.0, 0.0, 0.0), (0.0, 90.0, 0.0))
segments = st.lists(
    st.one_of(
        st.tuples(st.floats(1.0, 500.0), st.floats(-30.0, 30.0), st.just(0.0)),
        st.tuples(st.just(0.0), st.just(0.0), st.floats(1.0, 90.0)),
    ),
    min_size=1,
    max_size=6,
)


def pulls(parts, **changed):
    given_ = {"weight_kN_per_m": 0.4, "friction": 0.25, "back_tension_kN": 3.0}
    return pull_kN(*parts, **{**given_, **changed})


@pytest.mark.parametrize(
    ("slope_deg", "expected_kN"),
    [
        pytest.param(0.0, 10.0, id="level: 100 x 0.4 x 0.25"),
        pytest.param(90.0, 40.0, id="straight up: the weight"),
        pytest.param(-90.0, -40.0, id="straight down"),
        # 40 (0.25 x 0.8 + 0.6) = 32 with sin a = 0.6
        pytest.param(math.degrees(math.asin(0.6)), 32.0, id="uphill"),
        pytest.param(-math.degrees(math.atan(0.25)), 0.0, id="slope as steep as the friction"),
    ],
)
def test_straight(slope_deg, expected_kN):
    assert straight_gain_kN(100.0, slope_deg, 0.4, 0.25) == pytest.approx(expected_kN, abs=1e-12)


def test_bend_either_way_and_without_friction():
    assert bend_factor([90.0, -90.0], 1.0 / math.pi) == pytest.approx(math.sqrt(math.e))
    assert bend_factor(90.0, 0.0) == 1.0


@given(st.floats(0.0, 90.0), st.floats(0.0, 90.0), st.floats(0.0, 0.6))
def test_two_bends_are_one(one_deg, other_deg, friction):
    together = bend_factor(one_deg + other_deg, friction)
    assert bend_factor(one_deg, friction) * bend_factor(other_deg, friction) == pytest.approx(together)


def test_pull_by_hand():
    # 3 + 20 = 23; x e^(0.25 pi/2) = 1.4809 -> 34.06; + 10
    assert pulls(LEVEL) == pytest.approx([3.0, 23.0, 34.06, 44.06], rel=1e-3)


def test_other_way_is_less_where_the_bend_is_nearer_the_drum():
    # 3 + 10 = 13; x 1.4809 -> 19.25; + 20
    forward, backward = pull_both_ways_kN(*LEVEL, weight_kN_per_m=0.4, friction=0.25, back_tension_kN=3.0)
    assert forward == pytest.approx(pulls(LEVEL))
    assert backward == pytest.approx([39.25, 19.25, 13.0, 3.0], rel=1e-3)


def test_expected_and_high_friction_at_once():
    both = pulls(LEVEL, friction=[0.25, 0.40])
    assert both.shape == (2, 4)
    assert both[0] == pytest.approx(pulls(LEVEL))
    assert both[1] == pytest.approx(pulls(LEVEL, friction=0.40))


def test_cable_that_runs_downhill_is_held_by_the_drum():
    # 3 + 0.4 x 100 (0.25 cos 30 - 0.5) = 3 - 11.3 -> 0; then 10 on the level
    assert pulls(((100.0, 100.0), (-30.0, 0.0), (0.0, 0.0))) == pytest.approx([3.0, 0.0, 10.0])


@given(segments, st.floats(0.05, 0.5), st.floats(0.1, 10.0))
def test_laws(parts, friction, scale):
    length, slope, bend = (np.array(column) for column in zip(*parts, strict=True))
    here = pulls((length, slope, bend), friction=friction)
    heavier = pulls(
        (length, slope, bend), friction=friction, weight_kN_per_m=0.4 * scale, back_tension_kN=3.0 * scale
    )
    assert heavier == pytest.approx(here * scale)
    longer = pulls((length * scale, slope, bend), friction=friction, back_tension_kN=3.0 * scale)
    assert longer == pytest.approx(here * scale)
    rougher = pulls((length, slope, bend), friction=friction + 0.1)
    assert np.all(rougher >= here - 1e-9)
    forward, backward = pull_both_ways_kN(
        length, slope, bend, weight_kN_per_m=0.4, friction=friction, back_tension_kN=3.0
    )
    turned = pull_both_ways_kN(
        length[::-1], -slope[::-1], bend[::-1], weight_kN_per_m=0.4, friction=friction, back_tension_kN=3.0
    )
    assert turned[0][::-1] == pytest.approx(backward)
    assert turned[1][::-1] == pytest.approx(forward)


@pytest.mark.parametrize("parts", [((100.0,), (0.0,), (30.0,)), ((-1.0,), (0.0,), (0.0,))])
def test_segment_is_straight_or_bend(parts):
    with pytest.raises(ValueError, match="straight"):
        pulls(parts)


def test_side_wall_scales():
    assert side_wall_kN_per_m([50.0, 100.0, 50.0], [5.0, 5.0, 10.0]) == pytest.approx([10.0, 20.0, 5.0])


def test_eye():
    # 2 500 x 50 = 125 kN, 1 600 x 30 = 48 kN
    assert eye_limit_kN([2500.0, 1600.0], [50.0, 30.0]) == pytest.approx([125.0, 48.0])


def test_reach_of_a_straight_is_where_the_pull_meets_its_limit():
    # (125 - 5) / (0.4 x 0.25) = 1 200 m
    reach = straight_reach_m(
        [125.0, 4.0], slope_deg=0.0, weight_kN_per_m=0.4, friction=0.25, back_tension_kN=5.0
    )
    assert reach == pytest.approx([1200.0, 0.0])
    downhill = straight_reach_m(
        125.0, slope_deg=-20.0, weight_kN_per_m=0.4, friction=0.25, back_tension_kN=5.0
    )
    assert downhill == math.inf


@given(st.floats(10.0, 200.0), st.floats(-10.0, 30.0), st.floats(0.1, 10.0))
def test_reach_of_a_straight_scales_with_force_and_weight(limit_kN, slope_deg, scale):
    def reach(limit, weight, back):
        return straight_reach_m(
            limit, slope_deg=slope_deg, weight_kN_per_m=weight, friction=0.25, back_tension_kN=back
        )

    here = reach(limit_kN, 0.4, 3.0)
    assert reach(limit_kN * scale, 0.4, 3.0 * scale) == pytest.approx(here * scale)
    assert reach(limit_kN, 0.4 * scale, 3.0) == pytest.approx(here / scale)


def reach_by_trying(parts, radius_m, limit_kN, side_kN_per_m):
    length, slope, bend = (np.array(column) for column in parts)
    n = length.size
    found = []
    for start in range(n + 1):
        end = start
        while end < n:
            tried = slice(start, end + 1)
            pull = pulls((length[tried], slope[tried], bend[tried]))
            is_bend = bend[end] != 0.0
            if pull[-1] > limit_kN or (is_bend and pull[-1] > side_kN_per_m * radius_m[end]):
                break
            end += 1
        found.append(end)
    return found


@given(segments, st.floats(5.0, 80.0), st.floats(2.0, 20.0))
def test_reach_is_that_of_each_start_tried_apart(parts, limit_kN, side_kN_per_m):
    columns = tuple(zip(*parts, strict=True))
    radius_m = np.full(len(parts), 5.0)
    reach = pull_reach(
        *columns,
        radius_m,
        weight_kN_per_m=0.4,
        friction=0.25,
        back_tension_kN=3.0,
        limit_kN=limit_kN,
        side_wall_limit_kN_per_m=side_kN_per_m,
    )
    assert reach.tolist() == reach_by_trying(columns, radius_m, limit_kN, side_kN_per_m)


def test_reach_scales_with_force():
    def reach(scale):
        return pull_reach(
            *LEVEL,
            5.0,
            weight_kN_per_m=0.4 * scale,
            friction=0.25,
            back_tension_kN=3.0 * scale,
            limit_kN=40.0 * scale,
            side_wall_limit_kN_per_m=10.0 * scale,
        ).tolist()

    # 44.06 kN is over 40: from the first end only as far as the bend, from there on to the end
    assert reach(1.0) == [2, 3, 3, 3]
    assert reach(7.0) == reach(1.0)


def test_pipe_for_a_cable():
    # 1.5 x 140 and 280 mm
    assert least_pipe_inside_m([0.140, 0.280], 1.5) == pytest.approx([0.21, 0.42])


@given(st.floats(0.0, 80.0), st.floats(0.0, 0.5), st.floats(0.1, 10.0))
def test_gain_of_a_straight_scales_with_length_and_weight(slope_deg, friction, scale):
    here = straight_gain_kN(100.0, slope_deg, 0.4, friction)
    assert straight_gain_kN(100.0 * scale, slope_deg, 0.4, friction) == pytest.approx(here * scale)
    assert straight_gain_kN(100.0, slope_deg, 0.4 * scale, friction) == pytest.approx(here * scale)


@pytest.mark.parametrize(
    ("bend_deg", "tangent_m", "radius_m"),
    [
        # 60 deg: 1/cos 30 - 1 = 0.154701; 0.5/0.154701 = 3.232
        pytest.param(60.0, 100.0, 3.232, id="by-corner"),
        # 10 deg: 10/tan 5 = 114.30 under 0.5/(1/cos 5 - 1) = 130.90
        pytest.param(10.0, 10.0, 114.301, id="by-room"),
        pytest.param(90.0, 100.0, 2.0, id="by-least"),
    ],
)
def test_radius_of_a_cut_corner(bend_deg, tangent_m, radius_m):
    found = cut_corner_radius_m(bend_deg, tangent_m, off_m=0.5, least_m=2.0)
    assert found == pytest.approx(radius_m, abs=0.001)
