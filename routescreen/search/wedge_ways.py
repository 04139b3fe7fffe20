"""What drives under way cost at least, compiled: column by column along the pass.

Room: ``search``. Lower bounds for ``wedge_kernel``.

All costs here are less the fees of the crossings that part a node from the start (``passed_eur``): a
drive between two nodes pays at least the difference of theirs.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy.ndimage import maximum_filter1d, minimum_filter1d

from routescreen.compiled import compiled
from routescreen.search.arrays import BLOCKED_M
from routescreen.search.shaft_kernel import depth_level

if TYPE_CHECKING:
    from routescreen.search.arrays import Booleans, Floats, Integers, SearchArrays
    from routescreen.search.label_kernel import Ring

FLOOR_SLACK_M = 1e-6  # a line through ceiling and floor alike is left to the exact look
LOOSE_M = 2.0 * FLOOR_SLACK_M  # likewise at the edges of a gap, which has a slack of its own
SLACK_M = 1e-7
LEAST_COSINE = 0.5  # lines that turn further than this against the axis are not bounded by wedges


class Ways(NamedTuple):
    """Least costs of drives under way.

    What stands by column or boundary stands at its number modulo n, for as long as a drive can reach it.
    `rate_eur`, `ceiling_m` (nm, n, ny) the least price of a metre of drive in each cell of a column and its
    highest crown, -inf where nothing may pass [EUR/m, m]; `below_m` (nm, n, ny) the highest crown below the
    gap of the cable's heat where a line that comes from below it next to the cell can't be above it, else
    inf; `floor_eur` (nm, nx) the least rate of a column, inf where it is closed;
    `way_eur` (2, nm, n, ny) by boundary and row: least cost of any drive that crosses it there (0), and of
    one that runs below the gap on the pass's side of the boundary (1); `pair_rate_eur`, `pair_ceiling_m`,
    `pair_below_m` and `pair_way_eur` hold the better of a row and the next; `node_eur` (2, nm, n, ny) by
    column and row: least cost of a start there, `start_eur` (nm, n) the least of each column; `rest_eur`
    (nm, n) by columns ahead of the column at work: least cost of any drive that starts further on; `reach`
    (nm,) columns that a drive can span from there, `longest_m` (nm,) the longest in any soil [m]; `spread`
    (1,) rows that a line may change in a column; `opened` (n,) the column whose cells stand in each place;
    `is_bounded` (nx,) whether lines to a column turn little enough against the axis to be bounded.
    """

    rate_eur: Floats
    pair_rate_eur: Floats
    ceiling_m: Floats
    pair_ceiling_m: Floats
    below_m: Floats
    pair_below_m: Floats
    floor_eur: Floats
    way_eur: Floats
    pair_way_eur: Floats
    node_eur: Floats
    start_eur: Floats
    rest_eur: Floats
    reach: Integers
    longest_m: Floats
    spread: Integers
    opened: Integers
    is_bounded: Booleans


def new_ways(s: SearchArrays) -> Ways:
    """Make the work space of a pass."""
    n_methods, nx, ny = s.drive.ceiling_m.shape
    n, turn_rad = s.longest_columns + 3, _turn_rad(s)
    rate, pair_rate, ceiling, pair_ceiling = (np.zeros((n_methods, n, ny)) for _ in range(4))
    return Ways(
        rate,
        pair_rate,
        ceiling,
        pair_ceiling,
        np.full((n_methods, n, ny), math.inf),
        np.full((n_methods, n, ny), math.inf),
        np.full((n_methods, nx), math.inf),
        np.full((2, n_methods, n, ny), math.inf),
        np.full((2, n_methods, n, ny), math.inf),
        np.full((2, n_methods, n, ny), math.inf),
        np.full((n_methods, n), math.inf),
        np.full((n_methods, n), math.inf),
        np.zeros(n_methods, np.int64),
        _longest_m(s),
        np.array([_spread_rows(s, float(turn_rad.max()))]),
        np.full(n, -1),
        math.atan(s.max_tan) + turn_rad < math.acos(LEAST_COSINE),
    )


def _longest_m(s: SearchArrays) -> Floats:
    """Return how far a drive of each method may reach in plan: in any soil, and as far as an arc may turn."""
    longest_m = s.drive.longest_m.max(axis=1)
    grades = s.drive.slope_max_frac - s.drive.slope_min_frac
    is_arc = s.drive.arc_per_m > 0.0
    turned_m = grades / (2.0 * np.where(is_arc, s.drive.arc_per_m, 1.0)) * (1.0 + 1e-9)
    return np.asarray(np.where(is_arc, np.minimum(longest_m, turned_m), longest_m))


def _turn_rad(s: SearchArrays) -> Floats:
    """Return by how much the axis turns at most between a column and those in reach, (nx,) [rad]."""
    nx = s.frame.tangent.shape[0]
    tangent = np.empty((2 * nx + 1, 2))  # boundary, column, boundary, ...
    tangent[0::2], tangent[1::2] = s.frame.boundary_tangent, s.frame.tangent
    heading = np.unwrap(np.arctan2(tangent[:, 1], tangent[:, 0]))
    window = 4 * s.longest_columns + 3
    highest, lowest = maximum_filter1d(heading, window)[1::2], minimum_filter1d(heading, window)[1::2]
    return np.asarray(np.maximum(highest - heading[1::2], heading[1::2] - lowest))


def _spread_rows(s: SearchArrays, turn_rad: float) -> int:
    """Return how many rows a line may change from boundary to boundary, within the turns bounded."""
    steepest = min(math.atan(s.max_tan) + turn_rad, math.acos(LEAST_COSINE))
    widest = s.frame.column_m
    if s.ground.ground_m.shape[0] > 1:
        widest = max(widest, float(np.linalg.norm(np.diff(s.frame.node_xy_m, axis=0), axis=-1).max()))
    return max(1, math.ceil(math.tan(steepest) * widest / s.frame.cell_m))


@compiled
def open_column(s: SearchArrays, ways: Ways, column: int) -> None:
    """Fill the least price of a metre, pipe included, and the highest crown of a column's cells."""
    n_methods, n, ny = ways.rate_eur.shape
    slot = column % n
    if ways.opened[slot] == column:
        return
    ways.opened[slot] = column
    for method in range(n_methods):
        piece = s.drive.piece_eur[method] / s.drive.piece_m
        floor = math.inf
        for row in range(ny):
            ceiling = min(
                s.drive.ceiling_m[method, column, row], s.drive.service_ceiling_m[method, column, row]
            )
            ceiling = _under_gap(s, method, column, row, ceiling)
            rate = piece + _least_rate(s, method, column, row, ceiling - s.drive.bore_m[method] / 2.0)
            if rate == math.inf or _is_below_floor(s, method, column, row, ceiling):
                ceiling = -math.inf
            ways.ceiling_m[method, slot, row], ways.rate_eur[method, slot, row] = ceiling, rate
            if ceiling >= BLOCKED_M:
                floor = min(floor, rate)
        ways.floor_eur[method, column] = floor
        for row in range(ny):
            beside = min(row + 1, ny - 1)
            ways.pair_rate_eur[method, slot, row] = min(
                ways.rate_eur[method, slot, row], ways.rate_eur[method, slot, beside]
            )
            ways.pair_ceiling_m[method, slot, row] = max(
                ways.ceiling_m[method, slot, row], ways.ceiling_m[method, slot, beside]
            )
        if has_gap(s, method):
            _open_gap(s, ways, method, column)


@compiled
def has_gap(s: SearchArrays, method: int) -> bool:
    """Return whether a method's lines are held out of the gap of the cable's heat by what they touch."""
    return bool(s.drive.gap.has_gap[method] and not s.drilled.is_drilled[method])


@compiled
def _open_gap(s: SearchArrays, ways: Ways, method: int, column: int) -> None:
    """Fill the highest crowns below the gap in a column; see ``Ways`` and ``_below_gap``."""
    n, ny = ways.below_m.shape[1], ways.below_m.shape[2]
    slot = column % n
    for row in range(ny):
        ways.below_m[method, slot, row] = _below_gap(s, method, column, row, ways.spread[0] + 1)
    for row in range(ny):
        beside = min(row + 1, ny - 1)
        ways.pair_below_m[method, slot, row] = max(
            ways.below_m[method, slot, row], ways.below_m[method, slot, beside]
        )


@compiled
def _below_gap(s: SearchArrays, method: int, column: int, row: int, spread: int) -> float:
    """Return the highest crown below a cell's gap, inf where a line from below one may be above it here.

    Where a line passes from a cell below its gap into this one, its crown at their edge lies below the gap
    of the former; if that is lower than where this cell's gap ends, the line can't be above it here, and as
    it may not be in it, it is below it on the whole of the column. All cells count that a line which touches
    this one may touch in this column and the next on either side.
    """
    gap, (nx, ny) = s.drive.gap, s.ground.ground_m.shape
    until = gap.dry_floor_m[method, column, row] - 2.0 * LOOSE_M
    for there in range(max(column - 1, 0), min(column + 1, nx - 1) + 1):
        for beside in range(max(row - spread, 0), min(row + spread, ny - 1) + 1):
            if not gap.wet_ceiling_m[method, there, beside] < until:
                return math.inf
    return float(gap.wet_ceiling_m[method, column, row] + LOOSE_M)


@compiled
def _least_rate(s: SearchArrays, method: int, column: int, row: int, highest_m: float) -> float:
    """Return the least rate of a method in the fine cells of a cell, its axis no higher than a level.

    Only of ground that the method can pass: inf where there is none. A line with any length in the cell is
    then no drive, as ``drive_price_kernel.with_drive_price`` finds.
    """
    na = s.fine.kind.shape[0] // s.ground.ground_m.shape[0]
    nb = s.fine.kind.shape[1] // s.ground.ground_m.shape[1]
    least = math.inf
    for i in range(column * na, (column + 1) * na):
        for j in range(row * nb, (row + 1) * nb):
            kind = s.fine.kind[i, j]
            if s.drive.longest_m[method, s.fine.rock_soil[kind]] > 0.0:
                least = min(least, s.drive.rock_eur_per_m[method, kind])
            can_pass = s.drive.longest_m[method, s.fine.soil[kind]] > 0.0
            if can_pass and highest_m >= s.fine.rock_level_m[i, j]:
                least = min(least, s.drive.soil_eur_per_m[method, kind])
    return least


@compiled
def _under_gap(s: SearchArrays, method: int, column: int, row: int, ceiling_m: float) -> float:
    """Return the highest crown in a cell, below the gap of its cable's heat where the ceiling lies in it.

    Below the ceiling no crown keeps above the gap, so it must keep below, as ``drive_price_kernel.is_in_gap``
    asks of every cell that a line touches.
    """
    gap = s.drive.gap
    if not gap.has_gap[method] or s.drilled.is_drilled[method]:  # near its pits it is held to no ceiling
        return ceiling_m
    if ceiling_m >= gap.dry_floor_m[method, column, row] - LOOSE_M:
        return ceiling_m
    return float(min(ceiling_m, gap.wet_ceiling_m[method, column, row] + LOOSE_M))


@compiled
def _is_below_floor(s: SearchArrays, method: int, column: int, row: int, ceiling_m: float) -> bool:
    """Return whether a crown under a cell's ceiling lies too deep for the cable's heat there."""
    if s.drilled.is_drilled[method]:  # near its pits it is held to no ceiling
        return False
    return bool(s.drive.floor_m[method, column, row] > ceiling_m + FLOOR_SLACK_M)


@compiled
def run_on(s: SearchArrays, ways: Ways, ring: Ring, column: int, is_forward: bool) -> None:
    """Bring the drives under way over one column, those that start in it included.

    Lines may bend from boundary to boundary here, which only makes the bound lower.

    Parameters
    ----------
    ring : Ring
        Start costs of each node; see ``label_kernel.Ring``.
    """
    n_methods, n, ny = ways.rate_eur.shape
    open_column(s, ways, column)  # where no drive was looked for in the column itself
    here, beyond = (column, column + 1) if is_forward else (column + 1, column)
    for method in range(n_methods):
        ways.start_eur[method, column % n] = math.inf
        for side in range(2 if has_gap(s, method) else 1):
            for row in range(ny):
                ways.way_eur[side, method, beyond % n, row] = math.inf
            for row in range(ny):
                start = _least_start_eur(s, ways, ring, side, method, column, row)
                start -= (1.0 if is_forward else -1.0) * s.drive.passed_eur[method, column, row]
                ways.node_eur[side, method, column % n, row] = start
                if side == 0:
                    ways.start_eur[method, column % n] = min(ways.start_eur[method, column % n], start)
                if ways.ceiling_m[method, column % n, row] >= BLOCKED_M:
                    place = (column % n, here % n, beyond % n)
                    _run_on_from(ways, s.frame.width_m[column], side, method, place, row, start)
            for row in range(ny):
                ways.pair_way_eur[side, method, beyond % n, row] = min(
                    ways.way_eur[side, method, beyond % n, row],
                    ways.way_eur[side, method, beyond % n, min(row + 1, ny - 1)],
                )


@compiled
def _least_start_eur(
    s: SearchArrays, ways: Ways, ring: Ring, side: int, method: int, column: int, row: int
) -> float:
    """Return the least cost of a start of a method at a node; on side 1 of one that begins below the gap."""
    slot, n_levels = column % ring.start_eur.shape[0], ring.start_eur.shape[3]
    below = ways.below_m[method, column % ways.opened.shape[0], row] if side == 1 else math.inf
    least = math.inf
    for role in range(1 + 2 * method, 3 + 2 * method):
        if ring.least_eur[slot, row, role] == math.inf:
            continue
        level = ring.least_level[slot, row, role]
        if below < math.inf:
            ground = s.ground.ground_m[column, row]
            level = max(level, depth_level(s, ground, below + SLACK_M, s.drive.bore_m[method], role))
        if level < n_levels:
            pump = s.drive.pump_eur[method] if level >= s.shaft.wet_level[column, row] else 0.0
            least = min(least, ring.start_eur[slot, row, role, level] + pump)
    return least


@compiled
def _run_on_from(
    ways: Ways,
    width_m: float,
    side: int,
    method: int,
    place: tuple[int, int, int],
    row: int,
    start_eur: float,
) -> None:
    """Bring a start at a node, and the drives that enter its column there, to the boundary beyond.

    `place` holds those of the column and of both its boundaries. A drive that runs below the gap beyond a
    cell did so before it, if the cell allows no step over the gap.
    """
    slot, here, beyond = place
    ny, spread = ways.rate_eur.shape[2], ways.spread[0]
    is_held = side == 1 and ways.below_m[method, slot, row] < math.inf
    before = ways.way_eur[1 if is_held else 0, method, here, row]
    if before == math.inf and start_eur == math.inf:
        return
    for to in range(max(row - spread, 0), min(row + spread, ny - 1) + 1):
        if ways.ceiling_m[method, slot, to] < BLOCKED_M:
            continue
        rate = math.inf
        for between in range(min(row, to), max(row, to) + 1):
            rate = min(rate, ways.rate_eur[method, slot, between])
        eur = min(before + rate * width_m, start_eur)
        ways.way_eur[side, method, beyond, to] = min(ways.way_eur[side, method, beyond, to], eur)


@compiled
def look_ahead(s: SearchArrays, ways: Ways, column: int, is_forward: bool, most: int) -> None:
    """Reckon for a column how far each method reaches and what the starts further on cost at least."""
    n = ways.rate_eur.shape[1]
    for method in range(ways.reach.shape[0]):
        reach = _reach(s, ways.longest_m[method], column, is_forward, most)
        ways.reach[method] = reach
        ways.rest_eur[method, reach] = math.inf
        beyond = math.inf
        slot = (column - reach if is_forward else column + reach) % n
        for m in range(reach - 1, -1, -1):
            there = column - m - 1 if is_forward else column + m + 1
            floor = ways.floor_eur[method, there]
            beyond = math.inf if floor == math.inf else beyond + floor * s.frame.width_m[there]
            beyond = min(ways.start_eur[method, slot], beyond)
            ways.rest_eur[method, m] = beyond
            slot = slot + 1 if is_forward else slot - 1  # counted on: a remainder is a slow division
            slot = 0 if slot == n else (n - 1 if slot < 0 else slot)


@compiled
def _reach(s: SearchArrays, longest_m: float, column: int, is_forward: bool, most: int) -> int:
    """Return how many columns a drive of a method can span from a column, at most `most`."""
    length = 0.0
    for n in range(1, most + 1):  # the columns strictly between are passed whole
        if length > longest_m:
            return n - 1
        length += s.frame.width_m[column - n if is_forward else column + n]
    return most


@compiled
def least_way_eur(ways: Ways, method: int, boundary: int, first: int, last: int) -> float:
    """Return the least cost of any drive over a boundary between two rows."""
    n, ny = ways.rate_eur.shape[1], ways.rate_eur.shape[2]
    least = math.inf
    for row in range(max(first, 0), min(last, ny - 1) + 1):
        least = min(least, ways.way_eur[0, method, boundary % n, row])
    return least
