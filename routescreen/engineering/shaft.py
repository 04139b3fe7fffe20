"""Shafts: size in plan, several shafts or a fan of bores, volume by depth bands, uplift of the base.

Room: ``engineering``. Pure arrays in SI units.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


def plan_size_m(lengths_m: ArrayLike, widths_m: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Inside size in plan of a shaft that serves two drives.

    Parameters
    ----------
    lengths_m, widths_m : array_like of shape (2, ...)
        Length along the drive and width across that each of the two drives needs, 0 where there is
        no drive [m].

    Returns
    -------
    length_m, width_m : ndarray of float64, shape (...)
        The larger of each [m].
    """
    return np.max(np.asarray(lengths_m, dtype=np.float64), axis=0), np.max(
        np.asarray(widths_m, dtype=np.float64), axis=0
    )


def shaft_width_m(n_bores: ArrayLike, spacing_m: ArrayLike, edge_m: ArrayLike) -> Array:
    """Inside width across the drive that parallel bores need, (n - 1) s + edge [m]; 0 without bores.

    Parameters
    ----------
    n_bores : array_like
        That start or end in the shaft [-].
    spacing_m : array_like
        Between their axes [m].
    edge_m : array_like
        Room beyond the outer axes, both sides together: by method (common practice, no source) [m].
    """
    bores = not_negative("the number of bores", n_bores)
    width = (bores - 1.0) * not_negative("the distance", spacing_m) + positive("the edge", edge_m)
    return np.where(bores > 0.0, width, 0.0)


def split_area_m2(
    n_bores: int, n_shafts: ArrayLike, *, length_m: ArrayLike, spacing_m: ArrayLike, edge_m: ArrayLike
) -> Array:
    """Area inside of several shafts that share the bores of one drive [m2].

    Parameters
    ----------
    n_bores : int
        Of the drive, shared out as evenly as they go.
    n_shafts : array_like
        From 1, one wide shaft, to n_bores, one shaft a bore [-].
    length_m, spacing_m, edge_m : array_like
        Length of each along the drive, see `shaft_width_m` [m].

    Returns
    -------
    ndarray of float64
        Sum over the shafts, walls between them not counted.

    Raises
    ------
    ValueError
        If the shafts are none, or more than the bores.
    """
    shafts = np.asarray(n_shafts, dtype=np.float64)
    if np.any((shafts < 1.0) | (shafts > n_bores)):
        raise ValueError("the number of shafts must be from 1 to the number of bores")
    gaps = n_bores - shafts
    widths = gaps * not_negative("the distance", spacing_m) + shafts * positive("the edge", edge_m)
    return np.asarray(widths * positive("the length", length_m))


def is_apart(
    spacing_m: ArrayLike, edge_m: ArrayLike, *, wall_m: ArrayLike, gap_m: ArrayLike
) -> NDArray[np.bool_]:
    """Whether single shafts at the bores' spacing stand clear of each other.

    Parameters
    ----------
    spacing_m, edge_m : array_like
        See `shaft_width_m` [m].
    wall_m, gap_m : array_like
        Thickness of a wall, ground left between two walls [m].
    """
    needed = np.asarray(edge_m, dtype=np.float64) + 2.0 * np.asarray(wall_m) + np.asarray(gap_m)
    return np.asarray(np.asarray(spacing_m, dtype=np.float64) >= needed)


def fan_spacing_m(
    x_m: ArrayLike, length_m: ArrayLike, *, launch_m: ArrayLike, reception_m: ArrayLike
) -> Array:
    """Distance between neighbouring bores of a fan at a distance from its launch [m].

    Parameters
    ----------
    x_m, length_m : array_like
        From the launch, and between the shafts [m].
    launch_m, reception_m : array_like
        Distance between the axes at the two shafts [m].

    Raises
    ------
    ValueError
        If x lies outside the drive.
    """
    x, length = not_negative("x", x_m), positive("the length", length_m)
    if np.any(x > length * (1.0 + 1e-12)):
        raise ValueError("x must not exceed the length of the drive")
    start = not_negative("the distance at the launch", launch_m)
    return np.asarray(
        start + (not_negative("the distance at the reception", reception_m) - start) * x / length
    )


def fan_length_below_m(
    needed_m: ArrayLike, length_m: ArrayLike, *, launch_m: ArrayLike, reception_m: ArrayLike
) -> Array:
    """Length of a fan along which its bores lie closer than they need to [m].

    Parameters
    ----------
    needed_m : array_like
        Distance between axes that heat and deviation ask for [m].
    length_m, launch_m, reception_m
        See `fan_spacing_m`.

    Notes
    -----
    A fan saves width at the shaft where the bores are closest; along this length it costs rating, or the
    distance must be proven otherwise.
    """
    needed, start, end = np.broadcast_arrays(
        not_negative("the distance needed", needed_m),
        not_negative("the distance at the launch", launch_m),
        not_negative("the distance at the reception", reception_m),
    )
    spread = np.abs(end - start)
    share = np.where(np.minimum(start, end) >= needed, 0.0, 1.0)
    np.divide(needed - np.minimum(start, end), spread, out=share, where=(share > 0.0) & (spread > 0.0))
    return np.asarray(np.clip(share, 0.0, 1.0) * positive("the length", length_m))


def rounded_depth_m(depth_m: ArrayLike, step_m: float) -> Array:
    """Depth as built, rounded up to a step [m]; the base is checked at this depth.

    Parameters
    ----------
    depth_m : array_like
        Wanted [m].
    step_m : float
        [m]
    """
    # A depth that is a whole number of steps but for rounding must not gain a step.
    steps = not_negative("the depth", depth_m) / positive("the step", step_m)
    return np.asarray(np.ceil(steps - 1e-9) * step_m)


def depth_utilisation(depth_m: ArrayLike, most_m: ArrayLike) -> Array:
    """Depth of a shaft over the most that its method allows: above 1 it is too deep [-].

    Parameters
    ----------
    depth_m, most_m : array_like
        As built, see `rounded_depth_m`; the most, or the depth beyond which it is amber [m].
    """
    return np.asarray(not_negative("the depth", depth_m) / positive("the most", most_m))


def depth_in_bands_m(depth_m: ArrayLike, band_base_m: ArrayLike) -> NDArray[np.float64]:
    """Part of a depth that lies in each band from the surface down.

    Parameters
    ----------
    depth_m : array_like of shape (...)
        Depth below ground [m].
    band_base_m : array_like of shape (n_bands,)
        Lower end of each band, growing; what lies below the last one counts in the last band [m].

    Returns
    -------
    ndarray of float64, shape (..., n_bands)
        Their sum is the depth [m].

    Examples
    --------
    >>> depth_in_bands_m(11.2, [4.0, 8.0, 12.0]).round(3)
    array([4. , 4. , 3.2])
    """
    depth = np.asarray(depth_m, dtype=np.float64)[..., np.newaxis]
    bases = np.array(band_base_m, dtype=np.float64)
    tops = np.concatenate([[0.0], bases[:-1]])
    bases[-1] = np.inf
    return np.asarray(np.clip(depth, tops, bases) - tops)


def uplift_deficit_kPa(
    depth_m: ArrayLike,
    groundwater_depth_m: ArrayLike,
    plug_m: ArrayLike,
    *,
    concrete_kN_per_m3: float,
    water_kN_per_m3: float,
    weight_factor: float,
    water_factor: float,
) -> NDArray[np.float64]:
    """Uplift under a base plug that its weight does not hold.

    Parameters
    ----------
    depth_m : array_like
        Depth of the plug's top below ground [m].
    groundwater_depth_m : array_like
        Depth of the water below ground, at its highest [m].
    plug_m : array_like
        Thickness of the plug [m].
    concrete_kN_per_m3, water_kN_per_m3 : float
        Unit weights of the plug and of water [kN/m3].
    weight_factor, water_factor : float
        Factors on the holding weight and on the water pressure [-].

    Returns
    -------
    ndarray of float64
        What anchors or wall friction must hold, per area in plan, at least 0 [kPa].

    Notes
    -----
    f_w gamma_w (h + t) - f_g gamma_c t, h the head above the plug's top.

    References
    ----------
    EN 1997-1, 2.4.7.4 (uplift).
    """
    head = np.asarray(depth_m, dtype=np.float64) - np.asarray(groundwater_depth_m, dtype=np.float64)
    plug = np.asarray(plug_m, dtype=np.float64)
    water = water_factor * water_kN_per_m3 * np.maximum(head + plug, 0.0)
    return np.maximum(water - weight_factor * concrete_kN_per_m3 * plug, 0.0)
