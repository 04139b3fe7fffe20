"""From a plan on the frame to the plan as geometry.

Room: ``search``. Pure arithmetic on the frame's nodes; the geometry is what audit and bill start from.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

import numpy as np

from routescreen.corridor.stencil import MOVES
from routescreen.drives.layout import method_layout, strip_line_m
from routescreen.plan import STRAIGHT_M, DrilledCurve, Drive, Plan, Shaft
from routescreen.search.solve import DriveStep, FramePlan, TrenchStep, layout_of_step

if TYPE_CHECKING:
    from routescreen.search.problem import FrameProblem


def plan_geometry(problem: FrameProblem, plan: FramePlan) -> Plan:
    """Lay the plan's steps out in plan and level.

    Successive moves on one straight line with one working strip become one piece; a drive is
    always one piece.

    Returns
    -------
    Plan
    """
    nodes = problem.frame.node_xy_m
    vertices, is_drive, is_narrow, drive_at = _pieces(problem, plan)
    shaft_of = {step.node: index for index, step in enumerate(plan.shafts)}
    drives = tuple(
        Drive(
            **_layout(problem, step),
            method=problem.methods[step.method].name,
            lower_shaft=shaft_of[step.lower],
            upper_shaft=shaft_of[step.upper],
            is_launched_at_lower=step.is_launched_at_lower,
            **_levels(step),
            arc_radius_m=problem.methods[step.method].arc_radius_m or None,
            from_vertex=at,
            to_vertex=at + 1,
        )
        for step, at in drive_at
    )
    depth_step = problem.assumptions.shaft.depth_step_m
    shafts = tuple(
        Shaft(
            xy_m=(float(nodes[step.node][0]), float(nodes[step.node][1])),
            ground_m=float(problem.ground.node.ground_m[step.node]),
            depth_m=step.level * depth_step,
            incoming=next((i for i, drive in enumerate(drives) if drive.upper_shaft == index), None),
            outgoing=next((i for i, drive in enumerate(drives) if drive.lower_shaft == index), None),
        )
        for index, step in enumerate(plan.shafts)
    )
    return Plan(
        corridor_id=problem.frame.corridor_id,
        alignment_xy_m=np.array(vertices),
        is_drive=np.array(is_drive, bool),
        is_narrow=np.array(is_narrow, bool),
        drives=drives,
        shafts=shafts,
        objective_eur=plan.objective_eur,
    )


class _Levels(TypedDict):
    lower_crown_m: float
    upper_crown_m: float
    curve: DrilledCurve | None


def _levels(step: DriveStep) -> _Levels:
    """Return how a drive runs in height."""
    line = step.line
    if step.halves is None:
        upper_m = line.crown_m + line.slope_frac * step.length_m
        return {"lower_crown_m": line.crown_m, "upper_crown_m": upper_m, "curve": None}
    lower, upper = step.halves
    angles = [float(np.arctan2(half.sin, half.cos)) for half in step.halves]
    return {
        "lower_crown_m": lower.start_m,
        "upper_crown_m": upper.start_m,
        "curve": DrilledCurve(line.crown_m, angles[0], angles[1], lower.radius_m),
    }


class _Layout(TypedDict):
    n_layout_pieces: int
    layout_xy_m: tuple[tuple[float, float], ...]


def _layout(problem: FrameProblem, step: DriveStep) -> _Layout:
    """Lay out the strings of a drive behind its reception."""
    rule = method_layout(problem.assumptions, problem.methods[step.method].name)
    if rule is None:
        return {"n_layout_pieces": 1, "layout_xy_m": ()}
    found = layout_of_step(problem.arrays, step)
    nodes = problem.frame.node_xy_m
    launch, reception = step.launch_and_reception
    heading = np.arctan2(*(nodes[reception] - nodes[launch])[::-1])
    length_m = rule.strip_length_m(step.true_length_m, found.n_pieces)
    line = strip_line_m(rule, nodes[reception], float(heading), length_m, found.bend_m, found.n_kinks)
    xy_m = tuple((float(x), float(y)) for x, y in line)
    return {"n_layout_pieces": found.n_pieces, "layout_xy_m": xy_m}


def _pieces(
    problem: FrameProblem, plan: FramePlan
) -> tuple[list[tuple[float, float]], list[bool], list[bool], list[tuple[DriveStep, int]]]:
    """Return vertices, what each piece is, and the piece of each drive."""
    nodes = problem.frame.node_xy_m
    first = plan.steps[0]
    start = first.lower if isinstance(first, DriveStep) else first.start
    vertices: list[tuple[float, float]] = [tuple(nodes[start])]
    is_drive: list[bool] = []
    is_narrow: list[bool] = []
    drive_at: list[tuple[DriveStep, int]] = []
    for step in plan.steps:
        if isinstance(step, DriveStep):
            end, narrow = step.upper, False
            drive_at.append((step, len(is_drive)))
        else:
            end, narrow = _end_of(step), bool(problem.burnt.move_narrow[(*step.start, step.move)])
        point = tuple(nodes[end])
        may_merge = (
            bool(is_drive) and not is_drive[-1] and isinstance(step, TrenchStep) and is_narrow[-1] == narrow
        )
        if may_merge and _is_straight(vertices[-2], vertices[-1], point):
            vertices[-1] = point
            continue
        vertices.append(point)
        is_drive.append(isinstance(step, DriveStep))
        is_narrow.append(narrow)
    return vertices, is_drive, is_narrow, drive_at


def _end_of(step: TrenchStep) -> tuple[int, int]:
    dc, dr = (int(value) for value in MOVES[step.move])
    return step.start[0] + dc, step.start[1] + dr


def _is_straight(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    """Return whether b lies on the line from a to c."""
    cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return abs(cross) <= STRAIGHT_M * max(1.0, float(np.hypot(c[0] - a[0], c[1] - a[1])))
