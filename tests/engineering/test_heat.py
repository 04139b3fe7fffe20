"""Thermal resistances: cases by hand, limits, laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.heat import (
    METALLIC_PIPE,
    PLASTIC_PIPE,
    FluidFill,
    backfill_log,
    conductor_ohm_per_m,
    fluid_fill_K_m_per_W,
    group_log,
    image_log,
    layer_K_m_per_W,
    own_ground_log,
)

metres = st.floats(0.05, 5.0)
factors = st.floats(0.1, 10.0)


def test_resistance_grows_by_its_coefficient():
    # 1 + 0.004 x 50 = 1.2
    assert conductor_ohm_per_m(2.0, 0.004, [20.0, 70.0]) == pytest.approx([2.0, 2.4])


@given(st.floats(0.0, 90.0), factors)
def test_resistance_scales(degC, scale):
    here = conductor_ohm_per_m(7.2e-6, 0.00393, degC)
    assert conductor_ohm_per_m(7.2e-6 * scale, 0.00393, degC) == pytest.approx(here * scale)


@given(st.floats(0.03, 0.2), st.floats(0.0, 90.0), factors)
def test_air_scales_with_its_first_constant(diameter_m, degC, scale):
    fill = FluidFill(PLASTIC_PIPE.u * scale, PLASTIC_PIPE.v, PLASTIC_PIPE.y)
    here = fluid_fill_K_m_per_W(diameter_m, degC, PLASTIC_PIPE)
    assert fluid_fill_K_m_per_W(diameter_m, degC, fill) == pytest.approx(here * scale)


@pytest.mark.parametrize(
    ("inner_m", "outer_m", "expected"),
    [
        pytest.param(0.1, 0.1 * math.e, 1.0, id="2 pi / (2 pi) ln e"),
        pytest.param(0.1, 0.1, 0.0, id="no thickness"),
        pytest.param(0.2, 0.1, math.nan, id="outside within inside: not evaluated"),
        pytest.param(0.0, 0.1, math.nan, id="no inside: not evaluated"),
    ],
)
def test_layer(inner_m, outer_m, expected):
    assert layer_K_m_per_W(inner_m, outer_m, 2.0 * math.pi) == pytest.approx(expected, nan_ok=True)


@given(metres, factors, factors, factors)
def test_layer_depends_on_the_ratio_and_is_additive(inner_m, first, second, scale):
    middle_m, outer_m = inner_m * (1.0 + first), inner_m * (1.0 + first) * (1.0 + second)
    whole = layer_K_m_per_W(inner_m, outer_m, 1.3)
    parts = layer_K_m_per_W(inner_m, middle_m, 1.3) + layer_K_m_per_W(middle_m, outer_m, 1.3)
    assert parts == pytest.approx(whole)
    assert layer_K_m_per_W(inner_m * scale, outer_m * scale, 1.3) == pytest.approx(whole)
    assert layer_K_m_per_W(inner_m, outer_m, 1.3 * scale) == pytest.approx(whole * scale)


def test_air_in_a_plastic_pipe():
    # 1.87 / (1 + 0.1 (0.312 + 0.0037 x 50) 100) = 1.87 / 5.97
    assert fluid_fill_K_m_per_W(0.1, 50.0, PLASTIC_PIPE) == pytest.approx(1.87 / 5.97)


def test_air_conducts_better_when_warm_and_in_metal_differently():
    cool, warm = fluid_fill_K_m_per_W(0.1, [20.0, 60.0], PLASTIC_PIPE)
    assert warm < cool
    # 5.2 / (1 + 0.1 (1.4 + 0.011 x 20) 100) = 5.2 / 17.2
    assert fluid_fill_K_m_per_W(0.1, 20.0, METALLIC_PIPE) == pytest.approx(5.2 / 17.2)


@pytest.mark.parametrize("diameter_m", [0.0, 0.02, 0.3])
def test_air_outside_its_range_is_not_evaluated(diameter_m):
    assert math.isnan(fluid_fill_K_m_per_W(diameter_m, 50.0, PLASTIC_PIPE))


@pytest.mark.parametrize(
    ("depth_m", "expected"),
    [
        pytest.param(0.5, 0.0, id="touching the surface: u = 1"),
        pytest.param(0.625, math.log(2.0), id="u = 1.25: 1.25 + 0.75"),
        pytest.param(1000.0, math.log(4000.0), id="deep: ln 2u = ln(4 L / De)"),
        pytest.param(0.4, math.nan, id="partly in the air: not evaluated"),
    ],
)
def test_own_ground(depth_m, expected):
    assert own_ground_log(depth_m, 1.0) == pytest.approx(expected, nan_ok=True, abs=1e-6)


@given(st.floats(0.5, 20.0), factors)
def test_logarithms_scale_with_lengths(depth_m, scale):
    assert own_ground_log(depth_m * scale, 0.9 * scale) == pytest.approx(own_ground_log(depth_m, 0.9))
    here = image_log(depth_m, 1.0, 2.0, 4.0)
    assert image_log(depth_m * scale, scale, 2.0 * scale, 4.0 * scale) == pytest.approx(here)


@pytest.mark.parametrize(
    ("point", "expected"),
    [
        # d' = sqrt(9 + 16) = 5, d = 3
        pytest.param((2.0, 3.0), math.log(5.0 / 3.0), id="beside"),
        pytest.param((0.0, 3.0), 0.0, id="at the surface"),
        pytest.param((1.0, 0.0), math.log(3.0), id="above the source: 3 m to the image, 1 m to it"),
        pytest.param((2.0, 0.0), math.nan, id="on the source"),
        pytest.param((-1.0, 3.0), math.nan, id="in the air"),
    ],
)
def test_image(point, expected):
    assert image_log(*point, 2.0, 0.0) == pytest.approx(expected, nan_ok=True)


@given(st.floats(0.5, 20.0), st.floats(0.5, 20.0), st.floats(0.6, 30.0))
def test_each_heats_the_other_alike(one_m, other_m, apart_m):
    logs = group_log([one_m, other_m], [0.0, apart_m], 0.5)
    assert logs[0, 1] == pytest.approx(logs[1, 0])
    assert logs[0, 1] > 0.0


def test_far_point_of_the_own_ground_is_an_image():
    # At its own surface a deep source heats like a neighbour half a diameter away.
    assert image_log(50.0, 0.05, 50.0, 0.0) == pytest.approx(own_ground_log(50.0, 0.1), abs=1e-6)


def test_group_holds_own_and_neighbours_and_refuses_overlap():
    logs = group_log(np.full((7, 3), 2.0), [0.0, 3.0, 3.2], 0.5)
    assert logs.shape == (7, 3, 3)
    assert logs[0, 0] == pytest.approx([math.acosh(8.0), math.log(5.0 / 3.0), logs[0, 2, 0]])
    assert np.isnan(logs[:, 1, 2]).all()
    assert np.isnan(logs[:, 2, 1]).all()


def test_touching_is_no_overlap():
    assert np.isfinite(group_log([1.0, 1.0, 1.0], np.array([-1, 0, 1]) * 0.1, 0.1)).all()


def test_square_of_backfill():
    # x = y: ln r = (4 / pi - 1) / 2 ln 2 + ln(x / 2) = 0.0947 - 0.6931, r = 0.5497 x
    radius_m = 0.5497
    assert backfill_log(2.0, 1.0, 1.0) == pytest.approx(math.acosh(2.0 / radius_m), rel=1e-4)


@given(st.floats(0.35, 1.0), st.floats(0.4, 0.9), factors)
def test_backfill_turns_and_scales(width_m, height_m, scale):
    here = backfill_log(3.0, width_m, height_m)
    assert backfill_log(3.0, height_m, width_m) == pytest.approx(here, nan_ok=True)
    assert backfill_log(3.0 * scale, width_m * scale, height_m * scale) == pytest.approx(here, nan_ok=True)


@pytest.mark.parametrize(
    "sides",
    [pytest.param((0.9, 0.3), id="three times as wide"), pytest.param((0.9, 2.1), id="out of ground")],
)
def test_backfill_outside_its_range(sides):
    assert math.isnan(backfill_log(1.0, *sides))
