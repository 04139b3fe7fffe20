"""What a drive of a plan would cost by another method on the same line, both its shafts included.

Room: ``search``. The drives beside it stay as they are, and so do the shafts' places.
"""

from __future__ import annotations

import math
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.depth_kernel import shaft_prices_eur
from routescreen.search.drive_kernel import drive_key, heading_bin
from routescreen.search.solve import DriveStep, settle_drive

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.solve import FramePlan

__all__ = ["Hindrance", "extra_on_this_line"]


class Hindrance(Enum):
    """What keeps a method off a line."""

    LINE = "can't be built on this line"
    PLACE = "has no place for its shafts at the ends of this line"
    SHARED = "can't share the shafts at the ends of this line"


def extra_on_this_line(
    arrays: SearchArrays, plan: FramePlan, step: DriveStep, method: int
) -> float | Hindrance:
    """Return what a drive with its shafts would cost more by another method, or what hinders it.

    Parameters
    ----------
    arrays : SearchArrays
    plan : FramePlan
        Of these arrays.
    step : DriveStep
        One of its drives.
    method : int

    Returns
    -------
    float or Hindrance
        The cheaper of both directions; negative where the plan's own method is dearer [EUR].
    """
    built = [settle_drive(arrays, step.lower, step.upper, method, at_lower) for at_lower in (True, False)]
    found = [drive for drive in built if drive is not None]
    if not found:
        return Hindrance.LINE
    placed = [drive for drive in found if _has_place(arrays, drive)]
    if not placed:
        return Hindrance.PLACE
    least_eur = min(_with_shafts_eur(arrays, plan, drive) for drive in placed)
    if not math.isfinite(least_eur):
        return Hindrance.SHARED
    return least_eur - _with_shafts_eur(arrays, plan, step)


def _has_place(arrays: SearchArrays, drive: DriveStep) -> bool:
    """Return whether both shafts may stand at this heading, the strings have land, and nothing bans it."""
    ends_m = arrays.frame.node_xy_m[drive.lower], arrays.frame.node_xy_m[drive.upper]
    ux, uy = (ends_m[1] - ends_m[0]) / drive.length_m
    for node, is_launch in (
        (drive.lower, drive.is_launched_at_lower),
        (drive.upper, not drive.is_launched_at_lower),
    ):
        at = heading_bin(arrays, node[0], float(ux), float(uy))
        role = int(not is_launch)
        if at < 0 or not arrays.shaft.is_allowed[(*node, drive.method, role, at)]:
            return False
    reception = drive.launch_and_reception[1]
    if arrays.layout.most_pieces[drive.method] > 0 and not arrays.layout.is_open[reception]:
        return False
    ny = arrays.ground.ground_m.shape[1]
    lower, upper = (column * ny + row for column, row in (drive.lower, drive.upper))
    n_methods = len(arrays.drive.bore_m)
    key = drive_key(
        arrays.ground.ground_m.size, n_methods, lower, upper, drive.method, drive.is_launched_at_lower
    )
    return not bool(np.isin(key, arrays.drive.banned).any())


def _with_shafts_eur(arrays: SearchArrays, plan: FramePlan, drive: DriveStep) -> float:
    """Return the price of a drive with both its shafts, shared with the plan's drives beside it [EUR]."""
    launch, reception = 1 + 2 * drive.method, 2 + 2 * drive.method
    roles = (launch, reception) if drive.is_launched_at_lower else (reception, launch)
    drives = [step for step in plan.steps if isinstance(step, DriveStep)]
    before = next((step for step in drives if step.upper == drive.lower), None)
    after = next((step for step in drives if step.lower == drive.upper), None)
    incoming = 0 if before is None else _role_at(before, is_upper=True)
    outgoing = 0 if after is None else _role_at(after, is_upper=False)
    lower_level = max(drive.line.lower_level, 0 if before is None else before.line.upper_level)
    upper_level = max(drive.line.upper_level, 0 if after is None else after.line.lower_level)
    lower_eur = shaft_prices_eur(arrays, *drive.lower, incoming, roles[0])[lower_level]
    upper_eur = shaft_prices_eur(arrays, *drive.upper, roles[1], outgoing)[upper_level]
    return float(drive.line.eur + lower_eur + upper_eur)


def _role_at(drive: DriveStep, *, is_upper: bool) -> int:
    """Return the role of the shaft at one end of a drive."""
    is_launch = drive.is_launched_at_lower != is_upper
    return 2 * drive.method + (1 if is_launch else 2)
