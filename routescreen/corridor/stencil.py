"""The open-cut moves, the cells that each touches, and the heading bins of shafts.

Room: ``corridor``. Pure constants and arithmetic; imports nothing of the package.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

TouchedCell = tuple[int, int, float]

# (columns, rows); with them no heading within 45 deg is more than 0.49 % longer than the straight line
_MOVES = (
    (1, 0),
    (5, 1),
    (5, -1),
    (3, 1),
    (3, -1),
    (2, 1),
    (2, -1),
    (3, 2),
    (3, -2),
    (1, 1),
    (1, -1),
    (2, 3),
    (2, -3),
    (1, 2),
    (1, -2),
    (1, 3),
    (1, -3),
)
MOVES: NDArray[np.int64] = np.array(_MOVES, dtype=np.int64)
N_MOVES = len(_MOVES)

N_BINS = 5  # equal bins of the heading of a drive against the axis, from the left to the right


def touched_cells(n_columns: int, n_rows: int) -> tuple[TouchedCell, ...]:
    """Return the cells that the straight line from cell (0, 0) to another cell's node touches.

    Cells are closed unit squares round their nodes, so a line through a corner touches all four
    cells round it, two of them with no share of its length. Exact rational arithmetic.

    Parameters
    ----------
    n_columns, n_rows : int
        The move; `n_columns` >= 1.

    Returns
    -------
    tuple of (column step, row step, share of the move's length)
        In order of column, then row; shares sum to 1.
    """
    cells = []
    low, high = min(0, n_rows), max(0, n_rows)
    for column in range(n_columns + 1):
        for row in range(low, high + 1):
            share = _share_in_cell(n_columns, n_rows, column, row)
            if share is not None:
                cells.append((column, row, float(share)))
    return tuple(cells)


def _share_in_cell(n_columns: int, n_rows: int, column: int, row: int) -> Fraction | None:
    """Return the share of the move in one closed cell; None where it does not touch it."""
    half = Fraction(1, 2)
    begin, end = Fraction(0), Fraction(1)
    for step, middle in ((n_columns, column), (n_rows, row)):
        if step == 0:
            continue  # the line runs along the middle of this row
        first, second = (middle - half) / step, (middle + half) / step
        begin, end = max(begin, min(first, second)), min(end, max(first, second))
    return end - begin if end >= begin else None


MOVE_CELLS: tuple[tuple[TouchedCell, ...], ...] = tuple(touched_cells(*move) for move in _MOVES)

# the same as flat arrays for compiled loops: cells of move m are MOVE_CELL_START[m] .. MOVE_CELL_START[m + 1]
MOVE_CELL_START: NDArray[np.int64] = np.cumsum([0, *(len(cells) for cells in MOVE_CELLS)], dtype=np.int64)
MOVE_CELL_STEP: NDArray[np.int64] = np.array(
    [cell[:2] for cells in MOVE_CELLS for cell in cells], dtype=np.int64
)
MOVE_CELL_SHARE: NDArray[np.float64] = np.array(
    [cell[2] for cells in MOVE_CELLS for cell in cells], dtype=np.float64
)
