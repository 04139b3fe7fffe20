"""The pruned search against the search that scans every pair, on random corridors up to 3 km."""

from __future__ import annotations

import math
import time
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.figures import Figure
from benchmarks.joint import gap_eur
from benchmarks.proof import CENT_EUR, run
from benchmarks.proof_gaps import with_band
from benchmarks.proof_instances import Size, proof_arrays
from benchmarks.straight import Straight, straight_arrays
from routescreen.search.halves import best_join_of, run_halves
from routescreen.search.solve import optimum_eur

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays

N_CORRIDORS, N_QUICK = 200, 10
ROWS = (1, 3, 9, 21, 31)


def random_problem(seed: int) -> SearchArrays:
    """Return a straight corridor of 0.3 to 3 km for an even seed, one on a bent axis for an odd one.

    Half of either have depths at which cables would be too warm.
    """
    arrays = _random_problem(seed)
    return with_band(arrays, seed // 4) if seed % 4 < 2 else arrays


def _random_problem(seed: int) -> SearchArrays:
    rng = np.random.default_rng([seed, 7])
    n_rows = int(rng.choice(ROWS))
    if seed % 2 == 0:
        n_columns, longest_m = int(rng.integers(30, 301)), float(rng.uniform(80.0, 300.0))
        size = Straight(n_columns, n_rows, longest_m=longest_m, is_dense=bool(rng.random() < 0.5))
        return straight_arrays(size, seed=seed)
    n_rows = min(n_rows, 15)  # the bend must leave the rows apart
    n_columns = int(rng.integers(20, 301 if n_rows <= 3 else 61))
    return proof_arrays(seed, Size(n_columns, n_rows, int(rng.integers(4, 13))))


def pruned(*, is_quick: bool = False) -> list[Figure]:
    """Compare a pruned pass each way and the joined halves with the pass that scans every pair."""
    gaps, n_plans, seconds = [], 0, [0.0, 0.0]
    for seed in range(N_QUICK if is_quick else N_CORRIDORS):
        arrays = random_problem(seed)
        began = time.process_time()
        eur = optimum_eur(arrays, run(arrays, is_pruned=False))
        middle = time.process_time()
        others = [optimum_eur(arrays, run(arrays))]
        seconds[0] += middle - began
        seconds[1] += time.process_time() - middle
        back = run(arrays, is_forward=False)
        n_states = 1 if arrays.pin_shaft[0] >= 0 else back.trench_eur.shape[0]
        others.append(float(back.trench_eur[:n_states, 0, arrays.start_row].min()))
        others.append(float(best_join_of(arrays, run_halves(arrays)).eur))
        n_plans += math.isfinite(eur)
        gaps.append(max(gap_eur(eur, other) for other in others))
        if gaps[-1] > CENT_EUR:
            print(f"  seed {seed}: every pair {eur:.4f}, pruned {others}")
    return [
        Figure("pruned_corridors", len(gaps), "corridors", None if is_quick else N_CORRIDORS),
        Figure("pruned_with_plan", n_plans, "corridors", len(gaps) // 2),
        Figure("pruned_largest_gap", max(gaps), "EUR", CENT_EUR, is_most=True),
        Figure("pruned_every_pair_processor", seconds[0], "s"),
        Figure("pruned_pass_processor", seconds[1], "s"),
    ]
