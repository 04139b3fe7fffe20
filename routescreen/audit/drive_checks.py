"""Checks on each drive: length, grade, cover, clearance, groundwater, spacing, direction.

Room: ``audit``. Uses the audit's own modules only.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.arc_checks import check_arc
from routescreen.audit.bores import Depths, DriveLine, clear_sideways_m, least, least_cover
from routescreen.audit.covers import cover_under, cover_under_open_water
from routescreen.audit.drilled_checks import check_course
from routescreen.audit.drive_profile import water_level_m
from routescreen.audit.report import Ledger, Limit, Place
from routescreen.audit.route import cells_between, stations
from routescreen.audit.scene import Scene, cover_rules, widest_m, words

if TYPE_CHECKING:
    from routescreen.plan import Drive

MAIN_SOIL_SHARE = 0.10
"""A soil rules the longest drive when it makes up more than this share of it (common practice)."""

OPEN_WATER = "water of the ground cover"

UNKNOWN = "unknown"
"""Stands for the soil where neither the soil above the rock nor the rock can be told to hold."""

ANGLE_TOLERANCE_DEG = 0.5
"""Directions are compared to half a degree: the axis is a polyline whose direction jumps [deg]."""

CATALOGUE = "assumptions, [methods]"
TREATMENTS = "assumptions, [treatments]"


def check_drives(scene: Scene, ledger: Ledger) -> None:
    """Check every drive of the plan."""
    for index, (drive, line) in enumerate(zip(scene.plan.drives, scene.lines, strict=True)):
        place = _middle(scene, index)
        _check_length(scene, ledger, index, place)
        _check_soils(scene, ledger, index, place)
        _check_grade(scene, ledger, index, place)
        unmapped = _under_open_water(scene, index)
        _check_cover(scene, ledger, index, unmapped)
        _check_features(scene, ledger, index)
        _check_open_water(scene, ledger, index, unmapped)
        _check_head(scene, ledger, index, line)
        _check_spacing(scene, ledger, drive, line, place)
        _check_direction(scene, ledger, index, place)


def _middle(scene: Scene, index: int) -> Place:
    line = scene.lines[index]
    xy_m = (line.lower_xy_m + line.upper_xy_m) / 2.0
    middle_m = line.start_chainage_m + line.plan_length_m / 2.0
    return Place(chainage_m=middle_m, drive=index, xy_m=(float(xy_m[0]), float(xy_m[1])))


def _check_length(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    drive, length_m = scene.plan.drives[index], scene.lines[index].true_length_m
    geometry, element = scene.geometry(drive), scene.drive_id(index)
    least = Limit("drive_length_least", "m", CATALOGUE, "surveyed")
    reason = f"{scene.method_title(drive)} needs at least {geometry.least_length_m:g} m"
    ledger.at_least(element, least, geometry.least_length_m, length_m, place, reason)
    longest = Limit("drive_length_longest", "m", CATALOGUE, "surveyed")
    reason = f"{scene.method_title(drive)} reaches {geometry.longest_m:g} m at most"
    ledger.at_most(element, longest, length_m, geometry.longest_m, place, reason)


def soil_lengths_m(scene: Scene, index: int) -> dict[str, float]:
    """Return the true length of a drive in each soil at its axis, by class name [m].

    Where the terrain is unknown and there is rock, so is the soil: that length stands under `UNKNOWN`.
    """
    line = scene.lines[index]
    middle_m, width_m = cells_between(0.0, line.plan_length_m, scene.step_m)
    xy_m = line.lower_xy_m + middle_m[:, None] * line.direction
    depth_m = scene.ground.level_m(xy_m) - line.crown_m(middle_m) + line.radius_m
    zones = scene.ground.zones_at(xy_m)
    rock_depth_m, rock_soil = scene.ground.rock(zones)
    soil = np.where(depth_m > rock_depth_m, rock_soil, scene.ground.soil_class(zones)).astype(np.int64)
    names = [*scene.assumptions.soil, UNKNOWN]
    soil[np.isnan(depth_m) & np.isfinite(rock_depth_m)] = len(names) - 1
    stretch = line.true_length_m / line.plan_length_m if line.plan_length_m > 0.0 else 1.0
    return {names[s]: float(width_m[soil == s].sum()) * stretch for s in np.unique(soil)}


def _check_soils(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    """Compare the length with the longest drive that the method manages in the soils it meets."""
    drive, total_m = scene.plan.drives[index], scene.lines[index].true_length_m
    drivability = scene.assumptions.methods[drive.method].drivability
    limit = Limit("drive_length_in_soil", "m", f"{CATALOGUE}, drivability")
    for name, length_m in soil_lengths_m(scene, index).items():
        entry = drivability.get(name)
        if name == UNKNOWN:
            reason = f"{length_m:.1f} m where the terrain is unknown, and so is what lies above the rock head"
            ledger.not_evaluated(scene.drive_id(index), limit, place, reason)
        elif entry is None:
            reason = f"nothing is said on {scene.method_title(drive)} in {words(name)}"
            ledger.not_evaluated(scene.drive_id(index), limit, place, reason)
        elif entry.grade == "no":
            reason = f"{scene.method_title(drive)} can't be driven in {words(name)}"
            ledger.at_most(scene.drive_id(index), limit, length_m, 0.0, place, reason)
        elif length_m > MAIN_SOIL_SHARE * total_m:
            care = ", with care" if entry.grade == "care" else ""
            reason = f"{scene.method_title(drive)} reaches {entry.longest_m:g} m in {words(name)}{care}"
            status = ledger.at_most(scene.drive_id(index), limit, total_m, entry.longest_m, place, reason)
            if status == "pass" and entry.grade == "care":
                warning = Limit("drivability", "m", limit.source)
                ledger.amber(scene.drive_id(index), warning, length_m, entry.longest_m, place, reason)


def _check_grade(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    """Check the slope as seen from the launch, rising positive."""
    drive, line = scene.plan.drives[index], scene.lines[index]
    if drive.curve is not None:
        check_course(scene, ledger, index, place)
        return
    if drive.arc_radius_m is not None:
        check_arc(scene, ledger, index, place)
        return
    geometry = scene.geometry(drive)
    rise_m = drive.upper_crown_m - drive.lower_crown_m
    rise_m = rise_m if drive.is_launched_at_lower else -rise_m
    grade = 100.0 * rise_m / line.plan_length_m if line.plan_length_m > 0.0 else math.nan
    limit = Limit("grade", "%", CATALOGUE, "surveyed", tolerance=1e-6)
    if grade >= 0.0 or math.isnan(grade):
        bound = 100.0 * geometry.grade_max_frac
        reason = f"the drive rises from its launch; {scene.method_title(drive)} may rise {bound:g} % at most"
        ledger.at_most(scene.drive_id(index), limit, grade, bound, place, reason)
    else:
        bound = -100.0 * geometry.grade_min_frac
        title, most = scene.method_title(drive), max(bound, 0.0)
        reason = f"the drive falls from its launch; {title} may fall {most:g} % at most"
        ledger.at_most(scene.drive_id(index), limit, -grade, max(bound, 0.0), place, reason)


def _under_open_water(scene: Scene, index: int) -> Depths | None:
    """Return the cover under water that only the ground cover knows, None where no bore passes under any."""
    line, rules = scene.lines[index], cover_rules(scene, scene.plan.drives[index])
    return cover_under_open_water(line, scene.ground, scene.features, scene.assumptions, rules)


def _check_cover(scene: Scene, ledger: Ledger, index: int, unmapped: Depths | None) -> None:
    """Check the cover that the method needs anywhere: of ground, under water from its scoured bed."""
    what, worst = _least_cover(scene, index, unmapped)
    place = Place(chainage_m=worst.chainage_m, drive=index, xy_m=worst.xy_m)
    limit = Limit("cover", "m", CATALOGUE, "record" if scene.ground.terrain is not None else "assumed")
    title = scene.method_title(scene.plan.drives[index])
    reason = f"bore {worst.bore + 1}, {what} to crown; {title} needs {worst.required_m:g} m"
    ledger.at_least(scene.drive_id(index), limit, worst.required_m, worst.actual_m, place, reason)


def _least_cover(scene: Scene, index: int, unmapped: Depths | None) -> tuple[str, Depths]:
    """Return from what the least cover of any bore counts, and that cover."""
    drive, line = scene.plan.drives[index], scene.lines[index]
    required_m, rules = scene.geometry(drive).cover_m, cover_rules(scene, drive)
    over_land = least_cover(line, scene.ground, required_m=required_m, step_m=scene.step_m)
    found = [("ground", over_land)]
    if unmapped is not None:
        found.append((f"{OPEN_WATER}'s scoured bed", unmapped))
    for feature in scene.near(shapely.MultiLineString(list(line.bore_lines())), line.radius_m):
        if scene.features.cover_reference[feature] == "bed":
            under = cover_under(line, scene.ground, scene.features, int(feature), rules)
            if under is not None:
                found.append((f"scoured bed of {scene.label(int(feature))}", under))
    alike = [replace(depths, required_m=required_m) for _, depths in found]
    worst = least(alike)
    return found[alike.index(worst)][0], worst


def _check_features(scene: Scene, ledger: Ledger, index: int) -> None:
    """Check what lies over or beside the bores: cover under it, or the clearance it asks for."""
    line = scene.lines[index]
    lines = shapely.MultiLineString(list(line.bore_lines()))
    reach_m = line.radius_m + widest_m(scene.features.drive_clearance_m) + 0.1
    for feature in scene.near(lines, reach_m):
        if not scene.features.drive_ok[feature]:
            _check_sideways(scene, ledger, index, int(feature))
        else:
            _check_under(scene, ledger, index, int(feature))


def _check_sideways(scene: Scene, ledger: Ledger, index: int, feature: int) -> None:
    line = scene.lines[index]
    clear_m, chainage_m = clear_sideways_m(line, scene.features, feature)
    required_m = float(scene.features.drive_clearance_m[feature])
    place = scene.feature_place(feature, Place(chainage_m, drive=index, xy_m=_xy(line, chainage_m)))
    limit = Limit("clearance_sideways", "m", TREATMENTS, "record")
    reason = f"no drive may pass under {scene.label(feature)}; keep {required_m:g} m from it"
    ledger.at_least(scene.drive_id(index), limit, required_m, clear_m, place, reason)


def _check_under(scene: Scene, ledger: Ledger, index: int, feature: int) -> None:
    drive, line = scene.plan.drives[index], scene.lines[index]
    depths = cover_under(line, scene.ground, scene.features, feature, cover_rules(scene, drive))
    if depths is None:
        return
    is_service = scene.features.cover_reference[feature] == "service"
    place = Place(depths.chainage_m, drive=index, xy_m=depths.xy_m)
    limit = Limit(
        "service_clearance" if is_service else "cover_under",
        "m",
        TREATMENTS,
        str(scene.features.confidence[feature]),
    )
    reference = str(scene.features.cover_reference[feature])
    below = {"service": "its underside", "none": "the surface"}.get(reference, f"its {reference}")
    reason = (
        f"bore {depths.bore + 1} under {scene.label(feature)}, {depths.actual_m:.2f} m from {below}; "
        f"{depths.required_m:.2f} m needed"
    )
    ledger.at_least(
        scene.drive_id(index),
        limit,
        depths.required_m,
        depths.actual_m,
        scene.feature_place(feature, place),
        reason,
    )


def _check_open_water(scene: Scene, ledger: Ledger, index: int, depths: Depths | None) -> None:
    """Check the cover under water that only the ground cover knows, taken for a lake."""
    if depths is None:
        return
    place = Place(depths.chainage_m, drive=index, xy_m=depths.xy_m)
    limit = Limit("cover_under_water", "m", f"{TREATMENTS}; water of the ground cover, depth unknown")
    reason = (
        f"bore {depths.bore + 1} under water known from the ground cover only, {depths.actual_m:.2f} m from "
        f"its assumed bed; {depths.required_m:.2f} m needed"
    )
    ledger.at_least(scene.drive_id(index), limit, depths.required_m, depths.actual_m, place, reason)


def _xy(line: DriveLine, chainage_m: float) -> tuple[float, float]:
    point = line.lower_xy_m + (chainage_m - line.start_chainage_m) * line.direction
    return float(point[0]), float(point[1])


def _check_head(scene: Scene, ledger: Ledger, index: int, line: DriveLine) -> None:
    """Check the head of water above the bores' axes: groundwater, or open water that stands higher."""
    drive = scene.plan.drives[index]
    method = scene.assumptions.methods[drive.method]
    if method.head_above_axis_fail_m is None:
        return
    along_m = stations(line.plan_length_m, scene.step_m)
    worst = (-math.inf, 0.0)
    for bore in range(len(line.offsets_m)):
        xy_m = line.xy_m(bore, along_m)
        water_m = water_level_m(scene, line.bore_lines()[bore], line.radius_m, xy_m)
        head_m = water_m - (line.crown_m(along_m) - line.radius_m)
        at = int(np.argmax(head_m))  # a level that is not known comes first, and stays
        if not head_m[at] <= worst[0]:
            worst = (float(head_m[at]), float(along_m[at]))
        if math.isnan(worst[0]):
            break
    chainage_m = line.start_chainage_m + worst[1]
    place = Place(chainage_m, drive=index, xy_m=_xy(line, chainage_m))
    limit = Limit("groundwater_head", "m", CATALOGUE)
    reason = (
        f"groundwater or open water above the bore's axis; {method.title} bears "
        f"{method.head_above_axis_fail_m:g} m"
    )
    element = scene.drive_id(index)
    status = ledger.at_most(element, limit, worst[0], method.head_above_axis_fail_m, place, reason)
    amber_m = method.head_above_axis_amber_m
    if status == "pass" and amber_m is not None and worst[0] > amber_m:
        warning = Limit("groundwater_head_warning", "m", CATALOGUE)
        reason = f"groundwater or open water above the bore's axis is more than {amber_m:g} m"
        ledger.amber(element, warning, worst[0], amber_m, place, reason)


def _check_spacing(scene: Scene, ledger: Ledger, drive: Drive, line: DriveLine, place: Place) -> None:
    """Check the distance between neighbouring bores at this drive's own length."""
    geometry, method = scene.geometry(drive), scene.assumptions.methods[drive.method]
    if geometry.n_bores < 2:
        return
    drift_m = 2.0 * geometry.deviation_frac * line.true_length_m
    required_m = max(
        method.thermal_spacing_m,
        method.least_spacing_m,
        geometry.pipe_diameter_m + geometry.bore_diameter_m + drift_m,
        method.spacing_diameters * geometry.bore_diameter_m,
    )
    limit = Limit("bore_spacing", "m", CATALOGUE)
    reason = "the larger of heat, least spacing, deviation of both bores and multiple of the bore"
    ledger.at_least(scene.drive_id(place.drive), limit, required_m, geometry.spacing_m, place, reason)


def _check_direction(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    """Check the drive's direction against the axis, by the chainage and offset of its ends."""
    allowed_deg = scene.assumptions.search.max_drive_angle_deg
    limit = Limit("drive_direction", "deg", "assumptions, [search]", tolerance=ANGLE_TOLERANCE_DEG)
    reason = f"direction against the axis; drives beyond {allowed_deg:g} deg are not searched"
    if scene.axis is None:
        missing = "no axis is known to the audit"
        ledger.not_evaluated(scene.drive_id(index), limit, place, missing)
        return
    line = scene.lines[index]
    ends = [shapely.Point(line.lower_xy_m), shapely.Point(line.upper_xy_m)]
    along_m = scene.axis.project(ends[1]) - scene.axis.project(ends[0])
    offset_m = _signed_offset_m(scene.axis, ends[1]) - _signed_offset_m(scene.axis, ends[0])
    angle_deg = math.degrees(math.atan2(abs(offset_m), along_m))
    ledger.at_most(scene.drive_id(index), limit, angle_deg, allowed_deg, place, reason)


def _signed_offset_m(axis: shapely.LineString, point: shapely.Point) -> float:
    """Return the distance of a point from the axis, right positive looking up-chainage [m]."""
    at_m = float(axis.project(point))
    before = shapely.get_coordinates(axis.interpolate(max(at_m - 0.5, 0.0)))[0]
    after = shapely.get_coordinates(axis.interpolate(min(at_m + 0.5, axis.length)))[0]
    ahead, away = after - before, shapely.get_coordinates(point)[0] - before
    side = ahead[1] * away[0] - ahead[0] * away[1]
    return math.copysign(float(axis.distance(point)), side)
