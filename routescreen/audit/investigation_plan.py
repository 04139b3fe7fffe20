"""Plan of the ground investigation: boreholes at shafts and along drives, probings along the trench.

Room: ``audit``. Distances and depths are those of ``engineering.investigation``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from routescreen.audit.flood_proofs import DYKES
from routescreen.audit.report import Limit, Place
from routescreen.audit.scene import widest_m
from routescreen.audit.shaft_checks import drives_of, footprint
from routescreen.counted import counted
from routescreen.drives.open_cut import trench_section
from routescreen.engineering.flood import is_in_zone
from routescreen.engineering.investigation import (
    NO_STRETCHES,
    Stretches,
    borehole_chainages_m,
    drive_borehole_depth_m,
    is_inside,
    shaft_borehole_depth_m,
)
from routescreen.money.measure import bill_items

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]
    Row = dict[str, object]

SOURCE = "assumptions, [checks.investigation], [shaft]; EN 1997-2, annex B, from memory"
IN_SHAFT = (
    "layers cored, strength, grading, unit weight, permeability, groundwater level over a year (piezometer), "
    "its attack on concrete"
)
ON_DRIVE = (
    "layers cored, grading with the largest grain, strength, friction, stickiness and abrasiveness, "
    "groundwater level, thermal resistivity saturated, moist and dried out"
)
IN_ROCK = "; rock: joints, uniaxial strength, abrasiveness"
ON_TRENCH = (
    "thickness of topsoil and subsoil, soil type, groundwater level, "
    "thermal resistivity saturated, moist and dried out"
)


def plan_investigation(scene: Scene, ledger: Ledger, billed: NDArray[np.float64]) -> pd.DataFrame:
    """Lay out the ground investigation and compare its metres with the bill's.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.
    billed : ndarray of shape (n_items,)
        What the bill measures on the whole link.

    Returns
    -------
    DataFrame
        The columns of the layer ``investigation_plan``, in order of chainage, with `section_index`,
        `drive_index`, `shaft_index`, and `geometry`.
    """
    rows = [_at_shaft(scene, index) for index in range(len(scene.plan.shafts))]
    for section in range(scene.route.n_sections):
        drive = int(scene.route.drive_of_piece[scene.route.pieces_of_section(section)[0]])
        rows += _along_trench(scene, section) if drive < 0 else _along_drive(scene, section, drive)
    rows.sort(key=lambda row: (row["chainage_m"], row["kind"], row["shaft_index"]))
    for number, row in enumerate(rows, start=1):
        row["borehole_id"] = f"{scene.plan.corridor_id}-G{number:03d}"
    _prove_bill(scene, ledger, rows, billed)
    return pd.DataFrame(rows)


def _at_shaft(scene: Scene, index: int) -> Row:
    """Return the borehole beside a shaft: the offset off its outline, to the right."""
    shaft, a = scene.plan.shafts[index], scene.assumptions
    drive = drives_of(shaft)[0]
    line = scene.lines[drive]
    is_upper = drive == shaft.incoming
    right = np.array([line.direction[1], -line.direction[0]])
    corners = shapely.get_coordinates(footprint(scene, index)) - np.asarray(shaft.xy_m)
    offset_m = float(np.max(corners @ right)) + a.checks.investigation.offset_m
    at_m = line.start_chainage_m + (line.plan_length_m if is_upper else 0.0)
    xy_m = np.asarray(shaft.xy_m) + offset_m * right
    samples = scene.ground.samples(np.asarray([shaft.xy_m]))
    head_m = shaft.depth_m - float(samples.groundwater_depth_m[0])
    plug_m = a.shaft.plug_thickness_m if head_m > 0.0 else 0.0
    depth_m = float(
        shaft_borehole_depth_m(
            shaft.depth_m,
            plug_m,
            head_m,
            extra_m=a.shaft.borehole_below_shaft_m,
            share=a.checks.investigation.base_frac,
        )
    )
    water = f"groundwater {head_m:.1f} m above the base" if head_m > 0.0 else "groundwater below the base"
    reason = (
        f"shaft {shaft.depth_m:.2f} m deep, {water}; {a.checks.investigation.base_frac:g} of its depth, "
        f"and {a.shaft.borehole_below_shaft_m:g} m below the "
        + ("plug or the head of water below the base, the largest" if head_m > 0.0 else "base, the larger")
    )
    is_rock = depth_m > float(samples.rock_depth_m[0])
    section = int(scene.route.section_of_piece[scene.plan.drives[drive].from_vertex])
    return _row(
        scene,
        ("borehole", at_m, offset_m, depth_m),
        (section, drive, index),
        xy_m,
        (reason, IN_SHAFT + (IN_ROCK if is_rock else "")),
    )


def _row(
    scene: Scene,
    what: tuple[str, float, float, float],
    where: tuple[int, int, int],
    xy_m: Array,
    texts: tuple[str, str],
) -> Row:
    kind, at_m, offset_m, depth_m = what
    return {
        "borehole_id": "",
        "kind": kind,
        "section_index": where[0],
        "drive_index": where[1],
        "shaft_index": where[2],
        "chainage_m": at_m,
        "offset_m": offset_m,
        "depth_m": depth_m,
        "reason": texts[0],
        "tests": texts[1],
        "remark": _hard_to_reach(scene, xy_m),
        "geometry": shapely.Point(xy_m),
    }


def _hard_to_reach(scene: Scene, xy_m: Array) -> str | None:
    """Return in which feature a borehole stands that can't be driven up to, in which dyke's zone."""
    point, features = shapely.Point(xy_m), scene.features
    notes = []
    for feature in map(int, scene.near(point, widest_m(features.clearance_m))):
        away_m = float(shapely.distance(point, features.outline[feature]))
        zone_m = float(features.clearance_m[feature])
        if features.kind[feature] in DYKES and is_in_zone(away_m, zone_m):
            notes.append(
                f"stands {away_m:.0f} m from {scene.label(feature)}, whose protection zone is {zone_m:g} m "
                "wide: by leave of the dyke's authority, sealed over its whole depth"
            )
        if away_m > 0.0 or features.trench_ok[feature] or features.kind[feature] in DYKES:
            continue
        is_water = scene.features.cover_reference[feature] == "bed"
        how = "from a pontoon" if is_water else "by its owner's leave"
        notes.append(f"stands in {scene.label(feature)}: {how}")
    return "; ".join(notes) or None


def close_stretches(scene: Scene, drive: int) -> Stretches:
    """Return the crossings of a drive near which boreholes stand closer, overlapping ones as one.

    Parameters
    ----------
    scene : Scene
    drive : int

    Returns
    -------
    Stretches
        Chainages along the alignment.
    """
    kinds = scene.assumptions.checks.investigation.close_kinds
    spans = sorted(
        (meeting.from_m, meeting.to_m)
        for meeting in scene.meetings
        if meeting.drive == drive and any(scene.features.kind[f] in kinds for f in meeting.features)
    )
    merged: list[list[float]] = []
    gap_m = 2.0 * scene.assumptions.checks.investigation.clear_m
    for from_m, to_m in spans:
        if merged and from_m <= merged[-1][1] + gap_m:
            merged[-1][1] = max(merged[-1][1], to_m)
        else:
            merged.append([from_m, to_m])
    if not merged:
        return NO_STRETCHES
    ends = np.array(merged)
    close_m = scene.assumptions.shaft.borehole_critical_spacing_m
    return Stretches(ends[:, 0], ends[:, 1], np.full(len(ends), close_m))


def _along_drive(scene: Scene, section: int, index: int) -> list[Row]:
    """Return the boreholes between the shafts of a drive, on alternate sides of its outermost bores."""
    a, line = scene.assumptions, scene.lines[index]
    given, close = a.checks.investigation, close_stretches(scene, index)
    ends = line.start_chainage_m + np.array([0.0, line.plan_length_m])
    at = borehole_chainages_m(ends, a.shaft.borehole_spacing_m, close, clear_m=given.clear_m)[1:-1]
    outer_m = float(np.abs(line.offsets_m).max()) + line.radius_m + given.offset_m
    offset = np.where(np.arange(len(at)) % 2 == 0, outer_m, -outer_m)
    right = np.array([line.direction[1], -line.direction[0]])
    xy_m = line.lower_xy_m + (at - ends[0])[:, None] * line.direction + offset[:, None] * right
    invert_m = line.crown_m(at - ends[0]) - 2.0 * line.radius_m
    below = scene.ground.level_m(xy_m) - invert_m
    depth = drive_borehole_depth_m(
        np.maximum(below, 0.0),
        2.0 * line.radius_m,
        least_m=a.shaft.borehole_below_shaft_m,
        diameters=given.below_diameters,
    )
    rock = scene.ground.samples(xy_m, with_surroundings=False).rock_depth_m
    inside = is_inside(at, close)
    rows = []
    for k in range(len(at)):
        why = _why_close(scene, index, float(at[k])) or f"at most {a.shaft.borehole_spacing_m:g} m apart"
        if inside[k]:
            why += ", which is wider than boreholes may be apart"
        reason = f"{why}; invert {below[k]:.1f} m deep there"
        tests = ON_DRIVE + (IN_ROCK if depth[k] > rock[k] else "")
        what = ("borehole", float(at[k]), float(offset[k]), float(depth[k]))
        rows.append(_row(scene, what, (section, index, -1), xy_m[k], (reason, tests)))
    return rows


def _why_close(scene: Scene, index: int, at_m: float) -> str:
    """Return beside what crossing a borehole stands, nothing where none is near."""
    a = scene.assumptions
    reach_m = a.shaft.borehole_critical_spacing_m
    for meeting in scene.meetings:
        close = [f for f in meeting.features if scene.features.kind[f] in a.checks.investigation.close_kinds]
        if meeting.drive == index and close and meeting.from_m - reach_m <= at_m <= meeting.to_m + reach_m:
            return f"at most {reach_m:g} m apart at {scene.label(close[0])}"
    return ""


def _along_trench(scene: Scene, section: int) -> list[Row]:
    """Return the probings along an open cut: at equal distances, its ends left out where shafts stand."""
    a, route, given = scene.assumptions, scene.route, scene.assumptions.checks.investigation
    from_m, to_m = route.bounds_of_section(section)
    n = max(int(np.ceil((to_m - from_m) / given.probing_spacing_m - 1e-9)), 1)
    at = from_m + (to_m - from_m) * np.arange(n + 1) / n
    has_shaft = (section > 0, section < route.n_sections - 1)
    at = at[int(has_shaft[0]) : len(at) - int(has_shaft[1])]
    side_m = scene.ground.band_width_m(a) / 2.0 + given.offset_m
    beside_m = np.array([route.point_at(float(at_m)) for at_m in at]).reshape(-1, 2)
    depth_m = drive_borehole_depth_m(
        a.trench_depth_m,
        trench_section(scene.ground.samples(beside_m, with_surroundings=False), a).bottom_width_m,
        least_m=a.shaft.borehole_below_shaft_m,
        diameters=given.below_diameters,
    )
    rows = []
    for k, at_m in enumerate(at):
        piece = int(np.clip(np.searchsorted(route.chainage_m, at_m, side="right") - 1, 0, route.n_pieces - 1))
        heading = route.direction[piece]
        offset_m = side_m if k % 2 == 0 else -side_m
        xy_m = np.asarray(route.point_at(float(at_m))) + offset_m * np.array([heading[1], -heading[0]])
        reason = (
            f"at most {given.probing_spacing_m:g} m apart along the trench; trench {a.trench_depth_m:.2f} m "
            "deep"
        )
        what = ("probing", float(at_m), offset_m, float(depth_m[k]))
        rows.append(_row(scene, what, (section, -1, -1), xy_m, (reason, ON_TRENCH)))
    return rows


def _prove_bill(scene: Scene, ledger: Ledger, rows: list[Row], quantities: Array) -> None:
    """Compare the metres of borehole with what the bill pays."""
    a, element = scene.assumptions, scene.plan.corridor_id
    limit = Limit("investigation_in_bill", "m", SOURCE)
    boreholes = [float(row["depth_m"]) for row in rows if row["kind"] == "borehole"]  # type: ignore[arg-type]
    if np.isnan(boreholes).any():
        ledger.not_evaluated(element, limit, Place(), "the terrain isn't known at each borehole")
        return
    billed = float(quantities[bill_items(a).index["GI10"]])
    asked = sum(boreholes)
    n_probings = len(rows) - len(boreholes)
    reason = (
        f"{counted(len(boreholes), 'borehole')} of {asked:.1f} m in all, grouted afterwards, against "
        f"{billed:.1f} m in the bill (item GI10); along the trench "
        f"{counted(n_probings, 'probing')}, item GI13"
    )
    if asked > billed:
        reason += (
            "; that item counts fewer near rivers and railways and goes less deep below shafts: the rest, "
            "section by section, stands in item GI14, not weighed by the search"
        )
        ledger.amber(element, limit, asked, billed, Place(), reason)
    else:
        ledger.finding(element, limit, asked, billed, Place(), reason)
