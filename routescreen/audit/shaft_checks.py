"""Checks on each shaft: depth, footprint, clearance, ground cover, place.

Room: ``audit``. Uses the audit's own modules only. A shaft is an area: the inside plan of its
method and role along each drive that it serves, and their hull where it serves two.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.report import TOLERANCE_M, Ledger, Limit, Place
from routescreen.audit.scene import Scene, widest_m, words

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.plan import Shaft

SHAFTS = "assumptions, [shaft]"
CATALOGUE = "assumptions, [methods]"
TREATMENTS = "assumptions, [treatments]"
COVER = "assumptions, [cover]"
GROUND_TOLERANCE_M = 0.01
"""The level at a shaft is compared to the centimetre: rasters hold single precision [m]."""


def check_shafts(scene: Scene, ledger: Ledger) -> None:
    """Check every shaft of the plan."""
    for index, shaft in enumerate(scene.plan.shafts):
        place = Place(shaft_chainage_m(scene, shaft), shaft=index, xy_m=shaft.xy_m)
        area = footprint(scene, index)
        _check_ground(scene, ledger, index, place)
        _check_depth(scene, ledger, index, place)
        _check_depth_limits(scene, ledger, index, place)
        check_place(scene, ledger, index, area, place)


def check_place(scene: Scene, ledger: Ledger, index: int, area: shapely.Geometry, place: Place) -> None:
    """Check where a shaft of some plan stands: clearance, ground cover, the corridor's edge."""
    _check_clearance(scene, ledger, index, area, place)
    _check_cover_class(scene, ledger, index, area, place)
    _check_inside_corridor(scene, ledger, index, area, place)


def drives_of(shaft: Shaft) -> tuple[int, ...]:
    """Return the drives that a shaft serves, the incoming one first."""
    return tuple(drive for drive in (shaft.incoming, shaft.outgoing) if drive is not None)


def is_launch(scene: Scene, shaft: Shaft, drive: int) -> bool:
    """Tell whether a shaft is the launch of one of its drives."""
    launched_low = scene.plan.drives[drive].is_launched_at_lower
    return launched_low if drive == shaft.outgoing else not launched_low


def footprint(scene: Scene, index: int) -> shapely.Geometry:
    """Return the inside plan of a shaft: a rectangle for each drive, their hull if there are two."""
    shaft = scene.plan.shafts[index]
    rectangles = []
    for drive in drives_of(shaft):
        geometry = scene.geometry(scene.plan.drives[drive])
        size_m = geometry.launch_plan_m if is_launch(scene, shaft, drive) else geometry.reception_plan_m
        rectangles.append(rectangle(np.asarray(shaft.xy_m), scene.lines[drive].direction, size_m))
    if not rectangles:
        return shapely.Polygon()
    return shapely.MultiPolygon(rectangles).convex_hull if len(rectangles) > 1 else rectangles[0]


def rectangle(
    middle_m: NDArray[np.float64], direction: NDArray[np.float64], size_m: tuple[float, float]
) -> shapely.Polygon:
    """Return a rectangle of (length along, width across) about its middle."""
    along = direction * size_m[0] / 2.0
    across = np.array([direction[1], -direction[0]]) * size_m[1] / 2.0
    corners = [middle_m - along - across, middle_m + along - across]
    corners += [middle_m + along + across, middle_m - along + across]
    return shapely.Polygon(np.array(corners))


def shaft_chainage_m(scene: Scene, shaft: Shaft) -> float:
    """Return the chainage of a shaft, NaN of one that serves no drive [m]."""
    for drive in drives_of(shaft):
        line = scene.lines[drive]
        return line.start_chainage_m + (0.0 if drive == shaft.outgoing else line.plan_length_m)
    return math.nan


def _check_ground(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    shaft = scene.plan.shafts[index]
    level_m = float(scene.ground.level_m(np.array([shaft.xy_m]))[0])
    limit = Limit("shaft_ground", "m", "terrain model", tolerance=GROUND_TOLERANCE_M)
    reason = f"ground in the plan {shaft.ground_m:.3f} m, in the terrain model {level_m:.3f} m"
    ledger.at_most(scene.shaft_id(index), limit, abs(shaft.ground_m - level_m), 0.0, place, reason)


def needed_depths_m(scene: Scene, index: int) -> dict[int, float]:
    """Return the depth that each of a shaft's drives needs, unrounded: ground - invert + sump [m]."""
    shaft = scene.plan.shafts[index]
    level_m = float(scene.ground.level_m(np.array([shaft.xy_m]))[0])
    depths = {}
    for drive in drives_of(shaft):
        line = scene.lines[drive]
        crown_m = line.lower_crown_m if drive == shaft.outgoing else line.upper_crown_m
        depths[drive] = level_m - (crown_m - 2.0 * line.radius_m) + scene.assumptions.shaft.sump_m
    return depths


def _check_depth(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    """Check that the shaft is as deep as its deeper drive needs, rounded up, and no deeper."""
    depth_m, needed_m = scene.plan.shafts[index].depth_m, needed_depths_m(scene, index)
    element = scene.shaft_id(index)
    for drive, need_m in needed_m.items():
        limit = Limit("shaft_depth", "m", SHAFTS, "record")
        reason = f"{scene.drive_id(drive)} needs {need_m:.3f} m: ground less invert plus sump"
        ledger.at_least(element, limit, need_m, depth_m, place, reason)
    if needed_m:
        step_m = scene.assumptions.shaft.depth_step_m
        off_m = _off_the_rule_m(depth_m, max(needed_m.values()), _least_depth_m(scene, index), step_m)
        limit = Limit("shaft_depth_rule", "m", SHAFTS, "record")
        reason = f"depth {depth_m:.3f} m against the deeper drive's, rounded up to {step_m:g} m"
        ledger.at_most(element, limit, off_m, 0.0, place, reason)


def _least_depth_m(scene: Scene, index: int) -> float:
    drives = drives_of(scene.plan.shafts[index])
    return max(scene.geometry(scene.plan.drives[drive]).least_depth_m for drive in drives)


def _off_the_rule_m(depth_m: float, need_m: float, least_m: float, step_m: float) -> float:
    """Return by how much a depth departs from the need, rounded up to whole steps [m].

    A need within a millimetre of a whole step may be rounded either way.

    Examples
    --------
    >>> round(_off_the_rule_m(4.25, 4.01, 2.5, 0.25), 9)
    0.0
    >>> round(_off_the_rule_m(4.50, 4.01, 2.5, 0.25), 9)
    0.25
    """
    needs_m = (max(need_m, least_m) + noise_m for noise_m in (-TOLERANCE_M, 0.0, TOLERANCE_M))
    return min(abs(depth_m - math.ceil(need / step_m - 1e-9) * step_m) for need in needs_m)


def _check_depth_limits(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    """Check each method's limits: the least of the shaft, the most of what its own drive asks for.

    What is deeper than a method's own drive asks for was dug for the other drive, by the other's method.
    """
    depth_m, needed_m = scene.plan.shafts[index].depth_m, needed_depths_m(scene, index)
    deepest = max(needed_m, key=lambda drive: needed_m[drive], default=-1)
    element = scene.shaft_id(index)
    for drive in drives_of(scene.plan.shafts[index]):
        method = scene.assumptions.methods[scene.plan.drives[drive].method]
        name = method.title
        least = Limit("shaft_depth_least", "m", CATALOGUE, "surveyed")
        reason = f"a shaft of {name} is at least {method.least_shaft_depth_m:g} m deep"
        ledger.at_least(element, least, method.least_shaft_depth_m, depth_m, place, reason)
        most = Limit("shaft_depth_most", "m", CATALOGUE, "surveyed")
        reason = f"a shaft of {name} is {method.most_shaft_depth_m:g} m deep at most"
        own_m = depth_m if drive == deepest else min(needed_m[drive], depth_m)
        if own_m < depth_m:
            reason += f"; {scene.drive_id(drive)} asks for {own_m:.2f} m, the other drive for {depth_m:.2f} m"
        status = ledger.at_most(element, most, own_m, method.most_shaft_depth_m, place, reason)
        if status == "pass" and own_m > method.amber_shaft_depth_m:
            warning = Limit("shaft_depth_warning", "m", CATALOGUE, "surveyed")
            reason = f"deeper than {method.amber_shaft_depth_m:g} m"
            ledger.amber(element, warning, own_m, method.amber_shaft_depth_m, place, reason)


def _check_clearance(scene: Scene, ledger: Ledger, index: int, area: shapely.Geometry, place: Place) -> None:
    """Check the distance from the footprint to each feature in which no shaft may stand."""
    features = scene.features
    limit = Limit("shaft_clearance", "m", TREATMENTS, "record")
    for feature in scene.near(area, widest_m(features.clearance_m) + TOLERANCE_M):
        if features.shaft_ok[feature]:
            continue
        required_m = float(features.clearance_m[feature])
        away_m = float(shapely.distance(area, features.geometry[feature]))
        clear_m = max(away_m - float(features.half_width_m[feature]), 0.0)
        if clear_m >= required_m + 1.0:
            continue
        if clear_m == 0.0:
            required_m = max(required_m, 2.0 * TOLERANCE_M)
        reason = f"the shaft stands {clear_m:.2f} m from {scene.label(int(feature))}; keep {required_m:g} m"
        where = scene.feature_place(int(feature), place)
        ledger.at_least(scene.shaft_id(index), limit, required_m, clear_m, where, reason)


def _check_cover_class(
    scene: Scene, ledger: Ledger, index: int, area: shapely.Geometry, place: Place
) -> None:
    """Check that the ground under the whole footprint is of classes that allow a shaft."""
    names = list(scene.assumptions.cover)
    barred = [i for i, name in enumerate(names) if scene.assumptions.cover[name].shaft_allowed != "yes"]
    points = points_in(area, scene.step_m)
    classes = scene.ground.cover_class(points)
    is_barred = np.isin(classes, barred)
    found = ", ".join(sorted({words(names[c]) for c in classes[is_barred]}))
    limit = Limit("shaft_ground_cover", "m2", COVER, "record")
    barred_m2 = float(shapely.area(area)) * float(is_barred.mean()) if len(points) else math.nan
    reason = f"{found} under the shaft allows no shaft" if found else "its ground cover allows a shaft"
    ledger.at_most(scene.shaft_id(index), limit, barred_m2, 0.0, place, reason)


def points_in(area: shapely.Geometry, step_m: float) -> NDArray[np.float64]:
    """Return points of an area at about one step, its corners included, as (n, 2) [m]."""
    corners = shapely.get_coordinates(area)
    if len(corners) == 0:
        return corners
    west, south, east, north = shapely.bounds(area)
    x = np.linspace(west, east, max(2, math.ceil((east - west) / step_m) + 1))
    y = np.linspace(south, north, max(2, math.ceil((north - south) / step_m) + 1))
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    inside = grid[shapely.intersects_xy(area, grid[:, 0], grid[:, 1])]
    return np.concatenate([corners[:-1], inside])


def _check_inside_corridor(
    scene: Scene, ledger: Ledger, index: int, area: shapely.Geometry, place: Place
) -> None:
    if scene.inside is None:
        return
    inside, outside_m2 = scene.inside[1], 0.0
    if not shapely.contains_properly(inside, area):  # seldom: a difference looks at the whole corridor
        outside_m2 = float(shapely.difference(area, inside).area)
    limit = Limit("shaft_in_corridor", "m2", "input, layer corridor", "surveyed")
    reason = f"{outside_m2:.1f} m2 of the shaft lie outside the corridor"
    ledger.at_most(scene.shaft_id(index), limit, outside_m2, 0.0, place, reason)
