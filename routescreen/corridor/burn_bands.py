"""Which open-cut moves the band of their trenches forbids.

Room: ``corridor``. Geometry only; imports obstacles and segments.

Open cut with several trenches is a band, not a line: an outer trench must not run along inside a road
or on top of a service that the centre line only passes, nor enter ground cover without trench, nor
leave the corridor. What has a least crossing angle is either crossed by the band at that angle or kept
clear of.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.obstacles import EXACT_M, Obstacles, bounds_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.corridor.burn_segments import Segments

# A segment holds the direction at its middle, the line may turn within it: so much more than the least
# angle is asked of a band, lest a plan stand on the last fraction of a degree [deg].
_TURN_WITHIN_DEG = 1.0


@dataclass(frozen=True, slots=True)
class BandRules:
    """What the band of all trenches must keep to.

    Attributes
    ----------
    width_m : float
        From the outer edge of the first trench to that of the last, at their bottom [m].
    untouched : Obstacles
        What no trench may touch: the corridor's edge, ground cover without trench; clearance 0.
    along : Obstacles
        Lines and edges with a least crossing angle, and how near the band may come to them at less:
        the clearance for buried services, 0 for what is only not dug along inside its outline.
    tangent : ndarray of shape (n, 2)
        Direction of each of those.
    sin_least : ndarray of shape (n,)
        Sine of the least angle [-].
    """

    width_m: float
    untouched: Obstacles
    along: Obstacles
    tangent: NDArray[np.float64]
    sin_least: NDArray[np.float64]


def band_rules(
    width_m: float, untouched: Obstacles, segments: Segments, clearance_m: NDArray[np.float64]
) -> BandRules:
    """Collect the rules.

    Parameters
    ----------
    width_m : float
        Width of the band [m].
    untouched : Obstacles
    segments : Segments
        Lines and edges with a least crossing angle.
    clearance_m : ndarray of shape (number of segments,)
        How near the band may come to each at less than its angle [m].

    Returns
    -------
    BandRules
    """
    least_rad = np.arcsin(np.minimum(segments.sin_min_angle, 1.0)) + math.radians(_TURN_WITHIN_DEG)
    return BandRules(
        width_m,
        untouched,
        Obstacles.of(segments.lines(), clearance_m),
        segments.tangent,
        np.sin(np.minimum(least_rad, math.pi / 2.0)),
    )


def barred_bands(
    start_xy_m: NDArray[np.float64], end_xy_m: NDArray[np.float64], rules: BandRules
) -> NDArray[np.bool_]:
    """Return which straight pieces have a band where no trench may lie.

    Parameters
    ----------
    start_xy_m, end_xy_m : ndarray of shape (n, 2)
    rules : BandRules

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    barred = np.zeros(len(start_xy_m), dtype=np.bool_)
    if len(barred) == 0:
        return barred
    lines = shapely.STRtree(shapes.lines(np.stack([start_xy_m, end_xy_m], axis=1)))
    bounds_m = bounds_of(np.concatenate([start_xy_m, end_xy_m]))
    half_m = rules.width_m / 2.0
    for obstacles in (rules.untouched, rules.along):
        # a band lies within half its width of its line: most moves are far from everything
        near = obstacles.near(bounds_m, reach_m=half_m)
        obstacle, piece = obstacles.too_near(lines, near, more_m=half_m + 2.0 * EXACT_M)
        if obstacles is rules.along:
            is_flat = _is_too_flat(start_xy_m, end_xy_m, piece, obstacle, rules)
            obstacle, piece = obstacle[is_flat], piece[is_flat]
        is_open = ~barred[piece]
        obstacle, piece = obstacle[is_open], piece[is_open]
        bands = shapes.polygons(strip_corners(start_xy_m[piece], end_xy_m[piece], rules.width_m))
        barred[piece[_are_too_near(obstacles, obstacle, bands)]] = True
    return barred


def _are_too_near(
    obstacles: Obstacles, chosen: NDArray[np.int64], bands: NDArray[np.object_]
) -> NDArray[np.bool_]:
    """Return whether each band touches its obstacle, or comes nearer than its clearance."""
    is_near = shapely.intersects(obstacles.geometry[chosen], bands)
    is_wide = (obstacles.clearance_m[chosen] > 0.0) & ~is_near
    is_near[is_wide] = obstacles.are_too_near(chosen[is_wide], bands[is_wide])
    return np.asarray(is_near, dtype=np.bool_)


def _is_too_flat(
    start_xy_m: NDArray[np.float64],
    end_xy_m: NDArray[np.float64],
    piece: NDArray[np.int64],
    segment: NDArray[np.int64],
    rules: BandRules,
) -> NDArray[np.bool_]:
    """Return of each pair of piece and segment whether their angle is below the least one."""
    along, across = end_xy_m[piece] - start_xy_m[piece], rules.tangent[segment]
    sine = np.abs(along[:, 0] * across[:, 1] - along[:, 1] * across[:, 0])
    is_flat: NDArray[np.bool_] = sine < rules.sin_least[segment] * np.hypot(along[:, 0], along[:, 1])
    return is_flat


def strip_corners(
    start_xy_m: NDArray[np.float64], end_xy_m: NDArray[np.float64], width_m: float
) -> NDArray[np.float64]:
    """Return the corners of the strips of straight pieces, ends cut off square.

    Parameters
    ----------
    start_xy_m, end_xy_m : ndarray of shape (n, 2)
    width_m : float

    Returns
    -------
    ndarray of shape (n, 4, 2)
    """
    along = end_xy_m - start_xy_m
    side = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.hypot(along[:, 0], along[:, 1])[:, None]
    half = side * width_m / 2.0
    return np.stack([start_xy_m - half, start_xy_m + half, end_xy_m + half, end_xy_m - half], axis=1)
