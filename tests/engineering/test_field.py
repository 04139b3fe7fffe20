"""Magnetic field: cases by hand, directions, laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.field import cable_field_uT, compass_error_deg, return_cases_A, with_earth_uT

places = st.floats(-20.0, 20.0)


def field_of(points, cables, currents):
    offset, height = np.array(points, dtype=float).T
    cable_offset, cable_height = np.array(cables, dtype=float).T
    return cable_field_uT(
        offset, height, cable_offset_m=cable_offset, cable_height_m=cable_height, current_A=currents
    )


@pytest.mark.parametrize(
    ("point", "right_uT", "up_uT"),
    [
        # 0.2 x 1 000 / 2 = 100 uT; seen along the current the field runs clockwise
        pytest.param((0.0, 2.0), 100.0, 0.0, id="above: to the right"),
        pytest.param((2.0, 0.0), 0.0, -100.0, id="on the right: down"),
        pytest.param((0.0, -2.0), -100.0, 0.0, id="below: to the left"),
        pytest.param((-2.0, 0.0), 0.0, 100.0, id="on the left: up"),
        # r^2 = 25: 200 (4 / 25, -3 / 25)
        pytest.param((3.0, 4.0), 32.0, -24.0, id="aslant"),
        pytest.param((0.0, 0.0), math.nan, math.nan, id="on the cable"),
    ],
)
def test_one_cable(point, right_uT, up_uT):
    right, up = field_of([point], [(0.0, 0.0)], [1000.0])
    assert (right[0], up[0]) == pytest.approx((right_uT, up_uT), nan_ok=True)


def test_between_two_opposite_currents_both_point_the_same_way():
    right, up = field_of([(0.0, 0.0)], [(-1.0, 0.0), (1.0, 0.0)], [500.0, -500.0])
    assert (right[0], up[0]) == pytest.approx((0.0, -200.0))


@given(places, st.floats(0.0, 5.0), st.floats(0.5, 5.0), st.floats(0.1, 10.0))
def test_scaling(x, z, spacing, scale):
    cables = np.array([(-spacing, -1.0), (spacing, -1.5)])
    here = np.array(field_of([(x, z)], cables, [2000.0, -2000.0]))
    more = np.array(field_of([(x, z)], cables, [2000.0 * scale, -2000.0 * scale]))
    assert more == pytest.approx(here * scale, rel=1e-6, abs=1e-9)
    larger = np.array(field_of([(x * scale, z * scale)], cables * scale, [2000.0, -2000.0]))
    assert larger == pytest.approx(here / scale, rel=1e-6, abs=1e-9)


@given(places, st.floats(0.0, 5.0))
def test_sum_and_reversal(x, z):
    cables = [(-3.0, -1.0), (0.0, -2.0), (3.0, -1.0)]
    together = np.array(field_of([(x, z)], cables, [100.0, -300.0, 200.0]))
    each = sum(
        np.array(field_of([(x, z)], [cable], [current]))
        for cable, current in zip(cables, (100.0, -300.0, 200.0), strict=True)
    )
    assert together == pytest.approx(each)
    assert np.array(field_of([(x, z)], cables, [-100.0, 300.0, -200.0])) == pytest.approx(-together)


def test_far_away_a_pair_fades_with_the_square():
    near, far = (
        np.hypot(*field_of([(x, 1.0)], [(-0.2, -1.0), (0.2, -1.0)], [2e3, -2e3])) for x in (100, 200)
    )
    assert near / far == pytest.approx(4.0, rel=1e-2)


def test_profile_at_many_positions():
    right, up = cable_field_uT(
        np.linspace(-20.0, 20.0, 41),
        np.full(41, 1.0),
        cable_offset_m=np.array([[-1.0, 1.0], [-5.0, 5.0]]),
        cable_height_m=np.full((2, 2), -1.5),
        current_A=[2000.0, -2000.0],
    )
    assert right.shape == up.shape == (2, 41)
    assert up == pytest.approx(up[:, ::-1])
    assert right == pytest.approx(-right[:, ::-1])


@pytest.mark.parametrize(
    ("right_uT", "bearing_deg", "expected_deg"),
    [
        pytest.param(20.0, 0.0, 45.0, id="line to north, right is east"),
        pytest.param(20.0, 180.0, -45.0, id="line to south, right is west"),
        pytest.param(10.0, 90.0, 0.0, id="line to east: weaker north, no turn"),
        pytest.param(30.0, 90.0, 180.0, id="line to east, field larger than the earth's"),
        pytest.param(10.0, 270.0, 0.0, id="line to west: stronger north"),
        pytest.param(0.0, 33.0, 0.0, id="no cable"),
    ],
)
def test_compass(right_uT, bearing_deg, expected_deg):
    error = compass_error_deg(right_uT, bearing_deg=bearing_deg, earth_horizontal_uT=20.0)
    assert abs(error) == pytest.approx(abs(expected_deg), abs=1e-9)
    assert error * expected_deg >= -1e-9


@given(st.floats(-100.0, 100.0), st.floats(0.0, 360.0), st.floats(0.1, 10.0))
def test_compass_depends_on_the_ratio_of_fields(right_uT, bearing_deg, scale):
    here = compass_error_deg(right_uT, bearing_deg=bearing_deg, earth_horizontal_uT=20.0)
    there = compass_error_deg(right_uT * scale, bearing_deg=bearing_deg, earth_horizontal_uT=20.0 * scale)
    assert math.cos(math.radians(float(here - there))) == pytest.approx(1.0)


def test_with_earth():
    # north 20 - 12 = 8 (line to east), up 5 - 20 = -15: 17
    total = with_earth_uT(12.0, 5.0, bearing_deg=90.0, earth_horizontal_uT=20.0, earth_down_uT=20.0)
    assert total == pytest.approx(17.0)
    twice = with_earth_uT(24.0, 10.0, bearing_deg=90.0, earth_horizontal_uT=40.0, earth_down_uT=40.0)
    assert twice == pytest.approx(34.0)


def test_returns_through_the_idle_poles_own_cable():
    names, currents = return_cases_A([1, -1, -1, 1], [1, 1, 2, 2], 2000.0)
    assert names[0] == "both poles"
    assert len(names) == len(set(names)) == currents.shape[0] == 7
    by_name = dict(zip(names, (currents / 2000.0).tolist(), strict=True))
    # The other pole's current comes back where the idle pole's had flowed: the same field.
    assert by_name["system 1, pole + out, metallic return"] == [1.0, -1.0, -1.0, 1.0]
    assert by_name["system 2 out"] == [1.0, -1.0, 0.0, 0.0]


def test_returns_through_a_return_cable():
    names, currents = return_cases_A([1, 0, -1], [1, 1, 1], 1.0)
    by_name = dict(zip(names, currents.tolist(), strict=True))
    assert by_name == {
        "both poles": [1.0, 0.0, -1.0],
        "system 1, pole + out, metallic return": [0.0, 1.0, -1.0],
        "system 1, pole - out, metallic return": [1.0, -1.0, 0.0],
    }


def test_two_return_cables_share():
    _, currents = return_cases_A([1, 0, 0, -1], [1, 1, 1, 1], 2.0)
    assert currents[1].tolist() == [0.0, 1.0, 1.0, -2.0]


@given(st.integers(1, 4), st.integers(0, 2), st.floats(0.1, 3000.0))
def test_currents_of_each_system_return(n_systems, n_returns, current_A):
    signs = np.tile([1, -1] + [0] * n_returns, n_systems)
    systems = np.repeat(np.arange(n_systems), 2 + n_returns)
    _, currents = return_cases_A(signs, systems, current_A)
    assert currents.sum(axis=1) == pytest.approx(0.0, abs=1e-9)
    assert return_cases_A(signs, systems, 2.0 * current_A)[1] == pytest.approx(2.0 * currents)


@pytest.mark.parametrize(
    ("signs", "systems"),
    [
        pytest.param([1, 2], [1, 1], id="no such polarity"),
        pytest.param([1, -1], [1], id="a system missing"),
        pytest.param([1, 1], [1, 1], id="twice the same pole"),
        pytest.param([1, -1], [1, 2], id="poles in different systems"),
    ],
)
def test_impossible_systems(signs, systems):
    with pytest.raises(ValueError, match="polarit"):
        return_cases_A(signs, systems, 1.0)
