"""Open excavations beside a shaft: the cut in which a pipe string comes down, the ramps of the cables.

Room: ``audit``. May use ``drives``, ``engineering`` and its neighbours. Dry and no deeper than slopes
are standardised for, such a dig is a matter of its volume; deeper, or below water, it is a structure
of its own that nothing here works out: that is said, and it is no pass.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from routescreen.audit.ramp_digs import ramp_digs
from routescreen.audit.ramp_proofs import prove_slope, prove_water
from routescreen.audit.report import Limit
from routescreen.audit.shaft_checks import drives_of, is_launch
from routescreen.counted import counted
from routescreen.engineering.approach import approach_run_m

if TYPE_CHECKING:
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.shaft_site import ShaftSite

SLOPES_TO_M = 5.0  # DIN 4124, seen: deeper slopes need a proof of their own
SOURCE = "DIN 4124 (slopes to 5 m), seen; the rest is not worked out"


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
        _enter(ledger, site, "approach_cut", depth_m, f"{what} over {run_m:.0f} m", "CO13 pays for slopes")


def _prove_ramps(scene: Scene, ledger: Ledger, site: ShaftSite) -> None:
    """Look at the ramps on which the cables climb from the bores to the trench."""
    for dig in ramp_digs(scene, site.index):
        what = (
            f"{scene.drive_id(dig.ramp.drive)}: the ramps on which the cables climb over "
            f"{dig.ramp.line.run_m:.0f} m, {dig.volume_m3:.0f} m3 dug beyond the trenches if slopes stand,"
        )
        _enter(ledger, site, "ramp_excavation", dig.deepest_m, what, "CA14 pays by the metre")
        if math.isfinite(site.ground_m) and dig.deepest_m > SLOPES_TO_M:
            prove_slope(scene, ledger, site, dig)
        if dig.deepest_m > site.highest_depth_m:
            prove_water(scene, ledger, site, dig)


def _enter(ledger: Ledger, site: ShaftSite, name: str, depth_m: float, what: str, paid: str) -> None:
    limit = Limit(name, "m", SOURCE)
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
