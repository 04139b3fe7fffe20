"""All explanations of one plan, from one pair of passes.

Room: beside ``screen``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pandas as pd

from routescreen.explained.shafts import (
    AREA_COLUMNS,
    MOVE_COLUMNS,
    found_tolerances,
    moves_table,
    tolerance_record,
    tolerance_table,
)
from routescreen.explained.ways import COLUMNS as WAY_COLUMNS
from routescreen.explained.ways import crossings_of_rows, ways_found, ways_table
from routescreen.search.through import go_on, run_passages

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from routescreen.assumptions import Assumptions
    from routescreen.audit import AuditReport
    from routescreen.plan import Plan
    from routescreen.search.halves import Halves
    from routescreen.search.problem import FrameProblem
    from routescreen.search.shaft_tolerance import ShaftTolerance
    from routescreen.search.solve import FramePlan
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
class Explanations:
    """What speaks for one plan, as rows of the results' layers.

    `ways`, `tolerances` the layers ``crossing_ways`` and ``shaft_tolerance``, with indices in place of names;
    `shaft_columns` one row a shaft; `record` entries of the run record; `warnings` what was asked for and
    not looked for.
    """

    ways: pd.DataFrame
    tolerances: pd.DataFrame
    shaft_columns: pd.DataFrame
    record: Mapping[str, str] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    @property
    def layers(self) -> dict[str, pd.DataFrame]:
        """Rows of whole layers, by the layer's name."""
        return {"crossing_ways": self.ways, "shaft_tolerance": self.tolerances}


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
    plan: Plan,
    audit: AuditReport,
    *,
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
    plan : Plan
        The finished plan that the audit measured.
    audit : AuditReport
    progress : callable or None
        Called with the share of the work done [-].

    Returns
    -------
    Explanations
    """
    a = problem.assumptions
    rows = crossings_of_rows(problem, audit)
    asked = explanations_asked(a, len(audit.crossings), len(plan.shafts))
    passages = _passages(problem, halves, a.explain.explain_budget_eur) if asked.any else None
    if passages is None:
        return Explanations(
            pd.DataFrame(columns=list(WAY_COLUMNS)),
            pd.DataFrame(columns=list(AREA_COLUMNS)),
            pd.DataFrame(columns=list(MOVE_COLUMNS)),
            warnings=_warnings(a, asked, audit, plan),
        )

    def share(low: float, high: float) -> Callable[[float], None] | None:
        return None if progress is None else lambda done: progress(low + (high - low) * done)

    first, second = SHARE_OF_PASSES, SHARE_OF_PASSES + SHARE_OF_SHAFTS
    tolerances: list[ShaftTolerance | None] = [None] * len(plan.shafts)
    if asked.tolerances:
        tolerances = found_tolerances(problem, passages, frame_plan, plan, progress=share(first, second))
    found = (
        ways_found(problem, passages, frame_plan, rows, progress=share(second, 1.0)) if asked.ways else []
    )
    return Explanations(
        ways_table(rows, found, plan, audit),
        tolerance_table(problem, plan, tolerances),
        moves_table(problem, plan, tolerances),
        tolerance_record(problem, tolerances),
        _warnings(a, asked, audit, plan),
    )


def _passages(problem: FrameProblem, halves: Halves | None, budget_eur: float) -> Passages | None:
    """Return both passes over the whole corridor; the halves go on if they are there."""
    if halves is None:
        return run_passages(problem.arrays, budget_eur)
    return go_on(problem.arrays, halves, budget_eur)


def _warnings(a: Assumptions, asked: Asked, audit: AuditReport, plan: Plan) -> tuple[str, ...]:
    """Return a warning for each explanation that is wanted and not looked for, the link being too long."""
    texts = []
    if a.explain.crossing_ways and not asked.ways and len(audit.crossings):
        limit = f"explain.n_most_crossings = {a.explain.n_most_crossings}"
        texts.append(
            f"Other ways to pass the {len(audit.crossings)} crossings were not looked for: more than {limit}."
        )
    if a.explain.shaft_tolerance and not asked.tolerances and plan.shafts:
        limit = f"explain.n_most_shafts = {a.explain.n_most_shafts}"
        texts.append(f"How far the {len(plan.shafts)} shafts may move was not looked for: more than {limit}.")
    return tuple(texts)
