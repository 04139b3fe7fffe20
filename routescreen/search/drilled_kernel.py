"""The line of a drilled bore, compiled: the highest bottom that keeps every ceiling.

Room: ``search``. Works on what the scan of the drive's line has left in the work space.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled, no_literal
from routescreen.drives.drilled import (
    PIT_REACH_M,
    cover_run_m,
    highest_bottom_m,
    highest_start_bottom_m,
    run_m,
)
from routescreen.engineering.pull_in import most_drilled_pull_kN
from routescreen.search.drive_price_kernel import (
    INFEASIBLE,
    Settled,
    half_at,
    lay_out_halves,
    true_length_m,
)
from routescreen.search.shaft_kernel import shaft_table_eur
from routescreen.search.touched_kernel import rows_touched

if TYPE_CHECKING:
    from routescreen.drives.drilled import Half
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.drive_price_kernel import Work


@compiled
def choose_drilled(
    s: SearchArrays, work: Work, method: int, ends: tuple[int, int, int, int], is_launched_at_lower: bool
) -> Settled:
    """Choose the line of a drilled bore whose ceiling was found; `eur` holds both pits only.

    Its bottom lies as high as what it crosses, the method's own cover and the bends allow. Near a pit, where
    the bore has not come down to its cover in level ground yet, it only has to stay below ground.
    """
    lay_out_halves(s, work, method, ends, is_launched_at_lower)
    lower, upper, length = half_at(work, 0), half_at(work, 1), work.value[0]
    bottom = min(highest_start_bottom_m(lower), highest_start_bottom_m(upper))
    for k in range(work.tally[0]):
        bottom = min(bottom, _below(lower, upper, length, work.x_m[k], work.v_m[k]))
    bottom = min(bottom, _below_ground_m(s, work, method, ends[0]))
    if bottom == -math.inf or run_m(lower, bottom) + run_m(upper, bottom) > length:
        return INFEASIBLE
    way = 0 if is_launched_at_lower else 1
    role_a, role_b, none = 1 + 2 * method + way, 2 + 2 * method - way, no_literal(0)
    level_a, level_b = int(s.shaft.least_level[role_a]), int(s.shaft.least_level[role_b])
    eur = shaft_table_eur(s, ends[0], ends[1], none, role_a, level_a)
    eur += shaft_table_eur(s, ends[2], ends[3], none, role_b, level_b)
    return Settled(True, eur, level_a, level_b, 0.0, bottom)


@compiled
def _below(lower: Half, upper: Half, length: float, x: float, ceiling: float) -> float:
    """Return the highest bottom that keeps both halves below a ceiling at one place [m]."""
    return min(highest_bottom_m(lower, x, ceiling), highest_bottom_m(upper, length - x, ceiling))


@compiled
def _below_ground_m(s: SearchArrays, work: Work, method: int, first: int) -> float:
    """Return the highest bottom that keeps the cover of the method, and stays below ground near the pits."""
    lower, upper, length = half_at(work, 0), half_at(work, 1), work.value[0]
    d, ny, cover = s.drilled, s.ground.ground_m.shape[1], s.drilled.cover_m[method]
    from_m, to_m = cover_run_m(lower, cover), length - cover_run_m(upper, cover)
    bottom = math.inf
    for k in range(work.tally[0] - 1):
        row0, row1 = rows_touched(work.row[k], work.row[k + 1], ny)
        ground = math.inf
        for row in range(row0, row1 + 1):
            ground = min(ground, d.surface_m[d.surface[method], first + k, row])
        x0, x1 = max(work.x_m[k], PIT_REACH_M), min(work.x_m[k + 1], length - PIT_REACH_M)
        if x0 <= x1:
            bottom = min(bottom, _below(lower, upper, length, x0, ground))
            bottom = min(bottom, _below(lower, upper, length, x1, ground))
        x0, x1 = max(work.x_m[k], from_m), min(work.x_m[k + 1], to_m)
        if x0 <= x1:
            bottom = min(bottom, _below(lower, upper, length, x0, ground - cover))
            bottom = min(bottom, _below(lower, upper, length, x1, ground - cover))
    return bottom


@compiled
def is_too_heavy_to_pull(
    s: SearchArrays, work: Work, method: int, line: Settled, is_launched_at_lower: bool
) -> bool:
    """Return whether the rig or the pipe can't bear the pull of the pipe through a drilled bore.

    The pipe goes in at the reception. Friction is that after a stop.
    """
    d, most = s.drilled, min(s.force.capacity_kN[method], s.force.safe_pull_kN[method])
    pipe = half_at(work, 1 if is_launched_at_lower else 0)
    rig = half_at(work, 0 if is_launched_at_lower else 1)
    down, up = run_m(pipe, line.crown_m), run_m(rig, line.crown_m)
    pull = most_drilled_pull_kN(
        true_length_m(s, work, method, line),
        down,
        up,
        pipe.start_m - line.crown_m,
        rig.start_m - line.crown_m,
        math.atan2(pipe.sin, pipe.cos),
        math.atan2(rig.sin, rig.cos),
        s.force.restart * d.roller_friction[method],
        s.force.restart * d.bore_friction[method],
        d.pipe_kN_per_m[method],
        d.uplift_kN_per_m[method],
    )
    return bool(pull + s.force.drag_kN[method] > most)
