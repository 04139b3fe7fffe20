"""What follows from the assumptions is kept for them, and for them only."""

from __future__ import annotations

from routescreen.assumptions import load_assumptions
from routescreen.assumptions.once import once_per_assumptions


def test_it_is_worked_out_once_for_each_question_and_anew_for_other_assumptions():
    asked = []

    @once_per_assumptions
    def covers(a, name, *, limit_mm):
        asked.append((name, limit_mm))
        return (a.link.current_A, name, limit_mm)

    one = load_assumptions()
    two = load_assumptions("[link]\ncurrent_A = 1000.0")
    assert covers(one, "bore", limit_mm=10.0) == (1905.0, "bore", 10.0)
    assert covers(one, "bore", limit_mm=10.0) == (1905.0, "bore", 10.0)
    assert covers(one, "bore", limit_mm=20.0) == (1905.0, "bore", 20.0)
    assert len(asked) == 2
    assert covers(two, "bore", limit_mm=10.0) == (1000.0, "bore", 10.0)
    assert covers(one, "bore", limit_mm=10.0) == (1905.0, "bore", 10.0)
    assert len(asked) == 4
