"""Whether a drive can be pushed and its pipe pulled in, compiled.

Room: ``search``. Works on what the scan of the drive's line and the sum of its soils have left in the
work space; the formulae are those of ``engineering``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled
from routescreen.drives.arc import end_turn_frac, turned_rad
from routescreen.engineering.pull_in import most_pipe_pull_kN, pipe_pull_kN
from routescreen.engineering.thrust import bend_factor, face_pressure_kPa, thrust_kN
from routescreen.search.drilled_kernel import is_too_heavy_to_pull
from routescreen.search.drive_price_kernel import crown_at_m, true_length_m

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.drive_price_kernel import Settled, Work


@compiled
def is_too_heavy(s: SearchArrays, work: Work, method: int, line: Settled, is_launched_at_lower: bool) -> bool:
    """Return whether the string can't be pushed, or the pipe can't be pulled in, after a stop.

    The lengths by soil must have been summed. Friction is the expected one times the factor of a restart.
    A string longer than the frame pushes itself is pushed in runs, by intermediate stations; none of those
    methods pulls a pipe in. What is pushed or pulled through an arc presses on its wall.
    """
    f = s.force
    if f.capacity_kN[method] == math.inf and f.safe_pull_kN[method] == math.inf:
        return False
    if s.drilled.is_drilled[method]:
        return is_too_heavy_to_pull(s, work, method, line, is_launched_at_lower)
    stretch, turned = math.sqrt(1.0 + line.slope_frac * line.slope_frac), 0.0
    if s.drive.arc_per_m[method] > 0.0:
        stretch = true_length_m(s, work, method, line) / work.value[0]
        turned = turned_rad(s.drive.arc_per_m[method], line.slope_frac, work.value[0])
    true_m = work.value[0] * stretch
    pushed, pulled = (
        bend_factor(f.restart * f.string_bend, turned),
        bend_factor(f.restart * f.pipe_bend, turned),
    )
    friction = 0.0
    for soil in range(work.soil_m.shape[0]):
        friction += work.soil_m[soil] * stretch * f.friction_kN_per_m[method, soil]
    friction *= f.restart
    rise = line.slope_frac * work.value[0] * (1.0 if is_launched_at_lower else -1.0)
    face = _worst_face_kPa(s, work, method, line) if f.has_face_pressure[method] else 0.0
    weight = f.string_kN_per_m[method] * rise
    if true_m > f.frame_run_m[method]:
        weight /= true_m if turned == 0.0 else work.value[0]
        weight += f.string_kN_per_m[method] * end_turn_frac(s.drive.arc_per_m[method], work.value[0])
        return _is_too_heavy_in_runs(s, work, method, stretch, face, weight, pushed)
    if pushed * thrust_kN(face, f.cut_m[method], friction, weight) > f.capacity_kN[method]:
        return True
    in_bore, outside = f.restart * f.in_bore_kN_per_m[method], f.restart * f.outside_kN_per_m[method]
    if pulled * most_pipe_pull_kN(true_m, in_bore, outside, f.drag_kN[method]) > f.safe_pull_kN[method]:
        return True
    if f.safe_pull_kN[method] == math.inf:
        return False
    # the rig draws back string and pipe: most at the start while the ground rubs more than the grout
    start = pushed * friction + pulled * pipe_pull_kN(0.0, true_m, in_bore, outside, f.drag_kN[method])
    end = pulled * pipe_pull_kN(true_m, true_m, in_bore, outside, f.drag_kN[method])
    return bool(max(start, end) > f.capacity_kN[method])


@compiled
def _is_too_heavy_in_runs(
    s: SearchArrays,
    work: Work,
    method: int,
    stretch: float,
    face_kPa: float,
    weight_kN_per_m: float,
    pushed: float,
) -> bool:
    """Return whether the frame's run of a string, or one that an intermediate station pushes, is too heavy.

    A run passes soils that depend on where it is: the worst metres of the drive are taken together, and the
    largest pressure on the face. Of an arc `weight_kN_per_m` is that on its steepest metre and `pushed` the
    factor of all of it.
    """
    f, restart = s.force, s.force.restart
    run, most = f.frame_run_m[method], f.capacity_kN[method]
    friction = restart * _most_friction_kN(s, work, method, stretch, run)
    if pushed * thrust_kN(face_kPa, f.cut_m[method], friction, weight_kN_per_m * run) > most:
        return True
    run, most = f.station_run_m[method], f.station_kN[method]
    friction = restart * _most_friction_kN(s, work, method, stretch, run)
    return bool(pushed * thrust_kN(face_kPa, f.cut_m[method], friction, weight_kN_per_m * run) > most)


@compiled
def _most_friction_kN(s: SearchArrays, work: Work, method: int, stretch: float, run_m: float) -> float:
    """Return the friction of so many metres of a drive where it is greatest [kN].

    Soils are taken in the order of their friction, of equals the first one first; `stretch` is true length
    over length in plan.
    """
    f = s.force
    total, left, last, last_soil = 0.0, run_m, math.inf, -1
    while left > 0.0:
        worst = -1
        for soil in range(work.soil_m.shape[0]):
            value = f.friction_kN_per_m[method, soil]
            if work.soil_m[soil] <= 0.0 or value > last or (value == last and soil <= last_soil):
                continue
            if worst < 0 or value > f.friction_kN_per_m[method, worst]:
                worst = soil
        if worst < 0:
            break
        last, last_soil = f.friction_kN_per_m[method, worst], worst
        taken = min(left, work.soil_m[worst] * stretch)
        total += taken * last
        left -= taken
    return total


@compiled
def _worst_face_kPa(s: SearchArrays, work: Work, method: int, line: Settled) -> float:
    """Return the largest face pressure of a line over the cells that it touches [kPa]."""
    f, ny = s.force, s.ground.ground_m.shape[1]
    worst = 0.0
    for entry in range(work.tally[1]):
        column, row = work.entry_node[entry] // ny, work.entry_node[entry] % ny
        ground = s.ground.ground_m[column, row]
        axis = crown_at_m(s, work, method, line, work.entry_middle_m[entry]) - s.drive.bore_m[method] / 2.0
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
