"""Where the cables lie along the route: in trenches, on ramps, in bores; how deep, how far apart, in what.

Room: ``audit``. May use ``engineering``, ``drives`` (the trench's section, the ramps), numpy and the audit's
own modules.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.drive_profile import NO_WATER, soil_values, under_bore
from routescreen.audit.route import cells_between, stations
from routescreen.drives.cable_make import Surround, surround
from routescreen.drives.open_cut import trench_section
from routescreen.drives.ramp import RampLine, ramp_line, trench_axis_m, trench_offsets_m
from routescreen.drives.ramp_spread import RampGround, spread_at
from routescreen.drives.trench_spacing import bedding_zone_m, trench_beddings
from routescreen.drives.tunnel import pipe_ring
from routescreen.engineering.ground_heat import ground_resistivity
from routescreen.engineering.rating import Bedding, RoundFill
from routescreen.project import GroundSamples

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.scene import Scene
    from routescreen.drives.open_cut import Section

    Array = NDArray[np.float64]

TRENCH_STEP_M = 5.0  # make-up of the open cut is looked up so often
RAMP_STEP_M = 1.0


@dataclass(frozen=True, slots=True)
class CablePlaces:
    """Places of one drive, ramp or run of open cut, in order of chainage: n places, k cables left to right.

    Attributes
    ----------
    construction : str
        ``open_cut``, ``ramp``, ``drive`` or ``shaft``.
    section, drive, shaft : int
        Whose they are; -1 where there is none. Of a ramp the section is the open cut it leads to.
    chainage_m : ndarray of shape (n,)
    depth_m, offset_m : ndarray of shape (n, k)
        Axes of the cables below ground, under water below the bed; across the line [m].
    rho_K_m_per_W, ratio : ndarray of shape (n, k)
        Resistivity of the ground before it dries (saturated below the lowest groundwater, else moist), dried
        out over it; NaN where the ground isn't known.
    column_m, column_rho_K_m_per_W, column_dry_K_m_per_W : ndarray of shape (n, k)
        Of cables below the lowest groundwater the ground above it: its height, 0 where there is none [m], its
        resistivity as long as it stays moist, and dried out [K m/W].
    soil : ndarray of int64, shape (n,)
        Class round the first cable, -1 where unknown.
    surround : Surround
    bedding : Bedding, RoundFill or None
        A round fill where the cables lie together in a tunnel.
    own_bedding : Bedding or None
        What of the bedding lies round each pipe, where several lie in one.
    """

    construction: str
    section: int
    drive: int
    shaft: int
    chainage_m: Array
    depth_m: Array
    offset_m: Array
    rho_K_m_per_W: Array
    ratio: Array
    column_m: Array
    column_rho_K_m_per_W: Array
    column_dry_K_m_per_W: Array
    soil: NDArray[np.int64]
    surround: Surround
    bedding: Bedding | RoundFill | None
    own_bedding: Bedding | None = None

    @property
    def is_tunnel(self) -> bool:
        """Whether the cables lie together in one bore."""
        return isinstance(self.bedding, RoundFill)

    def taken(self, rows: NDArray[np.int64]) -> CablePlaces:
        """Return some of the places, with what lies round their cables."""
        n = len(self.chainage_m)

        def of(value: object) -> object:
            return value[rows] if isinstance(value, np.ndarray) and value.shape[:1] == (n,) else value

        changed = {column.name: of(getattr(self, column.name)) for column in fields(self)}
        for name in ("bedding", "own_bedding"):
            around = getattr(self, name)
            if around is not None:
                # of a bedding the numbers of the trenches have the cables first
                parts = {c.name: of(getattr(around, c.name)) for c in fields(around) if c.name != "trench"}
                changed[name] = replace(around, **parts)
        return replace(self, **changed)  # type: ignore[arg-type]

    @property
    def spacing_m(self) -> Array:
        """Least distance between neighbouring cables, NaN for a single one [m].

        Across the line, as bores follow their own ground; in a tunnel between any two of the pipes.
        """
        n = self.offset_m.shape[1]
        if n < 2:
            return np.full(len(self.chainage_m), np.nan)
        if self.is_tunnel:
            one, other = np.triu_indices(n, 1)
            apart_m = np.hypot(
                self.offset_m[:, one] - self.offset_m[:, other], self.depth_m[:, one] - self.depth_m[:, other]
            )
            return np.asarray(np.min(apart_m, axis=1))
        return np.asarray(np.min(np.diff(self.offset_m, axis=1), axis=1))


@dataclass(frozen=True, slots=True)
class Ramp:
    """The way of the cables from one end of a drive up to the trench.

    Attributes
    ----------
    drive, shaft, section : int
        Section of the open cut it leads to.
    is_upper : bool
        Whether it begins at the drive's higher-chainage end.
    line : RampLine
        Of all cables.
    """

    drive: int
    shaft: int
    section: int
    is_upper: bool
    line: RampLine

    def chainage_m(self, shaft_m: Array | float, along_m: Array | float) -> Array:
        """Return the chainage so far from the shaft along the ramp [m]."""
        return np.asarray(shaft_m + along_m if self.is_upper else shaft_m - along_m)


def ramps_of_drive(scene: Scene, index: int) -> list[Ramp]:
    """Return the ramps of a drive: one at each end behind which the cables go on in open cut.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the drive.

    Returns
    -------
    list of Ramp
        That of the lower end first; none where the next drive begins in the same shaft.
    """
    drive, route, a = scene.plan.drives[index], scene.route, scene.assumptions
    found = []
    for is_upper in (False, True):
        piece = drive.from_vertex + 1 if is_upper else drive.from_vertex - 1
        if not 0 <= piece < route.n_pieces or route.is_drive[piece]:
            continue
        shaft = drive.upper_shaft if is_upper else drive.lower_shaft
        crown_m = drive.upper_crown_m if is_upper else drive.lower_crown_m
        bottom_m = scene.plan.shafts[shaft].ground_m - crown_m + scene.lines[index].radius_m
        section = int(route.section_of_piece[piece])
        # how long the ramp is doesn't hang on the pipes' spacing at its end, which is looked up there
        spread = spread_at(a, drive.method, bottom_m, _ground_at_shaft(scene, shaft))
        first = ramp_line(a, drive.method, bottom_m, a.trench.pipe_spacing_m, spread)
        shaft_m = float(route.chainage_m[drive.to_vertex if is_upper else drive.from_vertex])
        foot_m = shaft_m + first.run_m if is_upper else shaft_m - first.run_m
        spacing_m = float(cut_at(scene, np.array([foot_m])).pipe_spacing_m[0])
        line = ramp_line(a, drive.method, bottom_m, spacing_m, spread)
        found.append(Ramp(index, shaft, section, is_upper, line))
    return found


def _ground_at_shaft(scene: Scene, shaft: int) -> RampGround:
    """Return the ground at a shaft, by which its ramps are laid out."""
    at = scene.ground.samples(np.array([scene.plan.shafts[shaft].xy_m]))
    return RampGround(
        int(at.soil_class[0]),
        int(at.rock_soil_class[0]),
        float(at.rock_depth_m[0]),
        float(at.groundwater_depth_m[0]),
    )


def lay_cables(scene: Scene) -> list[CablePlaces]:
    """Lay out the cables of the whole plan.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    list of CablePlaces
        In order of chainage: of an open cut the ramp before it, the trench, the ramp behind it.
    """
    ramps = [ramp for index in range(len(scene.plan.drives)) for ramp in ramps_of_drive(scene, index)]
    by_end = {(ramp.section, ramp.is_upper): ramp for ramp in ramps}
    found: list[CablePlaces] = []
    for section in range(scene.route.n_sections):
        drive = int(scene.route.drive_of_piece[scene.route.pieces_of_section(section)[0]])
        if drive >= 0:
            found.append(_in_drive(scene, section, drive))
            continue
        # the ramp at the upper end of the drive before lies at the lower end of the open cut
        before, behind = by_end.get((section, True)), by_end.get((section, False))
        found += _in_open_cut(scene, section, before, behind)
    return found


def _in_open_cut(scene: Scene, section: int, before: Ramp | None, behind: Ramp | None) -> list[CablePlaces]:
    """Lay out an open cut between two ramps; where they would overlap each ends in the middle."""
    from_m, to_m = scene.route.bounds_of_section(section)
    room_m = (to_m - from_m) / (2.0 if before is not None and behind is not None else 1.0)
    first, last = (0.0 if ramp is None else min(ramp.line.run_m, room_m) for ramp in (before, behind))
    parts = []
    if before is not None and first > 0.0:
        parts.append(_on_ramp(scene, before, from_m, first))
    if to_m - last - from_m - first > 1e-6:
        parts.append(_in_trench(scene, section, from_m + first, to_m - last))
    if behind is not None and last > 0.0:
        parts.append(_on_ramp(scene, behind, to_m, last))
    return parts


def _in_drive(scene: Scene, section: int, index: int) -> CablePlaces:
    """Lay out the cables in the bores of a drive, each below its own ground, or all in one tunnel."""
    line, a = scene.lines[index], scene.assumptions
    way = a.methods[scene.plan.drives[index].method]
    along_m = stations(line.plan_length_m, scene.step_m)
    n_bores = len(line.offsets_m)
    bores = [under_bore(scene, index, bore, along_m) for bore in range(n_bores)]
    tolerance_m = a.checks.pressure.bed_survey_tolerance_m
    depth, heats = [], []
    for bore in bores:
        # the bed itself, without what its survey may be off
        ground_m = bore.bed_m + np.where(bore.water == NO_WATER, 0.0, tolerance_m)
        crown_m = ground_m - bore.crown_m
        lowest_m = bore.water_depth_m + a.groundwater.lowest_fall_m
        # a drilled bore ends above the trench's depth: its pits are dug until the cables lie as deep
        lies_m = crown_m + line.radius_m
        depth.append(lies_m if line.drive.curve is None else np.maximum(lies_m, trench_axis_m(a)))
        heats.append(ground_round(scene, bore.soil, bore.soil_above, crown_m, lowest_m))
    bore_m = 2.0 * line.radius_m if way.has_annulus_grout else None
    depth_m, heat = np.stack(depth, axis=1), side_by_side(heats)
    offset_m, fill = np.broadcast_to(line.offsets_m, (len(along_m), n_bores)), None
    ring = pipe_ring(a, scene.plan.drives[index].method)
    if ring is not None:
        fill = RoundFill(depth_m, ring.outer_diameter_m, a.grout.resistivity_Km_per_W.expected)
        bore_m, depth_m = None, depth_m - ring.height_m
        offset_m = np.broadcast_to(ring.offset_m, depth_m.shape)
        heat = spread_over(heat, depth_m.shape)
    return CablePlaces(
        construction="drive",
        section=section,
        drive=index,
        shaft=-1,
        chainage_m=line.start_chainage_m + along_m,
        depth_m=depth_m,
        offset_m=offset_m,
        rho_K_m_per_W=heat.rho_K_m_per_W,
        ratio=heat.ratio,
        column_m=heat.column_m,
        column_rho_K_m_per_W=heat.column_rho_K_m_per_W,
        column_dry_K_m_per_W=heat.column_dry_K_m_per_W,
        soil=bores[0].soil,
        surround=surround(a, way.pipe_outer_diameter_m, bore_m),
        bedding=fill,
    )


def _on_ramp(scene: Scene, ramp: Ramp, shaft_m: float, run_m: float) -> CablePlaces:
    """Lay out the cables on a ramp, each in a bedding of its own, on its own way up and aside.

    The ground counts as level from the shaft on.
    """
    a = scene.assumptions
    along_m = stations(run_m, RAMP_STEP_M)
    if not ramp.is_upper:
        along_m = along_m[::-1]
    chainage_m = ramp.chainage_m(shaft_m, along_m)
    depth_m, across_m = ramp.line.depth_m(along_m), ramp.line.offset_m(along_m)
    radius_m = a.pipe.trench_outer_diameter_m / 2.0
    grounds = [ground_at(scene, chainage_m, depth, radius_m) for depth in depth_m.T]
    heat, zone_m = side_by_side([ground[0] for ground in grounds]), bedding_zone_m(a)
    return CablePlaces(
        construction="ramp",
        section=ramp.section,
        drive=ramp.drive,
        shaft=ramp.shaft,
        chainage_m=chainage_m,
        depth_m=depth_m,
        offset_m=across_m,
        rho_K_m_per_W=heat.rho_K_m_per_W,
        ratio=heat.ratio,
        column_m=heat.column_m,
        column_rho_K_m_per_W=heat.column_rho_K_m_per_W,
        column_dry_K_m_per_W=heat.column_dry_K_m_per_W,
        soil=grounds[0][1],
        surround=surround(a, a.pipe.trench_outer_diameter_m),
        bedding=Bedding(
            np.arange(depth_m.shape[1]), depth_m, zone_m, zone_m, a.trench.bedding_resistivity_Km_per_W
        ),
    )


def _in_trench(scene: Scene, section: int, from_m: float, to_m: float) -> CablePlaces:
    """Lay out the cables in open cut: both ends of each stretch of equal make-up."""
    a = scene.assumptions
    middle_m, width_m = cells_between(from_m, to_m, TRENCH_STEP_M)
    edges_m = from_m + np.concatenate([[0.0], np.cumsum(width_m)])
    axis_m = trench_axis_m(a)
    heat, soil = ground_at(
        scene, middle_m, np.full(len(middle_m), axis_m), a.pipe.trench_outer_diameter_m / 2.0
    )
    cut = cut_at(scene, middle_m)
    bedding_m, spacing_m = cut.bedding_width_m(bedding_zone_m(a)), cut.pipe_spacing_m
    columns = [getattr(heat, column.name) for column in fields(GroundHeat)]
    make_up = np.nan_to_num(np.column_stack([*columns, soil, bedding_m, spacing_m]), nan=-1.0)
    is_new = np.any(np.abs(np.diff(make_up, axis=0)) > 1e-9, axis=1)
    starts = np.concatenate([[0], np.flatnonzero(is_new) + 1])
    ends = np.concatenate([starts[1:], [len(middle_m)]])
    rows = np.repeat(starts, 2)
    chainage_m = np.column_stack([edges_m[starts], edges_m[ends]]).ravel()
    offsets_m = trench_offsets_m(a, spacing_m[rows])
    shape = offsets_m.shape
    around = spread_over(side_by_side([heat]), shape, rows)
    together, apart = trench_beddings(spacing_m[rows, np.newaxis], bedding_m[rows, np.newaxis], axis_m, a)
    return CablePlaces(
        construction="open_cut",
        section=section,
        drive=-1,
        shaft=-1,
        chainage_m=chainage_m,
        depth_m=np.full(shape, axis_m),
        offset_m=offsets_m,
        rho_K_m_per_W=around.rho_K_m_per_W,
        ratio=around.ratio,
        column_m=around.column_m,
        column_rho_K_m_per_W=around.column_rho_K_m_per_W,
        column_dry_K_m_per_W=around.column_dry_K_m_per_W,
        soil=soil[rows],
        surround=surround(a, a.pipe.trench_outer_diameter_m),
        bedding=together,
        own_bedding=apart,
    )


def cut_at(scene: Scene, chainage_m: Array) -> Section:
    """Return the section of one trench at chainages, as the bill measures it."""
    return trench_section(samples_at(scene, chainage_m), scene.assumptions)


def samples_at(scene: Scene, chainage_m: Array) -> GroundSamples:
    """Return what lies below the alignment at chainages, as far as a trench's section depends on it."""
    route, ground = scene.route, scene.ground
    xy_m = np.column_stack([np.interp(chainage_m, route.chainage_m, route.xy_m[:, i]) for i in (0, 1)])
    zones = ground.zones_at(xy_m)
    rock_depth_m, rock_soil = ground.rock(zones)
    unused = np.zeros(len(xy_m))
    return GroundSamples(
        ground_m=unused,
        cover_class=ground.cover_class(xy_m),
        soil_class=ground.soil_class(zones),
        rock_soil_class=rock_soil,
        groundwater_depth_m=ground.groundwater_depth_m(zones),
        rock_depth_m=rock_depth_m,
        access_distance_m=unused,
        near_building=np.zeros(len(xy_m), dtype=np.bool_),
    )


def ground_at(
    scene: Scene, chainage_m: Array, depth_m: Array, radius_m: float
) -> tuple[GroundHeat, NDArray[np.int64]]:
    """Return what the ground on the alignment does to heat at depths of the axes, and its soil."""
    route, ground = scene.route, scene.ground
    xy_m = np.column_stack([np.interp(chainage_m, route.chainage_m, route.xy_m[:, i]) for i in (0, 1)])
    zones = ground.zones_at(xy_m)
    rock_depth_m, rock_soil = ground.rock(zones)
    above = ground.soil_class(zones).astype(np.int64)
    soil = np.where(depth_m > rock_depth_m, rock_soil, above).astype(np.int64)
    lowest_m = ground.groundwater_depth_m(zones) + scene.assumptions.groundwater.lowest_fall_m
    return ground_round(scene, soil, above, depth_m - radius_m, lowest_m), soil


@dataclass(frozen=True, slots=True)
class GroundHeat:
    """What the ground round one cable does to heat, named as in `CablePlaces`; arrays of shape (n,)."""

    rho_K_m_per_W: Array
    ratio: Array
    column_m: Array
    column_rho_K_m_per_W: Array
    column_dry_K_m_per_W: Array


def side_by_side(heats: list[GroundHeat]) -> GroundHeat:
    """Return the ground of several cables, arrays of shape (n, k)."""
    names = [column.name for column in fields(GroundHeat)]
    return GroundHeat(*(np.stack([getattr(heat, name) for heat in heats], axis=1) for name in names))


def spread_over(
    heat: GroundHeat, shape: tuple[int, ...], rows: NDArray[np.int64] | None = None
) -> GroundHeat:
    """Return the ground of one cable, or of some of its rows, for all of them."""
    columns = [getattr(heat, column.name) for column in fields(GroundHeat)]
    taken = columns if rows is None else [values[rows] for values in columns]
    return GroundHeat(*(np.broadcast_to(values, shape) for values in taken))


def ground_round(
    scene: Scene,
    soil: NDArray[np.int64],
    above: NDArray[np.int64],
    crown_m: Array,
    lowest_m: Array,
) -> GroundHeat:
    """Return what the ground does to heat, by the worse of the soil there and above."""
    saturated, moist, dry = (
        np.maximum(soil_values(scene, soil, name), soil_values(scene, above, name))
        for name in (
            "resistivity_saturated_Km_per_W",
            "resistivity_moist_Km_per_W",
            "resistivity_dry_Km_per_W",
        )
    )
    found = ground_resistivity(
        crown_m, lowest_m, saturated_K_m_per_W=saturated, moist_K_m_per_W=moist, dry_K_m_per_W=dry
    )
    # below no ground nothing is known; ground of unknown level counts as able to dry out
    is_unknown = np.isnan(crown_m)
    rho = np.where(is_unknown, np.nan, found.rho_K_m_per_W)
    ratio = np.where(np.isnan(rho), np.nan, found.drying_ratio)
    return GroundHeat(rho, ratio, found.column_m, moist, dry)
