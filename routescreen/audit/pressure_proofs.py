"""Pressures in the bore against the ground, along the whole drive: face, mud at rest, grout.

Room: ``audit``. The formulae are those of ``engineering.pressure_window``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.drive_profile import soil_values
from routescreen.audit.report import Limit
from routescreen.drives.course import is_cover_asked
from routescreen.drives.pressures import window_factors
from routescreen.engineering.face_rest import resting_face_kPa
from routescreen.engineering.grout_head import grout_head, least_stages
from routescreen.engineering.pressure_cases import DriveFluids, case_pressures_kPa, governing_case
from routescreen.engineering.pressure_window import WindowGround, column_kPa, pressure_window
from routescreen.engineering.window_search import vent_range

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Method
    from routescreen.audit.drive_profile import DriveProfile
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.engineering.grout_head import GroutHead
    from routescreen.engineering.pressure_window import Window
    from routescreen.engineering.window_search import VentRange

    Array = NDArray[np.float64]

SOURCE = "assumptions, [checks.pressure], [soil], [grout]; face DAUB 2016, cavity NEN 3650-1, from memory"
CHECKS = ("pressure_face", "pressure_mud", "pressure_grout")
DRILLED = "the mud that flows back to the entry"
WHAT = ("the face while advancing", "the mud column at rest", "the grout")


@dataclass(frozen=True, slots=True)
class Pressures:
    """Window and pressures along a drive.

    Attributes
    ----------
    window : Window
    pressure_kPa : ndarray of shape (3, n)
        In the order of `CHECKS`; NaN where the method has no such fluid.
    rest_kPa : ndarray of shape (n,)
        Least pressure at the axis that holds the face while the machine stands; see `face_rest`.
    head : GroutHead
        What the grout must have and may have at the highest crown.
    n_stages : int
        In how many stages at least it would stay in the window; see `grout_head.least_stages`.
    vent : VentRange
        Between which the vent may stand with the injection that is planned.
    vent_level_m : float
        Level that is reckoned with: the highest crown, or the higher ground of both shafts, as the
        assumptions say, never below the highest crown.
    """

    window: Window
    pressure_kPa: Array
    rest_kPa: Array
    head: GroutHead
    n_stages: int
    vent: VentRange
    vent_level_m: float


def drive_pressures(scene: Scene, index: int, profile: DriveProfile) -> Pressures:
    """Work out the window and the pressures along a drive.

    Parameters
    ----------
    scene : Scene
    index : int
    profile : DriveProfile

    Returns
    -------
    Pressures
    """
    a, drive, line = scene.assumptions, scene.plan.drives[index], scene.lines[index]
    way, diameter_m = a.methods[drive.method], 2.0 * line.radius_m
    launch = scene.plan.shafts[drive.lower_shaft if drive.is_launched_at_lower else drive.upper_shaft]
    ground, factors = _window_ground(scene, profile), window_factors(way, scene.assumptions)
    window = pressure_window(profile.cover_m, diameter_m, ground, factors)
    grout, injection_kPa = a.grout.unit_weight_kN_per_m3.expected, a.grout.injection_kPa.expected
    column = (profile.crown_m, window.grout_least_kPa, window.limit_kPa)
    head = grout_head(*column, window.amber_kPa, grout_kN_per_m3=grout, planned_kPa=injection_kPa)
    level_m = head.top_m
    if a.grout.vent == "ground":
        level_m = max(_higher_ground_m(scene, index), level_m)
    else:
        injection_kPa = head.taken_kPa
    fluids = DriveFluids(
        slurry_kN_per_m3=a.checks.slurry.unit_weight_kN_per_m3.expected,
        grout_kN_per_m3=grout,
        control_kPa=way.face_control_kPa,
        mud_level_m=launch.ground_m,
        vent_level_m=level_m,
        injection_kPa=injection_kPa,
    )
    pressure = case_pressures_kPa(window, profile.crown_m, diameter_m, fluids)
    if way.face == "mud":
        pressure[1] = _drilling_mud_kPa(way, launch.ground_m, profile)
    has = np.array([way.face == "slurry", way.face != "open", way.has_annulus_grout])
    return Pressures(
        window=window,
        pressure_kPa=np.where(has[:, np.newaxis], pressure, np.nan),
        rest_kPa=resting_face_kPa(profile.cover_m, diameter_m, ground, factors),
        head=head,
        n_stages=least_stages(*column, grout_kN_per_m3=grout),
        vent=vent_range(*column, grout, a.grout.injection_kPa.expected),
        vent_level_m=level_m,
    )


def _higher_ground_m(scene: Scene, index: int) -> float:
    """Return the higher ground of a drive's two shafts: a vent there lets grout fill all bores [m]."""
    drive, shafts = scene.plan.drives[index], scene.plan.shafts
    return max(shafts[drive.lower_shaft].ground_m, shafts[drive.upper_shaft].ground_m)


def _drilling_mud_kPa(way: Method, level_m: float, profile: DriveProfile) -> Array:
    """Return the pressure of the mud that flows back from each point of the pilot bore to its entry.

    NaN where the mud isn't described [kPa].
    """
    if way.mud_kN_per_m3 is None or way.mud_loss_kPa_per_m is None:
        return np.full(len(profile.crown_m), np.nan)
    at_rest = column_kPa(way.mud_kN_per_m3, level_m, profile.crown_m)
    return np.asarray(at_rest + way.mud_loss_kPa_per_m.expected * profile.from_launch_m)


def _window_ground(scene: Scene, profile: DriveProfile) -> WindowGround:
    """Return the ground at each point; where it is no clean sand the cautious share of the depth holds."""
    checks, soil = scene.assumptions.checks.pressure, profile.soil
    cohesion = soil_values(scene, soil, "c_kPa")
    is_undrained = soil_values(scene, soil, "is_undrained_when_fast") == 1.0
    is_sand = ~is_undrained & (cohesion == 0.0)
    return WindowGround(
        water_depth_m=profile.water_depth_m,
        gamma_kN_per_m3=profile.gamma_kN_per_m3,
        gamma_sat_kN_per_m3=profile.gamma_sat_kN_per_m3,
        phi_deg=soil_values(scene, soil, "phi_deg"),
        cohesion_kPa=cohesion,
        shear_modulus_kPa=1000.0 * soil_values(scene, soil, "g_MPa"),
        undrained_kPa=np.where(is_undrained, soil_values(scene, soil, "cu_kPa"), np.nan),
        depth_share=np.where(is_sand, checks.plastic_radius_sand_frac, checks.plastic_radius_clay_frac),
        strain_frac=checks.strain_limit_frac,
    )


def prove_pressures(
    scene: Scene, ledger: Ledger, index: int, profile: DriveProfile, found: Pressures
) -> None:
    """Enter the three cases of one drive: those that its method has.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    index : int
    profile : DriveProfile
    found : Pressures
    """
    drive, line = scene.plan.drives[index], scene.lines[index]
    way = scene.assumptions.methods[drive.method]
    if way.face == "slurry":
        for case in (0, 1):
            _prove_case(scene, ledger, index, profile, found, case, "")
    if way.face == "mud":
        along_m = np.abs(profile.chainage_m - line.start_chainage_m)
        is_judged = judged_points(scene, index, profile)
        tail = (
            f"; nearer to the pits than {along_m[is_judged].min():.0f} m and "
            f"{line.plan_length_m - along_m[is_judged].max():.0f} m mud may come up and is to be caught"
            if is_judged.any()
            else ""
        )
        _prove_case(scene, ledger, index, profile, found, 1, tail, is_judged)
    if way.has_annulus_grout:
        tail = _about_vent(found) if scene.assumptions.grout.vent == "ground" else ""
        planned_kPa = scene.assumptions.grout.injection_kPa.expected
        _prove_case(scene, ledger, index, profile, found, 2, tail + _about_head(found, planned_kPa))
        if not tail:
            _warn_of_control(scene, ledger, index, profile, found)


def judged_points(scene: Scene, index: int, profile: DriveProfile) -> NDArray[np.bool_]:
    """Return the points at which the fluid is held against the ground: of a drilled bore not near its pits.

    Parameters
    ----------
    scene : Scene
    index : int
    profile : DriveProfile

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    drive, line = scene.plan.drives[index], scene.lines[index]
    if scene.assumptions.methods[drive.method].face != "mud":
        return np.ones(len(profile.chainage_m), dtype=np.bool_)
    along_m = np.abs(profile.chainage_m - line.start_chainage_m)
    cover_m = scene.geometry(drive).cover_m
    return np.asarray(is_cover_asked(drive, line.plan_length_m, cover_m, along_m), dtype=np.bool_)


def _limit(check: str) -> Limit:
    return Limit(check, "kPa", SOURCE)


def _about_head(found: Pressures, planned_kPa: float) -> str:
    """Say at which pressures the drive can be grouted in one go, or in how many stages it could."""
    head = found.head
    if np.isnan(head.least_kPa):
        return ""
    where = f"at the highest crown, {head.top_m:.2f} m"
    if head.is_open:
        less = f" instead of the {planned_kPa:g} kPa planned" if head.taken_kPa < planned_kPa else ""
        return (
            f"; {where}, it may have {head.least_kPa:.0f} to {head.most_kPa:.0f} kPa: "
            f"{head.taken_kPa:.0f} kPa serve{less}"
        )
    stages = (
        f"in {found.n_stages} stages along the drive, each set before the next begins, it would stay within"
        if found.n_stages
        else "in stages it doesn't either: at one place and more no pressure does"
    )
    return (
        f"; no pressure does in one go: {where}, it must have {head.least_kPa:.0f} kPa or more, and "
        f"{head.most_kPa:.0f} kPa or less; {stages}"
    )


def _warn_of_control(
    scene: Scene, ledger: Ledger, index: int, profile: DriveProfile, found: Pressures
) -> None:
    """Enter a range of pressures that serve which is narrower than what the pressure may be off."""
    way, head = scene.assumptions.methods[scene.plan.drives[index].method], found.head
    control_kPa = way.face_control_kPa
    room_kPa = head.most_kPa - head.least_kPa
    if not 0.0 <= room_kPa < 2.0 * control_kPa:
        return
    reason = (
        f"at the highest crown, {head.top_m:.2f} m, the grout may have {head.least_kPa:.0f} to "
        f"{head.most_kPa:.0f} kPa: less room than a pressure held to {control_kPa:g} kPa either way needs"
    )
    place, limit = profile.place(int(np.argmax(profile.crown_m)), index), _limit("pressure_grout_control")
    ledger.amber(scene.drive_id(index), limit, 2.0 * control_kPa, room_kPa, place, reason)


def _about_vent(found: Pressures) -> str:
    """Say where a vent may stand with the injection that is planned, where it is to stand at the ground."""
    highest_m, top_m = float(found.vent.highest_m), found.head.top_m
    # the grout reaches the highest crown in any case, and what it must have there
    lowest_m = max(float(found.vent.lowest_m), top_m)
    if np.isnan(lowest_m + highest_m):
        return ""
    stands = f"; the vent stands at the ground, {found.vent_level_m:.2f} m"
    if lowest_m > highest_m:
        return f"{stands}; with the injection that is planned no level of it does"
    return f"{stands}; it may stand between {lowest_m:.2f} and {highest_m:.2f} m"


def _prove_case(
    scene: Scene,
    ledger: Ledger,
    index: int,
    profile: DriveProfile,
    found: Pressures,
    case: int,
    tail: str,
    is_judged: NDArray[np.bool_] | None = None,
) -> None:
    """Enter one case: pressure above the pore pressure against what the ground holds, where it is worst.

    `is_judged` says at which points; at all without it.
    """
    element, limit = scene.drive_id(index), _limit(CHECKS[case])
    window, pressure = found.window, found.pressure_kPa[case]
    used = window.utilisation(pressure)
    if is_judged is not None:
        used = np.where(is_judged, used, 0.0)
    worst = governing_case(used[np.newaxis])
    at = int(worst.point)
    if at < 0:
        first = int(np.flatnonzero(np.isnan(used))[0])
        why = (
            "ground, soil or water isn't known all along, or the cover is out of the range of the formula, "
            f"first at chainage {profile.chainage_m[first]:.0f} m"
        )
        ledger.not_evaluated(element, limit, profile.place(first, index), why)
        return
    water, bound = float(window.crown.water_kPa[at]), float(window.limit_kPa[at])
    here, what = float(pressure[at]), WHAT[case] if is_judged is None else DRILLED
    reason = (
        f"{what} presses with {here:.0f} kPa on the crown under {profile.cover_m[at]:.1f} m of cover, "
        f"the groundwater with {water:.0f} kPa; the ground holds {bound:.0f} kPa{tail}"
    )
    place = profile.place(at, index)
    status = ledger.finding(element, limit, here - water, bound - water, place, reason)
    lifted = window.amber_utilisation(pressure)
    if is_judged is not None:
        lifted = np.where(is_judged, lifted, 0.0)
    at = int(np.nanargmax(np.where(np.isfinite(lifted), lifted, -1.0)))
    if status == "pass" and lifted[at] > 1.0:
        share = scene.assumptions.checks.pressure.amber_overburden_frac
        reason = (
            f"{what} presses with {pressure[at]:.0f} kPa, above {share:g} of the total stress of "
            f"{window.crown.total_kPa[at]:.0f} kPa at the crown"
        )
        limit = _limit(f"{CHECKS[case]}_overburden")
        place = profile.place(at, index)
        ledger.amber(element, limit, float(pressure[at]), float(window.amber_kPa[at]), place, reason)
