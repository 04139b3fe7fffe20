"""How far drives span in plans within a limit: no drive of a plan that costs so much may lie beyond it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest

from benchmarks.proof_instances import Size, proof_arrays
from routescreen.search.drive_kernel import drive_key
from routescreen.search.halves import find_plan
from routescreen.search.reach import Reach, most_columns
from routescreen.search.solve import DriveStep
from routescreen.search.through import run_passages
from tests.search.test_by_hand import corridor

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.solve import FramePlan

SIZES = (Size(24, 4, 4), Size(40, 3, 6), Size(30, 5, 5))
N_PLANS = 6


def key_of(arrays: SearchArrays, step: DriveStep) -> int:
    nx, ny = arrays.ground.ground_m.shape
    lower, upper = (node[0] * ny + node[1] for node in (step.lower, step.upper))
    n_methods = len(arrays.drive.bore_m)
    return drive_key(nx * ny, n_methods, lower, upper, step.method, step.is_launched_at_lower)


def ever_dearer_plans(arrays: SearchArrays) -> list[FramePlan]:
    """Return the optimum, that without its drives, that without those as well, and so on."""
    found: list[FramePlan] = []
    banned: set[int] = {int(key) for key in arrays.drive.banned}
    for _ in range(N_PLANS):
        drive = arrays.drive._replace(banned=np.array(sorted(banned), np.int64))
        plan = find_plan(arrays._replace(drive=drive))
        drives = [] if plan is None else [step for step in plan.steps if isinstance(step, DriveStep)]
        if plan is None or not drives:
            break
        found.append(plan)
        banned |= {key_of(arrays, step) for step in drives}
    return found


@pytest.mark.parametrize("seed", range(12))
def test_the_drives_of_a_plan_span_no_more_than_its_cost_allows(seed: int) -> None:
    arrays = proof_arrays(seed, SIZES[seed % 3])
    passages = run_passages(arrays, math.inf)
    if passages is None:
        return
    reach = Reach(arrays, passages)
    for plan in ever_dearer_plans(arrays):
        for step in plan.steps:
            if isinstance(step, DriveStep):
                start, end = step.lower[0], step.upper[0]
                spans = reach.about(end, start + 1, plan.objective_eur)
                assert spans.n_columns >= end - start
                assert spans.last_column >= end


def test_the_limit_cuts_what_is_looked_at() -> None:
    """On the random corridors dearer plans have longer drives; the optimum's own cost leaves few columns."""
    cut = n_all = 0
    for seed in range(12):
        arrays = proof_arrays(seed, SIZES[seed % 3])
        passages = run_passages(arrays, math.inf)
        if passages is None:
            continue
        reach, last = Reach(arrays, passages), arrays.ground.ground_m.shape[0] - 1
        for column in range(1, last):
            n_all += 1
            cut += reach.about(column, column, passages.optimum_eur).n_columns < arrays.longest_columns
    assert n_all > 100
    assert cut > n_all / 4


def test_by_hand_what_is_closed_parts_the_drives() -> None:
    """Drives 1-5, or 1-3 and 3-5: none leads from before column 3 into it where that is closed."""
    arrays = corridor()
    passages = run_passages(arrays, math.inf)
    assert passages is not None
    reach = Reach(arrays, passages)
    beyond = (np.arange(6) >= 3)[:, None]
    free = reach.about(1, 6, 19.0)
    assert (free.n_columns, free.last_column) == (4, 5)
    closed = reach.about(1, 6, 19.0, is_beyond=beyond)
    assert (closed.n_columns, closed.last_column) == (2, 5)
    opened = reach.about(1, 6, 19.0, is_beyond=beyond, open_method=0)
    assert opened == free
    assert reach.about(1, 3, 19.0, is_beyond=beyond).last_column == -1


@pytest.mark.parametrize(("rate_eur_per_m", "least_eur"), [(0.0, 7.0), (0.01, 10.0)])
def test_by_hand_the_least_that_a_plan_with_a_long_drive_costs(
    rate_eur_per_m: float, least_eur: float
) -> None:
    """Drive 1-5: trench 1, launch 1 + 2, reception 1 + 2 at its own least depth; 300 m of whole columns."""
    arrays = corridor()
    rates = np.full_like(arrays.drive.soil_eur_per_m, rate_eur_per_m)
    arrays = arrays._replace(drive=arrays.drive._replace(soil_eur_per_m=rates, rock_eur_per_m=rates))
    passages = run_passages(arrays, math.inf)
    assert passages is not None
    reach = Reach(arrays, passages)
    within, beyond = (reach.about(5, 2, least_eur + more_eur) for more_eur in (0.001, -0.001))
    assert (within.n_columns, within.last_column) == (4, 5)
    assert beyond.last_column == -1


@pytest.mark.parametrize(
    ("longest_m", "n"),
    [pytest.param(29.0, 4, id="three-whole"), pytest.param(17.0, 2, id="one-whole"), (8.0, 1), (1e9, 50)],
)
def test_columns_between_the_ends_are_passed_whole(longest_m: float, n: int) -> None:
    """Of columns 9 m wide a drive of 29 m passes three whole: its ends lie four columns apart."""
    assert most_columns(np.array([10.0, 9.0]), longest_m, 50) == n


def test_columns_without_width_hold_no_drive_back() -> None:
    assert most_columns(np.array([10.0, 0.0]), 100.0, 50) == 50
