"""What the cables may carry in the shafts, which are filled with what was dug when the cables lie in them.

Room: ``audit``. May use ``engineering``, ``drives``, ``money``, numpy and the audit's own modules.

A shaft is backfilled with its own spoil and its walls are cut down (bill item SH26); its walls and plug stay.
Where the bill holds conducting fill (SH29) it is rated with that, up to where the walls are cut. Its
pipes lie at the depth of the bores' ends and as far apart, without bedding.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.bill import fill_if_asked, shaft_hole
from routescreen.audit.cable_places import CablePlaces, ground_round, side_by_side, spread_over
from routescreen.audit.cable_ratings import rate_places
from routescreen.audit.cable_told import (
    SOURCE,
    UNKNOWN_WATER,
    WIDEST_M,
    CablePart,
    first_unknown,
    lowest_place,
    place_of,
    reason_at,
    spacing_asked_m,
    why_not,
)
from routescreen.audit.report import Limit
from routescreen.counted import grouped
from routescreen.drives.cable_make import asked_A, surround
from routescreen.drives.ramp import trench_axis_m
from routescreen.drives.tunnel import pipe_ring
from routescreen.money.items import bill_items, rates_eur

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

FILL_ITEM = "SH29"


def prove_shafts_rating(scene: Scene, ledger: Ledger) -> list[CablePart]:
    """Compare the rating in each shaft with the link's current.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.

    Returns
    -------
    list of CablePart
        The shafts as they were rated, for the link's hottest place: with the groundwater in the backfill,
        and without where that isn't known and would be too little; with conducting fill where that is billed.
    """
    return [part for shaft in range(len(scene.plan.shafts)) for part in _prove(scene, ledger, shaft)]


def _prove(scene: Scene, ledger: Ledger, shaft: int) -> list[CablePart]:
    current = asked_A(scene.assumptions)
    if billed_fill_m3(scene, shaft) > 0.0:
        found = _prove_filled(scene, ledger, shaft)
        if found:
            return found
    wet = _rated(scene, _in_shaft(scene, shaft))
    limit, element = Limit("cable_rating_shaft", "A", SOURCE), scene.shaft_id(shaft)
    unknown, at = first_unknown(wet.rating), lowest_place(wet.rating)
    if unknown >= 0 and not (at >= 0 and wet.rating.rating_A[at] < current):
        ledger.not_evaluated(element, limit, place_of(scene, wet.places, max(unknown, 0)), why_not(scene))
        return [wet]
    bears_A, place = float(wet.rating.rating_A[at]), place_of(scene, wet.places, at)
    told = f"backfilled with what was dug: {reason_at(scene, wet.places, wet.rating, at)}"
    if bears_A < current:
        told += _asked(scene, wet, at) + _fill_instead(scene, shaft, wet.places)
        ledger.finding(element, limit, current, bears_A, place, told)
        return [wet]
    dry = _rated(scene, _cut_off(wet.places))
    worst = lowest_place(dry.rating)
    if worst < 0 or dry.rating.rating_A[worst] >= current:
        ledger.finding(element, limit, current, bears_A, place, told)
        return [wet]
    reason = (
        f"{told}; whether groundwater stands in it, behind walls and plug, isn't known: where it doesn't, "
        f"{reason_at(scene, dry.places, dry.rating, worst)}{_asked(scene, dry, worst)}; let the groundwater "
        f"in{_filled(scene, shaft, wet.places)}"
    )
    worst_A = float(dry.rating.rating_A[worst])
    ledger.amber(element, limit, current, worst_A, place_of(scene, dry.places, worst), reason)
    return [wet, replace(dry, doubt=UNKNOWN_WATER)]


def billed_fill_m3(scene: Scene, shaft: int) -> float:
    """Return how much conducting fill the bill holds for a shaft [m3]."""
    return float(shaft_hole(scene, shaft)[bill_items(scene.assumptions).index[FILL_ITEM]])


def _prove_filled(scene: Scene, ledger: Ledger, shaft: int) -> list[CablePart]:
    """Rate a shaft with the conducting fill that is billed; nothing where that isn't enough."""
    a, places = scene.assumptions, _in_shaft(scene, shaft)
    # where no groundwater stands outside, the ground beyond the walls dries out whatever lies within them
    if not np.all(places.ratio == 1.0):
        return []
    part = _rated(scene, _with_fill(scene, places))
    at = lowest_place(part.rating)
    if at < 0 or not part.rating.rating_A[at] >= asked_A(a):
        return []
    told = (
        f"filled with conducting fill of {a.shaft.conducting_fill_Km_per_W:g} K m/W instead of what was dug, "
        f"{billed_fill_m3(scene, shaft):.0f} m3 in the bill ({FILL_ITEM}), axes "
        f"{places.depth_m[at].max():.2f} m deep; all ground counts as moist or as the fill"
    )
    place, bears_A = place_of(scene, part.places, at), float(part.rating.rating_A[at])
    limit = Limit("cable_rating_shaft", "A", SOURCE)
    ledger.finding(scene.shaft_id(shaft), limit, asked_A(a), bears_A, place, told)
    return [part]


def _rated(scene: Scene, places: CablePlaces) -> CablePart:
    n = len(places.chainage_m)
    return CablePart(places, rate_places(scene.assumptions, places), np.arange(n), None, np.zeros((n, 0)))


def _asked(scene: Scene, part: CablePart, at: int) -> str:
    """Say how far apart the pipes would have to lie."""
    if part.places.offset_m.shape[1] < 2 or part.places.bedding is not None:
        return ""
    asked_m = float(spacing_asked_m(scene, part)[at])
    if np.isnan(asked_m):
        return f"; even {WIDEST_M:g} m between the pipes wouldn't do"
    return f"; pipes {asked_m:.2f} m apart would bear the current"


def _fill_instead(scene: Scene, shaft: int, places: CablePlaces) -> str:
    """Say what conducting fill would do for a shaft that is too warm even with groundwater in it."""
    if np.all(places.ratio == 1.0):
        return _filled(scene, shaft, places)
    rho = scene.assumptions.shaft.conducting_fill_Km_per_W
    return (
        f"; conducting fill of {rho:g} K m/W in the shaft is not counted on here, above the lowest "
        "groundwater: the ground beyond its walls dries out whatever lies within them"
    )


def _filled(scene: Scene, shaft: int, places: CablePlaces) -> str:
    """Say what conducting fill would bear instead of what was dug, and what it costs, in the bill or not."""
    a = scene.assumptions
    rho, bears_A = a.shaft.conducting_fill_Km_per_W, _least_A(_rated(scene, _with_fill(scene, places)))
    if not bears_A >= asked_A(a):
        paid = ", which the bill holds as a shallower shaft needs it," if billed_fill_m3(scene, shaft) else ""
        return f"; with conducting fill of {rho:g} K m/W{paid} instead it would bear {bears_A:.0f} A"
    if billed_fill_m3(scene, shaft) > 0.0:
        return (
            f"; conducting fill of {rho:g} K m/W, in the bill, bears {bears_A:.0f} A where groundwater stands"
        )
    quantities = fill_if_asked(scene, shaft)
    volume_m3, eur = float(quantities[bill_items(a).index[FILL_ITEM]]), float(quantities @ rates_eur(a))
    return (
        f"; or fill it with conducting fill of {rho:g} K m/W instead of what was dug, which bears "
        f"{bears_A:.0f} A: {volume_m3:.0f} m3, about {grouped(eur)} EUR with what it displaces, "
        "not in the bill"
    )


def _least_A(part: CablePart) -> float:
    return float(np.min(part.rating.rating_A))


def _with_fill(scene: Scene, places: CablePlaces) -> CablePlaces:
    """Return places in conducting fill, from the bottom to where the walls are cut, groundwater outside.

    All ground counts as moist or as the fill, whichever resists more; what lies above the fill can dry out.
    """
    a = scene.assumptions
    rho = np.maximum(places.column_rho_K_m_per_W, a.shaft.conducting_fill_Km_per_W)
    return replace(
        places,
        rho_K_m_per_W=rho,
        ratio=np.ones_like(places.ratio),
        column_m=np.full_like(places.column_m, a.shaft.wall_cut_m),
        column_rho_K_m_per_W=rho,
        column_dry_K_m_per_W=np.maximum(places.column_dry_K_m_per_W, rho),
    )


def _cut_off(places: CablePlaces) -> CablePlaces:
    """Return places in backfill that no groundwater reaches."""
    return replace(
        places,
        rho_K_m_per_W=places.column_rho_K_m_per_W,
        ratio=places.column_dry_K_m_per_W / places.column_rho_K_m_per_W,
        column_m=np.zeros_like(places.column_m),
    )


def _in_shaft(scene: Scene, index: int) -> CablePlaces:
    """Lay out the cables in a shaft, a place for the end of each of its drives."""
    a, route, shaft = scene.assumptions, scene.route, scene.plan.shafts[index]
    ends = [(drive, is_upper) for drive, is_upper in ((shaft.incoming, True), (shaft.outgoing, False))]
    levels = [_end(scene, drive, is_upper) for drive, is_upper in ends if drive is not None]
    depth_m, offset_m = (np.stack([level[part] for level in levels]) for part in (1, 2))
    vertex = np.array([level[0] for level in levels])
    zones = scene.ground.zones_at(np.array([shaft.xy_m], dtype=np.float64))
    rock_depth_m, rock_soil = scene.ground.rock(zones)
    above = np.repeat(scene.ground.soil_class(zones).astype(np.int64), len(levels))
    deepest_m = depth_m.max(axis=1)
    # all of the shaft's soils are mixed in its backfill: the worse of both where it was dug into rock
    soil = np.where(deepest_m > rock_depth_m, rock_soil, above).astype(np.int64)
    lowest_m = np.repeat(scene.ground.groundwater_depth_m(zones) + a.groundwater.lowest_fall_m, len(levels))
    radius_m = a.pipe.trench_outer_diameter_m / 2.0
    crowns_m = depth_m.min(axis=1) - radius_m
    heat = ground_round(scene, soil, above, crowns_m, lowest_m)
    around = spread_over(side_by_side([heat]), depth_m.shape)
    return CablePlaces(
        construction="shaft",
        section=-1,
        drive=-1,
        shaft=index,
        chainage_m=route.chainage_m[vertex],
        depth_m=depth_m,
        offset_m=offset_m,
        rho_K_m_per_W=around.rho_K_m_per_W,
        ratio=around.ratio,
        column_m=around.column_m,
        column_rho_K_m_per_W=around.column_rho_K_m_per_W,
        column_dry_K_m_per_W=around.column_dry_K_m_per_W,
        soil=soil,
        surround=surround(a, a.pipe.trench_outer_diameter_m),
        bedding=None,
    )


def _end(scene: Scene, index: int, is_upper: bool) -> tuple[int, Array, Array]:
    """Return vertex of the route, depths and places across the line of the cables at one end of a drive."""
    drive, line, a = scene.plan.drives[index], scene.lines[index], scene.assumptions
    shaft = scene.plan.shafts[drive.upper_shaft if is_upper else drive.lower_shaft]
    crown_m = drive.upper_crown_m if is_upper else drive.lower_crown_m
    axis_m = shaft.ground_m - crown_m + line.radius_m
    axis_m = axis_m if line.drive.curve is None else max(axis_m, trench_axis_m(a))
    ring = pipe_ring(a, drive.method)
    offset_m = np.asarray(line.offsets_m, dtype=np.float64) if ring is None else ring.offset_m
    depth_m = np.full(len(offset_m), axis_m) if ring is None else axis_m - ring.height_m
    return (drive.to_vertex if is_upper else drive.from_vertex), depth_m, offset_m
