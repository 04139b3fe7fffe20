"""Ramp of the cables from the deep end of a bore up to trench depth.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def pull_above_bend_kN(
    *, length_m: float, weight_kN_per_m: float, friction: float, bend_deg: float, back_tension_kN: float
) -> float:
    """Pull in a cable that has gone down one ramp, along a level bore and up the other ramp.

    Parameters
    ----------
    length_m : float
        Length of the bore [m].
    weight_kN_per_m : float
        Weight of the cable [kN/m].
    friction : float
        Friction of the cable in the pipe [-].
    bend_deg : float
        Angle of the bend at each end [deg].
    back_tension_kN : float
        Pull with which the drum brakes [kN].

    Returns
    -------
    float
        (T0 e^(mu a) + w L mu) e^(mu a) [kN].

    Notes
    -----
    The capstan law at both bends and sliding friction between them (common practice, no source).
    """
    bend = math.exp(friction * math.radians(bend_deg))
    return (back_tension_kN * bend + weight_kN_per_m * length_m * friction) * bend


def bend_radius_m(*, least_bend_m: float, pull_kN: float, side_wall_kN_per_m: float) -> float:
    """Least radius of the cable in the ramp.

    Parameters
    ----------
    least_bend_m : float
        Least radius of bend while the cable is pulled [m].
    pull_kN : float
        Pull in the cable where it leaves the bend [kN].
    side_wall_kN_per_m : float
        Side-wall pressure that the cable stands [kN/m].

    Returns
    -------
    float
        The larger of the cable's bend and pull / side-wall pressure [m].
    """
    return max(least_bend_m, pull_kN / side_wall_kN_per_m)


def ramp_run_m(rise_m: ArrayLike, radius_m: ArrayLike, angle_deg: float) -> NDArray[np.float64]:
    """Plan length of a ramp made of an arc, a straight and the counter-arc.

    Parameters
    ----------
    rise_m : array_like
        Height between the axes at both ends; what is below 0 counts as 0 [m].
    radius_m : array_like
        Radius of both arcs [m].
    angle_deg : float
        Steepest inclination t of the ramp [deg].

    Returns
    -------
    ndarray of float64
        Plan length, 0 where nothing is to be climbed [m].

    Notes
    -----
    The arcs alone climb 2 R (1 - cos t). Higher ramps run 2 R sin t + (dz - 2 R (1 - cos t)) / tan t;
    lower ones end at the angle t' = acos(1 - dz / 2R) and run 2 R sin t'. Own geometry.

    Examples
    --------
    >>> ramp_run_m(8.78, 5.0, 30.0).round(1)
    np.float64(17.9)
    """
    rise = np.maximum(np.asarray(rise_m, dtype=np.float64), 0.0)
    radius = np.asarray(radius_m, dtype=np.float64)
    angle = np.radians(angle_deg)
    by_arcs = 2.0 * radius * (1.0 - np.cos(angle))
    full = 2.0 * radius * np.sin(angle) + (rise - by_arcs) / np.tan(angle)
    flat = np.arccos(1.0 - np.minimum(rise, by_arcs) / (2.0 * radius))
    return np.asarray(np.where(rise >= by_arcs, full, 2.0 * radius * np.sin(flat)))


def _arc_angle(
    rise_m: ArrayLike, radius_m: ArrayLike, angle_deg: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Rise at least 0, radius, and the inclination between both arcs in radians."""
    rise, radius = np.broadcast_arrays(
        np.maximum(np.asarray(rise_m, dtype=np.float64), 0.0), np.asarray(radius_m, dtype=np.float64)
    )
    by_arcs = 2.0 * radius * (1.0 - np.cos(np.radians(angle_deg)))
    return rise, radius, np.arccos(1.0 - np.minimum(rise, by_arcs) / (2.0 * radius))


def ramp_length_m(rise_m: ArrayLike, radius_m: ArrayLike, angle_deg: float) -> NDArray[np.float64]:
    """Length of the cable in a ramp, which is longer than the ramp's run.

    Parameters
    ----------
    rise_m, radius_m, angle_deg
        See `ramp_run_m`.

    Returns
    -------
    ndarray of float64
        2 R t + straight, the straight (dz - 2 R (1 - cos t)) / sin t where there is one [m].

    Examples
    --------
    >>> ramp_length_m(8.78, 5.0, 30.0).round(2)
    np.float64(20.12)
    """
    rise, radius, angle = _arc_angle(rise_m, radius_m, angle_deg)
    straight = np.maximum(rise - 2.0 * radius * (1.0 - np.cos(angle)), 0.0) / np.sin(np.radians(angle_deg))
    return np.asarray(2.0 * radius * angle + straight)


def climbed_m(
    run_m: ArrayLike, rise_m: ArrayLike, radius_m: ArrayLike, angle_deg: float
) -> NDArray[np.float64]:
    """Height climbed after part of a ramp's run: gives the depth there, for the cable's heat.

    Parameters
    ----------
    run_m : array_like
        Plan distance from the deep end; before it counts as 0, beyond the ramp as its whole run [m].
    rise_m, radius_m, angle_deg
        See `ramp_run_m`.

    Returns
    -------
    ndarray of float64
        Height over the deep end [m].
    """
    rise, radius, angle = _arc_angle(rise_m, radius_m, angle_deg)
    whole = ramp_run_m(rise, radius, angle_deg)
    run = np.clip(np.asarray(run_m, dtype=np.float64), 0.0, whole)
    # The ramp is the same from both ends: the upper half is the lower one, turned round.
    half = np.minimum(run, whole - run)
    arc = radius * np.sin(angle)
    on_arc = radius - np.sqrt(np.maximum(radius**2 - np.minimum(half, arc) ** 2, 0.0))
    low = on_arc + np.maximum(half - arc, 0.0) * np.tan(angle)
    return np.asarray(np.where(run <= whole / 2.0, low, rise - low))
