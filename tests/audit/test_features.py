"""What features ask for: the kind's treatment under the feature's own words."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import LineString, Point, box

from routescreen.assumptions import load_assumptions
from routescreen.audit.features import Features, resolve_features
from tests.audit.place import across, crossing, crossings

ASSUMPTIONS = load_assumptions()


def resolved(*features: tuple[dict[str, object], shapely.Geometry]) -> Features:
    return resolve_features(crossings(*features), ASSUMPTIONS)


@pytest.mark.parametrize(
    ("kind", "own", "may_be_cut_driven_stood_in"),
    [
        ("road", {}, (True, True, False)),
        ("path", {}, (True, True, True)),
        ("river", {}, (False, True, False)),
        ("building", {}, (False, False, False)),
        ("gas_pipeline", {}, (True, True, False)),
        ("ditch", {}, (True, True, False)),
        ("river", {"treatment": "open_cut"}, (True, True, False)),
        ("road", {"treatment": "trenchless"}, (False, True, False)),
        ("building", {"treatment": "trenchless"}, (False, True, False)),
        ("road", {"treatment": "avoid"}, (False, False, False)),
        ("road", {"shaft_allowed": "yes"}, (True, True, True)),
        ("path", {"shaft_allowed": "consent"}, (True, True, False)),
    ],
    ids=[
        "minor road",
        "path: even a shaft",
        "river: drive only",
        "building: nothing",
        "trench by consent counts as allowed",
        "shaft by consent counts as not allowed",
        "the owner lets the river be cut",
        "the owner wants no trench",
        "a drive under a house, agreed",
        "the owner wants nothing",
        "the owner lets a shaft stand",
        "the owner wants to be asked",
    ],
)
def test_a_feature_allows_what_its_kind_does_unless_it_says_otherwise(
    kind: str, own: dict[str, object], may_be_cut_driven_stood_in: tuple[bool, bool, bool]
) -> None:
    features = resolved(crossing(kind, across(0.0), **own))
    allowed = (bool(features.trench_ok[0]), bool(features.drive_ok[0]), bool(features.shaft_ok[0]))
    assert allowed == may_be_cut_driven_stood_in


def test_own_figures_stand_before_those_of_the_kind() -> None:
    own = resolved(crossing("river", across(0.0), min_cover_m=3.5, min_angle_deg=70.0, half_width_m=20.0))
    usual = resolved(crossing("river", across(0.0)))
    figures = [(f.cover_m[0], f.least_angle_deg[0], f.half_width_m[0]) for f in (own, usual)]
    assert figures == [(3.5, 70.0, 20.0), (2.5, 60.0, 15.0)]


def test_only_lines_and_points_are_widened() -> None:
    line = LineString([(0.0, 0.0), (100.0, 0.0)])
    features = resolved(
        crossing("road", line, half_width_m=5.0),
        crossing("river", box(0.0, 200.0, 100.0, 300.0)),
        crossing("wind_turbine", Point(0.0, -200.0), half_width_m=10.0),
        crossing("telecom", LineString([(0.0, -300.0), (100.0, -300.0)]), half_width_m=0.0),
    )
    areas = [float(outline.area) for outline in features.outline]
    assert areas[0] == pytest.approx(1000.0 + math.pi * 25.0, rel=2e-3)
    assert areas[1:] == pytest.approx([10_000.0, math.pi * 100.0, 0.0], rel=2e-3)
    assert features.half_width_m.tolist() == [5.0, 0.0, 10.0, 0.0]


def test_roads_are_one_crossing_up_to_the_gap_and_two_beyond_it() -> None:
    # outlines 10 m wide: 1.9 m apart, 2.1 m apart
    near = resolved(crossing("road", across(0.0)), crossing("road", across(11.9)))
    far = resolved(crossing("road", across(0.0)), crossing("road", across(12.1)))
    assert (near.n_crossings, far.n_crossings) == (1, 2)


def test_different_kinds_never_become_one_crossing() -> None:
    assert resolved(crossing("road", across(0.0)), crossing("track", across(0.0))).n_crossings == 2


def test_a_stated_depth_is_known_by_record_and_a_usual_one_is_assumed() -> None:
    features = resolved(
        crossing("gas_pipeline", across(0.0), depth_m=1.2), crossing("gas_pipeline", across(50.0))
    )
    assert features.confidence.tolist() == ["record", "assumed"]


def test_no_features_at_all() -> None:
    features = resolved()
    assert (len(features), features.n_crossings) == (0, 0)
