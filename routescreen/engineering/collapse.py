"""Collapse of a plastic pipe under pressure from outside.

Room: ``engineering``. Pure arrays in SI units.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


def collapse_pressure_kPa(
    e_MPa: ArrayLike,
    sdr: ArrayLike,
    *,
    poisson: ArrayLike,
    ovality_factor: ArrayLike = 1.0,
    pull_factor: ArrayLike = 1.0,
) -> Array:
    """Pressure from outside at which an unsupported pipe collapses.

    Parameters
    ----------
    e_MPa : array_like
        Modulus of elasticity for the time that the pressure lasts [MPa].
    sdr : array_like
        Outer diameter over wall, above 1 [-].
    poisson : array_like
        [-]
    ovality_factor, pull_factor : array_like
        f_o, e.g. 0.62, and f_R, see `pull_reduction` [-].

    Returns
    -------
    ndarray of float64
        2 E f_o f_R/((1 - mu^2)(SDR - 1)^3), without a factor of safety [kPa].

    References
    ----------
    ASTM F1962 as given in Trenchless Technology Piping, p. 308 (eq. 6.6).
    """
    ring = positive("the SDR less 1", np.asarray(sdr, dtype=np.float64) - 1.0) ** 3
    plane = positive("1 less the square of Poisson's ratio", 1.0 - np.asarray(poisson, dtype=np.float64) ** 2)
    factor = np.asarray(ovality_factor, dtype=np.float64) * np.asarray(pull_factor, dtype=np.float64)
    return np.asarray(2.0 * positive("the modulus", e_MPa) * 1000.0 * factor / (plane * ring))


def ovality_reduction(ovality_frac: ArrayLike) -> Array:
    """Loss of collapse pressure of an oval pipe [-].

    Parameters
    ----------
    ovality_frac : array_like
        q, the largest deviation from the mean diameter over the mean diameter, below 1 [-].

    Returns
    -------
    ndarray of float64
        ((1 - q)/(1 + q)^2)^3.

    References
    ----------
    ASTM F1216, appendix X1 (from memory).
    """
    oval = not_negative("the ovality", ovality_frac)
    return np.asarray((positive("1 less the ovality", 1.0 - oval) / (1.0 + oval) ** 2) ** 3)


def pull_reduction(pull_kN: ArrayLike, safe_pull_kN: ArrayLike) -> Array:
    """Loss of collapse pressure of a pipe while it is pulled, f_R [-].

    Parameters
    ----------
    pull_kN, safe_pull_kN : array_like
        [kN]

    Returns
    -------
    ndarray of float64
        sqrt(5.57 - (r + 1.09)^2) - 1.09 with r = pull/(2 safe pull), at most 1; NaN beyond the safe
        pull, where the pipe fails anyhow.

    References
    ----------
    ASTM F1962 (from memory).
    """
    share = not_negative("the pull", pull_kN) / positive("the safe pull", safe_pull_kN)
    share = np.where(share <= 1.0, share, np.nan)
    return np.minimum(np.sqrt(5.57 - (share / 2.0 + 1.09) ** 2) - 1.09, 1.0)


def warm_modulus_MPa(
    e_MPa: ArrayLike, wall_degC: ArrayLike, *, limit_degC: float, warm_share: float
) -> Array:
    """Modulus of a pipe whose wall grout may heat [MPa].

    Parameters
    ----------
    e_MPa, wall_degC : array_like
        Modulus at ground temperature [MPa], temperature of the wall [degC].
    limit_degC, warm_share : float
        Above 45 degC a half is left (common practice, no source).
    """
    wall, modulus = np.broadcast_arrays(
        np.asarray(wall_degC, dtype=np.float64), positive("the modulus", e_MPa)
    )
    warm = np.where(wall > limit_degC, warm_share * modulus, modulus)
    return np.where(np.isnan(wall), np.nan, warm)


def outside_pressure_kPa(
    outside_kN_per_m3: ArrayLike,
    head_m: ArrayLike,
    *,
    injection_kPa: ArrayLike = 0.0,
    inside_kN_per_m3: ArrayLike = 0.0,
    inside_head_m: ArrayLike = 0.0,
) -> Array:
    """Pressure outside a pipe less that in it; at its invert it is largest [kPa].

    Parameters
    ----------
    outside_kN_per_m3, inside_kN_per_m3 : array_like
        Unit weight of slurry or grout outside, of ballast inside; 0 for an empty pipe [kN/m3].
    head_m, inside_head_m : array_like
        From each fluid's open level down to the pipe's invert [m].
    injection_kPa : array_like
        Pressure at which grout is injected, on top of its column [kPa].
    """
    outside = np.asarray(outside_kN_per_m3, dtype=np.float64) * not_negative("the head", head_m)
    inside = np.asarray(inside_kN_per_m3, dtype=np.float64) * not_negative("the inside head", inside_head_m)
    return np.asarray(outside + np.asarray(injection_kPa) - inside)
