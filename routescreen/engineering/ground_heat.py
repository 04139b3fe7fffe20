"""The ground around cables: its temperature and resistivity at depth, drying, and how it is heated.

Room: ``engineering``. Pure arrays in SI units; imports numpy and `heat` only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.heat import image_log

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def damping_depth_m(diffusivity_m2_per_s: ArrayLike, period_s: ArrayLike) -> NDArray[np.float64]:
    """Depth at which the swing of the surface's temperature has fallen to 1/e.

    Parameters
    ----------
    diffusivity_m2_per_s : array_like
        Thermal diffusivity a of the ground [m2/s].
    period_s : array_like
        Period P of the swing, a year or a day [s].

    Returns
    -------
    ndarray of float64
        sqrt(a P / pi) [m].

    References
    ----------
    Carslaw, H. S. and Jaeger, J. C. (1959), *Conduction of heat in solids*, 2.6 (from memory).
    """
    period = np.asarray(period_s, dtype=np.float64)
    return np.asarray(np.sqrt(np.asarray(diffusivity_m2_per_s, dtype=np.float64) * period / math.pi))


def surface_swing_K(
    known_degC: ArrayLike, known_depth_m: ArrayLike, *, mean_degC: ArrayLike, damping_m: ArrayLike
) -> NDArray[np.float64]:
    """Swing of the surface's temperature that makes a known highest temperature at one depth.

    Parameters
    ----------
    known_degC, known_depth_m : array_like
        Highest temperature of the year, and the depth where it is known [degC], [m].
    mean_degC : array_like
        Mean of the year, which is the temperature far below [degC].
    damping_m : array_like
        See `damping_depth_m` [m].

    Returns
    -------
    ndarray of float64
        Half of the distance between the highest and the lowest [K].

    See Also
    --------
    ground_degC : the other way round.
    """
    warmer = np.asarray(known_degC, dtype=np.float64) - np.asarray(mean_degC, dtype=np.float64)
    return np.asarray(
        warmer * np.exp(np.asarray(known_depth_m, dtype=np.float64) / np.asarray(damping_m)), dtype=np.float64
    )


def ground_degC(
    depth_m: ArrayLike, *, mean_degC: ArrayLike, swing_K: ArrayLike, damping_m: ArrayLike
) -> NDArray[np.float64]:
    """Highest temperature of the year at a depth, without any cable.

    Parameters
    ----------
    depth_m : array_like
        Depth below the surface; above it counts as the surface [m].
    mean_degC, swing_K : array_like
        Mean of the year [degC] and swing at the surface [K].
    damping_m : array_like
        See `damping_depth_m` [m].

    Returns
    -------
    ndarray of float64
        T_mean + A exp(-z / d) [degC].

    Notes
    -----
    Each depth at its own warmest day: deeper ground is warmest later. Uniform ground, no groundwater
    flow.

    References
    ----------
    Carslaw, H. S. and Jaeger, J. C. (1959), *Conduction of heat in solids*, 2.6 (from memory).

    Examples
    --------
    >>> ground_degC([0.0, 2.5, 100.0], mean_degC=11.0, swing_K=10.0, damping_m=2.5).round(2)
    array([21.  , 14.68, 11.  ])
    """
    depth = np.maximum(np.asarray(depth_m, dtype=np.float64), 0.0)
    swing = np.asarray(swing_K, dtype=np.float64) * np.exp(-depth / np.asarray(damping_m, dtype=np.float64))
    return np.asarray(np.asarray(mean_degC, dtype=np.float64) + swing)


def value_at_depth(depth_m: ArrayLike, base_m: ArrayLike, values: ArrayLike) -> NDArray[np.float64]:
    """Value of the layer of ground in which a depth lies, of its thermal resistivity for one.

    Parameters
    ----------
    depth_m : array_like of shape (...)
        Depths below the surface [m].
    base_m : array_like of shape (n,)
        Base of each layer, growing; the last layer goes on below its base [m].
    values : array_like of shape (n,)
        Value of each layer.

    Returns
    -------
    ndarray of float64, shape (...)
        On a base the value of the layer above; NaN where the depth is NaN.

    Raises
    ------
    ValueError
        If the bases don't grow or if there are not as many values.
    """
    base, value = np.asarray(base_m, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if base.ndim != 1 or base.shape != value.shape or base.size == 0 or np.any(np.diff(base) <= 0.0):
        raise ValueError("bases must grow from layer to layer, with one value for each layer")
    depth = np.asarray(depth_m, dtype=np.float64)
    layer = np.minimum(np.searchsorted(base, depth, side="left"), base.size - 1)
    return np.where(np.isnan(depth), np.nan, value[layer])


@dataclass(frozen=True, slots=True)
class GroundResistivity:
    """Resistivity of the ground round cables before it dries out, and how many times it grows when it does.

    Parameters
    ----------
    rho_K_m_per_W : ndarray of float64
        Saturated where the crown lies below the lowest groundwater, moist elsewhere [K m/W].
    drying_ratio : ndarray of float64
        v = dry / moist, and 1 where the crown lies below the lowest groundwater [-].
    column_m : ndarray of float64
        Height of the moist ground above the lowest groundwater where the crown lies below it, else 0 [m].
    """

    rho_K_m_per_W: NDArray[np.float64]
    drying_ratio: NDArray[np.float64]
    column_m: NDArray[np.float64]


def ground_resistivity(
    top_depth_m: ArrayLike,
    lowest_groundwater_m: ArrayLike,
    *,
    saturated_K_m_per_W: ArrayLike,
    moist_K_m_per_W: ArrayLike,
    dry_K_m_per_W: ArrayLike,
) -> GroundResistivity:
    """Resistivity of the ground round a cable by its place above or below the groundwater.

    Parameters
    ----------
    top_depth_m : array_like
        Depth of the crown of cable, pipe or bore [m].
    lowest_groundwater_m : array_like
        Depth of the lowest groundwater; NaN where unknown, which counts as below the crown: the worse [m].
    saturated_K_m_per_W, moist_K_m_per_W, dry_K_m_per_W : array_like
        Resistivities of the ground below the groundwater, above it undisturbed, dried out by heat [K m/W].

    Returns
    -------
    GroundResistivity

    Examples
    --------
    >>> given = {"saturated_K_m_per_W": 0.75, "moist_K_m_per_W": 1.0, "dry_K_m_per_W": 2.5}
    >>> found = ground_resistivity([1.0, 4.0], 3.0, **given)
    >>> print(found.rho_K_m_per_W, found.drying_ratio, found.column_m)
    [1.   0.75] [2.5 1. ] [0. 3.]
    """
    is_below = np.asarray(top_depth_m, dtype=np.float64) >= np.asarray(lowest_groundwater_m)
    moist = np.asarray(moist_K_m_per_W, dtype=np.float64)
    ratio = np.asarray(dry_K_m_per_W, dtype=np.float64) / moist
    saturated = np.asarray(saturated_K_m_per_W, dtype=np.float64)
    above_m = np.maximum(np.asarray(lowest_groundwater_m, dtype=np.float64), 0.0)
    return GroundResistivity(
        np.where(is_below, saturated, moist),
        np.where(is_below, 1.0, ratio),
        np.where(is_below, above_m, 0.0),
    )


def soil_rise_K(
    depth_m: ArrayLike,
    offset_m: ArrayLike,
    *,
    source_depth_m: ArrayLike,
    source_offset_m: ArrayLike,
    heat_W_per_m: ArrayLike,
    rho_K_m_per_W: ArrayLike,
    ratio: ArrayLike = 1.0,
    drying_rise_K: float = math.inf,
) -> NDArray[np.float64]:
    """Rise of the ground's temperature at points, caused by line sources.

    Parameters
    ----------
    depth_m, offset_m : array_like of shape (..., m)
        Points [m].
    source_depth_m, source_offset_m, heat_W_per_m : array_like of shape (..., k)
        Line sources: cables, heat pipes, pipelines [m], [W/m]. One that crosses counts as parallel at
        its place of crossing, which is on the safe side.
    rho_K_m_per_W : array_like
        Resistivity of the moist ground, against shape (..., m) [K m/W].
    ratio : array_like
        Dry over moist resistivity, against shape (..., m) [-].
    drying_rise_K : float
        Rise above which the ground is dry [K].

    Returns
    -------
    ndarray of float64, shape (..., m)
        Rise over the undisturbed ground; NaN on a source and above the surface [K].

    Notes
    -----
    rho / (2 pi) sum W ln(d'/d) in moist ground; where that is above dtheta_x, the ground is dry and the
    rise is v times it less (v - 1) dtheta_x: Kirchhoff's transformation, exact for a resistivity that
    changes at one temperature. Steady state.

    References
    ----------
    IEC 60287-2-1 (images); IEC 60287-1-1 (partial drying-out; from memory).
    """
    points, sources = (..., slice(None), np.newaxis), (..., np.newaxis, slice(None))
    logs = image_log(
        np.asarray(depth_m, dtype=np.float64)[points],
        np.asarray(offset_m, dtype=np.float64)[points],
        np.asarray(source_depth_m, dtype=np.float64)[sources],
        np.asarray(source_offset_m, dtype=np.float64)[sources],
    )
    heat = np.asarray(heat_W_per_m, dtype=np.float64)[sources]
    moist = np.asarray(rho_K_m_per_W, dtype=np.float64) / (2.0 * math.pi) * np.sum(logs * heat, axis=-1)
    over = np.maximum(moist - drying_rise_K, 0.0)
    return np.asarray(moist + (np.asarray(ratio, dtype=np.float64) - 1.0) * over)
