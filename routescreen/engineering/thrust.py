"""Thrust of a driven string: face, friction, weight on the grade, and what bears it.

Room: ``engineering``. Formulae in SI units without branches: compiled for single drives, and as
``NAME.py_func`` for arrays, so that search and audit share them.
"""

from __future__ import annotations

import math

import numpy as np

from routescreen.compiled import compiled

WATER_KN_PER_M3 = 9.81  # unit weight of water


@compiled
def face_pressure_kPa(
    depth_m: float,
    water_depth_m: float,
    gamma_kN_per_m3: float,
    gamma_sat_kN_per_m3: float,
    phi_deg: float,
    water_factor: float,
    earth_factor: float,
    control_kPa: float,
) -> float:
    """Pressure that holds the face at the level of the axis, with the control's tolerance above it.

    Parameters
    ----------
    depth_m : float
        From the ground to the axis [m]; above ground counts as 0.
    water_depth_m : float
        From the ground to the groundwater [m]; negative where water stands above the ground.
    gamma_kN_per_m3, gamma_sat_kN_per_m3 : float
        Unit weight of the soil above and below the groundwater [kN/m3].
    phi_deg : float
        Angle of friction [degrees]; cohesion is left out, on the safe side.
    water_factor, earth_factor : float
        1.05 on water and 1.5 on active earth pressure (DAUB 2016, from memory) [-].
    control_kPa : float
        By how much the pressure may be off [kPa].

    Returns
    -------
    float
        1.05 u + 1.5 Ka sigma' + control, with Ka = tan2(45 - phi/2) [kPa].
    """
    depth = np.maximum(depth_m, 0.0)
    dry = np.minimum(np.maximum(water_depth_m, 0.0), depth)
    wet = depth - dry
    water = WATER_KN_PER_M3 * np.maximum(depth - water_depth_m, 0.0)
    standing = WATER_KN_PER_M3 * np.maximum(-water_depth_m, 0.0)  # weighs on the ground as well
    effective = np.maximum(gamma_kN_per_m3 * dry + gamma_sat_kN_per_m3 * wet + standing - water, 0.0)
    active = np.tan(math.pi / 4.0 - np.radians(phi_deg) / 2.0) ** 2
    pressure: float = water_factor * water + earth_factor * active * effective + control_kPa
    return pressure


@compiled
def friction_kN_per_m(tau_kPa: float, outer_diameter_m: float) -> float:
    """Friction on one metre of string, tau pi OD [kN/m]."""
    return tau_kPa * math.pi * outer_diameter_m


@compiled
def thrust_kN(face_kPa: float, cut_diameter_m: float, friction_kN: float, weight_kN: float) -> float:
    """Thrust of a string in the ground.

    Parameters
    ----------
    face_kPa : float
        Pressure on the face [kPa].
    cut_diameter_m : float
        Diameter of the cut [m].
    friction_kN : float
        Sum of the friction along the string [kN]; after a stop that of the restart.
    weight_kN : float
        Weight of the string times the rise from the launch, over its length: negative downhill [kN].

    Returns
    -------
    float
        p pi D^2 / 4 + friction + weight [kN].
    """
    return face_kPa * math.pi * cut_diameter_m * cut_diameter_m / 4.0 + friction_kN + weight_kN


@compiled
def bend_factor(friction: float, turned_rad: float) -> float:
    """Factor on what is pushed or pulled through a bend, by the capstan law: e^(friction x angle) [-].

    Parameters
    ----------
    friction : float
        Of the string or the pipe on the wall of the bore; after a stop that of the restart [-].
    turned_rad : float
        By how much the bore turns, to whichever side [rad].

    Notes
    -----
    The law holds for what comes in at the far end; on the friction along the bend itself it is on the safe
    side, by at most the factor.
    """
    return math.exp(friction * turned_rad)


@compiled
def longest_reach_m(capacity_kN: float, face_kN: float, friction_kN_per_m: float) -> float:
    """Length of a level drive at which the thrust reaches its capacity [m]."""
    return (capacity_kN - face_kN) / friction_kN_per_m
