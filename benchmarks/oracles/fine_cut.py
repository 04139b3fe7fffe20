"""Pieces of a drive's line on the fine lattice of the ground.

The oracle's own way: cut where the line passes from fine column to fine column.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchmarks.oracles.cells import Track
    from routescreen.search.arrays import SearchArrays

FinePiece = tuple[float, float, tuple[int, int]]  # place of its middle [m], length [m], fine cell
ON_EDGE = 1e-6  # of a fine cell


def fine_pieces(s: SearchArrays, track: Track, first: int) -> Iterator[FinePiece]:
    """Yield the pieces of a line on the fine lattice: place of its middle [m], length [m], fine cell.

    A line is cut at the fine columns' edges; a piece belongs to the fine row that its middle lies in, half
    to either of two where it lies on their edge.
    """
    nx, ny = s.ground.ground_m.shape
    n_along, n_across = s.fine.kind.shape[0] // nx, s.fine.kind.shape[1] // ny
    # in columns from the first one's lower edge: both ends lie in the middle of a column
    at = np.array([0.5, *range(1, len(track.boundary_m) - 1), len(track.boundary_m) - 1.5])
    edges = np.union1d(at, np.arange(n_along * (len(at) - 1) + 1) / n_along)
    edges = edges[(edges >= at[0]) & (edges <= at[-1])]
    middles = 0.5 * (edges[:-1] + edges[1:])
    ends_m = np.interp(edges, at, track.boundary_m).tolist()
    places_m = np.interp(middles, at, track.boundary_m).tolist()
    rows_at = ((np.interp(middles, at, track.boundary_row) + 0.5) * n_across).tolist()
    for (begin, end), middle, place, row in zip(
        itertools.pairwise(ends_m), middles.tolist(), places_m, rows_at, strict=True
    ):
        is_edge = abs(row - round(row)) < ON_EDGE
        rows = (round(row) - 1, round(row)) if is_edge else (math.floor(row),)
        for fine_row in rows:
            inside = min(max(fine_row, 0), ny * n_across - 1)
            yield place, (end - begin) / len(rows), (first * n_along + math.floor(middle * n_along), inside)
