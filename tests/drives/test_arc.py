"""The vertical line of a drive on an arc: by hand, against a circle drawn with compasses, and its laws."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.drives.arc import arc_true_m, below_chord_m, end_turn_frac, lowest_at_m, turned_rad
from routescreen.drives.course import (
    crown_levels_m,
    drawn_points_m,
    end_slopes_frac,
    lowest_crown_m,
    true_length_m,
)
from routescreen.drives.profile import hull_slope, start_level_m
from routescreen.plan import Drive

RADIUS_M, LENGTH_M = 1000.0, 100.0
PER_M = 1.0 / 2000.0


def drive(lower_m: float, upper_m: float, radius_m: float | None = RADIUS_M) -> Drive:
    return Drive("two_pass", 0, 1, True, lower_m, upper_m, 0, 1, arc_radius_m=radius_m)


def test_by_hand() -> None:
    """R 1 000 m over 100 m: 50 x 50 / 2 000 below the chord in the middle, 100 / 2 000 at the ends."""
    assert below_chord_m(PER_M, LENGTH_M, 50.0) == pytest.approx(1.25)
    assert below_chord_m(PER_M, LENGTH_M, 20.0) == pytest.approx(20.0 * 80.0 / 2000.0)
    assert below_chord_m(PER_M, LENGTH_M, 0.0) == below_chord_m(PER_M, LENGTH_M, LENGTH_M) == 0.0
    assert end_turn_frac(PER_M, LENGTH_M) == pytest.approx(0.05)
    assert turned_rad(PER_M, 0.0, LENGTH_M) == pytest.approx(2.0 * math.atan(0.05))
    # level where the chord's slope of 2 % is taken back: 20 m before the middle
    assert lowest_at_m(PER_M, 0.02, LENGTH_M) == pytest.approx(30.0)
    # sqrt(1 + s^2) = 1 + s^2/2 - s^4/8, integrated over s from -0.05 to 0.05: 1 + 0.05^2/6 - 0.05^4/40
    assert arc_true_m(PER_M, 0.0, LENGTH_M) == pytest.approx(
        100.0 * (1.0 + 0.05**2 / 6.0 - 0.05**4 / 40.0), abs=1e-6
    )


def test_what_is_drawn_by_hand() -> None:
    """From 40 m to 42 m: the slope grows from -3 % to 7 %, level after 30 m, 0.45 m below the lower end."""
    rising = drive(40.0, 42.0)
    assert end_slopes_frac(rising, LENGTH_M) == pytest.approx((-0.03, 0.07))
    levels = crown_levels_m(rising, LENGTH_M, np.array([0.0, 30.0, 50.0, 100.0]))
    assert levels == pytest.approx([40.0, 39.55, 39.75, 42.0])
    assert lowest_crown_m(rising, LENGTH_M) == pytest.approx(39.55)
    assert lowest_crown_m(drive(42.0, 40.0), LENGTH_M) == pytest.approx(39.55)
    assert lowest_crown_m(drive(40.0, 48.0), LENGTH_M) == 40.0  # it only rises, from 3 % to 13 %
    points = drawn_points_m(rising, LENGTH_M)
    assert len(points) == 51
    assert points[0] == (0.0, 40.0)
    assert points[15] == pytest.approx((30.0, 39.55))


def test_without_a_radius_it_is_straight() -> None:
    straight = drive(40.0, 42.0, None)
    assert crown_levels_m(straight, LENGTH_M, np.array([50.0])) == pytest.approx([41.0])
    assert true_length_m(straight, LENGTH_M) == pytest.approx(math.hypot(100.0, 2.0))
    assert drawn_points_m(straight, LENGTH_M) == ((0.0, 40.0), (100.0, 42.0))
    assert end_slopes_frac(straight, LENGTH_M) == pytest.approx((0.02, 0.02))
    assert turned_rad(0.0, 0.02, LENGTH_M) == 0.0


def circle(x_m: np.ndarray, length_m: float, rise_m: float, radius_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Draw the sagging circle through (0, 0) and (L, rise) with compasses; return levels and slopes."""
    half = math.hypot(length_m, rise_m) / 2.0
    away = math.sqrt(radius_m**2 - half**2)
    centre_x = length_m / 2.0 - away * rise_m / (2.0 * half)
    centre_z = rise_m / 2.0 + away * length_m / (2.0 * half)
    below = np.sqrt(radius_m**2 - (x_m - centre_x) ** 2)
    return centre_z - below, (x_m - centre_x) / below


@settings(max_examples=200, deadline=None)
@given(radius_m=st.floats(300.0, 5000.0), turn=st.floats(0.005, 0.1), slope=st.floats(-0.1, 0.1))
def test_the_circle_lies_nowhere_above_it_and_hardly_below(
    radius_m: float, turn: float, slope: float
) -> None:
    """The docstring's bound; 1e-9 m is what rounding leaves of levels of some thousand metres."""
    length_m = 2.0 * radius_m * turn
    x_m = np.linspace(0.0, length_m, 41)
    below_m = np.array([below_chord_m(0.5 / radius_m, length_m, x) for x in x_m])
    circle_m, slopes = circle(x_m, length_m, slope * length_m, radius_m)
    apart_m = slope * x_m - below_m - circle_m
    most_m = ((1.0 + np.abs(slopes).max() ** 2) ** 1.5 - 1.0) * below_m
    assert np.all(apart_m >= -1e-9)
    assert np.all(apart_m <= most_m + 1e-9)


def test_how_far_it_is_from_the_circle_at_the_usual_limits() -> None:
    """R 600 m over 96 m: 8 % at both ends of the parabola, 8.03 % of the circle, 3 mm apart in the middle."""
    x_m = np.linspace(0.0, 96.0, 193)
    circle_m, slopes = circle(x_m, 96.0, 0.0, 600.0)
    below_m = np.array([below_chord_m(1.0 / 1200.0, 96.0, x) for x in x_m])
    assert end_turn_frac(1.0 / 1200.0, 96.0) == pytest.approx(0.08)
    assert slopes[-1] == pytest.approx(math.tan(math.asin(0.08)))
    # 600 - sqrt(600^2 - 48^2) = 1.923083 m against 48^2 / 1200 = 1.92 m
    assert (-below_m - circle_m)[96] == pytest.approx(0.003083, abs=1e-5)


@settings(max_examples=200, deadline=None)
@given(
    radius_m=st.floats(300.0, 5000.0),
    length_m=st.floats(5.0, 400.0),
    slope=st.floats(-0.1, 0.1),
    at=st.floats(0.0, 1.0),
)
def test_what_is_searched_is_what_is_drawn(radius_m: float, length_m: float, slope: float, at: float) -> None:
    """Chord and raise of the search against start slope and curvature of what measures plans."""
    drawn, per_m = drive(40.0, 40.0 + slope * length_m, radius_m), 0.5 / radius_m
    searched_m = 40.0 + slope * at * length_m - below_chord_m(per_m, length_m, at * length_m)
    assert crown_levels_m(drawn, length_m, np.array([at * length_m])) == pytest.approx(
        [searched_m], abs=1e-10
    )
    assert arc_true_m(per_m, slope, length_m) == pytest.approx(true_length_m(drawn, length_m), abs=1e-9)
    start, end = end_slopes_frac(drawn, length_m)
    turn = end_turn_frac(per_m, length_m)
    assert (slope - turn, slope + turn) == pytest.approx((start, end), abs=1e-12)
    lowest_m = min(max(lowest_at_m(per_m, slope, length_m), 0.0), length_m)
    assert crown_levels_m(drawn, length_m, np.array([lowest_m]))[0] == pytest.approx(
        lowest_crown_m(drawn, length_m), abs=1e-10
    )


@settings(max_examples=200, deadline=None)
@given(
    length_m=st.floats(20.0, 300.0),
    radius_m=st.floats(300.0, 5000.0),
    rise_m=st.floats(-5.0, 5.0),
)
def test_turned_round_it_is_its_mirror_image(length_m: float, radius_m: float, rise_m: float) -> None:
    here, there = drive(40.0, 40.0 + rise_m, radius_m), drive(40.0 + rise_m, 40.0, radius_m)
    along_m = np.linspace(0.0, length_m, 9)
    assert crown_levels_m(here, length_m, along_m) == pytest.approx(
        crown_levels_m(there, length_m, length_m - along_m), abs=1e-9
    )
    assert true_length_m(here, length_m) == pytest.approx(true_length_m(there, length_m), abs=1e-9)
    assert true_length_m(here, length_m) >= true_length_m(replace(here, arc_radius_m=None), length_m)


@settings(max_examples=200, deadline=None)
@given(
    ceiling_m=st.lists(st.floats(30.0, 45.0), min_size=1, max_size=8),
    radius_m=st.floats(300.0, 5000.0),
    at=st.floats(0.05, 0.95),
)
def test_raised_ceilings_at_the_edges_hold_an_arc_below_level_ceilings_everywhere(
    ceiling_m: list[float], radius_m: float, at: float
) -> None:
    """What the search relies on: each column's ceiling holds between the edges too, and is touched."""
    edge_m = 10.0 * np.arange(len(ceiling_m) + 1.0)
    length_m, per_m = float(edge_m[-1]), 0.5 / radius_m
    lowest = np.minimum([ceiling_m[0], *ceiling_m], [*ceiling_m, ceiling_m[-1]])
    raised = lowest + np.array([below_chord_m(per_m, length_m, x) for x in edge_m])
    slope = hull_slope(edge_m, raised, len(edge_m), at * length_m, np.zeros(len(edge_m), np.int64))
    start = start_level_m(edge_m, raised, len(edge_m), slope)
    arc = drive(start, start + slope * length_m, radius_m)
    room = []
    for column, ceiling in enumerate(ceiling_m):
        x = np.linspace(edge_m[column], edge_m[column + 1], 21)
        room.append(ceiling - crown_levels_m(arc, length_m, x))
    assert min(part.min() for part in room) == pytest.approx(0.0, abs=1e-9)
