"""Checks on the alignment as a whole: unbroken, within the corridor, true to the pins, square enough.

Room: ``audit``. Uses the audit's own modules only.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.report import TOLERANCE_M, Ledger, Limit, Place
from routescreen.audit.route import stations
from routescreen.audit.scene import meeting_place
from routescreen.audit.shaft_checks import drives_of, footprint
from routescreen.audit.tracks import ALIGNMENT

if TYPE_CHECKING:
    from routescreen.audit.crossings import Meeting
    from routescreen.audit.scene import Scene

TREATMENTS = "assumptions, [treatments]"
PINS = "input, layer pins"


TERMINAL_M = 0.01  # how far the alignment may begin or end from its terminal, for rounding


def check_route(scene: Scene, ledger: Ledger, carried_feature_ids: frozenset[str] | None) -> None:
    """Check the alignment and its crossings."""
    _check_unbroken(scene, ledger)
    _check_drives_on_alignment(scene, ledger)
    _check_terminals(scene, ledger)
    _check_inside(scene, ledger)
    _check_pins(scene, ledger)
    for index, meeting in enumerate(scene.meetings):
        _check_angle(scene, ledger, index, meeting)
        _check_known_kind(scene, ledger, index, meeting)
    _check_carried(scene, ledger, carried_feature_ids)


def _element(scene: Scene) -> str:
    return scene.plan.corridor_id


def _check_unbroken(scene: Scene, ledger: Ledger) -> None:
    """Check that vertices are finite, no piece is without length, and there is a piece per flag."""
    route = scene.route
    limit = Limit("alignment_unbroken", "m", "geometry", "surveyed", tolerance=0.0)
    length_m = np.diff(route.chainage_m)
    is_whole = len(length_m) == len(route.is_drive) == len(route.is_narrow) and len(length_m) > 0
    shortest_m = float(length_m.min()) if is_whole else 0.0
    at_m = float(route.chainage_m[int(np.argmin(length_m))]) if is_whole else 0.0
    reason = f"the shortest piece is {shortest_m:.3f} m long"
    if not is_whole:
        reason = "pieces and their flags differ in number"
    ledger.at_least(_element(scene), limit, TOLERANCE_M, shortest_m, Place(at_m), reason)


def _check_drives_on_alignment(scene: Scene, ledger: Ledger) -> None:
    """Check that each drive is one piece of the alignment, from its own lower to its upper shaft."""
    plan, route = scene.plan, scene.route
    limit = Limit("drive_on_alignment", "m", "geometry", "surveyed")
    for index, drive in enumerate(plan.drives):
        off_m = route.length_m
        in_range = 0 <= drive.from_vertex < route.n_pieces
        if in_range and drive.to_vertex == drive.from_vertex + 1 and route.is_drive[drive.from_vertex]:
            ends = route.xy_m[[drive.from_vertex, drive.to_vertex]]
            shafts = np.array([plan.shafts[drive.lower_shaft].xy_m, plan.shafts[drive.upper_shaft].xy_m])
            off_m = float(np.hypot(*(ends - shafts).T).max())
        knows_shafts = (
            plan.shafts[drive.lower_shaft].outgoing == index
            and plan.shafts[drive.upper_shaft].incoming == index
        )
        off_m = off_m if knows_shafts else route.length_m
        place = Place(scene.lines[index].start_chainage_m, drive=index)
        reason = "distance of the drive's shafts from its ends on the alignment"
        ledger.at_most(scene.drive_id(index), limit, off_m, 0.0, place, reason)
    if int(route.is_drive.sum()) != len(plan.drives):
        reason = f"{int(route.is_drive.sum())} pieces are driven, the plan has {len(plan.drives)} drives"
        ledger.at_most(_element(scene), limit, route.length_m, 0.0, Place(), reason)
    for index, shaft in enumerate(plan.shafts):
        if not drives_of(shaft):
            place = Place(shaft=index, xy_m=shaft.xy_m)
            reason = "the shaft serves no drive"
            ledger.at_most(scene.shaft_id(index), limit, route.length_m, 0.0, place, reason)


def _check_terminals(scene: Scene, ledger: Ledger) -> None:
    """Check that the alignment begins and ends at the terminals, or the ends of the line or axis."""
    line = scene.inp.fixed_line or scene.inp.axis
    ends = [None, None] if line is None else [shapely.get_point(line, 0), shapely.get_point(line, -1)]
    terminals = (scene.inp.start or ends[0], scene.inp.end or ends[1])
    limit = Limit("terminal", "m", "input, layer terminals", "surveyed", tolerance=0.0)
    for name, terminal, vertex in zip(("start", "end"), terminals, (0, -1), strict=True):
        place = Place(float(scene.route.chainage_m[vertex]))
        if terminal is None:
            reason = f"the input has neither a terminal nor an axis for the {name}"
            ledger.not_evaluated(
                _element(scene), replace(limit, source="none", confidence="assumed"), place, reason
            )
            continue
        off_m = float(terminal.distance(shapely.Point(scene.route.xy_m[vertex])))
        reason = f"distance of the alignment's {name} from its terminal"
        ledger.at_most(_element(scene), limit, off_m, TERMINAL_M, place, reason)


def _check_inside(scene: Scene, ledger: Ledger) -> None:
    """Check that the alignment stays inside the corridor, or within the tolerance of a fixed line."""
    if scene.inp.outline is not None:
        _check_inside_outline(scene, ledger)
    if scene.inp.fixed_line is not None:
        _check_near_line(scene, ledger)


def _check_inside_outline(scene: Scene, ledger: Ledger) -> None:
    limit = Limit("in_corridor", "m", "input, layer corridor", "surveyed")
    area = shapely.buffer(scene.inp.outline, 2.0 * TOLERANCE_M)
    outside = shapely.difference(scene.route.line(), area)
    outside_m = float(shapely.length(outside))
    place = Place()
    if outside_m > TOLERANCE_M:
        xy_m = shapely.get_coordinates(outside)[0]
        at_m = float(scene.route.line().project(shapely.Point(xy_m)))
        place = _place_at(scene, at_m)
    reason = f"{outside_m:.1f} m of the alignment lie outside the corridor"
    ledger.at_most(_element(scene), limit, outside_m, 0.0, place, reason)


def _place_at(scene: Scene, chainage_m: float) -> Place:
    """Return the place of the alignment at a chainage, with its drive if it lies on one."""
    piece = int(np.searchsorted(scene.route.chainage_m, chainage_m, side="right")) - 1
    piece = min(max(piece, 0), scene.route.n_pieces - 1)
    return Place(
        chainage_m,
        drive=int(scene.route.drive_of_piece[piece]),
        section=int(scene.route.section_of_piece[piece]),
        xy_m=scene.route.point_at(chainage_m),
    )


def _check_near_line(scene: Scene, ledger: Ledger) -> None:
    allowed_m = scene.assumptions.frame.fixed_alignment_tolerance_m
    limit = Limit("near_fixed_alignment", "m", "assumptions, [frame]", "surveyed")
    at_m = stations(scene.route.length_m, scene.step_m)
    points = shapely.points(np.array([scene.route.point_at(float(m)) for m in at_m]))
    away_m = np.asarray(shapely.distance(points, scene.inp.fixed_line), dtype=np.float64)
    worst = int(np.argmax(away_m))
    reason = f"distance from the fixed alignment; {allowed_m:g} m allowed"
    place = _place_at(scene, float(at_m[worst]))
    ledger.at_most(_element(scene), limit, float(away_m[worst]), allowed_m, place, reason)


def _check_pins(scene: Scene, ledger: Ledger) -> None:
    """Check each pin: passed through, with a shaft, or without one."""
    pins = scene.inp.pins
    places = [shapely.Point(shapely.get_coordinates(pin)[0]) for pin in pins.geometry]
    for role, radius_m, point in zip(pins["role"], pins["radius_m"], places, strict=True):
        limit = Limit(f"pin_{role}", "m", PINS, "surveyed")
        reach_m = float(radius_m) if radius_m == radius_m else _default_reach_m(scene, role)
        place = Place(float(scene.route.line().project(point)), xy_m=(point.x, point.y))
        if role == "no_shaft":
            _check_no_shaft(scene, ledger, limit, point, reach_m)
        elif role == "shaft":
            away_m = min(
                (point.distance(shapely.Point(s.xy_m)) for s in scene.plan.shafts),
                default=scene.route.length_m,
            )
            reason = f"distance from the pin to the nearest shaft; {reach_m:g} m allowed"
            ledger.at_most(_element(scene), limit, away_m, reach_m, place, reason)
        else:
            reason = f"distance from the pin to trench or shaft; {reach_m:g} m allowed"
            away_m = _distance_to_surface_works_m(scene, point)
            ledger.at_most(_element(scene), limit, away_m, reach_m, place, reason)


def _default_reach_m(scene: Scene, role: str) -> float:
    """Return the reach of a pin without a radius: one cell to the place that serves it [m]."""
    return 0.0 if role == "no_shaft" else scene.assumptions.frame.cell_m


def _distance_to_surface_works_m(scene: Scene, point: shapely.Point) -> float:
    """Return the distance from a point to the nearest trench piece or shaft [m]."""
    segments = scene.route.segments(np.flatnonzero(~scene.route.is_drive))
    shafts = [shapely.Point(shaft.xy_m) for shaft in scene.plan.shafts]
    works = [*segments, *shafts]
    return float(min(shapely.distance(np.array(works, dtype=object), point)))


def _check_no_shaft(scene: Scene, ledger: Ledger, limit: Limit, point: shapely.Point, reach_m: float) -> None:
    for index, shaft in enumerate(scene.plan.shafts):
        away_m = float(shapely.distance(footprint(scene, index), point))
        if away_m < reach_m + 1.0:
            place = Place(shaft=index, xy_m=shaft.xy_m)
            reason = f"no shaft is wanted within {reach_m:g} m of the pin"
            ledger.at_least(scene.shaft_id(index), limit, reach_m, away_m, place, reason)


def _check_angle(scene: Scene, ledger: Ledger, index: int, meeting: Meeting) -> None:
    """Check the least crossing angle of any bore or trench against what its line or edge asks for."""
    angle, least_deg = meeting.angle, meeting.angle.least_deg
    if least_deg <= 0.0:
        return
    limit = Limit("crossing_angle", "deg", TREATMENTS, "record", tolerance=0.01)
    asks = scene.features.least_angle_deg
    asking = next((f for f in meeting.features if asks[f] == least_deg), meeting.features[0])
    place = scene.feature_place(asking, meeting_place(scene, meeting))
    element, called = scene.crossing_id(index), scene.label(asking)
    if math.isnan(angle.angle_deg):
        reason = f"no trench or bore meets a line, bank or edge of {called}"
        ledger.not_evaluated(element, limit, place, reason)
        return
    who = "alignment" if angle.bore == ALIGNMENT else f"bore {angle.bore + 1}"
    place = replace(place, chainage_m=angle.chainage_m, xy_m=angle.xy_m)
    reason = f"angle of the {who} to {called}; at least {least_deg:g} deg"
    ledger.at_least(element, limit, least_deg, angle.angle_deg, place, reason)


def _check_known_kind(scene: Scene, ledger: Ledger, index: int, meeting: Meeting) -> None:
    for feature in meeting.features:
        if not scene.features.has_known_kind[feature]:
            limit = Limit("crossing_kind", "-", TREATMENTS)
            place = scene.feature_place(feature, meeting_place(scene, meeting))
            reason = f"the assumptions have no treatment for {scene.label(feature)}"
            ledger.at_most(scene.crossing_id(index), limit, 1.0, 0.0, place, reason)


def _check_carried(scene: Scene, ledger: Ledger, carried: frozenset[str] | None) -> None:
    """Check that every feature that the alignment meets stood in the list that was searched with."""
    limit = Limit("crossing_carried", "-", "input, layer crossings", "surveyed", tolerance=0.0)
    if carried is None:
        reason = "the list of crossings that the search carried was not handed in"
        ledger.not_evaluated(_element(scene), limit, Place(), reason)
        return
    for index, meeting in enumerate(scene.meetings):
        missing = [f for f in meeting.features if str(scene.features.feature_id[f]) not in carried]
        place = meeting_place(scene, meeting)
        if missing:
            place = scene.feature_place(missing[0], place)
        called = ", ".join(scene.label(f) for f in missing)
        reason = f"the search did not carry {called}" if missing else "the search carried what is met here"
        ledger.at_most(scene.crossing_id(index), limit, float(len(missing)), 0.0, place, reason)
