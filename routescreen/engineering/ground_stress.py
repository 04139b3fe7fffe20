"""Stresses in level ground, and the stress that a jacked pipe feels under its silo.

Room: ``engineering``. Pure arrays in SI units. Compression is positive.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.thrust import WATER_KN_PER_M3
from routescreen.engineering.values import friction_angle_rad, not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stress:
    """Vertical stress at a depth.

    Attributes
    ----------
    water_kPa, effective_kPa, total_kPa : ndarray of float64
        Pore pressure u, effective stress sigma', and their sum sigma_v [kPa].
    """

    water_kPa: Array
    effective_kPa: Array

    @property
    def total_kPa(self) -> Array:
        """Total vertical stress, u + sigma' [kPa]."""
        return np.asarray(self.water_kPa + self.effective_kPa)


def ground_stress(
    depth_m: ArrayLike,
    water_depth_m: ArrayLike,
    gamma_kN_per_m3: ArrayLike,
    gamma_sat_kN_per_m3: ArrayLike,
) -> Stress:
    """Stress at a depth under level ground with still groundwater.

    Parameters
    ----------
    depth_m : array_like
        Below the ground or the bed [m]; above it counts as 0.
    water_depth_m : array_like
        Of the groundwater below the ground [m]; negative where open water stands on the bed.
    gamma_kN_per_m3, gamma_sat_kN_per_m3 : array_like
        Unit weight of the soil above and below the groundwater [kN/m3].

    Returns
    -------
    Stress
        Of the arguments' common shape.

    Notes
    -----
    One soil. Water above the bed adds to u and to the total, never to sigma'.
    """
    gamma = positive("the unit weight", gamma_kN_per_m3)
    gamma_sat = positive("the saturated unit weight", gamma_sat_kN_per_m3)
    depth = np.maximum(np.asarray(depth_m, dtype=np.float64), 0.0)
    table = np.asarray(water_depth_m, dtype=np.float64)
    dry = np.clip(table, 0.0, depth)
    water = WATER_KN_PER_M3 * np.maximum(depth - table, 0.0)
    effective = gamma * dry + (gamma_sat - WATER_KN_PER_M3) * (depth - dry)
    return Stress(np.asarray(water), np.maximum(effective, 0.0))


def active_coefficient(phi_deg: ArrayLike) -> Array:
    """Active earth pressure over vertical stress, tan2(45 - phi/2) (Rankine) [-]."""
    return np.asarray(np.tan(np.pi / 4.0 - friction_angle_rad(phi_deg) / 2.0) ** 2)


def at_rest_coefficient(phi_deg: ArrayLike) -> Array:
    """Earth pressure at rest over vertical stress, 1 - sin(phi) (Jaky; normally consolidated) [-]."""
    return np.asarray(1.0 - np.sin(friction_angle_rad(phi_deg)))


def silo_width_m(outer_diameter_m: ArrayLike, diameters: ArrayLike) -> Array:
    """Width of the silo above a jacked pipe [m].

    Parameters
    ----------
    outer_diameter_m : array_like
        [m]
    diameters : array_like
        Width over diameter, sqrt(3) (from memory) [-].
    """
    outer = positive("the outer diameter", outer_diameter_m)
    return np.asarray(positive("the silo's width in diameters", diameters) * outer)


def silo_stress_kPa(
    height_m: ArrayLike,
    width_m: ArrayLike,
    gamma_kN_per_m3: ArrayLike,
    *,
    cohesion_kPa: ArrayLike = 0.0,
    lateral_ratio: ArrayLike,
    wall_friction_deg: ArrayLike,
    surcharge_kPa: ArrayLike = 0.0,
) -> Array:
    """Vertical stress at the foot of a silo whose walls carry a part of its weight.

    Parameters
    ----------
    height_m, width_m : array_like
        Of the silo: its cover, and b [m].
    gamma_kN_per_m3 : array_like
        Unit weight, the submerged one below water [kN/m3].
    cohesion_kPa : array_like
        On the walls [kPa].
    lateral_ratio : array_like
        K, horizontal over vertical stress, e.g. 0.5 [-].
    wall_friction_deg : array_like
        delta, e.g. phi/2 [degrees]; 0 leaves the cohesion alone.
    surcharge_kPa : array_like
        On the silo's top [kPa].

    Returns
    -------
    ndarray of float64
        At least 0 [kPa].

    Notes
    -----
    sigma = (gamma b - 2 c)/(2 K tan delta) (1 - exp(-2 K tan delta h/b)) + q exp(-2 K tan delta h/b),
    written so that it also holds for delta = 0, where it is (gamma - 2 c/b) h + q.

    References
    ----------
    Terzaghi, Theoretical Soil Mechanics, 1943 (arching); K 0.5 and delta phi/2 from memory.
    """
    height, width = not_negative("the silo's height", height_m), positive("the silo's width", width_m)
    ratio = not_negative("the lateral ratio", lateral_ratio)
    decay = 2.0 * ratio * np.tan(friction_angle_rad(wall_friction_deg)) / width
    reached = decay * height
    slope = np.asarray(gamma_kN_per_m3, dtype=np.float64) - 2.0 * np.asarray(cohesion_kPa) / width
    # (1 - exp(-x))/x, which is 1 at x = 0
    share = np.divide(-np.expm1(-reached), reached, out=np.ones_like(reached), where=reached > 0.0)
    stress = slope * height * share + np.asarray(surcharge_kPa, dtype=np.float64) * np.exp(-reached)
    return np.maximum(stress, 0.0)


def wet_silo_stress_kPa(
    height_m: ArrayLike,
    water_depth_m: ArrayLike,
    width_m: ArrayLike,
    gamma_kN_per_m3: ArrayLike,
    gamma_sat_kN_per_m3: ArrayLike,
    *,
    cohesion_kPa: ArrayLike = 0.0,
    lateral_ratio: ArrayLike,
    wall_friction_deg: ArrayLike,
    surcharge_kPa: ArrayLike = 0.0,
) -> Array:
    """Effective stress at the foot of a silo that stands in groundwater [kPa].

    Parameters
    ----------
    height_m, water_depth_m : array_like
        The silo's height, and the water's depth below its top; negative under open water [m].
    width_m, cohesion_kPa, lateral_ratio, wall_friction_deg, surcharge_kPa
        See `silo_stress_kPa`.
    gamma_kN_per_m3, gamma_sat_kN_per_m3 : array_like
        Unit weight above and below water [kN/m3].

    Notes
    -----
    Two silos on top of each other: the upper one's stress is the surcharge of the lower, submerged one.
    """
    height = not_negative("the silo's height", height_m)
    dry = np.clip(np.asarray(water_depth_m, dtype=np.float64), 0.0, height)
    upper = silo_stress_kPa(
        dry,
        width_m,
        gamma_kN_per_m3,
        cohesion_kPa=cohesion_kPa,
        lateral_ratio=lateral_ratio,
        wall_friction_deg=wall_friction_deg,
        surcharge_kPa=surcharge_kPa,
    )
    return silo_stress_kPa(
        height - dry,
        width_m,
        np.asarray(gamma_sat_kN_per_m3, dtype=np.float64) - WATER_KN_PER_M3,
        cohesion_kPa=cohesion_kPa,
        lateral_ratio=lateral_ratio,
        wall_friction_deg=wall_friction_deg,
        surcharge_kPa=upper,
    )


def granular_stress_kPa(gamma_kN_per_m3: ArrayLike, radius_m: ArrayLike, phi_deg: ArrayLike) -> Array:
    """Return the normal stress on a pipe jacked through granular soil that stands by itself.

    Parameters
    ----------
    gamma_kN_per_m3 : array_like
        Unit weight [kN/m3].
    radius_m : array_like
        Of the pipe's outside [m].
    phi_deg : array_like
        Residual angle of friction [degrees].

    Returns
    -------
    ndarray of float64
        gamma r cos(45 + phi/2)/tan(phi) [kPa]; NaN at phi = 0, where the formula has no meaning.

    References
    ----------
    Staheli, Jacking force prediction, thesis, 2006 (from memory).
    """
    phi = friction_angle_rad(phi_deg)
    load = np.asarray(gamma_kN_per_m3, dtype=np.float64) * positive("the radius", radius_m)
    load, phi = np.broadcast_arrays(load * np.cos(np.pi / 4.0 + phi / 2.0), phi)
    return np.asarray(np.divide(load, np.tan(phi), out=np.full(load.shape, np.nan), where=phi > 0.0))


def has_silo_relief(
    cover_m: ArrayLike, diameter_m: ArrayLike, is_under_rail: ArrayLike, least_diameters: float
) -> NDArray[np.bool_]:
    """Whether a silo may relieve the pipe: enough cover and no railway above.

    Parameters
    ----------
    cover_m, diameter_m : array_like
        [m]
    is_under_rail : array_like of bool
    least_diameters : float
        Least cover in diameters, 2 (common practice, no source) [-].
    """
    least = least_diameters * positive("the diameter", diameter_m)
    deep = np.asarray(cover_m, dtype=np.float64) >= least
    return np.asarray(deep & ~np.asarray(is_under_rail, dtype=bool))
