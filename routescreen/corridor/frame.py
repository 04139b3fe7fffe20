"""The corridor frame: a grid of nodes along and across the frame axis, and the way to it and back.

Room: ``corridor``. Geometry only. Imports ``errors``, ``project`` and the axis.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.axis import frame_axis
from routescreen.corridor.centre import section_extents
from routescreen.errors import InputError, Problem

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import LineString, Polygon

    from routescreen.project import CorridorInput

LEAST_CELL_M = 0.5
MOST_NODES = 50_000_000
INSIDE_TOLERANCE_M = 1e-3  # a terminal on the outline's edge counts as inside
_FOLD_SHARE = 0.25  # of a cell: how much nearer to the axis than its offset a node may be


@dataclass(frozen=True, slots=True)
class Frame:
    """The frame of one corridor: columns i along the axis, rows j across, row 0 leftmost.

    Attributes
    ----------
    corridor_id : str
    cell_m : float
        Spacing of the rows [m].
    column_spacing_m : float
        Spacing of the columns: length of the frame axis over a whole number of cells [m].
    offset0_m : float
        Offset of row 0, right positive looking up-chainage [m].
    station_xy_m, tangent : ndarray of shape (nx, 2)
        Axis point of each column [m] and unit direction there; the right normal is (ty, -tx).
    boundary_xy_m, boundary_tangent : ndarray of shape (nx + 1, 2)
        The same half way before column k; the last one half a column beyond the end.
    node_xy_m : ndarray of shape (nx, ny, 2)
    is_valid : ndarray of bool, shape (nx, ny)
        Whether the node lies inside the corridor outline (and the frame does not fold there).
    start, end : tuple of int
        Column and row of the terminals.
    is_line : bool
        Whether the corridor is a fixed alignment, which has no edge to keep a trench from.
    """

    corridor_id: str
    cell_m: float
    column_spacing_m: float
    offset0_m: float
    station_xy_m: NDArray[np.float64]
    tangent: NDArray[np.float64]
    boundary_xy_m: NDArray[np.float64]
    boundary_tangent: NDArray[np.float64]
    node_xy_m: NDArray[np.float64]
    is_valid: NDArray[np.bool_]
    start: tuple[int, int]
    end: tuple[int, int]
    is_line: bool = False

    @property
    def shape(self) -> tuple[int, int]:
        """Number of columns and rows."""
        n_columns, n_rows = self.is_valid.shape
        return n_columns, n_rows

    @property
    def offset_m(self) -> NDArray[np.float64]:
        """Offset of each row, shape (ny,) [m]."""
        return self.offset0_m + self.cell_m * np.arange(self.shape[1], dtype=np.float64)

    @property
    def length_m(self) -> float:
        """Length of the frame axis between the terminals [m]."""
        return self.column_spacing_m * (self.shape[0] - 1)


def build_frame(corridor: CorridorInput, *, cell_m: float) -> Frame:
    """Lay the frame over a corridor.

    Parameters
    ----------
    corridor : CorridorInput
    cell_m : float
        Spacing of the rows, and about that of the columns [m].

    Returns
    -------
    Frame

    Raises
    ------
    InputError
        If the cell size does not fit the corridor, or no frame axis can be found.
    """
    check_cell_size(corridor, cell_m)
    axis = frame_axis(corridor, cell_m=cell_m)
    if axis.length_m < cell_m:
        raise _cell_error(
            corridor, cell_m, f"The corridor is only {axis.length_m:.2f} m long.", "Take a smaller one."
        )
    n_spans = max(1, round(axis.length_m / cell_m))
    spacing_m = axis.length_m / n_spans
    station_xy, tangent = axis.at(spacing_m * np.arange(n_spans + 1, dtype=np.float64))
    boundary_xy, boundary_tangent = axis.at(spacing_m * (np.arange(n_spans + 2, dtype=np.float64) - 0.5))
    n_left, n_right = _rows_beside(corridor, station_xy, tangent, cell_m)
    offset = cell_m * np.arange(-n_left, n_right + 1, dtype=np.float64)
    node_xy = station_xy[:, None, :] + offset[None, :, None] * right_normal(tangent)[:, None, :]
    return Frame(
        corridor_id=corridor.corridor_id,
        cell_m=cell_m,
        column_spacing_m=spacing_m,
        offset0_m=float(offset[0]),
        station_xy_m=station_xy,
        tangent=tangent,
        boundary_xy_m=boundary_xy,
        boundary_tangent=boundary_tangent,
        node_xy_m=node_xy,
        is_valid=nodes_inside(corridor, station_xy, node_xy, offset, cell_m),
        start=(0, n_left),
        end=(n_spans, n_left),
        is_line=corridor.outline is None,
    )


def check_cell_size(corridor: CorridorInput, cell_m: float) -> None:
    """Check that the cell size is a length, and would give no more nodes than can be handled.

    Raises
    ------
    InputError
    """
    if not (np.isfinite(cell_m) and cell_m >= LEAST_CELL_M):
        raise _cell_error(corridor, cell_m, "The cell size is too small.", f"Use at least {LEAST_CELL_M} m.")
    shape = corridor.outline if corridor.outline is not None else corridor.fixed_line
    if shape is None:
        return
    n_nodes = shape.area / cell_m**2 if corridor.outline is not None else shape.length / cell_m
    if n_nodes > MOST_NODES:
        text = f"The frame would have about {n_nodes:.3g} nodes, more than {MOST_NODES:.3g}."
        raise _cell_error(corridor, cell_m, text, "Use larger cells, or split the corridor.")


def _cell_error(corridor: CorridorInput, cell_m: float, problem: str, remedy: str) -> InputError:
    """Return the error of a cell size that does not fit."""
    return InputError(
        [
            Problem(
                problem=problem,
                remedy=remedy,
                layer="assumptions",
                feature=corridor.corridor_id,
                column="frame.cell_m",
                value=f"{cell_m:g} m",
            )
        ]
    )


def _rows_beside(
    corridor: CorridorInput, station_xy: NDArray[np.float64], tangent: NDArray[np.float64], cell_m: float
) -> tuple[int, int]:
    """Return the number of rows left and right of the axis that the corridor's width calls for."""
    if corridor.outline is None:
        return 0, 0
    filled = shapely.Polygon(corridor.outline.exterior)
    left_m, right_m = section_extents(filled, station_xy, tangent)
    slack = INSIDE_TOLERANCE_M
    return int((left_m.max() + slack) // cell_m), int((right_m.max() + slack) // cell_m)


def nodes_inside(
    corridor: CorridorInput,
    station_xy: NDArray[np.float64],
    node_xy: NDArray[np.float64],
    offset: NDArray[np.float64],
    cell_m: float,
) -> NDArray[np.bool_]:
    """Return which nodes lie in the outline, and in the part of it that belongs to their own column.

    `station_xy` are points of the axis, `offset` that of each row, `cell_m` the spacing of the rows [m].
    """
    if corridor.outline is None:
        return np.ones(node_xy.shape[:2], dtype=np.bool_)
    area = usable_area(corridor.outline)
    is_inside = shapely.intersects_xy(area, node_xy[..., 0], node_xy[..., 1])
    line = shapely.linestrings(station_xy)
    shapely.prepare(line)
    # a node that is nearer to the axis than its offset belongs to other columns
    least_m = np.abs(offset) - _FOLD_SHARE * cell_m
    for row in np.flatnonzero(least_m > 0.0):
        asked = np.flatnonzero(is_inside[:, row])
        points = shapes.points(node_xy[asked, row])
        is_inside[asked, row] = ~shapely.dwithin(line, points, float(least_m[row]))
    return np.asarray(is_inside, dtype=np.bool_)


def usable_area(outline: Polygon) -> Polygon:
    """Return the outline widened by a millimetre, prepared: what counts as inside the corridor."""
    area = outline.buffer(INSIDE_TOLERANCE_M)
    shapely.prepare(area)
    return area


def right_normal(tangent: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the unit vectors square to `tangent`, to the right looking along it."""
    return np.stack([tangent[..., 1], -tangent[..., 0]], axis=-1)


def cell_corners(
    frame: Frame, column: NDArray[np.int64], row: NDArray[np.int64], *, margin_frac: float = 0.0
) -> NDArray[np.float64]:
    """Return the corners of cells: quads between two column boundaries and two offsets.

    Parameters
    ----------
    frame : Frame
    column, row : ndarray of int, shape (n,)
    margin_frac : float
        How far each side moves outwards, as a share of the cell [-].

    Returns
    -------
    ndarray of shape (n, 4, 2)
        In ring order, not closed: left and right at the lower chainage, right and left at the upper [m].
    """
    half_m = (0.5 + margin_frac) * frame.cell_m
    offset = frame.offset0_m + frame.cell_m * row
    corners = np.empty((len(column), 4, 2))
    for k, (step, side) in enumerate(((0, -1), (0, 1), (1, 1), (1, -1))):
        tangent = frame.boundary_tangent[column + step]
        ahead_m = (2 * step - 1) * margin_frac * frame.column_spacing_m
        across_m = offset + side * half_m
        corners[:, k] = (
            frame.boundary_xy_m[column + step] + ahead_m * tangent + across_m[:, None] * right_normal(tangent)
        )
    return corners


def cell_quads(
    frame: Frame, column: NDArray[np.int64], row: NDArray[np.int64], *, margin_frac: float = 0.0
) -> NDArray[np.object_]:
    """Return cells as polygons, shape (n,); see `cell_corners`."""
    return shapes.polygons(cell_corners(frame, column, row, margin_frac=margin_frac))


def knots(frame: Frame) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return chainage, axis point and right normal at all boundaries and stations, in order."""
    n_columns = frame.shape[0]
    xy = np.empty((2 * n_columns + 1, 2))
    tangent = np.empty_like(xy)
    xy[0::2], xy[1::2] = frame.boundary_xy_m, frame.station_xy_m
    tangent[0::2], tangent[1::2] = frame.boundary_tangent, frame.tangent
    chainage = (np.arange(2 * n_columns + 1, dtype=np.float64) - 1.0) * frame.column_spacing_m / 2.0
    return chainage, xy, right_normal(tangent)


def to_xy(
    frame: Frame, chainage_m: NDArray[np.float64], offset_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the points at a chainage on the frame axis and an offset from it.

    Between stations and boundaries, axis points and normals are interpolated linearly, so nodes and
    cell corners are met exactly.

    Parameters
    ----------
    frame : Frame
    chainage_m, offset_m : ndarray of shape (n,)

    Returns
    -------
    ndarray of shape (n, 2)
    """
    if len(chainage_m) == 0:
        return np.zeros((0, 2))
    half_m = frame.column_spacing_m / 2.0
    span = np.clip(np.floor(chainage_m / half_m + 1.0).astype(np.int64), 0, 2 * frame.shape[0] - 1)
    share = ((chainage_m - (span - 1) * half_m) / half_m)[:, None]
    first = int(span.min())  # the knots between the outermost points, each looked up once
    xy, normal = _knots_at(frame, np.arange(first, int(span.max()) + 2))
    span -= first
    point: NDArray[np.float64] = (1.0 - share) * xy[span] + share * xy[span + 1]
    across: NDArray[np.float64] = (1.0 - share) * normal[span] + share * normal[span + 1]
    return point + offset_m[:, None] * across


def _knots_at(frame: Frame, knot: NDArray[np.int64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return axis point and right normal of some of the knots; see `knots`, which makes all of them."""
    at, is_station = knot // 2, (knot % 2 == 1)[:, None]
    station = np.minimum(at, frame.shape[0] - 1)
    xy = np.where(is_station, frame.station_xy_m[station], frame.boundary_xy_m[at])
    return xy, right_normal(np.where(is_station, frame.tangent[station], frame.boundary_tangent[at]))


def to_chainage_offset(
    frame: Frame, xy_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return chainage on the frame axis and offset of points: the inverse of `to_xy`.

    Parameters
    ----------
    frame : Frame
    xy_m : ndarray of shape (n, 2)

    Returns
    -------
    chainage_m, offset_m : ndarray of shape (n,)
        Beyond the ends the first and last span run on.
    """
    _, xy, normal = knots(frame)
    span = _span_of(xy, normal, xy_m)
    share = _share_in_span(
        xy_m - xy[span], xy[span + 1] - xy[span], normal[span], normal[span + 1] - normal[span]
    )
    point = (1.0 - share)[:, None] * xy[span] + share[:, None] * xy[span + 1]
    across = (1.0 - share)[:, None] * normal[span] + share[:, None] * normal[span + 1]
    offset_m = ((xy_m - point) * across).sum(axis=1) / (across * across).sum(axis=1)
    return (span - 1 + share) * frame.column_spacing_m / 2.0, offset_m


def _span_of(
    xy: NDArray[np.float64], normal: NDArray[np.float64], points: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Return the span between whose two normals each point lies, starting from the nearest axis point."""
    lengths = np.hypot(*np.diff(xy, axis=0).T)
    line = shapely.linestrings(xy)
    along = shapely.line_locate_point(line, shapely.points(points))
    last = len(xy) - 2
    span = np.clip(np.searchsorted(np.cumsum(lengths), along), 0, last)
    for _ in range(len(xy)):
        step = (_ahead(xy[span + 1], normal[span + 1], points) > 0.0).astype(np.int64)
        step -= (_ahead(xy[span], normal[span], points) < 0.0).astype(np.int64)
        moved = np.clip(span + step, 0, last)
        if np.array_equal(moved, span):
            break
        span = moved
    return span


def _ahead(
    xy: NDArray[np.float64], normal: NDArray[np.float64], points: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return how far points lie ahead of the normal line through each axis point [m]."""
    away = points - xy
    ahead: NDArray[np.float64] = -away[:, 0] * normal[:, 1] + away[:, 1] * normal[:, 0]
    return ahead


def _share_in_span(
    away: NDArray[np.float64],
    chord: NDArray[np.float64],
    normal: NDArray[np.float64],
    turn: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Solve (away - u chord) x (normal + u turn) = 0 for u, the root nearest to the span's middle."""

    def cross(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
        product: NDArray[np.float64] = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
        return product

    constant, square = cross(away, normal), -cross(chord, turn)
    linear = cross(away, turn) - cross(chord, normal)
    root = np.sqrt(np.maximum(linear**2 - 4.0 * square * constant, 0.0))
    # the root that stays finite when the normals are parallel (square = 0)
    return -2.0 * constant / (linear + np.copysign(root, linear))


def reference_axis(corridor: CorridorInput, frame: Frame) -> LineString:
    """Return the axis that results refer to: the given one, else the fixed line, else the frame axis."""
    if corridor.axis is not None:
        return corridor.axis
    if corridor.fixed_line is not None:
        return corridor.fixed_line
    return shapely.LineString(frame.station_xy_m)


def locate_on_axis(
    axis: LineString, xy_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return chainage along a line and signed offset from it, right positive.

    Parameters
    ----------
    axis : LineString
    xy_m : ndarray of shape (n, 2)

    Returns
    -------
    chainage_m, offset_m : ndarray of shape (n,)
        Of the nearest point of the line [m].
    """
    points = shapes.points(xy_m)
    chainage_m: NDArray[np.float64] = np.asarray(shapely.line_locate_point(axis, points))
    reach_m = min(1e-3, axis.length / 4.0)
    behind = shapely.get_coordinates(
        shapely.line_interpolate_point(axis, np.maximum(chainage_m - reach_m, 0.0))
    )
    ahead = shapely.get_coordinates(
        shapely.line_interpolate_point(axis, np.minimum(chainage_m + reach_m, axis.length))
    )
    along, away = ahead - behind, xy_m - behind
    side = np.sign(along[:, 1] * away[:, 0] - along[:, 0] * away[:, 1])
    return chainage_m, side * shapely.distance(axis, points)
