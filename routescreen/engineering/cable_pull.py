"""Pulling cables into pipes: straights, slopes and bends, from both ends; limits of eye and side wall.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

GRAVITY_M_PER_S2 = 9.81
DRUM_BRAKE_KN = 3.0  # pull with which the drum brakes; common practice, no source


def straight_gain_kN(
    length_m: ArrayLike, slope_deg: ArrayLike, weight_kN_per_m: ArrayLike, friction: ArrayLike
) -> NDArray[np.float64]:
    """Pull that a straight adds.

    Parameters
    ----------
    length_m, slope_deg : array_like
        Length [m], and slope in the direction of the pull, uphill above 0 [deg].
    weight_kN_per_m, friction : array_like
        Weight of the cable [kN/m], friction in the pipe [-].

    Returns
    -------
    ndarray of float64
        w L (mu cos a + sin a) [kN]; below 0 on a slope that is steeper than the friction.
    """
    slope = np.radians(np.asarray(slope_deg, dtype=np.float64))
    hold = np.asarray(friction, dtype=np.float64) * np.cos(slope) + np.sin(slope)
    return np.asarray(
        np.asarray(weight_kN_per_m, dtype=np.float64) * np.asarray(length_m, dtype=np.float64) * hold
    )


def bend_factor(bend_deg: ArrayLike, friction: ArrayLike) -> NDArray[np.float64]:
    """Factor by which a bend multiplies the pull.

    Parameters
    ----------
    bend_deg, friction : array_like
        Change of direction, in plan or in elevation [deg], friction in the pipe [-].

    Returns
    -------
    ndarray of float64
        e^(mu a), the capstan law of Euler and Eytelwein [-].

    Notes
    -----
    Leaves out the cable's weight within the bend: good while the pull is large against w R.

    Examples
    --------
    >>> bend_factor(90.0, [0.25, 0.30, 0.40]).round(2)
    array([1.48, 1.6 , 1.87])
    """
    angle = np.radians(np.abs(np.asarray(bend_deg, dtype=np.float64)))
    return np.asarray(np.exp(np.asarray(friction, dtype=np.float64) * angle))


def _checked(
    length_m: ArrayLike, slope_deg: ArrayLike, bend_deg: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Segments as arrays of one shape; each is a straight or a bend."""
    length, slope, bend = np.broadcast_arrays(
        np.asarray(length_m, dtype=np.float64),
        np.asarray(slope_deg, dtype=np.float64),
        np.asarray(bend_deg, dtype=np.float64),
    )
    if length.ndim != 1 or np.any((length != 0.0) & (bend != 0.0)) or np.any(length < 0.0):
        raise ValueError("each segment must be a straight (length above 0) or a bend (length 0)")
    return length, slope, bend


def pull_kN(
    length_m: ArrayLike,
    slope_deg: ArrayLike,
    bend_deg: ArrayLike,
    *,
    weight_kN_per_m: float,
    friction: ArrayLike,
    back_tension_kN: float,
) -> NDArray[np.float64]:
    """Pull on the cable's head at the end of each segment.

    Parameters
    ----------
    length_m, slope_deg, bend_deg : array_like of shape (n,)
        Segments in the order of the pull: a straight has length and slope, a bend has an angle [m],
        [deg], [deg].
    weight_kN_per_m : float
        Weight of the cable [kN/m].
    friction : array_like of shape (...)
        Friction in the pipe, expected and high for instance [-].
    back_tension_kN : float
        Pull with which the drum brakes [kN].

    Returns
    -------
    ndarray of float64, shape (..., n + 1)
        Pull before the first segment and at the end of each [kN].

    Notes
    -----
    Straight: T + w L (mu cos a + sin a), at least 0: a cable that runs downhill by itself is held by the
    drum. Bend: T e^(mu a).

    Raises
    ------
    ValueError
        If a segment is both straight and bend.
    """
    length, slope, bend = _checked(length_m, slope_deg, bend_deg)
    mu = np.asarray(friction, dtype=np.float64)
    each = (slice(None), *(np.newaxis,) * mu.ndim)  # segments first, whatever shape frictions have
    gains = straight_gain_kN(length[each], slope[each], weight_kN_per_m, mu)
    factors = bend_factor(bend[each], mu)
    pulls = np.empty((len(length) + 1, *mu.shape))
    pulls[0] = back_tension_kN
    for i in range(len(length)):
        pulls[i + 1] = np.maximum(pulls[i] + gains[i], 0.0) * factors[i]
    return np.ascontiguousarray(np.moveaxis(pulls, 0, -1))


def pull_both_ways_kN(
    length_m: ArrayLike,
    slope_deg: ArrayLike,
    bend_deg: ArrayLike,
    *,
    weight_kN_per_m: float,
    friction: ArrayLike,
    back_tension_kN: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Pull with the drum at the first end, and with the drum at the last end.

    Parameters
    ----------
    length_m, slope_deg, bend_deg, weight_kN_per_m, friction, back_tension_kN
        See `pull_kN`.

    Returns
    -------
    forward_kN, backward_kN : ndarray of float64, shape (..., n + 1)
        Both in the order of the segments: the backward pull is largest at the first place [kN].
    """
    length, slope, bend = _checked(length_m, slope_deg, bend_deg)
    forward = pull_kN(
        length,
        slope,
        bend,
        weight_kN_per_m=weight_kN_per_m,
        friction=friction,
        back_tension_kN=back_tension_kN,
    )
    backward = pull_kN(
        length[::-1],
        -slope[::-1],
        bend[::-1],
        weight_kN_per_m=weight_kN_per_m,
        friction=friction,
        back_tension_kN=back_tension_kN,
    )
    return forward, backward[..., ::-1]


def side_wall_kN_per_m(pull_beyond_kN: ArrayLike, radius_m: ArrayLike) -> NDArray[np.float64]:
    """Pressure of the cable on the inside of a bend.

    Parameters
    ----------
    pull_beyond_kN, radius_m : array_like
        Pull where the cable leaves the bend [kN], radius of the bend [m].

    Returns
    -------
    ndarray of float64
        T / R [kN/m].
    """
    return np.asarray(np.asarray(pull_beyond_kN, dtype=np.float64) / np.asarray(radius_m, dtype=np.float64))


def cut_corner_radius_m(
    bend_deg: ArrayLike, tangent_m: ArrayLike, *, off_m: float, least_m: float
) -> NDArray[np.float64]:
    """Radius of the arc that takes a corner of the line within a distance of it.

    Parameters
    ----------
    bend_deg : array_like
        Change of direction, above 0 and below 180 [deg].
    tangent_m : array_like
        Length of the line on either side that the arc may take up [m].
    off_m : float
        How far the arc may lie off the corner [m].
    least_m : float
        Least radius of the pipe [m].

    Returns
    -------
    ndarray of float64
        The smaller of off / (1 / cos(a/2) - 1) and tangent / tan(a/2), at least `least_m` [m].

    Examples
    --------
    >>> cut_corner_radius_m([10.0, 90.0], 50.0, off_m=0.5, least_m=7.0).round(1)
    array([130.9,   7. ])
    """
    half = np.radians(np.asarray(bend_deg, dtype=np.float64)) / 2.0
    by_room = np.asarray(tangent_m, dtype=np.float64) / np.tan(half)
    by_corner = off_m * np.cos(half) / (2.0 * np.sin(half / 2.0) ** 2)
    return np.asarray(np.maximum(np.minimum(by_room, by_corner), least_m))


def eye_limit_kN(area_mm2: ArrayLike, stress_N_per_mm2: ArrayLike) -> NDArray[np.float64]:
    """Pull that an eye on the conductor may take.

    Parameters
    ----------
    area_mm2, stress_N_per_mm2 : array_like
        Section of the conductor [mm2], stress allowed in its metal [N/mm2].

    Returns
    -------
    ndarray of float64
        sigma A [kN].

    Examples
    --------
    >>> eye_limit_kN(2500.0, 50.0)
    array(125.)
    """
    stress = np.asarray(stress_N_per_mm2, dtype=np.float64)
    return np.asarray(np.asarray(area_mm2, dtype=np.float64) * stress / 1000.0)


def least_pipe_inside_m(cable_diameter_m: ArrayLike, ratio: float) -> NDArray[np.float64]:
    """Inside diameter that a pipe needs for one cable to be pulled in.

    Parameters
    ----------
    cable_diameter_m : array_like
        Outer diameter of the cable [m].
    ratio : float
        Inside of the pipe over the cable's diameter, 1.5 in makers' sheets [-].

    Returns
    -------
    ndarray of float64
        Their product [m].
    """
    return np.asarray(ratio * np.asarray(cable_diameter_m, dtype=np.float64))


def straight_reach_m(
    limit_kN: ArrayLike,
    *,
    slope_deg: ArrayLike,
    weight_kN_per_m: ArrayLike,
    friction: ArrayLike,
    back_tension_kN: ArrayLike,
) -> NDArray[np.float64]:
    """Length of a straight at whose end the pull meets its limit.

    Parameters
    ----------
    limit_kN : array_like
        Pull allowed at the end of the straight [kN].
    slope_deg, weight_kN_per_m, friction
        See `straight_gain_kN`.
    back_tension_kN : array_like
        Pull at its beginning [kN].

    Returns
    -------
    ndarray of float64
        Infinite where the pull doesn't grow, 0 where the limit is met at once [m].
    """
    spare = np.maximum(np.asarray(limit_kN, dtype=np.float64) - np.asarray(back_tension_kN), 0.0)
    rate = straight_gain_kN(1.0, slope_deg, weight_kN_per_m, friction)
    spare, rate = np.broadcast_arrays(spare, rate)
    return np.asarray(np.divide(spare, rate, out=np.full(spare.shape, np.inf), where=rate > 0.0))


def pull_reach(
    length_m: ArrayLike,
    slope_deg: ArrayLike,
    bend_deg: ArrayLike,
    radius_m: ArrayLike,
    *,
    weight_kN_per_m: float,
    friction: float,
    back_tension_kN: float,
    limit_kN: float,
    side_wall_limit_kN_per_m: float,
) -> NDArray[np.int64]:
    """Find how far a pull gets that starts at any joint of the segments.

    Parameters
    ----------
    length_m, slope_deg, bend_deg, weight_kN_per_m, back_tension_kN
        See `pull_kN`.
    radius_m : array_like of shape (n,)
        Radius of each bend; straights may have any [m].
    friction : float
        Friction in the pipe [-].
    limit_kN, side_wall_limit_kN_per_m : float
        Limits of the eye [kN] and of the side wall [kN/m].

    Returns
    -------
    ndarray of int64, shape (n + 1,)
        For a start before segment i the number of segments from the first on that its pull has passed:
        at least i.

    Notes
    -----
    For pulls the other way hand over the segments reversed, their slopes with the other sign.
    """
    length, slope, bend = _checked(length_m, slope_deg, bend_deg)
    radius = np.broadcast_to(np.asarray(radius_m, dtype=np.float64), length.shape)
    n = length.size
    pull = np.full(n + 1, back_tension_kN)
    reach = np.arange(n + 1)
    going = np.empty(0, dtype=np.int64)  # starts whose pull hasn't met a limit yet: few on a long way
    gains = straight_gain_kN(length, slope, weight_kN_per_m, friction)
    factors = bend_factor(bend, friction)
    for i in range(n):
        going = np.append(going, i)
        pull[going] = np.maximum(pull[going] + gains[i], 0.0) * factors[i]
        most = limit_kN if bend[i] == 0.0 else min(limit_kN, side_wall_limit_kN_per_m * float(radius[i]))
        going = going[pull[going] <= most]
        reach[going] = i + 1
    return reach
