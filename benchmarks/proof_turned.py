"""An instance seen from its other end: the same problem, mirrored."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from benchmarks.proof_ground import turn_fine, turn_ground
from benchmarks.proof_land import turn_land

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays, TrenchArrays

_BY_NODE = ("ceiling_m", "service_ceiling_m", "floor_m", "layout_eur_per_m", "layout_eur")
Floats, Booleans = NDArray[np.float64], NDArray[np.bool_]


def turned_round(s: SearchArrays) -> SearchArrays:
    """Return the same corridor walked from its other end, reflected so that rows keep their side."""
    nx, ny = s.ground.ground_m.shape
    flip = slice(None, None, -1)
    reflect = np.array([-1.0, 1.0])
    frame = s.frame._replace(
        node_xy_m=np.ascontiguousarray(s.frame.node_xy_m[flip] * reflect),
        tangent=np.ascontiguousarray(s.frame.tangent[flip] * np.array([1.0, -1.0])),
        boundary_xy_m=np.ascontiguousarray(s.frame.boundary_xy_m[flip] * reflect),
        boundary_tangent=np.ascontiguousarray(s.frame.boundary_tangent[flip] * np.array([1.0, -1.0])),
        width_m=s.frame.width_m[flip].copy(),
    )
    cell_start, cells = _turn_lists(s.drive.cell_segment_start, s.drive.cell_segment, nx, ny)
    inside_start, inside = _turn_lists(s.drive.inside_start, s.drive.inside_crossing, nx, ny)
    drive = s.drive._replace(
        **{name: np.ascontiguousarray(getattr(s.drive, name)[:, flip]) for name in _BY_NODE},
        gap=s.drive.gap._replace(
            dry_floor_m=np.ascontiguousarray(s.drive.gap.dry_floor_m[:, flip]),
            wet_ceiling_m=np.ascontiguousarray(s.drive.gap.wet_ceiling_m[:, flip]),
        ),
        passed_eur=s.drive.passed_eur.max() - s.drive.passed_eur[:, flip],
        segment_xy_m=s.drive.segment_xy_m * np.array([-1.0, 1.0, -1.0, 1.0]),
        segment_tangent=s.drive.segment_tangent * reflect,
        cell_segment_start=cell_start,
        cell_segment=cells,
        inside_start=inside_start,
        inside_crossing=inside,
        banned=_turn_keys(s.drive.banned, nx, ny, len(s.drive.bore_m)),
    )
    shaft = s.shaft._replace(
        # a heading to the right becomes one to the left
        is_allowed=np.ascontiguousarray(s.shaft.is_allowed[flip, ..., flip]),
        site=s.shaft.site._replace(
            kind=s.shaft.site.kind[flip].copy(),
            near_eur=np.ascontiguousarray(s.shaft.site.near_eur.transpose(0, 2, 1)),
            far_eur=np.ascontiguousarray(s.shaft.site.far_eur.transpose(0, 2, 1)),
        ),
        table_eur=np.ascontiguousarray(s.shaft.table_eur.transpose(0, 1, 3, 2, 4)),
        fill_eur=np.ascontiguousarray(s.shaft.fill_eur.transpose(0, 2, 1, 3)),
        reached_level=np.ascontiguousarray(s.shaft.reached_level[flip]),
        wet_level=np.ascontiguousarray(s.shaft.wet_level[flip]),
        lowest_level=np.ascontiguousarray(s.shaft.lowest_level[flip]),
        rock_level=np.ascontiguousarray(s.shaft.rock_level[flip]),
    )
    return s._replace(
        frame=frame,
        trench=_turn_trench(s.trench),
        ground=turn_ground(s.ground),
        fine=turn_fine(s.fine),
        drive=drive,
        layout=turn_land(s.layout),
        shaft=shaft,
        pin_shaft=s.pin_shaft[flip].copy(),
        pin_via=s.pin_via[flip].copy(),
        start_row=s.end_row,
        end_row=s.start_row,
    )


def _turn_trench(trench: TrenchArrays) -> TrenchArrays:
    """Turn every move round: from where it ended to where it began."""
    nx, ny, _ = trench.move_eur.shape
    move = np.full_like(trench.move_eur, np.inf)
    free = np.flatnonzero(trench.entry.price_eur == 0.0)[0]
    ahead, back = (np.full(move.shape, free, np.uint16) for _ in range(2))
    moves = [tuple(pair) for pair in trench.moves.tolist()]
    for v, (dc, dr) in enumerate(moves):
        twin = moves.index((dc, -dr))
        for i, j in ((i, j) for i in range(nx - dc) for j in range(max(0, -dr), min(ny, ny - dr))):
            there = (nx - 1 - i - dc, j + dr, twin)
            move[there] = trench.move_eur[i, j, v]
            ahead[there], back[there] = trench.entry.back[i, j, v], trench.entry.ahead[i, j, v]
    inside = np.ascontiguousarray(trench.inside_eur[::-1])
    entry = trench.entry._replace(ahead=ahead, back=back)
    return trench._replace(move_eur=move, entry=entry, inside_eur=inside)


def _turn_lists(
    start: NDArray[np.int64], listed: NDArray[np.int64], nx: int, ny: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    lists = np.split(listed, start[1:-1])
    turned = [lists[(nx - 1 - i) * ny + j] for i in range(nx) for j in range(ny)]
    counts = [len(part) for part in turned]
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int64), np.concatenate(turned).astype(np.int64)


def _turn_keys(keys: NDArray[np.int64], nx: int, ny: int, n_methods: int) -> NDArray[np.int64]:
    """Name banned drives by their nodes seen from the other end."""
    pair, rest = np.divmod(keys, 2 * n_methods)
    method, is_lower = np.divmod(rest, 2)
    lower, upper = ((nx - 1 - flat // ny) * ny + flat % ny for flat in reversed(np.divmod(pair, nx * ny)))
    return np.sort(((lower * (nx * ny) + upper) * n_methods + method) * 2 + (1 - is_lower))
