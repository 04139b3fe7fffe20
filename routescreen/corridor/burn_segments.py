"""Crossings as short straight segments on the cells of the frame, for exact tests along any chord.

Room: ``corridor``. Geometry only; imports the frame and the treatment.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.frame import cell_quads
from routescreen.corridor.treatment import WIDER

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from routescreen.corridor.frame import Frame
    from routescreen.corridor.treatment import Crossings

CELL_MARGIN_FRAC = 0.05  # cells are widened by this share on each side, so that no chord slips between
COLUMNS_AT_A_TIME = 128
_TURN_PER_PIECE_RAD = np.radians(2.0)  # how far the smoothed direction may turn within a piece
_LEAST_PIECE_M = 0.05
_MOST_HALVINGS = 12
_ON_EDGE_M = 0.01  # an edge this near to the half-width of a line is that line's
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
    line, round its end or along its edge, still crosses it.

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
    """Return the outline's boundary; where it is the edge of a line, with that line's direction and angle."""
    segments = _outline_segments(crossing, shapely.segmentize(outline, window_m / 2.0))
    middle = shapes.points((segments.xy_m[:, :2] + segments.xy_m[:, 2:]) / 2.0)
    away_m = np.array([shapely.distance(line.line, middle) for line in lines])
    nearest = np.argmin(away_m, axis=0)
    tangent, sine = segments.tangent, segments.sin_min_angle
    for k, line in enumerate(lines):
        is_edge = (nearest == k) & (away_m[k] <= line.half_width_m + _ON_EDGE_M)
        xy, chainage = _measured(line.line)
        at = np.asarray(shapely.line_locate_point(line.line, middle[is_edge]))
        is_ring = bool(line.line.is_closed)
        tangent[is_edge] = smoothed_tangent(at, xy, chainage, window_m, is_ring=is_ring)
        sine[is_edge] = np.sin(np.radians(line.angle_deg))
    return segments


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


def _measured(line: shapely.LineString) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
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
    frame: Frame, segments: Segments
) -> tuple[Segments, NDArray[np.int64], NDArray[np.int32]]:
    """Find the segments that touch each cell of the corridor.

    Parameters
    ----------
    frame : Frame
    segments : Segments

    Returns
    -------
    segments : Segments
        Those that touch any cell.
    start : ndarray of int64, shape (nx * ny + 1,)
    segment : ndarray of int32
        ``segment[start[c]:start[c + 1]]`` touch cell ``c = i * ny + j``, each widened by a margin.
    """
    n_columns, n_rows = frame.shape
    tree = shapely.STRtree(segments.lines())
    cells, found = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for first in range(0, n_columns, COLUMNS_AT_A_TIME):
        column, row = np.nonzero(frame.is_valid[first : first + COLUMNS_AT_A_TIME])
        column = column + first
        quads = cell_quads(frame, column, row, margin_frac=CELL_MARGIN_FRAC)
        quad, segment = tree.query(quads, predicate="intersects")
        cells.append(column[quad] * n_rows + row[quad])
        found.append(segment)
    cell, segment = np.concatenate(cells), np.concatenate(found)
    used, renumbered = np.unique(segment, return_inverse=True)
    order = np.lexsort((renumbered, cell))
    start = np.zeros(n_columns * n_rows + 1, dtype=np.int64)
    np.cumsum(np.bincount(cell, minlength=n_columns * n_rows), out=start[1:])
    return segments.taken(used), start, renumbered[order].astype(np.int32)
