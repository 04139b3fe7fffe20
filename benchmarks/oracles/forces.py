"""Whether string and pipe of a drive bear their forces, by arithmetic of its own."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from benchmarks.oracles.courses import Arc, Drilled, most_pull_kN

if TYPE_CHECKING:
    from benchmarks.oracles.cells import Cell, Track
    from benchmarks.oracles.courses import Course
    from routescreen.search.arrays import SearchArrays


def can_be_built(
    s: SearchArrays,
    track: Track,
    method: int,
    course: Course,
    is_lower: bool,
    by_soil: dict[int, float],
) -> bool:
    """Return whether string and pipe bear the forces of a restart after a stop."""
    f = s.force
    if isinstance(course, Drilled):
        most_kN = min(float(f.capacity_kN[method]), float(f.safe_pull_kN[method]))
        return math.isinf(most_kN) or most_pull_kN(s, method, course, is_lower=is_lower) <= most_kN
    true_m = course.true_m
    rubbed = sum(metres * float(f.friction_kN_per_m[method, soil]) for soil, metres in by_soil.items())
    rubbed *= f.restart * true_m / track.length_m
    climb_m = (course.level_m(track.length_m) - course.level_m(0.0)) * (1.0 if is_lower else -1.0)
    face_kN = 0.0
    if f.has_face_pressure[method]:
        cells = [cell for column in track.cells for cell in column]
        face_kN = (
            max(_face_kPa(s, method, course, cell) for cell in cells) * math.pi * f.cut_m[method] ** 2 / 4
        )
    weight_kN = float(f.string_kN_per_m[method]) * climb_m
    pressed, drawn, steepest = 1.0, 1.0, climb_m / true_m
    if isinstance(course, Arc):
        pressed, drawn = (math.exp(f.restart * mu * course.turned_rad) for mu in (f.string_bend, f.pipe_bend))
        steepest = course.end_slope if is_lower else -course.start_slope
    if true_m > f.frame_run_m[method]:
        by_true = {soil: metres * true_m / track.length_m for soil, metres in by_soil.items()}
        runs = ((f.frame_run_m, f.capacity_kN), (f.station_run_m, f.station_kN))
        return all(
            pressed
            * (
                face_kN
                + _rubbed_kN(s, method, by_true, float(run[method]))
                + float(f.string_kN_per_m[method]) * steepest * run[method]
            )
            <= most[method]
            for run, most in runs
        )
    if pressed * (face_kN + rubbed + weight_kN) > f.capacity_kN[method]:
        return False
    pipe_kN = [
        drawn * (f.restart * float(per_m[method]) * true_m + float(f.drag_kN[method]))
        for per_m in (f.outside_kN_per_m, f.in_bore_kN_per_m)
    ]
    if max(pipe_kN) > f.safe_pull_kN[method]:
        return False
    is_pulled = math.isfinite(f.safe_pull_kN[method])
    return not is_pulled or max(pressed * rubbed + pipe_kN[0], pipe_kN[1]) <= f.capacity_kN[method]


def _rubbed_kN(s: SearchArrays, method: int, by_true: dict[int, float], run_m: float) -> float:
    """Return the friction of a restart on the metres of a drive that rub most, as many as a run has.

    The threshold form: below some friction no metre counts; the least over all thresholds bounds the sum.
    """
    friction = {soil: float(s.force.friction_kN_per_m[method, soil]) for soil in by_true}
    bounds = [
        least * run_m + sum(max(friction[soil] - least, 0.0) * metres for soil, metres in by_true.items())
        for least in (*friction.values(), 0.0)
    ]
    return float(s.force.restart) * min(bounds)


def _face_kPa(s: SearchArrays, method: int, course: Course, cell: Cell) -> float:
    """Return the pressure that holds the face in a cell: water, active earth, and what the control misses."""
    f, ground_m = s.force, float(s.ground.ground_m[cell.node])
    axis_m = course.level_m(cell.middle_m) - float(s.drive.bore_m[method]) / 2.0
    water_m = float(s.ground.water_level_m[cell.node])
    deep_m, dry_m = max(ground_m - axis_m, 0.0), max(ground_m - max(water_m, axis_m), 0.0)
    is_rock = ground_m - axis_m > s.shaft.rock_level[cell.node] * s.shaft.step_m
    soil = int((s.ground.rock_soil if is_rock else s.ground.soil)[cell.node])
    u_kPa = 9.81 * max(deep_m - (ground_m - water_m), 0.0)
    above_kPa = f.gamma_kN_per_m3[soil] * dry_m + f.gamma_sat_kN_per_m3[soil] * (deep_m - dry_m)
    above_kPa += 9.81 * max(water_m - ground_m, 0.0)
    sine = math.sin(math.radians(float(f.phi_deg[soil])))
    active = (1.0 - sine) / (1.0 + sine)
    earth_kPa = max(float(above_kPa) - u_kPa, 0.0)
    return float(f.water_factor * u_kPa + f.earth_factor * active * earth_kPa + f.control_kPa[method])
