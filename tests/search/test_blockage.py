"""No plan: what is named, and that the window round the gap tells the truth."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import LineString, Polygon, box

from routescreen.errors import NoPlanError
from routescreen.screen import prepare, solve_and_audit
from routescreen.search.blockage import terminals_text
from routescreen.search.gap_names import what_stops
from routescreen.search.gap_window import columns_of
from routescreen.search.relaxations import chainages
from routescreen.search.solve import optimum_eur, run_with_progress
from tests.audit.place import across, crossing, crossings, place, with_cover, with_ground
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem

COARSE = "[frame]\ncell_m = 20.0\n"
WOOD = box(500.0, -300.0, 1000.0, 300.0)  # 500 m; in till no drive reaches over 300 m


def narrow(*features: object, wood: bool = False, is_till: bool = True) -> CorridorInput:
    """Return the place with a corridor 160 m wide, its features, and a wood by ground cover only."""
    table = crossings(crossing("hedge", across(470.0), feature_id="h1"), *features)  # type: ignore[arg-type]
    inp = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0), crossings=table)
    forest = list(load_assumptions().cover).index("forest")
    inp = with_ground(inp, box(-100.0, -300.0, 1600.0, 300.0), soil="till_boulders") if is_till else inp
    return with_cover(inp, WOOD, forest) if wood else inp


def no_plan(inp: CorridorInput, text: str) -> NoPlanError:
    problem, _ = prepare(inp, load_assumptions(text))
    with pytest.raises(NoPlanError) as caught:
        solve_and_audit(problem, inp)
    return caught.value


def test_ground_cover_that_closes_the_gap_is_named_and_nothing_beside_it() -> None:
    error = no_plan(narrow(wood=True), COARSE + "[cover.forest]\ntrench_allowed = false\n")
    message = str(error)
    assert "Closed to trench there: ground cover forest." in message
    assert "a shaft only by consent, which counts as no" in message
    assert "hedge" not in message  # it stands before the gap and bars nothing
    assert "open cut allowed at axis chainage" in message
    assert "two-pass microtunnelling with pull-in drive of" in message
    assert "two_pass" not in message
    (problem,) = error.problems
    assert (problem.layer, problem.feature) == ("corridor", "demo")
    assert "x 7" in (problem.value or "")  # the gap's middle is 750 m east, give or take a cell
    assert "y " in (problem.value or "")


def test_only_the_member_of_a_merged_crossing_that_bars_the_way_is_named() -> None:
    far = crossing(
        "lake", box(990.0, 150.0, 1400.0, 290.0), feature_id="far"
    )  # one lake, beside the corridor
    error = no_plan(narrow(crossing("lake", WOOD, feature_id="near"), far), COARSE)
    (problem,) = error.problems
    assert (problem.layer, problem.feature) == ("crossings", "near")
    assert "lake (near)" in str(error)
    assert "far" not in problem.problem.split()


@pytest.mark.parametrize(
    ("from_m", "to_m", "text"),
    [
        pytest.param(980.8, 981.3, "axis chainage 981 m", id="one place"),
        pytest.param(980.0, 1020.0, "axis chainage 980 m to 1020 m", id="a stretch"),
    ],
)
def test_a_place_is_one_chainage_where_both_ends_are_the_same(from_m: float, to_m: float, text: str) -> None:
    assert chainages(from_m, to_m) == text


@pytest.fixture(scope="module")
def solvable() -> FrameProblem:
    """Return a corridor with a river and a plan."""
    return prepare(narrow(crossing("river", across(700.0)), is_till=False), load_assumptions(COARSE))[0]


def test_a_window_over_all_columns_has_the_whole_optimum(solvable: FrameProblem) -> None:
    arrays = solvable.arrays
    last = len(arrays.pin_shaft) - 1
    whole = columns_of(arrays, 0, arrays.start_row, last, arrays.end_row)
    assert optimum_eur(whole, run_with_progress(whole)) == optimum_eur(arrays, run_with_progress(arrays))


def test_a_window_between_nodes_of_the_plan_costs_what_is_left_of_the_optimum(solvable: FrameProblem) -> None:
    """Cost to the first node, of the window and from the last node: the optimum, by its own principle."""
    inp = narrow(crossing("river", across(700.0)), is_till=False)
    arrays = solvable.arrays
    steps = solve_and_audit(solvable, inp).frame_plan.steps
    trench = [step.start for step in steps if hasattr(step, "move")]
    is_bare = [arrays.trench.inside_eur[node] == 0.0 for node in trench]
    low = next(n for n, bare in zip(trench, is_bare, strict=True) if bare and 10 <= n[0] < 25)
    high = next(n for n, bare in zip(trench, is_bare, strict=True) if bare and n[0] >= 50)
    forward, backward = (run_with_progress(arrays, is_forward=way) for way in (True, False))
    window = columns_of(arrays, low[0], low[1], high[0], high[1])
    total = forward.trench_eur[-1][low] + backward.trench_eur[-1][high]
    total += optimum_eur(window, run_with_progress(window))
    assert np.isclose(total, optimum_eur(arrays, forward), rtol=1e-12)


def test_banned_drives_are_not_lost_in_silence(solvable: FrameProblem) -> None:
    drive = solvable.arrays.drive._replace(banned=np.array([7], np.int64))
    with pytest.raises(ValueError, match="banned"):
        columns_of(solvable.arrays._replace(drive=drive), 0, 0, 5, 0)


HOLES = (box(500.0, -30.0, 700.0, 80.0), box(900.0, -74.0, 1000.0, 76.0))


@pytest.mark.parametrize(
    ("outline", "width_m"),
    [
        pytest.param(box(0.0, -3.0, 1500.0, 3.0), "6.0", id="one node wide"),
        # 50 m are left beside the first hole, 6 m and 4 m beside the second
        pytest.param(
            Polygon(box(0.0, -80.0, 1500.0, 80.0).exterior, [hole.exterior for hole in HOLES]),
            "6.0",
            id="holes that leave a gap too narrow",
        ),
    ],
)
def test_a_corridor_too_narrow_for_the_trenches_is_said_with_its_width(
    outline: Polygon, width_m: str
) -> None:
    """The track in the middle, crossed squarely, is not what stops it."""
    table = crossings(crossing("track", across(950.0), feature_id="t1"))
    error = no_plan(replace(place(), outline=outline, crossings=table), COARSE)
    (problem,) = error.problems
    assert f"The corridor is {width_m} m wide there" in problem.problem
    assert "t1" not in problem.problem
    assert "widen the corridor there to at least 11.2 m" in problem.remedy


LAKE_AT_END = box(1450.0, -300.0, 1600.0, 300.0)  # the end terminal stands in it, at x = 1500 m


@pytest.mark.parametrize("is_line", [False, True], ids=["polygon", "line"])
def test_a_terminal_that_no_trench_reaches_is_named_with_what_bars_it(is_line: bool) -> None:
    inp = narrow(crossing("lake", LAKE_AT_END, feature_id="pond"), is_till=False)
    line = LineString([(0.0, 0.0), (1500.0, 0.0)])
    inp = replace(inp, outline=None, fixed_line=line) if is_line else inp
    problem, _ = prepare(inp, load_assumptions(COARSE))
    last = len(problem.frame.node_xy_m) - 1
    text = terminals_text(problem, last, last)
    assert text.startswith("No trench leads to the end of the alignment at x 1500, y 0, ")
    assert "lake (pond)" in text
    assert ("layer terminals" in text) != is_line
    assert what_stops(problem, last, last).feature_ids == ("pond",)
    assert terminals_text(problem, 0, last - 1) == ""  # the start is free, and the end is not where it stops


def test_a_fixed_line_has_no_edge_that_is_too_near() -> None:
    """Its drives keep within 5 m of it, which is no width that trenches must fit into."""
    line = LineString([(0.0, 0.0), (1500.0, 0.0)])
    inp = replace(narrow(crossing("lake", WOOD, feature_id="near")), outline=None, fixed_line=line)
    problem, _ = prepare(inp, load_assumptions(COARSE))
    stops = what_stops(problem, 25, 49)
    assert stops.needed_width_m is None
    assert stops.text.startswith("Closed to trench there: lake (near).")
