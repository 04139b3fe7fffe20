"""How far drives can span in a plan within a limit, compiled: by column, from both passes' values.

Room: ``search``. A drive from one column to another costs at least the cheapest start in the one, the least
rate of every column that it passes whole, and the least rest in the other. Where that lies beyond the limit
no plan within it has such a drive.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.compiled import by_reference, compiled
from routescreen.search.label_kernel import least_levels, start_eur
from routescreen.search.wedge_ways import open_column

if TYPE_CHECKING:
    from routescreen.search.arrays import Booleans, Floats, Integers, SearchArrays
    from routescreen.search.label_kernel import PassResult
    from routescreen.search.wedge_ways import Ways


@compiled
def look_over(
    s: SearchArrays,
    forward: PassResult,
    backward: PassResult,
    ways: Ways,
    least: Integers,
    start_eur_: Floats,
    rest_eur: Floats,
) -> None:
    """Fill what drives cost at least before they start at each node and behind their end, (nx, ny, nr) [EUR].

    By role, the shaft included, as deep as the node at least asks for: deeper ones cost no less, as the
    bounds of ``wedge_ways`` have it. The least rates of all columns come into `ways.floor_eur`; `least` (nr,)
    is work space.
    """
    arrays, before, behind = by_reference(s), by_reference(forward), by_reference(backward)
    n_levels = s.shaft.table_eur.shape[4]
    for column in range(s.ground.ground_m.shape[0]):
        open_column(arrays, ways, column)
        for row in range(s.ground.ground_m.shape[1]):
            least_levels(arrays, column, row, least)
            for role in range(1, least.shape[0]):
                if least[role] < n_levels and may_stand(arrays, column, row, role):
                    at = (column, row, role)
                    start_eur_[at] = start_eur(arrays, before, column, row, role, least[role])[0]
                    rest_eur[at] = start_eur(arrays, behind, column, row, role, least[role])[0]


@compiled
def may_stand(s: SearchArrays, column: int, row: int, role: int) -> bool:
    """Return whether a shaft of a role may stand at a node for any heading."""
    for heading in range(s.shaft.is_allowed.shape[4]):
        if s.shaft.is_allowed[column, row, (role - 1) // 2, (role - 1) % 2, heading]:
            return True
    return False


@compiled
def fill_least(
    values_eur: Floats, is_beyond: Booleans, first: int, last: int, method: int, out: Floats
) -> None:
    """Fill the least value of some columns by side and role of a method, (n columns, 2, 2)."""
    out[:] = math.inf
    for column in range(first, last + 1):
        for row in range(values_eur.shape[1]):
            side = 1 if is_beyond[column, row] else 0
            for way in range(2):
                eur = values_eur[column, row, 1 + 2 * method + way]
                out[column - first, side, way] = min(out[column - first, side, way], eur)


@compiled
def drives_within(
    start_eur_: Floats,
    rest_eur: Floats,
    rate_eur: Floats,
    longest_m: float,
    width_m: Floats,
    is_closed: bool,
    span: Integers,
    limit_eur: float,
) -> tuple[int, int]:
    """Return how many columns a drive of a method spans at most, and the furthest column where one ends.

    Parameters
    ----------
    start_eur_, rest_eur : ndarray of shape (n columns, 2, 2)
        By side of what is closed and role, from the first column at hand on; see ``fill_least`` [EUR].
    rate_eur : ndarray of shape (n columns,)
        Least rate of each column [EUR/m].
    longest_m : float
        Longest drive of the method [m].
    width_m : ndarray of shape (n columns,)
        Least length within each column [m].
    is_closed : bool
        Whether no drive leads from one side to the other.
    span : ndarray of int64, shape (3,)
        Of the drives asked for: first column where they end; column before which they start; most columns
        that they span.
    limit_eur : float
        Most that a plan may cost [EUR].

    Returns
    -------
    tuple of int
        0 and -1 where no plan within the limit has such a drive.
    """
    n, (ends_from, starts_before, longest) = start_eur_.shape[0], span
    most, furthest = 0, -1
    for start in range(max(ends_from - longest, 0), min(starts_before, n)):
        on_way_eur = on_way_m = 0.0
        for end in range(start + 1, min(start + longest, n - 1) + 1):
            if end >= ends_from:
                eur = _least_sum(start_eur_[start], rest_eur[end], is_closed)
                if eur + on_way_eur <= limit_eur:
                    most, furthest = max(most, end - start), max(furthest, end)
            on_way_m += width_m[end]
            on_way_eur += rate_eur[end] * width_m[end]
            if on_way_m > longest_m or on_way_eur == math.inf:
                break
    return most, furthest


@compiled
def _least_sum(one_eur: Floats, other_eur: Floats, is_closed: bool) -> float:
    """Return the least sum of a launch and a reception on sides between which drives may lead [EUR]."""
    least = math.inf
    for near in range(2):
        for far in range(2):
            if is_closed and near != far:
                continue
            for way in range(2):
                least = min(least, one_eur[near, way] + other_eur[far, 1 - way])
    return least
