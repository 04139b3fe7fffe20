"""Rating of a group of DC cables in the ground that dries out where they warm it too much.

Room: ``engineering``. Pure arrays in SI units; imports numpy, `heat` and `layered_heat` only. Outside the
range of validity a rating is NaN: not evaluated, never passed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.heat import backfill_log, group_log, own_ground_log
from routescreen.engineering.layered_heat import boundary_peak_log, column_log, mirrored_share

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
    column_m : array_like
        Height of a layer of other ground between the surface and that of `rho_K_m_per_W`; the crown
        lies below it, and the ground there can't dry out [m].
    column_rho_K_m_per_W, column_dry_K_m_per_W : array_like
        Resistivity of that layer moist, and dried out; not above the moist one it stays as it is [K m/W].
    """

    conductor_ohm_per_m: float
    inside_K_m_per_W: ArrayLike
    outer_diameter_m: float
    conductor_degC: float
    ground_degC: ArrayLike
    rho_K_m_per_W: ArrayLike
    drying_ratio: ArrayLike = 1.0
    drying_rise_K: float = math.inf
    column_m: ArrayLike = 0.0
    column_rho_K_m_per_W: ArrayLike = 0.0
    column_dry_K_m_per_W: ArrayLike = 0.0

    def __post_init__(self) -> None:
        """Refuse what no cable can have."""
        if not (self.conductor_ohm_per_m > 0.0 and self.outer_diameter_m > 0.0):
            raise ValueError("the conductor's resistance and the outer diameter must be above 0")
        if np.any(np.asarray(self.drying_ratio) < 1.0) or self.drying_rise_K < 0.0:
            raise ValueError("the drying ratio must be at least 1 and the drying rise at least 0 K")
        if np.any((np.asarray(self.drying_ratio) > 1.0) & (np.asarray(self.column_m) > 0.0)):
            raise ValueError("ground below another layer must be given as ground that can't dry out")


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
    moist_A, drying_A : ndarray of float64, shape (..., n)
        In ground that stays moist, in ground that is dry where it is warmer than its boundary: the lesser
        holds [A].
    dried_A : ndarray of float64, shape (..., n)
        Were all ground dry that can dry out, whatever its temperature: told, but it holds nowhere [A].
    hottest : ndarray of int64, shape (...)
        Index of the hottest cable, -1 where not evaluated.
    """

    rating_A: NDArray[np.float64]
    by_cable_A: NDArray[np.float64]
    moist_A: NDArray[np.float64]
    drying_A: NDArray[np.float64]
    dried_A: NDArray[np.float64]
    hottest: NDArray[np.int64]


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
    other_column_K: ArrayLike = 0.0,
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
    other_column_K : array_like of shape (..., n)
        Largest rise by them at the underside of the layer above, where there is one [K].
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
    since the ground beyond the dry boundary stays moist. The lesser holds. For ground whose resistivity
    changes at one temperature this is exact for any number of sources, however much they heat each other:
    psi = theta up to dtheta_x, dtheta_x + (theta - dtheta_x) / v above, obeys the equation of moist ground
    (Kirchhoff's transformation). By analogy to IEC 60287-1-1 (DC to 5 kV only). Cables in one tunnel are one
    source for the ground: they dry it out together.

    A layer above adds the logarithms of `column_log`. It dries out where it gets too warm, the ground
    below it never: then W (S_dry - S_moist) (1 - dtheta_x / theta_b) is added, theta_b the largest rise at
    its underside in moist ground (`boundary_peak_log`), S the resistance with all of the layer moist or
    dry. That is a bound. With psi in the layer and theta below, there is a step
    J = (1 - 1/v)(theta - dtheta_x)+ at the boundary, and theta = theta_moist + K J there. K is a mean of J
    over the boundary: its wave k is weighed q (1 + e) / (1 + q - (1 - q) e), e = exp(-2 |k| h),
    q = rho / rho_moist <= 1, a sum of powers of e (each a Poisson kernel) with weights above 0 that add up
    to 1. So J is found by iterations each of which keeps it at least 0 and convex in the sources' heat;
    what it adds at a cable is 0 up to theta_b = dtheta_x, convex, and grows no faster than when all is
    dry. Other sources add at most (v - 1) times their rise at the underside to W (S_dry - S_moist) (own
    derivation, tested against differences).

    Raises
    ------
    ValueError
        If no cable carries current.
    """
    heat = group_heat(depth_m, offset_m, path, share=share, bedding=bedding)
    other = np.asarray(other_rise_K, dtype=np.float64)
    if not np.any(np.asarray(path.column_m) > 0.0):
        return heated_rating(heat, path, other_rise_K=other)
    moist, drying = _around(heat, path, other)
    beyond_K = np.asarray(other_column_K, np.float64)
    more, in_column = _in_column(depth_m, offset_m, path, heat.squares, beyond_K)
    is_below = np.asarray(path.column_m) > 0.0
    parts = zip(in_column.parts, drying.parts, strict=True)
    drying = _Drying(*(np.where(is_below, below, around) for below, around in parts))
    return _rated(heat.inside_K_m_per_W + moist + more, drying, path, other)


@dataclass(frozen=True, slots=True)
class GroupHeat:
    """What the places of a group's cables make of its heat, whatever the ground; against (..., n).

    Parameters
    ----------
    squares : ndarray
        Of the shares of the current [-].
    inside_K_m_per_W : ndarray
        Resistance inside the ground [K m/W].
    together_log : ndarray
        Logarithms of the ground, of the heat of all together [-].
    """

    squares: NDArray[np.float64]
    inside_K_m_per_W: NDArray[np.float64]
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
    together = np.einsum("...ij,...j->...i", logs, squares)
    if bedding is not None:
        spent = _spent_within(logs, squares, bedding)
        inside = inside + bedding.rho_K_m_per_W / (2.0 * math.pi) * spent
        together = together - spent
    return GroupHeat(squares, inside, together)


def heated_rating(heat: GroupHeat, path: HeatPath, *, other_rise_K: ArrayLike = 0.0) -> GroupRating:
    """Rate a group whose heat is worked out, in ground without a layer above; see `group_rating`.

    Parameters
    ----------
    heat : GroupHeat
    path : HeatPath
    other_rise_K : array_like of shape (..., n)

    Returns
    -------
    GroupRating
    """
    other = np.asarray(other_rise_K, dtype=np.float64)
    moist, drying = _around(heat, path, other)
    return _rated(heat.inside_K_m_per_W + moist, drying, path, other)


def _around(
    heat: GroupHeat, path: HeatPath, other: NDArray[np.float64]
) -> tuple[NDArray[np.float64], _Drying]:
    """Return the resistance of moist ground round the cables, and what it adds by drying out."""
    moist = np.asarray(path.rho_K_m_per_W, dtype=np.float64) / (2.0 * math.pi) * heat.together_log
    more = np.asarray(path.drying_ratio, dtype=np.float64) - 1.0
    return moist, _Drying(moist, other, more * moist, more * other)


@dataclass(frozen=True, slots=True)
class _Drying:
    """What drying out adds at each cable, with W the heat of a cable that carries the whole current.

    The warmest ground that can dry out rises by `peak` W + `peak_other`; dried out all of it would add
    `more` W + `more_other` [K m/W], [K].
    """

    peak: NDArray[np.float64]
    peak_other: NDArray[np.float64]
    more: NDArray[np.float64]
    more_other: NDArray[np.float64]

    @property
    def parts(self) -> tuple[NDArray[np.float64], ...]:
        return self.peak, self.peak_other, self.more, self.more_other


def _in_column(
    depth_m: ArrayLike,
    offset_m: ArrayLike,
    path: HeatPath,
    squares: NDArray[np.float64],
    other: NDArray[np.float64],
) -> tuple[NDArray[np.float64], _Drying]:
    """Return what a layer above adds to the resistance of the ground while it is moist, and by drying out."""
    rho, moist_rho = (np.asarray(one, np.float64) for one in (path.rho_K_m_per_W, path.column_rho_K_m_per_W))
    dry_rho = np.maximum(np.asarray(path.column_dry_K_m_per_W, np.float64), moist_rho)
    diameter_m, column_m = path.outer_diameter_m, path.column_m
    share = mirrored_share(moist_rho, rho)

    def added(part: NDArray[np.float64]) -> NDArray[np.float64]:
        logs = column_log(depth_m, offset_m, diameter_m, column_m=column_m, share=part)
        return np.asarray(rho / (2.0 * math.pi) * np.einsum("...ij,...j->...i", logs, squares))

    moist = added(share)
    if not np.any(dry_rho > moist_rho):
        return moist, _Drying(*(np.zeros_like(moist) for _ in range(4)))
    peak = boundary_peak_log(
        depth_m, offset_m, diameter_m, column_m=column_m, share=share, relative_heat=squares
    )[..., np.newaxis]
    ratio = np.divide(dry_rho, moist_rho, out=np.ones(dry_rho.shape), where=moist_rho > 0.0)
    more = added(mirrored_share(dry_rho, rho)) - moist
    return moist, _Drying(rho / (2.0 * math.pi) * peak, other, more, (ratio - 1.0) * other)


def _spent_within(
    logs: NDArray[np.float64], squares: NDArray[np.float64], bedding: Bedding | RoundFill
) -> NDArray[np.float64]:
    """Logarithm that own and neighbours lose to the bedding."""
    if isinstance(bedding, RoundFill):
        return _spent_in_tunnel(logs, squares, bedding)
    return _spent_in_bedding(logs, squares, bedding)


def _spent_in_bedding(
    logs: NDArray[np.float64], squares: NDArray[np.float64], bedding: Bedding
) -> NDArray[np.float64]:
    trench = np.asarray(bedding.trench)
    is_same = (trench[:, np.newaxis] == trench).astype(np.float64)
    outside = backfill_log(bedding.centre_depth_m, bedding.width_m, bedding.height_m)
    # A sum over the same trench only: NaN of an overlap elsewhere must not come in by 0 x NaN.
    within = np.sum(np.where(is_same > 0.0, logs, 0.0) * squares[..., np.newaxis, :], axis=-1)
    heat = np.einsum("ij,...j->...i", is_same, squares)
    return np.asarray(within - outside * heat)


def _spent_in_tunnel(
    logs: NDArray[np.float64], squares: NDArray[np.float64], fill: RoundFill
) -> NDArray[np.float64]:
    """Logarithm that is lost on the way to a tunnel's edge; outside it is one source of all the heat."""
    outside = own_ground_log(fill.centre_depth_m, fill.diameter_m) * np.sum(squares, axis=-1, keepdims=True)
    return np.asarray(np.einsum("...ij,...j->...i", logs, squares) - outside)


def _rated(
    resistance: NDArray[np.float64], drying: _Drying, path: HeatPath, other: NDArray[np.float64]
) -> GroupRating:
    """Ratings by each cable, from the resistance up to the surface and what drying out adds to it."""
    rise = path.conductor_degC - np.asarray(path.ground_degC, dtype=np.float64)
    ohm, boundary_K = path.conductor_ohm_per_m, path.drying_rise_K
    moist = dc_rating_A(rise - other, ohm, resistance)
    dried = dc_rating_A(rise - other - drying.more_other, ohm, resistance + drying.more)
    local = _drying_W(rise - other, resistance, drying, boundary_K)
    local_A = np.where(drying.more > 0.0, np.sqrt(local / ohm), moist)
    by_cable = np.where(np.isnan(moist), np.nan, np.minimum(moist, local_A))
    rating = np.min(by_cable, axis=-1)
    return GroupRating(
        rating_A=np.asarray(rating),
        by_cable_A=by_cable,
        moist_A=np.broadcast_to(moist, by_cable.shape),
        drying_A=np.broadcast_to(local_A, by_cable.shape),
        dried_A=np.broadcast_to(dried, by_cable.shape),
        hottest=np.asarray(np.where(np.isnan(rating), -1, np.argmin(by_cable, axis=-1))),
    )


def _drying_W(
    rise: NDArray[np.float64], resistance: NDArray[np.float64], drying: _Drying, boundary_K: float
) -> NDArray[np.float64]:
    """Heat W at which the conductor rises by so much if some ground is above its boundary dx.

    T W + (s W + o) (1 - dx / (m W + b)) = rise, times (m W + b): a quadratic equation. In ground that isn't
    warmer than its boundary the heat found is no less than that of moist ground.
    """
    if math.isinf(boundary_K):
        return np.full(np.broadcast_shapes(rise.shape, resistance.shape), np.inf)
    m, b, s, o = drying.parts
    square = m * (resistance + s)
    linear = b * resistance + s * (b - boundary_K) + m * (o - rise)
    constant = o * (b - boundary_K) - b * rise
    root = np.sqrt(np.maximum(linear**2 - 4.0 * square * constant, 0.0)) - linear
    square, root = np.broadcast_arrays(square, root)
    heat = np.divide(root, 2.0 * square, out=np.full(root.shape, np.inf), where=square > 0.0)
    return np.asarray(np.where(np.isnan(square), np.nan, np.maximum(heat, 0.0)))


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
