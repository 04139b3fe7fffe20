"""Forces decide: a plan that changes when they are left out, and every pair against the formula by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from benchmarks.proof_instances import Size, proof_arrays
from routescreen.audit import AuditReport, audit_plan
from routescreen.screen import prepare
from routescreen.search.depths import choose_depths
from routescreen.search.forces import without_limits
from routescreen.search.frame_bill import measure_on_frame
from routescreen.search.geometry import plan_geometry
from routescreen.search.halves import find_plan
from routescreen.search.layout import any_land
from routescreen.search.solve import DriveStep, settle_drive
from tests.audit.place import crossing, crossings, place, with_ground
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem

DEFAULTS = load_assumptions("[frame]\ncell_m = 20.0\n")
LAKES = (box(300.0, -300.0, 640.0, 300.0), box(800.0, -300.0, 1160.0, 300.0))


def two_lakes() -> CorridorInput:
    """Return two lakes with 160 m of field between: 940 m under both at once, in dry dense sand."""
    table = crossings(*(crossing("lake", shape, feature_id=f"l{k}") for k, shape in enumerate(LAKES)))
    inp = replace(place(), outline=box(0.0, -40.0, 1500.0, 40.0), crossings=table)
    return with_ground(inp, box(-100.0, -300.0, 1600.0, 300.0), soil="sand_dense", groundwater_depth_m=100.0)


# shafts so dear that one long drive is cheaper than two
DEAR_SHAFTS = load_assumptions("[frame]\ncell_m = 20.0\n[rates]\nMO11 = [2000000.0, 2000000.0, 2000000.0]\n")


def solved(problem: FrameProblem, inp: CorridorInput) -> tuple[list[DriveStep], AuditReport, float]:
    frame_plan = find_plan(problem.arrays)
    assert frame_plan is not None
    frame_plan = choose_depths(problem.arrays, frame_plan)
    bill_eur = measure_on_frame(problem, frame_plan).total_eur
    assert frame_plan.objective_eur == pytest.approx(bill_eur, abs=0.005)
    report = audit_plan(plan_geometry(problem, frame_plan), inp, problem.assumptions)
    return [step for step in frame_plan.steps if isinstance(step, DriveStep)], report, bill_eur


def test_without_the_limits_one_drive_would_go_that_can_not_be_pushed() -> None:
    """Dense sand after a stop: 3.3 kN/m, so that 2 744 kN are reached near 800 m."""
    inp = two_lakes()
    problem, _ = prepare(inp, DEAR_SHAFTS)
    free = replace(problem, arrays=problem.arrays._replace(force=without_limits(problem.arrays.force)))
    long, in_breach, cheaper_eur = solved(free, inp)
    short, sound, dearer_eur = solved(problem, inp)
    assert len(long) == 1
    assert long[0].length_m > 900.0
    assert {"thrust", "draw_back"} <= {breach.check for breach in in_breach.breaches}
    assert len(short) == 2
    assert {breach.check for breach in sound.breaches} == set()
    assert dearer_eur > cheaper_eur


def test_the_longest_drive_of_the_frame_is_the_one_the_formula_allows_by_hand() -> None:
    """Level drives in dry dense sand: drawing back rules, 1.5 (pi 0.5 1.4 + 0.1 0.608) L + 1.75 <= 2 744."""
    inp = two_lakes()
    problem, _ = prepare(inp, load_assumptions("[frame]\ncell_m = 10.0\n"))
    reach_m = (3430.0 / 1.25 - 1.748) / (1.5 * (math.pi * 0.5 * 1.4 + 0.1 * 0.60822))
    two_pass = [method.name for method in problem.methods].index("two_pass")
    row, start = problem.frame.start[1], 28
    arrays = problem.arrays._replace(layout=any_land(problem.arrays.layout))  # its reception lies in the lake
    found = [
        n
        for n in range(70, 101)
        if settle_drive(arrays, (start, row), (start + n, row), two_pass, True) is not None
    ]
    assert found
    assert max(found) == int(np.floor(reach_m / problem.frame.column_spacing_m))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_more_friction_only_closes_drives_and_changes_no_price(seed: int) -> None:
    """Every pair of a random frame, at either end: without limits, then with ever more friction."""
    arrays = proof_arrays(seed, Size(10, 1, 4))
    force = arrays.force._replace(
        capacity_kN=np.full(len(arrays.force.cut_m), 400.0),
        has_face_pressure=np.zeros(len(arrays.force.cut_m), bool),
    )
    drives = [
        {
            (method, a, b, is_lower): step.line
            for method in range(len(force.cut_m))
            for a in range(9)
            for b in range(a + 1, 10)
            for is_lower in (True, False)
            if (step := settle_drive(with_forces, (a, 0), (b, 0), method, is_lower)) is not None
        }
        for with_forces in (
            arrays._replace(force=without_limits(force)),
            *(
                arrays._replace(force=force._replace(friction_kN_per_m=k * force.friction_kN_per_m))
                for k in (1.0, 1.5, 2.5)
            ),
        )
    ]
    for freer, tighter in pairwise(drives):
        assert tighter.items() <= freer.items()
    assert len(drives[-1]) < len(drives[0])
