"""The ground along a drive from its launch on: levels, beds, water, soils, of the bore with least cover.

Room: ``audit``. May use ``project``, ``assumptions``, ``engineering``, numpy, shapely and the audit's own
modules.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.covers import WATER_CLASS, water_kind
from routescreen.audit.report import Place
from routescreen.audit.route import stations

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Soil
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

NO_WATER = -2
UNMAPPED = -1


@dataclass(frozen=True, slots=True)
class DriveProfile:
    """Points along a drive from its launch to its reception; every array has shape (n,).

    At each point that bore counts which has the least cover; unknown ground counts before known.

    Attributes
    ----------
    from_launch_m, chainage_m : ndarray
        True distance along the bore, and chainage of the alignment [m].
    x_m, y_m : ndarray
        Of the bore [m].
    terrain_m, bed_m, crown_m : ndarray
        Level of the terrain, of what the cover counts from (the terrain, or the bed of a water less what
        its survey may be off), and of the crown [m].
    water_depth_m : ndarray
        Of the groundwater below `bed_m`; negative where open water stands on it, or the groundwater above it,
        whichever is higher [m].
    soil : ndarray of int64
        Class in which the axis lies, -1 where unknown.
    soil_above : ndarray of int64
        Class of the soil above the rock.
    gamma_kN_per_m3, gamma_sat_kN_per_m3 : ndarray
        In rock the lesser of the rock's and of the soil's above it.
    water : ndarray of int64
        Feature whose bed lies above, `UNMAPPED` for water of the ground cover, `NO_WATER`.
    """

    from_launch_m: Array
    chainage_m: Array
    x_m: Array
    y_m: Array
    terrain_m: Array
    bed_m: Array
    crown_m: Array
    water_depth_m: Array
    soil: NDArray[np.int64]
    soil_above: NDArray[np.int64]
    gamma_kN_per_m3: Array
    gamma_sat_kN_per_m3: Array
    water: NDArray[np.int64]

    @property
    def cover_m(self) -> Array:
        """Cover over the crown, from `bed_m` [m]."""
        return np.asarray(self.bed_m - self.crown_m)

    def place(self, point: int, drive: int) -> Place:
        """Return the place of a point."""
        xy_m = (float(self.x_m[point]), float(self.y_m[point]))
        return Place(float(self.chainage_m[point]), drive=drive, xy_m=xy_m)


def drive_profile(scene: Scene, index: int) -> DriveProfile:
    """Look up the ground along every bore of a drive, and keep at each point the bore with least cover.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the drive.

    Returns
    -------
    DriveProfile
        A point each step of the audit's profile.
    """
    line = scene.lines[index]
    along_m = stations(line.plan_length_m, scene.step_m)
    bores = [under_bore(scene, index, bore, along_m) for bore in range(len(line.offsets_m))]
    cover = np.stack([bore.cover_m for bore in bores])
    chosen = np.argmin(np.where(np.isnan(cover), -np.inf, cover), axis=0)
    is_forward = scene.plan.drives[index].is_launched_at_lower
    order = slice(None) if is_forward else slice(None, None, -1)
    picked = {}
    for column in fields(DriveProfile):
        values = np.stack([getattr(bore, column.name) for bore in bores])
        picked[column.name] = values[chosen, np.arange(len(along_m))][order]
    if not is_forward:
        # rounding must leave no distance below 0
        picked["from_launch_m"] = np.maximum(line.true_length_m - picked["from_launch_m"], 0.0)
    return DriveProfile(**picked)


def soil_values(scene: Scene, soil: NDArray[np.int64], name: str) -> Array:
    """Return a figure of the soil classes at points, NaN where the soil or the figure isn't known."""
    classes: list[Soil] = list(scene.assumptions.soil.values())
    values = [getattr(each, name) for each in classes]
    known = np.array([np.nan if value is None else value for value in values], dtype=np.float64)
    return np.where(soil >= 0, known[np.maximum(soil, 0)], np.nan)


def under_bore(scene: Scene, index: int, bore: int, along_m: Array) -> DriveProfile:
    """Look up the ground over one bore of a drive.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the drive.
    bore : int
        Of the bore, the leftmost is 0.
    along_m : ndarray of shape (n,)
        Plan distances from the drive's lower end [m].

    Returns
    -------
    DriveProfile
        From the lower end on, whichever end is the launch: `from_launch_m` is counted from there.
    """
    line, ground = scene.lines[index], scene.ground
    xy_m = line.xy_m(bore, along_m)
    terrain_m, crown_m = ground.level_m(xy_m), line.crown_m(along_m)
    zones = ground.zones_at(xy_m)
    rock_depth_m, rock_soil = ground.rock(zones)
    above = ground.soil_class(zones).astype(np.int64)
    axis_depth_m = terrain_m - crown_m + line.radius_m
    soil = np.where(axis_depth_m > rock_depth_m, rock_soil, above).astype(np.int64)
    soil = np.where(np.isnan(axis_depth_m) & np.isfinite(rock_depth_m), -1, soil)
    bed_m, surface_m, water = _beds(scene, line.bore_lines()[bore], line.radius_m, xy_m, terrain_m)
    below_terrain_m = ground.groundwater_depth_m(zones) - (terrain_m - bed_m)
    gamma, gamma_sat = (
        np.minimum(soil_values(scene, soil, name), soil_values(scene, above, name))
        for name in ("gamma_kN_per_m3", "gamma_sat_kN_per_m3")
    )
    return DriveProfile(
        from_launch_m=along_m * line.true_length_m / line.plan_length_m,
        chainage_m=line.start_chainage_m + along_m,
        x_m=xy_m[:, 0],
        y_m=xy_m[:, 1],
        terrain_m=terrain_m,
        bed_m=bed_m,
        crown_m=crown_m,
        water_depth_m=np.where(
            water == NO_WATER, below_terrain_m, np.minimum(below_terrain_m, bed_m - surface_m)
        ),
        soil=soil,
        soil_above=above,
        gamma_kN_per_m3=gamma,
        gamma_sat_kN_per_m3=gamma_sat,
        water=water,
    )


def water_level_m(scene: Scene, bore: shapely.LineString, radius_m: float, xy_m: Array) -> Array:
    """Return what water stands at along a bore: groundwater, or the surface of open water if that is higher.

    Parameters
    ----------
    scene : Scene
    bore : LineString
        Middle line of the bore.
    radius_m : float
        Of the bore [m].
    xy_m : ndarray of shape (n, 2)
        Points on it [m].

    Returns
    -------
    ndarray of shape (n,)
        NaN where the terrain is unknown [m].
    """
    terrain_m = scene.ground.level_m(xy_m)
    _, surface_m, water = _beds(scene, bore, radius_m, xy_m, terrain_m)
    level_m = terrain_m - scene.ground.groundwater_depth_m(scene.ground.zones_at(xy_m))
    return np.where(water == NO_WATER, level_m, np.maximum(level_m, surface_m))


def _beds(
    scene: Scene, bore: shapely.LineString, radius_m: float, xy_m: Array, terrain_m: Array
) -> tuple[Array, Array, NDArray[np.int64]]:
    """Return what the cover counts from, the level of open water, and whose bed it is."""
    features, a = scene.features, scene.assumptions
    bed_m, surface_m = terrain_m.copy(), terrain_m.copy()
    water = np.full(len(xy_m), NO_WATER, dtype=np.int64)
    tolerance_m, is_bed = a.checks.pressure.bed_survey_tolerance_m, scene.inp.terrain_is_bed
    for feature in scene.near(bore, radius_m):
        if features.cover_reference[feature] != "bed":
            continue
        reach_m = features.half_width_m[feature] + radius_m
        area = shapely.buffer(features.geometry[feature], reach_m, quad_segs=32)
        depth_m, stated_m = features.water_depth_m[feature], features.base_level_m[feature]
        today_m = terrain_m - (0.0 if is_bed else depth_m)
        today_m = today_m if np.isnan(stated_m) else np.minimum(terrain_m, stated_m)
        is_in = shapely.intersects_xy(area, xy_m[:, 0], xy_m[:, 1])
        # the first water counts even where its bed is the terrain itself, without a survey's tolerance
        is_lowest = is_in & ((today_m - tolerance_m < bed_m) | (water == NO_WATER))
        bed_m = np.where(is_lowest, today_m - tolerance_m, bed_m)
        surface_m = np.where(is_lowest, terrain_m + (depth_m if is_bed else 0.0), surface_m)
        water = np.where(is_in & (is_lowest | np.isnan(terrain_m)), feature, water)
    kind, names = water_kind(a), list(a.cover)
    if kind is not None and WATER_CLASS in names:
        is_cover = scene.ground.cover_class(xy_m) == names.index(WATER_CLASS)
        is_unmapped = (water == NO_WATER) & is_cover
        depth_m = kind.water_depth_m
        today_m = terrain_m - (0.0 if is_bed else depth_m)
        bed_m = np.where(is_unmapped, today_m - tolerance_m, bed_m)
        surface_m = np.where(is_unmapped, terrain_m + (depth_m if is_bed else 0.0), surface_m)
        water = np.where(is_unmapped, UNMAPPED, water)
    return bed_m, surface_m, water
