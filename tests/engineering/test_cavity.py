"""Pressure at which the ground around a bore yields: limits, and laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.cavity import (
    Strength,
    cavity_pressure_kPa,
    plastic_radius_m,
    reduced_strength,
    strain_bound_m,
    yield_share,
)


def strength(phi_deg=0.0, c=50.0, g=5000.0) -> Strength:
    return reduced_strength(phi_deg, c, g, tan_phi_factor=1.0, cohesion_factor=1.0, modulus_factor=1.0)


def test_reduced_strength_by_hand():
    reduced = reduced_strength(
        45.0, 14.0, 12_500.0, tan_phi_factor=2.0, cohesion_factor=1.4, modulus_factor=1.25
    )
    assert np.tan(reduced.phi_rad) == pytest.approx(0.5)
    assert (reduced.cohesion_kPa, reduced.shear_modulus_kPa) == (pytest.approx(10.0), pytest.approx(10_000.0))


def test_undrained_limit_by_hand():
    # 100 + 50 (1 - ln(0.01 + 0.01)) = 100 + 50 x 4.91202
    assert cavity_pressure_kPa(100.0, strength(), 0.1, 1.0) == pytest.approx(345.6, abs=0.05)


def test_thin_bore_is_gibson_and_anderson_s_limit():
    # 100 + 50 (1 + ln 100)
    assert cavity_pressure_kPa(100.0, strength(), 1e-6, 1.0) == pytest.approx(380.26, abs=0.005)


@pytest.mark.parametrize("phi_deg", [1e-9, 1e-6, 1e-4])
def test_little_friction_tends_to_none(phi_deg):
    expected = cavity_pressure_kPa(100.0, strength(), 0.1, 1.0)
    assert cavity_pressure_kPa(100.0, strength(phi_deg), 0.1, 1.0) == pytest.approx(expected, rel=1e-4)


def test_stiff_ground_that_may_not_yield_bears_its_first_yield():
    # G without end and R0 = Rp: s0 (1 + sin 30) + c cos 30; X is a hair below 1
    first = 100.0 * 1.5 + 20.0 * math.cos(math.pi / 6.0)
    stiff = strength(30.0, 20.0, 1e15)
    assert cavity_pressure_kPa(100.0, stiff, 1.0, 1.0 + 1e-9) == pytest.approx(first, rel=1e-6)


@pytest.mark.parametrize("phi_deg", [5.0, 20.0, 33.0])
def test_form_without_cotangent_is_the_form_with_it(phi_deg):
    # (p_f + c cot phi) X^(-sin/(1 + sin)) - c cot phi
    soil, stress, r0, rp = strength(phi_deg, 8.0, 6000.0), 70.0, 0.28, 1.9
    sine, cosine = math.sin(math.radians(phi_deg)), math.cos(math.radians(phi_deg))
    first, cohesive = stress * (1 + sine) + 8.0 * cosine, 8.0 * cosine / sine
    reach = (r0 / rp) ** 2 + (stress * sine + 8.0 * cosine) / 6000.0
    expected = (first + cohesive) * reach ** (-sine / (1 + sine)) - cohesive
    assert cavity_pressure_kPa(stress, soil, r0, rp) == pytest.approx(expected)


def test_outside_its_validity_nothing_is_evaluated():
    soft = strength(30.0, 0.0, 40.0)  # Q = 100 x 0.5/40 = 1.25
    found = [
        cavity_pressure_kPa(100.0, soft, 0.1, 1.0),
        cavity_pressure_kPa(100.0, strength(30.0), 1.0, 1.0),
        cavity_pressure_kPa(100.0, strength(30.0), 1.0, 0.0),
        cavity_pressure_kPa(np.nan, strength(30.0), 0.1, 1.0),
    ]
    assert np.isnan(found).all()


def test_bounds_of_the_plastic_radius_by_hand():
    # Q = (80 x 0.5)/4000 = 0.01: R0 sqrt(2 x 0.05/0.01) = 0.3 x 3.1623
    soil = strength(30.0, 0.0, 4000.0)
    assert yield_share(80.0, soil) == pytest.approx(0.01)
    bound = strain_bound_m(0.3, 80.0, soil, 0.05)
    assert bound == pytest.approx(0.3 * math.sqrt(10.0))
    radii = plastic_radius_m(np.array([1.0, 3.0, -1.0]), 0.5, bound)
    assert radii == pytest.approx([0.5, 0.3 * math.sqrt(10.0), 0.0])


def test_no_strain_bound_without_shear_or_without_a_limit():
    assert strain_bound_m(0.3, 0.0, strength(30.0, 0.0), 0.05) == math.inf
    assert strain_bound_m(0.3, 80.0, strength(30.0), math.inf) == math.inf
    assert strain_bound_m(0.3, 80.0, strength(1e-310, 0.0), 0.05) == math.inf
    assert np.isnan(strain_bound_m(0.3, np.nan, strength(30.0), 0.05))


soils = st.tuples(st.floats(0.0, 40.0), st.floats(0.5, 50.0), st.floats(2000.0, 50_000.0))


@given(soil=soils, stress=st.floats(1.0, 200.0), more=st.floats(0.01, 2.0), k=st.floats(0.1, 10.0))
def test_laws_of_the_cavity(soil, stress, more, k):
    phi, c, g = soil
    one = cavity_pressure_kPa(stress, strength(phi, c, g), 0.2, 1.5)
    assert cavity_pressure_kPa(stress, strength(phi, c, g), 0.2, 1.5 + more) >= one
    assert cavity_pressure_kPa(stress, strength(phi, c, k * g), 0.2 * k, 1.5 * k).shape == ()
    scaled = cavity_pressure_kPa(k * stress, strength(phi, k * c, k * g), 0.2 * k, 1.5 * k)
    assert scaled == pytest.approx(k * one)
    bound = strain_bound_m(0.2, stress, strength(phi, c, g), 0.05)
    assert strain_bound_m(0.2 * k, k * stress, strength(phi, k * c, k * g), 0.05) == pytest.approx(k * bound)
    assert yield_share(k * stress, strength(phi, k * c, k * g)) == pytest.approx(
        yield_share(stress, strength(phi, c, g))
    )
    assert plastic_radius_m(k * 4.0, 0.5, k * bound) == pytest.approx(k * plastic_radius_m(4.0, 0.5, bound))
    assert one >= stress  # a bore can always bear the stress that was there before it


@given(k=st.floats(0.1, 10.0))
def test_reduced_strength_scales(k):
    parts = {"tan_phi_factor": 1.1, "cohesion_factor": 1.4, "modulus_factor": 1.25}
    one, scaled = (
        reduced_strength(33.0, 5.0, 8000.0, **parts),
        reduced_strength(33.0, 5.0 * k, 8000.0 * k, **parts),
    )
    assert scaled.phi_rad == one.phi_rad
    assert scaled.cohesion_kPa == pytest.approx(k * one.cohesion_kPa)
    assert scaled.shear_modulus_kPa == pytest.approx(k * one.shear_modulus_kPa)
