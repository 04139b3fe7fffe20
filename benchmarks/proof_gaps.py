"""Depths at which cables would be too warm, in between, for the invented corridors of the proof."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.arrays import GapArrays

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays

NO_GAP_M = 1e9
OPEN_SHARES = (0.0, 0.1)  # cells without a gap


def with_gaps(s: SearchArrays, seed: int) -> SearchArrays:
    """Forbid crowns in a band of depths over a stretch, as ground that may dry out does.

    The band has no holes for an even seed, so that lines can't pass from above it to below it on their way.

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
    is_there = rng.random(shape) > OPEN_SHARES[seed % 2]
    is_there &= (np.arange(shape[1]) >= rng.integers(0, shape[1] // 2))[:, np.newaxis]
    gap = GapArrays(
        np.where(is_there, top_m, -NO_GAP_M).astype(np.float32),
        np.where(is_there, top_m - thick_m, NO_GAP_M).astype(np.float32),
        np.any(is_there, axis=(1, 2)),
    )
    return s._replace(drive=s.drive._replace(gap=gap))
