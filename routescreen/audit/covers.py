"""How deep a bore passes below what lies over it, and how deep it must: features, and unmapped water.

Room: ``audit``. May use ``assumptions``, numpy, shapely and the audit's own modules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.bores import Depths, DriveLine, least, worst
from routescreen.audit.ground import boxes_of_classes, lowest_within_m
from routescreen.audit.route import stations

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions, Treatment
    from routescreen.audit.features import Features
    from routescreen.audit.ground import TrueGround

WATER_CLASS = "water"
"""The class of ground cover that is open water."""

WATER_KIND = "lake"
"""What water is taken for that only the ground cover knows."""

LEAST_AREA_M2 = 1e-6
"""Smaller areas are left over from cutting along a common edge [m2]."""


@dataclass(frozen=True, slots=True)
class CoverRules:
    """What the cover under features depends on besides the features.

    `method_cover_m` is the cover that the method needs, `deviation_frac` the deviation of its bore
    as a share of the drive's length; `base_search_m` how far round a dyke its base is looked for;
    `terrain_is_bed` that the terrain model holds the bed of waters instead of their level.
    """

    method_cover_m: float
    deviation_frac: float
    base_search_m: float
    terrain_is_bed: bool
    step_m: float


def cover_under(
    line: DriveLine,
    ground: TrueGround,
    features: Features,
    feature: int,
    rules: CoverRules,
) -> Depths | None:
    """Return the least depth of any bore under one feature, below the level that counts for it.

    The points are each metre inside the outline, widened by the bore's radius, and its exact ends.
    None where no bore passes under it.
    """
    reach_m = features.half_width_m[feature] + line.radius_m
    area = shapely.buffer(features.geometry[feature], reach_m, quad_segs=32)
    required_m = _required_m(features, feature, line, rules)

    def level_m(xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        return reference_level_m(ground, features, feature, xy_m, rules)

    return _least_inside(line, area, level_m, required_m, rules.step_m)


def _least_inside(
    line: DriveLine,
    area: shapely.Geometry,
    level_m: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    required_m: float,
    step_m: float,
) -> Depths | None:
    """Return the least depth of any bore below a level inside an area, None where no bore passes it."""
    found = []
    for bore, bore_line in enumerate(line.bore_lines()):
        along_m = _along_inside(bore_line, area, step_m)
        if len(along_m):
            xy_m = line.xy_m(bore, along_m)
            actual_m = level_m(xy_m) - line.crown_m(along_m)
            found.append(worst(line, bore, (along_m, xy_m), actual_m, required_m))
    return least(found) if found else None


def _required_m(features: Features, feature: int, line: DriveLine, rules: CoverRules) -> float:
    """Return the depth to keep below the reference level.

    Under a service the larger of its clearance, with the uncertainty of its record and the deviation of
    the bore, and of the cover that it states itself. Else the larger of its cover and the method's.
    """
    if features.cover_reference[feature] == "service":
        drift_m = rules.deviation_frac * line.true_length_m
        unsure_m = features.record_uncertainty_m[feature]
        clear_m = features.service_clearance_m[feature] + unsure_m + drift_m
        return float(np.fmax(clear_m, features.stated_cover_m[feature]))
    return float(max(features.cover_m[feature], rules.method_cover_m))


def reference_level_m(
    ground: TrueGround,
    features: Features,
    feature: int,
    xy_m: NDArray[np.float64],
    rules: CoverRules,
) -> NDArray[np.float64]:
    """Return the level from which the depth under a feature counts, at points (n, 2) [m].

    A level that the feature states holds for all but services, but never above the terrain: ground that
    is not there covers nothing. Else: surface, and what names no reference, the terrain; formation the
    terrain less its depth; base of a dyke the lowest terrain round about; bed the terrain (the water's
    level) less the water's depth and the scour; service its underside.
    """
    reference = features.cover_reference[feature]
    stated_m = features.base_level_m[feature]
    if reference != "service" and not math.isnan(stated_m):
        return np.asarray(np.minimum(ground.level_m(xy_m), stated_m))
    if reference == "base":
        radius_m = half_breadth_m(features, feature) + rules.base_search_m
        return lowest_within_m(ground, xy_m, radius_m)
    return ground.level_m(xy_m) - _depth_below_terrain_m(features, feature, rules)


def half_breadth_m(features: Features, feature: int) -> float:
    """Return the half width of a line or point, of an area the radius of its largest circle [m]."""
    geometry = features.geometry[feature]
    if shapely.get_dimensions(geometry) < 2:
        return float(features.half_width_m[feature])
    return float(shapely.length(shapely.maximum_inscribed_circle(geometry)))


def _depth_below_terrain_m(features: Features, feature: int, rules: CoverRules) -> float:
    reference = features.cover_reference[feature]
    if reference == "formation":
        return float(features.reference_depth_m[feature])
    if reference == "bed":
        water_m = 0.0 if rules.terrain_is_bed else features.water_depth_m[feature]
        return float(water_m + features.scour_m[feature])
    if reference == "service":
        return float(features.service_depth_m[feature] + features.service_diameter_m[feature])
    return 0.0


def cover_under_open_water(
    line: DriveLine, ground: TrueGround, features: Features, assumptions: Assumptions, rules: CoverRules
) -> Depths | None:
    """Return the least depth of any bore under water that only the ground cover knows.

    It is taken for a lake: the terrain as its level, the depth, scour and cover of that kind. Water
    inside the outline of a feature whose cover counts from a bed is known, and left to that feature.

    Parameters
    ----------
    line : DriveLine
    ground : TrueGround
    features : Features
    assumptions : Assumptions
    rules : CoverRules

    Returns
    -------
    Depths or None
        Below the bed; None where no bore passes under such water.
    """
    kind = water_kind(assumptions)
    if kind is None:
        return None
    water = unmapped_water(line, ground, features, list(assumptions.cover))
    if shapely.area(water) <= LEAST_AREA_M2:
        return None
    below_m = kind.scour_m + (0.0 if rules.terrain_is_bed else kind.water_depth_m)

    def bed_m(xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        return ground.level_m(xy_m) - below_m

    required_m = max(kind.required_cover_m, rules.method_cover_m)
    area = shapely.buffer(water, line.radius_m, quad_segs=32)
    return _least_inside(line, area, bed_m, required_m, rules.step_m)


def water_kind(assumptions: Assumptions) -> Treatment | None:
    """Return the treatment of a lake, else of the water that is deepest by default."""
    if WATER_KIND in assumptions.treatments:
        return assumptions.treatments[WATER_KIND]
    waters = [kind for kind in assumptions.treatments.values() if kind.cover_reference == "bed"]
    return max(waters, key=lambda kind: kind.water_depth_m, default=None)


def unmapped_water(
    line: DriveLine, ground: TrueGround, features: Features, cover_names: list[str]
) -> shapely.Geometry:
    """Return the water of the ground cover within a bore's radius of a drive that no feature covers."""
    swath = shapely.union_all(shapely.buffer(line.bore_lines(), line.radius_m))
    classes = [k for k, name in enumerate(cover_names) if name == WATER_CLASS]
    water = shapely.union_all(boxes_of_classes(ground, swath, classes))
    known = features.outline[features.cover_reference == "bed"]
    return shapely.difference(water, shapely.union_all(known[shapely.intersects(known, water)]))


def _along_inside(line: shapely.LineString, area: shapely.Geometry, step_m: float) -> NDArray[np.float64]:
    """Return the stations of a straight line inside an area: each step, and the exact ends."""
    common = shapely.intersection(line, area)
    if shapely.is_empty(common):
        if not shapely.intersects(line, area):
            return np.zeros(0)
        common = shapely.shortest_line(line, area)
    found = []
    start = shapely.get_coordinates(line)[0]
    for part in shapely.get_parts(common):
        distance_m = np.hypot(*(shapely.get_coordinates(part) - start).T)
        from_m = float(distance_m.min())
        found.append(from_m + stations(float(distance_m.max()) - from_m, step_m))
    return np.concatenate(found)
