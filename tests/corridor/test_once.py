"""What follows from the assumptions is kept for them, and for them only."""

from __future__ import annotations

from routescreen.assumptions import load_assumptions
from routescreen.assumptions.once import MOST_KEPT, once_per_assumptions


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
    assert len(asked) == 3


def test_assumptions_not_asked_with_for_longest_are_dropped():
    asked = []

    @once_per_assumptions
    def current_A(a):
        asked.append(a.link.current_A)
        return a.link.current_A

    first, second, *others = (
        load_assumptions(f"[link]\ncurrent_A = {1000.0 + k}") for k in range(MOST_KEPT + 1)
    )
    for a in (first, second, *others[:-1]):
        current_A(a)
    assert len(asked) == MOST_KEPT
    assert current_A(first) == 1000.0
    assert current_A(others[-1]) == 1000.0 + MOST_KEPT
    assert len(asked) == MOST_KEPT + 1
    assert current_A(first) == 1000.0
    assert len(asked) == MOST_KEPT + 1
    assert current_A(second) == 1001.0
    assert len(asked) == MOST_KEPT + 2
