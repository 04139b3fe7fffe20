"""Ground investigation: where boreholes stand along a drive, how deep, how far off the line.

Room: ``engineering``. Pure arrays in SI units. Distances are those of a screening: what the ground shows
changes the plan.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

_ROUNDING_M = 1e-9


@dataclass(frozen=True, slots=True)
class Stretches:
    """Crossings near which boreholes stand closer, e.g. rivers and railways.

    Attributes
    ----------
    from_m, to_m : ndarray of float64, shape (n,)
        Chainages of their edges, growing, not overlapping [m].
    spacing_m : ndarray of float64, shape (n,)
        Greatest distance of neighbouring boreholes that have a part of the crossing between them [m].

    Raises
    ------
    ValueError
        If the crossings overlap or aren't in order, or a distance is 0.
    """

    from_m: Array
    to_m: Array
    spacing_m: Array

    def __post_init__(self) -> None:
        positive("the distance of boreholes", self.spacing_m)
        edges = np.column_stack([self.from_m, self.to_m]).ravel()
        if np.any(np.diff(edges) < 0.0):
            raise ValueError("crossings must be in order and must not overlap")


NO_STRETCHES = Stretches(np.empty(0), np.empty(0), np.empty(0))


def most_gap_m(
    from_m: ArrayLike, to_m: ArrayLike, spacing_m: float, stretches: Stretches = NO_STRETCHES
) -> Array:
    """Greatest distance that two neighbouring boreholes may have, at their places [m].

    Parameters
    ----------
    from_m, to_m : array_like of shape (...)
        Chainages of the two [m].
    spacing_m : float
        Where no crossing lies between them: 100 (common practice, no source), in any case 20 to 200 on
        linear works (EN 1997-2, annex B) [m].
    stretches : Stretches

    Returns
    -------
    ndarray of float64, shape (...)
    """
    start, end = np.asarray(from_m, dtype=np.float64), np.asarray(to_m, dtype=np.float64)
    most = np.full(np.broadcast(start, end).shape, float(positive("the distance", spacing_m)))
    for edge_m, far_m, close_m in zip(stretches.from_m, stretches.to_m, stretches.spacing_m, strict=True):
        between = (start < far_m) & (end > edge_m)
        most = np.where(between, np.minimum(most, close_m), most)
    return most


def spacing_utilisation(
    borehole_m: ArrayLike, spacing_m: float, stretches: Stretches = NO_STRETCHES
) -> Array:
    """Distance of neighbouring boreholes over the greatest allowed: above 1 one is missing [-].

    Parameters
    ----------
    borehole_m : array_like of shape (n,)
        Chainages, growing [m].
    spacing_m, stretches
        See `most_gap_m`.

    Returns
    -------
    ndarray of float64, shape (n - 1,)
    """
    at = np.asarray(borehole_m, dtype=np.float64)
    return np.asarray(np.diff(at) / most_gap_m(at[:-1], at[1:], spacing_m, stretches))


def borehole_chainages_m(
    shaft_m: ArrayLike, spacing_m: float, stretches: Stretches = NO_STRETCHES, *, clear_m: float = 0.0
) -> Array:
    """Place as few boreholes as keep the distances: one at each shaft, the others between them.

    Parameters
    ----------
    shaft_m : array_like of shape (n_shafts,)
        Chainages of the shafts, growing [m].
    spacing_m, stretches
        See `most_gap_m`.
    clear_m : float
        Kept from the edges of crossings; a borehole stands inside a crossing only where it is wider than
        its boreholes may be apart, and then needs a pontoon or a possession [m].

    Returns
    -------
    ndarray of float64
        Chainages, growing [m].

    Raises
    ------
    ValueError
        If the shafts are fewer than two or don't grow.

    Notes
    -----
    From each borehole the next one stands as far on as it may. Where that would be in a crossing, it
    stands before the crossing instead, unless the crossing is too wide for that.
    """
    shafts = np.asarray(shaft_m, dtype=np.float64)
    if shafts.ndim != 1 or shafts.size < 2 or np.any(np.diff(shafts) <= 0.0):
        raise ValueError("the shafts must be two or more, and grow")
    clear = float(not_negative("the clearance", clear_m))
    wide = Stretches(stretches.from_m - clear, stretches.to_m + clear, stretches.spacing_m)
    placed = [float(shafts[0])]
    for shaft in shafts[1:]:
        while placed[-1] < shaft - _ROUNDING_M:
            placed.append(_next_m(placed[-1], float(shaft), spacing_m, wide))
    return np.array(placed)


def _next_m(at_m: float, shaft_m: float, spacing_m: float, stretches: Stretches) -> float:
    """Farthest place of the next borehole, the next shaft at most."""
    farthest = at_m + float(positive("the distance", spacing_m))
    for edge_m, far_m, close_m in zip(stretches.from_m, stretches.to_m, stretches.spacing_m, strict=True):
        if far_m <= at_m + _ROUNDING_M or edge_m >= min(farthest, shaft_m):
            continue
        reach = min(farthest, at_m + float(close_m))
        if reach < min(far_m, shaft_m):
            # It can't be passed: stand before it, or inside where this borehole is at its edge already.
            return float(edge_m) if edge_m > at_m + _ROUNDING_M else reach
        farthest = reach
    return min(farthest, shaft_m)


def is_inside(borehole_m: ArrayLike, stretches: Stretches) -> NDArray[np.bool_]:
    """Whether boreholes stand inside a crossing.

    Parameters
    ----------
    borehole_m : array_like of shape (n,)
        [m]
    stretches : Stretches
    """
    at = np.asarray(borehole_m, dtype=np.float64)[..., np.newaxis]
    return np.asarray(np.any((at > stretches.from_m) & (at < stretches.to_m), axis=-1))


def drive_borehole_depth_m(
    invert_depth_m: ArrayLike, bore_diameter_m: ArrayLike, *, least_m: float, diameters: float
) -> Array:
    """Depth of a borehole beside a drive or a trench [m].

    Parameters
    ----------
    invert_depth_m : array_like
        Of the bore's invert, or of the trench's bottom, below ground [m].
    bore_diameter_m : array_like
        Or the width of the trench [m].
    least_m, diameters : float
        Below it 2 m and 1.5 times the width (EN 1997-2, annex B.3) [m], [-].
    """
    below = np.maximum(least_m, diameters * positive("the diameter", bore_diameter_m))
    return np.asarray(not_negative("the invert's depth", invert_depth_m) + below)


def shaft_borehole_depth_m(
    shaft_depth_m: ArrayLike, embedment_m: ArrayLike, head_m: ArrayLike, *, extra_m: float, share: float
) -> Array:
    """Depth of a borehole at a shaft [m].

    Parameters
    ----------
    shaft_depth_m, embedment_m : array_like
        Depth of the base, wall below it [m].
    head_m : array_like
        Groundwater above the base; 0 and below in dry ground [m].
    extra_m, share : float
        2.0 and 0.4 [m], [-].

    Notes
    -----
    Base + z with z >= 0.4 h and t + 2 in dry ground; z >= H + 2 and t + 2 below groundwater, where 0.4 h is
    kept too, since H may be small.

    References
    ----------
    EN 1997-2, annex B.3.
    """
    depth, wall = not_negative("the depth", shaft_depth_m), not_negative("the wall", embedment_m)
    below = np.maximum(share * depth, wall + extra_m)
    head = np.asarray(head_m, dtype=np.float64)
    return np.asarray(depth + np.where(head > 0.0, np.maximum(below, head + extra_m), below))


def beside_line_m(borehole_m: ArrayLike, line_xy_m: ArrayLike, offset_m: float) -> NDArray[np.float64]:
    """Coordinates of boreholes beside a line, on alternate sides of it.

    Parameters
    ----------
    borehole_m : array_like of shape (n,)
        Chainages along the line from its start [m].
    line_xy_m : array_like of shape (n_points, 2)
        Corners of the line, no two neighbours alike [m].
    offset_m : float
        5.0, and grouted afterwards, so that no borehole opens a way into the bore (common practice, no
        source) [m].

    Returns
    -------
    ndarray of float64, shape (n, 2)
        The first to the right, seen up-chainage [m].

    Raises
    ------
    ValueError
        If the line has fewer than two different points or a chainage lies off it.
    """
    line, at = np.asarray(line_xy_m, dtype=np.float64), np.asarray(borehole_m, dtype=np.float64)
    legs = np.diff(line, axis=0)
    lengths = np.hypot(legs[:, 0], legs[:, 1])
    if lengths.size == 0 or np.any(lengths <= 0.0):
        raise ValueError("the line must have two or more points, no two neighbours alike")
    starts = np.concatenate([[0.0], np.cumsum(lengths)])
    if np.any((at < 0.0) | (at > starts[-1] * (1.0 + 1e-9))):
        raise ValueError("chainages must lie on the line")
    leg = np.clip(np.searchsorted(starts, at, side="right") - 1, 0, lengths.size - 1)
    along = legs[leg] / lengths[leg, np.newaxis]
    side = np.where(np.arange(at.size) % 2 == 0, offset_m, -offset_m)[:, np.newaxis]
    right = np.column_stack([along[:, 1], -along[:, 0]])
    return np.asarray(line[leg] + along * (at - starts[leg])[:, np.newaxis] + side * right)
