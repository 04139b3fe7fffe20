"""Drives of two methods that share a shaft: each method's depth limits what its own drive asks for."""

from __future__ import annotations

import math

import numpy as np
import pytest

from benchmarks.instances import no_forces
from benchmarks.oracles.brute_force import enumerate_plans
from benchmarks.oracles.pieces import pieces_of
from benchmarks.oracles.state_graph import shortest_plan
from benchmarks.proof import Instance, run
from benchmarks.proof_instances import Size
from routescreen.assumptions import load_assumptions
from routescreen.drives.methods import method_geometry
from routescreen.search.arrays import (
    N_BINS,
    DriveArrays,
    SearchArrays,
    ShaftArrays,
    no_gaps,
    none_drilled,
    sites_of_nodes,
)
from routescreen.search.label_kernel import shared_more_eur
from routescreen.search.layout import open_land
from routescreen.search.other_methods import Hindrance, extra_on_this_line
from routescreen.search.problem import _shaft_table
from routescreen.search.solve import DriveStep, optimum_eur
from routescreen.search.trace import trace_plan
from tests.search.test_by_hand import corridor

DEEP, SHALLOW = 0, 1
MOST_OF_SHALLOW = 4
PER_METHOD = (
    *("ceiling_m", "service_ceiling_m", "floor_m", "soil_eur_per_m", "rock_eur_per_m", "is_closed"),
    *("passed_eur", "longest_m", "least_length_m", "slope_min_frac", "slope_max_frac", "arc_per_m"),
    *("bore_m", "outer_bore_m", "n_bores", "deviation_frac", "head_limit_m", "fixed_eur", "piece_eur"),
    *("pump_eur", "pump_eur_per_m", "layout_eur_per_m", "layout_eur"),
)


def _key(lower: int, upper: int, method: int) -> int:
    return ((lower * 6 + upper) * 2 + method) * 2 + 1


def _drives(one: DriveArrays) -> DriveArrays:
    twice = {name: np.concatenate([getattr(one, name)] * 2) for name in PER_METHOD}
    banned = [_key(1, 5, DEEP), _key(1, 5, SHALLOW), _key(3, 5, SHALLOW)]
    drive = one._replace(**twice, gap=no_gaps((2, 6, 1)), banned=np.array(sorted(banned), np.int64))
    return drive._replace(fixed_eur=np.array([1.0, 0.25]))


def _shafts(one: ShaftArrays) -> ShaftArrays:
    depth = np.arange(11)
    table = np.broadcast_to(1.0 + depth, (1, 3, 5, 5, 11)).copy()
    table[:, :, 1:, 1:] += 1.0
    table[:, :, 0, 0] = np.inf
    most = np.array([0, 10, 10, MOST_OF_SHALLOW, MOST_OF_SHALLOW])
    table[:, :, depth > np.maximum(most[:, None], most)[..., None]] = np.inf
    return one._replace(
        is_allowed=np.ascontiguousarray(np.broadcast_to(one.is_allowed, (6, 1, 2, 2, N_BINS))),
        table_eur=table,
        ramp_eur=np.zeros((table.shape[0], table.shape[4] + 1, table.shape[2], table.shape[4])),
        ramp_steps=1,
        fill_eur=np.zeros((1, 5, 5, 11)),
        fill_level=np.full((1, 1, 5), 99),
        fill_below=np.zeros(5, np.int64),
        site=sites_of_nodes(np.zeros((6, 1, 5, 5))),
        least_level=np.zeros(5, np.int64),
        most_level=most,
        weight_eur_per_m=np.array([[1.0], [1.0], [4.0], [1.0], [4.0]]),
    )


def two_methods() -> SearchArrays:
    """The corridor drawn by hand with a second method: its set-up costs 0.25, its shafts end at 4 levels.

    Nothing drives from 1 to 5, and the second method not from 3 to 5, which asks for 5 levels at 3.
    """
    arrays = corridor()
    return arrays._replace(
        drive=_drives(arrays.drive),
        shaft=_shafts(arrays.shaft),
        drilled=none_drilled(2),
        force=no_forces(2, 1),
        layout=open_land(2, (6, 1)),
    )


@pytest.mark.parametrize("is_pruned", [True, False])
def test_a_shallow_method_arrives_in_the_shaft_that_another_needs_deeper(*, is_pruned: bool) -> None:
    """1 + (1 + 2) + (0.25 + 2) + (2 + 5) + 2 + (1 + 2) = 18.25; with the first method alone it is 19."""
    arrays = two_methods()
    forward = run(arrays, is_pruned=is_pruned)
    assert optimum_eur(arrays, forward) == pytest.approx(18.25)
    plan = trace_plan(arrays, forward)
    assert [(s.node[0], s.incoming_role, s.outgoing_role, s.level) for s in plan.shafts] == [
        (1, 0, 3, 2),
        (3, 4, 1, 5),
        (5, 2, 0, 2),
    ]


def test_every_plan_one_by_one_and_the_graph_of_states_say_the_same() -> None:
    pieces = pieces_of(two_methods())
    assert enumerate_plans(pieces).eur == pytest.approx(18.25)
    assert shortest_plan(pieces)[0] == pytest.approx(18.25)


def test_deeper_than_the_second_method_goes_its_dearest_own_shaft_is_what_is_saved() -> None:
    """Of a shaft of 2 + 6 the second method, alone at its 4 levels, would have paid 1 + 4."""
    more = shared_more_eur(two_methods().shaft.table_eur)
    assert more[0, 0, 1, SHALLOW * 2, 6] == pytest.approx(3.0)
    assert more[0, 0, 1, SHALLOW * 2, 3] == pytest.approx(1.0)
    assert math.isinf(more[0, 0, 3, SHALLOW * 2, 5])  # neither goes so deep


def test_other_methods_are_told_with_their_shafts() -> None:
    """The first method on 1-3 costs 3 instead of 2.25; the second is banned on 3-5."""
    arrays = two_methods()
    plan = trace_plan(arrays, run(arrays))
    first, second = (step for step in plan.steps if isinstance(step, DriveStep))
    assert extra_on_this_line(arrays, plan, first, DEEP) == pytest.approx(0.75)
    assert extra_on_this_line(arrays, plan, second, SHALLOW) is Hindrance.PLACE


@pytest.mark.parametrize("seed", range(14))
def test_no_drive_of_an_optimum_is_cheaper_by_another_method_on_its_line(seed: int) -> None:
    arrays = Instance(seed, Size(8, 3, 4), ()).arrays
    forward = run(arrays)
    if math.isinf(optimum_eur(arrays, forward)):
        return
    plan = trace_plan(arrays, forward)
    for step in plan.steps:
        if isinstance(step, DriveStep):
            for method in range(len(arrays.drive.bore_m)):
                extra = extra_on_this_line(arrays, plan, step, method)
                assert isinstance(extra, Hindrance) or extra >= -0.005


def test_by_default_guided_thrust_boring_may_arrive_in_a_deep_shaft_of_two_pass_drives() -> None:
    a = load_assumptions()
    methods = [method_geometry(a, name) for name in ("two_pass", "guided_thrust")]
    step_m = a.shaft.depth_step_m
    most = np.array([0, *np.repeat([round(m.most_depth_m / step_m) for m in methods], 2)])
    table = _shaft_table(a, tuple(most.tolist()), (False,) * 5)
    at_7_5_m = round(7.5 / step_m)
    assert methods[1].most_depth_m == 7.0
    assert np.isfinite(table[:, :, 4, 1, at_7_5_m]).all()  # received here, a two-pass drive launched
    assert np.isinf(table[:, :, 4, 0, at_7_5_m]).all()  # by itself it stays shallow
    assert np.isinf(table[:, :, 4, 3, at_7_5_m]).all()
