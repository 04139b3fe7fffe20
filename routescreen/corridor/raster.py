"""Arithmetic of rasters: values between the middles of pixels, pixels of points, pixels as boxes.

Room: ``corridor``. Arrays in, arrays out; imports nothing of the room.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.project import RasterGrid


def bilinear(grid: RasterGrid, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Interpolate a raster between the middles of its pixels.

    Parameters
    ----------
    grid : RasterGrid
    xy_m : ndarray of shape (n, 2)

    Returns
    -------
    ndarray of shape (n,)
        NaN outside the raster and where a pixel that bears on the point has no value. In the outer
        half pixel the value of the edge is kept.
    """
    column, row, is_inside = among_middles(grid, xy_m)
    left, upper = column.astype(np.int64), row.astype(np.int64)
    value = np.zeros(len(xy_m))
    for down in (0, 1):
        for across in (0, 1):
            share = np.abs(1 - down - (row - upper)) * np.abs(1 - across - (column - left))
            level = at_pixel(grid, upper + down, left + across)
            value += np.where(share > 0.0, share * level, 0.0)
    return np.where(is_inside, value, np.nan)


def among_middles(
    grid: RasterGrid, xy_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Return column and row of points counted from the middles of pixels, and whether they are inside."""
    n_rows, n_columns = grid.values.shape
    column = (xy_m[:, 0] - grid.west_m) / grid.pixel_width_m
    row = (grid.north_m - xy_m[:, 1]) / grid.pixel_height_m
    is_inside = (column >= 0.0) & (column <= n_columns) & (row >= 0.0) & (row <= n_rows)
    column = np.clip(np.where(is_inside, column, 0.0) - 0.5, 0.0, n_columns - 1.0)
    row = np.clip(np.where(is_inside, row, 0.0) - 0.5, 0.0, n_rows - 1.0)
    return column, row, is_inside


def at_pixel(grid: RasterGrid, row: NDArray[np.int64], column: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return the values of pixels; beyond the last row or column that of the last."""
    n_rows, n_columns = grid.values.shape
    values: NDArray[np.float64] = grid.values[np.minimum(row, n_rows - 1), np.minimum(column, n_columns - 1)]
    return values


def pixel_of(
    grid: RasterGrid, xy_m: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]:
    """Return row and column of the pixel of each point, and whether it lies in the raster."""
    n_rows, n_columns = grid.values.shape
    column = np.floor((xy_m[:, 0] - grid.west_m) / grid.pixel_width_m).astype(np.int64)
    row = np.floor((grid.north_m - xy_m[:, 1]) / grid.pixel_height_m).astype(np.int64)
    is_inside = (column >= 0) & (column < n_columns) & (row >= 0) & (row < n_rows)
    return row, column, is_inside


def run_boxes(grid: RasterGrid, is_taken: NDArray[np.bool_]) -> NDArray[np.object_]:
    """Return one box for each run of taken pixels in a row."""
    padded = np.pad(is_taken, ((0, 0), (1, 1))).astype(np.int8)
    change = np.diff(padded, axis=1)
    row, first = np.nonzero(change == 1)
    _, last = np.nonzero(change == -1)
    north = grid.north_m - row * grid.pixel_height_m
    west = grid.west_m + first * grid.pixel_width_m
    east = grid.west_m + last * grid.pixel_width_m
    boxes: NDArray[np.object_] = shapely.box(west, north - grid.pixel_height_m, east, north)
    return boxes


def extent(grid: RasterGrid) -> shapely.Polygon:
    """Return the outline of a raster."""
    n_rows, n_columns = grid.values.shape
    east = grid.west_m + n_columns * grid.pixel_width_m
    return shapely.box(grid.west_m, grid.north_m - n_rows * grid.pixel_height_m, east, grid.north_m)
