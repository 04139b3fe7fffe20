"""Sentences from numbers: what another way would cost, what holds a shaft, on the audit's small place."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.explained import Finished, Measure, explain
from routescreen.explained.alternatives import alternatives_table
from routescreen.explained.sentences import _otherwise
from routescreen.search.crossing_ways import crossing_ways
from routescreen.search.depths import choose_depths
from routescreen.search.geometry import plan_geometry
from routescreen.search.halves import find_plan, find_plan_and_halves
from routescreen.search.stretches import Stretch
from routescreen.search.through import run_passages
from tests.search.test_otherwise import TWENTY_M, corridor, problem_of


@pytest.fixture(scope="module")
def told():
    """Return the small place's plan on its frame, explained, with the schedule that an audit would tell."""
    problem = problem_of(corridor())
    frame_plan, halves = find_plan_and_halves(problem.arrays)
    assert frame_plan is not None
    frame_plan = choose_depths(problem.arrays, frame_plan)
    plan = plan_geometry(problem, frame_plan)
    kinds = list(problem.crossings.kind)
    x_m = {"road": 200.0, "river": 600.0, "gas_pipeline": 760.0, "telecom": 1200.0}
    xy_m = plan.alignment_xy_m
    along_m = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy_m, axis=0).T))])
    rows = []
    for kind, at_x_m in x_m.items():
        at_m = float(np.interp(at_x_m, xy_m[:, 0], along_m))
        piece = int(np.searchsorted(along_m, at_m)) - 1
        drive = next((n for n, d in enumerate(plan.drives) if d.from_vertex == piece), -1)
        rows.append((problem.crossings.feature_ids[kinds.index(kind)], at_m, drive))
    schedule = pd.DataFrame(rows, columns=["feature_id", "chainage_m", "drive_index"])
    audit = type("Audit", (), {"crossings": schedule})()
    finished = Finished(plan, (Stretch(problem, frame_plan),), audit)
    return problem, plan, explain(problem, halves, frame_plan, finished)


def _spoken(eur: float) -> str:
    return f"{round(eur / 1000.0) * 1000:,d}".replace(",", " ")


def test_each_section_says_what_the_cheapest_other_way_of_its_crossings_costs(told) -> None:
    _, plan, explained = told
    assert len(plan.drives) == 1
    assert len(explained.reasons) == 3
    # rows 0 road, 1 river, 2 gas pipeline, 3 telecom
    ways = explained.ways
    possible = ways[ways["status"].isin(["possible", "goes_round"]) & (ways["extra_eur"] >= 500.0)]
    least = possible.groupby("crossing_index")["extra_eur"].min()
    assert _spoken(least[0]) in explained.reasons[0]
    assert "road" in explained.reasons[0]
    if 1 in least:
        assert _spoken(min(least[row] for row in (1, 2) if row in least)) in explained.reasons[1]
    else:
        assert "No plan that passes Alder (river)" in explained.reasons[1]


def test_each_shaft_says_depth_place_and_how_far_it_may_move(told) -> None:
    _, plan, explained = told
    columns = explained.shaft_columns
    assert len(columns) == len(plan.shafts) == 2
    for shaft, (_, row) in zip(plan.shafts, columns.iterrows(), strict=True):
        assert row["reason"].startswith(f"{shaft.depth_m:.2f} m deep")
        assert "On the frame 20 m nearer to its drive" in row["reason"]
        assert f"it may move {row['move_along_back_m']:.0f} m back" in row["reason"]
    # away from the river each may move, towards it not
    launch, reception = (columns.iloc[at] for at in (0, 1))
    assert launch["move_along_back_m"] > 0.0
    assert reception["move_along_on_m"] > 0.0
    for row, nearer_m in ((launch, launch["move_along_on_m"]), (reception, reception["move_along_back_m"])):
        costs = (
            "nearer to its drive it would cost over" not in row["reason"] and "EUR more. For" in row["reason"]
        )
        assert (nearer_m > 0.0) == costs


def test_a_wider_area_costs_more_and_holds_more_places(told) -> None:
    table = told[2].tolerances
    assert set(table["extra_cost_percent"]) == {1.0, 2.0, 5.0}
    for _, own in table.groupby("shaft_index"):
        assert own["places"].is_monotonic_decreasing
        assert own["extra_eur"].tolist() == pytest.approx(
            [own["extra_eur"].iloc[0] * share for share in (1.0, 0.4, 0.2)]
        )


def test_alternatives_are_told_with_what_they_are_about(told) -> None:
    table = told[2].alternatives
    assert 1 <= len(table) <= 3
    assert table["extra_eur"].is_monotonic_increasing
    assert (table["about_index"] >= 0).any()
    assert all(table["instead"])


def test_alternatives_are_measured_as_the_plan_on_the_frame_is(told) -> None:
    """A measure that counts 1 000 EUR a shaft: what is told is the difference in shafts."""
    problem = told[0]
    frame_plan, passages = find_plan(problem.arrays), run_passages(problem.arrays, 5e6)
    found = crossing_ways(problem, passages, frame_plan, range(len(problem.crossings)))
    rows = range(len(problem.crossings))
    table = alternatives_table(
        problem,
        frame_plan,
        found,
        rows,
        passages.optimum_eur,
        measure=Measure(lambda p: 1e3 * len(p.shafts), lambda _: 3),
    )
    own = len(plan_geometry(problem, frame_plan).shafts)
    assert table["measured_eur"].tolist() == [1e3 * n for n in table["shafts"]]
    assert table["measured_extra_eur"].tolist() == [1e3 * (n - own) for n in table["shafts"]]
    assert any(n != own for n in table["shafts"])
    assert table["breaches"].tolist() == [3] * len(table)
    assert told[2].alternatives["measured_eur"].isna().all()


def explained_with(told, text: str, features: list[str]):
    """Return what is explained with other settings, of a schedule of some features."""
    problem, plan, _ = told
    other = replace(problem, assumptions=load_assumptions(TWENTY_M + text))
    n = len(features)
    columns = {"feature_id": features, "chainage_m": [200.0] * n, "drive_index": [-1] * n}
    audit = type("Audit", (), {"crossings": pd.DataFrame(columns)})()
    frame_plan = find_plan(problem.arrays)
    return explain(other, None, frame_plan, Finished(plan, (Stretch(problem, frame_plan),), audit))


def test_nothing_is_looked_for_that_is_not_asked_for(told) -> None:
    found = explained_with(told, "[explain]\ncrossing_ways = false\nshaft_tolerance = false\n", ["road"])
    assert all(len(layer) == 0 for layer in found.layers.values())
    assert all(math.isnan(value) for value in found.shaft_columns["move_left_m"])
    assert found.warnings == ()


def test_a_link_with_too_many_shafts_or_crossings_is_warned_of(told) -> None:
    found = explained_with(told, "[explain]\nn_most_crossings = 1\nn_most_shafts = 1\n", ["road", "river"])
    assert found.warnings == (
        "Other ways to pass 2 crossings were not looked for: more than explain.n_most_crossings = 1.",
        "How far 2 shafts may move was not looked for: more than explain.n_most_shafts = 1.",
    )
    assert all(len(layer) == 0 for layer in found.layers.values())


def test_a_crossing_of_several_features_without_a_name_is_called_by_the_one_that_is_met() -> None:
    """Two pieces of one canal, the first far off: the reason beside it names the second as well."""
    outlines = np.array([box(900.0, -5.0, 930.0, 5.0), box(40.0, -5.0, 70.0, 5.0)], dtype=object)
    features = SimpleNamespace(
        crossing=np.array([0, 0]), outline=outlines, name=np.array(["", ""], dtype=object)
    )
    problem = SimpleNamespace(
        crossings=SimpleNamespace(
            kind=("canal",), name=("",), feature_ids=("way/1;way/2",), features=features
        ),
        assumptions=load_assumptions(),
    )
    plan = SimpleNamespace(alignment_xy_m=[(0.0, 0.0), (20.0, 0.0), (90.0, 0.0), (200.0, 0.0)])
    run = SimpleNamespace(from_vertex=1, to_vertex=2, drive=0)
    text = _otherwise(problem, plan, run, [0], [0], {})
    assert text.startswith("No plan that passes canal way/2 otherwise costs less than ")
