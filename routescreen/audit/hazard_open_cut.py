"""What decides on hazards in open cut: the trench and the ramps behind shafts.

Room: ``audit``. Gathers the quantities that the rules of ``engineering.hazard_rules`` compare; NaN stands for
what isn't known.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.audit.ramp_digs import ramp_digs
from routescreen.audit.shaft_site import shaft_site
from routescreen.audit.trench_checks import trench_cells

if TYPE_CHECKING:
    from routescreen.audit.scene import Scene

    Facts = dict[str, float]

WAYS = ("motorway", "main_road", "road", "track", "path", "railway", "tram")


def open_cut_facts(scene: Scene, section: int) -> Facts:
    """Gather what the rules compare for one open cut.

    Parameters
    ----------
    scene : Scene
    section : int

    Returns
    -------
    dict of str to float
    """
    a, features = scene.assumptions, scene.features
    xy_m = trench_cells(scene, section)[0]
    water_m = float(scene.ground.samples(xy_m, with_surroundings=False).groundwater_depth_m.min())
    met = {f for meeting in scene.meetings if meeting.section == section for f in meeting.features}
    return {
        "trench_depth_m": a.trench_depth_m,
        "head_above_trench_m": a.trench_depth_m - (water_m - a.groundwater.highest_rise_m),
        "n_services_crossed": float(sum(features.cover_reference[f] == "service" for f in met)),
        "n_ways_crossed": float(sum(str(features.kind[f]) in WAYS for f in met)),
    }


def ramp_facts(scene: Scene, index: int) -> Facts:
    """Gather what the rules compare for the ramps of one shaft; none are no deeper than nothing."""
    deepest_m = max((dig.deepest_m for dig in ramp_digs(scene, index)), default=0.0)
    if deepest_m <= 0.0:
        return {"ramp_depth_m": 0.0, "ramp_head_m": -math.inf}
    return {"ramp_depth_m": deepest_m, "ramp_head_m": deepest_m - shaft_site(scene, index).highest_depth_m}
