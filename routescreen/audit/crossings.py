"""Every feature that the alignment meets, by exact intersection, and the angle at which it meets it.

Room: ``audit``. Geometry only; may use shapely and the audit's own ``route`` and ``features``.

A feature is met when the exact predicate says that a piece of the alignment and the outline have a
point in common; the stretch inside is then computed. A stretch too thin for the overlay still counts
with width 0, so a crossing can be narrow but never lost.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.features import Features
    from routescreen.audit.route import Route

SAME_PLACE_M = 1e-6
"""Chainages closer than this are one place: far above float noise, far below any drawing [m]."""


@dataclass(frozen=True, slots=True)
class Spans:
    """Stretches of single pieces of the alignment inside single features; arrays of shape (n,)."""

    feature: NDArray[np.int64]
    piece: NDArray[np.int64]
    from_m: NDArray[np.float64]
    to_m: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MetAngle:
    """The least angle between the alignment and the lines and banks of a crossing.

    `angle_deg` is NaN where there is no line or bank to measure against; `least_deg` is what the
    features of those lines ask for, 0 where they ask for nothing. `has_met_line` is False where the
    alignment clips the outline without meeting the feature's own line: then the angle is that to the
    nearest part of it.
    """

    angle_deg: float
    chainage_m: float
    has_met_line: bool
    least_deg: float = 0.0

    @property
    def demand(self) -> float:
        """What is asked for as a share of what there is [-]."""
        if math.isnan(self.angle_deg) or self.least_deg <= 0.0:
            return 0.0
        return self.least_deg / self.angle_deg if self.angle_deg > 0.0 else math.inf


@dataclass(frozen=True, slots=True)
class Meeting:
    """One unbroken stretch of one section inside one crossing.

    `features` are the members of the crossing that it meets; `begins_inside` says that the section
    starts within the crossing, as at a shaft or terminal that stands in it. `angle` is the one that
    leaves least of what the members ask for.
    """

    crossing: int
    features: tuple[int, ...]
    section: int
    drive: int
    from_m: float
    to_m: float
    begins_inside: bool
    angle: MetAngle

    @property
    def width_m(self) -> float:
        """Length of the alignment inside the crossing [m]."""
        return self.to_m - self.from_m

    @property
    def middle_m(self) -> float:
        """Chainage of the middle of the stretch [m]."""
        return (self.from_m + self.to_m) / 2.0


def meet_features(route: Route, outline: NDArray[np.object_]) -> Spans:
    """Intersect every piece of the alignment with every outline.

    Parameters
    ----------
    route : Route
    outline : ndarray of object, shape (n,)
        Geometries of any type.

    Returns
    -------
    Spans
    """
    segments = route.segments()
    if len(outline) == 0:
        nothing = np.zeros(0, dtype=np.int64)
        return Spans(nothing, nothing, np.zeros(0), np.zeros(0))
    feature, piece = shapely.STRtree(segments).query(outline, predicate="intersects")
    common = shapely.intersection(segments[piece], outline[feature])
    is_lost = shapely.is_empty(common)
    common[is_lost] = shapely.shortest_line(segments[piece[is_lost]], outline[feature[is_lost]])
    part, pair = shapely.get_parts(shapely.get_parts(common), return_index=True)
    pair = np.repeat(np.arange(len(common)), shapely.get_num_geometries(common))[pair]
    xy_m, vertex_part = shapely.get_coordinates(part, return_index=True)
    along_m = route.chainage_along(piece[pair[vertex_part]], xy_m)
    from_m = np.full(len(part), np.inf)
    to_m = np.full(len(part), -np.inf)
    np.minimum.at(from_m, vertex_part, along_m)
    np.maximum.at(to_m, vertex_part, along_m)
    return Spans(feature[pair].astype(np.int64), piece[pair].astype(np.int64), from_m, to_m)


def find_meetings(route: Route, features: Features, *, gap_m: float, window_m: float) -> list[Meeting]:
    """Find every crossing that the alignment meets, in order of chainage.

    Parameters
    ----------
    route : Route
    features : Features
    gap_m : float
        Stretches in one crossing and section that are closer than this are one [m].
    window_m : float
        Length over which the local tangent of a feature is smoothed [m].

    Returns
    -------
    list of Meeting
    """
    spans = meet_features(route, features.outline)
    section = route.section_of_piece[spans.piece]
    crossing = features.crossing[spans.feature]
    meetings: list[Meeting] = []
    keys = sorted(set(zip(crossing.tolist(), section.tolist(), strict=True)))
    for crossing_index, section_index in keys:
        chosen = np.flatnonzero((crossing == crossing_index) & (section == section_index))
        for run in _unbroken(spans, chosen, gap_m):
            meetings.append(_meeting(route, features, spans, run, window_m=window_m))
    kept = [m for m in meetings if not _is_end_of_another(m, meetings, route)]
    return sorted(kept, key=lambda m: (m.from_m, m.to_m, m.crossing))


def _unbroken(spans: Spans, chosen: NDArray[np.int64], gap_m: float) -> list[NDArray[np.int64]]:
    """Group the spans of one crossing in one section into unbroken stretches."""
    order = chosen[np.argsort(spans.from_m[chosen], kind="stable")]
    reach = np.maximum.accumulate(spans.to_m[order])
    breaks = np.flatnonzero(spans.from_m[order][1:] > reach[:-1] + max(gap_m, SAME_PLACE_M)) + 1
    return np.split(order, breaks)


def _is_end_of_another(meeting: Meeting, meetings: list[Meeting], route: Route) -> bool:
    """Tell whether a stretch without width is only the shared vertex of the next section's stretch."""
    if meeting.width_m > SAME_PLACE_M:
        return False
    ends = route.bounds_of_section(meeting.section)
    if min(abs(meeting.from_m - end) for end in ends) > SAME_PLACE_M:
        return False
    return any(
        other.crossing == meeting.crossing
        and other.section != meeting.section
        and other.width_m > SAME_PLACE_M
        and other.from_m - SAME_PLACE_M <= meeting.from_m <= other.to_m + SAME_PLACE_M
        for other in meetings
    )


def _meeting(
    route: Route, features: Features, spans: Spans, run: NDArray[np.int64], *, window_m: float
) -> Meeting:
    from_m, to_m = float(spans.from_m[run].min()), float(spans.to_m[run].max())
    pieces = np.unique(spans.piece[run])
    section = int(route.section_of_piece[pieces[0]])
    crossing = int(features.crossing[spans.feature[run[0]]])
    met = np.unique(spans.feature[run])
    angles = [
        replace(
            crossing_angle(
                route, pieces, (from_m, to_m), _angle_lines(features, crossing, least_deg), window_m=window_m
            ),
            least_deg=least_deg,
        )
        for least_deg in sorted({float(asked) for asked in features.least_angle_deg[met]}, reverse=True)
    ]
    return Meeting(
        crossing=crossing,
        features=tuple(int(f) for f in met),
        section=section,
        drive=int(route.drive_of_piece[pieces[0]]),
        from_m=from_m,
        to_m=to_m,
        begins_inside=from_m <= route.bounds_of_section(section)[0] + SAME_PLACE_M,
        angle=max(angles, key=lambda angle: angle.demand),
    )


def _angle_lines(features: Features, crossing: int, least_deg: float) -> NDArray[np.object_]:
    """Return the centre lines and banks of a crossing that ask for one angle, split ones joined again."""
    members = features.members(crossing)
    members = members[features.least_angle_deg[members] == least_deg]
    dimension = shapely.get_dimensions(features.geometry[members])
    drawn = shapely.get_parts(features.geometry[members[dimension == 1]])
    lines = shapely.line_merge(shapely.multilinestrings(drawn))
    areas = shapely.union_all(features.geometry[members[dimension == 2]])
    rings = shapely.get_rings(shapely.get_parts(areas))
    parts = np.concatenate([shapely.get_parts(lines), rings])
    return parts[~shapely.is_empty(parts)]


def crossing_angle(
    route: Route,
    pieces: NDArray[np.int64],
    within_m: tuple[float, float],
    lines: NDArray[np.object_],
    *,
    window_m: float,
) -> MetAngle:
    """Return the least angle at which the alignment meets lines or banks, where, and whether it does.

    Parameters
    ----------
    route : Route
    pieces : ndarray of int64
        Pieces of the alignment inside the crossing.
    within_m : tuple of float
        Chainages between which the alignment is inside [m].
    lines : ndarray of object
        LineStrings and LinearRings of the crossing.
    window_m : float
        Length over which the local tangent is smoothed [m].

    Returns
    -------
    MetAngle
        Of NaN where there is no line at all.
    """
    if len(lines) == 0:
        return MetAngle(math.nan, math.nan, False)
    segments = route.segments()[pieces]
    line, which = shapely.STRtree(segments).query(lines, predicate="intersects")
    best = (math.inf, math.nan)
    for index, local in zip(line, which, strict=True):
        piece = int(pieces[local])
        for xy_m in _meeting_points(segments[local], lines[index]):
            at_m = float(route.chainage_along(np.array([piece]), xy_m[None, :])[0])
            if within_m[0] - SAME_PLACE_M <= at_m <= within_m[1] + SAME_PLACE_M:
                tangent = local_tangent(lines[index], xy_m, window_m=window_m)
                best = min(best, (angle_between_deg(route.direction[piece], tangent), at_m))
    if math.isfinite(best[0]):
        return MetAngle(best[0], best[1], True)
    return _angle_to_nearest(route, pieces, within_m, lines, window_m=window_m)


def _meeting_points(segment: shapely.LineString, line: shapely.LineString) -> NDArray[np.float64]:
    """Return the points that a piece and a line have in common, both ends of a common stretch."""
    common = shapely.intersection(segment, line)
    if shapely.is_empty(common):
        common = shapely.shortest_line(segment, line)
    points: NDArray[np.float64] = np.unique(shapely.get_coordinates(common), axis=0)
    return points


def _angle_to_nearest(
    route: Route,
    pieces: NDArray[np.int64],
    within_m: tuple[float, float],
    lines: NDArray[np.object_],
    *,
    window_m: float,
) -> MetAngle:
    """Return the angle to the part of the lines nearest to the middle of the stretch."""
    middle_m = (within_m[0] + within_m[1]) / 2.0
    xy_m = np.array(route.point_at(middle_m))
    nearest = lines[int(np.argmin(shapely.distance(lines, shapely.points(xy_m))))]
    starts = route.chainage_m[pieces]
    piece = int(pieces[max(int(np.searchsorted(starts, middle_m, side="right")) - 1, 0)])
    tangent = local_tangent(nearest, xy_m, window_m=window_m)
    return MetAngle(angle_between_deg(route.direction[piece], tangent), middle_m, False)


def local_tangent(
    line: shapely.LineString, xy_m: NDArray[np.float64], *, window_m: float
) -> NDArray[np.float64]:
    """Return the direction of a line near a point, smoothed over a window.

    The chord from half a window before to half a window after; at the end of an open line it is cut
    off there, round a small ring it takes a quarter of the ring at most.

    Returns
    -------
    ndarray of shape (2,)
        Not of unit length; (0, 0) where the line has no length.
    """
    length_m = float(line.length)
    at_m = float(shapely.line_locate_point(line, shapely.points(xy_m)))
    half_m = window_m / 2.0
    if line.is_closed:
        half_m = min(half_m, length_m / 8.0)
        ends_m = (
            np.array([(at_m - half_m) % length_m, (at_m + half_m) % length_m]) if length_m else np.zeros(2)
        )
    else:
        ends_m = np.clip([at_m - half_m, at_m + half_m], 0.0, length_m)
    ends = shapely.get_coordinates(shapely.line_interpolate_point(line, ends_m))
    return np.asarray(ends[1] - ends[0], dtype=np.float64)


def angle_between_deg(first: NDArray[np.float64], second: NDArray[np.float64]) -> float:
    """Return the angle between two directions, 0 (along) to 90 (square) [deg].

    Examples
    --------
    >>> angle_between_deg(np.array([1.0, 0.0]), np.array([-2.0, 2.0]))
    45.0
    """
    across = abs(float(first[0] * second[1] - first[1] * second[0]))
    along = abs(float(first[0] * second[0] + first[1] * second[1]))
    return math.degrees(math.atan2(across, along))
