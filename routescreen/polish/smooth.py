"""The open cut of a plan smoothed: straight where it may be, bent where ground and obstacles ask for it.

Room: ``polish``. Puts shortcuts and bends together; each run of open cut is kept only if the take-off
finds it cheaper.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.corridor.burn import BurnInput
from routescreen.corridor.trench_judge import TrenchJudge
from routescreen.plan import section_runs
from routescreen.polish.bends import moved_bends
from routescreen.polish.line import Line, line_of, subdivided, without_straight
from routescreen.polish.prices import PiecePrices
from routescreen.polish.shortcuts import straightened
from routescreen.takeoff import Scope, trench_eur

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.plan import Plan, SectionRun
    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem

CHEAPER_EUR = 0.005  # half a cent: less is no gain
Ends = tuple[tuple[float, float], tuple[float, float]]


class Smoother:
    """Smooths plans of one corridor.

    Parameters
    ----------
    problem : FrameProblem
    corridor : CorridorInput
    """

    def __init__(self, problem: FrameProblem, corridor: CorridorInput) -> None:
        self._problem = problem
        self._settings = problem.assumptions.polish
        self._is_on = self._settings.is_enabled and corridor.fixed_line is None
        if not self._is_on:  # a fixed alignment is the planner's
            return
        what = BurnInput(
            problem.frame,
            corridor,
            problem.crossings,
            problem.sampler,
            problem.ground,
            problem.assumptions,
        )
        self._judge = TrenchJudge(what, margin_m=self._settings.margin_m)
        self._prices = PiecePrices(problem.sampler, problem.crossings, problem.assumptions)

    def smooth(self, plan: Plan, kept: frozenset[Ends] = frozenset()) -> Plan:
        """Smooth the runs of open cut.

        Parameters
        ----------
        plan : Plan
        kept : frozenset of pair of points
            First and last point of the runs to leave as they are [m].

        Returns
        -------
        Plan
            With the same drives and shafts in the same order; no run is dearer by the take-off.
        """
        if not self._is_on or plan.is_drive.all():
            return plan
        line = self._smoothed(line_of(plan, self._places_to_pass()))
        return self._best_of(plan, with_line(plan, line), kept)

    def _places_to_pass(self) -> NDArray[np.float64]:
        """Return the nodes that were pinned, shape (n, 2) [m]."""
        column = np.flatnonzero(self._problem.burnt.pin_via >= 0)
        return np.asarray(self._problem.frame.node_xy_m[column, self._problem.burnt.pin_via[column]])

    def _smoothed(self, line: Line) -> Line:
        """Straighten on many vertices and move what bends remain; again on those bends alone."""
        settings, judge, prices = self._settings, self._judge, self._prices
        line = subdivided(line, settings.vertex_spacing_m, judge.is_near_building)
        cell_m = self._problem.frame.cell_m
        for steps_m in ((cell_m / 2.0, cell_m / 8.0), (cell_m / 8.0, settings.finest_step_m)):
            line = without_straight(straightened(line, judge, prices, n_span=settings.n_span))
            line = moved_bends(line, judge, prices, first_step_m=steps_m[0], last_step_m=steps_m[1])
        return without_straight(straightened(line, judge, prices, n_span=settings.n_span))

    def _best_of(self, plan: Plan, smooth: Plan, kept: frozenset[Ends]) -> Plan:
        """Return the plan with each run of open cut as it is or smoothed, whichever is cheaper."""
        parts, narrow = [], []
        runs, smooth_runs = section_runs(plan), section_runs(smooth)
        before, after = self._scope(plan), self._scope(smooth)
        for number, (run, new) in enumerate(zip(runs, smooth_runs, strict=True)):
            is_new = run.drive is None and ends_of(plan, run) not in kept
            is_new = is_new and self._is_better(
                (before, run), (after, new), is_between=0 < number < len(runs) - 1
            )
            source, chosen = (smooth, new) if is_new else (plan, run)
            parts.append(source.alignment_xy_m[chosen.from_vertex : chosen.to_vertex])
            narrow.append(source.is_narrow[chosen.from_vertex : chosen.to_vertex])
        return joined(plan, [*parts, plan.alignment_xy_m[-1:]], narrow)

    def _scope(self, plan: Plan) -> Scope:
        problem = self._problem
        return Scope(plan, problem.sampler, problem.crossings, problem.assumptions)

    def _is_better(
        self, before: tuple[Scope, SectionRun], after: tuple[Scope, SectionRun], *, is_between: bool
    ) -> bool:
        """Return whether a smoothed run is cheaper by the take-off, and between two shafts long enough."""
        xy_m = _run_xy_m(after[0].plan, after[1])
        least_m = self._problem.assumptions.trench.min_trench_m
        if is_between and np.hypot(*np.diff(xy_m, axis=0).T).sum() < least_m:
            return False
        return trench_eur(*after) < trench_eur(*before) - CHEAPER_EUR


def smoothed_runs(
    plan: Plan, smooth: Plan, places: Sequence[tuple[int, tuple[float, float] | None]]
) -> frozenset[Ends]:
    """Return which smoothed runs of open cut some places lie in.

    Parameters
    ----------
    plan, smooth : Plan
        Before and after smoothing.
    places : sequence of (int, tuple or None)
        Section, -1 where it is not known, and point [m]; of neither the section nor the point: every run.

    Returns
    -------
    frozenset of pair of points
        Their ends; runs that are as they were are left out.
    """
    found = set()
    runs, smooth_runs = section_runs(plan), section_runs(smooth)
    for section, xy_m in places:
        numbers = [section] if section >= 0 else _nearest_runs(smooth, xy_m)
        found |= {
            ends_of(plan, runs[number])
            for number in numbers
            if runs[number].drive is None
            and not np.array_equal(_run_xy_m(plan, runs[number]), _run_xy_m(smooth, smooth_runs[number]))
        }
    return frozenset(found)


def _nearest_runs(plan: Plan, xy_m: tuple[float, float] | None) -> list[int]:
    """Return the section that passes nearest to a point; without one all sections."""
    runs = section_runs(plan)
    if xy_m is None:
        return list(range(len(runs)))
    lines = [shapely.LineString(_run_xy_m(plan, run)) for run in runs]
    return [int(np.argmin(shapely.distance(lines, shapely.Point(xy_m))))]


def _run_xy_m(plan: Plan, run: SectionRun) -> NDArray[np.float64]:
    """Return the vertices of a run [m]."""
    return plan.alignment_xy_m[run.from_vertex : run.to_vertex + 1]


def ends_of(plan: Plan, run: SectionRun) -> Ends:
    """Return the first and the last point of a run [m]."""
    (x1, y1), (x2, y2) = plan.alignment_xy_m[[run.from_vertex, run.to_vertex]].tolist()
    return (x1, y1), (x2, y2)


def with_line(plan: Plan, line: Line) -> Plan:
    """Return the plan on another alignment with the same drives."""
    at = np.flatnonzero(line.is_drive)
    return replace(
        plan,
        alignment_xy_m=line.xy_m,
        is_drive=line.is_drive,
        is_narrow=line.is_narrow,
        drives=tuple(
            replace(drive, from_vertex=int(piece), to_vertex=int(piece) + 1)
            for drive, piece in zip(plan.drives, at, strict=True)
        ),
    )


def joined(plan: Plan, xy_m: list[NDArray[np.float64]], is_narrow: list[NDArray[np.bool_]]) -> Plan:
    """Return the plan with its sections' vertices replaced, the last vertex of each left to the next."""
    runs = section_runs(plan)
    is_drive = [np.full(len(part), run.drive is not None) for run, part in zip(runs, is_narrow, strict=True)]
    line = Line(
        np.concatenate(xy_m),
        np.concatenate(is_drive),
        np.concatenate(is_narrow),
        np.zeros(0, np.bool_),
    )
    return with_line(plan, line)
