"""Things to keep a distance from, found near a part of the frame without touching the rest.

Room: ``corridor``. Geometry only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen.corridor import shapes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

_BUFFER_SEGS = 4
_BUFFER_SLACK = 0.05  # more than what such a buffer loses by its corners (2 %) and by simplifying (1 %)
EXACT_M = 1e-6  # a distance this much short of the clearance still keeps it: far above float noise


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
    """

    geometry: NDArray[np.object_]
    clearance_m: NDArray[np.float64]
    tree: shapely.STRtree

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
        place, work = _nearer(self.geometry[chosen], distance_m, works)
        return chosen[place], work

    def are_too_near(self, chosen: NDArray[np.int64], works: NDArray[np.object_]) -> NDArray[np.bool_]:
        """Return whether each work is nearer to its own chosen obstacle than the clearance."""
        distance_m: Any = np.maximum(self.clearance_m[chosen] - EXACT_M, 0.0)  # the stubs know scalars only
        is_nearer: NDArray[np.bool_] = shapely.dwithin(self.geometry[chosen], works, distance_m)
        return is_nearer


def _nearer(
    geometry: NDArray[np.object_], distance_m: NDArray[np.float64], works: shapely.STRtree
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the pairs of (geometry, work) within a distance, exactly.

    Intersection with a prepared buffer is much faster than measuring distances, but a buffer is not
    quite true: one a little too large finds the candidates, one a little too small those that
    are certain, and only what lies between is measured.
    """
    roomy = geometry.copy()
    tight = geometry.copy()
    is_wide = distance_m > 0.0
    roomy[is_wide] = shapely.buffer(
        geometry[is_wide], distance_m[is_wide] * (1.0 + _BUFFER_SLACK), quad_segs=_BUFFER_SEGS
    )
    tight[is_wide] = shapely.buffer(
        geometry[is_wide], distance_m[is_wide] * (1.0 - _BUFFER_SLACK), quad_segs=_BUFFER_SEGS
    )
    shapely.prepare(roomy)
    shapely.prepare(tight)
    place, work = works.query(roomy, predicate="intersects")
    found = works.geometries[work]
    is_near = shapely.intersects(tight[place], found)
    rest = np.flatnonzero(~is_near)
    limit_m: Any = distance_m[place[rest]]  # the stubs know scalars only
    is_near[rest] = shapely.dwithin(geometry[place[rest]], found[rest], limit_m)
    return place[is_near].astype(np.int64), work[is_near].astype(np.int64)


def edge_pieces(area: shapely.Polygon) -> NDArray[np.object_]:
    """Return the boundary of an area as single straight pieces."""
    pieces = []
    for ring in shapely.get_rings(shapely.get_parts(area)):
        xy = shapely.get_coordinates(ring)
        pieces.append(np.stack([xy[:-1], xy[1:]], axis=1))
    return shapes.lines(np.concatenate(pieces))


def bounds_of(xy_m: NDArray[np.float64]) -> tuple[float, float, float, float]:
    """Return the box round points of shape (..., 2): west, south, east, north [m]."""
    points = xy_m.reshape(-1, 2)
    (west, south), (east, north) = points.min(axis=0), points.max(axis=0)
    return float(west), float(south), float(east), float(north)
