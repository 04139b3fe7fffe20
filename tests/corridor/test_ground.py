import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.corridor.frame import build_frame
from routescreen.corridor.ground import GroundSampler, ground_on_frame
from routescreen.corridor.raster import bilinear
from routescreen.errors import InputError
from routescreen.project import RasterGrid
from tests.corridor.cases import ASSUMPTIONS, corridor, crossing, flat, strip

FOUR = RasterGrid(np.array([[10.0, 20.0], [30.0, 40.0]]), 0.0, 20.0, 10.0, 10.0)


@pytest.mark.parametrize(
    ("xy", "expected"),
    [
        pytest.param((5, 15), 10.0, id="middle-of-the-upper-left-pixel"),
        pytest.param((15, 5), 40.0, id="middle-of-the-lower-right-pixel"),
        pytest.param((10, 10), 25.0, id="mean-of-four-at-their-common-corner"),
        pytest.param((7.5, 15), 12.5, id="a-quarter-of-the-way-east"),
        pytest.param((0, 20), 10.0, id="the-edge-keeps-its-pixel"),
        pytest.param((20, 0), 40.0, id="the-far-edge-too"),
        pytest.param((20.1, 5), np.nan, id="outside-is-unknown"),
    ],
)
def test_bilinear_by_hand(xy, expected):
    assert bilinear(FOUR, np.array([xy], dtype=float))[0] == pytest.approx(expected, nan_ok=True)


@settings(max_examples=50, deadline=None)
@given(st.floats(5, 95), st.floats(5, 95), st.floats(-3, 3), st.floats(-3, 3))
def test_bilinear_is_exact_on_a_plane(x, y, east, north):
    middle = 5.0 + 10.0 * np.arange(10)
    grid = RasterGrid(east * middle[None, :] + north * middle[::-1, None], 0.0, 100.0, 10.0, 10.0)
    assert bilinear(grid, np.array([(x, y)]))[0] == pytest.approx(east * x + north * y, abs=1e-9)


def test_missing_terrain_names_where():
    terrain = flat(5.0)
    terrain.values[:, 40:] = np.nan
    sampler = GroundSampler(corridor(strip(), terrain=terrain), ASSUMPTIONS)
    with pytest.raises(InputError, match=r"no value at 1 point .* first at 250\.0, 0\.0"):
        sampler.sample(np.array([(10.0, 0.0), (250.0, 0.0)]))


def test_flat_ground_without_a_terrain():
    samples = GroundSampler(corridor(strip()), ASSUMPTIONS).sample(np.array([(10.0, 0.0)]))
    assert samples.ground_m[0] == 0.0
    assert ASSUMPTIONS.cover_names[samples.cover_class[0]] == ASSUMPTIONS.default_cover
    assert ASSUMPTIONS.soil_names[samples.soil_class[0]] == ASSUMPTIONS.default_soil
    assert samples.groundwater_depth_m[0] == ASSUMPTIONS.groundwater.default_depth_m
    assert samples.rock_depth_m[0] == np.inf


def test_ground_polygons_override_only_what_they_state():
    rows = [
        {"geometry": shapely.box(0, -50, 100, 50), "soil": "peat", "groundwater_depth_m": 0.5},
        {"geometry": shapely.box(50, -50, 150, 50), "rock_depth_m": 4.0, "soil": "gravel"},
    ]
    samples = GroundSampler(corridor(strip(), ground=rows), ASSUMPTIONS).sample(
        np.array([(20.0, 0.0), (70.0, 0.0), (120.0, 0.0), (180.0, 0.0)])
    )
    soils = [ASSUMPTIONS.soil_names[k] for k in samples.soil_class]
    assert soils == ["peat", "gravel", "gravel", ASSUMPTIONS.default_soil]
    default_m = ASSUMPTIONS.groundwater.default_depth_m
    np.testing.assert_array_equal(samples.groundwater_depth_m, [0.5, 0.5, default_m, default_m])
    np.testing.assert_array_equal(samples.rock_depth_m, [np.inf, 4.0, 4.0, np.inf])


def test_cover_class_is_that_of_the_pixel():
    cover = RasterGrid(np.array([[0, 3], [5, -1]], dtype=np.int16), 0.0, 20.0, 10.0, 10.0)
    sampler = GroundSampler(corridor(strip(), ground_cover=cover), ASSUMPTIONS)
    classes = sampler.cover_class(np.array([(1.0, 19.0), (10.0, 19.0), (9.9, 0.1), (15.0, 5.0), (99.0, 5.0)]))
    unknown = ASSUMPTIONS.cover_names.index(ASSUMPTIONS.default_cover)
    np.testing.assert_array_equal(classes, [0, 3, 5, unknown, unknown])


def test_cover_boxes_make_up_exactly_the_pixels():
    cover = RasterGrid(np.array([[1, 1, 0], [0, 1, 1]], dtype=np.int16), 0.0, 20.0, 10.0, 10.0)
    sampler = GroundSampler(corridor(strip(), ground_cover=cover), ASSUMPTIONS)
    is_one = np.arange(len(ASSUMPTIONS.cover_names)) == 1
    boxes = sampler.cover_boxes(is_one)
    assert [box.bounds for box in boxes] == [(0.0, 10.0, 20.0, 20.0), (10.0, 0.0, 30.0, 10.0)]


def test_access_distance_counts_to_roads_plant_may_use():
    road = crossing("road", shapely.LineString([(0, 30), (200, 30)]))
    motorway = crossing("motorway", shapely.LineString([(0, 5), (200, 5)]))
    sampler = GroundSampler(corridor(strip(), crossings=[motorway, road]), ASSUMPTIONS)
    assert sampler.sample(np.array([(100.0, 0.0)])).access_distance_m[0] == pytest.approx(30.0)
    assert sampler.warnings == ()


def test_the_access_layer_wins_over_roads():
    road = crossing("road", shapely.LineString([(0, 30), (200, 30)]))
    access = [{"geometry": shapely.LineString([(0, -40), (200, -40)])}]
    sampler = GroundSampler(corridor(strip(), crossings=[road], access=access), ASSUMPTIONS)
    assert sampler.sample(np.array([(100.0, 0.0)])).access_distance_m[0] == pytest.approx(40.0)


def test_no_road_at_all_is_a_warning():
    sampler = GroundSampler(corridor(strip()), ASSUMPTIONS)
    assert sampler.sample(np.array([(100.0, 0.0)])).access_distance_m[0] == 0.0
    assert "No road" in sampler.warnings[0]


def test_near_building_by_distance_to_its_outline():
    near_m = ASSUMPTIONS.trench.narrow_within_m
    house = crossing("building", shapely.box(0, 0, 10, 10))
    sampler = GroundSampler(corridor(strip(), crossings=[house]), ASSUMPTIONS)
    at = np.array([(10.0 + near_m - 0.1, 5.0), (10.0 + near_m + 0.1, 5.0)])
    np.testing.assert_array_equal(sampler.sample(at).near_building, [True, False])


def test_a_pit_between_nodes_is_found_whole_and_where_it_is():
    terrain = flat(20.0, pixel_m=2.0, shape=(300, 400))
    row, column = int((300.0 - 0.0) / 2.0), int((200.0 + 79.0) / 2.0)
    terrain.values[row, column] = 12.0  # its middle at (79, -1): in the cell of node (80, 0)
    inp = corridor(strip(), terrain=terrain, axis=shapely.LineString([(0, 0), (200, 0)]))
    frame = build_frame(inp, cell_m=10.0)
    ground = ground_on_frame(frame, GroundSampler(inp, ASSUMPTIONS))
    expected = np.full(frame.shape, 20.0)
    expected[8, 5] = 12.0
    np.testing.assert_allclose(ground.lowest_ground_m, expected, atol=1e-9)


def test_invalid_nodes_have_no_ground():
    outline = shapely.Polygon([(0, -50), (200, -50), (200, 20), (0, 50)])
    inp = corridor(outline, start=(0, 0), end=(200, 0), terrain=flat(7.0))
    frame = build_frame(inp, cell_m=10.0)
    ground = ground_on_frame(frame, GroundSampler(inp, ASSUMPTIONS))
    assert not frame.is_valid.all()
    np.testing.assert_array_equal(np.isnan(ground.node.ground_m), ~frame.is_valid)
    np.testing.assert_array_equal(np.isnan(ground.lowest_ground_m), ~frame.is_valid)
