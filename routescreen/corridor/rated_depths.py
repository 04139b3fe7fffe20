"""How deep the bores of a method may lie so that their cables bear the link's current, by the ground.

Room: ``corridor``. Imports ``drives`` and ``engineering``. What is asked for once is kept: the kinds of
ground of a corridor are few, and its windows ask for the same ones again.
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
from routescreen.engineering.rated_depth import rated_depth_m
from routescreen.engineering.rating import HeatPath

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.drives.methods import MethodGeometry

    Array = NDArray[np.float64]

DEEPEST_M = 60.0  # axes that deep are not looked at: a cable that bears its current there has no floor
N_STEPS = 200
# Heights of the moist ground over bores below the groundwater: a place's is rounded up to the next of them.
COLUMN_STEP_M = 0.1
COLUMNS_M = np.concatenate([COLUMN_STEP_M * np.arange(201), [DEEPEST_M]])


class RatedDepths:
    """Deepest axes of one method at which the cable bears its current.

    Classes of soil are those round the axis and above it; of each figure the worse of both counts. Answers
    are inf where there is no limit or none is known, 0 where no depth will do [m].

    Parameters
    ----------
    a : Assumptions
    method : MethodGeometry
        With a bore for each cable.
    """

    def __init__(self, a: Assumptions, method: MethodGeometry) -> None:
        self._a, self._method = a, method
        self._saturated, self._moist, self._dry = (
            np.array([getattr(soil, f"resistivity_{state}_Km_per_W") for soil in a.soil.values()])
            for state in ("saturated", "moist", "dry")
        )
        self._kept: dict[tuple[float, ...], float] = {}

    def drying_m(self, soil: NDArray[np.int64], above: NDArray[np.int64]) -> Array:
        """Return the deepest axis in ground above the groundwater that may dry out [m]."""
        (soils, aboves), of_place = _kinds(len(self._moist), soil, above)
        moist, dry = (np.maximum(values[soils], values[aboves]) for values in (self._moist, self._dry))
        nothing = np.zeros_like(moist)
        deepest_m = self._looked_up(moist, dry / moist, nothing, nothing, nothing)
        return np.asarray(deepest_m[of_place])

    def saturated_m(self, soil: NDArray[np.int64], above: NDArray[np.int64], lowest_m: Array) -> Array:
        """Return the deepest axis below the lowest groundwater, whose depth is given [m].

        Ground above that dries out where it gets too warm; its height counts up to the next of
        `COLUMNS_M`, all of it where the groundwater isn't known.
        """
        height = np.searchsorted(COLUMNS_M[:-1], np.nan_to_num(lowest_m, nan=np.inf))
        n = max(len(self._moist), len(COLUMNS_M))
        (soils, aboves, heights), of_place = _kinds(n, soil, above, height)
        states = (self._saturated, self._moist, self._dry)
        saturated, moist, dry = (np.maximum(values[soils], values[aboves]) for values in states)
        deepest_m = self._looked_up(saturated, np.ones_like(saturated), COLUMNS_M[heights], moist, dry)
        return np.asarray(deepest_m[of_place])

    def _looked_up(self, *figures: Array) -> Array:
        """Return the deepest axis for figures of shape (n,)."""
        each, of_place = np.unique(np.stack(figures, axis=1), axis=0, return_inverse=True)
        keys = [tuple(map(float, kind)) for kind in each]
        missing = [key for key in keys if key not in self._kept]
        if missing:
            self._kept.update(zip(missing, self._worked_out(np.array(missing)).tolist(), strict=True))
        found = np.array([self._kept[key] for key in keys])
        return np.asarray(found[of_place.ravel()])

    def _worked_out(self, kinds: Array) -> Array:
        """Return the deepest axis in each kind of ground, rows of its five figures [m]."""
        a, method = self._a, self._method
        way, make, given = a.methods[method.name], cable_make(a), a.checks.rating
        bore_m = method.bore_diameter_m if way.has_annulus_grout else None
        around = surround(a, way.pipe_outer_diameter_m, bore_m)
        # crowns that count on the groundwater keep their distance below the lowest, whatever its rounding
        wet_m = kinds[:, 2] + max(a.search.below_groundwater_m - COLUMN_STEP_M, 0.0)
        crown_m = np.maximum(method.cover_m, np.where(kinds[:, 2] > 0.0, wet_m, 0.0))
        least_m = np.minimum(crown_m + method.bore_diameter_m / 2.0, DEEPEST_M - COLUMN_STEP_M)
        rho, ratio, column_m, column_rho, column_dry = (values[:, np.newaxis] for values in kinds.T)

        def path_at(axis_m: Array) -> HeatPath:
            return HeatPath(
                conductor_ohm_per_m=make.ohm_per_m,
                inside_K_m_per_W=around.inside_K_m_per_W,
                outer_diameter_m=around.outer_diameter_m,
                conductor_degC=a.cable.conductor_limit_degC,
                ground_degC=undisturbed_degC(a, axis_m),
                rho_K_m_per_W=rho,
                drying_ratio=ratio,
                drying_rise_K=given.drying_rise_K,
                column_m=column_m,
                column_rho_K_m_per_W=column_rho,
                column_dry_K_m_per_W=column_dry,
            )

        found = rated_depth_m(
            asked_A(a),
            (np.arange(method.n_bores) - (method.n_bores - 1) / 2.0) * method.spacing_m,
            path_at,
            least_m=least_m,
            most_m=DEEPEST_M,
            share=current_shares(a),
            n_steps=N_STEPS,
        )
        return np.where(np.isnan(found) | (found >= DEEPEST_M), np.inf, found)


def _kinds(n: int, *numbers: NDArray[np.int64]) -> tuple[list[NDArray[np.int64]], NDArray[np.int64]]:
    """Return the few combinations of numbers below n that occur, and the place of each element among them.

    A node's figures follow from whole numbers, which are counted many times faster than figures sort.
    """
    shape = np.broadcast_shapes(*(number.shape for number in numbers))
    code = np.zeros(shape, np.int64)
    for number in numbers:
        code = code * n + number
    occurs = np.bincount(code.ravel(), minlength=1) > 0
    place = np.cumsum(occurs) - 1
    found = np.flatnonzero(occurs)
    parts = []
    for _ in numbers:
        found, part = np.divmod(found, n)
        parts.append(part)
    return parts[::-1], np.asarray(place[code])


@once_per_assumptions
def rated_depths(a: Assumptions, method: MethodGeometry) -> RatedDepths | None:
    """Return how deep the bores of a method may lie.

    Parameters
    ----------
    a : Assumptions
    method : MethodGeometry

    Returns
    -------
    RatedDepths or None
        None where the formulae don't cover the cable or its bore, which sets no limit.
    """
    if a.methods[method.name].bores_per != "cable" or not is_rated(a):
        return None
    return RatedDepths(a, method)
