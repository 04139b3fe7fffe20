"""The levels at which a drive's crown may pass each cell, by method: at others the cable is too warm.

Room: ``corridor``. Imports its own room and ``drives``.

With its bores at their distance a method bears the link's current down to a depth that the ground decides:
its resistivity, whether it can dry out, how much moist ground lies above the groundwater. Above the lowest
groundwater it can dry out, below it can't, so a method may have two ranges of depth with a gap between them
that it must not touch. Ground that the formulae don't cover sets no limit: the rating of the finished plan
says that it was not evaluated.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from scipy.ndimage import maximum_filter, minimum_filter

from routescreen.corridor.rated_depths import rated_depths

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.rated_depths import RatedDepths
    from routescreen.corridor.treatment import Features
    from routescreen.drives.methods import MethodGeometry
    from routescreen.project import GroundSamples

    Array = NDArray[np.float64]

Value = TypeVar("Value", np.float32, np.float64, np.bool_)

NO_FLOOR_M = -1e9
NO_DRIVE_FLOOR_M = 1e9
NO_WET_CEILING_M = 1e9
ROUNDING_M = 1e-3  # single precision holds levels to better than that


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
        drying_m, saturated_m = _deepest_m(depths, ground, water_depth_m, lowest_m)
        reaches_water = lowest_m + radius_m <= drying_m
        has_gap = ~reaches_water & (lowest_m + radius_m + a.search.below_groundwater_m <= saturated_m)
        most_m = np.where(reaches_water | has_gap, np.maximum(saturated_m, drying_m), drying_m)
        # the bores beside the line lie as deep below their own ground, in their own soil
        aside = int(np.ceil(method.half_width_m / cell_m))
        floors.floor_m[k] = _highest_aside(_levels_m(most_m, top_m, radius_m), aside)
        dry_m = np.where(has_gap, _levels_m(drying_m, top_m, radius_m), NO_FLOOR_M)
        floors.dry_floor_m[k] = _highest_aside(dry_m, aside)
        known_m = np.where(np.isnan(water_m), NO_WET_CEILING_M, water_m - ROUNDING_M)
        wet_m = minimum_filter(known_m, size=(3, 2 * aside + 3), mode="nearest")
        is_near_gap = _highest_aside(has_gap, aside)
        floors.wet_ceiling_m[k] = np.where(is_near_gap, wet_m, NO_WET_CEILING_M)
    return floors


def _highest_aside(values: NDArray[Value], n_rows: int) -> NDArray[Value]:
    """Return the largest value within so many rows to both sides, in the same column."""
    return np.asarray(maximum_filter(values, size=(1, 2 * n_rows + 1), mode="nearest"), values.dtype)


def _levels_m(most_m: Array, top_m: Array, radius_m: float) -> NDArray[np.float32]:
    """Return the lowest level of a crown whose axis lies at most so deep, rounded upwards [m]."""
    level_m = np.where(most_m > 0.0, top_m - most_m + radius_m, NO_DRIVE_FLOOR_M)
    level_m = np.where(np.isinf(most_m) | np.isnan(level_m), NO_FLOOR_M, level_m)
    return np.nextafter(level_m.astype(np.float32), np.float32(np.inf))


def _deepest_m(
    depths: RatedDepths, ground: GroundSamples, water_depth_m: Array, lowest_m: Array
) -> tuple[Array, Array]:
    """Return the deepest axis at each node from the bed: where ground may dry out, where it can't [m]."""
    soil, rock = ground.soil_class.astype(np.int64), ground.rock_soil_class.astype(np.int64)
    rock_m = ground.rock_depth_m - water_depth_m

    def of(in_soil: Array, in_rock: Array) -> Array:
        return np.where(in_soil <= rock_m, in_soil, np.minimum(np.maximum(in_rock, rock_m), in_soil))

    return (
        of(depths.drying_m(soil, soil), depths.drying_m(rock, soil)),
        of(depths.saturated_m(soil, soil, lowest_m), depths.saturated_m(rock, soil, lowest_m)),
    )


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
