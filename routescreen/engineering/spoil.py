"""Earthwork: volume along a line, what is dug, filled again and hauled away, lorries and haul roads.

Room: ``engineering``. Pure arrays in SI units. Volumes are in place unless they are called loose.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.trench import bank_volume_for_fill_m3, loose_volume_m3
from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


def end_area_m3(chainage_m: ArrayLike, area_m2: ArrayLike) -> Array:
    """Volume between sections, (A1 + A2)/2 times their distance [m3].

    Parameters
    ----------
    chainage_m : array_like of shape (n,)
        Of the sections, growing [m].
    area_m2 : array_like of shape (..., n)
        [m2]

    Returns
    -------
    ndarray of float64, shape (..., n - 1)
        Never too small for bodies that taper like a cone.
    """
    along, area = _sections(chainage_m, area_m2)
    return np.asarray(np.diff(along) * (area[..., 1:] + area[..., :-1]) / 2.0)


def prismoid_m3(length_m: ArrayLike, first_m2: ArrayLike, middle_m2: ArrayLike, last_m2: ArrayLike) -> Array:
    """Volume of a body between two parallel sections, L (A1 + 4 Am + A2)/6 [m3].

    Parameters
    ----------
    length_m : array_like
        [m]
    first_m2, middle_m2, last_m2 : array_like
        Areas of the end sections, and of the section half-way, which isn't their mean [m2].
    """
    ends = not_negative("the first area", first_m2) + not_negative("the last area", last_m2)
    total = ends + 4.0 * not_negative("the middle area", middle_m2)
    return np.asarray(not_negative("the length", length_m) * total / 6.0)


def swell_frac(bank_kN_per_m3: ArrayLike, loose_kN_per_m3: ArrayLike) -> Array:
    """Growth in volume by digging, from two dry unit weights, bank/loose - 1 [-].

    Parameters
    ----------
    bank_kN_per_m3, loose_kN_per_m3 : array_like
        In place and loose, in one unit.
    """
    bank = positive("the weight in place", bank_kN_per_m3)
    return np.asarray(bank / positive("the loose weight", loose_kN_per_m3) - 1.0)


def shrinkage_frac(bank_kN_per_m3: ArrayLike, filled_kN_per_m3: ArrayLike) -> Array:
    """Loss of volume by compaction, from two dry unit weights, 1 - bank/filled [-]; negative in rock.

    Parameters
    ----------
    bank_kN_per_m3, filled_kN_per_m3 : array_like
        In place and compacted, in one unit.
    """
    bank = positive("the weight in place", bank_kN_per_m3)
    return np.asarray(1.0 - bank / positive("the compacted weight", filled_kN_per_m3))


@dataclass(frozen=True, slots=True)
class SpoilBalance:
    """Where the dug ground goes.

    Attributes
    ----------
    kept_m3 : ndarray of float64
        Kept for the fill, in place [m3].
    surplus_m3, surplus_loose_m3 : ndarray of float64
        Hauled away, in place and loose [m3].
    missing_m3 : ndarray of float64
        Ground in place that must come from elsewhere for the fill [m3].
    """

    kept_m3: Array
    surplus_m3: Array
    surplus_loose_m3: Array
    missing_m3: Array


def spoil_balance(
    dug_m3: ArrayLike,
    fill_m3: ArrayLike,
    *,
    usable_frac: ArrayLike,
    swell: ArrayLike,
    shrinkage: ArrayLike,
) -> SpoilBalance:
    """Balance what is dug against what is filled again.

    Parameters
    ----------
    dug_m3 : array_like
        In place [m3].
    fill_m3 : array_like
        Compacted: without pipes, bedding and what a shaft leaves in the ground [m3].
    usable_frac : array_like
        Share of the dug ground that is fit for fill [-].
    swell, shrinkage : array_like
        See `swell_frac`, `shrinkage_frac` [-].

    Returns
    -------
    SpoilBalance
        Kept and hauled add up to what was dug; kept and missing to what the fill needs.

    Raises
    ------
    ValueError
        If the usable share is not from 0 to 1, or the shrinkage not below 1.
    """
    dug, usable = not_negative("what is dug", dug_m3), not_negative("the usable share", usable_frac)
    if np.any(usable > 1.0) or np.any(np.asarray(shrinkage) >= 1.0):
        raise ValueError("the usable share must be from 0 to 1 and the shrinkage below 1")
    needed = bank_volume_for_fill_m3(not_negative("the fill", fill_m3), shrinkage)
    kept = np.minimum(needed, usable * dug)
    surplus = np.asarray(dug - kept)
    return SpoilBalance(kept, surplus, loose_volume_m3(surplus, swell), np.asarray(needed - kept))


def lorry_loads(loose_m3: ArrayLike, lorry_m3: ArrayLike) -> Array:
    """Count the loads that haul a loose volume, rounded up [-].

    Parameters
    ----------
    loose_m3 : array_like
        [m3]
    lorry_m3 : array_like
        Loose volume of one load, 16 (common practice, no source) [m3].
    """
    loads = not_negative("the volume", loose_m3) / positive("a load", lorry_m3)
    return np.asarray(np.ceil(loads - 1e-9))


def lorries_per_day(n_loads: ArrayLike, days: ArrayLike) -> Array:
    """Passages of lorries past a place a day, there and back [1/day].

    Parameters
    ----------
    n_loads : array_like
        See `lorry_loads` [-].
    days : array_like
        Over which they are spread [day].
    """
    return np.asarray(2.0 * not_negative("the loads", n_loads) / positive("the days", days))


def haul_road(
    length_m: ArrayLike, is_paved: ArrayLike, *, width_m: float, stone_m: float
) -> tuple[Array, Array]:
    """Area of temporary road along the strip, and stone for it; none on paved ground.

    Parameters
    ----------
    length_m : array_like
        [m]
    is_paved : array_like of bool
        Whether lorries find a road there.
    width_m, stone_m : float
        7.0 wide, 0.5 thick (common practice, no source) [m].

    Returns
    -------
    area_m2, stone_m3 : ndarray of float64
        [m2], [m3]
    """
    unpaved = np.where(np.asarray(is_paved, dtype=bool), 0.0, not_negative("the length", length_m))
    area = np.asarray(unpaved * width_m)
    return area, np.asarray(area * stone_m)


def _sections(chainage_m: ArrayLike, area_m2: ArrayLike) -> tuple[Array, Array]:
    along, area = np.asarray(chainage_m, dtype=np.float64), not_negative("the area", area_m2)
    if along.ndim != 1 or along.size < 2 or np.any(np.diff(along) <= 0.0):
        raise ValueError("the chainages must be two or more, and grow")
    return along, area
