"""One straight line measured over the ground: the lengths on each kind of ground, for the bill on the frame.

Room: ``search``. May import ``corridor``. Cuts lines by means of its own, not by those that price the
search's moves, and asks the sampler what lies at the middle of every piece.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.search.fine_ground import N_ACROSS, N_ALONG, fine_xy

if TYPE_CHECKING:
    from shapely import LineString

    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import GroundSampler
    from routescreen.project import GroundSamples, RasterGrid
    from routescreen.search.arrays import Floats

# A line that runs along an edge between pixels belongs to the one to the east or south, however its
# coordinates are rounded; a share of a pixel.
ASIDE_FRAC = 1e-7
BESIDE_FRAC = 1e-6  # of a fine cell: nearer to the edge of two a drive lies half in either


def runs_along(sampler: GroundSampler, line: LineString) -> tuple[GroundSamples, Floats]:
    """Measure a straight line by what lies below it.

    Parameters
    ----------
    sampler : GroundSampler
    line : LineString
        Of two points. Anything else that an intersection may leave, a point, counts as no length.

    Returns
    -------
    samples : GroundSamples
        What lies at the middle of each piece.
    length_m : ndarray of shape (n,)
        Length of each piece [m].
    """
    xy = shapely.get_coordinates(line)
    start, end = xy[0], xy[-1]
    raster, _ = sampler.cover_raster()
    share = [np.array([0.0, 1.0])]
    if raster is not None:
        width_m, height_m = raster.pixel_width_m, raster.pixel_height_m
        share.append(_edge_shares((start[0] - raster.west_m) / width_m, (end[0] - raster.west_m) / width_m))
        share.append(
            _edge_shares((raster.north_m - start[1]) / height_m, (raster.north_m - end[1]) / height_m)
        )
    edges = shapely.boundary(sampler.ground_polygons()[0])
    met = shapely.get_coordinates(shapely.intersection(edges, line))
    if line.length > 0.0:
        share.append(np.asarray(shapely.line_locate_point(line, shapely.points(met)) / line.length))
    cuts = np.unique(np.concatenate(share))
    middles = start + (0.5 * (cuts[1:] + cuts[:-1]))[:, None] * (end - start)
    samples = sampler.sample(middles)
    if raster is not None:
        samples = replace(samples, cover_class=sampler.cover_class(middles + _aside_m(raster)))
    return samples, np.diff(cuts) * line.length


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
    samples = sampler.sample(fine_xy(frame, fine_column, fine_row))
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


def _edge_shares(first: float, last: float) -> Floats:
    """Return where a line passes whole numbers on its way from one value to another, as shares of it."""
    low, high = min(first, last), max(first, last)
    between = np.arange(np.floor(low) + 1.0, np.ceil(high))
    return np.asarray((between - first) / (last - first)) if len(between) else np.zeros(0)


def _aside_m(raster: RasterGrid) -> Floats:
    """Return the step that puts a line along an edge into the pixel to the east or south [m]."""
    return ASIDE_FRAC * np.array([raster.pixel_width_m, -raster.pixel_height_m])
