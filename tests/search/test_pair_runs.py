"""How often one straight move runs inside one crossing, counted by two ways of its own."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, box

from routescreen.search.frame_bill import _n_runs
from routescreen.search.pair_runs import count_runs

U_SHAPE = shapely.union_all([box(0, 0, 10, 10), box(20, 0, 30, 10), box(0, -10, 30, 0)])


@pytest.mark.parametrize(
    ("outline", "line", "gap_m", "n_runs"),
    [
        pytest.param(box(0, 0, 10, 10), (-5.0, 5.0, 15.0, 5.0), 2.0, 1, id="one-road"),
        pytest.param(box(0, 0, 10, 10), (2.0, 5.0, 8.0, 5.0), 2.0, 1, id="inside-all-along"),
        pytest.param(U_SHAPE, (-5.0, 5.0, 35.0, 5.0), 2.0, 2, id="out-and-in-again"),
        pytest.param(U_SHAPE, (35.0, 5.0, -5.0, 5.0), 2.0, 2, id="the-other-way"),
        pytest.param(U_SHAPE, (5.0, 5.0, 35.0, 5.0), 2.0, 2, id="begins-inside"),
        pytest.param(U_SHAPE, (5.0, 5.0, 25.0, 5.0), 2.0, 2, id="begins-and-ends-inside"),
        pytest.param(U_SHAPE, (-5.0, -5.0, 35.0, -5.0), 2.0, 1, id="through-the-base"),
        pytest.param(U_SHAPE, (-5.0, 5.0, 35.0, 5.0), 10.0, 1, id="no-further-apart-than-the-gap"),
        pytest.param(U_SHAPE, (-5.0, 15.0, 35.0, 15.0), 2.0, 1, id="beside-it-never-less-than-one"),
        pytest.param(
            MultiPolygon([box(0, 0, 4, 10), box(5, 0, 9, 10), box(15, 0, 19, 10)]),
            (-5.0, 5.0, 35.0, 5.0),
            2.0,
            2,
            id="near-ones-joined-far-ones-apart",
        ),
    ],
)
def test_runs_by_hand(
    outline: shapely.Geometry, line: tuple[float, float, float, float], gap_m: float, n_runs: int
) -> None:
    assert count_runs(np.array([line]), np.array([outline]), np.array([0]), gap_m=gap_m).tolist() == [n_runs]
    assert _n_runs(LineString([line[:2], line[2:]]), outline, gap_m) == n_runs


@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    walls=st.lists(st.tuples(st.integers(0, 60), st.integers(1, 9)), min_size=1, max_size=6),
    ends=st.tuples(st.floats(-10.0, 80.0), st.floats(-10.0, 80.0)).filter(lambda x: abs(x[0] - x[1]) > 1.0),
    slope=st.floats(-0.5, 0.5),
)
def test_both_ways_count_alike(walls: list[tuple[int, int]], ends: tuple[float, float], slope: float) -> None:
    """Walls across the line, joined into one crossing; whole metres, so that no gap is near the limit."""
    outline = shapely.union_all([box(x, -99.0, x + width, 99.0) for x, width in walls])
    line = (ends[0], 0.0, ends[1], slope * (ends[1] - ends[0]))
    found = int(count_runs(np.array([line]), np.array([outline]), np.array([0]), gap_m=2.7)[0])
    assert found == _n_runs(LineString([line[:2], line[2:]]), outline, 2.7)


def test_many_lines_at_once_keep_their_order() -> None:
    lines = np.array([(-5.0, -5.0, 35.0, -5.0), (-5.0, 5.0, 35.0, 5.0), (5.0, 5.0, 6.0, 5.0)])
    outlines = np.array([box(0, 0, 10, 10), U_SHAPE])
    assert count_runs(lines, outlines, np.array([1, 1, 0]), gap_m=2.0).tolist() == [1, 2, 1]
