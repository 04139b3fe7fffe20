"""The optimum and its plan on the frame: one forward pass, then back along its sources.

Room: ``search``. Runs the compiled pass; knows nothing of files.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.arc import arc_true_m, lowest_at_m
from routescreen.drives.drilled import Half, crowns_m, drilled_true_m
from routescreen.search.drive_kernel import scan_and_settle
from routescreen.search.drive_price_kernel import Settled, new_work
from routescreen.search.layout_kernel import Layout, layout_of
from routescreen.search.pass_kernel import run_pass

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from routescreen.search.arrays import Floats, SearchArrays
    from routescreen.search.label_kernel import PassResult

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

    `cells` (n, 2) column and row of the touched cells; `crossings` indices of the crossings met; `halves`
    of a drilled bore, the lower one first, None of a straight drive; `arc_per_m` 1/(2 R) of an arc, else 0
    [1/m].
    """

    lower: Node
    upper: Node
    method: int
    is_launched_at_lower: bool
    line: Settled
    length_m: float
    cells: NDArray[np.int64]
    crossings: NDArray[np.int64]
    halves: tuple[Half, Half] | None = None
    arc_per_m: float = 0.0

    @property
    def true_length_m(self) -> float:
        """Length of the bore [m]."""
        if self.halves is not None:
            return float(drilled_true_m(*self.halves, self.line.crown_m, self.length_m))
        if self.arc_per_m > 0.0:
            return float(arc_true_m(self.arc_per_m, self.line.slope_frac, self.length_m))
        return self.length_m * math.sqrt(1.0 + self.line.slope_frac * self.line.slope_frac)

    def crowns_m(self, along_m: Floats) -> Floats:
        """Return the level of the crown at distances from the lower end, shape (n,) [m]."""
        if self.halves is not None:
            return crowns_m(*self.halves, self.line.crown_m, self.length_m, along_m)
        chord_m = self.line.crown_m + self.line.slope_frac * along_m
        return np.asarray(chord_m - self.arc_per_m * along_m * (self.length_m - along_m))

    @property
    def lowest_crown_m(self) -> float:
        """Lowest level of the crown [m]."""
        if self.halves is not None:
            return self.line.crown_m
        at_m = [0.0, self.length_m]
        if self.arc_per_m > 0.0:
            level_m = lowest_at_m(self.arc_per_m, self.line.slope_frac, self.length_m)
            at_m.append(min(max(level_m, 0.0), self.length_m))
        return float(self.crowns_m(np.array(at_m)).min())

    @property
    def launch_and_reception(self) -> tuple[Node, Node]:
        """Nodes of the launch and of the reception."""
        return (self.lower, self.upper) if self.is_launched_at_lower else (self.upper, self.lower)


@dataclass(frozen=True, slots=True)
class ShaftStep:
    """A shaft on the frame: its node, roles (0 none) and depth level."""

    node: Node
    incoming_role: int
    outgoing_role: int
    level: int


@dataclass(frozen=True, slots=True)
class FramePlan:
    """The optimum on the frame: steps from the start to the end terminal and the shafts between.

    `depth_gain_eur` is what choosing the depths of each chain of drives together has taken off the
    search's optimum [EUR].
    """

    objective_eur: float
    steps: tuple[TrenchStep | DriveStep, ...]
    shafts: tuple[ShaftStep, ...]
    depth_gain_eur: float = 0.0


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
    is_drilled, (lower_half, upper_half) = bool(arrays.drilled.is_drilled[method]), work.halves.tolist()
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
        halves=(Half(*lower_half), Half(*upper_half)) if is_drilled else None,
        arc_per_m=float(arrays.drive.arc_per_m[method]),
    )


def layout_of_step(arrays: SearchArrays, step: DriveStep) -> Layout:
    """Return how the strings of a drive lie behind its reception."""
    launch, reception = step.launch_and_reception
    x, z = (float(value) for value in arrays.frame.node_xy_m[reception])
    ux, uy = (
        float(value)
        for value in (arrays.frame.node_xy_m[reception] - arrays.frame.node_xy_m[launch]) / step.length_m
    )
    true_m = step.true_length_m
    return Layout(*layout_of(arrays.layout, step.method, *reception, x, z, ux, uy, true_m))
