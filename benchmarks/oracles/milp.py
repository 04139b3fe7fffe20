"""The problem as an integer programme: binary moves, drives and shafts, a continuous depth a shaft.

Flow runs through open cut by columns since the last shaft, and through shafts by their pair of
roles. A shaft's depth D is continuous and at least that of each drive at it; the levels of its price
are binaries with one chosen, at least D deep. The rounded solution is re-priced piece by piece.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from benchmarks.oracles.lines import Node, OracleDrive
from benchmarks.oracles.pieces import NONE, Move, Pieces, plan_eur

if TYPE_CHECKING:
    from collections.abc import Hashable

TIME_LIMIT_S = 120.0


class NotSolvedError(RuntimeError):
    """The solver stopped before it proved its optimum."""


@dataclass(slots=True)
class _Model:
    """Variables, and rows as sparse sums with a lower and an upper bound."""

    cost: list[float] = field(default_factory=list)
    is_whole: list[int] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    rows: list[dict[int, float]] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)

    def binary(self, cost: float) -> int:
        """Add a binary variable; return its index."""
        self.cost.append(cost)
        self.is_whole.append(1)
        self.upper.append(1.0)
        return len(self.cost) - 1

    def continuous(self, upper: float) -> int:
        """Add a continuous variable from 0 to a bound; return its index."""
        self.cost.append(0.0)
        self.is_whole.append(0)
        self.upper.append(upper)
        return len(self.cost) - 1

    def row(self, terms: dict[int, float], low: float, high: float) -> None:
        """Add a row low <= sum <= high."""
        self.rows.append(terms)
        self.low.append(low)
        self.high.append(high)


@dataclass(slots=True)
class _Flow:
    """The programme under construction: what flows into and out of each state."""

    pieces: Pieces
    model: _Model = field(default_factory=_Model)
    balance: dict[Hashable, dict[int, float]] = field(default_factory=lambda: defaultdict(dict))
    chosen: dict[int, Move | OracleDrive] = field(default_factory=dict)
    through: dict[Node, list[int]] = field(default_factory=lambda: defaultdict(list))
    shafts: dict[Node, list[int]] = field(default_factory=lambda: defaultdict(list))

    def arc(self, start: Hashable, end: Hashable, eur: float) -> int:
        """Add a binary arc between two states."""
        index = self.model.binary(eur)
        self.balance[start][index] = -1.0
        self.balance[end][index] = 1.0
        return index


def solve_milp(pieces: Pieces) -> tuple[float, list[Move | OracleDrive]]:
    """Return the least cost, re-priced from the rounded solution, and its plan.

    Raises
    ------
    NotSolvedError
        When HiGHS does not prove optimality with zero gap in ``TIME_LIMIT_S``.
    """
    flow = _Flow(pieces)
    _add_trench(flow)
    _add_drives(flow)
    _add_shafts(flow)
    _add_balance(flow)
    for node in pieces.pinned - {pieces.start, pieces.end} - pieces.pinned_shafts:
        flow.model.row(dict.fromkeys(flow.through[node], 1.0), 1.0, math.inf)
    for node in pieces.pinned_shafts:
        flow.model.row(dict.fromkeys(flow.shafts[node], 1.0), 1.0, math.inf)
    values = _run(flow.model)
    if values is None:
        return math.inf, []
    steps = [step for index, step in flow.chosen.items() if values[index] > 0.5]
    steps.sort(key=lambda step: step.start if isinstance(step, Move) else step.lower)
    return plan_eur(pieces, steps), steps


def _runs(flow: _Flow) -> list[int]:
    return list(range(flow.pieces.fresh_columns + 1))


def _add_trench(flow: _Flow) -> None:
    """Open cut: state (node, run, whether the run begins here); run K counts as free."""
    pieces, k = flow.pieces, flow.pieces.fresh_columns
    for node, moves in pieces.moves.items():
        states = [(run, False) for run in _runs(flow) if run > 0] + [(0, True)]
        if node == pieces.start:
            states = [(k, True)]
        for move in moves:
            for run, is_first in states:
                after = min(run + move.end[0] - node[0], k)
                eur = move.eur + (move.first_eur if is_first else 0.0)
                index = flow.arc((node, run, is_first), (move.end, after, False), eur)
                flow.chosen[index] = move
                flow.through[move.end].append(index)


def _add_drives(flow: _Flow) -> None:
    for drive in flow.pieces.all_drives():
        start, end = ("out", drive.lower, drive.lower_role), ("in", drive.upper, drive.upper_role)
        index = flow.arc(start, end, drive.eur)
        flow.chosen[index] = drive
        flow.through[drive.upper].append(index)


def _add_shafts(flow: _Flow) -> None:
    """Shafts by pair of roles and level, with the depth that their drives ask for."""
    pieces, k = flow.pieces, flow.pieces.fresh_columns
    sides: dict[Node, dict[tuple[bool, int], dict[int, int]]] = defaultdict(lambda: defaultdict(dict))
    for index, step in flow.chosen.items():
        if isinstance(step, OracleDrive):
            sides[step.lower][False, step.lower_role][index] = step.lower_level
            sides[step.upper][True, step.upper_role][index] = step.upper_level
    for node, by_role in sides.items():
        levels = sorted({level for drives in by_role.values() for level in drives.values()})
        incoming = [role for is_in, role in by_role if is_in] + [NONE]
        outgoing = [role for is_in, role in by_role if not is_in] + [NONE]
        deep: dict[int, int] = {}
        for r in incoming:
            for out in outgoing:
                if r == NONE and out == NONE:
                    continue
                free = (node, k, node == pieces.start)
                start = ("in", node, r) if r != NONE else free
                end = ("out", node, out) if out != NONE else (node, 0, True)
                for level in levels:
                    eur = pieces.shaft_eur(node, r, out, level)
                    if math.isfinite(eur):
                        index = flow.arc(start, end, eur)
                        deep[index] = level
                        flow.shafts[node].append(index)
        _tie_depth(flow.model, by_role, deep, levels)


def _tie_depth(
    model: _Model,
    by_role: dict[tuple[bool, int], dict[int, int]],
    deep: dict[int, int],
    levels: list[int],
) -> None:
    """Tie the chosen level to the depth, and the depth to the drives at both sides."""
    depth = model.continuous(float(levels[-1]))
    model.row({**{index: float(level) for index, level in deep.items()}, depth: -1.0}, 0.0, math.inf)
    for is_in in (False, True):
        drives = {i: d for (side, _), found in by_role.items() if side == is_in for i, d in found.items()}
        if not drives:
            continue
        model.row({**{index: -float(level) for index, level in drives.items()}, depth: 1.0}, 0.0, math.inf)
        for level in levels[1:]:  # the same once more level by level: implied, but a tighter relaxation
            needs = {index: -1.0 for index, own in drives.items() if own >= level}
            gives = {index: 1.0 for index, own in deep.items() if own >= level}
            model.row({**gives, **needs}, 0.0, math.inf)


def _add_balance(flow: _Flow) -> None:
    """Let what flows into a state flow out of it, one unit between the terminals."""
    pieces, k = flow.pieces, flow.pieces.fresh_columns
    last = {(pieces.end, run, is_first) for run in _runs(flow) for is_first in (False, True)}
    source = (pieces.start, k, True)
    for state, terms in flow.balance.items():
        if state == source:
            flow.model.row(terms, -1.0, -1.0)
        elif state not in last:
            flow.model.row(terms, 0.0, 0.0)
    arriving: dict[int, float] = {}
    for state in last:
        for index, sign in flow.balance.get(state, {}).items():
            arriving[index] = arriving.get(index, 0.0) + sign
    flow.model.row(arriving or {flow.model.continuous(0.0): 1.0}, 1.0, 1.0)
    if source not in flow.balance:
        flow.model.row({flow.model.continuous(0.0): 1.0}, 1.0, 1.0)


def _run(model: _Model) -> list[float] | None:
    """Solve; None where there is no plan."""
    filled = [(row, index, value) for row, terms in enumerate(model.rows) for index, value in terms.items()]
    rows, columns, values = (np.array(part) for part in zip(*filled, strict=True))
    matrix = coo_array((values, (rows, columns)), shape=(len(model.rows), len(model.cost))).tocsr()
    cost = np.array(model.cost)
    result = milp(
        cost / 1000.0,
        integrality=np.array(model.is_whole),
        bounds=Bounds(0.0, np.array(model.upper)),
        constraints=LinearConstraint(matrix, np.array(model.low), np.array(model.high)),
        options={"mip_rel_gap": 0.0, "time_limit": TIME_LIMIT_S},
    )
    if result.status == 2:
        return None
    if result.status != 0:
        raise NotSolvedError(result.message)
    return [float(value) for value in result.x]
