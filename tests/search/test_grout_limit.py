"""Grout decides: a drive that falls too far to be grouted in one go is none; two shorter ones are taken."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from routescreen.audit.proofs import prove_plan
from routescreen.screen import prepare
from routescreen.search.blockage import no_plan_error
from routescreen.search.depths import choose_depths
from routescreen.search.forces import with_any_grout, without_limits
from routescreen.search.frame_bill import measure_on_frame
from routescreen.search.geometry import plan_geometry
from routescreen.search.halves import find_plan
from routescreen.search.layout import any_land
from routescreen.search.solve import DriveStep, optimum_eur, run_with_progress, settle_drive
from routescreen.search.stuck import stuck_at
from tests.audit.place import crossing, crossings, place, raster, with_ground
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem

FALL_FRAC = 0.012
LAKES = (box(300.0, -300.0, 540.0, 300.0), box(760.0, -300.0, 1000.0, 300.0))
TEXT = """
[frame]
cell_m = 20.0
[search]
rating_steers = false
[methods.guided_thrust]
is_enabled = false
[methods.enterable]
is_enabled = false
[methods.hdd]
is_enabled = false
[rates]
MO11 = [2000000.0, 2000000.0, 2000000.0]
"""


@cache
def falling(text: str = TEXT) -> tuple[FrameProblem, CorridorInput]:
    """Two waters on a slope, with a field between; shafts so dear that one drive under both is cheaper."""
    table = crossings(*(crossing("lake", shape, feature_id=f"l{k}") for k, shape in enumerate(LAKES)))
    grid = raster(50.0)
    x_m = grid.west_m + 10.0 * (np.arange(grid.values.shape[1]) + 0.5)
    slope = np.broadcast_to(50.0 - FALL_FRAC * x_m, grid.values.shape).copy()
    inp = replace(
        place(), outline=box(0.0, -40.0, 1500.0, 40.0), crossings=table, terrain=replace(grid, values=slope)
    )
    inp = with_ground(inp, box(-400.0, -600.0, 1900.0, 600.0), soil="sand_dense", groundwater_depth_m=100.0)
    problem, _ = prepare(inp, load_assumptions(text))
    arrays = problem.arrays
    force, layout = without_limits(arrays.force), any_land(arrays.layout)
    return replace(problem, arrays=arrays._replace(force=force, layout=layout)), inp


def drives_and_price(problem: FrameProblem, inp: CorridorInput) -> tuple[list[DriveStep], list[str], float]:
    plan = find_plan(problem.arrays)
    assert plan is not None
    plan = choose_depths(problem.arrays, plan)
    bill_eur = measure_on_frame(problem, plan).total_eur
    assert plan.objective_eur == pytest.approx(bill_eur, abs=0.005)
    checks = prove_plan(plan_geometry(problem, plan), inp, problem.assumptions).checks
    found = checks[checks["check"] == "pressure_grout"]["status"].tolist()
    return [step for step in plan.steps if isinstance(step, DriveStep)], found, bill_eur


def test_the_plan_changes_with_the_limit() -> None:
    problem, inp = falling()
    free = problem.arrays._replace(force=with_any_grout(problem.arrays.force))
    one, in_one_go, cheaper_eur = drives_and_price(replace(problem, arrays=free), inp)
    two, each, dearer_eur = drives_and_price(problem, inp)
    assert (len(one), in_one_go) == (1, ["fail"])
    assert (len(two), each) == (2, ["pass", "pass"])
    assert dearer_eur > cheaper_eur


def test_switched_off_nothing_is_limited() -> None:
    off, _ = falling(TEXT.replace("[search]", "[search]\ngrout_steers = false"))
    assert not off.arrays.force.grout.is_limited.any()


def test_where_no_plan_is_left_the_limit_is_named_with_its_switch() -> None:
    """60 kN/m3 let no drive fall far enough to pass under either water, shafts of 8 m no level one."""
    problem, _ = falling()
    force, shaft = problem.arrays.force, problem.arrays.shaft
    heavy = force._replace(grout=force.grout._replace(grout_kN_per_m3=60.0))
    shallow = shaft._replace(most_level=np.minimum(shaft.most_level, 32))
    arrays = problem.arrays._replace(force=heavy, shaft=shallow)
    any_grout = arrays._replace(force=with_any_grout(heavy))
    assert np.isfinite(optimum_eur(any_grout, run_with_progress(any_grout)))
    stuck = stuck_at(arrays)
    assert not np.isfinite(optimum_eur(arrays, stuck.forward))
    error = no_plan_error(replace(problem, arrays=arrays), stuck)
    assert "search.grout_steers = false" in str(error)


@pytest.mark.parametrize("weight", [14.0, 30.0, 60.0])
def test_heavier_grout_only_closes_drives_and_changes_no_price(weight: float) -> None:
    """Between every tenth pair of nodes of the middle row."""
    problem, _ = falling()
    row, grout = problem.frame.start[1], problem.arrays.force.grout
    nodes = range(0, len(problem.arrays.pin_shaft), 6)

    def lines(weight_kN_per_m3: float) -> dict[object, object]:
        heavy = grout._replace(grout_kN_per_m3=weight_kN_per_m3)
        arrays = problem.arrays._replace(force=problem.arrays.force._replace(grout=heavy))
        found = {}
        for a in nodes:
            for b in (n for n in nodes if 2 < n - a <= arrays.longest_columns):
                for is_lower in (True, False):
                    step = settle_drive(arrays, (a, row), (b, row), 0, is_lower)
                    if step is not None:
                        found[a, b, is_lower] = step.line
        return found

    assert lines(1.5 * weight).items() <= lines(weight).items()
