"""Spacing of bores that the cables' heat asks for, by depth and ground: a table that is read, not solved.

Room: ``engineering``. Pure arrays in SI units; imports numpy and its neighbours for ratings only.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.rating_solved import spacing_needed_m

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from routescreen.engineering.rating import HeatPath


def spacing_table_m(
    current_A: float,
    depth_m: ArrayLike,
    *,
    rho_K_m_per_W: ArrayLike,
    drying_ratio: ArrayLike,
    ground_degC: ArrayLike,
    n_cables: int,
    path: HeatPath,
    most_m: float,
    share: ArrayLike = 1.0,
) -> NDArray[np.float64]:
    """Spacing between equally spaced bores at one depth that lets the cables carry a current.

    Parameters
    ----------
    current_A : float
        Current asked for [A].
    depth_m : array_like of shape (k,)
        Depths of the axes, growing [m].
    rho_K_m_per_W, drying_ratio : array_like of shape (s,)
        Kinds of ground: resistivity while moist [K m/W], dried over moist, 1 where it can't dry out [-].
    ground_degC : array_like of shape (k,)
        Undisturbed ground at each depth [degC].
    n_cables : int
        Bores side by side, one cable each.
    path : HeatPath
        Resistances and limits inside the ground; its ground isn't read.
    most_m : float
        Widest spacing looked for [m].
    share : array_like of shape (n_cables,)
        Each cable's share of the current [-].

    Returns
    -------
    ndarray of float64, shape (s, k)
        The diameter in the ground where that suffices, infinite where even `most_m` doesn't [m]. Grows with
        current, resistivity and drying ratio. It need not grow with depth: the ground gets cooler downwards.

    See Also
    --------
    never_less_below_m : what a bound that must grow with depth is read from.

    Raises
    ------
    ValueError
        If depths don't grow or lie within the radius.
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    if depth.ndim != 1 or np.any(~(np.diff(depth) > 0.0)) or np.any(depth <= path.outer_diameter_m / 2.0):
        raise ValueError("need growing depths below the radius of the bore")
    rho, ratio = (np.asarray(part, dtype=np.float64)[:, np.newaxis] for part in (rho_K_m_per_W, drying_ratio))
    shape = np.broadcast_shapes(rho.shape, ratio.shape, (1, depth.size))
    ground = np.broadcast_to(np.asarray(ground_degC, dtype=np.float64), shape)
    each = replace(
        path,
        ground_degC=ground[..., np.newaxis],
        rho_K_m_per_W=np.broadcast_to(rho, shape)[..., np.newaxis],
        drying_ratio=np.broadcast_to(ratio, shape)[..., np.newaxis],
    )
    needed = spacing_needed_m(
        current_A,
        np.broadcast_to(depth, shape),
        n_cables,
        each,
        least_m=path.outer_diameter_m,
        most_m=most_m,
        share=share,
    )
    return np.where(np.isnan(needed), np.inf, needed)


def never_less_below_m(needed_m: ArrayLike) -> NDArray[np.float64]:
    """Raise a table so that no deeper bore asks for less than a shallower one.

    Parameters
    ----------
    needed_m : array_like of shape (..., k)
        Spacing by growing depth [m].

    Returns
    -------
    ndarray of float64, shape (..., k)
        Running maximum over the depths: never below what is needed, and the least such that grows [m].

    Examples
    --------
    >>> never_less_below_m([2.0, 1.5, 3.0])
    array([2., 2., 3.])
    """
    return np.maximum.accumulate(np.asarray(needed_m, dtype=np.float64), axis=-1)


def spacing_at_m(depth_m: ArrayLike, table_depth_m: ArrayLike, needed_m: ArrayLike) -> NDArray[np.float64]:
    """Read a table that grows with depth, on the safe side.

    Parameters
    ----------
    depth_m : array_like of shape (n,)
        Depths of the axes [m].
    table_depth_m, needed_m : array_like of shape (k,)
        A row of `never_less_below_m` and its depths [m].

    Returns
    -------
    ndarray of float64, shape (n,)
        The entry at the next depth of the table, infinite beyond its last: never less than what is needed
        at a depth where the need grows [m].

    Examples
    --------
    >>> spacing_at_m([1.0, 1.2, 9.0], [1.0, 2.0], [0.5, 0.8])
    array([0.5, 0.8, inf])
    """
    entries = np.append(np.asarray(needed_m, dtype=np.float64), np.inf)
    return entries[np.searchsorted(np.asarray(table_depth_m, dtype=np.float64), depth_m, side="left")]
