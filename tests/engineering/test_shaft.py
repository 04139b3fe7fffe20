"""Shafts: plan of two roles, bands of depth, uplift of the worked crossing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.shaft import (
    depth_in_bands_m,
    depth_utilisation,
    fan_length_below_m,
    fan_spacing_m,
    is_apart,
    plan_size_m,
    rounded_depth_m,
    shaft_width_m,
    split_area_m2,
    uplift_deficit_kPa,
)

BASES = [4.0, 8.0, 12.0]


def test_plan_is_the_larger_of_both():
    length, width = plan_size_m([[8.0, 0.0], [5.0, 2.0]], [[21.0, 0.0], [8.5, 8.5]])
    assert (length.tolist(), width.tolist()) == ([8.0, 2.0], [21.0, 8.5])


@pytest.mark.parametrize(
    ("depth_m", "expected"),
    [
        pytest.param(0.0, [0.0, 0.0, 0.0], id="nothing"),
        pytest.param(3.0, [3.0, 0.0, 0.0], id="in the first band"),
        pytest.param(4.0, [4.0, 0.0, 0.0], id="to its base"),
        pytest.param(9.5, [4.0, 4.0, 1.5], id="into the third"),
        pytest.param(15.0, [4.0, 4.0, 7.0], id="below the last base"),
    ],
)
def test_bands(depth_m, expected):
    assert depth_in_bands_m(depth_m, BASES).tolist() == expected


@given(st.lists(st.floats(0.0, 40.0), min_size=1, max_size=5))
def test_bands_add_up_to_the_depth(depths):
    bands = depth_in_bands_m(depths, BASES)
    assert bands.shape == (len(depths), 3)
    assert np.allclose(bands.sum(axis=-1), depths)


@pytest.mark.parametrize(
    ("groundwater_m", "plug_m", "expected_kPa"),
    [
        # the worked crossing: head 9.16 m above the plug's top, concrete 24 kN/m3
        pytest.param(2.0, 2.0, 66.3, id="2 m plug: 109.5 - 43.2"),
        pytest.param(2.0, 7.62, 0.0, id="7.62 m hold by weight alone"),
        pytest.param(20.0, 2.0, 0.0, id="dry ground"),
    ],
)
def test_uplift(groundwater_m, plug_m, expected_kPa):
    deficit = uplift_deficit_kPa(
        11.16,
        groundwater_m,
        plug_m,
        concrete_kN_per_m3=24.0,
        water_kN_per_m3=9.81,
        weight_factor=0.9,
        water_factor=1.0,
    )
    assert deficit == pytest.approx(expected_kPa, abs=0.1)


def test_width_by_hand():
    # (4 - 1) x 6 + 3; (4 - 1) x 2 + 2.5
    assert shaft_width_m([4, 4, 1, 0], [6.0, 2.0, 6.0, 6.0], [3.0, 2.5, 3.0, 3.0]).tolist() == [
        21.0,
        8.5,
        3.0,
        0.0,
    ]


def test_one_wide_shaft_or_several():
    # four bores 6 m apart, 3 m edge, 8 m long: 21 x 8; 2 x (9 x 8); 4 x (3 x 8)
    areas = split_area_m2(4, [1, 2, 4], length_m=8.0, spacing_m=6.0, edge_m=3.0)
    assert areas.tolist() == [168.0, 144.0, 96.0]
    assert is_apart([3.9, 4.0], 2.0, wall_m=0.5, gap_m=1.0).tolist() == [False, True]
    with pytest.raises(ValueError, match="from 1 to the number of bores"):
        split_area_m2(4, 5, length_m=8.0, spacing_m=6.0, edge_m=3.0)


@given(st.integers(1, 8), st.floats(1.0, 10.0), st.floats(1.0, 5.0))
def test_one_shaft_has_the_width_of_all_bores(n, spacing, edge):
    area = split_area_m2(n, 1, length_m=5.0, spacing_m=spacing, edge_m=edge)
    assert area == pytest.approx(5.0 * shaft_width_m(n, spacing, edge))


def test_fan_by_hand():
    # 2 m apart at the launch, 6 m at the reception, 400 m: 3 m at 100 m
    fan = {"launch_m": 2.0, "reception_m": 6.0}
    assert fan_spacing_m([0.0, 100.0, 400.0], 400.0, **fan).tolist() == [2.0, 3.0, 6.0]
    assert fan_length_below_m([1.0, 3.0, 6.0, 7.0], 400.0, **fan).tolist() == [0.0, 100.0, 400.0, 400.0]
    assert fan_length_below_m([5.0, 6.0], 400.0, launch_m=5.0, reception_m=5.0).tolist() == [0.0, 400.0]
    with pytest.raises(ValueError, match="exceed"):
        fan_spacing_m(401.0, 400.0, **fan)


@given(st.floats(0.5, 9.0), st.floats(0.5, 9.0), st.floats(0.5, 9.0))
def test_fan_is_closer_than_needed_along_the_length_found(start, end, needed):
    fan = {"launch_m": start, "reception_m": end}
    short = float(fan_length_below_m(needed, 100.0, **fan))
    x = np.linspace(0.0, 100.0, 10001)
    assert short == pytest.approx(100.0 * np.mean(fan_spacing_m(x, 100.0, **fan) < needed), abs=0.03)


def test_depth_is_rounded_up_and_compared():
    # 45 steps of 0.25 m but for rounding stay 45
    assert rounded_depth_m([11.16, 11.25, 0.25 * 45 + 1e-12, 0.0], 0.25).tolist() == [
        11.25,
        11.25,
        11.25,
        0.0,
    ]
    assert rounded_depth_m([11.26, 11.30], 0.25).tolist() == [11.5, 11.5]
    assert depth_utilisation([12.0, 16.0, 20.0], 16.0).tolist() == [0.75, 1.0, 1.25]


@given(st.floats(0.1, 10.0))
def test_lengths_scale(k):
    assert shaft_width_m(4, 6.0 * k, 3.0 * k) == pytest.approx(21.0 * k)
    areas = split_area_m2(4, 2, length_m=8.0 * k, spacing_m=6.0 * k, edge_m=3.0 * k)
    assert areas == pytest.approx(144.0 * k * k)
    fan = {"launch_m": 2.0 * k, "reception_m": 6.0 * k}
    assert fan_spacing_m(100.0 * k, 400.0 * k, **fan) == pytest.approx(3.0 * k)
    assert fan_length_below_m(3.0 * k, 400.0 * k, **fan) == pytest.approx(100.0 * k)
    assert rounded_depth_m(11.16 * k, 0.25 * k) == pytest.approx(11.25 * k)
    assert depth_utilisation(12.0 * k, 16.0 * k) == pytest.approx(0.75)
    assert is_apart(4.1 * k, 2.0 * k, wall_m=0.5 * k, gap_m=k)
