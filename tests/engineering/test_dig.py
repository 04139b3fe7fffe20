"""Digs side by side: counted once where they overlap."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.dig import side_by_side_m2


@pytest.mark.parametrize(
    ("height_m", "places_m", "cotangent", "expected_m2"),
    [
        pytest.param(2.0, [0.0], 1.0, 6.0, id="one: 1 x 2 + 2^2"),
        pytest.param(2.0, [0.0, 9.0], 1.0, 12.0, id="two apart"),
        # they meet 0.5 m up, (2 - 1)/2, and share (2 - 0.5)^2 = 2.25
        pytest.param(2.0, [2.0, 0.0], 1.0, 9.75, id="two that meet above the bottom"),
        # bottoms overlap: 1.5 m wide in all: 1.5 x 2 + 2^2
        pytest.param(2.0, [0.0, 0.5], 1.0, 7.0, id="two in one"),
        pytest.param(2.0, [0.0, 3.0, 3.5], 0.0, 2.0 + 3.0, id="upright"),
        pytest.param(-0.3, [0.0, 3.0], 1.0, 0.0, id="nothing to dig"),
    ],
)
def test_area_by_hand(height_m, places_m, cotangent, expected_m2):
    found = side_by_side_m2([height_m], [places_m], width_m=1.0, slope_cotangent=[cotangent])
    assert found == pytest.approx([expected_m2])


@given(
    st.floats(0.1, 9.0),
    st.lists(st.floats(-10.0, 10.0), min_size=1, max_size=5),
    st.floats(0.3, 3.0),
    st.floats(0.0, 2.0),
)
def test_area_is_that_of_the_deepest_dig_at_each_place_across(height_m, places_m, width_m, cotangent):
    across = np.linspace(-35.0, 35.0, 14001)
    beyond = np.abs(across[:, np.newaxis] - np.array(places_m)) - width_m / 2.0
    steep = max(cotangent, 1e-9)
    depth = np.clip(height_m - np.maximum(beyond, 0.0) / steep, 0.0, None).max(axis=1)
    found = side_by_side_m2([height_m], [places_m], width_m=width_m, slope_cotangent=[cotangent])
    # a strip of 5 mm may be in or out at each edge
    assert found == pytest.approx([depth.sum() * (across[1] - across[0])], abs=0.006 * 6 * height_m)
