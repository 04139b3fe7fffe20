"""The drives that arrive at a node, compiled: which pairs are judged, and each judged exactly.

Room: ``search``. With pruning the pairs that ``wedge_kernel`` lets through are judged, the most
promising first; without, all of them. What is found is the same.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled, compiled_within
from routescreen.search.crown_kernel import choose_line
from routescreen.search.drive_kernel import (
    drive_key,
    heading_bin,
    is_banned,
    meet_crossings,
    price_line,
    scan_ceiling,
)
from routescreen.search.drive_price_kernel import least_pump_eur, n_wet_ends
from routescreen.search.label_kernel import lower_threshold
from routescreen.search.wedge_fan import look_from_column, look_from_node
from routescreen.search.wedge_judge import sort_candidates
from routescreen.search.wedge_kernel import collect

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.drive_price_kernel import Work
    from routescreen.search.label_kernel import Found, PassResult, Ring, Scratch
    from routescreen.search.wedge_ways import Ways


@compiled
def judge_all(
    s: SearchArrays,
    ring: Ring,
    found: Found,
    work: Work,
    ways: Ways,
    column: int,
    row: int,
    reach: int,
    is_forward: bool,
    is_pruned: bool,
) -> tuple[int, int]:
    """Judge every pair that ends at a node; return how many pairs and how many scans.

    With `is_pruned` a pair is passed over where its length at the least rate of the columns between is
    too dear; used where the axis turns too far for wedges.
    """
    ny, n_pairs, n_scans = s.ground.ground_m.shape[1], 0, 0
    for method in range(s.drive.bore_m.shape[0]):
        longest, floor = ways.longest_m[method], ways.floor_eur[method, column]
        for n in range(1, reach + 1):
            other = column - n if is_forward else column + n
            worse = ways.floor_eur[method, other]
            if worse == math.inf or floor == math.inf or (n - 1) * s.frame.gap_m > longest:
                break
            floor = min(floor, worse)
            spread = row_reach(s, n)
            for other_row in range(max(0, row - spread), min(ny - 1, row + spread) + 1):
                n_pairs += 1
                dx = s.frame.node_xy_m[column, row, 0] - s.frame.node_xy_m[other, other_row, 0]
                dy = s.frame.node_xy_m[column, row, 1] - s.frame.node_xy_m[other, other_row, 1]
                price = math.sqrt(dx * dx + dy * dy) * floor + s.drive.fixed_eur[method]
                slot = other % ring.least_eur.shape[0]
                is_open0, is_open1 = not is_pruned, not is_pruned
                if is_pruned:
                    launched_there = ring.least_eur[slot, other_row, 1 + 2 * method]
                    is_open0 = ring.least_eur[slot, other_row, 2 + 2 * method] + price < _most(
                        found, 1 + 2 * method
                    )
                    is_open1 = launched_there + price < _most(found, 2 + 2 * method)
                if is_open0 or is_open1:
                    n_scans += judge(
                        s,
                        ring,
                        found,
                        work,
                        column,
                        row,
                        other,
                        other_row,
                        method,
                        is_open0,
                        is_open1,
                        -math.inf,
                    )
    return n_pairs, n_scans


@compiled
def _most(found: Found, role: int) -> float:
    """Return the most that a candidate of a role has to beat at any level [EUR]."""
    if found.least[role] >= found.threshold.shape[1]:
        return -math.inf
    return float(found.threshold[role, found.least[role]])


@compiled
def row_reach(s: SearchArrays, n_columns: int) -> int:
    """Return how many rows a drive over some columns may change."""
    return math.floor(s.max_tan * n_columns * s.frame.column_m / s.frame.cell_m + 1e-9)


@compiled_within
def judge_in_wedges(
    s: SearchArrays,
    r: PassResult,
    scratch: Scratch,
    column: int,
    row: int,
    reach: int,
    is_forward: bool,
) -> tuple[int, int]:
    """Judge the pairs that could beat the thresholds as they are; return how many pairs and scans."""
    ring, found, work, fan = scratch.ring, scratch.found, scratch.work, scratch.fan
    n_scans = _judge_neighbours(s, r, ring, found, work, column, row, reach, is_forward)
    look_from_column(s, fan, column, is_forward, reach)
    look_from_node(s, fan, row, reach)
    n_found, n_pairs = collect(s, fan, ring, found, column, row, is_forward)
    sort_candidates(fan.candidates, n_found)
    ny = s.ground.ground_m.shape[1]
    for place in range(n_found):
        e = fan.candidates.order[place]
        method = fan.candidates.method[e]
        is_open0 = (
            fan.candidates.bound_eur[e, 0] < found.threshold[1 + 2 * method, fan.candidates.level[e, 0]]
        )
        is_open1 = (
            fan.candidates.bound_eur[e, 1] < found.threshold[2 + 2 * method, fan.candidates.level[e, 1]]
        )
        if is_open0 or is_open1:
            other, other_row = fan.candidates.other[e] // ny, fan.candidates.other[e] % ny
            price = fan.candidates.price_eur[e]
            n_scans += judge(
                s, ring, found, work, column, row, other, other_row, method, is_open0, is_open1, price
            )
    return n_pairs, n_scans


@compiled_within
def _judge_neighbours(
    s: SearchArrays,
    r: PassResult,
    ring: Ring,
    found: Found,
    work: Work,
    column: int,
    row: int,
    reach: int,
    is_forward: bool,
) -> int:
    """Judge first the drives that served the nodes just before, so that little is left to beat them.

    Each drive that a neighbour in the column before keeps is tried with its far end where it is and
    moved along with the node. It only lowers thresholds early; no pair is judged differently.
    """
    ny, n_scans = s.ground.ground_m.shape[1], 0
    before = column - 1 if is_forward else column + 1
    is_open = reach >= 2  # not a literal, which would be compiled as a type of its own
    if not is_open:
        return 0
    for beside in range(max(0, row - 1), min(ny - 1, row + 1) + 1):
        node = before * ny + beside
        for index in range(r.label_start[node], r.label_start[node] + r.label_count[node]):
            other, other_row = r.label_other[index] // ny, r.label_other[index] % ny + row - beside
            for shift in range(2):
                there = other + (column - before) * shift
                n = abs(column - there)
                if n < 1 or n > reach or other_row < 0 or other_row >= ny:
                    continue
                method = r.label_drive[index] // 2
                n_scans += judge(
                    s, ring, found, work, column, row, there, other_row, method, is_open, is_open, -math.inf
                )
    return n_scans


@compiled
def judge(
    s: SearchArrays,
    ring: Ring,
    found: Found,
    work: Work,
    column: int,
    row: int,
    other: int,
    other_row: int,
    method: int,
    is_open0: bool,
    is_open1: bool,
    price_eur: float,
) -> int:
    """Judge the drives of one method between two nodes, launched here (0) or there (1).

    The line is chosen before anything is priced: with its depths and `price_eur`, the least that it can
    cost otherwise, most prove too dear. Returns how many lines were scanned.
    """
    is_lower = column < other
    if abs(other_row - row) > row_reach(s, abs(other - column)):
        return 0
    a, ja, b, jb = (column, row, other, other_row) if is_lower else (other, other_row, column, row)
    slot, ny = other % ring.least_eur.shape[0], s.ground.ground_m.shape[1]
    dx = s.frame.node_xy_m[b, jb, 0] - s.frame.node_xy_m[a, ja, 0]
    dy = s.frame.node_xy_m[b, jb, 1] - s.frame.node_xy_m[a, ja, 1]
    length = math.hypot(dx, dy)
    lower_bin, upper_bin = (
        heading_bin(s, a, dx / length, dy / length),
        heading_bin(s, b, dx / length, dy / length),
    )
    if lower_bin < 0 or upper_bin < 0:
        return 0
    has_ceiling, has_met = False, False
    for way_round in range(2):
        here, there = 1 + 2 * method + way_round, 2 + 2 * method - way_round
        at_lower = is_lower == (way_round == 0)
        if not (is_open0 if way_round == 0 else is_open1) or found.least[here] >= found.eur.shape[1]:
            continue
        if ring.least_eur[slot, other_row, there] == math.inf:
            continue
        if not s.shaft.is_allowed[a, ja, method, 0 if at_lower else 1, lower_bin]:
            continue
        if not s.shaft.is_allowed[b, jb, method, 1 if at_lower else 0, upper_bin]:
            continue
        if s.layout.most_pieces[method] > 0 and not (
            s.layout.is_open[b, jb] if at_lower else s.layout.is_open[a, ja]
        ):
            continue
        key = drive_key(
            s.ground.ground_m.size, s.drive.bore_m.shape[0], a * ny + ja, b * ny + jb, method, at_lower
        )
        if s.drive.banned.shape[0] > 0 and is_banned(s.drive.banned, key):
            continue
        if not has_ceiling:
            has_ceiling = True
            if not scan_ceiling(s, work, method, a, ja, b, jb):
                return 1
        line = choose_line(s, work, method, a, ja, b, jb, at_lower)
        if not line.is_feasible:
            continue
        level = line.lower_level if is_lower else line.upper_level
        far = line.upper_level if is_lower else line.lower_level
        start = ring.start_eur[slot, other_row, there, far]
        n_wet = n_wet_ends(s, (a, ja, b, jb), (line.lower_level, line.upper_level))
        if start + price_eur + n_wet * least_pump_eur(s, method, length) >= found.threshold[here, level]:
            continue
        if not has_met:
            has_met = True
            if not meet_crossings(s, work, method, a, ja, b, jb):
                return 1
        most = found.threshold[here, level] - start
        drive = price_line(s, work, method, a, ja, b, jb, at_lower, line, most)
        if drive.is_feasible and start + drive.eur < found.threshold[here, level]:
            _keep(
                s,
                found,
                column,
                row,
                here,
                level,
                start + drive.eur,
                other * ny + other_row,
                2 * method + int(at_lower),
            )
    return 1 if has_ceiling else 0


@compiled
def _keep(
    s: SearchArrays,
    found: Found,
    column: int,
    row: int,
    role: int,
    level: int,
    eur: float,
    other: int,
    drive: int,
) -> None:
    """Keep a drive as the best yet of its role and level."""
    found.eur[role, level] = eur
    found.other[role, level] = other
    found.drive[role, level] = drive
    lower_threshold(s, found, column, row, role, level)
