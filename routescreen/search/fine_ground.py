"""The ground that drives pass through, on a lattice finer than the frame.

Room: ``search``. May import ``corridor``. A drive may be as short as a few cells: what lies at their nodes
is too coarse a measure of what it passes through.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.corridor.frame import to_xy
from routescreen.search.arrays import FineArrays

if TYPE_CHECKING:
    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import GroundSampler
    from routescreen.search.arrays import Floats, Integers
    from routescreen.search.ground_lines import GroundLines, NodeGround

N_ALONG, N_ACROSS = 4, 5  # fine cells of a cell; odd across, so that a drive along a row meets their middles
NEAR_M = 1e-3
_COLUMNS_AT_A_TIME = 256


def fine_arrays(
    frame: Frame, sampler: GroundSampler, lines: GroundLines, at_nodes: NodeGround, n_covers: int
) -> FineArrays:
    """Bring the kind of ground and the rock head onto the fine lattice.

    Parameters
    ----------
    frame : Frame
    sampler : GroundSampler
    lines : GroundLines
        Numbers the grounds; new ones are added.
    at_nodes : NodeGround
    n_covers : int
        Number of classes of ground cover. Kinds count ``ground * n_covers + cover``.

    Returns
    -------
    FineArrays
    """
    nx, ny = frame.shape
    ground = np.repeat(np.repeat(at_nodes.ground, N_ALONG, axis=0), N_ACROSS, axis=1)
    cover, level_m = np.empty(ground.shape, np.int32), np.empty(ground.shape, np.float32)
    for first in range(0, nx, _COLUMNS_AT_A_TIME):
        columns = np.arange(first, min(first + _COLUMNS_AT_A_TIME, nx))
        xy = _block_xy(frame, columns)
        away_m = np.linalg.norm(xy - frame.node_xy_m[columns][:, None, :, None, :], axis=-1)
        is_near = at_nodes.edge_m[columns][:, None, :, None] <= away_m + NEAR_M
        shape = (len(columns) * N_ALONG, ny * N_ACROSS)
        flat, is_near = xy.reshape(-1, 2), is_near.reshape(shape)
        rows = slice(first * N_ALONG, first * N_ALONG + shape[0])
        ground[rows][is_near] = lines.ground_of(flat[is_near.ravel()])
        cover[rows] = sampler.cover_class(flat).reshape(shape)
        level_m[rows] = sampler.terrain_m(flat).reshape(shape)
    kinds = lines.grounds()
    level_m -= kinds.rock_depth_m.astype(np.float32)[ground]
    level_m[np.isnan(level_m)] = -np.inf  # no terrain: outside
    return FineArrays(
        kind=(ground * n_covers + cover).astype(np.int32),
        rock_level_m=level_m,
        soil=np.repeat(kinds.soil_class, n_covers),
        rock_soil=np.repeat(kinds.rock_soil_class, n_covers),
    )


def _block_xy(frame: Frame, columns: Integers) -> Floats:
    """Return the middles of the fine cells of some columns, shape (n, N_ALONG, ny, N_ACROSS, 2) [m]."""
    fine_column = (columns[:, None] * N_ALONG + np.arange(N_ALONG)).ravel()
    fine_row = np.arange(frame.shape[1] * N_ACROSS)
    at = [index.ravel() for index in np.meshgrid(fine_column, fine_row, indexing="ij")]
    return fine_xy(frame, at[0], at[1]).reshape(len(columns), N_ALONG, frame.shape[1], N_ACROSS, 2)


def fine_xy(frame: Frame, column: Integers, row: Integers) -> Floats:
    """Return the middles of fine cells, shape (n, 2) [m]."""
    chainage_m = ((column + 0.5) / N_ALONG - 0.5) * frame.column_spacing_m
    offset_m = frame.offset0_m + ((row + 0.5) / N_ACROSS - 0.5) * frame.cell_m
    return np.asarray(to_xy(frame, chainage_m, offset_m))
