"""Slurry: by hand, limits, laws. Published figures stand in tests/published."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.slurry import (
    circuit_loss_kPa,
    friction_factor,
    head_loss_m,
    line_velocity_m_per_s,
    mixture_density,
    n_boosters,
    settling_velocity_m_per_s,
    slurry_flow_m3_per_s,
    solids_t_per_h,
    spoil_m3,
    volume_share,
)

positives = st.floats(0.1, 10.0)


def test_concentrations_by_hand():
    # S 2.5, C_w 0.5: 2.5/(2.5 - 0.75) = 1.42857; C_v 1.42857 x 0.5/2.5
    assert mixture_density(2.5, 0.5) == pytest.approx(10.0 / 7.0)
    assert volume_share(2.5, 0.5) == pytest.approx(2.0 / 7.0)
    assert mixture_density(2.5, 0.0) == 1.0


@given(solids=st.floats(1.5, 3.5), share=st.floats(0.01, 0.9))
def test_mixture_is_made_of_solids_and_water(solids, share):
    by_volume = volume_share(solids, share)
    assert mixture_density(solids, share) == pytest.approx(by_volume * solids + (1.0 - by_volume))


def test_flow_and_velocity_by_hand():
    # 36 t/h at C_w 0.5 are 20 kg/s of slurry at 1.42857 t/m3
    flow = slurry_flow_m3_per_s(36.0, 2.5, 0.5)
    assert flow == pytest.approx(0.014)
    assert line_velocity_m_per_s(flow, 0.1) == pytest.approx(0.014 / (math.pi / 4.0 * 0.01))
    # pi/4 x 0.36 x 5 x 1.7
    assert solids_t_per_h(0.6, 5.0, 1.7) == pytest.approx(2.4033, abs=1e-4)
    # 1.0 sqrt(2 x 9.81 x 0.1 x 1.5)
    assert settling_velocity_m_per_s(1.0, 0.1, 2.5) == pytest.approx(math.sqrt(2.943))


def factor(velocity, diameter=0.1, rough=1e-4, viscosity=1e-6):
    return friction_factor(velocity, diameter, roughness_m=rough, viscosity_m2_per_s=viscosity)


@pytest.mark.parametrize("reynolds", [1e4, 1e5, 1e6, 1e7])
@pytest.mark.parametrize("rough", [0.0, 1e-4, 5e-3])
def test_friction_factor_solves_colebrook_within_three_percent(reynolds, rough):
    found = float(factor(reynolds * 1e-6 / 0.1, rough=0.1 * rough))
    implicit = found
    for _ in range(50):
        implicit = (-2.0 * math.log10(rough / 3.7 + 2.51 / (reynolds * math.sqrt(implicit)))) ** -2
    assert found == pytest.approx(implicit, rel=0.03)


def test_friction_factor_by_hand():
    # smooth, Re 1e5: 5.74/31 622.8 = 1.8151e-4, log10 -3.74109; rough 0.0037/3.7 alone at Re 1e8 about -3
    assert factor(1.0, rough=0.0) == pytest.approx(0.25 / 3.74109**2, rel=1e-5)
    assert factor(1000.0, rough=3.7e-4) == pytest.approx(0.25 / 9.0, rel=1e-3)


def test_friction_factor_ends_where_flow_is_not_turbulent():
    assert np.isnan(factor([0.049, 0.051, np.nan])).tolist() == [True, False, True]
    assert np.isnan(factor(2.0, rough=0.0011))


def test_losses_and_pumps_by_hand():
    # 0.02 x 1000/0.1 x 4/19.62
    assert head_loss_m(1000.0, 0.1, 2.0, 0.02) == pytest.approx(40.775, abs=1e-3)
    feed, back = circuit_loss_kPa(500.0, 0.04, 1.05, 1.23)
    assert (feed, back) == pytest.approx((206.01, 241.326))
    assert n_boosters([0.0, 400.0, 400.1, 900.0, np.nan], 400.0)[:4].tolist() == [0.0, 0.0, 1.0, 2.0]
    assert np.isnan(n_boosters(np.nan, 400.0))


def test_spoil_by_hand():
    # 2 x pi/4 x 0.36 x 100 = 56.549; x 1.3 loose
    assert spoil_m3(0.6, 100.0, 2) == pytest.approx(56.549, abs=1e-3)
    assert spoil_m3(0.6, 100.0, 2, 1.3) == pytest.approx(73.513, abs=1e-3)


@given(k=positives)
def test_slurry_scales(k):
    # Froude: lengths by k, velocities by sqrt k
    assert settling_velocity_m_per_s(1.04, 0.1 * k, 2.65) == pytest.approx(
        math.sqrt(k) * settling_velocity_m_per_s(1.04, 0.1, 2.65)
    )
    assert slurry_flow_m3_per_s(10.0 * k, 2.65, 0.3) == pytest.approx(
        k * slurry_flow_m3_per_s(10.0, 2.65, 0.3)
    )
    assert line_velocity_m_per_s(k**3, k) == pytest.approx(k * line_velocity_m_per_s(1.0, 1.0))
    assert solids_t_per_h(k, k, 1.7) == pytest.approx(k**3 * solids_t_per_h(1.0, 1.0, 1.7))
    assert head_loss_m(100.0 * k, 0.1 * k, 2.0 * k, 0.02) == pytest.approx(
        k * k * head_loss_m(100.0, 0.1, 2.0, 0.02)
    )
    assert circuit_loss_kPa(500.0 * k, 0.04, 1.05, 1.23)[1] == pytest.approx(241.326 * k)
    assert n_boosters(900.0 * k, 400.0 * k * 1.001) == 2.0
    assert spoil_m3(0.6 * k, 100.0 * k, 2) == pytest.approx(k**3 * spoil_m3(0.6, 100.0, 2))
    # the same Reynolds number and relative roughness
    assert factor(2.0 / k, 0.1 * k, 1e-4 * k) == pytest.approx(factor(2.0))
    assert mixture_density(2.65 * k, 0.0) == 1.0


def test_impossible_values_are_refused():
    with pytest.raises(ValueError, match="C_w must be below 1"):
        mixture_density(2.65, 1.0)
    with pytest.raises(ValueError, match="density less 1"):
        settling_velocity_m_per_s(1.04, 0.1, 1.0)
