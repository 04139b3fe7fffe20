"""Laws of smoothing on invented corridors: never dearer, never in breach, drives and pins untouched."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import shapely

from benchmarks.corridors import random_corridor
from routescreen.assumptions import load_assumptions
from routescreen.plan import section_runs, trench_length_m
from routescreen.polish.smooth import Smoother, smoothed_runs
from routescreen.screen import Solved, prepare, smoothed, solve_and_audit
from routescreen.takeoff import Scope, take_off, trench_eur

DEFAULTS = load_assumptions()
# corridors with a plan; 1 is a fixed alignment
SEEDS = (0, 1, 2, 4, 5, 9, 10, 11, 14, 22, 23, 30, 86)


@cache
def solved(seed: int) -> Solved:
    """Return the polished plan of a seed's corridor."""
    corridor = random_corridor(seed)
    problem, _ = prepare(corridor, DEFAULTS)
    return smoothed(solve_and_audit(problem, corridor), corridor)


def bill_eur(seed: int) -> tuple[float, float]:
    """Return the exact bills before and after [EUR]."""
    found = solved(seed)
    before, after = (
        take_off(Scope(plan, found.problem.sampler, found.problem.crossings, DEFAULTS)).total_eur(DEFAULTS)
        for plan in (found.on_frame, found.plan)
    )
    return before, after


@pytest.mark.parametrize("seed", SEEDS)
def test_no_run_and_no_bill_is_dearer(seed: int) -> None:
    found = solved(seed)
    before, after = bill_eur(seed)
    assert after <= before + 1e-6
    for run, smooth in zip(section_runs(found.on_frame), section_runs(found.plan), strict=True):
        assert (run.drive is None) == (smooth.drive is None)
        if run.drive is None:
            was, now = (
                trench_eur(Scope(plan, found.problem.sampler, found.problem.crossings, DEFAULTS), part)
                for plan, part in ((found.on_frame, run), (found.plan, smooth))
            )
            assert now <= was + 1e-6


@pytest.mark.parametrize("seed", SEEDS)
def test_no_breach_is_left(seed: int) -> None:
    assert solved(seed).audit.breaches == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_drives_shafts_terminals_and_objective_stay(seed: int) -> None:
    found = solved(seed)
    assert found.plan.shafts == found.on_frame.shafts
    assert found.plan.objective_eur == found.on_frame.objective_eur
    for drive, was in zip(found.plan.drives, found.on_frame.drives, strict=True):
        assert replace(drive, from_vertex=was.from_vertex, to_vertex=was.to_vertex) == was
        ends = found.plan.alignment_xy_m[[drive.from_vertex, drive.to_vertex]]
        assert np.array_equal(ends, found.on_frame.alignment_xy_m[[was.from_vertex, was.to_vertex]])
    assert np.array_equal(found.plan.alignment_xy_m[[0, -1]], found.on_frame.alignment_xy_m[[0, -1]])


def test_most_corridors_gain_and_none_grows_long() -> None:
    gains = [before - after for before, after in map(bill_eur, SEEDS)]
    assert sum(gain > 100.0 for gain in gains) >= len(SEEDS) // 2


def test_a_fixed_alignment_stays_as_it_is() -> None:
    found = solved(1)
    assert random_corridor(1).fixed_line is not None
    assert found.plan is found.on_frame or np.array_equal(
        found.plan.alignment_xy_m, found.on_frame.alignment_xy_m
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_places_to_pass_are_passed(seed: int) -> None:
    found, burnt = solved(seed), solved(seed).problem.burnt
    column = np.flatnonzero(burnt.pin_via >= 0)
    nodes = found.problem.frame.node_xy_m[column, burnt.pin_via[column]]
    line = shapely.LineString(found.plan.alignment_xy_m)
    assert (shapely.distance(line, shapely.points(nodes)) < 1e-6).all()


@pytest.mark.parametrize("seed", [2, 14, 30])
def test_no_piece_steps_over_what_must_not_be_cut(seed: int) -> None:
    """Independent of every rule of the package: the lines against the input's own geometries."""
    found, corridor = solved(seed), random_corridor(seed)
    never = [kind for kind, treatment in DEFAULTS.treatments.items() if treatment.trench == "no"]
    table = corridor.crossings[corridor.crossings["kind"].isin(never)]
    shapes = table.geometry.to_numpy()[~table["treatment"].isin(["open_cut"]).to_numpy()]
    assert len(shapes) > 0
    pieces = [
        shapely.LineString(pair)
        for pair, is_drive in zip(pairwise(found.plan.alignment_xy_m), found.plan.is_drive, strict=True)
        if not is_drive
    ]
    assert pieces
    assert not shapely.intersects(np.array(pieces)[:, None], shapes[None, :]).any()


def test_runs_in_breach_are_put_back_and_no_others() -> None:
    found = solved(2)
    problem, corridor = found.problem, random_corridor(2)
    runs = section_runs(found.on_frame)
    changed = [
        number for number in range(len(runs)) if smoothed_runs(found.on_frame, found.plan, [(number, None)])
    ]
    assert len(changed) >= 1
    back = smoothed_runs(found.on_frame, found.plan, [(changed[0], None)])
    again = Smoother(problem, corridor).smooth(found.on_frame, back)
    left = [number for number in range(len(runs)) if smoothed_runs(found.on_frame, again, [(number, None)])]
    assert left == changed[1:]
    # a point alone tells the run that passes nearest
    smooth = section_runs(found.plan)[changed[0]]
    x_m, y_m = found.plan.alignment_xy_m[smooth.from_vertex : smooth.from_vertex + 2].mean(axis=0).tolist()
    assert smoothed_runs(found.on_frame, found.plan, [(-1, (x_m, y_m))]) == back


def test_switched_off_the_plan_stays_on_the_frame() -> None:
    corridor = random_corridor(2)
    off = load_assumptions("[polish]\nis_enabled = false\n")
    problem, _ = prepare(corridor, off)
    found = smoothed(solve_and_audit(problem, corridor), corridor)
    assert np.array_equal(found.plan.alignment_xy_m, found.on_frame.alignment_xy_m)
    assert trench_length_m(found.plan) == trench_length_m(found.on_frame)
