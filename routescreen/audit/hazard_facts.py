"""What decides on hazards at each drive and shaft: distances, soils, water, and what the checks found.

Room: ``audit``. Gathers the quantities that the rules of ``engineering.hazard_rules`` compare; NaN stands for
what isn't known.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.drive_checks import soil_lengths_m
from routescreen.audit.report import TOLERANCE_M
from routescreen.audit.shaft_checks import drives_of, footprint
from routescreen.audit.shaft_site import shaft_site
from routescreen.engineering.obstruction import is_enterable

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from routescreen.audit.land_use import Sites
    from routescreen.audit.report import Check
    from routescreen.audit.scene import Scene

    Facts = dict[str, float]

ENTERABLE_M = 1.2  # DN 1200 (common practice, no source)
NEAR_M = 5.0  # a service or cable this near is in the way (common practice, no source)
PRESSURE_M = 30.0  # a pipeline under pressure this near needs its owner's watch (common practice, no source)
OLD_BOREHOLE_M = 25.0  # an old borehole this near may lead out of the bore (common practice, no source)
LANDFILLS = ("landfill", "contaminated_ground")
DYKES = ("dyke", "sea_dyke")


class Found:
    """What the checks say: of each element the worst utilisation of a check."""

    def __init__(self, checks: Iterable[Check]) -> None:
        self._rows: dict[tuple[str, str], list[Check]] = {}
        for check in checks:
            self._rows.setdefault((check.element_id, check.check), []).append(check)

    def utilisation(self, elements: Iterable[str], *names: str) -> float:
        """Return the highest utilisation, NaN where none is evaluated or some aren't and none fails."""
        rows = [row for e in elements for name in names for row in self._rows.get((e, name), [])]
        values = [row.utilisation for row in rows]
        known = [value for value in values if not math.isnan(value)]
        highest = max(known, default=math.nan)
        return highest if len(known) == len(values) or highest > 1.0 else math.nan

    def has(self, element: str, name: str) -> bool:
        """Return whether there is such a check, evaluated or not."""
        return (element, name) in self._rows

    def least_margin(self, element: str, name: str) -> float:
        """Return the least capacity less demand, NaN where there is no such check."""
        rows = self._rows.get((element, name), [])
        return min((row.margin for row in rows), default=math.nan)


def drive_facts(scene: Scene, found: Found, grout_kPa: dict[int, float], index: int) -> Facts:
    """Gather what the rules compare for one drive.

    Parameters
    ----------
    scene : Scene
    found : Found
    grout_kPa : dict of int to float
        Highest pressure of the grout in each drive [kPa].
    index : int

    Returns
    -------
    dict of str to float
    """
    element, line = scene.drive_id(index), scene.lines[index]
    bores = shapely.union_all(line.bore_lines())
    crossings = [scene.crossing_id(n) for n, m in enumerate(scene.meetings) if m.drive == index]
    soils = soil_lengths_m(scene, index)
    # what lifts the ground above, at railways and beds of water, breaks through it as well
    pressures = [f"pressure_{fluid}{what}" for fluid in ("face", "mud", "grout") for what in ("", "_lift")]
    facts = {
        "obstruction_utilisation": found.utilisation([element], "obstruction"),
        "event_probability": _event_probability(scene, index, soils),
        "unreachable_m": _unreachable_m(scene, index),
        "pressure_utilisation": found.utilisation([element], *pressures),
        "cover_left_m": found.least_margin(element, "cover"),
        "has_old_boreholes": _old_boreholes(scene, bores),
        "settlement_utilisation": found.utilisation([element, *crossings], "settlement"),
        "grout_pressure_kPa": grout_kPa.get(index, math.nan),
        "has_obstacles": _has_obstacles(scene, soils),
    }
    return facts | _soil_facts(soils) | _near_facts(scene, bores, line.radius_m)


def shaft_facts(scene: Scene, found: Found, grout_kPa: dict[int, float], sites: Sites, index: int) -> Facts:
    """Gather what the rules compare for one shaft; see `drive_facts`."""
    element, shaft = scene.shaft_id(index), scene.plan.shafts[index]
    at = scene.ground.samples(np.array([shaft.xy_m]))
    names = list(scene.assumptions.soil)
    soils = {names[int(at.soil_class[0])]: shaft.depth_m}
    outline = footprint(scene, index)
    area = shapely.union_all([outline, *sites.compounds[index : index + 1]])
    drives = drives_of(shaft)
    inverts = [_invert_m(scene, index, drive) for drive in drives]
    site = shaft_site(scene, index)
    flood = found.utilisation([element], "flood")
    facts = {
        "depth_m": shaft.depth_m,
        "head_above_base_m": shaft.depth_m - site.highest_depth_m,
        "head_above_invert_m": site.highest_level_m - min(inverts),
        # above 1 no rim is high enough
        "flood_above_rim_m": flood - 1.0,
        "is_in_flood_zone": _in_flood_zone(scene, area),
        "is_in_dyke_zone": _in_dyke_zone(scene, area),
        "uplift_utilisation": found.utilisation([element], "base_uplift"),
        "heave_utilisation": _heave_utilisation(found, element),
        "thrust_wall_utilisation": _wall_utilisation(scene, found, index),
        "grout_pressure_kPa": max((grout_kPa.get(d, math.nan) for d in drives), default=math.nan),
    }
    return facts | _soil_facts(soils) | _near_facts(scene, area, 0.0)


def _wall_utilisation(scene: Scene, found: Found, index: int) -> float:
    """Return the use of a shaft's thrust walls: 0 where nothing is launched against one."""
    shaft = scene.plan.shafts[index]
    pushed = [
        d
        for d in drives_of(shaft)
        if scene.assumptions.methods[scene.plan.drives[d].method].has_thrust_wall
        and (scene.plan.drives[d].is_launched_at_lower == (d == shaft.outgoing))
    ]
    return found.utilisation([scene.shaft_id(index)], "thrust_wall") if pushed else 0.0


def _heave_utilisation(found: Found, element: str) -> float:
    """Return the use of a base by seepage: 0 where the base was looked at and no water seeps through it."""
    if found.has(element, "base_uplift") and not found.has(element, "base_heave"):
        return 0.0
    return found.utilisation([element], "base_heave")


def _in_flood_zone(scene: Scene, outline: shapely.Geometry) -> float:
    """Return whether a flood zone reaches a shaft or its compound; without the layer it isn't known."""
    zones = scene.inp.flood_zones
    if zones is None:
        return math.nan
    shapes = np.asarray(zones.geometry.array, dtype=np.object_)
    return float(shapely.intersects(shapes, outline).any())


def _in_dyke_zone(scene: Scene, outline: shapely.Geometry) -> float:
    """Return whether a shaft or its compound stands nearer to a dyke than its protection zone reaches."""
    is_dyke = np.isin(scene.features.kind.astype(str), DYKES)
    away_m = shapely.distance(scene.features.outline[is_dyke], outline)
    return float((away_m < scene.features.clearance_m[is_dyke] - TOLERANCE_M).any())


def _invert_m(scene: Scene, shaft: int, drive: int) -> float:
    record, line = scene.plan.drives[drive], scene.lines[drive]
    crown = record.lower_crown_m if record.lower_shaft == shaft else record.upper_crown_m
    return crown - 2.0 * line.radius_m


def _soil_facts(soils: dict[str, float]) -> Facts:
    return {"has_peat": float("peat" in soils), "has_made_ground": float("made_ground" in soils)}


def _has_obstacles(scene: Scene, soils: dict[str, float]) -> float:
    """Return whether a soil on the way is known to hold stones or timber of no known size."""
    known = [scene.assumptions.soil[name] for name in soils if name in scene.assumptions.soil]
    if any(soil.largest_grain_m is None for soil in known):
        return 1.0
    return 0.0 if len(known) == len(soils) else math.nan


def _event_probability(scene: Scene, index: int, soils: dict[str, float]) -> float:
    """Return how likely a drive meets at least one obstruction, events along its bores at random [-]."""
    a = scene.assumptions
    if any(name not in a.soil for name in soils):
        return math.nan
    events = sum(length_m * a.soil[name].events_per_km / 1000.0 for name, length_m in soils.items())
    return 1.0 - math.exp(-events * len(scene.lines[index].offsets_m))


def _unreachable_m(scene: Scene, index: int) -> float:
    """Return the length under features in which no rescue shaft may stand, in a bore nobody can enter [m]."""
    line = scene.lines[index]
    if bool(is_enterable(2.0 * line.radius_m, ENTERABLE_M)):
        return 0.0
    spans = sorted(
        (meeting.from_m, meeting.to_m)
        for meeting in scene.meetings
        if meeting.drive == index and any(not scene.features.shaft_ok[f] for f in meeting.features)
    )
    total, reached = 0.0, -math.inf
    for from_m, to_m in spans:
        total += max(to_m - max(from_m, reached), 0.0)
        reached = max(reached, to_m)
    return total


def _old_boreholes(scene: Scene, bores: shapely.Geometry) -> float:
    """Return whether a borehole of the input stands near; without any it isn't known."""
    points = np.asarray(scene.inp.investigations.geometry.array, dtype=np.object_)
    if len(points) == 0:
        return math.nan
    return float((shapely.distance(points, bores) < OLD_BOREHOLE_M).any())


def _distance_m(scene: Scene, area: shapely.Geometry, kinds: tuple[str, ...]) -> float:
    """Return the distance to the nearest feature of some kinds, very far where there is none [m]."""
    is_kind = np.isin(scene.features.kind.astype(str), kinds)
    if not is_kind.any():
        return math.inf
    return float(shapely.distance(scene.features.geometry[is_kind], area).min())


def _near_facts(scene: Scene, area: shapely.Geometry, reach_m: float) -> Facts:
    features = scene.features
    is_service = features.cover_reference == "service"
    away = shapely.distance(features.geometry[is_service], area) if is_service.any() else np.array([math.inf])
    away = np.maximum(away - reach_m, 0.0)
    gas_m = _distance_m(scene, area, ("gas_pipeline",))
    return {
        "landfill_distance_m": _distance_m(scene, area, LANDFILLS),
        "gas_pipeline_distance_m": gas_m,
        "n_services": float((away < NEAR_M).sum()),
        "service_distance_m": float(away.min()),
        "has_high_pressure_pipeline": float(min(gas_m, _distance_m(scene, area, ("pipeline",))) < PRESSURE_M),
        "power_line_distance_m": _distance_m(scene, area, ("power_line",)),
        "has_power_cable": float(_distance_m(scene, area, ("power_cable",)) < NEAR_M),
    }


def highest_grout_kPa(curves: pd.DataFrame) -> dict[int, float]:
    """Return the highest pressure of the grout in each drive of the curves [kPa]."""
    if "grout_kPa" not in curves:
        return {}
    highest = curves.groupby("drive_index")["grout_kPa"].max()
    return {int(str(drive)): float(value) for drive, value in highest.items()}
