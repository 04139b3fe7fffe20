"""Settlement above bores.

Room: ``engineering``. Pure arrays in SI units. Depths count from the level that settles to the bore's axis.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.pipe import annulus_m2
from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

LEAST_SAND_DEPTH_M = 2.0
# of the bores from which the line in clay was fitted (from memory)
LEAST_CLAY_DEPTH_M, MOST_CLAY_DEPTH_M = 3.0, 34.0


def lost_area_m2(bore_diameter_m: ArrayLike, outer_diameter_m: ArrayLike, filled_frac: ArrayLike) -> Array:
    """Area of ground that a bore loses, (1 - eta) pi/4 (D^2 - OD^2) [m2].

    Parameters
    ----------
    bore_diameter_m, outer_diameter_m : array_like
        [m]
    filled_frac : array_like
        eta, share of the annulus that grout fills before it closes: 0 as a bound, 0.9 as an aim
        (common practice, no source) [-].
    """
    annulus = not_negative("the annulus", annulus_m2(bore_diameter_m, outer_diameter_m))
    return np.asarray(annulus * (1.0 - not_negative("the filled share", filled_frac)))


def trough_width_m(depth_m: ArrayLike, ratio: ArrayLike) -> Array:
    """Half-width i of the trough at its steepest point, K z [m]; NaN at and above the axis.

    Parameters
    ----------
    depth_m : array_like
        From the level that settles to the axis; below a level under the surface K holds too [m].
    ratio : array_like
        K, about 0.5 in clay and 0.3 in sand [-].
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    return np.where(depth > 0.0, positive("the ratio", ratio) * depth, np.nan)


def clay_trough_width_m(depth_m: ArrayLike) -> Array:
    """Half-width i of the trough in clay, 0.43 z + 1.1 [m]; NaN outside 3 to 34 m.

    Parameters
    ----------
    depth_m : array_like
        From the surface to the axis [m].

    References
    ----------
    O'Reilly and New, Settlements above tunnels in the United Kingdom, 1982 (from memory, range too).
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    is_valid = (depth >= LEAST_CLAY_DEPTH_M) & (depth <= MOST_CLAY_DEPTH_M)
    return np.where(is_valid, 0.43 * depth + 1.1, np.nan)


def sand_trough_width_m(depth_m: ArrayLike) -> Array:
    """Half-width i of the trough in sand, 0.28 z - 0.12 [m]; NaN at 2 m and above.

    Parameters
    ----------
    depth_m : array_like
        From the surface to the axis [m].

    References
    ----------
    O'Reilly and New, Settlements above tunnels in the United Kingdom, 1982 (from memory).
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    return np.where(depth > LEAST_SAND_DEPTH_M, 0.28 * depth - 0.12, np.nan)


def settlement_mm(offset_m: ArrayLike, area_m2: ArrayLike, width_m: ArrayLike) -> Array:
    """Settlement at a distance from a bore's axis in plan.

    Parameters
    ----------
    offset_m : array_like
        Square to the bore [m].
    area_m2 : array_like
        Ground lost per metre of bore, see `lost_area_m2` [m2].
    width_m : array_like
        i [m].

    Returns
    -------
    ndarray of float64
        A/(sqrt(2 pi) i) exp(-y^2/(2 i^2)) [mm].

    References
    ----------
    Peck, Deep excavations and tunneling in soft ground, 1969.
    """
    width = positive("the trough's width", width_m)
    area = not_negative("the area lost", area_m2)
    shape = np.exp(-(np.square(np.asarray(offset_m, dtype=np.float64) / width)) / 2.0)
    return np.asarray(1000.0 * area / (np.sqrt(2.0 * np.pi) * width) * shape)


def bores_settlement_mm(
    offset_m: ArrayLike, bore_offset_m: ArrayLike, area_m2: ArrayLike, width_m: ArrayLike
) -> Array:
    """Settlement above several bores, each bore's trough added to the others'.

    Parameters
    ----------
    offset_m : array_like of shape (...)
        Where the settlement is asked for [m].
    bore_offset_m, area_m2, width_m : array_like of shape (..., n_bores)
        Of each bore, or one for all; see `settlement_mm`.

    Returns
    -------
    ndarray of float64, shape (...)
        [mm]. That a later bore disturbs ground already loosened is not in it.
    """
    distance = np.asarray(offset_m, dtype=np.float64)[..., np.newaxis] - np.asarray(bore_offset_m)
    return np.asarray(np.sum(settlement_mm(distance, area_m2, width_m), axis=-1))
