"""Which straight pieces come near to edges, told at once where it is clear, compiled.

Room: ``corridor``. Pure arrays. A piece is a line, or the strip round it with ends cut off square; an edge is
near where it comes within its limit of that, with a limit of 0 where it touches. What rounding could turn is
called unsure and is for exact predicates to say.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from routescreen.compiled import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

SURE_M = 1e-6  # nearer than that to its limit nothing is told: far above the noise of metres in millions
FAR, NEAR, UNSURE = 0, 1, 2


class EdgeBuckets(NamedTuple):
    """Edges in square buckets, each in all that it passes through; n edges.

    Attributes
    ----------
    edge_m : ndarray of shape (n, 4)
        x1, y1, x2, y2 [m].
    owner : ndarray of int64, shape (n,)
        The obstacle that each is part of.
    limit_m : ndarray of shape (n,)
        How near pieces may come [m].
    tangent : ndarray of shape (n, 2) or (0, 2)
        Direction of the line that the edge is part of; with it, only pieces that meet it too flat are near.
    sin_least : ndarray of shape (n,) or (0,)
        Sine of the angle below which that is so.
    start, item : ndarray of int64
        ``item[start[c]:start[c + 1]]`` are the edges in bucket c.
    west_m, south_m, bucket_m : float
        Corner and spacing of the buckets [m].
    n_across, n_up : int
    reach_m : float
        The largest limit [m].
    """

    edge_m: NDArray[np.float64]
    owner: NDArray[np.int64]
    limit_m: NDArray[np.float64]
    tangent: NDArray[np.float64]
    sin_least: NDArray[np.float64]
    start: NDArray[np.int64]
    item: NDArray[np.int64]
    west_m: float
    south_m: float
    bucket_m: float
    n_across: int
    n_up: int
    reach_m: float


@compiled
def passes(a1: float, b1: float, a2: float, b2: float, low: float, high: float, half: float) -> bool:
    """Return whether an edge meets the rectangle from `low` to `high` along and `half` to each side."""
    if low > high or half < 0.0:
        return False
    first, last = 0.0, 1.0
    da, db = a2 - a1, b2 - b1
    if da == 0.0:
        if a1 < low or a1 > high:
            return False
    else:
        t1, t2 = (low - a1) / da, (high - a1) / da
        first, last = max(first, min(t1, t2)), min(last, max(t1, t2))
    if db == 0.0:
        if b1 < -half or b1 > half:
            return False
    else:
        t1, t2 = (-half - b1) / db, (half - b1) / db
        first, last = max(first, min(t1, t2)), min(last, max(t1, t2))
    return first <= last


@compiled
def point_to_edge2(a: float, b: float, a1: float, b1: float, a2: float, b2: float) -> float:
    """Return the squared distance of a point from an edge [m2]."""
    da, db = a2 - a1, b2 - b1
    length2 = da * da + db * db
    share = 0.0
    if length2 > 0.0:
        share = min(max(((a - a1) * da + (b - b1) * db) / length2, 0.0), 1.0)
    return (a - a1 - share * da) ** 2 + (b - b1 - share * db) ** 2


@compiled
def point_to_strip2(a: float, b: float, length: float, half: float) -> float:
    """Return the squared distance of a point from a strip, 0 inside [m2]."""
    along = max(max(-a, a - length), 0.0)
    across = max(abs(b) - half, 0.0)
    return along * along + across * across


@compiled
def strip_to_edge_m(a1: float, b1: float, a2: float, b2: float, length: float, half: float) -> float:
    """Return the distance of an edge from a strip that it doesn't pass through [m]."""
    gap2 = min(point_to_strip2(a1, b1, length, half), point_to_strip2(a2, b2, length, half))
    for corner in range(4):
        a, b = (0.0 if corner < 2 else length), (half if corner % 2 == 0 else -half)
        gap2 = min(gap2, point_to_edge2(a, b, a1, b1, a2, b2))
    return math.sqrt(gap2)


@compiled
def crosses_line(a1: float, b1: float, a2: float, b2: float, length: float) -> bool:
    """Return whether an edge surely crosses the line from 0 to `length`: all ends well to both sides."""
    if not ((b1 > SURE_M and b2 < -SURE_M) or (b1 < -SURE_M and b2 > SURE_M)):
        return False
    da, db = a2 - a1, b2 - b1
    wide = SURE_M * math.sqrt(da * da + db * db)
    begin, end = db * a1 - da * b1, db * (a1 - length) - da * b1
    return (begin > wide and end < -wide) or (begin < -wide and end > wide)


@compiled
def relation(a1: float, b1: float, a2: float, b2: float, length: float, half: float, limit: float) -> int:
    """Return whether an edge, as seen from the piece's start along it, is far, near or unsure."""
    beyond, beside = limit + SURE_M, half + limit + SURE_M
    if max(a1, a2) < -beyond or min(a1, a2) > length + beyond:
        return FAR
    if max(b1, b2) < -beside or min(b1, b2) > beside:
        return FAR
    if half > 0.0:
        if passes(a1, b1, a2, b2, SURE_M, length - SURE_M, half - SURE_M):
            return NEAR
    elif crosses_line(a1, b1, a2, b2, length):
        return NEAR
    if limit <= 0.0:
        return UNSURE if passes(a1, b1, a2, b2, -SURE_M, length + SURE_M, half + SURE_M) else FAR
    gap_m = strip_to_edge_m(a1, b1, a2, b2, length, half)
    if gap_m < limit - SURE_M:
        return NEAR
    return UNSURE if gap_m <= limit + SURE_M else FAR


@compiled
def edge_relation(
    e: EdgeBuckets, k: int, x: float, y: float, dx: float, dy: float, length: float, half: float
) -> int:
    """Return whether an edge is far from, near to, or unsure for a piece that starts at x, y."""
    if e.sin_least.shape[0] > 0:
        sine = abs(dx * e.tangent[k, 1] - dy * e.tangent[k, 0])
        if sine >= e.sin_least[k] * length:
            # what rounding could turn is left to the exact test
            if sine > e.sin_least[k] * length * (1.0 + 1e-12):
                return FAR
            is_flat = False
        else:
            is_flat = sine < e.sin_least[k] * length * (1.0 - 1e-12)
    else:
        is_flat = True
    ux, uy = dx / length, dy / length
    x1, y1 = e.edge_m[k, 0] - x, e.edge_m[k, 1] - y
    x2, y2 = e.edge_m[k, 2] - x, e.edge_m[k, 3] - y
    found = relation(
        x1 * ux + y1 * uy,
        x1 * uy - y1 * ux,
        x2 * ux + y2 * uy,
        x2 * uy - y2 * ux,
        length,
        half,
        e.limit_m[k],
    )
    return found if is_flat or found == FAR else UNSURE


@compiled
def bucket_range(low: float, high: float, corner: float, bucket: float, n: int) -> tuple[int, int]:
    """Return the first and the last bucket that a stretch touches, within those that there are."""
    first = max(math.floor((low - corner) / bucket), 0)
    return first, min(math.floor((high - corner) / bucket), n - 1)


@compiled
def near_pieces(
    start_m: NDArray[np.float64],
    end_m: NDArray[np.float64],
    which: NDArray[np.bool_],
    half_m: float,
    e: EdgeBuckets,
) -> NDArray[np.int8]:
    """Return which of some pieces any edge is near to.

    Parameters
    ----------
    start_m, end_m : ndarray of shape (n, 2)
    which : ndarray of bool, shape (n,)
        The pieces to look at; the others count as far.
    half_m : float
        Half the width of the strips, 0 for lines [m].
    e : EdgeBuckets

    Returns
    -------
    ndarray of int8, shape (n,)
        `FAR`, `NEAR` or `UNSURE`.
    """
    n = start_m.shape[0]
    found = np.zeros(n, np.int8)
    wide = half_m + e.reach_m + 2.0 * SURE_M
    for p in range(n):
        if not which[p]:
            continue
        x, y = start_m[p, 0], start_m[p, 1]
        dx, dy = end_m[p, 0] - x, end_m[p, 1] - y
        length = math.hypot(dx, dy)
        if length <= 0.0:
            found[p] = UNSURE
            continue
        first_up, last_up = bucket_range(
            min(y, y + dy) - wide, max(y, y + dy) + wide, e.south_m, e.bucket_m, e.n_up
        )
        first, last = bucket_range(
            min(x, x + dx) - wide, max(x, x + dx) + wide, e.west_m, e.bucket_m, e.n_across
        )
        for up in range(first_up, last_up + 1):
            if first > last or found[p] == NEAR:
                break
            row = up * e.n_across
            for at in range(e.start[row + first], e.start[row + last + 1]):
                told = edge_relation(e, e.item[at], x, y, dx, dy, length, half_m)
                if told == NEAR:
                    found[p] = NEAR
                    break
                if told == UNSURE:
                    found[p] = UNSURE
    return found


@compiled
def met_pairs(
    start_m: NDArray[np.float64],
    end_m: NDArray[np.float64],
    e: EdgeBuckets,
    seen: NDArray[np.int64],
    is_unsure: NDArray[np.bool_],
    piece: NDArray[np.int64],
    owner: NDArray[np.int64],
) -> int:
    """Write the pairs of pieces, as lines, and the obstacles whose edges they surely cross.

    Parameters
    ----------
    start_m, end_m : ndarray of shape (n, 2)
    e : EdgeBuckets
    seen : ndarray of int64
        For each obstacle less than 0: of use to the function alone.
    is_unsure : ndarray of bool, shape (n,)
        Set where any edge is unsure.
    piece, owner : ndarray of int64
        Written as far as they reach.

    Returns
    -------
    int
        How many pairs there are.
    """
    n_found = 0
    for p in range(start_m.shape[0]):
        x, y = start_m[p, 0], start_m[p, 1]
        dx, dy = end_m[p, 0] - x, end_m[p, 1] - y
        length = math.hypot(dx, dy)
        if length <= 0.0:
            is_unsure[p] = True
            continue
        wide = 2.0 * SURE_M
        first_up, last_up = bucket_range(
            min(y, y + dy) - wide, max(y, y + dy) + wide, e.south_m, e.bucket_m, e.n_up
        )
        first, last = bucket_range(
            min(x, x + dx) - wide, max(x, x + dx) + wide, e.west_m, e.bucket_m, e.n_across
        )
        for up in range(first_up, last_up + 1):
            if first > last:
                break
            row = up * e.n_across
            for at in range(e.start[row + first], e.start[row + last + 1]):
                k = e.item[at]
                if seen[e.owner[k]] == p:
                    continue
                told = edge_relation(e, k, x, y, dx, dy, length, 0.0)
                if told == UNSURE:
                    is_unsure[p] = True
                elif told == NEAR:
                    seen[e.owner[k]] = p
                    if n_found < piece.shape[0]:
                        piece[n_found], owner[n_found] = p, e.owner[k]
                    n_found += 1
    return n_found


@compiled
def fill_buckets(
    edge_m: NDArray[np.float64],
    corner_m: NDArray[np.float64],
    bucket_m: float,
    shape: tuple[int, int],
    count: NDArray[np.int64],
    item: NDArray[np.int64],
) -> None:
    """Put edges into buckets, or count them where there is no room yet.

    `corner_m` (2,) west and south; `shape` buckets across and up; `count` (n buckets + 1,) where the next
    edge of each bucket goes, moved on; `item` the edges, of length 0 when they are to be counted.
    """
    n_across, n_up = shape
    for k in range(edge_m.shape[0]):
        x1, y1, x2, y2 = edge_m[k, 0], edge_m[k, 1], edge_m[k, 2], edge_m[k, 3]
        first_up, last_up = bucket_range(min(y1, y2), max(y1, y2), corner_m[1], bucket_m, n_up)
        for up in range(first_up, last_up + 1):
            # the part of the edge in this row of buckets, a little more than that
            low, high = min(x1, x2), max(x1, x2)
            if last_up > first_up:
                bottom = corner_m[1] + up * bucket_m
                t1, t2 = (bottom - y1) / (y2 - y1), (bottom + bucket_m - y1) / (y2 - y1)
                t1, t2 = min(max(t1, 0.0), 1.0), min(max(t2, 0.0), 1.0)
                at1, at2 = x1 + t1 * (x2 - x1), x1 + t2 * (x2 - x1)
                low, high = max(low, min(at1, at2) - SURE_M), min(high, max(at1, at2) + SURE_M)
            first, last = bucket_range(low, high, corner_m[0], bucket_m, n_across)
            for across in range(first, last + 1):
                cell = up * n_across + across
                if item.shape[0] > 0:
                    item[count[cell]] = k
                count[cell] += 1
