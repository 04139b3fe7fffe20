"""The cells that a straight line touches, in plain Python from the definition."""

from __future__ import annotations

import math
from dataclasses import dataclass

from benchmarks.oracles.hulls import NEAR_M

Node = tuple[int, int]
EDGE_CELLS = 0.02  # a cell this near the line, as a share of the row spacing, counts as touched


@dataclass(frozen=True, slots=True)
class Cell:
    """One touched cell: its node, the line's length in it and the place of its middle [m]."""

    node: Node
    length_m: float
    middle_m: float  # along the line


@dataclass(frozen=True, slots=True)
class Track:
    """Where a line runs: places and rows at the column boundaries, the touched cells column by column."""

    length_m: float
    boundary_m: tuple[float, ...]
    boundary_row: tuple[float, ...]
    cells: tuple[tuple[Cell, ...], ...]

    @property
    def nodes(self) -> tuple[tuple[Node, ...], ...]:
        """Nodes of the touched cells, column by column."""
        return tuple(tuple(cell.node for cell in column) for column in self.cells)


def touched(column: int, ny: int, x0: float, x1: float, y0: float, y1: float) -> tuple[Cell, ...]:
    """Return the cells of a column near the run from row y0 to y1."""
    low, high = min(y0, y1), max(y0, y1)
    cells = []
    for row in range(ny):
        # the outermost rows take what lies beyond them
        bottom = -math.inf if row == 0 else row - 0.5
        top = math.inf if row == ny - 1 else row + 0.5
        if bottom > high + EDGE_CELLS or top <= low - EDGE_CELLS:
            continue
        p, q = min(max(low, bottom), high), max(min(high, top), low)
        if high - low < NEAR_M:
            share, place = float(bottom <= low < top), 0.5
        else:
            share, place = max(0.0, q - p) / (high - low), (0.5 * (p + q) - y0) / (y1 - y0)
        cells.append(Cell((column, row), share * (x1 - x0), x0 + place * (x1 - x0)))
    return tuple(cells)
