"""Every plan of a small problem, one after the other."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchmarks.oracles.pieces import NONE, Move, Pieces

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchmarks.oracles.lines import Node, OracleDrive

Steps = tuple["Move | OracleDrive", ...]
MOST_PLANS = 3_000_000


class TooManyPlansError(RuntimeError):
    """The problem is too large to enumerate."""


@dataclass(slots=True)
class Enumeration:
    """The best plan found, and how many plans were looked at."""

    eur: float = math.inf
    steps: Steps = ()
    n_plans: int = 0


def enumerate_plans(pieces: Pieces) -> Enumeration:
    """Walk through all plans from terminal to terminal; nothing is left out or cut short.

    Raises
    ------
    TooManyPlansError
        Beyond ``MOST_PLANS`` plans.
    """
    found = Enumeration()
    _on_trench(pieces, found, (), pieces.start, 0.0, None, is_run_start=True)
    return found


def count_plans(pieces: Pieces) -> int:
    """Count the plans that ``enumerate_plans`` would walk through, without walking: by what can follow."""

    @functools.cache
    def on_trench(node: Node, run: int | None) -> int:
        n_plans = int(node == pieces.end)
        for move in pieces.moves.get(node, ()):
            length = None if run is None else min(run + move.end[0] - node[0], pieces.fresh_columns)
            n_plans += on_trench(move.end, length)
        if run is None or run >= pieces.fresh_columns:
            n_plans += sum(
                in_shaft(drive)
                for drive in pieces.drives.get(node, ())
                if math.isfinite(pieces.shaft_eur(node, NONE, drive.lower_role, drive.lower_level))
            )
        return n_plans

    @functools.cache
    def in_shaft(last: OracleDrive) -> int:
        node, role, level = last.upper, last.upper_role, last.upper_level
        n_plans = 0
        if math.isfinite(pieces.shaft_eur(node, role, NONE, level)):
            n_plans += on_trench(node, 0)
        for drive in pieces.drives.get(node, ()):
            deeper = max(level, drive.lower_level)
            if math.isfinite(pieces.shaft_eur(node, role, drive.lower_role, deeper)):
                n_plans += in_shaft(drive)
        return n_plans

    return on_trench(pieces.start, None)


def _finish(pieces: Pieces, found: Enumeration, steps: Steps, eur: float) -> None:
    found.n_plans += 1
    if found.n_plans > MOST_PLANS:
        raise TooManyPlansError(f"more than {MOST_PLANS} plans")
    if eur < found.eur and _keeps_pins(pieces, steps):
        found.eur, found.steps = eur, steps


def _keeps_pins(pieces: Pieces, steps: Sequence[Move | OracleDrive]) -> bool:
    nodes, shafts = {pieces.start}, set()
    for step in steps:
        if isinstance(step, Move):
            nodes.add(step.end)
        else:
            shafts |= {step.lower, step.upper}
    return pieces.pinned <= nodes | shafts and pieces.pinned_shafts <= shafts


def _on_trench(
    pieces: Pieces,
    found: Enumeration,
    steps: Steps,
    node: Node,
    eur: float,
    run: int | None,
    *,
    is_run_start: bool,
) -> None:
    """Go on from a node of open cut; `run` counts columns since the last shaft, None without one."""
    if node == pieces.end:
        _finish(pieces, found, steps, eur)
    for move in pieces.moves.get(node, ()):
        price = move.eur + (move.first_eur if is_run_start else 0.0)
        length = None if run is None else run + move.end[0] - node[0]
        _on_trench(pieces, found, (*steps, move), move.end, eur + price, length, is_run_start=False)
    if run is None or run >= pieces.fresh_columns:
        for drive in pieces.drives.get(node, ()):
            shaft = pieces.shaft_eur(node, NONE, drive.lower_role, drive.lower_level)
            if math.isfinite(shaft):
                _in_shaft(pieces, found, (*steps, drive), drive, eur + shaft + drive.eur)


def _in_shaft(pieces: Pieces, found: Enumeration, steps: Steps, last: OracleDrive, eur: float) -> None:
    """Go on from a shaft whose drive has arrived: close it, or drive on from it."""
    node, role, level = last.upper, last.upper_role, last.upper_level
    closed = pieces.shaft_eur(node, role, NONE, level)
    if math.isfinite(closed):
        _on_trench(pieces, found, steps, node, eur + closed, 0, is_run_start=True)
    for drive in pieces.drives.get(node, ()):
        shared = pieces.shaft_eur(node, role, drive.lower_role, max(level, drive.lower_level))
        if math.isfinite(shared):
            _in_shaft(pieces, found, (*steps, drive), drive, eur + shared + drive.eur)
