"""The lowest terrain in cells: never above any point of the cell, and no lower than the lowest."""

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from routescreen.corridor.frame import build_frame, to_xy
from routescreen.corridor.lowest import lowest_ground_m
from routescreen.corridor.raster import bilinear
from routescreen.project import RasterGrid
from tests.corridor.cases import corridor, strip

ALONG_X = build_frame(corridor(strip(), axis=shapely.LineString([(0, 0), (200, 0)])), cell_m=10.0)


def rows_of(values, *, west_m, north_m, pixel_m):
    return RasterGrid(np.array(values, dtype=float), west_m, north_m, pixel_m, pixel_m)


def test_on_a_slope_by_hand():
    # terrain = x / 10: the cell of column i reaches down to x = 10 i - 5, widened by 20 m to 10 i - 25
    middle = -200.0 + 5.0 + 10.0 * np.arange(60)
    terrain = RasterGrid(np.tile(middle / 10.0, (60, 1)), -200.0, 300.0, 10.0, 10.0)
    column = np.arange(21.0)[:, None] * np.ones((1, 11))
    narrow, wide = lowest_ground_m(ALONG_X, terrain, [(0.0, 0.0), (20.0, 5.0)])
    np.testing.assert_allclose(narrow, column - 0.5, atol=1e-9)
    np.testing.assert_allclose(wide, column - 2.5, atol=1e-9)


def test_a_trough_between_two_pixels_is_met_where_it_crosses_the_edge():
    # level |x - 101.3| m: pixels of 0.1 m whose middles lie at 101.25, 101.35 ... hold 0.05 m at least
    x = 50.0 + 0.05 + 0.1 * np.arange(1000)
    terrain = RasterGrid(np.tile(np.abs(x - 101.3), (1200, 1)), 50.0, 60.0, 0.1, 0.1)
    (lowest,) = lowest_ground_m(ALONG_X, terrain, [(0.0, 0.0)])
    np.testing.assert_allclose(lowest[10], 0.05, atol=1e-9)  # cell 95 .. 105 holds it
    np.testing.assert_allclose(lowest[9], 101.3 - 95.0, atol=1e-9)
    np.testing.assert_allclose(lowest[11], 105.0 - 101.3, atol=1e-9)


def test_a_saddle_dips_between_the_corners_of_a_turned_cell():
    # one patch of 400 m, level u v with u, v from -200 to 200: along a line at 45 deg it is a parabola
    terrain = rows_of([[-4e4, 4e4], [4e4, -4e4]], west_m=-400.0, north_m=400.0, pixel_m=400.0)
    end = 20.0 * np.array([1.0, -1.0]) / np.sqrt(2.0)
    axis = shapely.LineString([-end, end])
    frame = build_frame(corridor(axis.buffer(15.0, cap_style="flat"), axis=axis), cell_m=10.0)
    (lowest,) = lowest_ground_m(frame, terrain, [(0.0, 0.0)])
    # along the axis (s) and across (t) u v = (t^2 - s^2) / 2; node (2, 1) has s = t = 0
    u, v = frame.node_xy_m[2, 1]
    assert abs(u) + abs(v) < 1e-9
    assert lowest[2, 1] == pytest.approx(-12.5)  # on the middle of the sides s = +-5, at t = 0


def test_what_has_no_value_counts_as_outside():
    values = np.full((20, 40), 30.0)
    values[:, 20:] = np.nan  # from x = 100; between 95 and 105 no point has four values
    values[:, 19] = 10.0
    terrain = RasterGrid(values, -100.0, 100.0, 10.0, 10.0)
    (lowest,) = lowest_ground_m(ALONG_X, terrain, [(0.0, 0.0)])
    np.testing.assert_allclose(lowest[9], 10.0)  # the middle at x = 95 lies on the edge of both cells
    np.testing.assert_allclose(lowest[10], 10.0)
    assert np.isnan(lowest[11:]).all()


def test_the_outer_half_pixel_keeps_the_value_of_the_edge():
    # the raster ends at x = 93, inside a part of cell 9 (85 .. 95); the level falls along y
    y = 100.0 - 5.0 - 10.0 * np.arange(20)
    terrain = RasterGrid(np.tile(y[:, None], (1, 20)), -107.0, 100.0, 10.0, 10.0)
    (lowest,) = lowest_ground_m(ALONG_X, terrain, [(0.0, 0.0)])
    rows_y = 50.0 - 10.0 * np.arange(11)
    np.testing.assert_allclose(lowest[9], rows_y - 5.0, atol=1e-9)
    assert np.isnan(lowest[10:]).all()


def turned_case(seed, pixel_m, turn, *, bend_m=None):
    """Rough ground under a corridor at any angle, straight or bent; gaps in the terrain, or its end."""
    rng = np.random.default_rng(seed)
    values = rng.normal(0.0, 5.0, (int(240 / pixel_m), int(240 / pixel_m)))
    if seed % 2:
        values[rng.random(values.shape) < 0.02] = np.nan
    if seed % 3 == 1:
        values = values[:, : int(160 / pixel_m)]  # the raster ends within the corridor
    terrain = RasterGrid(values, -120.0, 120.0, pixel_m, pixel_m)
    angle = np.linspace(-0.6, 0.6, 41)
    xy = np.column_stack([100.0 * angle, np.zeros(41)])
    if bend_m is not None:
        xy = bend_m * np.column_stack([np.sin(angle), 1.0 - np.cos(angle)])
    rotation = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    axis = shapely.LineString(xy @ rotation)
    return build_frame(corridor(axis.buffer(30.0, cap_style="flat"), axis=axis), cell_m=10.0), terrain


def cells_of(frame, column, row):
    """Cells as polygons, with the bend of their sides at the station."""
    ring = [(-0.5, -0.5), (0.0, -0.5), (0.5, -0.5), (0.5, 0.5), (0.0, 0.5), (-0.5, 0.5)]
    corners = [
        to_xy(
            frame,
            (column + along) * frame.column_spacing_m,
            frame.offset0_m + (row + across) * frame.cell_m,
        )
        for along, across in ring
    ]
    return shapely.polygons(np.stack(corners, axis=1))


@settings(max_examples=25, deadline=None)
@given(
    st.integers(0, 10_000),
    st.sampled_from([1.0, 4.0, 8.0, 20.0]),
    st.floats(0.0, 3.1),
    st.sampled_from([None, 100.0]),
    st.sampled_from([0.0, 6.0]),
)
def test_never_above_any_point_of_the_cell(seed, pixel_m, turn, bend_m, widening_m):
    """Pixels' middles, a fine lattice with the cell's edges, and points thrown at random."""
    frame, terrain = turned_case(seed, pixel_m, turn, bend_m=bend_m)
    (lowest,) = lowest_ground_m(frame, terrain, [(widening_m, widening_m)])
    column, row = np.nonzero(frame.is_valid)
    across, along = (part.ravel() for part in np.meshgrid(*[np.linspace(-0.5, 0.5, 21)] * 2))
    thrown = np.random.default_rng(seed + 1).uniform(-0.5, 0.5, (2, 100))
    along, across = np.concatenate([along, thrown[0]]), np.concatenate([across, thrown[1]])
    chainage_m = (column[:, None] + along) * frame.column_spacing_m
    offset_m = frame.offset0_m + (row[:, None] + across) * frame.cell_m
    level_m = bilinear(terrain, to_xy(frame, chainage_m.ravel(), offset_m.ravel())).reshape(chainage_m.shape)
    least_m = np.fmin.reduce(level_m, axis=1)
    has_value = ~np.isnan(least_m)
    assert (lowest[column, row][has_value] <= least_m[has_value] + 1e-9).all()
    n_rows, n_columns = terrain.values.shape
    middles = shapely.points(
        *np.meshgrid(
            -120.0 + (np.arange(n_columns) + 0.5) * pixel_m, 120.0 - (np.arange(n_rows) + 0.5) * pixel_m
        )
    ).ravel()
    cell, pixel = shapely.STRtree(middles).query(cells_of(frame, column, row), predicate="intersects")
    level_m = terrain.values.ravel()[pixel]
    assert not (lowest[column[cell], row[cell]] > level_m + 1e-9).any()
    assert not (np.isnan(lowest[column[cell], row[cell]]) & ~np.isnan(level_m)).any()


@settings(max_examples=20, deadline=None)
@example(0, 4.0, 0.9969751737254954)  # sections along the square ends met them anywhere: rows too many
@given(st.integers(0, 5_000), st.sampled_from([4.0, 8.0, 20.0]), st.floats(0.0, 3.1))
def test_no_lower_than_the_lowest_point_of_the_cell(seed, pixel_m, turn):
    """Samples 5 cm apart lie within 2.5 cm of the lowest point each way; the slope bounds the rest."""
    frame, terrain = turned_case(6 * seed, pixel_m, turn)
    (lowest,) = lowest_ground_m(frame, terrain, [(0.0, 0.0)])
    across, along = (part.ravel() for part in np.meshgrid(*[np.linspace(-0.5, 0.5, 201)] * 2))
    column, row = frame.shape[0] // 2, frame.shape[1] // 2
    chainage_m = (column + along) * frame.column_spacing_m
    offset_m = frame.offset0_m + (row + across) * frame.cell_m
    least_m = bilinear(terrain, to_xy(frame, chainage_m, offset_m)).min()
    slope = 2.0 * max(np.abs(np.diff(terrain.values, axis=axis)).max() for axis in (0, 1)) / pixel_m
    assert lowest[column, row] >= least_m - slope * 0.036
    assert lowest[column, row] <= least_m + 1e-9
