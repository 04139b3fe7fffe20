"""Thrust walls: what the ground behind a launch shaft bears, and how large the block must be.

Room: ``engineering``. Pure arrays in SI units. The wall's movement is not modelled, so every result is
assumed, however well the ground is known.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import friction_angle_rad, not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


def passive_coefficient(phi_deg: ArrayLike) -> Array:
    """Passive earth pressure over vertical stress, tan2(45 + phi/2) (Rankine) [-].

    Parameters
    ----------
    phi_deg : array_like
        Angle of friction; level ground, upright smooth wall [deg].
    """
    return np.asarray(np.tan(np.pi / 4.0 + friction_angle_rad(phi_deg) / 2.0) ** 2)


def passive_stress_kPa(vertical_kPa: ArrayLike, phi_deg: ArrayLike, cohesion_kPa: ArrayLike = 0.0) -> Array:
    """Greatest effective stress that the ground sets against a wall, Kp sigma'_v + 2 c sqrt(Kp) [kPa].

    Parameters
    ----------
    vertical_kPa : array_like
        Effective, at the axis of the drive [kPa].
    phi_deg, cohesion_kPa : array_like
        Strength; cohesion is left out unless it has been proven [deg], [kPa].
    """
    ratio = passive_coefficient(phi_deg)
    cohesion = not_negative("the cohesion", cohesion_kPa)
    return np.asarray(ratio * not_negative("the stress", vertical_kPa) + 2.0 * cohesion * np.sqrt(ratio))


def thrust_wall_kN(
    passive_kPa: ArrayLike, width_m: ArrayLike, height_m: ArrayLike, *, share: float, factor: float
) -> Array:
    """Thrust that a block at the rear wall of a launch shaft passes into the ground [kN].

    Parameters
    ----------
    passive_kPa : array_like
        See `passive_stress_kPa`, at the middle of the block [kPa].
    width_m, height_m : array_like
        Of the block [m].
    share : float
        Part of the passive stress that little movement calls up, 1/2 (common practice, no source) [-].
    factor : float
        1.3 (from memory) [-].

    Notes
    -----
    share Kp sigma'_v b h/factor.
    """
    area = not_negative("the width", width_m) * not_negative("the height", height_m)
    return np.asarray(not_negative("the passive stress", passive_kPa) * area * _part(share, factor))


def square_block_m(thrust_kN: ArrayLike, passive_kPa: ArrayLike, *, share: float, factor: float) -> Array:
    """Side of the square block that passes a thrust into the ground [m].

    Parameters
    ----------
    thrust_kN : array_like
        The greatest, after a stop [kN].
    passive_kPa, share, factor
        See `thrust_wall_kN`.
    """
    stress = positive("the passive stress", passive_kPa) * _part(share, factor)
    return np.asarray(np.sqrt(not_negative("the thrust", thrust_kN) / stress))


def block_width_m(
    thrust_kN: ArrayLike, passive_kPa: ArrayLike, height_m: ArrayLike, *, share: float, factor: float
) -> Array:
    """Width of the block of a given height that passes a thrust into the ground [m].

    Parameters
    ----------
    thrust_kN, passive_kPa, share, factor
        See `square_block_m`.
    height_m : array_like
        [m]
    """
    stress = positive("the passive stress", passive_kPa) * _part(share, factor)
    return np.asarray(not_negative("the thrust", thrust_kN) / (stress * positive("the height", height_m)))


def thrust_left_kN(thrust_kN: ArrayLike, wall_kN: ArrayLike) -> Array:
    """Part of a thrust that anchors must hold because the block does not, at least 0 [kN].

    Parameters
    ----------
    thrust_kN, wall_kN : array_like
        Greatest thrust; what the block bears, see `thrust_wall_kN` [kN].
    """
    return np.asarray(np.maximum(np.asarray(thrust_kN, dtype=np.float64) - np.asarray(wall_kN), 0.0))


def _part(share: float, factor: float) -> float:
    return float(positive("the share", share) / positive("the factor", factor))
