"""What the search relies on in the prices of shafts: refused where it fails, used where it holds."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchmarks.corridors import random_corridor
from benchmarks.proof import run
from benchmarks.proof_instances import Size, proof_arrays
from routescreen.assumptions import load_assumptions
from routescreen.errors import InputError
from routescreen.screen import prepare
from routescreen.search.label_kernel import drop_eur, largest_drop_eur, shared_more_eur, slack_eur, spare_eur
from routescreen.search.problem import check_shaft_prices
from routescreen.search.solve import optimum_eur

if TYPE_CHECKING:
    from routescreen.search.arrays import SearchArrays

few = settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])


def small_table(alone: list[float], both: list[float]) -> np.ndarray:
    """One soil, dry and wet alike, one method of one role: prices of a single and of a shared shaft."""
    table = np.full((1, 2, 2, 2, len(alone)), math.inf)
    table[0, :, 0, 1] = table[0, :, 1, 0] = alone
    table[0, :, 1, 1] = both
    return table


def test_extra_cost_of_a_shared_shaft_by_hand() -> None:
    table = small_table([10.0, 20.0, 40.0], [15.0, 27.0, 43.0])
    np.testing.assert_allclose(shared_more_eur(table)[0, 0, 1, 0], [5.0, 7.0, 3.0])
    # it falls by 4 from the second level to the third
    np.testing.assert_allclose(largest_drop_eur(table)[0, 0, 1], [4.0])


def with_table(arrays: SearchArrays, table: np.ndarray) -> SearchArrays:
    return arrays._replace(shaft=arrays.shaft._replace(table_eur=table))


def test_what_an_arrived_drive_pays_more_by_hand() -> None:
    arrays = with_table(proof_arrays(0, Size(6, 2, 3)), small_table([10.0, 20.0, 40.0], [15.0, 27.0, 43.0]))
    # from each level on the least of the extras further down, and never more than the shaft alone
    np.testing.assert_allclose(spare_eur(arrays)[0, 0, 1], [3.0, 3.0, 3.0])
    np.testing.assert_allclose(drop_eur(arrays), [0.0, 4.0])
    # the extras fall by 4 at most and are 3 at least: in rock the shared shaft may be cheaper by 1
    np.testing.assert_allclose(slack_eur(arrays), [0.0, 1.0])


@pytest.mark.parametrize("longest_m", [100.0, 300.0, 900.0, 1200.0])
def test_a_shorter_longest_drive_is_no_fault_of_the_rates(longest_m: float) -> None:
    prepare(random_corridor(2), load_assumptions(f"[methods.two_pass]\nlongest_m = {longest_m}\n"))


def test_shafts_that_break_what_the_search_relies_on_are_refused() -> None:
    shaft = prepare(random_corridor(2), load_assumptions())[0].arrays.shaft
    check_shaft_prices(shaft)
    cheaper_shared, cheaper_deep = shaft.table_eur.copy(), shaft.table_eur.copy()
    cheaper_shared[:, :, 1, 1] = 0.5 * cheaper_shared[:, :, 0, 1]
    cheaper_deep[..., 40] *= 0.5
    less_for_water = shaft.table_eur.copy()
    less_for_water[:, 1, ..., 20:30] += 50_000.0  # and no more than that of the dry shaft further down
    less_for_water = np.maximum.accumulate(less_for_water, axis=-1)
    for table in (cheaper_shared, cheaper_deep, less_for_water):
        with pytest.raises(InputError, match="would be cheaper"):
            check_shaft_prices(shaft._replace(table_eur=table))
    cheaper_ramps = np.broadcast_to(-np.arange(shaft.ramp_eur.shape[-1]), shaft.ramp_eur.shape)
    with pytest.raises(InputError, match="would be cheaper"):
        check_shaft_prices(shaft._replace(ramp_eur=cheaper_ramps))


def with_extras_that_vanish(arrays: SearchArrays, rise: float) -> SearchArrays:
    """Let a shared shaft cost more than a single one by `rise` from a third of the depth on, less and less.

    Its price stands still until that of the single one has caught up: a hump in the extra cost.
    """
    table = arrays.shaft.table_eur.copy()
    shared = table[:, :, 1:, 1:]
    alone = np.broadcast_to(table[:, :, :1, 1:], shared.shape)
    is_known = np.isfinite(shared) & np.isfinite(alone)
    price = np.where(is_known, alone, 0.0)
    third = price.shape[-1] // 3
    step = price[..., third, None] + rise
    late = np.arange(price.shape[-1]) >= third
    raised = np.where(late, np.maximum(price, np.where(price[..., third, None] > 0.0, step, 0.0)), price)
    table[:, :, 1:, 1:] = np.where(is_known, raised, math.inf)
    return with_table(arrays, table)


@few
@given(seed=st.integers(0, 10_000), rise=st.floats(0.0, 3_000.0))
def test_extras_that_fall_in_rock_lose_no_plan(seed: int, rise: float) -> None:
    changed = with_extras_that_vanish(proof_arrays(seed, Size(14, 4, 4)), rise)
    pruned, whole = (optimum_eur(changed, run(changed, is_pruned=is_pruned)) for is_pruned in (True, False))
    assert pruned == whole
    assert rise < 1.0 or slack_eur(changed).max() > 0.0
