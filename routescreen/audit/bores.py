"""Every bore of a drive as a true line in space, and what it leaves above it.

Room: ``audit``. May use ``plan``, ``drives.methods``, numpy, shapely and the audit's own modules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.ground import lowest_within_m
from routescreen.audit.route import stations

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.features import Features
    from routescreen.audit.ground import TrueGround
    from routescreen.audit.route import Route
    from routescreen.drives.methods import MethodGeometry
    from routescreen.plan import Drive, Plan


@dataclass(frozen=True, slots=True)
class DriveLine:
    """One drive in space.

    Attributes
    ----------
    lower_xy_m, upper_xy_m : ndarray of shape (2,)
        Middles of its shafts [m].
    direction : ndarray of shape (2,)
        Unit heading in plan, from lower to upper chainage [-].
    plan_length_m, true_length_m : float
    lower_crown_m, upper_crown_m : float
    start_chainage_m : float
        Chainage of the lower end [m].
    offsets_m : ndarray of shape (n_bores,)
        Sideways offset of each bore, right positive looking up-chainage [m].
    radius_m : float
        Radius of the bore [m].
    """

    lower_xy_m: NDArray[np.float64]
    upper_xy_m: NDArray[np.float64]
    direction: NDArray[np.float64]
    plan_length_m: float
    true_length_m: float
    lower_crown_m: float
    upper_crown_m: float
    start_chainage_m: float
    offsets_m: NDArray[np.float64]
    radius_m: float

    def xy_m(self, bore: int, along_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return points of a bore's axis at distances from the lower end, (n, 2) [m]."""
        right = np.array([self.direction[1], -self.direction[0]])
        start = self.lower_xy_m + self.offsets_m[bore] * right
        return np.asarray(start + along_m[:, None] * self.direction, dtype=np.float64)

    def crown_m(self, along_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the crown level at distances from the lower end [m]."""
        share = along_m / self.plan_length_m if self.plan_length_m > 0.0 else np.zeros_like(along_m)
        return np.asarray(self.lower_crown_m + share * (self.upper_crown_m - self.lower_crown_m))

    def bore_lines(self) -> NDArray[np.object_]:
        """Return the axis of each bore in plan as a LineString, shape (n_bores,)."""
        ends_m = np.array([0.0, self.plan_length_m])
        coordinates = np.stack([self.xy_m(bore, ends_m) for bore in range(len(self.offsets_m))])
        return np.asarray(shapely.linestrings(coordinates), dtype=np.object_)


def drive_line(plan: Plan, drive: Drive, route: Route, geometry: MethodGeometry) -> DriveLine:
    """Lay out one drive between the middles of its shafts.

    Parameters
    ----------
    plan : Plan
    drive : Drive
    route : Route
    geometry : MethodGeometry
        Of the drive's method.

    Returns
    -------
    DriveLine
    """
    lower = np.asarray(plan.shafts[drive.lower_shaft].xy_m, dtype=np.float64)
    upper = np.asarray(plan.shafts[drive.upper_shaft].xy_m, dtype=np.float64)
    length_m = float(np.hypot(*(upper - lower)))
    n = geometry.n_bores
    return DriveLine(
        lower_xy_m=lower,
        upper_xy_m=upper,
        direction=(upper - lower) / length_m if length_m > 0.0 else np.zeros(2),
        plan_length_m=length_m,
        true_length_m=math.hypot(length_m, drive.upper_crown_m - drive.lower_crown_m),
        lower_crown_m=drive.lower_crown_m,
        upper_crown_m=drive.upper_crown_m,
        start_chainage_m=float(route.chainage_m[min(drive.from_vertex, route.n_pieces)]),
        offsets_m=np.asarray((np.arange(n) - (n - 1) / 2.0) * geometry.spacing_m, dtype=np.float64),
        radius_m=geometry.bore_diameter_m / 2.0,
    )


@dataclass(frozen=True, slots=True)
class Depths:
    """The place of a drive where least is left above its bores; NaN where the ground is unknown.

    `actual_m` and `required_m` are counted from the reference level of what lies above.
    """

    actual_m: float
    required_m: float
    chainage_m: float
    bore: int
    xy_m: tuple[float, float]


def least_cover(line: DriveLine, ground: TrueGround, *, required_m: float, step_m: float) -> Depths:
    """Return the least depth of the crown below the ground along every bore.

    Parameters
    ----------
    line : DriveLine
    ground : TrueGround
    required_m : float
        Cover that the method needs anywhere [m].
    step_m : float
        Distance between the points of the profile [m].
    """
    along_m = stations(line.plan_length_m, step_m)
    found = []
    for bore in range(len(line.offsets_m)):
        xy_m = line.xy_m(bore, along_m)
        actual_m = ground.level_m(xy_m) - line.crown_m(along_m)
        found.append(_worst(line, bore, (along_m, xy_m), actual_m, required_m))
    return _least(found)


def _worst(
    line: DriveLine,
    bore: int,
    where: tuple[NDArray[np.float64], NDArray[np.float64]],
    actual_m: NDArray[np.float64],
    required_m: float,
) -> Depths:
    """Take the point with the least actual depth; a point of unknown ground makes all unknown."""
    along_m, xy_m = where
    index = int(np.argmin(actual_m))
    return Depths(
        actual_m=float(actual_m[index]),
        required_m=required_m,
        chainage_m=line.start_chainage_m + float(along_m[index]),
        bore=bore,
        xy_m=(float(xy_m[index, 0]), float(xy_m[index, 1])),
    )


def _least(found: list[Depths]) -> Depths:
    """Return the depths with the least margin; unknown before known."""
    return min(found, key=lambda d: -math.inf if math.isnan(d.actual_m) else d.actual_m - d.required_m)


def cover_under(
    line: DriveLine,
    ground: TrueGround,
    features: Features,
    feature: int,
    rules: CoverRules,
) -> Depths | None:
    """Return the least depth of any bore under one feature, below the level that counts for it.

    The points are each metre inside the outline, widened by the bore's radius, and its exact ends.
    None where no bore passes under it, or the feature asks for nothing.
    """
    if features.cover_reference[feature] == "none":
        return None
    reach_m = features.half_width_m[feature] + line.radius_m
    area = shapely.buffer(features.geometry[feature], reach_m, quad_segs=32)
    required_m = _required_m(features, feature, line, rules)
    found = []
    for bore, bore_line in enumerate(line.bore_lines()):
        along_m = _along_inside(bore_line, area, rules.step_m)
        if len(along_m):
            xy_m = line.xy_m(bore, along_m)
            level_m = reference_level_m(ground, features, feature, xy_m, rules)
            found.append(_worst(line, bore, (along_m, xy_m), level_m - line.crown_m(along_m), required_m))
    return _least(found) if found else None


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


def _required_m(features: Features, feature: int, line: DriveLine, rules: CoverRules) -> float:
    """Return the depth to keep below the reference level: the larger of kind and method, always."""
    if features.cover_reference[feature] == "service":
        drift_m = rules.deviation_frac * line.true_length_m
        unsure_m = features.record_uncertainty_m[feature]
        return float(features.service_clearance_m[feature] + unsure_m + drift_m)
    return float(max(features.cover_m[feature], rules.method_cover_m))


def reference_level_m(
    ground: TrueGround,
    features: Features,
    feature: int,
    xy_m: NDArray[np.float64],
    rules: CoverRules,
) -> NDArray[np.float64]:
    """Return the level from which the depth under a feature counts, at points (n, 2) [m].

    Surface: the terrain. Formation: the stated level, else the terrain less the depth of the
    formation. Base of a dyke: the stated level, else the lowest terrain round about. Bed: the terrain
    (the water's level) less the water's depth and the scour. Service: its underside.
    """
    reference = features.cover_reference[feature]
    stated_m = features.base_level_m[feature]
    if reference in ("formation", "base") and not math.isnan(stated_m):
        return np.full(len(xy_m), stated_m)
    if reference == "base":
        radius_m = half_breadth_m(features, feature) + rules.base_search_m
        return lowest_within_m(ground, xy_m, radius_m)
    level_m = ground.level_m(xy_m)
    return level_m - _depth_below_terrain_m(features, feature, rules)


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


def clear_sideways_m(line: DriveLine, features: Features, feature: int) -> tuple[float, float]:
    """Return the least distance from a bore's wall to a feature's outline, and its chainage [m]."""
    distance_m = shapely.distance(line.bore_lines(), features.geometry[feature])
    bore = int(np.argmin(distance_m))
    nearest = shapely.shortest_line(line.bore_lines()[bore], features.geometry[feature])
    point = shapely.get_coordinates(nearest)[0]
    along_m = float(np.dot(point - line.lower_xy_m, line.direction))
    clear_m = float(distance_m[bore]) - features.half_width_m[feature] - line.radius_m
    return clear_m, line.start_chainage_m + min(max(along_m, 0.0), line.plan_length_m)
