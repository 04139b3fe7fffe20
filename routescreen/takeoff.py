"""Quantity take-off: the finished plan measured on its exact geometry, element by element.

Room: between ``search`` and ``audit``. Uses ``corridor``'s sampler and crossings and ``money``'s
measures; the audit measures the same geometry again by its own means.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.drives.course import crown_levels_m, depth_asked_m, lowest_crown_m, true_length_m
from routescreen.drives.methods import enabled_methods, method_geometry, role_of
from routescreen.drives.open_cut import trench_section
from routescreen.money import measure
from routescreen.plan import SectionRun, section_runs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.ground import GroundSampler
    from routescreen.corridor.treatment import Crossings
    from routescreen.drives.dip import Dip
    from routescreen.plan import Drive, Plan

SHORTEST_M = 1e-6  # a stretch inside a crossing shorter than this is a touch


@dataclass(frozen=True, slots=True)
class Scope:
    """What is measured and with what: plan, ground, crossings, assumptions."""

    plan: Plan
    sampler: GroundSampler
    crossings: Crossings
    assumptions: Assumptions
    tree: shapely.STRtree = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "tree", shapely.STRtree(self.crossings.outline))


@dataclass(frozen=True, slots=True)
class TakeOff:
    """Quantities by element, one row each.

    Attributes
    ----------
    section : ndarray of int64, shape (n,)
        Section that each row belongs to.
    element : tuple of str
        ``section``, ``drive``, ``shaft`` or ``crossing``.
    index : ndarray of int64, shape (n,)
        Position of the element: section, drive or shaft of the plan, crossing of `Crossings`.
    quantities : ndarray of float64, shape (n, n_items)
        In the order and the units of the bill's items.
    crossing_feature_ids : tuple of str
        Features of each crossing of `Crossings`, joined by ``;``.
    """

    section: NDArray[np.int64]
    element: tuple[str, ...]
    index: NDArray[np.int64]
    quantities: NDArray[np.float64]
    crossing_feature_ids: tuple[str, ...]

    def total_eur(self, assumptions: Assumptions) -> float:
        """Return the unrounded price of everything at the expected rates [EUR]."""
        return float(self.quantities.sum(axis=0) @ measure.rates_eur(assumptions))

    def drive_eur(self, drive: int, sections: tuple[SectionRun, ...], assumptions: Assumptions) -> float:
        """Return the price of a drive with its crossings, without its shafts [EUR]."""
        section = next(i for i, run in enumerate(sections) if run.drive == drive)
        is_wanted = (self.section == section) & np.array([kind != "shaft" for kind in self.element])
        return float(self.quantities[is_wanted].sum(axis=0) @ measure.rates_eur(assumptions))


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the take-off."""

    section: int
    element: str
    index: int
    quantities: NDArray[np.float64]


def take_off(scope: Scope) -> TakeOff:
    """Measure all items that the search carries on the plan's exact geometry.

    Lengths by class are measured on pieces of at most the audit's profile step, each with what lies
    at its middle; crossings by exact intersection with their outlines.

    Returns
    -------
    TakeOff
    """
    rows: list[Row] = []
    runs = section_runs(scope.plan)
    for number, run in enumerate(runs):
        rows += (
            _trench_rows(scope, number, run) if run.drive is None else _drive_rows(scope, number, run.drive)
        )
    for index in range(len(scope.plan.shafts)):
        rows.append(_shaft_row(scope, index, runs))
    return TakeOff(
        np.array([row.section for row in rows], np.int64),
        tuple(row.element for row in rows),
        np.array([row.index for row in rows], np.int64),
        np.array([row.quantities for row in rows]),
        scope.crossings.feature_ids,
    )


def _cells(
    start: NDArray[np.float64], end: NDArray[np.float64], step_m: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """Return the middles of equal pieces of lines, at most a step long, their length [m], and their line."""
    length_m = np.hypot(*(end - start).T)
    count = np.maximum(np.ceil(length_m / step_m - 1e-9), 1.0).astype(np.int64)
    line = np.repeat(np.arange(len(start)), count)
    place = np.arange(len(line)) - np.repeat(np.cumsum(count) - count, count)
    share = (place + 0.5) / count[line]
    return start[line] + share[:, None] * (end - start)[line], (length_m / count)[line], line


def _trench_rows(scope: Scope, number: int, run: SectionRun) -> list[Row]:
    """Measure a run of open cut: its metres, then each crossing that it passes."""
    plan, a = scope.plan, scope.assumptions
    xy_m = plan.alignment_xy_m[run.from_vertex : run.to_vertex + 1]
    middles, length_m, piece = _cells(xy_m[:-1], xy_m[1:], a.audit.profile_step_m)
    is_narrow = plan.is_narrow[run.from_vertex : run.to_vertex][piece]
    total = length_m @ measure.trench_per_m(
        scope.sampler.sample(middles, with_surroundings=False), is_narrow, a
    )
    line = shapely.LineString(xy_m)
    rows = [Row(number, "section", number, total)]
    for crossing, parts in _stretches(line, scope):
        kind, dip = scope.crossings.kind[crossing], scope.crossings.dip(crossing)
        quantities = _n_runs(line, parts, a.frame.merge_gap_m) * measure.crossing_trench(kind, a, dip)
        quantities = quantities + _inside(scope, (kind, None if dip is None else dip.dip), parts, run)
        rows.append(Row(number, "crossing", crossing, quantities))
    return rows


def trench_eur(scope: Scope, run: SectionRun) -> float:
    """Return what the take-off finds for a run of open cut with its crossings [EUR]."""
    rows = _trench_rows(scope, 0, run)
    return float(sum(row.quantities for row in rows) @ measure.rates_eur(scope.assumptions))


@dataclass(frozen=True, slots=True)
class WiderTrench:
    """Open cut in one soil whose pipes lie further apart than the project asks for.

    `soil` is the class at the ground; `length_m` of route [m]; `extra_eur` what the metres cost more than
    with the pipes at `trench.pipe_spacing_m`, crossings' own items apart [EUR].
    """

    soil: int
    spacing_m: float
    length_m: float
    extra_eur: float


def wider_trenches(scope: Scope) -> list[WiderTrench]:
    """Measure where the current asks for pipes further apart, and what that costs.

    Returns
    -------
    list of WiderTrench
        By soil, then by spacing.
    """
    plan, a = scope.plan, scope.assumptions
    close = a.model_copy(update={"search": a.search.model_copy(update={"rating_steers": False})})
    found: dict[tuple[int, float], list[float]] = {}
    for run in section_runs(plan):
        if run.drive is not None:
            continue
        xy_m = plan.alignment_xy_m[run.from_vertex : run.to_vertex + 1]
        middles, length_m, piece = _cells(xy_m[:-1], xy_m[1:], a.audit.profile_step_m)
        samples = scope.sampler.sample(middles, with_surroundings=False)
        is_narrow = plan.is_narrow[run.from_vertex : run.to_vertex][piece]
        spacing_m = trench_section(samples, a).pipe_spacing_m
        more_eur = length_m * (
            measure.trench_eur_per_m(samples, is_narrow, a)
            - measure.trench_eur_per_m(samples, is_narrow, close)
        )
        for at in np.flatnonzero(spacing_m > a.trench.pipe_spacing_m + SHORTEST_M):
            total = found.setdefault((int(samples.soil_class[at]), float(spacing_m[at])), [0.0, 0.0])
            total[0] += float(length_m[at])
            total[1] += float(more_eur[at])
    return [WiderTrench(*key, *found[key]) for key in sorted(found)]


def _stretches(line: shapely.Geometry, scope: Scope) -> list[tuple[int, list[shapely.LineString]]]:
    """Return the crossings that a line (or lines) passes, each with its unbroken stretches inside."""
    found = []
    for crossing in scope.tree.query(line, predicate="intersects"):
        inside = shapely.intersection(line, scope.crossings.outline[crossing])
        parts = [part for part in shapely.get_parts(inside) if part.length > SHORTEST_M]
        if parts:
            found.append((int(crossing), parts))
    return sorted(found, key=lambda entry: entry[0])


def _n_runs(line: shapely.LineString, parts: list[shapely.LineString], gap_m: float) -> int:
    """Return how many runs of open cut a crossing has: stretches that nearly touch are one."""
    ends = sorted(
        sorted(float(line.project(shapely.Point(xy))) for xy in (part.coords[0], part.coords[-1]))
        for part in parts
    )
    return 1 + sum(after[0] - before[1] > gap_m for before, after in pairwise(ends))


def _inside(
    scope: Scope, of: tuple[str, Dip | None], parts: list[shapely.LineString], run: SectionRun
) -> NDArray[np.float64]:
    """Measure what the metres inside a crossing add, by its kind and the dip below its bed."""
    kind, dip = of
    a = scope.assumptions
    points, part = shapely.get_coordinates(parts, return_index=True)
    is_joined = part[1:] == part[:-1]
    start, end = points[:-1][is_joined], points[1:][is_joined]
    middles, length_m, piece = _cells(start, end, a.audit.profile_step_m)
    is_narrow = _is_narrow_at(scope.plan, run, 0.5 * (start + end))[piece]
    return length_m @ measure.crossing_trench_per_m(
        kind, scope.sampler.sample(middles, with_surroundings=False), is_narrow, a, dip
    )


def _is_narrow_at(plan: Plan, run: SectionRun, xy_m: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return whether the piece of a run nearest to each point has the narrow strip."""
    vertex_m = plan.alignment_xy_m[run.from_vertex : run.to_vertex + 1]
    pieces = shapes.lines(np.stack([vertex_m[:-1], vertex_m[1:]], axis=1))
    distance_m = shapely.distance(shapes.points(xy_m)[:, None], pieces)
    return np.asarray(plan.is_narrow[run.from_vertex : run.to_vertex][np.argmin(distance_m, axis=1)])


def _drive_rows(scope: Scope, number: int, index: int) -> list[Row]:
    """Measure a drive: its metres by soil and cover, what it needs whole, what it passes under."""
    plan, a = scope.plan, scope.assumptions
    drive = plan.drives[index]
    start, end = plan.alignment_xy_m[drive.from_vertex], plan.alignment_xy_m[drive.to_vertex]
    plan_m = float(np.hypot(*(end - start)))
    true_m = true_length_m(drive, plan_m)
    middles, length_m, _ = _cells(start[None], end[None], a.audit.profile_step_m)
    samples = scope.sampler.sample(middles, with_surroundings=False)
    share = (np.arange(len(middles)) + 0.5) / len(middles)
    crown = crown_levels_m(drive, plan_m, share * plan_m)
    axis_depth = samples.ground_m - crown + a.methods[drive.method].bore_diameter_m / 2.0
    soil = np.where(axis_depth > samples.rock_depth_m, samples.rock_soil_class, samples.soil_class)
    per_m = measure.drive_per_m(drive.method, soil, samples.cover_class, a)
    launch, reception = _launch_reception(drive)
    fixed = measure.drive_fixed(
        drive.method,
        np.array([true_m]),
        np.array([_needed_depth_m(scope, drive, launch, plan_m)]),
        np.array([_needed_depth_m(scope, drive, reception, plan_m)]),
        scope.sampler.cover_class(np.array([plan.shafts[reception].xy_m])),
        a,
        n_pieces=drive.n_layout_pieces,
    )
    piece_m = true_m / plan_m * length_m
    n_wet = sum(_is_wet(scope, drive, shaft) for shaft in (launch, reception))
    pumping = measure.drive_pumping(drive.method, soil, piece_m, n_wet, a)
    rows = [Row(number, "drive", index, piece_m @ per_m + fixed[0] + pumping)]
    for crossing, _ in _stretches(_bore_axes(scope, drive, start, end), scope):
        quantities = measure.crossing_drive(scope.crossings.kind[crossing], a)
        rows.append(Row(number, "crossing", crossing, quantities))
    return rows


def _bore_axes(
    scope: Scope, drive: Drive, start: NDArray[np.float64], end: NDArray[np.float64]
) -> shapely.MultiLineString:
    """Return the centre line of a drive and the axes of all its bores, in plan."""
    geometry = method_geometry(scope.assumptions, drive.method)
    first = 0.5 * (1 - geometry.n_bores)
    offsets = {0.0, *((first + bore) * geometry.spacing_m for bore in range(geometry.n_bores))}
    along = (end - start) / np.hypot(*(end - start))
    right = np.array([along[1], -along[0]])
    return shapely.MultiLineString([[start + off * right, end + off * right] for off in sorted(offsets)])


def _launch_reception(drive: Drive) -> tuple[int, int]:
    """Return the shafts of a drive, launch first."""
    ends = (drive.lower_shaft, drive.upper_shaft)
    return ends if drive.is_launched_at_lower else (ends[1], ends[0])


def _is_wet(scope: Scope, drive: Drive, shaft: int) -> bool:
    """Return whether a shaft as deep as one drive asks for lies below the groundwater as given."""
    at = scope.sampler.sample(np.array([scope.plan.shafts[shaft].xy_m]))
    return bool(_own_depth_m(scope, drive, shaft) > at.groundwater_depth_m[0] + 1e-9)


def _own_depth_m(scope: Scope, drive: Drive, shaft: int) -> float:
    """Return the depth that a drive asks of its shaft, rounded up and at least the method's [m]."""
    a = scope.assumptions
    method, step = a.methods[drive.method], a.shaft.depth_step_m
    least = np.ceil(method.least_shaft_depth_m / step - 1e-9)
    if drive.curve is not None:
        return float(least * step)
    below = depth_asked_m(
        drive,
        scope.plan.shafts[shaft].ground_m,
        method.bore_diameter_m,
        is_upper=shaft != drive.lower_shaft,
    )
    return float(max(np.ceil((below + a.shaft.sump_m) / step - 1e-9), least) * step)


def _needed_depth_m(scope: Scope, drive: Drive, shaft: int, plan_m: float) -> float:
    """Return how deep the ground is looked at from a drive's shaft [m].

    The depth that the drive asks of it, rounded up and at least the method's; of an arc its lowest invert if
    that is deeper. `plan_m` is the length of the drive in plan.
    """
    a = scope.assumptions
    method = a.methods[drive.method]
    below = depth_asked_m(
        drive,
        scope.plan.shafts[shaft].ground_m,
        method.bore_diameter_m,
        is_upper=shaft != drive.lower_shaft,
    )
    if drive.curve is not None:
        return below
    depth = _own_depth_m(scope, drive, shaft)
    if drive.arc_radius_m is None:
        return depth
    lowest_m = lowest_crown_m(drive, plan_m) - method.bore_diameter_m
    return max(depth, scope.plan.shafts[shaft].ground_m - lowest_m)


def _shaft_row(scope: Scope, index: int, runs: tuple[SectionRun, ...]) -> Row:
    """Measure a shaft and its site; it belongs to its lower-chainage drive's section."""
    plan, a = scope.plan, scope.assumptions
    shaft = plan.shafts[index]
    at = scope.sampler.sample(np.array([shaft.xy_m]))
    roles = tuple(np.array([_role(scope, index, drive)]) for drive in (shaft.incoming, shaft.outgoing))
    is_wet = shaft.depth_m > at.groundwater_depth_m + 1e-9
    is_reached = shaft.depth_m > at.groundwater_depth_m - a.groundwater.highest_rise_m + 1e-9
    ground = measure.ShaftGround(at.soil_class, at.rock_soil_class, at.rock_depth_m, at.groundwater_depth_m)
    hole = measure.shaft_in_ground(
        roles[0], roles[1], ground, is_wet, np.array([shaft.depth_m]), a, is_reached=is_reached
    )
    site = measure.shaft_site(roles[0], roles[1], at.access_distance_m, at.cover_class, a)
    owner = shaft.incoming if shaft.incoming is not None else shaft.outgoing
    section = next(number for number, run in enumerate(runs) if run.drive == owner)
    return Row(section, "shaft", index, hole[0] + site[0])


def _role(scope: Scope, shaft: int, drive: int | None) -> int:
    """Return a drive's role at a shaft, 0 for none."""
    if drive is None:
        return 0
    record = scope.plan.drives[drive]
    method = enabled_methods(scope.assumptions).index(record.method)
    return role_of(method, _launch_reception(record)[1] == shaft)
