"""The level of open water over each cell of a frame: what stands on a bore that passes under it.

Room: ``corridor``. May use ``project``, ``assumptions``, numpy and shapely.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import GroundSampler

    Array = NDArray[np.float64]


def water_surfaces_m(
    frame: Frame, sampler: GroundSampler, area: NDArray[np.object_], over_terrain_m: Array, reach_m: float
) -> Array:
    """Return the highest surface of open water that a cell, or a bore in it, may touch.

    The terrain counts where the water comes nearest to the node: at the node itself, if that lies in it.

    Parameters
    ----------
    frame : Frame
    sampler : GroundSampler
    area : ndarray of object, shape (n,)
        Outlines of the waters.
    over_terrain_m : ndarray of shape (n,)
        How far each surface stands above the terrain: 0 where the terrain holds the water's level [m].
    reach_m : float
        Radius of the largest bore [m].

    Returns
    -------
    ndarray of shape (nx, ny)
        -inf where there is no water [m].
    """
    surface_m = np.full(frame.is_valid.size, -np.inf)
    if len(area) == 0:
        return surface_m.reshape(frame.shape)
    points = shapely.points(frame.node_xy_m.reshape(-1, 2))
    node, water = shapely.STRtree(area).query(
        points, predicate="dwithin", distance=_half_diagonal_m(frame).ravel() + reach_m
    )
    ways = shapely.shortest_line(np.asarray(points, dtype=object)[node], area[water])
    nearest = shapely.get_coordinates(ways)[1::2]
    level_m = sampler.terrain_m(nearest) + over_terrain_m[water]
    np.maximum.at(surface_m, node, np.where(np.isnan(level_m), -np.inf, level_m))
    return surface_m.reshape(frame.shape)


def _half_diagonal_m(frame: Frame) -> Array:
    """Return how far the corners of each node's cell lie from it at most, shape (nx, ny) [m]."""
    corner_m = np.hypot(frame.column_spacing_m, frame.cell_m) / 2.0
    if len(frame.node_xy_m) < 2:
        return np.full(frame.shape, corner_m)
    apart_m = np.linalg.norm(np.diff(frame.node_xy_m, axis=0), axis=2)
    along_m = np.maximum(
        np.pad(apart_m, ((1, 0), (0, 0)), mode="edge"), np.pad(apart_m, ((0, 1), (0, 0)), mode="edge")
    )
    # outside of a bend the corners lie further apart than the nodes: as far as those of the next row
    along_m = np.maximum(along_m, np.maximum(_shifted(along_m, 1), _shifted(along_m, -1)))
    return np.asarray(np.hypot(along_m, frame.cell_m) / 2.0)


def _shifted(values: Array, rows: int) -> Array:
    """Return the values of the next row on one side, the edge's own at the edge."""
    at = np.clip(np.arange(values.shape[1]) + rows, 0, values.shape[1] - 1)
    return np.asarray(values[:, at])
