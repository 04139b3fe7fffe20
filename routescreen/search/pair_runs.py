"""How often one straight move enters one crossing.

Room: ``search``. A crossing may be merged of many features: a move that leaves it and comes back pays again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.search.arrays import Floats, Integers

SHORTEST_M = 1e-6  # a part of a line inside an outline shorter than this is a touch


def count_runs(line_xy_m: Floats, outline: NDArray[np.object_], *, gap_m: float) -> Integers:
    """Count the unbroken runs of lines inside outlines.

    Parameters
    ----------
    line_xy_m : ndarray of shape (n, 4)
        x1, y1, x2, y2 of straight lines, each of which meets its outline [m].
    outline : ndarray of Polygon or MultiPolygon, shape (n,)
    gap_m : float
        Runs no further apart than this are one [m].

    Returns
    -------
    ndarray of int64, shape (n,)
        At least 1.
    """
    inside = shapely.intersection(shapes.lines(line_xy_m.reshape(-1, 2, 2)), outline)
    count = np.ones(len(line_xy_m), np.int64)
    several = np.flatnonzero(shapely.get_num_geometries(inside) > 1)
    parts, owner = shapely.get_parts(inside[several], return_index=True)
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
