"""The cable along the route, proved once on the finished plan: rating, spacing, field, soil, its curve.

Room: ``audit``. Pulls stand in a module of their own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.audit.cable_dip_ramps import prove_dip_ramps_rating
from routescreen.audit.cable_dips import prove_dips_rating
from routescreen.audit.cable_field import RETURN, cable_field, has_direct_current
from routescreen.audit.cable_heat import prove_other_heat
from routescreen.audit.cable_places import CablePlaces, lay_cables
from routescreen.audit.cable_pulls import prove_pulls
from routescreen.audit.cable_ratings import rate_places, soil_rises_K
from routescreen.audit.cable_shafts import prove_shafts_rating
from routescreen.audit.cable_told import (
    NO_RULE,
    SOURCE,
    UNKNOWN,
    WIDEST_M,
    CablePart,
    element_of,
    first_unknown,
    lowest_place,
    place_of,
    reason_at,
    some_places,
    spacing_asked_m,
    too_warm,
    tried_in_vain,
    why_not,
)
from routescreen.audit.drive_curves import points_kept
from routescreen.audit.report import Ledger, Limit, Place
from routescreen.audit.scene import words
from routescreen.audit.trench_crossing_proofs import prove_trench_crossings
from routescreen.counted import counted
from routescreen.drives.cable_make import asked_A, cable_make, is_rated
from routescreen.drives.tunnel import pipe_ring

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]


def prove_cable(scene: Scene, ledger: Ledger) -> pd.DataFrame:
    """Prove the cable along a plan and lay out its curve.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.

    Returns
    -------
    DataFrame
        The columns of the layer ``cable_curve``, with `section_index` in place of names.
    """
    parts = [_part(scene, places) for places in lay_cables(scene)]
    dips = prove_trench_crossings(scene, Ledger())  # entered with the other crossings, here only found
    for part in parts:
        _prove_rating(scene, ledger, part)
        if part.places.is_tunnel:
            _prove_room(scene, ledger, part.places)
        elif part.places.construction == "drive" and part.places.offset_m.shape[1] > 1:
            _prove_spacing(scene, ledger, part)
    _prove_fields(scene, ledger, parts)
    _tell_compass(scene, ledger, parts)
    special = prove_shafts_rating(scene, ledger)
    special += prove_dips_rating(scene, ledger, dips)
    special += prove_dip_ramps_rating(scene, ledger)
    special += prove_other_heat(scene, ledger, parts, dips)
    _prove_link(scene, ledger, [*parts, *special])
    _prove_drop(scene, ledger)
    _tell_soil(scene, ledger, parts)
    prove_pulls(scene, ledger)
    curves = [_curve(part) for part in parts]
    return pd.concat(curves, ignore_index=True) if curves else pd.DataFrame()


def _part(scene: Scene, places: CablePlaces) -> CablePart:
    a, rating = scene.assumptions, rate_places(scene.assumptions, places)
    chainage = places.chainage_m
    shallow, deep = -places.depth_m.min(axis=1), places.depth_m.max(axis=1)
    at = np.arange(len(chainage))
    if places.construction != "open_cut":
        at = points_kept(chainage - chainage[0], [-rating.rating_A, shallow, deep])
    kept = some_places(places, at)
    bearing = _bearing_deg(scene, kept.chainage_m)
    field = cable_field(a, kept.depth_m, kept.offset_m, bearing) if has_direct_current(a) else None
    return CablePart(places, rating, at, field, soil_rises_K(a, kept))


def _bearing_deg(scene: Scene, chainage_m: Array) -> Array:
    """Return the bearing of the alignment at chainages, from grid north [deg]."""
    route = scene.route
    piece = np.clip(np.searchsorted(route.chainage_m, chainage_m, side="right") - 1, 0, route.n_pieces - 1)
    heading = route.direction[piece]
    return np.asarray(np.degrees(np.arctan2(heading[:, 0], heading[:, 1])))


def _prove_rating(scene: Scene, ledger: Ledger, part: CablePart) -> None:
    """Compare the lowest rating with the link's current; ramps are entered on their shaft."""
    places, rating = part.places, part.rating
    name = "cable_rating_ramp" if places.construction == "ramp" else "cable_rating"
    limit, element = Limit(name, "A", SOURCE), element_of(scene, places)
    lowest = lowest_place(rating)
    current = asked_A(scene.assumptions)
    unknown = first_unknown(rating)
    if unknown >= 0 and not (lowest >= 0 and rating.rating_A[lowest] < current):
        place = place_of(scene, places, unknown)
        ledger.not_evaluated(element, limit, place, why_not(scene))
        return
    reason = reason_at(scene, places, rating, lowest) + too_warm(scene, [part])
    if rating.rating_A[lowest] < current:
        reason += tried_in_vain(scene, places, lowest)
    place = place_of(scene, places, lowest)
    ledger.finding(element, limit, current, float(rating.rating_A[lowest]), place, reason)


def _prove_spacing(scene: Scene, ledger: Ledger, part: CablePart) -> None:
    """Compare the largest distance between bores that the current asks for anywhere with that built."""
    places, a = part.places, scene.assumptions
    limit, element = Limit("thermal_spacing", "m", SOURCE), scene.drive_id(places.drive)
    if lowest_place(part.rating) < 0 or first_unknown(part.rating) >= 0:
        place = place_of(scene, places, max(first_unknown(part.rating), 0))
        ledger.not_evaluated(element, limit, place, why_not(scene))
        return
    needed = spacing_asked_m(scene, part)
    # where no distance suffices the warmest of such places is told
    is_none = np.isnan(needed)
    none_at = np.where(is_none, part.rating.rating_A[part.at], np.inf)
    worst = int(np.argmin(none_at)) if is_none.any() else int(np.argmax(needed))
    at = int(part.at[worst])
    needed_m, built_m = float(needed[worst]), float(places.spacing_m[at])
    asked = f"{asked_A(a):g} A ask for {needed_m:.2f} m"
    if np.isnan(needed_m):
        needed_m, asked = WIDEST_M, f"even {WIDEST_M:g} m don't let the bores carry {asked_A(a):g} A"
    depth_m = float(places.depth_m[at].max())
    reason = f"{asked} where they ask for most, axes {depth_m:.2f} m deep; {built_m:.2f} m are built"
    ledger.finding(element, limit, needed_m, built_m, place_of(scene, places, at), reason)


def _prove_room(scene: Scene, ledger: Ledger, places: CablePlaces) -> None:
    """Compare the circle round all pipes of a tunnel with the room inside it."""
    limit, element = Limit("tunnel_room", "m", "assumptions, [methods]"), scene.drive_id(places.drive)
    place = place_of(scene, places, 0)
    ring = pipe_ring(scene.assumptions, scene.plan.drives[places.drive].method)
    if ring is None or np.isnan(ring.inside_diameter_m):
        ledger.not_evaluated(element, limit, place, "how wide the tunnel is inside isn't given")
        return
    reason = (
        f"{counted(len(ring.offset_m), 'pipe')} round the axis, neighbours {places.spacing_m[0]:.2f} m "
        "apart; how men and saddles find room between them isn't looked at"
    )
    ledger.finding(element, limit, ring.needed_m, ring.inside_diameter_m, place, reason)


def _prove_fields(scene: Scene, ledger: Ledger, parts: Sequence[CablePart]) -> None:
    """Compare the largest field above each drive and each open cut, ramps included, with the limit."""
    for section in range(scene.route.n_sections):
        mine = [part for part in parts if part.places.section == section]
        if mine:
            _prove_field(scene, ledger, mine)


def _prove_field(scene: Scene, ledger: Ledger, parts: list[CablePart]) -> None:
    land, first = scene.assumptions.checks.land, parts[0].places
    limit = Limit("magnetic_field", "uT", "assumptions, [checks.land]; Biot and Savart", tolerance=1e-9)
    drive, section = first.drive if first.construction == "drive" else -1, first.section
    element = scene.drive_id(drive) if drive >= 0 else scene.section_id(section)
    missing = [p for p in parts if p.field is None or np.isnan(p.field.field_uT).any()]
    if missing:
        why = UNKNOWN if missing[0].field is not None else NO_RULE
        ledger.not_evaluated(element, limit, place_of(scene, first, 0), why)
        return
    fields = [p.field for p in parts if p.field is not None]
    worst = int(np.argmax([f.field_uT.max() for f in fields]))
    field, places, at = fields[worst], parts[worst].places, parts[worst].at
    point = int(np.argmax(field.field_uT))
    cases = field.by_case_uT[point]
    bad = int(np.argmax(cases))
    reason = (
        f"{land.field_height_m:g} m above ground, axes {places.depth_m[at[point]].min():.2f} m deep, poles "
        f"in the worst order: {cases[0]:.1f} uT with {field.names[0]}, at most {cases[bad]:.1f} uT with "
        f"{field.names[bad]}"
    )
    place = place_of(scene, places, int(at[point]))
    ledger.finding(element, limit, float(cases[bad]), land.field_limit_uT, place, reason)


def _tell_compass(scene: Scene, ledger: Ledger, parts: Sequence[CablePart]) -> None:
    """Enter the largest error of a compass: no limit is set, so nothing is passed."""
    land, element = scene.assumptions.checks.land, scene.plan.corridor_id
    limit = Limit("compass_error", "deg", "assumptions, [checks.land]; level part of the cables' field")
    if not has_direct_current(scene.assumptions):
        ledger.not_evaluated(element, limit, Place(), NO_RULE)
        return
    known = [part for part in parts if part.field is not None and not np.isnan(part.field.compass_deg).any()]
    if len(known) < len(parts) or not known:
        ledger.not_evaluated(element, limit, Place(), UNKNOWN)
        return
    told, place = [], Place()
    for words_of, is_mine in (("both poles", False), ("one pole out, metallic return", True)):
        values = [_compass_deg(part, is_return=is_mine) for part in known]
        worst = int(np.argmax([value.max() for value in values]))
        point = int(np.argmax(values[worst]))
        place = place_of(scene, known[worst].places, int(known[worst].at[point]))
        told.append(f"{values[worst][point]:.0f} deg with {words_of} (chainage {place.chainage_m:.0f} m)")
    reason = (
        f"no limit is set; {land.compass_height_m:g} m above ground or bed, poles in the worst order, a "
        f"needle turns by up to {', '.join(told)}; the "
        f"earth's level field counts as {land.earth_horizontal_uT:g} uT"
    )
    ledger.not_evaluated(element, limit, place, reason)


def _compass_deg(part: CablePart, *, is_return: bool) -> Array:
    """Return the largest error of a compass at each place of the curve, with both poles or one out [deg]."""
    if part.field is None:
        raise ValueError("a part without a field turns no compass")
    wanted = [
        (RETURN in name) == is_return and (is_return or n == 0) for n, name in enumerate(part.field.names)
    ]
    return np.asarray(np.max(part.field.compass_deg[:, wanted], axis=1))


def _prove_link(scene: Scene, ledger: Ledger, parts: Sequence[CablePart]) -> None:
    """Enter the hottest place of the whole link; where less than asked for isn't certain there, amber."""
    limit, current = Limit("cable_rating", "A", SOURCE), asked_A(scene.assumptions)
    element = scene.plan.corridor_id
    known = [part for part in parts if lowest_place(part.rating) >= 0]
    missing = [part for part in parts if first_unknown(part.rating) >= 0]
    certain = [part for part in known if not part.doubt]
    worst = _hottest(certain)
    if worst is not None and (not missing or _lowest_A(worst) < current):
        feared, at = _hottest(known) or worst, lowest_place(worst.rating)
        reason = _hottest_told(scene, worst) + too_warm(scene, certain)
        where = place_of(scene, worst.places, at)
        if _lowest_A(worst) < current:
            ledger.finding(element, limit, current, _lowest_A(worst), where, reason)
        elif _lowest_A(feared) < current:
            at = lowest_place(feared.rating)
            reason = f"{_hottest_told(scene, feared)}; {feared.doubt}"
            where = place_of(scene, feared.places, at)
            ledger.amber(element, limit, current, _lowest_A(feared), where, reason)
        else:
            ledger.finding(element, limit, current, _lowest_A(feared), where, reason)
        return
    first = missing[0].places if missing else None
    place = Place() if first is None else place_of(scene, first, max(first_unknown(missing[0].rating), 0))
    ledger.not_evaluated(element, limit, place, UNKNOWN if first is None else why_not(scene))


def _hottest(parts: Sequence[CablePart]) -> CablePart | None:
    """Return the part with the lowest rating, the first of them."""
    return min(parts, key=_lowest_A, default=None)


def _lowest_A(part: CablePart) -> float:
    return float(np.nanmin(part.rating.rating_A))


def _hottest_told(scene: Scene, part: CablePart) -> str:
    where = words(part.places.construction)
    at = lowest_place(part.rating)
    return f"hottest place of the link, in {where}: {reason_at(scene, part.places, part.rating, at)}"


def _prove_drop(scene: Scene, ledger: Ledger) -> None:
    """Compare the fall of temperature over the insulation at the link's current with the maker's limit."""
    a, element = scene.assumptions, scene.plan.corridor_id
    limit = Limit("insulation_drop", "K", "assumptions, [cable]; I^2 R' T1", tolerance=1e-9)
    most = a.cable.insulation_drop_limit_K
    if most is None or not is_rated(a):
        why = NO_RULE if not is_rated(a) else "the maker's limit isn't given"
        ledger.not_evaluated(element, limit, Place(), why)
        return
    make = cable_make(a)
    reason = (
        f"{a.link.current_A:g} A give {make.heat_W_per_m:.1f} W/m in {1e6 * make.ohm_per_m:.3f} uohm/m, "
        f"which pass {make.insulation_K_m_per_W:.3f} K m/W of insulation"
    )
    ledger.finding(element, limit, make.drop_K, most, Place(), reason)


def _tell_soil(scene: Scene, ledger: Ledger, parts: Sequence[CablePart]) -> None:
    """Enter the largest rises of the soil's temperature: there is no limit on land, so nothing is passed."""
    limit = Limit("soil_heating", "K", "assumptions, [checks.rating]; line sources and their images")
    depths, element = scene.assumptions.checks.rating.report_depths_m, scene.plan.corridor_id
    if not is_rated(scene.assumptions):
        ledger.not_evaluated(element, limit, Place(), NO_RULE)
        return
    told, place = [], Place()
    for number, depth_m in enumerate(depths):
        values = [np.nan_to_num(part.soil_K[:, number], nan=-1.0) for part in parts]
        worst = int(np.argmax([value.max() for value in values]))
        point = int(np.argmax(values[worst]))
        if values[worst][point] < 0.0:
            ledger.not_evaluated(element, limit, Place(), UNKNOWN)
            return
        at = place_of(scene, parts[worst].places, int(parts[worst].at[point]))
        told.append(f"{values[worst][point]:.1f} K at {depth_m:g} m (chainage {at.chainage_m:.0f} m)")
        place = at if number == 0 else place
    reason = f"no limit is set for land; at the link's current the soil warms by up to {', '.join(told)}"
    ledger.not_evaluated(element, limit, place, reason)


def _curve(part: CablePart) -> pd.DataFrame:
    """Lay out the curve of a part."""
    places, rating, at = part.places, part.rating, part.at
    n, field = len(at), part.field
    nothing = np.full(n, np.nan)
    soil = np.full((n, 2), np.nan)
    shown = min(part.soil_K.shape[1], 2)
    soil[:, :shown] = part.soil_K[:, :shown]
    return pd.DataFrame(
        {
            "chainage_m": places.chainage_m[at],
            "section_index": np.full(n, places.section),
            "construction": np.full(n, places.construction, dtype=np.object_),
            "depth_m": places.depth_m[at].max(axis=1),
            "spacing_m": places.spacing_m[at],
            "ground_degC": rating.ground_degC[at],
            "rating_A": rating.rating_A[at],
            "ruled_by": rating.rule[at],
            "conductor_degC": rating.conductor_degC[at],
            "field_uT": nothing if field is None else field.field_uT,
            "field_both_poles_uT": nothing if field is None else field.both_poles_uT,
            "field_metallic_return_uT": nothing if field is None else field.metallic_return_uT,
            "compass_error_deg": nothing if field is None else np.max(field.compass_deg, axis=1),
            "soil_rise_first_K": soil[:, 0],
            "soil_rise_second_K": soil[:, 1],
        }
    )
