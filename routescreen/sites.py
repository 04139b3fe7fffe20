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
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.treatment import Crossings
    from routescreen.plan import Drive, Plan, Shaft

TOUCH_M2 = 0.5  # an overlap smaller than this is no conflict


@dataclass(frozen=True, slots=True)
class SitePlan:
    """Compounds and strips, and what stands in their way.

    `compounds` holds one outline a shaft, `strips` one a drive with a layout (its index first);
    `warnings` name each conflict.
    """

    compounds: tuple[Polygon, ...]
    strips: tuple[tuple[int, Polygon], ...]
    warnings: tuple[str, ...]


def place_sites(plan: Plan, crossings: Crossings, assumptions: Assumptions) -> SitePlan:
    """Place a compound at every shaft and the layout strips behind every reception.

    A compound is a rectangle that touches its shaft, along or across the drive, where it meets least
    of what a shaft may not stand in and no other compound. Strips lie in line with the drive beyond
    the reception, in one piece.

    Returns
    -------
    SitePlan
    """
    closed = [
        outline
        for outline, allowed in zip(crossings.outline, crossings.shaft_allowed, strict=True)
        if allowed != "yes"
    ]
    tree = shapely.STRtree(closed)
    compounds: list[Polygon] = []
    warnings: list[str] = []
    for index, shaft in enumerate(plan.shafts):
        candidates = _compound_candidates(plan, shaft, index, assumptions)
        overlaps = [_overlap_m2(site, tree, compounds) for site in candidates]
        best = int(np.argmin(overlaps))
        compounds.append(candidates[best])
        if overlaps[best] > TOUCH_M2:
            warnings.append(
                f"The compound of shaft {index + 1} has no room clear of crossings and other compounds: "
                f"{overlaps[best]:.0f} m2 overlap at best."
            )
    strips, strip_warnings = _strips(plan, crossings, assumptions)
    return SitePlan(tuple(compounds), strips, tuple(warnings) + strip_warnings)


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
    plan: Plan, crossings: Crossings, assumptions: Assumptions
) -> tuple[tuple[tuple[int, Polygon], ...], tuple[str, ...]]:
    """Return the layout strips of all drives, one outline each, with what they cross."""
    closed = [
        outline
        for outline, kind in zip(crossings.outline, crossings.kind, strict=True)
        if not assumptions.treatments[kind].layout_allowed
    ]
    tree = shapely.STRtree(closed)
    strips: list[tuple[int, Polygon]] = []
    warnings: list[str] = []
    for index, drive in enumerate(plan.drives):
        method = assumptions.methods[drive.method]
        if not method.has_layout:
            continue
        geometry = method_geometry(assumptions, drive.method)
        strip = _strip(plan, drive, geometry, method.layout_strip_width_m, method.layout_working_length_m)
        strips.append((index, strip))
        if _overlap_m2(strip, tree, []) > TOUCH_M2:
            warnings.append(
                f"The layout strip of drive {index + 1} in one piece crosses what it may not lie on; "
                "pieces or a bent strip are not weighed yet."
            )
    return tuple(strips), tuple(warnings)


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
