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
from routescreen.drives.cable_make import asked_A
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
    a, current = scene.assumptions, asked_A(scene.assumptions)
    axis_m = dip.top_m + a.pipe.trench_outer_diameter_m / 2.0
    limit, element = Limit("cable_rating_dip", "A", SOURCE), scene.crossing_id(dip.crossing)
    built = _rated(scene, dip, axis_m, None)
    if np.isnan(built.rating.rating_A[0]):
        ledger.not_evaluated(element, limit, dip.place, why_not(scene))
        return built
    if built.rating.rating_A[0] >= current:
        ledger.finding(element, limit, current, _bears_A(built), dip.place, _told(scene, dip, built))
        return built
    wider = _wider(scene, dip, axis_m, float(built.places.spacing_m[0]))
    if wider is not None:
        reason = (
            f"{_told(scene, dip, built)}; pipes {float(wider.places.spacing_m[0]):.2f} m apart there would "
            f"bear {_bears_A(wider):.0f} A: so far apart they are to lie in the dip, which isn't in the bill"
        )
        ledger.amber(element, limit, current, _bears_A(wider), dip.place, reason)
        return wider
    reason = _told(scene, dip, built)
    if a.n_pipes_per_trench > 1:
        most_m = float(spacings_m(a)[-1])
        reason += f"; no spacing of the pipes up to {most_m:.2f} m bears the current there"
    ledger.finding(element, limit, current, _bears_A(built), dip.place, reason)
    return built


def _rated(scene: Scene, dip: DippedCrossing, axis_m: float, spacing_m: float | None) -> CablePart:
    places = trench_at(scene, dip.section, dip.chainage_m, axis_m, spacing_m)
    return CablePart(places, rate_places(scene.assumptions, places), np.arange(1), None, np.zeros((1, 0)))


def _bears_A(part: CablePart) -> float:
    return float(part.rating.rating_A[0])


def _told(scene: Scene, dip: DippedCrossing, part: CablePart) -> str:
    return f"below {scene.label(dip.feature)}: {reason_at(scene, part.places, part.rating, 0)}"


def _wider(scene: Scene, dip: DippedCrossing, axis_m: float, built_m: float) -> CablePart | None:
    """Return the dip with its pipes as far apart as the current asks for; None where no spacing does."""
    a = scene.assumptions
    if a.n_pipes_per_trench < 2:
        return None
    tried_m = spacings_m(a)
    for spacing_m in tried_m[tried_m > built_m + 1e-6]:
        part = _rated(scene, dip, axis_m, float(spacing_m))
        if part.rating.rating_A[0] >= asked_A(a):
            return part
    return None
