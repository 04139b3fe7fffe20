"""Open excavations beside a shaft: the cut in which a pipe string comes down, the ramps of the cables.

Room: ``audit``. May use ``drives``, ``engineering`` and its neighbours. Dry and no deeper than slopes
are standardised for, such a dig is a matter of its volume; deeper, or below water, it is a structure
of its own: that is said, and it is no pass. Ramps are priced as such; their proof is somebody's own.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.audit.bill import ramp_works
from routescreen.audit.ramp_digs import ramp_digs
from routescreen.audit.ramp_proofs import prove_slope, prove_water
from routescreen.audit.report import TOLERANCE_M, Limit
from routescreen.audit.shaft_checks import drives_of, is_launch
from routescreen.counted import counted, grouped
from routescreen.drives.ramp import laid_run_m, ramp_radius_m
from routescreen.engineering.approach import approach_run_m

if TYPE_CHECKING:
    from routescreen.audit.ramp_digs import RampDig
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.shaft_site import ShaftSite
    from routescreen.money.measure import RampWorks

SLOPES_TO_M = 5.0  # DIN 4124, seen: deeper slopes need a proof of their own
RAMP_SOURCE = "DIN 4124 (slopes to 5 m), seen; assumptions, [shaft], [trench], [rates]"
SOURCE = "DIN 4124 (slopes to 5 m), seen; the rest is not worked out"
BETWEEN_SOURCE = "assumptions, [cable], [shaft]; two arcs of the ramps' radius, own geometry"


def prove_open_digs(scene: Scene, ledger: Ledger, site: ShaftSite) -> None:
    """Look at the approach cuts and the ramps of one shaft.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    site : ShaftSite
    """
    _prove_approach(scene, ledger, site)
    _prove_ramps(scene, ledger, site)


def _prove_approach(scene: Scene, ledger: Ledger, site: ShaftSite) -> None:
    """Look at the cuts in which the strings come down to the bores behind a reception."""
    a, shaft = scene.assumptions, scene.plan.shafts[site.index]
    for drive in drives_of(shaft):
        record = scene.plan.drives[drive]
        way = a.methods[record.method]
        if is_launch(scene, shaft, drive) or not way.has_layout or record.curve is not None:
            continue
        depth_m = site.depth_m - a.shaft.sump_m
        run_m = float(approach_run_m(depth_m, a.pipe.cold_bend_diameters * way.pipe_outer_diameter_m))
        strings = counted(a.n_bores(record.method), "string")
        what = f"{scene.drive_id(drive)}: the cuts for {strings} to come down"
        _enter_cut(ledger, site, depth_m, f"{what} over {run_m:.0f} m")


def _prove_ramps(scene: Scene, ledger: Ledger, site: ShaftSite) -> None:
    """Look at the ramps on which the cables climb from the bores to the trench."""
    works = ramp_works(scene, site.index)
    if len(drives_of(scene.plan.shafts[site.index])) > 1:
        _prove_between(scene, ledger, site, works)
    for dig in ramp_digs(scene, site.index):
        _enter_ramp(scene, ledger, site, dig, works)
        if math.isfinite(site.ground_m) and dig.deepest_m > SLOPES_TO_M:
            prove_slope(scene, ledger, site, dig)
        if dig.deepest_m > site.highest_depth_m and works.sloped_m > 0.0:
            prove_water(scene, ledger, site, dig, works)


def _prove_between(scene: Scene, ledger: Ledger, site: ShaftSite, works: RampWorks) -> None:
    """Look at the way of the cables from bore to bore in a shaft of two drives, where no ramp is dug.

    Their way aside is not counted.
    """
    a, limit = scene.assumptions, Limit("ramp_excavation", "m", BETWEEN_SOURCE)
    one, other = drives_of(scene.plan.shafts[site.index])
    rise_m = abs(_axis_m(scene, site.index, one) - _axis_m(scene, site.index, other))
    run_m = float(laid_run_m(rise_m, 0.0, a))
    reason = (
        f"{scene.drive_id(one)} and {scene.drive_id(other)} end here with their axes {rise_m:.2f} m apart in "
        f"level: bends of {ramp_radius_m(a):g} m take a run of {run_m:.1f} m, the shaft is "
        f"{site.length_m:.1f} m long inside; no ramp is dug, "
        f"the bill holds one of {grouped(works.eur)} EUR as a reserve for that way"
    )
    if run_m <= site.length_m + TOLERANCE_M:
        ledger.finding(site.element, limit, run_m, site.length_m, site.place, reason)
        return
    why = f"{reason}; bring the bores to one level, or build the shaft longer"
    ledger.amber(site.element, limit, run_m, site.length_m, site.place, why)


def _axis_m(scene: Scene, shaft: int, drive: int) -> float:
    """Return the level of the bores' axes at one end of a drive [m]."""
    record = scene.plan.drives[drive]
    crown_m = record.upper_crown_m if record.upper_shaft == shaft else record.lower_crown_m
    return float(crown_m - scene.lines[drive].radius_m)


def _enter_ramp(scene: Scene, ledger: Ledger, site: ShaftSite, dig: RampDig, works: RampWorks) -> None:
    """Enter a ramp with what the bill has for it: no pass where it is deep or wet."""
    limit = Limit("ramp_excavation", "m", RAMP_SOURCE)
    depth_m, under_m = dig.deepest_m, dig.deepest_m - site.highest_depth_m
    what = (
        f"{scene.drive_id(dig.ramp.drive)}: the ramps on which the cables climb over "
        f"{dig.ramp.line.run_m:.0f} m are dug {depth_m:.1f} m deep"
    )
    if math.isnan(under_m):
        ledger.not_evaluated(site.element, limit, site.place, f"{what}; how high water stands isn't known")
        return
    paid = (
        f"the bill has {works.sloped_m:.0f} m with slopes and {works.walled_m:.0f} m between walls, "
        f"{works.dug_m3:.0f} m3 dug beyond the trenches, {grouped(works.eur)} EUR in all"
    )
    if under_m <= 0.0 and depth_m <= SLOPES_TO_M:
        reason = f"{what}, dry, with slopes; {paid}"
        ledger.finding(site.element, limit, depth_m, SLOPES_TO_M, site.place, reason)
        return
    below = f", {under_m:.1f} m of it under the highest water" if under_m > 0.0 else ""
    why = (
        f"{what}{below}, outside the shaft's wall; {paid}; its slopes, walls, plug and wells and what stands "
        "beside it need a proof of their own"
    )
    ledger.amber(site.element, limit, depth_m, SLOPES_TO_M, site.place, why)


def _enter_cut(ledger: Ledger, site: ShaftSite, depth_m: float, what: str) -> None:
    limit, paid = Limit("approach_cut", "m", SOURCE), "CO13 pays for slopes"
    under_m = depth_m - site.highest_depth_m
    if math.isnan(under_m):
        why = f"{what} are {depth_m:.1f} m deep; how high water stands isn't known"
        ledger.not_evaluated(site.element, limit, site.place, why)
        return
    if under_m > 0.0 or depth_m > SLOPES_TO_M:
        below = f", {under_m:.1f} m of it under the highest water" if under_m > 0.0 else ""
        why = (
            f"{what} are an excavation {depth_m:.1f} m deep{below}, outside the shaft's wall: its own walls, "
            f"base, water, land and what stands beside it are not worked out, and {paid} only"
        )
        ledger.not_evaluated(site.element, limit, site.place, why)
        return
    reason = f"{what} are {depth_m:.1f} m deep, dry, with slopes; {paid}"
    ledger.finding(site.element, limit, depth_m, SLOPES_TO_M, site.place, reason)
