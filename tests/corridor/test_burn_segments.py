"""Crossings cut into segments, their directions and angles."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from routescreen.corridor.burn_segments import crossing_segments, smoothed_tangent
from routescreen.corridor.treatment import resolve_crossings
from tests.corridor.cases import (
    ASSUMPTIONS,
    burnt_case,
    crossing,
    straight,
    table,
)

AHEAD = 0  # index of the move (1, 0)


def test_tangent_at_a_corner_is_smoothed_over_the_window():
    xy = np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 100.0)])
    chainage = np.array([0.0, 100.0, 200.0])
    found = smoothed_tangent(np.array([50.0, 95.0, 100.0, 150.0]), xy, chainage, 20.0, is_ring=False)
    angles = np.degrees(np.arctan2(found[:, 1], found[:, 0]))
    np.testing.assert_allclose(angles, [0.0, math.degrees(math.atan2(5, 15)), 45.0, 90.0], atol=1e-9)


def test_tangent_of_a_pieced_line_is_that_of_the_whole():
    ways = [LineString([(0, 0), (100, 0)]), LineString([(100, 0), (100, 100)])]
    split = resolve_crossings(table("crossings", [crossing("river", way) for way in ways]), ASSUMPTIONS)
    whole = resolve_crossings(
        table("crossings", [crossing("river", LineString([(0, 0), (100, 0), (100, 100)]))]), ASSUMPTIONS
    )
    first, second = (crossing_segments(c, window_m=20.0) for c in (split, whole))
    first, second = (s.taken(~s.is_outline) for s in (first, second))
    lines = shapely.normalize(first.lines()), shapely.normalize(second.lines())
    order = [np.argsort(shapely.to_wkt(line)) for line in lines]
    np.testing.assert_allclose(np.abs(first.tangent[order[0]]), np.abs(second.tangent[order[1]]), atol=1e-9)


def test_angle_segments_cover_the_centre_line_without_gap():
    line = LineString([(0, 0), (60, 5), (70, 40), (71, 41), (200, 0)])
    crossings = resolve_crossings(table("crossings", [crossing("river", line)]), ASSUMPTIONS)
    segments = crossing_segments(crossings, window_m=20.0)
    pieces = segments.taken(~segments.is_outline)
    np.testing.assert_allclose(pieces.xy_m[1:, :2], pieces.xy_m[:-1, 2:])
    assert shapely.length(pieces.lines()).sum() == pytest.approx(line.length, abs=1e-9)
    assert shapely.hausdorff_distance(shapely.union_all(pieces.lines()), line) < 1e-9
    np.testing.assert_allclose(pieces.sin_min_angle, math.sin(math.radians(60.0)))
    np.testing.assert_allclose(np.hypot(*pieces.tangent.T), 1.0)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(3, 60), st.floats(-1.5, 1.5)), min_size=1, max_size=6), st.floats(0, 1))
def test_direction_hardly_turns_within_a_piece(steps, share):
    """So that the angle at the exact meeting point is that of the piece, within 2 deg."""
    heading = np.cumsum([turn for _, turn in steps])
    length = np.array([length for length, _ in steps])
    xy = np.vstack(
        [(0, 0), np.cumsum(np.column_stack([np.cos(heading), np.sin(heading)]) * length[:, None], 0)]
    )
    line = LineString(np.round(xy, 6))
    crossings = resolve_crossings(table("crossings", [crossing("river", line)]), ASSUMPTIONS)
    pieces = crossing_segments(crossings, window_m=20.0)
    pieces = pieces.taken(~pieces.is_outline)
    first, last = pieces.xy_m[:, :2], pieces.xy_m[:, 2:]
    chainage = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line.coords, axis=0).T))])
    begin = np.concatenate([[0.0], np.cumsum(np.hypot(*(last - first).T))[:-1]])
    at = begin + share * np.hypot(*(last - first).T)
    there = smoothed_tangent(at, np.array(line.coords), chainage, 20.0, is_ring=False)
    ends = [[line.interpolate(min(max(a + d, 0.0), line.length)) for a in at] for d in (-10.0, 10.0)]
    has_direction = shapely.distance(*ends) > 0.1  # else the line comes back to where the window began
    turn = np.degrees(np.arccos(np.clip((there * pieces.tangent).sum(axis=1), -1, 1)))
    assert turn[has_direction].max(initial=0.0) <= 2.0


# the river's round end: centre (100, 0), radius 15; on a circle the chord over an arc is square to the radius
@pytest.mark.parametrize(
    ("chord", "angles_deg"),
    [
        pytest.param([(0.0, 16.0), (90.0, 13.0)], [1.91], id="along the edge, never meeting the line"),
        pytest.param([(70.0, 40.0), (80.0, 14.0)], [68.96], id="slanting into the long edge"),
        pytest.param([(110.0, 0.5), (140.0, 0.5)], [88.09], id="straight at the very end"),
    ],
)
def test_edge_of_a_line_holds_its_direction_and_angle(chord, angles_deg):
    """A river of half-width 15 m that ends at x = 100: who slips past its middle crosses it all the same."""
    met, found_deg = met_edge(crossing("river", LineString([(-200, 0), (100, 0)])), chord)
    # on the arc a piece holds the direction of its middle, up to 2 deg off
    np.testing.assert_allclose(found_deg, angles_deg, atol=2.0 if chord[0][0] > 100 else 0.01)
    np.testing.assert_allclose(met.sin_min_angle, math.sin(math.radians(60.0)))


def met_edge(row, chord):
    """The pieces of an outline that a straight run meets, and the angles to them [deg]."""
    segments = crossing_segments(resolve_crossings(table("crossings", [row]), ASSUMPTIONS), window_m=20.0)
    met = segments.taken(shapely.intersects(segments.lines(), LineString(chord)))
    assert met.is_outline.all()
    assert len(met)
    along = np.subtract(chord[1], chord[0]) / np.hypot(*np.subtract(chord[1], chord[0]))
    sine = np.abs(along[0] * met.tangent[:, 1] - along[1] * met.tangent[:, 0])
    return met, np.degrees(np.arcsin(np.minimum(sine, 1.0)))


@pytest.mark.parametrize("x_m", [111.0, 112.5, 114.0])
def test_round_end_of_a_wide_line_is_met_at_its_own_angle(x_m):
    """Square to the river and past its end: the tip of its outline is only grazed.

    Near the tip the window of 20 m lies on the arc as a whole, where its chord is square to the radius.
    """
    _, found_deg = met_edge(crossing("river", LineString([(-200, 0), (100, 0)])), [(x_m, -50.0), (x_m, 50.0)])
    from_tip = math.acos((x_m - 100.0) / 15.0)
    assert from_tip * 15.0 + 10.0 <= math.pi / 2 * 15.0 + 1.6
    np.testing.assert_allclose(found_deg, math.degrees(from_tip), atol=2.5)


@pytest.mark.parametrize("half_width_m", [0.25, 2.0, 6.0])
def test_round_end_of_a_thin_line_has_the_direction_of_the_line(half_width_m):
    """Its arc is shorter than the window: the outline would turn back on itself within it."""
    river = crossing("river", LineString([(-200, 0), (100, 0)]), half_width_m=half_width_m)
    x_m = 100.0 + 0.8 * half_width_m
    for chord, angle_deg in (([(x_m, -50.0), (x_m, 50.0)], 90.0), ([(x_m, -0.1), (x_m + 20, -0.1)], 0.0)):
        _, found_deg = met_edge(river, chord)
        np.testing.assert_allclose(found_deg, angle_deg, atol=1e-6)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.25, 20.0), st.floats(30.0, 200.0), st.floats(0.0, 1.0))
def test_long_edge_follows_the_line_however_it_bends(half_width_m, radius_m, share):
    """Along a circular arc the direction at the edge is square to the radius, within 2 deg, at any point."""
    angle = np.linspace(0.0, 1.5, 121)
    line = LineString(radius_m * np.column_stack([np.cos(angle), np.sin(angle)]))
    row = crossing("river", line, half_width_m=half_width_m)
    segments = crossing_segments(resolve_crossings(table("crossings", [row]), ASSUMPTIONS), window_m=20.0)
    edge = segments.taken(segments.is_outline)
    point = edge.xy_m[:, :2] + share * (edge.xy_m[:, 2:] - edge.xy_m[:, :2])
    # half the window from the ends: nearer the window is cut off
    inner = np.abs(np.arctan2(point[:, 1], point[:, 0]) - 0.75) < 0.75 - 10.5 / radius_m
    square = np.column_stack([-point[:, 1], point[:, 0]]) / np.hypot(*point.T)[:, None]
    turn = np.degrees(np.arccos(np.clip(np.abs((square * edge.tangent).sum(axis=1)), 0, 1)))
    assert inner.any()
    assert (edge.sin_min_angle > 0.0).all()
    assert turn[inner].max() <= 2.5  # 2 deg, and the half step of the drawn arc


def test_trench_along_the_inside_of_an_edge_is_judged_where_it_enters():
    """A river of half-width 15 m beside the run: y = 10 lies inside, and meets no centre line."""
    bent = LineString([(-50, 40), (150, 0), (250, 0), (450, 40)])
    river = crossing("river", bent, trench="yes", treatment="open_cut")
    frame, _, burnt = burnt_case(straight(river))
    row = 9  # y = 10
    line = LineString([frame.node_xy_m[0, row], frame.node_xy_m[-1, row]])
    shores = bent.buffer(15.0).boundary.intersection(line)
    entered = sorted({int(x // 10) for x, _ in shapely.get_coordinates(shores)})
    assert len(entered) == 2
    assert not bent.intersects(LineString([(150, 10), (250, 10)]))
    assert not burnt.move_ok[entered, row, AHEAD].any()


def test_edge_of_an_area_beside_a_line_keeps_no_angle_of_its_own():
    """A road ends in a square drawn as an area, 40 m wide: only the road's own edge holds its angle."""
    road = crossing("road", LineString([(-200, 0), (0, 0)]))
    square = crossing("road", shapely.box(-1, -20, 39, 20), min_angle_deg=0.0)
    crossings = resolve_crossings(table("crossings", [road, square]), ASSUMPTIONS)
    segments = crossing_segments(crossings, window_m=20.0)
    has_angle = segments.is_outline & (segments.sin_min_angle > 0.0)
    assert len(crossings) == 1
    assert np.abs(segments.xy_m[has_angle][:, [1, 3]]).max() <= 5.02


def test_banks_of_an_area_are_measured_for_the_angle():
    lake = resolve_crossings(table("crossings", [crossing("lake", shapely.box(0, 0, 80, 60))]), ASSUMPTIONS)
    segments = crossing_segments(lake, window_m=20.0)
    banks = segments.taken(~segments.is_outline)
    assert shapely.length(banks.lines()).sum() == pytest.approx(280.0)
