"""What the cheapest plan through a node costs, from the graph of states: distances from both ends.

Knows nothing of passes, labels and limits: a plan through an edge of the graph costs at least the distance
to its beginning, the edge and the distance from its end on.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import networkx as nx

from benchmarks.oracles.pieces import NONE, Pieces
from benchmarks.oracles.state_graph import State, end_states, source_state, state_graph

if TYPE_CHECKING:
    from benchmarks.oracles.lines import Node


@dataclass(frozen=True, slots=True)
class GraphValues:
    """Least cost of a plan with a node in open cut, and with a shaft of two roles at a node [EUR]."""

    trench_eur: dict[Node, float]
    shaft_eur: dict[tuple[Node, int, int], float]


def graph_values(pieces: Pieces) -> GraphValues:
    """Return the through-values of all nodes that a plan can have."""
    graph = state_graph(pieces)
    ends = end_states(pieces, graph)
    trench: dict[Node, float] = defaultdict(lambda: math.inf)
    shaft: dict[tuple[Node, int, int], float] = defaultdict(lambda: math.inf)
    if not ends:
        return GraphValues(trench, shaft)
    before = nx.single_source_dijkstra_path_length(graph, source_state(pieces), weight="eur")
    after = nx.multi_source_dijkstra_path_length(graph.reverse(), set(ends), weight="eur")
    for one, other, eur in graph.edges(data="eur"):
        if one not in before or other not in after:
            continue
        whole = before[one] + eur + after[other]
        roles = _shaft_roles(one, other)
        if roles is not None:
            shaft[one.node, *roles] = min(shaft[one.node, *roles], whole)
        elif _is_trench(pieces, one):
            trench[one.node] = min(trench[one.node], whole)
    for state in ends:
        if _is_trench(pieces, state):
            trench[state.node] = min(trench[state.node], before[state])
    return GraphValues(trench, shaft)


def _is_trench(pieces: Pieces, state: State) -> bool:
    """Return whether a state is open cut that a move has brought there, or the start terminal's."""
    return state.kind == "trench" and (state.role == 0 or state == source_state(pieces))


def _shaft_roles(one: State, other: State) -> tuple[int, int] | None:
    """Return the roles of the shaft that an edge stands for, None where it is a move or a drive."""
    if one.node != other.node:
        return None
    return (
        one.role if one.kind == "arrived" else NONE,
        other.role if other.kind == "leaving" else NONE,
    )
