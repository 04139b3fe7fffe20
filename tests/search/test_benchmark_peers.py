"""The benchmarks' invented corridors and graphs: general solvers find the search's optimum."""

from __future__ import annotations

import math

import numpy as np
import pytest

from benchmarks import barriers
from benchmarks.growth import log_slope
from benchmarks.joint import gap_eur
from benchmarks.open_cut import elongation
from benchmarks.peers import priced_graph, solve_networkx, solve_scipy
from benchmarks.proof import CENT_EUR, run
from benchmarks.straight import Straight, straight_arrays
from routescreen.corridor.stencil import MOVES
from routescreen.search.solve import optimum_eur

SIZES = {
    "typical": Straight(45, 3, longest_m=120.0),
    "dense": Straight(45, 3, longest_m=120.0, is_dense=True),
    "one row at 5 m": Straight(90, 1, 5.0, 150.0),
}


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_general_solvers_find_the_same_optimum(size: Straight) -> None:
    arrays = straight_arrays(size)
    found = run(arrays)
    graph = priced_graph(arrays)
    optimum = optimum_eur(arrays, found)
    assert math.isfinite(optimum)
    assert solve_networkx(graph) == pytest.approx(optimum, abs=CENT_EUR)
    assert solve_scipy(graph) == pytest.approx(optimum, abs=CENT_EUR)


def test_graph_refuses_what_it_leaves_out() -> None:
    arrays = straight_arrays(SIZES["typical"])
    pinned = arrays._replace(pin_via=np.where(np.arange(45) == 20, 1, -1))
    with pytest.raises(ValueError, match="pins"):
        priced_graph(pinned)


@pytest.mark.parametrize(
    ("goal", "length"),
    [
        ((1.0, 0.0), 1.0),  # a move of its own
        ((5.0, 1.0), math.sqrt(26.0)),
        ((4.0, 1.0), (math.sqrt(10.0) + math.sqrt(26.0)) / 2.0),  # half of (3,1) and (5,1) together
        ((2.0, -3.0), math.sqrt(13.0)),
    ],
    ids=["ahead", "5 to 1", "between 3 and 5 to 1", "to the other side"],
)
def test_elongation_by_hand(goal: tuple[float, float], length: float) -> None:
    assert elongation(math.atan2(goal[1], goal[0])) == pytest.approx(length / math.hypot(*goal), rel=1e-12)


def test_gap_of_optima() -> None:
    assert gap_eur(3.0, 5.5) == 2.5
    assert (gap_eur(math.inf, math.inf), gap_eur(math.inf, 1.0)) == (0.0, math.inf)


def test_slope_of_a_power() -> None:
    assert log_slope((2.0, 4.0, 8.0), [12.0, 48.0, 192.0]) == pytest.approx(2.0)  # 3 x squared


def test_a_way_past_a_barrier_is_found_and_only_there() -> None:
    is_met = np.zeros((2, barriers.N_COLUMNS, barriers.N_ROWS, len(MOVES)), np.bool_)
    ends = np.arange(barriers.N_COLUMNS)[:, None] + MOVES[:, 0]
    passes = (np.arange(barriers.N_COLUMNS)[:, None] < 15) & (ends >= 15)  # every move over x = 145 m
    is_met[:] = passes[None, :, None, :]
    is_met[1, 14, 3, 0] = False  # one move straight on is left
    assert barriers.reaches_the_end(is_met).tolist() == [False, True]
