"""From the frame, the ground on it, what was burnt and the rates to the search's arrays.

Room: ``search``. May import ``corridor``, ``drives`` and ``money``. Every price here is a quantity
vector of ``money`` times the rates, so that the objective is the bill measured on the frame.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.ndimage import maximum_filter

from routescreen.assumptions.once import once_per_assumptions
from routescreen.corridor.burn_floors import NO_FLOOR_M
from routescreen.drives.forces import drive_forces
from routescreen.drives.methods import MethodGeometry, method_geometry
from routescreen.drives.shaft_fill import lowest_water_level
from routescreen.drives.tunnel_heat import is_too_warm
from routescreen.errors import InputError, Problem
from routescreen.money.measure import (
    bill_items,
    drive_months,
    drive_months_per_m,
    drive_per_borehole_m,
    drive_per_m,
    drive_per_pipe_piece,
    drive_set_up,
    layout_per_m,
    layout_working,
    n_waters,
    ramp_steps,
    rates_eur,
    rock_head_level,
    role_ramp_eur,
    shaft,
    shaft_site,
    work_out_ramps,
)
from routescreen.search.arrays import (
    DrilledArrays,
    DriveArrays,
    FineArrays,
    Floats,
    FrameArrays,
    GapArrays,
    GroundArrays,
    Integers,
    SearchArrays,
    ShaftArrays,
    SiteArrays,
)
from routescreen.search.fill_prices import fill_below, fill_levels, fill_table_eur
from routescreen.search.fine_ground import fine_arrays
from routescreen.search.forces import force_arrays, grout_arrays
from routescreen.search.ground_lines import GroundLines
from routescreen.search.layout import layout_arrays
from routescreen.search.parted import passed_fees_eur
from routescreen.search.touched_kernel import EDGE
from routescreen.search.trench_prices import crossing_fees, gaps_m, trench_arrays

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.burn import Burnt
    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import FrameGround, GroundSampler
    from routescreen.corridor.layout_ground import LayoutGround
    from routescreen.corridor.treatment import Crossings
    from routescreen.project import GroundSamples


@dataclass(frozen=True, slots=True)
class FrameProblem:
    """All that the search and the bill on the frame need of one corridor."""

    frame: Frame
    ground: FrameGround
    burnt: Burnt
    crossings: Crossings
    sampler: GroundSampler
    assumptions: Assumptions
    methods: tuple[MethodGeometry, ...]
    land: LayoutGround
    arrays: SearchArrays


def build_problem(
    frame: Frame,
    ground: FrameGround,
    burnt: Burnt,
    crossings: Crossings,
    sampler: GroundSampler,
    assumptions: Assumptions,
    land: LayoutGround,
    *,
    shaft_prices_eur: tuple[Floats, Floats, Floats] | None = None,
) -> FrameProblem:
    """Price the frame and put everything into the search's arrays.

    `land` is that of the whole corridor, also where the frame is only of a part of it: strips lie far
    behind their shafts. `shaft_prices_eur`: `table_eur`, `ramp_eur` and `fill_eur` of another frame of the
    same assumptions.

    Raises
    ------
    InputError
        When the rates break what the search relies on (a deeper or shared shaft that is cheaper).
    """
    methods = tuple(method_geometry(assumptions, name) for name in burnt.method_names)
    lines = GroundLines(sampler, assumptions)
    at_nodes = lines.at_nodes(frame)
    fine = fine_arrays(frame, sampler, lines, at_nodes, len(assumptions.cover))
    arrays = SearchArrays(
        frame=_frame_arrays(frame, assumptions),
        trench=trench_arrays(frame, burnt, crossings, lines, at_nodes, assumptions),
        ground=_ground_arrays(ground.node, burnt.water_level_m, _reach_cells(frame, methods)),
        fine=fine,
        drive=_drive_arrays(frame, ground.node, fine, burnt, crossings, methods, assumptions),
        drilled=_drilled_arrays(burnt, methods, assumptions),
        force=force_arrays(burnt.method_names, assumptions)._replace(grout=grout_arrays(burnt, assumptions)),
        layout=layout_arrays(burnt.method_names, land, frame.node_xy_m, frame.is_valid, assumptions),
        shaft=_shaft_arrays(
            ground.node,
            burnt,
            methods,
            assumptions,
            shaft_prices_eur,
            np.concatenate(sampler.trench_soils(math.inf)),
        ),
        pin_shaft=np.asarray(burnt.pin_shaft, np.int64),
        pin_via=np.asarray(burnt.pin_via, np.int64),
        start_row=frame.start[1],
        end_row=frame.end[1],
        longest_columns=_longest_columns(frame, methods, _aside_rows(frame, assumptions)),
        max_tan=float(np.tan(np.radians(assumptions.search.max_drive_angle_deg))),
    )
    check_shaft_prices(arrays.shaft)
    return FrameProblem(frame, ground, burnt, crossings, sampler, assumptions, methods, land, arrays)


def _frame_arrays(frame: Frame, assumptions: Assumptions) -> FrameArrays:
    aside = _aside_rows(frame, assumptions)
    return FrameArrays(
        np.ascontiguousarray(frame.node_xy_m, np.float64),
        np.ascontiguousarray(frame.tangent, np.float64),
        np.ascontiguousarray(frame.boundary_xy_m, np.float64),
        np.ascontiguousarray(frame.boundary_tangent, np.float64),
        float(frame.offset0_m),
        float(frame.cell_m),
        float(frame.column_spacing_m),
        float(_widths_m(frame, aside).min()),
        _widths_m(frame, aside),
        aside,
    )


def _reach_cells(frame: Frame, methods: tuple[MethodGeometry, ...]) -> int:
    """Return how many cells beside its centre line the widest drive reaches into."""
    widest = max((method.half_width_m for method in methods), default=0.0)
    least_m = min(frame.cell_m, float(gaps_m(frame, is_inside_only=True).min()))
    return int(np.ceil(widest / least_m))


def _aside_rows(frame: Frame, assumptions: Assumptions) -> float:
    """Return how far a drive may leave the outer rows: half a cell, or a fixed line's tolerance."""
    if frame.node_xy_m.shape[1] > 1:
        return 0.5 + EDGE
    return assumptions.frame.fixed_alignment_tolerance_m / frame.cell_m


def _ground_arrays(node: GroundSamples, open_water_m: Floats, reach: int) -> GroundArrays:
    """Take the ground at the nodes; the water that a bore's head counts from is the highest in reach.

    That is groundwater or, where it stands higher, the surface of open water in the cell.
    """
    level_m = np.fmax(node.ground_m - node.groundwater_depth_m, open_water_m)
    level_m = np.where(np.isnan(level_m), -np.inf, level_m)  # outside the corridor
    water = maximum_filter(level_m, size=2 * reach + 1, mode="nearest")
    return GroundArrays(
        np.ascontiguousarray(node.ground_m, np.float64),
        np.ascontiguousarray(water),
        np.ascontiguousarray(node.soil_class, np.int64),
        np.ascontiguousarray(node.rock_soil_class, np.int64),
    )


def _widths_m(frame: Frame, aside_rows: float) -> Floats:
    """Return the least distance of each column's two boundaries as far aside as a line may run [m]."""
    right = np.stack([frame.boundary_tangent[:, 1], -frame.boundary_tangent[:, 0]], axis=1)
    beside = max(1.0, aside_rows)
    outer = frame.offset0_m + frame.cell_m * np.array([-beside, frame.node_xy_m.shape[1] - 1.0 + beside])
    ends = frame.boundary_xy_m[:, None] + outer[None, :, None] * right[:, None]
    lines = np.asarray(shapely.linestrings(ends), dtype=object)
    return np.asarray(shapely.distance(lines[:-1], lines[1:]))


def _longest_columns(frame: Frame, methods: tuple[MethodGeometry, ...], aside_rows: float) -> int:
    """Return how many columns the longest drive can span where columns lie closest."""
    longest = max((method.longest_m for method in methods), default=0.0)
    narrowest, last = float(_widths_m(frame, aside_rows).min()), len(frame.node_xy_m) - 1
    if narrowest * last <= longest:  # 0 where boundaries meet beside the corridor, inside a bend
        return last
    return int(min(np.floor(longest / narrowest) + 1, last))


def _drive_arrays(
    frame: Frame,
    node: GroundSamples,
    fine: FineArrays,
    burnt: Burnt,
    crossings: Crossings,
    methods: tuple[MethodGeometry, ...],
    assumptions: Assumptions,
) -> DriveArrays:
    cover, n_covers = node.cover_class, len(assumptions.cover)
    kind_cover = np.arange(len(fine.soil)) % n_covers
    names = [method.name for method in methods]
    tables = np.array([_drive_table(name, assumptions) for name in names])
    covers = np.arange(len(assumptions.cover), dtype=np.int16)
    rates = rates_eur(assumptions)
    layout = np.array([layout_per_m(name, covers, assumptions) @ rates for name in names])
    working = np.array([layout_working(name, covers, assumptions) @ rates for name in names])
    fees = crossing_fees(crossings, assumptions, is_trench=False) @ rates
    pump_eur_per_month = float(rates[bill_items(assumptions).index["SH24"]])
    inside_order = np.argsort(burnt.inside_node, kind="stable")
    counts = np.bincount(burnt.inside_node, minlength=cover.size)
    return DriveArrays(
        ceiling_m=np.ascontiguousarray(burnt.ceiling_m),
        service_ceiling_m=np.ascontiguousarray(burnt.service_ceiling_m),
        floor_m=np.ascontiguousarray(burnt.floor_m),
        gap=GapArrays(
            np.ascontiguousarray(burnt.dry_floor_m),
            np.ascontiguousarray(burnt.wet_ceiling_m),
            np.any(burnt.dry_floor_m > NO_FLOOR_M, axis=(1, 2)),
        ),
        soil_eur_per_m=np.ascontiguousarray(tables[:, fine.soil, kind_cover]),
        rock_eur_per_m=np.ascontiguousarray(tables[:, fine.rock_soil, kind_cover]),
        segment_xy_m=np.ascontiguousarray(burnt.segment_xy_m),
        segment_tangent=np.ascontiguousarray(burnt.segment_tangent),
        segment_sin_min_angle=np.ascontiguousarray(burnt.segment_sin_min_angle),
        segment_is_outline=np.ascontiguousarray(burnt.segment_is_outline),
        segment_crossing=np.ascontiguousarray(burnt.segment_crossing, np.int64),
        cell_segment_start=np.ascontiguousarray(burnt.cell_segment_start, np.int64),
        cell_segment=np.ascontiguousarray(burnt.cell_segment, np.int64),
        drive_fee_eur=np.ascontiguousarray(fees),
        is_closed=np.zeros((len(methods), len(fees)), np.bool_),
        passed_eur=np.tile(
            passed_fees_eur(_frame_arrays(frame, assumptions), frame.start[1], crossings.outline, fees),
            (len(methods), 1, 1),
        ),
        inside_start=np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        inside_crossing=np.ascontiguousarray(burnt.inside_crossing[inside_order], np.int64),
        longest_m=np.where(
            _soils_met(fine, len(assumptions.soil)),
            np.array([_longest_by_soil(name, assumptions) for name in names]),
            0.0,
        ),
        least_length_m=np.array([method.least_length_m for method in methods]),
        slope_min_frac=np.array([method.grade_min_frac for method in methods]),
        slope_max_frac=np.array([method.grade_max_frac for method in methods]),
        arc_per_m=np.array([method.arc_per_m for method in methods]),
        outer_bore_m=np.array([0.5 * (m.n_bores - 1) * m.spacing_m for m in methods]),
        n_bores=np.array([m.n_bores for m in methods], np.int64),
        bore_m=np.array([method.bore_diameter_m for method in methods]),
        deviation_frac=np.array([method.deviation_frac for method in methods]),
        head_limit_m=np.array([method.head_limit_m for method in methods]),
        fixed_eur=np.array([drive_set_up(name, assumptions) @ rates for name in names]),
        piece_eur=np.array([drive_per_pipe_piece(name, assumptions) @ rates for name in names]),
        piece_m=assumptions.pipe.piece_length_m,
        borehole_eur_per_m=float(drive_per_borehole_m(assumptions) @ rates),
        borehole_spacing_m=assumptions.shaft.borehole_spacing_m,
        borehole_below_m=assumptions.shaft.borehole_below_shaft_m,
        pump_eur=pump_eur_per_month * np.array([drive_months(name, assumptions) for name in names]),
        pump_eur_per_m=pump_eur_per_month
        * np.array([drive_months_per_m(name, assumptions) for name in names]),
        layout_eur_per_m=np.ascontiguousarray(layout[:, cover]),
        layout_eur=np.ascontiguousarray(working[:, cover]),
        banned=np.zeros(0, np.int64),
    )


def _drilled_arrays(
    burnt: Burnt, methods: tuple[MethodGeometry, ...], assumptions: Assumptions
) -> DrilledArrays:
    is_drilled = np.array([method.is_drilled for method in methods], np.bool_)
    forces = [drive_forces(assumptions, method.name) for method in methods]
    checks = assumptions.checks.pull_in
    return DrilledArrays(
        is_drilled=is_drilled,
        entry_rad=np.array([method.entry_rad for method in methods]),
        exit_rad=np.array([method.exit_rad for method in methods]),
        radius_m=np.array([method.bend_radius_m for method in methods]),
        cover_m=np.array([method.cover_m for method in methods]),
        surface=np.maximum(np.cumsum(is_drilled) - 1, 0),
        surface_m=np.ascontiguousarray(burnt.drilled_surface_m, np.float64),
        pipe_kN_per_m=np.array([force.pipe_kN_per_m for force in forces]),
        uplift_kN_per_m=np.array([force.uplift_kN_per_m for force in forces]),
        roller_friction=np.full(len(methods), checks.roller_friction),
        bore_friction=np.full(len(methods), checks.grout_friction),
    )


def _soils_met(fine: FineArrays, n_soils: int) -> NDArray[np.bool_]:
    """Return which soils a drive may meet: one that lies nowhere lets no method reach further."""
    is_met = np.zeros(n_soils, np.bool_)
    is_met[fine.soil[np.unique(fine.kind)]] = True
    is_met[fine.rock_soil[np.unique(fine.kind[np.isfinite(fine.rock_level_m)])]] = True
    return is_met


def _drive_table(name: str, assumptions: Assumptions) -> Floats:
    """Return the price of one metre of drive by soil and cover class, shape (n_soils, n_covers)."""
    n_soils, n_covers = len(assumptions.soil), len(assumptions.cover)
    soil, cover = (index.ravel() for index in np.indices((n_soils, n_covers)))
    table = drive_per_m(name, soil.astype(np.int16), cover.astype(np.int16), assumptions)
    return np.asarray(table @ rates_eur(assumptions)).reshape(n_soils, n_covers)


def _longest_by_soil(name: str, assumptions: Assumptions) -> list[float]:
    """Return the longest drive of a method in each soil [m], 0 where it can't be driven.

    Nor where all cables in one bore couldn't carry the link's current, however it lies.
    """
    method = assumptions.methods[name]
    longest = []
    for soil in assumptions.soil_names:
        drivability = method.drivability.get(soil)
        is_driven = drivability is not None and drivability.grade != "no"
        is_driven = is_driven and not is_too_warm(assumptions, name, soil)
        longest.append(min(drivability.longest_m, method.longest_m) if is_driven and drivability else 0.0)
    return longest


def _shaft_arrays(
    node: GroundSamples,
    burnt: Burnt,
    methods: tuple[MethodGeometry, ...],
    assumptions: Assumptions,
    prices_eur: tuple[Floats, Floats, Floats] | None,
    soils: NDArray[np.int16],
) -> ShaftArrays:
    step = assumptions.shaft.depth_step_m
    n_roles = 1 + 2 * len(methods)
    least, most = np.zeros(n_roles, np.int64), np.zeros(n_roles, np.int64)
    for index, method in enumerate(methods):
        least[1 + 2 * index : 3 + 2 * index] = int(np.ceil(method.least_depth_m / step - 1e-9))
        most[1 + 2 * index : 3 + 2 * index] = int(np.floor(method.most_depth_m / step + 1e-9))
    if prices_eur is not None:
        table, ramps, fills = prices_eur
    else:
        is_pit = np.concatenate([[False], np.repeat([method.is_drilled for method in methods], 2)])
        # a copy: compiled code takes arrays that may be written on
        table = _shaft_table(assumptions, tuple(most.tolist()), tuple(is_pit.tolist())).copy()
        ramps = _ramp_table(table.shape, soils, assumptions)
        fills = fill_table_eur(n_roles, table.shape[4], assumptions)
    middle = np.maximum((least + most) // 2, 1)
    roles = np.arange(1, n_roles)
    weight = np.ones((n_roles, len(assumptions.soil)))
    ends = [table[:, 0, 0, roles, np.minimum(middle[roles] + d, most[roles])] for d in (-1, 1)]
    weight[1:] = np.maximum((ends[1] - ends[0]).T / (2.0 * step), 1.0)
    rock_head = rock_head_level(node.rock_depth_m, assumptions)
    highest_m = node.groundwater_depth_m - assumptions.groundwater.highest_rise_m
    allowed = np.ascontiguousarray(np.moveaxis(burnt.shaft_ok, (0, 1, 2), (2, 3, 4)))
    return ShaftArrays(
        is_allowed=allowed,
        table_eur=table,
        ramp_eur=ramps,
        ramp_steps=ramp_steps(assumptions),
        fill_eur=fills,
        fill_level=fill_levels(n_roles, soils, assumptions),
        fill_below=fill_below(n_roles, assumptions),
        site=_site_arrays(node, n_roles, assumptions),
        reached_level=first_wet_level(highest_m, step),
        wet_level=first_wet_level(node.groundwater_depth_m, step),
        lowest_level=lowest_water_level(node.groundwater_depth_m, assumptions),
        rock_level=np.minimum(rock_head, table.shape[4]).astype(np.int64),
        least_level=least,
        most_level=most,
        weight_eur_per_m=weight,
        sump_m=assumptions.shaft.sump_m,
        step_m=step,
    )


@once_per_assumptions
def _shaft_table(assumptions: Assumptions, most_of: tuple[int, ...], is_pit_of: tuple[bool, ...]) -> Floats:
    """Return shaft prices by soil, water, incoming and outgoing role, level; inf beyond limits.

    Given are the last level of each role and whether it is a pit of a drilled bore. A method's depth limits
    what its own drive asks for, which the drive's line keeps; where a drive of another method goes deeper,
    the shaft that both share is that one's. All frames of the same assumptions share the answer.
    """
    most, is_pit, step_m = np.array(most_of), np.array(is_pit_of), assumptions.shaft.depth_step_m
    shape = (3, len(most), len(most), max(most_of) + 1)
    rates = rates_eur(assumptions)
    water, r, k, level = (index.ravel() for index in np.indices(shape))
    eur = np.stack(  # soil by soil: the table of quantities is large
        [
            shaft(r, k, soil, water == 2, level * step_m, assumptions, is_reached=water >= 1) @ rates
            for soil in range(len(assumptions.soil))
        ]
    )
    limit = np.where(r == 0, most[k], np.where(k == 0, most[r], np.maximum(most[r], most[k])))
    # a drilled bore shares no pit: neither with another drive nor with a bore that goes on
    is_shared_pit = (r > 0) & (k > 0) & (is_pit[r] | is_pit[k])
    eur = np.where((level > limit) | ((r == 0) & (k == 0)) | is_shared_pit, np.inf, eur)
    return np.ascontiguousarray(eur.reshape(-1, *shape))


def _ramp_table(shape: tuple[int, ...], soils: NDArray[np.int16], a: Assumptions) -> Floats:
    """Return the price of a role's ramps by soil, first wet level, role, level.

    Of the soils that occur alone: each takes a while to work out.
    """
    n_soils, _, n_roles, _, n_levels = shape
    table = np.zeros((n_soils, n_waters(n_levels, a), n_roles, n_levels))
    for role in range(1, n_roles, 2):  # launch and reception alike
        work_out_ramps(role, np.unique(soils).tolist(), n_levels, a)
        for soil in np.unique(soils):
            table[soil, :, role : role + 2] = role_ramp_eur(role, int(soil), n_levels, a)[:, np.newaxis]
    return table


def first_wet_level(water_depth_m: Floats, step_m: float) -> Integers:
    """Return the least depth level whose bottom lies below a water table at a depth [m]."""
    return np.asarray(np.floor(water_depth_m / step_m + 1e-9), np.int64) + 1


def _site_arrays(node: GroundSamples, n_roles: int, assumptions: Assumptions) -> SiteArrays:
    """Return what the place of a shaft adds, by ground cover, roles and metres of access road.

    On one ground cover it grows evenly with the metres: measured without any and with the longest of the
    frame.
    """
    shape = (len(assumptions.cover), n_roles, n_roles)
    cover, r, k = (index.ravel() for index in np.indices(shape))
    rates = rates_eur(assumptions)
    longest_m = max(float(node.access_distance_m.max()), 1.0)
    near, far = (
        (shaft_site(r, k, road_m, cover, assumptions) @ rates).reshape(shape) for road_m in (0.0, longest_m)
    )
    return SiteArrays(
        kind=np.ascontiguousarray(node.cover_class, np.int32),
        road_frac=np.ascontiguousarray(node.access_distance_m / longest_m),
        near_eur=np.ascontiguousarray(near),
        far_eur=np.ascontiguousarray(far),
    )


def check_shaft_prices(shaft_arrays: ShaftArrays) -> None:
    """Check what the search's dominance rules rely on: deeper, wetter or shared is never cheaper."""
    table, sites = shaft_arrays.table_eur, (shaft_arrays.site.near_eur, shaft_arrays.site.far_eur)
    lower, upper = table[..., :-1], table[..., 1:]
    finite = np.isfinite(upper) & np.isfinite(lower)
    alone = table[:, :, 0]
    shared_ok = [
        np.all((table[:, :, r] >= alone - 1e-9) | ~np.isfinite(table[:, :, r]) | ~np.isfinite(alone))
        and all(np.all(site[:, r, 1:] >= site[:, 0, 1:] - 1e-9) for site in sites)
        for r in range(1, table.shape[2])
    ]
    # what water adds must not fall with depth: below a rock head steps of another soil follow
    wetter, drier = table[:, 1:], table[:, :-1]
    is_known = np.isfinite(wetter) & np.isfinite(drier)
    more = np.where(is_known, wetter, 0.0) - np.where(is_known, drier, 0.0)
    falls = is_known[..., 1:] & is_known[..., :-1] & (more[..., 1:] < more[..., :-1] - 1e-6)
    wet_ok = np.all(more[is_known] >= -1e-9) and not falls.any()
    ramps_ok = np.all(np.diff(shaft_arrays.ramp_eur, axis=-1) >= -1e-9)
    fills = np.where(np.isfinite(table[:, 0]), shaft_arrays.fill_eur, np.inf)  # no pit is shared
    shared_fills_ok = np.all(fills[:, :, 1:] >= shaft_arrays.fill_eur[:, :1, 1:] - 1e-9)
    fills_ok = np.all(np.diff(shaft_arrays.fill_eur, axis=-1) >= -1e-9) and shared_fills_ok
    others_ok = ramps_ok and fills_ok and all(shared_ok)
    if np.all(upper[finite] >= lower[finite] - 1e-9) and wet_ok and others_ok:
        return
    raise InputError(
        [
            Problem(
                problem="With these rates a deeper, wet or shared shaft would be cheaper than a simple one.",
                remedy="Give shaft rates (SH.., MO11, MO21, CO..) that do not fall with depth, water or use.",
                layer="assumptions",
                column="rates",
            )
        ]
    )
