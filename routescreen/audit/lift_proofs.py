"""Pressures in the bore against the whole weight above it, where nothing may be lifted.

Room: ``audit``. The window of ``pressure_proofs`` lets friction beside the bore help; under water, dykes,
rails and roads no more than the weight itself is reckoned with. The search doesn't look at it: the mud stands
at the launch's ground and the grout at the vent of the whole drive, which no single place knows. So it is
amber.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.drive_checks import OPEN_WATER
from routescreen.audit.drive_profile import UNMAPPED
from routescreen.audit.pressure_proofs import CHECKS, DRILLED, SOURCE, WHAT, judged_points
from routescreen.audit.report import Limit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.drive_profile import DriveProfile
    from routescreen.audit.pressure_proofs import Pressures
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

NOTHING = -2  # above a point lies none of what may not be lifted


def prove_lift(scene: Scene, ledger: Ledger, index: int, profile: DriveProfile, found: Pressures) -> None:
    """Enter each case of one drive at the worst point under what may not be lifted.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    index : int
    profile : DriveProfile
    found : Pressures
    """
    above = _what_is_above(scene, index, profile)
    at = np.flatnonzero((above != NOTHING) & judged_points(scene, index, profile))
    if len(at) == 0:
        return
    bears_kPa = scene.assumptions.checks.pressure.lift_overburden_frac * found.window.crown.total_kPa[at]
    for case, pressure in enumerate(found.pressure_kPa):
        here = pressure[at]
        if not np.isfinite(here + bears_kPa).all():
            continue  # the method has no such fluid, or the case itself is not evaluated
        worst = int(np.argmax(here - bears_kPa))
        _enter(scene, ledger, index, case, profile, int(at[worst]), int(above[at[worst]]), found)


def _what_is_above(scene: Scene, index: int, profile: DriveProfile) -> NDArray[np.int64]:
    """Return whose ground above each point may not be lifted, `UNMAPPED` for water of the ground cover."""
    kinds, line = scene.assumptions.checks.pressure.no_lift_kinds, scene.lines[index]
    above = np.where(profile.water == UNMAPPED, UNMAPPED, NOTHING)
    for feature in scene.near(shapely.MultiLineString(list(line.bore_lines())), line.radius_m):
        if scene.features.kind[feature] in kinds:
            outline = shapely.buffer(scene.features.outline[feature], line.radius_m)
            above[shapely.intersects_xy(outline, profile.x_m, profile.y_m)] = feature
    return above


def _enter(
    scene: Scene,
    ledger: Ledger,
    index: int,
    case: int,
    profile: DriveProfile,
    point: int,
    feature: int,
    found: Pressures,
) -> None:
    share, is_drilled = scene.assumptions.checks.pressure.lift_overburden_frac, scene.plan.drives[index].curve
    pressure, total = float(found.pressure_kPa[case][point]), float(found.window.crown.total_kPa[point])
    called = OPEN_WATER if feature == UNMAPPED else scene.label(feature)
    place = profile.place(point, index)
    place = place if feature == UNMAPPED else scene.feature_place(feature, place)
    what = DRILLED if case == 1 and is_drilled is not None else WHAT[case]
    reason = (
        f"{what} presses with {pressure:.0f} kPa on the crown under {called}, where ground and water weigh "
        f"{total:.0f} kPa"
    )
    limit, element = Limit(f"{CHECKS[case]}_lift", "kPa", SOURCE), scene.drive_id(index)
    if pressure <= share * total:
        ledger.finding(element, limit, pressure, share * total, place, reason)
        return
    reason += (
        f": above {share:g} of it nothing but friction keeps the ground down, and under water, dykes, rails "
        f"and roads it may not be lifted; go deeper, or keep the pressure below {share * total:.0f} kPa"
    )
    if case == 0:
        slurry = scene.assumptions.checks.slurry.unit_weight_kN_per_m3.expected
        held_kPa = float(found.rest_kPa[point]) - slurry * scene.lines[index].radius_m
        reason += f"; with the ground arching over it {held_kPa:.0f} kPa hold the face"
    if case == 1 and is_drilled is None:
        reason += _from_other_end(scene, index, pressure, share * total, found)
    ledger.amber(element, limit, pressure, share * total, place, reason)


def _from_other_end(scene: Scene, index: int, pressure_kPa: float, bears_kPa: float, found: Pressures) -> str:
    """Say whether the mud would serve with its column open at the other shaft, for a sentence."""
    drive, shafts = scene.plan.drives[index], scene.plan.shafts
    ends = (drive.lower_shaft, drive.upper_shaft)
    launch, other = ends if drive.is_launched_at_lower else ends[::-1]
    slurry = scene.assumptions.checks.slurry.unit_weight_kN_per_m3.expected
    less_kPa = slurry * (shafts[launch].ground_m - shafts[other].ground_m)
    at_axis_kPa = found.pressure_kPa[1] - less_kPa + slurry * scene.lines[index].radius_m
    here_kPa = pressure_kPa - less_kPa
    if less_kPa <= 0.0 or here_kPa > bears_kPa or not (at_axis_kPa >= found.rest_kPa).all():
        return ""
    return (
        f"; launched from {scene.shaft_id(other)} it would press with {here_kPa:.0f} kPa and still hold the "
        "face: turn the drive round"
    )
