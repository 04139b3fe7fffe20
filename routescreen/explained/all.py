"""All explanations of one plan, from one pair of passes.

Room: beside ``screen``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pandas as pd

from routescreen.counted import counted
from routescreen.explained.alternatives import alternatives_table
from routescreen.explained.bans import n_bans
from routescreen.explained.limits import COLUMNS as LIMIT_COLUMNS
from routescreen.explained.limits import limits_table
from routescreen.explained.sentences import otherwise_sentences, shaft_sentences
from routescreen.explained.shafts import (
    found_tolerances,
    moves_table,
    tolerance_record,
    tolerance_table,
)
from routescreen.explained.ways import crossings_of_rows, ways_sought, ways_table
from routescreen.explained.works_bans import n_works_bans
from routescreen.search.reasons import reasons_along
from routescreen.search.through import go_on, run_passages

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from routescreen.assumptions import Assumptions
    from routescreen.audit import AuditReport
    from routescreen.explained.alternatives import Measure
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput
    from routescreen.search.crossing_ways import CrossingWay, WaysSought
    from routescreen.search.halves import Halves
    from routescreen.search.problem import FrameProblem
    from routescreen.search.shaft_tolerance import ShaftTolerance
    from routescreen.search.solve import FramePlan
    from routescreen.search.stretches import Stretch
    from routescreen.search.through import Passages

SHARE_OF_PASSES, SHARE_OF_SHAFTS = 0.15, 0.1  # of the time


@dataclass(frozen=True, slots=True)
class Asked:
    """Which explanations are looked for."""

    ways: bool
    tolerances: bool

    @property
    def any(self) -> bool:
        """Whether any is."""
        return self.ways or self.tolerances


@dataclass(frozen=True, slots=True)
class Finished:
    """The finished plan: as geometry, the frames and steps that it was laid out from, and its audit."""

    plan: Plan
    stretches: tuple[Stretch, ...]
    audit: AuditReport


@dataclass(frozen=True, slots=True)
class Explanations:
    """What speaks for one plan, as rows of the results' layers.

    `ways`, `tolerances`, `alternatives`, `limits` whole layers, with indices in place of names;
    `shaft_columns` one row a shaft; `reasons` one a section; `record` entries of the run record;
    `warnings` what was asked for and not looked for.
    """

    ways: pd.DataFrame
    tolerances: pd.DataFrame
    shaft_columns: pd.DataFrame
    reasons: tuple[str, ...]
    alternatives: pd.DataFrame
    limits: pd.DataFrame
    record: Mapping[str, str] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    @property
    def layers(self) -> dict[str, pd.DataFrame]:
        """Rows of whole layers, by the layer's name."""
        return {
            "crossing_ways": self.ways,
            "shaft_tolerance": self.tolerances,
            "alternatives": self.alternatives,
            "binding_limits": self.limits,
        }


def explanations_asked(a: Assumptions, n_crossings: int, n_shafts: int) -> Asked:
    """Return which explanations are looked for on a link of so many crossings met and shafts."""
    return Asked(
        ways=a.explain.crossing_ways and 0 < n_crossings <= a.explain.n_most_crossings,
        tolerances=a.explain.shaft_tolerance and 0 < n_shafts <= a.explain.n_most_shafts,
    )


def explain(
    problem: FrameProblem,
    halves: Halves | None,
    frame_plan: FramePlan,
    finished: Finished,
    *,
    corridor: CorridorInput | None = None,
    measure: Measure | None = None,
    progress: Callable[[float], None] | None = None,
) -> Explanations:
    """Look for all explanations that the assumptions ask for.

    Parameters
    ----------
    problem : FrameProblem
    halves : Halves or None
        By which the optimum on the frame was found; they can't be used again afterwards.
    frame_plan : FramePlan
        That optimum.
    finished : Finished
    corridor : CorridorInput or None
        What the frame was laid over; without it nothing is told of what bans cost.
    measure : Measure or None
        How other plans are measured on their exact geometry.
    progress : callable or None
        Called with the share of the work done [-].

    Returns
    -------
    Explanations
    """
    a, plan, audit = problem.assumptions, finished.plan, finished.audit
    rows = crossings_of_rows(problem, audit)
    asked = explanations_asked(a, len(audit.crossings), len(plan.shafts))
    sought = ways_sought(problem, frame_plan, rows) if asked.ways else None
    passages = _passages(problem, halves, a.explain.explain_budget_eur, sought) if asked.any else None

    def share(low: float, high: float) -> Callable[[float], None] | None:
        return None if progress is None else lambda done: progress(low + (high - low) * done)

    first, second = SHARE_OF_PASSES, SHARE_OF_PASSES + SHARE_OF_SHAFTS
    tolerances: list[ShaftTolerance | None] = [None] * len(plan.shafts)
    found: list[CrossingWay] = []
    if passages is not None and asked.tolerances:
        tolerances = found_tolerances(problem, passages, frame_plan, plan, progress=share(first, second))
    if passages is not None and sought is not None:
        found = sought.all(passages, progress=share(second, 1.0))
    ways = ways_table(rows, found, plan, audit)
    moves = moves_table(problem, plan, tolerances)
    sentences = shaft_sentences(problem, finished.stretches, tolerances, moves)
    return Explanations(
        ways,
        tolerance_table(problem, plan, tolerances),
        moves.assign(reason=pd.Series(sentences, index=moves.index, dtype=object)),
        _reasons(problem, finished, rows, ways),
        _alternatives(problem, frame_plan, found, rows, passages, measure),
        _limits(problem, frame_plan, corridor, progress),
        tolerance_record(problem, tolerances),
        (*_warnings(a, asked, audit, plan), *_bans_warning(problem)),
    )


def _alternatives(
    problem: FrameProblem,
    frame_plan: FramePlan,
    found: list[CrossingWay],
    rows: list[int],
    passages: Passages | None,
    measure: Measure | None,
) -> pd.DataFrame:
    """Return the plans that really differ, none where other ways were not looked for."""
    optimum_eur = math.nan if passages is None else passages.optimum_eur
    return alternatives_table(problem, frame_plan, found, rows, optimum_eur, measure=measure)


def _limits(
    problem: FrameProblem,
    frame_plan: FramePlan,
    corridor: CorridorInput | None,
    progress: Callable[[float], None] | None,
) -> pd.DataFrame:
    """Return what pins, limits and bans cost, where that is asked for; bans not on links with too many."""
    if not problem.assumptions.explain.limit_prices:
        return pd.DataFrame(columns=list(LIMIT_COLUMNS))
    optimum_eur = frame_plan.objective_eur + frame_plan.depth_gain_eur
    most = problem.assumptions.explain.n_most_crossings
    return limits_table(
        problem,
        optimum_eur,
        corridor=corridor,
        has_open_cut_bans=n_bans(problem) <= most,
        has_works_bans=n_works_bans(problem) <= most,
        progress=progress,
    )


def _bans_warning(problem: FrameProblem) -> tuple[str, ...]:
    """Return warnings where what bans cost is wanted and not looked for."""
    explain, n, n_works = problem.assumptions.explain, n_bans(problem), n_works_bans(problem)
    if not explain.limit_prices:
        return ()
    limit, texts = f"explain.n_most_crossings = {explain.n_most_crossings}", []
    if n > explain.n_most_crossings:
        texts.append(f"What the {n} bans on open cut cost was not looked for: more than {limit}.")
    if n_works > explain.n_most_crossings:
        texts.append(
            f"What the {n_works} bans on shafts and drives cost was not looked for: more than {limit}."
        )
    return tuple(texts)


def _reasons(
    problem: FrameProblem, finished: Finished, rows: list[int], ways: pd.DataFrame
) -> tuple[str, ...]:
    """Return why each section is what it is, with what another way would cost."""
    others = otherwise_sentences(problem, finished.plan, finished.audit, rows, ways)
    own = reasons_along(problem, finished.stretches)
    return tuple(f"{one} {other}".strip() for one, other in zip(own, others, strict=True))


def _passages(
    problem: FrameProblem, halves: Halves | None, budget_eur: float, sought: WaysSought | None
) -> Passages | None:
    """Return both passes over the whole corridor; the halves go on if they are there.

    The one that is done first looks for ways to pass crossings until the other is.
    """
    if halves is None:
        return run_passages(problem.arrays, budget_eur)
    return go_on(problem.arrays, halves, budget_eur, meanwhile=None if sought is None else sought.early)


def _warnings(a: Assumptions, asked: Asked, audit: AuditReport, plan: Plan) -> tuple[str, ...]:
    """Return a warning for each explanation that is wanted and not looked for, the link being too long."""
    texts = []
    n_crossings, n_shafts = counted(len(audit.crossings), "crossing"), counted(len(plan.shafts), "shaft")
    if a.explain.crossing_ways and not asked.ways and len(audit.crossings):
        limit = f"explain.n_most_crossings = {a.explain.n_most_crossings}"
        texts.append(f"Other ways to pass {n_crossings} were not looked for: more than {limit}.")
    if a.explain.shaft_tolerance and not asked.tolerances and plan.shafts:
        limit = f"explain.n_most_shafts = {a.explain.n_most_shafts}"
        texts.append(f"How far {n_shafts} may move was not looked for: more than {limit}.")
    return tuple(texts)
