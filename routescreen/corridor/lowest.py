"""The lowest terrain in each cell, exactly: interpolated terrain has its minima in known places.

Room: ``corridor``. Arrays in, arrays out; imports the frame and the raster.

Between the middles of four pixels terrain is a bilinear patch. It has no minimum inside, and along a
grid line it is straight: over an area it is lowest in the middle of a pixel or on the area's boundary,
and along a straight piece of boundary within one patch it is a parabola.
"""

from __future__ import annotations

from functools import reduce
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import minimum_filter1d

from routescreen.corridor.frame import to_xy
from routescreen.corridor.raster import at_pixel, bilinear

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.corridor.frame import Frame
    from routescreen.project import RasterGrid

_LEAST_PARTS = 4  # of a cell each way: cells are widened by whole parts
_COLUMNS_AT_A_TIME = 256
_ON_LINE = 1e-9  # of a pixel: this near to a grid line or an edge is on it


def lowest_ground_m(
    frame: Frame, terrain: RasterGrid | None, widenings_m: Sequence[tuple[float, float]]
) -> list[NDArray[np.float64]]:
    """Return the lowest terrain in each cell widened along and across the axis.

    Cells are cut into parts, at least 4 x 4 and no larger than the terrain's pixels, and widened by whole
    parts; the lowest terrain of each part is exact. Where the terrain has no value counts as outside the
    corridor and is left out.

    Parameters
    ----------
    frame : Frame
    terrain : RasterGrid, optional
        None: flat ground at level 0.
    widenings_m : sequence of (float, float)
        How far the cells are widened each way, along and across [m].

    Returns
    -------
    list of ndarray of shape (nx, ny)
        One for each widening; NaN at nodes outside the corridor [m].
    """
    if terrain is None:
        return [np.where(frame.is_valid, 0.0, np.nan) for _ in widenings_m]
    n_parts = _parts_per_cell(frame, terrain)
    more = [
        (_steps(along_m, frame.column_spacing_m, n_parts), _steps(across_m, frame.cell_m, n_parts))
        for along_m, across_m in widenings_m
    ]
    pad = (max((along for along, _ in more), default=0), max((across for _, across in more), default=0))
    found = [np.full(frame.shape, np.nan) for _ in widenings_m]
    for first in range(0, frame.shape[0], _COLUMNS_AT_A_TIME):
        last = min(first + _COLUMNS_AT_A_TIME, frame.shape[0])
        at = _lattice(frame, terrain, (first, last), n_parts, pad)
        parts_m = _lowest_in_parts(terrain, at, _sides(at.shape, n_parts, pad, more))
        for lowest_m, steps in zip(found, more, strict=True):
            lowest_m[first:last] = _pooled(parts_m, n_parts, pad, steps)
    for lowest_m in found:
        lowest_m[~frame.is_valid | np.isinf(lowest_m)] = np.nan
    return found


def _parts_per_cell(frame: Frame, terrain: RasterGrid) -> int:
    """Return the even number of parts along each side of a cell."""
    pixel_m = min(terrain.pixel_width_m, terrain.pixel_height_m)
    n_parts = max(_LEAST_PARTS, int(np.ceil(max(frame.cell_m, frame.column_spacing_m) / pixel_m)))
    return n_parts + n_parts % 2


def _steps(distance_m: float, cell_m: float, n_parts: int) -> int:
    """Return how many parts cover a distance."""
    return int(np.ceil(distance_m / cell_m * n_parts - 1e-9))


def _lattice(
    frame: Frame, terrain: RasterGrid, columns: tuple[int, int], n_parts: int, pad: tuple[int, int]
) -> NDArray[np.float64]:
    """Return the corners of the parts, shape (na, nb, 2), as column and row among the pixels' middles."""
    first, last = columns
    column = first - 0.5 + np.arange(-pad[0], (last - first) * n_parts + pad[0] + 1) / n_parts
    row = -0.5 + np.arange(-pad[1], frame.shape[1] * n_parts + pad[1] + 1) / n_parts
    chainage_m, offset_m = np.meshgrid(
        column * frame.column_spacing_m, frame.offset0_m + row * frame.cell_m, indexing="ij"
    )
    xy = to_xy(frame, chainage_m.ravel(), offset_m.ravel()).reshape(*chainage_m.shape, 2)
    at = np.empty_like(xy)
    at[..., 0] = (xy[..., 0] - terrain.west_m) / terrain.pixel_width_m - 0.5
    at[..., 1] = (terrain.north_m - xy[..., 1]) / terrain.pixel_height_m - 0.5
    return at


def _sides(
    shape: tuple[int, ...], n_parts: int, pad: tuple[int, int], more: Sequence[tuple[int, int]]
) -> list[NDArray[np.bool_]]:
    """Return which lines of the lattice along each axis are the side of any widened cell."""
    sides = []
    for axis in (0, 1):
        place = (np.arange(shape[axis]) - pad[axis]) % n_parts
        steps = np.array([step[axis] for step in more], dtype=np.int64)
        sides.append(np.isin(place, np.concatenate([-steps % n_parts, steps % n_parts])))
    return sides


def _pooled(
    parts_m: NDArray[np.float64], n_parts: int, pad: tuple[int, int], more: tuple[int, int]
) -> NDArray[np.float64]:
    """Return the lowest of the parts of each cell and of `more` parts beyond it each way."""
    pooled = parts_m
    for axis in (0, 1):
        size = n_parts + 2 * more[axis]
        n_cells = (parts_m.shape[axis] - 2 * pad[axis]) // n_parts
        middle = pad[axis] - more[axis] + size // 2 + n_parts * np.arange(n_cells)
        pooled = np.take(minimum_filter1d(pooled, size, axis=axis, mode="nearest"), middle, axis=axis)
    return pooled


def _lowest_in_parts(
    terrain: RasterGrid, at: NDArray[np.float64], sides: list[NDArray[np.bool_]]
) -> NDArray[np.float64]:
    """Return levels that occur in each quad of a lattice, together the lowest of each widened cell [m].

    An edge on no side of a widened cell lies within all that hold it: of these the lowest terrain is on
    a side or in the middle of a pixel, and such an edge counts with its ends alone. inf: no value.
    """
    level_m = _level_m(terrain, at)
    along_m = _lowest_on_edges(terrain, (at[:-1], at[1:]), (level_m[:-1], level_m[1:]), sides[1][None, :])
    across_m = _lowest_on_edges(
        terrain, (at[:, :-1], at[:, 1:]), (level_m[:, :-1], level_m[:, 1:]), sides[0][:, None]
    )
    lowest_m = np.fmin(
        np.fmin(along_m[:, :-1], along_m[:, 1:]),
        np.fmin(across_m[:-1], across_m[1:]),
    )
    _lower_to_middles(terrain, at, lowest_m)
    return np.where(np.isnan(lowest_m), np.inf, lowest_m)


def _level_m(terrain: RasterGrid, at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the terrain at places among the middles of pixels [m]."""
    column, row = at[..., 0].ravel() + 0.5, at[..., 1].ravel() + 0.5
    x, y = terrain.west_m + column * terrain.pixel_width_m, terrain.north_m - row * terrain.pixel_height_m
    return bilinear(terrain, np.stack([x, y], axis=1)).reshape(at.shape[:-1])


def _lowest_on_edges(
    terrain: RasterGrid,
    ends: tuple[NDArray[np.float64], NDArray[np.float64]],
    level_m: tuple[NDArray[np.float64], NDArray[np.float64]],
    matters: NDArray[np.bool_],
) -> NDArray[np.float64]:
    """Return the lowest terrain along straight edges: at an end, unless it bends or dips between."""
    begin, end = ends
    patch = np.floor(begin)
    crosses = patch != np.floor(end)
    is_cut_off = np.isnan(level_m[0]) != np.isnan(level_m[1])
    bends = crosses[..., 0] | crosses[..., 1] | is_cut_off
    bend_m = np.where(bends, 0.0, _bend_m(terrain, patch, end - begin))
    lowest_m = _lowest_of_parabola(level_m[0], level_m[1], bend_m)
    chosen = bends & matters
    lowest_m[chosen] = _lowest_on_pieces(terrain, begin[chosen], end[chosen])
    return lowest_m


def _bend_m(
    terrain: RasterGrid, patch: NDArray[np.float64], step: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return how much steps within a patch each bend upwards: 0 beyond the outermost middles [m]."""
    n_rows, n_columns = terrain.values.shape
    column = np.clip(patch[..., 0], -1, n_columns - 1).astype(np.int64)
    row = np.clip(patch[..., 1], -1, n_rows - 1).astype(np.int64)
    # only what the steps lie on: a raster may be a thousand times as long as what is looked at
    top, left = int(row.min()), int(column.min())
    twist_m = _twists_m(terrain.values, (top, int(row.max()) + 1), (left, int(column.max()) + 1))
    bend_m: NDArray[np.float64] = step[..., 0] * step[..., 1] * twist_m[row - top, column - left]
    return bend_m


def _twists_m(
    level_m: NDArray[np.floating], rows: tuple[int, int], columns: tuple[int, int]
) -> NDArray[np.float64]:
    """Return the twist of each patch in a window, 0 where there is no patch: at -1 and at the last [m]."""
    twist_m = np.zeros((rows[1] - rows[0], columns[1] - columns[0]))
    first_row, last_row = max(rows[0], 0), min(rows[1], level_m.shape[0] - 1)
    first_column, last_column = max(columns[0], 0), min(columns[1], level_m.shape[1] - 1)
    if first_row < last_row and first_column < last_column:
        z = level_m[first_row : last_row + 1, first_column : last_column + 1]
        inside = (
            slice(first_row - rows[0], last_row - rows[0]),
            slice(first_column - columns[0], last_column - columns[0]),
        )
        twist_m[inside] = z[:-1, :-1] - z[:-1, 1:] - z[1:, :-1] + z[1:, 1:]
    return twist_m


def _lowest_of_parabola(
    first_m: NDArray[np.float64], last_m: NDArray[np.float64], bend_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the lowest of ``first + (rise - bend) t + bend t^2`` for t from 0 to 1 [m]."""
    lowest_m: NDArray[np.float64] = np.fmin(first_m, last_m)
    rise_m = last_m - first_m
    dips = bend_m > np.abs(rise_m)
    lowest_m[dips] = first_m[dips] - (bend_m[dips] - rise_m[dips]) ** 2 / (4.0 * bend_m[dips])
    return lowest_m


def _lowest_on_pieces(
    terrain: RasterGrid, begin: NDArray[np.float64], end: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the lowest terrain along edges, cut where they cross a grid line; NaN: no value [m]."""
    if len(begin) == 0:
        return np.zeros(0)
    share = _cuts(begin, end)
    at = begin[:, None, :] + share[..., None] * (end - begin)[:, None, :]
    most = np.array(terrain.values.shape[::-1]) - 1.0
    is_near = (at >= -0.5 - _ON_LINE) & (at <= most + 0.5 + _ON_LINE)
    is_inside = is_near[..., 0] & is_near[..., 1]
    kept: NDArray[np.float64] = np.minimum(
        np.maximum(at, 0.0), most
    )  # the outer half pixel keeps the value of the edge
    patch = np.floor((kept[:, :-1] + kept[:, 1:]) / 2.0).astype(np.int64)
    corner_m = [at_pixel(terrain, patch[..., 1] + down, patch[..., 0] + right) for down, right in _CORNERS]
    first = np.clip(kept[:, :-1] - patch, 0.0, 1.0)
    last = np.clip(kept[:, 1:] - patch, 0.0, 1.0)
    lowest_m = _lowest_in_patch(corner_m, first, last)
    lowest_m[~(is_inside[:, :-1] | is_inside[:, 1:])] = np.nan
    return reduce(np.fmin, lowest_m.T)


_CORNERS = ((0, 0), (0, 1), (1, 0), (1, 1))  # of a patch, down and right


def _cuts(begin: NDArray[np.float64], end: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return in order the shares of each edge at which it begins, crosses grid lines, and ends."""
    low, high = np.minimum(begin, end), np.maximum(begin, end)
    shares = [np.zeros(len(begin)), np.ones(len(begin))]
    for axis in (0, 1):
        line = np.floor(low[:, axis]) + 1.0
        while (line < high[:, axis]).any():
            cut, crosses = np.ones(len(begin)), line < high[:, axis]
            np.divide(line - begin[:, axis], end[:, axis] - begin[:, axis], out=cut, where=crosses)
            shares.append(cut)
            line = line + 1.0
    return np.sort(np.stack(shares, axis=1), axis=1)


def _lowest_in_patch(
    corner_m: list[NDArray[np.float64]], first: NDArray[np.float64], last: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the lowest terrain along straight pieces within one patch each; NaN: no value [m]."""
    first_m, last_m = _in_patch(corner_m, first), _in_patch(corner_m, last)
    step = last - first
    twist_m = corner_m[0] - corner_m[1] - corner_m[2] + corner_m[3]
    return _lowest_of_parabola(first_m, last_m, step[..., 0] * step[..., 1] * twist_m)


def _in_patch(corner_m: list[NDArray[np.float64]], at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Interpolate between the corners of patches; a corner that does not bear on a place is left out."""
    level_m = np.zeros(at.shape[:-1])
    for (down, right), corner in zip(_CORNERS, corner_m, strict=True):
        share = np.abs(1 - right - at[..., 0]) * np.abs(1 - down - at[..., 1])
        level_m += np.where(share > _ON_LINE, share * corner, 0.0)
    return level_m


def _lower_to_middles(terrain: RasterGrid, at: NDArray[np.float64], lowest_m: NDArray[np.float64]) -> None:
    """Lower the quads of a lattice to the pixels whose middle they hold."""
    parts = at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]
    most = np.array(terrain.values.shape[::-1]) - 1.0
    low = np.maximum(np.ceil(reduce(np.minimum, parts) - _ON_LINE), 0.0)
    high = np.minimum(np.floor(reduce(np.maximum, parts) + _ON_LINE), most)
    holds_any = low <= high
    chosen = np.nonzero(holds_any[..., 0] & holds_any[..., 1])
    quad = np.ravel_multi_index(chosen, lowest_m.shape)
    corners, low, high = np.stack([part[chosen] for part in parts], axis=1), low[chosen], high[chosen]
    spread = (high - low).max(axis=0, initial=0.0).astype(np.int64) + 1 if len(quad) else (0, 0)
    flat = lowest_m.reshape(-1)
    for right in range(spread[0]):
        for down in range(spread[1]):
            middle = low + np.array([right, down])
            holds = (middle <= high).all(axis=-1) & _is_in_quad(corners, middle)
            pixel = middle[holds].astype(np.int64)
            flat[quad[holds]] = np.fmin(flat[quad[holds]], at_pixel(terrain, pixel[:, 1], pixel[:, 0]))


def _is_in_quad(corners: NDArray[np.float64], point: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return whether points lie in convex quads, edges counted."""
    side = np.roll(corners, -1, axis=1) - corners
    away = point[:, None, :] - corners
    turn = side[..., 0] * away[..., 1] - side[..., 1] * away[..., 0]
    return np.asarray((turn >= -_ON_LINE).all(axis=1) | (turn <= _ON_LINE).all(axis=1))
