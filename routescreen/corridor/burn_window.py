"""The highest level at which a drive's crown may pass each cell for the sake of its pressure window.

Room: ``corridor``. Imports ``engineering`` and ``drives.methods``.

Where the face of a bore is held by slurry, ground that is weak and light under water breaks out below too
little cover: the least cover from which on the window stays open is a ceiling like any other. The mud is held
to stand open at the ground, or at the level of open water. Ground in which no cover opens the window sets no
ceiling: the finding on the finished plan says that it is closed.
"""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import minimum_filter

from routescreen.assumptions.once import once_per_assumptions
from routescreen.corridor.burn_floors import highest_about_m
from routescreen.drives.pressures import window_factors
from routescreen.engineering.pressure_window import WindowGround
from routescreen.engineering.window_search import WindowLoads, least_cover_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions, Soil
    from routescreen.drives.methods import MethodGeometry
    from routescreen.project import GroundSamples

    Array = NDArray[np.float64]

NO_CEILING_M = 1e9
SHALLOWEST_M, DEEPEST_M = 0.5, 40.0  # covers between which an opening is looked for
WATER_STEP_M = 0.5  # depths of water are taken together by this, the less favourable of two
HIGHEST_WATER_M, LOWEST_WATER_M = -20.0, 45.0  # of the groundwater below the bed; beyond it all is the same

DEPTHS_M = np.arange(HIGHEST_WATER_M, LOWEST_WATER_M + WATER_STEP_M, WATER_STEP_M)


def window_ceilings(
    ground: GroundSamples,
    water_depth_m: Array,
    methods: Sequence[MethodGeometry],
    a: Assumptions,
    *,
    cell_m: float,
) -> Array:
    """Return the ceilings of drives over the frame.

    Parameters
    ----------
    ground : GroundSamples
        At the nodes, arrays of shape (nx, ny).
    water_depth_m : ndarray of shape (nx, ny)
        Water above the bed that the terrain does not hold: cover counts from the bed [m].
    methods : sequence of MethodGeometry
    a : Assumptions
    cell_m : float
        Distance between the rows of nodes [m].

    Returns
    -------
    ndarray of shape (n_methods, nx, ny)
        1e9 where the window asks for nothing [m].
    """
    ceiling_m = np.full((len(methods), *ground.ground_m.shape), NO_CEILING_M)
    if not a.search.window_steers:
        return ceiling_m
    tolerance_m = np.where(water_depth_m > 0.0, a.checks.pressure.bed_survey_tolerance_m, 0.0)
    bed_m = -highest_about_m(-ground.ground_m) - water_depth_m - tolerance_m
    # open water stands above the bed as far as the terrain, whatever the groundwater does
    below_bed_m = np.where(water_depth_m > 0.0, 0.0, ground.groundwater_depth_m) - water_depth_m - tolerance_m
    known = np.nan_to_num(below_bed_m, nan=LOWEST_WATER_M)
    at = np.clip(np.floor((known - HIGHEST_WATER_M) / WATER_STEP_M), 0, len(DEPTHS_M) - 2).astype(np.int64)
    soil = np.maximum(ground.soil_class.astype(np.int64), 0)
    for k, method in enumerate(methods):
        if a.methods[method.name].face != "slurry":
            continue
        covers_m = _covers_m(a, method)
        needed_m = np.fmax(covers_m[soil, at], covers_m[soil, at + 1])
        level_m = bed_m - needed_m
        level_m = np.where(np.isnan(level_m), NO_CEILING_M, level_m)
        # what lies at a node counts as far as half-way to the next, and under every bore
        aside = 1 + int(np.ceil(method.half_width_m / cell_m))
        ceiling_m[k] = minimum_filter(level_m, size=(3, 2 * aside + 1), mode="nearest")
    return ceiling_m


def today_beds(
    ground: GroundSamples,
    water_depth_m: Array,
    methods: Sequence[MethodGeometry],
    a: Assumptions,
    *,
    cell_m: float,
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return the lowest ground or bed under the bores of drives, and how deep water lies below it.

    Parameters
    ----------
    ground, water_depth_m, methods, a, cell_m
        See `window_ceilings`.

    Returns
    -------
    bed_m, bed_water_m : ndarray of float32, shape (nx, ny)
        Today's bed less the tolerance of its survey, the lowest as far aside as the bores of the widest
        method whose annulus is grouted; negative depths where open water stands on it [m].
    """
    tolerance_m = np.where(water_depth_m > 0.0, a.checks.pressure.bed_survey_tolerance_m, 0.0)
    own_m = ground.ground_m - water_depth_m - tolerance_m
    level_m = ground.ground_m - np.where(water_depth_m > 0.0, 0.0, ground.groundwater_depth_m)
    widths_m = [m.half_width_m for m in methods if a.methods[m.name].has_annulus_grout]
    # a cell reaches half-way to the next
    aside = int(np.ceil(max(max(widths_m, default=0.0) / cell_m - 0.5, 0.0)))
    known_m = np.where(np.isnan(own_m), np.inf, own_m)
    bed_m = minimum_filter(known_m, size=(1, 2 * aside + 1), mode="nearest")
    bed_m = np.where(np.isnan(own_m), np.nan, bed_m)
    return bed_m.astype(np.float32), (bed_m - level_m).astype(np.float32)


@once_per_assumptions
def _covers_m(a: Assumptions, method: MethodGeometry) -> Array:
    """Return the opening covers of a method by soil and by `DEPTHS_M`, for all frames of a run."""
    return opening_covers_m(method, DEPTHS_M, a)


def opening_covers_m(method: MethodGeometry, water_depth_m: Array, a: Assumptions) -> Array:
    """Return the least cover from which on the window of a method stays open.

    Parameters
    ----------
    method : MethodGeometry
    water_depth_m : ndarray of shape (k,)
        Of the groundwater below ground or bed; negative where open water stands on it [m].
    a : Assumptions

    Returns
    -------
    ndarray of shape (n_soils, k)
        NaN where no cover up to 40 m opens it [m].
    """
    way = a.methods[method.name]
    loads = WindowLoads(
        a.checks.slurry.unit_weight_kN_per_m3.expected, np.maximum(-np.asarray(water_depth_m), 0.0)
    )
    return least_cover_m(
        method.bore_diameter_m,
        _all_grounds(water_depth_m, a),
        loads,
        window_factors(way, a),
        from_m=SHALLOWEST_M,
        to_m=DEEPEST_M,
    )


def _all_grounds(water_depth_m: Array, a: Assumptions) -> WindowGround:
    """Return all soils in one, figures of shape (n_soils, 1): together they cost little more than one."""
    grounds = [window_ground(soil, water_depth_m, a) for soil in a.soil.values()]
    figures = {
        name: np.array([getattr(ground, name) for ground in grounds], dtype=np.float64)[:, np.newaxis]
        for name in (field.name for field in fields(WindowGround))
        if name != "water_depth_m"
    }
    return WindowGround(np.asarray(water_depth_m, dtype=np.float64), **figures)


def window_ground(soil: Soil, water_depth_m: Array, a: Assumptions) -> WindowGround:
    """Return one soil; where it is no clean sand the cautious share of the depth holds."""
    checks, is_fast = a.checks.pressure, soil.is_undrained_when_fast
    is_sand = not is_fast and soil.c_kPa == 0.0
    return WindowGround(
        water_depth_m=np.asarray(water_depth_m, dtype=np.float64),
        gamma_kN_per_m3=soil.gamma_kN_per_m3,
        gamma_sat_kN_per_m3=soil.gamma_sat_kN_per_m3,
        phi_deg=soil.phi_deg,
        cohesion_kPa=soil.c_kPa,
        shear_modulus_kPa=1000.0 * soil.g_MPa,
        undrained_kPa=soil.cu_kPa if is_fast and soil.cu_kPa is not None else np.nan,
        depth_share=checks.plastic_radius_sand_frac if is_sand else checks.plastic_radius_clay_frac,
        strain_frac=checks.strain_limit_frac,
    )
