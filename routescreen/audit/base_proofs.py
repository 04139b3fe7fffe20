"""The base of a shaft against the water below it: uplift, thickness of the plug, heave where it drains.

Room: ``audit``. The formulae are those of ``engineering.base_uplift``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.bill import shaft_hole
from routescreen.audit.report import Limit
from routescreen.audit.shaft_site import about_water, cost, soil_name, soil_of
from routescreen.counted import grouped
from routescreen.engineering.base_uplift import (
    UpliftFactors,
    embedment_m,
    exit_gradient,
    held_force_kN,
    n_anchors,
    plug_thickness_m,
)
from routescreen.engineering.shaft import uplift_deficit_kPa
from routescreen.money import measure

if TYPE_CHECKING:
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.shaft_site import ShaftSite

UPLIFT = "assumptions, [shaft], [checks.shaft], [groundwater]; EN 1997-1, 2.4.7.4"
HEAVE = "assumptions, [soil], [checks.shaft], [groundwater]; EN 1997-1, 2.4.7.5"


def prove_base(scene: Scene, ledger: Ledger, site: ShaftSite) -> float:
    """Prove the base of one shaft at the highest water.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    site : ShaftSite

    Returns
    -------
    float
        What anchors must hold under a plug: uplift that its weight leaves, over the whole plan [kN].
    """
    limit = Limit("base_uplift", "kPa", UPLIFT)
    if np.isnan(site.head_m) or np.isnan(site.ground_m):
        ledger.not_evaluated(site.element, limit, site.place, "the terrain at the shaft is unknown")
        return 0.0
    factors, works = _factors(scene), scene.assumptions.shaft
    if site.head_m <= 0.0:
        holds = factors.weight_factor * factors.concrete_kN_per_m3 * works.dry_slab_m
        reason = f"{about_water(site)}, does not reach the base at {site.depth_m:.2f} m"
        ledger.finding(site.element, limit, 0.0, holds, site.place, reason)
        return 0.0
    if site.is_tight:
        return _prove_plug(scene, ledger, site, factors)
    _prove_slab(scene, ledger, site, factors)
    _prove_heave(scene, ledger, site)
    return 0.0


def _factors(scene: Scene) -> UpliftFactors:
    a = scene.assumptions
    return UpliftFactors(
        concrete_kN_per_m3=a.shaft.concrete_kN_per_m3,
        water_kN_per_m3=a.groundwater.unit_weight_kN_per_m3,
        weight_factor=a.shaft.uplift_weight_factor,
        water_factor=a.checks.shaft.water_factor,
    )


def _prove_plug(scene: Scene, ledger: Ledger, site: ShaftSite, factors: UpliftFactors) -> float:
    """Enter uplift against plug and anchors, then the thickness that would do without anchors."""
    a = scene.assumptions
    checks, plug_m = a.checks.shaft, a.shaft.plug_thickness_m
    lifts = factors.water_factor * factors.water_kN_per_m3 * (site.head_m + plug_m)
    rubs = a.shaft.anchor_friction_frac * lifts
    left = uplift_deficit_kPa(
        site.depth_m,
        site.highest_depth_m,
        plug_m,
        concrete_kN_per_m3=factors.concrete_kN_per_m3,
        water_kN_per_m3=factors.water_kN_per_m3,
        weight_factor=factors.weight_factor,
        water_factor=factors.water_factor,
    )
    deficit = max(float(left) - rubs, 0.0)
    force_kN = float(held_force_kN(deficit, site.length_m, site.width_m))
    weighs = factors.weight_factor * factors.concrete_kN_per_m3 * plug_m
    closest = checks.anchor_kN / checks.anchor_spacing_m**2 if checks.has_plug_anchors else 0.0
    reason = (
        f"under a plug of {plug_m:g} m {about_water(site)}, lifts with {lifts:.1f} kPa; plug {weighs:.1f}, "
        f"friction on the walls {rubs:.1f}, {_about_anchors(scene, site, deficit, closest)}; weight and "
        "friction of the walls are not counted beyond that"
    )
    limit = Limit("base_uplift", "kPa", UPLIFT)
    status = ledger.finding(site.element, limit, lifts, weighs + rubs + closest, site.place, reason)
    needed_m = float(plug_thickness_m(site.head_m, factors, rubs))
    if deficit <= 0.0:
        reason = f"by its weight a plug of {needed_m:.2f} m does; {plug_m:g} m are priced"
    elif not checks.has_plug_anchors:
        reason = f"by weight alone the plug would be {needed_m:.2f} m thick; {plug_m:g} m are priced"
        force_kN = 0.0
    else:
        count = int(n_anchors(force_kN, checks.anchor_kN))
        reason = (
            f"by weight alone the plug would be {needed_m:.2f} m thick; one of {plug_m:g} m leaves "
            f"{deficit:.1f} kPa on {site.area_m2:.0f} m2 to anchors, {count} by force alone: "
            f"{cost(scene, 'SH21', force_kN)} in the bill, not weighed by the search"
        )
    limit = Limit("plug_thickness", "m", UPLIFT)
    enter = ledger.amber if status == "pass" and deficit > 0.0 else ledger.finding
    enter(site.element, limit, needed_m, plug_m, site.place, reason)
    return force_kN


def _about_anchors(scene: Scene, site: ShaftSite, deficit_kPa: float, closest_kPa: float) -> str:
    """Return what anchors under a plug hold, for a sentence."""
    checks = scene.assumptions.checks.shaft
    if not checks.has_plug_anchors:
        left = f": {deficit_kPa:.1f} kPa on {site.area_m2:.0f} m2 are held by nothing"
        return f"no anchors{left if deficit_kPa > 0.0 else ''}"
    spacing_m = checks.anchor_spacing_m
    return f"anchors of {checks.anchor_kN:g} kN every {spacing_m:g} m at most {closest_kPa:.1f} kPa"


def _prove_slab(scene: Scene, ledger: Ledger, site: ShaftSite, factors: UpliftFactors) -> None:
    """Enter uplift of the slab of a shaft that is priced as standing in dry ground."""
    slab_m = scene.assumptions.shaft.dry_slab_m
    lifts = factors.water_factor * factors.water_kN_per_m3 * (site.head_m + slab_m)
    weighs = factors.weight_factor * factors.concrete_kN_per_m3 * slab_m
    limit = Limit("base_uplift", "kPa", UPLIFT)
    what = "a pit" if site.is_pit else "priced as dry"
    reason = (
        f"{what}, with a slab of {slab_m:g} m; {about_water(site)}, stands {site.head_m:.2f} m above its base"
    )
    if lifts <= weighs:
        ledger.finding(site.element, limit, lifts, weighs, site.place, reason)
        return
    reason += f" and lifts it unless water is let in and pumped{_tight_instead(scene, site)}"
    ledger.amber(site.element, limit, lifts, weighs, site.place, reason)
    ledger.unpriced(0.0 if site.is_pit else _tight_more_eur(scene, site))


def _tight_instead(scene: Scene, site: ShaftSite) -> str:
    """Return what a tight wall and a plug would cost more than what is priced, for a sentence."""
    if site.is_pit:
        return "; the pit's price holds neither tight wall nor plug"
    eur = _tight_more_eur(scene, site)
    return f"; tight wall, plug, sealed eyes and pumping would cost {grouped(eur)} EUR more than is priced"


def _tight_more_eur(scene: Scene, site: ShaftSite) -> float:
    more = shaft_hole(scene, site.index, is_wet=True) - shaft_hole(scene, site.index)
    return float(more @ measure.rates_eur(scene.assumptions))


def _prove_heave(scene: Scene, ledger: Ledger, site: ShaftSite) -> None:
    """Enter the heave of a base that drains: seepage round the foot of the wall over the ground's weight."""
    a, soil = scene.assumptions, soil_of(scene, site.soil)
    checks, water = a.checks.shaft, a.groundwater.unit_weight_kN_per_m3
    limit = Limit("base_heave", "kN/m3", HEAVE)
    if site.is_in_rock or soil.is_undrained_when_fast:
        what = "rock" if site.is_in_rock else f"tight ground ({soil_name(scene, site.soil)})"
        why = f"the base stands in {what}; water under pressure below it isn't an input"
        ledger.not_evaluated(site.element, limit, site.place, why)
        return
    gradient = float(exit_gradient(site.head_m, checks.wall_embedment_m))
    lifts = checks.heave_lifting_factor * water * gradient
    holds = checks.heave_holding_factor * (soil.gamma_sat_kN_per_m3 - water)
    needed_m = float(
        embedment_m(
            site.head_m,
            soil.gamma_sat_kN_per_m3,
            water_kN_per_m3=water,
            lifting_factor=checks.heave_lifting_factor,
            holding_factor=checks.heave_holding_factor,
        )
    )
    reason = (
        f"{site.head_m:.2f} m of head are lost round a wall {checks.wall_embedment_m:g} m below the base, "
        f"gradient {gradient:.2f} in {soil_name(scene, site.soil)}; {needed_m:.2f} m would do"
    )
    ledger.finding(site.element, limit, lifts, holds, site.place, reason)
