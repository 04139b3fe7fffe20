"""Ramps of all cables of a shaft: places, ways up and aside, run, radius; by hand and laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.assumptions import load_assumptions
from routescreen.drives.ramp import (
    most_shift_m,
    ramp_line,
    ramp_radius_m,
    shaft_offsets_m,
    trench_offsets_m,
)

A = load_assumptions()


def test_radius_by_the_eye_and_the_side_wall() -> None:
    """A cable that has used up its eye: 125 kN / 5 kN/m; a drive's own length has no part in it."""
    assert ramp_radius_m(A) == pytest.approx(25.0)
    short = load_assumptions("[methods.two_pass]\nlongest_m = 300.0\n")
    assert ramp_radius_m(short) == pytest.approx(25.0)


@pytest.mark.parametrize(
    ("text", "radius_m"),
    [
        # 125 / 50 = 2.5 m by the side wall, 3.5 m by the cable, 25 x 0.28 = 7 m by the pipe
        pytest.param(
            "side_wall_kN_per_m = 50.0\nside_wall_upper_kN_per_m = 50.0\n", 7.0, id="pipe laid cold"
        ),
        pytest.param("bend_radius_pulled_m = 40.0\n", 40.0, id="bend of the cable"),
        pytest.param("pull_limit_kN = 60.0\n", 12.0, id="weaker eye"),
        pytest.param("ramp_radius_m = 5.0\n", 5.0, id="as given"),
    ],
)
def test_radius_by_what_else_asks_for_more(text: str, radius_m: float) -> None:
    assert ramp_radius_m(load_assumptions(f"[cable]\n{text}")) == pytest.approx(radius_m)


def test_places_and_ways_aside_by_hand() -> None:
    """Bores 6 m apart, trenches 10 m apart: pipes at 5 -+ s/2, so 3.75 and 1.75 m aside with s 0.5 m.

    Bores 5 m apart at 7.5 and 2.5 m: 2.25 m to 5.25 and 4.75 m.
    """
    assert shaft_offsets_m(A, "two_pass") == pytest.approx([-9.0, -3.0, 3.0, 9.0])
    (line,) = ramp_line(A, "two_pass", 6.28, 0.5).legs
    assert line.shift_m == pytest.approx([3.75, -1.75, 1.75, -3.75])
    assert ramp_line(A, "two_pass", 6.28, 1.5).legs[0].shift_m == pytest.approx([3.25, -1.25, 1.25, -3.25])
    assert (most_shift_m(A, "two_pass"), most_shift_m(A, "guided_thrust")) == pytest.approx((3.75, 2.25))


def test_a_ramp_by_hand() -> None:
    """Up 6.28 - 1.54 = 4.74 m and at most 3.75 m aside: 6.04401 m across on arcs of 25 m.

    Run 50 root(1 - (1 - 6.04401/50)^2) = 23.8300 m at acos(1 - 6.04401/50) = 28.4636 deg, 50 x 0.496784 =
    24.8392 m of cable. Inner cables, 5.05273 m across in the same run: L sin t + (50 - D) cos t = 50 at
    17.2979 deg: 7.0849 + 42.9144 = 50.00 m; straight root(23.83^2 + 44.9473^2 - 50^2) = 9.388 m, in all
    50 x 0.301905 + 9.388 = 24.483 m.
    """
    line = ramp_line(A, "two_pass", 6.28, 0.5)
    assert (line.rise_m, line.run_m) == pytest.approx((4.74, 23.8300), abs=1e-3)
    assert line.legs[0].bend_deg == pytest.approx([28.4636, 17.2979, 17.2979, 28.4636], abs=1e-3)
    assert line.length_m == pytest.approx([24.8392, 24.483, 24.483, 24.8392], abs=1e-3)


def test_the_run_does_not_hang_on_the_spacing_of_the_pipes() -> None:
    """Search and audit measure one ramp, whatever ground lies at its end."""
    runs = [ramp_line(A, "guided_thrust", 4.0, spacing_m).run_m for spacing_m in (0.5, 0.9, 1.5)]
    assert runs == pytest.approx([runs[0]] * 3)


def test_from_the_bores_to_the_pipes() -> None:
    line = ramp_line(A, "guided_thrust", 3.6, 0.8)
    ends = np.array([0.0, line.run_m])
    assert line.depth_m(ends) == pytest.approx(np.array([[3.6] * 4, [1.54] * 4]))
    assert line.offset_m(ends)[0] == pytest.approx(shaft_offsets_m(A, "guided_thrust"))
    assert line.offset_m(ends)[1] == pytest.approx(trench_offsets_m(A, np.array([0.8]))[0])


@given(st.sampled_from(list(A.methods)), st.floats(1.0, 20.0), st.floats(0.5, 1.5))
def test_no_cable_bends_more_than_allowed_anywhere(method: str, bottom_m: float, spacing_m: float) -> None:
    """Curvature of each cable's way in space, from points on it: at most 1/R; steepest 30 deg."""
    line = ramp_line(A, method, bottom_m, spacing_m)
    along = np.linspace(0.0, line.run_m, 801)
    for depth, offset in zip(line.depth_m(along).T, line.offset_m(along).T, strict=True):
        steps = np.diff(np.column_stack([along, offset, -depth]), axis=0)
        lengths = np.linalg.norm(steps, axis=1)
        heading = steps / lengths[:, np.newaxis]
        turn = np.linalg.norm(np.diff(heading, axis=0), axis=1)
        # half a step more where a way of arcs alone turns from one to the other
        assert np.all(turn / (0.5 * (lengths[1:] + lengths[:-1])) <= 1.02 / line.radius_m)
        assert np.all(heading[:, 0] >= math.cos(math.radians(A.cable.ramp_angle_deg)) - 1e-6)


def test_pipes_of_a_tunnel_are_fanned_out_in_the_shaft() -> None:
    """6.5 m of width less a pipe of 0.28 m."""
    assert shaft_offsets_m(A, "enterable") == pytest.approx(3.11 * np.array([-1.0, -1 / 3, 1 / 3, 1.0]))
