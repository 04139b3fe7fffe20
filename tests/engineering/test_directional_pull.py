"""Pull in drilled bores: limits, own regression, laws. Published figures stand in tests/published."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.directional_pull import (
    KN_PER_LB,
    M_PER_FT,
    DrilledPath,
    collapsed_bore_pull_kN,
    drilled_path,
    drilled_pull,
    guide_pull_kN,
    small_bore_pull_kN,
)

LB_PER_FT = KN_PER_LB / M_PER_FT
positives = st.floats(0.1, 10.0)


def path(crossing_m=300.0, depth_m=10.0, pipe_deg=10.0, rig_deg=15.0, outside_m=30.0) -> DrilledPath:
    return drilled_path(crossing_m, depth_m, math.radians(pipe_deg), math.radians(rig_deg), outside_m)


def pull(way, weight=0.6, uplift=1.2, ground=0.4, bore=0.25):
    return drilled_pull(
        way, ground_friction=ground, bore_friction=bore, weight_kN_per_m=weight, uplift_kN_per_m=uplift
    )


def test_recursion_in_pounds():
    """Own arithmetic: 61.54 and 232.41 lb/ft, H 35, crossing 870, L1 100 ft, 10 and 15 degrees."""
    way = path(870.0 * M_PER_FT, 35.0 * M_PER_FT, 10.0, 15.0, 100.0 * M_PER_FT)
    found = pull(way, 61.54 * LB_PER_FT, 232.41 * LB_PER_FT)
    pounds = [x / KN_PER_LB for x in (found.enters_kN, found.below_kN, found.rises_kN, found.leaves_kN)]
    assert pounds == pytest.approx([25_604.0, 48_527.0, 54_680.0, 58_409.0], abs=0.6)
    assert found.most_kN == found.leaves_kN


def test_path_by_hand():
    # 2 x 10/0.2 = 100 down, 2 x 10/0.25 = 80 up, 300 - 180 level
    way = drilled_path(300.0, 10.0, 0.2, 0.25, 30.0)
    assert (way.down_m, way.level_m, way.up_m) == pytest.approx((100.0, 120.0, 80.0))
    short = drilled_path([170.0, 300.0], 10.0, 0.2, 0.25, 30.0)
    assert np.isnan(pull(short).leaves_kN).tolist() == [True, False]


@pytest.mark.parametrize(("share", "third"), [(0.2, 0.337), (1.0, 0.352)])
@pytest.mark.parametrize("weight", [0.1, 3.0])
def test_pull_is_about_a_third_of_the_uplift_whatever_the_pipe_weighs_outside(share, third, weight):
    """Own arithmetic: v 0.5 and 0.3, 20 degrees each, H 0, no pipe left outside."""
    angle = np.asarray(math.radians(20.0))
    parts = [np.asarray(x) for x in (0.0, 50.0 * share, 100.0 * (1.0 - share), 50.0 * share, 0.0)]
    found = pull(DrilledPath(*parts, angle, angle), weight, 1.0, 0.5, 0.3)
    assert found.leaves_kN / 100.0 == pytest.approx(third, abs=5e-4)


def test_straight_bore_is_friction_on_length():
    """Angles of nearly nothing: v_b |w_b| L is left at the end, v_a w_a L at the start."""
    angle = np.asarray(1e-9)
    parts = [np.asarray(x) for x in (0.0, 40.0, 100.0, 60.0, 0.0)]
    found = pull(DrilledPath(*parts, angle, angle), weight=0.6, uplift=-1.2)
    assert found.enters_kN == pytest.approx(0.4 * 0.6 * 200.0)
    assert found.leaves_kN == pytest.approx(0.25 * 1.2 * 200.0)


def test_uplift_costs_on_the_way_down_and_helps_on_the_way_up():
    floats, sinks = pull(path(), uplift=1.2), pull(path(), uplift=-1.2)
    assert floats.below_kN > sinks.below_kN
    assert floats.enters_kN == sinks.enters_kN


@given(k=positives)
def test_drilled_pull_scales(k):
    one = pull(path())
    assert pull(path(), 0.6 * k, 1.2 * k).most_kN == pytest.approx(k * one.most_kN)
    longer = path(300.0 * k, 10.0 * k, outside_m=30.0 * k)
    assert pull(longer).leaves_kN == pytest.approx(k * one.leaves_kN)
    assert longer.down_m == pytest.approx(k * path().down_m)


def test_small_bore_rule_by_hand():
    # 150 m is 492.1 ft: n = 180/90 + 0.98425; 150 x 0.1/3 x 1.6^2.98425
    assert small_bore_pull_kN(150.0, 0.1, 180.0) == pytest.approx(5.0 * 1.6**2.984252)
    assert np.isnan(small_bore_pull_kN([182.0, 183.0], 0.1, 0.0)).tolist() == [False, True]


@given(k=positives)
def test_rules_scale(k):
    assert small_bore_pull_kN(100.0, 0.1 * k, 90.0) == pytest.approx(k * small_bore_pull_kN(100.0, 0.1, 90.0))
    one = collapsed_bore_pull_kN(18.0, 2.0, 0.5, 30.0, 0.3)
    assert one == pytest.approx(36.0 * math.pi * 0.5 * 30.0 * 0.3)
    assert collapsed_bore_pull_kN(18.0, 2.0 * k, 0.5 * k, 30.0 * k, 0.3) == pytest.approx(k**3 * one)
    assert guide_pull_kN(k, 0.3 * k, 30.0 * k) == pytest.approx(k**3 * guide_pull_kN(1.0, 0.3, 30.0))


def test_impossible_angle_is_refused():
    with pytest.raises(ValueError, match="the angle must be above 0"):
        path(pipe_deg=0.0)
