"""Steel pipelines beside the link: by hand, limits, laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.pipelines import (
    PipelineLimits,
    crossing_angle_deg,
    distance_to_line_m,
    parallel_length_m,
    pipeline_flags,
)

TRADE = PipelineLimits(parallel_m=300.0, clear_m=2.0, angle_deg=60.0)


@pytest.mark.parametrize(
    ("second", "angle_deg"),
    [
        pytest.param([5.0, 0.0], 0.0, id="parallel"),
        pytest.param([-1.0, 0.0], 0.0, id="the other way"),
        pytest.param([0.0, 2.0], 90.0, id="square"),
        pytest.param([1.0, 1.0], 45.0, id="half"),
        pytest.param([-1.0, math.sqrt(3.0)], 60.0, id="blunt counts as sharp"),
    ],
)
def test_angles(second, angle_deg):
    assert crossing_angle_deg([2.0, 0.0], second) == pytest.approx(angle_deg)
    assert crossing_angle_deg(second, [2.0, 0.0]) == pytest.approx(angle_deg)


def test_an_angle_without_direction_is_not_evaluated():
    assert np.isnan(crossing_angle_deg([[1.0, 0.0], [0.0, 0.0]], [0.0, 0.0])).all()


@given(st.floats(0.0, 360.0), st.floats(0.0, 360.0), st.floats(0.1, 100.0))
def test_angles_turn_with_both_and_scale_away(turn, angle, k):
    def along(degrees):
        return np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])

    base = crossing_angle_deg(along(0.0), along(angle))
    assert crossing_angle_deg(k * along(turn), along(turn + angle)) == pytest.approx(base, abs=1e-6)


def test_distances_by_hand():
    # an L: beside its first leg, beyond its end, on its corner
    line = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0]]
    found = distance_to_line_m([[5.0, -3.0], [13.0, 14.0], [10.0, 0.0], [6.0, 5.0]], line)
    assert found == pytest.approx([3.0, 5.0, 0.0, 4.0])
    assert distance_to_line_m([[3.0, 4.0]], [[0.0, 0.0], [0.0, 0.0]]) == pytest.approx([5.0])
    with pytest.raises(ValueError, match="two or more points"):
        distance_to_line_m([[0.0, 0.0]], [[0.0, 0.0]])


def test_parallel_by_hand():
    assert parallel_length_m([10.0, 10.0, 5.0], [299.9, 300.0, 20.0], 300.0) == 15.0


def test_flags_by_hand():
    found = pipeline_flags(
        [299.0, 300.0, np.nan, 0.0, 0.0, 0.0],
        [np.nan, np.nan, np.nan, 2.0, 1.9, 2.0],
        [np.nan, np.nan, np.nan, 60.0, 90.0, np.nan],
        is_crossed=[False, False, False, True, True, True],
        limits=TRADE,
    )
    assert found.is_near.tolist() == [True, False, True, False, False, False]
    assert found.is_low.tolist() == [False, False, False, False, True, False]
    assert found.is_flat.tolist() == [False, False, False, False, False, True]
    assert found.needs_study.tolist() == [True, False, True, False, True, True]


@given(st.floats(0.1, 10.0))
def test_lengths_scale(k):
    line = k * np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0]])
    assert distance_to_line_m(k * np.array([[13.0, 14.0]]), line) == pytest.approx([5.0 * k])
    assert parallel_length_m([10.0 * k, 5.0 * k], [290.0 * k, 310.0 * k], 300.0 * k) == pytest.approx(
        10.0 * k
    )
    limits = PipelineLimits(300.0 * k, 2.0 * k, 60.0)
    found = pipeline_flags(0.0, 1.9 * k, 90.0, is_crossed=True, limits=limits)
    assert (bool(found.is_low), bool(found.is_flat)) == (True, False)
