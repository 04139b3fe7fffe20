"""A part of a frame cut finer, and of the corridor no more than what lies near it.

Room: ``corridor``. Geometry and tables only; imports the frame, the ground and the treatment. Every node of
the frame in that part is a node of the finer one, so that whatever could be planned before still can.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.compounds import compound_reach_m
from routescreen.corridor.frame import Frame, knots, nodes_inside, right_normal
from routescreen.corridor.obstacles import bounds_of
from routescreen.corridor.treatment import Crossings, chosen_crossings

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import LineString, Polygon
    from shapely.geometry.base import BaseGeometry

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.ground import GroundSampler
    from routescreen.corridor.treatment import Features
    from routescreen.project import CorridorInput, RasterGrid

BEYOND_M = 100.0  # what lies further from all nodes, clearances and compounds apart, touches no works there
_COLUMNS_BESIDE = 100  # of the axis beyond the part, for telling where the frame folds
_NEAR_M = 1e-6


@dataclass(frozen=True, slots=True)
class Cut:
    """Which part of a frame is cut, and how finely.

    Attributes
    ----------
    n_parts : int
        Into how many parts each side of a cell is cut.
    nodes : ndarray of int64, shape (n, 2)
        Column and row of the frame's nodes along a way through the part; its ends become the terminals.
    aside_m : float or None
        How far from that way nodes may lie; None: anywhere in these columns [m].
    """

    n_parts: int
    nodes: NDArray[np.int64]
    aside_m: float | None


def finer_frame(frame: Frame, corridor: CorridorInput, cut: Cut) -> Frame:
    """Cut a part of a frame finer.

    Columns and rows keep their direction; between two of the frame's columns the axis runs straight from
    station to boundary to station.

    Returns
    -------
    Frame
        Column ``n_parts * c`` and row ``n_parts * r`` of it, from its own first ones, are column c and row
        r of the frame.
    """
    n, cell_m = cut.n_parts, frame.cell_m / cut.n_parts
    (first, start_row), (last, end_row) = cut.nodes[0], cut.nodes[-1]
    steps = np.arange((last - first) * n + 1)
    station_xy, tangent = _on_axis(frame, (2 * first + 1) * n + 2 * steps, n)
    boundary_xy, boundary_tangent = _on_axis(
        frame, (2 * first + 1) * n + 2 * np.arange(len(steps) + 1) - 1, n
    )
    low, high = _rows(frame, cut)
    offset = frame.offset0_m + cell_m * np.arange(low, high + 1, dtype=np.float64)
    node_xy = station_xy[:, None, :] + offset[None, :, None] * right_normal(tangent)[:, None, :]
    beside = slice(max(0, first - _COLUMNS_BESIDE), last + _COLUMNS_BESIDE)
    is_valid = nodes_inside(corridor, frame.station_xy_m[beside], node_xy, offset, frame.cell_m)
    return Frame(
        corridor_id=frame.corridor_id,
        cell_m=cell_m,
        column_spacing_m=frame.column_spacing_m / n,
        offset0_m=float(offset[0]),
        station_xy_m=station_xy,
        tangent=tangent,
        boundary_xy_m=boundary_xy,
        boundary_tangent=boundary_tangent,
        node_xy_m=node_xy,
        is_valid=is_valid & _is_near(frame, node_xy, cut),
        start=(0, int(start_row) * n - low),
        end=(len(steps) - 1, int(end_row) * n - low),
        is_line=frame.is_line,
    )


def _on_axis(
    frame: Frame, place: NDArray[np.int64], n_parts: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return points and unit directions on the axis, by place among its knots in parts of a span."""
    _, xy, normal = knots(frame)
    span, part = np.divmod(place, n_parts)
    share = (part / n_parts)[:, None]
    after = np.minimum(span + 1, len(xy) - 1)  # a whole knot needs none behind it
    point = (1.0 - share) * xy[span] + share * xy[after]
    across = (1.0 - share) * normal[span] + share * normal[after]
    across /= np.hypot(across[:, 0], across[:, 1])[:, None]
    return point, np.stack([-across[:, 1], across[:, 0]], axis=1)


def _rows(frame: Frame, cut: Cut) -> tuple[int, int]:
    """Return the first and the last fine row, counted from the frame's row 0."""
    n, n_rows = cut.n_parts, frame.shape[1]
    if n_rows == 1:  # a fixed alignment
        return 0, 0
    low, high = -(n - 1), n_rows * n - 1
    if cut.aside_m is None:
        return low, high
    n_aside = int(np.ceil(cut.aside_m / (frame.cell_m / n) - 1e-9))
    row = cut.nodes[:, 1] * n
    return max(low, int(row.min()) - n_aside), min(high, int(row.max()) + n_aside)


def _is_near(frame: Frame, node_xy: NDArray[np.float64], cut: Cut) -> NDArray[np.bool_]:
    """Return which nodes lie near the way through the part."""
    if cut.aside_m is None:
        return np.ones(node_xy.shape[:2], dtype=np.bool_)
    way = shapely.linestrings(frame.node_xy_m[cut.nodes[:, 0], cut.nodes[:, 1]])
    shapely.prepare(way)
    is_near = shapely.dwithin(way, shapes.points(node_xy.reshape(-1, 2)), cut.aside_m + _NEAR_M)
    return np.asarray(is_near).reshape(node_xy.shape[:2])


@dataclass(frozen=True, slots=True)
class CorridorPart:
    """What of a corridor bears on a part of its frame."""

    corridor: CorridorInput
    crossings: Crossings
    sampler: GroundSampler


def part_near(
    frame: Frame,
    corridor: CorridorInput,
    crossings: Crossings,
    sampler: GroundSampler,
    *,
    assumptions: Assumptions,
) -> CorridorPart:
    """Return what lies near a frame: crossings with their clearances, and the rasters cut down.

    Of the pins only those stay that keep shafts away: whoever cuts the frame knows where the others stand.

    Parameters
    ----------
    frame : Frame
        Of a part of the corridor.
    corridor : CorridorInput
    crossings : Crossings
        Of the whole corridor.
    sampler : GroundSampler
        Of the whole corridor.
    assumptions : Assumptions
        Tell how far compounds reach, and how far beyond its half-width the base of a dyke is looked for.

    Returns
    -------
    CorridorPart
    """
    box = shapely.box(*bounds_of(frame.node_xy_m[frame.is_valid]))
    reach_m = max(BEYOND_M + _clearance_m(crossings.features), compound_reach_m(assumptions) + _NEAR_M)
    is_near = shapely.distance(crossings.outline, box) <= reach_m
    near = chosen_crossings(crossings, np.flatnonzero(is_near))
    seen_m = reach_m + assumptions.frame.base_search_m + _base_half_width_m(near.features)
    seen = shapely.box(*box.buffer(seen_m).bounds)
    cover, terrain = corridor.ground_cover, corridor.terrain
    terrain = None if terrain is None else _within(terrain, seen)
    cover = None if cover is None else _within(cover, seen)
    pins = corridor.pins[(corridor.pins["role"] == "no_shaft").to_numpy(dtype=np.bool_)]
    part = replace(
        corridor,
        outline=cast("Polygon | None", _common(corridor.outline, seen)),
        fixed_line=cast("LineString | None", _common(corridor.fixed_line, seen)),
        pins=pins,
        terrain=terrain,
        ground_cover=cover,
    )
    return CorridorPart(part, near, sampler.over(terrain, cover))


def _common(shape: BaseGeometry | None, area: BaseGeometry) -> BaseGeometry | None:
    """Return what of a shape lies in an area: several pieces where the corridor comes back nearby."""
    return None if shape is None else shapely.intersection(shape, area)


def _clearance_m(features: Features) -> float:
    """Return the widest clearance that any feature asks for [m]."""
    return float(
        max(features.shaft_clearance_m.max(initial=0.0), features.drive_clearance_m.max(initial=0.0))
    )


def _base_half_width_m(features: Features) -> float:
    """Return the widest half-width of what rests on a base [m]."""
    rests = features.cover_reference == "base"
    return float(features.half_width_m[rests].max(initial=0.0))


def _within(grid: RasterGrid, area: shapely.Polygon) -> RasterGrid | None:
    """Return the pixels of a raster that an area touches and two beyond; None where there are none."""
    west, south, east, north = area.bounds
    n_rows, n_columns = grid.values.shape
    left = max(0, int((west - grid.west_m) // grid.pixel_width_m) - 2)
    right = min(n_columns, int((east - grid.west_m) // grid.pixel_width_m) + 3)
    top = max(0, int((grid.north_m - north) // grid.pixel_height_m) - 2)
    bottom = min(n_rows, int((grid.north_m - south) // grid.pixel_height_m) + 3)
    if left >= right or top >= bottom:
        return None
    return replace(
        grid,
        values=grid.values[top:bottom, left:right],
        west_m=grid.west_m + left * grid.pixel_width_m,
        north_m=grid.north_m - top * grid.pixel_height_m,
    )
