"""The audit's own reading of rasters and ground polygons, on cases that can be checked by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, box

from routescreen.assumptions import load_assumptions
from routescreen.audit.ground import (
    bilinear,
    boxes_of_classes,
    lowest_within_m,
    may_hold_classes,
    true_ground,
)
from routescreen.project import RasterGrid
from tests.audit.place import CROPLAND, layer, place, raster, with_cover, with_ground

ASSUMPTIONS = load_assumptions()
SOILS = list(ASSUMPTIONS.soil)

# two rows (north 10, 20; south 30, 50), pixels 10 m, upper left corner at (0, 20)
GRID = RasterGrid(np.array([[10.0, 20.0], [30.0, 50.0]]), 0.0, 20.0, 10.0, 10.0)


@pytest.mark.parametrize(
    ("xy_m", "level_m"),
    [
        ((5.0, 15.0), 10.0),
        ((15.0, 5.0), 50.0),
        ((10.0, 15.0), 15.0),
        ((5.0, 10.0), 20.0),
        ((10.0, 10.0), 27.5),
        ((0.0, 20.0), 10.0),
        ((20.0, 0.0), 50.0),
        ((7.5, 15.0), 12.5),
        ((-0.1, 10.0), np.nan),
        ((10.0, 20.1), np.nan),
    ],
    ids=[
        "middle of the north-west pixel",
        "middle of the south-east pixel",
        "half way between the two northern pixels",
        "half way between the two western pixels",
        "mean of all four in the middle",
        "edge value in the outer half pixel, upper left corner",
        "edge value in the outer half pixel, lower right corner",
        "a quarter of the way east",
        "west of the raster",
        "north of the raster",
    ],
)
def test_terrain_is_interpolated_between_pixel_middles(xy_m: tuple[float, float], level_m: float) -> None:
    np.testing.assert_allclose(bilinear(GRID, np.array([xy_m])), [level_m])


def test_a_hole_in_the_terrain_counts_only_where_it_has_a_say() -> None:
    holed = replace(GRID, values=np.array([[10.0, np.nan], [30.0, 50.0]]))
    levels = bilinear(holed, np.array([[5.0, 10.0], [6.0, 15.0], [15.0, 5.0]]))
    np.testing.assert_allclose(levels, [20.0, np.nan, 50.0])


@given(x=st.floats(5.0, 15.0), y=st.floats(5.0, 15.0))
def test_between_middles_a_level_lies_between_those_of_its_pixels(x: float, y: float) -> None:
    assert 10.0 - 1e-9 <= bilinear(GRID, np.array([[x, y]]))[0] <= 50.0 + 1e-9


@given(x=st.floats(-290.0, 1790.0), y=st.floats(-490.0, 490.0))
def test_a_plane_is_met_exactly(x: float, y: float) -> None:
    grid = raster(0.0)
    rows, columns = np.indices(grid.values.shape)
    plane = 3.0 + 0.02 * (-295.0 + 10.0 * columns) - 0.05 * (495.0 - 10.0 * rows)
    level_m = bilinear(replace(grid, values=plane), np.array([[x, y]]))[0]
    assert level_m == pytest.approx(3.0 + 0.02 * x - 0.05 * y, abs=1e-9)


def test_ground_cover_is_that_of_the_pixel_and_unknown_elsewhere() -> None:
    forest = list(ASSUMPTIONS.cover).index("forest")
    unknown = list(ASSUMPTIONS.cover).index("unknown")
    ground = true_ground(with_cover(place(), box(100, 0, 110, 10), forest), ASSUMPTIONS)
    at = np.array([[100.0, 0.1], [109.99, 9.99], [110.0, 5.0], [99.99, 5.0], [5000.0, 0.0]])
    assert ground.cover_class(at).tolist() == [forest, forest, CROPLAND, CROPLAND, unknown]


def test_without_rasters_the_ground_is_flat_and_unknown() -> None:
    ground = true_ground(replace(place(), terrain=None, ground_cover=None), ASSUMPTIONS)
    at = np.array([[0.0, 0.0]])
    assert ground.level_m(at).tolist() == [0.0]
    assert ground.cover_class(at).tolist() == [list(ASSUMPTIONS.cover).index("unknown")]


def test_ground_polygons_give_what_they_state_and_the_last_one_lies_on_top() -> None:
    rows = [
        {"soil": "clay_stiff", "groundwater_depth_m": 1.0, "rock_depth_m": 4.0, "rock_soil": "rock_hard"},
        {"soil": "peat"},
    ]
    inp = replace(place(), ground=layer("ground", rows, [box(0, -50, 200, 50), box(100, -50, 300, 50)]))
    ground = true_ground(inp, ASSUMPTIONS)
    at = np.array([[50.0, 0.0], [150.0, 0.0], [250.0, 0.0], [400.0, 0.0]])
    samples = ground.samples(at)
    names = [SOILS[soil] for soil in samples.soil_class]
    assert names == ["clay_stiff", "peat", "peat", ASSUMPTIONS.default_soil]
    deep = ASSUMPTIONS.groundwater.default_depth_m
    np.testing.assert_allclose(samples.groundwater_depth_m, [1.0, 1.0, deep, deep])
    np.testing.assert_allclose(samples.rock_depth_m, [4.0, 4.0, np.inf, np.inf])
    rock = [SOILS[soil] for soil in samples.rock_soil_class]
    assert rock == ["rock_hard", "rock_hard", ASSUMPTIONS.default_rock_soil, ASSUMPTIONS.default_rock_soil]


def test_rock_without_a_class_is_the_default_rock() -> None:
    ground = true_ground(with_ground(place(), box(0, -50, 100, 50), rock_depth_m=2.0), ASSUMPTIONS)
    depth_m, soil = ground.rock(ground.zones_at(np.array([[50.0, 0.0]])))
    assert (depth_m.tolist(), SOILS[soil[0]]) == ([2.0], ASSUMPTIONS.default_rock_soil)


def test_access_is_by_the_access_layer_else_by_roads_else_at_hand() -> None:
    at = np.array([[300.0, 0.0]])
    by_road = true_ground(place(), ASSUMPTIONS).access_distance_m(at)
    given_line = layer("access", [{}], [LineString([(330.0, -50.0), (330.0, 50.0)])])
    by_layer = true_ground(replace(place(), access=given_line), ASSUMPTIONS).access_distance_m(at)
    no_road = replace(place(), crossings=place().crossings.iloc[1:])
    at_hand = true_ground(no_road, ASSUMPTIONS).access_distance_m(at)
    assert (by_road.tolist(), by_layer.tolist(), at_hand.tolist()) == ([100.0], [30.0], [0.0])


def test_near_a_building_is_within_the_distance_for_the_narrow_strip() -> None:
    samples = true_ground(place(), ASSUMPTIONS).samples(np.array([[900.0, 60.0], [899.0, 60.0]]))
    assert ASSUMPTIONS.trench.narrow_within_m == 100.0
    assert samples.near_building.tolist() == [True, False]


def test_the_lowest_terrain_round_a_point_is_found_within_the_radius_only() -> None:
    grid = raster(50.0)
    values = grid.values.copy()
    values[50, 32] = 40.0  # middle at x 25, y -5
    ground = true_ground(replace(place(), terrain=replace(grid, values=values)), ASSUMPTIONS)
    at = np.array([[5.0, -5.0]])
    assert lowest_within_m(ground, at, 25.0).tolist() == [40.0]
    # 15 m away the hollow has half its depth, 8 m away none of it
    assert lowest_within_m(ground, at, 15.0) == pytest.approx([45.0])
    assert lowest_within_m(ground, at, 8.0).tolist() == [50.0]


@given(
    corner=st.tuples(st.floats(-300.0, 1700.0), st.floats(-400.0, 400.0)),
    size=st.tuples(st.floats(1.0, 60.0), st.floats(1.0, 60.0)),
)
def test_no_area_with_barred_ground_is_passed_over(
    corner: tuple[float, float], size: tuple[float, float]
) -> None:
    water = list(ASSUMPTIONS.cover).index("water")
    ground = true_ground(with_cover(place(), box(700.0, -40.0, 760.0, 40.0), water), ASSUMPTIONS)
    (x, y), (width, height) = corner, size
    area = box(x, y, x + width, y + height)
    for classes in ([water], [ground.unknown_cover]):
        has_some = len(boxes_of_classes(ground, area, classes)) > 0
        assert may_hold_classes(ground, np.array([area], dtype=object), classes)[0] or not has_some
