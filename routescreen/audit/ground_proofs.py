"""What drives do to the ground and the ground to drives, proved once on the finished plan.

Room: ``audit``. Pressures and pipe stand in modules of their own; here what is left: settlement, the slurry
circuit, obstructions, the distance between bores; what is out of reach is looked up in `reach_proofs`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.audit.drilled_checks import drilled_pull_kN
from routescreen.audit.drive_curves import drive_curve
from routescreen.audit.drive_profile import drive_profile, soil_values
from routescreen.audit.lift_proofs import prove_lift
from routescreen.audit.pipe_proofs import (
    drive_pipe,
    prove_buoyancy,
    prove_collapse,
    prove_flotation,
    prove_stages,
)
from routescreen.audit.pressure_proofs import drive_pressures, prove_pressures
from routescreen.audit.reach_proofs import prove_reach
from routescreen.audit.report import Limit, Place
from routescreen.audit.scene import words
from routescreen.audit.settlement_proofs import drive_settlement_mm, prove_settlement
from routescreen.audit.standstill_proofs import prove_standstill
from routescreen.drives.forces import drive_forces
from routescreen.engineering.obstruction import is_enterable, obstruction_utilisation
from routescreen.engineering.slurry import (
    circuit_loss_kPa,
    friction_factor,
    head_loss_m,
    line_velocity_m_per_s,
    mixture_density,
    n_boosters,
    settling_velocity_m_per_s,
    slurry_flow_m3_per_s,
    solids_t_per_h,
)
from routescreen.engineering.spacing import deviation_spacing_m
from routescreen.engineering.thrust import WATER_KN_PER_M3

if TYPE_CHECKING:
    from routescreen.audit.drive_profile import DriveProfile
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

GRAIN_SHARE = 1.0 / 3.0  # of the bore (common practice, no source)
ENTERABLE_M = 1.2  # DN 1200 (common practice, no source)


def prove_ground(scene: Scene, ledger: Ledger) -> pd.DataFrame:
    """Prove every drive of a plan and lay out the curves along it.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.

    Returns
    -------
    DataFrame
        The columns of the layer of curves along drives, with `drive_index` in place of names.
    """
    curves = [_prove_drive(scene, ledger, index) for index in range(len(scene.plan.drives))]
    return pd.concat(curves, ignore_index=True) if curves else pd.DataFrame()


def _prove_drive(scene: Scene, ledger: Ledger, index: int) -> pd.DataFrame:
    profile = drive_profile(scene, index)
    forces = drive_forces(scene.assumptions, scene.plan.drives[index].method)
    found, pipe = drive_pressures(scene, index, profile), drive_pipe(scene, index)
    prove_pressures(scene, ledger, index, profile, found)
    prove_lift(scene, ledger, index, profile, found)
    prove_standstill(scene, ledger, index, profile, found)
    if scene.plan.drives[index].curve is not None:  # no string is drawn back: the audit has the pull
        pull_kN = drilled_pull_kN(scene, index, forces)
    else:
        pull_kN = prove_stages(scene, ledger, index, profile, forces) if forces.has_pull_in else 0.0
    prove_buoyancy(scene, ledger, index, pipe)
    prove_collapse(scene, ledger, index, profile, found, pipe, pull_kN, forces)
    prove_flotation(scene, ledger, index, profile, pipe)
    settlement_mm = drive_settlement_mm(scene, index, profile)
    prove_settlement(scene, ledger, index, profile, settlement_mm)
    if scene.assumptions.methods[scene.plan.drives[index].method].face == "slurry":
        prove_slurry(scene, ledger, index, profile)
    prove_obstruction(scene, ledger, index, profile)
    prove_spacing(scene, ledger, index)
    prove_reach(scene, ledger, index)
    return drive_curve(scene, index, profile, found, forces, settlement_mm)


def _everywhere(scene: Scene, index: int) -> Place:
    line = scene.lines[index]
    return Place(line.start_chainage_m + line.plan_length_m / 2.0, drive=index)


def prove_slurry(scene: Scene, ledger: Ledger, index: int, profile: DriveProfile) -> None:
    """Work out flow and loss of the slurry circuit: amber where one pump a line isn't enough.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    index : int
    profile : DriveProfile
    """
    a, line = scene.assumptions, scene.lines[index]
    checks, element = a.checks.slurry, scene.drive_id(index)
    limit = Limit("slurry", "kPa", "assumptions, [checks.slurry]; a pump maker's manual, 2002, from memory")
    place, diameter_m = _everywhere(scene, index), checks.line_diameter_m
    grain, share = checks.grain_specific_gravity, checks.mass_concentration_frac.expected
    least = float(settling_velocity_m_per_s(checks.limit_velocity_factor, diameter_m, grain))
    solids = _most_solids_t_per_h(scene, index, profile)
    needed = float(line_velocity_m_per_s(slurry_flow_m3_per_s(solids, grain, share), diameter_m))
    velocity = max(least, needed)
    factor = friction_factor(
        velocity,
        diameter_m,
        roughness_m=checks.line_roughness_m,
        viscosity_m2_per_s=checks.viscosity_m2_per_s,
    )
    per_m = head_loss_m(1.0, diameter_m, velocity, factor)
    feed = checks.unit_weight_kN_per_m3.expected / WATER_KN_PER_M3
    loaded = max(float(mixture_density(grain, share)), feed)
    loss = [float(part) for part in circuit_loss_kPa(line.true_length_m, per_m, feed, loaded)]
    boosters = [float(n_boosters(part, checks.pump_kPa)) for part in loss]
    if np.isnan(solids) or np.isnan(loss[1]):
        ledger.not_evaluated(
            element,
            limit,
            place,
            "a soil or its daily metres aren't known, or the flow is "
            "out of the range of the formula of friction",
        )
        return
    flow_l_per_s = 1000.0 * velocity * np.pi / 4.0 * diameter_m**2
    reason = (
        f"{flow_l_per_s:.1f} l/s at {velocity:.2f} m/s (solids settle below {least:.2f}) carry "
        f"{solids:.1f} t/h out through {line.true_length_m:.0f} m; lost in feed and return {loss[0]:.0f} and "
        f"{loss[1]:.0f} kPa, lift out of the shaft left out; {boosters[0]:.0f} and {boosters[1]:.0f} boosters"
    )
    enter = ledger.amber if max(boosters) > 0.0 else ledger.finding
    enter(element, limit, loss[1], checks.pump_kPa, place, reason)


def _most_solids_t_per_h(scene: Scene, index: int, profile: DriveProfile) -> float:
    """Return the dry solids an hour where the drive cuts most, NaN where a rate or soil isn't known."""
    a, line = scene.assumptions, scene.lines[index]
    way = a.methods[scene.plan.drives[index].method]
    rates = []
    for name in a.soil:
        entry = way.drivability.get(name)
        is_known = entry is not None and entry.rate_m_per_day is not None
        rates.append(entry.rate_m_per_day.expected if is_known else np.nan)  # type: ignore[union-attr]
    rate = np.where(profile.soil >= 0, np.array(rates)[np.maximum(profile.soil, 0)], np.nan)
    grain = a.checks.slurry.grain_specific_gravity
    # dry density of saturated ground: (gamma_sat/gamma_w - 1) S/(S - 1)
    wet = soil_values(scene, profile.soil, "gamma_sat_kN_per_m3") / WATER_KN_PER_M3
    dry_t_per_m3 = (wet - 1.0) * grain / (grain - 1.0)
    hourly = solids_t_per_h(2.0 * line.radius_m, rate / a.programme.shift_h, dry_t_per_m3)
    return float(np.max(hourly))


def prove_obstruction(scene: Scene, ledger: Ledger, index: int, profile: DriveProfile) -> None:
    """Compare the largest grain of the soils on the way with a third of the bore.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    index : int
    profile : DriveProfile
    """
    a, line = scene.assumptions, scene.lines[index]
    way = a.methods[scene.plan.drives[index].method]
    bore_m, element = 2.0 * line.radius_m, scene.drive_id(index)
    source = "assumptions, [soil], [methods]; common practice, no source"
    limit = Limit("obstruction", "m", source, tolerance=1e-9)
    grain_m = soil_values(scene, profile.soil, "largest_grain_m")
    share_m = min(GRAIN_SHARE * bore_m, way.largest_grain_m)
    names = list(a.soil)
    unknown = np.flatnonzero(np.isnan(grain_m))
    if bool(is_enterable(bore_m, ENTERABLE_M)):
        reason = "the bore can be entered: what the machine can't cut is cleared from inside"
        ledger.finding(element, limit, 0.0, share_m, _everywhere(scene, index), reason)
        return
    used = obstruction_utilisation(
        grain_m, False, bore_m, grain_share=share_m / bore_m, enterable_m=ENTERABLE_M
    )
    if len(unknown) and not np.nanmax(np.append(used, 0.0)) > 1.0:
        at = int(unknown[0])
        soil = words(names[profile.soil[at]]) if profile.soil[at] >= 0 else "unknown ground"
        why = (
            f"how large stones or timber are in {soil} isn't known; above {share_m:.2f} m they "
            "stop this bore, which can't be entered"
        )
        ledger.not_evaluated(element, limit, profile.place(at, index), why)
        return
    at = int(np.nanargmax(used))
    reason = (
        f"largest grain of {words(names[profile.soil[at]])} by the name of the soil; the bore can't be "
        "entered, and timber, piles and old anchors aren't known"
    )
    ledger.finding(element, limit, float(grain_m[at]), share_m, profile.place(at, index), reason)


def prove_spacing(scene: Scene, ledger: Ledger, index: int) -> None:
    """Compare the distance between bores with what their deviation over this drive's length asks for.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    index : int
    """
    line, drive = scene.lines[index], scene.plan.drives[index]
    geometry, way = scene.geometry(drive), scene.assumptions.methods[drive.method]
    if geometry.n_bores < 2:
        return
    limit = Limit("bore_deviation", "m", "assumptions, [methods]; common practice, no source")
    place, element = _everywhere(scene, index), scene.drive_id(index)
    tracked, untracked = (
        float(
            deviation_spacing_m(
                pipe_diameter_m=way.pipe_outer_diameter_m,
                bore_diameter_m=geometry.bore_diameter_m,
                deviation_frac=share,
                length_m=line.true_length_m,
                least_deviation_m=way.least_deviation_m,
            )
        )
        for share in (way.deviation_frac, way.deviation_untracked_frac)
    )
    by_size_m = way.spacing_diameters * geometry.bore_diameter_m
    reason = (
        f"pipe, bore and twice the deviation over {line.true_length_m:.0f} m ask for {tracked:.2f} m, "
        f"{way.spacing_diameters:g} bores for {by_size_m:.2f} m"
    )
    needed_m = max(tracked, by_size_m)
    status = ledger.finding(element, limit, needed_m, geometry.spacing_m, place, reason)
    if status == "pass" and untracked > geometry.spacing_m:
        reason = f"without tracking the bores may meet: {untracked:.2f} m are asked for"
        limit = Limit("bore_deviation_untracked", "m", limit.source)
        ledger.amber(element, limit, untracked, geometry.spacing_m, place, reason)
