"""Cross-section of a cable trench: widths, areas, slices by depth, groundwater.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

STEEP_FACE_DEG = 60.0  # EN 1610 table 1: the smaller allowance holds for slopes up to here

_EN_DEPTH_M = np.array([1.00, 1.75, 4.00])
_EN_BY_DEPTH_M = np.array([0.0, 0.80, 0.90, 1.00])
_EN_NOMINAL_M = np.array([0.225, 0.350, 0.700, 1.200])
_EN_BRACED_M = np.array([0.40, 0.50, 0.70, 0.85, 1.00])

# DIN 4124: trenches without working space by laying depth, with it by depth of the trench
_NARROW_TO_M = np.array([0.70, 0.90, 1.00, 1.25])
_NARROW_M = np.array([0.30, 0.40, 0.50, 0.60, np.nan])
_WORK_TO_M = np.array([1.75, 4.00])
_WORK_SLOPED_M = np.array([0.60, 0.80, 1.00])
_WORK_BRACED_M = np.array([0.70, 0.80, 1.00])


def stepped_width_m(
    depth_m: ArrayLike, to_depth_m: ArrayLike, width_m: ArrayLike, deepest_width_m: float
) -> NDArray[np.float64]:
    """Width that a table of steps asks for at a depth.

    Parameters
    ----------
    depth_m : array_like of shape (n,)
        Depth of the trench [m].
    to_depth_m, width_m : array_like of shape (n_steps,)
        Depth down to which each step holds, growing, and its width [m].
    deepest_width_m : float
        Width below the last step [m].

    Returns
    -------
    ndarray of float64, shape (n,)
        Width [m].
    """
    widths = np.append(np.asarray(width_m, dtype=np.float64), deepest_width_m)
    return np.asarray(widths[np.searchsorted(np.asarray(to_depth_m), depth_m, side="left")])


def drain_width_m(
    outer_diameter_m: ArrayLike, depth_m: ArrayLike, *, slope_deg: ArrayLike
) -> NDArray[np.float64]:
    """Least width of a trench for pipes that are laid as drains are.

    Parameters
    ----------
    outer_diameter_m : array_like
        Outer diameter of the pipe, taken as its nominal size too [m].
    depth_m : array_like
        Depth of the trench [m].
    slope_deg : array_like
        Inclination of the faces, 90 where they are braced [deg].

    Returns
    -------
    ndarray of float64
        The larger of the width by depth and the width by diameter [m].

    References
    ----------
    EN 1610:2015, tables 1 and 2.
    """
    outer = np.asarray(outer_diameter_m, dtype=np.float64)
    depth = np.asarray(depth_m, dtype=np.float64)
    # Below 1.00 m no width is asked for; 1.00 m itself belongs to the next row.
    row = (depth >= _EN_DEPTH_M[0]).astype(np.int64) + np.searchsorted(_EN_DEPTH_M[1:], depth, side="left")
    braced = _EN_BRACED_M[np.searchsorted(_EN_NOMINAL_M, outer, side="left")]
    margin = np.where(np.asarray(slope_deg, dtype=np.float64) <= STEEP_FACE_DEG, 0.40, braced)
    return np.asarray(np.maximum(outer + margin, _EN_BY_DEPTH_M[row]))


def pipe_room_m(
    outer_diameter_m: float, *, n_pipes: int, spacing_m: ArrayLike, margin_m: float
) -> NDArray[np.float64]:
    """Width that pipes side by side and the bedding beside them take.

    Parameters
    ----------
    outer_diameter_m : float
        Outer diameter of a pipe [m].
    n_pipes : int
        Pipes in the trench.
    spacing_m : array_like
        Distance between their axes [m].
    margin_m : float
        Bedding beside the outer pipes, both sides together [m].

    Returns
    -------
    ndarray of float64
        (n - 1) s + OD + margin [m] (common practice, no source).
    """
    spacing = np.asarray(spacing_m, dtype=np.float64)
    return np.asarray((n_pipes - 1) * spacing + outer_diameter_m + margin_m)


def bottom_width_m(
    slope_deg: ArrayLike,
    *,
    depth_m: float,
    outer_diameter_m: float,
    sloped_width_m: float,
    braced_width_m: float,
    room_m: ArrayLike,
) -> NDArray[np.float64]:
    """Width of the bottom: the largest of those by depth, by EN 1610, and of the room of the pipes.

    Parameters
    ----------
    slope_deg : array_like
        Inclination of the faces, 90 where they are braced [deg].
    depth_m : float
        Depth of the trench [m].
    outer_diameter_m : float
        Outer diameter of a pipe [m].
    sloped_width_m, braced_width_m : float
        Width with room to work at that depth, with sloped and with braced faces [m].
    room_m : array_like
        See `pipe_room_m`; against `slope_deg` [m].

    Returns
    -------
    ndarray of float64
        Width [m].
    """
    slope = np.asarray(slope_deg, dtype=np.float64)
    by_depth = np.where(slope >= 90.0, braced_width_m, sloped_width_m)
    by_diameter = drain_width_m(outer_diameter_m, depth_m, slope_deg=slope)
    return np.asarray(np.maximum(np.maximum(by_depth, by_diameter), room_m))


def band_width_m(bottom_width_m: float, *, n_trenches: int, spacing_m: float) -> float:
    """Width from the outer bottom edge of the first trench to that of the last.

    Parameters
    ----------
    bottom_width_m : float
        Width of the bottom of one trench [m].
    n_trenches : int
        Trenches side by side.
    spacing_m : float
        Distance between their axes [m].

    Returns
    -------
    float
        (n - 1) s + b [m].
    """
    return (n_trenches - 1) * spacing_m + bottom_width_m


def narrow_width_m(cover_m: ArrayLike) -> NDArray[np.float64]:
    """Least width of a cable trench in which nobody works [m].

    Parameters
    ----------
    cover_m : array_like
        Depth to which it is laid [m].

    Returns
    -------
    ndarray of float64
        NaN beyond 1.25 m, where somebody must be able to work in it.

    References
    ----------
    DIN 4124, trenches without working space.
    """
    cover = np.asarray(cover_m, dtype=np.float64)
    row = np.searchsorted(_NARROW_TO_M, cover, side="left")
    return np.asarray(_NARROW_M[row])


def pipe_width_m(
    outer_diameter_m: ArrayLike, depth_m: ArrayLike, *, slope_deg: ArrayLike
) -> NDArray[np.float64]:
    """Least width of a trench with working space for one pipe or cable of up to 0.40 m [m].

    Parameters
    ----------
    outer_diameter_m, depth_m : array_like
        Outer diameter; depth of the trench [m].
    slope_deg : array_like
        Inclination of the faces, 90 where they are upright or braced [deg].

    Returns
    -------
    ndarray of float64
        The larger of OD + 0.40 and the width by depth; NaN for larger pipes.

    References
    ----------
    DIN 4124.
    """
    outer = np.asarray(outer_diameter_m, dtype=np.float64)
    depth = np.asarray(depth_m, dtype=np.float64)
    row = np.searchsorted(_WORK_TO_M, depth, side="left")
    is_braced = np.asarray(slope_deg, dtype=np.float64) >= 90.0
    by_depth = np.where(is_braced, _WORK_BRACED_M[row], _WORK_SLOPED_M[row])
    return np.where((outer <= 0.40) & ~np.isnan(depth), np.maximum(outer + 0.40, by_depth), np.nan)


def face_deg(
    depth_m: ArrayLike, slope_deg: ArrayLike, *, vertical_limit_m: float, deepest_m: float
) -> NDArray[np.float64]:
    """Inclination of faces that need no proof [deg].

    Parameters
    ----------
    depth_m : array_like
        Of the trench [m].
    slope_deg : array_like
        45 in loose and soft, 60 in stiff ground, 80 in rock (DIN 4124) [deg].
    vertical_limit_m, deepest_m : float
        Upright down to 1.25 m, sloped without proof down to 5.0 m (DIN 4124) [m].

    Returns
    -------
    ndarray of float64
        90 down to the first, the slope down to the second, NaN below: the slope must be proven or the
        trench braced.
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    sloped = np.where(depth <= deepest_m, np.asarray(slope_deg, dtype=np.float64), np.nan)
    return np.where(depth <= vertical_limit_m, 90.0, sloped)


def kept_free_m(top_width_m: ArrayLike, edge_strip_m: float) -> NDArray[np.float64]:
    """Width of an open trench with the strips beside it that bear no load, 0.60 m each (DIN 4124) [m].

    Parameters
    ----------
    top_width_m : array_like
        At the surface [m].
    edge_strip_m : float
        On each side [m].
    """
    return np.asarray(np.asarray(top_width_m, dtype=np.float64) + 2.0 * edge_strip_m)


def cotangent(slope_deg: ArrayLike) -> NDArray[np.float64]:
    """Return the horizontal run of a face per metre of height, exactly 0 at 90 degrees [-]."""
    slope = np.asarray(slope_deg, dtype=np.float64)
    return np.where(slope >= 90.0, 0.0, 1.0 / np.tan(np.radians(np.minimum(slope, 89.999))))


def area_below_m2(
    height_m: ArrayLike,
    *,
    bottom_width_m: ArrayLike,
    break_height_m: ArrayLike,
    lower_cotangent: ArrayLike,
    upper_cotangent: ArrayLike,
) -> NDArray[np.float64]:
    """Area of the section from its bottom to a height, with one break of slope.

    Parameters
    ----------
    height_m : array_like
        Height above the bottom up to which the area is wanted [m].
    bottom_width_m : array_like
        Width of the bottom [m].
    break_height_m : array_like
        Height of the break above the bottom, 0 where there is none [m].
    lower_cotangent, upper_cotangent : array_like
        Run of the faces per metre of height below and above the break [-].

    Returns
    -------
    ndarray of float64
        Area [m2].

    Notes
    -----
    Without a break: b h + h^2 / tan(slope).
    """
    height, width, rock, steep, flat = _floats(
        height_m, bottom_width_m, break_height_m, lower_cotangent, upper_cotangent
    )
    lower, upper = np.minimum(height, rock), np.maximum(height - rock, 0.0)
    width_at_break = width + 2.0 * lower * steep
    return np.asarray(width * lower + steep * lower**2 + width_at_break * upper + flat * upper**2)


def top_width_m(
    depth_m: ArrayLike,
    *,
    bottom_width_m: ArrayLike,
    break_height_m: ArrayLike,
    lower_cotangent: ArrayLike,
    upper_cotangent: ArrayLike,
) -> NDArray[np.float64]:
    """Width of the section at the surface, with one break of slope [m]; see `area_below_m2`."""
    depth, width, rock, steep, flat = _floats(
        depth_m, bottom_width_m, break_height_m, lower_cotangent, upper_cotangent
    )
    lower, upper = np.minimum(depth, rock), np.maximum(depth - rock, 0.0)
    return np.asarray(width + 2.0 * (lower * steep + upper * flat))


def _floats(*values: ArrayLike) -> list[NDArray[np.float64]]:
    return [np.asarray(value, dtype=np.float64) for value in values]


def loose_volume_m3(bank_m3: ArrayLike, bulking_frac: ArrayLike) -> NDArray[np.float64]:
    """Volume after digging of ground measured in place [m3]; bulking 0.30 makes 10 m3 into 13."""
    return np.asarray(bank_m3, dtype=np.float64) * (1.0 + np.asarray(bulking_frac, dtype=np.float64))


def bank_volume_for_fill_m3(fill_m3: ArrayLike, shrinkage_frac: ArrayLike) -> NDArray[np.float64]:
    """Ground in place that makes a compacted fill [m3]; shrinkage 0.10: 100 m3 make 90."""
    return np.asarray(fill_m3, dtype=np.float64) / (1.0 - np.asarray(shrinkage_frac, dtype=np.float64))


def is_kept_dry_by_sump(
    head_m: ArrayLike, permeability_m_per_s: ArrayLike, *, sump_head_m: float, least_m_per_s: float
) -> NDArray[np.bool_]:
    """Whether a pumped sump keeps the trench dry.

    So it is where the water stands only a little above the bottom, or where the ground is so tight
    that it yields no more than a sump takes (common practice, no source).

    Parameters
    ----------
    head_m : array_like
        Height of the groundwater above the bottom, negative below it [m].
    permeability_m_per_s : array_like
        Permeability of the ground [m/s].
    sump_head_m : float
        Height up to which a sump is enough in any ground [m].
    least_m_per_s : float
        Permeability below which well points draw no water [m/s].

    Returns
    -------
    ndarray of bool
    """
    head = np.asarray(head_m, dtype=np.float64)
    is_tight = np.asarray(permeability_m_per_s, dtype=np.float64) < least_m_per_s
    return np.asarray((head > 0.0) & ((head <= sump_head_m) | is_tight))


def well_point_rows(
    head_m: ArrayLike,
    permeability_m_per_s: ArrayLike,
    *,
    sump_head_m: float,
    least_m_per_s: float,
    most_m_per_s: float,
) -> NDArray[np.float64]:
    """Rows of well points that lower the groundwater beside the trench.

    Parameters
    ----------
    head_m, permeability_m_per_s, sump_head_m, least_m_per_s
        See `is_kept_dry_by_sump`.
    most_m_per_s : float
        Permeability above which one row is not enough [m/s].

    Returns
    -------
    ndarray of float64
        0 where a sump is enough, 1, or 2 in ground coarser than well points suit, so that water in
        gravel is never free (common practice, no source).
    """
    permeability = np.asarray(permeability_m_per_s, dtype=np.float64)
    is_needed = (np.asarray(head_m, dtype=np.float64) > sump_head_m) & (permeability >= least_m_per_s)
    return np.where(is_needed, np.where(permeability > most_m_per_s, 2.0, 1.0), 0.0)
