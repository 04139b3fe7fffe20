"""Checks on open cut: bans along the trench and its strip, clearances, stubs, the ground of the trenches.

Room: ``audit``. Uses the audit's own modules only. The strip of each straight piece is a rectangle
with square ends: works widen a trench sideways, not ahead.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.band import bands_of_section, strip_width_m
from routescreen.audit.report import TOLERANCE_M, Ledger, Limit, Place
from routescreen.audit.route import cells_between
from routescreen.audit.scene import Scene, meeting_place, widest_m
from routescreen.audit.trench_alongside import check_alongside
from routescreen.audit.trench_ground import check_ground_of_trenches

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.crossings import Meeting

TREATMENTS = "assumptions, [treatments]"


@dataclass(frozen=True, slots=True)
class Strip:
    """The working strip of one straight piece of open cut."""

    piece: int
    section: int
    area: shapely.Geometry


def check_trenches(scene: Scene, ledger: Ledger) -> None:
    """Check every run of open cut of the plan."""
    for index, meeting in enumerate(scene.meetings):
        _check_ban(scene, ledger, index, meeting)
    for strip in strips(scene):
        _check_strip(scene, ledger, strip)
        _check_narrow(scene, ledger, strip)
    for section in range(scene.route.n_sections):
        pieces = scene.route.pieces_of_section(section)
        if not scene.route.is_drive[pieces[0]]:
            _check_run_length(scene, ledger, section)
            bands = bands_of_section(scene, section)
            check_ground_of_trenches(scene, ledger, bands)
            check_alongside(scene, ledger, section, bands)


def _check_ban(scene: Scene, ledger: Ledger, index: int, meeting: Meeting) -> None:
    """Check that no trench goes through what must not be cut, and no drive under what bars drives."""
    allowed = scene.features.trench_ok if meeting.drive < 0 else scene.features.drive_ok
    barring = [f for f in meeting.features if not allowed[f]]
    what = "trench through" if meeting.drive < 0 else "drive under"
    limit = Limit("treatment", "m", TREATMENTS, "record", tolerance=0.0)
    place = meeting_place(scene, meeting)
    first = barring[0] if barring else meeting.features[0]
    place = scene.feature_place(first, place)
    reason = f"{what} {scene.label(first)} is " + ("not allowed" if barring else "allowed")
    element = scene.crossing_id(index)
    if barring:
        ledger.at_most(element, limit, max(meeting.width_m, TOLERANCE_M), 0.0, place, reason)
    else:
        ledger.at_least(element, limit, 0.0, 1.0, place, reason)


def strips(scene: Scene) -> list[Strip]:
    """Return the working strip of each straight piece of open cut."""
    found = []
    for piece in np.flatnonzero(~scene.route.is_drive):
        half_m = strip_width_m(scene, int(piece)) / 2.0
        ends = scene.route.xy_m[[piece, piece + 1]]
        area = shapely.LineString(ends).buffer(half_m, cap_style="flat")
        found.append(Strip(int(piece), int(scene.route.section_of_piece[piece]), area))
    return found


def _check_strip(scene: Scene, ledger: Ledger, strip: Strip) -> None:
    """Check the distance from the strip to each feature that must not be cut."""
    features = scene.features
    limit = Limit("trench_clearance", "m", TREATMENTS, "record")
    for feature in scene.near(strip.area, widest_m(features.clearance_m) + TOLERANCE_M):
        if features.trench_ok[feature]:
            continue
        required_m = float(features.clearance_m[feature])
        away_m = float(shapely.distance(strip.area, features.geometry[feature]))
        clear_m = max(away_m - float(features.half_width_m[feature]), 0.0)
        if clear_m >= required_m + 1.0:
            continue
        if clear_m == 0.0:
            required_m = max(required_m, 2.0 * TOLERANCE_M)
        place = scene.feature_place(int(feature), _nearest_on_piece(scene, strip, int(feature)))
        reason = (
            f"the working strip comes within {clear_m:.2f} m of {scene.label(int(feature))}, "
            f"which must not be cut; keep {required_m:g} m"
        )
        element = scene.section_id(strip.section)
        ledger.at_least(element, limit, required_m, clear_m, place, reason)


def _check_narrow(scene: Scene, ledger: Ledger, strip: Strip) -> None:
    """Check that the strip narrows only near buildings: both ends of the piece lie near one."""
    if not scene.route.is_narrow[strip.piece]:
        return
    ends_xy_m = scene.route.xy_m[[strip.piece, strip.piece + 1]]
    away_m = scene.ground.building_distance_m(ends_xy_m)
    worst = int(np.argmax(away_m))
    allowed_m = scene.assumptions.trench.narrow_within_m
    limit = Limit("narrow_strip", "m", "assumptions, [trench]", "record")
    xy_m = (float(ends_xy_m[worst, 0]), float(ends_xy_m[worst, 1]))
    place = Place(float(scene.route.chainage_m[strip.piece + worst]), section=strip.section, xy_m=xy_m)
    reason = f"the working strip may narrow within {allowed_m:g} m of a building"
    ledger.at_most(scene.section_id(strip.section), limit, float(away_m[worst]), allowed_m, place, reason)


def _nearest_on_piece(scene: Scene, strip: Strip, feature: int) -> Place:
    """Return the place on a piece's centre line that lies nearest to a feature."""
    line = scene.route.segments(np.array([strip.piece]))[0]
    xy_m = shapely.get_coordinates(shapely.shortest_line(line, scene.features.geometry[feature]))[:1]
    at_m = float(scene.route.chainage_along(np.array([strip.piece]), xy_m)[0])
    return Place(at_m, section=strip.section, xy_m=(float(xy_m[0, 0]), float(xy_m[0, 1])))


def _check_run_length(scene: Scene, ledger: Ledger, section: int) -> None:
    """Check that open cut between two shafts is no stub; runs from or to a terminal are exempt."""
    if section in (0, scene.route.n_sections - 1):
        return
    from_m, to_m = scene.route.bounds_of_section(section)
    least_m = scene.assumptions.trench.min_trench_m
    limit = Limit("trench_run", "m", "assumptions, [trench]", "surveyed")
    middle_m = (from_m + to_m) / 2.0
    place = Place(middle_m, section=section, xy_m=scene.route.point_at(middle_m))
    reason = f"open cut between two shafts; less than {least_m:g} m is not worth opening"
    ledger.at_least(scene.section_id(section), limit, least_m, to_m - from_m, place, reason)


def trench_cells(
    scene: Scene, section: int
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """Cut a run of open cut into pieces of one step, never across a bend.

    Returns
    -------
    xy_m : ndarray of shape (n, 2)
        Middle of each piece [m].
    width_m : ndarray of shape (n,)
        Its length; they add up to the length of the run [m].
    piece : ndarray of int64, shape (n,)
        Straight piece of the alignment that it belongs to.
    """
    route = scene.route
    points, widths, owners = [], [], []
    for piece in route.pieces_of_section(section):
        middle_m, width_m = cells_between(0.0, float(np.diff(route.chainage_m)[piece]), scene.step_m)
        points.append(route.xy_m[piece] + middle_m[:, None] * route.direction[piece])
        widths.append(width_m)
        owners.append(np.full(len(width_m), piece, dtype=np.int64))
    return np.concatenate(points), np.concatenate(widths), np.concatenate(owners)
