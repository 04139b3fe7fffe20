"""The ground around cables: cases by hand, limits, laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.ground_heat import (
    damping_depth_m,
    ground_degC,
    ground_resistivity,
    soil_rise_K,
    surface_swing_K,
    value_at_depth,
)

YEAR_S = 365.25 * 86400.0


def test_damping_depth_of_a_year():
    # sqrt(6.25e-7 x 3.156e7 / pi) = sqrt(6.278) = 2.506 m
    assert damping_depth_m(6.25e-7, YEAR_S) == pytest.approx(2.506, rel=1e-3)


@given(st.floats(1e-8, 1e-5), st.floats(1.0, 100.0))
def test_damping_depth_grows_with_roots(diffusivity, scale):
    here = damping_depth_m(diffusivity, YEAR_S)
    assert damping_depth_m(diffusivity * scale, YEAR_S) == pytest.approx(here * math.sqrt(scale))
    assert damping_depth_m(diffusivity, YEAR_S * scale) == pytest.approx(here * math.sqrt(scale))


def test_swing_and_temperature_are_each_others_inverse():
    # 15 degC at 1.5 m over a mean of 11: 4 e^0.6 = 7.288 K at the surface
    swing = surface_swing_K(15.0, 1.5, mean_degC=11.0, damping_m=2.5)
    assert swing == pytest.approx(7.288, rel=1e-3)
    assert ground_degC(1.5, mean_degC=11.0, swing_K=swing, damping_m=2.5) == pytest.approx(15.0)
    # 7.288 e^-3.2 = 0.297
    assert ground_degC(8.0, mean_degC=11.0, swing_K=swing, damping_m=2.5) == pytest.approx(11.297, abs=1e-3)


@given(st.floats(0.0, 30.0), st.floats(0.0, 30.0), st.floats(0.0, 20.0), st.floats(0.1, 10.0))
def test_deeper_is_cooler_in_summer_and_only_depth_over_damping_counts(one_m, other_m, swing_K, scale):
    high_m, low_m = sorted((one_m, other_m))
    above, below = ground_degC([high_m, low_m], mean_degC=10.0, swing_K=swing_K, damping_m=2.5)
    assert 10.0 <= below <= above <= 10.0 + swing_K
    scaled = ground_degC(low_m * scale, mean_degC=10.0, swing_K=swing_K, damping_m=2.5 * scale)
    assert scaled == pytest.approx(below)


def test_above_ground_counts_as_the_surface():
    assert ground_degC(-1.0, mean_degC=10.0, swing_K=5.0, damping_m=2.5) == 15.0


@pytest.mark.parametrize(
    ("depth_m", "expected"),
    [(0.0, 1.2), (2.0, 1.2), (2.01, 2.5), (5.0, 2.5), (5.5, 0.8), (90.0, 0.8), (math.nan, math.nan)],
)
def test_value_of_the_layer(depth_m, expected):
    assert value_at_depth(depth_m, [2.0, 5.0, 6.0], [1.2, 2.5, 0.8]) == pytest.approx(expected, nan_ok=True)


@pytest.mark.parametrize(
    ("base_m", "values"),
    [
        pytest.param([5.0, 2.0], [1.0, 1.0], id="not growing"),
        pytest.param([2.0, 5.0], [1.0], id="too few values"),
        pytest.param([], [], id="no layer"),
    ],
)
def test_layers_that_cannot_be(base_m, values):
    with pytest.raises(ValueError, match="bases must grow"):
        value_at_depth(1.0, base_m, values)


SAND = {"saturated_K_m_per_W": 0.6, "moist_K_m_per_W": 0.8, "dry_K_m_per_W": 2.4}


def test_ground_below_the_lowest_groundwater_is_saturated_and_stays_so():
    found = ground_resistivity([1.0, 3.0, 5.0], 3.0, **SAND)
    assert found.rho_K_m_per_W == pytest.approx([0.8, 0.6, 0.6])
    assert found.drying_ratio == pytest.approx([3.0, 1.0, 1.0])


def test_water_of_unknown_depth_counts_as_below():
    found = ground_resistivity(9.0, math.nan, **SAND)
    assert (found.rho_K_m_per_W, found.drying_ratio) == (pytest.approx(0.8), pytest.approx(3.0))


def test_soil_that_nobody_knows_has_no_resistivity():
    unknown = dict.fromkeys(SAND, math.nan)
    assert np.isnan(ground_resistivity([1.0, 5.0], 3.0, **unknown).rho_K_m_per_W).all()


def one_source(depth_m, **changed):
    given_ = {
        "source_depth_m": [2.0],
        "source_offset_m": [0.0],
        "heat_W_per_m": [20.0 * math.pi],
        "rho_K_m_per_W": 1.0,
    }
    return soil_rise_K(depth_m, np.zeros(len(depth_m)), **{**given_, **changed})


def test_rise_above_one_source():
    # rho W / (2 pi) = 10 K; 1 m deep: ln(3 / 1) = 1.0986; surface 0
    assert one_source([0.0, 1.0]) == pytest.approx([0.0, 10.986], abs=1e-3)


def test_dried_ground_is_hotter_by_the_part_above_the_boundary():
    # 10.986 K: 6 K moist, 4.986 x 2.5 dried
    rise = one_source([0.2, 1.0], ratio=2.5, drying_rise_K=6.0)
    assert rise == pytest.approx([one_source([0.2])[0], 6.0 + 2.5 * 4.986], abs=1e-2)


def test_surface_rise_of_two_zones():
    # v W T4 - (v - 1) dtheta_x with W T4 = 10.986
    rise = one_source([1.0], ratio=3.0, drying_rise_K=4.0)
    assert rise == pytest.approx([3.0 * 10.986 - 2.0 * 4.0], abs=1e-2)


def test_nothing_on_a_source_or_in_the_air():
    assert np.isnan(one_source([2.0, -0.1])).all()


@given(st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_rise_scales_with_heat_and_resistivity_not_with_size(scale, size):
    here = one_source([0.3, 0.6])
    assert one_source([0.3, 0.6], rho_K_m_per_W=scale) == pytest.approx(here * scale)
    assert one_source([0.3, 0.6], heat_W_per_m=[20.0 * math.pi * scale]) == pytest.approx(here * scale)
    assert one_source([0.3 * size, 0.6 * size], source_depth_m=[2.0 * size]) == pytest.approx(here)


def test_sources_add_up():
    both = soil_rise_K(
        [0.5],
        [0.7],
        source_depth_m=[2.0, 1.5],
        source_offset_m=[0.0, 3.0],
        heat_W_per_m=[30.0, 10.0],
        rho_K_m_per_W=1.0,
    )
    each = [
        soil_rise_K(
            [0.5], [0.7], source_depth_m=[z], source_offset_m=[y], heat_W_per_m=[w], rho_K_m_per_W=1.0
        )
        for z, y, w in ((2.0, 0.0, 30.0), (1.5, 3.0, 10.0))
    ]
    assert both == pytest.approx(each[0] + each[1])


@given(st.floats(-5.0, 30.0), st.floats(0.1, 10.0))
def test_swing_scales_with_temperatures(known_K, scale):
    here = surface_swing_K(10.0 + known_K, 1.5, mean_degC=10.0, damping_m=2.5)
    there = surface_swing_K(10.0 + known_K * scale, 1.5, mean_degC=10.0, damping_m=2.5)
    assert there == pytest.approx(here * scale)


@given(st.floats(0.0, 9.0), st.sampled_from([0.5, 2.0, 4.0]))
def test_layers_scale_with_lengths(depth_m, scale):
    base, values = np.array([2.0, 5.0, 6.0]), [1.2, 2.5, 0.8]
    assert value_at_depth(depth_m * scale, base * scale, values) == value_at_depth(depth_m, base, values)


@given(
    st.floats(0.1, 5.0), st.floats(1.0, 2.0), st.floats(1.0, 4.0), st.floats(0.1, 10.0), st.floats(0.0, 4.0)
)
def test_resistivities_scale_and_their_ratio_does_not(saturated, moist, dry, scale, top_m):
    def at(factor):
        return ground_resistivity(
            top_m,
            2.0,
            saturated_K_m_per_W=saturated * factor,
            moist_K_m_per_W=saturated * moist * factor,
            dry_K_m_per_W=saturated * moist * dry * factor,
        )

    one, other = at(1.0), at(scale)
    assert other.rho_K_m_per_W == pytest.approx(one.rho_K_m_per_W * scale)
    assert other.drying_ratio == pytest.approx(one.drying_ratio)
    dried = one.rho_K_m_per_W * one.drying_ratio
    assert dried == pytest.approx(saturated * (1.0 if top_m >= 2.0 else moist * dry))
