"""Whether the annulus of a drive can be grouted in one go, compiled.

Room: ``search``. Works on what the scan of the drive's line has left in the work space; the formulae are
those of ``engineering.grout_limit``, the question that of ``engineering.grout_head``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled
from routescreen.engineering.grout_limit import (
    CrownGround,
    LimitFactors,
    crown_effective_kPa,
    crown_limit_kPa,
    crown_water_kPa,
)
from routescreen.search.drive_price_kernel import crown_at_m

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.drive_price_kernel import Settled, Work


@compiled
def is_grout_barred(s: SearchArrays, work: Work, method: int, line: Settled) -> bool:
    """Return whether no pressure keeps the grout of a line within what the ground bears, in one go.

    Both bounds are taken at the middle of every touched cell, less the column of grout from a common level:
    the largest of the lower ones must not be above the least of the upper ones. What isn't known bars none.
    """
    g = s.force.grout
    if method >= g.is_limited.shape[0] or not g.is_limited[method]:
        return False
    factors = LimitFactors(g.tan_phi_factor, g.cohesion_factor, g.modulus_factor, g.strain_frac)
    low, high = -math.inf, math.inf
    for entry in range(work.tally[1]):
        crown = crown_at_m(s, work, method, line, work.entry_middle_m[entry])
        ground = _over_crown(s, work, method, entry, crown)
        water, column = crown_water_kPa(ground), g.grout_kN_per_m3 * crown
        low = max(low, water + g.above_water_kPa + column)
        # the ground holds at least its own weight, whatever its strength adds
        high = min(high, water + crown_effective_kPa(ground) + column)
    if low <= high:
        return False
    high = math.inf
    for entry in range(work.tally[1]):
        crown = crown_at_m(s, work, method, line, work.entry_middle_m[entry])
        ground = _over_crown(s, work, method, entry, crown)
        limit = crown_limit_kPa(ground, s.drive.bore_m[method], factors)
        if not math.isnan(limit):
            high = min(high, limit + g.grout_kN_per_m3 * crown)
    return low > high


@compiled
def _over_crown(s: SearchArrays, work: Work, method: int, entry: int, crown_m: float) -> CrownGround:
    """Return the ground over the crown in a cell: the soil of the axis, the lighter of both unit weights."""
    g, f, ny = s.force.grout, s.force, s.ground.ground_m.shape[1]
    column, row = work.entry_node[entry] // ny, work.entry_node[entry] % ny
    axis_depth = s.ground.ground_m[column, row] - crown_m + s.drive.bore_m[method] / 2.0
    above = s.ground.soil[column, row]
    soil = above
    if axis_depth > s.shaft.rock_level[column, row] * s.shaft.step_m:
        soil = s.ground.rock_soil[column, row]
    return CrownGround(
        g.bed_m[column, row] - crown_m,
        g.bed_water_m[column, row],
        min(f.gamma_kN_per_m3[soil], f.gamma_kN_per_m3[above]),
        min(f.gamma_sat_kN_per_m3[soil], f.gamma_sat_kN_per_m3[above]),
        f.phi_deg[soil],
        g.cohesion_kPa[soil],
        g.modulus_kPa[soil],
        g.undrained_kPa[soil],
        g.depth_share[soil],
    )
