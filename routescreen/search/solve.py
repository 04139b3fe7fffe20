"""The optimum and its plan on the frame: one forward pass, then back along its sources.

Room: ``search``. Runs the compiled pass; knows nothing of files.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.drive_kernel import scan_and_settle
from routescreen.search.drive_price_kernel import Settled, new_work
from routescreen.search.label_kernel import PassResult, start_of
from routescreen.search.pass_kernel import run_pass

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from routescreen.search.arrays import SearchArrays

Node = tuple[int, int]


@dataclass(frozen=True, slots=True)
class TrenchStep:
    """One move of open cut from a node; `pays_inside` where it leaves a shaft or the terminal."""

    start: Node
    move: int
    pays_inside: bool


@dataclass(frozen=True, slots=True)
class DriveStep:
    """One drive on the frame, from its lower to its upper node, with its line and what it meets.

    `cells` (n, 2) column and row of the touched cells; `crossings` indices of the crossings met.
    """

    lower: Node
    upper: Node
    method: int
    is_launched_at_lower: bool
    line: Settled
    length_m: float
    cells: NDArray[np.int64]
    crossings: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class ShaftStep:
    """A shaft on the frame: its node, roles (0 none) and depth level."""

    node: Node
    incoming_role: int
    outgoing_role: int
    level: int


@dataclass(frozen=True, slots=True)
class FramePlan:
    """The optimum on the frame: steps from the start to the end terminal and the shafts between."""

    objective_eur: float
    steps: tuple[TrenchStep | DriveStep, ...]
    shafts: tuple[ShaftStep, ...]


def run_with_progress(
    arrays: SearchArrays,
    *,
    is_forward: bool = True,
    is_pruned: bool = True,
    progress: Callable[[float], None] | None = None,
) -> PassResult:
    """Run a whole pass in a thread of its own, reporting the share done, open to interruption.

    Parameters
    ----------
    arrays : SearchArrays
    is_forward, is_pruned : bool
        See ``run_pass``.
    progress : callable or None
        Called about four times a second with the share of the columns done [-].

    Returns
    -------
    PassResult
    """
    n_columns = arrays.ground.ground_m.shape[0]
    reached = np.zeros(1, np.int64)
    done: list[PassResult] = []
    failed: list[BaseException] = []

    def work() -> None:
        try:
            done.append(run_pass(arrays, is_forward, n_columns, is_pruned, reached))
        except BaseException as error:  # noqa: BLE001 - handed on to the caller's thread
            failed.append(error)

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(0.25)
        if progress is not None:
            progress(float(reached[0]) / n_columns)
    if failed:
        raise failed[0]
    return done[0]


def end_state(arrays: SearchArrays, result: PassResult) -> int:
    """Return the cheapest open-cut state at the end terminal; the last piece may be of any length."""
    last = arrays.ground.ground_m.shape[0] - 1
    n_states = 1 if arrays.pin_shaft[last] >= 0 else result.trench_eur.shape[0]  # pinned: a closed shaft
    return int(np.argmin(result.trench_eur[:n_states, last, arrays.end_row]))


def optimum_eur(arrays: SearchArrays, result: PassResult) -> float:
    """Return the least cost of a plan, inf where there is none [EUR]."""
    last = arrays.ground.ground_m.shape[0] - 1
    return float(result.trench_eur[end_state(arrays, result), last, arrays.end_row])


def settle_drive(
    arrays: SearchArrays, lower: Node, upper: Node, method: int, is_launched_at_lower: bool
) -> DriveStep | None:
    """Scan and settle one drive by itself; None where it can't be built."""
    work = new_work(upper[0] - lower[0], arrays.drive.drive_fee_eur.shape[0], arrays.drive.longest_m.shape[1])
    line = Settled(*scan_and_settle(arrays, work, method, *lower, *upper, is_launched_at_lower))
    if not line.is_feasible:
        return None
    n_cells, n_met = int(work.tally[1]), int(work.tally[2])
    ny = arrays.ground.ground_m.shape[1]
    cells = np.stack(np.divmod(work.entry_node[:n_cells], ny), axis=1)
    return DriveStep(
        lower=lower,
        upper=upper,
        method=method,
        is_launched_at_lower=is_launched_at_lower,
        line=line,
        length_m=float(work.value[0]),
        cells=cells,
        crossings=work.met[:n_met].copy(),
    )


def trace_plan(arrays: SearchArrays, result: PassResult) -> FramePlan:
    """Follow the sources of a forward pass back from the end terminal.

    Raises
    ------
    ValueError
        When the end terminal was not reached.
    """
    objective = optimum_eur(arrays, result)
    if not math.isfinite(objective):
        raise ValueError("no plan reaches the end terminal")
    steps: list[TrenchStep | DriveStep] = []
    shafts: list[ShaftStep] = []
    node: Node = (arrays.ground.ground_m.shape[0] - 1, arrays.end_row)
    state = end_state(arrays, result)
    label = -1
    outgoing: tuple[int, int] | None = None  # role and level of the drive that leaves the node
    while label >= 0 or node[0] > 0:
        if label < 0 and result.trench_move[(state, *node)] >= 0:
            node, state = _trench_back(arrays, result, node, state, steps)
            continue
        if label < 0:
            label = int(result.trench_from[(state, *node)])
        role, level = int(result.label_role[label]), int(result.label_level[label])
        deepest = level if outgoing is None else max(level, outgoing[1])
        shafts.append(ShaftStep(node, role, 0 if outgoing is None else outgoing[0], deepest))
        drive = _drive_back(arrays, result, node, label)
        steps.append(drive)
        there = 1 + 2 * drive.method + int(not drive.is_launched_at_lower)
        node, outgoing = drive.lower, (there, drive.line.lower_level)
        _, label = start_of(arrays, result, node[0], node[1], there, drive.line.lower_level)
        if label < 0:
            shafts.append(ShaftStep(node, 0, *outgoing))
            outgoing, state = None, arrays.trench.fresh_columns
    return FramePlan(objective, tuple(reversed(steps)), tuple(reversed(shafts)))


def _trench_back(
    arrays: SearchArrays,
    result: PassResult,
    node: Node,
    state: int,
    steps: list[TrenchStep | DriveStep],
) -> tuple[Node, int]:
    """Step back along one move; note it; return the node and state it came from."""
    move = int(result.trench_move[(state, *node)])
    before = int(result.trench_from[(state, *node)])
    dc, dr = (int(value) for value in arrays.trench.moves[move])
    start = (node[0] - dc, node[1] - dr)
    steps.append(TrenchStep(start, move, before == 0 or start[0] == 0))
    return start, before


def _drive_back(arrays: SearchArrays, result: PassResult, node: Node, label: int) -> DriveStep:
    """Return the drive that a label of a forward pass arrived by."""
    ny = arrays.ground.ground_m.shape[1]
    column, row = divmod(int(result.label_other[label]), ny)
    method, at_lower = divmod(int(result.label_drive[label]), 2)
    drive = settle_drive(arrays, (column, row), node, method, bool(at_lower))
    if drive is None:
        raise AssertionError("a kept drive can't be built again")
    return drive
