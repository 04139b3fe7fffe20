"""The angle at the edges of what a line feature covers: what passes its line by still crosses it."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from routescreen.assumptions import load_assumptions
from routescreen.audit import audit_plan
from routescreen.audit.angles import Guide, angle_between_deg, crossing_lines
from routescreen.audit.crossings import Meeting, find_meetings
from routescreen.audit.features import resolve_features
from routescreen.audit.route import measure_route
from routescreen.audit.tracks import tracks_of
from tests.audit.place import correct_plan, crossing, crossings, place, plan

ASSUMPTIONS = load_assumptions()
AHEAD = np.array([1.0, 0.0])


def meetings_of(*features: tuple[dict[str, object], shapely.Geometry]) -> list[Meeting]:
    route = measure_route(plan([(0.0, 0.0), (300.0, 0.0)]))
    resolved = resolve_features(crossings(*features), ASSUMPTIONS)
    return find_meetings(route, tracks_of(route, ()), resolved, gap_m=2.0, window_m=20.0)


def test_a_clipped_edge_has_the_direction_of_the_line_beside_it() -> None:
    # the line ends 4 m short of the alignment and 45 deg to it: only the edge near its end is met
    road = LineString([(100.0, 4.0), (180.0, 84.0)])
    (meeting,) = meetings_of(crossing("road", road, half_width_m=5.0))
    assert meeting.angle.angle_deg == pytest.approx(45.0)
    assert meeting.angle.least_deg == 60.0


def test_along_inside_the_half_width_of_a_road_is_seen_where_the_edge_is_met() -> None:
    # along y 4, 5 m wide to each side, from x 100: entered through its end, parallel to it
    (meeting,) = meetings_of(crossing("road", LineString([(100.0, 4.0), (400.0, 4.0)]), half_width_m=5.0))
    assert meeting.angle.angle_deg == pytest.approx(0.0)


def test_the_end_of_a_narrow_road_passed_at_its_lines_own_angle_is_square() -> None:
    # the end stands square to the alignment 2 m beside it; its round end is met, its direction is the line's
    (meeting,) = meetings_of(crossing("road", LineString([(100.0, 2.0), (100.0, 90.0)]), half_width_m=5.0))
    assert meeting.angle.angle_deg == pytest.approx(90.0)


def test_the_end_of_a_wide_line_has_the_direction_of_its_own_arc() -> None:
    # half-width 20 m, so its arc of 63 m is longer than the window of 20 m; the end is 16 m off, and the
    # alignment cuts the arc at 12 m to each side (16-12-20): there the radius has slope 16 in 12
    line = LineString([(100.0, 16.0), (100.0, 200.0)])
    (meeting,) = meetings_of(crossing("power_line", line, half_width_m=20.0))
    assert meeting.width_m == pytest.approx(24.0, abs=0.1)
    # the chord over an arc is parallel to the tangent at its middle, square to the radius
    assert meeting.angle.angle_deg == pytest.approx(math.degrees(math.atan2(12.0, 16.0)), abs=0.5)


@pytest.mark.parametrize(
    ("half_width_m", "is_wide"),
    [(20.0 / math.pi - 0.01, False), (20.0 / math.pi + 0.01, True)],
    ids=["arc just shorter than the window", "arc just longer"],
)
def test_the_arc_holds_where_it_is_as_long_as_the_window(half_width_m: float, is_wide: bool) -> None:
    line = LineString([(0.0, 0.0), (100.0, 0.0)])
    assert Guide(line, 60.0, half_width_m, is_bank=False, window_m=20.0).has_wide_end == is_wide


def test_a_ring_road_has_no_end() -> None:
    ring = LineString(shapely.Point(0.0, 0.0).buffer(80.0).exterior.coords)
    guide = Guide(ring, 60.0, 16.0, is_bank=False, window_m=20.0)
    assert not guide.has_wide_end
    assert not guide.is_end(np.array([0.0])).any()


def test_the_bank_of_a_pond_is_no_edge_of_the_ditch_far_from_it() -> None:
    pond = crossing("ditch", shapely.box(0.0, 0.0, 40.0, 40.0), feature_id="pond")
    ditch = crossing("ditch", LineString([(20.0, 40.0), (20.0, 90.0)]), feature_id="ditch")
    lines = crossing_lines(resolve_features(crossings(pond, ditch), ASSUMPTIONS), 0, window_m=20.0)
    assert lines.owner_of_edge(np.array([0.0, 20.0])) is None
    owner = lines.owner_of_edge(np.array([21.5, 70.0]))
    assert owner is not None
    assert not owner.is_bank


def test_a_line_that_asks_for_no_angle_has_no_edges() -> None:
    lines = crossing_lines(
        resolve_features(crossings(crossing("hedge", LineString([(0, 0), (50, 0)]))), ASSUMPTIONS),
        0,
        window_m=20.0,
    )
    assert lines.edges == ()


def test_a_trench_that_clips_the_edge_of_a_road_too_flat_is_a_breach_with_its_place() -> None:
    # in open cut: the road ends beside the trench, leaning 11 deg to it, its line never met
    road = crossing("road", LineString([(1000.0, 4.0), (1100.0, 24.0)]), feature_id="lane")
    report = audit_plan(correct_plan(), place(road), ASSUMPTIONS)
    (breach,) = [b for b in report.breaches if b.check == "crossing_angle"]
    assert (breach.section, breach.feature_id) == (2, "lane")
    assert breach.capacity == pytest.approx(math.degrees(math.atan2(20.0, 100.0)))
    assert breach.xy_m is not None
    assert shapely.Point(breach.xy_m).distance(road[1]) == pytest.approx(5.0, abs=0.02)


corners = st.lists(
    st.tuples(st.integers(-60, 60), st.integers(-60, 60)), min_size=3, max_size=6, unique=True
).map(lambda points: [(float(x), float(y)) for x, y in points])


@given(points=corners, share=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)), is_ring=st.booleans())
@settings(max_examples=60, deadline=None)
def test_the_least_angle_on_a_stretch_is_no_more_than_anywhere_on_it(
    points: list[tuple[float, float]], share: tuple[float, float], is_ring: bool
) -> None:
    line = LineString([*points, points[0]] if is_ring else points)
    guide = Guide(line, 60.0, 5.0, is_bank=False, window_m=20.0)
    from_m, to_m = sorted(part * guide.length_m for part in share)
    least_deg, at_m = guide.least_angle(from_m, to_m, AHEAD)
    between_m = np.linspace(from_m, to_m, 300)
    tangents = guide.tangent(between_m)
    anywhere = [angle_between_deg(AHEAD, tangent) for tangent in tangents if np.hypot(*tangent) > 1e-3]
    assert from_m <= at_m <= to_m
    assert least_deg <= min(anywhere, default=90.0) + 1e-6
    # and it is really taken: somewhere on the stretch, or passed through between two places
    if least_deg > 0.0:
        assert angle_between_deg(AHEAD, guide.tangent(np.array([at_m]))[0]) == pytest.approx(least_deg)
