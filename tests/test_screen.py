"""The whole job on one small invented place, and what is said where there is no plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from routescreen import screen
from routescreen.assumptions import Assumptions, load_assumptions
from routescreen.audit import AuditReport, Breach, audit_plan
from routescreen.errors import InputError, NoPlanError
from routescreen.plan import section_runs
from routescreen.screen import Screening, prepare, screen_corridor, smoothed, solve_and_audit
from routescreen.search.frame_bill import measure_on_frame
from routescreen.search.halves import find_plan_and_halves
from tests.audit.place import crossing, place, with_pin

if TYPE_CHECKING:
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput
    from routescreen.search.halves import Halves
    from routescreen.search.solve import FramePlan

TWENTY_M = "[frame]\ncell_m = 20.0\n"


@pytest.fixture(scope="module")
def assumptions() -> Assumptions:
    """Return the defaults on a coarse frame, to be quick."""
    return load_assumptions(TWENTY_M)


@pytest.fixture(scope="module")
def screening(assumptions: Assumptions) -> Screening:
    """Return the whole job on the narrow place."""
    return screen_corridor(narrow(place()), assumptions)


def narrow(corridor: CorridorInput, half_width_m: float = 60.0) -> CorridorInput:
    """Return the place with a narrower corridor."""
    return replace(corridor, outline=box(0.0, -half_width_m, 1500.0, half_width_m))


def test_river_and_pipeline_are_driven_and_the_rest_trenched(screening: Screening) -> None:
    plan = screening.corridor.plan
    assert screening.breaches == ()
    rows = screening.corridor.crossings
    by_kind = dict(zip(rows["kind"], rows["treatment"], strict=True))
    assert by_kind["river"] == "trenchless"
    assert by_kind["road"] == "open_cut"
    assert by_kind["telecom"] == "open_cut"
    assert not plan.is_drive.all()
    assert np.allclose(plan.alignment_xy_m[[0, -1]], [(0.0, 0.0), (1500.0, 0.0)])
    river = next(reason for reason in screening.corridor.reasons if reason.startswith("Drive"))
    assert "Alder (river)" in river
    assert abs(screening.frame_error_percent) < 1.0


def test_objective_is_the_bill_on_the_frame(assumptions: Assumptions) -> None:
    corridor = narrow(place())
    problem, _ = prepare(corridor, assumptions)
    solved = solve_and_audit(problem, corridor)
    assert measure_on_frame(problem, solved.frame_plan).total_eur == pytest.approx(
        solved.plan.objective_eur, abs=0.005
    )


def test_bill_adds_up_to_what_the_sections_and_the_link_cost(screening: Screening) -> None:
    bill = screening.corridor.bill
    cents = np.rint(bill["amount_eur"] * 100.0)
    by_line = np.rint(np.floor(bill["quantity"] * bill["rate_eur"] * 100.0 + 0.5 + 1e-7))
    assert (cents == by_line).all()
    assert set(bill.loc[bill["section_index"] < 0, "carried_by"]) == {"afterwards"}


def test_run_record_tells_what_smoothing_took_off(screening: Screening) -> None:
    told = screening.corridor.run_record
    before, after = (float(told[key]) for key in ("exact_bill_before_smoothing_eur", "exact_bill_eur"))
    assert float(told["smoothing_gain_eur"]) == pytest.approx(before - after, abs=0.001)
    # what the search may be blamed for is the bill of its own geometry
    frame_eur = float(told["frame_bill_eur"])
    assert float(told["frame_error_percent"]) == pytest.approx(100 * (before / frame_eur - 1), abs=1e-4)
    plan = screening.corridor.plan
    pieces_m = np.hypot(*np.diff(plan.alignment_xy_m, axis=0).T)
    assert float(told["trench_m"]) == pytest.approx(pieces_m[~plan.is_drive].sum(), abs=0.001)
    assert float(told["trench_m"]) <= float(told["trench_before_smoothing_m"])


def test_a_smoothed_run_in_breach_goes_back_and_nothing_is_searched_again(
    assumptions: Assumptions, monkeypatch: pytest.MonkeyPatch
) -> None:
    inp = with_pin(narrow(place()), "via", 300.0, 40.0, 10.0)
    problem, _ = prepare(inp, assumptions)
    found_first = solve_and_audit(problem, inp)
    smooth = smoothed(found_first, inp)
    assert not np.array_equal(smooth.plan.alignment_xy_m, smooth.on_frame.alignment_xy_m)
    n_asked, n_searched = [], []

    def strict(plan: Plan, *args: object, **kwargs: object) -> AuditReport:
        n_asked.append(plan)
        report = audit_plan(plan, *args, **kwargs)  # type: ignore[arg-type]
        first_run = section_runs(plan)[0]
        vertices = plan.alignment_xy_m[: first_run.to_vertex + 1]
        if np.array_equal(vertices, smooth.on_frame.alignment_xy_m[: len(vertices)]):
            return report
        breach = Breach("demo-S001", "invented", 0.0, 1.0, 0.0, "m", "the first run was smoothed", section=0)
        return replace(report, breaches=(breach,))

    def searched(*args: object, **kwargs: object) -> tuple[FramePlan | None, Halves | None]:
        n_searched.append(1)
        return find_plan_and_halves(*args, **kwargs)  # type: ignore[arg-type]

    monkeypatch.setattr(screen, "audit_plan", strict)
    monkeypatch.setattr(screen, "find_plan_and_halves", searched)
    found = smoothed(found_first, inp)
    assert found.audit.breaches == ()
    assert (found.n_rounds, len(n_asked), len(n_searched)) == (1, 2, 0)
    end = section_runs(found.on_frame)[0].to_vertex + 1
    assert np.array_equal(found.plan.alignment_xy_m[:end], found.on_frame.alignment_xy_m[:end])


def test_without_rounds_left_a_smoothed_plan_in_breach_is_not_taken(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    inp = with_pin(narrow(place()), "via", 300.0, 40.0, 10.0)
    a = load_assumptions(TWENTY_M + "[audit]\nmax_rounds = 0\n")
    found_first = solve_and_audit(prepare(inp, a)[0], inp)

    def strict(plan: Plan, *args: object, **kwargs: object) -> AuditReport:
        breach = Breach("demo-S001", "invented", 0.0, 1.0, 0.0, "m", "never in order", section=0)
        return replace(audit_plan(plan, *args, **kwargs), breaches=(breach,))  # type: ignore[arg-type]

    monkeypatch.setattr(screen, "audit_plan", strict)
    found = smoothed(found_first, inp)
    assert found is found_first
    assert found.audit.breaches == ()


def test_pinned_shaft_stands_where_it_was_agreed(assumptions: Assumptions) -> None:
    corridor = with_pin(narrow(place()), "shaft", 520.0, 0.0, 15.0)
    plan = screen_corridor(corridor, assumptions).corridor.plan
    assert any(np.hypot(s.xy_m[0] - 520.0, s.xy_m[1]) <= 15.0 for s in plan.shafts)


def test_via_pin_is_passed(assumptions: Assumptions) -> None:
    corridor = with_pin(narrow(place()), "via", 300.0, 40.0, 10.0)
    plan = screen_corridor(corridor, assumptions).corridor.plan
    distance = np.hypot(plan.alignment_xy_m[:, 0] - 300.0, plan.alignment_xy_m[:, 1] - 40.0)
    assert distance.min() <= 10.0


def test_pin_that_no_shaft_can_serve_is_an_input_error(assumptions: Assumptions) -> None:
    corridor = with_pin(narrow(place()), "shaft", 600.0, 0.0, 5.0)
    with pytest.raises(InputError, match="shaft"):
        screen_corridor(corridor, assumptions)


def test_lake_wider_than_a_drive_names_place_and_length(assumptions: Assumptions) -> None:
    lake = crossing("lake", box(240.0, -300.0, 1270.0, 300.0), name="Marrow Mere")
    with pytest.raises(NoPlanError) as caught:
        screen_corridor(narrow(place(lake)), assumptions)
    text = str(caught.value)
    assert "Marrow Mere" in text
    assert "instead of 1000 m" in text
    # from shaft to shaft the drive must clear the lake and 20 m of clearance on either side
    metres = float(text.split("drive of ")[1].split(" m")[0])
    assert 1030.0 + 2 * 20.0 <= metres <= 1030.0 + 2 * 20.0 + 80.0
    assert caught.value.problems[0].value is not None
    assert "chainage" in caught.value.problems[0].value


def test_buildings_across_the_corridor_leave_only_what_must_be_avoided(assumptions: Assumptions) -> None:
    row = crossing("building", box(880.0, -300.0, 900.0, 300.0), feature_id="row")
    with pytest.raises(NoPlanError, match="must avoid") as caught:
        screen_corridor(narrow(place(row)), assumptions)
    assert "instead of" not in str(caught.value)


def test_wood_without_a_place_for_a_shaft_asks_for_one(assumptions: Assumptions) -> None:
    wood = crossing("forest", box(150.0, -300.0, 1400.0, 300.0), name="Quern Wood")
    with pytest.raises(NoPlanError) as caught:
        screen_corridor(narrow(place(wood)), assumptions)
    text = str(caught.value)
    assert "a shaft allowed at axis chainage" in text
    assert "Quern Wood" in text
    assert "open cut allowed" in text
