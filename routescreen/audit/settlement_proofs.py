"""Settlement of the surface over the bores: the worst of each drive, and under rails and roads.

Room: ``audit``. The formulae are those of ``engineering.settlement``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.covers import reference_level_m
from routescreen.audit.drive_profile import soil_values
from routescreen.audit.report import Limit
from routescreen.audit.scene import cover_rules, meeting_place
from routescreen.drives.course import is_cover_asked
from routescreen.engineering.settlement import bores_settlement_mm, lost_area_m2, trough_width_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.crossings import Meeting
    from routescreen.audit.drive_profile import DriveProfile
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

RAILS = ("railway", "tram")
ROADS = ("motorway", "main_road", "road")
SOURCE = "assumptions, [checks.settlement], [soil]; Peck 1969"
WHY_NOT = "the ground or its soil isn't known all along"


def drive_settlement_mm(scene: Scene, index: int, profile: DriveProfile) -> Array:
    """Return the largest settlement of the terrain above the bores at each point of a drive [mm]."""
    return _settlement_mm(scene, index, profile, profile.terrain_m)


def _settlement_mm(
    scene: Scene, index: int, profile: DriveProfile, level_m: Array, *, is_held: bool = True
) -> Array:
    """Return the largest settlement of a level above the bores, looked for over and midway between them.

    Not held: the whole annulus is lost, which is the most that it can come to.
    """
    line, a = scene.lines[index], scene.assumptions
    way = a.methods[scene.plan.drives[index].method]
    # in a tunnel for all cables the jacked pipe is what stays in the ground
    stays_m = way.pipe_outer_diameter_m if way.bores_per == "cable" else way.driven_outer_diameter_m
    filled = a.checks.settlement.grouted_frac if way.is_annulus_filled and is_held else 0.0
    area = float(lost_area_m2(2.0 * line.radius_m, stays_m, filled))
    depth_m = level_m - profile.crown_m + line.radius_m
    width = trough_width_m(depth_m, soil_values(scene, profile.soil, "settlement_k"))
    offsets = line.offsets_m
    looked = np.concatenate([offsets, (offsets[:-1] + offsets[1:]) / 2.0])
    each = [bores_settlement_mm(offset, offsets, area, width[:, np.newaxis]) for offset in looked]
    return np.asarray(np.max(each, axis=0))


def prove_settlement(
    scene: Scene, ledger: Ledger, index: int, profile: DriveProfile, settlement_mm: Array
) -> None:
    """Enter the worst settlement of a drive, then that of each rail and road it passes under.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    index : int
    profile : DriveProfile
    settlement_mm : ndarray of shape (n,)
        As `drive_settlement_mm` gives it.
    """
    limits = scene.assumptions.checks.settlement
    element, limit = scene.drive_id(index), Limit("settlement", "mm", SOURCE)
    unknown = np.flatnonzero(np.isnan(settlement_mm))
    if len(unknown):
        ledger.not_evaluated(element, limit, profile.place(int(unknown[0]), index), WHY_NOT)
    else:
        at = int(np.argmax(np.where(_is_judged(scene, index, profile), settlement_mm, 0.0)))
        axis_m = profile.terrain_m[at] - profile.crown_m[at] + scene.lines[index].radius_m
        reason = f"largest over the bores of the drive, their axes {axis_m:.1f} m deep there"
        place = profile.place(at, index)
        ledger.finding(element, limit, float(settlement_mm[at]), limits.ground_limit_mm, place, reason)
    for number, meeting in enumerate(scene.meetings):
        if meeting.drive == index:
            _prove_meeting(scene, ledger, number, meeting, profile)


def _is_judged(scene: Scene, index: int, profile: DriveProfile) -> NDArray[np.bool_]:
    """Return the points at which settlement counts: where a drilled bore comes up to its pits it is dug."""
    drive, line = scene.plan.drives[index], scene.lines[index]
    along_m = np.abs(profile.chainage_m - line.start_chainage_m)
    return is_cover_asked(drive, line.plan_length_m, scene.geometry(drive).cover_m, along_m)


def _prove_meeting(
    scene: Scene, ledger: Ledger, number: int, meeting: Meeting, profile: DriveProfile
) -> None:
    """Enter the settlement under one crossing, at the level of its formation or surface."""
    kinds = {scene.features.kind[feature] for feature in meeting.features}
    limits, is_rail = scene.assumptions.checks.settlement, not kinds.isdisjoint(RAILS)
    if not is_rail and kinds.isdisjoint(ROADS):
        return
    chainage = profile.chainage_m
    # the points inside, and one beyond at either end: a narrow crossing may lie between two points
    step = scene.step_m
    near = np.flatnonzero((chainage >= meeting.from_m - step) & (chainage <= meeting.to_m + step))
    feature = next(f for f in meeting.features if scene.features.kind[f] in (*RAILS, *ROADS))
    xy_m = np.column_stack([profile.x_m, profile.y_m])
    rules = cover_rules(scene, scene.plan.drives[meeting.drive])
    level_m = np.full(len(chainage), np.nan)
    level_m[near] = reference_level_m(scene.ground, scene.features, feature, xy_m[near], rules)
    settled = _settlement_mm(scene, meeting.drive, profile, level_m)[near]
    element, limit = scene.crossing_id(number), Limit("settlement", "mm", SOURCE)
    place = scene.feature_place(feature, meeting_place(scene, meeting))
    if len(near) == 0 or np.isnan(settled).any():
        ledger.not_evaluated(element, limit, place, WHY_NOT)
        return
    worst = float(np.max(settled))
    stop_mm = limits.rail_stop_mm if is_rail else limits.road_limit_mm
    reason = f"largest over the bores under {scene.label(feature)}"
    status = ledger.finding(element, limit, worst, stop_mm, place, reason)
    if is_rail and status == "pass" and worst > limits.rail_alarm_mm:
        limit = Limit("settlement_alarm", "mm", SOURCE)
        reason = f"{reason}; above it the railway's watch gives the alarm"
        ledger.amber(element, limit, worst, limits.rail_alarm_mm, place, reason)
    lost_mm = float(np.max(_settlement_mm(scene, meeting.drive, profile, level_m, is_held=False)[near]))
    if status == "pass" and lost_mm > stop_mm:
        told = (
            f"{worst:.1f} mm under {scene.label(feature)} as long as slurry and grout hold the annulus; "
            f"{lost_mm:.1f} mm if all of it is lost: watch pressure and volume of both while passing under it"
        )
        ledger.amber(element, Limit("settlement_unheld", "mm", SOURCE), lost_mm, stop_mm, place, told)
