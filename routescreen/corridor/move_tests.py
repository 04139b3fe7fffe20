"""The tests of open-cut moves by distances: sure for nearly all, the others are marked unsure.

Room: ``corridor``. Geometry only; imports obstacles as edges. Says the same as the exact predicates of
``burn_moves`` and ``burn_bands`` wherever it is sure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.near_edges import NearEdges
from routescreen.corridor.near_kernel import NEAR, UNSURE, met_pairs, near_pieces
from routescreen.corridor.obstacles import bounds_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.corridor.burn_bands import BandRules
    from routescreen.corridor.obstacles import Obstacles

    Pairs = tuple[NDArray[np.int64], NDArray[np.int64]]

_PAIRS_PER_PIECE = 1  # room that is made at first


@dataclass(frozen=True, slots=True)
class MoveTests:
    """What moves are tested against, as edges: see ``burn_moves.MoveRules`` for each."""

    line_obstacles: NearEdges
    outlines: NearEdges
    angle_lines: NearEdges
    untouched: NearEdges
    along: NearEdges
    strip_obstacles: NearEdges
    band_m: float

    @classmethod
    def of(
        cls,
        line_obstacles: Obstacles,
        outlines: Obstacles,
        angle_lines: Obstacles,
        band: BandRules,
        strip_obstacles: Obstacles,
    ) -> MoveTests:
        """Take obstacles apart."""
        return cls(
            NearEdges.of(line_obstacles),
            NearEdges.of(outlines),
            NearEdges.of(angle_lines),
            NearEdges.of(band.untouched),
            NearEdges.of(band.along, band.tangent, band.sin_least),
            NearEdges.of(strip_obstacles),
            band.width_m,
        )

    def at(
        self,
        start_xy_m: NDArray[np.float64],
        end_xy_m: NDArray[np.float64],
        place: NDArray[np.int64],
        node_xy_m: NDArray[np.float64],
        bucket_m: float,
    ) -> PiecesNear:
        """Return the tests of some pieces.

        Parameters
        ----------
        start_xy_m, end_xy_m : ndarray of shape (n, 2)
        place : ndarray of int64, shape (n,)
            Which of the nodes each piece starts at.
        node_xy_m : ndarray of shape (k, 2)
        bucket_m : float
            Spacing of the buckets for edges [m].

        Returns
        -------
        PiecesNear
        """
        return PiecesNear(
            self,
            start_xy_m,
            end_xy_m,
            place,
            shapely.STRtree(shapes.points(node_xy_m)),
            bounds_of(np.stack([start_xy_m, end_xy_m])),
            bucket_m,
            np.zeros(len(start_xy_m), dtype=np.bool_),
        )


@dataclass(frozen=True, slots=True)
class PiecesNear:
    """n straight pieces under test; `is_unsure` gathers those that some test could not tell."""

    tests: MoveTests
    start_xy_m: NDArray[np.float64]
    end_xy_m: NDArray[np.float64]
    place: NDArray[np.int64]
    nodes: shapely.STRtree
    bounds_m: tuple[float, float, float, float]
    bucket_m: float
    is_unsure: NDArray[np.bool_]

    def lines(self) -> NDArray[np.bool_]:
        """Return which lines lie clear of what the trench must not touch."""
        return ~self._near(self.tests.line_obstacles, np.ones(len(self.is_unsure), dtype=np.bool_), 0.0)

    def met(self) -> Pairs:
        """Return the pairs (crossing, piece) that meet."""
        outlines = self.tests.outlines
        crossed = self._crossed(outlines)
        area, node = outlines.holding(self.nodes, self.bounds_m)
        inside = _joined(area, node, self.place, len(self.nodes.geometries))
        n = max(len(outlines.limit_m), 1)
        both = np.unique(np.concatenate([pair[1] * n + pair[0] for pair in (crossed, inside)]))
        return both % n, both // n

    def crossed(self) -> Pairs:
        """Return the pairs (segment, piece) of lines with an angle that meet."""
        return self._crossed(self.tests.angle_lines)

    def bar_bands(self, is_free: NDArray[np.bool_], may_bar: NDArray[np.bool_]) -> None:
        """Bar free pieces, of those that may be, whose outer trenches lie where none may."""
        half_m = self.tests.band_m / 2.0
        for edges in (self.tests.untouched, self.tests.along):
            is_free &= ~self._near(edges, is_free & may_bar, half_m)

    def blocked(self, which: NDArray[np.bool_], half_m: float) -> NDArray[np.bool_]:
        """Return which of some pieces have a working strip that comes too near to an obstacle."""
        return self._near(self.tests.strip_obstacles, which, half_m)

    def _near(self, edges: NearEdges, which: NDArray[np.bool_], half_m: float) -> NDArray[np.bool_]:
        """Return which of some pieces are near to edges, or begin inside an area."""
        buckets = edges.within(self.bounds_m, half_m, self.bucket_m)
        told = near_pieces(self.start_xy_m, self.end_xy_m, which, half_m, buckets)
        is_near = told == NEAR
        is_inside = np.zeros(len(self.nodes.geometries), dtype=np.bool_)
        is_inside[edges.holding(self.nodes, self.bounds_m)[1]] = True
        is_near |= which & is_inside[self.place]
        self.is_unsure[(told == UNSURE) & ~is_near] = True
        return np.asarray(is_near)

    def _crossed(self, edges: NearEdges) -> Pairs:
        """Return the pairs (obstacle, piece) where the piece's line crosses an edge."""
        buckets = edges.within(self.bounds_m, 0.0, self.bucket_m)
        n = len(self.start_xy_m)
        room = _PAIRS_PER_PIECE * n
        while True:
            piece, owner = np.empty(room, np.int64), np.empty(room, np.int64)
            seen = np.full(len(edges.limit_m), -1, np.int64)
            found = met_pairs(self.start_xy_m, self.end_xy_m, buckets, seen, self.is_unsure, piece, owner)
            if found <= room:
                return owner[:found], piece[:found]
            room = found


def _joined(
    area: NDArray[np.int64], node: NDArray[np.int64], place: NDArray[np.int64], n_nodes: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the pairs (area, piece) of pieces that begin at nodes in areas; `place` is each piece's node."""
    order = np.argsort(node, kind="stable")
    area = area[order]
    first = np.zeros(n_nodes + 1, np.int64)
    np.cumsum(np.bincount(node, minlength=n_nodes), out=first[1:])
    n_areas = (first[1:] - first[:-1])[place]
    piece = np.repeat(np.arange(len(place)), n_areas)
    within = np.arange(len(piece)) - np.repeat(np.cumsum(n_areas) - n_areas, n_areas)
    return area[first[place[piece]] + within], piece
