"""Shafts: plan of two roles, bands of depth, uplift of the worked crossing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.shaft import depth_in_bands_m, plan_size_m, uplift_deficit_kPa

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
