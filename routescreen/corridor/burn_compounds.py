"""Where a shaft has land for its compound, by method, role and heading of its drive.

Room: ``corridor``. Geometry only; imports the frame, the places of compounds and ``drives.methods``. Each
class of headings is parted; a place counts for a part only if it is clear at all its headings, the compound
lying against the shaft's plan wherever that turns to, and a class only if each of its parts has a place. So
whatever is let through has a clear place at the drive's true heading.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor.compound_kernel import EdgeGrid, SweptPlaces, free_compounds
from routescreen.corridor.compounds import (
    all_swept_m,
    barred_cover,
    closed_outlines,
    compound_size_m,
    contact,
    places,
    refused_ground,
)
from routescreen.corridor.obstacles import bounds_of
from routescreen.corridor.stencil import N_BINS

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import GroundSampler
    from routescreen.corridor.treatment import Crossings
    from routescreen.drives.methods import MethodGeometry

_TOUCH_M = 1e-6  # a compound may lie against barred land: far above float noise
_BEYOND_M = 1e-3  # looked for edges so much further than any compound reaches
_HATCH_SHARE = 0.99  # of a compound's shorter side: a circle in it always meets a line of the hatch
_BUCKET_M = 50.0
N_PARTS = 4  # of each class of headings: over 3 degrees a shaft's plan hardly pushes its compound aside
_COLUMNS_AT_A_TIME = 256  # bounds the memory


@dataclass(frozen=True, slots=True)
class CompoundNeed:
    """A shaft's plan, length along the drive and width [m], and its compound, longer side first [m]."""

    plan_m: tuple[float, float]
    size_m: tuple[float, float]


def compound_needs(methods: Sequence[MethodGeometry], assumptions: Assumptions) -> list[CompoundNeed]:
    """Return what each method needs at its launch and at its reception, in that order."""
    return [
        CompoundNeed(plan_m, compound_size_m(assumptions.methods[method.name], is_launch=is_launch))
        for method in methods
        for is_launch, plan_m in ((True, method.launch_plan_m), (False, method.reception_plan_m))
    ]


def compound_room(
    frame: Frame,
    needs: Sequence[CompoundNeed],
    barred: NDArray[np.object_],
    shaft_ok: NDArray[np.bool_],
    *,
    max_heading_rad: float,
) -> NDArray[np.bool_]:
    """Return where a shaft that may stand has land for its compound too.

    Parameters
    ----------
    frame : Frame
    needs : sequence of CompoundNeed, length 2 n_methods
        Launch and reception of each method.
    barred : ndarray of Polygon or MultiPolygon
        Land that bears no compound.
    shaft_ok : ndarray of bool, shape (n_methods, 2, N_BINS, nx, ny)
        Where shafts may stand; nothing else is asked.
    max_heading_rad : float
        Steepest heading of a drive against the axis at its shaft [rad].

    Returns
    -------
    ndarray of bool, shape (n_methods, 2, N_BINS, nx, ny)
    """
    is_free = np.zeros_like(shaft_ok)
    if not shaft_ok.any():
        return is_free
    swept = swept_places(tuple(needs), max_heading_rad=max_heading_rad)
    is_asked = np.asarray(shaft_ok.any(axis=(0, 1, 2)))
    spacing_m = _HATCH_SHARE * min(min(need.size_m) for need in needs)
    grid = edge_grid(barred, bounds_of(frame.node_xy_m[is_asked]), swept.reach_m, spacing_m)
    for first in range(0, frame.shape[0], _COLUMNS_AT_A_TIME):
        column, row = np.nonzero(is_asked[first : first + _COLUMNS_AT_A_TIME])
        column += first
        asked = np.moveaxis(shaft_ok[..., column, row], -1, 0).reshape(len(column), len(needs), N_BINS)
        asked = np.repeat(asked, N_PARTS, axis=2)
        found = free_compounds(
            frame.node_xy_m[column, row],
            frame.tangent[column],
            asked,
            grid,
            swept,
        )
        is_whole = np.asarray(found.reshape(len(column), len(needs), N_BINS, N_PARTS).all(axis=3))
        is_free[..., column, row] = np.moveaxis(is_whole, 0, -1).reshape(*shaft_ok.shape[:3], len(column))
    return is_free


def barred_land(
    crossings: Crossings, sampler: GroundSampler, assumptions: Assumptions, pins: gpd.GeoDataFrame
) -> NDArray[np.object_]:
    """Return all land that bears no compound, whatever the plan: features, ground cover, refused ground."""
    refused = np.array([*refused_ground(pins), None], dtype=object)[:-1]
    land = np.concatenate([closed_outlines(crossings), barred_cover(sampler, assumptions), refused])
    return land[~shapely.is_empty(land)]


@lru_cache(maxsize=8)  # each local frame asks anew
def swept_places(needs: tuple[CompoundNeed, ...], *, max_heading_rad: float) -> SweptPlaces:
    """Return all places of all compounds, swept over each part of each class of headings."""
    n_parts = N_BINS * N_PARTS
    part_rad = 2.0 * max_heading_rad / n_parts
    low_rad = -max_heading_rad + part_rad * np.arange(n_parts)
    tried = [places(need.size_m) for need in needs]
    swept = np.empty((len(tried[0]), len(needs), n_parts, 4))
    for size, need in enumerate(needs):
        for b, low in enumerate(low_rad):
            touched = {
                out: contact(need.plan_m, out - low - part_rad, out - low)
                for out in dict.fromkeys(place.out_rad for place in tried[size])
            }
            swept[:, size, b] = all_swept_m(tried[size], [touched[place.out_rad] for place in tried[size]])
    swept += _TOUCH_M * np.array([1.0, -1.0, 1.0, -1.0])
    out = np.array([[np.cos(place.out_rad), np.sin(place.out_rad)] for place in tried[0]])
    far_m, left_m, right_m = swept[..., 1].max(), swept[..., 2].min(), swept[..., 3].max()
    return SweptPlaces(
        out,
        swept,
        _hull(swept, axis=2),
        _core(swept, axis=2),
        _hull(swept, axis=(1, 2)),
        _core(swept, axis=(1, 2)),
        float(np.hypot(far_m, max(-left_m, right_m))) + _BEYOND_M,
    )


def _hull(swept: NDArray[np.float64], axis: int | tuple[int, ...]) -> NDArray[np.float64]:
    """Return the rectangles that hold all others."""
    low, high = swept.min(axis=axis), swept.max(axis=axis)
    return np.stack([low[..., 0], high[..., 1], low[..., 2], high[..., 3]], axis=-1)


def _core(swept: NDArray[np.float64], axis: int | tuple[int, ...]) -> NDArray[np.float64]:
    """Return the rectangles that all others hold; some are empty, near beyond far."""
    low, high = swept.min(axis=axis), swept.max(axis=axis)
    return np.stack([high[..., 0], low[..., 1], high[..., 2], low[..., 3]], axis=-1)


def edge_grid(
    barred: NDArray[np.object_],
    bounds_m: tuple[float, float, float, float],
    reach_m: float,
    spacing_m: float,
) -> EdgeGrid:
    """Return the edges and the hatch of barred land within reach of a box, in buckets."""
    west, south, east, north = (
        bounds_m[0] - reach_m,
        bounds_m[1] - reach_m,
        bounds_m[2] + reach_m,
        bounds_m[3] + reach_m,
    )
    box = shapely.box(west, south, east, north)
    near = barred[np.sort(shapely.STRtree(barred).query(box))]
    edges, area = _edges(near)
    edges = np.concatenate([edges, _hatch(edges, area, near, spacing_m)])
    edges = _short(edges, _BUCKET_M)
    middle = 0.5 * (edges[:, :2] + edges[:, 2:])
    across, up = (np.floor((middle - [west, south]) / _BUCKET_M).astype(np.int64)).T
    n_across, n_up = int((east - west) // _BUCKET_M) + 2, int((north - south) // _BUCKET_M) + 2
    # one bucket more on each side: edges reach in from beyond the box
    is_in = (across >= -1) & (up >= -1) & (across <= n_across) & (up <= n_up)
    flat = (up[is_in] + 1) * (n_across + 2) + across[is_in] + 1
    order = np.argsort(flat, kind="stable")
    start = np.zeros((n_across + 2) * (n_up + 2) + 1, np.int64)
    np.cumsum(np.bincount(flat, minlength=len(start) - 1), out=start[1:])
    return EdgeGrid(
        np.ascontiguousarray(edges[is_in][order]),
        start,
        float(west - _BUCKET_M),
        float(south - _BUCKET_M),
        _BUCKET_M,
        n_across + 2,
        n_up + 2,
    )


def _edges(areas: NDArray[np.object_]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return the edges of areas, shape (n, 4), and the area that each belongs to."""
    collected, of_collected = shapely.get_parts(areas, return_index=True)
    parts, of_part = shapely.get_parts(
        collected, return_index=True
    )  # what was mended may hold areas in areas
    rings, of_ring = shapely.get_rings(parts, return_index=True)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    is_edge = ring[1:] == ring[:-1]
    ends = np.concatenate([xy[:-1], xy[1:]], axis=1)[is_edge] if len(xy) else np.zeros((0, 4))
    return ends, of_collected[of_part[of_ring[ring[:-1][is_edge]]]]


def _hatch(
    edges: NDArray[np.float64], area: NDArray[np.int64], areas: NDArray[np.object_], spacing_m: float
) -> NDArray[np.float64]:
    """Return the stretches of level lines inside areas that may hold a whole compound, shape (n, 4)."""
    bounds = shapely.bounds(areas)
    is_wide = np.minimum(bounds[:, 2] - bounds[:, 0], bounds[:, 3] - bounds[:, 1]) > spacing_m
    edges, area = edges[is_wide[area]], area[is_wide[area]]
    y_low, y_high = np.minimum(edges[:, 1], edges[:, 3]), np.maximum(edges[:, 1], edges[:, 3])
    first = np.ceil(y_low / spacing_m).astype(np.int64)
    count = np.ceil(y_high / spacing_m).astype(np.int64) - first  # an upper end is not on the edge
    edge = np.repeat(np.arange(len(edges)), count)
    line = first[edge] + np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    y = line * spacing_m
    x1, y1, x2, y2 = edges[edge].T
    x = x1 + (y - y1) / (y2 - y1) * (x2 - x1)
    order = np.lexsort((x, line, area[edge]))  # each line enters and leaves an area in turn
    x, y = x[order], y[order]
    return np.stack([x[0::2], y[0::2], x[1::2], y[1::2]], axis=1)


def _short(edges: NDArray[np.float64], longest_m: float) -> NDArray[np.float64]:
    """Return edges cut into equal pieces, none longer than a length."""
    length_m = np.hypot(edges[:, 2] - edges[:, 0], edges[:, 3] - edges[:, 1])
    count = np.maximum(np.ceil(length_m / longest_m), 1.0).astype(np.int64)
    edge = np.repeat(np.arange(len(edges)), count)
    part = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    low, high = part / count[edge], (part + 1) / count[edge]
    start, step = edges[edge, :2], edges[edge, 2:] - edges[edge, :2]
    return np.concatenate([start + low[:, None] * step, start + high[:, None] * step], axis=1)
