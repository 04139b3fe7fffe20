"""Every way to pass each crossing of a plan: what the cheapest plan that does so costs more, or why none can.

Room: ``search``. Words and figures; the plans are found by ``otherwise``.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from routescreen.corridor.dips import barred_crossings
from routescreen.counted import counted, grouped
from routescreen.drives.cable_make import asked_A
from routescreen.drives.tunnel_heat import best_rating_A
from routescreen.search import under_kernel
from routescreen.search.drive_price_kernel import new_work
from routescreen.search.otherwise import (
    OPEN_CUT,
    Bench,
    cells_of_crossing,
    columns_of_crossing,
    otherwise,
    passes_by,
)
from routescreen.search.reach import Reach, most_columns
from routescreen.search.side_by_side import run_side_by_side
from routescreen.search.solve import DriveStep

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from routescreen.assumptions import Method
    from routescreen.search.arrays import Integers, SearchArrays
    from routescreen.search.otherwise import Otherwise
    from routescreen.search.problem import FrameProblem
    from routescreen.search.solve import FramePlan
    from routescreen.search.through import Early, Passages

CHOSEN, POSSIBLE, ROUND, BEYOND, IMPOSSIBLE = (
    "chosen",
    "possible",
    "goes_round",
    "beyond_budget",
    "impossible",
)
OPEN_CUT_NAME = "open_cut"
N_THREADS = 2


@dataclass(frozen=True, slots=True)
class CrossingWay:
    """One way to pass one crossing.

    Attributes
    ----------
    crossing : int
    way : str
        ``open_cut`` or the name of a method.
    status : str
        ``chosen``; ``possible``; ``goes_round`` where going round is cheaper than any plan that does so;
        ``beyond_budget``; ``impossible``.
    extra_eur : float
        What the cheapest plan with this way alone costs more than the optimum, both on the frame [EUR];
        NaN where it isn't known, there is none, or the optimum doesn't meet the crossing.
    reason : str
    plan : FramePlan or None
        The cheapest plan with this way alone, where one was found.
    """

    crossing: int
    way: str
    status: str
    extra_eur: float
    reason: str
    plan: FramePlan | None = None


def crossing_ways(
    problem: FrameProblem,
    passages: Passages,
    plan: FramePlan,
    crossings: Sequence[int],
    *,
    progress: Callable[[float], None] | None = None,
) -> list[CrossingWay]:
    """Tell of every way to pass some crossings.

    Parameters
    ----------
    problem : FrameProblem
    passages : Passages
        Of the problem's arrays; its limit is the budget.
    plan : FramePlan
        The optimum on the frame.
    crossings : sequence of int
    progress : callable or None
        Called with the share of the crossings done [-].

    Returns
    -------
    list of CrossingWay
        Of each crossing open cut first, then the methods in the order of the catalogue.
    """
    return WaysSought(problem, plan, crossings).all(passages, progress=progress)


class WaysSought:
    """Ways to pass some crossings, looked for one crossing after the other by whatever threads ask.

    Parameters
    ----------
    problem, plan, crossings
        See ``crossing_ways``.
    """

    def __init__(self, problem: FrameProblem, plan: FramePlan, crossings: Sequence[int]) -> None:
        self._problem, self._plan, self._crossings = problem, plan, crossings
        self._left = list(crossings)
        self._found: dict[int, list[CrossingWay]] = {}
        self._lock = threading.Lock()

    def early(self, early: Early) -> None:
        """Look for those that can be found as long as one pass has not ended; for ``through.go_on``."""
        spans = {crossing: columns_of_crossing(self._problem, crossing) for crossing in self._crossings}
        is_known = {crossing: span is None or _is_within(span, early) for crossing, span in spans.items()}
        if any(is_known.values()):
            reach = Reach(self._problem.arrays, early.passages)
            self._look(early.passages, reach, lambda crossing: is_known[crossing], early.is_over)

    def all(
        self, passages: Passages, *, progress: Callable[[float], None] | None = None
    ) -> list[CrossingWay]:
        """Look for what is left and return all; see ``crossing_ways``."""

        def look() -> None:
            if progress is not None:
                progress(len(self._found) / max(len(self._crossings), 1))

        if self._left:
            reach = Reach(self._problem.arrays, passages)
            work = partial(self._look, passages, reach, lambda _: True, lambda: False)
            run_side_by_side([work] * min(N_THREADS, len(self._left)), look=look)
        return [way for crossing in self._crossings for way in self._found[crossing]]

    def _look(
        self,
        passages: Passages,
        reach: Reach,
        is_asked: Callable[[int], bool],
        is_over: Callable[[], bool],
    ) -> None:
        bench = Bench(self._problem, passages, reach)
        while not is_over():
            with self._lock:
                crossing = next((crossing for crossing in self._left if is_asked(crossing)), None)
                if crossing is None:
                    return
                self._left.remove(crossing)
            self._found[crossing] = _ways_of(bench, self._plan, crossing)


def _is_within(span: tuple[int, int], early: Early) -> bool:
    """Return whether both passes' values are known where a crossing may be met."""
    return early.first_column <= span[0] and span[1] <= early.last_column


def _ways_of(bench: Bench, plan: FramePlan, crossing: int) -> list[CrossingWay]:
    """Tell of every way to pass one crossing."""
    problem = bench.problem
    own = passes_by(problem, plan, crossing)
    return [
        _way(problem, crossing, way, CHOSEN, 0.0, "the plan passes it so")
        if own == {way}
        else _judged(bench, crossing, way, is_met=bool(own))
        for way in (OPEN_CUT, *range(len(problem.methods)))
    ]


def _way(
    problem: FrameProblem,
    crossing: int,
    way: int,
    status: str,
    extra_eur: float,
    reason: str,
    plan: FramePlan | None = None,
) -> CrossingWay:
    name = OPEN_CUT_NAME if way == OPEN_CUT else problem.methods[way].name
    return CrossingWay(crossing, name, status, extra_eur, reason, plan)


def _judged(bench: Bench, crossing: int, way: int, *, is_met: bool) -> CrossingWay:
    """Tell of a way that the plan doesn't take, or not alone; `is_met`: whether it meets the crossing."""
    problem, passages = bench.problem, bench.passages
    never = why_never(problem, crossing, way)
    if never:
        return _way(problem, crossing, way, IMPOSSIBLE, math.nan, never)
    if not is_met:
        return _way(problem, crossing, way, ROUND, math.nan, "the plan on the frame goes round it")
    found = otherwise(problem, passages, crossing, way, bench)
    if found.plan is not None:
        is_met = bool(passes_by(problem, found.plan, crossing))
        return _way(
            problem,
            crossing,
            way,
            POSSIBLE if is_met else ROUND,
            max(found.extra_eur, 0.0),
            _what_it_does(found, crossing) if is_met else "going round it costs less than any such plan",
            found.plan,
        )
    stop = _why_not(problem, crossing, way)
    budget_eur = passages.limit_eur - passages.optimum_eur
    if stop is None:
        reason = (
            f"no plan so costs less than {_thousands(budget_eur)} EUR more; none of the first "
            f"{_thousands(under_kernel.MOST_LINES)} lines under it can be built, the others weren't looked at"
        )
        return _way(problem, crossing, way, BEYOND, math.nan, reason)
    if stop:
        return _way(problem, crossing, way, IMPOSSIBLE, math.nan, stop)
    what = "a trench" if way == OPEN_CUT else "a drive"
    reason = (
        f"{what} can be built there by itself; no plan so costs less than {_thousands(budget_eur)} EUR more, "
        "if there is one at all"
    )
    return _way(problem, crossing, way, BEYOND, math.nan, reason)


def why_never(problem: FrameProblem, crossing: int, way: int) -> str:
    """Say why a way is out of the question wherever the line runs, nothing where it isn't."""
    crossings = problem.crossings
    if way == OPEN_CUT:
        return "no trench is allowed through it" if crossings.trench[crossing] == "no" else ""
    if crossings.drive_under[crossing] == "no":
        return "no drive is allowed under it"
    return soil_words(problem, way, _cells_of_crossing(problem, crossing))


def soil_words(problem: FrameProblem, method: int, cells: Integers) -> str:
    """Say that a method can't be driven in any soil of some cells, nothing where it can in one.

    Parameters
    ----------
    problem : FrameProblem
    method : int
    cells : ndarray of shape (n, 2)
        Columns and rows.

    Returns
    -------
    str
        Where it is the cables' heat that keeps a tunnel out of them, what they could carry at most.
    """
    soils = _soils_of_cells(problem, cells)
    if not len(soils) or problem.arrays.drive.longest_m[method, soils].any():
        return ""
    a, name = problem.assumptions, problem.methods[method].name
    here = [list(a.soil)[int(soil)] for soil in soils]
    driven = [soil for soil in here if _is_driven(a.methods[name], soil)]
    ratings = [best_rating_A(a, name, soil) for soil in driven]
    known = [rating for rating in ratings if rating is not None]
    if not known:
        return f"it can't be driven in {' or '.join(soil.replace('_', ' ') for soil in here)}"
    return (
        f"{counted(a.link.n_cables, 'cable')} in one bore {'carries' if a.link.n_cables == 1 else 'carry'} "
        f"{max(known):.0f} A at most in the soils there, "
        f"{asked_A(a):.0f} A are asked for"
    )


def _is_driven(way: Method, soil: str) -> bool:
    entry = way.drivability.get(soil)
    return entry is not None and entry.grade != "no"


def _soils_of_cells(problem: FrameProblem, cells: Integers) -> Integers:
    """Return the soils that drives may meet in some cells, rock below them included."""
    fine, (nx, ny) = problem.arrays.fine, problem.arrays.ground.ground_m.shape
    na, nb = fine.kind.shape[0] // nx, fine.kind.shape[1] // ny
    kinds = fine.kind.reshape(nx, na, ny, nb)[cells[:, 0], :, cells[:, 1], :].ravel()
    level = fine.rock_level_m.reshape(nx, na, ny, nb)[cells[:, 0], :, cells[:, 1], :].ravel()
    rock = fine.rock_soil[np.unique(kinds[np.isfinite(level)])]
    return np.unique(np.concatenate([fine.soil[np.unique(kinds)], rock]))


def _cells_of_crossing(problem: FrameProblem, crossing: int) -> Integers:
    """Return the cells, column and row, whose own ground a drive under a crossing can't but meet."""
    ny = problem.frame.shape[1]
    return np.stack(np.divmod(cells_of_crossing(problem, crossing), ny), axis=1)


def _what_it_does(found: Otherwise, crossing: int) -> str:
    """Say how the cheapest plan passes a crossing."""
    if found.plan is None:
        return ""
    drives = [step for step in found.plan.steps if isinstance(step, DriveStep) and crossing in step.crossings]
    if not drives:
        return "in open cut"
    return "by " + " and ".join(f"a drive of {step.true_length_m:.0f} m" for step in drives)


def _why_not(problem: FrameProblem, crossing: int, way: int) -> str | None:
    """Say what stops a way at a crossing, nothing where it can be built; None where that is left open."""
    if way == OPEN_CUT:
        return _why_no_trench(problem, crossing)
    span = columns_of_crossing(problem, crossing)
    if span is None:
        return ""
    arrays, pair = _as_far_as(problem.arrays, way, *span), np.zeros(5, np.int64)
    work = new_work(arrays.longest_columns, len(arrays.drive.drive_fee_eur), arrays.drive.longest_m.shape[1])
    stage = int(under_kernel.furthest_under(arrays, work, crossing, way, *span, pair))
    return None if stage == under_kernel.TOO_MANY else _stage_words(problem, way, stage)


def _as_far_as(arrays: SearchArrays, method: int, first: int, last: int) -> SearchArrays:
    """Return arrays whose drives span no more columns about some than those of a method can."""
    longest, longest_m = int(arrays.longest_columns), float(arrays.drive.longest_m[method].max())
    width_m = arrays.frame.width_m[max(first - longest, 0) : last + longest + 1]
    return arrays._replace(longest_columns=most_columns(width_m, longest_m, longest))


def _why_no_trench(problem: FrameProblem, crossing: int) -> str:
    own = problem.burnt.pair_move[problem.burnt.pair_crossing == crossing]
    if np.isfinite(problem.arrays.trench.move_eur.reshape(-1)[own]).any():
        return ""
    if crossing in barred_crossings(problem.crossings, problem.sampler, problem.assumptions):
        return "no dip of open cut below it bears the current or is shallow enough to be dug without a proof"
    return (
        "no line of the frame lets the trenches through it: what it meets with them, the angle, or the "
        "corridor's edge"
    )


def _stage_words(problem: FrameProblem, method: int, stage: int) -> str:
    """Say what stops the drive of a method that comes furthest, nothing where one can be built."""
    own, way = problem.methods[method], problem.assumptions.methods[problem.methods[method].name]
    longest_m = min(float(problem.arrays.drive.longest_m[method].max()), own.longest_m)
    if stage == under_kernel.BUILT:
        return ""
    if stage == under_kernel.NO_SHAFTS:
        return f"no two places for its shafts with their compounds lie on both sides within {longest_m:.0f} m"
    limit = f"{way.grade_min_percent:g} to {way.grade_max_percent:g} %"
    words = {
        under_kernel.BLOCKED: "every line between places for its shafts meets what it must avoid, or a "
        "crossing at too small an angle",
        under_kernel.NO_LINE: f"no line keeps the cover under all it meets, grades of {limit} and shafts "
        f"{own.least_depth_m:g} to {own.most_depth_m:g} m deep",
        under_kernel.TOO_DEEP: f"so deep its cables get too warm, {own.spacing_m:.2f} m apart",
        under_kernel.TOO_WET: f"groundwater stands more than {own.head_limit_m:g} m above its axis",
        under_kernel.SOIL: "its soils can't be driven so far, or the drive would be shorter than "
        f"{own.least_length_m:g} m",
        under_kernel.TOO_HEAVY: "string or pipe ask for more force than frame, string or pipe bear",
        under_kernel.NO_GROUT: "it falls so far that no pressure of its grout, from end to end, holds the "
        "groundwater out all along and stays below what the ground bears",
        under_kernel.NO_LAND: "the pipe strings have no land behind the reception",
    }
    return f"{words[stage]}, even for the drive that comes furthest"


def _thousands(value: float) -> str:
    return grouped(round(value / 1000.0) * 1000)
