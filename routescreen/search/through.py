"""Through-values: what the cheapest plan costs that has a given node, or a shaft there.

Room: ``search``. Runs the compiled legs in threads; knows nothing of files.

1. Both halves of ``halves`` give the optimum; optimum and budget together are the limit.
2. Each half goes on into the other's, where the other pass's values say what is still to come, and drops
   what no plan within the limit has. Then the least costs to and from every node are known.
3. The passes drop drives that free open cut makes superfluous, and with them plans that have a shaft at the
   node. So the drives that arrive at each node from either side are judged once more.

Why nothing within the limit is lost: ``ahead_kernel`` and ``leg_kernel``.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.halves import best_join_of, run_halves
from routescreen.search.label_kernel import PassResult, new_scratch
from routescreen.search.leg_kernel import Rules, Walk, run_leg
from routescreen.search.side_by_side import run_side_by_side
from routescreen.search.through_kernel import fill_shaft_eur, fill_through_eur

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from routescreen.search.arrays import Floats, Integers, SearchArrays
    from routescreen.search.halves import Halves
    from routescreen.search.label_kernel import Scratch

ALL_RULES = Rules()
ROOM_COLUMNS = 4  # columns of nodes full of labels that a leg has room for at first


@dataclass(frozen=True, slots=True)
class Passages:
    """Both passes over the whole corridor, exact for every plan within the limit.

    `forward`, `backward` the least costs from either terminal; `optimum_eur`, `limit_eur` = optimum + budget
    [EUR]. Of the runs of open cut at a node that are long enough for what follows the cheapest is exact; a
    shorter and dearer one may be missing.
    """

    forward: PassResult
    backward: PassResult
    optimum_eur: float
    limit_eur: float


@dataclass(frozen=True, slots=True)
class Early:
    """What one pass and the half of the other know as soon as the one has ended.

    The values of `passages` hold both ways from `first_column` to `last_column`, both included; `is_over`
    tells whether the other pass has ended as well.
    """

    passages: Passages
    first_column: int
    last_column: int
    is_over: Callable[[], bool]


@dataclass(frozen=True, slots=True)
class ShaftLabels:
    """The drives that arrive at every node in a plan within the limit.

    `arriving` from lower chainage, `leaving` to higher chainage, as the backward pass sees them; of each role
    those that no other of the role is as good as.
    """

    arriving: PassResult
    leaving: PassResult


@dataclass(frozen=True, slots=True)
class ThroughValues:
    """Cost of the cheapest plan through each node, shape (nx, ny) [EUR].

    `trench_eur` with the node in open cut, or as a terminal, without a shaft there; `shaft_eur` with a shaft
    there, for one drive or for two, all else free. Exact up to `limit_eur`; inf beyond it: more than the
    budget, or no such plan.
    """

    trench_eur: Floats
    shaft_eur: Floats
    optimum_eur: float
    limit_eur: float

    @property
    def node_eur(self) -> Floats:
        """Return the cost of the cheapest plan that has the node at all [EUR]."""
        return np.minimum(self.trench_eur, self.shaft_eur)


def through_values(
    arrays: SearchArrays, budget_eur: float, *, progress: Callable[[float], None] | None = None
) -> ThroughValues | None:
    """Return what the cheapest plan through each node costs.

    Parameters
    ----------
    arrays : SearchArrays
    budget_eur : float
        How much dearer than the optimum a plan may be to be told; inf tells all [EUR].
    progress : callable or None
        Called some times a second with the share of the work done [-].

    Returns
    -------
    ThroughValues or None
        None where no plan reaches the end terminal.

    Raises
    ------
    ValueError
        When the budget is negative or not a number.
    """
    passages = run_passages(arrays, budget_eur, progress=_share(progress, 0.0, 0.5))
    if passages is None:
        return None
    labels = judge_shafts(arrays, passages, progress=_share(progress, 0.5, 1.0))
    return values_from(arrays, passages, labels)


def values_from(arrays: SearchArrays, passages: Passages, labels: ShaftLabels) -> ThroughValues:
    """Put both passages and the drives judged again together, node by node."""
    n_roles = arrays.shaft.table_eur.shape[2]
    trench, shaft = np.empty(arrays.ground.ground_m.shape), np.empty(arrays.ground.ground_m.shape)
    fill_through_eur(
        arrays,
        passages.forward,
        passages.backward,
        labels.arriving,
        labels.leaving,
        np.empty((n_roles, n_roles)),
        passages.limit_eur,
        trench,
        shaft,
    )
    return ThroughValues(trench, shaft, passages.optimum_eur, passages.limit_eur)


def _share(
    progress: Callable[[float], None] | None, low: float, high: float
) -> Callable[[float], None] | None:
    """Return what reports the share of a part as one of the whole."""
    return None if progress is None else lambda share: progress(low + (high - low) * share)


def run_passages(
    arrays: SearchArrays,
    budget_eur: float,
    *,
    rules: Rules = ALL_RULES,
    progress: Callable[[float], None] | None = None,
) -> Passages | None:
    """Run both halves and let each go on into the other's, within the limit.

    Parameters
    ----------
    arrays : SearchArrays
    budget_eur : float
        See ``through_values``.
    rules : Rules
        What is dropped early where the halves go on; no value within the limit depends on it.
    progress : callable or None
        See ``through_values``.

    Returns
    -------
    Passages or None
        None where no plan reaches the end terminal.

    Raises
    ------
    ValueError
        When the budget is negative or not a number.
    """
    if not budget_eur >= 0.0:
        raise ValueError(f"a budget of {budget_eur} EUR: it must be a number of 0 or more")
    halves = run_halves(arrays, progress=_share(progress, 0.0, 0.7))
    return go_on(arrays, halves, budget_eur, rules=rules, progress=_share(progress, 0.7, 1.0))


def go_on(
    arrays: SearchArrays,
    halves: Halves,
    budget_eur: float,
    *,
    rules: Rules = ALL_RULES,
    progress: Callable[[float], None] | None = None,
    meanwhile: Callable[[Early], None] | None = None,
) -> Passages | None:
    """Let both halves go on into each other's columns; see ``run_passages``.

    The halves' open cut is written on in place, so they can go on once only. `meanwhile` is called in the
    thread of the pass that ends first.
    """
    optimum = float(best_join_of(arrays, halves).eur)
    if not math.isfinite(optimum):
        return None
    limit = optimum + budget_eur
    walks = _walks_on(arrays, halves)
    passes, others = (halves.forward, halves.backward), (halves.backward, halves.forward)
    legs: list[Callable[[Integers], PassResult]] = [
        partial(_run_leg, arrays, before, with_room(arrays, before), other, walk, rules, limit)
        for before, other, walk in zip(passes, others, walks, strict=True)
    ]
    if meanwhile is not None:
        legs = _and_meanwhile(legs, _earlies(arrays, halves, optimum, limit), meanwhile)
    forward, backward = _run_legs(legs, walks, progress)
    return Passages(forward, backward, optimum, limit)


def _earlies(
    arrays: SearchArrays, halves: Halves, optimum_eur: float, limit_eur: float
) -> list[Callable[[PassResult, Callable[[], bool]], Early]]:
    """Return for each pass what makes an ``Early`` of it, with the other half as it stands now."""
    last_column = arrays.ground.ground_m.shape[0] - 1
    begun = _kept_columns(halves.forward, 0, halves.last_column)
    behind = _kept_columns(halves.backward, halves.first_column, last_column)

    def forward_ended(forward: PassResult, is_over: Callable[[], bool]) -> Early:
        passages = Passages(forward, behind, optimum_eur, limit_eur)
        return Early(passages, halves.first_column, last_column, is_over)

    def backward_ended(backward: PassResult, is_over: Callable[[], bool]) -> Early:
        return Early(Passages(begun, backward, optimum_eur, limit_eur), 0, halves.last_column, is_over)

    return [forward_ended, backward_ended]


def _kept_columns(result: PassResult, first: int, last: int) -> PassResult:
    """Return a copy of a half that nobody writes on, with nothing beyond its columns."""
    trench_eur = np.full_like(result.trench_eur, math.inf)
    trench_eur[:, first : last + 1] = result.trench_eur[:, first : last + 1]
    return result._replace(
        trench_eur=trench_eur, label_start=result.label_start.copy(), label_count=result.label_count.copy()
    )


def _and_meanwhile(
    legs: Sequence[Callable[[Integers], PassResult]],
    earlies: Sequence[Callable[[PassResult, Callable[[], bool]], Early]],
    meanwhile: Callable[[Early], None],
) -> list[Callable[[Integers], PassResult]]:
    """Return legs of which the one that ends first goes on with something else."""
    ended: list[int] = []
    lock = threading.Lock()

    def run(number: int, reached: Integers) -> PassResult:
        result = legs[number](reached)
        with lock:
            ended.append(number)
            is_first = len(ended) == 1
        if is_first:
            meanwhile(earlies[number](result, lambda: len(ended) == len(legs)))
        return result

    return [partial(run, number) for number in range(len(legs))]


def judge_shafts(
    arrays: SearchArrays,
    passages: Passages,
    *,
    rules: Rules = ALL_RULES,
    progress: Callable[[float], None] | None = None,
) -> ShaftLabels:
    """Judge the drives that arrive at every node again, for the sake of the shafts there.

    Parameters
    ----------
    arrays : SearchArrays
    passages : Passages
    rules, progress
        See ``run_passages``.

    Returns
    -------
    ShaftLabels
    """
    n_columns = arrays.ground.ground_m.shape[0]
    walks = (Walk(0, n_columns, True, True), Walk(n_columns - 1, n_columns, False, True))
    passes = (passages.forward, passages.backward)
    legs = [
        partial(_run_leg, arrays, before, _without_states(arrays), other, walk, rules, passages.limit_eur)
        for before, other, walk in zip(passes, passes[::-1], walks, strict=True)
    ]
    arriving, leaving = _run_legs(legs, walks, progress)
    return ShaftLabels(arriving, leaving)


def judge_shafts_within(
    arrays: SearchArrays,
    passages: Passages,
    first: int,
    last: int,
    budget_eur: float,
    *,
    scratch: Scratch | None = None,
) -> ShaftLabels:
    """Judge the drives that arrive at the nodes of some columns again; see ``judge_shafts``.

    Parameters
    ----------
    arrays : SearchArrays
    passages : Passages
    first, last : int
        Columns, both included.
    budget_eur : float
        How much dearer than the optimum a plan may be to be told; at most that of the passages [EUR].
    scratch : Scratch, optional
        Work space for drives as long as those of the arrays or longer, where it is used again.

    Returns
    -------
    ShaftLabels
        Without labels in all other columns.
    """
    n_columns = last - first + 1
    walks = (Walk(first, n_columns, True, True), Walk(last, n_columns, False, True))
    passes = (passages.forward, passages.backward)
    limit_eur = min(passages.optimum_eur + budget_eur, passages.limit_eur)
    space = new_scratch(arrays) if scratch is None else scratch
    arriving, leaving = (
        run_leg(
            arrays,
            cleared(space),
            before,
            _without_states(arrays),
            other,
            walk,
            ALL_RULES,
            limit_eur,
            np.zeros(1, np.int64),
        )
        for before, other, walk in zip(passes, passes[::-1], walks, strict=True)
    )
    return ShaftLabels(arriving, leaving)


def cleared(scratch: Scratch) -> Scratch:
    """Return work space for another leg: what it knows of drives under way belongs to the last one."""
    scratch.ring.least_eur[:] = math.inf
    scratch.fan.ways.way_eur[:] = math.inf
    scratch.fan.ways.pair_way_eur[:] = math.inf
    return scratch


def shaft_by_role_eur(
    arrays: SearchArrays, passages: Passages, labels: ShaftLabels, column: int, row: int
) -> Floats:
    """Return the cost of the cheapest plan with a shaft at a node by its roles.

    Returns
    -------
    ndarray of shape (nr, nr)
        By the role for the drive from lower and for that to higher chainage, 0 where there is open cut; inf
        beyond the limit [EUR].
    """
    n_roles = arrays.shaft.table_eur.shape[2]
    eur = np.empty((n_roles, n_roles))
    fill_shaft_eur(
        arrays, passages.forward, passages.backward, labels.arriving, labels.leaving, column, row, eur
    )
    return np.where(eur <= passages.limit_eur, eur, math.inf)


def _walks_on(arrays: SearchArrays, halves: Halves) -> tuple[Walk, Walk]:
    """Return the columns into which both halves must still go."""
    n_columns = arrays.ground.ground_m.shape[0]
    first, last = halves.first_column, halves.last_column
    return Walk(last + 1, n_columns - 1 - last, True, False), Walk(first - 1, first, False, False)


def _run_legs(
    legs: Sequence[Callable[[Integers], PassResult]],
    walks: tuple[Walk, Walk],
    progress: Callable[[float], None] | None,
) -> list[PassResult]:
    """Run both legs side by side."""
    reached = [np.zeros(1, np.int64) for _ in legs]
    n_columns = max(sum(walk.n_columns for walk in walks), 1)

    def look() -> None:
        if progress is not None:
            progress(float(sum(count[0] for count in reached)) / n_columns)

    done = run_side_by_side(
        [partial(leg, count) for leg, count in zip(legs, reached, strict=True)], look=look
    )
    if progress is not None:
        progress(1.0)
    return done


def _run_leg(
    arrays: SearchArrays,
    before: PassResult,
    kept: PassResult,
    other: PassResult,
    walk: Walk,
    rules: Rules,
    limit_eur: float,
    reached: Integers,
) -> PassResult:
    if walk.n_columns == 0:
        return before
    return run_leg(arrays, new_scratch(arrays), before, kept, other, walk, rules, limit_eur, reached)


def _n_labels_at_first(arrays: SearchArrays) -> int:
    table = arrays.shaft.table_eur
    return int(ROOM_COLUMNS * arrays.ground.ground_m.shape[1] * table.shape[2] * table.shape[4])


def with_room(arrays: SearchArrays, result: PassResult) -> PassResult:
    """Return a result with room for more labels; its open cut is the same memory."""
    n = _n_labels_at_first(arrays)
    return result._replace(
        label_eur=np.concatenate([result.label_eur, np.empty(n)]),
        label_level=np.concatenate([result.label_level, np.empty(n, np.int64)]),
        label_role=np.concatenate([result.label_role, np.empty(n, np.int64)]),
        label_other=np.concatenate([result.label_other, np.empty(n, np.int64)]),
        label_drive=np.concatenate([result.label_drive, np.empty(n, np.int64)]),
    )


def _without_states(arrays: SearchArrays) -> PassResult:
    """Return an empty result for labels, with closed shafts as its only state of open cut."""
    nx, ny = arrays.ground.ground_m.shape
    n = _n_labels_at_first(arrays)
    return PassResult(
        np.empty((1, nx, ny)),
        np.empty((1, nx, ny), np.int8),
        np.empty((1, nx, ny), np.int32),
        np.zeros(nx * ny, np.int64),
        np.zeros(nx * ny, np.int32),
        np.empty(n),
        np.empty(n, np.int64),
        np.empty(n, np.int64),
        np.empty(n, np.int64),
        np.empty(n, np.int64),
        0,
        0,
    )
