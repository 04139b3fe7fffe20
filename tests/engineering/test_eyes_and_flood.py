"""Eyes and floods: by hand, limits, laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.eyes import is_eye_wet, treated_block_m3, treated_length_m
from routescreen.engineering.flood import (
    evacuation_level_m,
    is_in_zone,
    is_rim_low,
    rim_height_m,
    rim_level_m,
)

TRADE = {"least_m": 3.0, "diameters": 3.0}
positives = st.floats(0.1, 20.0)


def test_eyes_are_wet_below_the_water_and_where_it_is_not_known():
    assert is_eye_wet([29.9, 30.0, 30.1, np.nan], 30.0).tolist() == [False, False, True, True]


def test_treated_length_is_the_larger_and_none_in_dry_ground():
    assert treated_length_m([0.56, 2.06, 2.06], [True, True, False], **TRADE) == pytest.approx(
        [3.0, 6.18, 0.0]
    )


def test_treated_block_by_hand():
    # D 1, margin 0.5: 2 m square; four bores 1.5 m apart meet: 3 x (4.5 + 2) x 2; 6 m apart: 3 x 4 x 4
    size = {"n_bores": 4, "margin_m": 0.5}
    assert treated_block_m3(3.0, 1.0, spacing_m=1.5, **size) == pytest.approx(39.0)
    assert treated_block_m3(3.0, 1.0, spacing_m=6.0, **size) == pytest.approx(48.0)
    assert treated_block_m3(3.0, 1.0, spacing_m=6.0, n_bores=[1, 0], margin_m=0.5).tolist() == [12.0, 0.0]


def test_rim_by_hand():
    # ground 32; floods at 31.4, 31.6 and one not known; 0.5 m freeboard
    flood = np.array([31.4, 31.6, np.nan])
    assert rim_level_m(32.0, flood, 0.5)[:2] == pytest.approx([32.0, 32.1])
    assert rim_height_m(32.0, flood, 0.5)[:2] == pytest.approx([0.0, 0.1])
    assert np.isnan(rim_level_m(32.0, flood, 0.5)[2])
    assert is_rim_low(32.0, flood, 0.5).tolist() == [False, True, True]
    assert is_rim_low(rim_level_m(32.0, 31.6, 0.5), 31.6, 0.5) == np.False_


def test_shaft_is_left_in_time():
    # 0.2 m/h for 4 h below the rim at 32
    assert evacuation_level_m(32.0, 0.2, 4.0) == pytest.approx(31.2)


def test_zones_count_from_the_edge():
    assert is_in_zone([29.9, 30.0, np.nan], 30.0).tolist() == [True, False, True]


@given(k=positives)
def test_lengths_scale(k):
    wide = {"least_m": 3.0 * k, "diameters": 3.0}
    assert treated_length_m(0.56 * k, True, **wide) == pytest.approx(3.0 * k)
    assert treated_length_m(2.0 * k, True, **wide) == pytest.approx(6.0 * k)
    size = {"n_bores": 4, "spacing_m": 1.5 * k, "margin_m": 0.5 * k}
    assert treated_block_m3(3.0 * k, 1.0 * k, **size) == pytest.approx(39.0 * k**3)
    assert rim_level_m(32.0 * k, 31.6 * k, 0.5 * k) == pytest.approx(32.1 * k)
    assert rim_height_m(32.0 * k, 31.6 * k, 0.5 * k) == pytest.approx(0.1 * k)
    assert evacuation_level_m(32.0 * k, 0.2 * k, 4.0) == pytest.approx(31.2 * k)
    assert is_eye_wet(30.1 * k, 30.0 * k)
    assert is_in_zone(29.0 * k, 30.0 * k)
    assert is_rim_low(32.0 * k, 31.6 * k, 0.5 * k)


@given(ground=st.floats(0.0, 50.0), flood=st.floats(0.0, 50.0))
def test_a_level_and_its_height_agree(ground, flood):
    assert ground + rim_height_m(ground, flood, 0.5) == pytest.approx(rim_level_m(ground, flood, 0.5))
    assert rim_height_m(ground, flood, 0.5) >= 0.0
