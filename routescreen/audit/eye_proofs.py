"""Where bores leave and enter a shaft: treated ground below the water, and room to treat it.

Room: ``audit``. The formulae are those of ``engineering.eyes``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.report import Limit
from routescreen.audit.shaft_checks import drives_of, is_launch
from routescreen.audit.shaft_site import about_water, cost, cost_eur, is_flood_highest, wells_m
from routescreen.counted import counted
from routescreen.engineering.eyes import is_eye_wet, treated_block_m3, treated_length_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.audit.shaft_site import ShaftSite

SOURCE = "assumptions, [checks.shaft], [groundwater]; common practice, no source"
LOOKED_M = 30.0  # as far as room for treating the ground is looked for


def prove_eyes(scene: Scene, ledger: Ledger, site: ShaftSite) -> None:
    """Prove the eyes of every drive at a shaft.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    site : ShaftSite
    """
    for drive in drives_of(scene.plan.shafts[site.index]):
        _prove_eye(scene, ledger, site, drive)


def _prove_eye(scene: Scene, ledger: Ledger, site: ShaftSite, drive: int) -> None:
    limit, checks = Limit("eyes", "m", SOURCE), scene.assumptions.checks.shaft
    name, line = scene.drive_id(drive), scene.lines[drive]
    if np.isnan(site.ground_m):
        ledger.not_evaluated(site.element, limit, site.place, f"{name}: the terrain at the shaft is unknown")
        return
    geometry = scene.geometry(scene.plan.drives[drive])
    crown_m = line.lower_crown_m if drive == scene.plan.shafts[site.index].outgoing else line.upper_crown_m
    invert_m, diameter_m = crown_m - geometry.bore_diameter_m, geometry.bore_diameter_m
    above_m = site.highest_level_m - invert_m
    is_wet = bool(is_eye_wet(site.highest_level_m, invert_m))
    lengths = {"least_m": checks.eye_length_m, "diameters": checks.eye_length_diameters}
    length_m = float(treated_length_m(diameter_m, is_wet, **lengths))
    room_m, what = _room_m(scene, site, drive)
    if not is_wet:
        reason = f"{name}: {about_water(site)}, stays {-above_m:.2f} m below the invert"
        ledger.finding(site.element, limit, 0.0, room_m, site.place, reason)
        return
    size = {"n_bores": geometry.n_bores, "spacing_m": geometry.spacing_m, "margin_m": checks.eye_margin_m}
    volume = float(treated_block_m3(length_m, diameter_m, **size))
    reason = (
        f"{name}: {about_water(site)}, stands {above_m:.2f} m above the invert: a seal, and ground treated "
        f"along {counted(geometry.n_bores, 'bore')}, {volume:.0f} m3, which has room to {what}"
    )
    ledger.finding(site.element, limit, length_m, room_m, site.place, reason)
    _prove_price(scene, ledger, site, drive)


def _prove_price(scene: Scene, ledger: Ledger, site: ShaftSite, drive: int) -> None:
    """Say where a wet eye is priced as a dry one, and no wells that are in the bill keep it dry."""
    way = scene.assumptions.methods[scene.plan.drives[drive].method]
    if site.is_tight and way.has_eyes:
        return
    if not is_flood_highest(site) and wells_m(scene, site) > 0.0:
        return  # wells lower the groundwater below the base
    n_bores, name = scene.geometry(scene.plan.drives[drive]).n_bores, scene.drive_id(drive)
    priced = n_bores * scene.assumptions.shaft.dry_eye_factor * way.has_eyes
    by = "the groundwater as given" if way.has_eyes else "the pit's price, which holds no seal"
    reason = (
        f"{name}: the eyes are priced as dry, by {by}: lower the water while they stand open, or seal them "
        f"for {cost(scene, 'SH22', n_bores - priced)} more, in no bill"
    )
    limit = Limit("eyes_priced_dry", "eye", SOURCE)
    ledger.amber(site.element, limit, float(n_bores), priced, site.place, reason)
    ledger.unpriced(cost_eur(scene, "SH22", n_bores - priced))


def _room_m(scene: Scene, site: ShaftSite, drive: int) -> tuple[float, str]:
    """Return how far the ground along the bores may be treated from above, and what ends it."""
    shaft, line = scene.plan.shafts[site.index], scene.lines[drive]
    geometry = scene.geometry(scene.plan.drives[drive])
    size_m = geometry.launch_plan_m if is_launch(scene, shaft, drive) else geometry.reception_plan_m
    most_m = min(LOOKED_M, line.plan_length_m - size_m[0] / 2.0)
    along_m = size_m[0] / 2.0 + np.array([0.0, max(most_m, 0.0)])
    if drive != shaft.outgoing:
        along_m = line.plan_length_m - along_m
    ends_m = np.stack([line.xy_m(bore, along_m) for bore in range(len(line.offsets_m))])
    bores = shapely.MultiLineString([list(map(tuple, ends)) for ends in ends_m])
    found = [
        (_first_m(ends_m, scene.features.outline[feature], most_m), scene.label(int(feature)))
        for feature in scene.near(bores, 0.0)
        if not scene.features.shaft_ok[feature]
    ]
    room_m, what = min(found, default=(most_m, ""))
    return room_m, f"{what}, {room_m:.1f} m away" if what else f"{most_m:.0f} m at least"


def _first_m(ends_m: NDArray[np.float64], outline: shapely.Geometry, most_m: float) -> float:
    """Return the least distance along any of the lines at which an outline is met [m]."""
    starts = shapely.points(ends_m[:, 0])
    inside = shapely.intersection(shapely.linestrings(ends_m), outline)
    met = ~shapely.is_empty(inside)
    return float(np.min(np.asarray(shapely.distance(starts, inside))[met], initial=most_m))
