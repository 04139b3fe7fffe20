"""How far a method comes under a crossing: which limit stops the drive that comes furthest, compiled.

Room: ``search``. Every pair of nodes on both sides is judged, as ``arrival_kernel`` judges it, until one
can be built.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from routescreen.compiled import by_reference, compiled
from routescreen.search.crown_kernel import choose_line
from routescreen.search.drive_kernel import (
    drive_key,
    heading_bin,
    is_banned,
    meet_crossings,
    price_line,
    scan_ceiling,
)
from routescreen.search.drive_price_kernel import (
    LEAST_SHARE,
    UNDRIVABLE,
    ground_eur,
    is_too_deep,
    is_too_wet,
    true_length_m,
)
from routescreen.search.force_kernel import is_too_heavy
from routescreen.search.grout_kernel import is_grout_barred

if TYPE_CHECKING:
    from routescreen.search.arrays import Booleans, Integers, SearchArrays
    from routescreen.search.drive_price_kernel import Settled, Work

# What stops a drive, in the order in which it is judged; the last is one that can be built.
NO_SHAFTS, BLOCKED, NO_LINE, TOO_WET, TOO_DEEP, SOIL, TOO_HEAVY, NO_GROUT, NO_LAND, BUILT, TOO_MANY = range(
    11
)
MOST_LINES = 100_000  # are scanned before it is left open whether one can be built


@compiled
def furthest_under(
    s: SearchArrays, work: Work, crossing: int, method: int, first: int, last: int, pair: Integers
) -> int:
    """Return what stops the drive of a method that comes furthest under a crossing.

    Parameters
    ----------
    s : SearchArrays
    work : Work
        For drives as long as the longest.
    crossing, method : int
    first, last : int
        The columns in which the crossing may be met.
    pair : ndarray of int64, shape (5,)
        Takes the drive that comes furthest: its nodes' columns and rows, lower ones first, and 1 if it is
        launched at the lower one.

    Returns
    -------
    int
        One of the module's stages; `BUILT` as soon as one drive passes, `TOO_MANY` where none of the first
        lines did.
    """
    return _furthest(by_reference(s), by_reference(work), crossing, method, first, last, pair)


@compiled
def _furthest(
    s: SearchArrays, work: Work, crossing: int, method: int, first: int, last: int, pair: Integers
) -> int:
    nx, ny = s.ground.ground_m.shape
    best = NO_SHAFTS
    scanned = work.tally[3]  # counts the lines that come as far as their crossings
    longest = 0.0
    for soil in range(s.drive.longest_m.shape[1]):
        longest = max(longest, s.drive.longest_m[method, soil])
    begin = max(first - s.longest_columns, 0)
    may = _shafts_allowed(s, method, begin, min(last + s.longest_columns, nx - 1))
    # from the nearest pairs outwards: a drive that can be built is found early
    for span in range(1, s.longest_columns + 1):
        for a in range(max(first - span, 0), min(last, nx - 1 - span) + 1):
            b = a + span
            for ja in range(ny):
                launches, receives = may[a - begin, ja, 0], may[a - begin, ja, 1]
                if not (launches or receives):
                    continue
                for jb in range(ny):
                    is_pair = (launches and may[b - begin, jb, 1]) or (receives and may[b - begin, jb, 0])
                    if not is_pair:
                        continue
                    stage = _stage(s, work, crossing, method, (a, ja, b, jb), longest, best, pair)
                    best = max(best, stage)
                    if best == BUILT:
                        return best
            if work.tally[3] - scanned > MOST_LINES:
                return TOO_MANY
    return best


@compiled
def _shafts_allowed(s: SearchArrays, method: int, first: int, last: int) -> Booleans:
    """Return whether nodes may launch (0) and receive (1) in any direction, (n columns, ny, 2)."""
    ny = s.ground.ground_m.shape[1]
    may = np.zeros((last - first + 1, ny, 2), np.bool_)
    for column in range(first, last + 1):
        for row in range(ny):
            for way in range(2):
                for angle in range(s.shaft.is_allowed.shape[4]):
                    if s.shaft.is_allowed[column, row, method, way, angle]:
                        may[column - first, row, way] = True
                        break
    return may


@compiled
def _stage(
    s: SearchArrays,
    work: Work,
    crossing: int,
    method: int,
    nodes: tuple[int, int, int, int],
    longest_m: float,
    best: int,
    pair: Integers,
) -> int:
    """Return how far both orientations of a drive between two nodes come."""
    a, ja, b, jb = nodes
    nx, ny = s.ground.ground_m.shape
    dx = s.frame.node_xy_m[b, jb, 0] - s.frame.node_xy_m[a, ja, 0]
    dy = s.frame.node_xy_m[b, jb, 1] - s.frame.node_xy_m[a, ja, 1]
    length = math.hypot(dx, dy)
    if length > longest_m:
        return NO_SHAFTS
    bin_a, bin_b = heading_bin(s, a, dx / length, dy / length), heading_bin(s, b, dx / length, dy / length)
    if bin_a < 0 or bin_b < 0:
        return NO_SHAFTS
    furthest = NO_SHAFTS
    is_scanned = False
    for way in range(2):  # 0 launched at the lower end
        may_launch = s.shaft.is_allowed[a, ja, method, way, bin_a]
        if not (may_launch and s.shaft.is_allowed[b, jb, method, 1 - way, bin_b]):
            continue
        if not is_scanned:
            if not scan_ceiling(s, work, method, a, ja, b, jb):
                return BLOCKED
            if not meet_crossings(s, work, method, a, ja, b, jb):
                return BLOCKED
            is_scanned = True
            if not _is_met(work, crossing):
                return NO_SHAFTS
        key = drive_key(nx * ny, s.drive.bore_m.shape[0], a * ny + ja, b * ny + jb, method, way == 0)
        if s.drive.banned.shape[0] > 0 and is_banned(s.drive.banned, key):
            continue
        line = choose_line(s, work, method, a, ja, b, jb, way == 0)
        stage = NO_LINE
        if line.is_feasible:
            stage = _stage_of_line(s, work, method, nodes, way == 0, line)
        if stage > max(best, furthest):
            pair[0], pair[1], pair[2], pair[3], pair[4] = a, ja, b, jb, 1 - way
        furthest = max(furthest, stage)
    return furthest


@compiled
def _is_met(work: Work, crossing: int) -> bool:
    is_met = False
    for k in range(work.tally[2]):
        is_met = is_met or work.met[k] == crossing
    return bool(is_met)


@compiled
def _stage_of_line(
    s: SearchArrays,
    work: Work,
    method: int,
    nodes: tuple[int, int, int, int],
    is_launched_at_lower: bool,
    line: Settled,
) -> int:
    """Return what stops a drive whose line is chosen."""
    a, ja, b, jb = nodes
    if is_too_wet(s, work, method, line):
        return TOO_WET
    if is_too_deep(s, work, method, line):
        return TOO_DEEP
    ground_eur(s, work, method, a, line)
    true_m = true_length_m(s, work, method, line)
    if true_m < s.drive.least_length_m[method]:
        return SOIL
    for soil in range(work.soil_m.shape[0]):
        share, longest = work.soil_m[soil] / work.value[0], s.drive.longest_m[method, soil]
        if (share > LEAST_SHARE and true_m > longest) or (share > UNDRIVABLE and longest <= 0.0):
            return SOIL
    if is_too_heavy(s, work, method, line, is_launched_at_lower):
        return TOO_HEAVY
    if is_grout_barred(s, work, method, line):
        return NO_GROUT
    priced = price_line(s, work, method, a, ja, b, jb, is_launched_at_lower, line, math.inf)
    return BUILT if priced.is_feasible else NO_LAND
