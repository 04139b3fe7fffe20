"""How often one straight move enters one crossing.

Room: ``search``. A crossing may be merged of many features: a move that leaves it and comes back pays again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.search.line_kernel import edges_met

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.search.arrays import Floats, Integers

SHORTEST_M = 1e-6  # a part of a line inside an outline shorter than this is a touch
NEAR_M = 1e-6  # a line that passes an edge no further off counts as meeting it


def count_runs(
    line_xy_m: Floats,
    outline: NDArray[np.object_],
    of_line: Integers,
    *,
    gap_m: float,
    is_end_inside: NDArray[np.bool_] | None = None,
) -> Integers:
    """Count the unbroken runs of lines inside outlines.

    Parameters
    ----------
    line_xy_m : ndarray of shape (n, 4)
        x1, y1, x2, y2 of straight lines, each of which meets its outline [m].
    outline : ndarray of Polygon or MultiPolygon, shape (m,)
    of_line : ndarray of int64, shape (n,)
        The outline of each line.
    gap_m : float
        Runs no further apart than this are one [m].
    is_end_inside : ndarray of bool, shape (n,), optional
        Whether a line begins or ends inside its outline or on its edge; without it any may.

    Returns
    -------
    ndarray of int64, shape (n,)
        At least 1.
    """
    # Two runs leave a gap that an edge begins and another ends; a line that then meets no third edge
    # begins and ends inside.
    least_edges = 2 if is_end_inside is None else np.where(is_end_inside, 2, 3)
    several = np.flatnonzero(_count_edges(line_xy_m, outline, of_line) >= least_edges)
    lines = shapes.lines(line_xy_m[several].reshape(-1, 2, 2))
    inside = shapely.intersection(lines, outline[of_line[several]])
    count = np.ones(len(line_xy_m), np.int64)
    parts, owner = shapely.get_parts(inside, return_index=True)
    is_run = shapely.length(parts) > SHORTEST_M
    parts, owner = parts[is_run], several[owner[is_run]]
    start, along = line_xy_m[owner, :2], line_xy_m[owner, 2:] - line_xy_m[owner, :2]
    unit = along / np.hypot(*along.T)[:, None]
    ends = [shapely.get_coordinates(shapely.get_point(parts, k)) for k in (0, -1)]
    places = np.sort([((xy - start) * unit).sum(axis=1) for xy in ends], axis=0)
    order = np.lexsort((places[0], owner))
    owner, (begin, end) = owner[order], places[:, order]
    is_apart = (owner[1:] == owner[:-1]) & (begin[1:] - end[:-1] > gap_m)
    np.add.at(count, owner[1:][is_apart], 1)
    return count


def _count_edges(line_xy_m: Floats, outline: NDArray[np.object_], of_line: Integers) -> Integers:
    """Count the edges of its outline that each line meets, in doubt too many."""
    rings, of_ring = shapely.get_parts(shapely.boundary(outline), return_index=True)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    is_joined = ring[1:] == ring[:-1]
    edge_xy = np.concatenate([xy[:-1], xy[1:]], axis=1)[is_joined]
    first = np.searchsorted(of_ring[ring[:-1][is_joined]], np.arange(len(outline) + 1))
    count = np.zeros(len(line_xy_m), np.int64)
    edges_met(np.ascontiguousarray(line_xy_m), of_line, edge_xy, first, NEAR_M, count)
    return count
