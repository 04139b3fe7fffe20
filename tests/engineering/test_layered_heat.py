"""A layer above line sources: images against the integral over wave numbers, limits, laws, bounds."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from routescreen.engineering.heat import group_log
from routescreen.engineering.layered_heat import boundary_log, boundary_peak_log, column_log, mirrored_share
from routescreen.engineering.rating import HeatPath, group_rating

DIAMETER_M = 0.56
PATH = HeatPath(8.6148e-6, 0.6866, DIAMETER_M, 70.0, 11.0, 0.75)
FOUR = np.array([-9.0, -3.0, 3.0, 9.0])

heights = st.floats(0.01, 12.0)
below = st.floats(0.28, 10.0)
resistivities = st.floats(0.3, 6.0)


def added(depth_m, offset_m, height_m, rho_above, rho):
    return column_log(depth_m, offset_m, DIAMETER_M, column_m=height_m, share=mirrored_share(rho_above, rho))


def test_the_mirrored_share_by_hand():
    # (1.0 - 0.75) / 1.75 = 1/7; equal: 0; a layer that leads better counts as none
    assert mirrored_share([1.0, 0.75, 0.5], 0.75) == pytest.approx([1.0 / 7.0, 0.0, 0.0])


def integrand(k, x_m, above_m, sum_m, height_m, ratio):
    """Temperature of the lower layer by waves: its surface passes k coth(k h) / rho_above a degree."""
    passes = 1.0 / math.tanh(k * height_m) / ratio
    mirrored = (1.0 - passes) / (1.0 + passes)
    return math.cos(k * x_m) / k * (mirrored * math.exp(-k * above_m) + math.exp(-k * sum_m))


@pytest.mark.parametrize("ratio", [1.2, 4.0 / 3.0, 3.3, 12.0])
@pytest.mark.parametrize(
    ("x_m", "heated_m", "source_m", "height_m"),
    [(6.0, 5.0, 5.0, 3.0), (2.0, 7.0, 5.5, 5.2), (12.0, 9.0, 9.0, 1.0)],
)
def test_images_are_the_integral_over_waves(ratio, x_m, heated_m, source_m, height_m):
    expected, _ = quad(
        integrand,
        1e-12,
        np.inf,
        (x_m, heated_m + source_m - 2.0 * height_m, heated_m + source_m, height_m, ratio),
        limit=500,
    )
    found = added([heated_m, source_m], [0.0, x_m], height_m, 0.75 * ratio, 0.75)[0, 1]
    assert found == pytest.approx(expected, rel=1e-6)


def test_two_images_by_hand():
    # c = 1/7, L = 5, h = 3: r_1 = 10 and r_0 = 4, then 16, 22, 28 m: 0.1429 x 0.9163 + 0.9796 x (0.1429 x
    # 0.4700 + 0.0204 x 0.7885 + 0.0029 x 1.0296 + ..) = 0.1309 + 0.0658 + 0.0158 + 0.0029 + 0.0005 + ..;
    # and ln(2 u) - arcosh u = 0.0008
    found = added([5.0], [0.0], 3.0, 1.0, 0.75)[0, 0]
    assert found == pytest.approx(0.2168, abs=2e-4)


@given(heights, below, resistivities, st.floats(1.0, 20.0))
def test_below_the_boundary_the_own_ground_lies_between_both_uniform_ones(height_m, under_m, rho, more):
    depth_m = height_m + under_m
    uniform = math.log(4.0 * depth_m / DIAMETER_M)
    layered = (
        group_log([depth_m], [0.0], DIAMETER_M)[0, 0]
        + added([depth_m], [0.0], height_m, rho * more, rho)[0, 0]
    )
    assert layered <= uniform * more * (1.0 + 1e-9) + 1e-3
    assert layered >= group_log([depth_m], [0.0], DIAMETER_M)[0, 0] - 1e-9


@given(heights, below, st.floats(1.01, 20.0))
def test_a_layer_stretched_to_the_same_resistance_is_no_bound(height_m, under_m, more):
    """L + (rho_above / rho - 1) h lets heat spread sideways in the layer as well as below it: it is less."""
    depth_m = height_m + under_m
    layered = math.log(4.0 * depth_m / DIAMETER_M) + added([depth_m], [0.0], height_m, more, 1.0)[0, 0]
    assert layered >= math.log(4.0 * (depth_m + (more - 1.0) * height_m) / DIAMETER_M) - 2e-3


@given(heights, below, st.floats(0.75, 8.0))
def test_no_layer_adds_nothing(height_m, under_m, rho_above):
    depth_m = np.full(4, height_m + under_m)
    assert not added(depth_m, FOUR, 0.0, rho_above, 0.75).any()
    assert not added(depth_m, FOUR, height_m, 0.75, 0.75).any()
    assert (added(depth_m, FOUR, height_m, rho_above, 0.75) >= 0.0).all()


@given(heights, below, st.floats(0.75, 5.0), st.floats(0.0, 3.0), st.floats(0.0, 2.0))
def test_more_ground_that_resists_more_never_bears_more(height_m, under_m, rho_above, higher_m, more):
    depth_m = np.full(4, height_m + higher_m + under_m)

    def rating(column_m, rho):
        path = replace(PATH, column_m=column_m, column_rho_K_m_per_W=rho)
        return float(group_rating(depth_m, FOUR, path).rating_A)

    one = rating(height_m, rho_above)
    assert one <= float(group_rating(depth_m, FOUR, PATH).rating_A)
    assert rating(height_m + higher_m, rho_above) <= one * (1.0 + 1e-6)
    assert rating(height_m, rho_above + more) <= one * (1.0 + 1e-6)


def test_the_rise_on_the_boundary_by_waves():
    # over its source and 6 m beside it: 2 / (1 + passes) e^(-k (L - h)) / k
    depth_m, height_m, ratio = 5.0, 3.0, 4.0 / 3.0
    found = boundary_log(
        [0.0, 6.0], depth_m - height_m, column_m=height_m, share=mirrored_share(0.75 * ratio, 0.75)
    )
    for at, x_m in ((0, 0.0), (1, 6.0)):

        def wave(k, x_m=x_m):
            passes = 1.0 / math.tanh(k * height_m) / ratio
            return math.cos(k * x_m) / k * 2.0 / (1.0 + passes) * math.exp(-k * (depth_m - height_m))

        expected, _ = quad(wave, 1e-12, np.inf, limit=500)
        assert found[at] == pytest.approx(expected, rel=1e-5)


def test_without_a_layer_nothing_warms_its_underside():
    assert not boundary_log(0.0, 5.0, column_m=0.0, share=0.2).any()
    assert boundary_peak_log([5.0, 5.0], [0.0, 6.0], DIAMETER_M, column_m=0.0, share=0.2) == 0.0


@given(
    heights,
    st.lists(below, min_size=3, max_size=3),
    st.lists(st.floats(0.6, 9.0), min_size=2, max_size=2),
    resistivities,
    st.floats(1.0, 9.0),
)
def test_the_bound_of_the_rise_is_above_all_of_the_boundary_and_near_its_peak(
    height_m, under_m, gaps_m, rho, more
):
    depth_m, places_m = height_m + np.array(under_m), np.concatenate([[0.0], np.cumsum(gaps_m)])
    share = mirrored_share(rho * more, rho)
    bound = boundary_peak_log(depth_m, places_m, DIAMETER_M, column_m=height_m, share=share)
    across_m = np.linspace(-20.0, 40.0, 3001)
    each = boundary_log(
        across_m[:, np.newaxis] - places_m, depth_m - height_m, column_m=height_m, share=share
    )
    assert each.sum(axis=1).max() <= bound + 1e-9
    assert bound <= 1.15 * each.sum(axis=1).max() + 1e-3
