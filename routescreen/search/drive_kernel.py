"""One drive, compiled: the exact scan of its line, its profile and its price.

Room: ``search``. Both passes, the bill on the frame and the plan call these same functions, always
from the drive's lower-chainage end, so that one drive has one price.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import by_reference, compiled
from routescreen.drives.arc import below_chord_m
from routescreen.search.arrays import BLOCKED_M, N_BINS
from routescreen.search.crown_kernel import choose_line
from routescreen.search.drive_price_kernel import (
    INFEASIBLE,
    Settled,
    Work,
    ground_eur,
    is_too_deep,
    is_too_wet,
    lay_out_halves,
    with_drive_price,
)
from routescreen.search.force_kernel import is_too_heavy
from routescreen.search.grout_kernel import is_grout_barred
from routescreen.search.touched_kernel import nearest_row, rows_touched

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, Integers, SearchArrays

BESIDE_M = 1e-3  # segments further beside the outermost bore than this can't meet it
STILL = 1e-9  # a run across fewer rows than this runs along its row


@compiled
def scan(s: SearchArrays, work: Work, method: int, a: int, ja: int, b: int, jb: int) -> bool:
    """Scan the straight line from node (a, ja) to node (b, jb), a < b, on every cell it touches.

    Fills the ceiling's points, the lengths by cell, the crossings met and their fee.

    Returns
    -------
    bool
        Whether a drive may pass at all: no blocked cell, every crossing angle kept, no crossing closed.
    """
    return scan_ceiling(s, work, method, a, ja, b, jb) and meet_crossings(s, work, method, a, ja, b, jb)


@compiled
def scan_ceiling(s: SearchArrays, work: Work, method: int, a: int, ja: int, b: int, jb: int) -> bool:
    """Find the ceiling of the line from node (a, ja) to node (b, jb); return whether no cell is blocked.

    Each column's ceiling, the least of its touched cells, holds on the whole of the column, so that at a
    boundary between columns the lower of both counts. An arc lies below its chord: its ceilings are raised
    by as much, and the chord is then looked for as any straight line. Least room is left at the boundaries
    still, since between them what is raised is concave.
    """
    ax, ay = s.frame.node_xy_m[a, ja, 0], s.frame.node_xy_m[a, ja, 1]
    bx, by = s.frame.node_xy_m[b, jb, 0], s.frame.node_xy_m[b, jb, 1]
    length = math.hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / length, (by - ay) / length
    work.tally[0] = 0
    work.value[0] = length
    steepest = max(abs(s.drive.slope_min_frac[method]), abs(s.drive.slope_max_frac[method]))
    deviation = s.drive.deviation_frac[method] * length * math.sqrt(1.0 + steepest * steepest)
    is_open = _scan_columns(
        s.frame.boundary_xy_m,
        s.frame.boundary_tangent,
        s.drive.ceiling_m[method],
        s.drive.service_ceiling_m[method],
        work,
        (ax, ay, ux, uy, length, deviation, s.frame.offset0_m, s.frame.cell_m, s.frame.aside_rows),
        (a, ja, b, jb),
    )
    if is_open and s.drive.arc_per_m[method] > 0.0:
        _raise_ceiling(work, s.drive.arc_per_m[method])
    return is_open


@compiled
def _raise_ceiling(work: Work, arc_per_m: float) -> None:
    """Raise the ceiling's points by what an arc lies below its chord there."""
    for k in range(work.tally[0]):
        work.v_m[k] += below_chord_m(arc_per_m, work.value[0], work.x_m[k])


@compiled
def meet_crossings(s: SearchArrays, work: Work, method: int, a: int, ja: int, b: int, jb: int) -> bool:
    """List the cells of a line whose ceiling was found, the crossings that it meets and their fee.

    Returns
    -------
    bool
        Whether every crossing angle is kept and the method may pass under all that is met.
    """
    work.tally[1] = 0
    work.tally[2] = 0
    work.tally[3] += 1
    work.value[1] = 0.0
    _enter_cells(s, work, a)
    _meet_inside(s, work, a, ja)
    ax, ay = s.frame.node_xy_m[a, ja, 0], s.frame.node_xy_m[a, ja, 1]
    bx, by = s.frame.node_xy_m[b, jb, 0], s.frame.node_xy_m[b, jb, 1]
    if not _meet_segments(s, work, method, ax, ay, bx, by):
        return False
    is_open = True
    for k in range(work.tally[2]):
        is_open = is_open and not s.drive.is_closed[method, work.met[k]]
    return bool(is_open)


@compiled
def _scan_columns(
    boundary_xy_m: Floats,
    boundary_tangent: Floats,
    ceiling_m: Floats,
    service_m: Floats,
    work: Work,
    line: tuple[float, float, float, float, float, float, float, float, float],
    ends: tuple[int, int, int, int],
) -> bool:
    """Walk along a line column by column; takes bare arrays, since it is the innermost loop.

    `line` holds the start, the direction, the length, the bore's deviation and the frame's first
    offset and cell; `ends` the columns and rows. Returns whether no touched cell is blocked.
    """
    ax, ay, ux, uy, length, deviation, offset0, cell, aside = line
    a, ja, b, jb = ends
    x0, y0, previous = 0.0, float(ja), math.inf
    n_points, ny = 0, ceiling_m.shape[1]
    for column in range(a, b + 1):
        x1, y1 = length, float(jb)
        if column < b:
            px, py = boundary_xy_m[column + 1, 0], boundary_xy_m[column + 1, 1]
            tx, ty = boundary_tangent[column + 1, 0], boundary_tangent[column + 1, 1]
            x1 = ((px - ax) * tx + (py - ay) * ty) / (ux * tx + uy * ty)
            y1 = ((ax + ux * x1 - px) * ty - (ay + uy * x1 - py) * tx - offset0) / cell
            if x1 <= x0 or x1 >= length:
                return False
        if min(y0, y1) < -aside or max(y0, y1) > ny - 1.0 + aside:
            return False
        ceiling = math.inf
        lowest, highest = rows_touched(y0, y1, ny)
        for row in range(lowest, highest + 1):
            ceiling = min(ceiling, ceiling_m[column, row], service_m[column, row] - deviation)
        if ceiling < BLOCKED_M:
            return False
        work.x_m[n_points] = x0
        work.v_m[n_points] = min(previous, ceiling)
        work.row[n_points] = y0
        n_points += 1
        previous, x0, y0 = ceiling, x1, y1
    work.x_m[n_points] = length
    work.v_m[n_points] = previous
    work.row[n_points] = y0
    work.tally[0] = n_points + 1
    return True


@compiled
def _enter_cells(s: SearchArrays, work: Work, first: int) -> None:
    """List the cells that a line touches from its points, with its length in each."""
    ny, n_entries = s.ground.ground_m.shape[1], 0
    for k in range(work.tally[0] - 1):
        x0, x1, y0, y1 = work.x_m[k], work.x_m[k + 1], work.row[k], work.row[k + 1]
        low, high = min(y0, y1), max(y0, y1)
        lowest, highest = rows_touched(y0, y1, ny)
        for row in range(lowest, highest + 1):
            lower_edge = low if row == 0 else max(low, row - 0.5)
            upper_edge = high if row == ny - 1 else min(high, row + 0.5)
            holds_all = lowest == highest or (abs(y1 - y0) < STILL and row == nearest_row(y0, ny))
            share, middle = _share(y0, y1, lower_edge, upper_edge, holds_all)
            work.entry_node[n_entries] = (first + k) * ny + row
            work.entry_m[n_entries] = share * (x1 - x0)
            work.entry_middle_m[n_entries] = x0 + middle * (x1 - x0)
            n_entries += 1
    work.tally[1] = n_entries


@compiled
def _share(y0: float, y1: float, lower: float, upper: float, holds_all: bool) -> tuple[float, float]:
    """Return the share of the run from y0 to y1 between two rows' edges, and its middle.

    A cell that is only near the run holds none of it; its middle is the run's nearest end.
    """
    if holds_all:
        return 1.0, 0.5
    if abs(y1 - y0) < STILL:
        return 0.0, 0.5
    share = max(0.0, upper - lower) / abs(y1 - y0)
    return share, min(max((0.5 * (lower + upper) - y0) / (y1 - y0), 0.0), 1.0)


@compiled
def _meet(s: SearchArrays, work: Work, crossing: int) -> None:
    """Note a crossing once a scan, with its fee."""
    if work.stamp[crossing] == work.tally[3]:
        return
    work.stamp[crossing] = work.tally[3]
    work.met[work.tally[2]] = crossing
    work.tally[2] += 1
    work.value[1] += s.drive.drive_fee_eur[crossing]


@compiled
def _meet_inside(s: SearchArrays, work: Work, column: int, row: int) -> None:
    node = column * s.ground.ground_m.shape[1] + row
    for k in range(s.drive.inside_start[node], s.drive.inside_start[node + 1]):
        _meet(s, work, s.drive.inside_crossing[k])


@compiled
def _meet_segments(
    s: SearchArrays, work: Work, method: int, ax: float, ay: float, bx: float, by: float
) -> bool:
    """Test the line and all bores exactly against the segments near the touched cells."""
    ux, uy = (bx - ax) / work.value[0], (by - ay) / work.value[0]
    aside, n_bores = s.drive.outer_bore_m[method], s.drive.n_bores[method]
    for entry in range(work.tally[1]):
        node = work.entry_node[entry]
        for k in range(s.drive.cell_segment_start[node], s.drive.cell_segment_start[node + 1]):
            segment = s.drive.cell_segment[k]
            # what bars at any angle is a limit of the route: the line and the outermost bores keep it
            n = min(n_bores, 2) if s.drive.segment_sin_min_angle[segment] > 1.0 else n_bores
            if not _is_met(s.drive.segment_xy_m[segment], (ax, ay, bx, by), ux, uy, aside, n):
                continue
            sine = abs(ux * s.drive.segment_tangent[segment, 1] - uy * s.drive.segment_tangent[segment, 0])
            if sine < s.drive.segment_sin_min_angle[segment]:
                return False
            if s.drive.segment_is_outline[segment]:
                _meet(s, work, s.drive.segment_crossing[segment])
    return True


@compiled
def _is_met(
    segment: Floats,
    line: tuple[float, float, float, float],
    ux: float,
    uy: float,
    outer_m: float,
    n_bores: int,
) -> bool:
    """Return whether a segment meets a line or any of the bores beside it, the outermost at `outer_m`."""
    ax, ay, bx, by = line
    if _intersects(segment, ax, ay, bx, by):
        return True
    if n_bores < 2:
        return False
    first = (segment[0] - ax) * uy - (segment[1] - ay) * ux  # distances to the right of the line
    second = (segment[2] - ax) * uy - (segment[3] - ay) * ux
    beyond = outer_m + BESIDE_M
    if min(first, second) > beyond or max(first, second) < -beyond:
        return False
    for bore in range(n_bores):
        aside = outer_m * (2.0 * bore / (n_bores - 1) - 1.0)
        dx, dy = aside * uy, -aside * ux
        if _intersects(segment, ax + dx, ay + dy, bx + dx, by + dy):
            return True
    return False


@compiled
def _intersects(segment: Floats, ax: float, ay: float, bx: float, by: float) -> bool:
    """Return whether two segments meet, touching included."""
    px, py, qx, qy = segment[0], segment[1], segment[2], segment[3]
    d1 = (bx - ax) * (py - ay) - (by - ay) * (px - ax)
    d2 = (bx - ax) * (qy - ay) - (by - ay) * (qx - ax)
    if (d1 > 0.0 and d2 > 0.0) or (d1 < 0.0 and d2 < 0.0):
        return False
    d3 = (qx - px) * (ay - py) - (qy - py) * (ax - px)
    d4 = (qx - px) * (by - py) - (qy - py) * (bx - px)
    if (d3 > 0.0 and d4 > 0.0) or (d3 < 0.0 and d4 < 0.0):
        return False
    if d1 == 0.0 and d2 == 0.0:  # on one line: they meet where their boxes do
        overlap_x = min(px, qx) <= max(ax, bx) and min(ax, bx) <= max(px, qx)
        overlap_y = min(py, qy) <= max(ay, by) and min(ay, by) <= max(py, qy)
        return bool(overlap_x and overlap_y)
    return True


@compiled
def settle(
    s: SearchArrays, work: Work, method: int, a: int, ja: int, b: int, jb: int, is_launched_at_lower: bool
) -> Settled:
    """Choose the line of a scanned drive and price it.

    Returns
    -------
    Settled
        ``INFEASIBLE`` where no line keeps the limits or the soil, length or head forbids it.
    """
    line = choose_line(s, work, method, a, ja, b, jb, is_launched_at_lower)
    if not line.is_feasible:
        return INFEASIBLE
    return price_line(s, work, method, a, ja, b, jb, is_launched_at_lower, line, math.inf)


@compiled
def price_line(
    s: SearchArrays,
    work: Work,
    method: int,
    a: int,
    ja: int,
    b: int,
    jb: int,
    is_launched_at_lower: bool,
    line: Settled,
    most_eur: float,
) -> Settled:
    """Price a drive whose line is chosen and whose crossings are met.

    It may prove infeasible; it is said to be so as well where it costs `most_eur` or more and its land
    need not be looked at.
    """
    lay_out_halves(s, work, method, (a, ja, b, jb), is_launched_at_lower)
    if is_too_wet(s, work, method, line) or is_too_deep(s, work, method, line):
        return INFEASIBLE
    eur = ground_eur(s, work, method, a, line)
    if is_too_heavy(s, work, method, line, is_launched_at_lower) or is_grout_barred(s, work, method, line):
        return INFEASIBLE
    return with_drive_price(s, work, method, (a, ja, b, jb), is_launched_at_lower, line, eur, most_eur)


@compiled
def scan_and_settle(
    s: SearchArrays, work: Work, method: int, a: int, ja: int, b: int, jb: int, is_launched_at_lower: bool
) -> Settled:
    """Scan and settle one drive by itself, for callers that are not compiled."""
    arrays, space = by_reference(s), by_reference(work)
    if not scan(arrays, space, method, a, ja, b, jb):
        return INFEASIBLE
    return settle(arrays, space, method, a, ja, b, jb, is_launched_at_lower)


@compiled
def heading_bin(s: SearchArrays, column: int, ux: float, uy: float) -> int:
    """Return the bin of a heading against the axis at a column, or -1 where it is too steep.

    The bins part the angles between plus and minus the steepest heading evenly, left to right.
    """
    tx, ty = s.frame.tangent[column, 0], s.frame.tangent[column, 1]
    angle = math.atan2(ux * ty - uy * tx, ux * tx + uy * ty)
    widest = math.atan(s.max_tan)
    if abs(angle) > widest + 1e-9:
        return -1
    return min(max(math.floor((angle + widest) / (2.0 * widest) * N_BINS), 0), N_BINS - 1)


@compiled
def is_banned(banned: Integers, key: int) -> bool:
    """Return whether a drive's key stands in the sorted list of banned drives."""
    low, high = 0, banned.shape[0]
    while low < high:
        middle = (low + high) // 2
        if banned[middle] < key:
            low = middle + 1
        else:
            high = middle
    return bool(low < banned.shape[0] and banned[low] == key)


@compiled
def drive_key(n_nodes: int, n_methods: int, lower: int, upper: int, method: int, is_lower: bool) -> int:
    """Return the number that names a drive: its nodes, method and orientation."""
    return ((lower * n_nodes + upper) * n_methods + method) * 2 + (1 if is_lower else 0)
