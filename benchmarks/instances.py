"""Small invented corridors as the search's arrays, from a seed: for proofs, laws and benchmarks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from routescreen.search.arrays import (
    N_BINS,
    DriveArrays,
    FineArrays,
    ForceArrays,
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
from routescreen.search.layout import open_land

if TYPE_CHECKING:
    from numpy.typing import NDArray

MOVES = np.array(
    [
        (1, 0), (5, 1), (5, -1), (3, 1), (3, -1), (2, 1), (2, -1), (3, 2), (3, -2),
        (1, 1), (1, -1), (2, 3), (2, -3), (1, 2), (1, -2), (1, 3), (1, -3),
    ],
    dtype=np.int64,
)  # fmt: skip
SUMP_M, STEP_M, CELL_M = 0.6, 0.25, 10.0
BLOCKED = -1e9


def no_forces(n_methods: int, n_soils: int) -> ForceArrays:
    """Return forces that nothing is too weak for."""
    free, none = np.full(n_methods, np.inf), np.zeros(n_methods)
    return ForceArrays(
        friction_kN_per_m=np.zeros((n_methods, n_soils)),
        cut_m=none,
        has_face_pressure=np.zeros(n_methods, np.bool_),
        control_kPa=none,
        string_kN_per_m=none,
        capacity_kN=free,
        frame_run_m=free,
        station_run_m=none,
        station_kN=free,
        in_bore_kN_per_m=none,
        outside_kN_per_m=none,
        drag_kN=none,
        safe_pull_kN=free,
        gamma_kN_per_m3=np.zeros(n_soils),
        gamma_sat_kN_per_m3=np.zeros(n_soils),
        phi_deg=np.zeros(n_soils),
        restart=1.0,
        water_factor=1.0,
        earth_factor=1.0,
    )


@dataclass(frozen=True, slots=True)
class Shape:
    """Size and character of an instance: columns, rows, methods and how much is closed."""

    n_columns: int
    n_rows: int
    n_methods: int = 1
    closed_frac: float = 0.4
    fresh_columns: int = 1
    longest_columns: int = 6
    n_levels: int = 33


def random_arrays(seed: int, shape: Shape) -> SearchArrays:
    """Make a random corridor: hilly ground, closed ground, features across it, dear and cheap depth."""
    rng = np.random.default_rng(seed)
    nx, ny, nm = shape.n_columns, shape.n_rows, shape.n_methods
    ground = 40.0 + np.cumsum(rng.normal(0.0, 0.6, (nx, ny)), axis=0)
    soil = rng.integers(0, 2, (nx, ny))
    cover = 2.0 + 3.0 * (rng.random((nx, ny)) < 0.2)
    closed = rng.random((nx, ny)) < shape.closed_frac
    if nx > 6:
        at = int(rng.integers(2, nx - 4))
        closed[at : at + int(rng.integers(2, 4))] = True
    closed[0], closed[-1] = False, False
    ceiling = np.repeat((ground - cover)[None], nm, axis=0)
    ceiling[:, rng.random((nx, ny)) < 0.06] = BLOCKED
    frame = _straight_frame(nx, ny)
    crossing_columns = np.sort(rng.choice(np.arange(1, nx - 1), size=max(1, nx // 6), replace=False))
    return SearchArrays(
        frame=frame,
        trench=_trench(rng, closed, crossing_columns, shape),
        ground=GroundArrays(ground, ground - rng.uniform(1.0, 6.0, (nx, ny)), soil, soil),
        fine=_fine(soil),
        drive=_drives(rng, ceiling, crossing_columns, shape),
        drilled=none_drilled(nm),
        force=no_forces(nm, 3),
        layout=open_land(shape.n_methods, ground.shape),
        shaft=_shafts(rng, ground, shape),
        pin_shaft=np.full(nx, -1),
        pin_via=np.full(nx, -1),
        start_row=ny // 2,
        end_row=ny // 2,
        longest_columns=min(shape.longest_columns, nx - 1),
        max_tan=float(np.tan(np.radians(30.0))),
    )


def _fine(soil: np.ndarray) -> FineArrays:
    """Make every cell a kind of ground of its own, not cut any finer, without rock."""
    kind = np.arange(soil.size, dtype=np.int32).reshape(soil.shape)
    return FineArrays(kind, np.full(soil.shape, -np.inf, np.float32), soil.ravel(), soil.ravel())


def _straight_frame(nx: int, ny: int) -> FrameArrays:
    """Return a frame along the x axis; offsets to the right, so y falls with the row."""
    offset0 = -(ny // 2) * CELL_M
    x, offset = np.arange(nx) * CELL_M, offset0 + np.arange(ny) * CELL_M
    nodes = np.stack(np.broadcast_arrays(x[:, None], -offset[None, :]), axis=-1)
    boundary = np.stack([(np.arange(nx + 1) - 0.5) * CELL_M, np.zeros(nx + 1)], axis=-1)
    return FrameArrays(
        np.ascontiguousarray(nodes),
        np.tile([1.0, 0.0], (nx, 1)),
        boundary,
        np.tile([1.0, 0.0], (nx + 1, 1)),
        offset0,
        CELL_M,
        CELL_M,
        CELL_M,
        np.full(nx, CELL_M),
        0.52,
    )


def _trench(
    rng: np.random.Generator, closed: np.ndarray, crossing_columns: np.ndarray, shape: Shape
) -> TrenchArrays:
    """Price moves by their ends' rates; features lie half a column before `crossing_columns`."""
    nx, ny = closed.shape
    rate = np.exp(rng.normal(6.0, 0.5, (nx, ny)))
    move_eur = np.full((nx, ny, len(MOVES)), np.inf)
    entry = np.zeros_like(move_eur)
    for v, (dc, dr) in enumerate(MOVES):
        length = CELL_M * float(np.hypot(dc, dr))
        for i in range(nx - dc):
            for j in range(max(0, -dr), min(ny, ny - dr)):
                steps = range(dc + 1)
                rows = [j + dr * k / dc for k in steps]
                cells = {
                    (i + k, int(f(y))) for k, y in zip(steps, rows, strict=True) for f in (np.floor, np.ceil)
                }
                if any(closed[cell] for cell in cells):
                    continue
                move_eur[i, j, v] = length * 0.5 * (rate[i, j] + rate[i + dc, j + dr])
                entry[i, j, v] = 900.0 * np.sum((crossing_columns > i) & (crossing_columns <= i + dc))
    entries = entry_arrays(entry, entry)
    return TrenchArrays(MOVES, move_eur, entries, np.zeros((nx, ny)), shape.fresh_columns)


def _drives(
    rng: np.random.Generator,
    ceiling: np.ndarray,
    crossing_columns: np.ndarray,
    shape: Shape,
) -> DriveArrays:
    nm, nx, ny = ceiling.shape
    segments = np.array([[c * CELL_M - 5.0, 1e4, c * CELL_M - 5.0, -1e4] for c in crossing_columns])
    cells = [
        [k for k, c in enumerate(crossing_columns) if i in (c - 1, c)] for i in range(nx) for _ in range(ny)
    ]
    rate = np.exp(rng.normal(7.0, 0.3, (nm, nx, ny)))
    fee = rng.uniform(500.0, 3000.0, len(segments))
    passed = (np.arange(nx)[:, None] >= crossing_columns) @ fee  # each lies half a cell before its column
    return DriveArrays(
        ceiling_m=ceiling,
        service_ceiling_m=np.full_like(ceiling, 1e9),
        floor_m=np.full(ceiling.shape, -1e9, np.float32),
        gap=no_gaps(ceiling.shape),
        soil_eur_per_m=rate.reshape(nm, -1),
        rock_eur_per_m=1.5 * rate.reshape(nm, -1),
        segment_xy_m=segments,
        segment_tangent=np.tile([0.0, 1.0], (len(segments), 1)),
        segment_sin_min_angle=np.full(len(segments), np.sin(np.radians(62.0))),
        segment_is_outline=np.ones(len(segments), bool),
        segment_crossing=np.arange(len(segments)),
        cell_segment_start=np.concatenate([[0], np.cumsum([len(c) for c in cells])]).astype(np.int64),
        cell_segment=np.array([k for c in cells for k in c], dtype=np.int64),
        drive_fee_eur=fee,
        is_closed=np.zeros((nm, len(fee)), np.bool_),
        passed_eur=np.tile(passed[:, None], (nm, 1, ny)),
        inside_start=np.zeros(nx * ny + 1, np.int64),
        inside_crossing=np.zeros(0, np.int64),
        longest_m=np.full((nm, 2), CELL_M * (shape.longest_columns + 1.0)),
        least_length_m=np.full(nm, 1.5 * CELL_M),
        slope_min_frac=np.linspace(-0.08, 0.0, nm) if nm > 1 else np.array([-0.05]),
        slope_max_frac=np.linspace(0.08, 0.04, nm) if nm > 1 else np.array([0.08]),
        arc_per_m=np.zeros(nm),
        bore_m=np.full(nm, 0.56),
        outer_bore_m=np.zeros(nm),
        n_bores=np.ones(nm, np.int64),
        deviation_frac=np.full(nm, 0.001),
        head_limit_m=np.full(nm, 25.0),
        fixed_eur=rng.uniform(2000.0, 9000.0, nm),
        piece_eur=np.full(nm, 120.0),
        piece_m=12.0,
        borehole_eur_per_m=200.0,
        borehole_spacing_m=25.0,
        borehole_below_m=2.0,
        pump_eur=np.zeros(nm),
        pump_eur_per_m=np.zeros((nm, 2)),
        layout_eur_per_m=rng.uniform(0.0, 60.0, (nm, nx, ny)),
        layout_eur=np.full((nm, nx, ny), 300.0),
        banned=np.zeros(0, np.int64),
    )


def _shafts(rng: np.random.Generator, ground: np.ndarray, shape: Shape) -> ShaftArrays:
    """Price shafts by depth: convex, dearer when wet; a shared shaft costs less than two."""
    nx, ny = ground.shape
    nr, nl = 1 + 2 * shape.n_methods, shape.n_levels
    depth = np.arange(nl) * STEP_M
    table = np.zeros((2, 3, nr, nr, nl))
    size = rng.uniform(0.6, 1.4, nr)
    for r in range(nr):
        for k in range(nr):
            if r == 0 and k == 0:
                continue
            plan = max(size[r] if r else 0.0, size[k] if k else 0.0)
            setup = 2500.0 * ((r > 0) + (k > 0)) + 1500.0
            for water in range(3):
                per_m = plan * (900.0 + 300.0 * water)
                for soil in range(2):
                    factor = 1.0 + 0.4 * soil
                    table[soil, water, r, k] = setup + factor * (per_m * depth + 90.0 * plan * depth**2)
    allowed = rng.random((nx, ny, shape.n_methods, 2, 1)) < 0.75
    weight = np.array([[size[r] * (1 + 0.4 * soil) * 1500.0 for soil in range(2)] for r in range(nr)])
    site_eur = rng.uniform(0, 2000.0, (nx, ny))
    wet_level = rng.integers(8, 40, (nx, ny))
    return ShaftArrays(
        is_allowed=np.ascontiguousarray(np.broadcast_to(allowed, (nx, ny, shape.n_methods, 2, N_BINS))),
        table_eur=table,
        ramp_eur=ramp_prices(np.random.default_rng(wet_level.sum()), table.shape),
        ramp_steps=1,
        **fill_prices(np.random.default_rng(wet_level.sum() + 1), table.shape, wet_level),
        site=sites_of_nodes(np.broadcast_to(site_eur[:, :, None, None], (nx, ny, nr, nr))),
        reached_level=wet_level - 4,
        wet_level=wet_level,
        rock_level=np.full((nx, ny), nl),
        least_level=np.full(nr, 10),
        most_level=np.full(nr, nl - 1),
        weight_eur_per_m=weight,
        sump_m=SUMP_M,
        step_m=STEP_M,
    )


def ramp_prices(rng: np.random.Generator, shape: tuple[int, ...]) -> NDArray[np.float64]:
    """Price ramps whose cables are held apart: nothing, then never less with depth."""
    n_soils, _, n_roles, _, n_levels = shape
    steps = rng.uniform(0.0, 400.0, (n_soils, n_levels + 1, n_roles, n_levels))
    steps[rng.random(steps.shape) < 0.7] = 0.0
    steps[:, :, 0] = 0.0
    return np.ascontiguousarray(np.cumsum(steps, axis=-1))


def fill_prices(
    rng: np.random.Generator, shape: tuple[int, ...], wet_level: NDArray[np.int64]
) -> dict[str, Any]:
    """Price conducting fill, never less with depth or for two drives; a third of the roles ask for none."""
    n_soils, _, n_roles, _, n_levels = shape
    plan = rng.uniform(50.0, 400.0, (n_soils, n_roles))
    plan[:, 0] = 0.0
    more = np.maximum(np.arange(n_levels) - 4.0, 0.0)
    least = rng.integers(8, n_levels, (n_soils, n_soils, n_roles))
    least[rng.random(least.shape) < 1.0 / 3.0] = 1 << 30
    return {
        "fill_eur": np.maximum(plan[:, :, None], plan[:, None, :])[..., None] * more,
        "fill_level": least.astype(np.int64),
        "fill_below": rng.integers(1, 5, n_roles).astype(np.int64),
        "lowest_level": np.maximum(wet_level + 3, 0).astype(np.int64),
    }


def mirrored(s: SearchArrays) -> SearchArrays:
    """Return the same corridor seen from its other end: columns turned round, rows kept."""
    nx, ny = s.ground.ground_m.shape
    flip = slice(None, None, -1)
    width = float(s.frame.node_xy_m[-1, 0, 0])
    segments = s.drive.segment_xy_m.copy()
    segments[:, [0, 2]] = width - segments[:, [0, 2]]
    counts = np.diff(s.drive.cell_segment_start).reshape(nx, ny)
    lists = [
        s.drive.cell_segment[a:b]
        for a, b in zip(s.drive.cell_segment_start[:-1], s.drive.cell_segment_start[1:], strict=True)
    ]
    turned = [lists[(nx - 1 - i) * ny + j] for i in range(nx) for j in range(ny)]
    move = np.full_like(s.trench.move_eur, np.inf)
    free = np.flatnonzero(s.trench.entry.price_eur == 0.0)[0]
    entry, entry_back = (np.full(move.shape, free, np.uint16) for _ in range(2))
    moves = [tuple(m) for m in s.trench.moves]
    for v, (dc, dr) in enumerate(moves):
        twin = moves.index((dc, -dr))
        for i in range(nx - dc):
            for j in range(max(0, -dr), min(ny, ny - dr)):
                # move (i, j) -> (i+dc, j+dr) becomes (nx-1-i-dc, j+dr) -> (nx-1-i, j)
                there = (nx - 1 - i - dc, j + dr, twin)
                move[there] = s.trench.move_eur[i, j, v]
                entry[there] = s.trench.entry.back[i, j, v]
                entry_back[there] = s.trench.entry.ahead[i, j, v]
    trench = s.trench._replace(
        move_eur=move,
        entry=s.trench.entry._replace(ahead=entry, back=entry_back),
        inside_eur=s.trench.inside_eur[flip].copy(),
    )
    drive = s.drive._replace(
        ceiling_m=s.drive.ceiling_m[:, flip].copy(),
        service_ceiling_m=s.drive.service_ceiling_m[:, flip].copy(),
        floor_m=s.drive.floor_m[:, flip].copy(),
        gap=s.drive.gap._replace(
            dry_floor_m=s.drive.gap.dry_floor_m[:, flip].copy(),
            wet_ceiling_m=s.drive.gap.wet_ceiling_m[:, flip].copy(),
        ),
        layout_eur_per_m=s.drive.layout_eur_per_m[:, flip].copy(),
        layout_eur=s.drive.layout_eur[:, flip].copy(),
        passed_eur=s.drive.passed_eur.max() - s.drive.passed_eur[:, flip],
        segment_xy_m=segments,
        cell_segment_start=np.concatenate([[0], np.cumsum(counts[flip].ravel())]).astype(np.int64),
        cell_segment=np.concatenate(turned).astype(np.int64) if turned else s.drive.cell_segment,
    )
    shaft = s.shaft._replace(
        is_allowed=s.shaft.is_allowed[flip].copy(),
        site=s.shaft.site._replace(kind=s.shaft.site.kind[flip].copy()),
        reached_level=s.shaft.reached_level[flip].copy(),
        wet_level=s.shaft.wet_level[flip].copy(),
        lowest_level=s.shaft.lowest_level[flip].copy(),
        rock_level=s.shaft.rock_level[flip].copy(),
    )
    ground = GroundArrays(*(np.ascontiguousarray(values[flip]) for values in s.ground))
    return s._replace(
        layout=s.layout._replace(is_open=s.layout.is_open[flip].copy()),
        fine=s.fine._replace(kind=s.fine.kind[flip].copy(), rock_level_m=s.fine.rock_level_m[flip].copy()),
        trench=trench,
        drive=drive,
        shaft=shaft,
        ground=ground,
        pin_shaft=s.pin_shaft[flip].copy(),
        pin_via=s.pin_via[flip].copy(),
        start_row=s.end_row,
        end_row=s.start_row,
    )
