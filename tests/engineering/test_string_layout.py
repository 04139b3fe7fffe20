"""Pieces of a pipe string by hand, and their law."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.string_layout import least_pieces


@pytest.mark.parametrize(
    ("length_m", "room_m", "most", "pieces"),
    [
        (300.0, 300.0, 20, 1),
        (300.0, 299.9, 20, 2),
        (300.0, 150.0, 20, 2),
        (300.0, 100.0, 20, 3),
        (300.0, 99.0, 3, 0),
        (300.0, 100.0, 3, 3),
        (300.0, 0.0, 20, 0),
        (300.0, -5.0, 20, 0),
    ],
)
def test_as_few_pieces_as_fit(length_m: float, room_m: float, most: int, pieces: int) -> None:
    assert least_pieces(length_m, room_m, most) == pieces


@given(length_m=st.floats(10.0, 1500.0), room_m=st.floats(0.1, 2000.0), most=st.integers(1, 30))
def test_one_piece_less_would_not_fit(length_m: float, room_m: float, most: int) -> None:
    n = least_pieces(length_m, room_m, most)
    if n == 0:
        assert length_m / most > room_m * (1.0 - 1e-6)
        return
    assert n <= most
    assert length_m / n <= room_m * (1.0 + 1e-6)
    assert n == 1 or length_m / (n - 1) > room_m * (1.0 - 1e-6)
