"""What lies round a dig that lowered groundwater would harm: features, ground cover, soils, named.

Room: ``audit``. Reads the true features, polygons and rasters of the input.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.ground import boxes_of_classes
from routescreen.audit.scene import words

if TYPE_CHECKING:
    from routescreen.audit.scene import Scene

MOST_NAMED = 6
LOOKED = 2.0  # times the reach, for the nearest


@dataclass(frozen=True, slots=True)
class Neighbours:
    """What lies within a distance of a shaft or a trench.

    `nearest_m` is the distance to the nearest, also beyond the reach; the distance looked at where there is
    none [m]. `text` names those within the reach; `is_beyond_input` says whether the reach goes beyond what
    was read.
    """

    nearest_m: float
    text: str
    is_beyond_input: bool


def neighbours(scene: Scene, area: shapely.Geometry, reach_m: float) -> Neighbours:
    """Name what lies within a reach of an excavation and is harmed by lowered groundwater.

    Parameters
    ----------
    scene : Scene
    area : Geometry
        The inside of a shaft's walls, or the line of a trench.
    reach_m : float
        From it [m].

    Returns
    -------
    Neighbours
        Kinds of crossings, classes of ground cover and soils that ``checks.shaft`` lists.
    """
    far_m = LOOKED * reach_m
    found = sorted([*_features(scene, area, far_m), *_cover(scene, area, far_m), *_soils(scene, area, far_m)])
    names = [f"{name}, {distance_m:.0f} m" for distance_m, name in found if distance_m < reach_m]
    more = f"; {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    text = "; ".join(names[:MOST_NAMED]) + more if names else "nothing that is listed"
    return Neighbours(found[0][0] if found else far_m, text, reach_m > scene.surroundings.to_edge_m(area))


Found = list[tuple[float, str]]


def _features(scene: Scene, area: shapely.Geometry, reach_m: float) -> Found:
    """Return the features of each kind that is listed, the nearest by its name."""
    kinds, of_kind = scene.assumptions.checks.shaft.drawdown_kinds, defaultdict(list)
    for feature in scene.near(area, reach_m):
        if scene.features.kind[feature] in kinds:
            distance_m = float(shapely.distance(area, scene.features.outline[feature]))
            of_kind[scene.features.kind[feature]].append((distance_m, int(feature)))
    found = []
    for members in of_kind.values():
        distance_m, feature = min(members)
        more = f" and {len(members) - 1} more of its kind" if len(members) > 1 else ""
        found.append((distance_m, f"{scene.label(feature)}{more}"))
    return found


def _cover(scene: Scene, area: shapely.Geometry, reach_m: float) -> Found:
    names = list(scene.assumptions.cover)
    within = shapely.buffer(area, reach_m)
    found = []
    for name in scene.assumptions.checks.shaft.drawdown_cover:
        boxes = boxes_of_classes(scene.ground, within, [names.index(name)]) if name in names else np.array([])
        if len(boxes):
            distance_m = float(np.min(shapely.distance(area, boxes)))
            found.append((distance_m, f"ground cover {words(name)}"))
    return [entry for entry in found if entry[0] <= reach_m]


def _soils(scene: Scene, area: shapely.Geometry, reach_m: float) -> Found:
    names, ground = list(scene.assumptions.soil), scene.ground
    found = []
    for name in scene.assumptions.checks.shaft.drawdown_soils:
        if name not in names:
            continue
        zones = ground.zones[ground.zone_soil == names.index(name)]
        if len(zones):
            found.append((float(np.min(shapely.distance(area, zones))), f"soil {words(name)}"))
    return [entry for entry in found if entry[0] <= reach_m]
