"""Every bore of a drive as a true line in space, and what it leaves above it.

Room: ``audit``. May use ``plan``, ``drives.methods``, numpy, shapely and the audit's own modules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.route import stations
from routescreen.drives.course import crown_levels_m, is_cover_asked, true_length_m

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
    drive : Drive
        Of the plan.
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
    drive: Drive

    def xy_m(self, bore: int, along_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return points of a bore's axis at distances from the lower end, (n, 2) [m]."""
        right = np.array([self.direction[1], -self.direction[0]])
        start = self.lower_xy_m + self.offsets_m[bore] * right
        return np.asarray(start + along_m[:, None] * self.direction, dtype=np.float64)

    def crown_m(self, along_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the crown level at distances from the lower end [m]."""
        return crown_levels_m(self.drive, self.plan_length_m, along_m)

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
        true_length_m=true_length_m(drive, length_m),
        lower_crown_m=drive.lower_crown_m,
        upper_crown_m=drive.upper_crown_m,
        start_chainage_m=float(route.chainage_m[min(drive.from_vertex, route.n_pieces)]),
        offsets_m=np.asarray((np.arange(n) - (n - 1) / 2.0) * geometry.spacing_m, dtype=np.float64),
        radius_m=geometry.bore_diameter_m / 2.0,
        drive=drive,
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
    along_m = along_m[is_cover_asked(line.drive, line.plan_length_m, required_m, along_m)]
    found = []
    for bore in range(len(line.offsets_m)):
        xy_m = line.xy_m(bore, along_m)
        actual_m = ground.level_m(xy_m) - line.crown_m(along_m)
        found.append(worst(line, bore, (along_m, xy_m), actual_m, required_m))
    return least(found)


def worst(
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


def least(found: list[Depths]) -> Depths:
    """Return the depths with the least margin; unknown before known."""
    return min(found, key=lambda d: -math.inf if math.isnan(d.actual_m) else d.actual_m - d.required_m)


def clear_sideways_m(line: DriveLine, features: Features, feature: int) -> tuple[float, float]:
    """Return the least distance from a bore's wall to a feature's outline, and its chainage [m]."""
    distance_m = shapely.distance(line.bore_lines(), features.geometry[feature])
    bore = int(np.argmin(distance_m))
    nearest = shapely.shortest_line(line.bore_lines()[bore], features.geometry[feature])
    point = shapely.get_coordinates(nearest)[0]
    along_m = float(np.dot(point - line.lower_xy_m, line.direction))
    clear_m = float(distance_m[bore]) - features.half_width_m[feature] - line.radius_m
    return clear_m, line.start_chainage_m + min(max(along_m, 0.0), line.plan_length_m)
