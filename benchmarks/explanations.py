"""Explanations: how far shafts may move and other plans, against the whole corridor solved again.

Random corridors: every place of every shaft and its neighbours outside, and every crossing by every way,
against whole passes on arrays that hold the constraint. A straight corridor 500 m wide at 10 m, drives to
600 m: every shaft's tolerance, the columns judged for it in whole passes, and some shafts solved again.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.clock import timed
from benchmarks.corridors import random_corridor
from benchmarks.explained_again import extra_with_shaft_eur, shaft_there, solved_again_eur
from benchmarks.figures import Figure
from benchmarks.joint import COLUMNS_PER_KM
from benchmarks.proof import CENT_EUR, run
from benchmarks.proof_instances import Size, proof_arrays
from benchmarks.straight import Straight, straight_arrays
from routescreen.assumptions import load_assumptions
from routescreen.errors import RoutescreenError
from routescreen.screen import prepare
from routescreen.search import shaft_tolerance
from routescreen.search.halves import find_plan, find_plan_and_halves
from routescreen.search.otherwise import OPEN_CUT, Bench, columns_of_crossing, only_by, otherwise
from routescreen.search.shaft_kernel import shaft_eur
from routescreen.search.shaft_tolerance import tolerance_at
from routescreen.search.solve import DriveStep, optimum_eur
from routescreen.search.through import go_on, run_passages

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.shaft_tolerance import ShaftTolerance
    from routescreen.search.solve import FramePlan
    from routescreen.search.through import Passages

N_SHAFT_CORRIDORS, N_CROSSING_CORRIDORS, N_QUICK = 100, 100, 4
SIZES = (Size(24, 4, 4), Size(40, 3, 6), Size(30, 5, 5))
SHARE = 0.2  # of the optimum that a shaft may cost more on random corridors
PERCENT = 5.0  # of the drives at a shaft with their shafts, on the long corridor
LENGTH_KM, QUICK_KM, N_AGAIN = 100, 4, 20
BUDGET_EUR = 500_000.0
COARSE = "[frame]\ncell_m = 20.0\n"


def explanations(*, is_quick: bool = False) -> list[Figure]:
    """Compare tolerances and other ways with solving everything again, and measure a long corridor."""
    figures = _tolerances_again(N_QUICK if is_quick else N_SHAFT_CORRIDORS)
    figures += _ways_again(N_QUICK if is_quick else N_CROSSING_CORRIDORS)
    return figures + _long_corridor(QUICK_KM if is_quick else LENGTH_KM)


def _tolerances_again(n_corridors: int) -> list[Figure]:
    """Compare every place of every shaft, and the nodes next to them, on random corridors."""
    gap_eur, n_values, n_done, seed = 0.0, 0, 0, 0
    while n_done < n_corridors:
        arrays, seed = proof_arrays(seed, SIZES[seed % 3]), seed + 1
        plan, passages = find_plan(arrays), run_passages(arrays, math.inf)
        if plan is None or passages is None or not plan.shafts:
            continue
        n_done += 1
        for node, sides in _shafts(plan):
            found = tolerance_at(arrays, passages, node, sides, SHARE * passages.optimum_eur, 100.0)
            gap, n = _gap_of_places(arrays, passages, found)
            gap_eur, n_values = max(gap_eur, gap), n_values + n
    return [
        Figure("explanations_shaft_corridors", n_done, "corridors", n_corridors),
        Figure("explanations_shaft_values", n_values, "values", 10 * n_corridors),
        Figure("explanations_shaft_largest_gap", gap_eur, "EUR", CENT_EUR, is_most=True),
    ]


def _shafts(plan: FramePlan) -> list[tuple[tuple[int, int], tuple[bool, bool]]]:
    return [(shaft.node, (shaft.incoming_role > 0, shaft.outgoing_role > 0)) for shaft in plan.shafts]


def _bases_eur(arrays: SearchArrays, plan: FramePlan) -> list[float]:
    """Return of each shaft what its drives with all their shafts cost in the search [EUR]."""
    own_eur = {
        shaft.node: float(
            shaft_eur(arrays, *shaft.node, shaft.incoming_role, shaft.outgoing_role, shaft.level)
        )
        for shaft in plan.shafts
    }
    drives = [step for step in plan.steps if isinstance(step, DriveStep)]
    bases = []
    for shaft in plan.shafts:
        near = [step for step in drives if shaft.node in (step.lower, step.upper)]
        ends = {node for step in near for node in (step.lower, step.upper)}
        bases.append(sum(step.line.eur for step in near) + sum(own_eur[node] for node in ends))
    return bases


def _gap_of_places(arrays: SearchArrays, passages: Passages, found: ShaftTolerance) -> tuple[float, int]:
    """Return how far values are from those of solving again, and how many; a place left out counts as inf."""
    gap_eur = 0.0
    for place, extra_eur in zip(found.places, found.extra_eur, strict=True):
        node = (int(place[0]), int(place[1]))
        again = extra_with_shaft_eur(arrays, node, found.has_drives, passages.optimum_eur)
        gap_eur = max(gap_eur, abs(again - float(extra_eur)))
    beside = _beside(found, arrays.ground.ground_m.shape)
    for node in beside:
        again = extra_with_shaft_eur(arrays, node, found.has_drives, passages.optimum_eur)
        gap_eur = math.inf if again <= found.limit_eur - CENT_EUR else gap_eur
    return gap_eur, len(found.places) + len(beside)


def _beside(found: ShaftTolerance, shape: tuple[int, ...]) -> list[tuple[int, int]]:
    """Return the nodes next to the places that are not among them."""
    places = {(int(c), int(r)) for c, r in found.places}
    steps = ((1, 0), (-1, 0), (0, 1), (0, -1))
    beside = {(c + dc, r + dr) for c, r in places for dc, dr in steps} - places
    return sorted((c, r) for c, r in beside if 0 <= c < shape[0] and 0 <= r < shape[1])


def _ways_again(n_corridors: int) -> list[Figure]:
    """Compare every crossing by every way on random corridors with everything on them."""
    gap_eur, n_values, n_found, n_done, seed = 0.0, 0, 0, 0, 0
    assumptions = load_assumptions(COARSE)
    while n_done < n_corridors:
        corridor, seed = random_corridor(seed), seed + 1
        try:
            problem = prepare(corridor, assumptions)[0]
        except RoutescreenError:
            continue
        passages = run_passages(problem.arrays, math.inf)
        if passages is None or not len(problem.crossings):
            continue
        n_done, bench = n_done + 1, Bench(problem, passages)
        for crossing in range(len(problem.crossings)):
            if columns_of_crossing(problem, crossing) is None:
                continue
            for way in (OPEN_CUT, *range(len(problem.methods))):
                found = otherwise(problem, passages, crossing, way, bench)
                closed = only_by(problem, crossing, way)
                again = optimum_eur(closed, run(closed)) - passages.optimum_eur
                is_one = math.isfinite(again) or math.isfinite(found.extra_eur)
                gap_eur = max(gap_eur, abs(again - found.extra_eur)) if is_one else gap_eur
                n_values, n_found = n_values + 1, n_found + math.isfinite(again)
    return [
        Figure("explanations_way_corridors", n_done, "corridors", n_corridors),
        Figure("explanations_way_values", n_values, "values", 10 * n_corridors),
        Figure("explanations_way_plans", n_found, "plans", 5 * n_corridors),
        Figure("explanations_way_largest_gap", gap_eur, "EUR", CENT_EUR, is_most=True),
    ]


def _long_corridor(km: int) -> list[Figure]:
    """Measure every shaft's tolerance on a long corridor, in seconds and in whole passes."""
    _warm_up()
    arrays, name = straight_arrays(Straight(km * COLUMNS_PER_KM)), f"explanations_{km}_km"
    (plan, halves), _, search_s = timed(lambda: find_plan_and_halves(arrays))
    if plan is None or halves is None:
        raise ValueError(f"{name}: a corridor without a plan, or too short for halves")
    passages, _, on_s = timed(lambda: go_on(arrays, halves, BUDGET_EUR))
    if passages is None:
        raise ValueError(f"{name}: a corridor without a plan")
    shafts, bases_eur, judged = _shafts(plan), _bases_eur(arrays, plan), [0]
    count = shaft_tolerance.judge_shafts_within

    def counted(*call: object, **named: object) -> object:
        judged[0] += 2 * (int(call[3]) - int(call[2]) + 1)  # type: ignore[call-overload]
        return count(*call, **named)  # type: ignore[arg-type]

    shaft_tolerance.judge_shafts_within = counted  # type: ignore[assignment]
    found, _, shafts_s = timed(
        lambda: [
            bench.tolerance_at(*shaft, base_eur, PERCENT)
            for bench in [shaft_tolerance.Bench(arrays, passages)]
            for shaft, base_eur in zip(shafts, bases_eur, strict=True)
        ]
    )
    shaft_tolerance.judge_shafts_within = count
    n_columns = arrays.ground.ground_m.shape[0]
    return [
        Figure(f"{name}_shafts", len(shafts), "shafts"),
        Figure(f"{name}_search", search_s, "s"),
        Figure(f"{name}_going_on", on_s, "s"),
        Figure(f"{name}_tolerances", shafts_s, "s"),
        Figure(f"{name}_base", float(np.mean(bases_eur)), "EUR a shaft"),
        Figure(f"{name}_places", float(np.mean([len(each.places) for each in found])), "a shaft"),
        Figure(f"{name}_passes", 2.0 + judged[0] / n_columns, "passes", 3.0, is_most=True),
        Figure(f"{name}_largest_gap", _gap_of_some(arrays, passages, found), "EUR", CENT_EUR, is_most=True),
    ]


def _gap_of_some(arrays: SearchArrays, passages: Passages, found: list[ShaftTolerance]) -> float:
    """Return how far the last place found of some shafts is from solving the whole corridor again."""
    gap_eur = 0.0
    for each in found[:: max(len(found) // N_AGAIN, 1)][:N_AGAIN]:
        node = (int(each.places[-1, 0]), int(each.places[-1, 1]))
        pinned = shaft_there(arrays, node, each.has_drives)
        again = optimum_eur(pinned, run(pinned)) - passages.optimum_eur
        gap_eur = max(gap_eur, abs(again - float(each.extra_eur[-1])))
    return gap_eur


def _warm_up() -> None:
    """Run everything once on a small corridor, so that no compiling is measured."""
    arrays = straight_arrays(Straight(80, 5, longest_m=100.0))
    solved_again_eur(arrays)
    plan, passages = find_plan(arrays), run_passages(arrays, BUDGET_EUR)
    if plan is not None and passages is not None:
        for shaft in _shafts(plan):
            tolerance_at(arrays, passages, *shaft, BUDGET_EUR, PERCENT)
