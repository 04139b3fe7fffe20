"""How far apart the pipes of an open cut lie, so that their cables bear the link's current in its ground.

Room: ``drives``. May use ``assumptions``, ``engineering`` and numpy.

The least spacing in steps from ``trench.pipe_spacing_m`` on is taken. Up to ``trench.pipe_spacing_most_m``
it is looked for; where even that is too little, the largest stands and the rating of the finished plan
says so. Ground or cables that the formulae don't cover keep the first.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.cable_make import (
    asked_A,
    cable_make,
    current_shares,
    is_rated,
    surround,
    undisturbed_degC,
)
from routescreen.engineering.bedding_rating import bedded_rating
from routescreen.engineering.rating import Bedding, HeatPath

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions

    Array = NDArray[np.float64]

SPACING_STEP_M = 0.05
# A circle stands for a rectangle of bedding up to three times as long as high; of a wider one the rest counts
# as ground.
WIDEST_BEDDING = 2.99


@dataclass(frozen=True, slots=True)
class TrenchHeat:
    """What the ground round the pipes of n trenches does to heat; every array has shape (n,).

    Attributes
    ----------
    rho_K_m_per_W, ratio : ndarray
        Resistivity of the ground at the pipes before it dries, dried over moist; NaN where it isn't known.
    column_m : ndarray
        Height of the ground above the lowest groundwater where the crowns lie below that, else 0 [m].
    column_rho_K_m_per_W, column_dry_K_m_per_W : ndarray
        Its resistivity while it is moist, and dried out.
    """

    rho_K_m_per_W: Array
    ratio: Array
    column_m: Array
    column_rho_K_m_per_W: Array
    column_dry_K_m_per_W: Array

    def taken(self, rows: NDArray[np.bool_] | NDArray[np.int64]) -> TrenchHeat:
        """Return some of the trenches."""
        return TrenchHeat(*(getattr(self, column.name)[rows] for column in fields(self)))


def bedding_zone_m(a: Assumptions) -> float:
    """Return the height of the bedding [m]."""
    return a.trench.bedding_below_m + a.pipe.trench_outer_diameter_m + a.trench.bedding_above_m


def spacings_m(a: Assumptions) -> Array:
    """Return the spacings that are tried, the project's first, shape (k,) [m].

    None at which the pipes of one trench with their bedding would reach into the next trench's.
    """
    first, most, n_pipes = a.trench.pipe_spacing_m, a.trench.pipe_spacing_most_m, a.n_pipes_per_trench
    if a.link.n_trenches > 1 and n_pipes > 1:
        room_m = a.link.trench_spacing_m - a.pipe.trench_outer_diameter_m - a.trench.side_margin_m
        most = min(most, room_m / (n_pipes - 1))
    n_steps = int(np.floor((most - first) / SPACING_STEP_M + 1e-9)) if n_pipes > 1 else 0
    return np.asarray(np.round(first + SPACING_STEP_M * np.arange(max(n_steps, 0) + 1), 6))


def bearing_spacing_m(
    heat: TrenchHeat, bedding_width_m: Callable[[Array, NDArray[np.bool_]], Array], a: Assumptions
) -> Array:
    """Choose the spacing of the pipes at n places.

    Parameters
    ----------
    heat : TrenchHeat
    bedding_width_m : callable
        Mean width of the bedding at spacings of shape (k,), of the places chosen by the second argument,
        shape (n, k) [m].
    a : Assumptions

    Returns
    -------
    ndarray of shape (n,)
        The first spacing at which the hottest cable bears the current, the largest where none does [m].
    """
    chosen = np.full(len(heat.ratio), a.trench.pipe_spacing_m)
    if not (a.search.rating_steers and is_rated(a)):
        return chosen
    spacing_m = spacings_m(a)
    is_left = ~np.isnan(heat.rho_K_m_per_W * heat.ratio)
    if len(spacing_m) == 1:  # no choice to rate for, as in a dip once it is laid
        chosen[is_left] = spacing_m[0]
        return chosen
    for tried in (spacing_m[:1], spacing_m[1:]):  # most places bear it at the first
        if not is_left.any() or len(tried) == 0:
            break
        rating = trench_rating_A(tried, heat.taken(is_left), bedding_width_m(tried, is_left), a)
        bears = rating >= asked_A(a)
        at = np.where(bears.any(axis=1), np.argmax(bears, axis=1), len(tried) - 1)
        chosen[is_left] = tried[at]
        # what isn't evaluated at the first spacing isn't at any
        is_left[is_left] = ~bears.any(axis=1) & ~np.isnan(rating).all(axis=1)
    return chosen


def trench_rating_A(spacing_m: Array, heat: TrenchHeat, bedding_width_m: Array, a: Assumptions) -> Array:
    """Rate the cables of all trenches.

    Parameters
    ----------
    spacing_m : ndarray of shape (k,)
        Between the axes of the pipes of one trench [m].
    heat : TrenchHeat
        Of n places.
    bedding_width_m : ndarray of shape (n, k)
        Mean width of the bedding [m].
    a : Assumptions

    Returns
    -------
    ndarray of shape (n, k)
        NaN where not evaluated [A].
    """
    axis_m = a.trench.cover_to_pipe_m + a.pipe.trench_outer_diameter_m / 2.0
    pipes, trenches = a.n_pipes_per_trench, a.link.n_trenches
    within = (np.arange(pipes) - (pipes - 1) / 2.0) * spacing_m[:, np.newaxis]
    between = (np.arange(trenches) - (trenches - 1) / 2.0) * a.link.trench_spacing_m
    offset_m = (between[:, np.newaxis] + within[:, np.newaxis, :]).reshape(len(spacing_m), -1)
    together, apart = trench_beddings(spacing_m[:, np.newaxis], bedding_width_m[..., np.newaxis], axis_m, a)
    shape = (len(bedding_width_m), *offset_m.shape)
    return bedded_rating(
        np.full(shape, axis_m),
        np.broadcast_to(offset_m, shape),
        _heat_path(heat, axis_m, a),
        together=together,
        apart=apart,
        share=current_shares(a),
    ).rating_A


def trench_beddings(
    spacing_m: Array, bedding_width_m: Array, axis_m: float, a: Assumptions
) -> tuple[Bedding, Bedding]:
    """Return the bedding of each trench, and what of it lies round each pipe.

    Parameters
    ----------
    spacing_m, bedding_width_m : ndarray
        Of the pipes; mean width of the bedding; against (..., cables) [m].
    axis_m : float
        Depth of the pipes' axes [m].
    a : Assumptions

    Returns
    -------
    together, apart : Bedding
        Those of single pipes end half-way to the next one, and where the bedding beside the outer pipes does.
    """
    trench, zone_m = a.trench, bedding_zone_m(a)
    centre_m = axis_m + (trench.bedding_below_m - trench.bedding_above_m) / 2.0
    beside_m = a.pipe.trench_outer_diameter_m + trench.side_margin_m
    one = np.minimum(bedding_width_m, WIDEST_BEDDING * zone_m)
    own = np.minimum(np.minimum(spacing_m, beside_m), WIDEST_BEDDING * zone_m)
    number = np.repeat(np.arange(a.link.n_trenches), a.n_pipes_per_trench)
    rho = trench.bedding_resistivity_Km_per_W
    return (
        Bedding(number, centre_m, one, zone_m, rho),
        Bedding(np.arange(len(number)), centre_m, own, zone_m, rho),
    )


def _heat_path(heat: TrenchHeat, axis_m: float, a: Assumptions) -> HeatPath:
    around, given = surround(a, a.pipe.trench_outer_diameter_m), a.checks.rating
    return HeatPath(
        conductor_ohm_per_m=cable_make(a).ohm_per_m,
        inside_K_m_per_W=around.inside_K_m_per_W,
        outer_diameter_m=around.outer_diameter_m,
        conductor_degC=a.cable.conductor_limit_degC,
        ground_degC=float(undisturbed_degC(a, np.array([axis_m]))[0]),
        rho_K_m_per_W=heat.rho_K_m_per_W[:, np.newaxis, np.newaxis],
        drying_ratio=heat.ratio[:, np.newaxis, np.newaxis],
        drying_rise_K=given.drying_rise_K,
        column_m=heat.column_m[:, np.newaxis, np.newaxis],
        column_rho_K_m_per_W=heat.column_rho_K_m_per_W[:, np.newaxis, np.newaxis],
        column_dry_K_m_per_W=heat.column_dry_K_m_per_W[:, np.newaxis, np.newaxis],
    )
