"""Other plans that really differ, and what passes crossings how."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from routescreen.search.alternatives import alternatives, overlap_frac, pieces_of_plan
from routescreen.search.crossing_ways import crossing_ways
from routescreen.search.halves import find_plan
from routescreen.search.otherwise import only_by, passes_all, passes_by
from routescreen.search.solve import optimum_eur, run_with_progress
from routescreen.search.through import run_passages
from tests.search.test_otherwise import corridor, problem_of

if TYPE_CHECKING:
    from routescreen.search.crossing_ways import CrossingWay
    from routescreen.search.problem import FrameProblem
    from routescreen.search.solve import FramePlan

Told = tuple["FrameProblem", "FramePlan", list["CrossingWay"], float]


@pytest.fixture(scope="module")
def told() -> Told:
    """Return the small place with every way to pass each of its crossings, without a limit."""
    problem = problem_of(corridor())
    passages, plan = run_passages(problem.arrays, math.inf), find_plan(problem.arrays)
    assert passages is not None
    assert plan is not None
    found = crossing_ways(problem, passages, plan, range(len(problem.crossings)))
    return problem, plan, found, passages.optimum_eur


def test_how_a_plan_passes_all_crossings_is_how_it_passes_each(told: Told) -> None:
    problem, plan, found, _ = told
    plans = [plan, *(way.plan for way in found if way.plan is not None)]
    assert len(plans) > 5
    for each in plans:
        ways = passes_all(problem, each)
        for crossing in range(len(problem.crossings)):
            assert ways.get(crossing, frozenset()) == passes_by(problem, each, crossing)


def test_the_first_is_the_cheapest_plan_that_passes_any_crossing_otherwise(told: Told) -> None:
    """Against whole passes, with each crossing closed to all but one other way."""
    problem, plan, found, optimum = told
    first = alternatives(problem, plan, found, 1, 1.0)[0]
    own = passes_all(problem, plan)
    again = []
    for crossing in range(len(problem.crossings)):
        for way in (-1, *range(len(problem.methods))):
            if own.get(crossing, frozenset()) == frozenset({way}):
                continue
            closed = only_by(problem, crossing, way)
            again.append(optimum_eur(closed, run_with_progress(closed)) - optimum)
    # going round what the plan goes round anyway is the plan itself
    assert first.extra_eur == pytest.approx(min(eur for eur in again if eur > 0.01), abs=0.005)
    assert first.treatments


def test_each_differs_from_the_plan_and_from_cheaper_ones(told: Told) -> None:
    problem, plan, found, _ = told
    for most in (0.0, 0.3, 1.0):
        chosen = alternatives(problem, plan, found, 5, most)
        assert len(chosen) >= 2
        assert [way.extra_eur for way in chosen] == sorted(way.extra_eur for way in chosen)
        own = pieces_of_plan(problem, plan)
        departures = [
            {key: m for key, m in pieces_of_plan(problem, way.plan).items() if key not in own}
            for way in chosen
        ]
        for number, way in enumerate(chosen):
            assert way.treatments
            assert 0.0 < way.overlap_frac < 1.0
            nearest = max((overlap_frac(departures[number], d) for d in departures[:number]), default=0.0)
            assert way.departure_overlap_frac == pytest.approx(nearest)
            assert nearest <= most
    # the stricter, the dearer the last of as many
    strict, loose = (alternatives(problem, plan, found, 3, most) for most in (0.0, 1.0))
    assert strict[-1].extra_eur >= loose[-1].extra_eur


def test_none_where_none_is_asked_for(told: Told) -> None:
    problem, plan, found, _ = told
    assert alternatives(problem, plan, found, 0, 1.0) == ()
    assert alternatives(problem, plan, [], 3, 1.0) == ()


def test_overlap_of_plans_without_pieces_is_whole() -> None:
    assert overlap_frac({}, {}) == 1.0
    assert overlap_frac({("a",): 10.0}, {}) == 0.0
