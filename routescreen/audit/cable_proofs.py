"""The cable along the route, proved once on the finished plan: rating, spacing, field, soil, its curve.

Room: ``audit``. Pulls stand in a module of their own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.audit.cable_field import RETURN, CableField, cable_field, has_direct_current
from routescreen.audit.cable_places import CablePlaces, lay_cables
from routescreen.audit.cable_pulls import prove_pulls
from routescreen.audit.cable_ratings import (
    DRIED,
    NEIGHBOURS,
    CableRating,
    heat_path,
    rate_places,
    soil_rises_K,
)
from routescreen.audit.drive_curves import points_kept
from routescreen.audit.report import Limit, Place
from routescreen.audit.scene import words
from routescreen.drives.cable_make import cable_make, current_shares, is_rated
from routescreen.drives.trench_spacing import spacings_m
from routescreen.drives.tunnel import pipe_ring
from routescreen.engineering.rating import HeatPath
from routescreen.engineering.rating_solved import spacing_needed_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

WIDEST_M = 50.0  # no wider spacing of bores is looked for
HEAT_SOURCES = ("power_cable",)
SOURCE = "assumptions, [link], [cable], [checks.rating], [soil]; by analogy to IEC 60287"
NO_RULE = "the formulae cover cables of direct current in normal service only"
COLUMN = ("column_m", "column_rho_K_m_per_W", "column_dry_K_m_per_W")  # ground above the groundwater
UNKNOWN = "the ground isn't known all along"


@dataclass(frozen=True, slots=True)
class CablePart:
    """One drive, ramp or run of open cut, with all that was worked out along it.

    `at` are the places that the curve keeps; field and soil are worked out there only.
    """

    places: CablePlaces
    rating: CableRating
    at: NDArray[np.int64]
    field: CableField | None
    soil_K: Array


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
    for part in parts:
        _prove_rating(scene, ledger, part)
        if part.places.is_tunnel:
            _prove_room(scene, ledger, part.places)
        elif part.places.construction == "drive" and part.places.offset_m.shape[1] > 1:
            _prove_spacing(scene, ledger, part)
    _prove_fields(scene, ledger, parts)
    _tell_compass(scene, ledger, parts)
    _prove_link(scene, ledger, parts)
    _prove_drop(scene, ledger)
    _tell_soil(scene, ledger, parts)
    _tell_other_heat(scene, ledger)
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
    kept = _some(places, at)
    bearing = _bearing_deg(scene, kept.chainage_m)
    field = cable_field(a, kept.depth_m, kept.offset_m, bearing) if has_direct_current(a) else None
    return CablePart(places, rating, at, field, soil_rises_K(a, kept))


def _bearing_deg(scene: Scene, chainage_m: Array) -> Array:
    """Return the bearing of the alignment at chainages, from grid north [deg]."""
    route = scene.route
    piece = np.clip(np.searchsorted(route.chainage_m, chainage_m, side="right") - 1, 0, route.n_pieces - 1)
    heading = route.direction[piece]
    return np.asarray(np.degrees(np.arctan2(heading[:, 0], heading[:, 1])))


def _some(places: CablePlaces, at: NDArray[np.int64]) -> CablePlaces:
    """Return some of the places, without their bedding: what is asked of them doesn't depend on it."""
    names = ("chainage_m", "depth_m", "offset_m", "rho_K_m_per_W", "ratio", "soil")
    part = {name: getattr(places, name)[at] for name in (*names, *COLUMN)}
    return CablePlaces(
        construction=places.construction,
        section=places.section,
        drive=places.drive,
        shaft=places.shaft,
        surround=places.surround,
        bedding=None,
        **part,
    )


def _element(scene: Scene, places: CablePlaces) -> str:
    if places.construction == "drive":
        return scene.drive_id(places.drive)
    return scene.shaft_id(places.shaft) if places.shaft >= 0 else scene.section_id(places.section)


def _place(scene: Scene, places: CablePlaces, point: int) -> Place:
    at_m = float(places.chainage_m[point])
    xy_m = scene.route.point_at(at_m)
    if places.construction == "drive":
        return Place(at_m, drive=places.drive, xy_m=xy_m)
    return Place(at_m, section=places.section, xy_m=xy_m)


def _why_not(scene: Scene) -> str:
    return UNKNOWN if is_rated(scene.assumptions) else NO_RULE


def _first_unknown(rating: CableRating) -> int:
    """Return the first place without a rating, -1 if all have one."""
    unknown = np.flatnonzero(np.isnan(rating.rating_A))
    return int(unknown[0]) if len(unknown) else -1


def _prove_rating(scene: Scene, ledger: Ledger, part: CablePart) -> None:
    """Compare the lowest rating with the link's current; ramps are entered on their shaft."""
    places, rating = part.places, part.rating
    name = "cable_rating_ramp" if places.construction == "ramp" else "cable_rating"
    limit, element = Limit(name, "A", SOURCE), _element(scene, places)
    lowest = _lowest(rating)
    current = scene.assumptions.link.current_A
    unknown = _first_unknown(rating)
    if unknown >= 0 and not (lowest >= 0 and rating.rating_A[lowest] < current):
        place = _place(scene, places, unknown)
        ledger.not_evaluated(element, limit, place, _why_not(scene))
        return
    reason = _reason(scene, places, rating, lowest) + _too_warm(scene, [part])
    if rating.rating_A[lowest] < current:
        reason += _tried(scene, places, lowest)
    elif _enter_dry_column(scene, ledger, part, element, limit):
        return
    place = _place(scene, places, lowest)
    ledger.finding(element, limit, current, float(rating.rating_A[lowest]), place, reason)


def _enter_dry_column(scene: Scene, ledger: Ledger, part: CablePart, element: str, limit: Limit) -> bool:
    """Enter amber where ground above the groundwater may dry out over the cables and would be too much.

    Returns whether it did.
    """
    places, rating = part.places, part.rating
    current, most_K = scene.assumptions.link.current_A, scene.assumptions.checks.rating.drying_rise_K
    bears_A = np.where(rating.column_K > most_K, rating.column_dried_A, np.inf)
    at = int(np.argmin(bears_A))
    if bears_A[at] >= current:
        return False
    reason = (
        f"{_reason(scene, places, rating, at)}; just above the lowest groundwater it warms by "
        f"{rating.column_K[at]:.1f} K, more than {most_K:g} K: dried out up there {bears_A[at]:.0f} A"
    )
    ledger.amber(element, limit, current, float(bears_A[at]), _place(scene, places, at), reason)
    return True


def _tried(scene: Scene, places: CablePlaces, at: int) -> str:
    """Say that no spacing of the pipes in open cut would do, where one was looked for."""
    a = scene.assumptions
    if places.construction != "open_cut" or not a.search.rating_steers or a.n_pipes_per_trench < 2:
        return ""
    most_m = float(spacings_m(a)[-1])
    if places.spacing_m[at] < most_m - 1e-6:
        return ""
    return f"; no spacing of the pipes up to {most_m:.2f} m bears the current"


def _too_warm(scene: Scene, parts: Sequence[CablePart]) -> str:
    """Say over what length less than the link's current can be carried; nothing where it all can."""
    current = scene.assumptions.link.current_A
    lengths = np.array([_lengths_below_m(part, current) for part in parts]).sum(axis=0)
    if lengths[0] <= 0.0:
        return ""
    return f"; less than {current:g} A over {lengths[0]:.0f} m of {lengths[1]:.0f} m"


def _lengths_below_m(part: CablePart, current_A: float) -> tuple[float, float]:
    """Return the length of a part with a rating below a current, and its whole length [m].

    Between two places of which one is below, half the way counts.
    """
    step_m = np.diff(part.places.chainage_m)
    is_below = np.asarray(part.rating.rating_A < current_A, dtype=np.float64)
    return float(step_m @ (is_below[1:] + is_below[:-1]) / 2.0), float(step_m.sum())


def _lowest(rating: CableRating) -> int:
    """Return the place with the lowest rating, -1 where none is evaluated."""
    if np.isnan(rating.rating_A).all():
        return -1
    return int(np.nanargmin(rating.rating_A))


def _reason(scene: Scene, places: CablePlaces, rating: CableRating, at: int) -> str:
    """Say what lies where and what each state of the ground would carry."""
    a = scene.assumptions
    soil, given = list(a.soil)[places.soil[at]], a.checks.rating
    apart = f", {places.spacing_m[at]:.2f} m apart" if places.offset_m.shape[1] > 1 else ""
    lies = (
        f"{words(soil)}, axes {places.depth_m[at].max():.2f} m deep{apart}, "
        f"ground {rating.ground_degC[at]:.1f} degC"
    )
    if np.all(places.ratio[at] == 1.0):
        column_m = float(places.column_m[at].max())
        over = f", {column_m:.2f} m of moist ground above that" if column_m > 0.0 else ""
        return f"{lies}: {rating.moist_A[at]:.0f} A; below the lowest groundwater it can't dry out{over}"
    figures = (
        f"{lies}: {rating.moist_A[at]:.0f} A in moist ground, {rating.drying_A[at]:.0f} A with a dry zone "
        f"round each cable, {rating.dried_A[at]:.0f} A dried out all round"
    )
    if rating.rule[at] not in (DRIED, NEIGHBOURS):
        return figures
    least_K = given.neighbour_drying_frac * given.drying_rise_K
    above = "" if rating.rule[at] == DRIED else f" above {rating.rating_A[at]:.0f} A"
    return f"{figures}, which counts{above}, as neighbours alone heat the ground by more than {least_K:g} K"


def _prove_spacing(scene: Scene, ledger: Ledger, part: CablePart) -> None:
    """Compare the largest distance between bores that the current asks for anywhere with that built."""
    places, a = part.places, scene.assumptions
    limit, element = Limit("thermal_spacing", "m", SOURCE), scene.drive_id(places.drive)
    if _lowest(part.rating) < 0 or _first_unknown(part.rating) >= 0:
        place = _place(scene, places, max(_first_unknown(part.rating), 0))
        ledger.not_evaluated(element, limit, place, _why_not(scene))
        return
    needed = _spacing_needed_m(scene, part)
    # where no distance suffices the warmest of such places is told
    is_none = np.isnan(needed)
    none_at = np.where(is_none, part.rating.rating_A[part.at], np.inf)
    worst = int(np.argmin(none_at)) if is_none.any() else int(np.argmax(needed))
    at = int(part.at[worst])
    needed_m, built_m = float(needed[worst]), float(places.spacing_m[at])
    asked = f"{a.link.current_A:g} A ask for {needed_m:.2f} m"
    if np.isnan(needed_m):
        needed_m, asked = WIDEST_M, f"even {WIDEST_M:g} m don't let the bores carry {a.link.current_A:g} A"
    depth_m = float(places.depth_m[at].max())
    reason = f"{asked} where they ask for most, axes {depth_m:.2f} m deep; {built_m:.2f} m are built"
    ledger.finding(element, limit, needed_m, built_m, _place(scene, places, at), reason)


def _spacing_needed_m(scene: Scene, part: CablePart) -> Array:
    """Return what each place of the curve asks for, all bores as deep and as warm as the worst there [m]."""
    a, kept = scene.assumptions, _some(part.places, part.at)
    path = heat_path(a, kept)
    single = HeatPath(
        conductor_ohm_per_m=path.conductor_ohm_per_m,
        inside_K_m_per_W=path.inside_K_m_per_W,
        outer_diameter_m=path.outer_diameter_m,
        conductor_degC=path.conductor_degC,
        ground_degC=_largest(path.ground_degC, len(part.at)),
        rho_K_m_per_W=_largest(kept.rho_K_m_per_W, len(part.at)),
        drying_ratio=_largest(kept.ratio, len(part.at)),
        drying_rise_K=path.drying_rise_K,
        neighbour_limit_frac=path.neighbour_limit_frac,
        column_m=_largest(kept.column_m, len(part.at)),
        column_rho_K_m_per_W=_largest(kept.column_rho_K_m_per_W, len(part.at)),
    )
    return spacing_needed_m(
        a.link.current_A,
        kept.depth_m.max(axis=1),
        kept.offset_m.shape[1],
        single,
        least_m=path.outer_diameter_m,
        most_m=WIDEST_M,
        share=current_shares(a),
    )


def _largest(values: ArrayLike, n: int) -> Array:
    """Return the largest value of each of n places, with a last axis of 1."""
    return np.asarray(np.asarray(values, dtype=np.float64).reshape(n, -1).max(axis=1, keepdims=True))


def _prove_room(scene: Scene, ledger: Ledger, places: CablePlaces) -> None:
    """Compare the circle round all pipes of a tunnel with the room inside it."""
    limit, element = Limit("tunnel_room", "m", "assumptions, [methods]"), scene.drive_id(places.drive)
    place = _place(scene, places, 0)
    ring = pipe_ring(scene.assumptions, scene.plan.drives[places.drive].method)
    if ring is None or np.isnan(ring.inside_diameter_m):
        ledger.not_evaluated(element, limit, place, "how wide the tunnel is inside isn't given")
        return
    reason = (
        f"{len(ring.offset_m)} pipes round the axis, neighbours {places.spacing_m[0]:.2f} m apart; how men "
        "and saddles find room between them isn't looked at"
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
        ledger.not_evaluated(element, limit, _place(scene, first, 0), why)
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
    place = _place(scene, places, int(at[point]))
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
        place = _place(scene, known[worst].places, int(known[worst].at[point]))
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
    """Enter the hottest place of the whole link."""
    limit, current = Limit("cable_rating", "A", SOURCE), scene.assumptions.link.current_A
    element = scene.plan.corridor_id
    known = [part for part in parts if _lowest(part.rating) >= 0]
    missing = [part for part in parts if _first_unknown(part.rating) >= 0]
    if known:
        worst = min(known, key=lambda p: float(np.nanmin(p.rating.rating_A)))
        at = _lowest(worst.rating)
        rating = float(worst.rating.rating_A[at])
        if not missing or rating < current:
            where = words(worst.places.construction)
            reason = (
                f"hottest place of the link, in {where}: {_reason(scene, worst.places, worst.rating, at)}"
                f"{_too_warm(scene, known)}"
            )
            ledger.finding(element, limit, current, rating, _place(scene, worst.places, at), reason)
            return
    first = missing[0].places if missing else None
    place = Place() if first is None else _place(scene, first, max(_first_unknown(missing[0].rating), 0))
    ledger.not_evaluated(element, limit, place, UNKNOWN if first is None else _why_not(scene))


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
        at = _place(scene, parts[worst].places, int(parts[worst].at[point]))
        told.append(f"{values[worst][point]:.1f} K at {depth_m:g} m (chainage {at.chainage_m:.0f} m)")
        place = at if number == 0 else place
    reason = f"no limit is set for land; at the link's current the soil warms by up to {', '.join(told)}"
    ledger.not_evaluated(element, limit, place, reason)


def _tell_other_heat(scene: Scene, ledger: Ledger) -> None:
    """Enter each crossing of another source of heat, whose heat isn't known."""
    limit = Limit("other_heat", "K", "input, layer crossings")
    for number, meeting in enumerate(scene.meetings):
        sources = [f for f in meeting.features if scene.features.kind[f] in HEAT_SOURCES]
        if not sources:
            continue
        at_m = meeting.middle_m
        place = Place(at_m, drive=meeting.drive, section=meeting.section, xy_m=scene.route.point_at(at_m))
        reason = f"the heat of {scene.label(sources[0])} isn't known; where it crosses less can be carried"
        ledger.not_evaluated(scene.crossing_id(number), limit, scene.feature_place(sources[0], place), reason)


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
