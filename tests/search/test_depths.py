"""The depths of chains of drives: never dearer, the cheapest of all combinations, every rule kept."""

from __future__ import annotations

import functools
import itertools
import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from benchmarks.proof_instances import Size, proof_arrays
from routescreen.search.depth_kernel import lines_by_level, shaft_prices_eur
from routescreen.search.depths import choose_depths
from routescreen.search.drive_price_kernel import new_work
from routescreen.search.halves import find_plan
from routescreen.search.solve import DriveStep, ShaftStep

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.solve import FramePlan

SIZE = Size(18, 4, 5)
SEEDS = range(100, 160)


@functools.cache
def plans() -> list[tuple[SearchArrays, FramePlan]]:
    found = ((arrays, find_plan(arrays)) for arrays in (proof_arrays(seed, SIZE) for seed in SEEDS))
    return [(arrays, plan) for arrays, plan in found if plan is not None]


def shaft_eur(arrays: SearchArrays, shaft: ShaftStep) -> float:
    return float(shaft_prices_eur(arrays, *shaft.node, shaft.incoming_role, shaft.outgoing_role)[shaft.level])


def drives_of(plan: FramePlan) -> list[DriveStep]:
    return [step for step in plan.steps if isinstance(step, DriveStep)]


def changing_eur(arrays: SearchArrays, plan: FramePlan) -> float:
    """What the depths of a plan change: its drives and its shafts."""
    return sum(step.line.eur for step in drives_of(plan)) + sum(shaft_eur(arrays, s) for s in plan.shafts)


def table_of(arrays: SearchArrays, drive: DriveStep) -> np.ndarray:
    table = np.full((arrays.shaft.table_eur.shape[4], 5), math.inf)
    work = new_work(
        drive.upper[0] - drive.lower[0],
        arrays.drive.drive_fee_eur.shape[0],
        arrays.drive.longest_m.shape[1],
    )
    lines_by_level(arrays, work, drive.method, *drive.lower, *drive.upper, drive.is_launched_at_lower, table)
    return table[np.isfinite(table[:, 0])]


def test_never_dearer_and_the_objective_falls_by_what_is_saved() -> None:
    gains = []
    for arrays, plan in plans():
        better = choose_depths(arrays, plan)
        saved = changing_eur(arrays, plan) - changing_eur(arrays, better)
        assert better.depth_gain_eur == pytest.approx(saved, abs=1e-6)
        assert better.objective_eur == pytest.approx(plan.objective_eur - saved, abs=1e-6)
        assert saved >= 0.0
        gains.append(saved)
    assert sum(gain > 1.0 for gain in gains) >= 3  # it does something


def test_places_methods_and_roles_stay_and_shafts_are_as_deep_as_their_drives() -> None:
    for arrays, plan in plans():
        better = choose_depths(arrays, plan)
        assert [replace(s, level=0) for s in better.shafts] == [replace(s, level=0) for s in plan.shafts]
        for old, new in zip(plan.steps, better.steps, strict=True):
            if isinstance(old, DriveStep):
                same = (old.lower, old.upper, old.method, old.is_launched_at_lower)
                assert (new.lower, new.upper, new.method, new.is_launched_at_lower) == same
            else:
                assert new == old
        for shaft in better.shafts:
            levels = [d.line.upper_level for d in drives_of(better) if d.upper == shaft.node]
            levels += [d.line.lower_level for d in drives_of(better) if d.lower == shaft.node]
            assert shaft.level == max(levels)


def test_as_cheap_as_the_cheapest_of_all_combinations() -> None:
    n_chains = 0
    for arrays, plan in plans():
        drives = drives_of(plan)
        # one chain of two drives: few enough combinations to try them all
        if len(drives) != 2 or drives[0].upper != drives[1].lower:
            continue
        n_chains += 1
        first, shared, last = plan.shafts
        prices = [
            shaft_prices_eur(arrays, *shaft.node, shaft.incoming_role, shaft.outgoing_role)
            for shaft in (first, shared, last)
        ]
        options = [
            [(row[0], int(row[1]), int(row[2])) for row in table_of(arrays, drive)]
            + [(drive.line.eur, drive.line.lower_level, drive.line.upper_level)]
            for drive in drives
        ]
        least = min(
            one[0] + other[0] + prices[0][one[1]] + prices[1][max(one[2], other[1])] + prices[2][other[2]]
            for one, other in itertools.product(*options)
        )
        assert changing_eur(arrays, choose_depths(arrays, plan)) == pytest.approx(least, abs=1e-6)
    assert n_chains >= 3


def test_every_line_keeps_its_level_its_grade_and_the_ceiling() -> None:
    for arrays, plan in plans()[:20]:
        for drive in drives_of(plan):
            low, high = (
                arrays.drive.slope_min_frac[drive.method],
                arrays.drive.slope_max_frac[drive.method],
            )
            if not drive.is_launched_at_lower:
                low, high = -high, -low
            ground = arrays.ground.ground_m[drive.lower], arrays.ground.ground_m[drive.upper]
            below = arrays.drive.bore_m[drive.method] + arrays.shaft.sump_m
            for _, lower, upper, slope, crown in table_of(arrays, drive):
                assert low - 1e-12 <= slope <= high + 1e-12
                ends = crown, crown + slope * drive.length_m
                for level, surface, end in zip((lower, upper), ground, ends, strict=True):
                    assert level * arrays.shaft.step_m >= surface - end + below - 1e-6
                for column, row in drive.cells:
                    # along the whole column the crown stays under the ceiling of each touched cell
                    away = np.linalg.norm(
                        arrays.frame.node_xy_m[column, row] - arrays.frame.node_xy_m[drive.lower]
                    )
                    at = min(max(away, 0.0), drive.length_m)
                    ceiling = arrays.drive.ceiling_m[drive.method, column, row]
                    assert crown + slope * at <= ceiling + abs(slope) * arrays.frame.cell_m + 1e-6
