"""Other plans that really differ, as rows and lines.

Room: beside ``screen``. Brings the search's plans to names of the schedule.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import pandas as pd
import shapely

from routescreen.forked import run_forked
from routescreen.plan import vertex_chainage_m
from routescreen.search.alternatives import alternatives
from routescreen.search.geometry import plan_geometry
from routescreen.search.otherwise import OPEN_CUT
from routescreen.search.reasons import listed, title

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from routescreen.plan import Plan
    from routescreen.search.alternatives import Alternative
    from routescreen.search.crossing_ways import CrossingWay
    from routescreen.search.problem import FrameProblem
    from routescreen.search.solve import FramePlan

COLUMNS = (
    "alternative_index",
    "rank",
    "about_index",
    "instead",
    "n_otherwise",
    "cost_eur",
    "extra_eur",
    "measured_eur",
    "measured_extra_eur",
    "breaches",
    "overlap_frac",
    "departure_overlap_frac",
    "length_m",
    "drives",
    "shafts",
    "geometry",
)

AUDIT_OVER_BILL = 4.0  # how much longer an audit takes than a bill


@dataclass(frozen=True, slots=True)
class Measure:
    """How plans are measured on their exact geometry: their bill [EUR], and in how many places in breach."""

    eur: Callable[[Plan], float]
    n_breaches: Callable[[Plan], int]


def alternatives_table(
    problem: FrameProblem,
    frame_plan: FramePlan,
    found: Sequence[CrossingWay],
    rows: Sequence[int],
    optimum_eur: float,
    *,
    measure: Measure | None = None,
) -> pd.DataFrame:
    """Return the plans that really differ, the cheapest first.

    Parameters
    ----------
    problem : FrameProblem
    frame_plan : FramePlan
        The optimum on the frame.
    found : sequence of CrossingWay
    rows : sequence of int
        The search's crossing of each row of the schedule.
    optimum_eur : float
        Of the search [EUR].
    measure : Measure or None
        Without it what plans come to on their exact geometry isn't known.

    Returns
    -------
    DataFrame
        Columns of the layer ``alternatives`` with `alternative_index` and `about_index`, a row of the
        schedule or -1, in place of names.
    """
    explain = problem.assumptions.explain
    chosen = alternatives(
        problem, frame_plan, found, explain.n_alternatives, explain.alternative_overlap_frac
    )
    records = [_record(problem, number, way, rows, optimum_eur) for number, way in enumerate(chosen)]
    table = pd.DataFrame(records, columns=list(COLUMNS))
    if measure is None or table.empty:
        return table
    own = plan_geometry(problem, frame_plan)
    plans = [plan_geometry(problem, way.plan) for way in chosen]
    works: list[Callable[[], float]] = [
        partial(measure.eur, own),
        *(partial(measure.eur, plan) for plan in plans),
        *(partial(measure.n_breaches, plan) for plan in plans),
    ]
    sizes = [1.0] * (1 + len(plans)) + [AUDIT_OVER_BILL] * len(plans)
    own_eur, *values = run_forked(works, sizes)
    measured_eur, breaches = values[: len(plans)], values[len(plans) :]
    return table.assign(
        measured_eur=measured_eur,
        measured_extra_eur=[eur - own_eur for eur in measured_eur],
        breaches=breaches,
    )


def _record(
    problem: FrameProblem, number: int, way: Alternative, rows: Sequence[int], optimum_eur: float
) -> tuple[object, ...]:
    line = plan_geometry(problem, way.plan)
    about = next((row for row, crossing in enumerate(rows) if crossing in way.treatments), -1)
    return (
        number,
        number + 1,
        about,
        instead_words(problem, way),
        len(way.treatments),
        optimum_eur + way.extra_eur,
        way.extra_eur,
        math.nan,
        math.nan,
        None,
        way.overlap_frac,
        way.departure_overlap_frac,
        float(vertex_chainage_m(line)[-1]),
        len(line.drives),
        len(line.shafts),
        shapely.LineString(line.alignment_xy_m),
    )


def instead_words(problem: FrameProblem, way: Alternative) -> str:
    """Say what an alternative does otherwise, ways that several crossings share once."""
    by_ways: dict[frozenset[int], list[str]] = {}
    for crossing, ways in way.treatments.items():
        by_ways.setdefault(ways, []).append(title(problem, crossing))
    texts = [f"{listed(names)} {_ways_words(problem, ways)}" for ways, names in by_ways.items()]
    return "; ".join(texts)


def _ways_words(problem: FrameProblem, ways: frozenset[int]) -> str:
    if not ways:
        return "gone round"
    names = [
        "in open cut"
        if way == OPEN_CUT
        else f"by {problem.assumptions.methods[problem.methods[way].name].title}"
        for way in sorted(ways)
    ]
    return " and ".join(names)
