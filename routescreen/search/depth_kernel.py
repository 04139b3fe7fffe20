"""The lines that a drive may have between two shafts, compiled: one for each depth of the lower one.

Room: ``search``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from routescreen.compiled import by_reference, compiled
from routescreen.drives.profile import steepest_from_start
from routescreen.search.crown_kernel import floor_slopes, line_of_slope, raise_again, roles, slope_limits
from routescreen.search.drive_kernel import price_line, scan
from routescreen.search.drive_price_kernel import lower_to_water
from routescreen.search.shaft_kernel import shaft_eur

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, SearchArrays
    from routescreen.search.drive_price_kernel import Work


@compiled
def lines_by_level(
    s: SearchArrays,
    work: Work,
    method: int,
    a: int,
    ja: int,
    b: int,
    jb: int,
    is_launched_at_lower: bool,
    table: Floats,
) -> None:
    """Fill the lines that lie least deep at the upper end, by the level that the lower end may have.

    Parameters
    ----------
    s : SearchArrays
    work : Work
    method, a, ja, b, jb : int
        The drive's method and its nodes, lower one first.
    is_launched_at_lower : bool
    table : ndarray of shape (nl, 5)
        Given full of inf; filled with price [EUR], lower and upper level, slope and crown at the lower
        end [m] where there is such a line.
    """
    _fill(by_reference(s), by_reference(work), method, a, ja, b, jb, is_launched_at_lower, table)


@compiled
def _fill(
    s: SearchArrays,
    work: Work,
    method: int,
    a: int,
    ja: int,
    b: int,
    jb: int,
    is_launched_at_lower: bool,
    table: Floats,
) -> None:
    if s.drilled.is_drilled[method] or not scan(s, work, method, a, ja, b, jb):
        return  # a drilled bore shares no pit: it has no line but its own
    ends = (a, ja, b, jb)
    _fill_under(s, work, method, ends, is_launched_at_lower, True, table)
    if s.drive.gap.has_gap[method]:
        lower_to_water(s, work, method, a)
        _fill_under(s, work, method, ends, is_launched_at_lower, False, table)
        raise_again(work)


@compiled
def _fill_under(
    s: SearchArrays,
    work: Work,
    method: int,
    ends: tuple[int, int, int, int],
    is_launched_at_lower: bool,
    is_dry: bool,
    table: Floats,
) -> None:
    """Fill the lines under the ceiling as it stands, where no level has one yet that comes less deep.

    Of the slopes that the limits allow those are left out whose highest line lies below a floor of the
    cable's heat, unless all do: whether the cable is too warm on a line is told cell by cell.
    """
    a, ja, b, jb = ends
    role_a, role_b = roles(method, is_launched_at_lower)
    low, high = slope_limits(s, work, method, ends, is_launched_at_lower)
    above_low, above_high = floor_slopes(s, work, method, a, is_dry)
    if max(low, above_low) <= min(high, above_high):
        low, high = max(low, above_low), min(high, above_high)
    for level in range(s.shaft.least_level[role_a], min(s.shaft.most_level[role_a] + 1, table.shape[0])):
        if table[level, 0] < np.inf:
            continue
        crown = s.ground.ground_m[a, ja] + s.drive.bore_m[method] + s.shaft.sump_m - level * s.shaft.step_m
        slope = min(high, steepest_from_start(work.x_m, work.v_m, work.tally[0], crown))
        if slope < low:
            continue
        line = line_of_slope(s, work, method, a, ja, b, jb, role_a, role_b, slope)
        if not line.is_feasible or line.upper_level > s.shaft.most_level[role_b]:
            continue
        drive = price_line(s, work, method, a, ja, b, jb, is_launched_at_lower, line, math.inf)
        if drive.is_feasible:
            table[level, 0] = drive.eur
            table[level, 1], table[level, 2] = drive.lower_level, drive.upper_level
            table[level, 3], table[level, 4] = drive.slope_frac, drive.crown_m


@compiled
def shaft_prices_eur(s: SearchArrays, column: int, row: int, r: int, k: int) -> Floats:
    """Return the price of a shaft at a node by its level, shape (nl,), inf beyond a limit [EUR]."""
    return _shaft_prices_eur(by_reference(s), column, row, r, k)


@compiled
def _shaft_prices_eur(s: SearchArrays, column: int, row: int, r: int, k: int) -> Floats:
    n_levels = s.shaft.table_eur.shape[4]
    out = np.empty(n_levels)
    for level in range(n_levels):
        out[level] = shaft_eur(s, column, row, r, k, level)
    return out
