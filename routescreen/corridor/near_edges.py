"""Obstacles as edges in buckets, for telling at once which of very many straight pieces come near to them.

Room: ``corridor``. Geometry only; imports obstacles and the kernel.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor.near_kernel import SURE_M, EdgeBuckets, fill_buckets
from routescreen.corridor.obstacles import EXACT_M

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.corridor.obstacles import Obstacles


@dataclass(frozen=True, slots=True)
class NearEdges:
    """The edges of obstacles, in order of these; n obstacles, k edges.

    Attributes
    ----------
    obstacles : Obstacles
    edge_m : ndarray of shape (k, 4)
        x1, y1, x2, y2 [m].
    first : ndarray of int64, shape (n + 1,)
        Of the edges of each obstacle.
    limit_m : ndarray of shape (n,)
        How near works may come, 0: not touch [m].
    is_area : ndarray of bool, shape (n,)
        Which are no lines: works may lie inside, away from all edges.
    tangent, sin_least : ndarray of shape (n, 2) and (n,), or (0, 2) and (0,)
        See `EdgeBuckets`; here by obstacle.
    """

    obstacles: Obstacles
    edge_m: NDArray[np.float64]
    first: NDArray[np.int64]
    limit_m: NDArray[np.float64]
    is_area: NDArray[np.bool_]
    tangent: NDArray[np.float64]
    sin_least: NDArray[np.float64]

    @classmethod
    def of(
        cls,
        obstacles: Obstacles,
        tangent: NDArray[np.float64] | None = None,
        sin_least: NDArray[np.float64] | None = None,
    ) -> NearEdges:
        """Take obstacles apart."""
        edge_m, owner = edges_of(obstacles.geometry)
        n = len(obstacles.geometry)
        first = np.zeros(n + 1, np.int64)
        np.cumsum(np.bincount(owner, minlength=n), out=first[1:])
        return cls(
            obstacles,
            edge_m,
            first,
            np.maximum(obstacles.clearance_m - EXACT_M, 0.0),
            shapely.get_dimensions(obstacles.geometry) != 1,
            np.zeros((0, 2)) if tangent is None else tangent,
            np.zeros(0) if sin_least is None else sin_least,
        )

    def within(
        self, bounds_m: tuple[float, float, float, float], half_m: float, bucket_m: float
    ) -> EdgeBuckets:
        """Return the edges that strips in a box may come near to, in buckets.

        Parameters
        ----------
        bounds_m : tuple of float
            Of the strips' middle lines [m].
        half_m : float
            Half the strips' width [m].
        bucket_m : float
            Spacing of the buckets [m].

        Returns
        -------
        EdgeBuckets
        """
        chosen = self.obstacles.near(bounds_m, half_m + 4.0 * SURE_M)
        n_edges = self.first[chosen + 1] - self.first[chosen]
        owner = np.repeat(chosen, n_edges)
        edge = np.arange(len(owner)) - np.repeat(np.cumsum(n_edges) - n_edges, n_edges) + self.first[owner]
        limit_m = self.limit_m[owner]
        west, south, east, north = bounds_m
        more_m = half_m + limit_m + 4.0 * SURE_M
        x1, y1, x2, y2 = self.edge_m[edge].T
        is_in = (np.maximum(x1, x2) >= west - more_m) & (np.minimum(x1, x2) <= east + more_m)
        is_in &= (np.maximum(y1, y2) >= south - more_m) & (np.minimum(y1, y2) <= north + more_m)
        owner, edge, limit_m = owner[is_in], edge[is_in], limit_m[is_in]
        reach_m = float(limit_m.max(initial=0.0))
        corner_m = np.array([west, south]) - (half_m + reach_m + 4.0 * SURE_M)
        n_across, n_up = (
            int((high + 2.0 * (half_m + reach_m) - low) // bucket_m) + 2
            for low, high in ((west, east), (south, north))
        )
        edge_m = np.ascontiguousarray(self.edge_m[edge])
        start, item = _in_buckets(edge_m, corner_m, bucket_m, (n_across, n_up))
        has_angle = len(self.sin_least) > 0
        return EdgeBuckets(
            edge_m,
            owner,
            limit_m,
            self.tangent[owner] if has_angle else self.tangent,
            self.sin_least[owner] if has_angle else self.sin_least,
            start,
            item,
            float(corner_m[0]),
            float(corner_m[1]),
            bucket_m,
            n_across,
            n_up,
            reach_m,
        )

    def holding(
        self, points: shapely.STRtree, bounds_m: tuple[float, float, float, float]
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the pairs of (area, point) where the point lies in the area or on its edge."""
        chosen = self.obstacles.near(bounds_m)
        chosen = chosen[self.is_area[chosen]]
        place, point = points.query(self.obstacles.geometry[chosen], predicate="intersects")
        return chosen[place], point.astype(np.int64)


def _in_buckets(
    edge_m: NDArray[np.float64], corner_m: NDArray[np.float64], bucket_m: float, shape: tuple[int, int]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return `start` and `item` of buckets; see `EdgeBuckets`."""
    count = np.zeros(shape[0] * shape[1], np.int64)
    fill_buckets(edge_m, corner_m, bucket_m, shape, count, np.zeros(0, np.int64))
    start = np.zeros(len(count) + 1, np.int64)
    np.cumsum(count, out=start[1:])
    item = np.zeros(max(int(start[-1]), 1), np.int64)  # never empty: that would be counting
    fill_buckets(edge_m, corner_m, bucket_m, shape, start[:-1].copy(), item)
    return start, item


def edges_of(geometry: NDArray[np.object_]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return the straight edges of lines and areas, shape (k, 4), and whose each is, in order.

    A single point stands as an edge without length.
    """
    parts, owner = shapely.get_parts(geometry, return_index=True)
    inner, outer = shapely.get_parts(parts, return_index=True)  # what was mended may hold areas in areas
    parts, owner = inner, owner[outer]
    is_area = shapely.get_dimensions(parts) == 2
    rings, of_area = shapely.get_rings(parts[is_area], return_index=True)
    lines = np.concatenate([parts[~is_area], rings])
    owner = np.concatenate([owner[~is_area], owner[is_area][of_area]])
    order = np.argsort(owner, kind="stable")
    xy, line = shapely.get_coordinates(lines[order], return_index=True)
    is_alone = np.bincount(line, minlength=len(lines))[line] == 1
    ends = np.concatenate([xy, np.roll(xy, -1, axis=0)], axis=1)
    ends[is_alone, 2:] = ends[is_alone, :2]
    is_edge = np.append(line[1:] == line[:-1], False)[: len(line)] | is_alone
    return ends[is_edge], owner[order][line[is_edge]]
