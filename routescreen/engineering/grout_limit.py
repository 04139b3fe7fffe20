"""What the ground holds at the crown of one bore, as single numbers for compiled code.

Room: ``engineering``. The same formulae as ``cavity`` and ``pressure_window``, whose pages say where they are
from; a test holds both to the same values.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from routescreen.compiled import compiled
from routescreen.engineering.thrust import WATER_KN_PER_M3


class CrownGround(NamedTuple):
    """The ground over a crown, one soil; partial factors are not applied yet.

    `cover_m`, `water_depth_m` of the groundwater below ground or bed, negative where water stands on it [m];
    `gamma_kN_per_m3`, `gamma_sat_kN_per_m3`, `phi_deg`, `cohesion_kPa`, `modulus_kPa`; `undrained_kPa` NaN in
    drained ground; `depth_share` see `cavity.plastic_radius_m` [-].
    """

    cover_m: float
    water_depth_m: float
    gamma_kN_per_m3: float
    gamma_sat_kN_per_m3: float
    phi_deg: float
    cohesion_kPa: float
    modulus_kPa: float
    undrained_kPa: float
    depth_share: float


class LimitFactors(NamedTuple):
    """Partial factors, and the strain that bounds how far drained ground may yield; see `WindowFactors`."""

    tan_phi: float
    cohesion: float
    modulus: float
    strain_frac: float


@compiled
def crown_water_kPa(g: CrownGround) -> float:
    """Return the pore pressure at the crown [kPa]."""
    return WATER_KN_PER_M3 * max(max(g.cover_m, 0.0) - g.water_depth_m, 0.0)


@compiled
def crown_effective_kPa(g: CrownGround) -> float:
    """Return the effective vertical stress at the crown [kPa]."""
    depth = max(g.cover_m, 0.0)
    dry = min(max(g.water_depth_m, 0.0), depth)
    return max(g.gamma_kN_per_m3 * dry + (g.gamma_sat_kN_per_m3 - WATER_KN_PER_M3) * (depth - dry), 0.0)


@compiled
def crown_limit_kPa(g: CrownGround, diameter_m: float, factors: LimitFactors) -> float:
    """Return the lesser of the cavity's and the prism's pressure at the crown, total.

    Parameters
    ----------
    g : CrownGround
    diameter_m : float
        Of the bore [m].
    factors : LimitFactors

    Returns
    -------
    float
        NaN where the cavity's formula does not hold [kPa].
    """
    water, effective = crown_water_kPa(g), crown_effective_kPa(g)
    radius, modulus = diameter_m / 2.0, g.modulus_kPa / factors.modulus
    plastic = g.depth_share * max(g.cover_m + radius, 0.0)
    if not math.isnan(g.undrained_kPa):
        return cavity_kPa(
            water + effective, 0.0, g.undrained_kPa / factors.cohesion, modulus, radius, plastic
        )
    tangent = math.tan(math.radians(g.phi_deg))
    phi, cohesion = math.atan(tangent / factors.tan_phi), g.cohesion_kPa / factors.cohesion
    shear = (effective * math.sin(phi) + cohesion * math.cos(phi)) / modulus
    if shear > 0.0:
        plastic = min(plastic, radius * math.sqrt(2.0 * factors.strain_frac / shear))
    cavity = water + cavity_kPa(effective, phi, cohesion, modulus, radius, plastic)
    at_rest = 1.0 - math.sin(math.radians(g.phi_deg))
    slender = max(g.cover_m, 0.0) / diameter_m
    prism = water + effective * (1.0 + at_rest * math.tan(phi) * slender)
    return cavity if math.isnan(cavity) else min(cavity, prism)


@compiled
def cavity_kPa(
    stress_kPa: float,
    phi_rad: float,
    cohesion_kPa: float,
    modulus_kPa: float,
    radius_m: float,
    plastic_m: float,
) -> float:
    """Return the pressure at which ground yields out to a radius, see `cavity.cavity_pressure_kPa` [kPa]."""
    if plastic_m <= 0.0:
        return math.nan
    sine, cosine = math.sin(phi_rad), math.cos(phi_rad)
    reach = (radius_m / plastic_m) ** 2 + (stress_kPa * sine + cohesion_kPa * cosine) / modulus_kPa
    if not reach < 1.0:
        return math.nan
    if reach <= 0.0:
        return math.inf
    depth = -math.log(reach)
    power = depth * sine / (1.0 + sine)
    growth = math.expm1(power)
    mean = growth / power if power > 0.0 else 1.0
    first = stress_kPa * (1.0 + sine) + cohesion_kPa * cosine
    return first * (growth + 1.0) + cohesion_kPa * cosine / (1.0 + sine) * depth * mean
