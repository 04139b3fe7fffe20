"""Things to keep a distance from, found near a part of the frame without touching the rest.

Room: ``corridor``. Geometry only.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen.corridor import shapes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

_BUFFER_SEGS = 4
_BUFFER_SLACK = 0.05  # more than what such a buffer loses by its corners (2 %) and by simplifying (1 %)
MOST_GROWN = 4_000  # areas kept at once
EXACT_M = 1e-6  # a distance this much short of the clearance still keeps it: far above float noise


@dataclass(slots=True)
class Grown:
    """Areas round obstacles: `roomy` hold all that is too near, `tight` nothing else; None where not made.

    `made` lists the obstacles whose areas are there. Prepared areas take some kilobytes each, so that only
    those asked for last are kept when they become too many.
    """

    roomy: NDArray[np.object_]
    tight: NDArray[np.object_]
    made: NDArray[np.int64]

    def forget_others(self, chosen: NDArray[np.int64]) -> None:
        """Let go of all areas but those of the chosen obstacles, if there are too many."""
        if len(self.made) <= MOST_GROWN:
            return
        gone = np.setdiff1d(self.made, chosen)
        self.roomy[gone], self.tight[gone] = None, None
        self.made = np.intersect1d(self.made, chosen)


@dataclass(frozen=True, slots=True)
class Obstacles:
    """Geometries with the distance that works must keep from each.

    Attributes
    ----------
    geometry : ndarray of object, shape (n,)
        Prepared.
    clearance_m : ndarray of shape (n,)
        With 0 works must not even touch it [m].
    tree : STRtree
    grown : dict of float to Grown
        By what is added to the clearances.
    """

    geometry: NDArray[np.object_]
    clearance_m: NDArray[np.float64]
    tree: shapely.STRtree
    grown: dict[float, Grown] = field(default_factory=dict)

    @classmethod
    def of(cls, geometry: NDArray[np.object_], clearance_m: NDArray[np.float64]) -> Obstacles:
        """Prepare geometries as obstacles."""
        geometry = np.asarray(geometry, dtype=object)
        shapely.prepare(geometry)
        return cls(geometry, np.asarray(clearance_m, dtype=np.float64), shapely.STRtree(geometry))

    @classmethod
    def joined(cls, parts: Sequence[Obstacles]) -> Obstacles:
        """Return several sets of obstacles as one."""
        return cls.of(
            np.concatenate([part.geometry for part in parts]),
            np.concatenate([part.clearance_m for part in parts]),
        )

    def near(self, bounds_m: tuple[float, float, float, float], reach_m: float = 0.0) -> NDArray[np.int64]:
        """Return the obstacles whose boxes, widened by their clearance and `reach_m`, meet a box."""
        if len(self.geometry) == 0:
            return np.zeros(0, dtype=np.int64)
        more_m = reach_m + float(self.clearance_m.max())
        west, south, east, north = bounds_m
        box = shapely.box(west - more_m, south - more_m, east + more_m, north + more_m)
        found: NDArray[np.int64] = np.sort(self.tree.query(box)).astype(np.int64)
        return found

    def too_near(
        self, works: shapely.STRtree, chosen: NDArray[np.int64], *, more_m: float = 0.0
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return all pairs of (obstacle, work) that are nearer than the clearance + `more_m`.

        Parameters
        ----------
        works : STRtree
        chosen : ndarray of int64
            The obstacles to look at.
        more_m : float
            Added to every clearance [m].

        Returns
        -------
        obstacle, work : ndarray of int64, shape (n,)
        """
        if len(chosen) == 0 or len(works.geometries) == 0:
            return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
        distance_m = np.maximum(self.clearance_m[chosen] + more_m - EXACT_M, 0.0)
        if not distance_m.any():
            place, work = works.query(self.geometry[chosen], predicate="intersects")
            return chosen[place], work.astype(np.int64)
        return self._nearer(works, chosen, distance_m, more_m)

    def _nearer(
        self,
        works: shapely.STRtree,
        chosen: NDArray[np.int64],
        distance_m: NDArray[np.float64],
        more_m: float,
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the pairs of (obstacle, work) within the distances of those chosen, exactly.

        Intersection with a prepared buffer is much faster than measuring distances, but a buffer is
        not quite true: one a little too large finds the candidates, one a little too small those that
        are certain, and only what lies between is measured.
        """
        roomy, tight = self._grown(chosen, distance_m, more_m)
        place, work = works.query(roomy, predicate="intersects")
        found = works.geometries[work]
        is_near = shapely.intersects(tight[place], found)
        rest = np.flatnonzero(~is_near)
        limit_m: Any = distance_m[place[rest]]  # the stubs know scalars only
        is_near[rest] = shapely.dwithin(self.geometry[chosen[place[rest]]], found[rest], limit_m)
        return chosen[place[is_near]], work[is_near].astype(np.int64)

    def _grown(
        self, chosen: NDArray[np.int64], distance_m: NDArray[np.float64], more_m: float
    ) -> tuple[NDArray[np.object_], NDArray[np.object_]]:
        """Return a buffer a little too large and one a little too small of each chosen obstacle."""
        n = len(self.geometry)
        if more_m not in self.grown:
            self.grown[more_m] = Grown(np.full(n, None), np.full(n, None), np.zeros(0, np.int64))
        areas_of = self.grown[more_m]
        areas_of.forget_others(chosen)
        roomy, tight = areas_of.roomy, areas_of.tight
        is_new = shapely.is_missing(roomy[chosen])
        new, distance_m = chosen[is_new], distance_m[is_new]
        is_wide = distance_m > 0.0
        for areas, share in ((roomy, 1.0 + _BUFFER_SLACK), (tight, 1.0 - _BUFFER_SLACK)):
            grown = self.geometry[new]
            grown[is_wide] = shapely.buffer(
                grown[is_wide], distance_m[is_wide] * share, quad_segs=_BUFFER_SEGS
            )
            shapely.prepare(grown)
            areas[new] = grown
        areas_of.made = np.concatenate([areas_of.made, new])
        return roomy[chosen], tight[chosen]

    def roomy(self, more_m: float) -> Obstacles:
        """Return areas that all works meet which come within the clearance + `more_m`, and a few more.

        They find candidates fast: what misses the area of an obstacle is far enough from it.
        """
        distance_m = self.clearance_m + more_m
        area = shapely.buffer(self.geometry, distance_m * (1.0 + _BUFFER_SLACK), quad_segs=_BUFFER_SEGS)
        return Obstacles.of(np.where(distance_m > 0.0, area, self.geometry), np.zeros(len(self.geometry)))

    def are_too_near(self, chosen: NDArray[np.int64], works: NDArray[np.object_]) -> NDArray[np.bool_]:
        """Return whether each work is nearer to its own chosen obstacle than the clearance."""
        distance_m: Any = np.maximum(self.clearance_m[chosen] - EXACT_M, 0.0)  # the stubs know scalars only
        is_nearer: NDArray[np.bool_] = shapely.dwithin(self.geometry[chosen], works, distance_m)
        return is_nearer


def edge_pieces(area: shapely.Polygon) -> NDArray[np.object_]:
    """Return the boundary of an area as single straight pieces."""
    pieces = []
    for ring in shapely.get_rings(shapely.get_parts(area)):
        xy = shapely.get_coordinates(ring)
        pieces.append(np.stack([xy[:-1], xy[1:]], axis=1))
    return shapes.lines(np.concatenate(pieces))


def bounds_of(xy_m: NDArray[np.float64]) -> tuple[float, float, float, float]:
    """Return the box round points of shape (..., 2): west, south, east, north [m]."""
    x_m, y_m = xy_m[..., 0], xy_m[..., 1]  # apart: many times as fast as both along one axis
    return float(x_m.min()), float(y_m.min()), float(x_m.max()), float(y_m.max())
