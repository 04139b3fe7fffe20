"""Approach cut of the pipe string: against slices added up, limits, laws."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.engineering.approach import approach_cut_m3, approach_radius_m, approach_run_m


def sliced_m3(depth_m, radius_m, n, spacing_m, width_m, slope):
    """Add up the union of n equal cuts, level by level and step by step."""
    run = np.sqrt(2.0 * radius_m * depth_m)
    steps, levels = 400, 400
    volume = 0.0
    for x in (np.arange(steps) + 0.5) / steps * run:
        deep = depth_m * (1.0 - x / run) ** 2
        height = (np.arange(levels) + 0.5) / levels * deep
        widths = width_m + 2.0 * slope * height
        union = np.minimum(n * widths, (n - 1) * spacing_m + widths)
        volume += union.mean() * deep * run / steps
    return volume


def test_run():
    # sqrt(2 x 12.5 x 8.74)
    assert approach_run_m(8.74, 12.5) == pytest.approx(14.78, abs=0.01)


def test_radius_is_the_run_solved_for_it():
    # 20^2 / (2 x 8) = 25 m; a pipe on the level needn't bend
    assert approach_radius_m(8.0, 20.0) == pytest.approx(25.0)
    assert approach_radius_m(0.0, 20.0) == math.inf
    assert approach_radius_m(8.74, float(approach_run_m(8.74, 12.5))) == pytest.approx(12.5)


def test_one_upright_cut():
    # 2 m wide, area under the parabola dz L / 3: 2 x 4.5 x sqrt(2 x 12.5 x 4.5) / 3 = 31.82
    volume = approach_cut_m3(4.5, 12.5, n_strings=1, spacing_m=6.0, width_m=2.0, slope_cotangent=0.0)
    assert volume == pytest.approx(31.82, abs=0.01)


def test_shallow_cuts_do_not_meet():
    kwargs = {"spacing_m": 6.0, "width_m": 2.0, "slope_cotangent": 1.0}
    one, four = (approach_cut_m3(1.9, 12.5, n_strings=n, **kwargs) for n in (1, 4))
    assert four == pytest.approx(4.0 * one)


def test_no_depth_no_cut():
    kwargs = {"n_strings": 4, "spacing_m": 6.0, "width_m": 2.0, "slope_cotangent": 1.0}
    assert approach_cut_m3([0.0, -1.0], 12.5, **kwargs).tolist() == [0.0, 0.0]


@given(
    depth_m=st.floats(0.5, 16.0),
    n=st.integers(1, 6),
    spacing_m=st.floats(2.5, 10.0),
    slope=st.sampled_from([0.0, 0.1763, 0.5774, 1.0]),
)
@settings(max_examples=25, deadline=None)
def test_closed_form_equals_slices(depth_m, n, spacing_m, slope):
    volume = approach_cut_m3(
        depth_m, 12.5, n_strings=n, spacing_m=spacing_m, width_m=2.0, slope_cotangent=slope
    )
    assert volume == pytest.approx(sliced_m3(depth_m, 12.5, n, spacing_m, 2.0, slope), rel=2e-3)


@given(st.lists(st.floats(0.0, 16.0), min_size=2, max_size=6))
def test_deeper_is_never_less(depths):
    kwargs = {"n_strings": 4, "spacing_m": 6.0, "width_m": 2.0, "slope_cotangent": 1.0}
    volumes = approach_cut_m3(sorted(depths), 12.5, **kwargs)
    assert np.all(np.diff(volumes) >= -1e-9)
