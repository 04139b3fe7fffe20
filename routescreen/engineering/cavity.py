"""Pressure that a bore may hold before the ground around it yields too far.

Room: ``engineering``. Pure arrays in SI units. Drained: stresses and the result are effective, above the
pore pressure. Undrained: phi = 0, c is the undrained strength, stresses and the result are total.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import friction_angle_rad, not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Strength:
    """Strength and stiffness of a soil, characteristic or reduced.

    Attributes
    ----------
    phi_rad : ndarray of float64
        Angle of friction [rad].
    cohesion_kPa, shear_modulus_kPa : ndarray of float64
    """

    phi_rad: Array
    cohesion_kPa: Array
    shear_modulus_kPa: Array


def reduced_strength(
    phi_deg: ArrayLike,
    cohesion_kPa: ArrayLike,
    shear_modulus_kPa: ArrayLike,
    *,
    tan_phi_factor: float,
    cohesion_factor: float,
    modulus_factor: float,
) -> Strength:
    """Divide strength and stiffness by their partial factors.

    Parameters
    ----------
    phi_deg, cohesion_kPa, shear_modulus_kPa : array_like
        Characteristic values.
    tan_phi_factor, cohesion_factor, modulus_factor : float
        E.g. 1.1, 1.4 and 1.25 (NEN 3650-1, from memory) [-].

    Returns
    -------
    Strength
    """
    tangent = np.tan(friction_angle_rad(phi_deg)) / positive("the factor on tan phi", tan_phi_factor)
    return Strength(
        np.arctan(tangent),
        np.asarray(
            not_negative("the cohesion", cohesion_kPa) / positive("the factor on cohesion", cohesion_factor)
        ),
        np.asarray(
            positive("the shear modulus", shear_modulus_kPa)
            / positive("the factor on the modulus", modulus_factor)
        ),
    )


def yield_share(stress_kPa: ArrayLike, strength: Strength) -> Array:
    """Q = (s0 sin phi + c cos phi)/G, the shear strength over the shear modulus [-].

    Parameters
    ----------
    stress_kPa : array_like
        s0, stress in the ground before the bore came, at its crown [kPa].
    strength : Strength
    """
    phi = strength.phi_rad
    shear = np.asarray(stress_kPa, dtype=np.float64) * np.sin(phi) + strength.cohesion_kPa * np.cos(phi)
    return np.asarray(shear / strength.shear_modulus_kPa)


def strain_bound_m(
    bore_radius_m: ArrayLike, stress_kPa: ArrayLike, strength: Strength, strain_frac: ArrayLike
) -> Array:
    """Plastic radius at which the bore's wall reaches a strain, R0 sqrt(2 eps/Q) [m].

    Parameters
    ----------
    bore_radius_m, stress_kPa, strength
        See `cavity_pressure_kPa`.
    strain_frac : array_like
        eps, 0.05 in sand (NEN 3650-1, from memory); infinite where there is no such bound [-].
    """
    share = yield_share(stress_kPa, strength)
    strain, share = np.broadcast_arrays(2.0 * positive("the strain", strain_frac), share)
    # ground without strength never yields in shear before it flows: no bound from the strain; with next to
    # none the quotient goes beyond what a number holds, which is no bound either
    with np.errstate(over="ignore"):
        ratio = np.divide(strain, share, out=np.full(share.shape, np.inf), where=share > 0.0)
    ratio = np.where(np.isnan(share), np.nan, ratio)
    return np.asarray(positive("the bore's radius", bore_radius_m) * np.sqrt(ratio))


def plastic_radius_m(axis_depth_m: ArrayLike, depth_share: ArrayLike, bound_m: ArrayLike) -> Array:
    """Radius to which the ground may yield [m].

    Parameters
    ----------
    axis_depth_m : array_like
        Of the bore's axis under the ground or the bed [m].
    depth_share : array_like
        1/2 in clay, 2/3 in sand; 1/2 is the cautious one [-].
    bound_m : array_like
        See `strain_bound_m`.

    References
    ----------
    NASTT No-Dig 2019, paper TM1-T2-01 (the shares).
    """
    depth = np.maximum(np.asarray(axis_depth_m, dtype=np.float64), 0.0)
    return np.minimum(positive("the share of the depth", depth_share) * depth, bound_m)


def cavity_pressure_kPa(
    stress_kPa: ArrayLike, strength: Strength, bore_radius_m: ArrayLike, plastic_m: ArrayLike
) -> Array:
    """Pressure in a bore at which the ground yields out to a radius.

    Parameters
    ----------
    stress_kPa : array_like
        s0, stress in the ground before the bore came, at its crown: effective with a drained strength,
        total with an undrained one [kPa].
    strength : Strength
        phi = 0 and the undrained strength as cohesion: undrained.
    bore_radius_m, plastic_m : array_like
        R0 and Rp [m].

    Returns
    -------
    ndarray of float64
        Above the pore pressure when drained, total when undrained [kPa]; NaN where
        (R0/Rp)^2 + Q is 1 or more, beyond which the formula does not hold.

    Notes
    -----
    p = (p_f + c cot phi) X^(-sin phi/(1 + sin phi)) - c cot phi, p_f = s0 (1 + sin phi) + c cos phi,
    X = (R0/Rp)^2 + Q. Written as p_f e^a + c cos phi/(1 + sin phi) (-ln X) (e^a - 1)/a with
    a = -ln X sin phi/(1 + sin phi), which also holds at phi = 0: s0 + c (1 - ln X). Known to overpredict
    "in most, if not all cases" (NASTT No-Dig 2019, TM1-T2-01): never the only upper bound in drained ground.

    References
    ----------
    Luger and Hergarden, Directional drilling in soft soil: influence of mud pressures, No-Dig 1988;
    NEN 3650-1 (from memory). phi = 0 and R0 = 0: Gibson and Anderson 1961.
    """
    radius, plastic = positive("the bore's radius", bore_radius_m), np.asarray(plastic_m, dtype=np.float64)
    stress = np.asarray(stress_kPa, dtype=np.float64)
    sine, cosine = np.sin(strength.phi_rad), np.cos(strength.phi_rad)
    squeeze = np.divide(
        radius, plastic, out=np.full(np.broadcast(radius, plastic).shape, np.nan), where=plastic > 0.0
    )
    reach = squeeze**2 + yield_share(stress, strength)
    depth = -np.log(np.where(reach < 1.0, reach, np.nan))
    power = depth * sine / (1.0 + sine)
    first = stress * (1.0 + sine) + strength.cohesion_kPa * cosine
    growth = np.expm1(power)
    mean = np.divide(growth, power, out=np.ones_like(power), where=power > 0.0)
    cohesive = strength.cohesion_kPa * cosine / (1.0 + sine) * depth * mean
    return np.asarray(first * (growth + 1.0) + cohesive)
