"""Straight lines over a raster of classes and over edges, compiled.

Room: ``search``. Plain arrays in and out; lines are cut exactly where they pass from pixel to pixel.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, Integers

# Share of a pixel: a line that runs along an edge between pixels belongs to the one to the east or south,
# whatever its coordinates are rounded to.
EDGE_FRAC = 1e-7


@compiled
def lines_eur(
    line_xy_m: Floats,
    table: Integers,
    eur_per_m: Floats,
    class_: Integers,
    corner_m: tuple[float, float],
    pixel_m: tuple[float, float],
    outside_class: int,
    eur: Floats,
) -> None:
    """Price lines by the class of the pixels below them.

    Parameters
    ----------
    line_xy_m : ndarray of shape (n, 4)
        x1, y1, x2, y2 of each line [m].
    table : ndarray of int64, shape (n,)
        Row of `eur_per_m` that holds for the line.
    eur_per_m : ndarray of shape (n_tables, n_classes)
        Price of one metre [EUR/m].
    class_ : ndarray of int64, shape (n_rows, n_columns)
        Class of each pixel, row 0 the northernmost.
    corner_m, pixel_m : tuple of float
        West and north of the raster's outer upper left corner, width and height of a pixel [m].
    outside_class : int
        Class beyond the raster.
    eur : ndarray of shape (n,)
        Filled with the price of each line [EUR].
    """
    n_rows, n_columns = class_.shape
    (west_m, north_m), (pixel_width_m, pixel_height_m) = corner_m, pixel_m
    for line in range(line_xy_m.shape[0]):
        u = (line_xy_m[line, 0] - west_m) / pixel_width_m
        v = (north_m - line_xy_m[line, 1]) / pixel_height_m
        du = (line_xy_m[line, 2] - line_xy_m[line, 0]) / pixel_width_m
        dv = (line_xy_m[line, 1] - line_xy_m[line, 3]) / pixel_height_m
        length_m = math.hypot(du * pixel_width_m, dv * pixel_height_m)
        along, mean = 0.0, 0.0
        edge_u, at_u = _first_edge(u, du)
        edge_v, at_v = _first_edge(v, dv)
        while along < 1.0:
            until = min(at_u, at_v, 1.0)
            if until > along:
                middle = 0.5 * (along + until)
                column = math.floor(u + middle * du + EDGE_FRAC)
                row = math.floor(v + middle * dv + EDGE_FRAC)
                found = outside_class
                if 0 <= column < n_columns and 0 <= row < n_rows:
                    found = class_[row, column]
                mean += (until - along) * eur_per_m[table[line], found]
            along = until
            if at_u <= along:
                edge_u += 1.0 if du > 0.0 else -1.0
                at_u = (edge_u - u) / du
            if at_v <= along:
                edge_v += 1.0 if dv > 0.0 else -1.0
                at_v = (edge_v - v) / dv
        eur[line] = length_m * mean


@compiled
def _first_edge(start: float, step: float) -> tuple[float, float]:
    """Return the first edge between pixels after the start of a line, and the share of the line before it.

    Both infinite for a line along the edges.
    """
    if step == 0.0:
        return math.inf, math.inf
    edge = math.floor(start) + 1.0 if step > 0.0 else math.ceil(start) - 1.0
    return edge, (edge - start) / step


@compiled
def edges_met(
    line_xy_m: Floats,
    group: Integers,
    edge_xy_m: Floats,
    first_edge: Integers,
    near_m: float,
    count: Integers,
) -> None:
    """Count the edges of its group that each line meets or passes as near as a tolerance, in doubt too many.

    Parameters
    ----------
    line_xy_m : ndarray of shape (n, 4)
        x1, y1, x2, y2 of each line [m].
    group : ndarray of int64, shape (n,)
        Group of edges that each line is held against.
    edge_xy_m : ndarray of shape (n_edges, 4)
        x1, y1, x2, y2 of each edge, groups one after the other [m].
    first_edge : ndarray of int64, shape (n_groups + 1,)
        First edge of each group, and the number of all.
    near_m : float
        Tolerance [m].
    count : ndarray of int64, shape (n,)
        Filled with the number of edges.
    """
    for line in range(line_xy_m.shape[0]):
        found = 0
        for edge in range(first_edge[group[line]], first_edge[group[line] + 1]):
            if not _is_beside(line_xy_m[line], edge_xy_m[edge], near_m) and not _is_beside(
                edge_xy_m[edge], line_xy_m[line], near_m
            ):
                found += 1
        count[line] = found


@compiled
def _is_beside(line_xy_m: Floats, other_xy_m: Floats, near_m: float) -> bool:
    """Return whether the other line lies wholly on one side of the straight line through the first."""
    dx, dy = line_xy_m[2] - line_xy_m[0], line_xy_m[3] - line_xy_m[1]
    begin = dx * (other_xy_m[1] - line_xy_m[1]) - dy * (other_xy_m[0] - line_xy_m[0])
    end = dx * (other_xy_m[3] - line_xy_m[1]) - dy * (other_xy_m[2] - line_xy_m[0])
    aside = near_m * math.hypot(dx, dy)
    return bool(min(begin, end) > aside or max(begin, end) < -aside)
