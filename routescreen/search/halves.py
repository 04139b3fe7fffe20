"""The optimum from two halves: one pass from each terminal, side by side, joined where they overlap.

Room: ``search``. Runs the compiled passes in threads; knows nothing of files.

The forward pass goes from the start to a column beyond the middle by the longest step of a plan, drive or
move, the backward pass from the end to the middle. Every plan has a node in the columns between, and there
the cost so far and the cost still to come are both exact: the least sum is the optimum.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.join_kernel import Join, best_join
from routescreen.search.pass_kernel import run_pass
from routescreen.search.side_by_side import run_side_by_side
from routescreen.search.solve import FramePlan, optimum_eur, run_with_progress
from routescreen.search.trace import trace_join, trace_plan

if TYPE_CHECKING:
    from collections.abc import Callable

    from routescreen.search.arrays import SearchArrays
    from routescreen.search.label_kernel import PassResult

LEAST_GAIN = 1.6  # columns of both halves together at most this share of the columns of one whole pass


@dataclass(frozen=True, slots=True)
class Halves:
    """Both halves and the columns in which they overlap."""

    forward: PassResult
    backward: PassResult
    first_column: int
    last_column: int


def find_plan(arrays: SearchArrays, *, progress: Callable[[float], None] | None = None) -> FramePlan | None:
    """Return the optimum, None where no plan reaches the end terminal.

    Parameters
    ----------
    arrays : SearchArrays
    progress : callable or None
        Called about four times a second with the share of the columns done [-].

    Returns
    -------
    FramePlan or None
    """
    return find_plan_and_halves(arrays, progress=progress)[0]


def find_plan_and_halves(
    arrays: SearchArrays, *, progress: Callable[[float], None] | None = None
) -> tuple[FramePlan | None, Halves | None]:
    """Return the optimum, and both halves that it was found by, for those who go on from there.

    Parameters
    ----------
    arrays : SearchArrays
    progress : callable or None
        See ``find_plan``.

    Returns
    -------
    tuple of FramePlan or None, Halves or None
        No halves of a corridor so short that one pass is the quicker way.
    """
    n_columns = arrays.ground.ground_m.shape[0]
    if n_columns + _overlap_columns(arrays) > LEAST_GAIN * n_columns:
        result = run_with_progress(arrays, progress=progress)
        is_found = math.isfinite(optimum_eur(arrays, result))
        return (trace_plan(arrays, result) if is_found else None), None
    halves = run_halves(arrays, progress=progress)
    join = best_join_of(arrays, halves)
    if not math.isfinite(join.eur):
        return None, halves
    return trace_join(arrays, halves.forward, halves.backward, join), halves


def _overlap_columns(arrays: SearchArrays) -> int:
    """Return over how many columns the halves must overlap, lest a drive or a move steps over them all."""
    return max(arrays.longest_columns, int(arrays.trench.moves[:, 0].max()) - 1)


def run_halves(arrays: SearchArrays, *, progress: Callable[[float], None] | None = None) -> Halves:
    """Run both halves side by side in threads of their own, open to interruption.

    Parameters
    ----------
    arrays : SearchArrays
    progress : callable or None
        See ``find_plan``.

    Returns
    -------
    Halves
    """
    n_columns = arrays.ground.ground_m.shape[0]
    overlap = _overlap_columns(arrays)
    middle = max((n_columns - overlap) // 2, 0)
    last = min(middle + overlap, n_columns - 1)
    counts = (last + 1, n_columns - middle)
    reached = [np.zeros(1, np.int64), np.zeros(1, np.int64)]

    def work(half: int) -> PassResult:
        return run_pass(arrays, half == 0, counts[half], True, reached[half])

    def look() -> None:
        if progress is not None:
            progress(float(reached[0][0] + reached[1][0]) / sum(counts))

    forward, backward = run_side_by_side([partial(work, 0), partial(work, 1)], look=look)
    if progress is not None:
        progress(1.0)
    return Halves(forward, backward, middle, last)


def best_join_of(arrays: SearchArrays, halves: Halves) -> Join:
    """Return where the halves meet at least cost; its cost is inf where they don't."""
    return best_join(arrays, halves.forward, halves.backward, halves.first_column, halves.last_column)
