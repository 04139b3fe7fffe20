"""One price for one plan: what the search minimised is what its bill says, on invented corridors.

The first corridors of ``benchmarks.corridors`` that have a plan, none picked; ``benchmarks.bill`` does
the same on 200.
"""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
import pytest

from benchmarks.bill import DRIVE_PERCENT, FRAME_PERCENT, SAME_EUR, Outcome, outcomes
from benchmarks.corridors import as_layer, random_corridor
from routescreen.assumptions import load_assumptions
from routescreen.errors import NoPlanError
from routescreen.screen import prepare, screen_corridor, solve_and_audit

N_WITH_PLAN = 8
# Both bills of the exact geometry measure pieces of 1 m by what lies at their middles, cut differently;
# on quarter metres what is left of that lies far below what any single item would make.
FINE = "[audit]\nprofile_step_m = 0.25\n"


@pytest.fixture(scope="module")
def judged() -> list[Outcome]:
    """Return what came of the first corridors, those without a plan left out."""
    found = outcomes(N_WITH_PLAN, assumptions=load_assumptions(FINE))
    return [outcome for outcome in found if outcome.has_plan]


def test_corridors_are_no_empty_talk(judged: list[Outcome]) -> None:
    assert sum(outcome.n_drives for outcome in judged) >= N_WITH_PLAN
    assert min(outcome.n_rows for outcome in judged) == 1  # a fixed alignment is among them
    assert min(outcome.objective_eur for outcome in judged) > 1e6


def test_objective_is_the_bill_on_the_frame(judged: list[Outcome]) -> None:
    assert {o.seed: o.frame_gap_eur for o in judged if not o.frame_gap_eur <= SAME_EUR} == {}


def test_both_passes_find_the_same_optimum(judged: list[Outcome]) -> None:
    assert {o.seed: o.pass_gap_eur for o in judged if not o.pass_gap_eur <= SAME_EUR} == {}


def test_takeoff_and_audit_measure_the_same_geometry_alike(judged: list[Outcome]) -> None:
    assert {o.seed: o.differing_items for o in judged if not o.measure_gap_percent <= 0.1} == {}


def test_no_breach_is_left(judged: list[Outcome]) -> None:
    assert {o.seed: o.breaches for o in judged if o.breaches} == {}


def test_frame_prices_each_corridor_within_one_percent(judged: list[Outcome]) -> None:
    off = {o.seed: o.frame_error_percent for o in judged if not abs(o.frame_error_percent) <= FRAME_PERCENT}
    assert off == {}


def test_frame_prices_each_drive_within_three_percent(judged: list[Outcome]) -> None:
    errors = {o.seed: o.drive_errors_percent for o in judged}
    assert {seed: e for seed, e in errors.items() if any(abs(x) > DRIVE_PERCENT for x in e)} == {}


def test_screening_says_where_the_frame_is_off_by_more_than_its_limit(judged: list[Outcome]) -> None:
    worst = max(judged, key=lambda outcome: abs(outcome.frame_error_percent))
    for factor, is_off in ((0.9, True), (1.1, False)):
        limit_percent = factor * abs(worst.frame_error_percent)
        limits = f"frame_error_percent = {limit_percent}\ndrive_frame_error_percent = 50.0\n"
        as_found = "[refine]\nn_most_nodes = 0\n"  # else a window off by too much is planned again
        screening = screen_corridor(random_corridor(worst.seed), load_assumptions(as_found + FINE + limits))
        assert any("frame.cell_m" in warning for warning in screening.warnings) == is_off
        assert screening.frame_error_percent == pytest.approx(worst.frame_error_percent, abs=1e-6)


def test_a_corridor_that_is_barred_has_no_plan_and_says_why() -> None:
    corridor = random_corridor(2)
    assert corridor.axis is not None
    tip = corridor.axis.interpolate(0.5, normalized=True).buffer(200.0)  # wider than the corridor
    landfill = as_layer("crossings", [({"kind": "landfill", "feature_id": "tip", "name": "Old tip"}, tip)])
    barred = replace(corridor, crossings=pd.concat([corridor.crossings, landfill], ignore_index=True))
    problem, _ = prepare(barred, load_assumptions())
    with pytest.raises(NoPlanError, match="Old tip"):
        solve_and_audit(problem, barred)
