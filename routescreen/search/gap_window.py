"""The part of a corridor round the place where every option stops, as a small problem of its own.

Room: ``search``. Pure arrays. Both ends of the window are nodes that open cut reaches from the terminals,
so that whatever crosses the window is a whole plan; a plan through other nodes is not looked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.search.arrays import (
        DrilledArrays,
        DriveArrays,
        FineArrays,
        ForceArrays,
        FrameArrays,
        SearchArrays,
        ShaftArrays,
    )
    from routescreen.search.label_kernel import PassResult

MARGIN_COLUMNS = 30  # kept on either side of the gap at least: room for shafts and for turning


@dataclass(frozen=True, slots=True)
class Window:
    """Columns of a problem as a problem of their own; `first_column` is its column 0 in the whole one."""

    arrays: SearchArrays
    first_column: int


def gap_window(
    arrays: SearchArrays, forward: PassResult, backward: PassResult, from_column: int, to_column: int
) -> Window:
    """Cut the window out of the whole problem.

    Parameters
    ----------
    arrays : SearchArrays
    forward, backward : PassResult
        The passes from both terminals.
    from_column, to_column : int
        How far each of them came.

    Returns
    -------
    Window
    """
    last = arrays.ground.ground_m.shape[0] - 1
    low, low_row = 0, arrays.start_row
    for column in range(min(from_column, last) - MARGIN_COLUMNS, 0, -1):
        row = _open_row(arrays, forward, column)
        if row >= 0:
            low, low_row = column, row
            break
    high, high_row = last, arrays.end_row
    for column in range(max(to_column, 0) + MARGIN_COLUMNS, last):
        row = _open_row(arrays, backward, column)
        if row >= 0:
            high, high_row = column, row
            break
    return Window(columns_of(arrays, low, low_row, high, high_row), low)


def _open_row(arrays: SearchArrays, result: PassResult, column: int) -> int:
    """Return the row of a column that open cut reaches at least cost outside all crossings, else -1."""
    if arrays.pin_shaft[column] >= 0 or arrays.pin_via[column] >= 0:
        return -1
    eur = np.where(arrays.trench.inside_eur[column] > 0.0, np.inf, result.trench_eur[-1, column])
    row = int(np.argmin(eur))
    return row if np.isfinite(eur[row]) else -1


def columns_of(arrays: SearchArrays, low: int, low_row: int, high: int, high_row: int) -> SearchArrays:
    """Return the columns `low` to `high`, both included, with terminals at the given rows.

    Raises
    ------
    ValueError
        Where drives are banned: their keys hold only in the whole problem.
    """
    if len(arrays.drive.banned):
        raise ValueError("drives banned by the audit can't be carried into a window")
    nodes = slice(low, high + 1)
    trench, ground = arrays.trench, arrays.ground
    return arrays._replace(
        frame=_frame(arrays.frame, low, high),
        trench=trench._replace(
            move_eur=_cut(trench.move_eur, nodes),
            entry=trench.entry._replace(
                ahead=_cut(trench.entry.ahead, nodes), back=_cut(trench.entry.back, nodes)
            ),
            inside_eur=_cut(trench.inside_eur, nodes),
        ),
        ground=type(ground)(*(_cut(values, nodes) for values in ground)),
        fine=_fine(arrays.fine, len(ground.ground_m), nodes),
        drive=_drive(arrays.drive, ground.ground_m.shape[1], low, high),
        drilled=_drilled(arrays.drilled, nodes),
        force=_force(arrays.force, nodes),
        layout=arrays.layout._replace(is_open=_cut(arrays.layout.is_open, nodes)),
        shaft=_shaft(arrays.shaft, nodes),
        pin_shaft=_cut(arrays.pin_shaft, nodes),
        pin_via=_cut(arrays.pin_via, nodes),
        start_row=low_row,
        end_row=high_row,
        longest_columns=min(arrays.longest_columns, high - low),
    )


def _cut(values: NDArray[Any], columns: slice) -> NDArray[Any]:
    return np.ascontiguousarray(values[columns])


def _frame(frame: FrameArrays, low: int, high: int) -> FrameArrays:
    nodes, boundaries = slice(low, high + 1), slice(low, high + 2)
    return frame._replace(
        node_xy_m=_cut(frame.node_xy_m, nodes),
        tangent=_cut(frame.tangent, nodes),
        boundary_xy_m=_cut(frame.boundary_xy_m, boundaries),
        boundary_tangent=_cut(frame.boundary_tangent, boundaries),
        width_m=_cut(frame.width_m, nodes),
    )


def _fine(fine: FineArrays, n_columns: int, nodes: slice) -> FineArrays:
    n_along = fine.kind.shape[0] // n_columns
    cells = slice(nodes.start * n_along, nodes.stop * n_along)
    return fine._replace(kind=_cut(fine.kind, cells), rock_level_m=_cut(fine.rock_level_m, cells))


def _drive(drive: DriveArrays, n_rows: int, low: int, high: int) -> DriveArrays:
    nodes = slice(low, high + 1)
    starts = slice(low * n_rows, (high + 1) * n_rows + 1)
    return drive._replace(
        ceiling_m=np.ascontiguousarray(drive.ceiling_m[:, nodes]),
        service_ceiling_m=np.ascontiguousarray(drive.service_ceiling_m[:, nodes]),
        floor_m=np.ascontiguousarray(drive.floor_m[:, nodes]),
        gap=drive.gap._replace(
            dry_floor_m=np.ascontiguousarray(drive.gap.dry_floor_m[:, nodes]),
            wet_ceiling_m=np.ascontiguousarray(drive.gap.wet_ceiling_m[:, nodes]),
        ),
        passed_eur=np.ascontiguousarray(drive.passed_eur[:, nodes]),
        layout_eur_per_m=np.ascontiguousarray(drive.layout_eur_per_m[:, nodes]),
        layout_eur=np.ascontiguousarray(drive.layout_eur[:, nodes]),
        cell_segment_start=_cut(drive.cell_segment_start, starts),
        inside_start=_cut(drive.inside_start, starts),
    )


def _drilled(drilled: DrilledArrays, nodes: slice) -> DrilledArrays:
    return drilled._replace(surface_m=np.ascontiguousarray(drilled.surface_m[:, nodes]))


def _force(force: ForceArrays, nodes: slice) -> ForceArrays:
    grout = force.grout
    cut = grout._replace(bed_m=_cut(grout.bed_m, nodes), bed_water_m=_cut(grout.bed_water_m, nodes))
    return force._replace(grout=cut)


def _shaft(shaft: ShaftArrays, nodes: slice) -> ShaftArrays:
    return shaft._replace(
        is_allowed=_cut(shaft.is_allowed, nodes),
        site=shaft.site._replace(
            kind=_cut(shaft.site.kind, nodes), road_frac=_cut(shaft.site.road_frac, nodes)
        ),
        reached_level=_cut(shaft.reached_level, nodes),
        wet_level=_cut(shaft.wet_level, nodes),
        lowest_level=_cut(shaft.lowest_level, nodes),
        rock_level=_cut(shaft.rock_level, nodes),
    )
