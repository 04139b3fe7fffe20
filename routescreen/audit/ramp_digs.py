"""What is dug for the ramps beside a shaft, beyond the trench that is measured up to it.

Room: ``audit``. May use ``drives``, ``engineering``, ``money`` (how deep topsoil is stripped), numpy and the
audit's own modules. The bill pays ramps by the metre; the volume here is for earthworks and for the checks of
the dig.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import RAMP_STEP_M, ramps_of_drive
from routescreen.audit.route import stations
from routescreen.audit.shaft_checks import drives_of
from routescreen.drives.open_cut import soils_of, trench_section
from routescreen.drives.ramp import dig_below_axis_m
from routescreen.engineering.dig import side_by_side_m2
from routescreen.engineering.trench import cotangent, pipe_room_m
from routescreen.money.measure_trench import stripped_m

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions
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
    volume_m3 : float
        In place, below the topsoil, beyond the trenches, with faces as the soil stands in the dry [m3].
    """

    ramp: Ramp
    deepest_m: float
    volume_m3: float


def ramp_digs(scene: Scene, shaft: int) -> list[RampDig]:
    """Measure what is dug for the ramps of a shaft.

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
    return [_dig(scene, ramp) for ramp in ramps if ramp.shaft == shaft and ramp.line.run_m > 0.0]


def _dig(scene: Scene, ramp: Ramp) -> RampDig:
    at_shaft_m = float(ramp.line.depth_m(np.zeros(1)).max()) + dig_below_axis_m(scene.assumptions)
    return RampDig(ramp, at_shaft_m, ramp_volume_m3(scene, ramp))


def ramp_plan(scene: Scene, dig: RampDig, slope_deg: float) -> tuple[float, float]:
    """Return length and width at the ground of an excavation whose faces are so steep at its deepest [m]."""
    a, legs = scene.assumptions, dig.ramp.line.legs
    ends_m = [places_m for leg in legs for places_m in (leg.from_m, leg.from_m + leg.shift_m)]
    aside_m = float(cotangent(slope_deg)) * dig.deepest_m
    width_m = max(float(np.ptp(places_m)) for places_m in ends_m) + _bottom_m(a) + 2.0 * aside_m
    return dig.ramp.line.run_m, width_m


def _bottom_m(a: Assumptions) -> float:
    """Return the width of the bottom of the dig for one cable [m]."""
    return float(
        pipe_room_m(a.pipe.trench_outer_diameter_m, n_pipes=1, spacing_m=0.0, margin_m=a.trench.side_margin_m)
    )


def ramp_volume_m3(scene: Scene, ramp: Ramp, slope_deg: float | None = None) -> float:
    """Return what is dug for a ramp beyond the trenches, below the topsoil.

    Parameters
    ----------
    scene : Scene
    ramp : Ramp
    slope_deg : float, optional
        Of the faces; as each soil stands in the dry without it [deg].

    Returns
    -------
    float
        In place [m3].
    """
    a, route, line = scene.assumptions, scene.route, ramp.line
    drive = scene.plan.drives[ramp.drive]
    shaft_m = float(route.chainage_m[drive.to_vertex if ramp.is_upper else drive.from_vertex])
    from_m, to_m = route.bounds_of_section(ramp.section)
    along_m = stations(min(line.run_m, to_m - from_m), RAMP_STEP_M)
    at_m = ramp.chainage_m(shaft_m, along_m)
    samples = scene.ground.samples(np.array([route.point_at(float(at)) for at in at_m]))
    piece = np.searchsorted(route.chainage_m, at_m, side="right") - 1
    is_narrow = route.is_narrow[np.clip(piece, 0, route.n_pieces - 1)]
    cut = trench_section(samples, a)
    stripped = stripped_m(cut, samples, is_narrow, a)
    depth_m = line.depth_m(along_m).max(axis=1) + dig_below_axis_m(a)
    slopes_deg = soils_of(a, lambda soil: soil.slope_deg)[samples.soil_class]
    dug_m2 = side_by_side_m2(
        depth_m - stripped,
        line.offset_m(along_m),
        width_m=_bottom_m(a),
        slope_cotangent=cotangent(slopes_deg if slope_deg is None else np.full(len(along_m), slope_deg)),
    )
    height_m = cut.depth_m - stripped
    trench_m2 = sum(cut.area_m2(0.0, height_m, is_rock=is_rock) for is_rock in (False, True))
    extra_m2 = np.maximum(dug_m2 - a.link.n_trenches * trench_m2, 0.0)
    return float(np.diff(along_m) @ (extra_m2[1:] + extra_m2[:-1])) / 2.0
