"""Drives deeper than their cables bear the current, where without them there is no plan.

Room: ``search``. The rating of a drive is a limit that wider bores or less current can lift, so it stands
back behind having a plan at all: floors are lifted just where every option stops, and that is told.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.corridor.burn_floors import NO_FLOOR_M, NO_WET_CEILING_M
from routescreen.drives.cable_make import asked_A
from routescreen.search.arrays import GapArrays
from routescreen.search.gap_window import gap_window
from routescreen.search.relaxations import chainages, solve_freed
from routescreen.search.solve import DriveStep, settle_drive

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.problem import FrameProblem
    from routescreen.search.stuck import Stuck


def lift_floors(problem: FrameProblem, stuck: Stuck) -> FrameProblem | None:
    """Lift the floors of the drives that open the place where every option stops.

    Parameters
    ----------
    problem : FrameProblem
        One without a plan.
    stuck : Stuck
        How far the passes from both terminals come.

    Returns
    -------
    FrameProblem or None
        With fewer floors; None where floors are not what stops it there.
    """
    arrays = problem.arrays
    if not ((arrays.drive.floor_m > NO_FLOOR_M).any() or arrays.drive.gap.has_gap.any()):
        return None
    window = gap_window(arrays, stuck.forward, stuck.backward, stuck.first_column, stuck.last_column)
    plan = solve_freed(_without_floors(window.arrays))
    drives = [] if plan is None else [step for step in plan.steps if isinstance(step, DriveStep)]
    warm = [step for step in drives if _is_too_deep(window.arrays, step)]
    if not warm:
        return None
    low, high = min(step.lower[0] for step in warm), max(step.upper[0] for step in warm)
    columns = slice(window.first_column + low, window.first_column + high + 1)
    return replace(problem, arrays=_without_floors(arrays, columns))


def _without_floors(arrays: SearchArrays, columns: slice = slice(None)) -> SearchArrays:
    """Return the arrays with neither floors nor gaps in some columns."""
    gap = arrays.drive.gap
    floor_m, dry_m, wet_m = (
        levels.copy() for levels in (arrays.drive.floor_m, gap.dry_floor_m, gap.wet_ceiling_m)
    )
    floor_m[:, columns] = dry_m[:, columns] = NO_FLOOR_M
    wet_m[:, columns] = NO_WET_CEILING_M
    has_gap = np.any(dry_m > NO_FLOOR_M, axis=(1, 2))
    return arrays._replace(drive=arrays.drive._replace(floor_m=floor_m, gap=GapArrays(dry_m, wet_m, has_gap)))


def _is_too_deep(arrays: SearchArrays, step: DriveStep) -> bool:
    """Return whether a drive of a plan without floors is no drive with them."""
    return settle_drive(arrays, step.lower, step.upper, step.method, step.is_launched_at_lower) is None


def warm_warnings(problem: FrameProblem) -> tuple[str, ...]:
    """Return a warning for each stretch whose floors were lifted."""
    drive, burnt = problem.arrays.drive, problem.burnt
    is_lifted = (drive.floor_m < burnt.floor_m) | (drive.gap.dry_floor_m < burnt.dry_floor_m)
    lifted = is_lifted.any(axis=(0, 2))
    edges = np.flatnonzero(np.diff(np.concatenate([[0], lifted.astype(np.int8), [0]])))
    spacing_m, current_A = problem.frame.column_spacing_m, asked_A(problem.assumptions)
    return tuple(
        f"At {chainages(first * spacing_m, (last - 1) * spacing_m)} no plan keeps the cables cool enough for "
        f"{current_A:.0f} A with the bores at their distance; it is planned as if they were: put the bores "
        "further apart there (methods.NAME.thermal_spacing_m) or heed the check cable_rating."
        for first, last in edges.reshape(-1, 2)
    )
