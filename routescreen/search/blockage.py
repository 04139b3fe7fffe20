"""No plan: where every option stops, what stops it, and the smallest relaxation that opens it.

Room: ``search``. Puts together what the passes reached, what stands there and what would open it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.errors import NoPlanError, Problem
from routescreen.search.gap_names import closed_to_trench, what_stops
from routescreen.search.gap_window import gap_window
from routescreen.search.relaxations import Gap, chainages, relaxations

if TYPE_CHECKING:
    from routescreen.search.problem import FrameProblem
    from routescreen.search.stuck import Stuck


def no_plan_error(problem: FrameProblem, stuck: Stuck) -> NoPlanError:
    """Find out why there is no plan.

    Parameters
    ----------
    problem : FrameProblem
    stuck : Stuck
        How far the passes from both terminals come.

    Returns
    -------
    NoPlanError
        Names the place, the constraints and the relaxations, cheapest first.
    """
    arrays = problem.arrays
    first, last = stuck.first_column, stuck.last_column
    window = gap_window(arrays, stuck.forward, stuck.backward, first, last)
    spacing_m = problem.frame.column_spacing_m
    gap = Gap(problem, window.arrays, window.first_column)
    found = relaxations(gap)
    place = f"{chainages(first * spacing_m, last * spacing_m)} ({_middle(problem, first, last)})"
    stops = what_stops(problem, first, last)
    at_ends = terminals_text(problem, first, last)
    message = f"No plan: every option stops at {place}. {at_ends}{stops.text}"
    wider = stops.needed_width_m
    if wider is not None:
        remedy = f"widen the corridor there to at least {wider:.1f} m"
        remedy += "".join(f"; or {r.text}" for r in found if "drive" in r.text) + "."
    elif found:
        remedy = "; or ".join(relaxation.text for relaxation in found)
    else:
        wider_text = "draw a corridor round the line" if problem.frame.is_line else "widen the corridor there"
        remedy = f"no single constraint opens it; {wider_text} or lift several together."
    problems = (
        Problem(
            problem=message,
            remedy=remedy,
            layer="crossings" if stops.feature_ids else "corridor",
            feature=", ".join(stops.feature_ids[:5]) or problem.frame.corridor_id,
            value=place,
        ),
    )
    return NoPlanError(f"{message}\nWhat would open it, cheapest first: {remedy}", problems)


def terminals_text(problem: FrameProblem, first: int, last: int) -> str:
    """Say that a terminal stands where no trench can leave it, and what bars it there."""
    frame, texts = problem.frame, []
    move = "let the line begin or end there" if frame.is_line else "move it (layer terminals)"
    for role, node, is_there, column in (
        ("start", frame.start, first == 0, 0),
        ("end", frame.end, last == len(frame.node_xy_m) - 1, len(frame.node_xy_m) - 2),
    ):
        if not is_there or bool(problem.burnt.move_ok[column, node[1]].any()):
            continue
        names = closed_to_trench(problem, [node])
        x, y = frame.node_xy_m[node]
        texts.append(
            f"No trench leads to the {role} of the alignment at x {x:.0f}, y {y:.0f}"
            + (f", where its strip meets {', '.join(names)}" if names else "")
            + f": if it may lie elsewhere, {move}. "
        )
    return "".join(texts)


def _middle(problem: FrameProblem, first: int, last: int) -> str:
    """Write the coordinates of the middle of the corridor between two columns."""
    column = (first + last) // 2
    rows = np.flatnonzero(problem.frame.is_valid[column])
    row = int(rows[len(rows) // 2]) if len(rows) else problem.frame.node_xy_m.shape[1] // 2
    x, y = problem.frame.node_xy_m[column, row]
    return f"x {x:.0f}, y {y:.0f}"
