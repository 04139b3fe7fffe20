"""A drive meets what any of its bores meets: found, listed once, held to its angle, paid for."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, box

from routescreen.assumptions import load_assumptions
from routescreen.audit import AuditReport, audit_plan
from routescreen.audit.scene import Scene, set_scene
from routescreen.money.measure import bill_items
from tests.audit.place import STRAIGHT, Run, across, correct_plan, crossing, crossings, place, plan

ASSUMPTIONS = load_assumptions()
INDEX = bill_items(ASSUMPTIONS).index
Feature = tuple[dict[str, object], shapely.Geometry]
# the correct plan's drive runs from x 520 to x 800, its four bores at y 9, 3, -3 and -9
BORES_Y = (9.0, 3.0, -3.0, -9.0)


def only(*features: Feature) -> Scene:
    inp = replace(place(), crossings=crossings(*features))
    return set_scene(correct_plan(), inp, ASSUMPTIONS, axis=None)


def audited(*features: Feature) -> AuditReport:
    return audit_plan(correct_plan(), replace(place(), crossings=crossings(*features)), ASSUMPTIONS)


@pytest.mark.parametrize(
    ("area", "stretch_m"),
    [
        (box(600.0, 5.0, 640.0, 100.0), (600.0, 640.0)),
        (box(600.0, -100.0, 640.0, -8.0), (600.0, 640.0)),
        (box(600.0, 2.0, 640.0, 4.0), (600.0, 640.0)),
        (box(600.0, -1.0, 640.0, 1.0), (600.0, 640.0)),
        (box(600.0, 5.0, 640.0, 7.0), None),
        (box(600.0, 9.1, 640.0, 100.0), None),
        (box(810.0, 9.0, 830.0, 100.0), None),
    ],
    ids=[
        "under the left outer bore alone",
        "under the right outer bore alone",
        "under an inner bore alone",
        "under the alignment alone, between the inner bores",
        "between two bores",
        "beside all of them",
        "beyond the shaft, where bores are no more",
    ],
)
def test_a_crossing_is_met_by_any_bore(area: shapely.Geometry, stretch_m: tuple[float, float] | None) -> None:
    found = [(m.from_m, m.to_m) for m in only(crossing("lake", area)).meetings]
    assert found == ([stretch_m] if stretch_m else [])


def test_a_slanting_cable_that_the_bores_meet_one_after_the_other_is_one_crossing() -> None:
    # leans 45 deg: the bores meet it 6 m apart; it is 1 m wide, so 1.41 m along each bore
    (meeting,) = only(crossing("telecom", across(660.0, lean_m=300.0))).meetings
    half_m = 0.5 * math.sqrt(2.0)
    assert (meeting.from_m, meeting.to_m) == pytest.approx((660.0 - 9.0 - half_m, 660.0 + 9.0 + half_m))
    assert meeting.width_m == pytest.approx(2.0 * half_m)


def test_two_arms_of_a_pond_under_two_bores_are_two_stretches() -> None:
    pond = shapely.Polygon(
        [(600, 8), (610, 8), (610, 40), (650, 40), (650, 8), (660, 8), (660, 50), (600, 50)]
    )
    found = [(m.from_m, m.to_m) for m in only(crossing("lake", pond)).meetings]
    assert found == [(600.0, 610.0), (650.0, 660.0)]


def test_the_flattest_bore_rules_the_angle() -> None:
    # square to the alignment up to y 6; from there on it leans 30 deg to it, met by the left outer bore
    bent = LineString([(650.0, -100.0), (650.0, 6.0), (650.0 + 100.0 * math.sqrt(3.0), 106.0)])
    (meeting,) = only(crossing("road", bent, half_width_m=0.0)).meetings
    assert meeting.angle.bore == 0
    # the outer bore's point lies 6 m past the kink; 10 m back along the line is 4 m before it
    along, up = 16.0 * math.cos(math.radians(30.0)), 4.0 + 16.0 * math.sin(math.radians(30.0))
    assert meeting.angle.angle_deg == pytest.approx(math.degrees(math.atan2(up, along)))


def test_a_road_that_only_an_outer_bore_meets_too_flat_is_a_breach_with_its_place() -> None:
    # beside the alignment: 8 m off at x 600, 12 m off at x 700, so under 3 deg to it
    road = crossing("road", LineString([(600.0, 8.0), (700.0, 12.0)]), half_width_m=0.0)
    report = audited(road)
    (breach,) = [b for b in report.breaches if b.check == "crossing_angle"]
    assert (breach.drive, breach.feature_id) == (0, "road")
    assert breach.xy_m == pytest.approx((625.0, 9.0))
    assert breach.capacity == pytest.approx(math.degrees(math.atan2(4.0, 100.0)))
    assert "bore 1" in breach.reason
    assert report.crossings["remark"][0] == "met by bores beside the alignment only"


def test_the_same_road_beyond_the_bores_is_no_breach() -> None:
    road = crossing("road", LineString([(600.0, 9.5), (700.0, 13.5)]), half_width_m=0.0)
    report = audited(road)
    assert report.breaches == ()
    assert len(report.crossings) == 0


def test_a_drive_under_what_bars_it_by_an_outer_bore_is_a_breach() -> None:
    report = audited(crossing("building", box(640.0, 8.5, 650.0, 20.0)))
    (ban,) = [b for b in report.breaches if b.check == "treatment"]
    assert (ban.drive, ban.feature_id) == (0, "building")


@pytest.mark.parametrize(
    ("south_m", "n"), [(8.0, 1.0), (9.5, 0.0)], ids=["under the outer bore", "beside it"]
)
def test_the_bill_pays_for_what_any_bore_meets(south_m: float, n: float) -> None:
    report = audited(crossing("lake", box(600.0, south_m, 640.0, 100.0)))
    assert report.section_quantities[:, INDEX["MN12"]].tolist() == [0.0, n, 0.0]


@given(x=st.floats(530.0, 780.0), y=st.floats(-14.0, 14.0), side_m=st.floats(0.1, 8.0))
@settings(max_examples=40, deadline=None)
def test_a_pond_is_met_where_its_square_holds_the_height_of_a_bore(x: float, y: float, side_m: float) -> None:
    met = only(crossing("lake", box(x, y, x + side_m, y + side_m))).meetings
    heights = np.array([*BORES_Y, 0.0])
    assert bool(met) == bool(((y <= heights) & (heights <= y + side_m)).any())


def test_bores_are_laid_out_from_shaft_to_shaft_in_a_skew_drive_too() -> None:
    # 3-4-5: the drive rises 30 m in 40; a point 9 m to its left lies at (-0.6, 0.8) * 9 from its line
    skew = [(0.0, 0.0), (520.0, 0.0), (680.0, 120.0), (1500.0, 0.0)]
    at = np.array([600.0, 60.0]) + 9.0 * np.array([-0.6, 0.8])
    pond = box(at[0] - 0.5, at[1] - 0.5, at[0] + 0.5, at[1] + 0.5)
    inp = replace(place(), crossings=crossings(crossing("lake", pond)))
    (meeting,) = set_scene(plan(skew, Run(1)), inp, ASSUMPTIONS, axis=None).meetings
    # a unit square about the bore, met at its slope: 1 / 0.8 long, its middle 100 m from the shaft
    assert (meeting.middle_m, meeting.width_m) == pytest.approx((520.0 + 100.0, 1.25))
    assert STRAIGHT[1] == skew[1]
