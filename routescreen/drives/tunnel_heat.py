"""Which soils one bore for all cables can't lie in: where they couldn't carry the link's current at all.

Room: ``drives``. May import ``assumptions`` and ``engineering``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.cable_make import asked_A, cable_make, current_shares, is_rated, surround
from routescreen.drives.tunnel import pipe_ring
from routescreen.engineering.rating import HeatPath, RoundFill, group_rating

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions


def best_rating_A(a: Assumptions, method: str, soil: str) -> float | None:
    """Return the most that cables together in a tunnel can carry anywhere in a soil.

    Parameters
    ----------
    a : Assumptions
    method : str
        A key of ``assumptions.methods``.
    soil : str
        A key of ``assumptions.soil``.

    Returns
    -------
    float or None
        At the method's least cover, in saturated ground that is as cool as it is further down: no
        place of a drive does better [A]. None where each cable has a bore of its own, or the link's cable
        has no rating that the formulae cover.
    """
    ring, way = pipe_ring(a, method), a.methods[method]
    if ring is None or not is_rated(a):
        return None
    axis_m = way.cover_m + way.bore_diameter_m / 2.0
    around = surround(a, way.pipe_outer_diameter_m)
    path = HeatPath(
        conductor_ohm_per_m=cable_make(a).ohm_per_m,
        inside_K_m_per_W=around.inside_K_m_per_W,
        outer_diameter_m=around.outer_diameter_m,
        conductor_degC=a.cable.conductor_limit_degC,
        ground_degC=min(a.checks.rating.ground_deep_degC, a.checks.rating.ground_shallow_degC),
        rho_K_m_per_W=a.soil[soil].resistivity_saturated_Km_per_W,
    )
    fill = RoundFill(axis_m, ring.outer_diameter_m, a.grout.resistivity_Km_per_W.expected)
    found = group_rating(axis_m - ring.height_m, ring.offset_m, path, share=current_shares(a), bedding=fill)
    return float(np.min(found.rating_A))


def is_too_warm(a: Assumptions, method: str, soil: str) -> bool:
    """Return whether the cables of a tunnel couldn't carry the link's current anywhere in a soil."""
    best = best_rating_A(a, method, soil)
    return best is not None and best < asked_A(a)
