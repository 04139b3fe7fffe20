"""Which shafts are filled with conducting fill, as their cables get too warm in what was dug.

Room: ``drives``. May use ``assumptions``, ``engineering`` and numpy.

Whether groundwater stands in a shaft's backfill, behind its walls and plug, isn't known. Where the cables do
not bear the link's current in backfill that dries out, and where they do in fill that doesn't, the fill is
bought, so long as groundwater stands outside: ground above it dries out beyond the walls whatever lies
within. A deeper shaft of the same bores has it too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.assumptions.once import once_per_assumptions
from routescreen.drives.cable_make import (
    asked_A,
    cable_make,
    current_shares,
    is_rated,
    surround,
    undisturbed_degC,
)
from routescreen.drives.methods import method_geometry
from routescreen.drives.tunnel import pipe_ring
from routescreen.engineering.rating import HeatPath, group_rating

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions

    Array = NDArray[np.float64]

NEVER = 1 << 30
"""A step of depth that no shaft reaches."""

_ROUNDING = 1e-9


def conducting_rho_K_m_per_W(a: Assumptions) -> float:
    """Return the resistivity that is asked of the fill, dried out or not [K m/W]."""
    return a.shaft.conducting_fill_Km_per_W


def steps_below_water(a: Assumptions, method: str) -> int:
    """Return how many steps below the lowest groundwater a shaft surely has its bores' crowns below it.

    Parameters
    ----------
    a : Assumptions
    method : str
        A key of ``assumptions.methods``.

    Returns
    -------
    int
        Bore, sump and the step by which a shaft is rounded up.
    """
    step_m = a.shaft.depth_step_m
    below_m = step_m + a.shaft.sump_m + a.methods[method].bore_diameter_m
    return int(np.ceil(below_m / step_m - _ROUNDING))


def lowest_water_level(groundwater_m: Array, a: Assumptions) -> NDArray[np.int64]:
    """Return the depth of the lowest groundwater in steps of the shafts' depth, rounded up.

    Parameters
    ----------
    groundwater_m : ndarray
        Depth as given, NaN where unknown: then none is counted on [m].
    a : Assumptions
    """
    lowest_m = np.asarray(groundwater_m, dtype=np.float64) + a.groundwater.lowest_fall_m
    steps = np.ceil(np.maximum(lowest_m, 0.0) / a.shaft.depth_step_m - _ROUNDING)
    return np.asarray(np.minimum(np.nan_to_num(steps, nan=NEVER, posinf=NEVER), NEVER), np.int64)


@once_per_assumptions
def first_filled_level(a: Assumptions, method: str, soil: int, below: int) -> int:
    """Return the shallowest shaft of a method that needs the fill, below groundwater.

    Parameters
    ----------
    a : Assumptions
    method : str
        A key of ``assumptions.methods``.
    soil, below : int
        Soil at the ground and round the bores' ends, places in the list of soils; of each figure the worse
        counts, since both are mixed in the backfill.

    Returns
    -------
    int
        In steps of the shafts' depth; `NEVER` where none needs it, or where it would not do.
    """
    geometry = method_geometry(a, method)
    if not (a.search.shaft_fill_steers and is_rated(a)) or geometry.is_drilled:
        return NEVER
    step_m = a.shaft.depth_step_m
    least, most = geometry.least_depth_m / step_m, geometry.most_depth_m / step_m
    levels = np.arange(int(np.ceil(least - _ROUNDING)), int(np.floor(most + _ROUNDING)) + 1)
    # a shaft is rounded up to its step: its bores end up to a step higher than its depth tells
    half_m = geometry.bore_diameter_m / 2.0
    deep_m = step_m * levels - a.shaft.sump_m - half_m
    least_m = geometry.cover_m + half_m
    axis_m = np.maximum(np.stack([deep_m - step_m, deep_m]), least_m)
    does_spoil, does_fill = (
        shaft_rating_A(a, method, axis_m, (soil, below), is_filled=is_filled) >= asked_A(a)
        for is_filled in (False, True)
    )
    is_needed = ~does_spoil.all(axis=0)
    if not is_needed.any():
        return NEVER
    first = int(np.argmax(is_needed))
    return int(levels[first]) if does_fill[:, first].all() else NEVER


def shaft_rating_A(
    a: Assumptions, method: str, axis_m: Array, soils: tuple[int, int], *, is_filled: bool
) -> Array:
    """Rate the cables in a shaft whose backfill no groundwater reaches.

    Parameters
    ----------
    a : Assumptions
    method : str
        A key of ``assumptions.methods``.
    axis_m : ndarray of shape (...)
        Depth of the bores' axes [m].
    soils : tuple of int
        That are mixed in the backfill, places in the list of soils.
    is_filled : bool
        With conducting fill up to where the walls are cut; all else counts as moist ground or as the fill,
        whichever resists more.

    Returns
    -------
    ndarray of shape (...)
        Of the hottest cable; NaN where not evaluated [A].
    """
    offset_m, higher_m = _pipes(a, method)
    depth_m = np.asarray(axis_m, dtype=np.float64)[..., np.newaxis] - higher_m
    classes = [list(a.soil.values())[soil] for soil in soils]
    moist = max(soil.resistivity_moist_Km_per_W for soil in classes)
    dry = max(soil.resistivity_dry_Km_per_W for soil in classes)
    rho = max(moist, conducting_rho_K_m_per_W(a)) if is_filled else moist
    around = surround(a, a.pipe.trench_outer_diameter_m)
    path = HeatPath(
        conductor_ohm_per_m=cable_make(a).ohm_per_m,
        inside_K_m_per_W=around.inside_K_m_per_W,
        outer_diameter_m=around.outer_diameter_m,
        conductor_degC=a.cable.conductor_limit_degC,
        ground_degC=undisturbed_degC(a, depth_m),
        rho_K_m_per_W=rho,
        drying_ratio=1.0 if is_filled else dry / moist,
        drying_rise_K=a.checks.rating.drying_rise_K,
        column_m=a.shaft.wall_cut_m if is_filled else 0.0,
        column_rho_K_m_per_W=rho,
        column_dry_K_m_per_W=max(dry, rho),
    )
    found = group_rating(depth_m, np.broadcast_to(offset_m, depth_m.shape), path, share=current_shares(a))
    return np.asarray(found.rating_A)


def _pipes(a: Assumptions, method: str) -> tuple[Array, Array]:
    """Return where the pipes lie across the line, and how much higher than the bores' axes [m]."""
    ring, geometry = pipe_ring(a, method), method_geometry(a, method)
    if ring is not None:
        return ring.offset_m, ring.height_m
    offset_m = (np.arange(geometry.n_bores) - (geometry.n_bores - 1) / 2.0) * geometry.spacing_m
    return np.asarray(offset_m, dtype=np.float64), np.zeros(geometry.n_bores)
