"""The take-off of a drive reads the crossings that the audit finds: of all its bores."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Geometry, box

from routescreen.assumptions import load_assumptions
from routescreen.audit import AuditReport, audit_plan
from routescreen.corridor.ground import GroundSampler
from routescreen.corridor.treatment import resolve_crossings
from routescreen.money.measure import bill_items
from routescreen.screening_tables import audit_checks
from routescreen.takeoff import Scope, TakeOff, take_off
from tests.audit.place import correct_plan, crossing, crossings, place

ASSUMPTIONS = load_assumptions()
BED_SURVEY = bill_items(ASSUMPTIONS).index["MN12"]  # once a drive under a lake
# the drive runs from x 520 to x 800, its four bores at y 9, 3, -3 and -9


def measured(area: Geometry) -> tuple[TakeOff, AuditReport]:
    """Measure the correct plan with one lake twice: by the take-off and by the audit."""
    inp = replace(place(), crossings=crossings(crossing("lake", area)))
    sampler, found = GroundSampler(inp, ASSUMPTIONS), resolve_crossings(inp.crossings, ASSUMPTIONS)
    exact = take_off(Scope(correct_plan(), sampler, found, ASSUMPTIONS))
    return exact, audit_plan(correct_plan(), inp, ASSUMPTIONS)


@pytest.mark.parametrize(
    ("south_m", "north_m", "n"),
    [(8.5, 30.0, 1.0), (2.0, 4.0, 1.0), (-1.0, 1.0, 1.0), (4.0, 8.0, 0.0), (9.5, 30.0, 0.0)],
    ids=["left outer bore", "inner bore", "between the inner bores", "between two bores", "beside all"],
)
def test_a_crossing_is_paid_for_once_where_a_bore_or_the_alignment_meets_it(
    south_m: float, north_m: float, n: float
) -> None:
    exact, audit = measured(box(600.0, south_m, 640.0, north_m))
    assert float(exact.quantities[:, BED_SURVEY].sum()) == n
    assert float(audit.section_quantities[:, BED_SURVEY].sum()) == n


@given(y_m=st.floats(-15.0, 15.0), height_m=st.floats(0.1, 8.0))
@settings(max_examples=15, deadline=None)
def test_take_off_and_audit_pay_for_the_same_crossings(y_m: float, height_m: float) -> None:
    banks_m = np.array([[y_m], [y_m + height_m]])
    assume(np.abs(banks_m - np.array([-9.0, -3.0, 0.0, 3.0, 9.0])).min() > 1e-5)  # along a bank: either way
    exact, audit = measured(box(600.0, y_m, 640.0, y_m + height_m))
    by_audit = float(audit.section_quantities[:, BED_SURVEY].sum())
    assert float(exact.quantities[:, BED_SURVEY].sum()) == by_audit


def test_each_run_of_open_cut_has_its_checks_alongside_and_none_of_them_is_to_come() -> None:
    _, audit = measured(box(600.0, 8.5, 640.0, 30.0))
    table = audit_checks(audit)
    alongside = table[table["check"] == "trench_alongside"]
    assert alongside["element"].tolist() == ["section", "section"]
    assert alongside["element_index"].tolist() == [0, 2]
    assert alongside["status"].tolist() == ["pass", "pass"]
    assert "crossings_of_outer_bores" not in set(table["check"])
