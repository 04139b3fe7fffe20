"""Through-values: what the cheapest plan through a node costs, by hand and against independent ways.

By hand: the corridor of ``test_by_hand``, all prices in EUR. With its open cut closed on columns 2 to 4 there
are two plans: one drive 1-5 for 12, two drives that share the shaft at 3 for 19.

With open cut allowed everywhere, 1 a cell, open cut alone costs 5, and these have shafts:

- drive 1-5: 12 as before;
- drive 1-3: trench 1 + shaft (1 + 2) + drive 3 + shaft (1 + 3) + trench 2 = 13;
- drive 3-5: trench 3 + shaft (1 + 5) + drive 2 + shaft (1 + 2) = 14;
- drives 1-3 and 3-5: 19 as before.

At 3 the drive from 1 arrives for 1 + 3 + 3 = 7 without its shaft, where open cut costs 3: no optimum needs
it, but it is what the cheapest plan with a shaft at 3 is made of.
"""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchmarks.oracles.pieces import pieces_of
from benchmarks.oracles.through_graph import GraphValues, graph_values
from benchmarks.proof import run
from benchmarks.proof_instances import Size, proof_arrays
from benchmarks.proof_turned import turned_round
from benchmarks.pruned import random_problem
from routescreen.search.halves import find_plan
from routescreen.search.leg_kernel import Rules
from routescreen.search.solve import DriveStep, optimum_eur
from routescreen.search.through import (
    Passages,
    ShaftLabels,
    ThroughValues,
    judge_shafts,
    run_passages,
    shaft_by_role_eur,
    through_values,
    values_from,
)
from tests.search.test_by_hand import LAUNCH, RECEPTION, corridor

if TYPE_CHECKING:
    from collections.abc import Iterator

    from routescreen.search.arrays import Floats, SearchArrays

NEVER = math.inf
EXACT_EUR = 1e-6
SMALL, NARROW, LONG = Size(8, 3, 4), Size(10, 1, 4), Size(24, 4, 4)
UNPRUNED = Rules(limits_trench=False, limits_drives=False, uses_open_cut=False, uses_wedges=False)
few = settings(max_examples=15, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])


def open_corridor(*, fresh_columns: int = 1) -> SearchArrays:
    """Return the corridor by hand with open cut everywhere."""
    arrays = corridor()
    move_eur = arrays.trench.move_eur.copy()
    move_eur[:5, 0, 0] = 1.0
    return arrays._replace(trench=arrays.trench._replace(move_eur=move_eur, fresh_columns=fresh_columns))


def values_of(arrays: SearchArrays, budget_eur: float) -> ThroughValues:
    values = through_values(arrays, budget_eur)
    assert values is not None
    return values


def told(expected_eur: Floats, limit_eur: float) -> Floats:
    """Return values as they are told with a limit: more than the budget reads inf."""
    return np.where(expected_eur <= limit_eur, expected_eur, NEVER)


def assert_same(found_eur: Floats, expected_eur: Floats) -> None:
    """Hold values to others: finite at the same nodes, and there equal."""
    assert np.array_equal(np.isfinite(found_eur), np.isfinite(expected_eur))
    is_told = np.isfinite(expected_eur)
    assert np.abs(found_eur[is_told] - expected_eur[is_told]).max(initial=0.0) < EXACT_EUR


# By hand


@pytest.mark.parametrize(
    ("arrays", "budget_eur", "trench", "shaft"),
    [
        pytest.param(
            corridor(),
            7.0,
            [12, NEVER, NEVER, NEVER, NEVER, NEVER],
            [NEVER, 12, NEVER, 19, NEVER, 12],
            id="two-drives-cost-seven-more-than-one",
        ),
        pytest.param(
            corridor(),
            6.9,
            [12, NEVER, NEVER, NEVER, NEVER, NEVER],
            [NEVER, 12, NEVER, NEVER, NEVER, 12],
            id="seven-more-is-more-than-the-budget",
        ),
        pytest.param(
            open_corridor(),
            NEVER,
            [5, 5, 5, 5, 5, 5],
            [NEVER, 12, NEVER, 13, NEVER, 12],
            id="shafts-that-no-optimum-needs",
        ),
        pytest.param(
            open_corridor(fresh_columns=3),
            NEVER,
            [5, 5, 5, 5, 5, 5],
            [NEVER, 12, NEVER, 13, NEVER, 12],
            id="runs-that-end-at-a-terminal-may-be-short",
        ),
        pytest.param(
            open_corridor(),
            7.5,
            [5, 5, 5, 5, 5, 5],
            [NEVER, 12, NEVER, NEVER, NEVER, 12],
            id="one-of-them-within-the-budget",
        ),
        pytest.param(open_corridor(), 0.0, [5] * 6, [NEVER] * 6, id="without-a-budget-only-the-optimum"),
    ],
)
def test_values_by_hand(
    arrays: SearchArrays, budget_eur: float, trench: list[float], shaft: list[float]
) -> None:
    values = values_of(arrays, budget_eur)
    assert values.trench_eur[:, 0].tolist() == pytest.approx(trench)
    assert values.shaft_eur[:, 0].tolist() == pytest.approx(shaft)
    assert values.node_eur[:, 0].tolist() == pytest.approx(np.minimum(trench, shaft).tolist())
    assert values.limit_eur == pytest.approx(values.optimum_eur + budget_eur)


def test_values_by_the_roles_of_a_shaft() -> None:
    arrays = open_corridor()
    passages = run_passages(arrays, 100.0)
    assert passages is not None
    expected = np.full((3, 3), NEVER)
    expected[0, LAUNCH], expected[RECEPTION, 0], expected[RECEPTION, LAUNCH] = 14.0, 13.0, 19.0
    assert shaft_by_role_eur(arrays, passages, judge_shafts(arrays, passages), 3, 0) == pytest.approx(
        expected
    )


def test_the_passes_alone_know_no_shaft_that_open_cut_makes_superfluous() -> None:
    arrays = open_corridor()
    passages = run_passages(arrays, 100.0)
    assert passages is not None
    assert passages.forward.label_count[3] == 0
    labels = judge_shafts(arrays, passages)
    at = labels.arriving.label_start[3]
    assert labels.arriving.label_count[3] == 1
    assert (labels.arriving.label_eur[at], labels.arriving.label_level[at]) == (pytest.approx(7.0), 3)


def test_a_pinned_shaft_leaves_no_open_cut_at_its_node() -> None:
    pin = np.array([-1, -1, -1, 0, -1, -1])
    values = values_of(open_corridor()._replace(pin_shaft=pin), NEVER)
    assert values.trench_eur[:, 0].tolist() == pytest.approx([13, 14, 14, NEVER, 13, 13])
    assert values.shaft_eur[:, 0].tolist() == pytest.approx([NEVER, 13, NEVER, 13, NEVER, 14])


# Against independent ways


def graph_shaft_eur(graph: GraphValues, arrays: SearchArrays, node: tuple[int, int]) -> Floats:
    n_roles = arrays.shaft.table_eur.shape[2]
    return np.array([[graph.shaft_eur[node, r, k] for k in range(n_roles)] for r in range(n_roles)])


def nodes_of(arrays: SearchArrays) -> Iterator[tuple[int, int]]:
    nx, ny = arrays.ground.ground_m.shape
    return ((column, row) for column in range(nx) for row in range(ny))


def pinned_terminals(arrays: SearchArrays) -> SearchArrays:
    """Return the corridor with shafts asked for at both terminals."""
    pins = np.full_like(arrays.pin_shaft, -1)
    pins[0], pins[-1] = arrays.start_row, arrays.end_row
    return arrays._replace(pin_shaft=pins, pin_via=np.full_like(pins, -1))


@cache
def with_graph(size: Size, seed: int) -> tuple[SearchArrays, GraphValues]:
    """Return an instance and its graph's values, whatever the budget."""
    arrays = proof_arrays(seed, size)
    return arrays, graph_values(pieces_of(arrays))


@pytest.mark.parametrize("budget_eur", [NEVER, 20_000.0, 3_000.0])
@pytest.mark.parametrize("size", [SMALL, NARROW, LONG], ids=["small", "narrow", "long"])
def test_the_graph_of_states_says_the_same_for_every_pair_of_roles(size: Size, budget_eur: float) -> None:
    n_told = n_beyond = 0
    for seed in range(24 if size is not LONG else 8):
        arrays, graph = with_graph(size, seed)
        passages = run_passages(arrays, budget_eur)
        if passages is None:
            assert not graph.trench_eur
            assert not graph.shaft_eur
            continue
        labels = judge_shafts(arrays, passages)
        values = values_of(arrays, budget_eur)
        for node in nodes_of(arrays):
            by_role = graph_shaft_eur(graph, arrays, node)
            expected = told(by_role, passages.limit_eur)
            assert_same(shaft_by_role_eur(arrays, passages, labels, *node), expected)
            whole = np.array([graph.trench_eur[node], by_role.min()])
            assert_same(
                np.array([values.trench_eur[node], values.shaft_eur[node]]), told(whole, passages.limit_eur)
            )
            n_told += int(np.isfinite(expected).sum())
            n_beyond += int((np.isfinite(by_role) & ~np.isfinite(expected)).sum())
    assert n_told > 50
    assert n_beyond > 100 or budget_eur == NEVER


def test_shafts_pinned_at_the_terminals() -> None:
    n_plans = 0
    for seed in range(12):
        arrays = pinned_terminals(proof_arrays(seed, SMALL))
        graph, values = graph_values(pieces_of(arrays)), through_values(arrays, NEVER)
        if values is None:
            assert not graph.shaft_eur
            continue
        n_plans += 1
        for node in nodes_of(arrays):
            expected = np.array([graph.trench_eur[node], graph_shaft_eur(graph, arrays, node).min()])
            assert_same(np.array([values.trench_eur[node], values.shaft_eur[node]]), expected)
    assert n_plans >= 2


def forced_eur(arrays: SearchArrays, node: tuple[int, int]) -> tuple[float, float]:
    """Solve again with a node asked for: in open cut, where no shaft may stand, and with a shaft."""
    pins = np.full_like(arrays.pin_via, -1)
    pins[node[0]] = node[1]
    allowed = arrays.shaft.is_allowed.copy()
    allowed[node] = False
    without = arrays._replace(pin_via=pins, shaft=arrays.shaft._replace(is_allowed=allowed))
    shaft = arrays._replace(pin_shaft=pins)
    return optimum_eur(without, run(without)), optimum_eur(shaft, run(shaft))


@few
@given(seed=st.integers(0, 10_000))
def test_solving_again_with_the_node_pinned_says_the_same(seed: int) -> None:
    arrays = proof_arrays(seed, Size(16, 5, 5))
    free = np.full_like(arrays.pin_via, -1)
    arrays = arrays._replace(pin_via=free, pin_shaft=free)
    values = through_values(arrays, 30_000.0)
    if values is None:
        assert find_plan(arrays) is None
        return
    for node in list(nodes_of(arrays))[seed % 3 :: 3]:
        expected = told(np.array(forced_eur(arrays, node)), values.limit_eur)
        assert_same(np.array([values.trench_eur[node], values.shaft_eur[node]]), expected)


def unpruned_values(arrays: SearchArrays) -> tuple[Floats, Floats]:
    """Return the values from full passes that scan every pair and know no limit."""
    n_columns = arrays.ground.ground_m.shape[0]
    forward, backward = (run(arrays, is_forward=way, is_pruned=False) for way in (True, False))
    passages = Passages(forward, backward, NEVER, NEVER)
    labels = judge_shafts(arrays, passages, rules=UNPRUNED)
    trench, shaft = np.empty(arrays.ground.ground_m.shape), np.empty(arrays.ground.ground_m.shape)
    k = arrays.trench.fresh_columns
    for column, row in nodes_of(arrays):
        shaft[column, row] = shaft_by_role_eur(arrays, passages, labels, column, row).min()
        runs = [
            forward.trench_eur[one, column, row] + backward.trench_eur[other, column, row]
            for one in range(1, k + 1)
            for other in range(1, k + 1)
            if one + other >= k and arrays.pin_shaft[column] < 0
        ]
        twice = arrays.trench.inside_eur[column, row] if 0 < column < n_columns - 1 else 0.0
        trench[column, row] = min(runs, default=NEVER) - twice
    return trench, shaft


@pytest.mark.parametrize("seed", [0, 6, 10, 20, 24, 5, 13, 21, 41, 53])
def test_full_passes_over_every_pair_say_the_same(seed: int) -> None:
    arrays = random_problem(seed)
    trench, shaft = unpruned_values(arrays)
    optimum = np.minimum(trench, shaft)[0].min()
    for budget_eur in (2_000.0, 60_000.0):
        values = through_values(arrays, budget_eur)
        if values is None:
            assert optimum == NEVER
            continue
        assert values.optimum_eur == pytest.approx(optimum, abs=EXACT_EUR)
        assert_same(values.trench_eur, told(trench, values.limit_eur))
        assert_same(values.shaft_eur, told(shaft, values.limit_eur))


# Laws


@pytest.mark.parametrize("rule", Rules._fields)
def test_each_rule_saves_work_and_changes_no_value(rule: str) -> None:
    saved = 0
    # what open cut makes superfluous lies within a large budget only
    budget_eur = 60_000.0 if rule == "uses_open_cut" else 4_000.0
    for seed in (2, 6, 10, 4, 3, 7):
        arrays = proof_arrays(seed, LONG)
        found: list[tuple[Passages, ShaftLabels]] = []
        for rules in (Rules(), Rules()._replace(**{rule: False})):
            passages = run_passages(arrays, budget_eur, rules=rules)
            assert passages is not None
            found.append((passages, judge_shafts(arrays, passages, rules=rules)))
        one, other = (values_from(arrays, *some) for some in found)
        assert_same(one.trench_eur, other.trench_eur)
        for node in nodes_of(arrays):
            assert_same(*(shaft_by_role_eur(arrays, *some, *node) for some in found))
        saved += work_of(rule, *found[1]) - work_of(rule, *found[0])
    assert saved > 0


def work_of(rule: str, passages: Passages, labels: ShaftLabels) -> int:
    """Return what a rule is there to make less of: states of open cut, labels or pairs scanned."""
    both = (passages.forward, passages.backward, labels.arriving, labels.leaving)
    if rule == "limits_trench":
        return int(sum(np.isfinite(one.trench_eur).sum() for one in both[:2]))
    if rule == "uses_wedges":
        return sum(one.n_scans for one in both)
    return sum(len(one.label_eur) for one in both)


@few
@given(seed=st.integers(0, 10_000), budgets=st.tuples(st.floats(0.0, 5e3), st.floats(0.0, 5e4)))
def test_a_smaller_budget_tells_less_and_nothing_else(seed: int, budgets: tuple[float, float]) -> None:
    arrays = proof_arrays(seed, LONG)
    more, less = (through_values(arrays, budget) for budget in (max(budgets), min(budgets)))
    if more is None or less is None:
        assert more is less
        return
    limit = less.limit_eur + 1e-4
    assert_same(less.trench_eur, told(more.trench_eur, limit))
    assert_same(less.shaft_eur, told(more.shaft_eur, limit))


@few
@given(seed=st.integers(0, 10_000))
def test_seen_from_the_other_end_every_node_costs_the_same(seed: int) -> None:
    arrays = proof_arrays(seed, LONG)
    one, other = through_values(arrays, 20_000.0), through_values(turned_round(arrays), 20_000.0)
    if one is None or other is None:
        assert one is other
        return
    for name in ("trench_eur", "shaft_eur"):
        here, there = getattr(one, name), getattr(other, name)[::-1]
        is_clear = np.abs(here - one.limit_eur) > 1e-3  # at the limit itself the last digits decide
        is_clear &= np.abs(there - one.limit_eur) > 1e-3
        assert_same(np.where(is_clear, here, NEVER), np.where(is_clear, there, NEVER))


@few
@given(seed=st.integers(0, 10_000))
def test_the_optimum_passes_through_its_own_nodes(seed: int) -> None:
    arrays = proof_arrays(seed, LONG)
    plan, values = find_plan(arrays), through_values(arrays, 0.0)
    if plan is None or values is None:
        assert plan is None
        assert values is None
        return
    assert values.node_eur.min() == pytest.approx(plan.objective_eur, abs=EXACT_EUR)
    for shaft in plan.shafts:
        assert values.shaft_eur[shaft.node] == pytest.approx(plan.objective_eur, abs=EXACT_EUR)
    for step in plan.steps:
        node = step.lower if isinstance(step, DriveStep) else step.start
        assert values.node_eur[node] == pytest.approx(plan.objective_eur, abs=EXACT_EUR)


# Limits


@pytest.mark.parametrize("budget_eur", [-1.0, math.nan])
def test_a_budget_is_a_number_of_at_least_zero(budget_eur: float) -> None:
    with pytest.raises(ValueError, match="budget"):
        through_values(corridor(), budget_eur)


def test_without_a_plan_there_are_no_values() -> None:
    arrays = corridor()
    nowhere = np.zeros_like(arrays.shaft.is_allowed)
    assert through_values(arrays._replace(shaft=arrays.shaft._replace(is_allowed=nowhere)), 10.0) is None


def test_progress_rises_to_one() -> None:
    shares: list[float] = []
    assert through_values(proof_arrays(3, LONG), 1_000.0, progress=shares.append) is not None
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)
