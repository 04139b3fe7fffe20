"""The search of trench and drives together, on straight corridors 500 m wide at 10 m.

One whole pass gives processor time, pairs and scans a node; both halves on two cores give the wall time.
General solvers get 1 km x 300 m as a graph with priced edges, the search begins with the frame.
"""

from __future__ import annotations

import math
from functools import partial

from benchmarks.clock import timed
from benchmarks.figures import Figure
from benchmarks.peers import priced_graph, solve_networkx, solve_scipy
from benchmarks.proof import CENT_EUR, agree, run
from benchmarks.straight import Straight, straight_arrays
from routescreen.search.halves import best_join_of, run_halves
from routescreen.search.solve import optimum_eur

COLUMNS_PER_KM = 100
PASS_KM, HALVES_KM = (20, 100), (20, 100, 700)
US_PER_NODE = {"typical": 30.0, "dense": 90.0}
HALVES_S = {("typical", 100): 20.0, ("dense", 100): 50.0, ("typical", 700): 120.0, ("dense", 700): 300.0}
TIMES_NETWORKX = 100.0


def joint(*, is_quick: bool = False) -> list[Figure]:
    """Measure both kinds of corridor; the same optimum of all ways is a target too."""
    figures = []
    for kind in ("typical", "dense"):
        warm_up(is_dense=kind == "dense")
        figures += against_peers(
            kind, Straight(30, 9, longest_m=150.0, is_dense=kind == "dense") if is_quick else _peer_size(kind)
        )
        for km in (2,) if is_quick else HALVES_KM:
            figures += _measure(kind, km, has_pass=is_quick or km in PASS_KM)
    return figures


def _peer_size(kind: str) -> Straight:
    return Straight(COLUMNS_PER_KM, 31, is_dense=kind == "dense")


def warm_up(*, is_dense: bool = False) -> None:
    """Run everything once on a small corridor, so that no compiling is measured."""
    arrays = straight_arrays(Straight(40, 5, longest_m=100.0, is_dense=is_dense))
    run(arrays)
    best_join_of(arrays, run_halves(arrays))


def _measure(kind: str, km: int, *, has_pass: bool) -> list[Figure]:
    """Measure one length."""
    size = Straight(km * COLUMNS_PER_KM, is_dense=kind == "dense")
    arrays, name = straight_arrays(size), f"joint_{kind}_{km}_km"
    halves, wall_s, processor_s = timed(lambda: run_halves(arrays))
    found_eur = float(best_join_of(arrays, halves).eur)
    n = halves.forward, halves.backward
    n_visited = size.n_nodes + (halves.last_column - halves.first_column + 1) * size.n_rows
    target_s = HALVES_S.get((kind, km))
    figures = [
        Figure(f"{name}_halves_wall", wall_s, "s", target_s, is_most=True),
        Figure(f"{name}_halves_processor", 1e6 * processor_s / n_visited, "us a node"),
        Figure(f"{name}_halves_pairs", sum(half.n_pairs for half in n) / n_visited, "a node"),
        Figure(f"{name}_halves_scans", sum(half.n_scans for half in n) / n_visited, "a node"),
    ]
    if has_pass:
        result, _, pass_s = timed(lambda: run(arrays))
        gap = gap_eur(optimum_eur(arrays, result), found_eur)
        per_node = 1e6 * pass_s / size.n_nodes
        figures += [
            Figure(f"{name}_pass_processor", per_node, "us a node", US_PER_NODE[kind], is_most=True),
            Figure(f"{name}_pass_pairs", result.n_pairs / size.n_nodes, "a node"),
            Figure(f"{name}_pass_scans", result.n_scans / size.n_nodes, "a node"),
            Figure(f"{name}_pass_less_halves", gap, "EUR", CENT_EUR, is_most=True),
        ]
    return figures


def against_peers(kind: str, size: Straight) -> list[Figure]:
    """Solve one corridor with general solvers and with the search."""
    arrays, name = straight_arrays(size), f"joint_{kind}_peers"
    result, _, own_s = timed(lambda: run(arrays), n_runs=5)
    own_eur = optimum_eur(arrays, result)
    graph = priced_graph(arrays)
    figures = [
        Figure(f"{name}_edges", len(graph.eur), "edges"),
        Figure(f"{name}_own_processor", own_s, "s"),
    ]
    for peer, solve, target in (
        ("networkx", solve_networkx, TIMES_NETWORKX),
        ("scipy", solve_scipy, None),
    ):
        peer_eur, _, peer_s = timed(partial(solve, graph))
        figures += [
            Figure(f"{name}_{peer}_gap", gap_eur(peer_eur, own_eur), "EUR", CENT_EUR, is_most=True),
            Figure(f"{name}_{peer}_processor", peer_s, "s"),
            Figure(f"{name}_{peer}_times_own", peer_s / own_s, "times", target),
        ]
    return figures


def gap_eur(one_eur: float, other_eur: float) -> float:
    """Return how far two optima are apart, 0 where neither has a plan, inf where only one has."""
    if agree(one_eur, other_eur) and math.isinf(one_eur):
        return 0.0
    return abs(one_eur - other_eur)
