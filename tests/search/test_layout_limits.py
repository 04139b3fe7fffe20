"""The land for pipe strings decides: plans that change when it is left out, and what is said of it.

A lake of 300 m in a corridor 80 m wide, which only a two-pass drive passes. Beyond one bank or both lies
ground that bears no strings, at the price of any other in all else.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from shapely import Point, box

from routescreen.assumptions import load_assumptions
from routescreen.audit import AuditReport, audit_plan
from routescreen.errors import NoPlanError
from routescreen.screen import prepare, solve_and_audit
from routescreen.search.depths import choose_depths
from routescreen.search.frame_bill import measure_on_frame
from routescreen.search.geometry import plan_geometry
from routescreen.search.halves import find_plan
from routescreen.search.layout import any_land
from routescreen.search.reasons import section_reasons
from routescreen.search.solve import DriveStep, FramePlan, layout_of_step
from tests.audit.place import crossing, crossings, place, with_cover

if TYPE_CHECKING:
    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem

BARRED = "[frame]\ncell_m = 20.0\n[cover.bare]\nlayout_allowed = 'no'\n"
WHOLE = load_assumptions(BARRED + "[methods.two_pass]\nmost_layout_pieces = 1\n")
PIECES = load_assumptions(BARRED)
BARE = list(PIECES.cover).index("bare")
LAKE = box(560.0, -300.0, 860.0, 300.0)  # 300 m: too far for guided thrust boring


def lake(*fields: tuple[float, float, float, float]) -> CorridorInput:
    """Return a corridor 80 m wide through a lake, with barred ground in some boxes."""
    inp = replace(
        place(),
        outline=box(0.0, -40.0, 1500.0, 40.0),
        crossings=crossings(crossing("lake", LAKE, feature_id="lake")),
    )
    for field in fields:
        inp = with_cover(inp, box(*field), BARE)
    return inp


def solved(problem: FrameProblem, inp: CorridorInput) -> tuple[FramePlan, list[DriveStep], AuditReport]:
    plan = find_plan(problem.arrays)
    assert plan is not None
    plan = choose_depths(problem.arrays, plan)
    assert plan.objective_eur == pytest.approx(measure_on_frame(problem, plan).total_eur, abs=0.005)
    report = audit_plan(plan_geometry(problem, plan), inp, problem.assumptions)
    return plan, [step for step in plan.steps if isinstance(step, DriveStep)], report


EAST = (900.0, -300.0, 1000.0, 300.0)  # behind the lake's eastern bank, from side to side
WEST = (430.0, -300.0, 530.0, 300.0)


@pytest.mark.parametrize(
    ("field", "is_launched_at_lower"), [(EAST, False), (WEST, True)], ids=["east", "west"]
)
def test_what_lies_behind_one_bank_decides_from_which_the_drive_is_launched(
    field: tuple[float, float, float, float], is_launched_at_lower: bool
) -> None:
    inp = lake(field)
    problem, _ = prepare(inp, WHOLE)
    plan, (drive,), sound = solved(problem, inp)
    assert drive.is_launched_at_lower is is_launched_at_lower
    assert {breach.check for breach in sound.breaches} == set()
    assert layout_of_step(problem.arrays, drive) == (1, 0.0, 0)
    turned = replace(drive, is_launched_at_lower=not is_launched_at_lower)
    assert layout_of_step(problem.arrays, turned).n_pieces != 1
    text = next(reason for reason in section_reasons(problem, plan) if reason.startswith("Drive"))
    where, there = ("second", "first") if is_launched_at_lower else ("first", "second")
    assert f"The pipe strings lie behind its {where} shaft, in one piece and straight" in text
    assert f"behind the {there} one they would" in text


def test_shut_in_on_both_sides_the_strings_lie_in_pieces_and_each_tie_in_is_paid_for() -> None:
    """150 m are free behind both banks, in a band 100 m wide."""
    fields = (
        (1010.0, -300.0, 1100.0, 300.0),
        (330.0, -300.0, 410.0, 300.0),
        *((330.0, y, 1100.0, y + 10.0) for y in (50.0, -60.0)),
    )
    inp = lake(*fields)
    problem, _ = prepare(inp, PIECES)
    plan, drives, sound = solved(problem, inp)
    layouts = [layout_of_step(problem.arrays, drive) for drive in drives]
    assert max(layout.n_pieces for layout in layouts) > 1
    assert {breach.check for breach in sound.breaches} == set()
    free = replace(problem, arrays=problem.arrays._replace(layout=any_land(problem.arrays.layout)))
    other, _, in_breach = solved(free, inp)
    assert {breach.check for breach in in_breach.breaches} == {"layout_land"}
    assert plan.objective_eur != pytest.approx(other.objective_eur, abs=1.0)
    lengths = sound.checks[sound.checks["check"] == "layout_length"]["demand"].tolist()
    assert lengths == pytest.approx(
        [d.true_length_m / y.n_pieces + 20.0 for d, y in zip(drives, layouts, strict=True)], abs=0.01
    )


def test_no_room_behind_either_bank_is_said_and_where_it_would_be_needed() -> None:
    inp = lake((880.0, -300.0, 1200.0, 300.0), (250.0, -300.0, 540.0, 300.0))
    problem, _ = prepare(inp, WHOLE)
    with pytest.raises(NoPlanError) as caught:
        solve_and_audit(problem, inp)
    assert "land for the pipe strings behind a two-pass microtunnelling" in str(caught.value)


@pytest.mark.parametrize(("end_m", "is_far_enough"), [(1110.0, True), (960.0, False)])
def test_strips_leave_the_corridor_as_far_as_data_were_read(end_m: float, is_far_enough: bool) -> None:
    """From a shaft near x = 900 strips of 360 m reach to 1 260 m: 150 m beyond 1 110 m, 300 m beyond 960 m.

    Behind the western bank lies barred ground; a longer drive reaches behind that.
    """
    inp = replace(lake(WEST), outline=box(0.0, -40.0, end_m, 40.0), end=Point(end_m, 0.0))
    problem, _ = prepare(inp, WHOLE)
    _, (drive,), sound = solved(problem, inp)
    assert {breach.check for breach in sound.breaches} == set()
    assert drive.is_launched_at_lower is is_far_enough
    assert (layout_of_step(problem.arrays, drive)) == (1, 0.0, 0)
    reception_m = problem.frame.node_xy_m[drive.launch_and_reception[1]][0]
    assert reception_m > 860.0 if is_far_enough else reception_m < 430.0
