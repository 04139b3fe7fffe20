"""Shafts and floods: the rim against the highest water, and the protection zones of dykes.

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

RIM = "input, layers flood_zones and ground; assumptions, [checks.shaft], [groundwater]; common practice"
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
    limit, checks = _limit("flood", site), scene.assumptions.checks.shaft
    needed_m = _rim_m(scene, site)
    why = _why_not(scene, site)
    if why and not needed_m > checks.flood_rim_most_m:
        ledger.not_evaluated(site.element, limit, site.place, why + _about_groundwater(scene, site))
        if needed_m > 0.0:
            _enter_rim(scene, ledger, site, needed_m, is_enough=True)
        return float(site.is_in_flood_zone or needed_m > 0.0)
    if not (site.is_in_flood_zone or site.highest_depth_m < 0.0):
        reason = "outside the flood zones of the input, and the highest groundwater stays below ground"
        ledger.finding(site.element, limit, 0.0, checks.flood_rim_most_m, site.place, reason)
        return 0.0
    called, reaches_m = _highest(site)
    reason = (
        f"{called} reaches {reaches_m:.2f} m, the ground lies at {site.ground_m:.2f} m; rim "
        f"above ground with {checks.flood_rim_above_m:g} m of freeboard, at most {checks.flood_rim_most_m:g} "
        f"m high{_about_groundwater(scene, site)}"
    )
    status = ledger.finding(site.element, limit, needed_m, checks.flood_rim_most_m, site.place, reason)
    if needed_m <= 0.0:
        return 0.0
    _enter_rim(scene, ledger, site, needed_m, is_enough=status != "fail")
    return 1.0


def _rim_m(scene: Scene, site: ShaftSite) -> float:
    """Return the height of rim that the water asks for which is known: a flood, or groundwater above ground.

    Groundwater that stays below ground asks for none, however little below; a flood for its freeboard [m].
    """
    levels = [site.flood_m] if site.is_in_flood_zone else []
    if site.highest_depth_m < 0.0:
        levels.append(site.highest_level_m)
    known = [level for level in levels if not np.isnan(level)]
    if not known or np.isnan(site.ground_m):
        return 0.0
    above_m = scene.assumptions.checks.shaft.flood_rim_above_m
    return float(rim_height_m(site.ground_m, max(known), above_m))


def _enter_rim(scene: Scene, ledger: Ledger, site: ShaftSite, height_m: float, *, is_enough: bool) -> None:
    """Enter the rim that is to be built; as levels: what stands now is the ground."""
    reason = f"{height_m:.2f} m of rim are to be built: {cost(scene, 'SH25', 1.0)} in the bill"
    if not is_enough:
        reason = (
            f"the shaft must be left before it floods: {cost(scene, 'SH25', 1.0)} in the bill; at what level "
            "isn't evaluated: how fast the water rises isn't an input"
        )
    # a height of nothing has no utilisation
    level_m = site.ground_m + height_m
    ledger.amber(site.element, _limit("flood_rim", site), level_m, site.ground_m, site.place, reason)


def _is_by_flood(site: ShaftSite) -> bool:
    """Return whether no groundwater stands above the flood and above ground."""
    return not (site.highest_depth_m < 0.0 and not site.flood_m >= site.highest_level_m - 1e-9)


def _limit(check: str, site: ShaftSite) -> Limit:
    return Limit(check, "m", RIM, "record" if _is_by_flood(site) else "assumed")


def _highest(site: ShaftSite) -> tuple[str, float]:
    """Return which water the rim is held against, and its level [m]."""
    if _is_by_flood(site):
        return "the 100-year flood", site.flood_m
    return "the highest groundwater", site.highest_level_m


def _about_groundwater(scene: Scene, site: ShaftSite) -> str:
    """Say that groundwater stands above ground where it does, and what that means."""
    rise = scene.assumptions.groundwater.highest_rise_m
    above_m = rise - site.water_depth_m
    if not above_m > 0.0:
        return ""
    return (
        f"; groundwater {rise:g} m higher than given, as is assumed for 100 years, would stand "
        f"{above_m:.2f} m above ground here: water under pressure below a tight layer, or a flood that no "
        "zone tells of"
    )


def _why_not(scene: Scene, site: ShaftSite) -> str:
    """Return why the flood can't be judged, nothing where it can."""
    if scene.inp.flood_zones is None:
        return "no flood zones are given (input layer flood_zones)"
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
