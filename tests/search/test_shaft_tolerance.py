"""How far shafts may move: against the whole corridor solved again with a shaft there."""

from __future__ import annotations

import math

import numpy as np
import pytest

from benchmarks.explained_again import extra_with_shaft_eur
from benchmarks.proof_instances import Size, proof_arrays
from routescreen.search.halves import find_plan
from routescreen.search.shaft_tolerance import REACH_COLUMNS, ShaftTolerance, tolerance_at, walked
from routescreen.search.through import run_passages
from tests.search.test_by_hand import corridor

EXACT_EUR = 0.005
SIZES = (Size(24, 4, 4), Size(40, 3, 6), Size(30, 5, 5))


def border_of(found: ShaftTolerance) -> set[tuple[int, int]]:
    """Return the nodes next to the places that are not among them."""
    places = {(int(c), int(r)) for c, r in found.places}
    beside = {(c + dc, r + dr) for c, r in places for dc, dr in ((1, 0), (-1, 0), (0, 1), (0, -1))}
    return beside - places


def inside(node: tuple[int, int], shape: tuple[int, ...]) -> bool:
    return 0 <= node[0] < shape[0] and 0 <= node[1] < shape[1]


@pytest.mark.parametrize("seed", range(12))
def test_every_place_costs_what_solving_everything_again_says(seed: int) -> None:
    """Places within, to the cent; those next to them, more than the limit. Neither way has a plan alone."""
    arrays = proof_arrays(seed, SIZES[seed % 3])
    plan, passages = find_plan(arrays), run_passages(arrays, math.inf)
    assert (plan is None) is (passages is None)
    if plan is None or passages is None:
        return
    for shaft in plan.shafts:
        sides = (shaft.incoming_role > 0, shaft.outgoing_role > 0)
        found = tolerance_at(arrays, passages, shaft.node, sides, 0.2 * passages.optimum_eur, 100.0)
        assert tuple(found.places[0]) == shaft.node
        assert found.extra_eur[0] == pytest.approx(0.0, abs=EXACT_EUR)
        for place, extra_eur in zip(found.places, found.extra_eur, strict=True):
            node = (int(place[0]), int(place[1]))
            again = extra_with_shaft_eur(arrays, node, sides, passages.optimum_eur)
            assert extra_eur == pytest.approx(again, abs=EXACT_EUR)
        for node in border_of(found):
            if inside(node, arrays.ground.ground_m.shape):
                again = extra_with_shaft_eur(arrays, node, sides, passages.optimum_eur)
                assert again > found.limit_eur - EXACT_EUR


def test_the_random_corridors_have_shafts_that_may_move_and_such_that_may_not() -> None:
    n_places = []
    for seed in range(12):
        arrays = proof_arrays(seed, SIZES[seed % 3])
        plan, passages = find_plan(arrays), run_passages(arrays, math.inf)
        if plan is None or passages is None:
            continue
        for shaft in plan.shafts:
            sides = (shaft.incoming_role > 0, shaft.outgoing_role > 0)
            base_eur = 0.2 * passages.optimum_eur
            n_places.append(len(tolerance_at(arrays, passages, shaft.node, sides, base_eur, 100.0).places))
    assert len(n_places) >= 15
    assert min(n_places) == 1
    assert max(n_places) >= 5


def test_more_columns_are_judged_while_the_walk_reaches_their_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """With one column at a time the same places are found as with all at once."""
    arrays = proof_arrays(1, Size(40, 3, 6))
    plan, passages = find_plan(arrays), run_passages(arrays, math.inf)
    assert plan is not None
    assert passages is not None
    found = []
    for reach in (1, REACH_COLUMNS, 100):
        monkeypatch.setattr("routescreen.search.shaft_tolerance.REACH_COLUMNS", reach)
        found.append([])
        for shaft in plan.shafts:
            sides = (shaft.incoming_role > 0, shaft.outgoing_role > 0)
            told = tolerance_at(arrays, passages, shaft.node, sides, passages.optimum_eur, 60.0)
            found[-1].append(
                {
                    (*place, round(eur, 2))
                    for place, eur in zip(map(tuple, told.places), told.extra_eur, strict=True)
                }
            )
    assert found[0] == found[1] == found[2]
    assert any(len({place[0] for place in places}) > 3 for places in found[0])


def test_by_hand_the_shared_shaft_costs_seven_more() -> None:
    """Of the corridor by hand: one drive 1-5 costs 12, two that share the shaft at 3 cost 19."""
    arrays = corridor()
    passages = run_passages(arrays, math.inf)
    assert passages is not None
    launch = tolerance_at(arrays, passages, (1, 0), (False, True), 12.0, 50.0)
    assert launch.places.tolist() == [[1, 0]]
    assert launch.limit_eur == pytest.approx(6.0)
    shared = tolerance_at(arrays, passages, (3, 0), (True, True), 12.0, 100.0)
    assert shared.extra_eur.tolist() == pytest.approx([7.0])


def test_a_budget_below_the_share_cuts_it_and_says_so() -> None:
    arrays = corridor()
    passages = run_passages(arrays, 2.0)
    assert passages is not None
    found = tolerance_at(arrays, passages, (1, 0), (False, True), 100.0, 5.0)
    assert found.is_cut
    assert found.limit_eur == pytest.approx(2.0)
    assert not tolerance_at(arrays, passages, (1, 0), (False, True), 20.0, 5.0).is_cut


def test_a_smaller_share_leaves_places_that_can_be_walked_to_within_it() -> None:
    """Of 100 EUR: the place at column 4 costs 1 more, but lies behind one that costs 3 more."""
    places = np.array([[2, 0], [3, 0], [4, 0], [1, 0], [0, 0]])
    extra_eur = np.array([0.0, 3.0, 1.0, 0.5, 1.5])
    found = ShaftTolerance((2, 0), (True, False), 100.0, 5.0, False, places, extra_eur)
    assert {tuple(place) for place in found.within(2.0)} == {(2, 0), (1, 0), (0, 0)}
    assert {tuple(place) for place in found.within(3.0)} == {(2, 0), (1, 0), (0, 0), (3, 0), (4, 0)}
    assert tuple(found.within(2.0)[0]) == (2, 0)


def test_a_walk_goes_along_and_across_never_over_corners() -> None:
    open_nodes = {(0, 0), (1, 1), (0, 1), (2, 2)}
    assert set(walked((0, 0), lambda at: at in open_nodes)) == {(0, 0), (0, 1), (1, 1)}
