"""The problem as a graph of states, solved by networkx.

States: open cut with the columns since the last shaft (all of them up to the least run), a shaft
whose drive has arrived (role and depth level), a shaft from which a drive will leave (role, level).
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, NamedTuple, cast

import networkx as nx

from benchmarks.oracles.pieces import NONE, Move, Pieces

if TYPE_CHECKING:
    from benchmarks.oracles.lines import Node, OracleDrive

# the runs of trench from a terminal are free of the least run; they are marked by this
FREE = -1


class State(NamedTuple):
    """A node in open cut (`extent` columns of run, `role` 1 where it begins here), or in a shaft.

    In a shaft `kind` is "arrived" or "leaving", `role` that of its drive and `extent` its depth level.
    """

    kind: str
    node: Node
    role: int
    extent: int


Edge = tuple[State, float, "Move | OracleDrive | None"]


def state_graph(pieces: Pieces) -> nx.DiGraph[State]:
    """Build the graph from the start terminal; edges carry `eur` and, where they move on, `step`."""
    graph: nx.DiGraph[State] = nx.DiGraph()
    source = source_state(pieces)
    graph.add_node(source)
    waiting, seen = [source], {source}
    while waiting:
        state = waiting.pop()
        for after, eur, step in _steps(pieces, state):
            if not math.isfinite(eur):
                continue
            if not graph.has_edge(state, after) or graph.edges[state, after]["eur"] > eur:
                graph.add_edge(state, after, eur=eur, step=step)
            if after not in seen:
                seen.add(after)
                waiting.append(after)
    return graph


def source_state(pieces: Pieces) -> State:
    """Return the state of the start terminal."""
    return State("trench", pieces.start, 1, FREE)


def _passes_pin(pieces: Pieces, start: Node, end: Node) -> bool:
    """Return whether a step jumps over a pinned column or ends beside the pinned node."""
    return any(start[0] < pin[0] <= end[0] and pin != end for pin in pieces.pinned)


def _steps(pieces: Pieces, state: State) -> list[Edge]:
    if state.kind == "trench":
        return _dig(pieces, state) + _open(pieces, state)
    if state.kind == "arrived":
        return _from_arrived(pieces, state)
    return [
        (State("arrived", drive.upper, drive.upper_role, drive.upper_level), drive.eur, drive)
        for drive in pieces.drives.get(state.node, ())
        if (drive.lower_role, drive.lower_level) == (state.role, state.extent)
        and not _passes_pin(pieces, drive.lower, drive.upper)
    ]


def _openings(pieces: Pieces, node: Node) -> set[tuple[int, int]]:
    """Return roles and levels of the drives that can leave a node."""
    return {(drive.lower_role, drive.lower_level) for drive in pieces.drives.get(node, ())}


def _dig(pieces: Pieces, state: State) -> list[Edge]:
    """Move on in open cut; at a pinned shaft only out of the shaft."""
    node, run, is_run_start = state.node, state.extent, state.role == 1
    if node in pieces.pinned_shafts and (not is_run_start or run == FREE):
        return []
    edges: list[Edge] = []
    for move in pieces.moves.get(node, ()):
        if _passes_pin(pieces, move.start, move.end):
            continue
        dc = move.end[0] - move.start[0]
        after = FREE if run == FREE or run + dc >= pieces.fresh_columns else run + dc
        price = move.eur + (move.first_eur if is_run_start else 0.0)
        edges.append((State("trench", move.end, 0, after), price, move))
    return edges


def _open(pieces: Pieces, state: State) -> list[Edge]:
    """Open a shaft at the end of a run that is long enough."""
    if state.extent != FREE:
        return []
    return [
        (State("leaving", state.node, role, level), pieces.shaft_eur(state.node, NONE, role, level), None)
        for role, level in _openings(pieces, state.node)
    ]


def _from_arrived(pieces: Pieces, state: State) -> list[Edge]:
    node, role, level = state.node, state.role, state.extent
    edges: list[Edge] = [(State("trench", node, 1, 0), pieces.shaft_eur(node, role, NONE, level), None)]
    for k, other in _openings(pieces, node):
        shared = pieces.shaft_eur(node, role, k, max(level, other))
        edges.append((State("leaving", node, k, other), shared, None))
    return edges


def end_states(pieces: Pieces, graph: nx.DiGraph[State]) -> list[State]:
    """Return the states in which a plan may end; at a pinned shaft only a closed one."""
    return [
        state
        for state in graph
        if (state.kind, state.node) == ("trench", pieces.end)
        and (state.extent == 0 or pieces.end not in pieces.pinned_shafts)
    ]


def shortest_plan(pieces: Pieces) -> tuple[float, list[Move | OracleDrive]]:
    """Return the least cost between the terminals and its plan; inf and none where there is none."""
    graph = state_graph(pieces)
    eur, paths = cast(
        "tuple[dict[State, float], dict[State, list[State]]]",
        nx.single_source_dijkstra(graph, source_state(pieces), weight="eur"),
    )
    ends = [state for state in end_states(pieces, graph) if state in eur]
    if not ends:
        return math.inf, []
    best = min(ends, key=lambda state: eur[state])
    steps = [graph.edges[a, b]["step"] for a, b in itertools.pairwise(paths[best])]
    return float(eur[best]), [step for step in steps if step is not None]
