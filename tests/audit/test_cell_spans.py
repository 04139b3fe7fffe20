"""Where a stretch of cells begins and ends: never outside its section, however large the coordinates."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.audit.route import Route

STEP_M = 2.0


def straight(*, edges_m: tuple[float, ...] = (0.0, 10.0, 20.0)) -> Route:
    """Return a line due east, each piece a section of its own."""
    chainage_m = np.array(edges_m)
    n = len(chainage_m) - 1
    return Route(
        xy_m=np.column_stack([537_450.0 + chainage_m, np.full(n + 1, 5_224_500.0)]),
        chainage_m=chainage_m,
        direction=np.tile([1.0, 0.0], (n, 1)),
        is_drive=np.zeros(n, dtype=bool),
        is_narrow=np.zeros(n, dtype=bool),
        drive_of_piece=np.full(n, -1),
        section_of_piece=np.arange(n),
        n_sections=n,
    )


def test_a_stretch_goes_from_the_edge_of_its_first_cell_to_that_of_its_last() -> None:
    middle_m, step_m = np.array([3.0, 5.0, 7.0]), np.full(3, STEP_M)
    assert straight().span_of_cells(0, middle_m, step_m) == (2.0, 8.0)


@pytest.mark.parametrize("slip_m", [-6e-11, 6e-11], ids=["before", "behind"])
def test_rounding_puts_no_stretch_outside_its_section(slip_m: float) -> None:
    first, last = np.array([1.0, 3.0]) + slip_m, np.array([17.0, 19.0]) + slip_m
    step_m = np.full(2, STEP_M)
    from_m, _ = straight().span_of_cells(0, first, step_m)
    _, to_m = straight().span_of_cells(1, last, step_m)
    assert 0.0 <= from_m <= 6.1e-11
    assert 20.0 - 6.1e-11 <= to_m <= 20.0


@given(st.floats(1.0, 1e5), st.integers(1, 400))
def test_the_cells_of_a_whole_section_span_it(length_m: float, n: int) -> None:
    route = straight(edges_m=(0.0, length_m))
    step_m = np.full(n, length_m / n)
    middle_m = route.chainage_along(
        np.zeros(n, dtype=np.int64),
        route.xy_m[0] + np.outer((np.arange(n) + 0.5) * step_m, route.direction[0]),
    )
    from_m, to_m = route.span_of_cells(0, middle_m, step_m)
    assert from_m >= 0.0
    assert to_m <= length_m
    assert (from_m, to_m) == pytest.approx((0.0, length_m), abs=1e-8)
