"""Bases of shafts: by hand, limits, laws. Published figures stand in tests/published."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.base_uplift import (
    UpliftFactors,
    deepest_cut_m,
    embedment_m,
    exit_gradient,
    heave_utilisation,
    held_force_kN,
    highest_head_m,
    n_anchors,
    plug_thickness_m,
    upl_utilisation,
    uplift_utilisation,
    wall_friction_kN,
)
from routescreen.engineering.shaft import uplift_deficit_kPa

ROUND = UpliftFactors(25.0, 10.0, 0.8, 1.0)  # 0.8 x 25 - 10: a metre of plug holds 10 kPa
TRADE = UpliftFactors(24.0, 9.81, 0.9, 1.0)
positives = st.floats(0.1, 20.0)


def friction(depth_m, water_m, perimeter_m=2.0, *, ratio=0.5, angle_deg=45.0, factor=1.0, weight=1.0):
    return wall_friction_kN(
        depth_m,
        water_m,
        perimeter_m,
        gamma_kN_per_m3=18.0 * weight,
        saturated_kN_per_m3=20.0 * weight,
        water_kN_per_m3=10.0 * weight,
        stress_ratio=ratio,
        wall_friction_deg=angle_deg,
        resistance_factor=factor,
    )


def test_head_is_that_of_the_highest_water():
    assert highest_head_m([20.0, 29.0], [[30.0, 30.0], [31.5, 28.0]]).tolist() == [11.5, 1.0]
    assert highest_head_m(32.0, [30.0, 31.0]) == 0.0
    assert np.isnan(highest_head_m(20.0, [30.0, np.nan]))


def test_plug_by_hand():
    # 10 x 5/10; with 20 kPa held (50 - 20)/10; with more held than lifts, nothing
    assert plug_thickness_m(5.0, ROUND, [0.0, 20.0, 60.0]).tolist() == [5.0, 3.0, 0.0]


def test_utilisation_by_hand():
    # (5 + 5) x 10 over 20 x 5; with 100 kPa held besides it halves
    assert uplift_utilisation(5.0, 5.0, ROUND, [0.0, 100.0]).tolist() == [1.0, 0.5]
    assert uplift_utilisation([0.0, 1.0], [0.3, 0.0], ROUND).tolist() == [0.0, np.inf]
    assert np.isnan(uplift_utilisation(np.nan, 1.0, ROUND))


@given(head=positives, held=st.floats(0.0, 50.0))
def test_plug_of_the_thickness_found_is_just_used_up(head, held):
    plug = plug_thickness_m(head, TRADE, held)
    if plug > 0.0:
        assert uplift_utilisation(head, plug, TRADE, held) == pytest.approx(1.0)
        deficit = uplift_deficit_kPa(
            head,
            0.0,
            plug,
            concrete_kN_per_m3=24.0,
            water_kN_per_m3=9.81,
            weight_factor=0.9,
            water_factor=1.0,
        )
        assert deficit == pytest.approx(held, abs=1e-9)


def test_a_plug_that_floats_is_refused():
    with pytest.raises(ValueError, match="above that of the water"):
        UpliftFactors(10.0, 9.81, 0.9, 1.0)
    with pytest.raises(ValueError, match="above 0"):
        UpliftFactors(24.0, 0.0, 0.9, 1.0)


def test_forces_and_anchors_by_hand():
    assert held_force_kN(50.0, 8.0, 20.0) == 8000.0
    assert n_anchors([0.0, 8000.0, 8001.0], 400.0).tolist() == [0.0, 20.0, 21.0]


def test_any_body_by_hand():
    # 1.1 x 100/(0.9 x 100 + 20)
    forces = {"destabilising_factor": 1.1, "stabilising_factor": 0.9}
    assert upl_utilisation(100.0, 100.0, 20.0, **forces) == pytest.approx(1.0)
    # without anchors 1.1 x 90/(0.9 x 100)
    assert upl_utilisation(90.0, 100.0, **forces) == pytest.approx(1.1)


def test_wall_friction_by_hand():
    # 10 m, water at 4 m: 18 x 16/2 + 18 x 4 x 6 + 10 x 36/2 = 144 + 432 + 180 = 756; 2 x 0.5 x 1 x 756
    assert friction(10.0, 4.0) == pytest.approx(756.0)
    # dry: 18 x 100/2; flooded: 10 x 100/2
    assert friction(10.0, [12.0, 0.0, -1.0]) == pytest.approx([900.0, 500.0, 500.0])
    assert friction(10.0, 4.0, factor=1.4) == pytest.approx(540.0)
    assert friction(10.0, 4.0, angle_deg=0.0) == 0.0


@given(depth=positives, share=st.floats(0.0, 1.0))
def test_wall_friction_is_the_integral_of_the_stress(depth, share):
    z = np.linspace(0.0, depth, 4001)
    water = share * depth
    stress = 18.0 * np.minimum(z, water) + 10.0 * np.maximum(z - water, 0.0)
    assert friction(depth, water) == pytest.approx(np.trapezoid(stress, z), rel=1e-5)


def test_heave_by_hand():
    # H 4, t 3: 4/(4 + 6); no head, no gradient
    assert exit_gradient([4.0, 0.0, -2.0, 4.0], [3.0, 3.0, 3.0, 0.0]) == pytest.approx([0.4, 0.0, 0.0, 1.0])
    assert exit_gradient(0.0, 0.0) == 0.0
    # 1.35 x 2/(0.9 x 6)
    assert heave_utilisation(2.0, 6.0, lifting_factor=1.35, holding_factor=0.9) == pytest.approx(0.5)
    # 4/2 (1.5 x 10/10 - 1)
    factors = {"water_kN_per_m3": 10.0, "lifting_factor": 1.35, "holding_factor": 0.9}
    assert embedment_m(4.0, 20.0, **factors) == pytest.approx(1.0)
    with pytest.raises(ValueError, match="submerged weight"):
        embedment_m(4.0, 10.0, **factors)


@given(head=positives, gamma=st.floats(11.0, 22.0))
def test_wall_of_the_depth_found_just_stops_the_heave(head, gamma):
    wall = embedment_m(head, gamma, water_kN_per_m3=9.81, lifting_factor=1.35, holding_factor=0.9)
    seepage = 9.81 * exit_gradient(head, wall)
    used = heave_utilisation(seepage, gamma - 9.81, lifting_factor=1.35, holding_factor=0.9)
    assert used == pytest.approx(1.0) if wall > 0.0 else used <= 1.0


def test_deepest_cut_by_hand():
    # 10 m of 20 kN/m3 over 8 m of head: 10 - 80/20; with 0.8 on the weight 10 - 80/16
    kwargs = {"water_kN_per_m3": 10.0, "water_factor": 1.0}
    assert deepest_cut_m(10.0, 8.0, 20.0, weight_factor=1.0, **kwargs) == pytest.approx(6.0)
    assert deepest_cut_m(10.0, [8.0, 40.0], 20.0, weight_factor=0.8, **kwargs).tolist() == [5.0, 0.0]


@given(k=positives, f=positives)
def test_lengths_and_weights_scale(k, f):
    heavy = UpliftFactors(24.0 * f, 9.81 * f, 0.9, 1.0)
    assert plug_thickness_m(9.0 * k, TRADE) == pytest.approx(k * plug_thickness_m(9.0, TRADE))
    assert plug_thickness_m(9.0, heavy, 20.0 * f) == pytest.approx(plug_thickness_m(9.0, TRADE, 20.0))
    assert uplift_utilisation(9.0 * k, 2.0 * k, TRADE, 30.0 * k) == pytest.approx(
        uplift_utilisation(9.0, 2.0, TRADE, 30.0)
    )
    assert friction(10.0 * k, 4.0 * k, 2.0 * k) == pytest.approx(k**3 * 756.0)
    assert friction(10.0, 4.0, weight=f) == pytest.approx(f * 756.0)
    assert held_force_kN(50.0 * f, 8.0 * k, 20.0 * k) == pytest.approx(f * k * k * 8000.0)
    assert n_anchors(8000.0 * f, 390.0 * f) == n_anchors(8000.0, 390.0)
    assert highest_head_m(20.0 * k, [30.0 * k, 31.0 * k]) == pytest.approx(11.0 * k)
    assert exit_gradient(4.0 * k, 3.0 * k) == pytest.approx(0.4)
    factors = {"lifting_factor": 1.35, "holding_factor": 0.9}
    assert embedment_m(4.0 * k, 20.0 * f, water_kN_per_m3=10.0 * f, **factors) == pytest.approx(k)
    assert heave_utilisation(2.0 * f, 6.0 * f, **factors) == pytest.approx(0.5)
    upl = {"destabilising_factor": 1.1, "stabilising_factor": 0.9}
    assert upl_utilisation(100.0 * f, 100.0 * f, 20.0 * f, **upl) == pytest.approx(1.0)
    cut = {"weight_factor": 1.0, "water_factor": 1.0}
    assert deepest_cut_m(10.0 * k, 8.0 * k, 20.0 * f, water_kN_per_m3=10.0 * f, **cut) == pytest.approx(
        6.0 * k
    )
