"""Frames that are hard on what is passed over: strongly bent, far beside the axis, drives of few columns."""

from __future__ import annotations

import math

import pytest

from benchmarks.instances import Shape, random_arrays
from benchmarks.proof import agree, run
from benchmarks.proof_instances import Size, proof_arrays
from routescreen.search.halves import best_join_of, find_plan, run_halves
from routescreen.search.solve import optimum_eur

# the axis bends with 200 to 400 m, the frame lies 60 m and more to one side of it
OUTSIDE = Size(18, 9, 5, radius_m=(200.0, 400.0), rows_aside=13, trench_factor=6.0)
INSIDE = Size(20, 9, 5, radius_m=(220.0, 400.0), rows_aside=-10, trench_factor=6.0)


@pytest.mark.parametrize("size", [OUTSIDE, INSIDE], ids=["outside", "inside"])
def test_passing_over_pairs_loses_and_gains_nothing(size: Size) -> None:
    n_plans = 0
    for seed in range(30):
        arrays = proof_arrays(seed, size)
        expected = optimum_eur(arrays, run(arrays, is_pruned=False))
        assert optimum_eur(arrays, run(arrays)) == expected
        backward = run(arrays, is_forward=False)
        n_states = 1 if arrays.pin_shaft[0] >= 0 else len(backward.trench_eur)
        assert agree(float(backward.trench_eur[:n_states, 0, arrays.start_row].min()), expected)
        assert agree(best_join_of(arrays, run_halves(arrays)).eur, expected)
        n_plans += math.isfinite(expected)
    assert n_plans >= 10


@pytest.mark.parametrize("longest_columns", [2, 3])
def test_halves_overlap_by_the_longest_move_where_drives_are_short(longest_columns: int) -> None:
    for seed in (1, 6, 10, 12):
        arrays = random_arrays(seed, Shape(24, 6, closed_frac=0.05, longest_columns=longest_columns))
        plan = find_plan(arrays)
        assert plan is not None
        assert agree(plan.objective_eur, optimum_eur(arrays, run(arrays)))
