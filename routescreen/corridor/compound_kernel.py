"""Which compounds have a place clear of all barred land: rectangles against edges, compiled.

Room: ``corridor``. Pure arrays. A rectangle is clear where no edge meets it; barred land that could hold a
whole rectangle must be hatched with further edges, so that no rectangle can lie inside unseen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from routescreen.compiled import compiled, no_literal

if TYPE_CHECKING:
    from numpy.typing import NDArray


class EdgeGrid(NamedTuple):
    """Edges of barred land by square buckets, each in that of its middle.

    `edge_m` (n, 4) x1, y1, x2, y2 in order of the buckets; `start` (nx * ny + 1,) the first edge of each;
    `west_m`, `south_m` the grid's corner; `bucket_m` its spacing, no edge being longer.
    """

    edge_m: NDArray[np.float64]
    start: NDArray[np.int64]
    west_m: float
    south_m: float
    bucket_m: float
    n_across: int
    n_up: int


class SweptPlaces(NamedTuple):
    """All places of all compounds: k places, those of one side in a row; ns sizes; nb heading bins.

    `out` (k, 2) cosine and sine of the direction out, against the axis to the right; `swept_m`
    (k, ns, nb, 4) the rectangle of each: near, far, left, right; `hull_m`, `core_m` (k, ns, 4) what holds all
    bins' rectangles and what all of them hold, `hulls_m`, `cores_m` (k, 4) the same over all sizes. `reach_m`
    is the farthest corner of all.
    """

    out: NDArray[np.float64]
    swept_m: NDArray[np.float64]
    hull_m: NDArray[np.float64]
    core_m: NDArray[np.float64]
    hulls_m: NDArray[np.float64]
    cores_m: NDArray[np.float64]
    reach_m: float


@compiled
def meeting(edges: NDArray[np.float64], n: int, last: int, rectangle: NDArray[np.float64]) -> int:
    """Return the number of an edge that meets a rectangle, `last` being asked first; -1 where none does."""
    if rectangle[0] > rectangle[1] or rectangle[2] > rectangle[3]:
        return -1
    if 0 <= last < n and meets(edges[last], rectangle):
        return last
    for k in range(n):
        if meets(edges[k], rectangle):
            return k
    return -1


@compiled
def meets(edge: NDArray[np.float64], rectangle: NDArray[np.float64]) -> bool:
    """Return whether a straight edge meets a rectangle: near, far, left, right."""
    x1, y1, x2, y2 = edge[0], edge[1], edge[2], edge[3]
    near, far, left, right = rectangle[0], rectangle[1], rectangle[2], rectangle[3]
    if max(x1, x2) < near or min(x1, x2) > far or max(y1, y2) < left or min(y1, y2) > right:
        return False
    # both boxes overlap: apart only if all four corners lie on one side of the edge's line
    dx, dy = x2 - x1, y2 - y1
    a, b = dx * (left - y1) - dy * (near - x1), dx * (left - y1) - dy * (far - x1)
    c, d = dx * (right - y1) - dy * (near - x1), dx * (right - y1) - dy * (far - x1)
    return bool(min(min(a, b), min(c, d)) <= 0.0 <= max(max(a, b), max(c, d)))


@compiled
def gather(
    grid: EdgeGrid, x: float, y: float, tx: float, ty: float, reach_m: float, found: NDArray[np.float64]
) -> int:
    """Write the edges near a node along and to the right of the axis there; return how many."""
    wide_m = reach_m + 0.5 * grid.bucket_m
    first_across = max(int((x - wide_m - grid.west_m) // grid.bucket_m), 0)
    last_across = min(int((x + wide_m - grid.west_m) // grid.bucket_m), grid.n_across - 1)
    first_up = max(int((y - wide_m - grid.south_m) // grid.bucket_m), 0)
    last_up = min(int((y + wide_m - grid.south_m) // grid.bucket_m), grid.n_up - 1)
    n = 0
    for up in range(first_up, last_up + 1):
        low = grid.start[up * grid.n_across + first_across]
        high = grid.start[up * grid.n_across + last_across + 1]
        for k in range(low, high):
            x1, y1 = grid.edge_m[k, 0] - x, grid.edge_m[k, 1] - y
            x2, y2 = grid.edge_m[k, 2] - x, grid.edge_m[k, 3] - y
            if max(x1, x2) < -reach_m or min(x1, x2) > reach_m:
                continue
            if max(y1, y2) < -reach_m or min(y1, y2) > reach_m:
                continue
            if n < found.shape[0]:
                found[n, 0], found[n, 1] = x1 * tx + y1 * ty, x1 * ty - y1 * tx
                found[n, 2], found[n, 3] = x2 * tx + y2 * ty, x2 * ty - y2 * tx
            n += 1
    return n


@compiled
def turn(
    edges: NDArray[np.float64], n: int, cos: float, sin: float, far: float, turned: NDArray[np.float64]
) -> int:
    """Write the edges ahead of a node as seen towards one side of it; return how many."""
    count = 0
    for k in range(n):
        x1, x2 = edges[k, 0] * cos + edges[k, 1] * sin, edges[k, 2] * cos + edges[k, 3] * sin
        if (x1 < 0.0 and x2 < 0.0) or (x1 > far and x2 > far):
            continue
        turned[count, 0], turned[count, 2] = x1, x2
        turned[count, 1] = edges[k, 1] * cos - edges[k, 0] * sin
        turned[count, 3] = edges[k, 3] * cos - edges[k, 2] * sin
        count += 1
    return count


@compiled
def try_place(
    edges: NDArray[np.float64],
    n: int,
    last: int,
    p: SweptPlaces,
    place: int,
    asked: NDArray[np.bool_],
    free: NDArray[np.bool_],
) -> int:
    """Mark what has this place free; return the edge to ask first at the next place."""
    hit = meeting(edges, n, last, p.hulls_m[place])
    if hit < 0:
        for size in range(asked.shape[0]):
            for b in range(asked.shape[1]):  # a slice assigned would cost seconds to compile
                free[size, b] = asked[size, b]
        return last
    core_hit = meeting(edges, n, hit, p.cores_m[place])
    if core_hit >= 0:
        return core_hit
    for size in range(asked.shape[0]):
        hit = try_size(edges, n, hit, p, place, size, asked[size], free[size])
    return hit


@compiled
def try_size(
    edges: NDArray[np.float64],
    n: int,
    last: int,
    p: SweptPlaces,
    place: int,
    size: int,
    asked: NDArray[np.bool_],
    free: NDArray[np.bool_],
) -> int:
    """Mark at which headings one compound has this place free; return the edge to ask first next."""
    if free.sum() == asked.sum():
        return last
    hit = meeting(edges, n, last, p.core_m[place, size])
    if hit >= 0:
        return hit
    is_all_free = meeting(edges, n, last, p.hull_m[place, size]) < 0
    for b in range(asked.shape[0]):
        if asked[b] and not free[b]:
            free[b] = is_all_free or meeting(edges, n, last, p.swept_m[place, size, b]) < 0
    return last


@compiled
def free_compounds(
    node_m: NDArray[np.float64],
    tangent: NDArray[np.float64],
    asked: NDArray[np.bool_],
    grid: EdgeGrid,
    p: SweptPlaces,
) -> NDArray[np.bool_]:
    """Return which compounds have a free place at each node.

    Parameters
    ----------
    node_m, tangent : ndarray of shape (n, 2)
        Nodes and unit vectors of the axis there [m].
    asked : ndarray of bool, shape (n, ns, nb)
        Which are asked for; the others are not free.
    grid : EdgeGrid
    p : SweptPlaces

    Returns
    -------
    ndarray of bool, shape (n, ns, nb)
    """
    free, no_edge = np.zeros(asked.shape, np.bool_), no_literal(-1)
    found, turned = np.empty((1024, 4)), np.empty((1024, 4))
    for node in range(node_m.shape[0]):
        x, y, tx, ty = node_m[node, 0], node_m[node, 1], tangent[node, 0], tangent[node, 1]
        n = gather(grid, x, y, tx, ty, p.reach_m, found)
        if n > found.shape[0]:
            found, turned = np.empty((2 * n, 4)), np.empty((2 * n, 4))
            n = gather(grid, x, y, tx, ty, p.reach_m, found)
        n_asked = asked[node].sum()
        n_turned, last = 0, no_edge
        for place in range(p.out.shape[0]):
            cos, sin = p.out[place, 0], p.out[place, 1]
            if place == 0 or cos != p.out[place - 1, 0] or sin != p.out[place - 1, 1]:
                n_turned, last = turn(found, n, cos, sin, p.reach_m, turned), no_edge
            last = try_place(turned, n_turned, last, p, place, asked[node], free[node])
            if free[node].sum() == n_asked:
                break
    return free
