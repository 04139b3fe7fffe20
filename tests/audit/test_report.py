"""The ledger of checks: status and utilisation never say different things."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.audit.report import MOST_UTILISATION, Ledger, Limit, Place

LIMIT = Limit("layout_in_line", "deg", "test", tolerance=0.01)
AMOUNTS = st.floats(0.0, 1e6)


@pytest.mark.parametrize(
    ("demand", "capacity", "status", "utilisation"),
    [
        (0.0, 0.0, "pass", 0.0),
        (0.004, 0.0, "pass", 0.0),  # within the tolerance nothing is asked for
        (0.02, 0.0, "fail", MOST_UTILISATION),
        (2.0, 4.0, "pass", 0.5),
        (4.005, 4.0, "pass", 1.0),
        (8.0, 4.0, "fail", 2.0),
    ],
    ids=["nothing", "a hair", "something for which there is nothing", "half", "just met", "twice"],
)
def test_utilisation_of_what_passes_and_fails(
    demand: float, capacity: float, status: str, utilisation: float
) -> None:
    ledger = Ledger()
    ledger.at_most("D1", LIMIT, demand, capacity, Place(), "as drawn")
    ledger.at_least("D1", LIMIT, demand, capacity, Place(), "as drawn")
    ledger.finding("D1", LIMIT, demand, capacity, Place(), "as drawn")
    assert [check.status for check in ledger.checks] == [status] * 3
    assert [check.utilisation for check in ledger.checks] == [utilisation] * 3


@given(demand=AMOUNTS, capacity=AMOUNTS, tolerance=st.sampled_from([0.0, 0.001, 0.01]))
def test_above_1_fails_and_what_fails_lies_above_1(demand: float, capacity: float, tolerance: float) -> None:
    ledger = Ledger()
    limit = Limit("length", "m", "test", tolerance=tolerance)
    ledger.at_most("D1", limit, demand, capacity, Place(), "as drawn")
    (check,) = ledger.checks
    assert (check.status == "fail") == (demand > capacity + tolerance)
    assert (check.utilisation > 1.0) == (check.status == "fail")
