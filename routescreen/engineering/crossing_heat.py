"""Heat of a line that crosses cables at an angle: how much warmer their conductors get where it crosses.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

# Wiedemann, Franz and Lorenz: heat conducted along a metal over current, (pi^2/3)(k/e)^2 [V2/K2].
LORENZ_W_OHM_PER_K2 = 2.44e-8
ROOM_K = 293.15
_N_PARTS = 400


def equalising_length_m(conductor_ohm_per_m: ArrayLike, inside_K_m_per_W: ArrayLike) -> Array:
    """Length along a cable over which its conductor evens out differences of the ground's temperature.

    Parameters
    ----------
    conductor_ohm_per_m : array_like
        Resistance of the conductor at 20 degC [ohm/m].
    inside_K_m_per_W : array_like
        Thermal resistance between conductor and ground [K m/W].

    Returns
    -------
    ndarray of float64
        sqrt(lambda A T), with lambda A = L0 theta / R'20 by the law of Wiedemann, Franz and Lorenz [m].

    Notes
    -----
    2 500 mm2 of copper, 7.2e-6 ohm/m: 0.993 W m/K, as 2.5e-3 m2 of 397 W/(K m). The resistance of the ground
    itself is left out, which makes the length shorter: the safe side.

    Examples
    --------
    >>> equalising_length_m(7.2e-6, 0.6866).round(2)
    np.float64(0.83)
    """
    along = LORENZ_W_OHM_PER_K2 * ROOM_K / np.asarray(conductor_ohm_per_m, dtype=np.float64)
    return np.asarray(np.sqrt(along * np.asarray(inside_K_m_per_W, dtype=np.float64)))


def crossing_rise_K(
    depth_m: ArrayLike,
    *,
    source_depth_m: ArrayLike,
    heat_W_per_m: ArrayLike,
    rho_K_m_per_W: ArrayLike,
    angle_deg: ArrayLike,
    equalising_m: ArrayLike,
) -> Array:
    """Rise of a conductor's temperature where a line source crosses above or below it, in moist ground.

    Parameters
    ----------
    depth_m : array_like
        Axes of the cables [m].
    source_depth_m, heat_W_per_m : array_like
        Axis and heat of the line that crosses [m], [W/m].
    rho_K_m_per_W : array_like
        Resistivity of the ground [K m/W].
    angle_deg : array_like
        Between both lines in plan: 0 parallel, 90 square [deg].
    equalising_m : array_like
        See `equalising_length_m`; 0 counts the ground's rise at the crossing itself [m].

    Returns
    -------
    ndarray of float64
        NaN where both lie at one depth or one of them not below the ground [K].

    Notes
    -----
    At a distance z along the cable the ground is warmer by
    theta(z) = rho W / (4 pi) ln(((L + H)^2 + (z sin beta)^2) / ((L - H)^2 + (z sin beta)^2)), the line and
    its image, whose distance across is z sin beta. The conductor leads heat along: its rise obeys
    l^2 u'' = u - theta(z), l the length of `equalising_length_m`, hence at the crossing
    u(0) = integral of theta(z) e^(-z/l) dz / l from 0 on (own derivation from the equation of conduction).
    With t = e^(-z/l) it is the mean of theta over t; the sum taken has the largest theta of each of 400 equal
    parts, so it is never below u(0). Uniform ground; losses as at the highest temperature all along.

    References
    ----------
    By analogy to IEC 60287-3-3, cables crossing external heat sources (from memory).

    Examples
    --------
    At the crossing itself 30 W/m x 1/2pi ln(4/1):

    >>> crossing_rise_K(
    ...     2.5, source_depth_m=1.5, heat_W_per_m=30.0, rho_K_m_per_W=1.0, angle_deg=90.0, equalising_m=0.0
    ... ).round(2)
    np.float64(6.62)
    """
    depth, source, heat, rho, angle, length = (
        values[..., np.newaxis]
        for values in np.broadcast_arrays(
            *(
                np.asarray(value, dtype=np.float64)
                for value in (depth_m, source_depth_m, heat_W_per_m, rho_K_m_per_W, angle_deg, equalising_m)
            )
        )
    )
    # the near end of each part: t is 1 at the crossing and falls away from it
    aside_m = -np.log(np.arange(_N_PARTS, 0, -1) / _N_PARTS) * length * np.abs(np.sin(np.radians(angle)))
    is_valid = (depth > 0.0) & (source > 0.0) & (depth != source)
    near = np.where(is_valid, (depth - source) ** 2, np.nan) + aside_m**2
    logs = np.log(((depth + source) ** 2 + aside_m**2) / near)
    return np.asarray(np.mean(rho * heat / (4.0 * math.pi) * logs, axis=-1))
