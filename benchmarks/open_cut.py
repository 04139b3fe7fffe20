"""Open cut only: how far the set of moves bends a straight way, thin barriers, and the time against scipy.

Routes on a frame are made of a few moves, so a straight line at another heading is longer on it. The
elongation is reckoned from the moves and, apart from that, read from a search over even ground. Straightening
afterwards takes it away; that is no part of the frame's figures.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from benchmarks.barriers import barriers
from benchmarks.clock import timed
from benchmarks.figures import Figure
from benchmarks.instances import MOVES
from benchmarks.joint import gap_eur
from benchmarks.proof import CENT_EUR, run
from benchmarks.straight import Straight, straight_arrays
from routescreen.search.arrays import entry_arrays
from routescreen.search.solve import optimum_eur

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.search.arrays import SearchArrays

N_HEADINGS = 3600
MOST_ELONGATION_PERCENT = 0.5
MOST_TIMES_MCP = 2.0


def open_cut(*, is_quick: bool = False) -> list[Figure]:
    """Return elongations and times."""
    headings = np.linspace(-math.pi / 4.0, math.pi / 4.0, N_HEADINGS)
    reckoned = max(elongation(float(heading)) for heading in headings)
    searched = searched_elongation(80 if is_quick else 400)
    percent = [100.0 * (value - 1.0) for value in (reckoned, searched)]
    return [
        Figure("open_elongation_reckoned", percent[0], "%", MOST_ELONGATION_PERCENT, is_most=True),
        Figure("open_elongation_searched", percent[1], "%", MOST_ELONGATION_PERCENT, is_most=True),
        *barriers(is_quick=is_quick),
        *_against_scipy(200 if is_quick else 10_000),
    ]


def elongation(heading_rad: float) -> float:
    """Return the length of the shortest way by moves over that of the straight line at a heading.

    A shortest way takes two moves at most: their directions enclose the heading.
    """
    goal = np.array([math.cos(heading_rad), math.sin(heading_rad)])
    best = math.inf
    for one, other in itertools.combinations(MOVES.astype(float), 2):
        share = np.linalg.solve(np.stack([one, other], axis=1), goal)
        if share.min() >= -1e-12:
            best = min(best, float(share @ [math.hypot(*one), math.hypot(*other)]))
    return best


def even_ground(n_columns: int, n_rows: int) -> SearchArrays:
    """Return a corridor without drives whose trench costs 1 EUR/m everywhere."""
    arrays = without_drives(straight_arrays(Straight(n_columns, n_rows)))
    length = arrays.frame.cell_m * np.hypot(*arrays.trench.moves.T.astype(float))
    column, row = np.indices((n_columns, n_rows))
    price = np.full_like(arrays.trench.move_eur, np.inf)
    for v, (dc, dr) in enumerate(arrays.trench.moves.tolist()):
        fits = (column + dc < n_columns) & (row + dr >= 0) & (row + dr < n_rows)
        price[fits, v] = length[v]
    none = np.zeros_like(price)
    return arrays._replace(trench=arrays.trench._replace(move_eur=price, entry=entry_arrays(none, none)))


def without_drives(arrays: SearchArrays) -> SearchArrays:
    """Return a corridor in which no shaft may stand."""
    none = np.zeros_like(arrays.shaft.is_allowed)
    return arrays._replace(shaft=arrays.shaft._replace(is_allowed=none))


def searched_elongation(n_columns: int) -> float:
    """Return the largest ratio of the search's length to the straight line, to the nodes of the last column.

    Its nodes lie at twice as many headings within 45 degrees as there are columns. Nearer nodes don't count:
    a way of a few moves can't mix them as a long one does.
    """
    n_rows = 2 * n_columns + 1
    arrays = even_ground(n_columns, n_rows)
    found_m: NDArray[np.float64] = run(arrays).trench_eur[-1]
    aside = np.abs(np.arange(n_rows) - arrays.start_row)
    is_within = aside <= n_columns - 1
    straight_m = arrays.frame.cell_m * np.hypot(n_columns - 1, aside)
    return float((found_m[-1, is_within] / straight_m[is_within]).max())


def _against_scipy(n_columns: int) -> list[Figure]:
    """Solve a long frame with both; scipy gets the priced moves."""
    arrays = even_ground(n_columns, 51)
    rate = 300.0 + 600.0 * np.random.default_rng(3).random((n_columns, 51))
    price = arrays.trench.move_eur * rate[:, :, None]
    arrays = arrays._replace(trench=arrays.trench._replace(move_eur=price))
    run(even_ground(40, 5))
    result, _, own_s = timed(lambda: run(arrays), n_runs=3)
    starts, ends, eur = _edges(arrays)
    n_nodes = arrays.ground.ground_m.size

    def solve() -> float:
        matrix = csr_matrix((eur, (starts, ends)), shape=(n_nodes, n_nodes))
        far = dijkstra(matrix, indices=[arrays.start_row])[0]
        return float(far[(n_columns - 1) * 51 + arrays.end_row])

    peer_eur, _, peer_s = timed(solve)
    km = n_columns // 100
    return [
        *_against_mcp(km, rate, own_s),
        Figure(f"open_{km}_km_processor", own_s, "s"),
        Figure(f"open_{km}_km_scipy_processor", peer_s, "s"),
        Figure(f"open_{km}_km_scipy_times_own", peer_s / own_s, "times"),
        Figure(
            f"open_{km}_km_scipy_gap",
            gap_eur(peer_eur, optimum_eur(arrays, result)),
            "EUR",
            CENT_EUR,
            is_most=True,
        ),
    ]


def _against_mcp(km: int, rate_eur_per_m: NDArray[np.float64], own_s: float) -> list[Figure]:
    """Run the least-cost search of scikit-image over the same rates, by its own moves of eight neighbours."""
    try:
        from skimage.graph import MCP_Geometric
    except ImportError:
        print("  scikit-image is not installed (optional dependencies 'bench'): not measured against it")
        return []
    solver = MCP_Geometric(rate_eur_per_m)
    _, _, peer_s = timed(lambda: solver.find_costs([(0, rate_eur_per_m.shape[1] // 2)]), n_runs=3)
    return [
        Figure(f"open_{km}_km_mcp_processor", peer_s, "s"),
        Figure(f"open_{km}_km_own_times_mcp", own_s / peer_s, "times", MOST_TIMES_MCP, is_most=True),
    ]


def _edges(arrays: SearchArrays) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Return the moves as edges between nodes."""
    ny = arrays.ground.ground_m.shape[1]
    column, row, v = np.nonzero(np.isfinite(arrays.trench.move_eur))
    dc, dr = arrays.trench.moves[v].T
    return column * ny + row, (column + dc) * ny + row + dr, arrays.trench.move_eur[column, row, v]
