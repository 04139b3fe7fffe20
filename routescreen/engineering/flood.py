"""Shafts and floods: how high the rim must stand, when a shaft must be left, protection zones of dykes.

Room: ``engineering``. Pure arrays in SI units, levels above one datum.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


def rim_level_m(ground_level_m: ArrayLike, flood_level_m: ArrayLike, freeboard_m: ArrayLike) -> Array:
    """Level of a shaft's rim that a flood does not reach, at least the ground's [m].

    Parameters
    ----------
    ground_level_m : array_like
        At the shaft [m].
    flood_level_m : array_like
        With a return period of 100 years; NaN where it isn't known [m].
    freeboard_m : array_like
        0.5 (common practice, no source) [m].
    """
    needed = np.asarray(flood_level_m, dtype=np.float64) + not_negative("the freeboard", freeboard_m)
    return np.asarray(np.maximum(np.asarray(ground_level_m, dtype=np.float64), needed))


def rim_height_m(ground_level_m: ArrayLike, flood_level_m: ArrayLike, freeboard_m: ArrayLike) -> Array:
    """Height of the rim above ground, 0 outside the flood's reach [m]; see `rim_level_m`."""
    return np.asarray(rim_level_m(ground_level_m, flood_level_m, freeboard_m) - np.asarray(ground_level_m))


def is_rim_low(rim_m: ArrayLike, flood_level_m: ArrayLike, freeboard_m: ArrayLike) -> NDArray[np.bool_]:
    """Whether a rim stands lower than the flood and its freeboard ask for; NaN levels count as low.

    Parameters
    ----------
    rim_m : array_like
        Level of the rim as planned [m].
    flood_level_m, freeboard_m : array_like
        See `rim_level_m` [m].
    """
    needed = np.asarray(flood_level_m, dtype=np.float64) + not_negative("the freeboard", freeboard_m)
    return np.asarray(~(np.asarray(rim_m, dtype=np.float64) >= needed))


def evacuation_level_m(rim_m: ArrayLike, rise_m_per_h: ArrayLike, leaving_h: ArrayLike) -> Array:
    """Level of the water at which a shaft with a low rim must be left [m].

    Parameters
    ----------
    rim_m : array_like
        Level of the rim [m].
    rise_m_per_h : array_like
        Fastest rise of the water [m/h].
    leaving_h : array_like
        From the order until people and machines are out and the eyes are shut [h].

    Notes
    -----
    rim - rise x time. Own.
    """
    rise = not_negative("the rise", rise_m_per_h) * not_negative("the time", leaving_h)
    return np.asarray(np.asarray(rim_m, dtype=np.float64) - rise)


def is_in_zone(distance_m: ArrayLike, zone_m: ArrayLike) -> NDArray[np.bool_]:
    """Whether a shaft, as an area, reaches into a protection zone, e.g. of a dyke.

    Parameters
    ----------
    distance_m : array_like
        From the outside of the shaft to the feature's edge; NaN counts as inside [m].
    zone_m : array_like
        Width of the zone from that edge [m].
    """
    return np.asarray(~(np.asarray(distance_m, dtype=np.float64) >= not_negative("the zone", zone_m)))
