"""Ratings that must be solved for: pipes filled with air, and the spacing that a current needs.

Room: ``engineering``. Pure arrays in SI units; imports numpy, `heat` and `rating` only. Outside the range
of validity a result is NaN: not evaluated, never passed.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.heat import FluidFill, fluid_fill_K_m_per_W
from routescreen.engineering.rating import Bedding, GroupRating, HeatPath, group_rating

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

_BISECTIONS = 60  # halves any distance in metres to less than the rounding of a float64
_FLUID_ROUNDS = 12  # each leaves less than a tenth of the error before it


def fluid_filled_rating(
    depth_m: ArrayLike,
    offset_m: ArrayLike,
    path: HeatPath,
    *,
    cable_diameter_m: float,
    cable_K_m_per_W: float,
    fill: FluidFill,
    share: ArrayLike = 1.0,
    other_rise_K: ArrayLike = 0.0,
    bedding: Bedding | None = None,
) -> GroupRating:
    """Rating of a group in pipes filled with air, whose resistance follows from its own temperature.

    Parameters
    ----------
    depth_m, offset_m, share, other_rise_K, bedding
        See `group_rating`.
    path : HeatPath
        Its inside resistance without that of the fluid: T1 + T3 + wall + ring.
    cable_diameter_m : float
        Outer diameter of the cable [m].
    cable_K_m_per_W : float
        T1 + T3 of the cable [K m/W].
    fill : FluidFill
        Constants of the pipe's material.

    Returns
    -------
    GroupRating
        At the fluid's mean temperature of each position's hottest cable.

    Notes
    -----
    Fixed point: the fluid's mean temperature is the conductor's less W (T1 + T3) and less half of the
    fluid's own fall W T4'. The form of T4' changes slowly with temperature, so the rounds contract fast.
    """
    mean = np.asarray(path.conductor_degC - 10.0)
    inside = np.asarray(path.inside_K_m_per_W, dtype=np.float64)
    for _ in range(_FLUID_ROUNDS):
        fluid = fluid_fill_K_m_per_W(cable_diameter_m, mean, fill)
        found = group_rating(
            depth_m,
            offset_m,
            replace(path, inside_K_m_per_W=inside + fluid),
            share=share,
            other_rise_K=other_rise_K,
            bedding=bedding,
        )
        most = np.max(np.asarray(share, dtype=np.float64) ** 2, axis=-1, keepdims=np.ndim(share) > 0)
        heat = found.rating_A[..., np.newaxis] ** 2 * path.conductor_ohm_per_m * most
        mean = path.conductor_degC - heat * (cable_K_m_per_W + 0.5 * fluid)
    return found


def spacing_needed_m(
    current_A: ArrayLike,
    depth_m: ArrayLike,
    n_cables: int,
    path: HeatPath,
    *,
    least_m: float,
    most_m: float,
    share: ArrayLike = 1.0,
    other_rise_K: ArrayLike = 0.0,
) -> NDArray[np.float64]:
    """Distance between equally spaced cables at the same depth that carries a current.

    Parameters
    ----------
    current_A, depth_m : array_like of shape (...)
        Current asked for [A], depth of the axes [m].
    n_cables : int
        Cables, pipes or bores side by side.
    path : HeatPath
        Resistances, ground and limits; its arrays have a last axis of 1.
    least_m, most_m : float
        Distances to search between [m].
    share : array_like of shape (n_cables,)
        See `group_rating`.
    other_rise_K : array_like of shape (..., 1)
        See `group_rating`; taken as the same for all of them [K].

    Returns
    -------
    ndarray of float64, shape (...)
        The least that suffices; `least_m` where that does, NaN where even `most_m` doesn't [m].

    Notes
    -----
    A wider group is never hotter, so bisection between the two is safe.

    Raises
    ------
    ValueError
        If there is no cable or the distances are not 0 < least <= most.
    """
    if n_cables < 1 or not 0.0 < least_m <= most_m:
        raise ValueError("need at least one cable and distances with 0 < least <= most")
    depth = np.asarray(depth_m, dtype=np.float64)
    current, depth = np.broadcast_arrays(np.asarray(current_A, dtype=np.float64), depth)
    places = np.arange(n_cables) - (n_cables - 1) / 2.0

    def carries(spacing_m: NDArray[np.float64]) -> NDArray[np.bool_]:
        offsets = spacing_m[..., np.newaxis] * places
        found = group_rating(depth[..., np.newaxis], offsets, path, share=share, other_rise_K=other_rise_K)
        return np.asarray(found.rating_A >= current)

    low, high = np.full(depth.shape, least_m), np.full(depth.shape, most_m)
    suffices, is_enough = carries(low), carries(high)
    is_sought = ~suffices & is_enough
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        if not np.any(is_sought & (low < middle) & (middle < high)):
            break  # no number lies between
        is_carried = carries(middle)
        low, high = np.where(is_carried, low, middle), np.where(is_carried, middle, high)
    return np.where(suffices, least_m, np.where(is_enough, high, np.nan))
