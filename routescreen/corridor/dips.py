"""The dips that open cut asks for below what it crosses, and where no such dip is to be made.

Room: ``corridor``. Imports ``drives``, the ground and the treatment. A dip follows from what a feature says
of itself, not from the place where it is crossed: so all ways through it have one depth and one price a run.
Where it states the level of its bed, that counts below the highest of its banks in the corridor.
"""

from __future__ import annotations

from dataclasses import replace
from functools import reduce
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor.treatment import resolve_crossings
from routescreen.drives.dip import (
    CrossingDip,
    Dip,
    bed_dip,
    deeper,
    service_dip,
    service_stretch_m,
)
from routescreen.drives.dip_ramp import is_barred

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.ground import GroundSampler
    from routescreen.corridor.treatment import Crossings, Features
    from routescreen.drives.dip import Ground
    from routescreen.project import CorridorInput

GROUND_STEP_M = 25.0
"""The ground along a crossing is looked up at least so often [m]."""

BED_STEP_M = 0.01
"""Depths of beds below the ground are taken in such steps, upwards [m]."""


def dipped_crossings(corridor: CorridorInput, sampler: GroundSampler, a: Assumptions) -> Crossings:
    """Return what a corridor crosses, with the dips that open cut asks for; see `resolve_crossings`."""
    return with_dips(resolve_crossings(corridor.crossings, a), sampler, corridor, a)


def with_dips(
    crossings: Crossings, sampler: GroundSampler, corridor: CorridorInput, a: Assumptions
) -> Crossings:
    """Return the crossings with the dips that open cut asks for below them.

    Parameters
    ----------
    crossings : Crossings
    sampler : GroundSampler
    corridor : CorridorInput
    a : Assumptions

    Returns
    -------
    Crossings
    """
    features = crossings.features
    of_features = [_dip(features, k, corridor, sampler, a) for k in range(len(features))]
    found: list[CrossingDip | None] = []
    for crossing in range(len(crossings)):
        members = np.flatnonzero(features.crossing == crossing)
        dip = reduce(deeper, (of_features[k] for k in members), None)
        if dip is None:
            found.append(None)
            continue
        stretch_m = max(_stretch_m(features, int(k)) for k in members)
        kinds = {kind for k in members for kind in _grounds(features.geometry[k], sampler, corridor)}
        found.append(CrossingDip(dip, stretch_m, tuple(sorted(kinds))))
    return replace(crossings, dips=tuple(found))


def _dip(
    features: Features, k: int, corridor: CorridorInput, sampler: GroundSampler, a: Assumptions
) -> Dip | None:
    """Return what one feature asks for; a service by its kind where it says nothing of itself."""
    if features.cover_reference[k] == "service":
        depth_m, diameter_m = float(features.service_depth_m[k]), float(features.service_diameter_m[k])
        return service_dip(depth_m, diameter_m, _clear_m(features, k), a)
    if features.cover_reference[k] == "bed":
        asked_m, scour_m = float(features.required_cover_m[k]), float(features.scour_m[k])
        bed_m = _stated_bed_m(features, k, corridor, sampler)
        if bed_m is None:
            bed_m = scour_m + (0.0 if corridor.terrain_is_bed else float(features.water_depth_m[k]))
        return bed_dip(bed_m + asked_m, scour_m + asked_m, is_wet=bool(features.is_wet_all_year[k]), a=a)
    return None


def _stated_bed_m(
    features: Features, k: int, corridor: CorridorInput, sampler: GroundSampler
) -> float | None:
    """Return how far a scoured bed whose level is stated lies below the highest of its banks [m]."""
    level_m = float(features.base_level_m[k])
    if np.isnan(level_m):
        return None
    half_m = float(features.half_width_given_m[k])
    ground_m = sampler.terrain_m(_banks(features.geometry[k], half_m, corridor))
    if np.isnan(ground_m).all():
        return None
    deepest_m = max(float(np.nanmax(ground_m)) - level_m, 0.0)
    return float(np.ceil(deepest_m / BED_STEP_M - BED_STEP_M)) * BED_STEP_M


def _banks(geometry: shapely.Geometry, half_m: float, corridor: CorridorInput) -> NDArray[np.float64]:
    """Return points on a feature and on both its banks, at the middles of short pieces."""
    begin_m, end_m, alone_m = _pieces(geometry, corridor)
    if len(begin_m) == 0:
        return alone_m
    along_m = end_m - begin_m
    length_m = np.maximum(np.hypot(along_m[:, 0], along_m[:, 1]), 1e-9)
    aside_m = half_m * np.column_stack([-along_m[:, 1], along_m[:, 0]]) / length_m[:, np.newaxis]
    middle_m = 0.5 * (begin_m + end_m)
    return np.concatenate([middle_m, middle_m - aside_m, middle_m + aside_m])


def _clear_m(features: Features, k: int) -> float:
    """Return the clear height between pipes and a service: the doubt about its record counts if undug [m]."""
    doubt_m = 0.0 if features.has_trial_hole[k] else float(features.record_uncertainty_m[k])
    return float(features.exposed_clearance_m[k]) + doubt_m


def _stretch_m(features: Features, k: int) -> float:
    if features.cover_reference[k] != "service":
        return 0.0
    return service_stretch_m(
        float(features.service_diameter_m[k]),
        _clear_m(features, k),
        2.0 * float(features.half_width_given_m[k]),
        float(features.min_angle_deg[k]),
    )


def _grounds(geometry: shapely.Geometry, sampler: GroundSampler, corridor: CorridorInput) -> set[Ground]:
    """Return the kinds of ground along a feature within the corridor, seen at the middles of short pieces."""
    begin_m, end_m, alone_m = _pieces(geometry, corridor)
    return kinds_at(sampler, 0.5 * (begin_m + end_m) if len(begin_m) else alone_m)


def _pieces(
    geometry: shapely.Geometry, corridor: CorridorInput
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return both ends of short pieces along a feature within the corridor, and all its points."""
    within = geometry if corridor.outline is None else shapely.intersection(geometry, corridor.outline)
    line = shapely.segmentize(geometry if shapely.is_empty(within) else within, GROUND_STEP_M)
    xy_m, part = shapely.get_coordinates(_lines(line), return_index=True)
    is_joined = part[1:] == part[:-1]
    return xy_m[:-1][is_joined], xy_m[1:][is_joined], xy_m


def _lines(geometry: shapely.Geometry) -> NDArray[np.object_]:
    """Return the lines, edges and points of a geometry, one by one."""
    parts = shapely.get_parts(shapely.get_parts(geometry))
    is_area = shapely.get_dimensions(parts) > 1
    return np.concatenate([parts[~is_area], shapely.get_parts(shapely.boundary(parts[is_area]))])


def kinds_at(sampler: GroundSampler, xy_m: NDArray[np.float64]) -> set[Ground]:
    """Return the kinds of ground at points."""
    soil, water_m, rock_m, rock_soil = (column.tolist() for column in sampler.below_at(xy_m))
    return set(zip(map(int, soil), water_m, rock_m, map(int, rock_soil), strict=True))


def barred_areas(crossings: Crossings, sampler: GroundSampler, a: Assumptions) -> NDArray[np.object_]:
    """Return where crossings must not be cut open, since no dip below them bears the current.

    Parameters
    ----------
    crossings : Crossings
    sampler : GroundSampler
    a : Assumptions

    Returns
    -------
    ndarray of object
        Parts of the outlines, by the ground that lies there.
    """
    areas = [area for of_one in barred_by_crossing(crossings, sampler, a).values() for area in of_one]
    found = np.empty(len(areas), dtype=object)
    found[:] = areas
    return found


def barred_crossings(crossings: Crossings, sampler: GroundSampler, a: Assumptions) -> list[int]:
    """Return the crossings of which `barred_areas` has a part."""
    return [crossing for crossing, areas in barred_by_crossing(crossings, sampler, a).items() if areas]


def barred_by_crossing(
    crossings: Crossings, sampler: GroundSampler, a: Assumptions
) -> dict[int, list[shapely.Geometry]]:
    """Return the parts of each crossing of which `barred_areas` has some, or might; by crossing."""
    if not a.search.dip_rating_steers:
        return {}
    tree = shapely.STRtree(sampler.ground_polygons()[0])
    return {
        crossing: _barred(crossings.outline[crossing], dip.dip, tree, sampler, a)
        for crossing, dip in enumerate(crossings.dips)
        if dip is not None and not dip.may_be_warm and crossings.trench[crossing] != "no"
    }


def _barred(
    outline: shapely.Geometry, dip: Dip, tree: shapely.STRtree, sampler: GroundSampler, a: Assumptions
) -> list[shapely.Geometry]:
    """Return the parts of an outline in whose ground no dip is to be made."""
    pieces = _by_ground(outline, tree)
    points = shapely.point_on_surface(pieces)
    found = []
    for piece, xy_m in zip(pieces, shapely.get_coordinates(points), strict=True):
        (ground,) = kinds_at(sampler, xy_m[np.newaxis])
        if is_barred(dip, ground, a):
            found.append(piece)
    return found


def _by_ground(outline: shapely.Geometry, tree: shapely.STRtree) -> list[shapely.Geometry]:
    """Cut an outline at the edges of the ground layer."""
    near = tree.geometries[tree.query(outline, predicate="intersects")]
    edges = shapely.intersection(shapely.boundary(near), outline)
    lines = shapely.union_all([shapely.boundary(outline), *edges])
    pieces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    return [piece for piece in pieces if shapely.intersects(outline, shapely.point_on_surface(piece))]
