"""Window of pressures between which a bore neither falls in nor breaks out, and what presses on it.

Room: ``engineering``. Pure arrays in SI units. All pressures are gauge; compression is positive. Depths
count down from the ground, or from the bed of a water: today's, less what its survey may be off.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.cavity import (
    cavity_pressure_kPa,
    plastic_radius_m,
    reduced_strength,
    strain_bound_m,
)
from routescreen.engineering.ground_stress import (
    Stress,
    active_coefficient,
    at_rest_coefficient,
    ground_stress,
)
from routescreen.engineering.values import positive, utilisation

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class WindowFactors:
    """Factors and margins of the window.

    Attributes
    ----------
    water_factor, earth_factor : float
        On water and on active earth pressure at the face: 1.05 and 1.5 (DAUB 2016, from memory) [-].
    control_kPa : float
        By how much the face pressure may be off, either way: 10 [kPa].
    grout_margin_kPa : float
        What the grout must have over the pore pressure: 10 [kPa].
    tan_phi_factor, cohesion_factor, modulus_factor : float
        1.1, 1.4, 1.25 (NEN 3650-1, from memory) [-].
    amber_share : float
        Of the total stress at the crown, beyond which the pressure is amber: 0.9 (from memory) [-].
    """

    water_factor: float
    earth_factor: float
    control_kPa: float
    grout_margin_kPa: float
    tan_phi_factor: float
    cohesion_factor: float
    modulus_factor: float
    amber_share: float


@dataclass(frozen=True, slots=True)
class WindowGround:
    """The ground above a bore, one soil; numbers or arrays of one shape.

    Attributes
    ----------
    water_depth_m : array_like
        Of the groundwater below the ground [m]; negative where open water stands on the bed.
    gamma_kN_per_m3, gamma_sat_kN_per_m3 : array_like
    phi_deg, cohesion_kPa, shear_modulus_kPa : array_like
        Characteristic, drained.
    undrained_kPa : array_like
        Undrained shear strength; NaN in drained ground. Where it is given, the undrained bound rules.
    depth_share : array_like
        See `cavity.plastic_radius_m` [-].
    strain_frac : array_like
        See `cavity.strain_bound_m`; for drained ground only [-].
    """

    water_depth_m: ArrayLike
    gamma_kN_per_m3: ArrayLike
    gamma_sat_kN_per_m3: ArrayLike
    phi_deg: ArrayLike
    cohesion_kPa: ArrayLike
    shear_modulus_kPa: ArrayLike
    undrained_kPa: ArrayLike
    depth_share: ArrayLike
    strain_frac: ArrayLike


@dataclass(frozen=True, slots=True)
class Window:
    """Window at the crown of a bore; lengths and shapes as handed in.

    Attributes
    ----------
    crown : ground_stress.Stress
        Stress at the crown [kPa].
    face_kPa : ndarray of float64
        Least pressure that holds the face, at the axis [kPa].
    grout_least_kPa : ndarray of float64
        Least pressure of grout at the crown [kPa].
    cavity_kPa, prism_kPa : ndarray of float64
        Upper bounds; the prism is infinite in undrained ground, where it does not apply [kPa].
    amber_kPa : ndarray of float64
        Pressure beyond which the crown is near being lifted [kPa].
    """

    crown: Stress
    face_kPa: Array
    grout_least_kPa: Array
    cavity_kPa: Array
    prism_kPa: Array
    amber_kPa: Array

    @property
    def limit_kPa(self) -> Array:
        """The lesser of the upper bounds; NaN where the cavity's does not hold [kPa]."""
        return np.asarray(np.minimum(self.cavity_kPa, self.prism_kPa))

    def utilisation(self, pressure_kPa: ArrayLike) -> Array:
        """(p - u)/(limit - u) at the crown: above 1 the ground breaks out, NaN is not evaluated [-]."""
        water = self.crown.water_kPa
        return utilisation(np.asarray(pressure_kPa, dtype=np.float64) - water, self.limit_kPa - water)

    def amber_utilisation(self, pressure_kPa: ArrayLike) -> Array:
        """Pressure over the amber pressure: above 1 is amber [-]."""
        return utilisation(pressure_kPa, self.amber_kPa)


def least_face_kPa(axis: Stress, phi_deg: ArrayLike, factors: WindowFactors) -> Array:
    """Least pressure that holds the face, f_w u + f_e Ka sigma' at the axis, cohesion left out [kPa].

    References
    ----------
    DAUB, Recommendations for face support pressure calculations, 2016 (from memory).
    """
    earth = factors.earth_factor * active_coefficient(phi_deg) * axis.effective_kPa
    return np.asarray(factors.water_factor * axis.water_kPa + earth)


def prism_pressure_kPa(
    crown: Stress, phi_deg: ArrayLike, reduced_phi_rad: ArrayLike, cover_m: ArrayLike, diameter_m: ArrayLike
) -> Array:
    """Pressure that lifts the prism above a bore against friction on its sides, drained.

    Parameters
    ----------
    crown : Stress
    phi_deg, reduced_phi_rad : array_like
        Characteristic angle, of which K0, and the reduced one, of which the friction.
    cover_m, diameter_m : array_like
        Height and width of the prism [m].

    Returns
    -------
    ndarray of float64
        u + sigma' (1 + K0 tan phi H/D) [kPa]. Own, from equilibrium.
    """
    friction = at_rest_coefficient(phi_deg) * np.tan(reduced_phi_rad)
    slender = np.maximum(np.asarray(cover_m, dtype=np.float64), 0.0) / positive("the diameter", diameter_m)
    return np.asarray(crown.water_kPa + crown.effective_kPa * (1.0 + friction * slender))


def cavity_limit_kPa(
    crown: Stress,
    cover_m: ArrayLike,
    diameter_m: ArrayLike,
    ground: WindowGround,
    factors: WindowFactors,
) -> Array:
    """Pressure at the crown at which the ground yields too far, drained or undrained, total [kPa].

    Parameters
    ----------
    crown : Stress
    cover_m, diameter_m : array_like
        Of the bore [m].
    ground : WindowGround
    factors : WindowFactors

    Returns
    -------
    ndarray of float64
        NaN where the formula does not hold.
    """
    parts = {
        "tan_phi_factor": factors.tan_phi_factor,
        "cohesion_factor": factors.cohesion_factor,
        "modulus_factor": factors.modulus_factor,
    }
    radius = positive("the diameter", diameter_m) / 2.0
    axis = np.asarray(cover_m, dtype=np.float64) + radius
    drained = reduced_strength(ground.phi_deg, ground.cohesion_kPa, ground.shear_modulus_kPa, **parts)
    bound = strain_bound_m(radius, crown.effective_kPa, drained, ground.strain_frac)
    plastic = plastic_radius_m(axis, ground.depth_share, bound)
    limit = crown.water_kPa + cavity_pressure_kPa(crown.effective_kPa, drained, radius, plastic)
    cu = np.asarray(ground.undrained_kPa, dtype=np.float64)
    if np.all(np.isnan(cu)):
        return np.asarray(limit)
    undrained = reduced_strength(0.0, cu, ground.shear_modulus_kPa, **parts)
    plastic = plastic_radius_m(axis, ground.depth_share, np.inf)
    total = cavity_pressure_kPa(crown.total_kPa, undrained, radius, plastic)
    return np.where(np.isnan(cu), limit, total)


def pressure_window(
    cover_m: ArrayLike, diameter_m: ArrayLike, ground: WindowGround, factors: WindowFactors
) -> Window:
    """Window of pressures of a bore.

    Parameters
    ----------
    cover_m, diameter_m : array_like
        Cover over the crown, and diameter of the bore [m].
    ground : WindowGround
    factors : WindowFactors

    Returns
    -------
    Window
        Of the arguments' common shape.

    Raises
    ------
    ValueError
        If a diameter, unit weight, modulus or factor isn't above 0, or an angle not in [0, 90) degrees.
    """
    cover, diameter = np.asarray(cover_m, dtype=np.float64), positive("the diameter", diameter_m)
    layers = (ground.water_depth_m, ground.gamma_kN_per_m3, ground.gamma_sat_kN_per_m3)
    crown, axis = ground_stress(cover, *layers), ground_stress(cover + diameter / 2.0, *layers)
    reduced_phi = np.arctan(np.tan(np.radians(ground.phi_deg)) / factors.tan_phi_factor)
    prism = prism_pressure_kPa(crown, ground.phi_deg, reduced_phi, cover, diameter)
    is_drained = np.isnan(np.asarray(ground.undrained_kPa, dtype=np.float64))
    return Window(
        crown=crown,
        face_kPa=least_face_kPa(axis, ground.phi_deg, factors),
        grout_least_kPa=np.asarray(crown.water_kPa + factors.grout_margin_kPa),
        cavity_kPa=cavity_limit_kPa(crown, cover, diameter, ground, factors),
        prism_kPa=np.where(is_drained, prism, np.inf),
        amber_kPa=np.asarray(factors.amber_share * crown.total_kPa),
    )


def face_peak_kPa(
    least_kPa: ArrayLike, control_kPa: ArrayLike, slurry_kN_per_m3: ArrayLike, diameter_m: ArrayLike
) -> Array:
    """Highest pressure at the crown while the face advances.

    Parameters
    ----------
    least_kPa : array_like
        What holds the face, at the axis [kPa].
    control_kPa : array_like
        By how much the pressure may be off either way: the set point lies so much above the least [kPa].
    slurry_kN_per_m3, diameter_m : array_like
        The slurry weighs less at the crown than at the axis [kN/m3], [m].

    Returns
    -------
    ndarray of float64
        p_min + 2 control - gamma D/2 [kPa].
    """
    fall = np.asarray(slurry_kN_per_m3, dtype=np.float64) * positive("the diameter", diameter_m) / 2.0
    return np.asarray(np.asarray(least_kPa) + 2.0 * np.asarray(control_kPa) - fall)


def column_kPa(
    unit_weight_kN_per_m3: ArrayLike,
    open_level_m: ArrayLike,
    level_m: ArrayLike,
    injection_kPa: ArrayLike = 0.0,
) -> Array:
    """Pressure of a column of mud or grout at rest, rho g (z_open - z) + p_inj [kPa].

    Parameters
    ----------
    unit_weight_kN_per_m3 : array_like
    open_level_m : array_like
        Level to which the fluid stands: the launch's ground for mud, the vent for grout [m].
    level_m : array_like
        Where the pressure is asked for, e.g. the crown [m]; above the fluid there is no column.
    injection_kPa : array_like
        On top of it, while grout is injected [kPa].
    """
    head = np.maximum(np.asarray(open_level_m, dtype=np.float64) - np.asarray(level_m), 0.0)
    weight = positive("the fluid's unit weight", unit_weight_kN_per_m3)
    return np.asarray(weight * head + np.asarray(injection_kPa))
