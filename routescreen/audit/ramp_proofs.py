"""The excavation behind a shaft in which the cables climb: slopes that stand, water that is lowered for it.

Room: ``audit``. The formulae are those of ``engineering.dig_slope`` and ``engineering.dewatering``; what is
built is what the bill pays for (``bill.ramp_works``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.dewatering_proofs import treated_l_per_s
from routescreen.audit.neighbour_proofs import neighbours
from routescreen.audit.ramp_digs import ramp_plan
from routescreen.audit.report import Limit
from routescreen.audit.shaft_site import soil_name, soil_of
from routescreen.drives.ramp_pit import pit_slope_deg
from routescreen.engineering.dewatering import pit_radius_m, radial_inflow_m3_per_s, reach_m
from routescreen.engineering.dig_slope import STRENGTH_FACTOR, proven_slope_deg

if TYPE_CHECKING:
    from routescreen.audit.ramp_digs import RampDig
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.shaft_site import ShaftSite
    from routescreen.money.measure import RampWorks

SLOPE_SOURCE = "assumptions, [soil], [trench]; Culmann 1866 and EN 1997-1, A.4, from memory"
WATER_SOURCE = "assumptions, [checks.shaft], [soil], [groundwater]; Sichardt, Dupuit and Thiem, from memory"


def prove_slope(scene: Scene, ledger: Ledger, site: ShaftSite, dig: RampDig) -> None:
    """Compare the slope that the bill has where the ramps are deepest with what stands there.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the finding.
    site : ShaftSite
    dig : RampDig
        Deeper than slopes are standardised for.
    """
    soil, limit = soil_of(scene, site.soil_above), Limit("ramp_slope", "degrees", SLOPE_SOURCE)
    stands_deg = float(proven_slope_deg(dig.deepest_m, soil.phi_deg, soil.c_kPa, soil.gamma_kN_per_m3))
    dug_deg = slope_deg(scene, site, dig.deepest_m)
    width_m = ramp_plan(scene, dig, dug_deg, dig.deepest_m)[1]
    strip_m = scene.assumptions.working_strip_m
    room = "no room for them: walls" if width_m > strip_m else "room for them"
    reason = (
        f"{scene.drive_id(dig.ramp.drive)}: the ramps are dug {dig.deepest_m:.1f} m deep at the shaft; "
        f"in {soil_name(scene, site.soil_above)} kept dry slopes of {stands_deg:.0f} degrees stand so high, "
        f"with {STRENGTH_FACTOR:g} on strength; slopes of {dug_deg:.0f} degrees would be "
        f"{width_m:.1f} m wide at the ground, in the strip of {strip_m:g} m there is {room}"
    )
    ledger.finding(site.element, limit, dug_deg, stands_deg, site.place, reason)


def slope_deg(scene: Scene, site: ShaftSite, depth_m: float) -> float:
    """Return the slope of the ramps' faces at a depth, in the soil above any rock [deg]."""
    return float(pit_slope_deg(scene.assumptions, soil_of(scene, site.soil_above), depth_m))


def prove_water(scene: Scene, ledger: Ledger, site: ShaftSite, dig: RampDig, works: RampWorks) -> None:
    """Enter what is pumped to dig the ramps in the dry, and how far that lowers the groundwater.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    site : ShaftSite
    dig : RampDig
        Deeper than the highest water.
    works : RampWorks
        What the bill has for it; between tight walls on a plug nothing is lowered.
    """
    a = scene.assumptions
    checks = a.checks.shaft
    depth_m = dig.deepest_m
    if works.walled_m > 0.0:  # the slopes end where the water would have to be lowered further
        lowered_m = max(site.highest_depth_m + a.shaft.ramp_lowering_most_m, a.trench_depth_m)
        depth_m = min(depth_m, lowered_m)
    soil = max((site.soil, site.soil_above), key=lambda s: soil_of(scene, s).permeability_m_per_s)
    k = soil_of(scene, soil).permeability_m_per_s
    drawdown_m = depth_m - site.highest_depth_m + checks.lowered_below_base_m
    far_m = float(reach_m(drawdown_m, k, checks.drawdown_radius_factor))
    length_m, width_m = ramp_plan(scene, dig, slope_deg(scene, site, depth_m), depth_m)
    radius_m = float(pit_radius_m(min(length_m, max(works.sloped_m, 1.0)), width_m))
    foot_m = depth_m + checks.aquifer_below_base_m
    if depth_m < site.rock_depth_m < foot_m:
        foot_m = site.rock_depth_m
    outer_m = foot_m - site.highest_depth_m
    flow = radial_inflow_m3_per_s(k, outer_m, max(outer_m - drawdown_m, 0.0), radius_m + far_m, radius_m)
    inflow, capacity = 1000.0 * float(flow), treated_l_per_s(scene)
    near = neighbours(scene, _line(scene, dig), far_m)
    reason = (
        f"{scene.drive_id(dig.ramp.drive)}: to dig the ramps in the dry the highest groundwater is lowered "
        f"by {drawdown_m:.2f} m to {checks.lowered_below_base_m:g} m below the bottom of their slopes in "
        f"{soil_name(scene, soil)}: {inflow:.1f} l/s, reach {far_m:.0f} m; within it: {near.text}"
    )
    reason += "; the reach goes beyond what was read of the input" if near.is_beyond_input else ""
    told = f"{reason}; one plant treats {capacity:.1f} l/s; its wells and months are in the bill"
    limit = Limit("ramp_dewatering", "l/s", WATER_SOURCE)
    enter = ledger.finding if inflow <= capacity else ledger.amber
    enter(site.element, limit, inflow, capacity, site.place, told)
    limit = Limit("ramp_dewatering_reach", "m", WATER_SOURCE)
    enter = ledger.amber if near.nearest_m < far_m or near.is_beyond_input else ledger.finding
    enter(site.element, limit, far_m, near.nearest_m, site.place, reason)


def _line(scene: Scene, dig: RampDig) -> shapely.LineString:
    """Return the middle line of the ramps, from the shaft on."""
    ramp = dig.ramp
    drive = scene.plan.drives[ramp.drive]
    shaft_m = float(scene.route.chainage_m[drive.to_vertex if ramp.is_upper else drive.from_vertex])
    ends_m = ramp.chainage_m(shaft_m, np.array([0.0, ramp.line.run_m / 2.0, ramp.line.run_m]))
    return shapely.LineString([scene.route.point_at(float(at)) for at in ends_m])
