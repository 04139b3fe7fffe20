"""Crossings passed in one way only: near-by solving against solving the whole corridor again."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.screen import prepare
from routescreen.search.crossing_ways import (
    BEYOND,
    CHOSEN,
    IMPOSSIBLE,
    POSSIBLE,
    ROUND,
    CrossingWay,
    WaysSought,
    crossing_ways,
)
from routescreen.search.halves import best_join_of, find_plan, run_halves
from routescreen.search.otherwise import OPEN_CUT, Bench, columns_of_crossing, only_by, otherwise, passes_by
from routescreen.search.solve import DriveStep, optimum_eur, run_with_progress
from routescreen.search.through import _earlies, go_on, run_passages
from tests.audit.place import crossing, crossings, place, with_ground

if TYPE_CHECKING:
    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem

WHOLE = box(-100.0, -300.0, 1600.0, 300.0)
# the floors that the cables set are looked at apart: here the ground dries out
TWENTY_M = "[frame]\ncell_m = 20.0\n[search]\nrating_steers = false\n"
MILLION = 1e6


def corridor(*features: tuple[dict[str, object], object], half_m: float = 60.0) -> CorridorInput:
    inp = replace(place(), outline=box(0.0, -half_m, 1500.0, half_m))
    inp = with_ground(inp, WHOLE, soil="sand_dense", groundwater_depth_m=100.0)
    return inp if not features else replace(inp, crossings=crossings(*features))


def problem_of(inp: CorridorInput, text: str = "") -> FrameProblem:
    return prepare(inp, load_assumptions(TWENTY_M + text))[0]


@pytest.fixture(scope="module")
def problem() -> FrameProblem:
    """Return road, river, gas pipeline, building and telecom cable of the small place."""
    return problem_of(corridor())


def named(problem: FrameProblem, kind: str) -> int:
    return problem.crossings.kind.index(kind)


def ways(problem: FrameProblem, kind: str, budget_eur: float = 5 * MILLION) -> dict[str, CrossingWay]:
    plan, passages = find_plan(problem.arrays), run_passages(problem.arrays, budget_eur)
    assert plan is not None
    assert passages is not None
    return {found.way: found for found in crossing_ways(problem, passages, plan, [named(problem, kind)])}


def test_solving_near_a_crossing_is_solving_everything_again(problem: FrameProblem) -> None:
    """Every crossing by every way, against whole passes that scan every pair, and from the other end.

    All on one bench, as a run does: what one solving again leaves behind would be seen in the next.
    """
    passages = run_passages(problem.arrays, math.inf)
    assert passages is not None
    bench = Bench(problem, passages)
    n_found, n_dearer = 0, 0
    for number in range(len(problem.crossings)):
        for way in (OPEN_CUT, *range(len(problem.methods))):
            found = otherwise(problem, passages, number, way, bench)
            closed = only_by(problem, number, way)
            whole = optimum_eur(closed, run_with_progress(closed, is_pruned=False))
            back = run_with_progress(closed, is_forward=False)
            assert whole == pytest.approx(float(back.trench_eur[:, 0, closed.start_row].min()), abs=0.005)
            assert passages.optimum_eur + found.extra_eur == pytest.approx(whole, abs=0.005)
            n_found += math.isfinite(whole)
            n_dearer += math.isfinite(whole) and found.extra_eur > 1.0
            if found.plan is not None:
                assert passes_by(problem, found.plan, number) <= {way}
    assert n_found >= 12
    assert n_dearer >= 4


def test_the_least_budget_that_allows_a_way_finds_it_as_any_larger_does(problem: FrameProblem) -> None:
    """With a cent more than a plan costs its drives are still looked for; without a limit all are."""
    free = run_passages(problem.arrays, math.inf)
    assert free is not None
    bench = Bench(problem, free)
    n_dearer = 0
    for number in range(len(problem.crossings)):
        for way in (OPEN_CUT, *range(len(problem.methods))):
            expected = otherwise(problem, free, number, way, bench)
            if not 1.0 < expected.extra_eur < math.inf:
                continue
            tight = run_passages(problem.arrays, expected.extra_eur + 0.01)
            assert tight is not None
            found = otherwise(problem, tight, number, way)
            assert found.extra_eur == pytest.approx(expected.extra_eur, abs=0.005)
            n_dearer += 1
    assert n_dearer >= 4


@pytest.mark.parametrize("ended", [0, 1], ids=["forward", "backward"])
def test_what_is_found_before_the_other_pass_has_ended_is_the_same(problem: FrameProblem, ended: int) -> None:
    arrays, plan, halves = problem.arrays, find_plan(problem.arrays), run_halves(problem.arrays)
    assert plan is not None
    crossings = range(len(problem.crossings))
    optimum = float(best_join_of(arrays, halves).eur)
    makes = _earlies(arrays, halves, optimum, optimum + MILLION)
    passages = go_on(arrays, halves, MILLION)
    assert passages is not None
    whole = (passages.forward, passages.backward)[ended]
    sought = WaysSought(problem, plan, crossings)
    sought.early(makes[ended](whole, lambda: False))
    n_early = len(sought._found)
    found, expected = sought.all(passages), crossing_ways(problem, passages, plan, crossings)
    assert n_early > 0
    assert [(way.crossing, way.way, way.status) for way in found] == [
        (way.crossing, way.way, way.status) for way in expected
    ]
    assert [way.extra_eur for way in found] == pytest.approx(
        [way.extra_eur for way in expected], abs=1e-6, nan_ok=True
    )


def test_the_first_pass_to_end_looks_for_ways_meanwhile(problem: FrameProblem) -> None:
    plan, earlies = find_plan(problem.arrays), []
    assert plan is not None
    passages = go_on(problem.arrays, run_halves(problem.arrays), MILLION, meanwhile=earlies.append)
    (early,) = earlies
    assert early.is_over()
    assert passages is not None
    assert early.passages.limit_eur == passages.limit_eur


def test_a_drive_that_goes_on_far_behind_a_crossing_is_found() -> None:
    """Behind the road lies a lake of 160 m: no plan has a node in the columns right behind the road."""
    lake = crossing("lake", box(660.0, -300.0, 820.0, 300.0))
    road = crossing("main_road", box(630.0, -300.0, 640.0, 300.0))
    problem = problem_of(corridor(road, lake))
    passages, plan = run_passages(problem.arrays, MILLION), find_plan(problem.arrays)
    assert passages is not None
    assert plan is not None
    number = named(problem, "main_road")
    span = columns_of_crossing(problem, number)
    assert span is not None
    (under,) = (s for s in plan.steps if isinstance(s, DriveStep) and number in s.crossings)
    assert under.upper[0] > span[1] + 5
    assert otherwise(problem, passages, number, under.method).extra_eur == pytest.approx(0.0, abs=0.005)


def test_what_is_beyond_the_limit_is_not_told(problem: FrameProblem) -> None:
    free = run_passages(problem.arrays, math.inf)
    assert free is not None
    road, thrust = named(problem, "road"), 1
    extra_eur = otherwise(problem, free, road, thrust).extra_eur
    assert extra_eur > 10_000.0
    for budget_eur, is_told in ((extra_eur - 1.0, False), (extra_eur + 1.0, True)):
        passages = run_passages(problem.arrays, budget_eur)
        assert passages is not None
        found = otherwise(problem, passages, road, thrust)
        assert math.isfinite(found.extra_eur) == is_told
        if is_told:
            assert found.extra_eur == pytest.approx(extra_eur, abs=0.005)


def test_a_road_is_cut_and_could_be_driven(problem: FrameProblem) -> None:
    found = ways(problem, "road")
    assert found["open_cut"].status == CHOSEN
    thrust = found["guided_thrust"]
    assert thrust.status == POSSIBLE
    assert thrust.extra_eur > 0.0
    assert thrust.reason.startswith("by a drive of ")


def test_a_river_bears_no_trench_and_is_too_wide_for_thrusting() -> None:
    """40 m of water and 20 m on both sides: 80 m and more from shaft to shaft, to be thrust 60 m at most."""
    wide = corridor(crossing("river", box(580.0, -300.0, 640.0, 300.0)))
    found = ways(problem_of(wide, "[methods.guided_thrust]\nlongest_m = 60.0\n"), "river")
    assert found["open_cut"].status == IMPOSSIBLE
    assert found["open_cut"].reason == "no trench is allowed through it"
    assert found["two_pass"].status == CHOSEN
    assert found["guided_thrust"].status == IMPOSSIBLE
    assert "within 60 m" in found["guided_thrust"].reason
    assert math.isnan(found["guided_thrust"].extra_eur)


def test_a_drive_too_deep_for_its_cables_says_so() -> None:
    """The river asks for bores over 5 m deep, where dry sand leads heat away from cables 16 m apart only."""
    text = (
        "[frame]\ncell_m = 20.0\n[methods.two_pass]\nthermal_spacing_m = 16.0\n"
        "[methods.guided_thrust]\nhead_above_axis_fail_m = 30.0\n"  # the river stands over it
    )
    found = ways(prepare(corridor(), load_assumptions(text))[0], "river")
    assert found["two_pass"].status == CHOSEN
    assert found["guided_thrust"].status == IMPOSSIBLE
    assert found["guided_thrust"].reason.startswith("so deep its cables get too warm, 5.00 m apart")


def test_a_tunnel_too_warm_says_so_and_one_cool_enough_competes(problem: FrameProblem) -> None:
    warm = ways(problem, "river")["enterable"]
    assert warm.status == IMPOSSIBLE
    assert "4 cables in one bore carry 1801 A at most" in warm.reason
    one_system = problem_of(corridor(), "[link]\nn_systems = 1\n")
    cool = ways(one_system, "river")["enterable"]
    assert cool.status == POSSIBLE
    assert cool.extra_eur > 0.0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param("largest = 1\n", "", id="as it is"),
        pytest.param("most_shaft_depth_m = 5.0\namber_shaft_depth_m = 5.0\n", "no line keeps", id="depth"),
        pytest.param(
            "head_above_axis_fail_m = 0.1\nhead_above_axis_amber_m = 0.1\n", "groundwater", id="head"
        ),
        pytest.param("thrust_capacity_kN = [10.0, 10.0, 10.0]\n", "more force", id="force"),
        pytest.param("layout_working_length_m = 3000.0\n", "no land behind", id="land"),
    ],
)
def test_why_a_method_can_not_pass(text: str, words: str) -> None:
    """Two-pass under a river by what is changed alone; thrusting is there lest the corridor has no plan."""
    wet = with_ground(corridor(), WHOLE, soil="sand_dense", groundwater_depth_m=1.0)
    changed = "" if not words else f"[methods.two_pass]\n{text}"
    problem = problem_of(wet, changed + "[methods.guided_thrust]\nhead_above_axis_fail_m = 20.0\n")
    found = ways(problem, "river", 20 * MILLION)["two_pass"]
    if not words:
        assert found.status in {CHOSEN, POSSIBLE}
        return
    assert found.status == IMPOSSIBLE
    assert words in found.reason


def test_a_pond_beside_the_line_is_gone_round() -> None:
    pond = corridor(crossing("lake", box(700.0, -10.0, 760.0, 40.0)))
    problem = problem_of(pond)
    passages, plan = run_passages(problem.arrays, MILLION), find_plan(problem.arrays)
    assert passages is not None
    assert plan is not None
    assert passes_by(problem, plan, 0) == set()
    found = {f.way: f for f in crossing_ways(problem, passages, plan, [0])}
    assert found["two_pass"].status == ROUND
    # the optimum itself goes round: what a plan under it costs more isn't looked for, and is not nothing
    assert math.isnan(found["two_pass"].extra_eur)
    assert found["two_pass"].reason == "the plan on the frame goes round it"
    assert found["two_pass"].plan is None


def test_beyond_the_budget_is_told_apart_from_impossible(problem: FrameProblem) -> None:
    found = ways(problem, "road", 1000.0)
    assert found["guided_thrust"].status == BEYOND
    assert math.isnan(found["guided_thrust"].extra_eur)
    assert "less than 1000 EUR more" in found["guided_thrust"].reason


def test_closing_a_way_closes_all_drives_and_moves_that_meet_the_crossing(problem: FrameProblem) -> None:
    river = named(problem, "river")
    span = columns_of_crossing(problem, river)
    assert span is not None
    arrays = only_by(problem, river, OPEN_CUT)
    # no trench is allowed either: there is no plan left
    assert find_plan(arrays) is None
    road = named(problem, "road")
    plan = find_plan(only_by(problem, road, 1))
    assert plan is not None
    under = [s for s in plan.steps if isinstance(s, DriveStep) and road in s.crossings]
    assert [step.method for step in under] == [1]
    assert np.isfinite(plan.objective_eur)
