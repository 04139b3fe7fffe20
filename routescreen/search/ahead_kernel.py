"""What is still to come at a node, compiled, and what may be dropped because of it.

Room: ``search``. A pass in one direction reads here the finished values of the other one: the least cost of
the rest of any plan from a state on. With a limit on the cost of whole plans this drops states early.

Every rule keeps each state of each plan within the limit, with its exact cost. Let g be the least cost to a
state and h the least cost of the rest. The states before it on a cheapest way to it have g' + h' <= g + h:
their rest may go on along that way. So while g + h is within the limit none of them is dropped, and by
induction over the columns g comes out exact. Where g + h lies beyond the limit the cost found may be too
high, never too low: all that is ever added up is the cost of pieces that exist. The values of the other pass
may be of the same kind: a rest that reads too high belongs to no plan within the limit.

A rule that drops a state because another at the node is no dearer *whatever follows* gets along with this: in
the other pass it changes no least rest, and in the pass at work a plan through the other state costs no more
with the same rest, so the other state lies within the limit where the dropped one does.

Sums in another order differ in their last digits, so the limit is taken ``SLACK_EUR`` wider.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import compiled
from routescreen.search.label_kernel import start_eur
from routescreen.search.wedge_fan import SLACK_EUR

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.label_kernel import Found, PassResult


@compiled
def trench_rest_eur(s: SearchArrays, other: PassResult, column: int, row: int, state: int) -> float:
    """Return the least cost of the rest from an open-cut state on; see ``join_kernel`` [EUR].

    A closed shaft (state 0) must be followed by open cut that is free of the least run; a run of `state`
    columns by one that makes it long enough, or, where it is free, by a closed shaft of the other side. A
    run that goes on has paid for the crossings that the node lies in on both sides, once too often.
    """
    k, last = s.trench.fresh_columns, s.pin_shaft.shape[0] - 1
    best = math.inf
    for beyond in range(k - state, k + 1):
        eur = other.trench_eur[beyond, column, row]
        if state > 0 and beyond > 0:
            if s.pin_shaft[column] >= 0:
                continue
            if 0 < column < last:
                eur -= s.trench.inside_eur[column, row]
        best = min(best, eur)
    return best


@compiled
def limit_trench(
    s: SearchArrays, r: PassResult, other: PassResult, column: int, row: int, limit_eur: float
) -> None:
    """Drop the open-cut states of a node that no plan within the limit has.

    A plan through the state costs at least its cost and the least rest, which ``trench_rest_eur`` takes
    over all that may follow: g + h > limit.
    """
    for state in range(s.trench.fresh_columns + 1):
        eur = r.trench_eur[state, column, row]
        if eur < math.inf and eur + trench_rest_eur(s, other, column, row, state) > limit_eur + SLACK_EUR:
            r.trench_eur[state, column, row] = math.inf


@compiled
def limit_drives(
    s: SearchArrays, found: Found, other: PassResult, column: int, row: int, limit_eur: float
) -> None:
    """Lower what an arriving drive must beat to what a plan within the limit leaves for it.

    A drive of a role that needs a depth is followed at least by the cheapest of what the other pass has at
    the node, its own shaft or the shared one included, as deep as both need: ``start_eur`` of the other
    pass, as in the join of both. With c >= limit less that rest, c + h >= limit. The rest grows with the
    depth, so what is to beat falls with it, as the bounds of ``wedge_bound`` ask.
    """
    n_roles, n_levels = found.threshold.shape
    for role in range(1, n_roles):
        least = found.least[role]
        if least >= n_levels or found.threshold[role, least] == -math.inf:
            continue
        most = math.inf
        for level in range(least, n_levels):
            if most > 0.0:  # nothing arrives for less
                rest = start_eur(s, other, column, row, role, level)[0]
                most = limit_eur + SLACK_EUR - rest if rest < math.inf else -math.inf
            found.threshold[role, level] = min(found.threshold[role, level], most)
