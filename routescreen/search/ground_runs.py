"""Straight lines measured over the ground: the lengths on each kind of ground, for the bill on the frame.

Room: ``search``. May import ``corridor``. Cuts lines by means of its own, not by those that price the
search's moves, and asks the sampler what lies at the middle of every piece.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.search.fine_ground import N_ACROSS, N_ALONG, fine_xy

if TYPE_CHECKING:
    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import GroundSampler
    from routescreen.project import GroundSamples, RasterGrid
    from routescreen.search.arrays import Floats, Integers

# A line that runs along an edge between pixels belongs to the one to the east or south, however its
# coordinates are rounded; a share of a pixel.
ASIDE_FRAC = 1e-7
BESIDE_FRAC = 1e-6  # of a fine cell: nearer to the edge of two a drive lies half in either


@dataclass(frozen=True, slots=True)
class GroundRuns:
    """Pieces of straight lines, each over one kind of ground, in order of the lines and along each.

    `owner` (n,) the line that each belongs to; `samples` (n,) what lies at its middle; `length_m` (n,).
    """

    owner: Integers
    samples: GroundSamples
    length_m: Floats


def runs_along(sampler: GroundSampler, line_xy_m: Floats) -> GroundRuns:
    """Measure straight lines by what lies below them.

    Parameters
    ----------
    sampler : GroundSampler
    line_xy_m : ndarray of shape (n, 4)
        x1, y1, x2, y2 of each line [m]. A line that is only a point counts as no length.

    Returns
    -------
    GroundRuns
    """
    raster, _ = sampler.cover_raster()
    lines = np.arange(len(line_xy_m))
    cuts = [(lines, np.zeros(len(lines))), (lines, np.ones(len(lines))), _ground_cuts(sampler, line_xy_m)]
    if raster is not None:
        pixel = line_xy_m - np.tile([raster.west_m, raster.north_m], 2)
        pixel /= np.tile([raster.pixel_width_m, -raster.pixel_height_m], 2)
        cuts += [_edge_shares(pixel[:, axis], pixel[:, axis + 2]) for axis in (0, 1)]
    owner, share = (np.concatenate(column) for column in zip(*cuts, strict=True))
    order = np.lexsort((share, owner))
    owner, share = owner[order], share[order]
    is_piece = (owner[1:] == owner[:-1]) & (share[1:] > share[:-1])
    owner, begin, end = owner[:-1][is_piece], share[:-1][is_piece], share[1:][is_piece]
    start, along = line_xy_m[owner, :2], line_xy_m[owner, 2:] - line_xy_m[owner, :2]
    middles = start + (0.5 * (begin + end))[:, None] * along
    samples = sampler.sample(middles, with_surroundings=False)
    if raster is not None:
        samples = replace(samples, cover_class=sampler.cover_class(middles + _aside_m(raster)))
    return GroundRuns(owner, samples, (end - begin) * np.hypot(*along.T))


def _ground_cuts(sampler: GroundSampler, line_xy_m: Floats) -> tuple[Integers, Floats]:
    """Return where lines meet edges of the ground layer: line and share of its length."""
    edges = shapely.boundary(sampler.ground_polygons()[0])
    lines = shapes.lines(line_xy_m.reshape(-1, 2, 2))
    line, edge = shapely.STRtree(edges).query(lines, predicate="intersects")
    met, pair = shapely.get_coordinates(shapely.intersection(edges[edge], lines[line]), return_index=True)
    length_m = shapely.length(lines)
    line, met = line[pair][length_m[line[pair]] > 0.0], met[length_m[line[pair]] > 0.0]
    return line, shapely.line_locate_point(lines[line], shapes.points(met)) / length_m[line]


def drive_runs(
    frame: Frame, sampler: GroundSampler, lower: tuple[int, int], upper: tuple[int, int]
) -> tuple[GroundSamples, Floats, Floats]:
    """Measure a drive on the fine lattice: what lies at the middles of the fine cells that it passes.

    Parameters
    ----------
    frame : Frame
    sampler : GroundSampler
    lower, upper : tuple of int
        Column and row of the drive's ends.

    Returns
    -------
    samples : GroundSamples
    along_m : ndarray of shape (n,)
        Plan distance of each piece's middle from the lower end [m].
    length_m : ndarray of shape (n,)
        Plan length of each piece [m].
    """
    column, place_m, row = _passages(frame, lower, upper)
    cuts = np.unique(
        np.concatenate([column, np.arange(lower[0] * N_ALONG, (upper[0] + 1) * N_ALONG) / N_ALONG])
    )
    cuts = cuts[(cuts >= column[0]) & (cuts <= column[-1])]
    middle = 0.5 * (cuts[1:] + cuts[:-1])
    length_m, along_m = np.diff(np.interp(cuts, column, place_m)), np.interp(middle, column, place_m)
    across = (np.interp(middle, column, row) + 0.5) * N_ACROSS
    pair = np.stack([np.floor(across - BESIDE_FRAC), np.floor(across + BESIDE_FRAC)])
    fine_row = np.clip(pair, 0, frame.shape[1] * N_ACROSS - 1).astype(np.int64).ravel()
    fine_column = np.tile(np.floor(middle * N_ALONG).astype(np.int64), 2)
    samples = sampler.sample(fine_xy(frame, fine_column, fine_row), with_surroundings=False)
    return samples, np.tile(along_m, 2), 0.5 * np.tile(length_m, 2)


def _passages(frame: Frame, lower: tuple[int, int], upper: tuple[int, int]) -> tuple[Floats, Floats, Floats]:
    """Return where a drive passes from column to column, its ends included.

    Columns counted from the lower boundary of column 0, so that a node lies in the middle of its column;
    distance from the lower end [m]; row.
    """
    start, end = frame.node_xy_m[lower], frame.node_xy_m[upper]
    at = np.arange(lower[0] + 1, upper[0] + 1)
    tangent, away = frame.boundary_tangent[at], frame.boundary_xy_m[at] - start
    unit = (end - start) / np.hypot(*(end - start))
    place_m = (away * tangent).sum(axis=1) / (tangent @ unit)
    right = np.stack([tangent[:, 1], -tangent[:, 0]], axis=1)
    offset_m = ((place_m[:, None] * unit - away) * right).sum(axis=1)
    return (
        np.concatenate([[lower[0] + 0.5], at, [upper[0] + 0.5]]),
        np.concatenate([[0.0], place_m, [float(np.hypot(*(end - start)))]]),
        np.concatenate([[lower[1]], (offset_m - frame.offset0_m) / frame.cell_m, [upper[1]]]),
    )


def _edge_shares(first: Floats, last: Floats) -> tuple[Integers, Floats]:
    """Return where lines pass whole numbers on their way from one value to another: line and share of it."""
    low, high = np.floor(np.minimum(first, last)) + 1.0, np.ceil(np.maximum(first, last))
    count = np.maximum(high - low, 0.0).astype(np.int64)
    line = np.repeat(np.arange(len(first)), count)
    place = np.arange(len(line)) - np.repeat(np.cumsum(count) - count, count)
    return line, (low[line] + place - first[line]) / (last - first)[line]


def _aside_m(raster: RasterGrid) -> Floats:
    """Return the step that puts a line along an edge into the pixel to the east or south [m]."""
    return ASIDE_FRAC * np.array([raster.pixel_width_m, -raster.pixel_height_m])
