"""The search's problem as a graph with priced edges, and general libraries that solve it.

The edges are listed and priced beforehand and are no part of any peer's time. The states of a node: open cut
by columns since the last shaft; a shaft whose drive has arrived, by role and depth level; a shaft from which
a drive leaves, by role and level. A shaft may be dug deeper than the drive that arrived needs, and a drive
may leave above its bottom: edges that cost nothing. So a shared shaft costs what the deeper drive asks for,
with a few edges a level instead of one for each pair of levels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import networkx as nx
import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from routescreen.compiled import by_reference, compiled
from routescreen.search.drive_kernel import drive_key, heading_bin, is_banned, scan, settle
from routescreen.search.drive_price_kernel import new_work
from routescreen.search.shaft_kernel import shaft_eur

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.search.arrays import SearchArrays
    from routescreen.search.drive_price_kernel import Work

    Integers = NDArray[np.int64]
    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PricedGraph:
    """Edges `start`, `end`, `eur` (n,) between numbered states; the source and the states that may end."""

    n_states: int
    start: Integers
    end: Integers
    eur: Floats
    source: int
    targets: tuple[int, ...]


def priced_graph(s: SearchArrays) -> PricedGraph:
    """List and price all moves, drives and shafts of a problem without pins and without nodes in crossings.

    Raises
    ------
    ValueError
        Where the problem has what the graph leaves out.
    """
    if s.trench.inside_eur.any() or (s.pin_shaft >= 0).any() or (s.pin_via >= 0).any():
        raise ValueError("the graph knows no pins and no nodes inside crossings")
    parts = [_moves(s), _drives(s), _shafts(s)]
    start, end, eur = (np.concatenate([part[k] for part in parts]) for k in range(3))
    n_columns, n_rows = s.ground.ground_m.shape
    k = s.trench.fresh_columns
    last = ((n_columns - 1) * n_rows + s.end_row) * _n_states(s)
    return PricedGraph(
        n_states=n_columns * n_rows * _n_states(s),
        start=start.astype(np.int64),
        end=end.astype(np.int64),
        eur=eur,
        source=s.start_row * _n_states(s) + k,
        targets=tuple(range(last, last + k + 1)),
    )


def _n_states(s: SearchArrays) -> int:
    """Return the states of a node: trench 0 .. K, then arrived and leaving by role and level."""
    return s.trench.fresh_columns + 1 + 2 * (s.shaft.table_eur.shape[2] - 1) * s.shaft.table_eur.shape[4]


def _moves(s: SearchArrays) -> tuple[Integers, Integers, Floats]:
    """Return the moves of open cut from each of its states."""
    ny, k, states = s.ground.ground_m.shape[1], s.trench.fresh_columns, _n_states(s)
    starts, ends, prices = [], [], []
    for v, (dc, dr) in enumerate(s.trench.moves.tolist()):
        column, row = np.nonzero(np.isfinite(s.trench.move_eur[:, :, v]))
        eur = (
            s.trench.move_eur[column, row, v] + s.trench.entry.price_eur[s.trench.entry.ahead[column, row, v]]
        )
        for state in range(k + 1):
            starts.append((column * ny + row) * states + state)
            ends.append(((column + dc) * ny + row + dr) * states + min(state + dc, k))
            prices.append(eur)
    return np.concatenate(starts), np.concatenate(ends), np.concatenate(prices)


def _drives(s: SearchArrays) -> tuple[Integers, Integers, Floats]:
    """Return the drives from the state that leaves their lower end to that which arrives at the upper."""
    work = new_work(s.longest_columns, len(s.drive.drive_fee_eur), s.drive.longest_m.shape[1])
    most = 2 * len(s.drive.bore_m) * _n_pairs(s)
    found = np.empty((most, 2), np.int64)
    eur = np.empty(most)
    n = int(_list_drives(s, work, found, eur, s.trench.fresh_columns + 1))
    return found[:n, 0].copy(), found[:n, 1].copy(), eur[:n].copy()


def _n_pairs(s: SearchArrays) -> int:
    nx_, ny = s.ground.ground_m.shape
    total = 0
    for n in range(1, s.longest_columns + 1):
        reach = math.floor(s.max_tan * n * s.frame.column_m / s.frame.cell_m + 1e-9)
        total += (nx_ - n) * ny * min(2 * reach + 1, ny)
    return int(total)


@compiled
def _list_drives(s: SearchArrays, work: Work, found: Integers, eur: Floats, first: int) -> int:
    """Settle every drive; write its two states and its price; return how many there are."""
    arrays, space = by_reference(s), by_reference(work)
    return _fill(arrays, space, found, eur, first)


@compiled
def _fill(s: SearchArrays, work: Work, found: Integers, eur: Floats, first: int) -> int:
    nx_, ny = s.ground.ground_m.shape
    n_found = 0
    for a in range(nx_):
        for ja in range(ny):
            for b in range(a + 1, min(nx_, a + s.longest_columns + 1)):
                reach = math.floor(s.max_tan * (b - a) * s.frame.column_m / s.frame.cell_m + 1e-9)
                for jb in range(max(0, ja - reach), min(ny, ja + reach + 1)):
                    for method in range(s.drive.bore_m.shape[0]):
                        n_found = _fill_pair(s, work, found, eur, first, n_found, method, a, ja, b, jb)
    return n_found


@compiled
def _fill_pair(
    s: SearchArrays,
    work: Work,
    found: Integers,
    eur: Floats,
    first: int,
    n_found: int,
    method: int,
    a: int,
    ja: int,
    b: int,
    jb: int,
) -> int:
    """Settle both orientations of a method's drive between two nodes."""
    nx_, ny = s.ground.ground_m.shape
    n_methods, n_levels = s.drive.bore_m.shape[0], s.shaft.table_eur.shape[4]
    n_shafts = (s.shaft.table_eur.shape[2] - 1) * n_levels
    lower, upper, states = a * ny + ja, b * ny + jb, first + 2 * n_shafts
    dx = s.frame.node_xy_m[b, jb, 0] - s.frame.node_xy_m[a, ja, 0]
    dy = s.frame.node_xy_m[b, jb, 1] - s.frame.node_xy_m[a, ja, 1]
    ux, uy = dx / math.hypot(dx, dy), dy / math.hypot(dx, dy)
    bin_a, bin_b = heading_bin(s, a, ux, uy), heading_bin(s, b, ux, uy)
    if bin_a < 0 or bin_b < 0 or not scan(s, work, method, a, ja, b, jb):
        return n_found
    for way in range(2):  # 0 launched at the lower end
        at_lower = way == 0
        may_launch = s.shaft.is_allowed[a, ja, method, way, bin_a]
        if not (may_launch and s.shaft.is_allowed[b, jb, method, 1 - way, bin_b]):
            continue
        key = drive_key(nx_ * ny, n_methods, lower, upper, method, at_lower)
        if s.drive.banned.shape[0] > 0 and is_banned(s.drive.banned, key):
            continue
        line = settle(s, work, method, a, ja, b, jb, at_lower)
        if not line.is_feasible:
            continue
        leaving = (2 * method + way) * n_levels + line.lower_level
        arriving = (2 * method + 1 - way) * n_levels + line.upper_level
        found[n_found, 0] = lower * states + first + n_shafts + leaving
        found[n_found, 1] = upper * states + first + arriving
        eur[n_found] = line.eur
        n_found += 1
    return n_found


def _shafts(s: SearchArrays) -> tuple[Integers, Integers, Floats]:
    """Return what joins the states of one node: closing, opening, sharing a shaft, and its depth."""
    n_nodes, n_roles, n_levels = (
        s.ground.ground_m.size,
        s.shaft.table_eur.shape[2],
        s.shaft.table_eur.shape[4],
    )
    most = n_nodes * n_levels * (n_roles - 1) * (n_roles + 3)
    found, eur = np.empty((most, 2), np.int64), np.empty(most)
    n = int(_list_shafts(s, found, eur))
    return found[:n, 0].copy(), found[:n, 1].copy(), eur[:n].copy()


@compiled
def _list_shafts(s: SearchArrays, found: Integers, eur: Floats) -> int:
    return _fill_shafts(by_reference(s), found, eur)


@compiled
def _fill_shafts(s: SearchArrays, found: Integers, eur: Floats) -> int:
    nx_, ny = s.ground.ground_m.shape
    n_roles, n_levels, free = s.shaft.table_eur.shape[2], s.shaft.table_eur.shape[4], s.trench.fresh_columns
    n_shafts = (n_roles - 1) * n_levels
    states, n = free + 1 + 2 * n_shafts, 0
    for node in range(nx_ * ny):
        column, row = node // ny, node % ny
        arrived = node * states + free + 1
        leaving = arrived + n_shafts
        for r in range(n_roles):
            for k in range(n_roles):
                for level in range(n_levels):
                    price = shaft_eur(s, column, row, r, k, level) if r + k > 0 else math.inf
                    if price == math.inf:
                        continue
                    found[n, 0] = arrived + (r - 1) * n_levels + level if r > 0 else node * states + free
                    found[n, 1] = leaving + (k - 1) * n_levels + level if k > 0 else node * states
                    eur[n] = price
                    n += 1
            for level in range(n_levels - 1 if r > 0 else 0):
                found[n, 0] = arrived + (r - 1) * n_levels + level
                found[n, 1] = found[n, 0] + 1
                found[n + 1, 0] = leaving + (r - 1) * n_levels + level + 1
                found[n + 1, 1] = found[n + 1, 0] - 1
                eur[n], eur[n + 1] = 0.0, 0.0
                n += 2
    return n


def solve_networkx(graph: PricedGraph) -> float:
    """Build the graph with networkx and return the least cost [EUR], inf without a plan."""
    built: nx.DiGraph[int] = nx.DiGraph()
    built.add_nodes_from((graph.source, *graph.targets))
    edges = zip(graph.start.tolist(), graph.end.tolist(), graph.eur.tolist(), strict=True)
    built.add_weighted_edges_from(edges)
    eur = nx.single_source_dijkstra_path_length(built, graph.source)
    return float(min(eur.get(target, math.inf) for target in graph.targets))


def solve_scipy(graph: PricedGraph) -> float:
    """Build the matrix with scipy and return the least cost [EUR], inf without a plan.

    Raises
    ------
    ValueError
        Where two edges join the same states: a matrix would add them up.
    """
    shape = (graph.n_states, graph.n_states)
    matrix = csr_matrix((graph.eur, (graph.start, graph.end)), shape=shape)
    if matrix.nnz != len(graph.eur):
        raise ValueError("two edges join the same states")
    eur = dijkstra(matrix, indices=[graph.source])[0]
    return float(eur[list(graph.targets)].min())
