"""Shafts and floods: the rim against the 100-year flood, and the protection zones of dykes.

Room: ``audit``. The formulae are those of ``engineering.flood``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.report import Limit
from routescreen.audit.shaft_site import cost
from routescreen.engineering.flood import is_in_zone, rim_height_m

if TYPE_CHECKING:
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.shaft_site import ShaftSite

RIM = "input, layer flood_zones; assumptions, [checks.shaft]; common practice, no source"
ZONE = "input, layer crossings; assumptions, [treatments]; common practice, no source"
DYKES = ("dyke", "sea_dyke")
LOOKED_M = 500.0  # as far as dykes are looked for


def prove_flood(scene: Scene, ledger: Ledger, site: ShaftSite) -> float:
    """Prove the rim of a shaft, and its distance from dykes.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    site : ShaftSite

    Returns
    -------
    float
        1 where a rim or a plan to leave the shaft is asked for, else 0.
    """
    _prove_dyke(scene, ledger, site)
    limit, checks = Limit("flood", "m", RIM, "record"), scene.assumptions.checks.shaft
    why = _why_not(scene, site)
    if why:
        ledger.not_evaluated(site.element, limit, site.place, why)
        return float(site.is_in_flood_zone)
    if not site.is_in_flood_zone:
        reason = "outside the flood zones of the input"
        ledger.finding(site.element, limit, 0.0, checks.flood_rim_most_m, site.place, reason)
        return 0.0
    height_m = float(rim_height_m(site.ground_m, site.flood_m, checks.flood_rim_above_m))
    reason = (
        f"the 100-year flood reaches {site.flood_m:.2f} m, the ground lies at {site.ground_m:.2f} m; rim "
        f"above ground with {checks.flood_rim_above_m:g} m of freeboard, at most {checks.flood_rim_most_m:g} "
        "m high"
    )
    status = ledger.finding(site.element, limit, height_m, checks.flood_rim_most_m, site.place, reason)
    if height_m <= 0.0:
        return 0.0
    reason = f"{height_m:.2f} m of rim are to be built: {cost(scene, 'SH25', 1.0)} in the bill"
    if status == "fail":
        reason = (
            f"the shaft must be left before it floods: {cost(scene, 'SH25', 1.0)} in the bill; at what level "
            "isn't evaluated: how fast the water rises isn't an input"
        )
    # as levels: what stands now is the ground, and a height of nothing has no utilisation
    limit, level_m = Limit("flood_rim", "m", RIM, "record"), site.ground_m + height_m
    ledger.amber(site.element, limit, level_m, site.ground_m, site.place, reason)
    return 1.0


def _why_not(scene: Scene, site: ShaftSite) -> str:
    """Return why the rim can't be judged, nothing where it can."""
    if scene.inp.flood_zones is None:
        rise = scene.assumptions.groundwater.highest_rise_m
        tail = ""
        if site.highest_depth_m < 0.0:
            tail = (
                f"; groundwater {rise:g} m higher than given, as is assumed for 100 years, would stand "
                f"{-site.highest_depth_m:.2f} m above ground here"
            )
        return f"no flood zones are given (input layer flood_zones){tail}"
    if scene.inp.terrain is None:
        return "without terrain a level of the flood says nothing" if site.is_in_flood_zone else ""
    if np.isnan(site.ground_m):
        return "the terrain at the shaft is unknown"
    if site.is_in_flood_zone and np.isnan(site.flood_m):
        return "the shaft stands in a flood zone that states no level (column level_m)"
    return ""


def _prove_dyke(scene: Scene, ledger: Ledger, site: ShaftSite) -> None:
    """Enter the distance to the nearest dyke against its protection zone."""
    limit = Limit("dyke_zone", "m", ZONE, "record")
    features = scene.features
    near = [int(f) for f in scene.near(site.area, LOOKED_M) if features.kind[f] in DYKES]
    if not near:
        reason = f"no dyke among the crossings within {LOOKED_M:g} m"
        ledger.finding(site.element, limit, 0.0, LOOKED_M, site.place, reason)
        return
    away_m = shapely.distance(site.area, features.geometry[near]) - features.half_width_m[near]
    away_m = np.maximum(away_m, 0.0)
    zone_m = features.clearance_m[near]
    worst = int(np.argmin(away_m - zone_m))
    feature = near[worst]
    reason = f"protection zone of {scene.label(feature)}, from the inside of the shaft's walls"
    if is_in_zone(away_m[worst], zone_m[worst]):
        reason += "; no shaft may stand in it"
    place = scene.feature_place(feature, site.place)
    ledger.finding(site.element, limit, float(zone_m[worst]), float(away_m[worst]), place, reason)
