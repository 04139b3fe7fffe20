"""The cover that keeps settlement under rails and roads within its limit, by method and soil.

Room: ``corridor``. Imports ``engineering``, the treatment and ``drives.methods``.

A bore whose annulus is not grouted loses its whole annulus: under a railway that asks for far more cover than
anything else. The soil above the rock is taken; the finding on the finished plan is the judge.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.assumptions.once import once_per_assumptions
from routescreen.engineering.settlement import bores_settlement_mm, lost_area_m2, trough_width_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.treatment import Crossings
    from routescreen.drives.methods import MethodGeometry

    Array = NDArray[np.float64]

RAILS = ("railway", "tram")
ROADS = ("motorway", "main_road", "road")
DEEPEST_M, STEP_M = 80.0, 0.05  # of the axes that are looked at
NO_COVER_DOES_M = 1e9


@dataclass(frozen=True, slots=True)
class SettlingCovers:
    """Covers that settlement asks for.

    Attributes
    ----------
    limit_mm : ndarray of shape (n_features,)
        Inf where there is none [mm].
    soil : ndarray of int, shape (nx * ny,)
        Class of each node, flat.
    needed_m : dict of (str, float) to ndarray of shape (n_soils,)
        Cover over the crown by method and limit [m].
    """

    limit_mm: Array
    soil: NDArray[np.integer]
    needed_m: dict[tuple[str, float], Array]

    def cover_m(self, method: str, feature: int, cells: NDArray[np.int64]) -> Array:
        """Return the cover that a method needs under a feature in flat cells; 0 where none is asked [m]."""
        found = self.needed_m.get((method, float(self.limit_mm[feature])))
        if found is None:
            return np.zeros(len(cells))
        return np.asarray(found[np.maximum(self.soil[cells], 0)])


def settling_covers(
    crossings: Crossings,
    soil: NDArray[np.integer],
    methods: Sequence[MethodGeometry],
    a: Assumptions,
) -> SettlingCovers:
    """Work out the covers that rails and roads ask for.

    Parameters
    ----------
    crossings : Crossings
    soil : ndarray of int, shape (nx, ny)
        Soil class of each node.
    methods : sequence of MethodGeometry
    a : Assumptions

    Returns
    -------
    SettlingCovers
    """
    checks = a.checks.settlement
    by_kind = dict.fromkeys(RAILS, checks.rail_stop_mm) | dict.fromkeys(ROADS, checks.road_limit_mm)
    kinds = [str(crossings.kind[crossing]) for crossing in crossings.features.crossing]
    limit_mm = np.array([by_kind.get(kind, np.inf) for kind in kinds], dtype=np.float64)
    limits = sorted({float(limit) for limit in limit_mm if np.isfinite(limit)})
    needed = {(method.name, limit): _covers_m(a, method, limit) for method in methods for limit in limits}
    return SettlingCovers(limit_mm, np.asarray(soil).ravel(), needed)


@once_per_assumptions
def _covers_m(a: Assumptions, method: MethodGeometry, limit_mm: float) -> Array:
    """Return the covers of a method, for all frames of a run."""
    return needed_covers_m(method, limit_mm, a)


def needed_covers_m(method: MethodGeometry, limit_mm: float, a: Assumptions) -> Array:
    """Return the cover beyond which a method's bores together settle no more than a limit, by soil.

    Parameters
    ----------
    method : MethodGeometry
    limit_mm : float
    a : Assumptions

    Returns
    -------
    ndarray of shape (n_soils,)
        `NO_COVER_DOES_M` where none keeps it [m].
    """
    way = a.methods[method.name]
    stays_m = way.pipe_outer_diameter_m if way.bores_per == "cable" else way.driven_outer_diameter_m
    filled = a.checks.settlement.grouted_frac if way.is_annulus_filled else 0.0
    area = float(lost_area_m2(method.bore_diameter_m, stays_m, filled))
    n = method.n_bores
    offsets = (np.arange(n) - (n - 1) / 2.0) * method.spacing_m
    looked = np.concatenate([offsets, (offsets[:-1] + offsets[1:]) / 2.0])
    axis_m = np.arange(method.bore_diameter_m, DEEPEST_M, STEP_M)
    covers = []
    for soil in a.soil.values():
        width = trough_width_m(axis_m, soil.settlement_k)[:, np.newaxis]
        worst = np.max([bores_settlement_mm(at, offsets, area, width) for at in looked], axis=0)
        too_much = np.flatnonzero(worst > limit_mm)
        if len(too_much) and too_much[-1] == len(axis_m) - 1:
            covers.append(NO_COVER_DOES_M)  # troughs that grow wide run into each other
            continue
        # beyond the deepest place that settles too much
        deep_m = axis_m[too_much[-1]] + STEP_M if len(too_much) else 0.0
        covers.append(max(deep_m - method.bore_diameter_m / 2.0, 0.0))
    return np.array(covers)
