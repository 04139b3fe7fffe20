"""Where a shaft may stand, by method, role and heading of its drive: exact tests of its plan.

Room: ``corridor``. Geometry only; imports the frame, the stencil, obstacles and ``drives.methods``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.frame import right_normal
from routescreen.corridor.obstacles import Obstacles, bounds_of
from routescreen.corridor.stencil import N_BINS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.corridor.frame import Frame
    from routescreen.drives.methods import MethodGeometry

_COLUMNS_AT_A_TIME = 64


def bin_outline(
    plan_m: tuple[float, float], heading_bin: int, *, max_heading_rad: float
) -> NDArray[np.float64]:
    """Return the ground that a shaft's plan covers at all headings of one bin.

    The hull of the rectangle at both ends and the middle of the bin, blown up by so much that it
    holds the arcs that the corners describe in between.

    Parameters
    ----------
    plan_m : tuple of float
        Inside length along the drive and width across it [m].
    heading_bin : int
    max_heading_rad : float
        Steepest heading; the bins part the angles between minus and plus it evenly [rad].

    Returns
    -------
    ndarray of shape (k, 2)
        Corners along the axis and to the right of it, from the middle of the shaft [m].
    """
    bin_rad = 2.0 * max_heading_rad / N_BINS
    low = -max_heading_rad + heading_bin * bin_rad
    corners = np.array([[-1.0, -1.0], [-1.0, 1.0], [1.0, 1.0], [1.0, -1.0]]) * np.array(plan_m) / 2.0
    turned = []
    for heading in low + bin_rad * np.array([0.0, 0.5, 1.0]):
        cos, sin = np.cos(heading), np.sin(heading)
        turned.append(corners @ np.array([[cos, sin], [-sin, cos]]))
    grown = np.concatenate(turned) / np.cos(bin_rad / 4.0)
    hull = shapely.convex_hull(shapely.multipoints(grown))
    outline: NDArray[np.float64] = shapely.get_coordinates(hull)[:-1]
    return outline


def shaft_places(
    frame: Frame, methods: Sequence[MethodGeometry], obstacles: Obstacles, *, max_heading_rad: float
) -> NDArray[np.bool_]:
    """Return where shafts may stand.

    Parameters
    ----------
    frame : Frame
    methods : sequence of MethodGeometry
    obstacles : Obstacles
        Everything that a shaft's plan must keep its distance from: outlines of features with their
        clearance, the corridor's edge, ground cover without shafts, pins.
    max_heading_rad : float
        Steepest heading of a drive against the axis at its shaft [rad].

    Returns
    -------
    ndarray of bool, shape (n_methods, 2, N_BINS, nx, ny)
        Second axis: 0 launch, 1 reception. Headings are relative to the axis at the node.
    """
    is_free = np.zeros((len(methods), 2, N_BINS, *frame.shape), dtype=np.bool_)
    for first in range(0, frame.shape[0], _COLUMNS_AT_A_TIME):
        column, row = np.nonzero(frame.is_valid[first : first + _COLUMNS_AT_A_TIME])
        if len(column) == 0:
            continue
        column = column + first
        middle_m, tangent = frame.node_xy_m[column, row], frame.tangent[column]
        tree = shapely.STRtree(shapes.points(middle_m))
        for k, method in enumerate(methods):
            for role, plan_m in enumerate((method.launch_plan_m, method.reception_plan_m)):
                plans = [bin_outline(plan_m, b, max_heading_rad=max_heading_rad) for b in range(N_BINS)]
                inner_m = min(plan_m) / 2.0
                is_free[k, role][:, column, row] = _free_bins(
                    (middle_m, tangent, tree), plans, inner_m, obstacles
                )
    return is_free


def _free_bins(
    nodes: tuple[NDArray[np.float64], NDArray[np.float64], shapely.STRtree],
    outlines: Sequence[NDArray[np.float64]],
    inner_m: float,
    obstacles: Obstacles,
) -> NDArray[np.bool_]:
    """Return for each bin and node whether the plan is free, shape (N_BINS, n).

    What lies within the plan's inner circle closes the node outright, what lies beyond its outer
    circle does not matter; only what lies between is measured bin by bin.
    """
    middle_m, tangent, tree = nodes
    outer_m = max(float(np.hypot(xy[:, 0], xy[:, 1]).max()) for xy in outlines)
    near = obstacles.near(bounds_of(middle_m), outer_m)
    is_free = np.ones((N_BINS, len(middle_m)), dtype=np.bool_)
    _, closed = obstacles.too_near(tree, near, more_m=inner_m)
    is_free[:, closed] = False
    obstacle, node = obstacles.too_near(tree, near, more_m=outer_m)
    is_open = is_free[0, node]
    obstacle, node = obstacle[is_open], node[is_open]
    for k, outline in enumerate(outlines):
        plans = _plans(middle_m[node], tangent[node], outline)
        is_hit = obstacles.are_too_near(obstacle, plans)
        is_free[k, node[is_hit]] = False
    return is_free


def _plans(
    middle_m: NDArray[np.float64], tangent: NDArray[np.float64], outline: NDArray[np.float64]
) -> NDArray[np.object_]:
    """Return the plan outline placed at each node and turned with the axis."""
    placed = (
        middle_m[:, None, :]
        + outline[None, :, 0, None] * tangent[:, None, :]
        + outline[None, :, 1, None] * right_normal(tangent)[:, None, :]
    )
    return shapes.polygons(placed)
