"""Depths at which cables would be too warm, in between, for the invented corridors of the proof."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.arrays import GapArrays

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays

NO_GAP_M = 1e9
OPEN_SHARE = 0.1  # cells without a gap
NARROW_SHARE = 0.1  # columns with little depth between ceiling and floor


def with_gaps(s: SearchArrays, seed: int) -> SearchArrays:
    """Forbid crowns in a band of depths over a stretch, as ground that may dry out does.

    Parameters
    ----------
    s : SearchArrays
        As `proof_arrays` makes it.
    seed : int
    """
    rng = np.random.default_rng([seed, 79])
    shape = s.drive.ceiling_m.shape
    from_m, thick_m = rng.uniform(1.5, 4.0), rng.uniform(0.3, 2.0)
    top_m = s.ground.ground_m - from_m - rng.uniform(0.0, 0.3, shape)
    is_there = rng.random(shape) > OPEN_SHARE
    is_there &= (np.arange(shape[1]) >= rng.integers(0, shape[1] // 2))[:, np.newaxis]
    gap = GapArrays(
        np.where(is_there, top_m, -NO_GAP_M).astype(np.float32),
        np.where(is_there, top_m - thick_m, NO_GAP_M).astype(np.float32),
        np.any(is_there, axis=(1, 2)),
    )
    return s._replace(drive=s.drive._replace(gap=gap))


def with_floors(s: SearchArrays, seed: int) -> SearchArrays:
    """Forbid in most cells what lies much below the ceiling, so that many a line is too deep at one end.

    Parameters
    ----------
    s : SearchArrays
        As `proof_arrays` makes it.
    seed : int
    """
    rng = np.random.default_rng([seed, 89])
    shape = s.drive.ceiling_m.shape
    ceiling_m = np.minimum(s.drive.ceiling_m, s.drive.service_ceiling_m)
    level_m = np.minimum(ceiling_m, s.ground.ground_m - 1.0) - rng.uniform(0.2, 4.0, shape)
    floor_m = np.where((rng.random(shape) > OPEN_SHARE) & (ceiling_m > -100.0), level_m, -NO_GAP_M)
    return s._replace(drive=s.drive._replace(floor_m=floor_m.astype(np.float32)))


def with_band(s: SearchArrays, seed: int) -> SearchArrays:
    """Forbid crowns in one band of depths everywhere but in a few columns.

    The band begins below what the ground asks of a crown and above what is asked in the columns that no open
    cut passes, so that drives under these must go below it, from shaft to shaft. For every third seed no
    crown may lie much deeper, at some columns hardly deeper at all.
    """
    rng = np.random.default_rng([seed, 83])
    ceiling_m = np.minimum(s.drive.ceiling_m, s.drive.service_ceiling_m)
    depth_m = s.ground.ground_m - ceiling_m
    usual_m = np.median(depth_m[np.abs(depth_m) < 100.0])
    from_m, thick_m = usual_m + rng.uniform(0.1, 1.0), rng.uniform(0.3, 2.0)
    top_m = s.ground.ground_m - from_m
    closed = ~np.any(np.isfinite(s.trench.move_eur), axis=(1, 2))
    ceiling_m = s.drive.ceiling_m.copy()
    ceiling_m[:, closed] = np.minimum(ceiling_m[:, closed], top_m[closed] - 0.1)
    is_there = np.ones(ceiling_m.shape, np.bool_)
    if seed % 2 == 1:
        is_there[:, rng.integers(0, ceiling_m.shape[1], 3)] = False
    gap = GapArrays(
        np.where(is_there, top_m, -NO_GAP_M).astype(np.float32),
        np.where(is_there, top_m - thick_m, NO_GAP_M).astype(np.float32),
        np.ones(ceiling_m.shape[0], np.bool_),
    )
    floor_m = s.drive.floor_m
    if seed % 3 == 0:
        most_m = thick_m + np.where(rng.random(ceiling_m.shape[1]) < NARROW_SHARE, 1.0, rng.uniform(2.0, 5.0))
        # "C": otherwise laid out as what is broadcast, for which the search would be compiled once more
        floor_m = np.broadcast_to(top_m - most_m[:, np.newaxis], ceiling_m.shape).astype(np.float32, "C")
    return s._replace(drive=s.drive._replace(ceiling_m=ceiling_m, floor_m=floor_m, gap=gap))
