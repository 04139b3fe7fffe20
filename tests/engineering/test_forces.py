"""Thrust, pull-in and bending by hand, at limits, and by law."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.bend import bend_stress_MPa
from routescreen.engineering.pull_in import (
    annulus_drag_kN,
    floating_weight_kN_per_m,
    most_pipe_pull_kN,
    pipe_pull_kN,
)
from routescreen.engineering.thrust import (
    bend_factor,
    face_pressure_kPa,
    friction_kN_per_m,
    longest_reach_m,
    thrust_kN,
)

SAND = (18.0, 20.0, 33.0)  # dry and saturated unit weight, angle of friction


def face(depth_m: float, water_depth_m: float, control_kPa: float = 10.0) -> float:
    return face_pressure_kPa(depth_m, water_depth_m, *SAND, 1.05, 1.5, control_kPa)


def test_face_pressure_below_groundwater_by_hand() -> None:
    """Axis 10.28 m deep, water 2 m deep: u 81.23, sigma' 18 x 2 + 20 x 8.28 - 81.23 = 120.37, Ka 0.2948."""
    assert face(10.28, 2.0) == pytest.approx(1.05 * 81.2268 + 1.5 * 0.294801 * 120.3732 + 10.0, abs=0.002)


@pytest.mark.parametrize(
    ("depth_m", "water_depth_m", "expected"),
    [
        pytest.param(5.0, math.inf, 1.5 * 0.294801 * 90.0, id="dry: earth only"),
        pytest.param(0.0, 5.0, 0.0, id="at the surface: nothing"),
        # 3 m of water above the ground: u = 9.81 x 8, sigma' = (20 - 9.81) x 5, as without it
        pytest.param(5.0, -3.0, 1.05 * 78.48 + 1.5 * 0.294801 * 50.95, id="under standing water"),
    ],
)
def test_face_pressure_at_its_limits(depth_m: float, water_depth_m: float, expected: float) -> None:
    assert face(depth_m, water_depth_m, 0.0) == pytest.approx(expected, abs=0.002)


def test_thrust_by_hand() -> None:
    """148.5 kPa on 0.56 m: 36.6 kN; 1 kPa on 540 m and 2 kPa on 80 m of 0.5 m; 1.9 kN/m up 3.1 m."""
    friction = friction_kN_per_m(1.0, 0.5) * 540.0 + friction_kN_per_m(2.0, 0.5) * 80.0
    assert friction == pytest.approx(math.pi * 0.5 * 700.0)
    assert thrust_kN(148.5, 0.56, friction, 1.9 * 3.1) == pytest.approx(36.576 + 1099.557 + 5.89, abs=0.01)
    assert thrust_kN(148.5, 0.56, 1.5 * friction, 1.9 * 3.1) == pytest.approx(1691.8, abs=0.1)


def test_what_is_pulled_through_a_bend_by_hand() -> None:
    """Round half a post at 0.3: e^(0.3 pi) = e^0.942478; through a hundredth of a radian hardly more."""
    assert bend_factor(0.3, math.pi) == pytest.approx(2.566332, abs=1e-5)
    assert bend_factor(0.3, 0.01) == pytest.approx(1.0 + 0.003 + 0.003**2 / 2.0, abs=1e-8)
    assert bend_factor(0.3, 0.0) == bend_factor(0.0, 1.0) == 1.0


@pytest.mark.parametrize(
    ("tau_kPa", "reach_m"),
    # (3 430 / 1.25 - 37) / (1.5 pi 0.5 tau), own arithmetic
    [pytest.param(1.4, 820.6, id="dense sand"), pytest.param(1.2, 957.4, id="silt"), (1.0, 1148.9)],
)
def test_reach_after_a_stop(tau_kPa: float, reach_m: float) -> None:
    per_m = 1.5 * friction_kN_per_m(tau_kPa, 0.5)
    assert longest_reach_m(3430.0 / 1.25, 37.0, per_m) == pytest.approx(reach_m, abs=0.1)


def test_one_kilometre_is_reached_below_1_15_kPa_after_a_stop_and_1_72_without() -> None:
    for factor, tau_kPa in ((1.0, 1.7234), (1.5, 1.1489)):
        per_m = factor * friction_kN_per_m(tau_kPa, 0.5)
        assert longest_reach_m(3430.0 / 1.25, 37.0, per_m) == pytest.approx(1000.0, abs=0.1)


def test_ballasted_pipe_in_grout_by_hand() -> None:
    """OD 0.5, wall 45.5 mm, 62 kg/m: 0.608 + 9.81 x 0.1314 - 14 x 0.19635 = -0.852 kN/m."""
    assert floating_weight_kN_per_m(0.608, 0.409, 0.5, 14.0) == pytest.approx(-0.852, abs=0.001)
    assert floating_weight_kN_per_m(0.608, 0.0, 0.5, 14.0) == pytest.approx(-2.141, abs=0.001)


def test_pull_on_the_pipe_by_stage_by_hand() -> None:
    """Drag 70 pi/8 (0.56^2 - 0.5^2) = 1.748; rollers 0.1 x 0.608, grout 0.3 x 0.851 a metre; 620 m."""
    drag = annulus_drag_kN(70.0, 0.56, 0.5)
    assert drag == pytest.approx(1.748, abs=0.001)
    pulls = [pipe_pull_kN(x, 620.0, 0.2553, 0.0608, drag) for x in (0.0, 310.0, 620.0)]
    assert pulls == pytest.approx([39.44, 99.74, 160.03], abs=0.01)
    assert most_pipe_pull_kN(620.0, 0.2553, 0.0608, drag) == pytest.approx(160.03, abs=0.01)


@pytest.mark.parametrize(
    ("diameters", "stress_MPa"),
    # 210 GPa steel; own arithmetic: E / (2 x diameters)
    [pytest.param(1000.0, 105.0, id="1000 OD"), pytest.param(1200.0, 87.5, id="1200 OD")],
)
def test_bending_of_steel_by_hand(diameters: float, stress_MPa: float) -> None:
    assert bend_stress_MPa(210_000.0, 0.5, 0.5 * diameters) == pytest.approx(stress_MPa)
    assert bend_stress_MPa(210_000.0, 0.323, 190.0) == pytest.approx(178.5, abs=0.05)


@given(
    depth_m=st.floats(0.1, 30.0),
    water_m=st.floats(0.0, 30.0),
    more_m=st.floats(0.0, 10.0),
    k=st.floats(0.1, 10),
)
def test_deeper_means_more_pressure_and_forces_scale(
    depth_m: float, water_m: float, more_m: float, k: float
) -> None:
    assert face(depth_m + more_m, water_m) >= face(depth_m, water_m) - 1e-9
    assert face(depth_m, water_m) <= face(depth_m, max(water_m - more_m, 0.0)) + 1e-9
    assert friction_kN_per_m(k, 0.5) == pytest.approx(k * friction_kN_per_m(1.0, 0.5))
    # lengths by k, unit weights by 1/k: stresses stay, forces grow by k squared
    scaled = face_pressure_kPa(k * depth_m, math.inf, 18.0 / k, 20.0 / k, 33.0, 1.05, 1.5, 0.0)
    assert scaled == pytest.approx(face_pressure_kPa(depth_m, math.inf, 18.0, 20.0, 33.0, 1.05, 1.5, 0.0))
    assert thrust_kN(scaled, k, 0.0, 0.0) == pytest.approx(k * k * thrust_kN(scaled, 1.0, 0.0, 0.0))


def test_formulae_take_arrays_as_they_take_numbers() -> None:
    depth = np.array([1.0, 5.0, 12.0])
    pressure = face_pressure_kPa.py_func(depth, 2.0, *SAND, 1.05, 1.5, 10.0)
    assert pressure == pytest.approx([face(d, 2.0) for d in depth])
