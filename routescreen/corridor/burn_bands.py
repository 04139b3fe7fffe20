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
from routescreen.corridor.obstacles import Obstacles, bounds_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.corridor.burn_segments import Segments

# A segment holds the direction at its middle, the line may turn within it: so much more than the least
# angle is asked of a band, lest a plan stand on the last fraction of a degree [deg].
_TURN_WITHIN_DEG = 1.0
_SLACK_M = 1e-3  # more than all rounding: candidates are found this much further off, then tested exactly


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
    along_xy_m : ndarray of shape (n, 2, 2)
        Both ends of each of those [m].
    tangent : ndarray of shape (n, 2)
        Direction of each of those.
    sin_least : ndarray of shape (n,)
        Sine of the least angle [-].
    untouched_around : Obstacles
        Areas that find the pieces near each of `untouched`.
    along_boxes : ndarray of object, shape (n,)
        Boxes round each of `along` that all bands meet which come too near.
    """

    width_m: float
    untouched: Obstacles
    along: Obstacles
    along_xy_m: NDArray[np.float64]
    tangent: NDArray[np.float64]
    sin_least: NDArray[np.float64]
    untouched_around: Obstacles
    along_boxes: NDArray[np.object_]


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
    along = Obstacles.of(segments.lines(), clearance_m)
    reach_m = clearance_m + (width_m / 2.0 + _SLACK_M)
    west, south, east, north = shapely.bounds(along.geometry).reshape(-1, 4).T
    return BandRules(
        width_m,
        untouched,
        along,
        shapely.get_coordinates(along.geometry).reshape(-1, 2, 2),
        segments.tangent,
        np.sin(np.minimum(least_rad, math.pi / 2.0)),
        untouched.roomy(width_m / 2.0),
        shapely.box(west - reach_m, south - reach_m, east + reach_m, north + reach_m),
    )


def barred_bands(
    start_xy_m: NDArray[np.float64],
    end_xy_m: NDArray[np.float64],
    lines: shapely.STRtree,
    rules: BandRules,
    *,
    which: NDArray[np.bool_],
) -> NDArray[np.bool_]:
    """Return which of some straight pieces have a band where no trench may lie.

    Parameters
    ----------
    start_xy_m, end_xy_m : ndarray of shape (n, 2)
    lines : STRtree
        The pieces as LineStrings.
    rules : BandRules
    which : ndarray of bool, shape (n,)
        The pieces to judge.

    Returns
    -------
    ndarray of bool, shape (n,)
        False for the others.
    """
    barred = np.zeros(len(start_xy_m), dtype=np.bool_)
    ends = start_xy_m, end_xy_m
    bounds_m = bounds_of(np.stack(ends))
    # a band lies within half its width of its line: most moves are far from everything
    obstacle, piece = rules.untouched_around.too_near(lines, rules.untouched_around.near(bounds_m))
    is_open = which[piece]
    _bar(barred, ends, rules, rules.untouched, (obstacle[is_open], piece[is_open]))
    near = rules.along.near(bounds_m, rules.width_m)
    place, piece = lines.query(rules.along_boxes[near])
    is_open = which[piece] & ~barred[piece]
    segment, piece = near[place[is_open]], piece[is_open]
    is_flat = _is_too_flat(start_xy_m, end_xy_m, piece, segment, rules)
    for pairs in _by_nearness(ends, (segment[is_flat], piece[is_flat]), rules):
        is_open = ~barred[pairs[1]]
        _bar(barred, ends, rules, rules.along, (pairs[0][is_open], pairs[1][is_open]))
    return barred


def _bar(
    barred: NDArray[np.bool_],
    ends: tuple[NDArray[np.float64], NDArray[np.float64]],
    rules: BandRules,
    obstacles: Obstacles,
    pairs: tuple[NDArray[np.int64], NDArray[np.int64]],
) -> None:
    """Bar the pieces of pairs (obstacle, piece) whose band touches the obstacle or comes too near."""
    obstacle, piece = pairs
    bands = shapes.polygons(strip_corners(ends[0][piece], ends[1][piece], rules.width_m))
    barred[piece[_are_too_near(obstacles, obstacle, bands)]] = True


def _by_nearness(
    ends: tuple[NDArray[np.float64], NDArray[np.float64]],
    pairs: tuple[NDArray[np.int64], NDArray[np.int64]],
    rules: BandRules,
) -> list[tuple[NDArray[np.int64], NDArray[np.int64]]]:
    """Return the pairs (segment, piece) that may be too near: for each piece the nearest, then the rest.

    Most of what is barred at all is so by its nearest segment, and need not be tested again.
    """
    segment, piece = pairs
    xy = rules.along_xy_m
    spare_m = _distance_m(ends[0][piece], ends[1][piece], xy[segment, 0], xy[segment, 1])
    spare_m -= rules.along.clearance_m[segment]
    near = np.flatnonzero(spare_m <= rules.width_m / 2.0 + _SLACK_M)
    near = near[np.argsort(spare_m[near])]
    _, first = np.unique(piece[near], return_index=True)
    is_first = np.zeros(len(near), dtype=np.bool_)
    is_first[first] = True
    return [(segment[near[part]], piece[near[part]]) for part in (is_first, ~is_first)]


def _distance_m(
    start: NDArray[np.float64],
    end: NDArray[np.float64],
    other_start: NDArray[np.float64],
    other_end: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the distances of straight lines from others, all of shape (n, 2), but for rounding [m]."""
    sides = [_turn(start, end, other_start), _turn(start, end, other_end)]
    other_sides = [_turn(other_start, other_end, start), _turn(other_start, other_end, end)]
    crosses = (sides[0] * sides[1] <= 0.0) & (other_sides[0] * other_sides[1] <= 0.0)
    away_m = np.minimum(
        np.minimum(_away_m(start, other_start, other_end), _away_m(end, other_start, other_end)),
        np.minimum(_away_m(other_start, start, end), _away_m(other_end, start, end)),
    )
    return np.where(crosses, 0.0, away_m)


def _turn(
    start: NDArray[np.float64], end: NDArray[np.float64], point: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return twice the signed area of the triangles of lines and points [m2]."""
    along, away = end - start, point - start
    return np.asarray(along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0])


def _away_m(
    point: NDArray[np.float64], start: NDArray[np.float64], end: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the distance of points from straight lines [m]."""
    along, away = end - start, point - start
    length2 = np.maximum(along[:, 0] ** 2 + along[:, 1] ** 2, 1e-300)
    share = np.clip((away[:, 0] * along[:, 0] + away[:, 1] * along[:, 1]) / length2, 0.0, 1.0)
    return np.hypot(away[:, 0] - share * along[:, 0], away[:, 1] - share * along[:, 1])


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
