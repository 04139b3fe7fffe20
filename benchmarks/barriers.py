"""Thin barriers across small frames: no chain of open-cut moves may get past one unmet.

Each barrier is a slab 0.1 to 1 m wide at a random angle, from beyond one edge of the frame to beyond the
other. Its moves are found by the same exact test that the burning uses. What they leave is walked column by
column: if the last column is reached, the barrier leaks. As a control, the same barriers cut off
in the middle must be walked round.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from benchmarks.figures import Figure
from routescreen.corridor.burn_moves import StraightPieces
from routescreen.corridor.obstacles import Obstacles
from routescreen.corridor.stencil import MOVES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

N_BARRIERS, N_QUICK, BATCH = 100_000, 2_000, 500
N_COLUMNS, N_ROWS, CELL_M = 30, 9, 10.0
STEEPEST_DEG = 65.0  # of a barrier from square across the frame
HALF_HEIGHT_M = 60.0  # of a barrier; the rows reach 40 m to either side


def barriers(*, is_quick: bool = False) -> list[Figure]:
    """Return how many barriers leak, and that those cut off are walked round."""
    rng = np.random.default_rng(1)
    n = N_QUICK if is_quick else N_BARRIERS
    pieces, move_at = _pieces()
    n_leaks, n_round = 0, 0
    for _ in range(n // BATCH):
        place = _places(rng)
        n_leaks += int(reaches_the_end(meets(pieces, move_at, slabs(*place, HALF_HEIGHT_M))).sum())
        n_round += int(reaches_the_end(meets(pieces, move_at, slabs(*place, 0.0))).sum())
    return [
        Figure("open_barriers", n, "barriers", None if is_quick else N_BARRIERS),
        Figure("open_barriers_leaking", n_leaks, "barriers", 0, is_most=True),
        Figure("open_barriers_cut_off_walked_round", n_round, "barriers", n),
    ]


def _pieces() -> tuple[StraightPieces, NDArray[np.int64]]:
    """Return all moves of the frame as pieces, and the column, row and move of each, shape (n, 3)."""
    column, row, move = (a.ravel() for a in np.indices((N_COLUMNS, N_ROWS, len(MOVES))))
    to_column, to_row = column + MOVES[move, 0], row + MOVES[move, 1]
    fits = (to_column < N_COLUMNS) & (to_row >= 0) & (to_row < N_ROWS)
    middle = N_ROWS // 2
    start = CELL_M * np.stack([column, middle - row], axis=1)[fits].astype(np.float64)
    end = CELL_M * np.stack([to_column, middle - to_row], axis=1)[fits].astype(np.float64)
    return StraightPieces.of(start, end), np.stack([column, row, move], axis=1)[fits].astype(np.int64)


def _places(rng: np.random.Generator) -> tuple[Floats, Floats, Floats]:
    """Return middles along the frame [m], angles from square across [rad] and widths [m] of a batch."""
    middle_m = 0.5 * CELL_M * (N_COLUMNS - 1) + rng.uniform(-10.0, 10.0, BATCH)
    angle = np.radians(rng.uniform(-STEEPEST_DEG, STEEPEST_DEG, BATCH))
    return middle_m, angle, rng.uniform(0.1, 1.0, BATCH)


def slabs(middle_m: Floats, angle_rad: Floats, width_m: Floats, top_m: float) -> NDArray[np.object_]:
    """Return barriers from below the frame up to a height above its middle row."""
    y = np.array([-HALF_HEIGHT_M, -HALF_HEIGHT_M, top_m, top_m])
    half = np.array([-0.5, 0.5, 0.5, -0.5]) * (width_m / np.cos(angle_rad))[:, None]
    x = middle_m[:, None] + y * np.tan(angle_rad)[:, None] + half
    ring = np.stack([x, np.broadcast_to(y, x.shape)], axis=-1)
    return np.asarray(shapely.polygons(ring), dtype=object)


def meets(
    pieces: StraightPieces, move_at: NDArray[np.int64], outline: NDArray[np.object_]
) -> NDArray[np.bool_]:
    """Return which moves each barrier meets, shape (barriers, columns, rows, moves)."""
    obstacles = Obstacles.of(outline, np.zeros(len(outline)))
    barrier, piece = obstacles.too_near(pieces.lines, obstacles.near(pieces.bounds_m))
    found = np.zeros((len(outline), N_COLUMNS, N_ROWS, len(MOVES)), np.bool_)
    found[(barrier, *move_at[piece].T)] = True
    return found


def reaches_the_end(is_met: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return for each barrier whether moves that don't meet it lead from the first to the last column."""
    is_reached = np.zeros((len(is_met), N_COLUMNS, N_ROWS), np.bool_)
    is_reached[:, 0] = True
    for column in range(N_COLUMNS):
        for v, (dc, dr) in enumerate(MOVES.tolist()):
            low, high = max(0, -dr), min(N_ROWS, N_ROWS - dr)
            if column + dc < N_COLUMNS:
                on = is_reached[:, column, low:high] & ~is_met[:, column, low:high, v]
                is_reached[:, column + dc, low + dr : high + dr] |= on
    return np.asarray(is_reached[:, -1].any(axis=1))
