"""Distance between parallel bores.

Room: ``engineering``. Pure arrays in SI units.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


def deviation_m(length_m: ArrayLike, deviation_frac: ArrayLike, least_m: ArrayLike = 0.0) -> Array:
    """How far a bore may lie off its line at a distance from its start [m].

    Parameters
    ----------
    length_m : array_like
        From the start [m].
    deviation_frac : array_like
        Deviation as a share of the length [-].
    least_m : array_like
        What it may be off anyhow, e.g. 0.05 in enterable drives [m].
    """
    grown = not_negative("the deviation", deviation_frac) * not_negative("the length", length_m)
    return np.asarray(np.maximum(grown, np.asarray(least_m, dtype=np.float64)))


def deviation_spacing_m(
    *,
    pipe_diameter_m: ArrayLike,
    bore_diameter_m: ArrayLike,
    deviation_frac: ArrayLike,
    length_m: ArrayLike,
    least_deviation_m: ArrayLike = 0.0,
) -> Array:
    """Distance at which two bores can't meet although both deviate.

    Parameters
    ----------
    pipe_diameter_m, bore_diameter_m : array_like
        Outer diameter of the pipe that lies, diameter of the bore that comes [m].
    deviation_frac, length_m, least_deviation_m : array_like
        See `deviation_m`, for the length of the drive.

    Returns
    -------
    ndarray of float64
        OD + D_bore + 2 delta [m] (common practice, no source).
    """
    pipe, bore = np.asarray(pipe_diameter_m, dtype=np.float64), np.asarray(bore_diameter_m, dtype=np.float64)
    return np.asarray(pipe + bore + 2.0 * deviation_m(length_m, deviation_frac, least_deviation_m))


def bore_spacing_m(
    *,
    thermal_m: ArrayLike,
    least_m: ArrayLike,
    pipe_diameter_m: ArrayLike,
    bore_diameter_m: ArrayLike,
    deviation_frac: ArrayLike,
    length_m: ArrayLike,
    diameters: ArrayLike,
    least_deviation_m: ArrayLike = 0.0,
) -> Array:
    """Distance between the axes of neighbouring bores.

    Parameters
    ----------
    thermal_m, least_m : array_like
        What the cable's rating and the method ask for; NaN where the rating isn't evaluated [m].
    pipe_diameter_m, bore_diameter_m, deviation_frac, length_m, least_deviation_m
        See `deviation_spacing_m`.
    diameters : array_like
        Least distance in bore diameters [-].

    Returns
    -------
    ndarray of float64
        The largest of the four needs; NaN where one of them isn't known [m].
    """
    by_deviation = deviation_spacing_m(
        pipe_diameter_m=pipe_diameter_m,
        bore_diameter_m=bore_diameter_m,
        deviation_frac=deviation_frac,
        length_m=length_m,
        least_deviation_m=least_deviation_m,
    )
    by_size = np.asarray(diameters, dtype=np.float64) * positive("the bore's diameter", bore_diameter_m)
    return np.asarray(np.maximum(np.maximum(thermal_m, least_m), np.maximum(by_deviation, by_size)))


def spacing_utilisation(needed_m: ArrayLike, chosen_m: ArrayLike) -> Array:
    """Distance needed over distance chosen: above 1 the bores lie too close [-]."""
    return np.asarray(np.asarray(needed_m, dtype=np.float64) / positive("the distance chosen", chosen_m))
