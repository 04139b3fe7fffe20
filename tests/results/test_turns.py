"""How far lines turn, as the layer of layout strips tells it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.results.shapes import turn_deg


@given(
    x_m=st.floats(-1e7, 1e7),
    y_m=st.floats(-1e7, 1e7),
    heading_deg=st.floats(-180.0, 180.0),
    leg_m=st.floats(10.0, 400.0),
    n_kinks=st.integers(-6, 6),
)
def test_legs_that_turn_by_15_degrees_each_turn_by_no_more_than_a_right_angle(
    x_m: float, y_m: float, heading_deg: float, leg_m: float, n_kinks: int
) -> None:
    """Coordinates of a million metres hold a turn of six such legs to some 1e-9 degrees, over or under 90."""
    line = [(x_m, y_m)]
    for leg in range(abs(n_kinks) + 1):
        heading = math.radians(heading_deg + math.copysign(15.0 * leg, n_kinks))
        line.append((line[-1][0] + leg_m * math.cos(heading), line[-1][1] + leg_m * math.sin(heading)))
    assert turn_deg(line) == pytest.approx(15.0 * n_kinks, abs=1e-6)
    assert abs(turn_deg(line)) <= 90.0


def test_a_line_that_goes_straight_on_turns_by_nothing() -> None:
    assert math.copysign(1.0, turn_deg([(0.0, 0.0), (10.0, -1e-9), (20.0, -3e-9)])) == 1.0
