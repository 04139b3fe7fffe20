"""Straight invented corridors of any length as the search's arrays, made by whole arrays: for speed.

One method, launched from either end. *Typical*: a feature across the corridor every 400 m, every second
closed to open cut, rolling ground. *Dense*: three quarters of the ground closed to open cut as well, hills
that are steeper. A fixed alignment is the same with one row.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import gaussian_filter

from benchmarks.instances import MOVES, fill_prices, no_forces
from routescreen.search.arrays import (
    N_BINS,
    DriveArrays,
    FineArrays,
    FrameArrays,
    GroundArrays,
    SearchArrays,
    ShaftArrays,
    SiteArrays,
    TrenchArrays,
    entry_arrays,
    no_gaps,
    none_drilled,
)
from routescreen.search.layout import open_land

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Booleans = NDArray[np.bool_]

STEP_M, SUMP_M, BORE_M = 0.25, 0.6, 0.56
N_LEVELS, LEAST_LEVEL = 41, 10
FEATURE_EVERY_M = 400.0
OPEN_FRAC = 0.25  # of the ground of a dense corridor
MAX_TAN = float(np.tan(np.radians(30.0)))
N_KINDS, N_SITES = 4, 64


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight corridor: nodes, spacing, the longest drive, the least run of trench, and its character."""

    n_columns: int
    n_rows: int = 51
    cell_m: float = 10.0
    longest_m: float = 600.0
    fresh_columns: int = 2
    is_dense: bool = False

    @property
    def n_nodes(self) -> int:
        """Return the number of nodes."""
        return self.n_columns * self.n_rows


def straight_arrays(size: Straight, *, seed: int = 0) -> SearchArrays:
    """Make the corridor of a size and a seed.

    Parameters
    ----------
    size : Straight
    seed : int

    Returns
    -------
    SearchArrays
        No crossing has a node inside, so that no item depends on where a run begins.
    """
    rng = np.random.default_rng([seed, size.n_columns, size.n_rows])
    nx, ny = size.n_columns, size.n_rows
    relief_m = 6.0 if size.is_dense else 3.0
    ground_m = 60.0 + relief_m * _waves(rng, nx, ny, size.cell_m, 150.0)
    at = _feature_columns(rng, size)
    is_closed = _closed(rng, size, at)
    soil = np.zeros((nx, ny), np.int64)
    return SearchArrays(
        frame=_frame(size),
        trench=_trench(rng, size, is_closed, at),
        ground=GroundArrays(ground_m, ground_m - 2.0 - 3.0 * rng.random((nx, ny)), soil, soil),
        fine=_fine(rng, size),
        drive=_drives(rng, size, ground_m, at),
        drilled=none_drilled(1),
        force=no_forces(1, 1),
        layout=open_land(1, (nx, ny)),
        shaft=_shafts(rng, size),
        pin_shaft=np.full(nx, -1),
        pin_via=np.full(nx, -1),
        start_row=ny // 2,
        end_row=ny // 2,
        longest_columns=min(int(size.longest_m / size.cell_m) + 1, nx - 1),
        max_tan=MAX_TAN,
    )


def _waves(rng: np.random.Generator, nx: int, ny: int, cell_m: float, length_m: float) -> Floats:
    """Return smooth noise of deviation 1."""
    sigma = length_m / cell_m / 2.0
    noise = gaussian_filter(rng.standard_normal((nx, ny)), (sigma, sigma if ny > 1 else 0.0))
    return np.ascontiguousarray(noise / noise.std())


def _feature_columns(rng: np.random.Generator, size: Straight) -> NDArray[np.int64]:
    """Return the column before whose lower boundary each feature lies, about one every 400 m."""
    n = max(1, round(size.n_columns * size.cell_m / FEATURE_EVERY_M))
    middle = (np.arange(n) + 0.5 + rng.uniform(-0.3, 0.3, n)) * size.n_columns / n
    return np.unique(np.clip(middle.astype(np.int64), 5, size.n_columns - 6))


def _closed(rng: np.random.Generator, size: Straight, at: NDArray[np.int64]) -> Booleans:
    """Close every second feature to open cut, 10 to 60 m wide; in a dense corridor most ground too."""
    nx, ny = size.n_columns, size.n_rows
    is_closed = np.zeros((nx, ny), np.bool_)
    if size.is_dense:
        level = _waves(rng, nx, ny, size.cell_m, 200.0)
        is_closed |= level > np.quantile(level, OPEN_FRAC)
    wide = np.maximum(1, (rng.uniform(10.0, 60.0, len(at)) / size.cell_m).astype(np.int64))
    for column, n in zip(at[::2], wide[::2], strict=True):
        is_closed[column : column + n] = True
    is_closed[:4] = is_closed[-4:] = False
    return is_closed


def _frame(size: Straight) -> FrameArrays:
    nx, ny, cell = size.n_columns, size.n_rows, size.cell_m
    offset0 = -(ny // 2) * cell
    x, offset = np.arange(nx) * cell, offset0 + np.arange(ny) * cell
    nodes = np.stack(np.broadcast_arrays(x[:, None], -offset[None, :]), axis=-1)
    boundary = np.stack([(np.arange(nx + 1) - 0.5) * cell, np.zeros(nx + 1)], axis=-1)
    along, along_boundary = np.tile([1.0, 0.0], (nx, 1)), np.tile([1.0, 0.0], (nx + 1, 1))
    width = np.full(nx, cell)
    xy = np.ascontiguousarray(nodes)
    return FrameArrays(xy, along, boundary, along_boundary, offset0, cell, cell, cell, width, 0.52)


def _trench(
    rng: np.random.Generator, size: Straight, is_closed: Booleans, at: NDArray[np.int64]
) -> TrenchArrays:
    """Price moves by their ends' rates; a move that touches closed ground is forbidden."""
    nx, ny = is_closed.shape
    rate = np.exp(6.2 + 0.3 * _waves(rng, nx, ny, size.cell_m, 100.0))
    fee = np.zeros(nx)
    fee[at] = rng.uniform(500.0, 3000.0, len(at))
    paid = np.cumsum(fee)
    moves = MOVES[MOVES[:, 1] == 0] if ny == 1 else MOVES
    move_eur = np.full((nx, ny, len(moves)), np.inf)
    entry = np.zeros_like(move_eur)
    for v, (dc, dr) in enumerate(moves.tolist()):
        low, high = max(0, -dr), min(ny, ny - dr)
        if low >= high or dc >= nx:
            continue
        shut = np.zeros((nx - dc, high - low), np.bool_)
        for k in range(dc + 1):
            for side in {int(np.floor(dr * k / dc)), int(np.ceil(dr * k / dc))}:
                shut |= is_closed[k : nx - dc + k, low + side : high + side]
        ends = rate[: nx - dc, low:high] + rate[dc:, low + dr : high + dr]
        length = size.cell_m * float(np.hypot(dc, dr))
        move_eur[: nx - dc, low:high, v] = np.where(shut, np.inf, 0.5 * length * ends)
        entry[: nx - dc, low:high, v] = (paid[dc:] - paid[: nx - dc])[:, None]
    return TrenchArrays(moves, move_eur, entry_arrays(entry, entry), np.zeros((nx, ny)), size.fresh_columns)


def _fine(rng: np.random.Generator, size: Straight) -> FineArrays:
    """Lay patches of four kinds of ground of one soil, without rock."""
    level = _waves(rng, size.n_columns, size.n_rows, size.cell_m, 120.0)
    kind = np.digitize(level, [-0.7, 0.0, 0.7]).astype(np.int32)
    one = np.zeros(N_KINDS, np.int64)
    return FineArrays(kind, np.full(level.shape, -np.inf, np.float32), one, one)


def _drives(rng: np.random.Generator, size: Straight, ground_m: Floats, at: NDArray[np.int64]) -> DriveArrays:
    """Keep 2 m of cover, more under features; each is a line across the whole frame that costs a fee."""
    nx, ny = ground_m.shape
    cover = np.full((nx, ny), 2.0)
    for column, more in zip(at, rng.uniform(0.5, 2.5, len(at)), strict=True):
        cover[column - 1 : column + 1] += more
    x, reach = (at - 0.5) * size.cell_m, 10.0 * size.cell_m * (ny + 1)
    start, listed = _cell_lists(nx, ny, at)
    fee = rng.uniform(500.0, 3000.0, len(at))
    before = np.concatenate([[0.0], np.cumsum(fee)])[np.searchsorted(at, np.arange(nx), side="right")]
    return DriveArrays(
        ceiling_m=(ground_m - cover)[None],
        service_ceiling_m=np.full((1, nx, ny), 1e9),
        floor_m=np.full((1, nx, ny), -1e9, np.float32),
        gap=no_gaps((1, nx, ny)),
        soil_eur_per_m=np.array([[1100.0, 1200.0, 1300.0, 1500.0]]),
        rock_eur_per_m=np.full((1, N_KINDS), 3000.0),
        segment_xy_m=np.stack([x, np.full_like(x, reach), x, np.full_like(x, -reach)], axis=1),
        segment_tangent=np.tile([0.0, 1.0], (len(at), 1)),
        segment_sin_min_angle=np.full(len(at), np.sin(np.radians(62.0))),
        segment_is_outline=np.ones(len(at), np.bool_),
        segment_crossing=np.arange(len(at)),
        cell_segment_start=start,
        cell_segment=listed,
        drive_fee_eur=fee,
        is_closed=np.zeros((1, len(fee)), np.bool_),
        passed_eur=np.tile(before[:, None], (1, 1, ny)),
        inside_start=np.zeros(nx * ny + 1, np.int64),
        inside_crossing=np.zeros(0, np.int64),
        longest_m=np.full((1, 1), size.longest_m),
        least_length_m=np.array([15.0]),
        slope_min_frac=np.array([-0.05]),
        slope_max_frac=np.array([0.08]),
        arc_per_m=np.zeros(1),
        bore_m=np.array([BORE_M]),
        outer_bore_m=np.zeros(1),
        n_bores=np.ones(1, np.int64),
        deviation_frac=np.array([0.001]),
        head_limit_m=np.array([25.0]),
        fixed_eur=np.array([9000.0]),
        piece_eur=np.array([120.0]),
        piece_m=12.0,
        borehole_eur_per_m=200.0,
        borehole_spacing_m=25.0,
        borehole_below_m=2.0,
        pump_eur=np.zeros(1),
        pump_eur_per_m=np.zeros((1, 1)),
        layout_eur_per_m=np.full((1, nx, ny), 20.0),
        layout_eur=np.full((1, nx, ny), 300.0),
        banned=np.zeros(0, np.int64),
    )


def _cell_lists(nx: int, ny: int, at: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """List each feature in the cells of both columns beside it, in compressed rows."""
    column = np.concatenate([at - 1, at])
    feature = np.concatenate([np.arange(len(at))] * 2)
    order = np.argsort(column, kind="stable")
    counts = np.repeat(np.bincount(column, minlength=nx), ny)
    listed = [np.tile(feature[order][column[order] == c], ny) for c in np.unique(column)]
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int64), np.concatenate(listed).astype(np.int64)


def _shafts(rng: np.random.Generator, size: Straight) -> ShaftArrays:
    """Price shafts by depth: dearer with depth and when wet; one that is shared costs less than two."""
    nx, ny = size.n_columns, size.n_rows
    depth = np.arange(N_LEVELS) * STEP_M
    table = np.zeros((1, 3, 3, 3, N_LEVELS))
    for r in range(3):
        for k in range(3):
            plan = max((0.0, 1.3, 0.9)[r], (0.0, 1.3, 0.9)[k])
            for water in range(3):
                works = plan * ((900.0 + 300.0 * water) * depth + 90.0 * depth**2)
                table[0, water, r, k] = 2500.0 * ((r > 0) + (k > 0)) + 1500.0 + works
    table[:, :, 0, 0] = 0.0
    allowed = rng.random((nx, ny, 1, 1, 1)) < 0.9
    site_eur = np.repeat(rng.uniform(0.0, 2000.0, (N_SITES, 1)), 9, axis=1).reshape(N_SITES, 3, 3)
    kind = rng.integers(0, N_SITES, (nx, ny)).astype(np.int32)
    wet_level = rng.integers(8, 40, (nx, ny))
    return ShaftArrays(
        is_allowed=np.ascontiguousarray(np.broadcast_to(allowed, (nx, ny, 1, 2, N_BINS))),
        table_eur=table,
        ramp_eur=np.zeros((1, N_LEVELS + 1, 3, N_LEVELS)),
        ramp_steps=1,
        **fill_prices(np.random.default_rng(int(wet_level.sum()) + 1), table.shape, wet_level),
        site=SiteArrays(kind, np.zeros((nx, ny)), site_eur, site_eur),
        reached_level=wet_level - 4,
        wet_level=wet_level,
        rock_level=np.full((nx, ny), N_LEVELS),
        least_level=np.full(3, LEAST_LEVEL),
        most_level=np.full(3, N_LEVELS - 1),
        weight_eur_per_m=np.array([[0.0], [2600.0], [1800.0]]),
        sump_m=SUMP_M,
        step_m=STEP_M,
    )
