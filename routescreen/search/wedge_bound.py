"""How deep the shafts of a drive must be at least, compiled: from the hull of ceilings along a wedge.

Room: ``search``. Lower bounds for ``wedge_kernel``: the ceilings given are no lower than the true ones.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled
from routescreen.search.shaft_kernel import depth_level
from routescreen.search.wedge_ways import SLACK_M

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, Integers, SearchArrays

NEVER = 1 << 30  # a level beyond all


@compiled
def push_point(x_m: Floats, z_m: Floats, knot: Integers, n_points: int, x: float, z: float, at: int) -> int:
    """Add a point to the right of a lower hull; return its new number of points."""
    n = n_points
    while n > 1:
        rise, run = z_m[n - 1] - z_m[n - 2], x_m[n - 1] - x_m[n - 2]
        if rise * (x - x_m[n - 2]) < (z - z_m[n - 2]) * run:
            break
        n -= 1
    x_m[n], z_m[n], knot[n] = x, z, at
    return n + 1


@compiled
def _least_level_there(
    s: SearchArrays,
    points: tuple[Floats, Floats, int],
    line: tuple[float, float, float],
    crown_m: float,
    there: tuple[float, float, int],
) -> int:
    """Return the least level at a line's far end when its crown here lies no lower than `crown_m`.

    `points` x and highest crown, how many; `line` length, least and greatest slope; `there` ground, bore
    and role at the far end.
    """
    x_m, z_m, n = points
    length, low, high = line
    slope = high
    for v in range(n):
        if x_m[v] > 0.0:
            slope = min(slope, (z_m[v] - crown_m) / x_m[v])
        elif z_m[v] < crown_m:
            return NEVER
    if slope < low:
        return NEVER
    top = math.inf
    for v in range(n):
        top = min(top, z_m[v] + slope * (length - x_m[v]))
    return depth_level(s, there[0], top + SLACK_M, there[1], there[2])


@compiled
def _least_level_here(
    s: SearchArrays,
    points: tuple[Floats, Floats, int],
    line: tuple[float, float, float],
    crown_m: float,
    here: tuple[float, float, int],
) -> int:
    """Return the least level at the near end when the crown at the far end is no lower than `crown_m`."""
    x_m, z_m, n = points
    length, low, high = line
    slope = low
    for v in range(n):
        if x_m[v] < length:
            slope = max(slope, (crown_m - z_m[v]) / (length - x_m[v]))
        elif z_m[v] < crown_m:
            return NEVER
    if slope > high:
        return NEVER
    top = math.inf
    for v in range(n):
        top = min(top, z_m[v] - slope * x_m[v])
    return depth_level(s, here[0], top + SLACK_M, here[1], here[2])


@compiled
def best_start(
    s: SearchArrays,
    start_eur: Floats,
    threshold_eur: Floats,
    drive_eur: tuple[float, float],
    least: tuple[int, int],
    wet: tuple[int, int, float],
    points: tuple[Floats, Floats, int],
    line: tuple[float, float, float],
    ends: tuple[float, float, float, int, int],
) -> tuple[float, int]:
    """Return a least cost with which a drive could win at a node, and at which level at least.

    Of two lines the one that starts deeper here may end less deep at the other end, never deeper. From
    the least level here on, what is to beat there gives the greatest level that the other end may have,
    and that the least level here which allows it, until both agree.

    Parameters
    ----------
    start_eur, threshold_eur : ndarray of shape (nl,)
        Cost at the other end, and what is to beat here, by level; rising and falling with it.
    drive_eur : tuple of float
        The least that the drive costs apart from its boreholes, and a metre of borehole [EUR].
    least : tuple of int
        Least level here and at the other end.
    wet : tuple
        First level below the groundwater here and at the other end, and what is paid to pump at such an end
        [EUR].
    points, line
        See ``_least_level_there``.
    ends : tuple
        Ground here and there, bore [m], role here and there.

    Returns
    -------
    tuple of float and int
        inf where the drive can't win.
    """
    ground_here, ground_there, bore, here, there = ends
    below = bore + s.shaft.sump_m - SLACK_M
    n_levels = min(start_eur.shape[0], s.shaft.most_level[here] + 1)
    crown = ground_here + below - (n_levels - 1) * s.shaft.step_m
    least_far = max(_least_level_there(s, points, line, crown, (ground_there, bore, there)), least[1])
    far = min(start_eur.shape[0] - 1, s.shaft.most_level[there])
    level = least[0]
    while level < n_levels:
        extra = drive_eur[0] + drive_eur[1] * (level * s.shaft.step_m + s.drive.borehole_below_m)
        extra += wet[2] if level >= wet[0] else 0.0
        while far >= least_far and start_eur[far] + _wet_eur(far, wet) + extra >= threshold_eur[level]:
            far -= 1
        if far < least_far:
            return math.inf, 0
        crown = ground_there + below - far * s.shaft.step_m
        needed = _least_level_here(s, points, line, crown, (ground_here, bore, here))
        if needed <= level:
            return start_eur[least_far] + _wet_eur(least_far, wet) + extra, level
        level = needed
    return math.inf, 0


@compiled
def _wet_eur(far: int, wet: tuple[int, int, float]) -> float:
    """Return what is paid to pump at the other end at a level [EUR]."""
    return float(wet[2]) if far >= wet[1] else 0.0
