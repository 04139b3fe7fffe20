"""Checks that only a drilled bore has: angles at its pits, bends, that it stays below ground, its pull.

Room: ``audit``. Levels are looked up here along every bore; the formulae are those of ``engineering``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.report import Limit, Place
from routescreen.audit.route import stations
from routescreen.drives.course import halves_of
from routescreen.drives.drilled import PIT_REACH_M, run_m
from routescreen.engineering.directional_pull import DrilledPath, drilled_pull

if TYPE_CHECKING:
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.drives.forces import DriveForces

CATALOGUE = "assumptions, [methods]"
PULL = "assumptions, [pipe], [checks.pull_in]; ASTM F1962, seen in a handbook on trenchless piping"
ANGLE_TOLERANCE_DEG = 1e-6
RADIUS_TOLERANCE_M = 1e-6


def check_course(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    """Check the angles, the bends and the levels of a drilled bore."""
    _check_angles(scene, ledger, index, place)
    _check_bends(scene, ledger, index, place)
    _check_below_ground(scene, ledger, index)


def _check_angles(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    """Compare the angles at entry and exit with what rig and pipe need."""
    drive = scene.plan.drives[index]
    allowed, curve = scene.assumptions.methods[drive.method].surface_angles, drive.curve
    if allowed is None or curve is None:
        return
    angles = (curve.lower_angle_rad, curve.upper_angle_rad)
    entry, leaving = angles if drive.is_launched_at_lower else angles[::-1]
    for name, angle_rad, range_deg in (
        ("entry_angle", entry, allowed.entry_deg),
        ("exit_angle", leaving, allowed.exit_deg),
    ):
        angle_deg = math.degrees(angle_rad)
        limit = Limit(name, "deg", CATALOGUE, "surveyed", tolerance=ANGLE_TOLERANCE_DEG)
        title = scene.method_title(drive)
        reason = f"to the horizontal; {title} takes {range_deg.low:g} to {range_deg.high:g} deg"
        if angle_deg < range_deg.low - ANGLE_TOLERANCE_DEG:
            ledger.at_least(scene.drive_id(index), limit, range_deg.low, angle_deg, place, reason)
        else:
            ledger.at_most(scene.drive_id(index), limit, angle_deg, range_deg.high, place, reason)


def _check_bends(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    """Compare the radius with the least one, and the two halves with the room that they have."""
    drive, line = scene.plan.drives[index], scene.lines[index]
    curve, way = drive.curve, scene.assumptions.methods[drive.method]
    if curve is None or way.least_radius_m is None:
        return
    limit = Limit("bore_bend", "m", CATALOGUE, "surveyed", tolerance=RADIUS_TOLERANCE_M)
    reason = (
        f"radius between the straights and the level part; {way.title} bends with {way.least_radius_m:g} m"
    )
    ledger.at_least(scene.drive_id(index), limit, way.least_radius_m, curve.radius_m, place, reason)
    needed_m = sum(run_m(half, curve.bottom_crown_m) for half in halves_of(drive))
    limit = Limit("bore_course", "m", CATALOGUE, "surveyed")
    reason = "down from one pit and up to the other; the rest lies level"
    ledger.at_most(scene.drive_id(index), limit, needed_m, line.plan_length_m, place, reason)


def _check_below_ground(scene: Scene, ledger: Ledger, index: int) -> None:
    """Check that no bore comes out of the ground away from its pits."""
    line = scene.lines[index]
    along_m = stations(line.plan_length_m, scene.step_m)
    along_m = along_m[(along_m >= PIT_REACH_M) & (along_m <= line.plan_length_m - PIT_REACH_M)]
    limit = Limit("bore_below_ground", "m", "terrain model", "record")
    worst: tuple[float, float, tuple[float, float]] | None = None
    for bore in range(len(line.offsets_m)):
        xy_m = line.xy_m(bore, along_m)
        cover_m = scene.ground.level_m(xy_m) - line.crown_m(along_m)
        if len(cover_m) == 0:
            continue
        at = int(np.argmin(cover_m))  # a level that is not known comes first, and stays
        if worst is None or not cover_m[at] >= worst[0]:
            worst = (float(cover_m[at]), float(along_m[at]), (float(xy_m[at, 0]), float(xy_m[at, 1])))
        if math.isnan(worst[0]):
            break
    if worst is None:
        return
    place = Place(line.start_chainage_m + worst[1], drive=index, xy_m=worst[2])
    reason = f"ground over the crown further than {PIT_REACH_M:g} m from the pits"
    ledger.at_least(scene.drive_id(index), limit, 0.0, worst[0], place, reason)


def drilled_pull_kN(scene: Scene, index: int, forces: DriveForces) -> float:
    """Return the largest pull on the ballasted pipe through a drilled bore, after a stop [kN].

    Parameters
    ----------
    scene : Scene
    index : int
        Of a drilled drive.
    forces : DriveForces
        Of its method.

    Raises
    ------
    ValueError
        If the drive is straight.
    """
    drive, line, a = scene.plan.drives[index], scene.lines[index], scene.assumptions
    if drive.curve is None:
        raise ValueError("a straight drive pulls no pipe through a drilled bore")
    lower, upper = halves_of(drive)
    pipe, rig = (upper, lower) if drive.is_launched_at_lower else (lower, upper)
    bottom_m, restart = drive.curve.bottom_crown_m, a.checks.thrust.restart_friction_factor
    down_m, up_m = run_m(pipe, bottom_m), run_m(rig, bottom_m)
    pulls = drilled_pull(
        DrilledPath(
            outside_m=np.zeros(1),
            down_m=np.array([down_m]),
            level_m=np.array([line.true_length_m - down_m - up_m]),
            up_m=np.array([up_m]),
            depth_m=np.array([pipe.start_m - bottom_m]),
            pipe_angle_rad=np.array([math.atan2(pipe.sin, pipe.cos)]),
            rig_angle_rad=np.array([math.atan2(rig.sin, rig.cos)]),
            rises_m=np.array([rig.start_m - bottom_m]),
        ),
        ground_friction=restart * a.checks.pull_in.roller_friction,
        bore_friction=restart * a.checks.pull_in.grout_friction,
        weight_kN_per_m=forces.pipe_kN_per_m,
        uplift_kN_per_m=forces.uplift_kN_per_m,
    )
    return float(pulls.most_kN[0]) + forces.pipe_drag_kN


def check_drilled_pull(
    scene: Scene, ledger: Ledger, index: int, forces: DriveForces, place: Place, tolerance_kN: float
) -> None:
    """Compare the pull on the ballasted pipe through the bore, after a stop, with what rig and pipe bear."""
    pull_kN = drilled_pull_kN(scene, index, forces)
    element = scene.drive_id(index)
    limit = Limit("pull_in", "kN", PULL, tolerance=tolerance_kN)
    reason = f"pull on the ballasted pipe after a stop; it bears {forces.safe_pull_kN:.0f} kN"
    ledger.at_most(element, limit, pull_kN, forces.safe_pull_kN, place, reason)
    limit = Limit("rig_pull", "kN", PULL, tolerance=tolerance_kN)
    reason = f"pull on the ballasted pipe after a stop; the rig gives {forces.capacity_kN:.0f} kN"
    ledger.at_most(element, limit, pull_kN, forces.capacity_kN, place, reason)
