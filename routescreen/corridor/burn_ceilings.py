"""The highest level at which a drive's crown may pass each cell, by method.

Room: ``corridor``. Imports the frame, the ground, obstacles, the treatment and ``drives.methods``.
Features and ground that a bore passes under count in every cell that lies within its half-width.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.frame import cell_corners
from routescreen.corridor.lowest import lowest_ground_m
from routescreen.corridor.obstacles import Obstacles, bounds_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from routescreen.corridor.burn_ground import DeepPlaces
    from routescreen.corridor.burn_settlement import SettlingCovers
    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import GroundSampler
    from routescreen.corridor.treatment import Features
    from routescreen.drives.methods import MethodGeometry

NO_DRIVE_M = -1e9
NO_SERVICE_M = 1e9
_COLUMNS_AT_A_TIME = 128
_BASE_STEP_M = 10.0  # search radii are rounded up to this, so that few need their own pass


@dataclass(frozen=True, slots=True)
class CeilingRules:
    """What the ceilings depend on besides the ground and the features.

    Attributes
    ----------
    methods : sequence of MethodGeometry
    deep_places : sequence of DeepPlaces
        What the ground asks of each method: open water, soils that it can't pass.
    max_heading_rad : float
        Largest angle of a drive to the axis [rad].
    base_search_m : float
        How far beyond its half-width the base of a dyke is looked for [m].
    is_terrain_bed : bool
        Whether the terrain holds the bed of waters instead of their level.
    settling : SettlingCovers or None
        Cover that settlement asks for under rails and roads.
    """

    methods: Sequence[MethodGeometry]
    deep_places: Sequence[DeepPlaces]
    max_heading_rad: float
    base_search_m: float
    is_terrain_bed: bool
    settling: SettlingCovers | None = None


def drive_ceilings(
    frame: Frame, sampler: GroundSampler, features: Features, rules: CeilingRules
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return the ceilings of drives over the frame.

    Every level counts from the lowest terrain under any bore of a drive that is centred in the cell,
    at any heading.

    Parameters
    ----------
    frame : Frame
    sampler : GroundSampler
    features : Features
    rules : CeilingRules

    Returns
    -------
    ceiling_m : ndarray of shape (n_methods, nx, ny)
        -1e9 where no drive may pass; of drilled bores by what they cross alone, +1e9 where that is nothing,
        since near their pits they have not come down to the method's cover yet [m].
    service_ceiling_m : ndarray of shape (n_methods, nx, ny)
        The same from buried services, before the deviation of the bore; +1e9 where there is none [m].
    surface_m : ndarray of shape (n_drilled, nx, ny)
        Of the drilled methods the lowest terrain under any bore, -1e9 where it is not known [m].
    """
    ceiling_m = np.full((len(rules.methods), *frame.shape), NO_DRIVE_M)
    service_m = np.full_like(ceiling_m, NO_SERVICE_M)
    surface_m: list[NDArray[np.float64]] = []
    lowerings = []
    for k, (method, levels) in enumerate(
        zip(rules.methods, _levels(frame, sampler, features, rules), strict=True)
    ):
        highest_m = NO_SERVICE_M if method.is_drilled else levels.low_m - method.cover_m
        ceiling_m[k] = np.where(frame.is_valid, highest_m, NO_DRIVE_M)
        if method.is_drilled:
            surface_m.append(np.where(np.isnan(levels.low_m), NO_DRIVE_M, levels.low_m))
        lowerings.append(_Lowering.of(levels, method, rules.settling, rules.deep_places[k]))
    for cells in _batches(frame):
        for lowering, ceiling, service in zip(lowerings, ceiling_m, service_m, strict=True):
            lowering.lower(ceiling.ravel(), service.ravel(), *cells)
    return ceiling_m, service_m, np.array(surface_m).reshape(-1, *frame.shape)


@dataclass(frozen=True, slots=True)
class _Levels:
    """Lowest terrain under the bores, and round what rests on a base, by the radius of the search."""

    features: Features
    low_m: NDArray[np.float64]
    base_m: dict[float, NDArray[np.float64]]
    base_search_m: float
    is_terrain_bed: bool

    def reference_m(self, feature: int, cell: NDArray[np.int64]) -> NDArray[np.float64]:
        """Return the level that the cover under a feature counts from, in flat cells [m].

        A stated level holds for all but services, but never above the terrain.
        """
        features = self.features
        reference, stated_m = features.cover_reference[feature], features.base_level_m[feature]
        low_m: NDArray[np.float64] = self.low_m.ravel()[cell]
        if reference != "service" and not math.isnan(stated_m):
            stated: NDArray[np.float64] = np.minimum(low_m, stated_m)
            return stated
        if reference == "base":
            around_m: NDArray[np.float64] = self.base_m[_search_m(features, feature, self.base_search_m)]
            return around_m.ravel()[cell]
        water_m = 0.0 if self.is_terrain_bed else features.water_depth_m[feature]
        below_m = {
            "formation": features.reference_depth_m[feature],
            "bed": water_m + features.scour_m[feature],
            "service": features.service_depth_m[feature] + features.service_diameter_m[feature],
        }.get(reference, 0.0)
        return low_m - float(below_m)


def _search_m(features: Features, feature: int, base_search_m: float) -> float:
    """Return how far from a feature's middle its base is looked for, rounded up [m]."""
    return math.ceil(float(features.half_width_m[feature] + base_search_m) / _BASE_STEP_M) * _BASE_STEP_M


def _levels(frame: Frame, sampler: GroundSampler, features: Features, rules: CeilingRules) -> list[_Levels]:
    """Find the lowest terrain under the bores of each method, and round the bases that are not stated."""
    is_searched = (features.cover_reference == "base") & np.isnan(features.base_level_m)
    radii = sorted({_search_m(features, int(k), rules.base_search_m) for k in np.flatnonzero(is_searched)})
    widenings = [
        (method.half_width_m * math.sin(rules.max_heading_rad) + radius, method.half_width_m + radius)
        for method in rules.methods
        for radius in (0.0, *radii)
    ]
    found = iter(lowest_ground_m(frame, sampler.terrain, widenings))
    return [
        _Levels(
            features=features,
            low_m=next(found),
            base_m={radius: next(found) for radius in radii},
            base_search_m=rules.base_search_m,
            is_terrain_bed=rules.is_terrain_bed,
        )
        for _ in rules.methods
    ]


def _batches(
    frame: Frame,
) -> Iterator[tuple[NDArray[np.int64], shapely.STRtree, tuple[float, float, float, float]]]:
    """Yield the corridor's cells, some columns at a time: flat index, tree of their outlines, bounds [m]."""
    for first in range(0, frame.shape[0], _COLUMNS_AT_A_TIME):
        column, row = np.nonzero(frame.is_valid[first : first + _COLUMNS_AT_A_TIME])
        if len(column):
            corners = cell_corners(frame, column + first, row)
            cell = (column + first) * frame.shape[1] + row
            yield cell, shapely.STRtree(shapes.polygons(corners)), bounds_of(corners)


@dataclass(frozen=True, slots=True)
class _Lowering:
    """What lowers the ceilings of one method.

    `under` is what it passes within its half-width, `aside` what it must pass wide of, `deep` the places that
    it passes only so far below ground as `deep_below_m` says.
    """

    levels: _Levels
    method: MethodGeometry
    settling: SettlingCovers | None
    under: Obstacles
    aside: Obstacles
    deep: Obstacles
    deep_below_m: NDArray[np.float64]

    @classmethod
    def of(
        cls, levels: _Levels, method: MethodGeometry, settling: SettlingCovers | None, places: DeepPlaces
    ) -> _Lowering:
        """Prepare for one method."""
        features = levels.features
        is_barred = features.drive_under == "no"
        under = Obstacles.of(features.outline, np.full(len(features), method.half_width_m))
        aside = Obstacles.of(
            features.outline[is_barred], features.drive_clearance_m[is_barred] + method.half_width_m
        )
        deep = Obstacles.of(places.area, np.full(len(places.area), method.half_width_m))
        return cls(levels, method, settling, under, aside, deep, places.below_m)

    def lower(
        self,
        ceiling_m: NDArray[np.float64],
        service_m: NDArray[np.float64],
        cell: NDArray[np.int64],
        tree: shapely.STRtree,
        bounds_m: tuple[float, float, float, float],
    ) -> None:
        """Lower the flat ceilings of some cells; see `_batches`."""
        feature, quad = self.under.too_near(tree, self.under.near(bounds_m))
        _apply(ceiling_m, service_m, self.levels, self.method, self.settling, (feature, cell[quad]))
        _, quad = self.aside.too_near(tree, self.aside.near(bounds_m))
        ceiling_m[cell[quad]] = NO_DRIVE_M
        place, quad = self.deep.too_near(tree, self.deep.near(bounds_m))
        level_m = np.maximum(self.levels.low_m.ravel()[cell[quad]] - self.deep_below_m[place], NO_DRIVE_M)
        np.minimum.at(ceiling_m, cell[quad], level_m)


def _apply(
    ceiling_m: NDArray[np.float64],
    service_m: NDArray[np.float64],
    levels: _Levels,
    method: MethodGeometry,
    settling: SettlingCovers | None,
    pairs: tuple[NDArray[np.int64], NDArray[np.int64]],
) -> None:
    """Lower flat ceilings for pairs of (feature, cell), one feature at a time."""
    features = levels.features
    order = np.argsort(pairs[0], kind="stable")
    feature, cell = pairs[0][order], pairs[1][order]
    found, start = np.unique(feature, return_index=True)
    if len(cell) == 0:
        return
    for k, cells in zip(found, np.split(cell, start[1:]), strict=True):
        level_m = levels.reference_m(int(k), cells)
        if features.cover_reference[k] == "service":
            clear_m = features.service_clearance_m[k] + features.record_uncertainty_m[k]
            service_m[cells] = np.minimum(service_m[cells], level_m - clear_m)
            cover_m = features.stated_cover_m[k]  # NaN where none is stated: lowers nothing
        else:
            cover_m = max(features.required_cover_m[k], method.cover_m)
            if settling is not None:
                cover_m = np.maximum(cover_m, settling.cover_m(method.name, int(k), cells))
        ceiling_m[cells] = np.fmin(ceiling_m[cells], level_m - cover_m)
