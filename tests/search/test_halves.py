"""Two halves, joined: the same optimum as one whole pass, and a plan that is worth it."""

from __future__ import annotations

import math
from collections import Counter

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchmarks.oracles.pieces import pieces_of, plan_eur, shafts_of
from benchmarks.proof import agree, run, steps_of
from benchmarks.proof_instances import Size, proof_arrays
from routescreen.search import halves
from routescreen.search.halves import best_join_of, find_plan, run_halves
from routescreen.search.join_kernel import Join, best_join
from routescreen.search.solve import optimum_eur
from routescreen.search.trace import trace_join

LONG = Size(24, 4, 4)  # long enough for halves to save work
few = settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])


def kind_of(join: Join) -> str:
    """Return what meets what at a join."""
    if join.before_label < 0:
        before, after = (
            "shaft" if state == 0 else "trench" for state in (join.before_state, join.after_state)
        )
        return f"{before} to {after}"
    return "drive to drive" if join.after_label >= 0 else "drive to trench"


@few
@given(seed=st.integers(0, 10_000))
def test_halves_find_the_optimum_of_the_whole_pass_and_a_plan_worth_it(seed: int) -> None:
    arrays = proof_arrays(seed, LONG)
    expected = optimum_eur(arrays, run(arrays))
    assert agree(best_join_of(arrays, run_halves(arrays)).eur, expected)
    plan = find_plan(arrays)
    assert (plan is None) == math.isinf(expected)
    if plan is not None:
        pieces = pieces_of(arrays)
        assert agree(plan_eur(pieces, steps_of(pieces, plan)), expected)


def test_the_plan_through_every_column_is_worth_what_the_join_says() -> None:
    kinds: Counter[str] = Counter()
    for seed in range(12):
        arrays = proof_arrays(seed, LONG)
        forward, backward, pieces = run(arrays), run(arrays, is_forward=False), pieces_of(arrays)
        for column in range(LONG.n_columns):
            join = best_join(arrays, forward, backward, column, column)
            if not math.isfinite(join.eur):
                continue
            plan = trace_join(arrays, forward, backward, join)
            steps = steps_of(pieces, plan)
            assert agree(plan_eur(pieces, steps), join.eur)
            assert len(plan.shafts) == len(shafts_of(steps))
            assert {shaft.node for shaft in plan.shafts} == {shaft.node for shaft in shafts_of(steps)}
            kinds[kind_of(join)] += 1
    # every way to meet has been tried
    assert set(kinds) >= {"trench to trench", "shaft to trench", "trench to shaft", "drive to drive"}


def test_progress_of_both_halves_rises_to_one() -> None:
    shares: list[float] = []
    run_halves(proof_arrays(3, LONG), progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)


def test_a_fault_in_a_half_reaches_the_caller(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise MemoryError("no room")

    monkeypatch.setattr(halves, "run_pass", fail)
    with pytest.raises(MemoryError, match="no room"):
        run_halves(proof_arrays(3, LONG))
