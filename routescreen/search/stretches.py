"""A plan in stretches: each planned on a frame of its own, one after the other from start to end.

Room: ``search``. Pure arithmetic on frame plans; the frame's own problem prices and lays out each stretch.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from typing import TYPE_CHECKING

import numpy as np

from routescreen.corridor.stencil import MOVES
from routescreen.plan import Plan, joined
from routescreen.search.frame_bill import FrameBill, measure_on_frame
from routescreen.search.geometry import plan_geometry
from routescreen.search.solve import DriveStep, FramePlan, Node, TrenchStep

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.search.problem import FrameProblem


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of a plan with the problem that its steps and shafts belong to.

    `plan.objective_eur` is that of a plan found as a whole; what is cut out of one is not priced.
    """

    problem: FrameProblem
    plan: FramePlan

    @property
    def n_drives(self) -> int:
        """Number of drives."""
        return sum(isinstance(step, DriveStep) for step in self.plan.steps)


def nodes_along(steps: Sequence[TrenchStep | DriveStep]) -> list[Node]:
    """Return the nodes of steps that follow one another, one more than there are steps."""
    return [*(_ends(step)[0] for step in steps), *(_ends(step)[1] for step in steps[-1:])]


def _ends(step: TrenchStep | DriveStep) -> tuple[Node, Node]:
    """Return the lower and the upper node of a step."""
    if isinstance(step, DriveStep):
        return step.lower, step.upper
    columns, rows = (int(value) for value in MOVES[step.move])
    return step.start, (step.start[0] + columns, step.start[1] + rows)


def part_of(stretch: Stretch, first: int, last: int) -> Stretch:
    """Return the steps from `first` up to, not including, `last` with their shafts."""
    steps = stretch.plan.steps[first:last]
    ends = {node for step in steps if isinstance(step, DriveStep) for node in (step.lower, step.upper)}
    shafts = tuple(shaft for shaft in stretch.plan.shafts if shaft.node in ends)
    return Stretch(stretch.problem, FramePlan(0.0, steps, shafts))


def stretches_geometry(stretches: Sequence[Stretch]) -> Plan:
    """Lay out stretches that follow one another as one plan."""
    return reduce(joined, (plan_geometry(stretch.problem, stretch.plan) for stretch in stretches))


def measure_stretches(stretches: Sequence[Stretch]) -> FrameBill:
    """Measure a plan in stretches, each on its own frame; steps and shafts in order."""
    bills = [measure_on_frame(stretch.problem, stretch.plan) for stretch in stretches]
    return FrameBill(
        np.concatenate([bill.steps for bill in bills]),
        np.concatenate([bill.shafts for bill in bills]),
        sum(bill.total_eur for bill in bills),
    )


def drives_of(stretches: Sequence[Stretch]) -> list[tuple[FrameProblem, DriveStep]]:
    """Return the drives in order, each with its problem."""
    return [(s.problem, step) for s in stretches for step in s.plan.steps if isinstance(step, DriveStep)]
