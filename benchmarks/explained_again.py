"""What explanations say, found the long way: the whole corridor solved again with a constraint more or less.

Whole passes that scan every pair, on arrays that hold the constraint; nothing of the explanations is used.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from benchmarks.proof import run
from routescreen.search.solve import optimum_eur

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.solve import Node

TOO_DEAR_EUR = 1e9


def solved_again_eur(arrays: SearchArrays) -> float:
    """Return the least cost of a plan by a whole pass that scans every pair [EUR]."""
    return optimum_eur(arrays, run(arrays, is_pruned=False))


def shaft_there(arrays: SearchArrays, node: Node, has_drives: tuple[bool, bool]) -> SearchArrays:
    """Return arrays on which every plan has a shaft at a node, for drives on the given sides.

    The node is pinned, and a shaft for other sides costs more than any plan.
    """
    pin_shaft = arrays.pin_shaft.copy()
    pin_shaft[node[0]] = node[1]
    site, n_roles = arrays.shaft.site, arrays.shaft.table_eur.shape[2]
    is_other = np.ones((n_roles, n_roles), np.bool_)
    wanted = tuple(slice(1, None) if has else slice(0, 1) for has in has_drives)
    is_other[wanted] = False
    kind = site.kind.copy()
    own = int(kind[node])
    kind[node] = len(site.near_eur)
    dear = np.where(is_other, TOO_DEAR_EUR, 0.0)[None]
    priced = site._replace(
        kind=kind,
        near_eur=np.concatenate([site.near_eur, site.near_eur[own][None] + dear]),
        far_eur=np.concatenate([site.far_eur, site.far_eur[own][None] + dear]),
    )
    return arrays._replace(pin_shaft=pin_shaft, shaft=arrays.shaft._replace(site=priced))


def extra_with_shaft_eur(
    arrays: SearchArrays, node: Node, has_drives: tuple[bool, bool], optimum: float
) -> float:
    """Return what the cheapest plan with such a shaft costs more than the optimum [EUR]."""
    other = arrays.pin_shaft[node[0]]
    if other >= 0 and other != node[1]:
        return np.inf
    eur = solved_again_eur(shaft_there(arrays, node, has_drives))
    return eur - optimum if eur < TOO_DEAR_EUR else np.inf
