"""The line of a drive whose ceiling was found, compiled: which of those that keep the limits it takes.

Room: ``search``. Both passes, the shafts' depths, the bill on the frame and the plan choose by it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled, no_literal
from routescreen.drives.arc import below_chord_m, end_turn_frac
from routescreen.drives.profile import (
    flattest_to_end,
    hull_slope,
    lower_hull,
    slopes_above,
    start_level_m,
    steepest_from_start,
)
from routescreen.search.drilled_kernel import choose_drilled
from routescreen.search.drive_price_kernel import (
    GAP_SLACK_M,
    INFEASIBLE,
    Settled,
    Work,
    is_in_gap,
    lower_to_water,
    lowest_crown_m,
)
from routescreen.search.shaft_kernel import depth_level, shaft_table_eur
from routescreen.search.touched_kernel import rows_touched

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays


@compiled
def choose_line(
    s: SearchArrays, work: Work, method: int, a: int, ja: int, b: int, jb: int, is_launched_at_lower: bool
) -> Settled:
    """Choose the line of a drive whose ceiling was found; `eur` holds both stand-alone shafts only.

    Of the lines within the limits of grade and depth the supporting line of the lower hull where
    the prices of depth balance; where a shaft would reach the groundwater with it, the two lines that
    just keep the lower and the upper shaft dry are tried as well. The cheapest by stand-alone shafts
    is taken, the flattest on equal terms, so that the mirror image of a drive gets the same line.

    Where the cable would be too warm on that line, one is chosen alike of those slopes alone whose highest
    line lies above every floor of the cable's heat: too deep at one end, a drive often serves with another
    slope. Where there is none and the line lies in a gap of the cable's heat, it goes down to where the
    ground can't dry out.
    """
    ends = (a, ja, b, jb)
    if s.drilled.is_drilled[method]:
        return _drilled_line(s, work, method, ends, is_launched_at_lower)
    low, high = slope_limits(s, work, method, ends, is_launched_at_lower)
    line = _line_within(s, work, method, ends, is_launched_at_lower, low, high)
    if not line.is_feasible:
        return line
    is_between = is_in_gap(s, work, method, a, line)
    if not is_between and not _is_below_floor(s, work, method, a, line):
        return line
    raised = _line_above(s, work, method, ends, is_launched_at_lower, True)
    if raised.is_feasible:
        return raised
    if not is_between:
        return line
    lower_to_water(s, work, method, a)
    low, high = slope_limits(s, work, method, ends, is_launched_at_lower)
    lower = _line_within(s, work, method, ends, is_launched_at_lower, low, high)
    if lower.is_feasible and _is_below_floor(s, work, method, a, lower):
        raised = _line_above(s, work, method, ends, is_launched_at_lower, False)
        lower = raised if raised.is_feasible else lower
    raise_again(work)
    return lower


@compiled
def _drilled_line(
    s: SearchArrays, work: Work, method: int, ends: tuple[int, int, int, int], is_launched_at_lower: bool
) -> Settled:
    """Return a drilled bore's line, below the gap of its cable's heat where it would lie in one."""
    line = choose_drilled(s, work, method, ends, is_launched_at_lower)
    if not line.is_feasible or not is_in_gap(s, work, method, ends[0], line):
        return line
    lower_to_water(s, work, method, ends[0])
    lower = choose_drilled(s, work, method, ends, is_launched_at_lower)
    raise_again(work)
    return lower


@compiled
def raise_again(work: Work) -> None:
    """Give the ceiling's points back what they were before `lower_to_water`."""
    for k in range(work.tally[0]):
        work.v_m[k] = work.kept_m[k]


@compiled
def _line_above(
    s: SearchArrays,
    work: Work,
    method: int,
    ends: tuple[int, int, int, int],
    is_launched_at_lower: bool,
    is_dry: bool,
) -> Settled:
    """Choose a line of those slopes whose highest line lies above all floors; see `floor_slopes`."""
    low, high = slope_limits(s, work, method, ends, is_launched_at_lower)
    above_low, above_high = floor_slopes(s, work, method, ends[0], is_dry)
    low, high = max(low, above_low), min(high, above_high)
    return _line_within(s, work, method, ends, is_launched_at_lower, low, high)


@compiled
def floor_slopes(s: SearchArrays, work: Work, method: int, first: int, is_dry: bool) -> tuple[float, float]:
    """Return the least and the greatest slope whose highest line lies above the floors; (inf, -inf) if none.

    The highest floor of a column's touched cells holds on the whole of the column. With `is_dry` a line lies
    above every gap of the cable's heat as well. Of an arc, the chord lies above by the most that the arc
    hangs below it in the column.
    """
    n, previous = work.tally[0], -math.inf
    for k in range(n):
        here = -math.inf
        if k < n - 1:
            here = _floor_of_column(s, work, method, first, k, is_dry)
            here += _most_hang_m(s, work, method, k) + GAP_SLACK_M
        work.floor_m[k] = max(previous, here)
        if work.floor_m[k] > work.v_m[k]:
            return math.inf, -math.inf
        previous = here
    top = lower_hull(work.x_m, work.v_m, n, work.hull)
    return slopes_above(work.x_m, work.v_m, work.floor_m, n, work.hull, top)


@compiled
def _most_hang_m(s: SearchArrays, work: Work, method: int, k: int) -> float:
    """Return the most that an arc hangs below its chord in a column, 0 for a straight line [m]."""
    middle = 0.5 * work.value[0]
    at = min(max(middle, work.x_m[k]), work.x_m[k + 1])
    return below_chord_m(s.drive.arc_per_m[method], work.value[0], at)


@compiled
def _floor_of_column(s: SearchArrays, work: Work, method: int, first: int, k: int, is_dry: bool) -> float:
    """Return the highest floor of the cells touched in a column; with `is_dry` above their gaps too [m]."""
    lowest, highest = rows_touched(work.row[k], work.row[k + 1], s.ground.ground_m.shape[1])
    floor = -math.inf
    for row in range(lowest, highest + 1):
        floor = max(floor, float(s.drive.floor_m[method, first + k, row]))
        if is_dry and s.drive.gap.has_gap[method]:
            floor = max(floor, float(s.drive.gap.dry_floor_m[method, first + k, row]))
    return floor


@compiled
def _is_below_floor(s: SearchArrays, work: Work, method: int, first: int, line: Settled) -> bool:
    """Return whether the crown lies below the highest floor of the cells touched in any column."""
    for k in range(work.tally[0] - 1):
        x0, x1 = work.x_m[k], work.x_m[k + 1]
        lowest = lowest_crown_m(s, work, method, line, 0.5 * (x0 + x1), 0.5 * (x1 - x0))
        if lowest < _floor_of_column(s, work, method, first, k, False):
            return True
    return False


@compiled
def _line_within(
    s: SearchArrays,
    work: Work,
    method: int,
    ends: tuple[int, int, int, int],
    is_launched_at_lower: bool,
    low: float,
    high: float,
) -> Settled:
    """Choose a line whose slope lies within limits, under the ceiling as it stands; see `choose_line`."""
    if low > high:
        return INFEASIBLE
    a, ja, b, jb = ends
    role_a, role_b = roles(method, is_launched_at_lower)
    bore, n = s.drive.bore_m[method], work.tally[0]
    slope = min(max(_balanced_slope(s, work, a, ja, b, jb, role_a, role_b), low), high)
    best = line_of_slope(s, work, method, a, ja, b, jb, role_a, role_b, slope)
    is_wet = best.lower_level >= s.shaft.wet_level[a, ja] or best.upper_level >= s.shaft.wet_level[b, jb]
    for end in range(2 if is_wet else 0):
        column, row, role = (a, ja, role_a) if end == 0 else (b, jb, role_b)
        driest = s.shaft.wet_level[column, row] - 1
        if driest < s.shaft.least_level[role]:
            continue
        crown = s.ground.ground_m[column, row] + bore + s.shaft.sump_m - driest * s.shaft.step_m
        if end == 0:
            other = steepest_from_start(work.x_m, work.v_m, n, crown)
        else:
            other = flattest_to_end(work.x_m, work.v_m, n, crown)
        if abs(other) > 1.0:
            continue
        candidate = line_of_slope(s, work, method, a, ja, b, jb, role_a, role_b, min(max(other, low), high))
        is_flatter = abs(candidate.slope_frac) < abs(best.slope_frac)
        if candidate.eur < best.eur or (candidate.eur == best.eur and is_flatter):
            best = candidate
    if best.lower_level > s.shaft.most_level[role_a] or best.upper_level > s.shaft.most_level[role_b]:
        return INFEASIBLE
    return best


@compiled
def roles(method: int, is_launched_at_lower: bool) -> tuple[int, int]:
    """Return the roles of a drive's lower and upper shaft."""
    return 1 + 2 * method + (0 if is_launched_at_lower else 1), 1 + 2 * method + (
        1 if is_launched_at_lower else 0
    )


@compiled
def slope_limits(
    s: SearchArrays, work: Work, method: int, ends: tuple[int, int, int, int], is_launched_at_lower: bool
) -> tuple[float, float]:
    """Return the least and the greatest slope, lower to upper end, that grade and depth limits allow.

    That of the chord of an arc, both of whose ends keep the limits of grade.
    """
    a, ja, b, jb = ends
    role_a, role_b = roles(method, is_launched_at_lower)
    low, high = s.drive.slope_min_frac[method], s.drive.slope_max_frac[method]
    if not is_launched_at_lower:  # the lower end is the reception: launch-relative grades turn round
        low, high = -high, -low
    turn = end_turn_frac(s.drive.arc_per_m[method], work.value[0])
    low, high = low + turn, high - turn
    reach = s.drive.bore_m[method] + s.shaft.sump_m
    deepest_a = s.ground.ground_m[a, ja] + reach - s.shaft.most_level[role_a] * s.shaft.step_m
    deepest_b = s.ground.ground_m[b, jb] + reach - s.shaft.most_level[role_b] * s.shaft.step_m
    high = min(high, steepest_from_start(work.x_m, work.v_m, work.tally[0], deepest_a))
    low = max(low, flattest_to_end(work.x_m, work.v_m, work.tally[0], deepest_b))
    return low, high


@compiled
def _balanced_slope(
    s: SearchArrays, work: Work, a: int, ja: int, b: int, jb: int, role_a: int, role_b: int
) -> float:
    """Return the slope of the hull edge at which the linear prices of both depths balance."""
    weight_a = s.shaft.weight_eur_per_m[role_a, s.ground.soil[a, ja]]
    weight_b = s.shaft.weight_eur_per_m[role_b, s.ground.soil[b, jb]]
    at = work.value[0] * weight_b / (weight_a + weight_b)
    return hull_slope(work.x_m, work.v_m, work.tally[0], at, work.hull)


@compiled
def line_of_slope(
    s: SearchArrays,
    work: Work,
    method: int,
    a: int,
    ja: int,
    b: int,
    jb: int,
    role_a: int,
    role_b: int,
    slope: float,
) -> Settled:
    """Return a line with its levels; `eur` holds both stand-alone shafts only."""
    crown = start_level_m(work.x_m, work.v_m, work.tally[0], slope)
    bore = s.drive.bore_m[method]
    top = s.shaft.table_eur.shape[4] - 1
    lower = depth_level(s, s.ground.ground_m[a, ja], crown, bore, role_a)
    upper = depth_level(s, s.ground.ground_m[b, jb], crown + slope * work.value[0], bore, role_b)
    if lower > top or upper > top:
        return Settled(False, math.inf, top + 1, top + 1, slope, crown)
    none = no_literal(0)
    eur = shaft_table_eur(s, a, ja, none, role_a, lower) + shaft_table_eur(s, b, jb, none, role_b, upper)
    return Settled(True, eur, lower, upper, slope, crown)
