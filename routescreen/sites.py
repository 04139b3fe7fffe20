"""Ground that the works take beside the line: compounds at shafts, strips for the pipe strings.

Room: between ``search`` and ``audit``. Pure geometry on a finished plan.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from routescreen.drives.methods import MethodGeometry, method_geometry

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.ground import GroundSampler
    from routescreen.corridor.treatment import Crossings
    from routescreen.plan import Drive, Plan, Shaft

TOUCH_M2 = 0.5  # an overlap smaller than this is no conflict
REACH_M = 300.0  # from a shaft; no compound reaches further


@dataclass(frozen=True, slots=True)
class SitePlan:
    """Compounds and strips, and what stands in their way.

    `compounds` holds one outline a shaft, `strips` one a drive with a layout (its index first);
    `warnings` name each conflict.
    """

    compounds: tuple[Polygon, ...]
    strips: tuple[tuple[int, Polygon], ...]
    warnings: tuple[str, ...]


def place_sites(
    plan: Plan,
    crossings: Crossings,
    assumptions: Assumptions,
    *,
    sampler: GroundSampler | None = None,
    outline: Polygon | None = None,
    refused: Sequence[Polygon] = (),
) -> SitePlan:
    """Place a compound at every shaft and the layout strips behind every reception.

    A compound is a rectangle that touches its shaft, along or across the drive. Of all places it takes
    the one that meets least of what it may not stand on (features that bear no shaft, ground cover that
    bears no compound, refused ground, other compounds), among equals the one that meets least of bores,
    pipe strings and working strip, of the side that its drive lies on, and of land outside the corridor.
    Strips lie in line with the drive beyond the reception, in one piece.

    Parameters
    ----------
    plan : Plan
    crossings : Crossings
    assumptions : Assumptions
    sampler : GroundSampler, optional
        Tells the ground cover; without it none is held against a site.
    outline : Polygon, optional
        The corridor; without it no land counts as outside.
    refused : sequence of Polygon
        Where the planner has ruled out a shaft.

    Returns
    -------
    SitePlan
    """
    covers = assumptions.cover.values()
    barred = _barred(sampler, [cover.layout_allowed for cover in covers])
    strips, warnings = _strips(plan, crossings, assumptions, barred)
    closed = [
        shape
        for shape, allowed in zip(crossings.outline, crossings.shaft_allowed, strict=True)
        if allowed != "yes"
    ]
    tree = shapely.STRtree([*closed, *refused, *_barred(sampler, [c.compound_allowed for c in covers])])
    busy = [*_working_strips(plan, assumptions), *_swaths(plan, assumptions), *(shape for _, shape in strips)]
    busy_tree = shapely.STRtree(busy)
    compounds: list[Polygon] = []
    for index, shaft in enumerate(plan.shafts):
        candidates = _compound_candidates(plan, shaft, index, assumptions)
        barred_m2 = [_overlap_m2(site, tree, compounds) for site in candidates]
        ahead = _ahead(plan, shaft)
        busy_m2 = [_overlap_m2(site, busy_tree, ahead) + _outside_m2(site, outline) for site in candidates]
        # Whole square metres: what differs by less is no reason to prefer a place.
        best = min(range(len(candidates)), key=lambda k: (round(barred_m2[k]), round(busy_m2[k])))
        compounds.append(candidates[best])
        if barred_m2[best] > TOUCH_M2:
            warnings.append(
                f"The compound of shaft {plan.corridor_id}-H{index + 1:03d} has no room clear of crossings, "
                f"ground cover that bears none and other compounds: {barred_m2[best]:.0f} m2 overlap at best."
            )
    return SitePlan(tuple(compounds), strips, tuple(warnings))


def refused_ground(pins: gpd.GeoDataFrame) -> tuple[Polygon, ...]:
    """Return the circles in which a planner wants no shaft.

    Parameters
    ----------
    pins : GeoDataFrame
        Layer ``pins`` with `role` and `radius_m`; without a radius a pin takes no ground.
    """
    chosen = pins[(pins["role"] == "no_shaft").to_numpy(dtype=np.bool_)]
    radius_m = chosen["radius_m"].to_numpy(dtype=np.float64, na_value=0.0)
    return tuple(point.buffer(radius) for point, radius in zip(chosen.geometry, radius_m, strict=True))


def _barred(sampler: GroundSampler | None, allowed: list[str]) -> list[Polygon]:
    """Return boxes of the ground cover whose class says no; with consent is taken as yes."""
    if sampler is None:
        return []
    return list(sampler.cover_boxes(np.array([word == "no" for word in allowed])))


def _working_strips(plan: Plan, assumptions: Assumptions) -> list[Polygon]:
    """Return the working strip of each piece of open cut."""
    width_m = np.where(plan.is_narrow, assumptions.narrow_strip_m, assumptions.working_strip_m)
    return [
        shapely.LineString(plan.alignment_xy_m[k : k + 2]).buffer(width_m[k] / 2.0, cap_style="flat")
        for k in np.flatnonzero(~plan.is_drive)
    ]


def _swaths(plan: Plan, assumptions: Assumptions) -> list[Polygon]:
    """Return the ground over the bores of each drive."""
    return [
        shapely.LineString(plan.alignment_xy_m[[drive.from_vertex, drive.to_vertex]]).buffer(
            method_geometry(assumptions, drive.method).half_width_m, cap_style="flat"
        )
        for drive in plan.drives
    ]


def _ahead(plan: Plan, shaft: Shaft) -> list[Polygon]:
    """Return the side of a shaft that its only drive lies on, as far as a compound reaches."""
    served = [drive for drive in (shaft.incoming, shaft.outgoing) if drive is not None]
    if len(served) > 1:
        return []
    heading = _heading(plan, plan.drives[served[0]]) * (-1.0 if shaft.outgoing is None else 1.0)
    centre = np.array(shaft.xy_m)
    return [_rectangle(centre + heading * REACH_M / 2.0, heading, REACH_M, 2.0 * REACH_M)]


def _outside_m2(site: Polygon, outline: Polygon | None) -> float:
    """Return how much of a site lies outside the corridor [m2]."""
    return 0.0 if outline is None else float(site.difference(outline).area)


def _heading(plan: Plan, drive: Drive) -> NDArray[np.float64]:
    """Return the unit vector of a drive from its lower to its upper end."""
    step = plan.alignment_xy_m[drive.to_vertex] - plan.alignment_xy_m[drive.from_vertex]
    return np.asarray(step / np.hypot(*step))


def _rectangle(
    centre: NDArray[np.float64], along: NDArray[np.float64], length_m: float, width_m: float
) -> Polygon:
    """Return a rectangle by its middle, the direction of its length, and both sizes."""
    across = np.array([along[1], -along[0]])
    half = (0.5 * length_m * along, 0.5 * width_m * across)
    return Polygon([centre + a * half[0] + b * half[1] for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))])


def _compound_candidates(plan: Plan, shaft: Shaft, index: int, assumptions: Assumptions) -> list[Polygon]:
    """Return the places of a compound: either side or behind, along or across, slid along the shaft."""
    owner = shaft.incoming if shaft.incoming is not None else shaft.outgoing
    if owner is None:
        raise ValueError("a shaft must serve a drive")
    heading = _heading(plan, plan.drives[owner])
    right = np.array([heading[1], -heading[0]])
    length, width = _shaft_size(plan, shaft, index, assumptions)
    long_m, short_m = _compound_size(plan, shaft, index, assumptions)
    centre = np.array(shaft.xy_m)
    candidates = []
    for along_m, across_m in ((long_m, short_m), (short_m, long_m)):
        for slide in (0.0, -0.25, 0.25, -0.5, 0.5):
            for side in (1.0, -1.0):
                beside = centre + right * side * 0.5 * (width + across_m) + heading * slide * along_m
                candidates.append(_rectangle(beside, heading, along_m, across_m))
                behind = centre + heading * side * 0.5 * (length + along_m) + right * slide * across_m
                candidates.append(_rectangle(behind, heading, along_m, across_m))
    return candidates


def _shaft_size(plan: Plan, shaft: Shaft, index: int, assumptions: Assumptions) -> tuple[float, float]:
    """Return the larger length and width that a shaft's drives ask for [m]."""
    sizes = [
        _plan_size(method_geometry(assumptions, plan.drives[drive].method), plan.drives[drive], index)
        for drive in (shaft.incoming, shaft.outgoing)
        if drive is not None
    ]
    return max(size[0] for size in sizes), max(size[1] for size in sizes)


def _plan_size(geometry: MethodGeometry, drive: Drive, shaft: int) -> tuple[float, float]:
    is_launch = (drive.lower_shaft == shaft) == drive.is_launched_at_lower
    return geometry.launch_plan_m if is_launch else geometry.reception_plan_m


def _compound_size(plan: Plan, shaft: Shaft, index: int, assumptions: Assumptions) -> tuple[float, float]:
    """Return the size of the largest compound that a shaft's drives ask for, longer side first [m]."""
    sizes = []
    for drive in (shaft.incoming, shaft.outgoing):
        if drive is None:
            continue
        record = plan.drives[drive]
        method = assumptions.methods[record.method]
        if (record.lower_shaft == index) == record.is_launched_at_lower:
            sizes.append((method.launch_compound_length_m, method.launch_compound_width_m))
        else:
            sizes.append((method.reception_compound_length_m, method.reception_compound_width_m))
    largest = max(sizes, key=lambda size: size[0] * size[1])
    return max(largest), min(largest)


def _overlap_m2(site: Polygon, tree: shapely.STRtree, others: list[Polygon]) -> float:
    """Return how much of a site lies on closed features and other compounds [m2]."""
    hit = [tree.geometries[k] for k in tree.query(site, predicate="intersects")]
    return float(sum(site.intersection(other).area for other in [*hit, *others]))


def _strips(
    plan: Plan, crossings: Crossings, assumptions: Assumptions, barred: list[Polygon]
) -> tuple[tuple[tuple[int, Polygon], ...], list[str]]:
    """Return the layout strips of all drives, one outline each, and what stands in their way."""
    closed = [
        outline
        for outline, kind in zip(crossings.outline, crossings.kind, strict=True)
        if not assumptions.treatments[kind].layout_allowed
    ]
    tree = shapely.STRtree([*closed, *barred])
    strips: list[tuple[int, Polygon]] = []
    warnings: list[str] = []
    for index, drive in enumerate(plan.drives):
        method = assumptions.methods[drive.method]
        if not method.has_layout:
            continue
        geometry = method_geometry(assumptions, drive.method)
        strip = _strip(plan, drive, geometry, method.layout_strip_width_m, method.layout_working_length_m)
        strips.append((index, strip))
        overlap_m2 = _overlap_m2(strip, tree, [])
        if overlap_m2 > TOUCH_M2:
            warnings.append(
                f"The layout strip of drive {plan.corridor_id}-D{index + 1:03d} in one piece lies with "
                f"{overlap_m2:.0f} m2 on features or ground cover that bear none; "
                "pieces or a bent strip are not weighed yet."
            )
    return tuple(strips), warnings


def _strip(plan: Plan, drive: Drive, geometry: MethodGeometry, width_m: float, working_m: float) -> Polygon:
    """Return the strip behind the reception, as long as the drive and the working length."""
    heading = _heading(plan, drive)
    start, end = plan.alignment_xy_m[drive.from_vertex], plan.alignment_xy_m[drive.to_vertex]
    plan_m = float(np.hypot(*(end - start)))
    true_m = float(np.hypot(plan_m, drive.upper_crown_m - drive.lower_crown_m))
    away, origin = (heading, end) if drive.is_launched_at_lower else (-heading, start)
    length = true_m + working_m
    shift = 0.5 * geometry.reception_plan_m[0]
    across = max((geometry.n_bores - 1) * geometry.spacing_m + width_m, geometry.n_bores * width_m)
    return _rectangle(origin + away * (shift + 0.5 * length), away, length, across)
