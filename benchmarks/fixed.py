"""A fixed alignment: one row at 5 m, drives to 1 200 m, by the same code as any corridor."""

from __future__ import annotations

from functools import partial

from benchmarks.clock import timed
from benchmarks.figures import Figure
from benchmarks.joint import gap_eur, warm_up
from benchmarks.peers import priced_graph, solve_networkx, solve_scipy
from benchmarks.proof import CENT_EUR, run
from benchmarks.straight import Straight, straight_arrays
from routescreen.search.solve import optimum_eur

CELL_M, LONGEST_M = 5.0, 1200.0
LENGTHS_KM, PEERS_KM = (20.0, 100.0, 700.0), 20.0
TIMES = {"networkx": 150.0, "scipy": 10.0}
KERNEL_S = {700.0: 2.0}


def fixed(*, is_quick: bool = False) -> list[Figure]:
    """Measure the lengths; solve the first with general solvers too."""
    warm_up()
    run(straight_arrays(_size(1.0)))
    figures = []
    for km in (2.0,) if is_quick else LENGTHS_KM:
        arrays = straight_arrays(_size(km))
        result, _, own_s = timed(partial(run, arrays), n_runs=5)
        n_nodes = arrays.ground.ground_m.size
        name = f"fixed_{km:g}_km"
        figures += [
            Figure(f"{name}_pass_processor", own_s, "s", KERNEL_S.get(km), is_most=True),
            Figure(f"{name}_pass_per_node", 1e6 * own_s / n_nodes, "us a node"),
            Figure(f"{name}_pass_pairs", result.n_pairs / n_nodes, "a node"),
            Figure(f"{name}_pass_scans", result.n_scans / n_nodes, "a node"),
        ]
        if is_quick or km == PEERS_KM:
            figures += _peers(name, km, own_s, optimum_eur(arrays, result))
    return figures


def _size(km: float) -> Straight:
    return Straight(int(1000.0 * km / CELL_M) + 1, 1, CELL_M, LONGEST_M)


def _peers(name: str, km: float, own_s: float, own_eur: float) -> list[Figure]:
    graph = priced_graph(straight_arrays(_size(km)))
    figures = [Figure(f"{name}_edges", len(graph.eur), "edges")]
    for peer, solve in (("networkx", solve_networkx), ("scipy", solve_scipy)):
        peer_eur, _, peer_s = timed(partial(solve, graph))
        figures += [
            Figure(f"{name}_{peer}_gap", gap_eur(peer_eur, own_eur), "EUR", CENT_EUR, is_most=True),
            Figure(f"{name}_{peer}_processor", peer_s, "s"),
            Figure(f"{name}_{peer}_times_own", peer_s / own_s, "times", TIMES[peer]),
        ]
    return figures
