"""The price of conducting fill in shafts, and which shafts have it, as tables for the search.

Room: ``search``. May import ``assumptions``, ``drives``, ``money`` and numpy.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.assumptions.once import once_per_assumptions
from routescreen.drives.methods import enabled_methods
from routescreen.drives.shaft_fill import NEVER, first_filled_level, steps_below_water
from routescreen.money.measure import conducting_fill, rates_eur

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.search.arrays import Floats, Integers


def fill_table_eur(n_roles: int, n_levels: int, a: Assumptions) -> Floats:
    """Return the price of the fill by soil, roles and level of depth, (ns, nr, nr, nl) [EUR].

    Parameters
    ----------
    n_roles, n_levels : int
    a : Assumptions

    Returns
    -------
    ndarray
        Whether it is bought or not; 0 throughout where it never is.
    """
    return _fill_table_eur(a, n_roles, n_levels).copy()  # compiled code takes arrays that may be written on


@once_per_assumptions
def _fill_table_eur(a: Assumptions, n_roles: int, n_levels: int) -> Floats:
    shape = (n_roles, n_roles, n_levels)
    table = np.zeros((len(a.soil), *shape))
    if not a.search.shaft_fill_steers:
        return table
    r, k, level = (index.ravel() for index in np.indices(shape))
    depth_m, rates = level * a.shaft.depth_step_m, rates_eur(a)
    for soil in range(len(a.soil)):
        table[soil] = (conducting_fill(r, k, soil, depth_m, a) @ rates).reshape(shape)
    return table


def fill_levels(n_roles: int, soils: NDArray[np.int16], a: Assumptions) -> Integers:
    """Return the first level that asks for the fill by soil, soil round the bores and role, (ns, ns, nr).

    Parameters
    ----------
    n_roles : int
    soils : ndarray of int
        Classes that occur: no others are looked at.
    a : Assumptions
    """
    levels = np.full((len(a.soil), len(a.soil), n_roles), NEVER, np.int64)
    occurs = np.unique(soils).tolist()
    for index, method in enumerate(enabled_methods(a)):
        for soil in occurs:
            for below in occurs:
                first = first_filled_level(a, method, soil, below)
                levels[soil, below, 1 + 2 * index : 3 + 2 * index] = first
    return levels


def fill_below(n_roles: int, a: Assumptions) -> Integers:
    """Return how many levels below the lowest groundwater a shaft that is filled ends at least, (nr,)."""
    steps = np.zeros(n_roles, np.int64)
    for index, method in enumerate(enabled_methods(a)):
        steps[1 + 2 * index : 3 + 2 * index] = steps_below_water(a, method)
    return steps
