"""All that lies on the frame, made ready for the search in one pass.

Room: ``corridor``. Arrays and tables in, arrays out; imports the rest of the room and
``drives.methods``. No feature may be missed, however narrow and at whatever angle: everything here is
found by exact intersection of geometries, never by looking at points.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.burn_bands import band_rules
from routescreen.corridor.burn_ceilings import CeilingRules, drive_ceilings
from routescreen.corridor.burn_compounds import barred_land, compound_needs, compound_room
from routescreen.corridor.burn_floors import drive_floors, water_over_beds_m
from routescreen.corridor.burn_ground import DeepPlaces, OpenWater, open_water, undriven_soil
from routescreen.corridor.burn_moves import MoveRules, Moves, judge_moves
from routescreen.corridor.burn_segments import (
    Segments,
    barring_segments,
    crossing_segments,
    segments_on_cells,
)
from routescreen.corridor.burn_settlement import settling_covers
from routescreen.corridor.burn_shafts import shaft_places
from routescreen.corridor.burn_waters import water_surfaces_m
from routescreen.corridor.burn_window import today_beds, window_ceilings
from routescreen.corridor.dips import barred_areas
from routescreen.corridor.frame import INSIDE_TOLERANCE_M, usable_area
from routescreen.corridor.obstacles import Obstacles, edge_pieces
from routescreen.corridor.pins import RouteLimits, pinned_rows, shaft_free_pins
from routescreen.corridor.stencil import MOVES, N_MOVES
from routescreen.drives.methods import enabled_methods, method_geometry
from routescreen.drives.open_cut import widest_band_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import FrameGround, GroundSampler
    from routescreen.corridor.treatment import Crossings
    from routescreen.drives.methods import MethodGeometry
    from routescreen.project import CorridorInput

_BOX_INSET_M = 1e-3  # ground cover touched at its very edge is not entered
_COLUMNS_AT_A_TIME = 2048  # bounds the memory of what is looked up of all nodes


@dataclass(frozen=True, slots=True)
class Burnt:
    """What the search needs to know of the frame; nm methods, nx columns, ny rows.

    Attributes
    ----------
    method_names : tuple of str, length nm
        Enabled methods in their order.
    move_ok : ndarray of bool, shape (nx, ny, 17)
        Whether a trench may go from the node by the move.
    move_narrow : ndarray of bool, shape (nx, ny, 17)
        Whether it may do so with the narrow strip only.
    pair_move : ndarray of int64, shape (p,)
        Flat index (i * ny + j) * 17 + m of moves whose straight line meets a crossing's outline, in
        order; forbidden moves between nodes of the corridor included.
    pair_crossing : ndarray of int32, shape (p,)
    pair_start_inside, pair_end_inside : ndarray of bool, shape (p,)
        Whether the ends of the move lie inside that outline (its edge counts as inside).
    inside_node : ndarray of int64, shape (q,)
        Flat index i * ny + j of nodes inside an outline, in order.
    inside_crossing : ndarray of int32, shape (q,)
    ceiling_m : ndarray of shape (nm, nx, ny)
        Highest level of the crown of a drive centred anywhere in the cell; -1e9: no drive; of drilled bores
        by what they cross alone [m].
    service_ceiling_m : ndarray of shape (nm, nx, ny)
        The same from buried services, before the deviation of the bore; +1e9: none [m].
    drilled_surface_m : ndarray of shape (nd, nx, ny)
        Of each drilled method the lowest terrain under a drive centred anywhere in the cell [m].
    bed_m, bed_water_m : ndarray of float32, shape (nx, ny)
        Lowest ground or bed of today over the bores of a drive centred in the cell, and the depth of the
        water below it; negative where open water stands on it, NaN where neither is known [m].
    floor_m : ndarray of float32, shape (nm, nx, ny)
        Lowest level of the crown at which the cable bears its current; -1e9: any, 1e9: none does [m].
    dry_floor_m, wet_ceiling_m : ndarray of float32, shape (nm, nx, ny)
        Ends of the levels in between at which it doesn't, since the ground may dry out; -1e9, 1e9: none [m].
    water_level_m : ndarray of shape (nx, ny)
        Highest surface of open water that touches the cell, -inf where none does [m].
    segment_xy_m : ndarray of shape (ns, 4)
        x1, y1, x2, y2 of outline segments, of centre-line and bank segments and of the corridor's edge,
        which no drive may cross [m].
    segment_crossing : ndarray of int32, shape (ns,)
    segment_tangent : ndarray of shape (ns, 2)
        Local direction, smoothed.
    segment_sin_min_angle : ndarray of shape (ns,)
        0 for segments that only tell that the crossing is met, 2 for the corridor's edge.
    segment_is_outline : ndarray of bool, shape (ns,)
    cell_segment_start : ndarray of int64, shape (nx * ny + 1,)
    cell_segment : ndarray of int32
        ``cell_segment[cell_segment_start[c]:cell_segment_start[c + 1]]`` are all the segments that touch
        cell c = i * ny + j or come within the largest half-width of any method of it.
    shaft_ok : ndarray of bool, shape (nm, 2, 5, nx, ny)
        Whether a shaft may stand at the node and its compound has land, by method, role (0 launch, 1
        reception) and heading bin of its drive, the heading measured from the axis at the node.
    shaft_room : ndarray of bool, shape (nm, 2, 5, nx, ny)
        Whether the shaft's own plan might stand there, land for its compound or not.
    pin_shaft, pin_via : ndarray of int64, shape (nx,)
        Row of a pinned shaft or place to pass in that column, else -1.
    """

    method_names: tuple[str, ...]
    move_ok: NDArray[np.bool_]
    move_narrow: NDArray[np.bool_]
    pair_move: NDArray[np.int64]
    pair_crossing: NDArray[np.int32]
    pair_start_inside: NDArray[np.bool_]
    pair_end_inside: NDArray[np.bool_]
    inside_node: NDArray[np.int64]
    inside_crossing: NDArray[np.int32]
    ceiling_m: NDArray[np.float64]
    service_ceiling_m: NDArray[np.float64]
    drilled_surface_m: NDArray[np.float64]
    bed_m: NDArray[np.float32]
    bed_water_m: NDArray[np.float32]
    floor_m: NDArray[np.float32]
    dry_floor_m: NDArray[np.float32]
    wet_ceiling_m: NDArray[np.float32]
    water_level_m: NDArray[np.float64]
    segment_xy_m: NDArray[np.float64]
    segment_crossing: NDArray[np.int32]
    segment_tangent: NDArray[np.float64]
    segment_sin_min_angle: NDArray[np.float64]
    segment_is_outline: NDArray[np.bool_]
    cell_segment_start: NDArray[np.int64]
    cell_segment: NDArray[np.int32]
    shaft_ok: NDArray[np.bool_]
    shaft_room: NDArray[np.bool_]
    pin_shaft: NDArray[np.int64]
    pin_via: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class BurnInput:
    """All that is burnt onto a frame, in one hand.

    `may_have_shaft`, `may_have_trench` (nx, ny): at which nodes shafts, and open cut, are looked for at all;
    None: everywhere.
    """

    frame: Frame
    corridor: CorridorInput
    crossings: Crossings
    sampler: GroundSampler
    ground: FrameGround
    assumptions: Assumptions
    may_have_shaft: NDArray[np.bool_] | None = None
    may_have_trench: NDArray[np.bool_] | None = None


def burn(what: BurnInput) -> Burnt:
    """Bring crossings, permissions, levels and pins onto the frame.

    Parameters
    ----------
    what : BurnInput

    Returns
    -------
    Burnt

    Raises
    ------
    InputError
        If a pin can't be served.
    """
    frame, assumptions = what.frame, what.assumptions
    methods = _methods(assumptions)
    segments = crossing_segments(what.crossings, window_m=assumptions.frame.tangent_window_m)
    moves = judge_moves(_only(frame, what.may_have_trench), trench_rules(what, segments))
    inside_node, inside_crossing = _nodes_inside(frame, what.crossings)
    start_inside, end_inside = _ends_inside(frame, moves, inside_node, inside_crossing, len(what.crossings))
    open_water_area = _open_water(what)
    water_m = _water_over_beds_m(what, inside_node, inside_crossing)
    ceiling_m, service_ceiling_m, drilled_surface_m = _ceilings(what, open_water_area, water_m)
    bed_m, bed_water_m = today_beds(what.ground.node, water_m, methods, assumptions, cell_m=frame.cell_m)
    floors = drive_floors(what.ground.node, water_m, methods, assumptions, cell_m=frame.cell_m)
    segments = Segments.joined([segments, barring_segments(_limits(what))])
    segments, cell_start, cell_segment = segments_on_cells(frame, segments, reach_m=_reach_m(what, methods))
    shaft_ok, shaft_room = places_of_shafts(what)
    pin_shaft, pin_via = pinned_rows(
        frame,
        what.corridor.pins,
        RouteLimits(
            max_drive_tan=math.tan(_max_heading_rad(assumptions)),
            least_trench_m=assumptions.trench.min_trench_m,
            least_drive_m=min((method.least_length_m for method in methods), default=math.inf),
        ),
        has_shaft_place=np.asarray(shaft_ok.any(axis=(0, 1, 2))),
        has_trench=_has_trench(moves.move_ok),
    )
    return Burnt(
        method_names=tuple(method.name for method in methods),
        move_ok=moves.move_ok,
        move_narrow=moves.move_narrow,
        pair_move=moves.pair_move,
        pair_crossing=moves.pair_crossing,
        pair_start_inside=start_inside,
        pair_end_inside=end_inside,
        inside_node=inside_node,
        inside_crossing=inside_crossing,
        ceiling_m=ceiling_m,
        service_ceiling_m=service_ceiling_m,
        drilled_surface_m=drilled_surface_m,
        bed_m=bed_m,
        bed_water_m=bed_water_m,
        floor_m=floors.floor_m,
        dry_floor_m=floors.dry_floor_m,
        wet_ceiling_m=floors.wet_ceiling_m,
        water_level_m=_water_levels_m(what, open_water_area, methods),
        segment_xy_m=segments.xy_m,
        segment_crossing=segments.crossing,
        segment_tangent=segments.tangent,
        segment_sin_min_angle=segments.sin_min_angle,
        segment_is_outline=segments.is_outline,
        cell_segment_start=cell_start,
        cell_segment=cell_segment,
        shaft_ok=shaft_ok,
        shaft_room=shaft_room,
        pin_shaft=pin_shaft,
        pin_via=pin_via,
    )


def _only(frame: Frame, is_asked: NDArray[np.bool_] | None) -> Frame:
    """Return the frame with none but some of its nodes valid."""
    return frame if is_asked is None else replace(frame, is_valid=frame.is_valid & is_asked)


def ceilings_without(what: BurnInput) -> NDArray[np.float64]:
    """Return `ceiling_m` of ``Burnt`` anew, for crossings that differ from those that were burnt."""
    water_m = _water_over_beds_m(what, *_nodes_inside(what.frame, what.crossings))
    return _ceilings(what, _open_water(what), water_m)[0]


def _ceilings(
    what: BurnInput, unmapped: OpenWater, water_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return the ceilings of drives: of all, from services, and the terrain over drilled bores [m]."""
    frame, assumptions = what.frame, what.assumptions
    methods = _methods(assumptions)
    ceiling_m, service_m, surface_m = drive_ceilings(
        frame,
        what.sampler,
        what.crossings.features,
        CeilingRules(
            methods=methods,
            deep_places=_deep_places(what, methods, unmapped),
            max_heading_rad=_max_heading_rad(assumptions),
            base_search_m=assumptions.frame.base_search_m,
            is_terrain_bed=what.corridor.terrain_is_bed,
            settling=settling_covers(what.crossings, what.ground.node.soil_class, methods, assumptions),
        ),
    )
    window_m = window_ceilings(what.ground.node, water_m, methods, assumptions, cell_m=frame.cell_m)
    return np.minimum(ceiling_m, window_m), service_m, surface_m


def _methods(assumptions: Assumptions) -> list[MethodGeometry]:
    return [method_geometry(assumptions, name) for name in enabled_methods(assumptions)]


def _max_heading_rad(assumptions: Assumptions) -> float:
    return math.radians(assumptions.search.max_drive_angle_deg)


def places_of_shafts(what: BurnInput) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return `shaft_ok` and `shaft_room` of ``Burnt``: with land for the compounds, and the plans alone."""
    frame, assumptions = _only(what.frame, what.may_have_shaft), what.assumptions
    methods, max_heading_rad = _methods(assumptions), _max_heading_rad(assumptions)
    room = shaft_places(frame, methods, _shaft_obstacles(what), max_heading_rad=max_heading_rad)
    if not assumptions.search.compounds_need_land:
        return room, room
    has_land = compound_room(
        frame,
        compound_needs(methods, assumptions),
        barred_land(what.crossings, what.sampler, assumptions, what.corridor.pins),
        room,
        max_heading_rad=max_heading_rad,
    )
    return has_land, room


def _reach_m(what: BurnInput, methods: list[MethodGeometry]) -> float:
    """Return how far from a cell a bore of a drive may lie whose centre line counts to the cell [m]."""
    aside_m = 0.0
    if what.corridor.fixed_line is not None:  # with its tolerance a drive may leave the only row of cells
        tolerance_m = what.assumptions.frame.fixed_alignment_tolerance_m
        aside_m = max(0.0, tolerance_m - what.frame.cell_m / 2.0)
    return aside_m + max((method.half_width_m for method in methods), default=0.0)


def _open_water(what: BurnInput) -> OpenWater:
    """Return the water that only the ground cover knows."""
    corridor, assumptions = what.corridor, what.assumptions
    tolerance_m = assumptions.frame.fixed_alignment_tolerance_m
    line, outline = corridor.fixed_line, corridor.outline
    within: Any = outline if line is None else shapely.buffer(line, tolerance_m)  # one of them is given
    return open_water(
        what.sampler,
        what.crossings.features,
        assumptions,
        within=within,
        is_terrain_bed=corridor.terrain_is_bed,
    )


def _deep_places(what: BurnInput, methods: list[MethodGeometry], water: OpenWater) -> list[DeepPlaces]:
    """Return what the ground asks of each method: open water, soils that it can't pass."""
    return [
        DeepPlaces.joined(
            water.places(method.cover_m), undriven_soil(what.sampler, what.assumptions, method.name)
        )
        for method in methods
    ]


def _water_levels_m(
    what: BurnInput, unmapped: OpenWater, methods: list[MethodGeometry]
) -> NDArray[np.float64]:
    """Return the level of open water over each cell: crossings that have a bed, and the ground cover's."""
    features = what.crossings.features
    is_bed = features.cover_reference == "bed"
    depth_m = np.nan_to_num(features.water_depth_m[is_bed])
    over_m = np.concatenate([depth_m, np.full(len(unmapped.area), unmapped.water_depth_m)])
    return water_surfaces_m(
        what.frame,
        what.sampler,
        np.concatenate([features.outline[is_bed], unmapped.area]),
        over_m if what.corridor.terrain_is_bed else np.zeros(len(over_m)),
        max((method.bore_diameter_m / 2.0 for method in methods), default=0.0),
    )


def trench_rules(what: BurnInput, segments: Segments, *, margin_m: float = 0.0) -> MoveRules:
    """Collect what pieces of open cut must keep to.

    Parameters
    ----------
    what : BurnInput
    segments : Segments
        Lines and edges of all crossings.
    margin_m : float
        How much wider strips and band count on each side [m].

    Returns
    -------
    MoveRules
    """
    assumptions, features = what.assumptions, what.crossings.features
    is_barred = features.trench == "no"
    bars_trench = np.array([not cover.trench_allowed for cover in assumptions.cover.values()], dtype=np.bool_)
    outline = what.crossings.outline
    angle_segments = segments.taken(segments.sin_min_angle > 0.0)
    boxes = _cover_boxes(what, bars_trench)
    undipped = _untouched(barred_areas(what.crossings, what.sampler, assumptions))
    clearance_m = _band_clearance_m(what.crossings)[angle_segments.crossing]
    return MoveRules(
        strip_m=assumptions.working_strip_m + 2.0 * margin_m,
        narrow_strip_m=assumptions.narrow_strip_m + 2.0 * margin_m,
        strip_obstacles=Obstacles.of(features.outline[is_barred], features.shaft_clearance_m[is_barred]),
        line_obstacles=Obstacles.joined([_untouched(_limits(what)), boxes, undipped]),
        outlines=Obstacles.of(outline, np.zeros(len(outline))),
        angle_segments=angle_segments,
        band=band_rules(
            trench_band_m(what.sampler, assumptions) + 2.0 * margin_m,
            Obstacles.joined([_untouched(_edge(what)), boxes]),
            angle_segments,
            clearance_m,
        ),
        may_be_narrow=what.ground.node.near_building,
        has_no_trench=bars_trench[what.ground.node.cover_class] & what.frame.is_valid,
    )


def trench_band_m(sampler: GroundSampler, assumptions: Assumptions) -> float:
    """Return the width of the band of all trenches, in that soil of the corridor that asks for most [m]."""
    return widest_band_m(*sampler.trench_soils(assumptions.trench_depth_m), assumptions)


def _band_clearance_m(crossings: Crossings) -> NDArray[np.float64]:
    """Return how near trenches may run along each crossing: services have a clearance, others none [m]."""
    features = crossings.features
    is_service = features.cover_reference == "service"
    clearance_m = np.zeros(len(crossings))
    np.maximum.at(clearance_m, features.crossing[is_service], features.shaft_clearance_m[is_service])
    return clearance_m


def _shaft_obstacles(what: BurnInput) -> Obstacles:
    """Collect what the plan of a shaft must keep clear of; consent counts as no."""
    features = what.crossings.features
    is_barred = features.shaft_allowed != "yes"
    bars_shaft = np.array([cover.shaft_allowed != "yes" for cover in what.assumptions.cover.values()])
    return Obstacles.joined(
        [
            Obstacles.of(features.outline[is_barred], features.shaft_clearance_m[is_barred]),
            _untouched(_edge(what)),
            _cover_boxes(what, bars_shaft),
            shaft_free_pins(what.corridor.pins),
        ]
    )


def _edge(what: BurnInput) -> NDArray[np.object_]:
    """Return the edge of the corridor in straight pieces; nothing for a fixed alignment."""
    outline = what.corridor.outline
    return np.zeros(0, dtype=object) if outline is None else edge_pieces(usable_area(outline))


def _limits(what: BurnInput) -> NDArray[np.object_]:
    """Return what the route itself stays within: the corridor's edge, or how far a fixed line may be left."""
    line = what.corridor.fixed_line
    if line is None:
        return _edge(what)
    tolerance_m = max(what.assumptions.frame.fixed_alignment_tolerance_m, INSIDE_TOLERANCE_M)
    return edge_pieces(shapely.buffer(line, tolerance_m))


def _untouched(pieces: NDArray[np.object_]) -> Obstacles:
    """Return lines as obstacles that works may come up to but not touch."""
    return Obstacles.of(pieces, np.zeros(len(pieces)))


def _cover_boxes(what: BurnInput, is_in_class: NDArray[np.bool_]) -> Obstacles:
    """Return the pixels of some cover classes as boxes, drawn in by a millimetre."""
    boxes = what.sampler.cover_boxes(is_in_class)
    west, south, east, north = shapely.bounds(boxes).T if len(boxes) else np.zeros((4, 0))
    inset = shapely.box(west + _BOX_INSET_M, south + _BOX_INSET_M, east - _BOX_INSET_M, north - _BOX_INSET_M)
    return Obstacles.of(np.atleast_1d(inset), np.zeros(len(boxes)))


def _nodes_inside(frame: Frame, crossings: Crossings) -> tuple[NDArray[np.int64], NDArray[np.int32]]:
    """Return the pairs of (node, crossing) where the node lies in the outline, in order."""
    shapely.prepare(crossings.outline)
    nodes, met = [np.zeros(0, np.int64)], [np.zeros(0, np.int32)]
    for first in range(0, frame.shape[0], _COLUMNS_AT_A_TIME):
        column, row = np.nonzero(frame.is_valid[first : first + _COLUMNS_AT_A_TIME])
        column += first
        flat = column * frame.shape[1] + row
        tree = shapely.STRtree(shapes.points(frame.node_xy_m[column, row]))
        crossing, node = tree.query(crossings.outline, predicate="intersects")
        order = np.lexsort((crossing, flat[node]))
        nodes.append(flat[node][order].astype(np.int64))
        met.append(crossing[order].astype(np.int32))
    return np.concatenate(nodes), np.concatenate(met)


def _water_over_beds_m(
    what: BurnInput, inside_node: NDArray[np.int64], inside_crossing: NDArray[np.int32]
) -> NDArray[np.float64]:
    """Return how deep water stands over each node's bed where the terrain holds the water's level [m]."""
    if what.corridor.terrain_is_bed:
        return np.zeros(what.frame.shape)
    return water_over_beds_m(what.crossings.features, inside_node, inside_crossing, what.frame.shape)


def _ends_inside(
    frame: Frame,
    moves: Moves,
    inside_node: NDArray[np.int64],
    inside_crossing: NDArray[np.int32],
    n_crossings: int,
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return for each pair of move and crossing whether the move's ends lie in the outline."""
    n_rows = frame.shape[1]
    start, move = np.divmod(moves.pair_move, N_MOVES)
    end = start + MOVES[move, 0] * n_rows + MOVES[move, 1]
    keys = inside_node * max(n_crossings, 1) + inside_crossing
    found = [np.isin(node * max(n_crossings, 1) + moves.pair_crossing, keys) for node in (start, end)]
    return found[0], found[1]


def _has_trench(move_ok: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the nodes that some allowed move leaves or reaches."""
    n_columns, n_rows, _ = move_ok.shape
    flat = np.flatnonzero(move_ok)
    start, move = np.divmod(flat, N_MOVES)
    is_used = np.zeros(n_columns * n_rows, dtype=np.bool_)
    is_used[start] = True
    is_used[start + MOVES[move, 0] * n_rows + MOVES[move, 1]] = True
    return is_used.reshape(n_columns, n_rows)
