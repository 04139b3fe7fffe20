"""What was found on ground that nobody has described: no pass, but not evaluated.

Room: ``audit``. Where no polygon of the layer ``ground`` gives a soil or a depth of groundwater the plan is
laid out and priced with the defaults; a check that depends on them can't be passed there.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.route import stations
from routescreen.audit.scene import words

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from routescreen.audit.report import Check
    from routescreen.audit.scene import Scene

SOIL_CHECKS = frozenset(
    {
        "base_heave",
        "base_uplift",
        "cable_rating",
        "collapse",
        "collapse_empty",
        "dewatering",
        "dewatering_reach",
        "draw_back",
        "drive_length_in_soil",
        "eyes",
        "eyes_priced_dry",
        "flotation",
        "insulation_drop",
        "obstruction",
        "plug_thickness",
        "pressure_face",
        "pressure_grout",
        "pressure_mud",
        "pull_stages",
        "settlement",
        "slurry",
        "soil_heating",
        "thermal_spacing",
        "thrust",
        "thrust_station",
        "thrust_wall",
        "trench_dewatering",
    }
)
"""Checks that depend on the soil, with those that follow from them (`_high_friction`, `_overburden`, ...)."""

WATER_CHECKS = frozenset(
    {
        "base_heave",
        "base_uplift",
        "cable_rating",
        "collapse",
        "collapse_empty",
        "dewatering",
        "dewatering_reach",
        "eyes",
        "eyes_priced_dry",
        "flood",
        "flotation",
        "groundwater_head",
        "insulation_drop",
        "plug_thickness",
        "pressure_face",
        "pressure_grout",
        "pressure_mud",
        "soil_heating",
        "thermal_spacing",
        "thrust",
        "thrust_station",
        "thrust_wall",
        "trench_dewatering",
    }
)
"""Checks that depend on the groundwater."""

STEP_M = 5.0  # between the places that are looked at
WHOLE_ROUTE = ""  # stands for the element of what has no place of its own


def without_passes_on_unknown_ground(scene: Scene, checks: Iterable[Check]) -> list[Check]:
    """Return the checks, with what passes only by the default ground not evaluated.

    Parameters
    ----------
    scene : Scene
    checks : iterable of Check

    Returns
    -------
    list of Check
        Failures stay: the defaults give no reason to think them better.
    """
    found = list(checks)
    if scene.assumptions.frame.default_ground_counts:
        return found
    unknown = _Unknown(scene)
    return [_judged(check, unknown) if check.status in ("pass", "amber") else check for check in found]


def _judged(check: Check, unknown: _Unknown) -> Check:
    needs_soil, needs_water = _is_of(check.check, SOIL_CHECKS), _is_of(check.check, WATER_CHECKS)
    if not (needs_soil or needs_water):
        return check
    soil, water = unknown.of(check.element_id)
    missing = []
    if needs_soil and soil:
        missing.append(f"the soil isn't given {soil} ({unknown.soil} is assumed)")
    if needs_water and water:
        missing.append(f"the groundwater isn't given {water} ({unknown.water_m:g} m below ground is assumed)")
    if not missing:
        return check
    nan = math.nan
    reason = f"{' and '.join(missing)}; with that: {check.reason}"
    return replace(check, demand=nan, capacity=nan, utilisation=nan, status="not_evaluated", reason=reason)


def _is_of(name: str, checks: frozenset[str]) -> bool:
    """Return whether a check is one of a set, or a warning that belongs to one of them."""
    return name in checks or any(name.startswith(f"{check}_") for check in checks)


class _Unknown:
    """Where soil and groundwater aren't given, by element, looked up once each."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._found: dict[str, tuple[str, str]] = {}
        self._elements = {
            **{scene.section_id(k): ("section", k) for k in range(scene.route.n_sections)},
            **{scene.drive_id(k): ("drive", k) for k in range(len(scene.lines))},
            **{scene.shaft_id(k): ("shaft", k) for k in range(len(scene.plan.shafts))},
        }
        ground = scene.ground
        self.soil = words(list(scene.assumptions.soil)[ground.default_soil])
        self.water_m = ground.default_groundwater_depth_m

    def of(self, element_id: str) -> tuple[str, str]:
        """Return where under an element soil and groundwater aren't given, in words; empty where they are."""
        if element_id not in self._elements:
            element_id = WHOLE_ROUTE  # looked up once, however many elements have no place of their own
        if element_id not in self._found:
            self._found[element_id] = self._look(self._places(element_id))
        return self._found[element_id]

    def _places(self, element_id: str) -> NDArray[np.float64]:
        """Return points of an element: a shaft, a drive's bores, a section; else of the whole route."""
        scene = self._scene
        if element_id == WHOLE_ROUTE:
            return self._along(0.0, float(scene.route.chainage_m[-1]))
        kind, index = self._elements[element_id]
        if kind == "shaft":
            return np.array([scene.plan.shafts[index].xy_m], dtype=np.float64)
        if kind == "drive":
            line = scene.lines[index]
            along_m = stations(line.plan_length_m, STEP_M)
            return np.concatenate([line.xy_m(bore, along_m) for bore in range(len(line.offsets_m))])
        return self._along(*scene.route.bounds_of_section(index))

    def _along(self, from_m: float, to_m: float) -> NDArray[np.float64]:
        at_m = from_m + stations(to_m - from_m, STEP_M)
        route = self._scene.route
        return np.stack([np.interp(at_m, route.chainage_m, route.xy_m[:, axis]) for axis in (0, 1)], axis=1)

    def _look(self, xy_m: NDArray[np.float64]) -> tuple[str, str]:
        ground = self._scene.ground
        zones = ground.zones_at(xy_m)
        given = (ground.zone_soil >= 0, ~np.isnan(ground.zone_groundwater_m))
        missing = [
            zones.uppermost(has_value) < 0 if len(has_value) else np.ones(len(xy_m), np.bool_)
            for has_value in given
        ]
        return _share(missing[0]), _share(missing[1])


def _share(is_missing: NDArray[np.bool_]) -> str:
    """Say where something is missing."""
    if not is_missing.any():
        return ""
    if is_missing.all():
        return "here" if len(is_missing) == 1 else "anywhere on it"
    return f"on {100.0 * is_missing.mean():.0f} % of it" if is_missing.mean() >= 0.005 else "on a part of it"


def _of_route(where: str) -> str:
    return where.replace("it", "the route")


def ground_warning(scene: Scene) -> str:
    """Return what a user must hear of ground that isn't given, empty where all of it is."""
    if scene.assumptions.frame.default_ground_counts:
        return ""
    unknown = _Unknown(scene)
    soil, water = unknown.of("")
    parts = []
    if soil:
        parts.append(f"No soil is given {_of_route(soil)}, so {unknown.soil} is assumed")
    if water:
        depth = f"{unknown.water_m:g} m below ground"
        text = f"No groundwater is given {_of_route(water)}, so {depth} is assumed"
        parts.append(f"n{text[1:]}" if soil else text)
    if not parts:
        return ""
    return (
        f"{'; '.join(parts)}: what passes or is amber only by that counts as not evaluated, what fails even "
        "so as failed. Give a layer ground with soil and groundwater_depth_m, or set "
        "frame.default_ground_counts = true where the defaults are meant."
    )
