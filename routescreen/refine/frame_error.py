"""How far the frame's prices lie from those of the exact geometry.

Room: ``refine``. May import ``takeoff`` and ``search``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.money.measure import rates_eur
from routescreen.plan import section_runs
from routescreen.search.solve import DriveStep

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.assumptions import Assumptions
    from routescreen.plan import Plan
    from routescreen.search.frame_bill import FrameBill
    from routescreen.search.stretches import Stretch
    from routescreen.takeoff import TakeOff


def error_percent(exact_eur: float, frame_eur: float) -> float:
    """Return how far the bill of the exact geometry lies from that on the frame, signed [%]."""
    return 100.0 * (exact_eur - frame_eur) / frame_eur


def drive_errors_percent(
    stretches: Sequence[Stretch], plan: Plan, exact: TakeOff, on_frame: FrameBill, assumptions: Assumptions
) -> list[float]:
    """Return the frame error of each drive with its crossings, without its shafts [%].

    Parameters
    ----------
    stretches : sequence of Stretch
    plan : Plan
        The geometry of the stretches.
    exact : TakeOff
        Of that geometry.
    on_frame : FrameBill
        Of the stretches.
    assumptions : Assumptions
    """
    runs, rates = section_runs(plan), rates_eur(assumptions)
    steps = [step for stretch in stretches for step in stretch.plan.steps]
    frame_eur = [
        float(row @ rates)
        for row, step in zip(on_frame.steps, steps, strict=True)
        if isinstance(step, DriveStep)
    ]
    return [
        error_percent(exact.drive_eur(index, runs, assumptions), eur) for index, eur in enumerate(frame_eur)
    ]
