"""What follows from the assumptions is kept for them, and for them only; who asks can't spoil it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.assumptions.once import MOST_KEPT, once_per_assumptions
from routescreen.drives.methods import enabled_methods
from routescreen.search.fill_prices import fill_table_eur

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True)
class Prices:
    """An answer that holds an array."""

    eur: NDArray[np.float64]


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


@pytest.mark.parametrize("wrap", [lambda eur: eur, Prices, lambda eur: ("shaft", Prices(eur))])
def test_kept_arrays_can_not_be_written_on(wrap):
    eur = np.zeros(3)

    @once_per_assumptions
    def prices(a):
        return wrap(eur)

    prices(load_assumptions())
    with pytest.raises(ValueError, match="read-only"):
        eur[0] = 1.0


def test_tables_handed_to_the_search_are_its_own():
    a = load_assumptions()
    n_roles = 1 + 2 * len(enabled_methods(a))
    spoilt = fill_table_eur(n_roles, 20, a)
    kept = spoilt.copy()
    assert kept.any()
    spoilt[:] = -1.0
    np.testing.assert_array_equal(fill_table_eur(n_roles, 20, a), kept)
