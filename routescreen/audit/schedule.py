"""The crossing schedule and the list of sections, as tables.

Room: ``audit``. Uses the audit's own modules and pandas.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from routescreen.audit.cable_dips import TOLD
from routescreen.audit.cable_places import samples_at
from routescreen.audit.covers import cover_under
from routescreen.audit.dip_rules import crossing_dip, passage
from routescreen.audit.report import worst_confidence
from routescreen.audit.scene import Scene, cover_rules
from routescreen.drives.cable_make import asked_A
from routescreen.drives.dip import RUNGS, lay_dip

if TYPE_CHECKING:
    from routescreen.audit.bores import Depths
    from routescreen.audit.crossings import Meeting

CROSSING_COLUMNS = (
    "corridor_id",
    "crossing_id",
    "feature_id",
    "kind",
    "name",
    "point",
    "chainage_m",
    "from_chainage_m",
    "to_chainage_m",
    "width_m",
    "angle_deg",
    "treatment",
    "cover_m",
    "required_cover_m",
    "clearance_m",
    "passage",
    "section_index",
    "section_id",
    "drive_index",
    "confidence",
    "remark",
)


def crossing_table(scene: Scene) -> pd.DataFrame:
    """Return one row for each stretch of the alignment inside a crossing, in order of chainage."""
    rows = [_crossing_row(scene, index, meeting) for index, meeting in enumerate(scene.meetings)]
    return pd.DataFrame(rows, columns=list(CROSSING_COLUMNS))


def _crossing_row(scene: Scene, index: int, meeting: Meeting) -> tuple[object, ...]:
    features, members = scene.features, list(meeting.features)
    depths = _least_depths(scene, meeting)
    is_service = any(features.cover_reference[f] == "service" for f in members)
    names = list(dict.fromkeys(features.name[f] for f in members if features.name[f]))
    actual_m = depths.actual_m if depths else math.nan
    return (
        scene.plan.corridor_id,
        scene.crossing_id(index),
        ";".join(str(features.feature_id[f]) for f in members),
        str(features.kind[members[0]]),
        "; ".join(names) or None,
        shapely.Point(scene.route.point_at(meeting.middle_m)),
        meeting.middle_m,
        meeting.from_m,
        meeting.to_m,
        meeting.width_m,
        meeting.angle.angle_deg,
        "open_cut" if meeting.drive < 0 else "trenchless",
        actual_m,
        depths.required_m if depths else math.nan,
        actual_m if is_service else math.nan,
        passage(scene, meeting),
        meeting.section,
        scene.section_id(meeting.section),
        meeting.drive,
        worst_confidence(*(str(features.confidence[f]) for f in members)),
        _remark(scene, meeting),
    )


def _least_depths(scene: Scene, meeting: Meeting) -> Depths | None:
    """Return the worst depth of any bore under any member, None in open cut."""
    if meeting.drive < 0:
        return None
    drive, line = scene.plan.drives[meeting.drive], scene.lines[meeting.drive]
    rules = cover_rules(scene, drive)
    found = [cover_under(line, scene.ground, scene.features, f, rules) for f in meeting.features]
    known = [depths for depths in found if depths is not None]
    return min(known, key=lambda d: d.actual_m - d.required_m, default=None)


def _remark(scene: Scene, meeting: Meeting) -> str | None:
    """Return what to know before work: consent that is needed, services to expose."""
    features, members = scene.features, list(meeting.features)
    notes = []
    if any(features.needs_consent[f] for f in members):
        notes.append("by the owner's consent only")
    unsure_m = max(float(features.record_uncertainty_m[f]) for f in members)
    if unsure_m > 0.0:
        notes.append(f"by record, +-{unsure_m:g} m, expose before work")
    if way := _way(scene, meeting):
        notes.append(way)
    if _is_missed_by_alignment(scene, meeting):
        notes.append("met by bores beside the alignment only")
    return "; ".join(notes) or None


def _way(scene: Scene, meeting: Meeting) -> str:
    """Say how deep the trench dips and how the pipes lie there, nothing where it doesn't."""
    a, dip = scene.assumptions, crossing_dip(scene, meeting.crossing)
    if meeting.drive >= 0 or dip is None:
        return ""
    samples = samples_at(scene, np.array([meeting.middle_m]))
    (laid,) = lay_dip(samples, dip.dip, a)
    way = laid.way
    bears = "" if math.isnan(way.rating_A) else f", {way.rating_A:.0f} A of {asked_A(a):.0f} A"
    lies = f"pipes' tops {dip.dip.below_ground_m:.2f} m deep and {way.spacing_m:.2f} m apart"
    return f"under it in a dip, {lies}: {TOLD[RUNGS[way.rung]]}{bears}"


def _is_missed_by_alignment(scene: Scene, meeting: Meeting) -> bool:
    """Tell whether only bores beside the alignment pass under what is met."""
    pieces = scene.route.segments(scene.route.pieces_of_section(meeting.section))
    outlines = scene.features.outline[list(meeting.features)]
    return not shapely.intersects(pieces[:, None], outlines[None, :]).any()


def section_table(scene: Scene) -> pd.DataFrame:
    """Return one row a section, from start to end without gap or overlap."""
    rows = []
    for section in range(scene.route.n_sections):
        pieces = scene.route.pieces_of_section(section)
        drive = int(scene.route.drive_of_piece[pieces[0]])
        from_m, to_m = scene.route.bounds_of_section(section)
        method = scene.plan.drives[drive].method if drive >= 0 else None
        construction = "drive" if scene.route.is_drive[pieces[0]] else "open_cut"
        rows.append((scene.section_id(section), construction, method, drive, from_m, to_m, to_m - from_m))
    columns = ["section_id", "construction", "method", "drive_index"]
    columns += ["from_chainage_m", "to_chainage_m", "length_m"]
    return pd.DataFrame(rows, columns=columns)
