"""What crossings a line between two nodes can't avoid.

Room: ``search``. May import ``corridor``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.frame import right_normal

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.search.arrays import Floats, FrameArrays


def passed_fees_eur(
    frame: FrameArrays, start_row: int, outline: NDArray[np.object_], fee_eur: Floats
) -> Floats:
    """Return the fees of the crossings that part each node from the start.

    An outline that cuts the frame in two is met by every line from one side to the other. Two nodes
    whose sums differ by some amount therefore have at least that much in fees between them.

    Parameters
    ----------
    frame : FrameArrays
    start_row : int
        Row of the start terminal, in column 0.
    outline : ndarray of object, shape (nc,)
        Outlines of the crossings.
    fee_eur : ndarray of shape (nc,)
        What a drive pays for each [EUR].

    Returns
    -------
    ndarray of shape (nx, ny)
        [EUR]
    """
    nx, ny = frame.node_xy_m.shape[:2]
    points = shapes.points(frame.node_xy_m.reshape(-1, 2))
    area = _frame_area(frame)
    passed = np.zeros(nx * ny)
    for crossing in np.flatnonzero(fee_eur > 0.0):
        parts = shapely.get_parts(shapely.difference(area, outline[crossing]))
        if len(parts) < 2:
            continue
        for part in parts[~shapely.intersects(parts, points[start_row])]:
            shapely.prepare(part)
            passed[shapely.contains_properly(part, points)] += fee_eur[crossing]
    return passed.reshape(nx, ny)


def _frame_area(frame: FrameArrays) -> shapely.Geometry:
    """Return an area that holds all lines on the frame: the columns between their boundaries, all in one."""
    n_rows = frame.node_xy_m.shape[1]
    outer_m = frame.offset0_m + frame.cell_m * np.array([-frame.aside_rows, n_rows - 1.0 + frame.aside_rows])
    right = right_normal(frame.boundary_tangent)
    ends = frame.boundary_xy_m[:, None] + outer_m[None, :, None] * right[:, None]
    corners = np.concatenate([ends[:-1], ends[1:]], axis=1)
    # hulls, since boundaries may cross beside a bend; an area too large parts less, never more
    return shapely.union_all(shapely.convex_hull(shapely.multipoints(corners)))
