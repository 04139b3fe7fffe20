"""What binds the programme: closed seasons, quiet nights, tasks without a break; by section and drive.

Room: ``audit``. No calendar is made here: the list is what a calendar would have to keep.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from routescreen.audit.constraint_rows import COLUMNS, constraint_row, season_of
from routescreen.audit.report import Limit, Place
from routescreen.audit.scene import words
from routescreen.audit.season_proofs import prove_seasons
from routescreen.audit.shaft_checks import drives_of, footprint
from routescreen.audit.strip_constraints import strip_constraints
from routescreen.audit.trench_checks import trench_cells
from routescreen.engineering.seasons import pull_in_h

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from routescreen.audit.constraint_rows import Row
    from routescreen.audit.land_use import Sites
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

FLOOD_SEASON = "D"  # no shaft or trench in a flood zone
NOT_STANDING = ("river", "canal", "lake", "railway", "tram", "motorway", "dyke", "sea_dyke")
DURATION = "assumptions, [pipe], [checks.pull_in], [programme]; stress and hours seen in a pipe maker's table"
SOURCE = "assumptions, [programme], [checks.pull_in], [land]; common practice, no source"


def list_constraints(scene: Scene, ledger: Ledger, sites: Sites) -> pd.DataFrame:
    """List what binds the programme, flag pull-ins that reach into a quiet night, hold days against seasons.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.
    sites : Sites

    Returns
    -------
    DataFrame
        The columns of the layer ``constraints``, with `section_index`, `drive_index`, `shaft_index`.
    """
    rows = [*_seasons_of_trenches(scene), *_seasons_in_flood_zones(scene), *_seasons_of_shafts(scene, sites)]
    rows += [*_nights(scene), *strip_constraints(scene, sites)]
    for index in range(len(scene.plan.drives)):
        rows += _unbroken(scene, index)
        rows += _not_standing(scene, index)
        _prove_pull_in(scene, ledger, index)
        _prove_duration(scene, ledger, index)
    rows.sort(key=lambda row: (row["from_chainage_m"], row["constraint"]))
    table = pd.DataFrame(rows, columns=list(COLUMNS))
    prove_seasons(scene, ledger, table)
    return table


def _seasons_of_trenches(scene: Scene) -> Iterator[Row]:
    """Yield the seasons of what each open cut goes through: features, then ground cover."""
    a = scene.assumptions
    for meeting in scene.meetings:
        if meeting.drive >= 0:
            continue
        treatment = a.treatments.get(str(scene.features.kind[meeting.features[0]]))
        for letter in treatment.seasons if treatment else ():
            reason = f"the trench goes through {scene.label(meeting.features[0])}"
            span = (meeting.from_m, meeting.to_m)
            yield constraint_row((meeting.section, -1, -1), span, reason=reason, **season_of(a, letter))
    names = list(a.cover)
    for section in range(scene.route.n_sections):
        if scene.route.is_drive[scene.route.pieces_of_section(section)[0]]:
            continue
        xy_m, step_m, piece = trench_cells(scene, section)
        cover, at = scene.ground.cover_class(xy_m), scene.route.chainage_along(piece, xy_m)
        for number in np.unique(cover):
            inside = cover == number
            span = float(at[inside].min()), float(at[inside].max())
            for letter in a.cover[names[number]].seasons:
                length_m = float(step_m[inside].sum())
                reason = f"ground cover {words(names[number])} on {length_m:.0f} m of the trench between"
                row = constraint_row((section, -1, -1), span, reason=reason, **season_of(a, letter))
                yield row | {"length_m": length_m}


def _seasons_in_flood_zones(scene: Scene) -> Iterator[Row]:
    """Yield the season of each stretch of open cut whose line lies in a flood zone."""
    a, zones, route = scene.assumptions, scene.inp.flood_zones, scene.route
    if zones is None or len(zones) == 0 or FLOOD_SEASON not in a.programme.seasons:
        return
    area = shapely.union_all(np.asarray(zones.geometry.array, dtype=np.object_))
    shapely.prepare(area)
    for section in range(route.n_sections):
        if route.is_drive[route.pieces_of_section(section)[0]]:
            continue
        xy_m, step_m, piece = trench_cells(scene, section)
        at = route.chainage_along(piece, xy_m)
        for first, last in _runs(np.asarray(shapely.intersects_xy(area, xy_m[:, 0], xy_m[:, 1]))):
            span = route.span_of_cells(section, at[[first, last]], step_m[[first, last]])
            reason = f"the trench lies in a flood zone over {span[1] - span[0]:.0f} m"
            yield constraint_row((section, -1, -1), span, reason=reason, **season_of(a, FLOOD_SEASON))


def _seasons_of_shafts(scene: Scene, sites: Sites) -> Iterator[Row]:
    """Yield the seasons of what shafts, their compounds and layout strips stand in."""
    a = scene.assumptions
    for index in range(len(scene.plan.shafts)):
        areas = [footprint(scene, index), *sites.compounds[index : index + 1]]
        areas += [outline for drive, outline in sites.strips if _reception(scene, drive) == index]
        site = shapely.union_all(areas)
        drive = drives_of(scene.plan.shafts[index])[0]
        section = int(scene.route.section_of_piece[scene.plan.drives[drive].from_vertex])
        at_m = shaft_chainage_m(scene, index)
        found: dict[str, list[str]] = {}
        for feature in scene.near(site, 0.0):
            treatment = a.treatments.get(str(scene.features.kind[feature]))
            for letter in treatment.seasons if treatment else ():
                found.setdefault(letter, []).append(scene.label(int(feature)))
        cover = int(scene.ground.cover_class(np.array([scene.plan.shafts[index].xy_m]))[0])
        for letter in a.cover[list(a.cover)[cover]].seasons:
            found.setdefault(letter, []).append(f"ground cover {words(list(a.cover)[cover])}")
        if FLOOD_SEASON in a.programme.seasons and _is_in_flood_zone(scene, site):
            found.setdefault(FLOOD_SEASON, []).append("a flood zone")
        for closed, names in found.items():
            reason = f"shaft, compound or layout strip stand in {', '.join(names)}"
            yield constraint_row((section, -1, index), (at_m, at_m), reason=reason, **season_of(a, closed))


def _is_in_flood_zone(scene: Scene, area: shapely.Geometry) -> bool:
    zones = scene.inp.flood_zones
    if zones is None:
        return False
    return bool(shapely.intersects(np.asarray(zones.geometry.array, dtype=np.object_), area).any())


def _reception(scene: Scene, index: int) -> int:
    drive = scene.plan.drives[index]
    return drive.upper_shaft if drive.is_launched_at_lower else drive.lower_shaft


def shaft_chainage_m(scene: Scene, index: int) -> float:
    """Return the chainage of a shaft [m]."""
    shaft = scene.plan.shafts[index]
    drive = drives_of(shaft)[0]
    line = scene.lines[drive]
    return line.start_chainage_m + (line.plan_length_m if drive == shaft.incoming else 0.0)


def _nights(scene: Scene) -> Iterator[Row]:
    """Yield where no work is allowed at night: near homes, stretch by stretch of trench, and at shafts."""
    a, route = scene.assumptions, scene.route
    near_m = a.land.night_quiet_m
    quiet = {"from_h": a.programme.quiet_from_h, "to_h": a.programme.quiet_to_h}
    what = {"constraint": "no_night_work", "title": "no work at night near homes", **quiet}
    for section in range(route.n_sections):
        if route.is_drive[route.pieces_of_section(section)[0]]:
            continue
        xy_m, step_m, piece = trench_cells(scene, section)
        away, at = scene.ground.building_distance_m(xy_m), route.chainage_along(piece, xy_m)
        for first, last in _runs(away <= near_m):
            span = route.span_of_cells(section, at[[first, last]], step_m[[first, last]])
            least = float(away[first : last + 1].min())
            reason = f"a building lies {least:.0f} m off at the nearest; {near_m:g} m count as near"
            yield constraint_row((section, -1, -1), span, reason=reason, **what)
    for index in range(len(scene.plan.shafts)):
        away_m = home_distance_m(scene, index)
        if away_m <= near_m:
            drive = drives_of(scene.plan.shafts[index])[0]
            section = int(route.section_of_piece[scene.plan.drives[drive].from_vertex])
            at_m = shaft_chainage_m(scene, index)
            reason = f"a building lies {away_m:.0f} m off; driving stops at night, pulling in may not"
            yield constraint_row((section, -1, index), (at_m, at_m), reason=reason, **what)


def _runs(is_in: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return first and last of each unbroken run."""
    edges = np.diff(np.concatenate([[False], is_in, [False]]).astype(np.int64))

    first, last = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    return list(zip(first.tolist(), last.tolist(), strict=True))


def home_distance_m(scene: Scene, shaft: int) -> float:
    """Return how far the nearest building lies from a shaft; very far where the input has none [m]."""
    return float(scene.ground.building_distance_m(np.array([scene.plan.shafts[shaft].xy_m]))[0])


def pull_in_hours(scene: Scene, index: int) -> tuple[float, float, float] | None:
    """Return how long the pull-in of one string takes at best, expected, at worst; None without one [h].

    Parameters
    ----------
    scene : Scene
    index : int
        Of the drive.

    Notes
    -----
    Length by speed, and the welds between the pieces of the string; the grout goes in behind the pipe.
    """
    a, drive = scene.assumptions, scene.plan.drives[index]
    way = a.methods[drive.method]
    if not (way.has_layout and way.has_annulus_grout):
        return None
    speed = a.checks.pull_in.speed_m_per_min
    length_m, n_welds = scene.lines[index].true_length_m, drive.n_layout_pieces - 1
    found = [
        float(pull_in_h(length_m, v, n_welds, a.programme.tie_in_weld_h))
        for v in (speed.high, speed.expected, speed.low)
    ]
    return found[0], found[1], found[2]


def _span(scene: Scene, index: int) -> tuple[float, float]:
    line = scene.lines[index]
    return line.start_chainage_m, line.start_chainage_m + line.plan_length_m


def _section(scene: Scene, index: int) -> int:
    return int(scene.route.section_of_piece[scene.plan.drives[index].from_vertex])


def _unbroken(scene: Scene, index: int) -> Iterator[Row]:
    hours = pull_in_hours(scene, index)
    if hours is None:
        return
    n_bores, n_pieces = len(scene.lines[index].offsets_m), scene.plan.drives[index].n_layout_pieces
    laid = "one piece" if n_pieces == 1 else f"{n_pieces} pieces"
    strings = "the string" if n_bores == 1 else f"each of {n_bores} strings"
    reason = (
        f"{strings} of {scene.lines[index].true_length_m:.0f} m, laid out in {laid}, is "
        "pulled in and grouted without a stop: stopped, it sets fast"
    )
    yield constraint_row(
        (_section(scene, index), index, -1),
        _span(scene, index),
        constraint="uninterruptible",
        title="pull-in with grouting, each bore",
        low_h=hours[0],
        expected_h=hours[1],
        high_h=hours[2],
        reason=reason,
    )


def _not_standing(scene: Scene, index: int) -> Iterator[Row]:
    """Yield where a drive may not stand over the weekend."""
    for meeting in scene.meetings:
        names = [f for f in meeting.features if scene.features.kind[f] in NOT_STANDING]
        if meeting.drive != index or not names:
            continue
        yield constraint_row(
            (meeting.section, index, -1),
            (meeting.from_m, meeting.to_m),
            constraint="must_not_stand",
            title="driven through, weekends too",
            reason=f"the machine must not stand under {scene.label(names[0])}",
        )


def _prove_pull_in(scene: Scene, ledger: Ledger, index: int) -> None:
    """Compare the hours of a pull-in with the hours between two quiet nights, where homes are near."""
    hours = pull_in_hours(scene, index)
    if hours is None:
        return
    a, drive, element = scene.assumptions, scene.plan.drives[index], scene.drive_id(index)
    away = {shaft: home_distance_m(scene, shaft) for shaft in (drive.lower_shaft, drive.upper_shaft)}
    shaft = min(away, key=lambda s: away[s])
    limit, place = (
        Limit("pull_in_by_day", "h", SOURCE, tolerance=1e-9),
        Place(*_span(scene, index)[:1], index),
    )
    open_h = (a.programme.quiet_from_h - a.programme.quiet_to_h) % 24.0 or 24.0
    took = f"{hours[1]:.1f} h a bore without a break ({hours[0]:.1f} to {hours[2]:.1f})"
    if away[shaft] > a.land.night_quiet_m:
        return  # nothing limits its hours
    if hours[2] > open_h:
        reason = (
            f"{took}; a building lies {away[shaft]:.0f} m from {scene.shaft_id(shaft)}, where {open_h:g} h "
            "lie between two quiet nights: have leave to pull in at night"
        )
        ledger.amber(element, limit, hours[2], open_h, place, reason)
    else:
        ledger.finding(element, limit, hours[2], open_h, place, f"{took}; by day")


def _prove_duration(scene: Scene, ledger: Ledger, index: int) -> None:
    """Compare the hours of a pull-in with those for which the safe pull of its pipe holds."""
    hours, a = pull_in_hours(scene, index), scene.assumptions
    if hours is None:
        return
    safe_h, place = a.pipe.safe_pull_h, Place(*_span(scene, index)[:1], index)
    limit = Limit("pull_in_duration", "h", DURATION, tolerance=1e-9)
    reason = (
        f"a string is pulled for {hours[1]:.1f} h ({hours[0]:.1f} to {hours[2]:.1f}), welds included; its "
        f"safe pull is that of {a.pipe.safe_pull_stress_MPa:g} MPa, which holds for {safe_h:g} h"
    )
    if hours[2] <= safe_h:
        ledger.finding(scene.drive_id(index), limit, hours[2], safe_h, place, reason)
        return
    when = "already at the expected speed" if hours[1] > safe_h else "at the low speed"
    reason += f": {when} it is pulled for longer, when it bears less; how much less its maker must say"
    ledger.amber(scene.drive_id(index), limit, hours[2], safe_h, place, reason)
