"""Which rows of the frame a line touches within a column, compiled.

Room: ``search``.
"""

from __future__ import annotations

import math

from routescreen.compiled import compiled

EDGE = 0.02  # share of a cell by which a line counts as touching the next row


@compiled
def nearest_row(y: float, n_rows: int) -> int:
    """Return the row of the frame that holds a place across it."""
    return min(max(math.floor(y + 0.5), 0), n_rows - 1)


@compiled
def rows_touched(y0: float, y1: float, n_rows: int) -> tuple[int, int]:
    """Return the first and the last row that a line touches on its way from one place across to another."""
    low, high = min(y0, y1), max(y0, y1)
    return nearest_row(low - EDGE, n_rows), nearest_row(high + EDGE, n_rows)
