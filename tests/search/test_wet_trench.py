"""Keeping a trench dry costs the search what it costs in the bill: sumps and well points by hand."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from routescreen.screen import prepare
from routescreen.search.frame_bill import measure_on_frame
from routescreen.search.halves import find_plan
from tests.audit.place import place, with_ground
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    from routescreen.search.problem import FrameProblem

A = load_assumptions("[frame]\ncell_m = 20.0\n")
ALL = box(-100.0, -300.0, 1600.0, 300.0)
DRY_M = 30.0


@cache
def problem_of(groundwater_m: float, soil: str = "sand_dense") -> FrameProblem:
    """Open cut alone, 1 500 m of flat cropland; the trench's bottom lies at 1.88 m."""
    inp = replace(place(), outline=box(0.0, -40.0, 1500.0, 40.0))
    inp = replace(inp, crossings=inp.crossings.iloc[:0])
    return prepare(with_ground(inp, ALL, soil=soil, groundwater_depth_m=groundwater_m), A)[0]


@pytest.mark.parametrize(
    ("soil", "groundwater_m", "eur_per_m"),
    [
        pytest.param("sand_dense", 1.89, 0.0, id="below the bottom"),
        pytest.param("sand_dense", 1.50, 2 * 15.0, id="0.38 m: a sump in each of two trenches"),
        pytest.param("sand_dense", 1.30, 2 * 120.0, id="0.58 m: a row of well points each"),
        pytest.param("gravel", 0.50, 4 * 120.0, id="gravel: two rows each"),
    ],
)
def test_each_move_pays_for_keeping_it_dry(soil: str, groundwater_m: float, eur_per_m: float) -> None:
    wet, dry = problem_of(groundwater_m, soil), problem_of(DRY_M, soil)
    moves, frame = dry.arrays.trench.moves, dry.frame
    length_m = np.hypot(moves[:, 0] * frame.column_spacing_m, moves[:, 1] * frame.cell_m)
    wet_eur, dry_eur = wet.arrays.trench.move_eur, dry.arrays.trench.move_eur
    is_allowed = np.isfinite(dry_eur)
    assert is_allowed.sum() > 100
    assert (np.isfinite(wet_eur) == is_allowed).all()
    expected = np.broadcast_to(eur_per_m * length_m, dry_eur.shape)[is_allowed]
    assert wet_eur[is_allowed] - dry_eur[is_allowed] == pytest.approx(expected, abs=0.01)


def test_the_bill_of_the_plan_holds_the_same() -> None:
    problem = problem_of(1.30)
    plan = find_plan(problem.arrays)
    assert plan is not None
    assert plan.objective_eur == pytest.approx(measure_on_frame(problem, plan).total_eur, abs=0.005)
    dry = find_plan(problem_of(DRY_M).arrays)
    assert dry is not None
    assert plan.objective_eur - dry.objective_eur == pytest.approx(240.0 * 1500.0, rel=1e-6)
