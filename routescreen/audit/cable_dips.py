"""What the cables may carry where open cut dips below a service or a bed.

Room: ``audit``. May use ``drives``, numpy and the audit's own modules.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import trench_at
from routescreen.audit.cable_ratings import rate_places
from routescreen.audit.cable_told import SOURCE, CablePart, reason_at, why_not
from routescreen.audit.report import Limit
from routescreen.drives.trench_spacing import spacings_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.trench_crossing_proofs import DippedCrossing


def prove_dips_rating(scene: Scene, ledger: Ledger, dips: Sequence[DippedCrossing]) -> list[CablePart]:
    """Compare the rating at the lowest place of each dip of the open cut with the link's current.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.
    dips : sequence of DippedCrossing

    Returns
    -------
    list of CablePart
        The dips as they were rated, for the link's hottest place.
    """
    return [_prove(scene, ledger, dip) for dip in dips]


def _prove(scene: Scene, ledger: Ledger, dip: DippedCrossing) -> CablePart:
    a, current = scene.assumptions, scene.assumptions.link.current_A
    axis_m = dip.top_m + a.pipe.trench_outer_diameter_m / 2.0
    places = trench_at(scene, dip.section, dip.chainage_m, axis_m)
    rating = rate_places(a, places)
    part = CablePart(places, rating, np.arange(1), None, np.zeros((1, 0)))
    limit, element = Limit("cable_rating_dip", "A", SOURCE), scene.crossing_id(dip.crossing)
    if np.isnan(rating.rating_A[0]):
        ledger.not_evaluated(element, limit, dip.place, why_not(scene))
        return part
    bears_A = float(rating.rating_A[0])
    reason = f"below {scene.label(dip.feature)}: {reason_at(scene, places, rating, 0)}"
    if bears_A < current:
        reason += _asked(scene, dip, axis_m, float(places.spacing_m[0]))
    ledger.finding(element, limit, current, bears_A, dip.place, reason)
    return part


def _asked(scene: Scene, dip: DippedCrossing, axis_m: float, built_m: float) -> str:
    """Say how far apart the pipes of each trench would have to lie in the dip."""
    a = scene.assumptions
    if a.n_pipes_per_trench < 2:
        return ""
    tried_m = spacings_m(a)
    for spacing_m in tried_m[tried_m > built_m + 1e-6]:
        places = trench_at(scene, dip.section, dip.chainage_m, axis_m, float(spacing_m))
        if rate_places(a, places).rating_A[0] >= a.link.current_A:
            return f"; pipes {spacing_m:.2f} m apart there would bear the current"
    return f"; no spacing of the pipes up to {float(tried_m[-1]):.2f} m bears the current there"
