"""Checks of the forces on each drive: thrust, pull on the pipe, drawing back string and pipe.

Room: ``audit``. Lengths, soils, water and levels are measured here in steps along the bore; the formulae
are those of ``engineering``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.arc_checks import bend_factors, steepest_rise_frac
from routescreen.audit.drilled_checks import check_drilled_pull
from routescreen.audit.drive_profile import water_level_m
from routescreen.audit.report import Limit, Place
from routescreen.audit.route import cells_between
from routescreen.drives.forces import DriveForces, drive_forces
from routescreen.engineering.approach import approach_radius_m
from routescreen.engineering.pull_in import pipe_pull_kN
from routescreen.engineering.thrust import face_pressure_kPa, friction_kN_per_m, thrust_kN

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

SOURCE = "assumptions, [methods], [checks.thrust], [checks.pull_in]"
FORCE_TOLERANCE_KN = 1e-3


@dataclass(frozen=True, slots=True)
class _Bore:
    """A drive in pieces from its launch to its reception.

    `length_m` true length of each piece, `soil` its class (-1 where unknown), `face_kPa` what holds the
    face there; `rise_m` from launch to reception; factors `pushed` on the string and `pulled` on the pipe for
    what they press on the wall of an arc, 1 on a straight.
    """

    length_m: NDArray[np.float64]
    soil: NDArray[np.int64]
    face_kPa: NDArray[np.float64]
    rise_m: float
    pushed: float
    pulled: float


def check_forces(scene: Scene, ledger: Ledger) -> None:
    """Check the forces on every drive of the plan."""
    for index, drive in enumerate(scene.plan.drives):
        line = scene.lines[index]
        at_m = line.start_chainage_m + (0.0 if drive.is_launched_at_lower else line.plan_length_m)
        xy_m = line.lower_xy_m if drive.is_launched_at_lower else line.upper_xy_m
        place = Place(chainage_m=at_m, drive=index, xy_m=(float(xy_m[0]), float(xy_m[1])))
        forces = drive_forces(scene.assumptions, drive.method)
        if drive.curve is not None:
            check_drilled_pull(scene, ledger, index, forces, place, FORCE_TOLERANCE_KN)
            continue
        limits = [
            _limit(name) for name in ("thrust", *(("pull_in", "draw_back") if forces.has_pull_in else ()))
        ]
        bore = _bore(scene, index)
        missing = _what_is_missing(scene, index, forces, bore)
        if forces.has_pull_in:
            _check_bend(scene, ledger, index)
        if missing:
            for limit in limits:
                ledger.not_evaluated(scene.drive_id(index), limit, place, missing)
            continue
        if bore.length_m.sum() > forces.frame_run_m:
            _check_runs(scene, ledger, index, forces, bore, place)
        else:
            _check_thrust(scene, ledger, index, forces, bore, place)
        if forces.has_pull_in:
            _check_pull_in(scene, ledger, index, forces, bore, place)


def _limit(name: str) -> Limit:
    return Limit(name, "kN", SOURCE, tolerance=FORCE_TOLERANCE_KN)


def _what_is_missing(scene: Scene, index: int, forces: DriveForces, bore: _Bore) -> str:
    """Return why the forces can't be reckoned, nothing where they can."""
    if not forces.is_known:
        title = scene.method_title(scene.plan.drives[index])
        return f"nothing is said of the stations that push the string of {title} on its way"
    unknown_m = float(bore.length_m[bore.soil < 0].sum())
    if unknown_m > 0.0:
        return f"{unknown_m:.1f} m where the terrain is unknown, and so is what lies above the rock head"
    if forces.has_face_pressure and np.isnan(bore.face_kPa).any():
        return "the terrain over a part of the drive is unknown, and so is the pressure on the face"
    return ""


def _bore(scene: Scene, index: int) -> _Bore:
    """Cut a drive into pieces and look up what each lies in."""
    drive, line, ground = scene.plan.drives[index], scene.lines[index], scene.ground
    middle_m, width_m = cells_between(0.0, line.plan_length_m, scene.step_m)
    xy_m = line.lower_xy_m + middle_m[:, None] * line.direction
    depth_m = ground.level_m(xy_m) - line.crown_m(middle_m) + line.radius_m
    zones = ground.zones_at(xy_m)
    rock_depth_m, rock_soil = ground.rock(zones)
    soil = np.where(depth_m > rock_depth_m, rock_soil, ground.soil_class(zones)).astype(np.int64)
    is_unknown = np.isnan(depth_m) & np.isfinite(rock_depth_m)
    middle = shapely.LineString([line.lower_xy_m, line.upper_xy_m])
    water_depth_m = ground.level_m(xy_m) - water_level_m(scene, middle, line.radius_m, xy_m)
    face_kPa = _face_kPa(scene, index, depth_m, water_depth_m, soil)
    order = slice(None) if drive.is_launched_at_lower else slice(None, None, -1)
    rise_m = drive.upper_crown_m - drive.lower_crown_m
    return _Bore(
        (width_m * line.true_length_m / line.plan_length_m)[order],
        np.where(is_unknown, -1, soil)[order],
        face_kPa[order],
        rise_m if drive.is_launched_at_lower else -rise_m,
        *bend_factors(scene, index),
    )


def _face_kPa(
    scene: Scene,
    index: int,
    depth_m: NDArray[np.float64],
    water_depth_m: NDArray[np.float64],
    soil: NDArray[np.int64],
) -> NDArray[np.float64]:
    a = scene.assumptions
    forces = drive_forces(a, scene.plan.drives[index].method)
    if not forces.has_face_pressure:
        return np.zeros(len(depth_m))
    classes = list(a.soil.values())
    weight, wet, phi = (
        np.array([getattr(s, key) for s in classes])[soil]
        for key in ("gamma_kN_per_m3", "gamma_sat_kN_per_m3", "phi_deg")
    )
    factors = (a.checks.pressure.water_factor, a.checks.pressure.earth_factor, forces.control_kPa)
    pressure = face_pressure_kPa.py_func(depth_m, water_depth_m, weight, wet, phi, *factors)  # type: ignore[attr-defined]
    return np.asarray(pressure)


def _frictions_kN(scene: Scene, forces: DriveForces, bore: _Bore, which: str) -> NDArray[np.float64]:
    """Return the friction of each piece after a stop: ``expected`` or ``high`` [kN]."""
    a = scene.assumptions
    tau_kPa = np.array([getattr(soil.tau_kPa, which) for soil in a.soil.values()])[bore.soil]
    per_m = friction_kN_per_m.py_func(tau_kPa, forces.string_diameter_m)  # type: ignore[attr-defined]
    return np.asarray(a.checks.thrust.restart_friction_factor * per_m * bore.length_m)


@dataclass(frozen=True, slots=True)
class RestartThrust:
    """Thrust that starts the string again after a stop, face at its worst and friction of the whole drive.

    `expected_kN` and `high_kN` by the friction, NaN where `missing` says what isn't known.
    """

    expected_kN: float
    high_kN: float
    missing: str


def restart_thrust(scene: Scene, index: int) -> RestartThrust:
    """Return the thrust after a stop that the launch shaft of a drive must bear.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the drive.

    Returns
    -------
    RestartThrust
    """
    forces = drive_forces(scene.assumptions, scene.plan.drives[index].method)
    bore = _bore(scene, index)
    missing = _what_is_missing(scene, index, forces, bore)
    if missing:
        return RestartThrust(np.nan, np.nan, missing)
    return RestartThrust(*_thrusts_kN(scene, forces, bore), "")


def _thrusts_kN(scene: Scene, forces: DriveForces, bore: _Bore) -> tuple[float, float]:
    """Return the thrust after a stop at expected and at high friction [kN]."""
    weight_kN, face_kPa = forces.string_kN_per_m * bore.rise_m, float(bore.face_kPa.max())
    expected, high = (
        float(_frictions_kN(scene, forces, bore, which).sum()) for which in ("expected", "high")
    )
    return (
        bore.pushed * float(thrust_kN(face_kPa, forces.cut_diameter_m, expected, weight_kN)),
        bore.pushed * float(thrust_kN(face_kPa, forces.cut_diameter_m, high, weight_kN)),
    )


def _check_thrust(
    scene: Scene, ledger: Ledger, index: int, forces: DriveForces, bore: _Bore, place: Place
) -> None:
    """Compare the thrust that starts the string again after a stop with what frame and string bear."""
    expected, high = _thrusts_kN(scene, forces, bore)
    rules = "the frame" if forces.frame_kN <= forces.string_kN else "the string"
    reason = f"thrust after a stop at expected friction; {rules} bears {forces.capacity_kN:.0f} kN"
    element = scene.drive_id(index)
    status = ledger.at_most(element, _limit("thrust"), expected, forces.capacity_kN, place, reason)
    if status == "pass" and high > forces.capacity_kN:
        reason = "thrust after a stop at high friction; lubrication and rests are to be planned with care"
        ledger.amber(element, _limit("thrust_high_friction"), high, forces.capacity_kN, place, reason)


def _check_runs(
    scene: Scene, ledger: Ledger, index: int, forces: DriveForces, bore: _Bore, place: Place
) -> None:
    """Compare what the frame and each intermediate station push with what they and the string bear."""
    face_kPa, element = float(bore.face_kPa.max()), scene.drive_id(index)
    slope = bore.rise_m / float(bore.length_m.sum())
    if scene.plan.drives[index].arc_radius_m is not None:
        slope = steepest_rise_frac(scene, index)
    n_stations = int(np.ceil((bore.length_m.sum() - forces.frame_run_m) / forces.station_run_m))
    runs = (
        ("thrust", forces.frame_run_m, forces.capacity_kN, "the frame pushes"),
        (
            "thrust_station",
            forces.station_run_m,
            forces.station_kN,
            "the station pushes" if n_stations == 1 else f"each of {n_stations} stations pushes",
        ),
    )
    for name, run_m, capacity_kN, who in runs:
        weight_kN = forces.string_kN_per_m * slope * run_m
        expected, high = (
            bore.pushed
            * thrust_kN(
                face_kPa,
                forces.cut_diameter_m,
                _most_friction_kN(_frictions_kN(scene, forces, bore, which), bore.length_m, run_m),
                weight_kN,
            )
            for which in ("expected", "high")
        )
        reason = (
            f"{who} {run_m:.0f} m of string after a stop at expected friction, where the drive rubs most; "
            f"{capacity_kN:.0f} kN are borne"
        )
        status = ledger.at_most(element, _limit(name), expected, capacity_kN, place, reason)
        if status == "pass" and high > capacity_kN:
            limit = _limit(f"{name}_high_friction")
            reason = f"{who} {run_m:.0f} m of string after a stop at high friction"
            ledger.amber(element, limit, high, capacity_kN, place, reason)


def _most_friction_kN(friction_kN: NDArray[np.float64], length_m: NDArray[np.float64], run_m: float) -> float:
    """Return the friction of the metres of a drive that rub most, as many as a run has [kN]."""
    per_m = friction_kN / length_m
    order = np.argsort(-per_m, kind="stable")
    before_m = np.concatenate([[0.0], np.cumsum(length_m[order])[:-1]])
    return float(np.sum(per_m[order] * np.clip(run_m - before_m, 0.0, length_m[order])))


def _check_pull_in(
    scene: Scene, ledger: Ledger, index: int, forces: DriveForces, bore: _Bore, place: Place
) -> None:
    """Compare the pulls at every stage, after a stop, with what the pipe and the frame bear."""
    restart = scene.assumptions.checks.thrust.restart_friction_factor
    total_m = float(bore.length_m.sum())
    # the pipe follows from the reception; what is left of the string lies on the launch's side
    left_m = np.concatenate([[0.0], np.cumsum(bore.length_m)])
    frictions_kN = _frictions_kN(scene, forces, bore, "expected")
    string_kN = bore.pushed * np.concatenate([[0.0], np.cumsum(frictions_kN)])
    pipe_kN = bore.pulled * pipe_pull_kN.py_func(  # type: ignore[attr-defined]
        total_m - left_m,
        total_m,
        restart * forces.pipe_in_bore_kN_per_m,
        restart * forces.pipe_outside_kN_per_m,
        forces.pipe_drag_kN,
    )
    element = scene.drive_id(index)
    reason = f"pull on the ballasted pipe after a stop; it bears {forces.safe_pull_kN:.0f} kN"
    ledger.at_most(element, _limit("pull_in"), float(pipe_kN.max()), forces.safe_pull_kN, place, reason)
    both_kN = float((string_kN + pipe_kN).max())
    reason = f"string and pipe drawn back after a stop; frame and string bear {forces.capacity_kN:.0f} kN"
    ledger.at_most(element, _limit("draw_back"), both_kN, forces.capacity_kN, place, reason)


def _check_bend(scene: Scene, ledger: Ledger, index: int) -> None:
    """Compare the bend of the pipe string, down to the bore within its strip, with the least radius."""
    drive, line, a = scene.plan.drives[index], scene.lines[index], scene.assumptions
    way = a.methods[drive.method]
    shaft = scene.plan.shafts[drive.upper_shaft if drive.is_launched_at_lower else drive.lower_shaft]
    crown_m = drive.upper_crown_m if drive.is_launched_at_lower else drive.lower_crown_m
    xy_m = np.array([shaft.xy_m], dtype=np.float64)
    depth_m = float(scene.ground.level_m(xy_m)[0]) - crown_m + 2.0 * line.radius_m
    room_m = line.true_length_m / drive.n_layout_pieces + way.layout_working_length_m
    radius_m = approach_radius_m(depth_m, room_m) if np.isfinite(depth_m) else np.nan
    at_m = line.start_chainage_m + (line.plan_length_m if drive.is_launched_at_lower else 0.0)
    place = Place(at_m, drive=index, xy_m=(float(xy_m[0, 0]), float(xy_m[0, 1])))
    least_m = a.pipe.cold_bend_diameters * way.pipe_outer_diameter_m
    limit = Limit("pipe_bend", "m", "assumptions, [pipe], [methods]")
    reason = f"the pipe string comes down to the bore within its strip of {room_m:.0f} m"
    ledger.at_least(scene.drive_id(index), limit, least_m, radius_m, place, reason)
