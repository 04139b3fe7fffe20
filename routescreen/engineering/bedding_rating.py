"""Rating of cables in trenches with bedding: all pipes of a trench in one bedding, or each in its own.

Room: ``engineering``. Pure arrays in SI units; imports numpy and `rating` only. Outside the range of
validity a rating is NaN: not evaluated, never passed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.rating import GroupRating, group_rating

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from routescreen.engineering.rating import Bedding, HeatPath

    Array = NDArray[np.float64]


def bedded_rating(
    depth_m: ArrayLike,
    offset_m: ArrayLike,
    path: HeatPath,
    *,
    together: Bedding,
    apart: Bedding,
    share: ArrayLike = 1.0,
    other_rise_K: ArrayLike = 0.0,
    other_column_K: ArrayLike = 0.0,
) -> GroupRating:
    """Rating of cables whose bedding may be looked at as one circle a trench or as one circle a pipe.

    Parameters
    ----------
    depth_m, offset_m, path, share, other_rise_K, other_column_K
        See `group_rating`.
    together : Bedding
        The bedding of each trench as it is.
    apart : Bedding
        Parts of it, one round each pipe, that don't overlap.

    Returns
    -------
    GroupRating
        Of each cable the better of both; NaN where that of `together` is.

    Notes
    -----
    The form of IEC 60287-2-1 puts all cables of a bedding on one circle, so that pipes far apart heat each
    other as if they touched. Each in a bedding of its own, with what lies between them counted as ground,
    stays on the safe side where that ground resists more than the bedding: of moist ground that isn't
    known, so the bound of moist ground stays that of `together`, and nothing is taken from `apart` where
    even the dried ground resists less than the bedding (own arrangement).
    """
    one, own = (
        group_rating(
            depth_m,
            offset_m,
            path,
            share=share,
            other_rise_K=other_rise_K,
            other_column_K=other_column_K,
            bedding=bedding,
        )
        for bedding in (together, apart)
    )
    moist = np.minimum(own.moist_A, one.moist_A)
    by_own = np.minimum(own.by_cable_A, moist)
    dried_rho = np.asarray(path.rho_K_m_per_W, dtype=np.float64) * np.asarray(path.drying_ratio)
    is_own = (by_own > one.by_cable_A) & (dried_rho >= apart.rho_K_m_per_W)
    by_cable = np.where(is_own, by_own, one.by_cable_A)
    rating = np.asarray(np.min(by_cable, axis=-1))
    return GroupRating(
        rating_A=rating,
        by_cable_A=by_cable,
        moist_A=np.where(is_own, moist, one.moist_A),
        drying_A=np.where(is_own, own.drying_A, one.drying_A),
        dried_A=np.where(is_own, np.minimum(own.dried_A, moist), one.dried_A),
        hottest=np.asarray(np.where(np.isnan(rating), -1, np.argmin(by_cable, axis=-1))),
    )
