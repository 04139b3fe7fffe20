"""Open cut where no dip bears the current, where without it there is no plan.

Room: ``search``. That the cables bear the current below what open cut crosses stands back behind having a
plan at all: crossings are opened just about where every option stops, and that is told.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen.corridor.burn import BurnInput, burn
from routescreen.corridor.dips import barred_crossings
from routescreen.drives.cable_make import asked_A
from routescreen.search.gap_names import NEAR_COLUMNS, crossing_title
from routescreen.search.problem import build_problem
from routescreen.search.warm_drives import warm_warnings

if TYPE_CHECKING:
    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem
    from routescreen.search.stuck import Stuck


def lift_dips(problem: FrameProblem, corridor: CorridorInput, stuck: Stuck) -> FrameProblem | None:
    """Let open cut through the crossings about the place where every option stops, cool or not.

    Parameters
    ----------
    problem : FrameProblem
        One without a plan.
    corridor : CorridorInput
        The one that the frame was laid over.
    stuck : Stuck
        How far the passes from both terminals come.

    Returns
    -------
    FrameProblem or None
        Priced anew; None where no such crossing is left.
    """
    crossings, a = problem.crossings, problem.assumptions
    barred = barred_crossings(crossings, problem.sampler, a)
    if not barred:
        return None
    near = _about_gap(problem, stuck)
    lifted = {k for k in barred if shapely.intersects(crossings.outline[k], near)} or set(barred)
    dips = tuple(
        replace(dip, may_be_warm=True) if k in lifted and dip is not None else dip
        for k, dip in enumerate(crossings.dips)
    )
    opened = replace(crossings, dips=dips)
    burnt = burn(BurnInput(problem.frame, corridor, opened, problem.sampler, problem.ground, a))
    return build_problem(problem.frame, problem.ground, burnt, opened, problem.sampler, a, problem.land)


def _about_gap(problem: FrameProblem, stuck: Stuck) -> Any:
    """Return the frame's columns about the place where every option stops."""
    low, high = stuck.first_column - NEAR_COLUMNS, stuck.last_column + NEAR_COLUMNS + 1
    nodes = problem.frame.node_xy_m[max(0, low) : high]
    return shapely.convex_hull(shapely.multipoints(nodes.reshape(-1, 2)))


def too_warm_warnings(problem: FrameProblem) -> tuple[str, ...]:
    """Return a warning for each drive's floor that was lifted, and for each crossing that was opened."""
    return warm_warnings(problem) + _dip_warnings(problem)


def _dip_warnings(problem: FrameProblem) -> tuple[str, ...]:
    """Return a warning for each crossing that was opened."""
    current_A = asked_A(problem.assumptions)
    opened = [k for k, dip in enumerate(problem.crossings.dips) if dip is not None and dip.may_be_warm]
    return tuple(
        f"There is no plan without open cut at {crossing_title(problem, k)}, where no dip below it bears "
        f"{current_A:.0f} A or is shallow enough: it may be cut open as if one did; heed the checks "
        "cable_rating_dip and trench_service_clearance (search.dip_rating_steers)."
        for k in np.array(opened, np.int64).tolist()
    )
