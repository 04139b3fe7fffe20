"""Which parts of a plan are planned again: a chain of drives with open cut on both sides.

Room: ``refine``. Pure arithmetic on the plan's steps.

A part begins and ends where nothing that is paid for or counted runs across: at a node of open cut outside
every crossing, so that no fee of a crossing is split, and so far from the next shaft that no move of a shaft
can leave too short a trench. Where two chains leave no such node between them they are one part.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.solve import DriveStep
from routescreen.search.stretches import nodes_along, part_of

if TYPE_CHECKING:
    from routescreen.search.solve import Node
    from routescreen.search.stretches import Stretch


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a plan is taken up again round its drives.

    Attributes
    ----------
    aside_m : float or None
        How far a shaft may move, and nodes may lie from the plan; None: anywhere in the window [m].
    trench_m : float
        Open cut before and behind the drives that belongs to the window [m].
    """

    aside_m: float | None
    trench_m: float


@dataclass(frozen=True, slots=True)
class Window:
    """Steps of a plan from `first` up to, not including, `last`."""

    first: int
    last: int


def find_windows(stretch: Stretch, reach: Reach) -> tuple[Window, ...]:
    """Return the windows round all chains of drives, in order, without overlap.

    Parameters
    ----------
    stretch : Stretch
    reach : Reach

    Returns
    -------
    tuple of Window
        Every drive lies in exactly one; empty where there is no drive.
    """
    chains = _chains(stretch)
    if not chains:
        return ()
    way = _Way.of(stretch, reach)
    windows: list[Window] = []
    first = way.before(0, chains[0][0])
    for (_, end), (begin, _) in pairwise(chains):
        seams = way.between(end, begin)
        if seams is not None:
            windows.append(Window(first, seams[0]))
            first = seams[1]
    windows.append(Window(first, way.behind(chains[-1][1], len(stretch.plan.steps))))
    return tuple(windows)


def parted(stretch: Stretch, windows: tuple[Window, ...]) -> tuple[Stretch, ...]:
    """Return a stretch as its windows and what lies before, between and behind them, in order."""
    edges = [0, *(edge for window in windows for edge in (window.first, window.last))]
    edges.append(len(stretch.plan.steps))
    return tuple(part_of(stretch, first, last) for first, last in pairwise(edges) if first < last)


def _chains(stretch: Stretch) -> list[tuple[int, int]]:
    """Return the runs of drives without open cut between, as first step and the step after the last."""
    is_drive = [isinstance(step, DriveStep) for step in stretch.plan.steps]
    edge = np.flatnonzero(np.diff(np.array([False, *is_drive, False]).astype(np.int8)))
    return [(int(a), int(b)) for a, b in edge.reshape(-1, 2)]


@dataclass(frozen=True, slots=True)
class _Way:
    """The nodes along a plan, with where it may be parted; lengths in columns.

    `is_seam[k]`: whether the node before step k, or the last one, lies outside every crossing.
    """

    nodes: list[Node]
    is_seam: list[bool]
    n_trench: float
    n_clear: float
    n_between: float

    @classmethod
    def of(cls, stretch: Stretch, reach: Reach) -> _Way:
        nodes = nodes_along(stretch.plan.steps)
        problem = stretch.problem
        n_rows, column_m = problem.frame.shape[1], problem.frame.column_spacing_m
        flat = np.array([column * n_rows + row for column, row in nodes], np.int64)
        inside = problem.burnt.inside_node  # in order
        is_inside = np.searchsorted(inside, flat, "left") < np.searchsorted(inside, flat, "right")
        n_fresh = problem.arrays.trench.fresh_columns
        n_moved = n_fresh if reach.aside_m is None else math.ceil(reach.aside_m / column_m)
        return cls(
            nodes,
            (~is_inside).tolist(),
            reach.trench_m / column_m,
            n_moved + 2,
            n_fresh + 2 * n_moved,
        )

    def _columns(self, first: int, last: int) -> int:
        return abs(self.nodes[last][0] - self.nodes[first][0])

    def before(self, first: int, begin: int) -> int:
        """Return where a window begins before the plan's first drive; at the latest its own beginning."""
        far = [k for k in range(first, begin) if self.is_seam[k] and self._columns(k, begin) >= self.n_trench]
        return far[-1] if far else first

    def behind(self, end: int, last: int) -> int:
        """Return where a window ends behind the plan's last drive."""
        far = [
            k for k in range(end + 1, last + 1) if self.is_seam[k] and self._columns(end, k) >= self.n_trench
        ]
        return far[0] if far else last

    def between(self, end: int, begin: int) -> tuple[int, int] | None:
        """Return where one window ends and the next begins between two chains; None: they are one."""
        if self._columns(end, begin) < self.n_between:
            return None
        free = [
            k
            for k in range(end + 1, begin)
            if self.is_seam[k] and min(self._columns(end, k), self._columns(k, begin)) >= self.n_clear
        ]
        if not free:
            return None
        behind = [k for k in free if self._columns(end, k) >= self.n_trench]
        before = [k for k in free if self._columns(k, begin) >= self.n_trench]
        if behind and before and behind[0] <= before[-1]:
            return behind[0], before[-1]
        middle = max(free, key=lambda k: min(self._columns(end, k), self._columns(k, begin)))
        return middle, middle
