"""No plan: where every option stops, what stops it, and the smallest relaxation that opens it.

Room: ``search``. Each family of constraints is lifted alone. Where a family is a number, the least
change that opens a way is found by halving; where it is a place, every use of a forbidden place is
penalised, so that the plan found uses as few as can be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from shapely import Point, distance

from routescreen.errors import NoPlanError, Problem
from routescreen.search.arrays import BLOCKED_M, SearchArrays
from routescreen.search.problem import FrameProblem, build_problem
from routescreen.search.solve import DriveStep, FramePlan, optimum_eur, run_with_progress
from routescreen.search.trace import trace_plan

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from routescreen.search.label_kernel import PassResult

PENALTY_EUR = 1e9  # of each use of a forbidden place, above any plan's price
HALVINGS = 6
NEAR_M = 60.0  # features this near a forbidden shaft or trench are named with it
WIDEST_FACTOR = 2.5  # how far a number is stretched at most


@dataclass(frozen=True, slots=True)
class Relaxation:
    """One lifted constraint that opens a way: a sentence, and the price of the plan it allows."""

    text: str
    eur: float


def reach_of(arrays: SearchArrays, result: PassResult) -> tuple[int, int]:
    """Return the first and the last column that a pass reached."""
    nx, ny = arrays.ground.ground_m.shape
    is_trench = np.isfinite(result.trench_eur).any(axis=(0, 2))
    has_label = (result.label_count.reshape(nx, ny) > 0).any(axis=1)
    columns = np.flatnonzero(is_trench | has_label)
    return int(columns[0]), int(columns[-1])


def no_plan_error(problem: FrameProblem, forward: PassResult) -> NoPlanError:
    """Find out why there is no plan.

    Parameters
    ----------
    problem : FrameProblem
    forward : PassResult
        The pass that did not reach the end terminal.

    Returns
    -------
    NoPlanError
        Names the chainages, the constraints and the relaxations, cheapest first.
    """
    arrays = problem.arrays
    backward = run_with_progress(arrays, is_forward=False)
    spacing = problem.frame.column_spacing_m
    from_m = reach_of(arrays, forward)[1] * spacing
    to_m = max(reach_of(arrays, backward)[0] * spacing, from_m)
    families: tuple[Callable[[FrameProblem], Relaxation | None], ...] = (
        _longer_drives,
        _more_shaft_places,
        _trench_anywhere,
        _flatter_angles,
        _steeper_grades,
        _drives_anywhere,
        _shorter_trench,
    )
    found = sorted((r for family in families if (r := family(problem)) is not None), key=lambda r: r.eur)
    place = f"axis chainage {from_m:.0f} m to {to_m:.0f} m"
    head = f"No plan: every option stops at {place}."
    stops = _what_stops(problem, from_m, to_m)
    if found:
        remedy = "; or ".join(relaxation.text for relaxation in found)
    else:
        remedy = "no single constraint opens it; widen the corridor there or lift several together."
    problems = (
        Problem(
            problem=f"{head} {stops}",
            remedy=remedy,
            layer="corridor",
            feature=problem.frame.corridor_id,
            value=place,
        ),
    )
    return NoPlanError(f"{head} {stops}\nWhat would open it, cheapest first: {remedy}", problems)


def _what_stops(problem: FrameProblem, from_m: float, to_m: float) -> str:
    """Name the crossings without trench that lie between two axis chainages."""
    spacing = problem.frame.column_spacing_m
    columns = slice(int(from_m / spacing), math.ceil(to_m / spacing) + 1)
    nodes = problem.frame.node_xy_m[columns].reshape(-1, 2)
    points = [Point(xy) for xy in nodes]
    names = []
    for index, outline in enumerate(problem.crossings.outline):
        if problem.crossings.trench[index] == "no" and float(np.min(distance(points, outline))) < NEAR_M:
            names.append(crossing_title(problem, index))
    if not names:
        return "No crossing forbids the trench there: the ground, the corridor's edge or a pin does."
    return (
        "There lie, closed to trench: " + ", ".join(names[:8]) + ("." if len(names) <= 8 else ", and others.")
    )


def crossing_title(problem: FrameProblem, index: int) -> str:
    """Return what a crossing is called in a sentence: kind, name and feature id."""
    kind = problem.crossings.kind[index].replace("_", " ")
    name = problem.crossings.name[index]
    feature = ";".join(problem.crossings.feature_ids[index].split(";")[:2])
    return f"{kind} {name} ({feature})" if name else f"{kind} ({feature})"


def _solve(arrays: SearchArrays) -> FramePlan | None:
    result = run_with_progress(arrays)
    if not math.isfinite(optimum_eur(arrays, result)):
        return None
    return trace_plan(arrays, result)


def _least_factor(change: Callable[[float], SearchArrays]) -> tuple[float, FramePlan] | None:
    """Return the least factor above 1 that opens a way, within one part in 2 ** HALVINGS."""
    best = _solve(change(WIDEST_FACTOR))
    if best is None:
        return None
    low, high = 1.0, WIDEST_FACTOR
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        plan = _solve(change(middle))
        if plan is None:
            low = middle
        else:
            high, best = middle, plan
    return high, best


def _longer_drives(problem: FrameProblem) -> Relaxation | None:
    arrays = problem.arrays

    def change(factor: float) -> SearchArrays:
        drive = arrays.drive._replace(longest_m=arrays.drive.longest_m * factor)
        columns = min(int(arrays.longest_columns * factor) + 1, len(arrays.pin_shaft) - 1)
        return arrays._replace(drive=drive, longest_columns=columns)

    found = _least_factor(change)
    if found is None:
        return None
    factor, plan = found
    longest = max((s for s in plan.steps if isinstance(s, DriveStep)), key=lambda s: s.length_m)
    limit = arrays.drive.longest_m[longest.method]
    soils = {int(soil) for soil in arrays.ground.soil[longest.cells[:, 0], longest.cells[:, 1]]}
    allowed = min((float(limit[soil]) for soil in soils if limit[soil] > 0.0), default=0.0)
    name = problem.methods[longest.method].name
    needed = max(longest.length_m, allowed)
    text = f"a {name} drive of {needed:.0f} m instead of {allowed:.0f} m"
    return Relaxation(text, plan.objective_eur) if factor > 1.0 else None


def _more_shaft_places(problem: FrameProblem) -> Relaxation | None:
    arrays = problem.arrays
    is_closed = ~arrays.shaft.is_allowed.all(axis=(2, 3, 4)) & problem.frame.is_valid
    site = arrays.shaft.site_eur + np.where(is_closed, PENALTY_EUR, 0.0)[:, :, None, None]
    allowed = arrays.shaft.is_allowed | is_closed[:, :, None, None, None]
    shaft = arrays.shaft._replace(is_allowed=allowed, site_eur=np.ascontiguousarray(site))
    plan = _solve(arrays._replace(shaft=shaft))
    if plan is None:
        return None
    places = [step.node for step in plan.shafts if is_closed[step.node]]
    if not places:
        return None
    texts = [_place_text(problem, node) for node in places]
    text = "a shaft allowed at " + " and at ".join(texts)
    return Relaxation(text, plan.objective_eur - PENALTY_EUR * len(places))


def _place_text(problem: FrameProblem, node: tuple[int, int]) -> str:
    """Say where a node lies and which features are near it."""
    point = Point(problem.frame.node_xy_m[node])
    chainage = node[0] * problem.frame.column_spacing_m
    near = [
        crossing_title(problem, index)
        for index, outline in enumerate(problem.crossings.outline)
        if problem.crossings.shaft_allowed[index] != "yes" and outline.distance(point) < NEAR_M
    ]
    beside = f" (in or beside {', '.join(near[:3])})" if near else ""
    return f"axis chainage {chainage:.0f} m, offset {_offset_m(problem, node):.0f} m{beside}"


def _offset_m(problem: FrameProblem, node: tuple[int, int]) -> float:
    return float(problem.frame.offset0_m + node[1] * problem.frame.cell_m)


def _trench_anywhere(problem: FrameProblem) -> Relaxation | None:
    """Let trenches go wherever both ends lie in the corridor, at a penalty a move."""
    burnt = problem.burnt
    is_open = np.broadcast_to(problem.frame.is_valid[:, :, None], burnt.move_ok.shape)
    relaxed = build_problem(
        problem.frame,
        problem.ground,
        replace(burnt, move_ok=is_open.copy()),
        problem.crossings,
        problem.sampler,
        problem.assumptions,
    ).arrays
    fine = np.where(burnt.move_ok, 0.0, PENALTY_EUR)
    plan = _solve(relaxed._replace(trench=relaxed.trench._replace(move_eur=relaxed.trench.move_eur + fine)))
    if plan is None:
        return None
    bad = [s for s in plan.steps if not isinstance(s, DriveStep) and not burnt.move_ok[(*s.start, s.move)]]
    if not bad:  # it was closed by an audit, which this rebuilt problem does not know of
        return None
    titles = dict.fromkeys(text for step in bad for text in _closed_near(problem, step.start))
    chainages = sorted(step.start[0] * problem.frame.column_spacing_m for step in bad)
    what = ", ".join(list(titles)[:4]) or "the ground there"
    text = f"open cut allowed at axis chainage {chainages[0]:.0f} m to {chainages[-1]:.0f} m ({what})"
    return Relaxation(text, plan.objective_eur - PENALTY_EUR * len(bad))


def _closed_near(problem: FrameProblem, node: tuple[int, int]) -> list[str]:
    point = Point(problem.frame.node_xy_m[node])
    return [
        crossing_title(problem, index)
        for index, outline in enumerate(problem.crossings.outline)
        if problem.crossings.trench[index] == "no" and outline.distance(point) < NEAR_M
    ]


def _flatter_angles(problem: FrameProblem) -> Relaxation | None:
    arrays = problem.arrays
    sine = arrays.drive.segment_sin_min_angle
    free = arrays.drive._replace(segment_sin_min_angle=np.where(sine > 1.0, sine, 0.0))  # the edge stays
    plan = _solve(arrays._replace(drive=free))
    if plan is None:
        return None
    crossed = {int(c) for step in plan.steps if isinstance(step, DriveStep) for c in step.crossings}
    names = ", ".join(crossing_title(problem, c) for c in sorted(crossed)[:4])
    return Relaxation(f"a smaller crossing angle allowed at one of {names}", plan.objective_eur)


def _steeper_grades(problem: FrameProblem) -> Relaxation | None:
    arrays = problem.arrays

    def change(factor: float) -> SearchArrays:
        drive = arrays.drive._replace(
            slope_min_frac=arrays.drive.slope_min_frac * factor,
            slope_max_frac=arrays.drive.slope_max_frac * factor,
        )
        return arrays._replace(drive=drive)

    found = _least_factor(change)
    if found is None:
        return None
    steepest = max(
        (s for s in found[1].steps if isinstance(s, DriveStep)), key=lambda s: abs(s.line.slope_frac)
    )
    name = problem.methods[steepest.method].name
    limit = 100.0 * problem.methods[steepest.method].grade_max_frac
    slope = 100.0 * abs(steepest.line.slope_frac)
    return Relaxation(
        f"a {name} drive with a grade of {slope:.1f} % instead of {limit:.1f} %", found[1].objective_eur
    )


def _drives_anywhere(problem: FrameProblem) -> Relaxation | None:
    """Let drives pass what they must avoid, at the cover of the ground beside it."""
    arrays = problem.arrays
    is_blocked = (arrays.drive.ceiling_m < BLOCKED_M) & problem.frame.is_valid
    lowest = problem.ground.lowest_ground_m
    covers = np.array([method.cover_m for method in problem.methods])
    opened = np.where(is_blocked, lowest[None] - covers[:, None, None], arrays.drive.ceiling_m)
    plan = _solve(_with_penalty(arrays._replace(drive=arrays.drive._replace(ceiling_m=opened)), is_blocked))
    if plan is None:
        return None
    cells = [
        tuple(cell)
        for step in plan.steps
        if isinstance(step, DriveStep)
        for cell in step.cells
        if is_blocked[(step.method, *cell)]
    ]
    if not cells:
        return None
    columns = sorted(cell[0] * problem.frame.column_spacing_m for cell in cells)
    text = (
        f"a drive allowed under what it must avoid at axis chainage {columns[0]:.0f} m to {columns[-1]:.0f} m"
    )
    return Relaxation(text, plan.objective_eur)


def _with_penalty(arrays: SearchArrays, is_blocked: NDArray[np.bool_]) -> SearchArrays:
    """Make each metre dear where a method is blocked: a kind of ground for every set of methods.

    `is_blocked` has the shape (nm, nx, ny).
    """
    fine, drive = arrays.fine, arrays.drive
    n_methods, n_kinds = drive.soil_eur_per_m.shape
    methods = np.arange(n_methods)
    which = np.tensordot(2**methods, is_blocked, axes=1)
    for axis in (0, 1):
        which = np.repeat(which, fine.kind.shape[axis] // is_blocked.shape[axis + 1], axis=axis)
    is_dear = (np.arange(2**n_methods)[None, :] >> methods[:, None]) % 2
    extra = np.repeat(is_dear * PENALTY_EUR / 100.0, n_kinds, axis=1)

    def times(values: NDArray[Any]) -> NDArray[Any]:
        return np.tile(values, 2**n_methods)

    return arrays._replace(
        fine=fine._replace(
            kind=(fine.kind + n_kinds * which).astype(np.int32),
            soil=times(fine.soil),
            rock_soil=times(fine.rock_soil),
        ),
        drive=drive._replace(
            soil_eur_per_m=times(drive.soil_eur_per_m) + extra,
            rock_eur_per_m=times(drive.rock_eur_per_m) + extra,
        ),
    )


def _shorter_trench(problem: FrameProblem) -> Relaxation | None:
    arrays = problem.arrays
    if arrays.trench.fresh_columns <= 1:
        return None
    plan = _solve(arrays._replace(trench=arrays.trench._replace(fresh_columns=1)))
    if plan is None:
        return None
    least = problem.assumptions.trench.min_trench_m
    return Relaxation(f"a run of trench between two shafts shorter than {least:.0f} m", plan.objective_eur)
