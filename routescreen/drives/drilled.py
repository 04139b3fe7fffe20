"""The vertical line of a drilled bore: down from a pit, level below what it crosses, up to the other pit.

Room: ``drives``. Pure numbers. Search, audit, take-off and drawings share these scalar compiled functions.

Each half starts at its pit in a straight line at its own angle, turns level in an arc, and runs on level
at the bottom. Of a half with a lower bottom every point lies lower or as low: it is the same curve, moved
down along its first straight. So a ceiling at any place is a limit on the bottom, and the highest bottom
that keeps all of them follows without trying.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from routescreen.compiled import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

PIT_REACH_M = 10.0  # nearer to a pit the bore may break the surface: the pit holds its mud


class Half(NamedTuple):
    """One half of a drilled bore.

    `start_m` level of the crown at the pit [m]; `tan`, `sin` and `cos` of the angle to the horizontal there;
    `radius_m` of the arc [m].
    """

    start_m: float
    tan: float
    sin: float
    cos: float
    radius_m: float


@compiled
def half_of(start_m: float, angle_rad: float, radius_m: float) -> Half:
    """Return the half that starts at a level and an angle, and turns level with a radius."""
    return Half(start_m, math.tan(angle_rad), math.sin(angle_rad), math.cos(angle_rad), radius_m)


@compiled
def tangent_m(half: Half) -> float:
    """Return the distance in plan from the arc's corner to its level end, R tan(a/2) [m]."""
    return half.radius_m * half.sin / (1.0 + half.cos)


@compiled
def highest_start_bottom_m(half: Half) -> float:
    """Return the highest bottom that leaves room for the whole arc below the pit [m]."""
    return half.start_m - half.radius_m * (1.0 - half.cos)


@compiled
def run_m(half: Half, bottom_m: float) -> float:
    """Return the distance in plan from the pit to where the bore lies level [m]."""
    return (half.start_m - bottom_m) / half.tan + tangent_m(half)


@compiled
def half_crown_m(half: Half, bottom_m: float, x_m: float) -> float:
    """Return the level of the crown at a distance in plan from the pit [m]."""
    before_m = run_m(half, bottom_m) - x_m  # ahead lies the level part
    if before_m <= 0.0:
        return bottom_m
    if before_m >= half.radius_m * half.sin:
        return half.start_m - x_m * half.tan
    return bottom_m + half.radius_m - math.sqrt(half.radius_m**2 - before_m * before_m)


@compiled
def half_true_m(half: Half, bottom_m: float) -> float:
    """Return the true length from the pit to where the bore lies level [m]."""
    arc_rad = math.atan2(half.sin, half.cos)
    straight_m = (half.start_m - bottom_m - half.radius_m * (1.0 - half.cos)) / half.sin
    return straight_m + half.radius_m * arc_rad


@compiled
def highest_bottom_m(half: Half, x_m: float, ceiling_m: float) -> float:
    """Return the highest bottom of a half that keeps its crown below a ceiling at one place [m].

    -inf where even the straight from the pit passes above it.

    Notes
    -----
    With h the ceiling above the bottom and u the distance from the place to the arc's level end,
    u = u0 + h/tan a, the place lies on the arc where R - sqrt(R^2 - u^2) = h: a quadratic in h, of which the
    lesser root is the higher bottom.
    """
    if half.start_m - x_m * half.tan > ceiling_m + 1e-9:
        return -math.inf
    u0 = run_m(half, ceiling_m) - x_m
    if u0 <= 0.0:
        return ceiling_m
    b = half.radius_m - u0 / half.tan
    square = b * b - u0 * u0 * (1.0 + 1.0 / (half.tan * half.tan))
    root = math.sqrt(max(square, 0.0))
    if b + root <= 0.0:
        return -math.inf
    return ceiling_m - u0 * u0 / (b + root)


@compiled
def drilled_crown_m(lower: Half, upper: Half, bottom_m: float, length_m: float, x_m: float) -> float:
    """Return the level of the crown at a distance in plan from the lower-chainage pit [m]."""
    one = half_crown_m(lower, bottom_m, x_m)
    other = half_crown_m(upper, bottom_m, length_m - x_m)
    return max(one, other)


@compiled
def drilled_true_m(lower: Half, upper: Half, bottom_m: float, length_m: float) -> float:
    """Return the true length of the bore; -inf where it is too short for its bottom [m]."""
    level_m = length_m - run_m(lower, bottom_m) - run_m(upper, bottom_m)
    if level_m < -1e-9:
        return -math.inf
    return half_true_m(lower, bottom_m) + max(level_m, 0.0) + half_true_m(upper, bottom_m)


@compiled
def cover_run_m(half: Half, cover_m: float) -> float:
    """Return how far from its pit a bore has come down to a cover in level ground [m].

    `cover_m` counts from the crown at the pit. From there on the cover is asked of it.
    """
    return run_m(half, half.start_m - max(cover_m, half.radius_m * (1.0 - half.cos)))


@compiled
def _crowns_m(
    lower: Half, upper: Half, bottom_m: float, length_m: float, x_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    out = np.empty(x_m.shape[0])
    for i in range(x_m.shape[0]):
        out[i] = drilled_crown_m(lower, upper, bottom_m, length_m, x_m[i])
    return out


def crowns_m(
    lower: Half, upper: Half, bottom_m: float, length_m: float, x_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the levels of the crown at distances from the lower-chainage pit.

    Parameters
    ----------
    lower, upper : Half
    bottom_m : float
        Crown of the level part [m].
    length_m : float
        Of the bore in plan [m].
    x_m : ndarray of shape (n,)
        [m]

    Returns
    -------
    ndarray of shape (n,)
        [m]
    """
    levels: NDArray[np.float64] = _crowns_m(lower, upper, bottom_m, length_m, np.asarray(x_m, np.float64))
    return levels
