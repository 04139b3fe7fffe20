"""Water that comes into a shaft, how far it is lowered round it, and what lies there.

Room: ``audit``. The formulae are those of ``engineering.dewatering``. Tight shafts let in what leaks; all
others are kept dry by lowering the water round them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.neighbour_proofs import neighbours
from routescreen.audit.report import Limit
from routescreen.audit.shaft_site import about_water, cost, soil_name, soil_of, wells_m
from routescreen.engineering.dewatering import pit_radius_m, radial_inflow_m3_per_s, reach_m

if TYPE_CHECKING:
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.shaft_site import ShaftSite

SOURCE = "assumptions, [checks.shaft], [soil], [groundwater]; Sichardt, Dupuit and Thiem, from memory"


@dataclass(frozen=True, slots=True)
class _Lowering:
    """What lowering the water round a shaft would take.

    `drawdown_m` below the highest water, to below the base; `reach_m` from the edge; `inflow_l_per_s`;
    `soil` the most permeable of those that the shaft stands in.
    """

    drawdown_m: float
    reach_m: float
    inflow_l_per_s: float
    soil: int


def prove_dewatering(scene: Scene, ledger: Ledger, site: ShaftSite) -> None:
    """Prove what is pumped at a shaft and how far that lowers the groundwater.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    site : ShaftSite
    """
    pumped, reach = Limit("dewatering", "l/s", SOURCE), Limit("dewatering_reach", "m", SOURCE)
    capacity = treated_l_per_s(scene)
    if np.isnan(site.ground_m):
        for limit in (pumped, reach):
            ledger.not_evaluated(site.element, limit, site.place, "the terrain at the shaft is unknown")
        return
    if site.head_m <= 0.0:
        reason = f"{about_water(site)}, does not reach the base"
        ledger.finding(site.element, pumped, 0.0, capacity, site.place, reason)
        return
    lowering = _lowering(scene, site)
    if site.is_tight:
        _prove_leak(scene, ledger, site, lowering)
    else:
        _prove_lowering(scene, ledger, site, lowering)


def treated_l_per_s(scene: Scene) -> float:
    """Return what one plant treats [l/s]."""
    return scene.assumptions.checks.shaft.treated_water_m3_per_h / 3.6


def _lowering(scene: Scene, site: ShaftSite) -> _Lowering:
    """Work out reach and inflow of an open pit: ground that carries water down to a base, or to rock."""
    checks = scene.assumptions.checks.shaft
    soil = max((site.soil, site.soil_above), key=lambda s: soil_of(scene, s).permeability_m_per_s)
    k = soil_of(scene, soil).permeability_m_per_s
    drawdown_m = site.head_m + checks.lowered_below_base_m
    radius_m = float(pit_radius_m(site.length_m, site.width_m))
    far_m = float(reach_m(drawdown_m, k, checks.drawdown_radius_factor))
    foot_m = site.depth_m + checks.aquifer_below_base_m
    if site.depth_m < site.rock_depth_m < foot_m:
        foot_m = site.rock_depth_m
    inflow = radial_inflow_m3_per_s(
        k,
        foot_m - site.highest_depth_m,
        max(foot_m - site.highest_depth_m - drawdown_m, 0.0),
        radius_m + far_m,
        radius_m,
    )
    return _Lowering(drawdown_m, far_m, 1000.0 * float(inflow), soil)


def _about(scene: Scene, site: ShaftSite, lowering: _Lowering, near: str, *, is_beyond: bool) -> str:
    below = scene.assumptions.checks.shaft.lowered_below_base_m
    tail = "; the reach goes beyond what was read of the input" if is_beyond else ""
    return (
        f"from {about_water(site)}, by {lowering.drawdown_m:.2f} m to {below:g} m below the base in "
        f"{soil_name(scene, lowering.soil)}, {lowering.inflow_l_per_s:.1f} l/s, reach "
        f"{lowering.reach_m:.0f} m; within it: {near}{tail}"
    )


def _prove_leak(scene: Scene, ledger: Ledger, site: ShaftSite, lowering: _Lowering) -> None:
    """Enter what leaks through wall and plug; say what lowering the water instead would reach."""
    checks = scene.assumptions.checks.shaft
    wetted_m2 = 2.0 * (site.length_m + site.width_m) * site.head_m + site.area_m2
    leak = checks.leak_l_per_s_per_1000_m2 * wetted_m2 / 1000.0
    reason = (
        f"leaks through {wetted_m2:.0f} m2 of wall and plug below {about_water(site)}; item SH24 pays for "
        f"one plant of {treated_l_per_s(scene):.1f} l/s"
    )
    limit = Limit("dewatering", "l/s", SOURCE)
    ledger.finding(site.element, limit, leak, treated_l_per_s(scene), site.place, reason)
    near = neighbours(scene, site.area, lowering.reach_m)
    told = _about(scene, site, lowering, near.text, is_beyond=near.is_beyond_input)
    reason = f"wall and plug are tight: the water round the shaft is not lowered; were it lowered {told}"
    limit = Limit("dewatering_reach", "m", SOURCE)
    ledger.finding(site.element, limit, 0.0, near.nearest_m, site.place, reason)


def _prove_lowering(scene: Scene, ledger: Ledger, site: ShaftSite, lowering: _Lowering) -> None:
    """Enter what is pumped round an open pit, and the nearest of what its reach holds."""
    capacity = treated_l_per_s(scene)
    when = "kept dry by pumping"
    if site.water_depth_m >= site.depth_m:
        when = f"dry at the groundwater as given, {site.water_depth_m:.2f} m below ground; {when} above it"
    near = neighbours(scene, site.area, lowering.reach_m)
    told = _about(scene, site, lowering, near.text, is_beyond=near.is_beyond_input)
    limit = Limit("dewatering", "l/s", SOURCE)
    deep_m = wells_m(scene, site)
    billed = cost(scene, "SH28", deep_m) if deep_m > 0.0 else "no wells"
    reason = f"{when}: {told}; one plant treats {capacity:.1f} l/s; the bill holds {billed}"
    enter = ledger.amber if lowering.inflow_l_per_s > capacity else ledger.finding
    enter(site.element, limit, lowering.inflow_l_per_s, capacity, site.place, reason)
    limit = Limit("dewatering_reach", "m", SOURCE)
    reason = f"{when}: {told}"
    is_met = near.nearest_m < lowering.reach_m or near.is_beyond_input
    enter = ledger.amber if is_met else ledger.finding
    enter(site.element, limit, lowering.reach_m, near.nearest_m, site.place, reason)
