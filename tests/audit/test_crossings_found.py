"""No crossing is missed: slivers and lines of any width and angle against exact arithmetic."""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

import numpy as np
import pytest
import shapely
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from routescreen.assumptions import load_assumptions
from routescreen.audit.angles import Guide, angle_between_deg
from routescreen.audit.crossings import Spans, find_meetings, meet_features
from routescreen.audit.features import resolve_features
from routescreen.audit.route import Route, measure_route
from routescreen.audit.tracks import tracks_of
from tests.audit.place import Run, across, crossing, crossings, plan

ASSUMPTIONS = load_assumptions()
Point = tuple[Fraction, Fraction]


def exactly(xy_m: np.ndarray) -> list[Point]:
    return [(Fraction(float(x)), Fraction(float(y))) for x, y in xy_m]


def turn(a: Point, b: Point, c: Point) -> Fraction:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def is_between(a: Point, b: Point, c: Point) -> bool:
    """Tell whether c, in line with a and b, lies between them."""
    return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])


def pieces_touch(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Tell whether the closed pieces a-b and c-d have a point in common."""
    if any(
        turn(p, q, r) == 0 and is_between(p, q, r) for p, q, r in ((a, b, c), (a, b, d), (c, d, a), (c, d, b))
    ):
        return True
    return turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0


def is_inside(ring: list[Point], p: Point) -> bool:
    """Count the edges that a ray to the right of p meets."""
    hits = 0
    for a, b in itertools.pairwise(ring):
        if (a[1] > p[1]) != (b[1] > p[1]):
            hits += a[0] + (p[1] - a[1]) * (b[0] - a[0]) / (b[1] - a[1]) > p[0]
    return hits % 2 == 1


def truly_met(xy_m: np.ndarray, outline: shapely.Geometry) -> bool:
    """Tell by exact arithmetic whether a polyline and an outline have a point in common."""
    line, shape = exactly(xy_m), exactly(shapely.get_coordinates(outline))
    if len(shape) == 1:
        shape = [shape[0], shape[0]]
    for a, b in itertools.pairwise(line):
        if any(pieces_touch(a, b, c, d) for c, d in itertools.pairwise(shape)):
            return True
    return shapely.get_dimensions(outline) == 2 and is_inside(shape, line[0])


def route_of(xy_m: list[tuple[float, float]], *driven: int) -> Route:
    return measure_route(plan(xy_m, *(Run(piece) for piece in driven)))


def spans_of(xy_m: list[tuple[float, float]], outline: shapely.Geometry) -> Spans:
    """Return the stretches of an alignment without drives inside one outline."""
    route = route_of(xy_m)
    return meet_features(route, tracks_of(route, ()), np.array([outline], dtype=object))


# to the micrometre: a drawing has no finer coordinates, and no line is shorter than that
metres = st.floats(-200.0, 200.0).map(lambda value: round(value, 6))
places = st.tuples(metres, metres)
on_grid = st.tuples(
    st.integers(-20, 20).map(lambda k: 10.0 * k), st.integers(-20, 20).map(lambda k: 10.0 * k)
)
vertices = st.lists(places | on_grid, min_size=2, max_size=5, unique=True)
widths_m = st.sampled_from([0.0, 1e-9, 1e-6, 1e-3, 0.5, 5.0, 40.0])


@st.composite
def slivers(draw: st.DrawFn) -> shapely.Polygon:
    """Return a thin quadrangle at any angle; it may be thinner than what coordinates resolve."""
    x, y = draw(places | on_grid)
    length_m, width_m = draw(st.floats(1.0, 300.0)), draw(st.sampled_from([1e-6, 1e-3, 0.1, 3.0, 60.0]))
    heading = draw(st.floats(0.0, math.pi) | st.sampled_from([0.0, math.pi / 4, math.pi / 2]))
    along = np.array([math.cos(heading), math.sin(heading)]) * length_m
    aside = np.array([-math.sin(heading), math.cos(heading)]) * width_m
    corner = np.array([x, y])
    return shapely.Polygon([corner, corner + along, corner + along + aside, corner + aside])


@given(xy_m=vertices, sliver=slivers())
@settings(max_examples=150, deadline=None)
def test_every_sliver_that_is_met_is_found_and_no_other(
    xy_m: list[tuple[float, float]], sliver: shapely.Polygon
) -> None:
    spans = spans_of(xy_m, sliver)
    assert (len(spans.feature) > 0) == truly_met(np.array(xy_m), sliver)


@given(xy_m=vertices, ends=st.lists(places | on_grid, min_size=2, max_size=2, unique=True), half_m=widths_m)
@example(xy_m=[(0.0, 0.0), (10.0, 0.0)], ends=[(10.0, 0.0), (20.0, 5.0)], half_m=0.0)
@example(xy_m=[(0.0, 0.0), (10.0, 0.0)], ends=[(2.0, 0.0), (8.0, 0.0)], half_m=0.0)
@settings(max_examples=150, deadline=None)
def test_every_line_that_is_met_is_in_the_schedule_and_no_other(
    xy_m: list[tuple[float, float]], ends: list[tuple[float, float]], half_m: float
) -> None:
    table = crossings(crossing("telecom", shapely.LineString(ends), half_width_m=half_m))
    features = resolve_features(table, ASSUMPTIONS)
    route = route_of(xy_m)
    meetings = find_meetings(route, tracks_of(route, ()), features, gap_m=2.0, window_m=20.0)
    assert bool(meetings) == truly_met(np.array(xy_m), features.outline[0])


def inside_m(a: np.ndarray, b: np.ndarray, quad: shapely.Polygon) -> float:
    """Return the length of a straight piece inside a convex quadrangle, cut by its four half planes."""
    low, high = 0.0, 1.0
    corners = shapely.get_coordinates(shapely.orient_polygons(quad))
    for p, q in itertools.pairwise(corners):
        normal = np.array([p[1] - q[1], q[0] - p[0]])
        start, slope = float(normal @ (a - p)), float(normal @ (b - a))
        if slope > 0.0:
            low = max(low, -start / slope)
        elif slope < 0.0:
            high = min(high, -start / slope)
        elif start < 0.0:
            return 0.0
    return max(high - low, 0.0) * float(np.hypot(*(b - a)))


@given(xy_m=vertices, sliver=slivers().filter(lambda quad: quad.area > 0.5))
@settings(max_examples=100, deadline=None)
def test_widths_add_up_to_the_length_inside(xy_m: list[tuple[float, float]], sliver: shapely.Polygon) -> None:
    # along an edge of the sliver the length inside is not defined: rounding decides on which side it lies
    assume(shapely.LineString(xy_m).intersection(sliver.boundary.buffer(1e-6)).length < 1e-3)
    spans = spans_of(xy_m, sliver)
    points = np.array(xy_m)
    expected = sum(inside_m(a, b, sliver) for a, b in itertools.pairwise(points))
    assert float((spans.to_m - spans.from_m).sum()) == pytest.approx(expected, abs=1e-4)


def meetings_of(xy_m: list[tuple[float, float]], *driven: int, features: list[object]) -> list[object]:
    resolved = resolve_features(crossings(*features), ASSUMPTIONS)
    route = route_of(xy_m, *driven)
    return find_meetings(route, tracks_of(route, ()), resolved, gap_m=2.0, window_m=20.0)


STRAIGHT_ON = [(0.0, 0.0), (300.0, 0.0)]
SQUARE = shapely.box(100.0, -50.0, 140.0, 50.0)


def test_a_river_split_into_two_ways_is_one_crossing_met_once() -> None:
    upper = crossing("river", shapely.LineString([(100.0, 0.0), (100.0, 200.0)]), feature_id="a")
    lower = crossing("river", shapely.LineString([(100.0, -200.0), (100.0, 0.0)]), feature_id="b")
    (meeting,) = meetings_of(STRAIGHT_ON, features=[upper, lower])
    assert meeting.features == (0, 1)
    assert (meeting.from_m, meeting.to_m) == pytest.approx((85.0, 115.0))
    assert meeting.angle.angle_deg == pytest.approx(90.0)


def test_two_parallel_pipelines_stay_two_crossings() -> None:
    pair = [crossing("gas_pipeline", across(x), feature_id=str(x)) for x in (100.0, 105.0)]
    assert [m.features for m in meetings_of(STRAIGHT_ON, features=pair)] == [(0,), (1,)]


def test_two_roads_far_apart_are_two_crossings() -> None:
    pair = [crossing("road", across(x), feature_id=str(x)) for x in (100.0, 150.0)]
    assert len(meetings_of(STRAIGHT_ON, features=pair)) == 2


def test_a_bend_inside_a_crossing_does_not_split_it() -> None:
    bent = [(0.0, 0.0), (120.0, 0.0), (300.0, 30.0)]
    assert len(meetings_of(bent, features=[crossing("forest", SQUARE)])) == 1


def test_a_shaft_inside_a_crossing_splits_it_between_its_sections() -> None:
    halves = meetings_of([(0.0, 0.0), (120.0, 0.0), (300.0, 0.0)], 1, features=[crossing("forest", SQUARE)])
    assert [(m.section, m.width_m, m.begins_inside) for m in halves] == [(0, 20.0, False), (1, 20.0, True)]


def test_a_section_that_only_touches_a_crossing_at_its_end_does_not_count_it_again() -> None:
    ends_there = [(0.0, 0.0), (140.0, 0.0), (300.0, 0.0)]
    (meeting,) = meetings_of(ends_there, 1, features=[crossing("forest", SQUARE)])
    assert meeting.section == 0


def test_leaving_a_crossing_and_coming_back_is_two_stretches() -> None:
    horseshoe = shapely.Polygon(
        [(100, -50), (200, -50), (200, 50), (100, 50), (100, 20), (180, 20), (180, -20), (100, -20)]
    )
    turned = [(120.0, -80.0), (120.0, 80.0)]
    assert [m.width_m for m in meetings_of(turned, features=[crossing("lake", horseshoe)])] == [30.0, 30.0]


@pytest.mark.parametrize(
    ("lean_m", "angle_deg"),
    [(0.0, 90.0), (300.0, 45.0), (300.0 / math.sqrt(3.0), 60.0), (300.0 * math.sqrt(3.0), 30.0)],
    ids=["square", "one in one", "60 deg", "30 deg"],
)
def test_the_angle_to_a_straight_line_is_that_of_the_line(lean_m: float, angle_deg: float) -> None:
    (meeting,) = meetings_of(STRAIGHT_ON, features=[crossing("road", across(150.0, lean_m=lean_m))])
    assert meeting.angle.angle_deg == pytest.approx(angle_deg)


def test_of_two_banks_the_lesser_angle_counts() -> None:
    # left bank square to the alignment, right bank at 45 deg
    wedge = shapely.Polygon([(100.0, -100.0), (100.0, 100.0), (300.0, 100.0), (100.0, -100.0)])
    (meeting,) = meetings_of([(0.0, 0.0), (400.0, 0.0)], features=[crossing("river", wedge)])
    assert meeting.angle.angle_deg == pytest.approx(45.0)
    assert meeting.angle.chainage_m == pytest.approx(200.0)


def test_a_kink_is_smoothed_over_the_window() -> None:
    # 45 deg for 2 m about the meeting point in a line that runs square for the rest
    kinked = shapely.LineString([(99.0, -50.0), (99.0, -1.0), (101.0, 1.0), (101.0, 50.0)])
    (meeting,) = meetings_of(STRAIGHT_ON, features=[crossing("road", kinked)])
    # 10 m each way along the line: 1.414 m of the kink and 8.586 m of the straight, 2 m aside
    assert meeting.angle.angle_deg == pytest.approx(
        math.degrees(math.atan2(2 * (1 + 10 - math.sqrt(2)), 2)), abs=1e-6
    )


def test_each_part_of_a_crossing_is_measured_against_its_own_least_angle() -> None:
    # the pond may be met at any angle; only the ditch through its middle asks for 45 deg
    pond = crossing(
        "ditch", shapely.Polygon([(90, -10), (140, -10), (160, 10), (90, 10)]), min_angle_deg=10.0
    )
    ditch = crossing("ditch", across(120.0), feature_id="line")
    (meeting,) = meetings_of(STRAIGHT_ON, features=[pond, ditch])
    assert (meeting.angle.least_deg, meeting.angle.angle_deg) == pytest.approx((45.0, 90.0))


def test_a_mast_has_no_angle() -> None:
    (meeting,) = meetings_of(STRAIGHT_ON, features=[crossing("wind_turbine", shapely.Point(100.0, 3.0))])
    assert math.isnan(meeting.angle.angle_deg)


def test_no_features_no_meetings() -> None:
    assert meetings_of(STRAIGHT_ON, features=[]) == []


def test_the_tangent_of_a_small_ring_takes_a_quarter_of_it() -> None:
    ring = shapely.LinearRing([(0.0, 0.0), (8.0, 0.0), (8.0, 8.0), (0.0, 8.0)])  # 32 m round
    bank = Guide(ring, 0.0, 0.0, is_bank=True, window_m=20.0)
    assert bank.tangent(np.array([4.0])).tolist() == [[8.0, 0.0]]


@given(first=st.floats(0.0, 2.0 * math.pi), second=st.floats(0.0, 2.0 * math.pi), scale=st.floats(0.1, 10.0))
def test_the_angle_between_directions_knows_no_order_sense_or_length(
    first: float, second: float, scale: float
) -> None:
    a = np.array([math.cos(first), math.sin(first)])
    b = scale * np.array([math.cos(second), math.sin(second)])
    angle = angle_between_deg(a, b)
    assert 0.0 <= angle <= 90.0
    assert angle == pytest.approx(angle_between_deg(b, -a), abs=1e-9)
