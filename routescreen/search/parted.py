"""What crossings a line between two nodes can't avoid.

Room: ``search``. May import ``corridor``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.frame import right_normal

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.search.arrays import Floats, FrameArrays


TOUCH_M = 1e-6  # parts this near to each other are taken for one: that parts less, never more


@dataclass(frozen=True, slots=True)
class Columns:
    """The frame's columns as areas, for those who ask of one crossing after the other.

    `hulls` (nx,) hold all lines of their columns; `tree` of them; two columns up to `apart` apart may meet.
    """

    hulls: NDArray[np.object_]
    tree: shapely.STRtree
    apart: int


def columns_of(frame: FrameArrays) -> Columns:
    """Return the areas of a frame's columns."""
    hulls = _column_hulls(frame)
    tree = shapely.STRtree(hulls)
    return Columns(hulls, tree, _fold_columns(hulls, tree))


def passed_fees_eur(
    frame: FrameArrays,
    start_row: int,
    outline: NDArray[np.object_],
    fee_eur: Floats,
    columns: Columns | None = None,
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
    columns : Columns, optional
        Those of the frame, where they are known.

    Returns
    -------
    ndarray of shape (nx, ny)
        [EUR]
    """
    nx, ny = frame.node_xy_m.shape[:2]
    known = columns or columns_of(frame)
    hulls, tree, apart = known.hulls, known.tree, known.apart
    within, beyond = np.zeros((nx, ny)), np.zeros(nx + 1)
    for crossing in np.flatnonzero(fee_eur > 0.0):
        touched = tree.query(outline[crossing], predicate="intersects")
        if len(touched) == 0:
            continue
        first, last = _window(int(touched.min()), int(touched.max()), apart, nx)
        before = (
            hulls[max(first - apart, 0) : first] if first else shapely.points([frame.node_xy_m[0, start_row]])
        )
        after = hulls[last + 1 : last + 1 + apart]
        parted, is_end_parted = _parted(hulls[first : last + 1], before, after, outline[crossing])
        points = shapes.points(frame.node_xy_m[first : last + 1].reshape(-1, 2))
        for part in parted:
            shapely.prepare(part)
            is_in = shapely.contains_properly(part, points).reshape(-1, ny)
            within[first : last + 1][is_in] += fee_eur[crossing]
        if is_end_parted:
            beyond[last + 1] += fee_eur[crossing]
    return np.asarray(within + np.cumsum(beyond[:-1])[:, None])


def _window(low: int, high: int, apart: int, n_columns: int) -> tuple[int, int]:
    """Return columns round an outline such that what lies before them nowhere meets what lies after."""
    first, last = max(low - 1, 0), min(high + 1, n_columns - 1)
    return first, min(max(last, first + apart), n_columns - 1)


def _parted(
    hulls: NDArray[np.object_],
    before: NDArray[np.object_],
    after: NDArray[np.object_],
    outline: shapely.Geometry,
) -> tuple[list[shapely.Geometry], bool]:
    """Return the parts of some columns that an outline parts from the start, and whether all beyond is.

    What lies before the columns is in one piece, and so is what lies after: the outline touches neither.
    `before` and `after` are those columns that the ones between may meet.
    """
    parts = shapely.get_parts(shapely.difference(shapely.union_all(hulls), outline))
    meets = np.asarray(shapely.dwithin(parts[:, None], parts[None, :], TOUCH_M), dtype=np.bool_)
    meets_after = _meet_any(parts, after)
    is_near = _meet_any(parts, before)
    for _ in range(len(parts) + 1):  # as far as one part leads to the next, or round by what lies after
        is_near |= (meets & is_near[None, :]).any(axis=1)
        if (is_near & meets_after).any():
            is_near |= meets_after
    return list(parts[~is_near]), not (is_near & meets_after).any()


def _meet_any(parts: NDArray[np.object_], others: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Return which parts meet any other."""
    met = np.asarray(shapely.dwithin(parts[:, None], others[None, :], TOUCH_M), dtype=np.bool_)
    return np.asarray(met.any(axis=1))


def _fold_columns(hulls: NDArray[np.object_], tree: shapely.STRtree) -> int:
    """Return how many columns apart two columns may be that still meet: 1 but where the frame folds."""
    one, other = tree.query(hulls, predicate="intersects")
    return int(np.abs(one - other).max(initial=1))


def _column_hulls(frame: FrameArrays) -> NDArray[np.object_]:
    """Return an area a column that holds all lines on the frame in it, as far aside as they may run."""
    n_rows = frame.node_xy_m.shape[1]
    outer_m = frame.offset0_m + frame.cell_m * np.array([-frame.aside_rows, n_rows - 1.0 + frame.aside_rows])
    right = right_normal(frame.boundary_tangent)
    ends = frame.boundary_xy_m[:, None] + outer_m[None, :, None] * right[:, None]
    corners = np.concatenate([ends[:-1], ends[1:]], axis=1)
    # hulls, since boundaries may cross beside a bend; an area too large parts less, never more
    return np.asarray(shapely.convex_hull(shapely.multipoints(corners)), dtype=object)
