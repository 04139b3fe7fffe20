"""Where a forward and a backward pass meet at least cost, compiled.

Room: ``search``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from routescreen.compiled import by_reference, compiled
from routescreen.search.label_kernel import start_eur

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.label_kernel import PassResult


class Join(NamedTuple):
    """A node at which both passes meet, with what each holds there.

    `before_state`, `after_state` the open-cut states of the forward and the backward pass, or
    `before_label`, `after_label` their labels, -1 where it is a state; a forward label that is joined to
    the free open cut by a shaft of its own has an `after_label` of -1 and no `after_state` but the free
    one.
    """

    eur: float
    column: int
    row: int
    before_state: int
    before_label: int
    after_state: int
    after_label: int


@compiled
def joined_eur(s: SearchArrays, forward: PassResult, backward: PassResult, column: int) -> float:
    """Return the least cost of all plans that have a node in a column [EUR]."""
    return float(best_in_column(by_reference(s), forward, backward, column).eur)


@compiled
def best_join(
    s: SearchArrays, forward: PassResult, backward: PassResult, first_column: int, last_column: int
) -> Join:
    """Return the least-cost join in some columns.

    Parameters
    ----------
    s : SearchArrays
    forward, backward : PassResult
        Passes that have both visited the columns.
    first_column, last_column : int

    Returns
    -------
    Join
        With a cost of inf where there is none.
    """
    arrays = by_reference(s)
    best = best_in_column(arrays, forward, backward, first_column)
    for column in range(first_column + 1, last_column + 1):
        join = best_in_column(arrays, forward, backward, column)
        if join.eur < best.eur:
            best = join
    return best


@compiled
def best_in_column(s: SearchArrays, forward: PassResult, backward: PassResult, column: int) -> Join:
    """Return the least-cost join in one column; see ``best_join``."""
    best = Join(math.inf, column, 0, 0, -1, 0, -1)
    for row in range(s.ground.ground_m.shape[1]):
        join = _best_trench_join(s, forward, backward, column, row)
        if join.eur < best.eur:
            best = join
        join = _best_label_join(s, forward, backward, column, row)
        if join.eur < best.eur:
            best = join
    return best


@compiled
def _best_trench_join(
    s: SearchArrays, forward: PassResult, backward: PassResult, column: int, row: int
) -> Join:
    """Join two open cuts: together they must be long enough between two shafts."""
    k, last = s.trench.fresh_columns, s.pin_shaft.shape[0] - 1
    best = Join(math.inf, column, row, 0, -1, 0, -1)
    for one in range(k + 1):
        for other in range(k + 1):
            if one + other < k:
                continue
            eur = forward.trench_eur[one, column, row] + backward.trench_eur[other, column, row]
            if one > 0 and other > 0:
                if s.pin_shaft[column] >= 0:
                    continue
                if 0 < column < last:  # one run from both sides, counted twice
                    eur -= s.trench.inside_eur[column, row]
            if eur < best.eur:
                best = Join(eur, column, row, one, -1, other, -1)
    return best


@compiled
def _best_label_join(
    s: SearchArrays, forward: PassResult, backward: PassResult, column: int, row: int
) -> Join:
    """Join a drive that has arrived to whatever starts here."""
    node = column * s.ground.ground_m.shape[1] + row
    best = Join(math.inf, column, row, 0, -1, 0, -1)
    for index in range(forward.label_start[node], forward.label_start[node] + forward.label_count[node]):
        role, level = forward.label_role[index], forward.label_level[index]
        rest, source = start_eur(s, backward, column, row, role, level)
        eur = forward.label_eur[index] + rest
        if eur < best.eur:
            best = Join(eur, column, row, 0, index, s.trench.fresh_columns, source)
    return best
