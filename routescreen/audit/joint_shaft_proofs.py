"""A shaft that must be made larger for a joint: where it then stands, and what it then costs.

Room: ``audit``. The larger plan is judged by the shafts' own checks, as findings: closing the shaft and
searching again would not mend where the joints must lie.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.bill import shaft_hole
from routescreen.audit.joint_sites import shaft_plans_m
from routescreen.audit.report import Ledger
from routescreen.audit.shaft_checks import check_place, drives_of, footprint, is_launch, rectangle
from routescreen.drives.methods import method_geometry
from routescreen.money import measure

if TYPE_CHECKING:
    from routescreen.audit.report import Check, Place
    from routescreen.audit.scene import Scene

SHIFTS = (0.0, 0.5, -0.5)  # of what is added to the length: on both sides, up-chainage, down-chainage
SIDES = ("about its middle", "up-chainage", "down-chainage")


@dataclass(frozen=True, slots=True)
class LargerShaft:
    """A shaft at the size that its joint asks for.

    Attributes
    ----------
    length_m, width_m : float
        Inside plan along its longest drive and across [m].
    side : str
        Where it is made longer so that least stands in the way.
    failed : tuple of Check
        What it then breaks of the limits of shafts: clearance, ground cover, the corridor's edge.
    eur : float
        What it costs more at the expected rates, without anchors and what else findings ask for; NaN where
        such a pit is priced by the piece [EUR].
    """

    length_m: float
    width_m: float
    side: str
    failed: tuple[Check, ...]
    eur: float


def larger_shaft(scene: Scene, index: int, place: Place) -> LargerShaft:
    """Lay out a shaft for the joint bays of all systems side by side, and judge it.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the shaft.
    place : Place

    Returns
    -------
    LargerShaft
    """
    a, plans = scene.assumptions, shaft_plans_m(scene, index)
    longest = int(np.argmax([length_m for length_m, _ in plans]))
    drive, (has_m, wide_m) = drives_of(scene.plan.shafts[index])[longest], plans[longest]
    length_m = max(has_m, a.cable.joint_bay_length_m)
    width_m = max(wide_m, a.cable.joint_bay_width_m * a.link.n_systems)
    found = []
    for shift, side in zip(SHIFTS, SIDES, strict=True):
        ledger, direction = Ledger(), scene.lines[drive].direction
        middle_m = np.asarray(scene.plan.shafts[index].xy_m) + shift * (length_m - has_m) * direction
        area = shapely.union(footprint(scene, index), rectangle(middle_m, direction, (length_m, width_m)))
        check_place(scene, ledger, index, shapely.convex_hull(area), place)
        failed = tuple(check for check in ledger.checks if check.status == "fail")
        found.append((len(failed), sum(check.demand - check.capacity for check in failed), side, failed))
    _, _, side, failed = min(found, key=lambda one: one[:2])
    eur = _more_eur(scene, index, drive, (length_m, width_m))
    return LargerShaft(length_m, width_m, side, failed, eur)


def _more_eur(scene: Scene, index: int, drive: int, size_m: tuple[float, float]) -> float:
    """Return what a shaft costs more whose plan for one drive is made larger [EUR]."""
    a, name = scene.assumptions, scene.plan.drives[drive].method
    way, geometry = a.methods[name], method_geometry(a, name)
    launched = is_launch(scene, scene.plan.shafts[index], drive)
    _, wide_m = geometry.launch_plan_m if launched else geometry.reception_plan_m
    larger = {
        "launch_length_m" if launched else "reception_length_m": size_m[0],
        "width_margin_m": way.width_margin_m + size_m[1] - wide_m,
    }
    methods = {**a.methods, name: way.model_copy(update=larger)}
    changed = replace(scene, assumptions=a.model_copy(update={"methods": methods}))
    eur = float((shaft_hole(changed, index) - shaft_hole(scene, index)) @ measure.rates_eur(a))
    return eur if eur > 0.0 else np.nan
