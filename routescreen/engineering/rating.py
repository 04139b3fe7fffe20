"""Rating of a group of DC cables in the ground: moist, drying and dried-out ground.

Room: ``engineering``. Pure arrays in SI units; imports numpy, `heat` and `layered_heat` only. Outside the
range of validity a rating is NaN: not evaluated, never passed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.heat import backfill_log, group_log, own_ground_log
from routescreen.engineering.layered_heat import column_log, mirrored_share

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True, slots=True)
class HeatPath:
    """Way of the heat from the conductor to the ground's surface, the same for all cables of a group.

    Fields for the ground may be arrays that broadcast against (..., n): positions first, cables last.

    Parameters
    ----------
    conductor_ohm_per_m : float
        DC resistance of the conductor at its highest temperature [ohm/m].
    inside_K_m_per_W : array_like
        Resistances inside the ground added up, T1 + T3 + fill + wall + ring [K m/W].
    outer_diameter_m : float
        Diameter of what lies in the ground: cable, pipe or bore [m].
    conductor_degC : float
        Highest temperature of the conductor [degC].
    ground_degC : array_like
        Undisturbed ground at the cable's depth [degC].
    rho_K_m_per_W : array_like
        Resistivity of the moist ground [K m/W].
    drying_ratio : array_like
        Resistivity of dried over moist ground v; 1 where it can't dry out [-].
    drying_rise_K : float
        Rise dtheta_x above which the ground dries out [K].
    neighbour_limit_frac : float
        Share of dtheta_x to which neighbours may heat the ground before it counts as dried out all
        round; infinite: never [-].
    column_m : array_like
        Height of a layer of other ground between the surface and that of `rho_K_m_per_W`; the crown
        lies below it [m].
    column_rho_K_m_per_W : array_like
        Resistivity of that layer [K m/W].
    """

    conductor_ohm_per_m: float
    inside_K_m_per_W: ArrayLike
    outer_diameter_m: float
    conductor_degC: float
    ground_degC: ArrayLike
    rho_K_m_per_W: ArrayLike
    drying_ratio: ArrayLike = 1.0
    drying_rise_K: float = math.inf
    neighbour_limit_frac: float = 0.5
    column_m: ArrayLike = 0.0
    column_rho_K_m_per_W: ArrayLike = 0.0

    def __post_init__(self) -> None:
        """Refuse what no cable can have."""
        if not (self.conductor_ohm_per_m > 0.0 and self.outer_diameter_m > 0.0):
            raise ValueError("the conductor's resistance and the outer diameter must be above 0")
        if np.any(np.asarray(self.drying_ratio) < 1.0) or self.drying_rise_K < 0.0:
            raise ValueError("the drying ratio must be at least 1 and the drying rise at least 0 K")


@dataclass(frozen=True, slots=True)
class Bedding:
    """Rectangles of bedding or concrete around the cables of one trench each; they don't dry out.

    Parameters
    ----------
    trench : array_like of int, shape (n,)
        Number of the trench in which each cable lies.
    centre_depth_m, width_m, height_m : array_like
        Depth of the rectangle's centre, its sides; against (..., n) [m].
    rho_K_m_per_W : float
        Resistivity of the bedding [K m/W].
    """

    trench: ArrayLike
    centre_depth_m: ArrayLike
    width_m: ArrayLike
    height_m: ArrayLike
    rho_K_m_per_W: float


@dataclass(frozen=True, slots=True)
class RoundFill:
    """A tunnel round all cables of the group, filled; its fill doesn't dry out.

    Parameters
    ----------
    centre_depth_m : array_like
        Depth of its axis; against (..., n) [m].
    diameter_m : float
        Outer diameter of the tunnel [m].
    rho_K_m_per_W : float
        Resistivity of what it is filled with, its own wall included [K m/W].
    """

    centre_depth_m: ArrayLike
    diameter_m: float
    rho_K_m_per_W: float


@dataclass(frozen=True, slots=True)
class GroupRating:
    """Rating of a group, one element a position; a cable's own has the cables last.

    Parameters
    ----------
    rating_A : ndarray of float64, shape (...)
        What the hottest cable lets the group carry [A].
    by_cable_A : ndarray of float64, shape (..., n)
        Rating by each cable [A].
    moist_A, drying_A, dried_A : ndarray of float64, shape (..., n)
        In ground that stays moist, dries out near the cable, is dried out all round [A].
    hottest : ndarray of int64, shape (...)
        Index of the hottest cable, -1 where not evaluated.
    is_dried : ndarray of bool, shape (..., n)
        Where the bound of ground dried out all round holds the rating.
    """

    rating_A: NDArray[np.float64]
    by_cable_A: NDArray[np.float64]
    moist_A: NDArray[np.float64]
    drying_A: NDArray[np.float64]
    dried_A: NDArray[np.float64]
    hottest: NDArray[np.int64]
    is_dried: NDArray[np.bool_]


def dc_rating_A(
    rise_K: ArrayLike, conductor_ohm_per_m: ArrayLike, resistance_K_m_per_W: ArrayLike
) -> NDArray[np.float64]:
    """Find the current whose heat makes a rise over a thermal resistance.

    Parameters
    ----------
    rise_K : array_like
        Rise of the conductor over the undisturbed ground; below 0 nothing can be carried [K].
    conductor_ohm_per_m, resistance_K_m_per_W : array_like
        Electrical [ohm/m] and thermal resistance [K m/W].

    Returns
    -------
    ndarray of float64
        sqrt(dtheta / (R' T)) [A]; infinite where no heat hinders.

    References
    ----------
    By analogy to IEC 60287-1-1, which covers direct current to 5 kV only.

    Examples
    --------
    >>> dc_rating_A(59.0, 8.6148e-6, 1.6768).round(0)
    np.float64(2021.0)
    """
    rise = np.maximum(np.asarray(rise_K, dtype=np.float64), 0.0)
    per_A2 = np.asarray(conductor_ohm_per_m, dtype=np.float64) * np.asarray(resistance_K_m_per_W)
    rise, per_A2 = np.broadcast_arrays(rise, per_A2)
    square = np.divide(rise, per_A2, out=np.full(rise.shape, np.inf), where=per_A2 != 0.0)
    return np.asarray(np.sqrt(square))


def insulation_drop_K(
    current_A: ArrayLike, conductor_ohm_per_m: ArrayLike, insulation_K_m_per_W: ArrayLike
) -> NDArray[np.float64]:
    """Fall of temperature across the insulation, which in a DC cable shapes the electrical field.

    Parameters
    ----------
    current_A, conductor_ohm_per_m, insulation_K_m_per_W : array_like
        Current [A], resistance of the warm conductor [ohm/m], T1 [K m/W].

    Returns
    -------
    ndarray of float64
        I^2 R' T1, to be held against the maker's limit [K].
    """
    square = np.asarray(current_A, dtype=np.float64) ** 2
    return np.asarray(square * np.asarray(conductor_ohm_per_m) * np.asarray(insulation_K_m_per_W))


def group_rating(
    depth_m: ArrayLike,
    offset_m: ArrayLike,
    path: HeatPath,
    *,
    share: ArrayLike = 1.0,
    other_rise_K: ArrayLike = 0.0,
    bedding: Bedding | RoundFill | None = None,
) -> GroupRating:
    """Rating of a group of cables at many positions of a line.

    Parameters
    ----------
    depth_m, offset_m : array_like of shape (..., n)
        Depths of the n axes, and their places across the line [m].
    path : HeatPath
        Resistances, ground and limits.
    share : array_like of shape (..., n)
        Each cable's share of the current, 0 for a return cable without current [-].
    other_rise_K : array_like of shape (..., n)
        Rise at each cable caused by other heat sources, as in moist ground [K].
    bedding : Bedding or RoundFill, optional
        What lies around the cables instead of the ground.

    Returns
    -------
    GroupRating
        NaN where axes lie above ground or overlap, or the bedding is too flat.

    Notes
    -----
    With G = own ground + neighbours' share, in moist ground
    I^2 = (theta_c - theta_a - dtheta_other) / (R' (T_inside + G)), in drying ground
    I^2 = (theta_c - theta_a + (v - 1) dtheta_x - v dtheta_other) / (R' (T_inside + v G)), with a plus,
    since the ground beyond the dry boundary stays moist; dried out all round dtheta_x is 0. The lesser
    of moist and drying holds while neighbours and other sources heat the ground at the cable by at most
    half of dtheta_x; a current that makes more must satisfy the bound of dried-out ground. By analogy
    to IEC 60287-1-1 (DC to 5 kV only); the rule of the half is common practice, no source. A layer above
    adds the logarithms of `column_log`; it stays as it is. Cables in one
    tunnel are one source for the ground: they dry it out together, and none is another's neighbour there.

    Raises
    ------
    ValueError
        If no cable carries current.
    """
    heat = group_heat(depth_m, offset_m, path, share=share, bedding=bedding)
    if np.any(np.asarray(path.column_m) > 0.0):
        heat = _under_column(heat, depth_m, offset_m, path)
    return heated_rating(heat, path, other_rise_K=other_rise_K)


@dataclass(frozen=True, slots=True)
class GroupHeat:
    """What the places of a group's cables make of its heat, whatever the ground; against (..., n).

    Parameters
    ----------
    squares : ndarray
        Of the shares of the current [-].
    inside_K_m_per_W : ndarray
        Resistance inside the ground [K m/W].
    own_log, together_log : ndarray
        Logarithms of the ground: of each cable's own heat, and of that of all together [-].
    """

    squares: NDArray[np.float64]
    inside_K_m_per_W: NDArray[np.float64]
    own_log: NDArray[np.float64]
    together_log: NDArray[np.float64]


def group_heat(
    depth_m: ArrayLike,
    offset_m: ArrayLike,
    path: HeatPath,
    *,
    share: ArrayLike = 1.0,
    bedding: Bedding | RoundFill | None = None,
) -> GroupHeat:
    """Work out the part of a rating that the ground has no bearing on: most of the work.

    Parameters
    ----------
    depth_m, offset_m, path, share, bedding
        See `group_rating`; of the path only the resistance inside the ground and the diameter count.

    Returns
    -------
    GroupHeat
        Without a layer above.

    Raises
    ------
    ValueError
        If no cable carries current.
    """
    logs = group_log(depth_m, offset_m, path.outer_diameter_m)
    squares = np.asarray(share, dtype=np.float64) ** 2 * np.ones(logs.shape[-1])
    if not np.any(squares > 0.0):
        raise ValueError("at least one cable of the group must carry current: give a share above 0")
    inside = np.asarray(path.inside_K_m_per_W, dtype=np.float64) * squares
    own = np.diagonal(logs, axis1=-2, axis2=-1) * squares
    together = np.einsum("...ij,...j->...i", logs, squares)
    if bedding is not None:
        own, spent = _spent_within(logs, squares, bedding)
        inside = inside + bedding.rho_K_m_per_W / (2.0 * math.pi) * spent
        together = together - spent
    return GroupHeat(squares, inside, own, together)


def heated_rating(heat: GroupHeat, path: HeatPath, *, other_rise_K: ArrayLike = 0.0) -> GroupRating:
    """Rate a group whose heat is worked out; see `group_rating`.

    Parameters
    ----------
    heat : GroupHeat
    path : HeatPath
        Its column above must be in the logarithms already.
    other_rise_K : array_like of shape (..., n)

    Returns
    -------
    GroupRating
    """
    other = np.asarray(other_rise_K, dtype=np.float64)
    return _rated(heat.inside_K_m_per_W, heat.own_log, heat.together_log, path, other)


def _under_column(heat: GroupHeat, depth_m: ArrayLike, offset_m: ArrayLike, path: HeatPath) -> GroupHeat:
    """Return the heat with what a layer above adds to its logarithms."""
    more = column_log(
        depth_m,
        offset_m,
        path.outer_diameter_m,
        column_m=path.column_m,
        share=mirrored_share(path.column_rho_K_m_per_W, path.rho_K_m_per_W),
    )
    return replace(
        heat,
        own_log=heat.own_log + np.diagonal(more, axis1=-2, axis2=-1) * heat.squares,
        together_log=heat.together_log + np.einsum("...ij,...j->...i", more, heat.squares),
    )


def _spent_within(
    logs: NDArray[np.float64], squares: NDArray[np.float64], bedding: Bedding | RoundFill
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    if isinstance(bedding, RoundFill):
        return _spent_in_tunnel(logs, squares, bedding)
    return _spent_in_bedding(logs, squares, bedding)


def _spent_in_bedding(
    logs: NDArray[np.float64], squares: NDArray[np.float64], bedding: Bedding
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Logarithm that is left of a cable's own ground, and what own and neighbours lose to the bedding."""
    trench = np.asarray(bedding.trench)
    is_same = (trench[:, np.newaxis] == trench).astype(np.float64)
    outside = backfill_log(bedding.centre_depth_m, bedding.width_m, bedding.height_m)
    # A sum over the same trench only: NaN of an overlap elsewhere must not come in by 0 x NaN.
    within = np.sum(np.where(is_same > 0.0, logs, 0.0) * squares[..., np.newaxis, :], axis=-1)
    heat = np.einsum("ij,...j->...i", is_same, squares)
    return outside * squares, within - outside * heat


def _spent_in_tunnel(
    logs: NDArray[np.float64], squares: NDArray[np.float64], fill: RoundFill
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Logarithm of the ground outside a tunnel for all its heat, and what is lost on the way to its edge."""
    outside = own_ground_log(fill.centre_depth_m, fill.diameter_m) * np.sum(squares, axis=-1, keepdims=True)
    return outside, np.einsum("...ij,...j->...i", logs, squares) - outside


def _rated(
    inside: NDArray[np.float64],
    own: NDArray[np.float64],
    together: NDArray[np.float64],
    path: HeatPath,
    other: NDArray[np.float64],
) -> GroupRating:
    """Ratings by each cable, from the resistance inside the ground and the logarithms of the ground."""
    ratio = np.asarray(path.drying_ratio, dtype=np.float64)
    ground = np.asarray(path.rho_K_m_per_W, dtype=np.float64) / (2.0 * math.pi)
    rise = path.conductor_degC - np.asarray(path.ground_degC, dtype=np.float64)
    ohm, can_dry = path.conductor_ohm_per_m, ratio > 1.0
    # An infinite dtheta_x never dries; times (v - 1) = 0 it would be NaN.
    gain = np.where(can_dry, path.drying_rise_K, 0.0) * np.where(can_dry, ratio - 1.0, 1.0)
    moist = dc_rating_A(rise - other, ohm, inside + ground * together)
    drying = dc_rating_A(rise - ratio * other + gain, ohm, inside + ratio * ground * together)
    dried = dc_rating_A(rise - ratio * other, ohm, inside + ratio * ground * together)
    # Rounding may leave a lone cable a trace of neighbours.
    neighbours = np.where(together - own > 1e-12 * together, together - own, 0.0)
    allowed = math.inf if math.isinf(path.drying_rise_K) else path.drying_rise_K * path.neighbour_limit_frac
    unhindered = dc_rating_A(allowed - other, ohm, ground * neighbours)
    by_cable = np.maximum(dried, np.minimum(np.minimum(moist, drying), unhindered))
    # A lone cable's neighbours are 0 even where it lies above ground.
    by_cable = np.where(np.isnan(moist), np.nan, by_cable)
    rating = np.min(by_cable, axis=-1)
    return GroupRating(
        rating_A=np.asarray(rating),
        by_cable_A=by_cable,
        moist_A=np.broadcast_to(moist, by_cable.shape),
        drying_A=np.broadcast_to(drying, by_cable.shape),
        dried_A=np.broadcast_to(dried, by_cable.shape),
        hottest=np.asarray(np.where(np.isnan(rating), -1, np.argmin(by_cable, axis=-1))),
        is_dried=np.asarray((by_cable <= dried) & (by_cable < moist)),
    )


def hottest_position(chainage_m: ArrayLike, rating_A: ArrayLike) -> tuple[float, float]:
    """Lowest rating along a line, and where.

    Parameters
    ----------
    chainage_m, rating_A : array_like of shape (n,)
        Positions [m] and their ratings, NaN where not evaluated [A].

    Returns
    -------
    chainage_m, rating_A : float
        The first of the lowest; NaN both where nothing was evaluated.
    """
    rating = np.asarray(rating_A, dtype=np.float64)
    if rating.size == 0 or np.all(np.isnan(rating)):
        return math.nan, math.nan
    at = int(np.nanargmin(rating))
    return float(np.asarray(chainage_m, dtype=np.float64)[at]), float(rating[at])
