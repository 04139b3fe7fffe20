"""Straight lines over the ground: cut where anything that has a price changes, and priced.

Room: ``search``. May import ``corridor`` and ``money``. What lies below a line is piecewise the same: the
ground cover changes from pixel to pixel, soil, water and rock at the edges of the ground layer's polygons.
Every line is cut exactly there, so that its price is that of its true course, whatever the frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.stencil import MOVES
from routescreen.project import GroundSamples
from routescreen.search.line_kernel import lines_eur

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import GroundSampler
    from routescreen.search.arrays import Floats, Integers

    PriceOf = Callable[[GroundSamples, NDArray[np.bool_]], Floats]
    KeptPrices = dict[tuple[float, ...], Floats]

PARALLEL_FRAC = 1e-12  # sine below which a line counts as running along an edge


@dataclass(frozen=True, slots=True)
class Pieces:
    """Straight pieces of lines, each over one kind of soil, water and rock.

    `owner` (n,) the line that each belongs to; `xy_m` (n, 4) x1, y1, x2, y2; `ground` (n,) row of the
    layout of the ground that lies below.
    """

    owner: Integers
    xy_m: Floats
    ground: Integers


@dataclass(frozen=True, slots=True)
class NodeGround:
    """The ground layer at the nodes, arrays of shape (nx, ny).

    `ground` row of the kinds of ground; `edge_m` distance to the nearest edge of the layer, inf beyond what
    a move or a cell can reach [m].
    """

    ground: Integers
    edge_m: Floats


@dataclass(frozen=True, slots=True)
class Grounds:
    """Kinds of ground, arrays of one row each; see `GroundSamples`."""

    soil_class: Integers
    groundwater_depth_m: Floats
    rock_depth_m: Floats
    rock_soil_class: Integers


class GroundLines:
    """Cuts and prices lines over the ground of one corridor.

    Parameters
    ----------
    sampler : GroundSampler
    assumptions : Assumptions
    """

    def __init__(self, sampler: GroundSampler, assumptions: Assumptions) -> None:
        self._sampler = sampler
        self._assumptions = assumptions
        self._edges_m = edge_segments(sampler.ground_polygons()[0])
        self._edges = shapely.STRtree(shapes.lines(self._edges_m.reshape(-1, 2, 2)))
        self._grounds: dict[tuple[float, ...], int] = {}
        self._cover = _cover_of(sampler)

    def at_nodes(self, frame: Frame) -> NodeGround:
        """Return what the ground layer says at the nodes of a frame."""
        node_xy = frame.node_xy_m.reshape(-1, 2)
        edge_m = self._edge_distance_m(node_xy, within_m=_farthest_m(frame))
        return NodeGround(self.ground_of(node_xy).reshape(frame.shape), edge_m.reshape(frame.shape))

    def _edge_distance_m(self, xy_m: Floats, *, within_m: float) -> Floats:
        """Return how far points lie from the nearest edge of the ground layer, inf beyond a limit [m]."""
        distance_m = np.full(len(xy_m), np.inf)
        if len(self._edges_m) and len(xy_m):
            (point, _), found = self._edges.query_nearest(
                shapes.points(xy_m), max_distance=within_m, return_distance=True, all_matches=False
            )
            distance_m[point] = found
        return distance_m

    def ground_of(self, xy_m: Floats) -> Integers:
        """Return the row of the kinds of ground that lies at points; new kinds are added."""
        columns = np.stack(self._sampler.below_at(xy_m), axis=1).astype(np.float64)
        code = np.zeros(len(xy_m), np.int64)
        for column in columns.T:
            values, place = np.unique(column, return_inverse=True)
            code = code * len(values) + place
        _, first, place = np.unique(code, return_index=True, return_inverse=True)
        rows = [self._grounds.setdefault(tuple(columns[at].tolist()), len(self._grounds)) for at in first]
        return np.array(rows, np.int64)[place]

    def grounds(self) -> Grounds:
        """Return the kinds of ground met so far, in order of their rows."""
        columns = np.array(list(self._grounds)).reshape(-1, 4).T
        soil, water_m, rock_m, rock_soil = columns
        return Grounds(soil.astype(np.int64), water_m, rock_m, rock_soil.astype(np.int64))

    def cut(self, line_xy_m: Floats) -> Pieces:
        """Cut lines at the edges of the ground layer.

        Parameters
        ----------
        line_xy_m : ndarray of shape (n, 4)

        Returns
        -------
        Pieces
            In order of the lines and along each.
        """
        n = len(line_xy_m)
        owner, share = cuts_at(line_xy_m, self._edges, self._edges_m)
        owner = np.concatenate([np.arange(n), np.arange(n), owner])
        share = np.concatenate([np.zeros(n), np.ones(n), share])
        order = np.lexsort((share, owner))
        owner, share = owner[order], share[order]
        is_piece = (owner[1:] == owner[:-1]) & (share[1:] > share[:-1])
        owner, begin, end = owner[:-1][is_piece], share[:-1][is_piece, None], share[1:][is_piece, None]
        start, along = line_xy_m[owner, :2], line_xy_m[owner, 2:] - line_xy_m[owner, :2]
        xy = np.concatenate([start + begin * along, start + end * along], axis=1)
        return Pieces(owner, xy, self.ground_of(0.5 * (xy[:, :2] + xy[:, 2:])))

    def price_table(
        self, price_of: PriceOf, only: Integers | None = None, kept: KeptPrices | None = None
    ) -> Floats:
        """Price a metre in the wide and in the narrow strip on every ground met so far and every cover.

        Parameters
        ----------
        price_of : callable
            From samples and whether the strip is narrow, arrays of shape (n,), to prices [EUR/m].
        only : ndarray of int64, optional
            Rows of the grounds that are asked for; 0 stands in the others.
        kept : dict, optional
            What was priced before, by kind of ground: looked up first, and added to.

        Returns
        -------
        ndarray of shape (2 * n_grounds, n_covers)
            Row ``2 * ground + is_narrow``.
        """
        n_grounds, n_covers = len(self._grounds), len(self._assumptions.cover)
        table = np.zeros((max(n_grounds, 1), 2, n_covers))
        if not n_grounds:
            return table.reshape(2, n_covers)
        asked = np.arange(n_grounds) if only is None else np.unique(only)
        kept = {} if kept is None else kept
        kinds = list(self._grounds)
        missing = np.array([ground for ground in asked.tolist() if kinds[ground] not in kept], np.int64)
        if len(missing):
            priced = self._priced(price_of, missing)
            kept.update((kinds[ground], priced[k]) for k, ground in enumerate(missing.tolist()))
        for ground in asked.tolist():
            table[ground] = kept[kinds[ground]]
        return table.reshape(-1, n_covers)

    def _priced(self, price_of: PriceOf, grounds: Integers) -> Floats:
        """Price a metre on some grounds, shape (n, 2, n_covers): in the wide, the narrow strip."""
        shape = (len(grounds), 2, len(self._assumptions.cover))
        which, narrow, cover = (index.ravel() for index in np.indices(shape))
        below, ground = self.grounds(), grounds[which]
        nothing = np.zeros(len(ground))
        samples = GroundSamples(
            ground_m=nothing,
            cover_class=cover.astype(np.int16),
            soil_class=below.soil_class[ground].astype(np.int16),
            groundwater_depth_m=below.groundwater_depth_m[ground],
            rock_depth_m=below.rock_depth_m[ground],
            rock_soil_class=below.rock_soil_class[ground].astype(np.int16),
            access_distance_m=nothing,
            near_building=nothing.astype(np.bool_),
        )
        return price_of(samples, narrow.astype(np.bool_)).reshape(shape)

    def eur(self, xy_m: Floats, ground: Integers, is_narrow: NDArray[np.bool_], table: Floats) -> Floats:
        """Price pieces of lines, each over one ground, by the ground cover's pixels.

        Parameters
        ----------
        xy_m : ndarray of shape (n, 4)
        ground : ndarray of int64, shape (n,)
        is_narrow : ndarray of bool, shape (n,)
        table : ndarray of shape (2 * n_grounds, n_covers)
            See `price_table`.

        Returns
        -------
        ndarray of shape (n,)
            [EUR]
        """
        eur = np.empty(len(xy_m))
        row = 2 * ground + is_narrow
        lines_eur(np.ascontiguousarray(xy_m), row, table, *self._cover, eur)
        return eur


def _farthest_m(frame: Frame) -> float:
    """Return a distance that no point of a cell has from its node, nor of a move from its nearer end [m].

    The columns' gaps are taken a row beyond the outer rows, where cells end.
    """
    gap_m = np.linalg.norm(np.diff(frame.node_xy_m, axis=0), axis=-1)
    beyond_m = 2.0 * gap_m[:, [0, -1]] - gap_m[:, [min(1, gap_m.shape[1] - 1), max(gap_m.shape[1] - 2, 0)]]
    widest_m = max(float(gap_m.max()), float(beyond_m.max()), frame.column_spacing_m)
    dc, dr = np.abs(MOVES).max(axis=0)
    return float(np.hypot(dc * widest_m, dr * frame.cell_m)) + 1.0


def _cover_of(sampler: GroundSampler) -> tuple[Integers, tuple[float, float], tuple[float, float], int]:
    """Return the classes of the pixels, west and north of their corner, their size, and the class outside."""
    raster, default = sampler.cover_raster()
    if raster is None:
        return np.zeros((0, 0), np.int64), (0.0, 0.0), (1.0, 1.0), default
    corner = (float(raster.west_m), float(raster.north_m))
    size = (float(raster.pixel_width_m), float(raster.pixel_height_m))
    return np.ascontiguousarray(raster.values, np.int64), corner, size, default


def edge_segments(polygons: NDArray[np.object_]) -> Floats:
    """Return the edges of polygons piece by piece, shape (n, 4): x1, y1, x2, y2 [m]."""
    rings = shapely.get_parts(shapely.boundary(polygons))
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    is_joined = ring[1:] == ring[:-1]
    return np.asarray(np.concatenate([xy[:-1], xy[1:]], axis=1)[is_joined])


def cuts_at(line_xy_m: Floats, tree: shapely.STRtree, edge_xy_m: Floats) -> tuple[Integers, Floats]:
    """Return where lines meet edges: line and share of its length; a line along an edge, its two ends."""
    lines = shapes.lines(line_xy_m.reshape(-1, 2, 2))
    line, edge = tree.query(lines, predicate="intersects")
    start, along = line_xy_m[line, :2], line_xy_m[line, 2:] - line_xy_m[line, :2]
    first, reach = edge_xy_m[edge, :2], edge_xy_m[edge, 2:] - edge_xy_m[edge, :2]
    cross = _cross(along, reach)
    size = np.hypot(*along.T) * np.hypot(*reach.T)
    is_along = np.abs(cross) <= PARALLEL_FRAC * size
    share = _cross(first - start, reach) / np.where(is_along, 1.0, cross)
    ends = [
        ((point - start) * along).sum(axis=1)[is_along] / (along * along).sum(axis=1)[is_along]
        for point in (first, first + reach)
    ]
    owner = np.concatenate([line[~is_along], line[is_along], line[is_along]])
    return owner, np.clip(np.concatenate([share[~is_along], *ends]), 0.0, 1.0)


def _cross(a: Floats, b: Floats) -> Floats:
    """Return the cross product of vectors in plan, row by row."""
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
