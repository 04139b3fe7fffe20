"""Through-values: the legs that know what is still to come against whole passes that don't.

Random corridors up to 3 km: all values within the budget against whole passes that scan every pair. Straight
corridors 500 m wide at 10 m, drives to 600 m: processor time a node of the corridor.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.clock import timed
from benchmarks.figures import Figure
from benchmarks.joint import COLUMNS_PER_KM
from benchmarks.proof import CENT_EUR, run
from benchmarks.pruned import random_problem
from benchmarks.straight import Straight, straight_arrays
from routescreen.search.halves import run_halves
from routescreen.search.leg_kernel import Rules
from routescreen.search.through import (
    Passages,
    ShaftLabels,
    ThroughValues,
    go_on,
    judge_shafts,
    through_values,
    values_from,
)

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, SearchArrays

N_CORRIDORS, N_QUICK = 60, 6
MOST_NODES = 2000  # of a random corridor: every pair is scanned four times
BUDGETS_EUR = (50_000.0, 500_000.0)
LENGTH_KM, QUICK_KM = 20, 2
EVERY_PAIR = Rules(limits_trench=False, limits_drives=False, uses_open_cut=False, uses_wedges=False)


def through(*, is_quick: bool = False) -> list[Figure]:
    """Compare the values and measure the legs."""
    figures = _against_every_pair(N_QUICK if is_quick else N_CORRIDORS)
    _warm_up()
    for kind in ("typical", "dense"):
        figures += _measure(kind, QUICK_KM if is_quick else LENGTH_KM)
    return figures


def _against_every_pair(n_corridors: int) -> list[Figure]:
    """Compare all values of random corridors."""
    gaps, n_told, seed = [], 0, 0
    while len(gaps) < n_corridors:
        arrays, seed = random_problem(seed), seed + 1
        if arrays.ground.ground_m.size > MOST_NODES:
            continue
        forward, backward = (run(arrays, is_forward=way, is_pruned=False) for way in (True, False))
        passages = Passages(forward, backward, math.nan, math.inf)
        expected = values_from(arrays, passages, judge_shafts(arrays, passages, rules=EVERY_PAIR))
        gap = 0.0
        for budget_eur in BUDGETS_EUR:
            found = through_values(arrays, budget_eur)
            gap = max(gap, _largest_gap_eur(found, expected))
            n_told += 0 if found is None else int(np.isfinite(found.shaft_eur).sum())
        gaps.append(gap)
        if gap > CENT_EUR:
            print(f"  seed {seed - 1}: values differ by {gap:.4f} EUR")
    return [
        Figure("through_corridors", len(gaps), "corridors", n_corridors),
        Figure("through_shaft_values", n_told, "values", 100 * n_corridors),
        Figure("through_largest_gap", max(gaps), "EUR", CENT_EUR, is_most=True),
    ]


def _largest_gap_eur(found: ThroughValues | None, expected: ThroughValues) -> float:
    """Return how far values are apart that either side tells within the budget."""
    if found is None:
        return math.inf if np.isfinite(expected.node_eur).any() else 0.0
    return max(
        _gap_eur(found.trench_eur, expected.trench_eur, found.limit_eur),
        _gap_eur(found.shaft_eur, expected.shaft_eur, found.limit_eur),
    )


def _gap_eur(found_eur: Floats, expected_eur: Floats, limit_eur: float) -> float:
    is_told = np.isfinite(found_eur)
    if (expected_eur[~is_told] <= limit_eur - CENT_EUR).any():
        return math.inf
    return float(np.abs(found_eur[is_told] - expected_eur[is_told]).max(initial=0.0))


def _warm_up() -> None:
    """Run everything once on a small corridor, so that no compiling is measured."""
    arrays = straight_arrays(Straight(80, 5, longest_m=100.0))
    run(arrays)
    through_values(arrays, BUDGETS_EUR[0])


def _measure(kind: str, km: int) -> list[Figure]:
    """Measure one kind of corridor: two whole passes, both halves, and what comes after with each budget."""
    size = Straight(km * COLUMNS_PER_KM, is_dense=kind == "dense")
    arrays, name = straight_arrays(size), f"through_{kind}_{km}_km"
    us_a_node = 1e6 / size.n_nodes
    (forward, backward), _, passes_s = timed(lambda: (run(arrays), run(arrays, is_forward=False)))
    whole = Passages(forward, backward, math.nan, math.inf)
    expected_eur = values_from(arrays, whole, ShaftLabels(forward, backward)).node_eur
    figures = [
        Figure(f"{name}_two_passes", passes_s, "s"),
        Figure(f"{name}_two_passes_node", us_a_node * passes_s, "us a node"),
    ]
    for budget_eur in BUDGETS_EUR:
        figures += _measure_budget(arrays, f"{name}_{budget_eur / 1e3:.0f}", budget_eur, expected_eur)
    return figures


def _measure_budget(arrays: SearchArrays, name: str, budget_eur: float, expected_eur: Floats) -> list[Figure]:
    """Measure the legs of one budget; values of nodes must be those of the whole passes."""
    us_a_node = 1e6 / arrays.ground.ground_m.size
    halves, _, halves_s = timed(lambda: run_halves(arrays))
    passages, _, on_s = timed(lambda: go_on(arrays, halves, budget_eur))
    if passages is None:
        raise ValueError(f"{name}: a corridor without a plan")
    labels, _, again_s = timed(lambda: judge_shafts(arrays, passages))
    values = values_from(arrays, passages, labels)
    gap = _gap_eur(values.node_eur, expected_eur, values.limit_eur)
    return [
        Figure(f"{name}_halves_and_on", halves_s + on_s, "s"),
        Figure(f"{name}_halves_node", us_a_node * halves_s, "us a node"),
        Figure(f"{name}_on_node", us_a_node * on_s, "us a node"),
        Figure(f"{name}_again_node", us_a_node * again_s, "us a node"),
        Figure(f"{name}_nodes_told", float(np.isfinite(values.node_eur).mean()), "of all"),
        Figure(f"{name}_shafts_told", float(np.isfinite(values.shaft_eur).mean()), "of all"),
        Figure(f"{name}_gap", gap, "EUR", CENT_EUR, is_most=True),
    ]
