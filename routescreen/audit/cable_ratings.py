"""What the cables may carry at each place, what rules it there, how warm conductor and soil become.

Room: ``audit``. The formulae are those of ``engineering``; numbers come from the assumptions.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.cable_make import cable_make, current_shares, is_rated, undisturbed_degC
from routescreen.engineering.bedding_rating import bedded_rating
from routescreen.engineering.ground_heat import soil_rise_K
from routescreen.engineering.layered_heat import boundary_peak_log, mirrored_share
from routescreen.engineering.rating import Bedding, HeatPath, group_rating

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.cable_places import CablePlaces
    from routescreen.engineering.rating import GroupRating

    Array = NDArray[np.float64]

MOIST, DRYING = "moist", "drying"
RULES = (MOIST, DRYING)
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
        Of the hottest cable: in ground that stays moist, that dries out where it gets too warm, and were all
        of it dry that can dry out.
    ground_degC : ndarray
        Undisturbed, at the hottest cable.
    conductor_degC : ndarray
        Of the hottest cable at the link's current.
    column_K : ndarray
        Rise at the underside of the ground over cables below the groundwater as long as it is moist, at the
        link's current; 0 where there is none.
    """

    rating_A: Array
    rule: NDArray[np.object_]
    moist_A: Array
    drying_A: Array
    dried_A: Array
    ground_degC: Array
    conductor_degC: Array
    column_K: Array


def rate_places(
    a: Assumptions, places: CablePlaces, *, other_rise_K: ArrayLike = 0.0, other_column_K: ArrayLike = 0.0
) -> CableRating:
    """Rate the cables at places that lie alike.

    Parameters
    ----------
    a : Assumptions
    places : CablePlaces
    other_rise_K : array_like of shape (n, k)
        Rise at each cable that other sources of heat cause in moist ground [K].
    other_column_K : array_like of shape (n, k)
        Their largest rise just above the lowest groundwater, over cables that lie below it [K].

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
        return CableRating(nothing, none, nothing, nothing, nothing, ground, nothing, nothing)
    path = heat_path(a, places)
    found = _group_rating(places, path, current_shares(a), other_rise_K, other_column_K)
    pick = (np.arange(n), np.maximum(found.hottest, 0))
    moist, drying, dried = found.moist_A[pick], found.drying_A[pick], found.dried_A[pick]
    ground = np.broadcast_to(path.ground_degC, places.depth_m.shape)[pick]
    return CableRating(
        rating_A=found.rating_A,
        rule=_rules(found, moist),
        moist_A=moist,
        drying_A=drying,
        dried_A=dried,
        ground_degC=ground,
        conductor_degC=_conductor_degC(a, found, (moist, drying, dried), ground),
        column_K=_column_rise_K(a, places),
    )


def _column_rise_K(a: Assumptions, places: CablePlaces) -> Array:
    """Return the largest rise at the underside of the ground above the groundwater, at the link's current."""
    log = boundary_peak_log(
        places.depth_m,
        places.offset_m,
        places.surround.outer_diameter_m,
        column_m=places.column_m,
        share=mirrored_share(places.column_rho_K_m_per_W, places.rho_K_m_per_W),
        relative_heat=current_shares(a) ** 2,
    )
    return np.asarray(cable_make(a).heat_W_per_m * np.max(places.rho_K_m_per_W, axis=1) / (2.0 * np.pi) * log)


def _group_rating(
    places: CablePlaces, path: HeatPath, shares: Array, other_K: ArrayLike, column_K: ArrayLike
) -> GroupRating:
    """Rate places by the bedding round their cables."""
    apart = places.own_bedding
    if apart is None or not isinstance(places.bedding, Bedding):
        return group_rating(
            places.depth_m,
            places.offset_m,
            path,
            share=shares,
            other_rise_K=other_K,
            other_column_K=column_K,
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
        other_column_K=column_K,
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
        column_m=places.column_m,
        column_rho_K_m_per_W=places.column_rho_K_m_per_W,
        column_dry_K_m_per_W=places.column_dry_K_m_per_W,
    )


def _rules(found: GroupRating, moist: Array) -> NDArray[np.object_]:
    """Return which bound holds the rating at each place."""
    rule = np.where(found.rating_A >= moist * (1.0 - _CLOSE), MOIST, DRYING).astype(np.object_)
    rule[np.isnan(found.rating_A)] = None
    return rule


def _conductor_degC(
    a: Assumptions, found: GroupRating, bounds: tuple[Array, Array, Array], ground_degC: Array
) -> Array:
    """Return the temperature of the hottest conductor at the link's current, as ohmic as at its limit.

    Each bound is a current at which the rise is that to the limit, and heat grows with the square. Above the
    boundary of dry ground the rise grows as in ground that is dry everywhere, from which its distance stays
    the same.
    """
    current, (moist, drying, dried) = a.link.current_A, bounds
    rise = a.cable.conductor_limit_degC - ground_degC
    by_moist = rise * (current / moist) ** 2
    by_drying = rise * ((current / dried) ** 2 - (drying / dried) ** 2 + 1.0)
    is_known = np.isfinite(drying) & ~np.isnan(found.rating_A)
    return np.asarray(ground_degC + np.where(is_known, np.maximum(by_moist, by_drying), by_moist))


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
