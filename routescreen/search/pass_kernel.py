"""One pass over the frame, compiled: least cost to every state of every node.

Room: ``search``. The same code runs forward from the start terminal and backward from the end
terminal; the backward pass is the forward pass of the mirrored corridor, and both price moves and
drives with the same functions on the same lines.

States of a node: open cut 0 .. K - 1 columns since a closed shaft (*fresh*, K =
``trench.fresh_columns``), open cut *free* (index K), and labels: a shaft whose drive has arrived but
which is not yet closed, with the cost without the shaft, the depth that drive needs and its role.

A label is dropped where the free open cut is no dearer than it (whatever it can do, the free trench
does as cheaply, since a shaft for two drives never costs less than one for the second drive alone),
or where another label of its role is as cheap at every depth and for every outgoing role. A pair is
not scanned where the least cost at its other end, with its length at the least rate of the columns
between, can't beat what is known here. Both rules lose no optimum; `is_pruned` switches the second
and the early form of the first off.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from routescreen.compiled import by_reference, compiled
from routescreen.search.arrays import BLOCKED_M, Floats, Integers, SearchArrays
from routescreen.search.drive_kernel import (
    drive_key,
    heading_bin,
    is_banned,
    scan,
    settle,
)
from routescreen.search.label_kernel import (
    Found,
    PassResult,
    Ring,
    Scratch,
    fill_ring,
    highest,
    keep_labels,
    least_levels,
    lower_threshold,
    new_result,
    new_scratch,
    reset,
    start_eur,
    with_room,
)

if TYPE_CHECKING:
    from routescreen.search.drive_price_kernel import Work


@compiled
def _relax_trench(
    s: SearchArrays, r: PassResult, pins: Integers, column: int, row: int, is_forward: bool, first: int
) -> None:
    """Bring open cut to a node by every move that ends there in the pass's direction."""
    k = s.trench.fresh_columns
    nx, ny = s.ground.ground_m.shape
    for v in range(s.trench.moves.shape[0]):
        dc, dr = s.trench.moves[v, 0], s.trench.moves[v, 1]
        pc, pr = (column - dc, row - dr) if is_forward else (column + dc, row + dr)
        if pc < 0 or pc >= nx or pr < 0 or pr >= ny or _has_pin_between(pins, pc, column):
            continue
        if is_forward:
            eur = s.trench.move_eur[pc, pr, v] + s.trench.entry_eur[pc, pr, v]
        else:
            eur = s.trench.move_eur[column, row, v] + s.trench.entry_back_eur[column, row, v]
        if eur == math.inf:
            continue
        for state in range(k + 1):
            before = r.trench_eur[state, pc, pr]
            if before == math.inf or (state > 0 and s.pin_shaft[pc] >= 0):
                continue
            total = before + eur
            if state == 0 or pc == first:
                total += s.trench.inside_eur[pc, pr]
            after = min(state + dc, k)
            if total < r.trench_eur[after, column, row]:
                r.trench_eur[after, column, row] = total
                r.trench_move[after, column, row] = v
                r.trench_from[after, column, row] = state


@compiled
def _keeps_pins(s: SearchArrays, column: int, row: int) -> bool:
    """Return whether a plan may have this node: no pin of its column lies in another row."""
    shaft, via = s.pin_shaft[column], s.pin_via[column]
    return bool((shaft < 0 or shaft == row) and (via < 0 or via == row))


@compiled
def _has_pin_between(pins: Integers, one: int, other: int) -> bool:
    """Return whether a pinned column lies strictly between two columns; `pins` counts up to each."""
    low, high = min(one, other), max(one, other)
    return bool(pins[high] - pins[low + 1] > 0)


@compiled
def _try_pair(
    s: SearchArrays,
    ring: Ring,
    found: Found,
    work: Work,
    floor_eur_per_m: Floats,
    inner: Floats,
    column: int,
    row: int,
    other: int,
    other_row: int,
    is_pruned: bool,
) -> int:
    """Judge all drives between a node and another; return how many lines were scanned.

    No drive is cheaper than the columns between at their least rates for their least widths (`inner`:
    EUR and metres by method), the rest of its length at the least rate of all (`floor_eur_per_m`),
    and what it costs whole.
    """
    a, ja, b, jb = (other, other_row, column, row) if other < column else (column, row, other, other_row)
    slot, ny = other % ring.least_eur.shape[0], s.ground.ground_m.shape[1]
    dx = s.frame.node_xy_m[b, jb, 0] - s.frame.node_xy_m[a, ja, 0]
    dy = s.frame.node_xy_m[b, jb, 1] - s.frame.node_xy_m[a, ja, 1]
    length = math.hypot(dx, dy)
    lower_bin, upper_bin = -2, -2  # found only for pairs that the bound lets through
    n_methods, n_scans = s.drive.bore_m.shape[0], 0
    for method in range(n_methods):
        bound = inner[0, method] + (length - inner[1, method]) * floor_eur_per_m[method]
        bound += s.drive.fixed_eur[method]
        bound += s.drive.piece_eur[method] * math.ceil(length / s.drive.piece_m - 1e-9)
        if bound == math.inf or length > _longest_m(s, method):
            continue
        is_scanned = False
        for at_lower in range(2):
            lower_role, upper_role = 2 + 2 * method - at_lower, 1 + 2 * method + at_lower
            here, there = (upper_role, lower_role) if other < column else (lower_role, upper_role)
            least = ring.least_eur[slot, other_row, there]
            if least == math.inf or found.least[here] >= found.eur.shape[1]:
                continue
            reception, reception_row = (b, jb) if at_lower == 1 else (a, ja)
            layout = s.drive.layout_eur[method, reception, reception_row]
            layout += s.drive.layout_eur_per_m[method, reception, reception_row] * length
            if is_pruned and least + bound + layout >= found.threshold[here, found.least[here]]:
                continue
            if lower_bin == -2:
                lower_bin = heading_bin(s, a, dx / length, dy / length)
                upper_bin = heading_bin(s, b, dx / length, dy / length)
            if lower_bin < 0 or upper_bin < 0:
                return n_scans
            if not s.shaft.is_allowed[a, ja, method, 1 - at_lower, lower_bin]:
                continue
            if not s.shaft.is_allowed[b, jb, method, at_lower, upper_bin]:
                continue
            key = drive_key(
                s.ground.ground_m.size, n_methods, a * ny + ja, b * ny + jb, method, at_lower == 1
            )
            if s.drive.banned.shape[0] > 0 and is_banned(s.drive.banned, key):
                continue
            if not is_scanned:
                n_scans += 1
                is_scanned = True
                if not scan(s, work, method, a, ja, b, jb):
                    break
            drive = settle(s, work, method, a, ja, b, jb, at_lower == 1)
            if not drive.is_feasible:
                continue
            level, far = drive.upper_level, drive.lower_level
            if other > column:
                level, far = far, level
            eur = ring.start_eur[slot, other_row, there, far] + drive.eur
            if eur < found.threshold[here, level]:
                found.eur[here, level] = eur
                found.other[here, level] = other * ny + other_row
                found.drive[here, level] = 2 * method + at_lower
                lower_threshold(s, found, column, row, here, level)
    return n_scans


@compiled
def _collect_drives(
    s: SearchArrays,
    r: PassResult,
    ring: Ring,
    found: Found,
    work: Work,
    rate_floor: Floats,
    pins: Integers,
    column: int,
    row: int,
    is_forward: bool,
    is_pruned: bool,
) -> tuple[int, int]:
    """Judge every drive that arrives at a node; return how many pairs and how many scans."""
    nx, ny = s.ground.ground_m.shape
    floor, longest_m = np.empty(rate_floor.shape[0]), np.empty(rate_floor.shape[0])
    for method in range(floor.shape[0]):
        floor[method], longest_m[method] = rate_floor[method, column], _longest_m(s, method)
    reach = min(s.longest_columns, column if is_forward else nx - 1 - column)
    n_pairs, n_scans = 0, 0
    if is_pruned:
        n_scans += _try_neighbours(s, r, ring, found, work, pins, column, row, is_forward, is_pruned, reach)
    to_beat = np.empty(floor.shape[0])
    inner = np.zeros((2, floor.shape[0]))
    for n in range(1, reach + 1):
        other = column - n if is_forward else column + n
        is_blocked = True
        for method in range(floor.shape[0]):
            if n > 1:
                passed = other + 1 if is_forward else other - 1
                inner[0, method] += rate_floor[method, passed] * s.frame.width_m[passed]
                inner[1, method] += s.frame.width_m[passed]
            worse = rate_floor[method, other]
            floor[method] = math.inf if worse == math.inf else min(floor[method], worse)
            to_beat[method] = max(highest(found, 1 + 2 * method), highest(found, 2 + 2 * method))
            if (n - 1) * s.frame.gap_m > longest_m[method]:
                to_beat[method] = -math.inf
            is_blocked = is_blocked and floor[method] == math.inf
        if is_blocked or _has_pin_between(pins, other, column):
            break
        slot = other % ring.least_eur.shape[0]
        spread = _row_reach(s, n)
        for other_row in range(max(0, row - spread), min(ny - 1, row + spread) + 1):
            start = ring.node_eur[slot, other_row]
            if start == math.inf:
                continue
            n_pairs += 1
            if is_pruned:
                dx = s.frame.node_xy_m[column, row, 0] - s.frame.node_xy_m[other, other_row, 0]
                dy = s.frame.node_xy_m[column, row, 1] - s.frame.node_xy_m[other, other_row, 1]
                if _is_beaten(start, math.sqrt(dx * dx + dy * dy), floor, inner, to_beat):
                    continue
            n_scans += _try_pair(s, ring, found, work, floor, inner, column, row, other, other_row, is_pruned)
    return n_pairs, n_scans


@compiled
def _row_reach(s: SearchArrays, n_columns: int) -> int:
    """Return how many rows a drive over some columns may change."""
    return math.floor(s.max_tan * n_columns * s.frame.column_m / s.frame.cell_m + 1e-9)


@compiled
def _longest_m(s: SearchArrays, method: int) -> float:
    """Return the longest drive of a method in any soil [m]."""
    longest = 0.0
    for soil in range(s.drive.longest_m.shape[1]):
        longest = max(longest, s.drive.longest_m[method, soil])
    return longest


@compiled
def _is_beaten(
    start_eur_: float, length_m: float, floor_eur_per_m: Floats, inner: Floats, to_beat: Floats
) -> bool:
    """Return whether no method can bring a drive of this length below what is to beat."""
    for method in range(floor_eur_per_m.shape[0]):
        rest = (length_m - inner[1, method]) * floor_eur_per_m[method]
        if start_eur_ + inner[0, method] + rest < to_beat[method]:
            return False
    return True


@compiled
def _try_neighbours(
    s: SearchArrays,
    r: PassResult,
    ring: Ring,
    found: Found,
    work: Work,
    pins: Integers,
    column: int,
    row: int,
    is_forward: bool,
    is_pruned: bool,
    reach: int,
) -> int:
    """Judge first the drives that served the nodes just before, so that little is left to beat them.

    Each drive that a neighbour in the column before keeps is tried with its far end where it is and
    moved along with the node. It only lowers thresholds early; no pair is judged differently.
    """
    ny, n_scans = s.ground.ground_m.shape[1], 0
    before = column - 1 if is_forward else column + 1
    if reach < 2:
        return 0
    no_floor, no_inner = np.zeros(s.drive.bore_m.shape[0]), np.zeros((2, s.drive.bore_m.shape[0]))
    for beside in range(max(0, row - 1), min(ny - 1, row + 1) + 1):
        node = before * ny + beside
        for index in range(r.label_start[node], r.label_start[node] + r.label_count[node]):
            other, other_row = r.label_other[index] // ny, r.label_other[index] % ny + row - beside
            for shift in range(2):
                there = other + (column - before) * shift
                n = abs(column - there)
                if n < 1 or n > reach or other_row < 0 or other_row >= ny:
                    continue
                if abs(other_row - row) > _row_reach(s, n) or _has_pin_between(pins, there, column):
                    continue
                if ring.node_eur[there % ring.least_eur.shape[0], other_row] < math.inf:
                    n_scans += _try_pair(
                        s, ring, found, work, no_floor, no_inner, column, row, there, other_row, is_pruned
                    )
    return n_scans


@compiled
def _rate_floor(s: SearchArrays) -> Floats:
    """Return the least rate of each method in each column, inf where the column is blocked."""
    n_methods, nx, ny = s.drive.ceiling_m.shape
    floor = np.full((n_methods, nx), math.inf)
    for method in range(n_methods):
        for column in range(nx):
            for row in range(ny):
                if s.drive.ceiling_m[method, column, row] >= BLOCKED_M:
                    floor[method, column] = min(floor[method, column], _least_rate(s, method, column, row))
    return floor


@compiled
def _least_rate(s: SearchArrays, method: int, column: int, row: int) -> float:
    """Return the least rate of a method in the fine cells of a cell."""
    na = s.fine.kind.shape[0] // s.ground.ground_m.shape[0]
    nb = s.fine.kind.shape[1] // s.ground.ground_m.shape[1]
    least = math.inf
    for i in range(column * na, (column + 1) * na):
        for j in range(row * nb, (row + 1) * nb):
            kind = s.fine.kind[i, j]
            least = min(least, s.drive.soil_eur_per_m[method, kind], s.drive.rock_eur_per_m[method, kind])
    return least


def run_pass(
    s: SearchArrays, is_forward: bool, n_columns: int, is_pruned: bool, reached: Integers
) -> PassResult:
    """Run one pass over the first `n_columns` columns in its direction.

    Parameters
    ----------
    s : SearchArrays
    is_forward : bool
        From the start terminal upwards, else from the end terminal downwards.
    n_columns : int
        How many columns to visit.
    is_pruned : bool
        Whether pairs that can't win are passed over (no change of any optimum).
    reached : ndarray of int64, shape (1,)
        Counts the visited columns, for progress.

    Returns
    -------
    PassResult
    """
    return _pass(s, new_scratch(s), is_forward, n_columns, is_pruned, reached)


@compiled
def _pass(
    s: SearchArrays,
    scratch: Scratch,
    is_forward: bool,
    n_columns: int,
    is_pruned: bool,
    reached: Integers,
) -> PassResult:
    return _run(by_reference(s), by_reference(scratch), is_forward, n_columns, is_pruned, reached)


@compiled
def _run(
    s: SearchArrays,
    scratch: Scratch,
    is_forward: bool,
    n_columns: int,
    is_pruned: bool,
    reached: Integers,
) -> PassResult:
    """Run the pass; see ``run_pass``."""
    ring, found, work = scratch.ring, scratch.found, scratch.work
    nx, ny = s.ground.ground_m.shape
    n_roles, n_levels = s.shaft.table_eur.shape[2], s.shaft.table_eur.shape[4]
    k = s.trench.fresh_columns
    r = new_result(s, 4 * ny * n_roles * n_levels)
    size = ring.node_eur.shape[0]
    rate_floor = _rate_floor(s)
    pins = np.zeros(nx + 1, np.int64)
    for column in range(nx):
        pins[column + 1] = pins[column] + (1 if s.pin_shaft[column] >= 0 or s.pin_via[column] >= 0 else 0)
    first = 0 if is_forward else nx - 1
    first_row = s.start_row if is_forward else s.end_row
    if _keeps_pins(s, first, first_row):
        r.trench_eur[k, first, first_row] = 0.0
    n_labels, n_scans, n_pairs = 0, 0, 0
    for step in range(n_columns):
        column = step if is_forward else nx - 1 - step
        reached[0] = step
        if n_labels + ny * n_roles * n_levels > r.label_eur.shape[0]:
            r = with_room(r)
        for row in range(ny):
            is_here = _keeps_pins(s, column, row)
            if is_here and step > 0:
                _relax_trench(s, r, pins, column, row, is_forward, first)
            node = column * ny + row
            r.label_start[node] = n_labels
            free_eur = math.inf if s.pin_shaft[column] >= 0 else r.trench_eur[k, column, row]
            if is_here and reset(s, found, column, row, free_eur) and step > 0:
                pairs, scans = _collect_drives(
                    s, r, ring, found, work, rate_floor, pins, column, row, is_forward, is_pruned
                )
                n_pairs += pairs
                n_scans += scans
                n_labels = keep_labels(s, r, found, column, row, n_labels)
            ring.node_eur[column % size, row] = math.inf
            ring.least_eur[column % size, row] = math.inf
            if is_here and (r.trench_eur[k, column, row] < math.inf or r.label_count[node] > 0):
                least_levels(s, column, row, found.least)
                fill_ring(s, r, ring, column, row, found.least)
    reached[0] = n_columns
    return PassResult(
        r.trench_eur,
        r.trench_move,
        r.trench_from,
        r.label_start,
        r.label_count,
        r.label_eur[:n_labels],
        r.label_level[:n_labels],
        r.label_role[:n_labels],
        r.label_other[:n_labels],
        r.label_drive[:n_labels],
        n_scans,
        n_pairs,
    )


@compiled
def joined_eur(s: SearchArrays, forward: PassResult, backward: PassResult, column: int) -> float:
    """Return the least cost of all plans that have a node in a column."""
    return _joined_eur(by_reference(s), forward, backward, column)


@compiled
def _joined_eur(s: SearchArrays, forward: PassResult, backward: PassResult, column: int) -> float:
    k = s.trench.fresh_columns
    ny = s.ground.ground_m.shape[1]
    best = math.inf
    for row in range(ny):
        for one in range(k + 1):
            for other in range(k + 1):
                if one + other < k:
                    continue
                eur = forward.trench_eur[one, column, row] + backward.trench_eur[other, column, row]
                if one > 0 and other > 0:
                    if s.pin_shaft[column] >= 0:
                        continue
                    if 0 < column < s.pin_shaft.shape[0] - 1:  # one run from both sides, counted twice
                        eur -= s.trench.inside_eur[column, row]
                best = min(best, eur)
        node = column * ny + row
        for index in range(forward.label_start[node], forward.label_start[node] + forward.label_count[node]):
            rest = start_eur(s, backward, column, row, forward.label_role[index], forward.label_level[index])[
                0
            ]
            best = min(best, forward.label_eur[index] + rest)
    return best
