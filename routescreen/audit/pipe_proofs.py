"""What the pipe in a drive must bear: floating, collapse, scoured beds, its pull-in stage by stage.

Room: ``audit``. The formulae are those of ``engineering``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.arc_checks import bend_factors
from routescreen.audit.covers import reference_level_m, water_kind
from routescreen.audit.drive_profile import NO_WATER, UNMAPPED, soil_values
from routescreen.audit.report import Limit, Place
from routescreen.audit.scene import cover_rules
from routescreen.drives.forces import G_KN_PER_KG, DriveForces
from routescreen.engineering.collapse import (
    collapse_pressure_kPa,
    outside_pressure_kPa,
    pull_reduction,
    warm_modulus_MPa,
)
from routescreen.engineering.pipe import circle_m2
from routescreen.engineering.pull_stages import PullStages, most_pull, pull_stages
from routescreen.engineering.thrust import WATER_KN_PER_M3, friction_kN_per_m
from routescreen.engineering.uplift import flotation, net_uplift_kN_per_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Method
    from routescreen.audit.drive_profile import DriveProfile
    from routescreen.audit.pressure_proofs import Pressures
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

UPLIFT_FACTOR = 1.0  # on water's uplift (EN 1997-1, 2.4.7.4; from memory)
IN_A_TUNNEL = "the pipes lie in a tunnel; what presses on them while it is filled isn't modelled"


@dataclass(frozen=True, slots=True)
class DrivePipe:
    """The protection pipe that lies in each bore of a drive; weights of the empty pipe in air."""

    outer_m: float
    inside_m: float
    bore_m: float
    kN_per_m: float

    @property
    def ratio(self) -> float:
        """Outer diameter over wall [-]."""
        return 2.0 * self.outer_m / (self.outer_m - self.inside_m)


def drive_pipe(scene: Scene, index: int) -> DrivePipe | None:
    """Return the pipe of a drive; None where the pipes lie together in a tunnel."""
    a = scene.assumptions
    way = a.methods[scene.plan.drives[index].method]
    if way.bores_per != "cable":
        return None
    size = a.pipe.size(way.pipe_outer_diameter_m)
    inside_m = size.outer_diameter_m - 2e-3 * size.wall_mm
    return DrivePipe(size.outer_diameter_m, inside_m, way.bore_diameter_m, G_KN_PER_KG * size.mass_kg_per_m)


def string_runs(scene: Scene, profile: DriveProfile, forces: DriveForces, which: str) -> tuple[Array, Array]:
    """Return the length of each piece from the launch on, and the string's friction on it, no stop [kN/m].

    A piece takes the mean of its two ends.
    """
    by_soil = [getattr(soil.tau_kPa, which) for soil in scene.assumptions.soil.values()]
    soil = profile.soil
    tau = np.where(soil >= 0, np.array(by_soil, dtype=np.float64)[np.maximum(soil, 0)], np.nan)
    per_m = friction_kN_per_m.py_func(tau, forces.string_diameter_m)  # type: ignore[attr-defined]
    return np.diff(profile.from_launch_m), np.asarray((per_m[:-1] + per_m[1:]) / 2.0)


def stages_along(scene: Scene, index: int, profile: DriveProfile, forces: DriveForces) -> PullStages:
    """Return the pulls after a stop when the pipe's head has come to each point of a drive."""
    length_m, friction = string_runs(scene, profile, forces, "expected")
    pulled_m = profile.from_launch_m[-1] - profile.from_launch_m
    pushed = bend_factors(scene, index)[0]
    return pull_stages(pulled_m, length_m, pushed * friction, **_pull_terms(scene, index, forces))


def _pull_terms(scene: Scene, index: int, forces: DriveForces) -> dict[str, float]:
    """Return what resists the pipe; all of it presses on the wall of an arc."""
    pulled = bend_factors(scene, index)[1]
    return {
        "in_bore_kN_per_m": pulled * forces.pipe_in_bore_kN_per_m,
        "outside_kN_per_m": pulled * forces.pipe_outside_kN_per_m,
        "drag_kN": pulled * forces.pipe_drag_kN,
        "restart_factor": scene.assumptions.checks.thrust.restart_friction_factor,
    }


def prove_stages(
    scene: Scene, ledger: Ledger, index: int, profile: DriveProfile, forces: DriveForces
) -> float:
    """Compare the rig's pull at every stage with what frame and string bear; return the pipe's most [kN].

    The pull in steering checks it already, at expected friction; here the string's high friction is
    looked at too.
    """
    limit = Limit("pull_stages", "kN", "assumptions, [checks.pull_in], [soil], [pipe.jacking_string]")
    element, terms = scene.drive_id(index), _pull_terms(scene, index, forces)
    stages = stages_along(scene, index, profile, forces)
    if not np.isfinite(stages.rig_kN).all():
        first = int(np.argmin(profile.soil))
        why = "soil or terrain isn't known along the drive, and so is the friction on the string"
        ledger.not_evaluated(element, limit, profile.place(first, index), why)
        return np.nan
    at = int(np.argmax(stages.rig_kN))
    pipe_kN, string_kN = float(stages.pipe_kN[at]), float(stages.string_kN[at])
    reason = (
        f"after a stop with the pipe's head {profile.from_launch_m[at]:.0f} m from the launch: pipe with "
        f"drag in the annulus {pipe_kN:.0f} kN, string still in the ground {string_kN:.0f} kN"
    )
    place = profile.place(at, index)
    status = ledger.finding(element, limit, pipe_kN + string_kN, forces.capacity_kN, place, reason)
    length_m, friction = string_runs(scene, profile, forces, "high")
    high_kN = float(most_pull(length_m, bend_factors(scene, index)[0] * friction, **terms).rig_kN[1])
    if status == "pass" and high_kN > forces.capacity_kN:
        limit = Limit("pull_stages_high_friction", "kN", limit.source)
        ledger.amber(
            element,
            limit,
            high_kN,
            forces.capacity_kN,
            place,
            "string and pipe drawn back after a stop at the string's high friction",
        )
    return float(np.max(stages.pipe_kN))


def prove_buoyancy(scene: Scene, ledger: Ledger, index: int, pipe: DrivePipe | None) -> None:
    """Weigh the pipe, empty and full of water, against the slurry and the grout round it."""
    limit = Limit("buoyancy", "kN/m", "assumptions, [grout], [checks.slurry], [pipe]")
    element, line = scene.drive_id(index), scene.lines[index]
    place = Place(line.start_chainage_m + line.plan_length_m / 2.0, drive=index)
    a = scene.assumptions
    way = a.methods[scene.plan.drives[index].method]
    if pipe is None:
        _prove_tunnel_lifts(
            ledger, element, limit, place, way, a.checks.slurry.unit_weight_kN_per_m3.expected
        )
        return
    fluids = {"grout": a.grout.unit_weight_kN_per_m3.expected} if way.has_annulus_grout else {}
    if way.face != "open":
        fluids["slurry"] = a.checks.slurry.unit_weight_kN_per_m3.expected
    if not fluids:
        return
    name = max(fluids, key=lambda key: fluids[key])
    told = ", ".join(_floating(key, weight, pipe) for key, weight in fluids.items())
    held = pipe.kN_per_m + WATER_KN_PER_M3 * float(circle_m2(pipe.inside_m))
    uplift = fluids[name] * float(circle_m2(pipe.outer_m))
    reason = f"uplift in {name} against the pipe full of water; net uplift {told}"
    if uplift <= held:
        ledger.finding(element, limit, uplift, held, place, f"{reason}: it sinks")
        return
    reason = f"{reason}: it lies against the crown of the bore unless held, and grout may not close round it"
    ledger.amber(element, limit, uplift, held, place, reason)


def _prove_tunnel_lifts(
    ledger: Ledger, element: str, limit: Limit, place: Place, way: Method, slurry_kN_per_m3: float
) -> None:
    """Weigh the empty jacked pipe of a tunnel against the slurry round it while it is pushed."""
    if way.string_weight_kN_per_m is None:
        ledger.not_evaluated(element, limit, place, "the weight of the jacked pipe isn't given")
        return
    uplift = slurry_kN_per_m3 * float(circle_m2(way.driven_outer_diameter_m))
    reason = "uplift in slurry against the empty jacked pipe"
    if uplift <= way.string_weight_kN_per_m:
        ledger.finding(element, limit, uplift, way.string_weight_kN_per_m, place, f"{reason}: it sinks")
        return
    reason = f"{reason}: it presses against the crown of the bore, which adds friction"
    ledger.amber(element, limit, uplift, way.string_weight_kN_per_m, place, reason)


def _floating(name: str, weight_kN_per_m3: float, pipe: DrivePipe) -> str:
    empty = float(net_uplift_kN_per_m(pipe.outer_m, weight_kN_per_m3, pipe.kN_per_m))
    full = float(
        net_uplift_kN_per_m(
            pipe.outer_m,
            weight_kN_per_m3,
            pipe.kN_per_m,
            inside_diameter_m=pipe.inside_m,
            ballast_kN_per_m3=WATER_KN_PER_M3,
        )
    )
    return f"{empty:+.2f} kN/m empty and {full:+.2f} full in {name}"


def prove_collapse(
    scene: Scene,
    ledger: Ledger,
    index: int,
    profile: DriveProfile,
    found: Pressures,
    pipe: DrivePipe | None,
    pull_kN: float,
    forces: DriveForces,
) -> None:
    """Compare what presses on the pipe with its collapse pressure: in grout full of water, then for good."""
    source = "assumptions, [pipe], [checks.pull_in]; ASTM F1962, seen in a handbook on trenchless piping"
    limit, element = Limit("collapse", "kPa", source), scene.drive_id(index)
    if pipe is None:
        ledger.not_evaluated(element, limit, Place(drive=index), IN_A_TUNNEL)
        return
    a = scene.assumptions
    weight, factor = a.grout.unit_weight_kN_per_m3.expected, a.checks.pull_in.collapse_factor
    grout = found.pressure_kPa[2] + outside_pressure_kPa(weight, pipe.bore_m)
    ballast = float(outside_pressure_kPa(WATER_KN_PER_M3, pipe.inside_m))
    service = found.window.crown.water_kPa + outside_pressure_kPa(WATER_KN_PER_M3, pipe.bore_m)
    wall_degC = a.checks.rating.ground_deep_degC + a.grout.heat_peak_K
    warm = warm_modulus_MPa(
        a.pipe.e_short_MPa,
        wall_degC,
        limit_degC=a.pipe.hot_wall_degC,
        warm_share=a.pipe.hot_stiffness_factor,
    )
    pulled = float(pull_reduction(pull_kN, forces.safe_pull_kN)) if forces.has_pull_in else 1.0
    in_grout = _bears_kPa(scene, pipe, float(warm), pulled) / factor
    for_good = _bears_kPa(scene, pipe, a.pipe.e_long_MPa, 1.0) / factor
    way = a.methods[scene.plan.drives[index].method]
    cases = [("for good, empty, in the groundwater", service, for_good)]
    if way.has_annulus_grout:
        cases.insert(0, ("in grout, full of water", grout - ballast, in_grout))
    worst = _worst_case(cases)
    if worst is None:
        why = "ground or groundwater isn't known all along the drive, or the pull on the pipe isn't"
        ledger.not_evaluated(element, limit, Place(drive=index), why)
        return
    name, at, demand, bears = worst
    reason = (
        f"{name}: {demand:.0f} kPa at the invert; the pipe collapses at {factor * bears:.0f} kPa, "
        f"factor {factor:g}"
    )
    status = ledger.finding(element, limit, demand, bears, profile.place(at, index), reason)
    empty = _worst_case([("in grout, empty", grout, in_grout)])
    if status == "pass" and way.has_annulus_grout and empty is not None and empty[2] > empty[3]:
        name, at, demand, bears = empty
        reason = f"{name}: {demand:.0f} kPa at the invert; it must be full of water until the grout has set"
        ledger.amber(
            element, Limit("collapse_empty", "kPa", source), demand, bears, profile.place(at, index), reason
        )


def _bears_kPa(scene: Scene, pipe: DrivePipe, e_MPa: float, pull_factor: float) -> float:
    a = scene.assumptions
    return float(
        collapse_pressure_kPa(
            e_MPa,
            pipe.ratio,
            poisson=a.pipe.poisson,
            ovality_factor=a.checks.pull_in.ovality_factor,
            pull_factor=pull_factor,
        )
    )


def _worst_case(cases: list[tuple[str, Array, float]]) -> tuple[str, int, float, float] | None:
    """Return name, point, demand and capacity of the case that is used most; None where one isn't known."""
    if any(np.isnan(demand).any() or np.isnan(bears) for _, demand, bears in cases):
        return None
    worst = max(cases, key=lambda case: float(np.max(case[1])) / case[2])
    at = int(np.argmax(worst[1]))
    return worst[0], at, float(worst[1][at]), worst[2]


def prove_flotation(
    scene: Scene, ledger: Ledger, index: int, profile: DriveProfile, pipe: DrivePipe | None
) -> None:
    """Weigh the pipe under each water's scoured bed against its uplift; the worst point of the drive."""
    under = np.flatnonzero(profile.water != NO_WATER)
    if len(under) == 0:
        return
    element = scene.drive_id(index)
    limit = Limit("flotation", "kN/m", "assumptions, [treatments], [shaft]; EN 1997-1, 2.4.7.4")
    a = scene.assumptions
    outer_m, weight_kN_per_m = _for_good(scene, index, pipe)
    cover_m = _scoured_m(scene, index, profile)[under] - profile.crown_m[under]
    held = flotation(
        cover_m,
        outer_m,
        weight_kN_per_m,
        soil_values(scene, profile.soil, "gamma_sat_kN_per_m3")[under] - WATER_KN_PER_M3,
        water_kN_per_m3=WATER_KN_PER_M3,
        weight_factor=a.shaft.uplift_weight_factor,
        uplift_factor=UPLIFT_FACTOR,
    )
    used = held.utilisation
    if np.isnan(used).any() and not np.nanmax(np.append(used, 0.0)) > 1.0:
        why = "the bed or the soil under a water, or the weight of the tunnel, isn't known"
        ledger.not_evaluated(element, limit, profile.place(int(under[0]), index), why)
        return
    at = int(np.nanargmax(used))
    point, feature = int(under[at]), int(profile.water[under[at]])
    called = "water of the ground cover" if feature == UNMAPPED else scene.label(feature)
    place = profile.place(point, index)
    place = place if feature == UNMAPPED else scene.feature_place(feature, place)
    is_bare = bool(held.is_exposed[at])
    told = "lies bare" if is_bare else f"has {cover_m[at]:.2f} m of cover"
    reason = f"the {'pipe' if pipe else 'tunnel'} {told} under the scoured bed of {called}"
    capacity = 0.0 if is_bare else float(held.holding_kN_per_m[at])
    ledger.finding(element, limit, float(held.uplift_kN_per_m[at]), capacity, place, reason)


def _for_good(scene: Scene, index: int, pipe: DrivePipe | None) -> tuple[float, float]:
    """Return the outer diameter of what stays in the ground and its weight, NaN where not known [m, kN/m]."""
    if pipe is not None:
        return pipe.outer_m, pipe.kN_per_m + _fill_kN_per_m(scene, pipe)
    a = scene.assumptions
    way = a.methods[scene.plan.drives[index].method]
    if way.string_weight_kN_per_m is None or way.inside_diameter_m is None:
        return way.driven_outer_diameter_m, np.nan
    # the pipes and cables in the fill count for nothing, on the safe side
    taken_m2 = a.link.n_cables * float(circle_m2(way.pipe_outer_diameter_m))
    filled_m2 = max(float(circle_m2(way.inside_diameter_m)) - taken_m2, 0.0)
    fill_kN_per_m = a.grout.unit_weight_kN_per_m3.low * filled_m2
    return way.driven_outer_diameter_m, way.string_weight_kN_per_m + fill_kN_per_m


def _scoured_m(scene: Scene, index: int, profile: DriveProfile) -> Array:
    """Return the level of the scoured beds, the terrain where there is no water [m]."""
    level_m = profile.terrain_m.copy()
    rules = cover_rules(scene, scene.plan.drives[index])
    xy_m = np.column_stack([profile.x_m, profile.y_m])
    for feature in np.unique(profile.water[profile.water >= 0]):
        at = profile.water == feature
        level_m[at] = reference_level_m(scene.ground, scene.features, int(feature), xy_m[at], rules)
    kind = water_kind(scene.assumptions)
    if kind is not None:
        depth_m = kind.scour_m + (0.0 if scene.inp.terrain_is_bed else kind.water_depth_m)
        level_m = np.where(profile.water == UNMAPPED, level_m - depth_m, level_m)
    return level_m


def _fill_kN_per_m(scene: Scene, pipe: DrivePipe) -> float:
    """Return the weight of cable and fill in the pipe for good, the cable at its least."""
    a = scene.assumptions
    cable_m2 = float(circle_m2(1e-3 * a.cable.outer_diameter_mm))
    room_m2 = max(float(circle_m2(pipe.inside_m)) - cable_m2, 0.0)
    fills = {"air": 0.0, "water": WATER_KN_PER_M3, "grout": a.grout.unit_weight_kN_per_m3.low}
    return G_KN_PER_KG * a.cable.mass_kg_per_m.low + fills[a.pipe.fill] * room_m2
