"""What a plan is made of, with prices: trench moves, drives and shafts; and the price of a plan."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from benchmarks.oracles.chooser import shaft_without_site_eur
from benchmarks.oracles.lines import DriveOracle, Node, OracleDrive

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.search.arrays import SearchArrays

NONE = 0  # the role of a shaft's side without a drive


@dataclass(frozen=True, slots=True)
class Move:
    """A move of open cut: its price, and what it costs more where a run of trench begins with it."""

    start: Node
    end: Node
    eur: float
    first_eur: float


@dataclass(frozen=True, slots=True)
class Pieces:
    """All moves and drives of a problem by the node that they leave, low chainage first."""

    arrays: SearchArrays
    moves: dict[Node, list[Move]]
    drives: dict[Node, list[OracleDrive]]
    start: Node
    end: Node
    fresh_columns: int
    pinned: frozenset[Node] = field(default_factory=frozenset)
    pinned_shafts: frozenset[Node] = field(default_factory=frozenset)

    def shaft_eur(self, node: Node, r: int, k: int, level: int) -> float:
        """Return the price of a shaft with its site [EUR]."""
        whole = shaft_without_site_eur(self.arrays, node, r, k, level)
        site = self.arrays.shaft.site
        kind, road = int(site.kind[node]), float(site.road_frac[node])
        return (
            whole + (1.0 - road) * float(site.near_eur[kind, r, k]) + road * float(site.far_eur[kind, r, k])
        )

    def all_drives(self) -> list[OracleDrive]:
        """Return all drives."""
        return [drive for drives in self.drives.values() for drive in drives]


def pieces_of(arrays: SearchArrays) -> Pieces:
    """Price every move and settle every drive of a problem."""
    moves: dict[Node, list[Move]] = defaultdict(list)
    trench = arrays.trench
    nx, ny, _ = trench.move_eur.shape
    for i in range(nx):
        for j in range(ny):
            for v, (dc, dr) in enumerate(trench.moves.tolist()):
                eur = float(trench.move_eur[i, j, v])
                if math.isfinite(eur):
                    eur += float(trench.entry.price_eur[trench.entry.ahead[i, j, v]])
                    moves[i, j].append(Move((i, j), (i + dc, j + dr), eur, float(trench.inside_eur[i, j])))
    drives: dict[Node, list[OracleDrive]] = defaultdict(list)
    for drive in DriveOracle(arrays).all_drives():
        drives[drive.lower].append(drive)
    pins = [
        {(i, int(row)) for i, row in enumerate(values) if row >= 0}
        for values in (arrays.pin_shaft, arrays.pin_via)
    ]
    return Pieces(
        arrays,
        dict(moves),
        dict(drives),
        (0, arrays.start_row),
        (nx - 1, arrays.end_row),
        arrays.trench.fresh_columns,
        frozenset(pins[0] | pins[1]),
        frozenset(pins[0]),
    )


class RuleBreach(AssertionError):
    """A plan breaks a rule of the problem."""


@dataclass(frozen=True, slots=True)
class PlanShaft:
    """A shaft of a plan, as the rules give it from the plan's pieces."""

    node: Node
    incoming_role: int
    outgoing_role: int
    level: int


def shafts_of(steps: Sequence[Move | OracleDrive]) -> list[PlanShaft]:
    """Return the shafts that a plan's drives need, in order; a shared shaft has the deeper depth."""
    ends: dict[Node, list[tuple[bool, int, int]]] = {}
    for step in steps:
        if isinstance(step, OracleDrive):
            ends.setdefault(step.lower, []).append((False, step.lower_role, step.lower_level))
            ends.setdefault(step.upper, []).append((True, step.upper_role, step.upper_level))
    shafts = []
    for node, sides in ends.items():
        incoming = [role for is_in, role, _ in sides if is_in] or [NONE]
        outgoing = [role for is_in, role, _ in sides if not is_in] or [NONE]
        shafts.append(PlanShaft(node, incoming[0], outgoing[0], max(level for _, _, level in sides)))
    return sorted(shafts, key=lambda shaft: shaft.node)


def plan_eur(pieces: Pieces, steps: Sequence[Move | OracleDrive]) -> float:
    """Price a whole plan by its pieces and hold it to every rule.

    Raises
    ------
    RuleBreach
        When the plan is not one chain between the terminals, leaves out a pin or has too short a
        trench between two shafts.
    """
    at, eur = pieces.start, 0.0
    nodes = [at]
    run: list[Move] = []
    since_shaft = False  # whether the running trench began at a shaft
    for step in steps:
        start, end = (step.start, step.end) if isinstance(step, Move) else (step.lower, step.upper)
        if start != at:
            raise RuleBreach(f"the plan jumps from {at} to {start}")
        if isinstance(step, Move):
            eur += step.eur + (0.0 if run else step.first_eur)
            run.append(step)
        else:
            if run and since_shaft and run[-1].end[0] - run[0].start[0] < pieces.fresh_columns:
                raise RuleBreach(f"a trench of less than {pieces.fresh_columns} columns before {start}")
            eur += step.eur
            run, since_shaft = [], True
        at = end
        nodes.append(at)
    if at != pieces.end:
        raise RuleBreach(f"the plan ends at {at}")
    shafts = shafts_of(steps)
    if not pieces.pinned <= set(nodes) or not pieces.pinned_shafts <= {shaft.node for shaft in shafts}:
        raise RuleBreach("a pin is left out")
    return eur + sum(pieces.shaft_eur(s.node, s.incoming_role, s.outgoing_role, s.level) for s in shafts)
