"""Slurry that carries the spoil out of a bore: concentration, velocity, head loss, pumps, spoil.

Room: ``engineering``. Pure arrays in SI units.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.pipe import circle_m2
from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

G_M_PER_S2 = 9.81
LEAST_REYNOLDS, MOST_REYNOLDS = 5e3, 1e8
MOST_ROUGHNESS = 0.01  # roughness over diameter


def settling_velocity_m_per_s(
    factor: ArrayLike, pipe_diameter_m: ArrayLike, solids_density: ArrayLike
) -> Array:
    """Velocity below which solids settle in a line, F_L sqrt(2 g D (S - 1)) [m/s].

    Parameters
    ----------
    factor : array_like
        F_L, of grain size and concentration, e.g. 1.04 [-].
    pipe_diameter_m : array_like
        Inside of the line [m].
    solids_density : array_like
        S, solids over water, above 1 [-].

    References
    ----------
    Durand, as in a pump maker's slurry manual, 2002 (from memory).
    """
    lift = positive("the solids' density less 1", np.asarray(solids_density, dtype=np.float64) - 1.0)
    head = 2.0 * G_M_PER_S2 * positive("the line's diameter", pipe_diameter_m) * lift
    return np.asarray(positive("F_L", factor) * np.sqrt(head))


def mixture_density(solids_density: ArrayLike, weight_share: ArrayLike) -> Array:
    """Density of a slurry over that of water, S/(S - C_w (S - 1)) [-].

    Parameters
    ----------
    solids_density : array_like
        S, solids over water [-].
    weight_share : array_like
        C_w, mass of solids over mass of slurry [-].
    """
    solids, share = positive("the solids' density", solids_density), _share("C_w", weight_share)
    return np.asarray(solids / (solids - share * (solids - 1.0)))


def volume_share(solids_density: ArrayLike, weight_share: ArrayLike) -> Array:
    """Volume of solids over volume of slurry, C_v = S_m C_w/S [-]; see `mixture_density`."""
    mixture = mixture_density(solids_density, weight_share)
    return np.asarray(mixture * np.asarray(weight_share, dtype=np.float64) / np.asarray(solids_density))


def slurry_flow_m3_per_s(
    solids_t_per_h: ArrayLike, solids_density: ArrayLike, weight_share: ArrayLike
) -> Array:
    """Flow of slurry that carries a mass of dry solids away [m3/s].

    Parameters
    ----------
    solids_t_per_h : array_like
        [t/h]
    solids_density, weight_share : array_like
        S and C_w; C_w above 0 [-].
    """
    solids = not_negative("the solids", solids_t_per_h) / 3600.0
    mixture = mixture_density(solids_density, weight_share)
    return np.asarray(solids / positive("C_w", weight_share) / mixture)


def solids_t_per_h(bore_diameter_m: ArrayLike, advance_m_per_h: ArrayLike, dry_t_per_m3: ArrayLike) -> Array:
    """Mass of dry solids that a drive cuts, pi/4 D^2 v rho_d [t/h].

    Parameters
    ----------
    bore_diameter_m, advance_m_per_h : array_like
        [m], [m/h]
    dry_t_per_m3 : array_like
        Dry density in place [t/m3].
    """
    cut = circle_m2(positive("the bore's diameter", bore_diameter_m))
    return np.asarray(cut * not_negative("the advance", advance_m_per_h) * np.asarray(dry_t_per_m3))


def line_velocity_m_per_s(flow_m3_per_s: ArrayLike, pipe_diameter_m: ArrayLike) -> Array:
    """Mean velocity in a line [m/s]."""
    area = circle_m2(positive("the line's diameter", pipe_diameter_m))
    return np.asarray(np.asarray(flow_m3_per_s, dtype=np.float64) / area)


def friction_factor(
    velocity_m_per_s: ArrayLike,
    pipe_diameter_m: ArrayLike,
    *,
    roughness_m: float,
    viscosity_m2_per_s: float,
) -> Array:
    """Darcy's friction factor of a turbulent flow.

    Parameters
    ----------
    velocity_m_per_s, pipe_diameter_m : array_like
        [m/s], [m]
    roughness_m, viscosity_m2_per_s : float
        Sand roughness of the line [m], kinematic viscosity [m2/s].

    Returns
    -------
    ndarray of float64
        0.25/log10(k/(3.7 D) + 5.74/Re^0.9)^2 [-]; NaN outside Re 5e3 to 1e8 and k/D up to 0.01.

    References
    ----------
    Swamee and Jain 1976 (from memory).
    """
    diameter = positive("the line's diameter", pipe_diameter_m)
    rough = not_negative("the roughness", roughness_m) / diameter
    reynolds = np.asarray(velocity_m_per_s, dtype=np.float64) * diameter
    reynolds = np.asarray(reynolds / positive("the viscosity", viscosity_m2_per_s))
    is_valid = (reynolds >= LEAST_REYNOLDS) & (reynolds <= MOST_REYNOLDS) & (rough <= MOST_ROUGHNESS)
    inner = rough / 3.7 + 5.74 / np.where(is_valid, reynolds, np.nan) ** 0.9
    return np.asarray(0.25 / np.log10(inner) ** 2)


def head_loss_m(
    length_m: ArrayLike, pipe_diameter_m: ArrayLike, velocity_m_per_s: ArrayLike, factor: ArrayLike
) -> Array:
    """Head lost in a line, f L/D v^2/(2 g), in metres of what flows [m].

    Parameters
    ----------
    length_m : array_like
        Of the line: twice the drive's for feed and return [m].
    pipe_diameter_m, velocity_m_per_s : array_like
        [m], [m/s]
    factor : array_like
        See `friction_factor` [-].

    Notes
    -----
    As for a clear liquid, which holds for fine solids well above the settling velocity; coarse ones
    lose more.
    """
    velocity = np.asarray(velocity_m_per_s, dtype=np.float64)
    slender = not_negative("the length", length_m) / positive("the line's diameter", pipe_diameter_m)
    return np.asarray(np.asarray(factor) * slender * velocity**2 / (2.0 * G_M_PER_S2))


def circuit_loss_kPa(
    drive_m: ArrayLike, head_m_per_m: ArrayLike, feed_density: ArrayLike, return_density: ArrayLike
) -> tuple[Array, Array]:
    """Pressure lost in the feed line and in the return line of a drive, each of its length [kPa].

    Parameters
    ----------
    drive_m : array_like
        Length of the drive [m].
    head_m_per_m : array_like
        Head lost a metre of line, the same in both [-].
    feed_density, return_density : array_like
        Density of the fresh and of the loaded slurry over that of water [-].

    Returns
    -------
    feed_kPa, return_kPa : ndarray of float64
    """
    head = not_negative("the drive's length", drive_m) * np.asarray(head_m_per_m)
    water = head * G_M_PER_S2
    return (
        np.asarray(water * positive("the density", feed_density)),
        np.asarray(water * positive("the density", return_density)),
    )


def n_boosters(loss_kPa: ArrayLike, pump_kPa: ArrayLike) -> Array:
    """Pumps that a line needs beside its first [-]; NaN where the loss isn't known.

    Parameters
    ----------
    loss_kPa, pump_kPa : array_like
        Lost in the line, and what one pump gives [kPa].
    """
    needed = np.ceil(not_negative("the loss", loss_kPa) / positive("a pump's pressure", pump_kPa))
    return np.asarray(np.maximum(needed - 1.0, 0.0))


def spoil_m3(
    bore_diameter_m: ArrayLike, length_m: ArrayLike, n_bores: ArrayLike, bulking: ArrayLike = 1.0
) -> Array:
    """Spoil of a drive, n pi/4 D^2 L, in place, or loose with its bulking [m3].

    Parameters
    ----------
    bore_diameter_m, length_m, n_bores : array_like
        [m], [m], [-]
    bulking : array_like
        Loose over in place; 1 gives the volume in place [-].
    """
    bore = circle_m2(positive("the bore's diameter", bore_diameter_m))
    return np.asarray(bore * not_negative("the length", length_m) * np.asarray(n_bores) * np.asarray(bulking))


def _share(name: str, value: ArrayLike) -> Array:
    share = not_negative(name, value)
    if np.any(share >= 1.0):
        raise ValueError(f"{name} must be below 1")
    return share
