"""Distance between parallel bores.

Room: ``engineering``. Plain numbers in SI units; imports nothing of the package.
"""

from __future__ import annotations


def deviation_spacing_m(
    *, pipe_diameter_m: float, bore_diameter_m: float, deviation_frac: float, length_m: float
) -> float:
    """Distance at which two bores can't meet although both deviate.

    Parameters
    ----------
    pipe_diameter_m, bore_diameter_m : float
        Outer diameter of the pipe that lies, diameter of the bore that comes [m].
    deviation_frac : float
        Deviation of a bore as a share of its length [-].
    length_m : float
        Length of the drive [m].

    Returns
    -------
    float
        OD + D_bore + 2 delta L [m] (common practice, no source).
    """
    return pipe_diameter_m + bore_diameter_m + 2.0 * deviation_frac * length_m


def bore_spacing_m(
    *,
    thermal_m: float,
    least_m: float,
    pipe_diameter_m: float,
    bore_diameter_m: float,
    deviation_frac: float,
    length_m: float,
    diameters: float,
) -> float:
    """Distance between the axes of neighbouring bores.

    Parameters
    ----------
    thermal_m, least_m : float
        What the cable's rating and the method ask for [m].
    pipe_diameter_m, bore_diameter_m, deviation_frac, length_m
        See `deviation_spacing_m`.
    diameters : float
        Least distance in bore diameters [-].

    Returns
    -------
    float
        The largest of the four needs [m].
    """
    by_deviation = deviation_spacing_m(
        pipe_diameter_m=pipe_diameter_m,
        bore_diameter_m=bore_diameter_m,
        deviation_frac=deviation_frac,
        length_m=length_m,
    )
    return max(thermal_m, least_m, by_deviation, diameters * bore_diameter_m)
