"""The vertical line of a drive: the crown under its ceiling, by the lower convex hull.

Room: ``drives``. Pure numbers. The search and the tests share these scalar compiled functions.

A drive from its lower-chainage end (x = 0) to its upper end (x = L) is straight; at points x_i the
crown may lie no higher than v_i. For a slope m the highest such line starts at
``min(v_i - m x_i)``. The depth at the lower end grows with m, the depth at the upper end falls, and
both are convex, so every limit on a depth is a limit on m.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@compiled
def start_level_m(
    x_m: NDArray[np.float64], v_m: NDArray[np.float64], n_points: int, slope_frac: float
) -> float:
    """Return the level at x = 0 of the highest line of a slope below all points [m]."""
    level = math.inf
    for i in range(n_points):
        level = min(level, v_m[i] - slope_frac * x_m[i])
    return level


@compiled
def steepest_from_start(
    x_m: NDArray[np.float64], v_m: NDArray[np.float64], n_points: int, level_m: float
) -> float:
    """Return the greatest slope of a line from (0, level) that stays below all points [-].

    Returns -inf where the level lies above the first point.
    """
    if level_m > v_m[0] + 1e-9:
        return -math.inf
    slope = math.inf
    for i in range(1, n_points):
        if x_m[i] > 0.0:
            slope = min(slope, (v_m[i] - level_m) / x_m[i])
    return slope


@compiled
def flattest_to_end(
    x_m: NDArray[np.float64], v_m: NDArray[np.float64], n_points: int, level_m: float
) -> float:
    """Return the least slope of a line to (L, level) that stays below all points [-].

    Returns inf where the level lies above the last point.
    """
    last = n_points - 1
    if level_m > v_m[last] + 1e-9:
        return math.inf
    slope = -math.inf
    for i in range(last):
        if x_m[i] < x_m[last]:
            slope = max(slope, (level_m - v_m[i]) / (x_m[last] - x_m[i]))
    return slope


@compiled
def lower_hull(
    x_m: NDArray[np.float64], v_m: NDArray[np.float64], n_points: int, hull: NDArray[np.int64]
) -> int:
    """Fill the vertices of the points' lower convex hull, in order; return the index of the last.

    Parameters
    ----------
    x_m, v_m : ndarray of shape (n_points or more,)
        Points in increasing order of x [m].
    n_points : int
    hull : ndarray of int64
        Room for at least `n_points` indices.
    """
    top = 0
    hull[0] = 0
    for i in range(1, n_points):
        while top > 0 and _is_above(x_m, v_m, hull[top - 1], hull[top], i):
            top -= 1
        top += 1
        hull[top] = i
    return top


@compiled
def slopes_above(
    x_m: NDArray[np.float64],
    v_m: NDArray[np.float64],
    floor_m: NDArray[np.float64],
    n_points: int,
    hull: NDArray[np.int64],
    top: int,
) -> tuple[float, float]:
    """Return the least and the greatest slope whose highest line lies on or above all floors [-].

    The line of slope m through the floor at x lies below all points exactly where it lies below the
    vertices of their lower hull: m >= (f - v)/(x - x_v) for a vertex before it, m <= (v - f)/(x_v - x) for
    one behind. The least is above the greatest where there is none.

    Parameters
    ----------
    x_m, v_m : ndarray of shape (n_points or more,)
        Points in increasing order of x [m].
    floor_m : ndarray of shape (n_points or more,)
        Floor at each x, not above the point there; -inf where there is none [m].
    n_points : int
    hull : ndarray of int64
    top : int
        See `lower_hull`.
    """
    low, high = -math.inf, math.inf
    for k in range(n_points):
        if floor_m[k] == -math.inf:
            continue
        for at in range(top + 1):
            i = hull[at]
            if x_m[i] < x_m[k]:
                low = max(low, (floor_m[k] - v_m[i]) / (x_m[k] - x_m[i]))
            elif x_m[i] > x_m[k]:
                high = min(high, (v_m[i] - floor_m[k]) / (x_m[i] - x_m[k]))
    return low, high


@compiled
def hull_slope(
    x_m: NDArray[np.float64],
    v_m: NDArray[np.float64],
    n_points: int,
    at_m: float,
    hull: NDArray[np.int64],
) -> float:
    """Return the slope of the lower convex hull's edge that spans `at_m` [-].

    Where `at_m` hits a vertex of the hull the mean of both edges' slopes is returned, so that a
    drive and its mirror image get the same line.

    Parameters
    ----------
    x_m, v_m : ndarray of shape (n_points or more,)
        Points in increasing order of x [m].
    n_points : int
    at_m : float
        Where the line should touch the hull [m].
    hull : ndarray of int64
        Work space for at least `n_points` indices.
    """
    top = lower_hull(x_m, v_m, n_points, hull)
    if top == 0:
        return 0.0
    edge, near = 0, 1e-9 * max(1.0, at_m)
    while edge < top - 1 and x_m[hull[edge + 1]] < at_m - near:
        edge += 1
    slope = _edge_slope(x_m, v_m, hull[edge], hull[edge + 1])
    if edge < top - 1 and abs(x_m[hull[edge + 1]] - at_m) <= near:
        slope = 0.5 * (slope + _edge_slope(x_m, v_m, hull[edge + 1], hull[edge + 2]))
    return slope


@compiled
def _is_above(x_m: NDArray[np.float64], v_m: NDArray[np.float64], a: int, b: int, c: int) -> bool:
    """Return whether point b lies on or above the chord from a to c."""
    return bool((v_m[b] - v_m[a]) * (x_m[c] - x_m[a]) >= (v_m[c] - v_m[a]) * (x_m[b] - x_m[a]))


@compiled
def _edge_slope(x_m: NDArray[np.float64], v_m: NDArray[np.float64], a: int, b: int) -> float:
    return float((v_m[b] - v_m[a]) / (x_m[b] - x_m[a]))
