"""What a method's strings ask for, and where they lie, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.assumptions import load_assumptions
from routescreen.drives.layout import MethodLayout, method_layout, strip_band, strip_line_m, strips

ASSUMPTIONS = load_assumptions()
FOUR = MethodLayout(4, 6.0, 6.0, 2.5, 20.0, 20, 24.5)
APART = MethodLayout(2, 6.0, 10.0, 2.5, 20.0, 20, 24.5)
HERE = np.array([100.0, 50.0])


def test_four_strings_of_two_pass_lie_side_by_side() -> None:
    rule = method_layout(ASSUMPTIONS, "two_pass")
    assert rule is not None
    # 4 bores; strips of 6 m; reception shaft 5 m long; 20 m to work
    assert (rule.n_strings, rule.half_width_m, rule.start_m, rule.ahead_m) == (4, 12.0, 2.5, 22.5)
    # 25 x 0.5 m, cold, at the inner edge of the strips
    assert rule.radius_m == pytest.approx(12.5 + 12.0)


def test_methods_that_push_their_pipes_from_the_launch_lay_nothing_out() -> None:
    assert method_layout(ASSUMPTIONS, "guided_thrust") is None
    assert method_layout(ASSUMPTIONS, "enterable") is None


def test_straight_strips_begin_at_the_far_side_of_the_shaft() -> None:
    line = strip_line_m(FOUR, HERE, math.radians(90.0), 300.0, 0.0, 0)
    np.testing.assert_allclose(line, [[100.0, 52.5], [100.0, 352.5]])
    assert strip_band(FOUR, line).bounds == pytest.approx((88.0, 52.5, 112.0, 352.5))
    assert strips(FOUR, line)[0].equals(strip_band(FOUR, line))


def test_strips_with_land_between_them_take_only_their_own() -> None:
    line = strip_line_m(APART, HERE, 0.0, 100.0, 0.0, 0)
    lower, upper = sorted(strips(APART, line), key=lambda strip: strip.bounds[1])
    assert lower.bounds == pytest.approx((102.5, 42.0, 202.5, 48.0))
    assert upper.bounds == pytest.approx((102.5, 52.0, 202.5, 58.0))
    assert strip_band(APART, line).bounds == pytest.approx((102.5, 42.0, 202.5, 58.0))


def test_a_bend_to_the_left_by_a_right_angle() -> None:
    line = strip_line_m(FOUR, HERE, 0.0, 300.0, 60.0, 6)
    assert len(line) == 8
    np.testing.assert_allclose(line[1], [160.0, 50.0])
    legs = np.diff(line, axis=0)
    turned = np.degrees(np.arctan2(legs[:, 1], legs[:, 0]))
    np.testing.assert_allclose(turned, [0.0, 15.0, 30.0, 45.0, 60.0, 75.0, 90.0], atol=1e-9)
    leg_m = 2.0 * 24.5 * math.tan(math.radians(7.5))
    np.testing.assert_allclose(np.hypot(*legs.T)[1:-1], leg_m)
    right = strip_line_m(FOUR, HERE, 0.0, 300.0, 60.0, -6)
    np.testing.assert_allclose(right[:, 1] - 50.0, 50.0 - line[:, 1])


@given(
    length_m=st.floats(21.0, 900.0),
    bend_m=st.floats(22.5, 300.0),
    n_kinks=st.integers(-6, 6),
    heading=st.floats(-3.0, 3.0),
)
def test_strips_are_as_long_as_asked_however_they_lie(
    length_m: float, bend_m: float, n_kinks: int, heading: float
) -> None:
    line = strip_line_m(APART, HERE, heading, length_m, bend_m, n_kinks)
    assert np.hypot(*np.diff(line, axis=0).T).sum() == pytest.approx(length_m)
    parts = strips(APART, line)
    band = strip_band(APART, line)
    assert len(parts) == 2
    assert all(part.difference(band.buffer(1e-6)).area < 1e-6 for part in parts)
    # mitred at the kinks, the two strips together take as much as one of twice the width
    assert sum(part.area for part in parts) == pytest.approx(12.0 * length_m, rel=1e-6)
