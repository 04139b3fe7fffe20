"""Cover, clearance and soils along every bore, on cases that can be checked by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.audit.bores import clear_sideways_m, least_cover
from routescreen.audit.covers import CoverRules, cover_under
from routescreen.audit.drive_checks import soil_lengths_m
from routescreen.audit.scene import Scene, set_scene
from tests.audit.place import STRAIGHT, Run, across, crossing, crossings, place, plan, raster, with_ground

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

ASSUMPTIONS = load_assumptions()
RULES = CoverRules(2.0, 0.001, 30.0, False, 1.0)


def scene_of(inp: CorridorInput, lower_m: float = 44.0, upper_m: float = 44.0) -> Scene:
    return set_scene(plan(STRAIGHT, Run(1, lower_m, upper_m)), inp, ASSUMPTIONS, axis=None)


def with_feature(kind: str, geometry: object, **own: object) -> CorridorInput:
    return replace(place(), crossings=crossings(crossing(kind, geometry, **own)))


def uneven(level_at: dict[tuple[int, int], float]) -> CorridorInput:
    grid = raster(50.0)
    values = grid.values.copy()
    for (row, column), level_m in level_at.items():
        values[row, column] = level_m
    return replace(place(), terrain=replace(grid, values=values))


def test_bores_stand_side_by_side_about_the_centre_line() -> None:
    line = scene_of(place()).lines[0]
    assert line.offsets_m.tolist() == [-9.0, -3.0, 3.0, 9.0]
    # bore 1 is the leftmost looking up-chainage: to the north of a line that runs east
    assert line.xy_m(0, np.array([0.0])).tolist() == [[520.0, 9.0]]
    assert line.true_length_m == 280.0


def test_a_hollow_over_an_outer_bore_alone_is_found() -> None:
    # pixel middle at x 645, y 5: 4 m off bore 1 (y 9), 2 m off bore 2 (y 3)
    scene = scene_of(uneven({(49, 94): 46.0}))
    least = least_cover(scene.lines[0], scene.ground, required_m=2.0, step_m=1.0)
    # at y 3 the hollow has 0.8 of its depth of 4 m: 50 - 3.2 - 44
    assert (least.bore, least.actual_m) == pytest.approx((1, 2.8))
    assert least.chainage_m == pytest.approx(645.0, abs=0.51)


@given(lower_m=st.floats(40.0, 47.0), upper_m=st.floats(40.0, 47.0))
@settings(max_examples=25, deadline=None)
def test_under_flat_ground_the_least_cover_is_at_the_higher_end(lower_m: float, upper_m: float) -> None:
    scene = scene_of(place(), lower_m, upper_m)
    least = least_cover(scene.lines[0], scene.ground, required_m=2.0, step_m=1.0)
    assert least.actual_m == pytest.approx(50.0 - max(lower_m, upper_m))
    assert scene.lines[0].true_length_m == pytest.approx(math.hypot(280.0, upper_m - lower_m))


@pytest.mark.parametrize(
    ("kind", "own", "actual_m", "required_m"),
    [
        ("road", {}, 6.0, 2.5),
        ("road", {"min_cover_m": 1.0}, 6.0, 2.0),
        ("river", {}, 50.0 - 2.5 - 1.0 - 44.0, 2.5),
        ("river", {"water_depth_m": 3.0, "scour_m": 0.5, "min_cover_m": 3.5}, 2.5, 3.5),
        ("ditch", {}, 50.0 - 0.3 - 44.0, 2.0),
        ("railway", {}, 50.0 - 0.8 - 44.0, 3.0),
        ("railway", {"base_level_m": 51.0}, 6.0, 3.0),
        ("railway", {"base_level_m": 48.5}, 4.5, 3.0),
        ("road", {"base_level_m": 49.0}, 5.0, 2.5),
        ("river", {"base_level_m": 46.0}, 2.0, 2.5),
        ("dyke", {}, 6.0, 4.0),
        ("dyke", {"base_level_m": 48.0}, 4.0, 4.0),
        ("water_main", {}, 50.0 - 1.5 - 0.3 - 44.0, 1.0 + 1.0 + 0.28),
        ("telecom", {"depth_m": 2.0, "diameter_m": 0.1}, 50.0 - 2.1 - 44.0, 0.5 + 1.0 + 0.28),
        ("water_main", {"min_cover_m": 3.0}, 50.0 - 1.5 - 0.3 - 44.0, 3.0),
        ("water_main", {"min_cover_m": 2.0}, 50.0 - 1.5 - 0.3 - 44.0, 1.0 + 1.0 + 0.28),
        ("water_main", {"base_level_m": 47.0}, 50.0 - 1.5 - 0.3 - 44.0, 1.0 + 1.0 + 0.28),
        ("building", {"treatment": "trenchless", "min_cover_m": 8.0}, 6.0, 8.0),
        ("building", {"treatment": "trenchless"}, 6.0, 2.0),
        ("building", {"treatment": "trenchless", "min_cover_m": 5.0, "base_level_m": 47.0}, 3.0, 5.0),
    ],
    ids=[
        "road: from the surface",
        "road whose owner asks for less than the method needs: the larger counts",
        "river: from the scoured bed",
        "river with its own depth, scour and cover",
        "ditch: from its bed, the method's cover is the larger",
        "railway: from the formation below the terrain",
        "a formation stated above the terrain: there is no ground over the terrain to count",
        "railway with a stated formation below the terrain",
        "road with a stated level below the terrain",
        "river with a stated bed: neither depth nor scour come off it again",
        "dyke: from the lowest ground round it, here flat",
        "dyke with a stated base",
        "water main at its usual depth: clear + record + deviation",
        "telecom at its own depth",
        "water main that states more cover than its clearance: it holds below its underside",
        "water main that states less: the clearance holds",
        "a stated level says nothing of a service: it lies at its depth",
        "building to be passed under at its own word: from the surface",
        "building to be passed under without a word on cover: that of the method",
        "building that states the level of its base",
    ],
)
def test_cover_counts_from_the_level_that_the_kind_names(
    kind: str, own: dict[str, object], actual_m: float, required_m: float
) -> None:
    scene = scene_of(with_feature(kind, across(660.0), **own))
    depths = cover_under(scene.lines[0], scene.ground, scene.features, 0, RULES)
    assert depths is not None
    assert (depths.actual_m, depths.required_m) == pytest.approx((actual_m, required_m))


def test_a_terrain_that_is_the_bed_is_not_lowered_by_the_water() -> None:
    scene = scene_of(with_feature("river", across(660.0)))
    rules = replace(RULES, terrain_is_bed=True)
    depths = cover_under(scene.lines[0], scene.ground, scene.features, 0, rules)
    assert depths is not None
    assert depths.actual_m == pytest.approx(50.0 - 1.0 - 44.0)


def test_the_base_of_a_dyke_is_the_lowest_ground_beside_it() -> None:
    # a hollow 35 m beside the middle of the dyke: within 12 + 30 m of it
    scene = scene_of(replace(with_feature("dyke", across(660.0)), terrain=uneven({(49, 99): 47.0}).terrain))
    depths = cover_under(scene.lines[0], scene.ground, scene.features, 0, RULES)
    assert depths is not None
    assert depths.actual_m == pytest.approx(3.0)


def test_a_feature_between_the_bores_is_found_under_the_bore_that_it_reaches() -> None:
    scene = scene_of(with_feature("lake", box(600.0, 5.0, 640.0, 100.0)))
    depths = cover_under(scene.lines[0], scene.ground, scene.features, 0, RULES)
    assert depths is not None
    assert depths.bore == 0
    (meeting,) = scene.meetings
    assert (meeting.section, meeting.drive, meeting.from_m, meeting.to_m) == (1, 0, 600.0, 640.0)


def test_a_feature_beyond_the_outer_bore_asks_for_nothing() -> None:
    scene = scene_of(with_feature("lake", box(600.0, 9.5, 640.0, 100.0)))
    assert cover_under(scene.lines[0], scene.ground, scene.features, 0, RULES) is None


@pytest.mark.parametrize(
    ("geometry", "clear_m"),
    [
        (box(600.0, 14.0, 610.0, 30.0), 14.0 - 9.0 - 0.28),
        (box(600.0, -30.0, 610.0, -20.0), 20.0 - 9.0 - 0.28),
        (box(810.0, -5.0, 820.0, 5.0), 10.0 - 0.28),
        (box(600.0, -1.0, 610.0, 1.0), 2.0 - 0.28),
    ],
    ids=["left of the drive", "right of it", "ahead of it", "between the inner bores"],
)
def test_clearance_is_from_the_wall_of_the_nearest_bore(geometry: object, clear_m: float) -> None:
    scene = scene_of(with_feature("building", geometry))
    clear, _ = clear_sideways_m(scene.lines[0], scene.features, 0)
    assert clear == pytest.approx(clear_m)


def test_soils_are_measured_at_the_axis_with_rock_below_its_head() -> None:
    # axis 6.28 m below ground: in rock where its head lies at 6 m, in sand where it lies at 7 m
    rocky = with_ground(place(), box(600.0, -50.0, 650.0, 50.0), rock_depth_m=6.0)
    assert soil_lengths_m(scene_of(rocky), 0) == pytest.approx({"sand_dense": 230.0, "rock_weak": 50.0})
    deeper = with_ground(place(), box(600.0, -50.0, 650.0, 50.0), rock_depth_m=7.0)
    assert soil_lengths_m(scene_of(deeper), 0) == pytest.approx({"sand_dense": 280.0})
