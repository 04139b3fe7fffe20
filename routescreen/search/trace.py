"""From the values of a pass back to a plan: along the sources of its states and labels.

Room: ``search``. Works on finished passes; forward and backward ones are followed alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from routescreen.search.label_kernel import start_of
from routescreen.search.solve import (
    DriveStep,
    FramePlan,
    ShaftStep,
    TrenchStep,
    end_state,
    optimum_eur,
    settle_drive,
)

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.join_kernel import Join
    from routescreen.search.label_kernel import PassResult
    from routescreen.search.solve import Node

Step = TrenchStep | DriveStep


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a trail stands: a node with its open-cut state, or with a label where that is not -1.

    `beyond` is the role and level of the drive on the other side of the node, None where there is none;
    `has_shaft` says that the node's shaft is already noted.
    """

    node: Node
    state: int
    label: int
    beyond: tuple[int, int] | None = None
    has_shaft: bool = False


def trace_plan(arrays: SearchArrays, result: PassResult) -> FramePlan:
    """Follow the sources of a whole forward pass back from the end terminal.

    Raises
    ------
    ValueError
        When the end terminal was not reached.
    """
    objective = optimum_eur(arrays, result)
    if not math.isfinite(objective):
        raise ValueError("no plan reaches the end terminal")
    node = (arrays.ground.ground_m.shape[0] - 1, arrays.end_row)
    steps, shafts = _follow(arrays, result, _Place(node, end_state(arrays, result), -1), is_forward=True)
    return FramePlan(objective, _paying(steps[::-1]), tuple(shafts[::-1]))


def trace_join(arrays: SearchArrays, forward: PassResult, backward: PassResult, join: Join) -> FramePlan:
    """Follow both passes from the node at which they meet.

    Parameters
    ----------
    arrays : SearchArrays
    forward, backward : PassResult
    join : Join
        Of finite cost.

    Returns
    -------
    FramePlan
    """
    node = (int(join.column), int(join.row))
    before = _Place(node, int(join.before_state), int(join.before_label))
    after = _Place(node, int(join.after_state), int(join.after_label))
    if join.after_label >= 0:  # one shaft for the drives on both sides
        beyond = (int(backward.label_role[join.after_label]), int(backward.label_level[join.after_label]))
        before, after = replace(before, beyond=beyond), replace(after, has_shaft=True)
    steps_before, shafts_before = _follow(arrays, forward, before, is_forward=True)
    steps_after, shafts_after = _follow(arrays, backward, after, is_forward=False)
    return FramePlan(
        float(join.eur),
        _paying(steps_before[::-1] + steps_after),
        tuple(shafts_before[::-1] + shafts_after),
    )


def _paying(steps: list[Step]) -> tuple[Step, ...]:
    """Note which moves leave a shaft or the terminal: they pay for the crossings that these stand in."""
    return tuple(
        replace(step, pays_inside=index == 0 or isinstance(steps[index - 1], DriveStep))
        if isinstance(step, TrenchStep)
        else step
        for index, step in enumerate(steps)
    )


def _follow(
    arrays: SearchArrays, result: PassResult, place: _Place, *, is_forward: bool
) -> tuple[list[Step], list[ShaftStep]]:
    """Follow a pass from a place to the terminal that it came from; steps and shafts in that order."""
    steps: list[Step] = []
    shafts: list[ShaftStep] = []
    terminal = 0 if is_forward else arrays.ground.ground_m.shape[0] - 1
    while place.label >= 0 or place.node[0] != terminal:
        if place.label < 0 and result.trench_move[(place.state, *place.node)] >= 0:
            place = _trench_back(arrays, result, place, steps, is_forward=is_forward)
            continue
        label = place.label
        if label < 0:
            label = int(result.trench_from[(place.state, *place.node)])
        role, level = int(result.label_role[label]), int(result.label_level[label])
        if not place.has_shaft:
            shafts.append(_shaft(place.node, (role, level), place.beyond, is_forward=is_forward))
        drive = _drive_of(arrays, result, place.node, label, is_forward=is_forward)
        steps.append(drive)
        place = _beyond_drive(arrays, result, drive, shafts, is_forward=is_forward)
    return steps, shafts


def _trench_back(
    arrays: SearchArrays, result: PassResult, place: _Place, steps: list[Step], *, is_forward: bool
) -> _Place:
    """Step back along one move, and note it."""
    move = int(result.trench_move[(place.state, *place.node)])
    before = int(result.trench_from[(place.state, *place.node)])
    dc, dr = (int(value) for value in arrays.trench.moves[move])
    sign = -1 if is_forward else 1
    there = (place.node[0] + sign * dc, place.node[1] + sign * dr)
    steps.append(TrenchStep(there if is_forward else place.node, move, pays_inside=False))
    return _Place(there, before, -1)


def _beyond_drive(
    arrays: SearchArrays, result: PassResult, drive: DriveStep, shafts: list[ShaftStep], *, is_forward: bool
) -> _Place:
    """Return the place at a drive's far end; a shaft that serves it alone is noted."""
    if is_forward:
        node, level, is_launch = drive.lower, drive.line.lower_level, drive.is_launched_at_lower
    else:
        node, level, is_launch = drive.upper, drive.line.upper_level, not drive.is_launched_at_lower
    here = (1 + 2 * drive.method + int(not is_launch), level)
    _, label = start_of(arrays, result, node[0], node[1], *here)
    if label >= 0:
        return _Place(node, 0, int(label), beyond=here)
    shafts.append(_shaft(node, None, here, is_forward=is_forward))
    return _Place(node, arrays.trench.fresh_columns, -1)


def _shaft(
    node: Node, arrived: tuple[int, int] | None, beyond: tuple[int, int] | None, *, is_forward: bool
) -> ShaftStep:
    """Return the shaft of a node from the role and level of the drives on its two sides."""
    level = max(side[1] for side in (arrived, beyond) if side is not None)
    near, far = (0 if side is None else side[0] for side in (arrived, beyond))
    return ShaftStep(node, near, far, level) if is_forward else ShaftStep(node, far, near, level)


def _drive_of(
    arrays: SearchArrays, result: PassResult, node: Node, label: int, *, is_forward: bool
) -> DriveStep:
    """Return the drive that a label arrived by."""
    other = divmod(int(result.label_other[label]), arrays.ground.ground_m.shape[1])
    method, at_lower = divmod(int(result.label_drive[label]), 2)
    lower, upper = (other, node) if is_forward else (node, other)
    drive = settle_drive(arrays, lower, upper, method, bool(at_lower))
    if drive is None:
        raise AssertionError("a kept drive can't be built again")
    return drive
