"""What the cables may carry at each place, what rules it there, how warm conductor and soil become.

Room: ``audit``. The formulae are those of ``engineering``; numbers come from the assumptions.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.cable_make import cable_make, current_shares, is_rated, undisturbed_degC
from routescreen.engineering.bedding_rating import bedded_rating
from routescreen.engineering.ground_heat import soil_rise_K
from routescreen.engineering.layered_heat import boundary_log, mirrored_share
from routescreen.engineering.rating import Bedding, HeatPath, group_rating

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.cable_places import CablePlaces
    from routescreen.engineering.rating import GroupRating

    Array = NDArray[np.float64]

MOIST, DRYING, DRIED, NEIGHBOURS = "moist", "drying", "dried", "neighbours"
RULES = (MOIST, DRYING, DRIED, NEIGHBOURS)
_CLOSE = 1e-9


@dataclass(frozen=True, slots=True)
class CableRating:
    """Ratings of the places of one drive, ramp or run of open cut; every array has shape (n,).

    Attributes
    ----------
    rating_A : ndarray
        NaN where not evaluated.
    rule : ndarray of object
        One of `RULES`, None where not evaluated.
    moist_A, drying_A, dried_A : ndarray
        Of the hottest cable: ground that stays moist, dries out near the cable, is dried out all round.
    ground_degC : ndarray
        Undisturbed, at the hottest cable.
    conductor_degC : ndarray
        Of the hottest cable at the link's current.
    column_K : ndarray
        Rise at the underside of the moist ground over cables below the groundwater, at the link's current;
        0 where there is none.
    column_dried_A : ndarray
        Rating if that ground dried out, as `rating_A` where there is none.
    """

    rating_A: Array
    rule: NDArray[np.object_]
    moist_A: Array
    drying_A: Array
    dried_A: Array
    ground_degC: Array
    conductor_degC: Array
    column_K: Array
    column_dried_A: Array


def rate_places(a: Assumptions, places: CablePlaces, *, other_rise_K: ArrayLike = 0.0) -> CableRating:
    """Rate the cables at places that lie alike.

    Parameters
    ----------
    a : Assumptions
    places : CablePlaces
    other_rise_K : array_like of shape (n, k)
        Rise at each cable that other sources of heat cause in moist ground [K].

    Returns
    -------
    CableRating
        All NaN where the formulae don't cover cable or surroundings.
    """
    n = len(places.chainage_m)
    if not is_rated(a):
        nothing = np.full(n, np.nan)
        ground = undisturbed_degC(a, places.depth_m[:, 0])
        none = np.full(n, None, dtype=np.object_)
        return CableRating(nothing, none, nothing, nothing, nothing, ground, nothing, nothing, nothing)
    path = heat_path(a, places)
    found = _group_rating(places, path, current_shares(a), other_rise_K)
    pick = (np.arange(n), np.maximum(found.hottest, 0))
    moist, drying, dried = found.moist_A[pick], found.drying_A[pick], found.dried_A[pick]
    ground = np.broadcast_to(path.ground_degC, places.depth_m.shape)[pick]
    ratio = np.broadcast_to(path.drying_ratio, places.depth_m.shape)[pick]
    return CableRating(
        rating_A=found.rating_A,
        rule=_rules(found, moist, drying, dried),
        moist_A=moist,
        drying_A=drying,
        dried_A=dried,
        ground_degC=ground,
        conductor_degC=_conductor_degC(a, found, (moist, drying, dried), ground, ratio),
        column_K=_column_rise_K(a, places),
        column_dried_A=_group_rating(
            places,
            replace(path, column_rho_K_m_per_W=places.column_dry_K_m_per_W),
            current_shares(a),
            other_rise_K,
        ).rating_A,
    )


def _column_rise_K(a: Assumptions, places: CablePlaces) -> Array:
    """Return the largest rise at the underside of the ground above the groundwater, at the link's current."""
    heat = cable_make(a).heat_W_per_m * current_shares(a) ** 2
    logs = boundary_log(
        places.depth_m,
        places.offset_m,
        column_m=places.column_m,
        share=mirrored_share(places.column_rho_K_m_per_W, places.rho_K_m_per_W),
    )
    rise = places.rho_K_m_per_W / (2.0 * np.pi) * np.einsum("...ij,j->...i", logs, heat)
    return np.asarray(np.max(rise, axis=1))


def _group_rating(places: CablePlaces, path: HeatPath, shares: Array, other_K: ArrayLike) -> GroupRating:
    """Rate places by the bedding round their cables."""
    apart = places.own_bedding
    if apart is None or not isinstance(places.bedding, Bedding):
        return group_rating(
            places.depth_m,
            places.offset_m,
            path,
            share=shares,
            other_rise_K=other_K,
            bedding=places.bedding,
        )
    return bedded_rating(
        places.depth_m,
        places.offset_m,
        path,
        together=places.bedding,
        apart=apart,
        share=shares,
        other_rise_K=other_K,
    )


def heat_path(a: Assumptions, places: CablePlaces) -> HeatPath:
    """Return the way of the heat at places."""
    given = a.checks.rating
    return HeatPath(
        conductor_ohm_per_m=cable_make(a).ohm_per_m,
        inside_K_m_per_W=places.surround.inside_K_m_per_W,
        outer_diameter_m=places.surround.outer_diameter_m,
        conductor_degC=a.cable.conductor_limit_degC,
        ground_degC=undisturbed_degC(a, places.depth_m),
        rho_K_m_per_W=places.rho_K_m_per_W,
        drying_ratio=places.ratio,
        drying_rise_K=given.drying_rise_K,
        neighbour_limit_frac=given.neighbour_drying_frac,
        column_m=places.column_m,
        column_rho_K_m_per_W=places.column_rho_K_m_per_W,
    )


def _rules(found: GroupRating, moist: Array, drying: Array, dried: Array) -> NDArray[np.object_]:
    """Return which bound holds the rating at each place."""
    rating = found.rating_A
    rule = np.full(len(rating), NEIGHBOURS, dtype=np.object_)
    # the last that fits wins: where ground can't dry out all three are the same
    for name, bound in ((DRIED, dried), (DRYING, drying), (MOIST, moist)):
        rule[np.abs(rating - bound) <= _CLOSE * bound] = name
    rule[np.isnan(rating)] = None
    return rule


def _conductor_degC(
    a: Assumptions,
    found: GroupRating,
    bounds: tuple[Array, Array, Array],
    ground_degC: Array,
    ratio: Array,
) -> Array:
    """Return the temperature of the hottest conductor at the link's current, as ohmic as at its limit.

    Each bound is a current at which the rise is that to the limit, and heat grows with the square. Where the
    current is above the rating, or the rating that of dried-out ground, the ground counts as dried out.
    """
    current, (moist, drying, dried) = a.link.current_A, bounds
    rise = a.cable.conductor_limit_degC - ground_degC
    gain = (ratio - 1.0) * a.checks.rating.drying_rise_K
    is_dried = (current > found.rating_A) | (found.rating_A <= dried)
    by_moist = rise * (current / moist) ** 2
    by_drying = (rise + gain) * (current / drying) ** 2 - gain
    by_dried = rise * (current / dried) ** 2
    return np.asarray(ground_degC + np.where(is_dried, by_dried, np.maximum(by_moist, by_drying)))


def soil_rises_K(a: Assumptions, places: CablePlaces) -> Array:
    """Return the largest rise of the soil's temperature at each depth of the report, shape (n, depths) [K].

    Looked for over each cable and midway between neighbours, at the link's current; bedding counts as
    ground. NaN where not evaluated.
    """
    depths = a.checks.rating.report_depths_m
    n = len(places.chainage_m)
    if not is_rated(a):
        return np.full((n, len(depths)), np.nan)
    offsets = places.offset_m
    across = np.concatenate([offsets, (offsets[:, :-1] + offsets[:, 1:]) / 2.0], axis=1)
    heat = cable_make(a).heat_W_per_m * current_shares(a) ** 2
    # near the surface under dry ground that of the dry ground, as if it were everywhere: on the safe side
    own = np.where(places.column_m > 0.0, places.column_rho_K_m_per_W, places.rho_K_m_per_W)
    rho = np.max(np.maximum(own, places.rho_K_m_per_W), axis=1, keepdims=True)
    rises = [
        soil_rise_K(
            np.full(across.shape, depth_m),
            across,
            source_depth_m=places.depth_m,
            source_offset_m=offsets,
            heat_W_per_m=np.broadcast_to(heat, offsets.shape),
            rho_K_m_per_W=rho,
            ratio=np.max(places.ratio, axis=1, keepdims=True),
            drying_rise_K=a.checks.rating.drying_rise_K,
        )
        for depth_m in depths
    ]
    return np.stack([np.max(rise, axis=1) for rise in rises], axis=1)
