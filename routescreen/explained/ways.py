"""What speaks for the plan: of each line of the crossing schedule what every other way would cost.

Room: beside ``screen``. Brings the search's findings, by crossing, to the audit's lines of the schedule.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.search.crossing_ways import CHOSEN, OPEN_CUT_NAME, POSSIBLE, ROUND, WaysSought

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.audit import AuditReport
    from routescreen.plan import Plan
    from routescreen.search.crossing_ways import CrossingWay
    from routescreen.search.problem import FrameProblem
    from routescreen.search.solve import FramePlan

COLUMNS = ("crossing_index", "way", "status", "extra_eur", "reason")
AS_ON_FRAME = "the plan on the frame passes it so"
AS_BUILT = "the plan passes it so"


def ways_sought(problem: FrameProblem, frame_plan: FramePlan, rows: Sequence[int]) -> WaysSought:
    """Return what looks for every way to pass each crossing that the schedule tells of.

    Parameters
    ----------
    problem : FrameProblem
    frame_plan : FramePlan
        The optimum on the frame.
    rows : sequence of int
        The search's crossing of each row of the schedule, -1 where it has none.

    Returns
    -------
    WaysSought
    """
    return WaysSought(problem, frame_plan, sorted({crossing for crossing in rows if crossing >= 0}))


def ways_table(
    rows: Sequence[int], found: Sequence[CrossingWay], plan: Plan, audit: AuditReport
) -> pd.DataFrame:
    """Tell of each line of the schedule what every way to pass its crossing would cost.

    Parameters
    ----------
    rows : sequence of int
        See ``ways_sought``.
    found : sequence of CrossingWay
    plan : Plan
        The finished plan that the audit measured.
    audit : AuditReport

    Returns
    -------
    DataFrame
        Columns of the layer ``crossing_ways`` with `crossing_index`, the row of the audit's schedule, in
        place of names.
    """
    by_crossing: dict[int, list[CrossingWay]] = {}
    for way in found:
        by_crossing.setdefault(way.crossing, []).append(way)
    records = [
        _record(row, way, built)
        for row, (crossing, built) in enumerate(zip(rows, _ways_built(plan, audit), strict=True))
        for way in by_crossing.get(crossing, [])
    ]
    return pd.DataFrame(records, columns=list(COLUMNS))


def least_extra_eur(table: pd.DataFrame, n_rows: int) -> list[float]:
    """Return what each line of the schedule would cost more at least in any other way, NaN if not known."""
    others = table[table["status"].isin([POSSIBLE, ROUND])]
    least = others.groupby("crossing_index")["extra_eur"].min()
    return [float(least.get(row, np.nan)) for row in range(n_rows)]


def crossings_of_rows(problem: FrameProblem, audit: AuditReport) -> list[int]:
    """Return the search's crossing of each row of the schedule, -1 where it has none."""
    of_feature = {
        feature: crossing
        for crossing, ids in enumerate(problem.crossings.feature_ids)
        for feature in ids.split(";")
    }
    rows = [str(ids).split(";") for ids in audit.crossings["feature_id"]]
    return [next((of_feature[f] for f in features if f in of_feature), -1) for features in rows]


def _ways_built(plan: Plan, audit: AuditReport) -> list[str]:
    """Return how each row of the schedule is passed: open cut or the method of its drive."""
    drives = [int(index) for index in audit.crossings["drive_index"]]
    return [OPEN_CUT_NAME if index < 0 else plan.drives[index].method for index in drives]


def _record(row: int, found: CrossingWay, built: str) -> tuple[object, ...]:
    if found.way == built:
        return (row, found.way, CHOSEN, 0.0, AS_BUILT)
    if found.status == CHOSEN:
        return (row, found.way, POSSIBLE, 0.0, AS_ON_FRAME)
    return (row, found.way, found.status, found.extra_eur, found.reason)
