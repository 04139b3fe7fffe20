"""Whether a drive can be pushed and its pipe pulled in, compiled.

Room: ``search``. Works on what the scan of the drive's line and the sum of its soils have left in the
work space; the formulae are those of ``engineering``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled
from routescreen.engineering.pull_in import most_pipe_pull_kN, pipe_pull_kN
from routescreen.engineering.thrust import face_pressure_kPa, thrust_kN

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.drive_price_kernel import Settled, Work


@compiled
def is_too_heavy(s: SearchArrays, work: Work, method: int, line: Settled, is_launched_at_lower: bool) -> bool:
    """Return whether the string can't be pushed, or the pipe can't be pulled in, after a stop.

    The lengths by soil must have been summed. Friction is the expected one times the factor of a restart.
    """
    f = s.force
    if f.capacity_kN[method] == math.inf and f.safe_pull_kN[method] == math.inf:
        return False
    stretch = math.sqrt(1.0 + line.slope_frac * line.slope_frac)
    true_m = work.value[0] * stretch
    friction = 0.0
    for soil in range(work.soil_m.shape[0]):
        friction += work.soil_m[soil] * stretch * f.friction_kN_per_m[method, soil]
    friction *= f.restart
    rise = line.slope_frac * work.value[0] * (1.0 if is_launched_at_lower else -1.0)
    face = _worst_face_kPa(s, work, method, line) if f.has_face_pressure[method] else 0.0
    thrust = thrust_kN(face, f.cut_m[method], friction, f.string_kN_per_m[method] * rise)
    if thrust > f.capacity_kN[method]:
        return True
    in_bore, outside = f.restart * f.in_bore_kN_per_m[method], f.restart * f.outside_kN_per_m[method]
    if most_pipe_pull_kN(true_m, in_bore, outside, f.drag_kN[method]) > f.safe_pull_kN[method]:
        return True
    if f.safe_pull_kN[method] == math.inf:
        return False
    # the rig draws back string and pipe: most at the start while the ground rubs more than the grout
    start = friction + pipe_pull_kN(0.0, true_m, in_bore, outside, f.drag_kN[method])
    end = pipe_pull_kN(true_m, true_m, in_bore, outside, f.drag_kN[method])
    return bool(max(start, end) > f.capacity_kN[method])


@compiled
def _worst_face_kPa(s: SearchArrays, work: Work, method: int, line: Settled) -> float:
    """Return the largest face pressure of a line over the cells that it touches [kPa]."""
    f, ny = s.force, s.ground.ground_m.shape[1]
    worst = 0.0
    for entry in range(work.tally[1]):
        column, row = work.entry_node[entry] // ny, work.entry_node[entry] % ny
        ground = s.ground.ground_m[column, row]
        axis = line.crown_m + line.slope_frac * work.entry_middle_m[entry] - s.drive.bore_m[method] / 2.0
        is_in_rock = ground - axis > s.shaft.rock_level[column, row] * s.shaft.step_m
        soil = s.ground.rock_soil[column, row] if is_in_rock else s.ground.soil[column, row]
        pressure = face_pressure_kPa(
            ground - axis,
            ground - s.ground.water_level_m[column, row],
            f.gamma_kN_per_m3[soil],
            f.gamma_sat_kN_per_m3[soil],
            f.phi_deg[soil],
            f.water_factor,
            f.earth_factor,
            f.control_kPa[method],
        )
        worst = max(worst, pressure)
    return worst
