"""The depth of a shaft that drives of two methods share, held against what each method may ask for."""

from __future__ import annotations

import pytest

from routescreen.assumptions import load_assumptions
from routescreen.audit import AuditReport, audit_plan
from tests.audit.place import GROUND_M, Run, place, plan

ASSUMPTIONS = load_assumptions()
# guided thrust boring from 440 to 520 m into a shaft from which a two-pass drive goes on under the river
MIXED = [(0.0, 0.0), (440.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]


def audited(guided_crown_m: float, two_pass_crown_m: float) -> AuditReport:
    guided = Run(1, guided_crown_m, guided_crown_m, "guided_thrust")
    return audit_plan(plan(MIXED, guided, Run(2, two_pass_crown_m, two_pass_crown_m)), place(), ASSUMPTIONS)


def test_what_was_dug_for_the_deeper_drive_is_held_against_the_deeper_drive_s_method() -> None:
    """9 m to the crown, 0.56 m of bore, 0.6 m of sump: 10.25 m, where pits of the other method end at 7 m."""
    assert ASSUMPTIONS.methods["guided_thrust"].most_shaft_depth_m == 7.0
    report = audited(GROUND_M - 2.0, GROUND_M - 9.0)
    assert "shaft_depth_most" not in {breach.check for breach in report.breaches}
    checks = report.checks
    shared = checks[(checks["check"] == "shaft_depth_most") & (checks["element_id"] == "demo-H002")]
    assert sorted(shared["capacity"]) == [7.0, 16.0]
    by_limit = shared.set_index("capacity")["demand"]
    assert by_limit[16.0] == pytest.approx(10.25)
    assert 2.0 < by_limit[7.0] < 4.0  # 2 m to its own crown, its bore, the sump


def test_a_drive_that_itself_asks_for_more_than_its_method_goes_is_a_breach() -> None:
    report = audited(GROUND_M - 7.0, GROUND_M - 9.0)
    found = [b for b in report.breaches if b.check == "shaft_depth_most"]
    assert {b.element_id for b in found} == {"demo-H001", "demo-H002"}
    assert all(b.capacity == 7.0 for b in found)
