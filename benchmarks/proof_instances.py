"""Invented corridors on which every rule of the search matters, as its arrays, from a seed.

Bent frames, features with true outlines (fees, least angles, nodes inside), ground and ceilings that
ask for unequal depths at shared shafts, groundwater, rock, two methods, pins and banned drives.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from benchmarks.instances import MOVES, fill_prices, ramp_prices
from benchmarks.proof_forces import proof_forces
from benchmarks.proof_ground import fine_ground, proof_ground, rock_levels
from benchmarks.proof_land import proof_land
from routescreen.search.arrays import (
    N_BINS,
    DriveArrays,
    FrameArrays,
    GroundArrays,
    SearchArrays,
    ShaftArrays,
    TrenchArrays,
    entry_arrays,
    no_gaps,
    none_drilled,
    sites_of_nodes,
)
from routescreen.search.parted import passed_fees_eur

CELL_M, STEP_M, SUMP_M = 10.0, 0.25, 0.6
N_LEVELS, N_SOILS = 37, 3
N_RISE_LEVELS = 6  # from the groundwater as given to the highest
NO_DRIVE_M = -1e9
TIGHT_SHARE = 0.4
MAX_TAN = float(np.tan(np.radians(30.0)))
CLOSED_SHARE = 0.08  # of a method under a crossing

Floats, Booleans = NDArray[np.float64], NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Size:
    """Columns and rows of an instance, the longest drive in columns, and what makes it harder.

    `radius_m` of the axis' bend in two thirds of the instances, `rows_aside` how far the frame lies beside
    its axis, `trench_factor` on the price of open cut.
    """

    n_columns: int
    n_rows: int
    longest_columns: int = 5
    radius_m: tuple[float, float] = (450.0, 1500.0)
    rows_aside: int = 0
    trench_factor: float = 1.0


@dataclass(frozen=True, slots=True)
class _Features:
    """Features on the frame: outlines, items of trench and drive, the least angle, what they close."""

    outline: NDArray[np.object_]
    trench_eur: Floats
    drive_eur: Floats
    sin_min_angle: Floats
    is_closed: Booleans
    dip_m: Floats


def proof_arrays(seed: int, size: Size) -> SearchArrays:
    """Make an invented corridor.

    Parameters
    ----------
    seed : int
        The same seed and size give the same arrays.
    size : Size

    Returns
    -------
    SearchArrays
        About half of the optima hold shafts that serve two drives.
    """
    rng = np.random.default_rng([seed, size.n_columns, size.n_rows])
    nx, ny = size.n_columns, size.n_rows
    n_methods, column_m = 1 + int(rng.random() < 0.7), float(rng.uniform(9.7, 10.3))
    bend_per_m = _bend(rng, size.radius_m)
    frame = bent_frame(nx, ny, column_m=column_m, bend_per_m=bend_per_m, rows_aside=size.rows_aside)
    features = _features(rng, frame, nx, ny)
    ground, rock_level_m = proof_ground(rng, nx, ny)
    longest_m = CELL_M * (size.longest_columns + 0.9)
    shaft = _shafts(rng, ground, rock_level_m, n_methods)
    arrays = SearchArrays(
        frame=frame,
        trench=_trench(rng, frame, features, size),
        ground=ground,
        fine=fine_ground(np.random.default_rng([seed, nx, ny, 1]), ground, rock_level_m),
        drive=_drives(rng, frame, ground, features, n_methods, longest_m),
        drilled=none_drilled(n_methods),
        force=proof_forces(np.random.default_rng([seed, nx, ny, 2]), n_methods, longest_m),
        layout=proof_land(np.random.default_rng([seed, nx, ny, 3]), frame.node_xy_m, n_methods, longest_m),
        shaft=shaft,
        pin_shaft=_pins(rng, nx, 0.1, np.asarray(shaft.is_allowed.any(axis=(2, 3, 4)))),
        pin_via=_pins(rng, nx, 0.15, np.ones((nx, ny), bool)),
        start_row=int(rng.integers(0, ny)),
        end_row=int(rng.integers(0, ny)),
        longest_columns=min(int(longest_m / frame.gap_m) + 1, nx - 1),
        max_tan=MAX_TAN,
    )
    if seed % 5 == 4:  # the limit on the head of water is to bind in some instances
        return arrays._replace(
            drive=arrays.drive._replace(head_limit_m=TIGHT_SHARE * arrays.drive.head_limit_m)
        )
    return arrays


def _bend(rng: np.random.Generator, radius_m: tuple[float, float]) -> float:
    """Return a curvature to either side, none in a third of the instances [1/m]."""
    return float(rng.choice([-1.0, 0.0, 1.0]) / rng.uniform(*radius_m))


def bent_frame(nx: int, ny: int, *, column_m: float, bend_per_m: float, rows_aside: int = 0) -> FrameArrays:
    """Return a frame whose axis is an arc that starts at the origin along x; offsets to the right."""
    offset0 = -(ny // 2 + rows_aside) * CELL_M
    offsets = offset0 + np.arange(ny) * CELL_M
    station, tangent = _arc(np.arange(nx) * column_m, bend_per_m)
    boundary, boundary_tangent = _arc((np.arange(nx + 1) - 0.5) * column_m, bend_per_m)
    right = np.stack([tangent[:, 1], -tangent[:, 0]], axis=1)
    nodes = station[:, None, :] + offsets[None, :, None] * right[:, None, :]
    width = _widths_m(boundary, boundary_tangent, offset0 + CELL_M * np.array([-1.0, ny]))
    return FrameArrays(
        node_xy_m=np.ascontiguousarray(nodes),
        tangent=tangent,
        boundary_xy_m=boundary,
        boundary_tangent=boundary_tangent,
        offset0_m=offset0,
        cell_m=CELL_M,
        column_m=column_m,
        gap_m=float(width.min()),
        width_m=width,
        aside_rows=0.52,
    )


def _widths_m(boundary: Floats, tangent: Floats, outer_m: Floats) -> Floats:
    """Return the least distance of each column's boundaries between two offsets [m]."""
    right = np.stack([tangent[:, 1], -tangent[:, 0]], axis=1)
    lines = np.asarray(shapely.linestrings(boundary[:, None] + outer_m[None, :, None] * right[:, None]))
    return np.asarray(shapely.distance(lines[:-1], lines[1:]))


def _arc(s_m: NDArray[np.floating], bend_per_m: float) -> tuple[Floats, Floats]:
    """Return points and unit tangents of an arc at places along it."""
    angle = s_m * bend_per_m
    tangent = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    if bend_per_m == 0.0:
        return np.stack([s_m, np.zeros_like(s_m)], axis=1), tangent
    return np.stack([np.sin(angle), 1.0 - np.cos(angle)], axis=1) / bend_per_m, tangent


def _features(rng: np.random.Generator, frame: FrameArrays, nx: int, ny: int) -> _Features:
    """Lay skew strips over the frame: narrow and wide, from edge to edge or ending inside."""
    n = 1 + nx // 5
    outlines = []
    for _ in range(n):
        column, half = rng.uniform(-0.3, nx - 0.7), rng.choice([0.1, 0.4, 1.1]) * rng.uniform(0.7, 1.3)
        skew = rng.uniform(-0.5, 0.5)
        rows = np.array([-1.5, ny + 0.5]) if rng.random() < 0.7 else np.sort(rng.uniform(-1.5, ny + 0.5, 2))
        corners = [
            (column - half + skew * (rows[0] - ny / 2), rows[0]),
            (column + half + skew * (rows[0] - ny / 2), rows[0]),
            (column + half + skew * (rows[1] - ny / 2), rows[1]),
            (column - half + skew * (rows[1] - ny / 2), rows[1]),
        ]
        outline = shapely.Polygon([_place(frame, *corner) for corner in corners])
        outlines.append(outline if outline.is_valid else outline.convex_hull)  # folded inside a bend
    return _Features(
        np.array(outlines, object),
        rng.uniform(300.0, 4000.0, n),
        rng.uniform(300.0, 4000.0, n),
        np.where(rng.random(n) < 0.5, np.sin(np.radians(rng.uniform(30.0, 65.0, n))), 0.0),
        rng.random(n) < 0.35,
        np.where(rng.random(n) < 0.6, rng.uniform(0.3, 2.5, n), 0.0),
    )


def _points(xy_m: Floats) -> NDArray[np.object_]:
    return np.asarray(shapely.points(xy_m), dtype=object)


def _place(frame: FrameArrays, column: float, row: float) -> tuple[float, float]:
    """Return the point in plan at a fraction of a column and row, beyond the frame too."""
    at = int(np.clip(np.floor(column + 0.5), 0, len(frame.node_xy_m) - 1))
    station = 0.5 * (frame.boundary_xy_m[at] + frame.boundary_xy_m[at + 1])
    tangent = 0.5 * (frame.boundary_tangent[at] + frame.boundary_tangent[at + 1])
    offset = frame.offset0_m + row * frame.cell_m
    along = (column - at) * frame.column_m
    x, y = station + along * tangent + offset * np.array([tangent[1], -tangent[0]])
    return float(x), float(y)


def _trench(rng: np.random.Generator, frame: FrameArrays, features: _Features, size: Size) -> TrenchArrays:
    """Price the moves; close patches and, in most instances, a stretch wider than any drive."""
    nx, ny = size.n_columns, size.n_rows
    rate = size.trench_factor * np.exp(rng.normal(6.0, 0.5, (nx, ny)))
    closed = rng.random((nx, ny)) < rng.choice([0.05, 0.25])
    if nx > 6 and rng.random() < 0.75:
        wide = min(int(rng.integers(2, 2 * size.longest_columns)), nx - 4)
        at = int(rng.integers(1, nx - wide - 1))
        closed[at : at + wide] = True
    closed[0] = closed[-1] = False
    shape = (nx, ny, len(MOVES))
    move_eur, entry, entry_back = np.full(shape, np.inf), np.zeros(shape), np.zeros(shape)
    inside = shapely.covers(features.outline[:, None, None], _points(frame.node_xy_m)[None])
    for v, (dc, dr) in enumerate(MOVES.tolist()):
        for i, j in ((i, j) for i in range(nx - dc) for j in range(max(0, -dr), min(ny, ny - dr))):
            end = (i + dc, j + dr)
            line = shapely.LineString([frame.node_xy_m[i, j], frame.node_xy_m[end]])
            met = shapely.intersects(features.outline, line)
            if _is_shut(closed, i, j, dc, dr) or (met & features.is_closed).any():
                continue
            move_eur[i, j, v] = line.length * 0.5 * (rate[i, j] + rate[end])
            entry[i, j, v] = features.trench_eur[met & ~inside[:, i, j]].sum()
            entry_back[i, j, v] = features.trench_eur[met & ~inside[(slice(None), *end)]].sum()
    inside_eur = np.tensordot(features.trench_eur, inside, axes=1)
    return TrenchArrays(MOVES, move_eur, entry_arrays(entry, entry_back), inside_eur, int(rng.integers(1, 5)))


def _is_shut(closed: Booleans, i: int, j: int, dc: int, dr: int) -> bool:
    rows = [(i + k, j + dr * k / dc) for k in range(dc + 1)]
    return any(closed[c, int(np.floor(y))] or closed[c, int(np.ceil(y))] for c, y in rows)


def _drives(
    rng: np.random.Generator,
    frame: FrameArrays,
    ground: GroundArrays,
    features: _Features,
    n_methods: int,
    longest_m: float,
) -> DriveArrays:
    nx, ny = ground.ground_m.shape
    shape = (n_methods, nx, ny)
    segments, tangents, sines, is_outline, owner = _segments(features)
    outer_bore = rng.choice([0.0, 1.0, 4.0], n_methods)
    start, listed = _cell_lists(frame, segments, float(outer_bore.max()))
    inside = shapely.covers(features.outline[:, None], _points(frame.node_xy_m.reshape(-1, 2))[None])
    # stretches where one method is cheap and the other dear
    rate = np.exp(rng.normal(6.0, 0.5, (n_methods, nx, 1)) + rng.normal(0.0, 0.2, shape))
    fixed = rng.uniform(300.0, 2000.0, n_methods)
    grade = rng.uniform(0.03, 0.2, (2, n_methods))
    passed_eur = passed_fees_eur(frame, 0, features.outline, features.drive_eur)
    return DriveArrays(
        ceiling_m=_ceiling(rng, frame, ground, features, n_methods),
        service_ceiling_m=np.where(
            rng.random(shape) < 0.1, ground.ground_m - rng.uniform(2.0, 4.0, shape), 1e9
        ),
        soil_eur_per_m=rate.reshape(n_methods, -1),
        rock_eur_per_m=rng.uniform(1.0, 1.8) * rate.reshape(n_methods, -1),
        segment_xy_m=segments,
        segment_tangent=tangents,
        segment_sin_min_angle=sines,
        segment_is_outline=is_outline,
        segment_crossing=owner,
        cell_segment_start=start,
        cell_segment=listed,
        drive_fee_eur=features.drive_eur,
        # from a stream of its own: what else is drawn stays the same
        is_closed=rng.spawn(1)[0].random((n_methods, len(features.drive_eur))) < CLOSED_SHARE,
        passed_eur=np.tile(passed_eur, (n_methods, 1, 1)),
        inside_start=np.concatenate([[0], np.cumsum(inside.sum(axis=0))]).astype(np.int64),
        inside_crossing=np.nonzero(inside.T)[1].astype(np.int64),
        longest_m=longest_m * np.array([[1.0, rng.choice([0.75, 1.0]), 0.0]] * n_methods),
        least_length_m=rng.choice([8.0, 16.0, 25.0], n_methods),
        slope_min_frac=-grade[0],
        slope_max_frac=grade[1],
        arc_per_m=np.zeros(n_methods),
        bore_m=rng.uniform(0.3, 0.9, n_methods),
        outer_bore_m=outer_bore,
        n_bores=np.where(outer_bore > 0.0, 2 + 2 * np.arange(n_methods), 1),
        deviation_frac=rng.uniform(0.0, 0.01, n_methods),
        head_limit_m=rng.uniform(4.0, 12.0, n_methods),
        fixed_eur=fixed,
        piece_eur=rng.uniform(0.0, 300.0, n_methods),
        piece_m=12.0,
        borehole_eur_per_m=float(rng.uniform(0.0, 300.0)),
        borehole_spacing_m=25.0,
        borehole_below_m=2.0,
        # from a stream of its own, as above
        pump_eur=rng.spawn(1)[0].uniform(0.0, 400.0, n_methods),
        pump_eur_per_m=rng.spawn(1)[0].uniform(0.0, 15.0, (n_methods, 3)),
        layout_eur_per_m=rng.uniform(0.0, 60.0, shape),
        layout_eur=rng.uniform(0.0, 900.0, shape),
        banned=_banned(rng, nx * ny, n_methods, ny * 7),
        floor_m=_floor(rng.spawn(1)[0], ground.ground_m, shape),
        gap=no_gaps(shape),
    )


def _ceiling(
    rng: np.random.Generator, frame: FrameArrays, ground: GroundArrays, features: _Features, n_methods: int
) -> Floats:
    """Keep cover below the ground, more under features that dip, and close a few cells."""
    nx, ny = ground.ground_m.shape
    cover = rng.uniform(1.5, 2.5) + rng.uniform(0.0, 2.0, (nx, ny)) * (rng.random((nx, ny)) < 0.35)
    points = _points(frame.node_xy_m)
    near = shapely.distance(features.outline[:, None, None], points[None]) < 0.71 * CELL_M
    cover = cover + np.where(near, features.dip_m[:, None, None], 0.0).max(axis=0, initial=0.0)
    ceiling = np.repeat((ground.ground_m - cover)[None], n_methods, axis=0)
    ceiling[:, rng.random((nx, ny)) < 0.02] = NO_DRIVE_M
    return ceiling


def _floor(rng: np.random.Generator, ground_m: Floats, shape: tuple[int, ...]) -> NDArray[np.float32]:
    """Forbid what lies deep in some places, so that a line may be too deep where it could be no higher."""
    depth = rng.uniform(3.0, 9.0, shape)
    return np.where(rng.random(shape) < 0.05, ground_m - depth, -1e9).astype(np.float32)


def _segments(features: _Features) -> tuple[Floats, Floats, Floats, Booleans, NDArray[np.int64]]:
    """Return the outlines' edges and a centre line for each feature that sets a least angle."""
    rows = []
    for owner, outline in enumerate(features.outline):
        xy = np.array(outline.exterior.coords)
        sides = [(p, q, True, 0.0) for p, q in itertools.pairwise(xy)]
        sine = float(features.sin_min_angle[owner])
        if sine > 0.0:
            sides.append((0.5 * (xy[0] + xy[1]), 0.5 * (xy[2] + xy[3]), False, sine))
            sides[1] = (*sides[1][:3], sine)
        rows += [(owner, *side) for side in sides]
    segments = np.array([[*p, *q] for _, p, q, _, _ in rows])
    along = segments[:, 2:] - segments[:, :2]
    return (
        segments,
        along / np.linalg.norm(along, axis=1)[:, None],
        np.array([row[4] for row in rows]),
        np.array([row[3] for row in rows]),
        np.array([row[0] for row in rows], np.int64),
    )


def _cell_lists(
    frame: FrameArrays, segments: Floats, reach_m: float
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """List the segments near each cell; a little wide, since the search tests them exactly."""
    nx, ny = frame.node_xy_m.shape[:2]
    right = np.stack([frame.boundary_tangent[:, 1], -frame.boundary_tangent[:, 0]], axis=1)
    edges = frame.offset0_m + (np.arange(ny + 1) - 0.5) * frame.cell_m
    corner = frame.boundary_xy_m[:, None, :] + edges[None, :, None] * right[:, None, :]
    quads = np.stack([corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:]], axis=2)
    cells = np.asarray(
        shapely.buffer(shapely.polygons(quads.reshape(nx * ny, 4, 2)), reach_m + 0.05 * frame.cell_m)
    )
    lines = np.asarray(shapely.linestrings(segments.reshape(-1, 2, 2)))
    touches = shapely.intersects(cells[:, None], lines[None, :])
    start = np.concatenate([[0], np.cumsum(touches.sum(axis=1))]).astype(np.int64)
    return start, np.nonzero(touches)[1].astype(np.int64)


def _banned(rng: np.random.Generator, n_nodes: int, n_methods: int, reach: int) -> NDArray[np.int64]:
    """Ban a tenth of the drives in half of the instances; keys in order."""
    if rng.random() < 0.5:
        return np.zeros(0, np.int64)
    lower, upper = np.nonzero(np.triu(np.ones((n_nodes, n_nodes), bool), 1))
    is_near = upper - lower <= reach
    pair = lower[is_near].astype(np.int64) * n_nodes + upper[is_near]
    keys = (pair[:, None] * (2 * n_methods) + np.arange(2 * n_methods)[None, :]).ravel()
    return np.sort(keys[rng.random(len(keys)) < 0.1])


def _shafts(
    rng: np.random.Generator, ground: GroundArrays, rock_level_m: Floats, n_methods: int
) -> ShaftArrays:
    """Price shafts: never cheaper when deeper, wet or shared; steeper with depth, with a wet jump."""
    nx, ny = ground.ground_m.shape
    n_roles = 1 + 2 * n_methods
    most = np.concatenate([[0], rng.integers(26, N_LEVELS, n_roles - 1)])
    least = np.concatenate([[0], rng.integers(6, 13, n_roles - 1)])
    size = np.concatenate([[0.0], rng.uniform(0.5, 1.5, n_roles - 1)])
    roles = np.arange(n_roles)
    plan = np.maximum(size[:, None], size[None, :])
    set_up = 1000.0 + 700.0 * ((roles[:, None] > 0).astype(float) + (roles[None, :] > 0))
    depth = np.arange(N_LEVELS) * STEP_M
    per_m, wet_set_up = rng.uniform(150.0, 800.0), rng.uniform(0.0, 5000.0)
    table = np.zeros((N_SOILS, 3, n_roles, n_roles, N_LEVELS))
    for soil in range(N_SOILS):
        for water in range(3):  # dry, reached by the highest water, below the groundwater as given
            rate = per_m * (1.0 + 0.3 * soil) * (1.0 + 0.25 * water)
            deep = rate * plan[..., None] * (depth + 0.08 * depth**2)
            table[soil, water] = set_up[..., None] + deep + 0.5 * water * wet_set_up
    limit = np.maximum(most[:, None], most)  # a shared shaft is as deep as the deeper drive may ask for
    table[:, :, np.arange(N_LEVELS) > limit[..., None]] = np.inf
    table[:, :, 0, 0] = np.inf
    site = rng.uniform(0.0, 2500.0, (nx, ny))[:, :, None, None] + 400.0 * (roles[:, None] + roles[None, :])
    allowed = rng.random((nx, ny, n_methods, 2, N_BINS)) < 0.95
    allowed &= (rng.random((nx, ny)) < 0.85)[:, :, None, None, None]
    weight = np.outer(np.maximum(size, 0.5), 1.0 + 0.3 * np.arange(N_SOILS)) * per_m * 1.5
    wet_level = np.floor((ground.ground_m - ground.water_level_m) / STEP_M + 1e-9).astype(np.int64) + 1
    return ShaftArrays(
        is_allowed=allowed,
        table_eur=table,
        ramp_eur=ramp_prices(np.random.default_rng(abs(int(wet_level.sum()))), table.shape),
        ramp_steps=1,
        **fill_prices(np.random.default_rng(abs(int(wet_level.sum())) + 1), table.shape, wet_level),
        site=sites_of_nodes(site),
        reached_level=wet_level - N_RISE_LEVELS,
        wet_level=wet_level,
        rock_level=rock_levels(ground, rock_level_m, step_m=STEP_M, n_levels=N_LEVELS),
        least_level=least.astype(np.int64),
        most_level=most.astype(np.int64),
        weight_eur_per_m=weight,
        sump_m=SUMP_M,
        step_m=STEP_M,
    )


def _pins(rng: np.random.Generator, nx: int, chance: float, possible: Booleans) -> NDArray[np.int64]:
    """Pin one node of an inner column in a share of the instances."""
    pins = np.full(nx, -1, np.int64)
    column = int(rng.integers(1, nx - 1))
    rows = np.flatnonzero(possible[column])
    if rng.random() < chance and len(rows):
        pins[column] = rng.choice(rows)
    return pins
