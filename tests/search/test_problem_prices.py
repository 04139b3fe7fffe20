"""The search's prices against the ground itself, sampled every few centimetres along the true lines."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from benchmarks.corridors import random_corridor
from routescreen.assumptions import load_assumptions
from routescreen.corridor.stencil import MOVES
from routescreen.money.measure import (
    ShaftGround,
    crossing_trench,
    crossing_trench_per_m,
    drive_per_m,
    rates_eur,
    shaft_in_ground,
    shaft_site,
    trench_per_m,
)
from routescreen.screen import prepare
from routescreen.search.fine_ground import fine_xy
from routescreen.search.frame_bill import _n_runs
from routescreen.search.ground_runs import drive_runs
from routescreen.search.shaft_kernel import shaft_table_eur

if TYPE_CHECKING:
    from routescreen.search.problem import FrameProblem

ASSUMPTIONS = load_assumptions()
RATES = rates_eur(ASSUMPTIONS)
STEP_M = 0.02
# 1 is a fixed alignment; 22 cuts contaminated ground, dearer by the metre; all have edges of the ground
SEEDS = (1, 22, 40)
N_MOVES_TRIED = 30


@cache
def problem_of(seed: int) -> FrameProblem:
    problem, _ = prepare(random_corridor(seed), ASSUMPTIONS)
    return problem


def sampled_eur(problem: FrameProblem, start: np.ndarray, end: np.ndarray, *, is_narrow: bool) -> float:
    """Price a trench by what lies at the middles of tiny pieces, crossings by the metre included."""
    n = int(np.ceil(np.hypot(*(end - start)) / STEP_M))
    middles = start + ((np.arange(n) + 0.5) / n)[:, None] * (end - start)
    samples, narrow = problem.sampler.sample(middles), np.full(n, is_narrow)
    eur = trench_per_m(samples, narrow, ASSUMPTIONS) @ RATES
    keys = problem.crossings.inside_keys()
    for (kind, dip), outline in zip(keys, problem.crossings.outline, strict=True):
        inside = shapely.intersects_xy(outline, middles[:, 0], middles[:, 1])
        if inside.any():
            eur += inside * (crossing_trench_per_m(kind, samples, narrow, ASSUMPTIONS, dip) @ RATES)
    return float(eur.mean() * np.hypot(*(end - start)))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_move_costs_what_lies_below_its_true_line(seed: int) -> None:
    """Pieces of 2 cm misplace each change of ground by 1 cm at most: some 10 EUR of many thousands."""
    problem = problem_of(seed)
    nodes, eur = problem.frame.node_xy_m, problem.arrays.trench.move_eur
    tried = np.random.default_rng(seed).permutation(np.argwhere(np.isfinite(eur)))[:N_MOVES_TRIED]
    assert len(tried) == N_MOVES_TRIED
    for column, row, move in tried:
        dc, dr = MOVES[move]
        is_narrow = bool(problem.burnt.move_narrow[column, row, move])
        expected = sampled_eur(problem, nodes[column, row], nodes[column + dc, row + dr], is_narrow=is_narrow)
        assert eur[column, row, move] == pytest.approx(expected, rel=5e-4, abs=60.0)


@pytest.mark.parametrize("seed", SEEDS)
def test_drives_are_measured_on_their_whole_length(seed: int) -> None:
    problem = problem_of(seed)
    nx, ny = problem.frame.shape
    columns = [(2, 3), (4, 9), (3, 12), (nx - 9, nx - 1)]
    n_tried = 0
    for lower, upper in columns:
        for ja, jb in ((ny // 2, ny // 2), (ny // 2, min(ny - 1, ny // 2 + 2))):
            if not (problem.frame.is_valid[lower, ja] and problem.frame.is_valid[upper, jb]):
                continue
            n_tried += 1
            _, along_m, length_m = drive_runs(problem.frame, problem.sampler, (lower, ja), (upper, jb))
            chord = problem.frame.node_xy_m[upper, jb] - problem.frame.node_xy_m[lower, ja]
            assert length_m.sum() == pytest.approx(np.hypot(*chord))
            assert length_m.min() > 0.0
            # each piece weighted by its middle: the centre of the line
            assert (along_m * length_m).sum() / length_m.sum() == pytest.approx(0.5 * np.hypot(*chord))
    assert n_tried >= 4


@pytest.mark.parametrize("seed", SEEDS)
def test_a_metre_of_drive_costs_what_lies_in_its_fine_cell(seed: int) -> None:
    """Kinds of ground carry the soil, rock and cover that the sampler finds at the fine cells' middles."""
    problem, rng = problem_of(seed), np.random.default_rng(seed)
    fine, drive = problem.arrays.fine, problem.arrays.drive
    shape = np.array(fine.kind.shape) // np.array(problem.frame.shape)
    cells = np.argwhere(np.repeat(np.repeat(problem.frame.is_valid, shape[0], axis=0), shape[1], axis=1))
    column, row = rng.permutation(cells)[:400].T
    xy = fine_xy(problem.frame, column, row)
    is_known = ~np.isnan(problem.sampler.terrain_m(xy))
    column, row, samples = column[is_known], row[is_known], problem.sampler.sample(xy[is_known])
    kind = fine.kind[column, row]
    assert np.array_equal(fine.soil[kind], samples.soil_class)
    assert np.allclose(fine.rock_level_m[column, row], samples.ground_m - samples.rock_depth_m)
    for index, method in enumerate(problem.methods):
        expected = drive_per_m(method.name, samples.soil_class, samples.cover_class, ASSUMPTIONS) @ RATES
        assert np.allclose(drive.soil_eur_per_m[index, kind], expected)
        expected = drive_per_m(method.name, samples.rock_soil_class, samples.cover_class, ASSUMPTIONS) @ RATES
        assert np.allclose(drive.rock_eur_per_m[index, kind], expected)


def test_a_move_that_comes_back_into_a_crossing_pays_for_each_run() -> None:
    """Open moves over crossings merged of several features: a fee a run, less the one begun before."""
    problem = problem_of(40)
    burnt, crossings, gap_m = problem.burnt, problem.crossings, ASSUMPTIONS.frame.merge_gap_m
    nodes, flat_open = problem.frame.node_xy_m, problem.burnt.move_ok.ravel()
    n_several = 0
    for move in np.unique(burnt.pair_move[flat_open[burnt.pair_move]]):
        column, row, v = np.unravel_index(move, burnt.move_ok.shape)
        dc, dr = MOVES[v]
        line = shapely.LineString([nodes[column, row], nodes[column + dc, row + dr]])
        ahead = back = 0.0
        for pair in np.flatnonzero(burnt.pair_move == move):
            outline = crossings.outline[burnt.pair_crossing[pair]]
            n_runs = _n_runs(line, outline, gap_m)
            n_several += n_runs > 1
            met = int(burnt.pair_crossing[pair])
            fee = float(crossing_trench(crossings.kind[met], ASSUMPTIONS, crossings.dip(met)) @ RATES)
            ahead += fee * (n_runs - int(burnt.pair_start_inside[pair]))
            back += fee * (n_runs - int(burnt.pair_end_inside[pair]))
        entry = problem.arrays.trench.entry
        assert entry.price_eur[entry.ahead[column, row, v]] == pytest.approx(ahead)
        assert entry.price_eur[entry.back[column, row, v]] == pytest.approx(back)
    assert n_several > 0


@pytest.mark.parametrize("seed", SEEDS)
def test_what_the_place_of_a_shaft_adds_is_measured_at_that_place(seed: int) -> None:
    problem = problem_of(seed)
    site, node = problem.arrays.shaft.site, problem.ground.node
    rng = np.random.default_rng(seed)
    for _ in range(40):
        column, row = (int(rng.integers(n)) for n in problem.frame.shape)
        incoming, outgoing = (int(rng.integers(site.near_eur.shape[2])) for _ in range(2))
        if not (incoming or outgoing):
            continue
        items = shaft_site(
            np.array([incoming]),
            np.array([outgoing]),
            np.array([node.access_distance_m[column, row]]),
            np.array([node.cover_class[column, row]]),
            ASSUMPTIONS,
        )
        at = (site.kind[column, row], incoming, outgoing)
        added = site.near_eur[at] + site.road_frac[column, row] * (site.far_eur[at] - site.near_eur[at])
        assert added == pytest.approx(float(items[0] @ RATES), rel=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_shaft_costs_what_the_bill_says(seed: int) -> None:
    """Hole, ramps with what they are longer to hold the cables apart, rock: by roles, water and depth."""
    problem = problem_of(seed)
    s, node = problem.arrays, problem.ground.node
    rng, longer = np.random.default_rng(seed), 0
    places = np.argwhere(problem.frame.is_valid)
    for column, row in places[rng.integers(len(places), size=60)]:
        incoming, outgoing = (int(one) for one in rng.integers(s.shaft.table_eur.shape[2], size=2))
        level = int(rng.integers(8, s.shaft.table_eur.shape[4]))
        asked_eur = shaft_table_eur(s, int(column), int(row), incoming, outgoing, level)
        if not np.isfinite(asked_eur):
            continue
        at = (column, row)
        here = ShaftGround(
            *([getattr(node, name)[at]] for name in ("soil_class", "rock_soil_class", "rock_depth_m")),
            [node.groundwater_depth_m[at]],
        )
        is_wet, is_reached = (level >= first[at] for first in (s.shaft.wet_level, s.shaft.reached_level))
        items = shaft_in_ground(
            [incoming],
            [outgoing],
            here,
            [is_wet],
            [level * s.shaft.step_m],
            ASSUMPTIONS,
            is_reached=[is_reached],
        )
        assert asked_eur == pytest.approx(float(items[0] @ RATES), rel=1e-9)
        first_wet = min(int(s.shaft.wet_level[at]), s.shaft.ramp_eur.shape[1] - 1)
        ramp_eur = s.shaft.ramp_eur[node.soil_class[at], first_wet]
        longer += ramp_eur[max(incoming, outgoing), level] > 0.0
    assert longer > 5


@pytest.mark.parametrize("seed", SEEDS)
def test_a_shaft_is_wet_from_the_first_level_whose_bottom_lies_below_the_water(seed: int) -> None:
    """Below the groundwater as given, and, shallower, below the highest, 1.5 m above it."""
    problem = problem_of(seed)
    shaft, is_valid = problem.arrays.shaft, problem.frame.is_valid
    given_m = problem.ground.node.groundwater_depth_m[is_valid]
    for level, water_m in ((shaft.wet_level, given_m), (shaft.reached_level, given_m - 1.5)):
        assert np.all(level[is_valid] * shaft.step_m > water_m)
        assert np.all((level[is_valid] - 1) * shaft.step_m <= water_m + 1e-6)
