"""The middle of a corridor's outline: its mean width, its ends, its medial line, its square sections.

Room: ``corridor``. Geometry only.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import Voronoi

from routescreen.corridor import shapes

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Polygon

_RIGHT_ANGLE_SLACK_DEG = 35.0  # how far the corners of an end edge may be from square
_LONGEST_END_EDGE = 2.0  # times the mean width
_SECTION_REACH = 20.0  # times the mean width
_PARALLEL = 1e-9  # sine below which a section runs along an edge
_ON_BOUNDARY_M = 1e-6


def corridor_width_m(outline: Polygon) -> float:
    """Return the mean width of an elongated polygon: twice its area over its perimeter [m]."""
    return float(2.0 * shapely.Polygon(outline.exterior).area / outline.exterior.length)


def end_middles(outline: Polygon) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
    """Return the middles of the two end edges of an elongated polygon.

    An end edge is about as long as the corridor is wide and meets its neighbours at about a right
    angle, turning the same way at both corners.

    Parameters
    ----------
    outline : Polygon

    Returns
    -------
    tuple of two ndarray of shape (2,), or None
        The western one first (the southern one if both are as far west); None where there are not
        exactly two end edges.
    """
    width_m = corridor_width_m(outline)
    simple = shapely.normalize(shapely.Polygon(outline.exterior).simplify(0.02 * width_m))
    ring = shapely.get_coordinates(shapely.get_exterior_ring(simple))[:-1]
    edge = np.roll(ring, -1, axis=0) - ring
    length = np.hypot(edge[:, 0], edge[:, 1])
    before = np.roll(edge, 1, axis=0)
    turn = np.degrees(
        np.arctan2(before[:, 0] * edge[:, 1] - before[:, 1] * edge[:, 0], (before * edge).sum(axis=1))
    )
    sign = 1.0 if shapely.is_ccw(shapely.linearrings(ring)) else -1.0
    is_square = np.abs(sign * turn - 90.0) <= _RIGHT_ANGLE_SLACK_DEG
    is_end = is_square & np.roll(is_square, -1) & (length <= _LONGEST_END_EDGE * width_m)
    if is_end.sum() != 2:
        return None
    middles = (ring + edge / 2.0)[is_end]
    order = np.lexsort((middles[:, 1], middles[:, 0]))
    return middles[order[0]], middles[order[1]]


def medial_line(
    outline: Polygon, start: NDArray[np.float64], end: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return a rough line from start to end that keeps to the middle of a polygon.

    The shortest way along the edges of the Voronoi diagram of boundary points, where an edge counts
    its length over its distance from the boundary.

    Parameters
    ----------
    outline : Polygon
        Holes are ignored.
    start, end : ndarray of shape (2,)

    Returns
    -------
    ndarray of shape (n, 2)
        From start to end; straight where the diagram has no vertex inside.
    """
    filled = shapely.Polygon(outline.exterior)
    boundary = shapely.segmentize(filled.exterior, corridor_width_m(outline) / 4.0)
    sites = np.unique(shapely.get_coordinates(boundary), axis=0)
    origin = sites.mean(axis=0)  # keeps the diagram's arithmetic near zero
    diagram = Voronoi(sites - origin)
    vertices = diagram.vertices + origin
    shapely.prepare(filled)
    is_inside = shapely.contains_xy(filled, vertices[:, 0], vertices[:, 1])
    edges = np.array([pair for pair in diagram.ridge_vertices if min(pair) >= 0], dtype=np.int64)
    edges = edges[is_inside[edges].all(axis=1)] if len(edges) else np.zeros((0, 2), dtype=np.int64)
    if len(edges) == 0:
        return np.vstack([start, end])
    used = np.unique(edges)
    way = _cheapest_way(
        filled, vertices, edges, _nearest(used, vertices, start), _nearest(used, vertices, end)
    )
    return np.vstack([start, vertices[way], end])


def _nearest(used: NDArray[np.int64], vertices: NDArray[np.float64], xy: NDArray[np.float64]) -> int:
    """Return the used vertex nearest to a point."""
    return int(used[np.argmin(((vertices[used] - xy) ** 2).sum(axis=1))])


def _cheapest_way(
    filled: Polygon, vertices: NDArray[np.float64], edges: NDArray[np.int64], start: int, end: int
) -> NDArray[np.int64]:
    """Return the vertices of the way that counts length over clearance least; empty if there is none."""
    ends = vertices[edges]
    length = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    clearance = shapely.distance(filled.exterior, shapely.points(ends.mean(axis=1)))
    weight = np.maximum(length, 1e-9) / np.maximum(clearance, 1e-9)
    graph = coo_array((weight, (edges[:, 0], edges[:, 1])), shape=(len(vertices), len(vertices)))
    from_start = np.array([start])
    _, found = dijkstra(graph.tocsr(), directed=False, indices=from_start, return_predecessors=True)
    before = found[0]
    way = [end]
    while way[-1] != start:
        if before[way[-1]] < 0:
            return np.zeros(0, dtype=np.int64)
        way.append(int(before[way[-1]]))
    return np.array(way[::-1], dtype=np.int64)


def section_extents(
    filled: Polygon, xy: NDArray[np.float64], tangent: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return how far a polygon reaches to the left and to the right of points on a line.

    Parameters
    ----------
    filled : Polygon
    xy, tangent : ndarray of shape (n, 2)
        Points [m] and unit direction of the line there.

    Returns
    -------
    left_m, right_m : ndarray of shape (n,)
        Distance square to the line to the first boundary met; 0 where there is none within reach [m].
    """
    reach_m = _SECTION_REACH * corridor_width_m(filled)
    normal = np.column_stack([tangent[:, 1], -tangent[:, 0]])
    ring = shapely.get_coordinates(filled.exterior)
    edges = shapes.lines(np.stack([ring[:-1], ring[1:]], axis=1))
    sections = shapes.lines(np.stack([xy - reach_m * normal, xy + reach_m * normal], axis=1))
    section, edge = shapely.STRtree(edges).query(sections, predicate="intersects")
    offset = _offset_where_met(xy[section], normal[section], ring[edge], ring[edge + 1])
    left_m, right_m = np.full(len(xy), np.inf), np.full(len(xy), np.inf)
    np.minimum.at(right_m, section[offset > _ON_BOUNDARY_M], offset[offset > _ON_BOUNDARY_M])
    np.minimum.at(left_m, section[offset < -_ON_BOUNDARY_M], -offset[offset < -_ON_BOUNDARY_M])
    return np.where(np.isinf(left_m), 0.0, left_m), np.where(np.isinf(right_m), 0.0, right_m)


def _offset_where_met(
    xy: NDArray[np.float64],
    normal: NDArray[np.float64],
    first: NDArray[np.float64],
    second: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the offset at which each section meets an edge; NaN where they are parallel."""
    edge = second - first
    across = normal[:, 0] * edge[:, 1] - normal[:, 1] * edge[:, 0]
    # along a square end only rounding tells where they meet: its corners are met on the sides
    across[np.abs(across) <= _PARALLEL * np.hypot(*edge.T)] = np.nan
    away = first - xy
    with np.errstate(divide="ignore", invalid="ignore"):
        offset: NDArray[np.float64] = (away[:, 0] * edge[:, 1] - away[:, 1] * edge[:, 0]) / across
    offset[~np.isfinite(offset)] = math.nan
    return offset


def section_middles(
    filled: Polygon, xy: NDArray[np.float64], tangent: NDArray[np.float64], inner_line: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the middle of the square section through each point; points outside go to `inner_line`."""
    left_m, right_m = section_extents(filled, xy, tangent)
    shift = np.where((left_m > 0.0) & (right_m > 0.0), (right_m - left_m) / 2.0, 0.0)
    middles: NDArray[np.float64] = xy + shift[:, None] * np.column_stack([tangent[:, 1], -tangent[:, 0]])
    outside = ~shapely.intersects_xy(filled, xy[:, 0], xy[:, 1])
    if outside.any():
        line = shapely.linestrings(inner_line)
        along = shapely.line_locate_point(line, shapely.points(xy[outside]))
        middles[outside] = shapely.get_coordinates(shapely.line_interpolate_point(line, along))
    middles[0], middles[-1] = xy[0], xy[-1]
    return middles
