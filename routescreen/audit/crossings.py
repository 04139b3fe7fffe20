"""Every feature that the works meet, by exact intersection, and the angle at which they meet it.

Room: ``audit``. Geometry only; may use shapely and the audit's own modules.

A feature is met when the exact predicate says that the outline and a line of the works have a point in
common: a piece of the alignment, or any bore of a drive. The stretch inside is then computed, along the
alignment. A stretch too thin for the overlay still counts with width 0, so a crossing can be narrow but
never lost.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from routescreen.audit.angles import angle_between_deg, crossing_lines, edge_tangent
from routescreen.audit.tracks import ALIGNMENT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.angles import CrossingLines, Guide
    from routescreen.audit.features import Features
    from routescreen.audit.route import Route
    from routescreen.audit.tracks import Tracks

SAME_PLACE_M = 1e-6
"""Chainages closer than this are one place: far above float noise, far below any drawing [m]."""


@dataclass(frozen=True, slots=True)
class Spans:
    """Stretches of single lines of the works inside single features; arrays of shape (n,).

    `shape` is the stretch itself, a point or a line; `from_m` and `to_m` lie along the alignment.
    """

    feature: NDArray[np.int64]
    track: NDArray[np.int64]
    piece: NDArray[np.int64]
    from_m: NDArray[np.float64]
    to_m: NDArray[np.float64]
    shape: NDArray[np.object_]


@dataclass(frozen=True, slots=True)
class MetAngle:
    """An angle between the works and a line, bank or edge of a crossing.

    `angle_deg` is NaN where there is none to measure against; `least_deg` is what the features of that
    line ask for, 0 where they ask for nothing. `bore` is the bore that meets it, `ALIGNMENT` for the
    alignment itself; `xy_m` the place.
    """

    angle_deg: float
    chainage_m: float
    least_deg: float = 0.0
    bore: int = ALIGNMENT
    xy_m: tuple[float, float] | None = None

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
    starts within the crossing, as at a shaft or terminal that stands in it. In a drive the stretch
    reaches from where the first bore comes under the crossing to where the last one leaves it;
    `width_m` is the longest way of a single bore inside. `angle` is the one that leaves least of what
    the members ask for, of any bore.
    """

    crossing: int
    features: tuple[int, ...]
    section: int
    drive: int
    from_m: float
    to_m: float
    width_m: float
    begins_inside: bool
    angle: MetAngle

    @property
    def middle_m(self) -> float:
        """Chainage of the middle of the stretch [m]."""
        return (self.from_m + self.to_m) / 2.0


def meet_features(route: Route, tracks: Tracks, outline: NDArray[np.object_]) -> Spans:
    """Intersect every line of the works with every outline.

    Parameters
    ----------
    route : Route
    tracks : Tracks
    outline : ndarray of object, shape (n,)
        Geometries of any type.

    Returns
    -------
    Spans
    """
    lines = tracks.line
    if len(outline) == 0:
        nothing = np.zeros(0, dtype=np.int64)
        return Spans(nothing, nothing, nothing, np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.object_))
    feature, track = shapely.STRtree(lines).query(outline, predicate="intersects")
    common = shapely.intersection(lines[track], outline[feature])
    is_lost = shapely.is_empty(common)
    common[is_lost] = shapely.shortest_line(lines[track[is_lost]], outline[feature[is_lost]])
    part, pair = shapely.get_parts(shapely.get_parts(common), return_index=True)
    pair = np.repeat(np.arange(len(common)), shapely.get_num_geometries(common))[pair]
    xy_m, vertex_part = shapely.get_coordinates(part, return_index=True)
    along_m = route.chainage_along(tracks.piece[track[pair[vertex_part]]], xy_m)
    from_m = np.full(len(part), np.inf)
    to_m = np.full(len(part), -np.inf)
    np.minimum.at(from_m, vertex_part, along_m)
    np.maximum.at(to_m, vertex_part, along_m)
    met = track[pair].astype(np.int64)
    return Spans(feature[pair].astype(np.int64), met, tracks.piece[met], from_m, to_m, part)


def find_meetings(
    route: Route, tracks: Tracks, features: Features, *, gap_m: float, window_m: float
) -> list[Meeting]:
    """Find every crossing that the works meet, in order of chainage.

    Parameters
    ----------
    route : Route
    tracks : Tracks
        The alignment's pieces and the bores of its drives.
    features : Features
    gap_m : float
        Stretches in one crossing and section that are closer than this are one [m].
    window_m : float
        Length over which the local tangent of a feature is smoothed [m].

    Returns
    -------
    list of Meeting
    """
    spans = meet_features(route, tracks, features.outline)
    section = route.section_of_piece[spans.piece]
    crossing = features.crossing[spans.feature]
    meetings: list[Meeting] = []
    lines: dict[int, CrossingLines] = {}
    keys = sorted(set(zip(crossing.tolist(), section.tolist(), strict=True)))
    for crossing_index, section_index in keys:
        chosen = np.flatnonzero((crossing == crossing_index) & (section == section_index))
        if crossing_index not in lines:
            lines[crossing_index] = crossing_lines(features, crossing_index, window_m=window_m)
        for run in _runs(spans, chosen, route, tracks, features, gap_m):
            angle = crossing_angle(route, tracks, spans, run, lines[crossing_index])
            meetings.append(_meeting(route, features, spans, run, angle))
    kept = [m for m in meetings if not _is_end_of_another(m, meetings, route)]
    return sorted(kept, key=lambda m: (m.from_m, m.to_m, m.crossing))


def _runs(
    spans: Spans, chosen: NDArray[np.int64], route: Route, tracks: Tracks, features: Features, gap_m: float
) -> list[NDArray[np.int64]]:
    """Group the spans of one crossing in one section into unbroken stretches."""
    pieces = np.unique(spans.piece[chosen])
    if route.is_drive[pieces[0]]:
        met = np.unique(spans.feature[chosen])
        under = shapely.intersection(features.outline[met], tracks.swath(int(pieces[0])))
        return _joined(spans, chosen, shapely.get_parts(under), gap_m)
    return _unbroken(spans, chosen, gap_m)


def _unbroken(spans: Spans, chosen: NDArray[np.int64], gap_m: float) -> list[NDArray[np.int64]]:
    """Group spans that follow one another along the alignment."""
    order = chosen[np.argsort(spans.from_m[chosen], kind="stable")]
    reach = np.maximum.accumulate(spans.to_m[order])
    breaks = np.flatnonzero(spans.from_m[order][1:] > reach[:-1] + max(gap_m, SAME_PLACE_M)) + 1
    return np.split(order, breaks)


def _joined(
    spans: Spans, chosen: NDArray[np.int64], under: NDArray[np.object_], gap_m: float
) -> list[NDArray[np.int64]]:
    """Group the spans of the bores of a drive that the crossing's ground between them joins.

    Bores meet a slanting road one after the other: it is one road. `under` are the parts of the
    crossing between the outermost bores.
    """
    shapes = np.concatenate([spans.shape[chosen], under])
    first, second = shapely.STRtree(shapes).query(
        shapes, predicate="dwithin", distance=max(gap_m, SAME_PLACE_M)
    )
    links = coo_array((np.ones(len(first)), (first, second)), shape=(len(shapes), len(shapes)))
    _, label = connected_components(links, directed=False)
    of_span = label[: len(chosen)]
    return [chosen[of_span == one] for one in np.unique(of_span)]


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
    route: Route, features: Features, spans: Spans, run: NDArray[np.int64], angle: MetAngle
) -> Meeting:
    from_m, to_m = float(spans.from_m[run].min()), float(spans.to_m[run].max())
    piece = int(spans.piece[run].min())
    section = int(route.section_of_piece[piece])
    return Meeting(
        crossing=int(features.crossing[spans.feature[run[0]]]),
        features=tuple(int(f) for f in np.unique(spans.feature[run])),
        section=section,
        drive=int(route.drive_of_piece[piece]),
        from_m=from_m,
        to_m=to_m,
        width_m=_longest_m(spans, run, is_drive=bool(route.is_drive[piece])),
        begins_inside=from_m <= route.bounds_of_section(section)[0] + SAME_PLACE_M,
        angle=angle,
    )


def _longest_m(spans: Spans, run: NDArray[np.int64], *, is_drive: bool) -> float:
    """Return the length of a stretch in open cut; in a drive that of the bore with the longest [m]."""
    groups = [run[spans.track[run] == track] for track in np.unique(spans.track[run])] if is_drive else [run]
    return max(float(spans.to_m[group].max() - spans.from_m[group].min()) for group in groups)


def crossing_angle(
    route: Route, tracks: Tracks, spans: Spans, run: NDArray[np.int64], lines: CrossingLines
) -> MetAngle:
    """Return the angle of a stretch that leaves least of what is asked for.

    Parameters
    ----------
    route : Route
    tracks : Tracks
    spans : Spans
    run : ndarray of int64
        Spans of the stretch.
    lines : CrossingLines
        Of the crossing.

    Returns
    -------
    MetAngle
        Of NaN where the works meet no line, bank or edge inside the stretch.
    """
    found = [MetAngle(math.nan, math.nan, lines.least_deg)]
    for track in np.unique(spans.track[run]):
        own = run[spans.track[run] == track]
        for xy_m, tangent, least_deg in _met_lines(tracks.line[track], lines):
            piece = tracks.piece[track]
            at_m = float(route.chainage_along(np.array([piece]), xy_m[None, :])[0])
            is_within = (spans.from_m[own] <= at_m + SAME_PLACE_M) & (at_m - SAME_PLACE_M <= spans.to_m[own])
            if is_within.any():
                angle_deg = angle_between_deg(route.direction[piece], tangent)
                bore, place = int(tracks.bore[track]), (float(xy_m[0]), float(xy_m[1]))
                found.append(MetAngle(angle_deg, at_m, least_deg, bore, place))
    return max(found[1:], key=lambda angle: (angle.demand, -angle.angle_deg), default=found[0])


def _met_lines(
    track: shapely.LineString, lines: CrossingLines
) -> list[tuple[NDArray[np.float64], NDArray[np.float64], float]]:
    """Return each point at which a line of the works meets a crossing's lines and edges.

    With the direction that holds there and the least angle that is asked for.
    """
    found = []
    for guide in lines.guides:
        for xy_m in _meeting_points(track, guide):
            found.append((xy_m, guide.tangent(guide.chainage_m(xy_m[None, :]))[0], guide.least_deg))
    for edge in lines.edges:
        for xy_m in _meeting_points(track, edge):
            owner = lines.owner_of_edge(xy_m)
            if owner is not None:
                found.append((xy_m, edge_tangent(edge, owner, xy_m), owner.least_deg))
    return found


def _meeting_points(track: shapely.LineString, guide: Guide) -> NDArray[np.float64]:
    """Return the points that two lines have in common, both ends of a common stretch."""
    if not shapely.intersects(track, guide.line):
        return np.zeros((0, 2))
    common = shapely.intersection(track, guide.line)
    if shapely.is_empty(common):
        common = shapely.shortest_line(track, guide.line)
    points: NDArray[np.float64] = np.unique(shapely.get_coordinates(common), axis=0)
    return points
