"""Laws that hold whatever the corridor: directions, mirrors, rates, bans and pins."""

from __future__ import annotations

import functools
import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchmarks.instances import Shape, random_arrays
from benchmarks.oracles.forgetful import forgetful_plan
from benchmarks.oracles.pieces import Move, pieces_of, plan_eur
from benchmarks.oracles.state_graph import shortest_plan
from benchmarks.proof import CENT_EUR, agree, run, steps_of
from benchmarks.proof_arcs import with_arcs
from benchmarks.proof_gaps import with_gaps
from benchmarks.proof_instances import Size, proof_arrays
from benchmarks.proof_turned import turned_round
from benchmarks.pruned import random_problem
from routescreen.search.join_kernel import joined_eur
from routescreen.search.layout import any_land
from routescreen.search.solve import optimum_eur, run_with_progress
from routescreen.search.trace import trace_plan

if TYPE_CHECKING:
    from collections.abc import Callable

    from routescreen.search.arrays import SearchArrays

SMALL = Size(12, 4, 4)
ON_ARCS = Size(16, 4, 8)
SEEDS = st.integers(0, 10_000)
few = settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])


def optimum(arrays: SearchArrays, *, is_pruned: bool = True) -> float:
    return optimum_eur(arrays, run(arrays, is_pruned=is_pruned))


def without_pins(arrays: SearchArrays) -> SearchArrays:
    return arrays._replace(
        pin_shaft=np.full_like(arrays.pin_shaft, -1), pin_via=np.full_like(arrays.pin_via, -1)
    )


@functools.cache
def barred() -> tuple[tuple[SearchArrays, float], ...]:
    """Return instances, with their optimum or none, among which each ban costs money somewhere."""
    arrays = [proof_arrays(seed, SMALL) for seed in range(2025, 2055)]
    return tuple((s, optimum(s)) for s in arrays)


@functools.cache
def solvable(size: Size, n: int) -> tuple[tuple[SearchArrays, float], ...]:
    """Return the first instances of a size that have a plan, with their optimum."""
    found = []
    for seed in range(1000, 1000 + 10 * n):
        arrays = proof_arrays(seed, size)
        eur = optimum(arrays)
        if math.isfinite(eur):
            found.append((arrays, eur))
        if len(found) == n:
            return tuple(found)
    raise AssertionError("too few instances have a plan")


@pytest.mark.parametrize("is_floored", [False, True])
def test_ground_that_a_method_cannot_pass_is_left_out_without_loss(is_floored: bool) -> None:
    n_changed = 0
    for seed in range(300, 340):
        arrays = proof_arrays(seed, SMALL)
        if is_floored:  # the cables' heat keeps a drive out of every second column
            floor = arrays.drive.floor_m.copy()
            floor[:, 1::2] = arrays.ground.ground_m[1::2] - 2.5
            poorer = arrays._replace(drive=arrays.drive._replace(floor_m=floor))
        else:
            longest = arrays.drive.longest_m.copy()
            longest[:, 1:] = 0.0
            poorer = arrays._replace(drive=arrays.drive._replace(longest_m=longest))
        expected = optimum(poorer, is_pruned=False)
        assert agree(optimum(poorer), expected)
        n_changed += not agree(expected, optimum(arrays, is_pruned=False))
    assert n_changed > 3


def test_gaps_of_heat_change_plans_and_pruning_loses_none() -> None:
    """Some lines go down under a gap, some drives are lost by it."""
    n_changed = 0
    for seed in range(40):
        free = proof_arrays(seed, SMALL)
        gapped = with_gaps(free, seed)
        eur = optimum(gapped)
        assert agree(eur, optimum(gapped, is_pruned=False))
        assert agree(eur, optimum(turned_round(gapped)))
        n_changed += math.isfinite(eur) and not agree(eur, optimum(free))
    assert n_changed > 3


@pytest.mark.parametrize("seed", [0, 4, 8, 13, 17, 25, 28, 36])
def test_lines_held_below_a_gap_from_shaft_to_shaft_are_bounded_and_none_is_lost(seed: int) -> None:
    """Something asks for a crown inside the gap right across the corridor."""
    arrays = random_problem(seed)
    expected = optimum(arrays, is_pruned=False)
    assert math.isfinite(expected)
    assert agree(optimum(arrays), expected)
    backward = run(arrays, is_forward=False)
    n_states = 1 if arrays.pin_shaft[0] >= 0 else backward.trench_eur.shape[0]
    assert agree(float(backward.trench_eur[:n_states, 0, arrays.start_row].min()), expected)


@few
@given(seed=SEEDS)
def test_either_direction_pruned_or_not_and_mirrored(seed: int) -> None:
    arrays = proof_arrays(seed, SMALL)
    mirrored = turned_round(arrays)
    expected = optimum(arrays)
    backward = run(arrays, is_forward=False)
    assert agree(float(backward.trench_eur[:, 0, arrays.start_row].min()), expected)
    assert agree(optimum(arrays, is_pruned=False), expected)
    assert agree(optimum(mirrored), expected)
    assert agree(optimum(mirrored, is_pruned=False), expected)


@few
@given(seed=SEEDS)
def test_arcs_beside_straight_drives_pruned_or_not_and_mirrored(seed: int) -> None:
    arrays = with_arcs(proof_arrays(seed, ON_ARCS), seed)
    expected = optimum(arrays, is_pruned=False)
    backward = run(arrays, is_forward=False)
    assert agree(optimum(arrays), expected)
    assert agree(float(backward.trench_eur[:, 0, arrays.start_row].min()), expected)
    assert agree(optimum(turned_round(arrays)), expected)


def test_an_arc_of_hardly_any_bend_is_a_straight_drive() -> None:
    """At a radius of 5e7 m levels differ by a hundredth of a millimetre; boreholes go by another rule."""
    for arrays, _ in solvable(SMALL, 5):
        free = arrays._replace(drive=arrays.drive._replace(borehole_eur_per_m=0.0))
        hardly = np.full_like(arrays.drive.arc_per_m, 1e-8)
        bent = free._replace(drive=free.drive._replace(arc_per_m=hardly))
        assert agree(optimum(bent), optimum(free))


@few
@given(seed=SEEDS)
def test_joined_at_every_column_that_the_plan_visits(seed: int) -> None:
    arrays = proof_arrays(seed, SMALL)
    forward, backward = run(arrays), run(arrays, is_forward=False)
    expected = optimum_eur(arrays, forward)
    joined = [joined_eur(arrays, forward, backward, column) for column in range(SMALL.n_columns)]
    # every plan visits both terminals; other columns may be passed by, which costs no less
    assert agree(joined[0], expected)
    assert agree(joined[-1], expected)
    assert min(joined) >= expected - CENT_EUR or math.isinf(expected)
    if math.isfinite(expected):
        steps = steps_of(pieces_of(arrays), trace_plan(arrays, forward))
        visited = {step.end[0] if isinstance(step, Move) else step.upper[0] for step in steps}
        assert all(agree(joined[column], expected) for column in visited)


def _scaled(part: str, name: str) -> Callable[[SearchArrays], SearchArrays]:
    def change(s: SearchArrays) -> SearchArrays:
        table = getattr(s, part)
        return s._replace(**{part: table._replace(**{name: getattr(table, name) * 1.07})})

    return change


def _dearer_crossings(s: SearchArrays) -> SearchArrays:
    entry = s.trench.entry._replace(price_eur=s.trench.entry.price_eur * 1.07)
    return s._replace(trench=s.trench._replace(entry=entry, inside_eur=s.trench.inside_eur * 1.07))


def _dearer_sites(s: SearchArrays) -> SearchArrays:
    site = s.shaft.site
    dearer = site._replace(near_eur=site.near_eur * 1.07, far_eur=site.far_eur * 1.07)
    return s._replace(shaft=s.shaft._replace(site=dearer))


DEARER = {
    "trench": _scaled("trench", "move_eur"),
    "crossings in open cut": _dearer_crossings,
    "crossings by drive": _scaled("drive", "drive_fee_eur"),
    "soil": _scaled("drive", "soil_eur_per_m"),
    "rock": _scaled("drive", "rock_eur_per_m"),
    "set-up": _scaled("drive", "fixed_eur"),
    "pipe": _scaled("drive", "piece_eur"),
    "borehole": _scaled("drive", "borehole_eur_per_m"),
    "layout by metre": _scaled("drive", "layout_eur_per_m"),
    "layout": _scaled("drive", "layout_eur"),
    # the whole table alike, so that every drive keeps its line
    "shafts": _scaled("shaft", "table_eur"),
    "ramps held apart": _scaled("shaft", "ramp_eur"),
    "shaft sites": _dearer_sites,
}


@pytest.mark.parametrize("change", DEARER.values(), ids=DEARER.keys())
def test_dearer_rates_never_give_a_cheaper_plan(change: Callable[[SearchArrays], SearchArrays]) -> None:
    risen = 0
    for arrays, eur in solvable(SMALL, 12):
        dearer = optimum(change(arrays))
        assert dearer >= eur - CENT_EUR
        risen += dearer > eur + CENT_EUR
    assert risen > 0


def _no_bans(s: SearchArrays) -> SearchArrays:
    return s._replace(drive=s.drive._replace(banned=np.zeros(0, np.int64)))


def _any_angle(s: SearchArrays) -> SearchArrays:
    return s._replace(
        drive=s.drive._replace(segment_sin_min_angle=np.zeros_like(s.drive.segment_sin_min_angle))
    )


def _shafts_anywhere(s: SearchArrays) -> SearchArrays:
    return s._replace(shaft=s.shaft._replace(is_allowed=np.ones_like(s.shaft.is_allowed)))


def _trench_anywhere(s: SearchArrays) -> SearchArrays:
    # where the move would leave the frame it stays forbidden
    move = s.trench.move_eur.copy()
    nx, ny, _ = move.shape
    column, row = np.arange(nx)[:, None, None], np.arange(ny)[None, :, None]
    to_column, to_row = column + s.trench.moves[:, 0], row + s.trench.moves[:, 1]
    is_inside = (to_column < nx) & (to_row >= 0) & (to_row < ny)
    move[np.isinf(move) & is_inside] = 9000.0
    return s._replace(trench=s.trench._replace(move_eur=move))


def _short_trench(s: SearchArrays) -> SearchArrays:
    return s._replace(trench=s.trench._replace(fresh_columns=1))


def _shorter_drives(s: SearchArrays) -> SearchArrays:
    return s._replace(drive=s.drive._replace(least_length_m=np.zeros_like(s.drive.least_length_m)))


LIFTED = {
    "banned drives": _no_bans,
    "pins": without_pins,
    "least angles": _any_angle,
    "shaft places": _shafts_anywhere,
    "closed ground": _trench_anywhere,
    "least trench": _short_trench,
    "least drive": _shorter_drives,
}


@pytest.mark.parametrize("change", LIFTED.values(), ids=LIFTED.keys())
def test_lifting_a_ban_never_costs_more(change: Callable[[SearchArrays], SearchArrays]) -> None:
    fallen = 0
    for arrays, eur in barred():
        lifted = optimum(change(arrays))
        assert lifted <= eur + CENT_EUR
        fallen += lifted < eur - CENT_EUR
    assert fallen > 0


def test_one_label_a_role_chooses_dearer_plans() -> None:
    """Dropping all but the cheapest label must cost money somewhere, else labels prove nothing."""
    lost = []
    for seed in range(14, 22):
        arrays = without_pins(proof_arrays(seed, Size(12, 3, 4)))
        pieces = pieces_of(arrays)
        steps = forgetful_plan(pieces)
        eur = optimum(arrays)
        assert agree(eur, shortest_plan(pieces)[0])
        if steps:
            lost.append(plan_eur(pieces, steps) - eur)
    assert min(lost) > -CENT_EUR
    assert max(lost) > 100.0


@pytest.mark.parametrize("kind", ["pin_shaft", "pin_via"])
@pytest.mark.parametrize("column", [0, -1], ids=["start", "end"])
@pytest.mark.parametrize("is_beside", [False, True], ids=["at-the-terminal", "beside-it"])
def test_pins_in_the_terminals_columns(kind: str, column: int, is_beside: bool) -> None:
    n_plans = 0
    for seed in range(3000, 3008):
        arrays = without_pins(proof_arrays(seed, SMALL))
        row = (arrays.start_row if column == 0 else arrays.end_row) + int(is_beside)
        pins = np.full(SMALL.n_columns, -1)
        pins[column] = row % SMALL.n_rows
        pinned = arrays._replace(**{kind: pins})
        expected, _ = shortest_plan(pieces_of(pinned))
        eur = optimum(pinned)
        # no plan can pass beside the terminal that it starts from
        assert math.isinf(eur) if is_beside else agree(eur, expected)
        n_plans += math.isfinite(eur)
    assert is_beside or n_plans > 0


def test_two_pins_of_one_column_in_different_rows_leave_no_plan() -> None:
    arrays, _ = solvable(SMALL, 1)[0]
    shaft, via = np.full(SMALL.n_columns, -1), np.full(SMALL.n_columns, -1)
    shaft[5], via[5] = 1, 2
    assert math.isinf(optimum(arrays._replace(pin_shaft=shaft, pin_via=via)))


def test_straight_random_corridors_of_the_other_generator() -> None:
    for seed in range(8):
        arrays = random_arrays(seed, Shape(14, 4, n_methods=2, fresh_columns=2))
        expected, _ = shortest_plan(pieces_of(arrays))
        assert agree(optimum(arrays), expected)


def test_progress_thread_gives_the_same_result() -> None:
    arrays, eur = solvable(SMALL, 1)[0]
    shares: list[float] = []
    result = run_with_progress(arrays, progress=shares.append)
    assert optimum_eur(arrays, result) == eur
    assert all(0.0 <= share <= 1.0 for share in shares)


def test_a_deeper_label_that_is_cheaper_alone_may_be_dearer_shared() -> None:
    """Of 1200 corridors of this size the only one that punishes comparing labels by closed shafts alone."""
    arrays = proof_arrays(394, Size(12, 3, 4))
    arrays = arrays._replace(layout=any_land(arrays.layout))
    expected, _ = shortest_plan(pieces_of(arrays))
    assert math.isfinite(expected)
    assert agree(optimum(arrays), expected)
