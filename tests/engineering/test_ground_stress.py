"""Stresses and silos by hand, at limits, and by law."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.friction import (
    BANDS,
    edge_resistance_kN,
    friction_of_force_kPa,
    friction_of_stress_kPa,
    is_in_band,
)
from routescreen.engineering.ground_stress import (
    active_coefficient,
    at_rest_coefficient,
    granular_stress_kPa,
    ground_stress,
    has_silo_relief,
    silo_stress_kPa,
    silo_width_m,
    wet_silo_stress_kPa,
)
from routescreen.engineering.values import friction_angle_rad, not_negative, positive, utilisation

positives = st.floats(0.1, 10.0)
depths = st.floats(0.0, 30.0)


@pytest.mark.parametrize(
    ("depth_m", "water_m", "u_kPa", "effective_kPa"),
    [
        pytest.param(5.0, math.inf, 0.0, 90.0, id="dry: 18 x 5"),
        # 18 x 2 + (20 - 9.81) x 3, 9.81 x 3
        pytest.param(5.0, 2.0, 29.43, 66.57, id="water at 2 m"),
        # open water weighs on both, so sigma' is 10.19 x 5
        pytest.param(5.0, -3.0, 78.48, 50.95, id="3 m of water on the bed"),
        pytest.param(0.0, -3.0, 29.43, 0.0, id="on the bed"),
        pytest.param(-1.0, 2.0, 0.0, 0.0, id="above ground"),
    ],
)
def test_stress_by_hand(depth_m, water_m, u_kPa, effective_kPa):
    stress = ground_stress(depth_m, water_m, 18.0, 20.0)
    assert stress.water_kPa == pytest.approx(u_kPa)
    assert stress.effective_kPa == pytest.approx(effective_kPa)
    assert stress.total_kPa == pytest.approx(u_kPa + effective_kPa)


def test_earth_pressure_coefficients_by_hand():
    # tan2(30) = 1/3; 1 - sin 30 = 1/2; without friction both are 1
    assert active_coefficient([0.0, 30.0]) == pytest.approx([1.0, 1.0 / 3.0])
    assert at_rest_coefficient([0.0, 30.0]) == pytest.approx([1.0, 0.5])


def silo(height_m, width_m=1.0, gamma=18.0, c=0.0, k=1.0, delta=30.0, q=0.0):
    return silo_stress_kPa(
        height_m,
        width_m,
        gamma,
        cohesion_kPa=c,
        lateral_ratio=k,
        wall_friction_deg=delta,
        surcharge_kPa=q,
    )


def test_silo_by_hand():
    # 2 K tan 30 = 1.1547; 18/1.1547 = 15.588; 1 - exp(-5.7735) = 0.99689
    assert silo(5.0) == pytest.approx(15.540, abs=5e-4)


@pytest.mark.parametrize("c", [0.0, 4.0])
def test_silo_at_its_limits(c):
    # slope gamma - 2 c/b at the top; (gamma b - 2 c)/(2 K tan delta) far down
    assert silo(1e-6, c=c) / 1e-6 == pytest.approx(18.0 - 2.0 * c, rel=1e-5)
    assert silo(1e4, c=c) == pytest.approx((18.0 - 2.0 * c) / (2.0 * math.tan(math.pi / 6.0)))
    assert silo(1e4, c=c, q=50.0) == pytest.approx(silo(1e4, c=c))
    assert silo(5.0, c=c, delta=0.0, q=2.0) == pytest.approx((18.0 - 2.0 * c) * 5.0 + 2.0)
    assert silo(5.0, c=c, delta=1e-9) == pytest.approx(silo(5.0, c=c, delta=0.0))


def test_silo_that_holds_itself_presses_on_nothing():
    assert silo(5.0, c=10.0) == 0.0


def wet_silo(height_m, water_m, k=1.0, delta=30.0):
    return wet_silo_stress_kPa(height_m, water_m, 1.0, 18.0, 20.0, lateral_ratio=k, wall_friction_deg=delta)


def test_wet_silo_by_hand():
    # upper 3 m: 15.588 (1 - e^-3.4641) = 15.100; lower 2 m of 10.19: 8.825 (1 - e^-2.3094) + 15.1 e^-2.3094
    assert wet_silo(5.0, 3.0) == pytest.approx(8.8248 * 0.90068 + 15.1004 * 0.09932, rel=1e-4)
    assert wet_silo(5.0, 9.0) == pytest.approx(silo(5.0))
    assert wet_silo(5.0, -2.0) == pytest.approx(silo(5.0, gamma=10.19))


@given(height_m=depths, water_m=st.floats(-5.0, 30.0))
def test_wet_silo_without_wall_friction_is_the_ground_s_stress(height_m, water_m):
    expected = ground_stress(height_m, water_m, 18.0, 20.0).effective_kPa
    assert wet_silo(height_m, water_m, delta=0.0) == pytest.approx(expected, abs=1e-9)


@given(height_m=depths, more_m=positives, k=positives, c=st.floats(0.0, 5.0))
def test_silo_never_passes_the_overburden_and_scales(height_m, more_m, k, c):
    assert silo(height_m, c=c) <= 18.0 * height_m + 1e-9
    assert silo(height_m + more_m) >= silo(height_m) - 1e-9
    scaled = silo(k * height_m, width_m=k, c=k * c, q=k * 3.0)
    assert scaled == pytest.approx(k * silo(height_m, c=c, q=3.0))
    wet = wet_silo_stress_kPa(k * height_m, k, k, 18.0, 20.0, lateral_ratio=0.5, wall_friction_deg=15.0)
    one = wet_silo_stress_kPa(height_m, 1.0, 1.0, 18.0, 20.0, lateral_ratio=0.5, wall_friction_deg=15.0)
    assert wet == pytest.approx(k * one)


@given(depth_m=depths, water_m=st.floats(-5.0, 30.0), k=positives)
def test_stress_grows_with_lengths(depth_m, water_m, k):
    one = ground_stress(depth_m, water_m, 18.0, 20.0)
    scaled = ground_stress(k * depth_m, k * water_m, 18.0, 20.0)
    assert scaled.total_kPa == pytest.approx(k * one.total_kPa)
    assert scaled.water_kPa == pytest.approx(k * one.water_kPa)


def test_granular_stress_by_hand():
    # 18 x 0.5 x cos 60 / tan 30 = 9 x 0.5 / 0.57735
    assert granular_stress_kPa(18.0, 0.5, 30.0) == pytest.approx(7.794, abs=5e-4)
    assert np.isnan(granular_stress_kPa(18.0, 0.5, [0.0, 30.0])).tolist() == [True, False]


@given(k=positives)
def test_granular_stress_and_silo_width_scale(k):
    assert granular_stress_kPa(18.0, 0.5 * k, 30.0) == pytest.approx(k * granular_stress_kPa(18.0, 0.5, 30.0))
    assert silo_width_m(0.5 * k, 1.7) == pytest.approx(0.85 * k)


def test_no_silo_relief_in_shallow_cover_or_under_rail():
    relief = has_silo_relief([1.0, 0.999, 1.0], 0.5, [False, False, True], 2.0)
    assert relief.tolist() == [True, False, False]
    assert has_silo_relief(10.0, 5.0, is_under_rail=False, least_diameters=2.0)


def test_friction_by_hand():
    # 0.1 (60 + 20)/2 = 4; 3.1416 kN/m on 0.5 m = 2 kPa; (36 tan 30 + 4.2154) x 2 x pi x 0.5 x 0.1
    assert friction_of_stress_kPa(0.1, 60.0, 20.0) == pytest.approx(4.0)
    assert friction_of_force_kPa(math.pi, 0.5) == pytest.approx(2.0)
    assert edge_resistance_kN(36.0, 30.0, 4.2154, 2.0, 0.5, 0.1) == pytest.approx(7.854, abs=1e-3)


@given(k=positives)
def test_friction_scales(k):
    one = edge_resistance_kN(36.0, 30.0, 5.0, 2.0, 0.5, 0.1)
    assert edge_resistance_kN(36.0, 30.0, 5.0, 2.0, 0.5 * k, 0.1 * k) == pytest.approx(k * k * one)
    assert edge_resistance_kN(36.0 * k, 30.0, 5.0 * k, 2.0, 0.5, 0.1) == pytest.approx(k * one)
    assert friction_of_stress_kPa(0.1, 60.0 * k, 20.0 * k) == pytest.approx(4.0 * k)
    assert friction_of_force_kPa(k * k, k) == pytest.approx(k * friction_of_force_kPa(1.0, 1.0))


def test_friction_not_known_lies_in_no_band():
    band = BANDS["usual"]
    assert is_in_band([band.low_kPa, band.high_kPa, np.nan, 30.0], band).tolist() == [
        True,
        True,
        False,
        False,
    ]


def test_impossible_values_are_refused_and_unknown_ones_pass():
    with pytest.raises(ValueError, match="a width must be above 0"):
        positive("a width", [1.0, 0.0])
    with pytest.raises(ValueError, match="a depth must be 0 or above"):
        not_negative("a depth", -1e-9)
    with pytest.raises(ValueError, match="below 90 degrees"):
        friction_angle_rad(90.0)
    assert np.isnan(positive("a width", np.nan))
    assert np.isnan(not_negative("a depth", np.nan))


@given(demand=positives, capacity=positives, k=positives)
def test_utilisation_has_no_unit(demand, capacity, k):
    assert utilisation(k * demand, k * capacity) == pytest.approx(demand / capacity)


def test_utilisation_of_nothing():
    found = utilisation([1.0, 0.0, 1.0, np.nan, 1.0], [0.0, 0.0, -2.0, 1.0, np.nan])
    assert found.tolist()[:3] == [math.inf, 0.0, math.inf]
    assert np.isnan(found[3:]).all()


@given(k=positives, factor=st.floats(1.0, 2.0))
def test_comparisons_have_no_unit(k, factor):
    band = BANDS["usual"]
    scaled = dataclasses.replace(band, low_kPa=k * band.low_kPa, high_kPa=k * band.high_kPa)
    assert is_in_band(k * 10.0, scaled) == is_in_band(10.0, band)
    assert has_silo_relief(1.01 * factor * k, factor / 2.0 * k, is_under_rail=False, least_diameters=2.0)
    assert not has_silo_relief(0.99 * factor * k, factor / 2.0 * k, is_under_rail=False, least_diameters=2.0)
