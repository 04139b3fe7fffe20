"""Why each section and each shaft is what it is, with what the next best would cost.

Room: beside ``screen``. Words from the numbers of other ways and of tolerances.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.explained.shafts import MOVE_COLUMNS
from routescreen.plan import section_runs, vertex_chainage_m
from routescreen.search.crossing_ways import OPEN_CUT_NAME, POSSIBLE, ROUND
from routescreen.search.reasons import in_thousands, listed, title
from routescreen.search.shaft_reasons import depth_reason, place_reason

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from routescreen.audit import AuditReport
    from routescreen.plan import Plan, SectionRun
    from routescreen.search.problem import FrameProblem
    from routescreen.search.shaft_tolerance import ShaftTolerance
    from routescreen.search.stretches import Stretch

LEAST_EUR = 500.0  # an extra cost below is no other plan's: it rounds to nothing


def otherwise_sentences(
    problem: FrameProblem, plan: Plan, audit: AuditReport, rows: Sequence[int], ways: pd.DataFrame
) -> tuple[str, ...]:
    """Return for each section what passing its crossings otherwise would cost, "" where nothing is known.

    Parameters
    ----------
    problem : FrameProblem
    plan : Plan
    audit : AuditReport
    rows : sequence of int
        The search's crossing of each row of the schedule, -1 where it has none.
    ways : DataFrame
        Rows of the layer ``crossing_ways``.
    """
    if ways.empty:
        return ("",) * len(section_runs(plan))
    others = ways[ways["status"].isin([POSSIBLE, ROUND]) & (ways["extra_eur"] >= LEAST_EUR)]
    cheapest = others.sort_values("extra_eur", kind="stable").groupby("crossing_index").head(1)
    known = {int(row["crossing_index"]): row for _, row in cheapest.iterrows()}
    is_round = ways["status"].eq(ROUND) & ways["extra_eur"].isna()  # met only off the frame: nothing is known
    told = set(ways["crossing_index"].astype(int)) - set(ways.loc[is_round, "crossing_index"].astype(int))
    texts = []
    for run, own in zip(section_runs(plan), rows_of_sections(plan, audit), strict=True):
        looked_at = [row for row in own if row in told]
        texts.append(_otherwise(problem, plan, run, looked_at, rows, known))
    return tuple(texts)


def rows_of_sections(plan: Plan, audit: AuditReport) -> list[list[int]]:
    """Return for each section the rows of the audit's schedule that it meets, by chainage."""
    along_m = vertex_chainage_m(plan)
    drive = audit.crossings["drive_index"].to_numpy(dtype=int)
    at_m = audit.crossings["chainage_m"].to_numpy(dtype=float)
    found = []
    for run in section_runs(plan):
        if run.drive is None:
            is_own = (drive < 0) & (at_m >= along_m[run.from_vertex]) & (at_m < along_m[run.to_vertex])
        else:
            is_own = drive == run.drive
        own = np.flatnonzero(is_own)
        found.append([int(row) for row in own[np.argsort(at_m[own], kind="stable")]])
    return found


def _otherwise(
    problem: FrameProblem,
    plan: Plan,
    run: SectionRun,
    own: Sequence[int],
    rows: Sequence[int],
    known: dict[int, pd.Series],
) -> str:
    """Say what the cheapest other way at some rows costs, and where there is none within the budget."""
    if not own:
        return ""
    budget = in_thousands(problem.assumptions.explain.explain_budget_eur)
    line = shapely.LineString(plan.alignment_xy_m[run.from_vertex : run.to_vertex + 1])
    unknown = [title(problem, rows[row], line) for row in own if row not in known]
    least = min((known[row] for row in own if row in known), key=lambda row: row["extra_eur"], default=None)
    texts = []
    if least is not None:
        name = title(problem, rows[int(least["crossing_index"])], line)
        texts.append(
            f"The cheapest to pass otherwise is {name}: {_way_words(problem, least)}, "
            f"{in_thousands(least['extra_eur'])} EUR more, all else planned anew."
        )
    if unknown and run.drive is not None:
        texts.append(
            f"No plan that passes {listed(unknown)} otherwise costs less than {budget} EUR more, "
            "if there is one."
        )
    elif unknown and least is None:
        texts.append(
            f"No plan that passes any of it otherwise costs less than {budget} EUR more, if there is one."
        )
    return " ".join(texts)


def _way_words(problem: FrameProblem, row: pd.Series) -> str:
    if row["status"] == ROUND:
        return "going round it"
    if row["way"] == OPEN_CUT_NAME:
        return "in open cut"
    return f"by {problem.assumptions.methods[str(row['way'])].title}"


def shaft_sentences(
    problem: FrameProblem,
    stretches: Sequence[Stretch],
    tolerances: Sequence[ShaftTolerance | None],
    moves: pd.DataFrame,
) -> list[str | None]:
    """Return for each shaft of the finished plan why it is where and as deep as it is.

    Parameters
    ----------
    problem : FrameProblem
    stretches : sequence of Stretch
        The finished plan's steps and shafts.
    tolerances : sequence of ShaftTolerance or None
        One for each shaft of the finished plan.
    moves : DataFrame
        One row a shaft, `MOVE_COLUMNS`.
    """
    percent = problem.assumptions.explain.tolerance_percent
    finished = [(stretch, shaft) for stretch in stretches for shaft in stretch.plan.shafts]
    texts: list[str | None] = []
    for number, (stretch, shaft) in enumerate(finished):
        depth = depth_reason(stretch.problem, stretch.plan, shaft)
        tolerance = tolerances[number]
        if tolerance is None:
            texts.append(depth)
            continue
        back, on, left, right = (float(moves[column].iloc[number]) for column in MOVE_COLUMNS)
        share = "all that was looked for" if tolerance.is_cut else f"{percent:g} % of its drives and shafts"
        moved = (
            f"For up to {in_thousands(tolerance.limit_eur)} EUR more ({share}) it may move "
            f"{back:.0f} m back, {on:.0f} m on, {left:.0f} m to the left and {right:.0f} m to the right, "
            "all else planned anew."
        )
        texts.append(" ".join((depth, place_reason(problem, tolerance), moved)))
    return texts
