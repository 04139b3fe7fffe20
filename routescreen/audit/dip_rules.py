"""How deep open cut must dip below what it crosses: the audit's own reckoning, feature by feature.

Room: ``audit``. May use ``drives`` (what a dip is, how it is built), numpy, shapely and the audit's own
modules.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.drives.dip import CrossingDip, Dip, service_stretch_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.crossings import Meeting
    from routescreen.audit.features import Features
    from routescreen.audit.scene import Scene
    from routescreen.drives.dip import Ground

GROUND_STEP_M = 25.0
"""The ground along a crossing is looked up at least so often [m]."""

NO_DIP_M = 1e-6


def pipes_m(a: Assumptions) -> tuple[float, float]:
    """Return the depths of top and underside of the pipes at the trench's own depth [m]."""
    return a.trench.cover_to_pipe_m, a.trench.cover_to_pipe_m + a.pipe.trench_outer_diameter_m


def service_m(features: Features, feature: int) -> tuple[float, float]:
    """Return the depths of top and underside of a service, by its kind where it says nothing [m]."""
    top_m = float(features.service_depth_m[feature])
    return top_m, top_m + float(features.service_diameter_m[feature])


def asked_clear_m(features: Features, feature: int) -> float:
    """Return the clear height to a service: exposed, and the record's doubt where no hole is dug [m]."""
    unsure_m = 0.0 if features.has_trial_hole[feature] else float(features.record_uncertainty_m[feature])
    return float(features.exposed_clearance_m[feature]) + unsure_m


def clear_height_m(pipes_m: tuple[float, float], service_m: tuple[float, float]) -> float:
    """Return the clear height between pipes and a service, 0 where their depths overlap.

    Parameters
    ----------
    pipes_m, service_m : tuple of two floats
        Depth of top and underside below the ground [m].

    Returns
    -------
    float
        [m]

    Examples
    --------
    >>> round(clear_height_m((1.4, 1.7), (0.6, 0.8)), 3), clear_height_m((1.4, 1.7), (1.6, 1.9))
    (0.6, 0.0)
    """
    return max(pipes_m[0] - service_m[1], service_m[0] - pipes_m[1], 0.0)


def is_dug_into(features: Features, feature: int, a: Assumptions) -> bool:
    """Tell whether a service that lies below the pipes is met by the trench's bottom all the same."""
    top_m = service_m(features, feature)[0]
    return pipes_m(a)[1] <= top_m < pipes_m(a)[1] + a.trench.bedding_below_m - NO_DIP_M


def is_over(features: Features, feature: int, a: Assumptions) -> bool:
    """Tell whether the pipes at their own depth lie above a service."""
    return service_m(features, feature)[0] >= pipes_m(a)[1] - NO_DIP_M


def service_dip_top_m(features: Features, feature: int, a: Assumptions) -> float:
    """Return how deep the pipes' tops must lie to pass under a service, NaN where no dip is needed [m]."""
    asked_m, lies_m = asked_clear_m(features, feature), service_m(features, feature)
    is_clear = clear_height_m(pipes_m(a), lies_m) >= asked_m - NO_DIP_M
    if is_clear and not is_dug_into(features, feature, a):
        return math.nan
    return lies_m[1] + asked_m


def below_bed_m(features: Features, feature: int) -> float:
    """Return the depth to keep below the bed of today: the cover below the scoured bed, and the scour [m]."""
    return float(features.cover_m[feature]) + float(features.scour_m[feature])


def crossing_dip(scene: Scene, crossing: int) -> CrossingDip | None:
    """Return the dip below a crossing as the bill has it: the deepest that any of its features asks for.

    Parameters
    ----------
    scene : Scene
    crossing : int
        Number of the merged crossing.

    Returns
    -------
    CrossingDip or None
        None where the trench goes on at its own depth. How deep a bed lies is what the feature says of it,
        wherever it is crossed.
    """
    members = [int(k) for k in scene.features.members(crossing)]
    dips = [dip for k in members if (dip := _dip(scene, k)) is not None]
    if not dips:
        return None
    dip = Dip(
        max(dip.below_ground_m for dip in dips),
        max(dip.below_bed_m for dip in dips),
        all(dip.is_wet for dip in dips),
    )
    stretch_m = max(_stretch_m(scene.features, k) for k in members)
    kinds = {ground for k in members for ground in _grounds(scene, k)}
    return CrossingDip(dip, stretch_m, tuple(sorted(kinds)))


def passage(scene: Scene, meeting: Meeting) -> str | None:
    """Return how open cut passes a service or a bed.

    Parameters
    ----------
    scene : Scene
    meeting : Meeting

    Returns
    -------
    str or None
        ``over`` or ``under`` a service at the trench's own depth, in a ``dip``; else None.
    """
    features = scene.features
    if meeting.drive >= 0:
        return None
    if crossing_dip(scene, meeting.crossing) is not None:
        return "dip"
    services = [f for f in meeting.features if features.cover_reference[f] == "service"]
    if not services:
        return None
    return "over" if all(is_over(features, f, scene.assumptions) for f in services) else "under"


def _dip(scene: Scene, feature: int) -> Dip | None:
    features, a = scene.features, scene.assumptions
    reference = features.cover_reference[feature]
    if reference == "service":
        top_m = service_dip_top_m(features, feature, a)
        return None if math.isnan(top_m) else Dip(top_m, top_m, is_wet=False)
    if reference == "bed":
        below_ground_m = _scoured_m(scene, feature) + float(features.cover_m[feature])
        if below_ground_m > a.trench.cover_to_pipe_m + NO_DIP_M:
            bed_m = min(below_bed_m(features, feature), below_ground_m)
            return Dip(below_ground_m, bed_m, bool(features.is_wet_all_year[feature]))
    return None


def _scoured_m(scene: Scene, feature: int) -> float:
    """Return how deep a scoured bed lies below its banks: the level stated, else water and scour [m].

    A stated level counts below the highest bank in the corridor, rounded up to centimetres.
    """
    features = scene.features
    stated_m = float(features.base_level_m[feature])
    if not math.isnan(stated_m):
        banks_m = scene.ground.level_m(_bank_points(scene, feature))
        if not np.isnan(banks_m).all():
            return math.ceil(100.0 * max(float(np.nanmax(banks_m)) - stated_m, 0.0) - 0.01) / 100.0
    water_m = 0.0 if scene.inp.terrain_is_bed else float(features.water_depth_m[feature])
    return water_m + float(features.scour_m[feature])


def _bank_points(scene: Scene, feature: int) -> NDArray[np.float64]:
    """Return the middles of short pieces of a feature in the corridor, and the points of both banks there."""
    half_m, found = float(scene.features.half_width_m[feature]), []
    for xy_m in _places(scene, feature):
        if len(xy_m) < 2:
            continue
        for one, other in pairwise(xy_m):
            along = (other - one) / max(math.dist(one, other), 1e-9)
            middle, square = (one + other) / 2.0, np.array([-along[1], along[0]])
            found += [middle, middle + half_m * square, middle - half_m * square]
    return np.array(found) if found else np.concatenate(_places(scene, feature))


def _stretch_m(features: Features, feature: int) -> float:
    if features.cover_reference[feature] != "service":
        return 0.0
    return service_stretch_m(
        float(features.service_diameter_m[feature]),
        asked_clear_m(features, feature),
        2.0 * float(features.half_width_m[feature]),
        float(features.least_angle_deg[feature]),
    )


def _grounds(scene: Scene, feature: int) -> set[Ground]:
    """Return the kinds of ground along a feature in the corridor, at the middles of short pieces."""
    places = _places(scene, feature)
    middles = [0.5 * (xy_m[1:] + xy_m[:-1]) for xy_m in places if len(xy_m) > 1]
    xy_m = np.concatenate(middles or places)
    zones = scene.ground.zones_at(xy_m)
    rock_m, rock_soil = scene.ground.rock(zones)
    columns = (scene.ground.soil_class(zones), scene.ground.groundwater_depth_m(zones), rock_m, rock_soil)
    soil, water_m, rock, below = (np.asarray(column).tolist() for column in columns)
    return set(zip(map(int, soil), map(float, water_m), map(float, rock), map(int, below), strict=True))


def _places(scene: Scene, feature: int) -> list[NDArray[np.float64]]:
    """Return the points of each line and edge of a feature in the corridor, no further apart than a step."""
    shape = scene.features.geometry[feature]
    if scene.inp.outline is not None:
        within = shapely.intersection(shape, scene.inp.outline)
        shape = shape if shapely.is_empty(within) else within
    places = []
    for part in shapely.get_parts(shapely.get_parts(shapely.segmentize(shape, GROUND_STEP_M))):
        lines = shapely.get_parts(shapely.boundary(part)) if shapely.get_dimensions(part) > 1 else [part]
        places += [shapely.get_coordinates(line) for line in lines]
    return places
