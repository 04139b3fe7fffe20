"""The price of one drive, compiled: its metres by the ground it passes through, and what it needs whole.

Room: ``search``. Works on what the scan of the drive's line has left in the work space.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from routescreen.compiled import compiled
from routescreen.drives.arc import arc_true_m, below_chord_m, lowest_at_m
from routescreen.drives.drilled import Half, drilled_crown_m, drilled_true_m, half_of, run_m
from routescreen.search.layout_kernel import layout_of
from routescreen.search.touched_kernel import rows_touched

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, Integers, SearchArrays

FINE_EDGE = 1e-6  # share of a fine cell: nearer to the edge of two a line counts to both
GAP_SLACK_M = 1e-6  # a crown at the edge of a gap lies outside it
LEAST_SHARE = 0.10  # a soil limits the drive where it makes up more than this share
UNDRIVABLE = 1e-6  # share of a soil that can't be driven which is taken for none


class Work(NamedTuple):
    """Work space of one scan, used again by the next.

    Points (`x_m`, `v_m`) of the ceiling, where the line passes from column to column, and the row of the
    frame there (`row`); `hull` indices; entries, one a touched cell: `entry_node` (flat index), `entry_m`
    length in it, `entry_middle_m` place along the line; `met` the crossings
    found and `stamp` which scan met each last; `soil_m` length by soil; `tally` = (points, entries,
    crossings met, number of the scan); `value` = (length, fee); `halves` of a drilled bore, the lower one
    first; `kept_m` the ceiling's levels while they are lowered to the groundwater; `floor_m` the highest
    floors of the cable's heat at the points.
    """

    x_m: Floats
    v_m: Floats
    row: Floats
    hull: Integers
    entry_node: Integers
    entry_m: Floats
    entry_middle_m: Floats
    met: Integers
    stamp: Integers
    soil_m: Floats
    tally: Integers
    value: Floats
    halves: Floats
    kept_m: Floats
    floor_m: Floats


class Settled(NamedTuple):
    """A drive of one orientation: whether it can be built, its line and its price.

    `eur` [EUR] without its shafts; levels of depth at the lower and the upper end; `slope_frac`
    from lower to upper; `crown_m` at the lower end. Of a drilled bore `crown_m` is that of the level part
    between its bends, and the slope 0; of an arc both are those of its chord.
    """

    is_feasible: bool
    eur: float
    lower_level: int
    upper_level: int
    slope_frac: float
    crown_m: float


INFEASIBLE = Settled(False, math.inf, 0, 0, 0.0, 0.0)


@compiled
def new_work(n_columns: int, n_crossings: int, n_soils: int) -> Work:
    """Make the work space for drives of at most `n_columns` columns."""
    cells = 4 * (n_columns + 3)
    return Work(
        np.empty(n_columns + 4),
        np.empty(n_columns + 4),
        np.empty(n_columns + 4),
        np.empty(n_columns + 4, np.int64),
        np.empty(cells, np.int64),
        np.empty(cells),
        np.empty(cells),
        np.empty(n_crossings + 1, np.int64),
        np.full(n_crossings + 1, -1, np.int64),
        np.zeros(n_soils),
        np.zeros(4, np.int64),
        np.zeros(2),
        np.zeros((2, 5)),
        np.empty(n_columns + 4),
        np.empty(n_columns + 4),
    )


@compiled
def lay_out_halves(
    s: SearchArrays, work: Work, method: int, ends: tuple[int, int, int, int], is_launched_at_lower: bool
) -> None:
    """Note both halves of a drilled bore between two nodes; nothing for a straight drive."""
    if not s.drilled.is_drilled[method]:
        return
    for end in range(2):
        column, row = ends[2 * end], ends[2 * end + 1]
        is_launch = is_launched_at_lower if end == 0 else not is_launched_at_lower
        angle = s.drilled.entry_rad[method] if is_launch else s.drilled.exit_rad[method]
        role = 1 + 2 * method + (0 if is_launch else 1)
        depth = s.shaft.least_level[role] * s.shaft.step_m - s.shaft.sump_m - s.drive.bore_m[method]
        half = half_of(s.ground.ground_m[column, row] - depth, angle, s.drilled.radius_m[method])
        for field in range(5):
            work.halves[end, field] = half[field]


@compiled
def half_at(work: Work, end: int) -> Half:
    """Return a half of the drilled bore at work, 0 the lower one."""
    h = work.halves
    return Half(h[end, 0], h[end, 1], h[end, 2], h[end, 3], h[end, 4])


@compiled
def crown_at_m(s: SearchArrays, work: Work, method: int, line: Settled, x_m: float) -> float:
    """Return the level of a drive's crown at a distance from its lower end [m]."""
    if s.drilled.is_drilled[method]:
        return drilled_crown_m(half_at(work, 0), half_at(work, 1), line.crown_m, work.value[0], x_m)
    chord_m = line.crown_m + line.slope_frac * x_m
    return chord_m - below_chord_m(s.drive.arc_per_m[method], work.value[0], x_m)


@compiled
def lowest_crown_m(
    s: SearchArrays, work: Work, method: int, line: Settled, x_m: float, aside_m: float
) -> float:
    """Return the lowest level of a drive's crown within a distance to both sides of a place [m]."""
    if s.drilled.is_drilled[method]:  # it never rises before its level part and never falls behind it
        level_m = run_m(half_at(work, 0), line.crown_m)
        return crown_at_m(s, work, method, line, min(max(level_m, x_m - aside_m), x_m + aside_m))
    per_m = s.drive.arc_per_m[method]
    if per_m > 0.0:
        level_m = lowest_at_m(per_m, line.slope_frac, work.value[0])
        return crown_at_m(s, work, method, line, min(max(level_m, x_m - aside_m), x_m + aside_m))
    return line.crown_m + line.slope_frac * x_m - abs(line.slope_frac) * aside_m


@compiled
def true_length_m(s: SearchArrays, work: Work, method: int, line: Settled) -> float:
    """Return the true length of a drive [m]."""
    if s.drilled.is_drilled[method]:
        return drilled_true_m(half_at(work, 0), half_at(work, 1), line.crown_m, work.value[0])
    if s.drive.arc_per_m[method] > 0.0:
        return arc_true_m(s.drive.arc_per_m[method], line.slope_frac, work.value[0])
    return float(work.value[0] * math.sqrt(1.0 + line.slope_frac * line.slope_frac))


@compiled
def depth_looked_at_m(
    s: SearchArrays, work: Work, method: int, line: Settled, ends: tuple[int, int, int, int]
) -> float:
    """Return how deep the ground is looked at: down to the deeper shaft, or to what lies lower between [m].

    A drilled bore or an arc is counted from the ground at its higher end.
    """
    deeper = float(max(line.lower_level, line.upper_level) * s.shaft.step_m)
    is_drilled, per_m = s.drilled.is_drilled[method], s.drive.arc_per_m[method]
    if not is_drilled and per_m == 0.0:
        return deeper
    ground = max(s.ground.ground_m[ends[0], ends[1]], s.ground.ground_m[ends[2], ends[3]])
    if is_drilled:
        return float(ground - line.crown_m + s.drive.bore_m[method])
    middle = 0.5 * work.value[0]
    crown = lowest_crown_m(s, work, method, line, middle, middle)
    return max(deeper, float(ground - crown + s.drive.bore_m[method]))


@compiled
def with_drive_price(
    s: SearchArrays,
    work: Work,
    method: int,
    ends: tuple[int, int, int, int],
    is_launched_at_lower: bool,
    line: Settled,
    ground_eur: float,
    most_eur: float,
) -> Settled:
    """Return the line with the price of the drive instead of its shafts', or infeasible.

    `ends` are the lower and the upper node. The land for the strings is looked at last, and not
    at all where the drive costs `most_eur` or more however they lie.
    """
    length = work.value[0]
    true_m = true_length_m(s, work, method, line)
    if true_m < s.drive.least_length_m[method]:
        return INFEASIBLE
    longest_of_all = 0.0
    for soil in range(work.soil_m.shape[0]):
        share = work.soil_m[soil] / length
        longest = s.drive.longest_m[method, soil]
        longest_of_all = max(longest_of_all, longest)
        if (share > LEAST_SHARE and true_m > longest) or (share > UNDRIVABLE and longest <= 0.0):
            return INFEASIBLE
    if true_m > longest_of_all:
        return INFEASIBLE
    deeper = depth_looked_at_m(s, work, method, line, ends)
    n_boreholes = math.ceil(true_m / s.drive.borehole_spacing_m - 1e-9) - 1.0
    reception = (ends[2], ends[3]) if is_launched_at_lower else (ends[0], ends[1])
    eur = (
        ground_eur * (true_m / length)
        + s.drive.fixed_eur[method]
        + s.drive.piece_eur[method] * math.ceil(true_m / s.drive.piece_m - 1e-9)
        + s.drive.borehole_eur_per_m * max(n_boreholes, 0.0) * (deeper + s.drive.borehole_below_m)
        + s.drive.layout_eur[method, reception[0], reception[1]]
        + work.value[1]
        + _pump_eur(s, work, method, line, ends, true_m)
    )
    per_m = s.drive.layout_eur_per_m[method, reception[0], reception[1]]
    if eur + least_layout_eur(s, method, per_m, true_m) >= most_eur:
        return INFEASIBLE
    x, z = s.frame.node_xy_m[reception[0], reception[1], 0], s.frame.node_xy_m[reception[0], reception[1], 1]
    sign = (1.0 if is_launched_at_lower else -1.0) / length
    ux = sign * (s.frame.node_xy_m[ends[2], ends[3], 0] - s.frame.node_xy_m[ends[0], ends[1], 0])
    uz = sign * (s.frame.node_xy_m[ends[2], ends[3], 1] - s.frame.node_xy_m[ends[0], ends[1], 1])
    layout = layout_of(s.layout, method, reception[0], reception[1], x, z, ux, uz, true_m)
    if layout.n_pieces == 0:
        return INFEASIBLE
    eur += (layout.n_pieces - 1.0) * s.layout.tie_in_eur[method] + per_m * true_m / layout.n_pieces
    return Settled(True, eur, line.lower_level, line.upper_level, line.slope_frac, line.crown_m)


@compiled
def _pump_eur(
    s: SearchArrays, work: Work, method: int, line: Settled, ends: tuple[int, int, int, int], true_m: float
) -> float:
    """Return what is paid to pump as long as the drive takes, for each end below the groundwater [EUR]."""
    n_wet = n_wet_ends(s, ends, (line.lower_level, line.upper_level))
    if n_wet == 0:
        return 0.0
    eur = 0.0
    for soil in range(work.soil_m.shape[0]):
        eur += s.drive.pump_eur_per_m[method, soil] * work.soil_m[soil]
    return float(n_wet * (s.drive.pump_eur[method] + eur * (true_m / work.value[0])))


@compiled
def n_wet_ends(s: SearchArrays, ends: tuple[int, int, int, int], levels: tuple[int, int]) -> int:
    """Return how many ends of a drive stand below the groundwater at some levels."""
    n_wet = int(levels[0] >= s.shaft.wet_level[ends[0], ends[1]])
    return n_wet + int(levels[1] >= s.shaft.wet_level[ends[2], ends[3]])


@compiled
def least_pump_eur(s: SearchArrays, method: int, length: float) -> float:
    """Return the least that is paid to pump at each wet end while a drive of a length is made [EUR]."""
    least = math.inf
    for soil in range(s.drive.pump_eur_per_m.shape[1]):
        least = min(least, s.drive.pump_eur_per_m[method, soil])
    return float(s.drive.pump_eur[method] + least * length)


@compiled
def least_layout_eur(s: SearchArrays, method: int, per_m_eur: float, true_m: float) -> float:
    """Return the least that tie-in welds and strips of a drive can cost, in however many pieces [EUR].

    Fewer pieces take more land, more of them more welds: the price falls to its least and rises after it.
    """
    best = per_m_eur * true_m
    for n in range(2, s.layout.most_pieces[method] + 1):
        eur = (n - 1.0) * s.layout.tie_in_eur[method] + per_m_eur * true_m / n
        if eur >= best:
            break
        best = eur
    return float(best)


@compiled
def is_too_wet(s: SearchArrays, work: Work, method: int, line: Settled) -> bool:
    """Return whether the head of water on the axis is too great in any touched cell."""
    ny = s.ground.ground_m.shape[1]
    half_bore = s.drive.bore_m[method] / 2.0
    for entry in range(work.tally[1]):
        column, row = work.entry_node[entry] // ny, work.entry_node[entry] % ny
        axis_m = crown_at_m(s, work, method, line, work.entry_middle_m[entry]) - half_bore
        if s.ground.water_level_m[column, row] - axis_m > s.drive.head_limit_m[method]:
            return True
    return False


@compiled
def is_too_deep(s: SearchArrays, work: Work, method: int, line: Settled) -> bool:
    """Return whether the cable would be too warm in any touched cell: crown below the floor or in a gap."""
    ny = s.ground.ground_m.shape[1]
    for entry in range(work.tally[1]):
        column, row = work.entry_node[entry] // ny, work.entry_node[entry] % ny
        middle_m, aside_m = work.entry_middle_m[entry], work.entry_m[entry] / 2.0
        crown_m = lowest_crown_m(s, work, method, line, middle_m, aside_m)
        if crown_m < s.drive.floor_m[method, column, row]:
            return True
    return is_in_gap(s, work, method, work.entry_node[0] // ny, line)


@compiled
def gap_of_column(s: SearchArrays, work: Work, method: int, first: int, k: int) -> tuple[float, float]:
    """Return the highest dry floor and the lowest wet ceiling of the cells touched in a column [m].

    `first` is the line's first column, `k` counts from there.
    """
    lowest, highest = rows_touched(work.row[k], work.row[k + 1], s.ground.ground_m.shape[1])
    floor, ceiling = -math.inf, math.inf
    for row in range(lowest, highest + 1):
        floor = max(floor, float(s.drive.gap.dry_floor_m[method, first + k, row]))
        ceiling = min(ceiling, float(s.drive.gap.wet_ceiling_m[method, first + k, row]))
    return floor, ceiling


@compiled
def is_in_gap(s: SearchArrays, work: Work, method: int, first: int, line: Settled) -> bool:
    """Return whether the crown lies in the gap between the ranges of its cable's heat in any column."""
    if not s.drive.gap.has_gap[method]:
        return False
    for k in range(work.tally[0] - 1):
        floor, ceiling = gap_of_column(s, work, method, first, k)
        x0, x1 = work.x_m[k], work.x_m[k + 1]
        lowest = lowest_crown_m(s, work, method, line, 0.5 * (x0 + x1), 0.5 * (x1 - x0))
        if lowest >= floor - GAP_SLACK_M:
            continue
        # no crown rises between two places above the higher of both
        highest = max(crown_at_m(s, work, method, line, x0), crown_at_m(s, work, method, line, x1))
        if highest > ceiling + GAP_SLACK_M:
            return True
    return False


@compiled
def lower_to_water(s: SearchArrays, work: Work, method: int, first: int) -> None:
    """Lower the ceiling's points to where crowns count on the groundwater, and keep what they were."""
    previous, n = math.inf, work.tally[0]
    for k in range(n):
        here = math.inf
        if k < n - 1:
            here = gap_of_column(s, work, method, first, k)[1]
        hang = below_chord_m(s.drive.arc_per_m[method], work.value[0], work.x_m[k])
        work.kept_m[k] = work.v_m[k]
        work.v_m[k] = min(work.v_m[k], min(previous, here) + hang)
        previous = here


@compiled
def ground_eur(s: SearchArrays, work: Work, method: int, first: int, line: Settled) -> float:
    """Sum the price by the metre of plan length along a line, fill the lengths by soil [EUR].

    The line is cut where it passes between the fine lattice's columns; each piece lies in the fine cell
    that holds its middle, half in either where it runs along the edge of two.
    """
    na = s.fine.kind.shape[0] // s.ground.ground_m.shape[0]
    nb = s.fine.kind.shape[1] // s.ground.ground_m.shape[1]
    last = work.tally[0] - 2
    work.soil_m[:] = 0.0
    eur = 0.0
    for k in range(last + 1):
        begin, end = (0.5 if k == 0 else 0.0), (0.5 if k == last else 1.0)  # from node to node
        for step in range(na):
            low, high = max(begin, step / na), min(end, (step + 1) / na)
            if high <= low:
                continue
            share = (0.5 * (low + high) - begin) / (end - begin)
            length = (high - low) / (end - begin) * (work.x_m[k + 1] - work.x_m[k])
            x = work.x_m[k] + share * (work.x_m[k + 1] - work.x_m[k])
            across = (work.row[k] + share * (work.row[k + 1] - work.row[k]) + 0.5) * nb
            axis_m = crown_at_m(s, work, method, line, x) - s.drive.bore_m[method] / 2.0
            column = (first + k) * na + step
            left, right = math.floor(across - FINE_EDGE), math.floor(across + FINE_EDGE)
            if left == right:
                eur += _piece_eur(s, work, method, column, left, axis_m, length)
            else:
                eur += _piece_eur(s, work, method, column, left, axis_m, 0.5 * length)
                eur += _piece_eur(s, work, method, column, right, axis_m, 0.5 * length)
    return eur


@compiled
def _piece_eur(
    s: SearchArrays, work: Work, method: int, column: int, row: int, axis_m: float, length: float
) -> float:
    """Price a piece of drive in one fine cell, the outermost one beyond the frame; note its soil."""
    row = min(max(row, 0), s.fine.kind.shape[1] - 1)
    kind = s.fine.kind[column, row]
    if axis_m < s.fine.rock_level_m[column, row]:
        work.soil_m[s.fine.rock_soil[kind]] += length
        return float(length * s.drive.rock_eur_per_m[method, kind])
    work.soil_m[s.fine.soil[kind]] += length
    return float(length * s.drive.soil_eur_per_m[method, kind])
