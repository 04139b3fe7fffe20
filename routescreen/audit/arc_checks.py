"""Checks that only a drive on one arc has: how sharply it bends, its slopes, what it presses on its wall.

Room: ``audit``. Everything is measured on three levels of the crown, at both ends and half-way: they fix the
parabola.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.report import Limit
from routescreen.engineering.thrust import bend_factor

if TYPE_CHECKING:
    from routescreen.audit.bores import DriveLine
    from routescreen.audit.report import Ledger, Place
    from routescreen.audit.scene import Scene

CATALOGUE = "assumptions, [methods]"
GRADE_TOLERANCE_PERCENT = 1e-6
RADIUS_TOLERANCE_M = 1e-6


def slopes_measured_frac(line: DriveLine) -> tuple[float, float]:
    """Return the slope of a crown at its lower and at its upper end, from lower to upper [-].

    Parameters
    ----------
    line : DriveLine
        On an arc or straight, longer than 0 m.
    """
    low, middle, high = line.crown_m(np.array([0.0, 0.5, 1.0]) * line.plan_length_m)
    return (
        float(-3.0 * low + 4.0 * middle - high) / line.plan_length_m,
        float(3.0 * high - 4.0 * middle + low) / line.plan_length_m,
    )


def check_arc(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    """Check the slopes and the bend of a drive on an arc."""
    _check_slopes(scene, ledger, index, place)
    _check_bend(scene, ledger, index, place)


def _check_slopes(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    """Compare the steepest rise and the steepest fall, as seen from the launch, with the limits of grade."""
    drive, geometry = scene.plan.drives[index], scene.geometry(scene.plan.drives[index])
    ends = slopes_measured_frac(scene.lines[index])
    seen = ends if drive.is_launched_at_lower else (-ends[0], -ends[1])
    limit = Limit("grade", "%", CATALOGUE, "surveyed", tolerance=GRADE_TOLERANCE_PERCENT)
    title, element = scene.method_title(drive), scene.drive_id(index)
    highest, lowest = 100.0 * geometry.grade_max_frac, 100.0 * geometry.grade_min_frac
    if max(seen) >= 0.0:
        reason = f"the arc at its steepest rise from the launch; {title} may rise {highest:g} % at most"
        ledger.at_most(element, limit, 100.0 * max(seen), highest, place, reason)
    if min(seen) < 0.0:
        reason = (
            f"the arc at its steepest fall from the launch; {title} may fall {max(-lowest, 0.0):g} % at most"
        )
        ledger.at_most(element, limit, -100.0 * min(seen), max(-lowest, 0.0), place, reason)


def _check_bend(scene: Scene, ledger: Ledger, index: int, place: Place) -> None:
    """Compare the sharpest bend, where the arc is level, with what string and pipe bear."""
    drive, line, a = scene.plan.drives[index], scene.lines[index], scene.assumptions
    way = a.methods[drive.method]
    if way.least_radius_m is None:
        return
    start, end = slopes_measured_frac(line)
    bend_per_m = abs(end - start) / line.plan_length_m
    radius_m = 1.0 / bend_per_m if bend_per_m > 0.0 else math.inf
    cold_m = a.pipe.cold_bend_diameters * way.pipe_outer_diameter_m
    limit = Limit("bore_bend", "m", f"{CATALOGUE}, [pipe]", "surveyed", tolerance=RADIUS_TOLERANCE_M)
    reason = (
        f"radius of the arc where it is level; {way.title} bends with {way.least_radius_m:g} m, "
        f"its pipe with {cold_m:g} m"
    )
    ledger.at_least(scene.drive_id(index), limit, max(way.least_radius_m, cold_m), radius_m, place, reason)


def bend_factors(scene: Scene, index: int) -> tuple[float, float]:
    """Return the factors on what is pushed and on what is pulled through a drive's arc, after a stop [-].

    Parameters
    ----------
    scene : Scene
    index : int
        Of the drive.

    Returns
    -------
    tuple of float
        On the string and on the pipe; 1 for a straight drive.
    """
    if scene.plan.drives[index].arc_radius_m is None:
        return 1.0, 1.0
    start, end = slopes_measured_frac(scene.lines[index])
    turned_rad, a = abs(math.atan(end) - math.atan(start)), scene.assumptions.checks
    restart = a.thrust.restart_friction_factor
    return (
        float(bend_factor(restart * a.thrust.bend_friction, turned_rad)),
        float(bend_factor(restart * a.pull_in.grout_friction, turned_rad)),
    )


def steepest_rise_frac(scene: Scene, index: int) -> float:
    """Return the steepest rise of a drive as seen from its launch, less than 0 where it only falls [-]."""
    ends = slopes_measured_frac(scene.lines[index])
    return max(ends) if scene.plan.drives[index].is_launched_at_lower else -min(ends)
