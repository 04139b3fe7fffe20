"""Crossings as short straight segments on the cells of the frame, for exact tests along any chord.

Room: ``corridor``. Geometry only; imports the frame and the treatment.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.frame import cell_corners
from routescreen.corridor.treatment import WIDER

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from routescreen.corridor.frame import Frame
    from routescreen.corridor.treatment import Crossings

CELL_MARGIN_FRAC = 0.05  # cells are widened by this share on each side, so that no chord slips between
COLUMNS_AT_A_TIME = 128
_TURN_PER_PIECE_RAD = np.radians(2.0)  # how far the smoothed direction may turn within a piece
_LEAST_PIECE_M = 0.001  # of a line that turns back within the window, so that its direction swings round
_LEAST_EDGE_M = 0.05  # of an outline, whose direction jumps where the nearest part of its line does
_MOST_HALVINGS = 16
_ON_EDGE_M = 0.01  # an edge this near to the half-width of a line is that line's
_ON_END_M = 1e-6  # of chainage: this near to its end is the end of a line
_NEVER = 2.0  # no sine reaches it: what may not be crossed at any angle


@dataclass(frozen=True, slots=True)
class Segments:
    """Straight segments of crossings.

    Attributes
    ----------
    xy_m : ndarray of shape (n, 4)
        x1, y1, x2, y2 [m].
    crossing : ndarray of int32, shape (n,)
    tangent : ndarray of shape (n, 2)
        Unit direction of the line that the segment is part of, smoothed over a window.
    sin_min_angle : ndarray of shape (n,)
        Sine of the least crossing angle; 0 for segments that only tell that the crossing is met, 2 for
        what may not be crossed at all.
    is_outline : ndarray of bool, shape (n,)
        Whether the segment is part of the outline; else of a centre line or a bank.
    """

    xy_m: NDArray[np.float64]
    crossing: NDArray[np.int32]
    tangent: NDArray[np.float64]
    sin_min_angle: NDArray[np.float64]
    is_outline: NDArray[np.bool_]

    def __len__(self) -> int:
        """Return the number of segments."""
        return len(self.crossing)

    def lines(self) -> NDArray[np.object_]:
        """Return the segments as LineStrings."""
        return shapes.lines(self.xy_m.reshape(-1, 2, 2))

    def taken(self, which: NDArray[np.int64] | NDArray[np.bool_]) -> Segments:
        """Return some of the segments."""
        return Segments(
            self.xy_m[which],
            self.crossing[which],
            self.tangent[which],
            self.sin_min_angle[which],
            self.is_outline[which],
        )

    @classmethod
    def joined(cls, parts: Iterable[Segments]) -> Segments:
        """Return several sets of segments as one."""
        sets = [_none(), *parts]
        return cls(
            np.concatenate([part.xy_m for part in sets]),
            np.concatenate([part.crossing for part in sets]),
            np.concatenate([part.tangent for part in sets]),
            np.concatenate([part.sin_min_angle for part in sets]),
            np.concatenate([part.is_outline for part in sets]),
        )


def _none() -> Segments:
    """Return no segments at all."""
    return Segments(
        np.zeros((0, 4)),
        np.zeros(0, dtype=np.int32),
        np.zeros((0, 2)),
        np.zeros(0),
        np.zeros(0, dtype=np.bool_),
    )


def crossing_segments(crossings: Crossings, *, window_m: float) -> Segments:
    """Cut all crossings into segments: outlines to detect them, centre lines and banks for the angle.

    The outline of a line holds its angle as well: what passes inside the half-width without meeting the
    line, round its end or along its edge, still crosses it. The long edges have the line's own local
    direction. A round end has that of the outline, smoothed over the same window; where its arc is
    shorter than the window the outline turns back within it, and the line's direction holds there too.

    Parameters
    ----------
    crossings : Crossings
    window_m : float
        Length over which the local direction of a centre line or bank is smoothed [m].

    Returns
    -------
    Segments
    """
    found = list(_angle_lines(crossings))
    lines: dict[int, list[AngleLine]] = {}
    for line in found:
        if not line.is_bank:
            lines.setdefault(line.crossing, []).append(line)
    parts = [
        _outline_with_angle(k, outline, lines[k], window_m) if k in lines else _outline_segments(k, outline)
        for k, outline in enumerate(crossings.outline)
    ]
    return Segments.joined([*parts, *(_smoothed_segments(line, window_m) for line in found)])


def barring_segments(lines: NDArray[np.object_]) -> Segments:
    """Return straight lines that no drive may cross, such as the corridor's edge."""
    xy = shapely.get_coordinates(lines).reshape(-1, 4)
    n = len(xy)
    return Segments(
        xy,
        np.zeros(n, dtype=np.int32),
        np.tile([1.0, 0.0], (n, 1)),
        np.full(n, _NEVER),
        np.zeros(n, dtype=np.bool_),
    )


def _outline_with_angle(
    crossing: int, outline: shapely.Geometry, lines: list[AngleLine], window_m: float
) -> Segments:
    """Return the outline's boundary; where it is the edge of a line, with that line's angle.

    Its direction is the line's, at wide round ends the outline's own; pieces are halved until it hardly
    turns within any of them.
    """
    rings = shapely.get_rings(shapely.get_parts(outline))
    edge = _Edge(lines, _Polylines.of([line.line for line in lines]), _Polylines.of(list(rings)), window_m)
    pairs = _outline_segments(crossing, shapely.segmentize(outline, window_m / 2.0)).xy_m
    done = []
    for _ in range(_MOST_HALVINGS):
        first, last = edge.direction(pairs[:, :2])[0], edge.direction(pairs[:, 2:])[0]
        cosine = np.clip(np.abs((first * last).sum(axis=1)), 0.0, 1.0)
        length_m = np.hypot(pairs[:, 2] - pairs[:, 0], pairs[:, 3] - pairs[:, 1])
        turns = (np.arccos(cosine) > _TURN_PER_PIECE_RAD) & (length_m > _LEAST_EDGE_M)
        done.append(pairs[~turns])
        if not turns.any():
            break
        middle = (pairs[turns, :2] + pairs[turns, 2:]) / 2.0
        halves = np.column_stack([pairs[turns, :2], middle]), np.column_stack([middle, pairs[turns, 2:]])
        pairs = np.concatenate(halves)
    else:
        done.append(pairs)
    return edge.segments(crossing, np.concatenate(done))


@dataclass(frozen=True, slots=True)
class _Polylines:
    """Lines as single straight pieces, so that the place nearest to a point is found fast.

    `xy` and `chainage` hold each line's vertices; `owner`, `start`, `along` and `start_chainage` the line,
    first point, vector and first chainage of each piece in the tree.
    """

    xy: list[NDArray[np.float64]]
    chainage: list[NDArray[np.float64]]
    tree: shapely.STRtree
    owner: NDArray[np.int64]
    start: NDArray[np.float64]
    along: NDArray[np.float64]
    start_chainage: NDArray[np.float64]

    @classmethod
    def of(cls, lines: list[shapely.Geometry]) -> _Polylines:
        """Take lines apart."""
        xy, chainage = (list(part) for part in zip(*map(_measured, lines), strict=True))
        start = np.concatenate([points[:-1] for points in xy])
        end = np.concatenate([points[1:] for points in xy])
        return cls(
            xy,
            chainage,
            shapely.STRtree(shapes.lines(np.stack([start, end], axis=1))),
            np.repeat(np.arange(len(xy)), [len(points) - 1 for points in xy]),
            start,
            end - start,
            np.concatenate([at[:-1] for at in chainage]),
        )

    def nearest(
        self, xy_m: NDArray[np.float64]
    ) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
        """Return the line nearest to each point, the chainage on it and the distance from it [m]."""
        (_, piece), away_m = self.tree.query_nearest(
            shapes.points(xy_m), all_matches=False, return_distance=True
        )
        along = self.along[piece]
        length_m = np.hypot(along[:, 0], along[:, 1])
        ahead_m = ((xy_m - self.start[piece]) * along).sum(axis=1) / length_m
        return self.owner[piece], self.start_chainage[piece] + np.clip(ahead_m, 0.0, length_m), away_m

    def direction(
        self, line: int, at_m: NDArray[np.float64], window_m: float, *, is_ring: bool
    ) -> NDArray[np.float64]:
        """Return the smoothed direction of one line at chainages."""
        return smoothed_tangent(at_m, self.xy[line], self.chainage[line], window_m, is_ring=is_ring)


@dataclass(frozen=True, slots=True)
class _Edge:
    """The outline round lines, and the direction and angle that hold at any point of it."""

    lines: list[AngleLine]
    middles: _Polylines
    rings: _Polylines
    window_m: float

    def segments(self, crossing: int, xy_m: NDArray[np.float64]) -> Segments:
        """Return pieces of the outline as segments; what is no line's edge has its own direction."""
        tangent, sine = self.direction((xy_m[:, :2] + xy_m[:, 2:]) / 2.0)
        own = xy_m[:, 2:] - xy_m[:, :2]
        own /= np.hypot(own[:, 0], own[:, 1])[:, None]
        return Segments(
            xy_m,
            np.full(len(xy_m), crossing, dtype=np.int32),
            np.where(sine[:, None] > 0.0, tangent, own),
            sine,
            np.ones(len(xy_m), dtype=np.bool_),
        )

    def direction(self, xy_m: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return the direction and the sine of the least angle at points of the outline.

        The sine is 0, and the direction that of the x axis, where the point is on no line's edge.
        """
        tangent, sine = np.tile([1.0, 0.0], (len(xy_m), 1)), np.zeros(len(xy_m))
        if len(xy_m) == 0:
            return tangent, sine
        nearest, at_m, away_m = self.middles.nearest(xy_m)
        order = np.argsort(nearest, kind="stable")
        found, first = np.unique(nearest[order], return_index=True)
        for k, group in zip(found, np.split(order, first[1:]), strict=True):
            line = self.lines[k]
            of_line = group[away_m[group] <= line.half_width_m + _ON_EDGE_M]
            tangent[of_line] = self._along(int(k), xy_m[of_line], at_m[of_line])
            sine[of_line] = np.sin(np.radians(line.angle_deg))
        return tangent, sine

    def _along(self, k: int, xy_m: NDArray[np.float64], at_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the direction at points of one line's edge; `at_m` are the chainages beside them."""
        line, total_m = self.lines[k], self.middles.chainage[k][-1]
        is_ring = bool(line.line.is_closed)
        tangent = self.middles.direction(k, at_m, self.window_m, is_ring=is_ring)
        if is_ring or np.pi * line.half_width_m < self.window_m:
            return tangent
        at_end = np.flatnonzero((at_m <= _ON_END_M) | (at_m >= total_m - _ON_END_M))
        if len(at_end):
            ring, place_m, _ = self.rings.nearest(xy_m[at_end])
            for r in np.unique(ring):
                on_ring = ring == r
                tangent[at_end[on_ring]] = self.rings.direction(
                    int(r), place_m[on_ring], self.window_m, is_ring=True
                )
        return tangent


def _outline_segments(crossing: int, outline: shapely.Geometry) -> Segments:
    """Return the outline's boundary, each segment with its own direction."""
    xy, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(outline)), return_index=True)
    pairs = np.concatenate([xy[:-1], xy[1:]], axis=1)[ring[:-1] == ring[1:]]
    along = pairs[:, 2:] - pairs[:, :2]
    length = np.hypot(along[:, 0], along[:, 1])
    pairs, along, length = pairs[length > 0.0], along[length > 0.0], length[length > 0.0]
    return Segments(
        pairs,
        np.full(len(pairs), crossing, dtype=np.int32),
        along / length[:, None],
        np.zeros(len(pairs)),
        np.ones(len(pairs), dtype=np.bool_),
    )


@dataclass(frozen=True, slots=True)
class AngleLine:
    """A centre line, or a ring of a bank, with the least angle at which it may be met.

    `half_width_m` is the widest of the features that were joined to it, 0 of banks.
    """

    crossing: int
    angle_deg: float
    line: shapely.LineString
    is_bank: bool
    half_width_m: float


def _angle_lines(crossings: Crossings) -> Iterable[AngleLine]:
    """Yield centre lines and banks: split lines joined, touching areas as one."""
    features = crossings.features
    dimension = shapely.get_dimensions(features.geometry)
    has_angle = features.min_angle_deg > 0.0
    keys = np.stack([features.crossing, features.min_angle_deg], axis=1)
    for crossing, angle_deg in np.unique(keys[has_angle], axis=0):
        is_member = (features.crossing == crossing) & (features.min_angle_deg == angle_deg)
        drawn = shapely.get_parts(features.geometry[is_member & (dimension == 1)])
        lines = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(drawn)))
        areas = shapely.union_all(features.geometry[is_member & (dimension == 2)])
        half_width_m = float(features.half_width_m[is_member & (dimension == 1)].max(initial=0.0))
        for line in lines[shapely.length(lines) > 0.0]:
            yield AngleLine(int(crossing), float(angle_deg), line, False, WIDER * half_width_m)
        for ring in shapely.get_rings(shapely.get_parts(areas)):
            yield AngleLine(int(crossing), float(angle_deg), ring, True, 0.0)


def _measured(line: shapely.Geometry) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return a line's vertices without repeats and their chainages."""
    xy = shapely.get_coordinates(line)
    step = np.hypot(*np.diff(xy, axis=0).T)
    return xy[np.concatenate([[True], step > 0.0])], np.concatenate([[0.0], np.cumsum(step[step > 0.0])])


def _smoothed_segments(angle_line: AngleLine, window_m: float) -> Segments:
    """Return a line in pieces so short that its smoothed direction hardly turns within any of them."""
    line = angle_line.line
    xy, chainage = _measured(line)
    cuts = _cuts(xy, chainage, window_m, is_ring=bool(line.is_closed))
    ends = _points_at(cuts, xy, chainage)
    middle = (cuts[:-1] + cuts[1:]) / 2.0
    return Segments(
        np.concatenate([ends[:-1], ends[1:]], axis=1),
        np.full(len(middle), angle_line.crossing, dtype=np.int32),
        smoothed_tangent(middle, xy, chainage, window_m, is_ring=bool(line.is_closed)),
        np.full(len(middle), np.sin(np.radians(angle_line.angle_deg))),
        np.zeros(len(middle), dtype=np.bool_),
    )


def _cuts(
    xy: NDArray[np.float64], chainage: NDArray[np.float64], window_m: float, *, is_ring: bool
) -> NDArray[np.float64]:
    """Return the chainages at which to cut a line, so that its smoothed direction hardly turns in a piece.

    Between the places where a vertex enters, passes and leaves the window the direction turns one way
    only, so the turn between two cuts bounds that of the piece; pieces are halved until it is small.
    """
    total_m = float(chainage[-1])
    half_m = min(window_m / 2.0, total_m / 8.0) if is_ring else window_m / 2.0
    around = np.concatenate([chainage - half_m, chainage, chainage + half_m])
    cuts = np.unique(around % total_m if is_ring else np.clip(around, 0.0, total_m))
    cuts = np.unique(np.concatenate([[0.0, total_m], cuts[np.diff(cuts, prepend=-1.0) > 1e-6]]))
    for _ in range(_MOST_HALVINGS):
        tangent = smoothed_tangent(cuts, xy, chainage, window_m, is_ring=is_ring)
        cosine = np.clip((tangent[:-1] * tangent[1:]).sum(axis=1), -1.0, 1.0)
        turns = (np.arccos(cosine) > _TURN_PER_PIECE_RAD) & (np.diff(cuts) > _LEAST_PIECE_M)
        if not turns.any():
            break
        cuts = np.sort(np.concatenate([cuts, (cuts[:-1][turns] + cuts[1:][turns]) / 2.0]))
    return cuts


def _points_at(
    at: NDArray[np.float64], xy: NDArray[np.float64], chainage: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the points of a polyline at chainages."""
    return np.column_stack([np.interp(at, chainage, xy[:, k]) for k in (0, 1)])


def smoothed_tangent(
    at: NDArray[np.float64],
    xy: NDArray[np.float64],
    chainage: NDArray[np.float64],
    window_m: float,
    *,
    is_ring: bool,
) -> NDArray[np.float64]:
    """Return the direction of a line at chainages: that of the chord over a window round each.

    At the ends of an open line the window is cut off; on a small ring it takes a quarter of it.

    Parameters
    ----------
    at : ndarray of shape (n,)
    xy, chainage : ndarray of shape (k, 2) and (k,)
        Vertices of the line and their chainages [m].
    window_m : float
    is_ring : bool

    Returns
    -------
    ndarray of shape (n, 2)
        Unit vectors.
    """
    total_m = chainage[-1]
    half_m = min(window_m / 2.0, total_m / 8.0) if is_ring else window_m / 2.0
    before, after = at - half_m, at + half_m
    if is_ring:
        before, after = before % total_m, after % total_m
    chord = _points_at(after, xy, chainage) - _points_at(before, xy, chainage)
    span = np.clip(np.searchsorted(chainage, at, side="right") - 1, 0, len(xy) - 2)
    own = np.diff(xy, axis=0)[span]
    has_turned_back = np.hypot(chord[:, 0], chord[:, 1]) < 1e-6 * half_m
    chord[has_turned_back] = own[has_turned_back]
    unit: NDArray[np.float64] = chord / np.hypot(chord[:, 0], chord[:, 1])[:, None]
    return unit


def segments_on_cells(
    frame: Frame, segments: Segments, *, reach_m: float = 0.0
) -> tuple[Segments, NDArray[np.int64], NDArray[np.int32]]:
    """Find the segments that touch each cell of the corridor or come within reach of it.

    With the reach of a drive's outermost bores, whatever one of them meets stands in the list of a cell
    that the drive's centre line touches.

    Parameters
    ----------
    frame : Frame
    segments : Segments
    reach_m : float
        From the centre line of a drive to the outer edge of its outermost bore [m].

    Returns
    -------
    segments : Segments
        Those that touch any cell.
    start : ndarray of int64, shape (nx * ny + 1,)
    segment : ndarray of int32
        ``segment[start[c]:start[c + 1]]`` are those of cell ``c = i * ny + j``, each widened by a margin
        and by the reach: never one too few, beyond the corners a few more.
    """
    n_columns, n_rows = frame.shape
    tree = shapely.STRtree(segments.lines())
    cells, found = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for first in range(0, n_columns, COLUMNS_AT_A_TIME):
        column, row = np.nonzero(frame.is_valid[first : first + COLUMNS_AT_A_TIME])
        column = column + first
        quads = shapes.polygons(
            widened(cell_corners(frame, column, row, margin_frac=CELL_MARGIN_FRAC), reach_m)
        )
        quad, segment = tree.query(quads, predicate="intersects")
        cells.append(column[quad] * n_rows + row[quad])
        found.append(segment)
    cell, segment = np.concatenate(cells), np.concatenate(found)
    used, renumbered = np.unique(segment, return_inverse=True)
    order = np.lexsort((renumbered, cell))
    start = np.zeros(n_columns * n_rows + 1, dtype=np.int64)
    np.cumsum(np.bincount(cell, minlength=n_columns * n_rows), out=start[1:])
    return segments.taken(used), start, renumbered[order].astype(np.int32)


def widened(corners_m: NDArray[np.float64], reach_m: float) -> NDArray[np.float64]:
    """Return convex quads with every side moved outwards.

    Parameters
    ----------
    corners_m : ndarray of shape (n, 4, 2)
        In ring order, not closed [m].
    reach_m : float
        How far each side moves [m].

    Returns
    -------
    ndarray of shape (n, 4, 2)
        Sides meet in sharp corners, so that all ground within reach is held.
    """
    if reach_m <= 0.0:
        return corners_m
    side = np.roll(corners_m, -1, axis=1) - corners_m
    turn = np.sign(side[:, 0, 0] * side[:, 1, 1] - side[:, 0, 1] * side[:, 1, 0])
    outwards = np.stack([side[..., 1], -side[..., 0]], axis=2) * turn[:, None, None]
    outwards /= np.hypot(side[..., 0], side[..., 1])[..., None]
    before = np.roll(outwards, 1, axis=1)
    spread = 1.0 + (before * outwards).sum(axis=2, keepdims=True)
    moved: NDArray[np.float64] = corners_m + reach_m * (before + outwards) / spread
    return moved
