"""Pipes filled with air, and the spacing that a current needs: cases by hand, limits, laws."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.heat import PLASTIC_PIPE, group_log, layer_K_m_per_W
from routescreen.engineering.rating import Bedding, HeatPath, group_rating
from routescreen.engineering.rating_solved import fluid_filled_rating, spacing_needed_m

OHM = 1e-5
PATH = HeatPath(
    conductor_ohm_per_m=OHM,
    inside_K_m_per_W=0.6,
    outer_diameter_m=0.3,
    conductor_degC=70.0,
    ground_degC=15.0,
    rho_K_m_per_W=1.0,
)


def trench_path(rho, *, ratio=1.0, fill_K_m_per_W=0.0):
    """Two trenches of two pipes, cables of 140 mm in pipes of 280 mm, own arithmetic by a second hand."""
    inside = float(layer_K_m_per_W(0.063, 0.122, 3.5) + layer_K_m_per_W(0.128, 0.140, 3.5))
    wall = float(layer_K_m_per_W(0.229, 0.280, 3.5))
    path = HeatPath(8.6148e-6, inside + wall + fill_K_m_per_W, 0.28, 70.0, 15.0, rho, ratio, 15.0)
    return path, inside


TRENCHES = (np.full(4, 1.54), [-5.2, -4.8, 4.8, 5.2])


@pytest.mark.parametrize(
    ("rho", "filled_A", "air_A"), [(1.0, 2106.0, 2000.0), (1.2, 1994.0, 1903.0), (1.5, 1855.0, 1781.0)]
)
def test_filled_pipes_and_pipes_with_air(rho, filled_A, air_A):
    fill = float(layer_K_m_per_W(0.140, 0.229, 1.0))
    path, _ = trench_path(rho, fill_K_m_per_W=fill)
    assert group_rating(*TRENCHES, path).rating_A == pytest.approx(filled_A, rel=0.005)
    path, cable = trench_path(rho)
    rated = fluid_filled_rating(
        *TRENCHES, path, cable_diameter_m=0.140, cable_K_m_per_W=cable, fill=PLASTIC_PIPE
    )
    assert rated.rating_A == pytest.approx(air_A, rel=0.005)


@pytest.mark.parametrize(
    ("wet", "dry", "expected_A"),
    [
        pytest.param(0.9, 3.0, 1834.0, id="loose sand"),
        pytest.param(0.75, 2.5, 1971.0, id="dense sand"),
    ],
)
def test_trenches_in_drying_ground(wet, dry, expected_A):
    fill = float(layer_K_m_per_W(0.140, 0.229, 1.0))
    path, _ = trench_path(wet, ratio=dry / wet, fill_K_m_per_W=fill)
    assert group_rating(*TRENCHES, path).rating_A == pytest.approx(expected_A, rel=0.005)


def test_fluid_is_at_the_temperature_that_its_heat_makes():
    path, cable = trench_path(1.0)
    rated = fluid_filled_rating(
        *TRENCHES, path, cable_diameter_m=0.140, cable_K_m_per_W=cable, fill=PLASTIC_PIPE
    )
    heat = float(rated.rating_A) ** 2 * 8.6148e-6
    logs = group_log(*TRENCHES, 0.28).sum(axis=-1).max() / (2.0 * math.pi)
    wall = float(layer_K_m_per_W(0.229, 0.280, 3.5))
    outer = 70.0 - heat * cable
    inner = 15.0 + heat * (wall + logs)
    # 1.87 / (1 + 0.1 (0.312 + 0.0037 theta) 140)
    fluid = 1.87 / (1.0 + 14.0 * (0.312 + 0.0037 * (outer + inner) / 2.0))
    assert outer - inner == pytest.approx(heat * fluid, rel=1e-6)


def test_fluid_at_many_positions():
    path, cable = trench_path(1.0)
    depth = np.array([[1.54] * 4, [3.0] * 4])
    rated = fluid_filled_rating(
        depth, TRENCHES[1], path, cable_diameter_m=0.140, cable_K_m_per_W=cable, fill=PLASTIC_PIPE
    )
    assert rated.rating_A.shape == (2,)
    assert rated.rating_A[1] < rated.rating_A[0]


def test_spacing_is_the_least_that_carries():
    needed = spacing_needed_m([1500.0, 1700.0], [5.0, 5.0], 4, PATH, least_m=0.31, most_m=60.0)
    for current, spacing in zip((1500.0, 1700.0), needed, strict=True):
        places = (np.arange(4) - 1.5) * spacing
        assert group_rating(np.full(4, 5.0), places, PATH).rating_A >= current
        assert group_rating(np.full(4, 5.0), places * 0.999, PATH).rating_A < current or spacing == 0.31


def test_spacing_at_both_ends_of_the_search():
    needed = spacing_needed_m([10.0, 1e5], 5.0, 4, PATH, least_m=1.0, most_m=60.0)
    assert needed[0] == 1.0
    assert math.isnan(needed[1])


def test_spacing_of_one_cable_and_above_ground():
    assert spacing_needed_m(100.0, 5.0, 1, PATH, least_m=1.0, most_m=9.0) == 1.0
    assert math.isnan(spacing_needed_m(100.0, 0.1, 2, PATH, least_m=1.0, most_m=9.0))


def test_spacing_with_a_cold_cable_between_is_half_of_that_of_the_two_warm_ones():
    two, with_cold = (
        float(spacing_needed_m(1800.0, 5.0, n, PATH, least_m=0.31, most_m=60.0, share=share))
        for n, share in ((2, 1.0), (3, [1.0, 0.0, 1.0]))
    )
    assert with_cold == pytest.approx(max(two / 2.0, 0.31))
    assert two > 0.62


@given(st.floats(1200.0, 1900.0), st.floats(1.0, 10.0), st.floats(0.2, 5.0))
def test_spacing_scales_with_lengths(current_A, depth_m, scale):
    here = spacing_needed_m(current_A, depth_m, 3, PATH, least_m=0.31, most_m=50.0)
    scaled = replace(PATH, outer_diameter_m=0.3 * scale)
    there = spacing_needed_m(current_A, depth_m * scale, 3, scaled, least_m=0.31 * scale, most_m=50.0 * scale)
    assert there == pytest.approx(here * scale, nan_ok=True, rel=1e-6)


@pytest.mark.parametrize("limits", [(0, 1.0, 9.0), (4, 0.0, 9.0), (4, 9.0, 1.0)])
def test_impossible_search(limits):
    n, least_m, most_m = limits
    with pytest.raises(ValueError, match="need at least one"):
        spacing_needed_m(100.0, 5.0, n, PATH, least_m=least_m, most_m=most_m)


def test_better_bedding_helps_pipes_with_air_too():
    path, cable = trench_path(1.5)
    known = {"cable_diameter_m": 0.140, "cable_K_m_per_W": cable, "fill": PLASTIC_PIPE}
    plain = fluid_filled_rating(*TRENCHES, path, **known)
    bedded = fluid_filled_rating(
        *TRENCHES, path, **known, bedding=Bedding([0, 0, 1, 1], 1.54, 0.95, 0.68, 1.0)
    )
    assert bedded.rating_A > plain.rating_A


def test_rating_with_air_scales_with_the_root_of_the_resistance():
    # Twice the ohms, 1 / sqrt 2 of the current: the same heat, so the same temperatures everywhere.
    path, cable = trench_path(1.0)
    known = {"cable_diameter_m": 0.140, "cable_K_m_per_W": cable, "fill": PLASTIC_PIPE}
    here = fluid_filled_rating(*TRENCHES, path, **known)
    twice = replace(path, conductor_ohm_per_m=2.0 * path.conductor_ohm_per_m)
    there = fluid_filled_rating(*TRENCHES, twice, **known)
    assert there.rating_A == pytest.approx(here.rating_A / math.sqrt(2.0))
