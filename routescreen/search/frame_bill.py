"""The bill of a plan measured on the frame: what the search's objective must equal to the cent.

Room: ``search``. Measures the plan's own moves, drives and shafts with ``money``'s functions; it
reads none of the search's price tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.corridor.stencil import MOVE_CELLS, MOVES
from routescreen.money.measure import (
    ShaftGround,
    drive_fixed,
    drive_per_m,
    rates_eur,
    shaft_in_ground,
    shaft_site,
    trench_per_m,
)
from routescreen.search.problem import (
    FrameProblem,
    InsideQuantities,
    crossing_fees,
    flat_samples,
    inside_quantities,
)
from routescreen.search.solve import DriveStep, FramePlan, ShaftStep, TrenchStep

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats


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
    inside = inside_quantities(
        problem.frame, problem.ground, problem.burnt, problem.crossings, problem.assumptions
    )
    steps = [
        _drive_quantities(problem, step, drive_items)
        if isinstance(step, DriveStep)
        else _trench_quantities(problem, step, trench_items, inside)
        for step in plan.steps
    ]
    shafts = [_shaft_quantities(problem, step) for step in plan.shafts]
    n_items = trench_items.shape[1]
    step_array = np.array(steps).reshape(len(steps), n_items)
    shaft_array = np.array(shafts).reshape(len(shafts), n_items)
    total = float((step_array.sum(axis=0) + shaft_array.sum(axis=0)) @ rates_eur(problem.assumptions))
    return FrameBill(step_array, shaft_array, total)


def _trench_quantities(
    problem: FrameProblem, step: TrenchStep, crossing_items: Floats, inside: InsideQuantities
) -> Floats:
    """Measure one move: its length by the cells it touches, and the crossings that it enters."""
    (column, row), burnt = step.start, problem.burnt
    dc, dr = MOVES[step.move]
    nodes = problem.frame.node_xy_m
    length = float(np.linalg.norm(nodes[column + dc, row + dr] - nodes[column, row]))
    cells = np.array([(column + c, row + r) for c, r, share in MOVE_CELLS[step.move] if share > 0.0])
    shares = np.array([share for _, _, share in MOVE_CELLS[step.move] if share > 0.0])
    samples = flat_samples(problem.ground.node, (cells[:, 0], cells[:, 1]))
    is_narrow = np.full(len(cells), bool(burnt.move_narrow[column, row, step.move]))
    quantities = (length * shares) @ trench_per_m(samples, is_narrow, problem.assumptions)
    move = (column * nodes.shape[1] + row) * len(MOVES) + step.move
    quantities = quantities + inside.quantities[inside.move == move].sum(axis=0)
    for crossing in _crossings_entered(problem, step):
        quantities = quantities + crossing_items[crossing]
    return np.asarray(quantities)


def _crossings_entered(problem: FrameProblem, step: TrenchStep) -> list[int]:
    """Return the crossings whose open-cut items a move pays."""
    burnt = problem.burnt
    column, row = step.start
    node = column * problem.frame.node_xy_m.shape[1] + row
    move = node * len(MOVES) + step.move
    at = np.flatnonzero(burnt.pair_move == move)
    entered = [int(burnt.pair_crossing[k]) for k in at if not burnt.pair_start_inside[k]]
    if step.pays_inside:
        entered += [int(c) for c in burnt.inside_crossing[burnt.inside_node == node]]
    return entered


def _drive_quantities(problem: FrameProblem, step: DriveStep, crossing_items: Floats) -> Floats:
    """Measure one drive: metres by soil and ground cover, what it costs whole, what it meets."""
    node, name = problem.ground.node, problem.methods[step.method].name
    at = (step.cells[:, 0], step.cells[:, 1])
    soil = np.where(step.is_rock, node.rock_soil_class[at], node.soil_class[at])
    stretch = float(np.sqrt(1.0 + step.line.slope_frac**2))
    per_m = drive_per_m(name, soil, node.cover_class[at], problem.assumptions)
    quantities = (stretch * step.cell_m) @ per_m
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
