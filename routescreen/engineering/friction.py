"""Friction on jacked pipes: from stresses, from measured forces, and the bands in publications.

Room: ``engineering``. Pure arrays in SI units.
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
class FrictionBand:
    """Range of friction per area of pipe in a publication.

    Attributes
    ----------
    low_kPa, high_kPa : float
    source : str
    """

    low_kPa: float
    high_kPa: float
    source: str


KPA_PER_T_PER_M2 = 9.81
BANDS = {
    # 0.5 to 2.5 t/m2, down to 0.1 t/m2 with sophisticated lubrication
    "usual": FrictionBand(
        0.5 * KPA_PER_T_PER_M2,
        2.5 * KPA_PER_T_PER_M2,
        "Pipe Jacking Association, Introduction to pipe jacking",
    ),
    "lubricated": FrictionBand(
        0.1 * KPA_PER_T_PER_M2,
        0.5 * KPA_PER_T_PER_M2,
        "Pipe Jacking Association, Introduction to pipe jacking",
    ),
    # measured force per metre over pi OD, OD 0.64 to 1.08 m
    "measured on slurry drives": FrictionBand(0.39, 5.00, "Adv. Civ. Eng. 2020, 6594306, tables 1 and 3"),
}


def is_in_band(tau_kPa: ArrayLike, band: FrictionBand) -> NDArray[np.bool_]:
    """Whether a friction lies in a published band, its ends included; NaN doesn't."""
    tau = np.asarray(tau_kPa, dtype=np.float64)
    return np.asarray((tau >= band.low_kPa) & (tau <= band.high_kPa))


def friction_of_force_kPa(force_kN_per_m: ArrayLike, outer_diameter_m: ArrayLike) -> Array:
    """Friction per area that a measured force per metre of drive means, F/(pi OD) [kPa]."""
    force = np.asarray(force_kN_per_m, dtype=np.float64)
    return np.asarray(force / (np.pi * positive("the outer diameter", outer_diameter_m)))


def friction_of_stress_kPa(
    coefficient: ArrayLike, vertical_kPa: ArrayLike, horizontal_kPa: ArrayLike
) -> Array:
    """Friction per area of the mean normal stress on a pipe, f (Pv + Ph)/2 [kPa].

    Parameters
    ----------
    coefficient : array_like
        Of friction between pipe and ground, as lubricated [-].
    vertical_kPa, horizontal_kPa : array_like
        Normal stress on crown and springing [kPa].

    Notes
    -----
    Linear in the length of the drive. Such laws have been found 14 to 30 % under what was measured
    (Adv. Civ. Eng. 2021, 8790899, table 13).
    """
    mean = (np.asarray(vertical_kPa, dtype=np.float64) + np.asarray(horizontal_kPa, dtype=np.float64)) / 2.0
    return np.asarray(not_negative("the coefficient of friction", coefficient) * mean)


def edge_resistance_kN(
    stress_kPa: ArrayLike,
    wall_friction_deg: ArrayLike,
    adhesion_kPa: ArrayLike,
    bearing_factor: ArrayLike,
    edge_diameter_m: ArrayLike,
    edge_thickness_m: ArrayLike,
) -> Array:
    """Resistance of the cutting edge of a shield.

    Parameters
    ----------
    stress_kPa : array_like
        gamma Z, vertical stress at the edge [kPa].
    wall_friction_deg, adhesion_kPa : array_like
        Friction and adhesion between soil and steel [degrees], [kPa].
    bearing_factor : array_like
        lambda_c [-].
    edge_diameter_m, edge_thickness_m : array_like
        Of the edge [m].

    Returns
    -------
    ndarray of float64
        (gamma Z tan psi + C) lambda_c pi D t [kN].

    References
    ----------
    A public design sheet for pipe jacking, 2018.
    """
    shear = np.asarray(stress_kPa, dtype=np.float64) * np.tan(friction_angle_rad(wall_friction_deg))
    ring = np.pi * positive("the edge's diameter", edge_diameter_m) * np.asarray(edge_thickness_m)
    return np.asarray((shear + np.asarray(adhesion_kPa)) * np.asarray(bearing_factor) * ring)
