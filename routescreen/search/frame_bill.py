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

from routescreen.corridor.stencil import MOVES
from routescreen.money.measure import (
    ShaftGround,
    crossing_trench_per_m,
    drive_fixed,
    drive_per_m,
    rates_eur,
    shaft_in_ground,
    shaft_site,
    trench_per_m,
)
from routescreen.search.ground_runs import drive_runs, runs_along
from routescreen.search.solve import DriveStep, FramePlan, ShaftStep, TrenchStep
from routescreen.search.trench_prices import crossing_fees

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.search.arrays import Floats
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
    steps = [
        _drive_quantities(problem, step, drive_items)
        if isinstance(step, DriveStep)
        else _trench_quantities(problem, step, trench_items)
        for step in plan.steps
    ]
    shafts = [_shaft_quantities(problem, step) for step in plan.shafts]
    n_items = trench_items.shape[1]
    step_array = np.array(steps).reshape(len(steps), n_items)
    shaft_array = np.array(shafts).reshape(len(shafts), n_items)
    total = float((step_array.sum(axis=0) + shaft_array.sum(axis=0)) @ rates_eur(problem.assumptions))
    return FrameBill(step_array, shaft_array, total)


def _trench_quantities(problem: FrameProblem, step: TrenchStep, crossing_items: Floats) -> Floats:
    """Measure one move along its line, what the metres inside crossings add, the crossings it enters."""
    (column, row), burnt, a = step.start, problem.burnt, problem.assumptions
    dc, dr = MOVES[step.move]
    nodes = problem.frame.node_xy_m
    line = LineString([nodes[column, row], nodes[column + dc, row + dr]])
    is_narrow = bool(burnt.move_narrow[column, row, step.move])
    samples, length_m = runs_along(problem.sampler, line)
    quantities = length_m @ trench_per_m(samples, np.full(len(length_m), is_narrow), a)
    for pair in _pairs_of(problem, step):
        crossing = burnt.pair_crossing[pair]
        for part in shapely.get_parts(shapely.intersection(line, problem.crossings.outline[crossing])):
            samples, length_m = runs_along(problem.sampler, part)
            narrow, kind = np.full(len(length_m), is_narrow), problem.crossings.kind[crossing]
            quantities = quantities + length_m @ crossing_trench_per_m(kind, samples, narrow, a)
    for crossing in _crossings_entered(problem, step, line):
        quantities = quantities + crossing_items[crossing]
    return np.asarray(quantities)


def _pairs_of(problem: FrameProblem, step: TrenchStep) -> NDArray[np.int64]:
    """Return the rows of the burnt pairs of a move and the crossings whose outline its line meets."""
    column, row = step.start
    move = (column * problem.frame.shape[1] + row) * len(MOVES) + step.move
    return np.flatnonzero(problem.burnt.pair_move == move)


def _crossings_entered(problem: FrameProblem, step: TrenchStep, line: LineString) -> list[int]:
    """Return the crossings whose open-cut items a move pays, one entry each time that it pays."""
    burnt = problem.burnt
    entered: list[int] = []
    for pair in _pairs_of(problem, step):
        crossing = int(burnt.pair_crossing[pair])
        n_runs = _n_runs(line, problem.crossings.outline[crossing], problem.assumptions.frame.merge_gap_m)
        entered += [crossing] * (n_runs - int(burnt.pair_start_inside[pair]))
    if step.pays_inside:
        column, row = step.start
        node = column * problem.frame.shape[1] + row
        entered += [int(c) for c in burnt.inside_crossing[burnt.inside_node == node]]
    return entered


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
    stretch = float(np.sqrt(1.0 + step.line.slope_frac**2))
    samples, along_m, length_m = drive_runs(problem.frame, problem.sampler, step.lower, step.upper)
    half_bore_m = problem.methods[step.method].bore_diameter_m / 2.0
    axis_m = step.line.crown_m + step.line.slope_frac * along_m - half_bore_m
    is_rock = axis_m < samples.ground_m - samples.rock_depth_m
    soil = np.where(is_rock, samples.rock_soil_class, samples.soil_class)
    quantities = (stretch * length_m) @ drive_per_m(name, soil, samples.cover_class, problem.assumptions)
    depth_step = problem.assumptions.shaft.depth_step_m
    lower_m, upper_m = step.line.lower_level * depth_step, step.line.upper_level * depth_step
    launch_m, reception_m = (lower_m, upper_m) if step.is_launched_at_lower else (upper_m, lower_m)
    reception = step.upper if step.is_launched_at_lower else step.lower
    fixed = drive_fixed(
        name,
        np.array([step.length_m * stretch]),
        np.array([launch_m]),
        np.array([reception_m]),
        np.array([node.cover_class[reception]]),
        problem.assumptions,
    )
    return np.asarray(quantities + fixed[0] + crossing_items[step.crossings].sum(axis=0))


def _shaft_quantities(problem: FrameProblem, step: ShaftStep) -> Floats:
    """Measure one shaft by its roles, depth and place."""
    node, depth_step = problem.ground.node, problem.assumptions.shaft.depth_step_m
    roles = (np.array([step.incoming_role]), np.array([step.outgoing_role]))
    depth_m = step.level * depth_step
    # the same rule as the level at which the search's shaft becomes wet: bottom below the water
    is_wet = step.level >= np.floor(node.groundwater_depth_m[step.node] / depth_step + 1e-9) + 1
    ground = ShaftGround(
        np.array([node.soil_class[step.node]]),
        np.array([node.rock_soil_class[step.node]]),
        np.array([node.rock_depth_m[step.node]]),
    )
    whole = shaft_in_ground(*roles, ground, np.array([is_wet]), np.array([depth_m]), problem.assumptions)
    site = shaft_site(
        *roles,
        np.array([node.access_distance_m[step.node]]),
        np.array([node.cover_class[step.node]]),
        problem.assumptions,
    )
    return np.asarray(whole[0] + site[0])
