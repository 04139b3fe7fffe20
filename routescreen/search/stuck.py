"""Where every option stops: how far the passes from both terminals come in a problem without a plan.

Room: ``search``. Found once, for all who ask why there is no plan or what would open it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.pass_kernel import run_pass
from routescreen.search.side_by_side import run_side_by_side

if TYPE_CHECKING:
    from collections.abc import Callable

    from routescreen.search.arrays import SearchArrays
    from routescreen.search.label_kernel import PassResult


@dataclass(frozen=True, slots=True)
class Stuck:
    """Both passes, and the last column that each of them reached, the backward one's never the lower."""

    forward: PassResult
    backward: PassResult
    first_column: int
    last_column: int


def stuck_at(arrays: SearchArrays, *, progress: Callable[[float], None] | None = None) -> Stuck:
    """Run both passes side by side and see how far they come.

    Together they cost about as much as one pass through a problem that has a plan: each ends where nothing
    is left to go on from.

    Parameters
    ----------
    arrays : SearchArrays
        Of a problem without a plan.
    progress : callable or None
        Called some times a second with the share of the columns visited [-].

    Returns
    -------
    Stuck
    """
    n_columns = arrays.ground.ground_m.shape[0]
    visited = [np.zeros(1, np.int64), np.zeros(1, np.int64)]

    def look() -> None:
        if progress is not None:
            progress(float(visited[0][0] + visited[1][0]) / (2.0 * n_columns))

    works = [
        partial(run_pass, arrays, is_forward, n_columns, True, visited[not is_forward])
        for is_forward in (True, False)
    ]
    forward, backward = run_side_by_side(works, look=look)
    first = _reached(arrays, forward)[1]
    return Stuck(forward, backward, first, max(_reached(arrays, backward)[0], first))


def _reached(arrays: SearchArrays, result: PassResult) -> tuple[int, int]:
    """Return the first and the last column that a pass reached."""
    nx, ny = arrays.ground.ground_m.shape
    is_trench = np.isfinite(result.trench_eur).any(axis=(0, 2))
    has_label = (result.label_count.reshape(nx, ny) > 0).any(axis=1)
    columns = np.flatnonzero(is_trench | has_label)
    return int(columns[0]), int(columns[-1])
