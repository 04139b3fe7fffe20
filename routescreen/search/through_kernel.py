"""What the cheapest plan through a node costs, compiled: both passes' values put together.

Room: ``search``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import by_reference, compiled, no_literal
from routescreen.search.shaft_kernel import shaft_eur
from routescreen.search.wedge_fan import SLACK_EUR

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, SearchArrays
    from routescreen.search.label_kernel import PassResult


@compiled
def trench_through_eur(
    s: SearchArrays, forward: PassResult, backward: PassResult, column: int, row: int
) -> float:
    """Return the least cost of a plan that has a node in open cut, without a shaft there [EUR]."""
    k, last = s.trench.fresh_columns, s.pin_shaft.shape[0] - 1
    best = math.inf
    if s.pin_shaft[column] >= 0:
        return best
    for one in range(1, k + 1):
        for other in range(max(k - one, 1), k + 1):
            best = min(best, forward.trench_eur[one, column, row] + backward.trench_eur[other, column, row])
    if 0 < column < last:  # one run from both sides, counted twice
        best -= s.trench.inside_eur[column, row]
    return best


@compiled
def fill_shaft_eur(
    s: SearchArrays,
    forward: PassResult,
    backward: PassResult,
    arriving: PassResult,
    leaving: PassResult,
    column: int,
    row: int,
    out: Floats,
) -> None:
    """Fill the least cost of a plan with a shaft at a node, by its incoming and outgoing role (nr, nr).

    `forward`, `backward` hold the open cut that reaches the node from either side, `arriving`, `leaving` the
    labels that ``leg_kernel`` keeps for their own sake.
    """
    k = s.trench.fresh_columns
    node = column * s.ground.ground_m.shape[1] + row
    out[:] = math.inf
    free_before, free_after = forward.trench_eur[k, column, row], backward.trench_eur[k, column, row]
    none = no_literal(0)
    first, end = arriving.label_start[node], arriving.label_start[node] + arriving.label_count[node]
    first_after = leaving.label_start[node]
    end_after = first_after + leaving.label_count[node]
    for one in range(first, end):
        role, level, eur = arriving.label_role[one], arriving.label_level[one], arriving.label_eur[one]
        closed = eur + shaft_eur(s, column, row, role, none, level) + free_after
        out[role, 0] = min(out[role, 0], closed)
        for other in range(first_after, end_after):
            beyond, deeper = leaving.label_role[other], max(level, leaving.label_level[other])
            shared = eur + leaving.label_eur[other] + shaft_eur(s, column, row, role, beyond, deeper)
            out[role, beyond] = min(out[role, beyond], shared)
    for other in range(first_after, end_after):
        role, level = leaving.label_role[other], leaving.label_level[other]
        opened = free_before + shaft_eur(s, column, row, none, role, level) + leaving.label_eur[other]
        out[0, role] = min(out[0, role], opened)


@compiled
def fill_through_eur(
    s: SearchArrays,
    forward: PassResult,
    backward: PassResult,
    arriving: PassResult,
    leaving: PassResult,
    by_role_eur: Floats,
    limit_eur: float,
    trench_eur: Floats,
    shaft_eur_: Floats,
) -> None:
    """Fill the through-values of all nodes, (nx, ny), inf beyond the limit; `by_role_eur` is work space."""
    arrays = by_reference(s)
    nx, ny = s.ground.ground_m.shape
    for column in range(nx):
        for row in range(ny):
            eur = trench_through_eur(arrays, forward, backward, column, row)
            trench_eur[column, row] = eur if eur <= limit_eur + SLACK_EUR else math.inf
            fill_shaft_eur(arrays, forward, backward, arriving, leaving, column, row, by_role_eur)
            eur = math.inf
            for value in by_role_eur.flat:
                eur = min(eur, value)
            shaft_eur_[column, row] = eur if eur <= limit_eur + SLACK_EUR else math.inf
