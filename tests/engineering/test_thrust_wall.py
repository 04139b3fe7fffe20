"""Thrust walls: by hand, limits, laws. Published figures stand in tests/published."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.ground_stress import active_coefficient
from routescreen.engineering.thrust_wall import (
    block_width_m,
    passive_coefficient,
    passive_stress_kPa,
    square_block_m,
    thrust_left_kN,
    thrust_wall_kN,
)

TRADE = {"share": 0.5, "factor": 1.3}
positives = st.floats(0.1, 20.0)


def test_passive_stress_by_hand():
    # sin 30 = 1/2: Kp = 1.5/0.5 = 3; 3 x 100 + 2 x 10 x sqrt(3)
    assert passive_coefficient([0.0, 30.0]) == pytest.approx([1.0, 3.0])
    assert passive_stress_kPa(100.0, 30.0) == pytest.approx(300.0)
    assert passive_stress_kPa(100.0, 30.0, 10.0) == pytest.approx(334.641, abs=1e-3)
    with pytest.raises(ValueError, match="below 90"):
        passive_coefficient(90.0)


@given(phi=st.floats(0.0, 60.0))
def test_passive_is_the_inverse_of_active(phi):
    assert passive_coefficient(phi) * active_coefficient(phi) == pytest.approx(1.0)


def test_blocks_by_hand():
    # 260 kPa x 4 m x 2.5 m x 0.5/1.3
    assert thrust_wall_kN(260.0, 4.0, 2.5, **TRADE) == pytest.approx(1000.0)
    assert block_width_m(1000.0, 260.0, 2.5, **TRADE) == pytest.approx(4.0)
    assert square_block_m(1600.0, 260.0, **TRADE) == pytest.approx(4.0)
    assert thrust_left_kN([900.0, 1200.0], 1000.0).tolist() == [0.0, 200.0]
    with pytest.raises(ValueError, match="passive stress"):
        square_block_m(1600.0, 0.0, **TRADE)


@given(thrust=st.floats(10.0, 5000.0), stress=st.floats(10.0, 1000.0), height=st.floats(0.5, 6.0))
def test_a_block_of_the_size_found_bears_the_thrust(thrust, stress, height):
    side = square_block_m(thrust, stress, **TRADE)
    assert thrust_wall_kN(stress, side, side, **TRADE) == pytest.approx(thrust)
    width = block_width_m(thrust, stress, height, **TRADE)
    assert thrust_wall_kN(stress, width, height, **TRADE) == pytest.approx(thrust)


@given(k=positives, f=positives)
def test_lengths_and_stresses_scale(k, f):
    assert passive_stress_kPa(100.0 * f, 30.0, 10.0 * f) == pytest.approx(
        f * passive_stress_kPa(100.0, 30.0, 10.0)
    )
    assert thrust_wall_kN(260.0 * f, 4.0 * k, 2.5 * k, **TRADE) == pytest.approx(f * k * k * 1000.0)
    assert square_block_m(1600.0 * f * k * k, 260.0 * f, **TRADE) == pytest.approx(4.0 * k)
    assert block_width_m(1000.0 * f * k * k, 260.0 * f, 2.5 * k, **TRADE) == pytest.approx(4.0 * k)
    assert thrust_left_kN(1200.0 * f, 1000.0 * f) == pytest.approx(200.0 * f)
