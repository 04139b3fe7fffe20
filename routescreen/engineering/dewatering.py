"""Lowering the groundwater round a shaft or along a trench: reach, inflow, wells, drawdown at neighbours.

Room: ``engineering``. Pure arrays in SI units, heads above the base of the water-bearing layer. Steady flow
in even ground: order of magnitude. A pumping test rules.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

SICHARDT_RADIAL = 3000.0  # of the reach round a pit, in s/m^0.5 (W. Sichardt, 1928)
SICHARDT_WELL = 15.0  # of the water that a well takes in, in s^0.5/m^0.5 (W. Sichardt, 1928)


def reach_m(drawdown_m: ArrayLike, permeability_m_per_s: ArrayLike, factor: float = SICHARDT_RADIAL) -> Array:
    """Distance from the edge of a pit as far as which the water is lowered, 3000 s sqrt(k) [m].

    Parameters
    ----------
    drawdown_m : array_like
        s, at the pit [m].
    permeability_m_per_s : array_like
        k [m/s].
    factor : float
        3000 round a pit; 1500 to 2000 beside a long trench.

    Notes
    -----
    Empirical and bound to metres and seconds, for water without pressure. It knows neither time nor
    recharge, and underestimates the reach in tight ground, where it falls below the pit's own size.

    References
    ----------
    W. Sichardt, 1928; J. P. Powers, Construction Dewatering, 1992; Herth and Arndts, 1994.
    """
    k = not_negative("the permeability", permeability_m_per_s)
    return np.asarray(factor * not_negative("the drawdown", drawdown_m) * np.sqrt(k))


def pit_radius_m(length_m: ArrayLike, width_m: ArrayLike) -> Array:
    """Radius of the round well that stands for a pit of equal area, sqrt(a b/pi) [m].

    Parameters
    ----------
    length_m, width_m : array_like
        Of the pit or of the ring of wells; fair while the longer is at most about twice the
        shorter [m].
    """
    area = positive("the length", length_m) * positive("the width", width_m)
    return np.asarray(np.sqrt(area / np.pi))


def _potential_m2(head_m: Array, thickness_m: Array) -> Array:
    """Discharge potential over k: h^2/2 without pressure, b h - b^2/2 with it; both meet at h = b."""
    return np.where(head_m <= thickness_m, head_m**2 / 2.0, thickness_m * head_m - thickness_m**2 / 2.0)


def radial_inflow_m3_per_s(
    permeability_m_per_s: ArrayLike,
    outer_head_m: ArrayLike,
    inner_head_m: ArrayLike,
    outer_radius_m: ArrayLike,
    inner_radius_m: ArrayLike,
    *,
    thickness_m: ArrayLike = np.inf,
) -> Array:
    """Water that flows to a well or a pit, between two radii [m3/s].

    Parameters
    ----------
    permeability_m_per_s : array_like
        k [m/s].
    outer_head_m, inner_head_m : array_like
        H and h, above the base of the water-bearing layer [m].
    outer_radius_m, inner_radius_m : array_like
        R and r: of the reach and of the pit, or of two observation wells [m].
    thickness_m : array_like
        b, of the water-bearing layer below a tight roof; infinite where there is none [m].

    Returns
    -------
    ndarray of float64
        NaN where R is not above r: the reach lies inside the pit, the formula says nothing there.

    Notes
    -----
    Without pressure (H and h at most b): pi k (H^2 - h^2)/ln(R/r), the Dupuit-Thiem formula. Under
    pressure (both at least b): 2 pi k b (H - h)/ln(R/r), Thiem's. Pressure outside and none inside:
    pi k (2 b H - b^2 - h^2)/ln(R/r). Full penetration, no flow from below.

    References
    ----------
    J. Dupuit, 1863; G. Thiem, 1906.
    """
    k = not_negative("the permeability", permeability_m_per_s)
    heads = (not_negative("the outer head", outer_head_m), not_negative("the inner head", inner_head_m))
    thick = positive("the thickness", thickness_m)
    # An infinite roof height must not meet a head of zero: inf x 0 is no number.
    roof = np.where(np.isinf(thick), 1.0 + np.maximum(heads[0], heads[1]), thick)
    drop = _potential_m2(heads[0], roof) - _potential_m2(heads[1], roof)
    outer, inner = positive("the outer radius", outer_radius_m), positive("the inner radius", inner_radius_m)
    ratio = np.where(outer > inner, outer / inner, np.nan)
    return np.asarray(2.0 * np.pi * k * drop / np.log(ratio))


def trench_inflow_m3_per_s_per_m(
    permeability_m_per_s: ArrayLike, outer_head_m: ArrayLike, inner_head_m: ArrayLike, reach_m: ArrayLike
) -> Array:
    """Water that flows to a metre of long trench from both sides, k (H^2 - h^2)/L [m3/s per m].

    Parameters
    ----------
    permeability_m_per_s, outer_head_m, inner_head_m
        See `radial_inflow_m3_per_s`; without pressure.
    reach_m : array_like
        L, to one side, see `reach_m` with the factor of long trenches [m].

    References
    ----------
    J. Dupuit, 1863.
    """
    k = not_negative("the permeability", permeability_m_per_s)
    outer, inner = not_negative("the outer head", outer_head_m), not_negative("the inner head", inner_head_m)
    return np.asarray(k * (outer**2 - inner**2) / positive("the reach", reach_m))


def head_at_m(
    distance_m: ArrayLike,
    inflow_m3_per_s: ArrayLike,
    permeability_m_per_s: ArrayLike,
    inner_head_m: ArrayLike,
    inner_radius_m: ArrayLike,
    *,
    thickness_m: ArrayLike = np.inf,
) -> Array:
    """Head of the lowered water at a distance from the middle of the pit [m].

    Parameters
    ----------
    distance_m : array_like
        From the middle, e.g. of a building or of peat [m].
    inflow_m3_per_s, permeability_m_per_s, inner_head_m, inner_radius_m, thickness_m
        See `radial_inflow_m3_per_s`.

    Returns
    -------
    ndarray of float64
        NaN inside the pit. It keeps rising beyond the reach: compare it with the undisturbed head.
    """
    inner = not_negative("the inner head", inner_head_m)
    k = positive("the permeability", permeability_m_per_s)
    thick = positive("the thickness", thickness_m)
    at, radius = positive("the distance", distance_m), positive("the inner radius", inner_radius_m)
    rise = np.asarray(inflow_m3_per_s, dtype=np.float64) * np.log(at / radius) / (2.0 * np.pi * k)
    free = np.isinf(thick)
    roof = np.where(free, 1.0 + inner, thick)
    potential = _potential_m2(inner, roof) + rise
    has_pressure = ~free & (potential > roof**2 / 2.0)
    head = np.where(has_pressure, potential / roof + roof / 2.0, np.sqrt(2.0 * np.maximum(potential, 0.0)))
    return np.where(at >= radius, head, np.nan)


def well_yield_m3_per_s(
    well_radius_m: ArrayLike, wetted_m: ArrayLike, permeability_m_per_s: ArrayLike
) -> Array:
    """Water that one well can take in, 2 pi r h sqrt(k)/15 [m3/s].

    Parameters
    ----------
    well_radius_m : array_like
        Outside of its filter [m].
    wetted_m : array_like
        Length of the filter that stands in water [m].
    permeability_m_per_s : array_like
        k [m/s].

    Notes
    -----
    Empirical and bound to metres and seconds.

    References
    ----------
    W. Sichardt, 1928; W. Herth and E. Arndts, Theorie und Praxis der Grundwasserabsenkung, 1994.
    """
    skin = 2.0 * np.pi * positive("the well's radius", well_radius_m) * not_negative("the filter", wetted_m)
    k = not_negative("the permeability", permeability_m_per_s)
    return np.asarray(skin * np.sqrt(k) / SICHARDT_WELL)


def n_wells(inflow_m3_per_s: ArrayLike, yield_m3_per_s: ArrayLike, margin: ArrayLike) -> Array:
    """Wells that draw an inflow, rounded up; 0 without inflow [-].

    Parameters
    ----------
    inflow_m3_per_s, yield_m3_per_s : array_like
        Of the pit, and of one well [m3/s].
    margin : array_like
        On the inflow, e.g. 1.3: early on more water comes, and wells fail (common practice, no
        source) [-].
    """
    wanted = not_negative("the inflow", inflow_m3_per_s) * positive("the margin", margin)
    return np.asarray(np.ceil(wanted / positive("a well's yield", yield_m3_per_s)))


def is_within_reach(distance_m: ArrayLike, reach_m: ArrayLike) -> NDArray[np.bool_]:
    """Whether peat or a building lies where the water is lowered, so that it must be named.

    Parameters
    ----------
    distance_m : array_like
        From the edge of the pit; NaN counts as within [m].
    reach_m : array_like
        See `reach_m` [m].
    """
    return np.asarray(~(np.asarray(distance_m, dtype=np.float64) > np.asarray(reach_m, dtype=np.float64)))
