"""What the cables may carry where open cut dips below a service or a bed, as the pipes lie there.

Room: ``audit``. May use ``drives``, numpy and the audit's own modules.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import CablePlaces, GroundHeat, ground_at, samples_at
from routescreen.audit.cable_ratings import rate_places
from routescreen.audit.cable_spots import placed
from routescreen.audit.cable_told import SOURCE, CablePart, reason_at, why_not
from routescreen.audit.drive_profile import soil_values
from routescreen.audit.report import Limit
from routescreen.drives.cable_make import asked_A
from routescreen.drives.dip import RUNGS, Dip, lay_dip
from routescreen.drives.ramp import trench_axis_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.trench_crossing_proofs import DippedCrossing

TOLD = {
    "under": "the pipes lie as beside it",
    "wider": "the pipes lie further apart there",
    "fill": "flowable fill lies higher above the pipes there",
    "spread": "the pipes are spread wide there",
    "spread_fill": "the pipes are spread wide there, with flowable fill higher above them",
    "none": "the pipes spread as wide as they may, with flowable fill higher above them, don't bear it",
}
"""What is said of each of `RUNGS`."""


@dataclass(frozen=True, slots=True)
class DippedCables:
    """The cables at one place of a dip.

    Attributes
    ----------
    places : CablePlaces
        Of one place; depths below the bed.
    assumptions : Assumptions
        As they are there.
    rung : str
        One of `RUNGS`.
    """

    places: CablePlaces
    assumptions: Assumptions
    rung: str


def cables_in_dip(scene: Scene, section: int, chainage_m: float, dip: Dip) -> DippedCables:
    """Lay out the cables at one place of a dip.

    Parameters
    ----------
    scene : Scene
    section : int
    chainage_m : float
    dip : Dip

    Returns
    -------
    DippedCables
        Below a bed that is wet all the year the ground is saturated and can't dry out; heat goes to the bed.
    """
    at_m = np.array([chainage_m])
    (laid,) = lay_dip(samples_at(scene, at_m), dip, scene.assumptions)
    there = laid.assumptions
    axis_m = np.array([trench_axis_m(there)])
    heat, soil = ground_at(scene, at_m, axis_m, there.pipe.trench_outer_diameter_m / 2.0)
    if dip.is_wet:
        heat = _saturated(scene, at_m, soil)
    return DippedCables(placed(section, at_m, (heat, soil), laid.section, there), there, RUNGS[laid.way.rung])


def _saturated(scene: Scene, at_m: NDArray[np.float64], soil: NDArray[np.int64]) -> GroundHeat:
    """Return ground that is saturated up to the bed, by the worse of the soil round the pipes and above."""
    above = samples_at(scene, at_m).soil_class.astype(np.int64)
    rho = np.maximum(*(soil_values(scene, of, "resistivity_saturated_Km_per_W") for of in (soil, above)))
    return GroundHeat(rho, np.ones_like(rho), np.zeros_like(rho), rho, rho)


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
    current_A = asked_A(scene.assumptions)
    limit, element = Limit("cable_rating_dip", "A", SOURCE), scene.crossing_id(dip.crossing)
    laid = cables_in_dip(scene, dip.section, dip.chainage_m, dip.dip)
    rating = rate_places(laid.assumptions, laid.places)
    part = CablePart(laid.places, rating, np.arange(1), None, np.zeros((1, 0)))
    if np.isnan(rating.rating_A[0]):
        ledger.not_evaluated(element, limit, dip.place, why_not(scene))
        return part
    reason = (
        f"below {scene.label(dip.feature)}{_bed(dip.dip)}: {reason_at(scene, laid.places, rating, 0)}; "
        f"{TOLD[laid.rung]}"
    )
    if laid.rung == "none":
        reason += ": go below by a drive, or lay it elsewhere"
    actual_A = float(rating.rating_A[0])
    off_m = _may_be_too_warm_m(scene, dip) if actual_A >= current_A else 0.0
    if off_m > 0.0:
        reason += (
            f"; were it {off_m:.2f} m deeper than its record says, no dip below it would do: dig the trial "
            "hole before the plan is settled"
        )
        ledger.amber(element, limit, current_A, actual_A, dip.place, reason)
    else:
        ledger.finding(element, limit, current_A, actual_A, dip.place, reason)
    return part


def _may_be_too_warm_m(scene: Scene, dip: DippedCrossing) -> float:
    """Return how much deeper a service may lie than its record says, 0 where a dip would do there too [m]."""
    features = scene.features
    if features.cover_reference[dip.feature] != "service" or not features.has_trial_hole[dip.feature]:
        return 0.0
    off_m = float(features.record_uncertainty_m[dip.feature])
    tops_m = dip.dip.below_ground_m + off_m
    deeper = Dip(tops_m, tops_m, is_wet=False)
    if off_m > 0.0 and deeper.is_too_deep(scene.assumptions):
        return off_m
    laid = cables_in_dip(scene, dip.section, dip.chainage_m, deeper)
    return off_m if laid.rung == "none" else 0.0


def _bed(dip: Dip) -> str:
    if dip.below_bed_m == dip.below_ground_m:
        return ""
    wet = ", water on it all the year" if dip.is_wet else ""
    return f", depths below its bed{wet}"
