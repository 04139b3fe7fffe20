"""The wall of a launch shaft against the thrust of its drive: usual block, larger block, what is left.

Room: ``audit``. The formulae are those of ``engineering.thrust_wall``; the thrust is that of the audit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.force_checks import restart_thrust
from routescreen.audit.report import Limit
from routescreen.audit.shaft_checks import drives_of, is_launch
from routescreen.audit.shaft_site import about_water, cost, soil_name, soil_of
from routescreen.drives.forces import drive_forces
from routescreen.engineering.ground_stress import ground_stress
from routescreen.engineering.thrust_wall import (
    passive_stress_kPa,
    square_block_m,
    thrust_left_kN,
    thrust_wall_kN,
)

if TYPE_CHECKING:
    from routescreen.audit.force_checks import RestartThrust
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.shaft_site import ShaftSite

SOURCE = "assumptions, [checks.shaft], [soil], [groundwater]; common practice, factor from memory"


@dataclass(frozen=True, slots=True)
class _Wall:
    """What bears a thrust: stress at the axis, usual block, the largest that fits.

    `passive_kPa` at the depth of the axis; `usual_m`, `largest_m` width and height of the blocks [m];
    `usual_kN`, `largest_kN` what they bear.
    """

    passive_kPa: float
    soil: int
    usual_m: tuple[float, float]
    largest_m: tuple[float, float]
    usual_kN: float
    largest_kN: float


def prove_walls(scene: Scene, ledger: Ledger, site: ShaftSite) -> float:
    """Prove the thrust wall of every drive that is launched from a shaft.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    site : ShaftSite

    Returns
    -------
    float
        Area of blocks beyond the usual, in usual blocks, all launched bores together [bore].
    """
    shaft = scene.plan.shafts[site.index]
    launched = [drive for drive in drives_of(shaft) if is_launch(scene, shaft, drive)]
    # a drilled bore is pulled, not pushed
    pushed = [drive for drive in launched if scene.plan.drives[drive].curve is None]
    return sum(_prove_wall(scene, ledger, site, drive) for drive in pushed)


def _prove_wall(scene: Scene, ledger: Ledger, site: ShaftSite, drive: int) -> float:
    thrust, limit = restart_thrust(scene, drive), Limit("thrust_wall", "kN", SOURCE)
    missing = thrust.missing
    if not missing and np.isnan(site.ground_m):
        missing = "the terrain at the shaft is unknown"
    if missing:
        ledger.not_evaluated(site.element, limit, site.place, f"{scene.drive_id(drive)}: {missing}")
        return 0.0
    wall = _wall(scene, site, drive)
    width_m, height_m = wall.largest_m
    share = scene.assumptions.checks.shaft.thrust_wall_mobilised_frac
    left_kN = float(thrust_left_kN(thrust.expected_kN, wall.largest_kN))
    reason = (
        f"{scene.drive_id(drive)} after a stop at expected friction; the largest block that fits, "
        f"{width_m:.2f} m wide and {height_m:.2f} m high, passes {share:g} of the passive stress of "
        f"{wall.passive_kPa:.0f} kPa in {soil_name(scene, wall.soil)} under {about_water(site)}"
        f"{_about_the_rest(left_kN)}"
        f"{_about_behind(scene, site, drive)}; the wall's movement is not modelled"
    )
    status = ledger.finding(site.element, limit, thrust.expected_kN, wall.largest_kN, site.place, reason)
    extra = _prove_block(scene, ledger, site, drive, wall, thrust, is_borne=status == "pass")
    most_kN = min(thrust.high_kN, drive_forces(scene.assumptions, scene.plan.drives[drive].method).frame_kN)
    if status == "pass" and most_kN > wall.largest_kN:
        limit = Limit("thrust_wall_high_friction", "kN", SOURCE)
        reason = (
            f"{scene.drive_id(drive)} after a stop at high friction, at most what the frame gives, against "
            "the largest block that fits"
        )
        ledger.amber(site.element, limit, most_kN, wall.largest_kN, site.place, reason)
    return extra


def _wall(scene: Scene, site: ShaftSite, drive: int) -> _Wall:
    """Work out what the ground behind a launch bears, at the highest water, which is the unfavourable one."""
    checks = scene.assumptions.checks.shaft
    depth_m = axis_depth_m(scene, site, drive)
    above = soil_of(scene, site.soil_above)
    is_rock = depth_m > site.rock_depth_m
    index = int(_rock_soil(scene, site)) if is_rock else site.soil_above
    soil = soil_of(scene, index)
    stress = ground_stress(
        depth_m,
        site.highest_depth_m,
        min(soil.gamma_kN_per_m3, above.gamma_kN_per_m3),
        min(soil.gamma_sat_kN_per_m3, above.gamma_sat_kN_per_m3),
    )
    passive = float(passive_stress_kPa(stress.effective_kPa, soil.phi_deg))
    geometry = scene.geometry(scene.plan.drives[drive])
    room_m = geometry.spacing_m if geometry.n_bores > 1 else site.width_m
    tallest_m = _tallest_m(scene, site, depth_m)
    usual = (min(checks.thrust_block_width_m, room_m), min(checks.thrust_block_height_m, tallest_m))
    widest_m = min(checks.thrust_block_most_width_m or room_m, room_m)
    largest = (max(widest_m, usual[0]), max(min(checks.thrust_block_most_height_m, tallest_m), usual[1]))
    bears = [
        float(
            thrust_wall_kN(
                passive,
                *size,
                share=checks.thrust_wall_mobilised_frac,
                factor=checks.thrust_wall_factor,
            )
        )
        for size in (usual, largest)
    ]
    return _Wall(passive, index, usual, largest, *bears)


def _tallest_m(scene: Scene, site: ShaftSite, depth_m: float) -> float:
    """Return the tallest block with its middle on the axis: below the ground, above the foot of the base."""
    works = scene.assumptions.shaft
    founded_m = works.plug_thickness_m if site.is_tight else works.dry_slab_m
    return 2.0 * min(depth_m, site.depth_m - depth_m + founded_m)


def axis_depth_m(scene: Scene, site: ShaftSite, drive: int) -> float:
    """Return the depth of a drive's axis at a shaft [m]."""
    line, shaft = scene.lines[drive], scene.plan.shafts[site.index]
    crown_m = line.lower_crown_m if drive == shaft.outgoing else line.upper_crown_m
    return site.ground_m - crown_m + line.radius_m


def _rock_soil(scene: Scene, site: ShaftSite) -> int:
    """Return the class of the rock below a shaft."""
    zones = scene.ground.zones_at(np.array([scene.plan.shafts[site.index].xy_m]))
    return int(scene.ground.rock(zones)[1][0])


def _about_the_rest(left_kN: float) -> str:
    return f"; {left_kN:.0f} kN a bore are left to anchors, which are in no bill" if left_kN > 0.0 else ""


def _about_behind(scene: Scene, site: ShaftSite, drive: int) -> str:
    """Return which drive's eyes stand in the wall that is pushed against, for a sentence."""
    others = [other for other in drives_of(scene.plan.shafts[site.index]) if other != drive]
    return (
        f"; the eyes of {scene.drive_id(others[0])} stand in the wall behind, between which it must be spread"
        if others
        else ""
    )


def _prove_block(
    scene: Scene,
    ledger: Ledger,
    site: ShaftSite,
    drive: int,
    wall: _Wall,
    thrust: RestartThrust,
    *,
    is_borne: bool,
) -> float:
    """Enter the area of block that the thrust asks for against the usual one, and return what it is more."""
    checks, way = scene.assumptions.checks.shaft, scene.assumptions.methods[scene.plan.drives[drive].method]
    usual_m2, largest_m2 = (size[0] * size[1] for size in (wall.usual_m, wall.largest_m))
    if wall.passive_kPa > 0.0:
        rules = {"share": checks.thrust_wall_mobilised_frac, "factor": checks.thrust_wall_factor}
        needed_m2 = float(square_block_m(thrust.expected_kN, wall.passive_kPa, **rules)) ** 2
    else:
        needed_m2 = np.inf
    built_m2 = float(np.clip(needed_m2, usual_m2, largest_m2))
    n_bores = scene.geometry(scene.plan.drives[drive]).n_bores
    extra = n_bores * (built_m2 / usual_m2 - 1.0) * way.has_thrust_wall
    limit = Limit("thrust_block", "m2", SOURCE)
    reason = f"{scene.drive_id(drive)}: the usual block is {wall.usual_m[0]:.2f} m by {wall.usual_m[1]:.2f} m"
    if needed_m2 > usual_m2 and is_borne and way.has_thrust_wall:
        reason += f"; the larger one is {cost(scene, 'SH27', extra)} in the bill, not weighed by the search"
    elif needed_m2 > usual_m2 and not way.has_thrust_wall:
        reason += "; the pit's price holds its wall, a larger one is to be agreed"
    enter = ledger.amber if is_borne and needed_m2 > usual_m2 else ledger.finding
    enter(site.element, limit, min(needed_m2, 1e6), usual_m2, site.place, reason)
    return extra
