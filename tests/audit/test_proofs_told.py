"""What a user hears of the findings: every failure, worst first, and how much is no pass."""

from __future__ import annotations

import numpy as np
import pandas as pd

from routescreen.audit.proofs import MOST_TOLD, Proofs, count_warnings


def table(*rows: tuple[str, float, str]) -> pd.DataFrame:
    return pd.DataFrame(
        [(f"A-D{k:03d}", "cable_rating", used, status, what) for k, (status, used, what) in enumerate(rows)],
        columns=["element_id", "check", "utilisation", "status", "reason"],
    )


def told(*rows: tuple[str, float, str]) -> tuple[str, ...]:
    return Proofs(table(*rows), {}, np.zeros((0, 1))).warnings


def test_failures_are_told_worst_first_with_their_reason() -> None:
    lines = told(("pass", 0.5, "fine"), ("fail", 1.1, "warm"), ("fail", 1.4, "hot"))
    assert lines == ("A-D002 fails cable rating: hot.", "A-D001 fails cable rating: warm.")


def test_what_is_no_pass_is_counted() -> None:
    rows = [("pass", 0.5, ""), ("amber", 1.1, ""), ("amber", 1.2, ""), ("not_evaluated", np.nan, "")]
    assert count_warnings(table(*rows)) == (
        "Of 4 checks 2 are amber and 1 is not evaluated: see the layer checks.",
    )
    assert count_warnings(table(*rows, ("fail", 1.1, ""))) == (
        "Of 5 checks 1 fails, 2 are amber and 1 is not evaluated: see the layer checks.",
    )
    assert count_warnings(table(("fail", 1.1, ""), ("pass", 0.5, ""))) == (
        "Of 2 checks 1 fails: see the layer checks.",
    )


def test_a_plan_that_passes_says_nothing() -> None:
    assert told(("pass", 0.5, "")) == ()
    assert told() == ()
    assert count_warnings(table(("pass", 0.5, ""))) == ()


def test_of_many_failures_the_rest_is_counted() -> None:
    lines = told(*[("fail", 1.0 + k, "") for k in range(MOST_TOLD + 3)])
    assert len(lines) == MOST_TOLD + 1
    assert lines[-1].startswith("3 more checks")
