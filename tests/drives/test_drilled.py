"""The vertical line of a drilled bore: by hand, against a line drawn point by point, and its laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.drives.drilled import (
    Half,
    cover_run_m,
    crowns_m,
    drilled_crown_m,
    drilled_true_m,
    half_crown_m,
    half_of,
    half_true_m,
    highest_bottom_m,
    highest_start_bottom_m,
    run_m,
)

DEG = math.pi / 180.0
# a 3-4-5 triangle: tan 3/4, sin 3/5, cos 4/5, so tan(a/2) = 1/3
STEEP = Half(100.0, 0.75, 0.6, 0.8, 30.0)


def drawn(half: Half, bottom_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Walk down the straight, round the arc and along the level part in small true steps."""
    angle = math.atan2(half.sin, half.cos)
    straight_m = (half.start_m - bottom_m - half.radius_m * (1.0 - half.cos)) / half.sin
    s = np.linspace(0.0, straight_m, 4001)
    turn = np.linspace(0.0, angle, 4001)
    x1, z1 = s * half.cos, half.start_m - s * half.sin
    # heading falls from the angle to 0: integrate it
    heading = angle - turn
    step = half.radius_m * angle / 4000
    dx, dz = np.cos(heading), -np.sin(heading)
    x2 = x1[-1] + np.concatenate([[0.0], np.cumsum(0.5 * (dx[1:] + dx[:-1])) * step])
    z2 = z1[-1] + np.concatenate([[0.0], np.cumsum(0.5 * (dz[1:] + dz[:-1])) * step])
    return np.concatenate([x1, x2]), np.concatenate([z1, z2])


def test_by_hand() -> None:
    """Radius 30 at 3-4-5: the arc falls by 30 (1 - 0.8) = 6 over 30 x 0.6 = 18, corner 10 off its end."""
    assert highest_start_bottom_m(STEEP) == pytest.approx(94.0)
    assert run_m(STEEP, 94.0) == pytest.approx(18.0)  # nothing but the arc
    assert run_m(STEEP, 79.0) == pytest.approx(21.0 / 0.75 + 10.0)
    assert half_true_m(STEEP, 79.0) == pytest.approx(15.0 / 0.6 + 30.0 * math.asin(0.6))
    assert half_crown_m(STEEP, 79.0, 0.0) == 100.0
    assert half_crown_m(STEEP, 79.0, 20.0) == pytest.approx(85.0)  # the arc begins here
    assert half_crown_m(STEEP, 79.0, 38.0) == pytest.approx(79.0)
    assert half_crown_m(STEEP, 79.0, 500.0) == 79.0
    # half-way in plan through the arc: 30 - sqrt(900 - 81) above the bottom
    assert half_crown_m(STEEP, 79.0, 29.0) == pytest.approx(79.0 + 30.0 - math.sqrt(819.0))


def test_level_part_and_whole_length() -> None:
    """Both halves the same: 200 m in plan, 76 of them in the halves."""
    whole = drilled_true_m(STEEP, STEEP, 79.0, 200.0)
    assert whole == pytest.approx(2.0 * half_true_m(STEEP, 79.0) + 124.0)
    assert drilled_true_m(STEEP, STEEP, 79.0, 75.9) == -math.inf


@pytest.mark.parametrize("angle_deg", [8.0, 12.0, 18.0])
@pytest.mark.parametrize("depth_m", [20.0, 31.5])
def test_against_a_line_walked_in_small_steps(angle_deg: float, depth_m: float) -> None:
    half = half_of(50.0, angle_deg * DEG, 300.0)
    bottom_m = 50.0 - depth_m
    x_m, z_m = drawn(half, bottom_m)
    found = [half_crown_m(half, bottom_m, float(x)) for x in x_m]
    np.testing.assert_allclose(found, z_m, atol=1e-5)
    assert run_m(half, bottom_m) == pytest.approx(x_m[-1], abs=1e-5)
    steps = np.hypot(np.diff(x_m), np.diff(z_m)).sum()
    assert half_true_m(half, bottom_m) == pytest.approx(steps, rel=1e-6)


halves = st.builds(
    half_of,
    st.floats(-50.0, 150.0),
    st.floats(5.0 * DEG, 25.0 * DEG),
    st.floats(50.0, 600.0),
)


@settings(deadline=None)  # the first call compiles
@given(half=halves, x_m=st.floats(0.0, 400.0), below_m=st.floats(0.0, 80.0))
def test_highest_bottom_just_keeps_the_ceiling(half: Half, x_m: float, below_m: float) -> None:
    """At the highest bottom the crown touches the ceiling; a little higher it would pass it."""
    ceiling_m = half.start_m - below_m
    bottom_m = highest_bottom_m(half, x_m, ceiling_m)
    if bottom_m == -math.inf:
        assert half.start_m - x_m * half.tan > ceiling_m - 1e-6
        return
    highest = highest_start_bottom_m(half)
    if bottom_m > highest:  # the arc has no room: whoever asks takes the lesser
        return
    assert half_crown_m(half, bottom_m, x_m) <= ceiling_m + 1e-6
    higher = min(bottom_m + 0.01, highest)
    straight = half.start_m - x_m * half.tan
    if higher > bottom_m + 0.009 and straight < ceiling_m - 0.01:
        assert half_crown_m(half, higher, x_m) > ceiling_m - 1e-6


@settings(deadline=None)  # the first call compiles
@given(half=halves, x_m=st.floats(0.0, 500.0), one=st.floats(0.0, 60.0), more=st.floats(0.0, 30.0))
def test_a_lower_bottom_lies_lower_everywhere(half: Half, x_m: float, one: float, more: float) -> None:
    bottom_m = highest_start_bottom_m(half) - one
    assert half_crown_m(half, bottom_m - more, x_m) <= half_crown_m(half, bottom_m, x_m) + 1e-9


@settings(deadline=None)  # the first call compiles
@given(half=halves, x_m=st.floats(0.0, 300.0), along_m=st.floats(0.1, 60.0), deep_m=st.floats(0.0, 40.0))
def test_it_sags_and_never_bulges(half: Half, x_m: float, along_m: float, deep_m: float) -> None:
    """Convex: between two places it lies no higher than the straight line, so their ceilings are enough."""
    bottom_m = highest_start_bottom_m(half) - deep_m
    ends = [half_crown_m(half, bottom_m, x) for x in (x_m, x_m + along_m)]
    middle = half_crown_m(half, bottom_m, x_m + along_m / 2.0)
    assert middle <= 0.5 * (ends[0] + ends[1]) + 1e-9


def test_mirror_image() -> None:
    lower, upper = half_of(30.0, 12.0 * DEG, 300.0), half_of(33.0, 10.0 * DEG, 300.0)
    x_m = np.linspace(0.0, 400.0, 81)
    there = crowns_m(lower, upper, 15.0, 400.0, x_m)
    back = crowns_m(upper, lower, 15.0, 400.0, 400.0 - x_m)
    np.testing.assert_allclose(there, back, rtol=0.0, atol=1e-12)
    assert there[0] == pytest.approx(30.0)
    assert there[-1] == pytest.approx(33.0)
    assert there.min() == 15.0
    assert drilled_crown_m(lower, upper, 15.0, 400.0, 200.0) == 15.0


def test_cover_is_asked_from_where_level_ground_gives_it() -> None:
    """A cover of 21 m: the bore that lies 21 m below its pit is level from there on."""
    assert cover_run_m(STEEP, 21.0) == pytest.approx(run_m(STEEP, 79.0))
    # less than the arc falls by itself: from where the arc ends
    assert cover_run_m(STEEP, 2.0) == pytest.approx(18.0)
