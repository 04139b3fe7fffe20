"""The levels at which a drive's crown may pass each cell, by method: at others the cable is too warm.

Room: ``corridor``. Imports the frame, ``drives`` and ``engineering``.

With its bores at their distance a method bears the link's current down to a depth that the ground decides:
its resistivity, and whether it can dry out. Above the lowest groundwater it can, below it can't, so a method
may have two ranges of depth with a gap between them that it must not touch. Ground that the formulae don't
cover sets no limit: the rating of the finished plan says that it was not evaluated.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import minimum_filter

from routescreen.assumptions.once import once_per_assumptions
from routescreen.drives.cable_make import cable_make, current_shares, is_rated, surround, undisturbed_degC
from routescreen.engineering.rated_depth import rated_depth_m
from routescreen.engineering.rating import HeatPath

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.treatment import Features
    from routescreen.drives.methods import MethodGeometry
    from routescreen.project import GroundSamples

    Array = NDArray[np.float64]

NO_FLOOR_M = -1e9
NO_DRIVE_FLOOR_M = 1e9
NO_WET_CEILING_M = 1e9
ROUNDING_M = 1e-3  # single precision holds levels to better than that
DEEPEST_M = 60.0  # axes that deep are not looked at: a cable that bears its current there has no floor
N_STEPS = 200


@dataclass(frozen=True, slots=True)
class RatedDepths:
    """Deepest axes of one method at which the cable bears its current, by pairs of soil and rock.

    Attributes
    ----------
    saturated_m, drying_m : ndarray of shape (n_soils, n_soils)
        By the class round the axis and that above it: below the groundwater, above it in ground that may dry
        out; inf where there is no limit or none is known, 0 where no depth does [m].
    """

    saturated_m: Array
    drying_m: Array


@once_per_assumptions
def rated_depths(a: Assumptions, method: MethodGeometry) -> RatedDepths | None:
    """Work out how deep the bores of a method may lie in each soil.

    Parameters
    ----------
    a : Assumptions
    method : MethodGeometry

    Returns
    -------
    RatedDepths or None
        None where the formulae don't cover the cable or its bore, which sets no limit.
    """
    way = a.methods[method.name]
    if way.bores_per != "cable" or not is_rated(a):
        return None
    bore_m = method.bore_diameter_m if way.has_annulus_grout else None
    around, make, given = surround(a, way.pipe_outer_diameter_m, bore_m), cable_make(a), a.checks.rating
    saturated, moist, dry = (_by_pairs(a, state) for state in ("saturated", "moist", "dry"))
    ends = {"least_m": method.cover_m + method.bore_diameter_m / 2.0, "most_m": DEEPEST_M}

    def depths_m(rho: Array, ratio: Array) -> Array:
        def path_at(axis_m: Array) -> HeatPath:
            return HeatPath(
                conductor_ohm_per_m=make.ohm_per_m,
                inside_K_m_per_W=around.inside_K_m_per_W,
                outer_diameter_m=around.outer_diameter_m,
                conductor_degC=a.cable.conductor_limit_degC,
                ground_degC=undisturbed_degC(a, axis_m),
                rho_K_m_per_W=rho.reshape(-1, 1),
                drying_ratio=ratio.reshape(-1, 1),
                drying_rise_K=given.drying_rise_K,
                neighbour_limit_frac=given.neighbour_drying_frac,
            )

        offsets_m = (np.arange(method.n_bores) - (method.n_bores - 1) / 2.0) * method.spacing_m
        found = rated_depth_m(
            a.link.current_A, offsets_m, path_at, share=current_shares(a), n_steps=N_STEPS, **ends
        )
        deepest: Array = np.where(np.isnan(found) | (found >= DEEPEST_M), np.inf, found)
        return np.asarray(deepest.reshape(rho.shape))

    return RatedDepths(depths_m(saturated, np.ones_like(moist)), depths_m(moist, dry / moist))


def _by_pairs(a: Assumptions, state: str) -> Array:
    """Return the larger resistivity of each pair of soils, shape (n, n) [K m/W]."""
    values = np.array([getattr(soil, f"resistivity_{state}_Km_per_W") for soil in a.soil.values()])
    return np.asarray(np.maximum(values[:, np.newaxis], values), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class DriveFloors:
    """Where the cables of drives stay cool enough; every array of float32, shape (n_methods, nx, ny).

    A crown must not lie below `floor_m`. Where there is a gap, it must lie above `dry_floor_m` or below
    `wet_ceiling_m`.

    Attributes
    ----------
    floor_m : ndarray
        -1e9 where a drive may lie as deep as it likes, 1e9 where no depth will do [m].
    dry_floor_m : ndarray
        Lowest crown in ground that may dry out; -1e9 where there is no gap, 1e9 where none is borne [m].
    wet_ceiling_m : ndarray
        Highest crown that counts on the groundwater; 1e9 where there is no gap [m].
    """

    floor_m: NDArray[np.float32]
    dry_floor_m: NDArray[np.float32]
    wet_ceiling_m: NDArray[np.float32]


def drive_floors(
    ground: GroundSamples,
    water_depth_m: Array,
    methods: Sequence[MethodGeometry],
    a: Assumptions,
    *,
    cell_m: float,
) -> DriveFloors:
    """Return the levels between which drives must keep over the frame.

    Parameters
    ----------
    ground : GroundSamples
        At the nodes, arrays of shape (nx, ny).
    water_depth_m : ndarray of shape (nx, ny)
        Water above the bed that the terrain does not hold: heat leaves from the bed [m].
    methods : sequence of MethodGeometry
    a : Assumptions
    cell_m : float
        Distance between the rows of nodes [m].

    Returns
    -------
    DriveFloors
    """
    shape = (len(methods), *ground.ground_m.shape)
    floors = DriveFloors(
        np.full(shape, NO_FLOOR_M, np.float32),
        np.full(shape, NO_FLOOR_M, np.float32),
        np.full(shape, NO_WET_CEILING_M, np.float32),
    )
    if not a.search.rating_steers:
        return floors
    top_m = highest_about_m(ground.ground_m) - water_depth_m
    lowest_m = ground.groundwater_depth_m - water_depth_m + a.groundwater.lowest_fall_m
    # crowns stand below the lowest water of all that lies near, also under the bores beside the line
    water_m = -highest_about_m(-ground.ground_m) - water_depth_m - lowest_m - a.search.below_groundwater_m
    for k, method in enumerate(methods):
        depths = rated_depths(a, method)
        if depths is None:
            continue
        radius_m = method.bore_diameter_m / 2.0
        drying_m, saturated_m = _deepest_m(depths, ground, water_depth_m)
        reaches_water = lowest_m + radius_m <= drying_m
        has_gap = ~reaches_water & (lowest_m + radius_m + a.search.below_groundwater_m <= saturated_m)
        most_m = np.where(reaches_water | has_gap, np.maximum(saturated_m, drying_m), drying_m)
        floors.floor_m[k] = _levels_m(most_m, top_m, radius_m)
        floors.dry_floor_m[k] = np.where(has_gap, _levels_m(drying_m, top_m, radius_m), NO_FLOOR_M)
        aside = 1 + int(np.ceil(method.half_width_m / cell_m))
        known_m = np.where(np.isnan(water_m), NO_WET_CEILING_M, water_m - ROUNDING_M)
        wet_m = minimum_filter(known_m, size=(3, 2 * aside + 1), mode="nearest")
        floors.wet_ceiling_m[k] = np.where(has_gap, wet_m, NO_WET_CEILING_M)
    return floors


def _levels_m(most_m: Array, top_m: Array, radius_m: float) -> NDArray[np.float32]:
    """Return the lowest level of a crown whose axis lies at most so deep, rounded upwards [m]."""
    level_m = np.where(most_m > 0.0, top_m - most_m + radius_m, NO_DRIVE_FLOOR_M)
    level_m = np.where(np.isinf(most_m) | np.isnan(level_m), NO_FLOOR_M, level_m)
    return np.nextafter(level_m.astype(np.float32), np.float32(np.inf))


def _deepest_m(depths: RatedDepths, ground: GroundSamples, water_depth_m: Array) -> tuple[Array, Array]:
    """Return the deepest axis at each node from the bed: where ground may dry out, where it can't [m]."""
    soil, rock = ground.soil_class.astype(np.int64), ground.rock_soil_class.astype(np.int64)
    rock_m = ground.rock_depth_m - water_depth_m

    def of(table_m: Array) -> Array:
        in_soil, in_rock = table_m[soil, soil], table_m[rock, soil]
        return np.where(in_soil <= rock_m, in_soil, np.minimum(np.maximum(in_rock, rock_m), in_soil))

    return of(depths.drying_m), of(depths.saturated_m)


def highest_about_m(ground_m: Array) -> Array:
    """Return the highest level of a node's cell as its neighbours tell: half-way to each of them [m]."""
    padded = np.pad(ground_m, 1, constant_values=np.nan)
    nx, ny = ground_m.shape
    highest = np.array(ground_m)
    for i in range(3):
        for j in range(3):
            highest = np.fmax(highest, (ground_m + padded[i : i + nx, j : j + ny]) / 2.0)
    return highest


def water_over_beds_m(
    features: Features,
    inside_node: NDArray[np.int64],
    inside_crossing: NDArray[np.int32],
    shape: tuple[int, int],
) -> Array:
    """Return how deep the water of the crossings stands over each node's bed, shape (nx, ny) [m].

    Of several features in one crossing the shallowest counts.
    """
    is_bed = features.cover_reference == "bed"
    n_crossings = int(features.crossing.max(initial=-1)) + 1
    of_crossing = np.full(n_crossings, np.inf)
    np.minimum.at(of_crossing, features.crossing[is_bed], np.nan_to_num(features.water_depth_m[is_bed]))
    of_crossing[np.isinf(of_crossing)] = 0.0
    depth_m = np.zeros(shape[0] * shape[1])
    np.maximum.at(depth_m, inside_node, of_crossing[inside_crossing])
    return depth_m.reshape(shape)
