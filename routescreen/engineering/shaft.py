"""Shafts: size in plan, volume by depth bands, uplift of the base.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def plan_size_m(lengths_m: ArrayLike, widths_m: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Inside size in plan of a shaft that serves two drives.

    Parameters
    ----------
    lengths_m, widths_m : array_like of shape (2, ...)
        Length along the drive and width across that each of the two drives needs, 0 where there is
        no drive [m].

    Returns
    -------
    length_m, width_m : ndarray of float64, shape (...)
        The larger of each [m].
    """
    return np.max(np.asarray(lengths_m, dtype=np.float64), axis=0), np.max(
        np.asarray(widths_m, dtype=np.float64), axis=0
    )


def depth_in_bands_m(depth_m: ArrayLike, band_base_m: ArrayLike) -> NDArray[np.float64]:
    """Part of a depth that lies in each band from the surface down.

    Parameters
    ----------
    depth_m : array_like of shape (...)
        Depth below ground [m].
    band_base_m : array_like of shape (n_bands,)
        Lower end of each band, growing; what lies below the last one counts in the last band [m].

    Returns
    -------
    ndarray of float64, shape (..., n_bands)
        Their sum is the depth [m].

    Examples
    --------
    >>> depth_in_bands_m(11.2, [4.0, 8.0, 12.0]).round(3)
    array([4. , 4. , 3.2])
    """
    depth = np.asarray(depth_m, dtype=np.float64)[..., np.newaxis]
    bases = np.array(band_base_m, dtype=np.float64)
    tops = np.concatenate([[0.0], bases[:-1]])
    bases[-1] = np.inf
    return np.asarray(np.clip(depth, tops, bases) - tops)


def uplift_deficit_kPa(
    depth_m: ArrayLike,
    groundwater_depth_m: ArrayLike,
    plug_m: ArrayLike,
    *,
    concrete_kN_per_m3: float,
    water_kN_per_m3: float,
    weight_factor: float,
    water_factor: float,
) -> NDArray[np.float64]:
    """Uplift under a base plug that its weight does not hold.

    Parameters
    ----------
    depth_m : array_like
        Depth of the plug's top below ground [m].
    groundwater_depth_m : array_like
        Depth of the water below ground, at its highest [m].
    plug_m : array_like
        Thickness of the plug [m].
    concrete_kN_per_m3, water_kN_per_m3 : float
        Unit weights of the plug and of water [kN/m3].
    weight_factor, water_factor : float
        Factors on the holding weight and on the water pressure [-].

    Returns
    -------
    ndarray of float64
        What anchors or wall friction must hold, per area in plan, at least 0 [kPa].

    Notes
    -----
    f_w gamma_w (h + t) - f_g gamma_c t, h the head above the plug's top.

    References
    ----------
    EN 1997-1, 2.4.7.4 (uplift).
    """
    head = np.asarray(depth_m, dtype=np.float64) - np.asarray(groundwater_depth_m, dtype=np.float64)
    plug = np.asarray(plug_m, dtype=np.float64)
    water = water_factor * water_kN_per_m3 * np.maximum(head + plug, 0.0)
    return np.maximum(water - weight_factor * concrete_kN_per_m3 * plug, 0.0)
