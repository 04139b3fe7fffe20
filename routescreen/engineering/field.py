"""Magnetic field of DC cables above ground, for each way of the return current, and what a compass shows.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

_UT_M_PER_A = 0.2  # mu_0 / (2 pi) [uT m/A]; since 2019 exact to 10 digits only


def cable_field_uT(
    offset_m: ArrayLike,
    height_m: ArrayLike,
    *,
    cable_offset_m: ArrayLike,
    cable_height_m: ArrayLike,
    current_A: ArrayLike,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Sum the static fields of long parallel cables in a cross-section of the line.

    Parameters
    ----------
    offset_m, height_m : array_like of shape (..., m)
        Points: place across the line, to the right of its direction, and height [m].
    cable_offset_m, cable_height_m : array_like of shape (..., n)
        Axes of the cables; buried ones have heights below 0 if the ground is at 0 [m].
    current_A : array_like of shape (..., n)
        Currents, above 0 in the direction of the line [A].

    Returns
    -------
    right_uT, up_uT : ndarray of float64, shape (..., m)
        Parts of the field to the right of the line's direction and upwards; NaN on a cable [uT].

    Notes
    -----
    Biot and Savart for infinitely long wires, mu_0 I / (2 pi r). Range: points that are near against the
    length over which the cables lie parallel. Ground and pipes count as without magnetism: true for
    plastic pipes, not inside steel.

    References
    ----------
    Any text on electromagnetism.
    """
    points, cables = (..., slice(None), np.newaxis), (..., np.newaxis, slice(None))
    across = (
        np.asarray(offset_m, dtype=np.float64)[points] - np.asarray(cable_offset_m, dtype=np.float64)[cables]
    )
    above = (
        np.asarray(height_m, dtype=np.float64)[points] - np.asarray(cable_height_m, dtype=np.float64)[cables]
    )
    square = across**2 + above**2
    strength = _UT_M_PER_A * np.asarray(current_A, dtype=np.float64)[cables]
    strength, square = np.broadcast_arrays(strength, square)
    per_m = np.divide(strength, square, out=np.full(square.shape, np.nan), where=square > 0.0)
    return np.sum(per_m * above, axis=-1), np.sum(-per_m * across, axis=-1)


def with_earth_uT(
    right_uT: ArrayLike,
    up_uT: ArrayLike,
    *,
    bearing_deg: ArrayLike,
    earth_horizontal_uT: ArrayLike,
    earth_down_uT: ArrayLike,
) -> NDArray[np.float64]:
    """Strength of the cables' and the earth's fields together.

    Parameters
    ----------
    right_uT, up_uT : array_like
        Field of the cables, see `cable_field_uT` [uT].
    bearing_deg : array_like
        Direction of the line, clockwise from magnetic north [deg].
    earth_horizontal_uT, earth_down_uT : array_like
        Parts of the earth's field to magnetic north and downwards [uT].

    Returns
    -------
    ndarray of float64
        Length of the sum of both [uT].
    """
    north, east = _horizontal_parts(right_uT, bearing_deg, earth_horizontal_uT)
    up = np.asarray(up_uT, dtype=np.float64) - np.asarray(earth_down_uT, dtype=np.float64)
    return np.asarray(np.sqrt(north**2 + east**2 + up**2))


def compass_error_deg(
    right_uT: ArrayLike, *, bearing_deg: ArrayLike, earth_horizontal_uT: ArrayLike
) -> NDArray[np.float64]:
    """Angle by which a compass needle turns away from magnetic north.

    Parameters
    ----------
    right_uT, bearing_deg, earth_horizontal_uT : array_like
        See `with_earth_uT`; a needle held level feels the horizontal part only.

    Returns
    -------
    ndarray of float64
        Clockwise above 0, from -180 to 180 [deg].

    Examples
    --------
    >>> compass_error_deg([0.0, 20.0, -20.0], bearing_deg=0.0, earth_horizontal_uT=20.0)
    array([  0.,  45., -45.])
    """
    north, east = _horizontal_parts(right_uT, bearing_deg, earth_horizontal_uT)
    return np.asarray(np.degrees(np.arctan2(east, north)))


def _horizontal_parts(
    right_uT: ArrayLike, bearing_deg: ArrayLike, earth_horizontal_uT: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """North and east parts of both fields."""
    bearing = np.radians(np.asarray(bearing_deg, dtype=np.float64))
    right = np.asarray(right_uT, dtype=np.float64)
    north = np.asarray(earth_horizontal_uT, dtype=np.float64) - right * np.sin(bearing)
    return north, np.asarray(right * np.cos(bearing))


def return_cases_A(
    polarity: ArrayLike, system: ArrayLike, current_A: float
) -> tuple[tuple[str, ...], NDArray[np.float64]]:
    """Currents of all cables for each way in which the current may return.

    Parameters
    ----------
    polarity : array_like of int, shape (n,)
        1 and -1 for the poles, 0 for a return cable.
    system : array_like of int, shape (n,)
        Number of the system to which each cable belongs.
    current_A : float
        Current of a pole [A].

    Returns
    -------
    names : tuple of str
        Of the k cases.
    currents_A : ndarray of float64, shape (k, n)
        First with both poles of all systems. Then, for each pole of each system, with its converter out:
        the other pole's current comes back through the system's return cables in equal parts, and
        through the idle pole's own cable where there is none. Then, for each system, with it out, if
        there are others [A].

    Raises
    ------
    ValueError
        If a polarity is not -1, 0 or 1, or a system doesn't have one cable of each pole.
    """
    signs, systems = np.asarray(polarity, dtype=np.int64), np.asarray(system, dtype=np.int64)
    if signs.ndim != 1 or signs.shape != systems.shape or not np.all(np.isin(signs, (-1, 0, 1))):
        raise ValueError("polarities must be -1, 0 or 1, with one system for each cable")
    for name in np.unique(systems):
        if sorted(signs[(systems == name) & (signs != 0)].tolist()) != [-1, 1]:
            raise ValueError("each system must have one cable of polarity 1 and one of polarity -1")
    cases: dict[str, NDArray[np.float64]] = {"both poles": signs.astype(np.float64)}
    for idle in np.flatnonzero(signs != 0):
        mine = systems == systems[idle]
        returns = mine & (signs == 0) if np.any(mine & (signs == 0)) else np.arange(signs.size) == idle
        case = np.where(np.arange(signs.size) == idle, 0.0, signs)
        case = case + np.where(returns, signs[idle] / np.count_nonzero(returns), 0.0)
        pole = "+" if signs[idle] > 0 else "-"
        cases[f"system {systems[idle]}, pole {pole} out, metallic return"] = case
    if np.unique(systems).size > 1:
        for name in np.unique(systems):
            cases[f"system {name} out"] = np.where(systems == name, 0.0, signs)
    return tuple(cases), current_A * np.array(list(cases.values()))
