"""How far each shaft of a plan may move for a given extra cost, all else planned anew: from through-values.

Room: ``search``. Runs the compiled legs near each shaft; knows nothing of files.

The cheapest plan with a shaft at a node for drives on the same sides, all else free, is a through-value. With
both passes' values at hand the drives that arrive near the shaft are judged again, within its own limit, and
the nodes are walked from the shaft's on, one step along or across at a time, while they stay within it.
Where the walk comes to the end of the columns that were judged, more are judged beyond them: nothing within
the limit that can be walked to is left out.

What a shaft may cost is a share of its drives with all their shafts, as measured on the frame, never of the
whole link. Values and optimum are those of the search, before the depths of chains are chosen together.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.money.measure import rates_eur
from routescreen.search.frame_bill import measure_on_frame
from routescreen.search.label_kernel import new_scratch
from routescreen.search.reach import Reach
from routescreen.search.side_by_side import run_side_by_side
from routescreen.search.solve import DriveStep
from routescreen.search.through import judge_shafts_within, shaft_by_role_eur

if TYPE_CHECKING:
    from collections.abc import Callable

    from routescreen.search.arrays import Floats, Integers, SearchArrays
    from routescreen.search.problem import FrameProblem
    from routescreen.search.solve import FramePlan, Node
    from routescreen.search.through import Passages, ShaftLabels

REACH_COLUMNS = 4  # judged on either side of what is known to be within the limit
N_THREADS = 2
SLACK_EUR = 0.005  # sums in another order


@dataclass(frozen=True, slots=True)
class ShaftTolerance:
    """Where one shaft may stand.

    Attributes
    ----------
    node : tuple of int
        Its own, column and row.
    has_drives : tuple of bool
        Whether a drive arrives from lower chainage, and whether one leaves to higher chainage.
    base_eur : float
        Its drives with all their shafts, on the frame [EUR].
    limit_eur : float
        The extra cost that was looked for [EUR]: the share of `base_eur`, or the whole budget of the
        through-values where that is less.
    is_cut : bool
        Whether it was less.
    places : ndarray of shape (n, 2)
        Column and row of the nodes within the limit that can be walked to from its own, which comes first.
    extra_eur : ndarray of shape (n,)
        What the cheapest plan with the shaft there costs more than the optimum [EUR].
    """

    node: Node
    has_drives: tuple[bool, bool]
    base_eur: float
    limit_eur: float
    is_cut: bool
    places: Integers
    extra_eur: Floats

    def within(self, percent: float) -> Integers:
        """Return the places that can be walked to within a share of `base_eur`, the shaft's own first."""
        limit_eur = self.base_eur * percent / 100.0 + SLACK_EUR
        extra_eur = self._by_node()
        found = walked(self.node, lambda at: extra_eur.get(at, math.inf) <= limit_eur)
        return np.array(found, np.int64).reshape(-1, 2)

    def extra_at(self, node: Node) -> float | None:
        """Return the extra cost with the shaft at a node, None where that is not among the places [EUR]."""
        return self._by_node().get(node)

    def _by_node(self) -> dict[Node, float]:
        places = zip(self.places, self.extra_eur, strict=True)
        return {(int(place[0]), int(place[1])): float(eur) for place, eur in places}


def shaft_tolerances(
    problem: FrameProblem,
    passages: Passages,
    plan: FramePlan,
    percent: float,
    *,
    progress: Callable[[float], None] | None = None,
) -> tuple[ShaftTolerance, ...]:
    """Return where each shaft of the optimum may stand for some percent of its drives and their shafts.

    Parameters
    ----------
    problem : FrameProblem
    passages : Passages
        Of the problem's arrays.
    plan : FramePlan
        The optimum on the frame.
    percent : float
    progress : callable or None
        Called with the share of the shafts done [-].

    Returns
    -------
    tuple of ShaftTolerance
        In the order of the plan's shafts.
    """
    found: dict[int, ShaftTolerance] = {}
    bases_eur = bases_of_shafts_eur(problem, plan)

    left = iter(range(len(plan.shafts)))
    lock = threading.Lock()
    reach = Reach(problem.arrays, passages) if plan.shafts else None

    def work() -> None:
        bench = Bench(problem.arrays, passages, reach)
        while True:
            with lock:
                number = next(left, None)
            if number is None:
                return
            shaft = plan.shafts[number]
            sides = (shaft.incoming_role > 0, shaft.outgoing_role > 0)
            found[number] = bench.tolerance_at(shaft.node, sides, bases_eur[number], percent)

    def look() -> None:
        if progress is not None:
            progress(len(found) / max(len(plan.shafts), 1))

    run_side_by_side([work] * min(N_THREADS, len(plan.shafts)), look=look)
    return tuple(found[number] for number in range(len(plan.shafts)))


def bases_of_shafts_eur(problem: FrameProblem, plan: FramePlan) -> list[float]:
    """Return of each shaft what its drives with all their shafts cost on the frame [EUR]."""
    bill, rates = measure_on_frame(problem, plan), rates_eur(problem.assumptions)
    step_eur, shaft_eur = bill.steps @ rates, bill.shafts @ rates
    number_of = {shaft.node: number for number, shaft in enumerate(plan.shafts)}
    bases = []
    for shaft in plan.shafts:
        own = [
            (at, step)
            for at, step in enumerate(plan.steps)
            if isinstance(step, DriveStep) and shaft.node in (step.lower, step.upper)
        ]
        ends = {number_of[node] for _, step in own for node in (step.lower, step.upper)}
        drives_eur = sum(float(step_eur[at]) for at, _ in own)
        bases.append(drives_eur + sum(float(shaft_eur[number]) for number in sorted(ends)))
    return bases


def tolerance_at(
    arrays: SearchArrays,
    passages: Passages,
    node: Node,
    has_drives: tuple[bool, bool],
    base_eur: float,
    percent: float,
) -> ShaftTolerance:
    """Return where the shaft at a node may stand; see ``shaft_tolerances``."""
    return Bench(arrays, passages).tolerance_at(node, has_drives, base_eur, percent)


class Bench:
    """What looking at one shaft after the other needs, made once; for one thread. `reach` may be shared."""

    def __init__(self, arrays: SearchArrays, passages: Passages, reach: Reach | None = None) -> None:
        self._arrays, self._passages = arrays, passages
        self._reach = reach or Reach(arrays, passages)
        self._scratch = new_scratch(arrays)

    def tolerance_at(
        self, node: Node, has_drives: tuple[bool, bool], base_eur: float, percent: float
    ) -> ShaftTolerance:
        """Return where the shaft at a node may stand; see ``shaft_tolerances``."""
        optimum_eur = self._passages.optimum_eur
        budget_eur = self._passages.limit_eur - optimum_eur
        asked_eur = base_eur * percent / 100.0
        limit_eur = min(asked_eur, budget_eur)
        values, places = self._walked_as_far_as_may_be(node, has_drives, limit_eur)
        extra = np.array([values.least_eur(place) - optimum_eur for place in places])
        at = np.array(places, np.int64).reshape(-1, 2)
        return ShaftTolerance(
            node, has_drives, base_eur, limit_eur, asked_eur > budget_eur, at, np.maximum(extra, 0.0)
        )

    def _walked_as_far_as_may_be(
        self, node: Node, has_drives: tuple[bool, bool], limit_eur: float
    ) -> tuple[_Values, list[Node]]:
        """Judge columns about a shaft, more and more, until the walk from it ends among them."""
        last_column = self._arrays.ground.ground_m.shape[0] - 1
        most_eur = self._passages.optimum_eur + limit_eur + SLACK_EUR
        values = _Values(self._arrays, self._passages, has_drives, most_eur)
        first, last = max(node[0] - REACH_COLUMNS, 0), min(node[0] + REACH_COLUMNS, last_column)
        values.add(first, last, self._judged(first, last, limit_eur))
        while True:
            places = walked(node, values.is_within)
            columns = [place[0] for place in places]
            low, high = min(columns), max(columns)
            if low == first > 0:
                first = max(low - REACH_COLUMNS, 0)
                values.add(first, low - 1, self._judged(first, low - 1, limit_eur))
            elif high == last < last_column:
                last = min(high + REACH_COLUMNS, last_column)
                values.add(high + 1, last, self._judged(high + 1, last, limit_eur))
            else:
                return values, places

    def _judged(self, first: int, last: int, limit_eur: float) -> ShaftLabels:
        """Judge the drives that arrive in some columns again, as far as any within the limit spans."""
        spans = self._reach.about(first, last + 1, self._passages.optimum_eur + limit_eur)
        arrays = self._arrays._replace(longest_columns=spans.n_columns)
        return judge_shafts_within(arrays, self._passages, first, last, limit_eur, scratch=self._scratch)


class _Values:
    """The least cost of a plan with a shaft at a node for drives on given sides, each looked up once."""

    def __init__(
        self, arrays: SearchArrays, passages: Passages, has_drives: tuple[bool, bool], most_eur: float
    ) -> None:
        self._most_eur = most_eur
        self._arrays, self._passages = arrays, passages
        self._roles = tuple(slice(1, None) if has else slice(0, 1) for has in has_drives)
        self._labels: dict[int, ShaftLabels] = {}
        self._n_rows = arrays.ground.ground_m.shape[1]
        self._known: dict[Node, float] = {}

    def add(self, first: int, last: int, labels: ShaftLabels) -> None:
        """Take the drives that arrive in some more columns, both included."""
        self._labels.update(dict.fromkeys(range(first, last + 1), labels))

    def least_eur(self, node: Node) -> float:
        """Return it; inf beyond the limit and outside the columns that were judged [EUR]."""
        labels = self._labels.get(node[0])
        if labels is None or not 0 <= node[1] < self._n_rows:
            return math.inf
        if node not in self._known:
            by_role = shaft_by_role_eur(self._arrays, self._passages, labels, *node)
            self._known[node] = float(by_role[self._roles].min())
        return self._known[node]

    def is_within(self, node: Node) -> bool:
        """Return whether such a plan costs no more than is looked for."""
        return self.least_eur(node) <= self._most_eur


def walked(start: Node, is_within: Callable[[Node], bool]) -> list[Node]:
    """Return the nodes that can be walked to from a node, one step along or across at a time.

    The node itself comes first, whether it is within or not.

    Examples
    --------
    >>> walked((2, 0), lambda at: at[1] == 0 and at[0] in {1, 2, 3, 5})
    [(2, 0), (1, 0), (3, 0)]
    """
    found, seen = [start], {start}
    for column, row in found:  # grows while it is gone through
        for step in ((column - 1, row), (column + 1, row), (column, row - 1), (column, row + 1)):
            if step not in seen:
                seen.add(step)
                if is_within(step):
                    found.append(step)
    return found
