"""The bill of a plan measured on the frame: what the search's objective must equal to the cent.

Room: ``search``. Measures the plan's own moves, drives and shafts with ``money``'s functions; it
reads none of the search's price tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString

from routescreen.corridor import shapes
from routescreen.corridor.stencil import MOVES
from routescreen.money.measure import (
    ShaftGround,
    crossing_trench_per_m,
    drive_fixed,
    drive_per_m,
    drive_pumping,
    rates_eur,
    shaft_in_ground,
    shaft_site,
    trench_per_m,
)
from routescreen.search.ground_runs import drive_runs, runs_along
from routescreen.search.solve import DriveStep, FramePlan, ShaftStep, TrenchStep, layout_of_step
from routescreen.search.trench_prices import crossing_fees

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.drives.dip import Dip
    from routescreen.search.arrays import Floats, Integers
    from routescreen.search.problem import FrameProblem


@dataclass(frozen=True, slots=True)
class FrameBill:
    """Quantities by item: one row a step of the plan, one row a shaft.

    `steps` (n_steps, n_items), `shafts` (n_shafts, n_items), in the items' units.
    """

    steps: Floats
    shafts: Floats
    total_eur: float


def measure_on_frame(problem: FrameProblem, plan: FramePlan) -> FrameBill:
    """Measure a plan on the frame.

    Returns
    -------
    FrameBill
        Its `total_eur` is unrounded.
    """
    trench_items = crossing_fees(problem.crossings, problem.assumptions, is_trench=True)
    drive_items = crossing_fees(problem.crossings, problem.assumptions, is_trench=False)
    is_trench = np.array([isinstance(step, TrenchStep) for step in plan.steps], np.bool_)
    trenches = [step for step in plan.steps if isinstance(step, TrenchStep)]
    drives = [step for step in plan.steps if isinstance(step, DriveStep)]
    n_items = trench_items.shape[1]
    step_array = np.zeros((len(plan.steps), n_items))
    step_array[is_trench] = _trench_quantities(problem, trenches, trench_items)
    for at, step in zip(np.flatnonzero(~is_trench), drives, strict=True):
        step_array[at] = _drive_quantities(problem, step, drive_items)
    shafts = [_shaft_quantities(problem, step) for step in plan.shafts]
    shaft_array = np.array(shafts).reshape(len(shafts), n_items)
    total = float((step_array.sum(axis=0) + shaft_array.sum(axis=0)) @ rates_eur(problem.assumptions))
    return FrameBill(step_array, shaft_array, total)


def _trench_quantities(problem: FrameProblem, steps: list[TrenchStep], crossing_items: Floats) -> Floats:
    """Measure moves along their lines, what the metres inside crossings add, the crossings they enter."""
    quantities = np.zeros((len(steps), crossing_items.shape[1]))
    if not steps:
        return quantities
    moves = _moves_of(problem, steps)
    along = runs_along(problem.sampler, moves.xy_m)
    per_m = trench_per_m(along.samples, moves.is_narrow[along.owner], problem.assumptions)
    np.add.at(quantities, along.owner, along.length_m[:, None] * per_m)
    keys = problem.crossings.inside_keys()
    for kind, dip in dict.fromkeys(keys[crossing] for crossing in moves.crossing):
        part_xy, move = _parts_inside(problem, moves, (kind, dip))
        inside = runs_along(problem.sampler, part_xy)
        owner = move[inside.owner]
        per_m = crossing_trench_per_m(kind, inside.samples, moves.is_narrow[owner], problem.assumptions, dip)
        np.add.at(quantities, owner, inside.length_m[:, None] * per_m)
    entered, crossing = _crossings_entered(problem, steps, moves)
    np.add.at(quantities, entered, crossing_items[crossing])
    return quantities


@dataclass(frozen=True, slots=True)
class _Moves:
    """The plan's moves in open cut, and their pairs with crossings whose outline they meet.

    `xy_m` (n, 4) their lines; `is_narrow` (n,); of each pair, arrays of shape (m,), `pair` its row among
    the burnt pairs, `move` the row of the move, and `crossing`.
    """

    xy_m: Floats
    is_narrow: NDArray[np.bool_]
    pair: Integers
    move: Integers
    crossing: Integers


def _moves_of(problem: FrameProblem, steps: list[TrenchStep]) -> _Moves:
    """Collect the lines of moves and what they meet; a plan makes each move at most once."""
    burnt, nodes = problem.burnt, problem.frame.node_xy_m
    column, row = np.array([step.start for step in steps], np.int64).T
    kind = np.array([step.move for step in steps], np.int64)
    dc, dr = MOVES[kind].T
    key = (column * problem.frame.shape[1] + row) * len(MOVES) + kind
    # looked up from the few moves of a plan, not from the pairs of the whole corridor
    order = np.argsort(key)
    first, last = (np.searchsorted(burnt.pair_move, key[order], side) for side in ("left", "right"))
    count = last - first
    pair = np.repeat(first - np.concatenate([[0], np.cumsum(count)[:-1]]), count) + np.arange(count.sum())
    return _Moves(
        np.concatenate([nodes[column, row], nodes[column + dc, row + dr]], axis=1),
        burnt.move_narrow[column, row, kind].astype(np.bool_),
        pair,
        np.repeat(order, count),
        burnt.pair_crossing[pair].astype(np.int64),
    )


def _parts_inside(
    problem: FrameProblem, moves: _Moves, key: tuple[str, Dip | None]
) -> tuple[Floats, Integers]:
    """Return the straight parts of moves inside crossings of a kind, and the move that each belongs to."""
    keys = problem.crossings.inside_keys()
    of_kind = np.array([keys[crossing] == key for crossing in moves.crossing])
    move, crossing = moves.move[of_kind], moves.crossing[of_kind]
    lines = shapes.lines(moves.xy_m[move].reshape(-1, 2, 2))
    inside = shapely.intersection(lines, problem.crossings.outline[crossing])
    parts, pair = shapely.get_parts(inside, return_index=True)
    is_line = shapely.length(parts) > 0.0  # the rest only touches
    ends = [shapely.get_coordinates(shapely.get_point(parts[is_line], k)) for k in (0, -1)]
    return np.concatenate(ends, axis=1), move[pair[is_line]]


def _crossings_entered(
    problem: FrameProblem, steps: list[TrenchStep], moves: _Moves
) -> tuple[Integers, Integers]:
    """Return the crossings whose open-cut items moves pay: move and crossing, once for each payment."""
    burnt, gap_m = problem.burnt, problem.assumptions.frame.merge_gap_m
    entered: list[tuple[int, int]] = []
    for pair, move, crossing in zip(moves.pair, moves.move, moves.crossing, strict=True):
        line = LineString(moves.xy_m[move].reshape(2, 2))
        n_runs = _n_runs(line, problem.crossings.outline[crossing], gap_m)
        entered += [(move, crossing)] * (n_runs - int(burnt.pair_start_inside[pair]))
    for move, step in enumerate(steps):
        if step.pays_inside:
            node = step.start[0] * problem.frame.shape[1] + step.start[1]
            first, last = (np.searchsorted(burnt.inside_node, node, side) for side in ("left", "right"))
            entered += [(move, int(c)) for c in burnt.inside_crossing[first:last]]
    found = np.array(entered, np.int64).reshape(-1, 2)
    return found[:, 0], found[:, 1]


def _n_runs(line: LineString, outline: shapely.Geometry, gap_m: float) -> int:
    """Count the runs of a straight line inside an outline by the gaps between them; at least one."""
    outside = shapely.get_parts(shapely.difference(line, outline))
    ends = {line.coords[0], line.coords[-1]}
    gaps = [gap for gap in outside if not gap.is_empty]
    between = [gap for gap in gaps if not ends & {gap.coords[0], gap.coords[-1]}]
    return 1 + int(np.sum([gap.length > gap_m for gap in between]))


def _drive_quantities(problem: FrameProblem, step: DriveStep, crossing_items: Floats) -> Floats:
    """Measure one drive: metres by soil and ground cover, what it costs whole, what it meets."""
    node, name = problem.ground.node, problem.methods[step.method].name
    samples, along_m, length_m = drive_runs(problem.frame, problem.sampler, step.lower, step.upper)
    half_bore_m = problem.methods[step.method].bore_diameter_m / 2.0
    axis_m = step.crowns_m(along_m) - half_bore_m
    is_rock = axis_m < samples.ground_m - samples.rock_depth_m
    soil = np.where(is_rock, samples.rock_soil_class, samples.soil_class)
    stretch = step.true_length_m / step.length_m
    quantities = (stretch * length_m) @ drive_per_m(name, soil, samples.cover_class, problem.assumptions)
    wet = problem.arrays.shaft.wet_level
    n_wet = int(step.line.lower_level >= wet[step.lower]) + int(step.line.upper_level >= wet[step.upper])
    quantities += drive_pumping(name, soil, stretch * length_m, n_wet, problem.assumptions)
    depth_step = problem.assumptions.shaft.depth_step_m
    lower_m, upper_m = step.line.lower_level * depth_step, step.line.upper_level * depth_step
    if step.halves is not None or step.arc_per_m > 0.0:  # the ground is looked at down to the lowest part
        below_m = 2.0 * half_bore_m - step.lowest_crown_m
        deep_m = [float(node.ground_m[at]) + below_m for at in (step.lower, step.upper)]
        if step.halves is None:
            deep_m = [max(pair) for pair in zip(deep_m, (lower_m, upper_m), strict=True)]
        lower_m, upper_m = deep_m
    launch_m, reception_m = (lower_m, upper_m) if step.is_launched_at_lower else (upper_m, lower_m)
    reception = step.upper if step.is_launched_at_lower else step.lower
    fixed = drive_fixed(
        name,
        np.array([step.true_length_m]),
        np.array([launch_m]),
        np.array([reception_m]),
        np.array([node.cover_class[reception]]),
        problem.assumptions,
        n_pieces=layout_of_step(problem.arrays, step).n_pieces,
    )
    return np.asarray(quantities + fixed[0] + crossing_items[step.crossings].sum(axis=0))


def _shaft_quantities(problem: FrameProblem, step: ShaftStep) -> Floats:
    """Measure one shaft by its roles, depth and place."""
    node, depth_step = problem.ground.node, problem.assumptions.shaft.depth_step_m
    roles = (np.array([step.incoming_role]), np.array([step.outgoing_role]))
    depth_m = step.level * depth_step
    # the same rule as the level at which the search's shaft becomes wet: bottom below the water
    water_m = node.groundwater_depth_m[step.node] - np.array(
        [0.0, problem.assumptions.groundwater.highest_rise_m]
    )
    is_wet, is_reached = step.level >= np.floor(water_m / depth_step + 1e-9) + 1
    ground = ShaftGround(
        np.array([node.soil_class[step.node]]),
        np.array([node.rock_soil_class[step.node]]),
        np.array([node.rock_depth_m[step.node]]),
        np.array([node.groundwater_depth_m[step.node]]),
    )
    whole = shaft_in_ground(
        *roles,
        ground,
        np.array([is_wet]),
        np.array([depth_m]),
        problem.assumptions,
        is_reached=np.array([is_reached]),
    )
    site = shaft_site(
        *roles,
        np.array([node.access_distance_m[step.node]]),
        np.array([node.cover_class[step.node]]),
        problem.assumptions,
    )
    return np.asarray(whole[0] + site[0])
