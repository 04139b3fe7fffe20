"""Ground that the works take beside the line: compounds at shafts, strips for the pipe strings.

Room: between ``search`` and ``audit``. Pure geometry on a finished plan.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from routescreen.corridor.compounds import compound_outlines, compound_size_m
from routescreen.drives.layout import method_layout, strips
from routescreen.drives.methods import MethodGeometry, method_geometry

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.ground import GroundSampler
    from routescreen.corridor.treatment import Crossings
    from routescreen.plan import Drive, Plan, Shaft

TOUCH_M2 = 0.5  # an overlap smaller than this is no conflict
JOINED_M = 1e-6  # a compound this near to its shaft touches it
REACH_M = 300.0  # from a shaft; no compound reaches further
MOST_NAMED = 4  # conflicts named in one sentence
TURNS_DEG = (0.0, 15.0, -15.0, 30.0, -30.0, 45.0)  # against the drive, tried in this order
SLIDES = (0.0, -0.25, 0.25, -0.5, 0.5)  # along the shaft's side, in lengths of the compound's side


@dataclass(frozen=True, slots=True)
class SitePlan:
    """Compounds and strips, and what stands in their way.

    `compounds` holds one outline a shaft, `strips` those of each drive with a layout (its index first);
    `conflicts` holds what has no place clear of everything, `warnings` say the same in sentences.
    """

    compounds: tuple[Polygon, ...]
    strips: tuple[tuple[int, Polygon], ...]
    conflicts: tuple[SiteConflict, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SiteConflict:
    """Land that a site can't have: `element` (``shaft`` or ``drive``) with its index, and how much [m2]."""

    element: str
    index: int
    overlap_m2: float
    site_m2: float
    text: str


@dataclass(frozen=True, slots=True)
class _Taken:
    """Land that is taken: outlines and what each is called, with a tree to find them."""

    names: tuple[str, ...]
    tree: shapely.STRtree

    @classmethod
    def of(cls, named: Sequence[tuple[str, Polygon]]) -> _Taken:
        return cls(tuple(name for name, _ in named), shapely.STRtree([shape for _, shape in named]))

    def overlaps_m2(self, site: Polygon) -> dict[str, float]:
        """Return how much of a site lies on each, by name [m2]."""
        found: dict[str, float] = {}
        for k in self.tree.query(site, predicate="intersects"):
            area = float(site.intersection(self.tree.geometries[k]).area)
            found[self.names[k]] = found.get(self.names[k], 0.0) + area
        return {name: area for name, area in found.items() if area > TOUCH_M2}


def place_sites(
    plan: Plan,
    crossings: Crossings,
    assumptions: Assumptions,
    *,
    sampler: GroundSampler | None = None,
    outline: Polygon | None = None,
    refused: Sequence[Polygon] = (),
    axes: NDArray[np.float64] | None = None,
) -> SitePlan:
    """Place a compound at every shaft and the layout strips behind every reception.

    A compound is a rectangle that touches its shaft, along or across the drive. Of all places it takes
    the one that meets least land that bears none (features that bear no shaft, ground cover that bears no
    compound, refused ground), among equals least of what the plan itself takes (bores, layout strips, other
    shafts and compounds), then least of the working strip, of the side that its drive lies on, and of land
    outside the corridor. Where no such place is free, places turned against the drive are tried too, and
    then those along, across and turned against the axis, one of which the search has found clear of land
    that bears none. For a shaft that serves two drives it has looked beside each drive's own plan: if there
    is no place beside their common one, the compound takes in what of it lies beyond that plan.
    Strips lie where the plan has them.

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
    axes : ndarray of shape (n_shafts, 2), optional
        Unit vector of the frame's axis at each shaft; without it places against the axis are not tried.

    Returns
    -------
    SitePlan
    """
    laid_out = _strips(plan, assumptions)
    conflicts: list[SiteConflict] = []
    fixed = _Taken.of(
        [
            *_closed_features(crossings),
            *(("ground where no shaft is wanted", shape) for shape in refused),
            *_barred(sampler, assumptions, "compound_allowed"),
        ]
    )
    taken = [
        *_swaths(plan, assumptions),
        *((f"the layout strip of drive {_drive_id(plan, index)}", shape) for index, shape in laid_out),
    ]
    footprints = [_footprint(plan, shaft, k, assumptions) for k, shaft in enumerate(plan.shafts)]
    open_cut = shapely.STRtree(_working_strips(plan, assumptions))
    compounds: list[Polygon] = []
    for index, shaft in enumerate(plan.shafts):
        others = [
            (f"shaft {_shaft_id(plan, k)}", shape) for k, shape in enumerate(footprints) if k != index
        ] + [(f"the compound of shaft {_shaft_id(plan, k)}", shape) for k, shape in enumerate(compounds)]
        wanted = _Wanted(open_cut, _ahead(plan, shaft), _near(outline, shaft))
        land = _Land(fixed, _Taken.of([*taken, *others]), wanted)
        attempts = _attempts(
            plan, index, assumptions, footprints[index], None if axes is None else axes[index]
        )
        site, overlaps = _best_site(attempts, land)
        compounds.append(site)
        if overlaps:
            text = f"The compound of shaft {_shaft_id(plan, index)} has no place clear of other land: "
            conflicts.append(_conflict("shaft", index, site, overlaps, text))
    return SitePlan(tuple(compounds), laid_out, tuple(conflicts), tuple(c.text for c in conflicts))


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What a compound had better keep off: working strips, the side of the drive, land outside."""

    strips: shapely.STRtree
    ahead: list[Polygon]
    outline: shapely.Geometry | None

    def lost_m2(self, site: Polygon) -> float:
        """Return how much of a site lies there [m2]."""
        return _overlap_m2(site, self.strips, self.ahead) + _outside_m2(site, self.outline)


@dataclass(frozen=True, slots=True)
class _Land:
    """What a compound may not stand on: land that bears none, and what the plan itself takes."""

    fixed: _Taken
    plan: _Taken
    wanted: _Wanted

    def judged(self, site: Polygon) -> tuple[tuple[int, int], dict[str, float]]:
        """Return how bad a place is, the worst first [m2], and what it overlaps, by name [m2].

        Whole square metres: what differs by less is no reason to prefer a place.
        """
        fixed, plan = self.fixed.overlaps_m2(site), self.plan.overlaps_m2(site)
        return (round(sum(fixed.values())), round(sum(plan.values()))), {**fixed, **plan}


def _best_site(attempts: Iterator[list[Polygon]], land: _Land) -> tuple[Polygon, dict[str, float]]:
    """Return the best place of the first attempt with a free one, else of all, and what it still overlaps."""
    best: tuple[tuple[int, int], Polygon, dict[str, float]] | None = None
    for sites in attempts:
        judged = [(*land.judged(site), site) for site in sites]
        least = min(bad for bad, _, _ in judged)
        if best is not None and least >= best[0]:
            continue
        equals = [found for found in judged if found[0] == least]
        bad, overlaps, site = min(equals, key=lambda found: round(land.wanted.lost_m2(found[2])))
        best = bad, site, overlaps
        if not overlaps:
            break
    if best is None:
        raise AssertionError("no place was tried")
    return best[1], best[2]


def _attempts(
    plan: Plan, index: int, assumptions: Assumptions, footprint: Polygon, axis: NDArray[np.float64] | None
) -> Iterator[list[Polygon]]:
    """Yield the places of a shaft's compound in the order in which they are tried."""
    shaft = plan.shafts[index]
    owner, size = _compound_owner(plan, shaft, index, assumptions)
    headings = [_heading(plan, plan.drives[k]) for k in (shaft.incoming, shaft.outgoing) if k is not None]
    for turn_deg in TURNS_DEG:
        yield [site for h in headings for site in _candidates(footprint, _turned(h, turn_deg), size)]
    if axis is None:
        return
    middle = np.array(shaft.xy_m)
    common_m = _shaft_size(plan, shaft, index, assumptions)  # in line with the first drive
    yield compound_outlines(middle, axis, _against(axis, headings[0]), common_m, size)
    if len(headings) > 1:  # as the search has looked at it: a strip of the common plan may lie inside
        drive = plan.drives[owner]
        own_m = _plan_size(method_geometry(assumptions, drive.method), drive, index)
        yield compound_outlines(middle, axis, _against(axis, _heading(plan, drive)), own_m, size)


def _against(axis: NDArray[np.float64], heading: NDArray[np.float64]) -> float:
    """Return the angle of a heading against the axis, to the right [rad]."""
    return float(np.arctan2(heading[0] * axis[1] - heading[1] * axis[0], heading @ axis))


def _conflict(
    element: str, index: int, site: Polygon, overlaps: dict[str, float], head: str, tail: str = ""
) -> SiteConflict:
    """Say what a site overlaps, the most first."""
    ranked = sorted(overlaps.items(), key=lambda item: (-item[1], item[0]))
    listed = ", ".join(f"{area:.0f} m2 on {name}" for name, area in ranked[:MOST_NAMED])
    more = f" and {len(ranked) - MOST_NAMED} more" if len(ranked) > MOST_NAMED else ""
    overlap_m2 = min(sum(overlaps.values()), float(site.area))
    return SiteConflict(element, index, overlap_m2, float(site.area), f"{head}{listed}{more}{tail}.")


def _shaft_id(plan: Plan, index: int) -> str:
    return f"{plan.corridor_id}-H{index + 1:03d}"


def _drive_id(plan: Plan, index: int) -> str:
    return f"{plan.corridor_id}-D{index + 1:03d}"


def _closed_features(crossings: Crossings) -> list[tuple[str, Polygon]]:
    """Return the crossings that bear no shaft, with what they are called."""
    table = zip(crossings.kind, crossings.name, crossings.outline, crossings.shaft_allowed, strict=True)
    return [
        (f"{kind.replace('_', ' ')} {name}".strip(), shape)
        for kind, name, shape, allowed in table
        if allowed != "yes"
    ]


def _barred(
    sampler: GroundSampler | None, assumptions: Assumptions, permission: str
) -> list[tuple[str, Polygon]]:
    """Return boxes of the ground cover whose class says no; with consent is taken as yes."""
    if sampler is None:
        return []
    found: list[tuple[str, Polygon]] = []
    for number, (name, cover) in enumerate(assumptions.cover.items()):
        if getattr(cover, permission) == "no":
            is_in = np.arange(len(assumptions.cover)) == number
            title = f"ground cover {name.replace('_', '-')}"
            found += [(title, box) for box in sampler.cover_boxes(is_in)]
    return found


def _working_strips(plan: Plan, assumptions: Assumptions) -> list[Polygon]:
    """Return the working strip of each piece of open cut."""
    width_m = np.where(plan.is_narrow, assumptions.narrow_strip_m, assumptions.working_strip_m)
    return [
        shapely.LineString(plan.alignment_xy_m[k : k + 2]).buffer(width_m[k] / 2.0, cap_style="flat")
        for k in np.flatnonzero(~plan.is_drive)
    ]


def _swaths(plan: Plan, assumptions: Assumptions) -> list[tuple[str, Polygon]]:
    """Return the ground over the bores of each drive."""
    return [
        (
            f"the bores of drive {_drive_id(plan, index)}",
            shapely.LineString(plan.alignment_xy_m[[drive.from_vertex, drive.to_vertex]]).buffer(
                method_geometry(assumptions, drive.method).half_width_m, cap_style="flat"
            ),
        )
        for index, drive in enumerate(plan.drives)
    ]


def _ahead(plan: Plan, shaft: Shaft) -> list[Polygon]:
    """Return the side of a shaft that its only drive lies on, as far as a compound reaches."""
    served = [drive for drive in (shaft.incoming, shaft.outgoing) if drive is not None]
    if len(served) > 1:
        return []
    heading = _heading(plan, plan.drives[served[0]]) * (-1.0 if shaft.outgoing is None else 1.0)
    centre = np.array(shaft.xy_m)
    return [_rectangle(centre + heading * REACH_M / 2.0, heading, REACH_M, 2.0 * REACH_M)]


def _outside_m2(site: Polygon, outline: shapely.Geometry | None) -> float:
    """Return how much of a site lies outside the corridor [m2]."""
    return 0.0 if outline is None else float(site.difference(outline).area)


def _near(outline: Polygon | None, shaft: Shaft) -> shapely.Geometry | None:
    """Return the corridor as far as a compound at a shaft reaches: the whole would slow each place down."""
    if outline is None:
        return None
    x, y = shaft.xy_m
    return shapely.intersection(outline, shapely.box(x - REACH_M, y - REACH_M, x + REACH_M, y + REACH_M))


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


def _footprint(plan: Plan, shaft: Shaft, index: int, assumptions: Assumptions) -> Polygon:
    """Return the outline of a shaft, in line with its first drive."""
    owner = shaft.incoming if shaft.incoming is not None else shaft.outgoing
    if owner is None:
        raise ValueError("a shaft must serve a drive")
    length_m, width_m = _shaft_size(plan, shaft, index, assumptions)
    return _rectangle(np.array(shaft.xy_m), _heading(plan, plan.drives[owner]), length_m, width_m)


def _turned(heading: NDArray[np.float64], turn_deg: float) -> NDArray[np.float64]:
    cosine, sine = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    return np.array([cosine * heading[0] - sine * heading[1], sine * heading[0] + cosine * heading[1]])


def _candidates(footprint: Polygon, heading: NDArray[np.float64], size: tuple[float, float]) -> list[Polygon]:
    """Return the places of a compound on all four sides of a shaft, along and across, slid along it."""
    corners = shapely.get_coordinates(footprint)[:-1]
    centre = corners.mean(axis=0)
    right = np.array([heading[1], -heading[0]])
    sites = []
    for out, side in ((right, heading), (-right, heading), (heading, right), (-heading, right)):
        reach_m = float(np.max((corners - centre) @ out))
        half_m = float(np.max((corners - centre) @ side))
        for deep_m, wide_m in (size, size[::-1]):
            flush_m = abs(half_m - wide_m / 2.0)  # one end of the compound in line with one of the shaft
            for slide_m in (*(wide_m * share for share in SLIDES), -flush_m, flush_m):
                middle = centre + out * (reach_m + deep_m / 2.0) + side * slide_m
                site = _rectangle(middle, out, deep_m, wide_m)
                if site.distance(footprint) < JOINED_M:
                    sites.append(site)
    return sites


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


def _compound_owner(
    plan: Plan, shaft: Shaft, index: int, assumptions: Assumptions
) -> tuple[int, tuple[float, float]]:
    """Return the drive with the largest compound of a shaft's drives, and its size, longer side first [m]."""
    sizes: list[tuple[int, tuple[float, float]]] = []
    for drive in (shaft.incoming, shaft.outgoing):
        if drive is not None:
            record = plan.drives[drive]
            is_launch = (record.lower_shaft == index) == record.is_launched_at_lower
            method = assumptions.methods[record.method]
            sizes.append((drive, compound_size_m(method, is_launch=is_launch)))
    return max(sizes, key=lambda found: found[1][0] * found[1][1])


def _overlap_m2(site: Polygon, tree: shapely.STRtree, others: list[Polygon]) -> float:
    """Return how much of a site lies on closed features and other compounds [m2]."""
    hit = [tree.geometries[k] for k in tree.query(site, predicate="intersects")]
    return float(sum(site.intersection(other).area for other in [*hit, *others]))


def _strips(plan: Plan, assumptions: Assumptions) -> tuple[tuple[int, Polygon], ...]:
    """Return the layout strips of all drives, each with the index of its drive."""
    found: list[tuple[int, Polygon]] = []
    for index, drive in enumerate(plan.drives):
        rule = method_layout(assumptions, drive.method)
        if rule is not None and drive.layout_xy_m:
            found += [(index, strip) for strip in strips(rule, np.array(drive.layout_xy_m))]
    return tuple(found)
