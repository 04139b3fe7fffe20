"""Earthwork: by hand, limits, laws. Published figures stand in tests/published."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.spoil import (
    end_area_m3,
    haul_road,
    lorries_per_day,
    lorry_loads,
    prismoid_m3,
    shrinkage_frac,
    spoil_balance,
    swell_frac,
)

positives = st.floats(0.1, 10.0)
SOIL = {"usable_frac": 0.8, "swell": 0.25, "shrinkage": 0.1}


def test_volumes_between_sections_by_hand():
    # 10 m x (4 + 6)/2; 20 m x (6 + 0)/2
    assert end_area_m3([0.0, 10.0, 30.0], [4.0, 6.0, 0.0]).tolist() == [50.0, 60.0]
    assert end_area_m3([0.0, 10.0], [[4.0, 6.0], [1.0, 1.0]]).tolist() == [[50.0], [10.0]]
    for chainages in ([0.0, 0.0, 30.0], [0.0]):
        with pytest.raises(ValueError, match="grow"):
            end_area_m3(chainages, [4.0] * len(chainages))


def test_prismoid_is_exact_for_a_cone_where_end_areas_give_half_as_much_again():
    # radius 3 at one end, 1.5 half-way: pi/3 x 9 x 6
    areas = [math.pi * 9.0, math.pi * 2.25, 0.0]
    assert prismoid_m3(6.0, *areas) == pytest.approx(18.0 * math.pi)
    assert end_area_m3([0.0, 6.0], [areas[0], areas[2]])[0] == pytest.approx(27.0 * math.pi)


def test_prismoid_between_two_sections_by_hand():
    # 12 x (2 + 4 x 3 + 7)/6
    assert prismoid_m3(12.0, 2.0, 3.0, 7.0) == pytest.approx(42.0)


def test_swell_and_shrinkage_by_hand():
    # 18/15 - 1; 1 - 18/20
    assert swell_frac(18.0, 15.0) == pytest.approx(0.2)
    assert shrinkage_frac(18.0, 20.0) == pytest.approx(0.1)


def test_balance_by_hand():
    # 900 m3 of fill need 1 000 in place; of 2 000 dug 1 600 are usable: 1 000 go, 1 250 loose
    enough = spoil_balance(2000.0, 900.0, **SOIL)
    assert (enough.kept_m3, enough.surplus_m3, enough.missing_m3) == pytest.approx((1000.0, 1000.0, 0.0))
    assert enough.surplus_loose_m3 == pytest.approx(1250.0)
    # of 1 000 dug 800 are usable: 200 are missing and 200 hauled all the same
    short = spoil_balance(1000.0, 900.0, **SOIL)
    assert (short.kept_m3, short.surplus_m3, short.missing_m3) == pytest.approx((800.0, 200.0, 200.0))


@pytest.mark.parametrize("change", [{"usable_frac": 1.01}, {"shrinkage": 1.0}])
def test_impossible_shares_are_refused(change):
    with pytest.raises(ValueError, match="share"):
        spoil_balance(1000.0, 900.0, **(SOIL | change))


@given(dug=st.floats(0.0, 1e4), fill=st.floats(0.0, 1e4), usable=st.floats(0.0, 1.0))
def test_balance_adds_up(dug, fill, usable):
    found = spoil_balance(dug, fill, usable_frac=usable, swell=0.25, shrinkage=0.1)
    assert found.kept_m3 + found.surplus_m3 == pytest.approx(dug)
    assert found.kept_m3 + found.missing_m3 == pytest.approx(fill / 0.9)
    assert min(found.kept_m3, found.surplus_m3, found.missing_m3) >= 0.0


def test_lorries_by_hand():
    assert lorry_loads([0.0, 160.0, 160.1, 16.0 * 3 * (1.0 + 1e-13)], 16.0).tolist() == [0.0, 10.0, 11.0, 3.0]
    # 50 loads in 5 days: 10 there and 10 back
    assert lorries_per_day(50.0, 5.0) == 20.0


def test_haul_road_by_hand():
    area, stone = haul_road([100.0, 100.0], [False, True], width_m=7.0, stone_m=0.5)
    assert (area.tolist(), stone.tolist()) == ([700.0, 0.0], [350.0, 0.0])


@given(k=positives)
def test_lengths_and_volumes_scale(k):
    square = k * k
    assert end_area_m3(k * np.array([0.0, 10.0]), square * np.array([4.0, 6.0])) == pytest.approx(
        [50.0 * k**3]
    )
    assert prismoid_m3(6.0 * k, 9.0 * square, 2.0 * square, 0.0) == pytest.approx(17.0 * k**3)
    assert spoil_balance(2000.0 * k, 900.0 * k, **SOIL).surplus_loose_m3 == pytest.approx(1250.0 * k)
    assert swell_frac(18.0 * k, 15.0 * k) == pytest.approx(0.2)
    assert shrinkage_frac(18.0 * k, 20.0 * k) == pytest.approx(0.1)
    assert lorry_loads(165.0 * k, 16.0 * k) == 11.0
    assert lorries_per_day(50.0 * k, 5.0) == pytest.approx(20.0 * k)
    assert haul_road(100.0 * k, False, width_m=7.0 * k, stone_m=0.5 * k)[1] == pytest.approx(350.0 * k**3)
