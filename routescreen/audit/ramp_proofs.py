"""The excavation behind a shaft in which the cables climb: slopes that stand, water that is lowered for it.

Room: ``audit``. The formulae are those of ``engineering.dig_slope`` and ``engineering.dewatering``, the
volumes those of ``ramp_digs``. Nothing here is priced: the bill pays ramps by the metre.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.dewatering_proofs import treated_l_per_s
from routescreen.audit.neighbour_proofs import neighbours
from routescreen.audit.ramp_digs import ramp_plan, ramp_volume_m3
from routescreen.audit.report import Limit
from routescreen.audit.shaft_site import soil_name, soil_of
from routescreen.engineering.dewatering import pit_radius_m, radial_inflow_m3_per_s, reach_m
from routescreen.engineering.dig_slope import standing_slope_deg

if TYPE_CHECKING:
    from routescreen.audit.ramp_digs import RampDig
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.shaft_site import ShaftSite

STRENGTH_FACTOR = 1.25  # on tan phi and c; EN 1997-1, table A.4, set M2; from memory
SLOPE_SOURCE = "assumptions, [soil]; Culmann 1866 and EN 1997-1, A.4, from memory"
WATER_SOURCE = "assumptions, [checks.shaft], [soil], [groundwater]; Sichardt, Dupuit and Thiem, from memory"


def prove_slope(scene: Scene, ledger: Ledger, site: ShaftSite, dig: RampDig) -> None:
    """Compare the slope that is reckoned with, where the ramps are deepest, with what stands there.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes an amber finding, with what is dug at the slope that stands, where it doesn't.
    site : ShaftSite
    dig : RampDig
        Deeper than slopes are standardised for.
    """
    soil, limit = soil_of(scene, site.soil_above), Limit("ramp_slope", "degrees", SLOPE_SOURCE)
    stands_deg = slope_deg(scene, site, dig)
    name = soil_name(scene, site.soil_above)
    reason = (
        f"{scene.drive_id(dig.ramp.drive)}: the ramps are dug {dig.deepest_m:.1f} m deep at the shaft; "
        f"in {name} kept dry slopes of {stands_deg:.0f} degrees stand so high, with {STRENGTH_FACTOR:g} on "
        "strength"
    )
    if stands_deg >= soil.slope_deg:
        ledger.finding(site.element, limit, soil.slope_deg, stands_deg, site.place, reason)
        return
    volume_m3 = ramp_volume_m3(scene, dig.ramp, stands_deg)
    top_m = ramp_plan(scene, dig, stands_deg)[1]
    strip_m = scene.assumptions.working_strip_m
    room = "more than" if top_m > strip_m else "within"
    reason += (
        f" and {soil.slope_deg:g} do not: {volume_m3:.0f} m3 instead of {dig.volume_m3:.0f} m3 beyond the "
        f"trenches, {top_m:.1f} m wide at the ground, {room} the strip of {strip_m:g} m; or walls, which "
        "nothing here works out; not in the bill"
    )
    ledger.amber(site.element, limit, soil.slope_deg, stands_deg, site.place, reason)


def slope_deg(scene: Scene, site: ShaftSite, dig: RampDig) -> float:
    """Return the steepest slope that stands where the ramps are deepest, in the soil above any rock [deg]."""
    soil = soil_of(scene, site.soil_above)
    phi_deg = np.degrees(np.arctan(np.tan(np.radians(soil.phi_deg)) / STRENGTH_FACTOR))
    cohesion_kPa = soil.c_kPa / STRENGTH_FACTOR
    return float(standing_slope_deg(dig.deepest_m, phi_deg, cohesion_kPa, soil.gamma_kN_per_m3))


def prove_water(scene: Scene, ledger: Ledger, site: ShaftSite, dig: RampDig) -> None:
    """Enter what is pumped to dig the ramps in the dry, and how far that lowers the groundwater.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    site : ShaftSite
    dig : RampDig
        Deeper than the highest water.
    """
    checks = scene.assumptions.checks.shaft
    soil = max((site.soil, site.soil_above), key=lambda s: soil_of(scene, s).permeability_m_per_s)
    k = soil_of(scene, soil).permeability_m_per_s
    drawdown_m = dig.deepest_m - site.highest_depth_m + checks.lowered_below_base_m
    far_m = float(reach_m(drawdown_m, k, checks.drawdown_radius_factor))
    flattest_deg = min(slope_deg(scene, site, dig), soil_of(scene, site.soil_above).slope_deg)
    radius_m = float(pit_radius_m(*ramp_plan(scene, dig, flattest_deg)))
    foot_m = dig.deepest_m + checks.aquifer_below_base_m
    if dig.deepest_m < site.rock_depth_m < foot_m:
        foot_m = site.rock_depth_m
    outer_m = foot_m - site.highest_depth_m
    flow = radial_inflow_m3_per_s(k, outer_m, max(outer_m - drawdown_m, 0.0), radius_m + far_m, radius_m)
    inflow, capacity = 1000.0 * float(flow), treated_l_per_s(scene)
    near = neighbours(scene, _line(scene, dig), far_m)
    reason = (
        f"{scene.drive_id(dig.ramp.drive)}: to dig the ramps in the dry the highest groundwater is lowered "
        f"by {drawdown_m:.2f} m to {checks.lowered_below_base_m:g} m below their bottom in "
        f"{soil_name(scene, soil)}: {inflow:.1f} l/s, reach {far_m:.0f} m; within it: {near.text}"
    )
    reason += "; the reach goes beyond what was read of the input" if near.is_beyond_input else ""
    told = f"{reason}; one plant treats {capacity:.1f} l/s; its wells and months are not in the bill"
    # what isn't paid for is never a pass
    limit = Limit("ramp_dewatering", "l/s", WATER_SOURCE)
    ledger.amber(site.element, limit, inflow, capacity, site.place, told)
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
