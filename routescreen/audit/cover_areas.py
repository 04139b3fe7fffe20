"""How much of an area has each class of ground cover, exactly, however long the area is.

Room: ``audit``. May use numpy, shapely and the audit's ground.

A strip along a whole corridor is cut in halves until a piece meets few pixels; then each pixel counts whole
or by its part. So the work grows with the length, not with its square.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.ground import pixel_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from routescreen.audit.ground import TrueGround
    from routescreen.project import RasterGrid

FEW_PIXELS = 4096


def class_areas_m2(ground: TrueGround, area: shapely.Geometry, n_classes: int) -> NDArray[np.float64]:
    """Return how much of an area has each class of ground cover.

    Parameters
    ----------
    ground : TrueGround
    area : Geometry
    n_classes : int

    Returns
    -------
    ndarray of shape (n_classes,)
        What lies outside the raster, or has no value in it, is of the unknown class [m2].
    """
    found = np.zeros(n_classes)
    grid = ground.ground_cover
    inside_m2 = 0.0
    if grid is not None and not shapely.is_empty(area):
        for piece, window in _pieces(grid, area, (0, grid.values.shape[0], 0, grid.values.shape[1])):
            held_m2, classes = _held_m2(grid, piece, window)
            inside_m2 += float(held_m2.sum())
            classes = np.where(classes >= 0, classes, ground.unknown_cover)
            np.add.at(found, classes.astype(np.int64), held_m2)
    found[ground.unknown_cover] += max(float(shapely.area(area)) - inside_m2, 0.0)
    return found


def _pieces(
    grid: RasterGrid, area: shapely.Geometry, window: tuple[int, int, int, int]
) -> Iterator[tuple[shapely.Geometry, tuple[int, int, int, int]]]:
    """Yield parts of an area with the window of pixels (rows from, to, columns from, to) that holds each."""
    west_m, south_m, east_m, north_m = shapely.bounds(area)
    row, column, _ = pixel_of(grid, np.array([[west_m, north_m], [east_m, south_m]]))
    top, bottom = max(int(row[0]), window[0]), min(int(row[1]) + 1, window[1])
    left, right = max(int(column[0]), window[2]), min(int(column[1]) + 1, window[3])
    if top >= bottom or left >= right:
        return
    if (bottom - top) * (right - left) <= FEW_PIXELS:
        yield area, (top, bottom, left, right)
        return
    middle = (top + bottom) // 2 if bottom - top > right - left else (left + right) // 2
    halves = (
        ((top, middle, left, right), (middle, bottom, left, right))
        if bottom - top > right - left
        else ((top, bottom, left, middle), (top, bottom, middle, right))
    )
    for half in halves:
        part = shapely.intersection(area, _box(grid, half))
        if not shapely.is_empty(part):
            yield from _pieces(grid, part, half)


def _box(grid: RasterGrid, window: tuple[int, int, int, int]) -> shapely.Polygon:
    top, bottom, left, right = window
    return shapely.box(
        grid.west_m + left * grid.pixel_width_m,
        grid.north_m - bottom * grid.pixel_height_m,
        grid.west_m + right * grid.pixel_width_m,
        grid.north_m - top * grid.pixel_height_m,
    )


def _held_m2(
    grid: RasterGrid, piece: shapely.Geometry, window: tuple[int, int, int, int]
) -> tuple[NDArray[np.float64], NDArray[np.integer]]:
    """Return what a piece holds of each pixel of a window, and the pixels' values."""
    top, bottom, left, right = window
    row, column = (part.ravel() for part in np.mgrid[top:bottom, left:right])
    x_m, y_m = grid.west_m + column * grid.pixel_width_m, grid.north_m - row * grid.pixel_height_m
    boxes = shapely.box(x_m, y_m - grid.pixel_height_m, x_m + grid.pixel_width_m, y_m)
    shapely.prepare(piece)
    is_whole = shapely.contains(piece, boxes)
    held_m2 = np.where(is_whole, grid.pixel_width_m * grid.pixel_height_m, 0.0)
    is_cut = ~is_whole & shapely.intersects(piece, boxes)
    held_m2[is_cut] = shapely.area(shapely.intersection(boxes[is_cut], piece))
    return held_m2, grid.values[row, column].astype(np.int64)
