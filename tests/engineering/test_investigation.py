"""Boreholes: by hand, limits, laws. Published figures stand in tests/published."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.investigation import (
    NO_STRETCHES,
    Stretches,
    beside_line_m,
    borehole_chainages_m,
    drive_borehole_depth_m,
    is_inside,
    most_gap_m,
    shaft_borehole_depth_m,
    spacing_utilisation,
)

RAIL_AND_RIVER = Stretches(np.array([120.0, 300.0]), np.array([134.0, 380.0]), np.array([50.0, 50.0]))
BELOW = {"least_m": 2.0, "diameters": 1.5}
AT_SHAFT = {"extra_m": 2.0, "share": 0.4}
positives = st.floats(0.1, 10.0)


def test_gaps_are_close_where_a_crossing_lies_between():
    gaps = most_gap_m(
        [0.0, 100.0, 134.0, 340.0, 380.0], [100.0, 140.0, 200.0, 360.0, 400.0], 100.0, RAIL_AND_RIVER
    )
    assert gaps.tolist() == [100.0, 50.0, 100.0, 50.0, 100.0]


def test_open_ground_by_hand():
    assert borehole_chainages_m([0.0, 250.0], 100.0).tolist() == [0.0, 100.0, 200.0, 250.0]
    assert borehole_chainages_m([0.0, 60.0, 250.0], 100.0).tolist() == [0.0, 60.0, 160.0, 250.0]
    assert borehole_chainages_m([0.0, 300.0], 100.0).tolist() == [0.0, 100.0, 200.0, 300.0]


def test_crossings_by_hand():
    # before the rail as far as 100, past it by 50; before the river at its edge less 5 m, then each 50 m
    found = borehole_chainages_m([0.0, 620.0], 100.0, RAIL_AND_RIVER, clear_m=5.0)
    assert found.tolist() == [0.0, 100.0, 150.0, 250.0, 295.0, 345.0, 395.0, 495.0, 595.0, 620.0]
    assert is_inside(found, RAIL_AND_RIVER).tolist() == 5 * [False] + [True] + 4 * [False]
    assert spacing_utilisation(found, 100.0, RAIL_AND_RIVER).max() == pytest.approx(1.0)


def test_a_crossing_just_ahead_is_approached_first():
    # from 0 neither rail edge within 50 m can be passed: stand at the edge, then pass it
    rail = Stretches(np.array([30.0]), np.array([60.0]), np.array([50.0]))
    assert borehole_chainages_m([0.0, 150.0], 100.0, rail).tolist() == [0.0, 30.0, 80.0, 150.0]


def test_impossible_input_is_refused():
    for shafts in ([0.0], [0.0, 0.0], [10.0, 0.0]):
        with pytest.raises(ValueError, match="shafts"):
            borehole_chainages_m(shafts, 100.0)
    with pytest.raises(ValueError, match="overlap"):
        Stretches(np.array([0.0, 5.0]), np.array([10.0, 15.0]), np.array([50.0, 50.0]))
    with pytest.raises(ValueError, match="distance"):
        borehole_chainages_m([0.0, 100.0], 0.0)


crossings = st.lists(st.floats(1.0, 150.0), min_size=2, max_size=8).map(
    lambda steps: np.cumsum(steps[: 2 * (len(steps) // 2)]).reshape(-1, 2)
)


@given(edges=crossings, close=st.floats(20.0, 100.0), length=st.floats(50.0, 1500.0))
def test_plan_keeps_the_distances_and_none_can_be_left_out(edges, close, length):
    stretches = Stretches(edges[:, 0], edges[:, 1], np.full(len(edges), close))
    found = borehole_chainages_m([0.0, length], 100.0, stretches)
    assert (found[0], found[-1]) == (0.0, pytest.approx(length))
    assert np.all(np.diff(found) > 0.0)
    assert spacing_utilisation(found, 100.0, stretches).max() <= 1.0 + 1e-9
    for left_out in range(1, len(found) - 1):
        fewer = np.delete(found, left_out)
        assert spacing_utilisation(fewer, 100.0, stretches).max() > 1.0


@given(length=st.floats(50.0, 1500.0))
def test_open_ground_takes_the_fewest(length):
    assert len(borehole_chainages_m([0.0, length], 100.0)) == int(np.ceil(length / 100.0 - 1e-9)) + 1


def test_depths_by_hand():
    # 10 + max(2, 0.84); 10 + max(2, 3.09)
    assert drive_borehole_depth_m(10.0, [0.56, 2.06], **BELOW) == pytest.approx([12.0, 13.09])
    # 10 m deep, wall 3 m below: dry max(4, 5); with 2 m of water the same; with 8 m of water 10
    assert shaft_borehole_depth_m(10.0, 3.0, [-1.0, 2.0, 8.0], **AT_SHAFT).tolist() == [15.0, 15.0, 20.0]
    assert shaft_borehole_depth_m(10.0, 0.0, 0.0, **AT_SHAFT) == 14.0


def test_beside_the_line_by_hand():
    # east for 10 m, then north: right of it is south, then left of it west
    line = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0]]
    found = beside_line_m([4.0, 16.0, 20.0], line, 5.0)
    assert found == pytest.approx(np.array([[4.0, -5.0], [5.0, 6.0], [15.0, 10.0]]))
    with pytest.raises(ValueError, match="on the line"):
        beside_line_m([21.0], line, 5.0)
    with pytest.raises(ValueError, match="two or more points"):
        beside_line_m([0.0], [[0.0, 0.0], [0.0, 0.0]], 5.0)


@given(st.lists(st.floats(0.0, 20.0), min_size=1, max_size=6))
def test_boreholes_stand_off_the_line(chainages):
    found = beside_line_m(chainages, [[0.0, 0.0], [20.0, 0.0]], 5.0)
    assert np.abs(found[:, 1]) == pytest.approx(5.0)
    assert found[:, 0] == pytest.approx(chainages)


@given(k=positives)
def test_lengths_scale(k):
    wide = Stretches(RAIL_AND_RIVER.from_m * k, RAIL_AND_RIVER.to_m * k, RAIL_AND_RIVER.spacing_m * k)
    base = borehole_chainages_m([0.0, 620.0], 100.0, RAIL_AND_RIVER)
    found = borehole_chainages_m([0.0, 620.0 * k], 100.0 * k, wide)
    assert found == pytest.approx(base * k)
    assert spacing_utilisation(found, 100.0 * k, wide) == pytest.approx(
        spacing_utilisation(base, 100.0, RAIL_AND_RIVER)
    )
    assert most_gap_m(0.0, 150.0 * k, 100.0 * k, wide) == pytest.approx(50.0 * k)
    deep = {"least_m": 2.0 * k, "diameters": 1.5}
    assert drive_borehole_depth_m(10.0 * k, 2.06 * k, **deep) == pytest.approx(13.09 * k)
    assert shaft_borehole_depth_m(10.0 * k, 3.0 * k, 8.0 * k, extra_m=2.0 * k, share=0.4) == pytest.approx(
        20.0 * k
    )
    assert beside_line_m([4.0 * k], [[0.0, 0.0], [10.0 * k, 0.0]], 5.0 * k) == pytest.approx(
        np.array([[4.0 * k, -5.0 * k]])
    )


def test_edges_are_outside_and_crossings_may_touch():
    touching = Stretches(np.array([10.0, 20.0]), np.array([20.0, 30.0]), np.array([50.0, 50.0]))
    assert is_inside([10.0, 15.0, 20.0, 30.0], touching).tolist() == [False, True, False, False]


def test_no_crossings_change_nothing():
    assert most_gap_m([0.0, 5.0], [100.0, 9.0], 80.0, NO_STRETCHES).tolist() == [80.0, 80.0]
    assert not is_inside([1.0, 2.0], NO_STRETCHES).any()
