"""The digs for the ramps beside a shaft: how deep they are and how wide at the ground.

Room: ``audit``. May use ``drives`` and numpy and the audit's own modules. What is dug for them is the bill's.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import ramps_of_drive
from routescreen.audit.shaft_checks import drives_of
from routescreen.drives.ramp import dig_below_axis_m
from routescreen.drives.ramp_pit import pit_bottom_m
from routescreen.engineering.trench import cotangent

if TYPE_CHECKING:
    from routescreen.audit.cable_places import Ramp
    from routescreen.audit.scene import Scene


@dataclass(frozen=True, slots=True)
class RampDig:
    """The excavation for the ramps of one end of a drive.

    Attributes
    ----------
    ramp : Ramp
    deepest_m : float
        From the ground to its bottom at the shaft [m].
    """

    ramp: Ramp
    deepest_m: float


def ramp_digs(scene: Scene, shaft: int) -> list[RampDig]:
    """Return the digs for the ramps of a shaft.

    Parameters
    ----------
    scene : Scene
    shaft : int

    Returns
    -------
    list of RampDig
        None where nothing is climbed or moved aside.
    """
    drives = drives_of(scene.plan.shafts[shaft])
    ramps = [ramp for drive in drives for ramp in ramps_of_drive(scene, drive)]
    below_m = dig_below_axis_m(scene.assumptions)
    return [
        RampDig(ramp, float(ramp.line.depth_m(np.zeros(1)).max()) + below_m)
        for ramp in ramps
        if ramp.shaft == shaft and ramp.line.run_m > 0.0
    ]


def ramp_plan(scene: Scene, dig: RampDig, slope_deg: float, depth_m: float) -> tuple[float, float]:
    """Return length and width at the ground, with bores so deep and faces so steep at the shaft [m]."""
    aside_m = float(cotangent(slope_deg)) * depth_m
    apart_m = float(np.ptp(dig.ramp.line.legs[0].from_m))
    return dig.ramp.line.run_m, apart_m + pit_bottom_m(scene.assumptions) + 2.0 * aside_m
