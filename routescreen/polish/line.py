"""The alignment while it is polished: vertices, what lies between them, which of them may move.

Room: ``polish``. Pure arrays.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from routescreen.plan import Plan

AT_M = 1e-6  # nearer than this two places are one
STRAIGHT_M = 1e-6  # a vertex this near the line through its neighbours is left out


@dataclass(frozen=True, slots=True)
class Line:
    """An alignment of n vertices.

    `xy_m` (n, 2); `is_drive`, `is_narrow` (n - 1,) of the pieces between; `is_fixed` (n,) vertices that
    stay: terminals, shafts, places to pass.
    """

    xy_m: NDArray[np.float64]
    is_drive: NDArray[np.bool_]
    is_narrow: NDArray[np.bool_]
    is_fixed: NDArray[np.bool_]

    def pieces(self) -> NDArray[np.float64]:
        """Return the pieces, shape (n - 1, 4): x1, y1, x2, y2 [m]."""
        return np.concatenate([self.xy_m[:-1], self.xy_m[1:]], axis=1)

    def lengths_m(self) -> NDArray[np.float64]:
        """Return the length of each piece [m]."""
        return np.asarray(np.hypot(*np.diff(self.xy_m, axis=0).T))


def line_of(plan: Plan, stays_xy_m: NDArray[np.float64]) -> Line:
    """Return a plan's alignment.

    Parameters
    ----------
    plan : Plan
    stays_xy_m : ndarray of shape (n, 2)
        Places to pass; each that lies on a piece of open cut becomes a vertex of its own.
    """
    n = len(plan.alignment_xy_m)
    is_fixed = np.zeros(n, np.bool_)
    is_fixed[[0, -1]] = True
    is_fixed[:-1] |= plan.is_drive
    is_fixed[1:] |= plan.is_drive
    line = Line(plan.alignment_xy_m, plan.is_drive, plan.is_narrow, is_fixed)
    for place in stays_xy_m:
        line = _with_place(line, place)
    return line


def _with_place(line: Line, place_m: NDArray[np.float64]) -> Line:
    """Return a line with a vertex that stays at a place, if its open cut passes there."""
    start, along = line.xy_m[:-1], np.diff(line.xy_m, axis=0)
    length2 = np.maximum((along * along).sum(axis=1), AT_M**2)
    share = np.clip(((place_m - start) * along).sum(axis=1) / length2, 0.0, 1.0)
    away_m = np.hypot(*(start + share[:, None] * along - place_m).T)
    found = np.flatnonzero((away_m < 1e-3) & ~line.is_drive)
    if len(found) == 0:
        return line
    piece = int(found[0])
    to_ends_m = np.hypot(*(line.xy_m[[piece, piece + 1]] - place_m).T)
    if to_ends_m.min() < 1e-3:
        is_fixed = line.is_fixed.copy()
        is_fixed[piece + int(np.argmin(to_ends_m))] = True
        return Line(line.xy_m, line.is_drive, line.is_narrow, is_fixed)
    return Line(
        np.insert(line.xy_m, piece + 1, place_m, axis=0),
        np.insert(line.is_drive, piece, line.is_drive[piece]),
        np.insert(line.is_narrow, piece, line.is_narrow[piece]),
        np.insert(line.is_fixed, piece + 1, True),
    )


def subdivided(
    line: Line, spacing_m: float, is_near_building: Callable[[NDArray[np.float64]], NDArray[np.bool_]]
) -> Line:
    """Return a line with vertices at most so far apart in open cut, the new ones free to move.

    With the narrow strip only near buildings: there alone a piece of it may begin or end.
    """
    count = np.maximum(np.ceil(line.lengths_m() / spacing_m - 1e-9), 1.0).astype(np.int64)
    count[line.is_drive] = 1
    piece = np.repeat(np.arange(len(count)), count)
    first = np.cumsum(count) - count
    share = (np.arange(len(piece)) - first[piece]) / count[piece]
    xy_m = line.xy_m[piece] + share[:, None] * np.diff(line.xy_m, axis=0)[piece]
    is_kept = (share == 0.0) | ~line.is_narrow[piece]
    is_kept[~is_kept] = is_near_building(xy_m[~is_kept])
    piece, share, xy_m = piece[is_kept], share[is_kept], xy_m[is_kept]
    return Line(
        np.concatenate([xy_m, line.xy_m[-1:]]),
        line.is_drive[piece],
        line.is_narrow[piece],
        np.append(np.where(share == 0.0, line.is_fixed[piece], False), line.is_fixed[-1]),
    )


def taken(line: Line, keep: NDArray[np.int64], is_narrow: NDArray[np.bool_]) -> Line:
    """Return the line straight from each kept vertex to the next; the first and the last must be kept."""
    return Line(line.xy_m[keep], line.is_drive[keep[:-1]], is_narrow, line.is_fixed[keep])


def without_straight(line: Line) -> Line:
    """Return the line without free vertices where nothing changes: neither direction nor strip."""
    keep = [0]
    for at in range(1, len(line.xy_m) - 1):
        is_same = line.is_narrow[at - 1] == line.is_narrow[at] and not line.is_fixed[at]
        if not (is_same and _is_straight(line.xy_m[keep[-1]], line.xy_m[at], line.xy_m[at + 1])):
            keep.append(at)
    keep.append(len(line.xy_m) - 1)
    kept = np.array(keep)
    return taken(line, kept, line.is_narrow[kept[:-1]])


def _is_straight(a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64]) -> bool:
    """Return whether b lies on the line from a to c."""
    (ux, uy), (vx, vy) = b - a, c - a
    return bool(abs(ux * vy - uy * vx) <= STRAIGHT_M * max(1.0, float(np.hypot(vx, vy))))
