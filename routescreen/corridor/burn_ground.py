"""What the ground itself, apart from the crossings, asks of a drive: open water and soils it can't pass.

Room: ``corridor``. Geometry only; imports ``assumptions``, the ground and the treatment.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions, Treatment
    from routescreen.corridor.ground import GroundSampler
    from routescreen.corridor.treatment import Features

WATER_CLASS = "water"
_WATER_KIND = "lake"  # what water is taken for that the ground cover alone knows
_LEAST_PIECE_M2 = 1e-6  # what is smaller is left over from cutting along a common edge


@dataclass(frozen=True, slots=True)
class DeepPlaces:
    """Areas that a bore passes only far below the ground.

    Attributes
    ----------
    area : ndarray of object, shape (n,)
        Polygons or multipolygons.
    below_m : ndarray of shape (n,)
        How far below the lowest ground the crown must lie [m]; inf: no drive at all.
    """

    area: NDArray[np.object_]
    below_m: NDArray[np.float64]

    @classmethod
    def of(cls, pieces: Iterable[tuple[shapely.Geometry, float]]) -> DeepPlaces:
        """Collect areas with their depths; what has no area is left out."""
        kept = [(area, below_m) for area, below_m in pieces if shapely.area(area) > _LEAST_PIECE_M2]
        areas = np.empty(len(kept), dtype=object)
        areas[:] = [area for area, _ in kept]
        return cls(areas, np.array([below_m for _, below_m in kept], dtype=np.float64))

    @classmethod
    def joined(cls, first: DeepPlaces, second: DeepPlaces) -> DeepPlaces:
        """Return two sets of areas as one."""
        return cls(np.concatenate([first.area, second.area]), np.concatenate([first.below_m, second.below_m]))


@dataclass(frozen=True, slots=True)
class OpenWater:
    """Water that only the ground cover knows, and what it is taken for.

    `area` are polygons, `water_depth_m` deep; `bed_m` is how far the bed lies below the terrain, scour
    included, and `required_cover_m` the cover that counts from there [m].
    """

    area: NDArray[np.object_]
    bed_m: float
    required_cover_m: float
    water_depth_m: float

    def places(self, method_cover_m: float) -> DeepPlaces:
        """Return how deep a method must pass: bed and the larger of both covers [m]."""
        below_m = self.bed_m + max(self.required_cover_m, method_cover_m)
        return DeepPlaces(self.area, np.full(len(self.area), below_m))


def open_water(
    sampler: GroundSampler,
    features: Features,
    assumptions: Assumptions,
    *,
    within: shapely.Geometry,
    is_terrain_bed: bool,
) -> OpenWater:
    """Find the water of the ground cover that no water feature covers, and warn once that it is there.

    Its terrain is taken as the level of the water, its depth, scour and cover as those of a lake.

    Parameters
    ----------
    sampler : GroundSampler
        Takes the warning.
    features : Features
        Those whose cover counts from a bed are the known waters.
    assumptions : Assumptions
    within : Geometry
        The area of the corridor, for the figure in the warning.
    is_terrain_bed : bool
        Whether the terrain holds the bed of waters instead of their level.

    Returns
    -------
    OpenWater
    """
    kind = _water_kind(assumptions)
    is_water = np.array([name == WATER_CLASS for name in assumptions.cover_names], dtype=np.bool_)
    known = features.outline[features.cover_reference == "bed"]
    area = _uncovered(sampler.cover_boxes(is_water), known)
    if kind is None or len(area) == 0:
        return OpenWater(np.zeros(0, dtype=object), 0.0, 0.0, 0.0)
    size_m2 = float(shapely.area(shapely.intersection(area, within)).sum())
    if size_m2 >= 0.5 and not is_terrain_bed:
        sampler.warn(
            f"{size_m2:.0f} m2 of water are known from the ground cover only; "
            f"a depth of {kind.water_depth_m:.1f} m is assumed."
        )
    depth_m = 0.0 if is_terrain_bed else kind.water_depth_m
    return OpenWater(area, depth_m + kind.scour_m, kind.required_cover_m, kind.water_depth_m)


def _water_kind(assumptions: Assumptions) -> Treatment | None:
    """Return the treatment of a lake, else that of the kind of water that is deepest by default."""
    waters = [kind for kind in assumptions.treatments.values() if kind.cover_reference == "bed"]
    deepest = max(waters, key=lambda kind: kind.water_depth_m, default=None)
    return assumptions.treatments.get(_WATER_KIND, deepest)


def _uncovered(boxes: NDArray[np.object_], known: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return the parts of boxes that no known water covers."""
    box, water = shapely.STRtree(known).query(boxes, predicate="intersects")
    rest = boxes.copy()
    for k in np.unique(box):
        rest[k] = shapely.difference(boxes[k], shapely.union_all(known[water[box == k]]))
    return rest[shapely.area(rest) > _LEAST_PIECE_M2]


def undriven_soil(sampler: GroundSampler, assumptions: Assumptions, method: str) -> DeepPlaces:
    """Return where mapped soil keeps a method out, however narrow the polygon.

    A simplification: over the whole polygon the crown must lie below the rock head, or no bore may pass
    where none is stated; whether the rock can be driven is judged along the drive. Where polygons
    overlap, the last one holds, value by value, as it does at single points. Soil that is only the
    default, outside all polygons, keeps nothing out here; the drive is judged by it where it passes.

    Parameters
    ----------
    sampler : GroundSampler
    assumptions : Assumptions
    method : str
        A key of ``assumptions.methods``.

    Returns
    -------
    DeepPlaces
    """
    drivability = assumptions.methods[method].drivability
    is_shut = np.array(
        [soil not in drivability or drivability[soil].grade == "no" for soil in assumptions.soil_names]
    )
    area, soil, rock_m = sampler.ground_polygons()
    tree = shapely.STRtree(area)
    shut = np.flatnonzero((soil >= 0) & is_shut[soil])
    return DeepPlaces.of(piece for k in shut for piece in _pieces(int(k), tree, soil, rock_m))


def _pieces(
    polygon: int, tree: shapely.STRtree, soil: NDArray[np.int16], rock_m: NDArray[np.float64]
) -> Iterable[tuple[shapely.Geometry, float]]:
    """Yield the parts of a polygon where its own soil holds, each with the depth of the rock head."""
    area = tree.geometries
    near = np.sort(tree.query(area[polygon], predicate="intersects"))
    rest = shapely.difference(
        area[polygon], shapely.union_all(area[near[(near > polygon) & (soil[near] >= 0)]])
    )
    for other in near[~np.isnan(rock_m[near])][::-1]:
        yield shapely.intersection(rest, area[other]), float(rock_m[other])
        rest = shapely.difference(rest, area[other])
    yield rest, np.inf
