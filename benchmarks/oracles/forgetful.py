"""A search that forgets the shared depth: one label a node and role, the cheapest alone.

It is wrong on purpose. It shows what it costs not to keep the depth of a shaft in the state.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from benchmarks.oracles.pieces import NONE, Move, Pieces

if TYPE_CHECKING:
    from benchmarks.oracles.lines import Node, OracleDrive

Steps = tuple["Move | OracleDrive", ...]
Label = tuple[float, int, Steps]  # cost without the shaft, depth level, the way here


def forgetful_plan(pieces: Pieces) -> Steps:
    """Return the plan that a search with one label a role finds; without steps where it finds none.

    Shared shafts are priced at the deeper drive, as they should be; but of all drives that arrive in
    a role only the one is kept that is cheapest with its shaft standing alone. Takes no pins.
    """
    trench: dict[tuple[Node, int], tuple[float, Steps]] = {(pieces.start, pieces.fresh_columns): (0.0, ())}
    labels: dict[tuple[Node, int], Label] = {}
    nx, ny = pieces.arrays.ground.ground_m.shape
    for node in ((i, j) for i in range(nx) for j in range(ny)):
        _close_shafts(pieces, node, trench, labels)
        _dig_on(pieces, node, trench)
        _drive_on(pieces, node, trench, labels)
    ends = [trench[key] for key in trench if key[0] == pieces.end]
    return min(ends, key=lambda end: end[0])[1] if ends else ()


def _close_shafts(
    pieces: Pieces,
    node: Node,
    trench: dict[tuple[Node, int], tuple[float, Steps]],
    labels: dict[tuple[Node, int], Label],
) -> None:
    for (place, role), (eur, level, steps) in labels.items():
        if place == node:
            closed = eur + pieces.shaft_eur(node, role, NONE, level)
            if closed < trench.get((node, 0), (math.inf, ()))[0]:
                trench[node, 0] = (closed, steps)


def _dig_on(pieces: Pieces, node: Node, trench: dict[tuple[Node, int], tuple[float, Steps]]) -> None:
    for run in range(pieces.fresh_columns + 1):
        eur, steps = trench.get((node, run), (math.inf, ()))
        if not math.isfinite(eur):
            continue
        for move in pieces.moves.get(node, ()):
            first = move.first_eur if run == 0 or node == pieces.start else 0.0
            key = (move.end, min(run + move.end[0] - node[0], pieces.fresh_columns))
            if eur + move.eur + first < trench.get(key, (math.inf, ()))[0]:
                trench[key] = (eur + move.eur + first, (*steps, move))


def _drive_on(
    pieces: Pieces,
    node: Node,
    trench: dict[tuple[Node, int], tuple[float, Steps]],
    labels: dict[tuple[Node, int], Label],
) -> None:
    free_eur, free_steps = trench.get((node, pieces.fresh_columns), (math.inf, ()))
    arrived = [(role, *label) for (place, role), label in labels.items() if place == node]
    for drive in pieces.drives.get(node, ()):
        out, level = drive.lower_role, drive.lower_level
        starts = [(free_eur + pieces.shaft_eur(node, NONE, out, level), free_steps)]
        for role, eur, own, steps in arrived:
            starts.append((eur + pieces.shaft_eur(node, role, out, max(own, level)), steps))
        eur, steps = min(starts, key=lambda start: start[0])
        if math.isfinite(eur):
            _keep(pieces, labels, drive, (eur + drive.eur, drive.upper_level, (*steps, drive)))


def _keep(pieces: Pieces, labels: dict[tuple[Node, int], Label], drive: OracleDrive, label: Label) -> None:
    """Keep the label that is cheapest with its shaft alone."""
    node, role = drive.upper, drive.upper_role
    before = labels.get((node, role))
    alone = label[0] + pieces.shaft_eur(node, role, NONE, label[1])
    if before is None or alone < before[0] + pieces.shaft_eur(node, role, NONE, before[1]):
        labels[node, role] = label
