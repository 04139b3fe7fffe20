"""Lowered groundwater: by hand, limits, laws. Published figures stand in tests/published."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.dewatering import (
    head_at_m,
    is_within_reach,
    n_wells,
    pit_radius_m,
    radial_inflow_m3_per_s,
    reach_m,
    trench_inflow_m3_per_s_per_m,
    well_yield_m3_per_s,
)

positives = st.floats(0.1, 10.0)
E = math.e


def test_reach_by_hand():
    # 3000 x 3 x sqrt(2e-4) = 9000 x 0.0141421
    assert reach_m(3.0, [2e-4, 0.0]) == pytest.approx([127.28, 0.0], abs=5e-3)
    assert reach_m(3.0, 1e-4, 2000.0) == pytest.approx(60.0)
    with pytest.raises(ValueError, match="drawdown"):
        reach_m(-1.0, 2e-4)


def test_pit_radius_by_hand():
    assert pit_radius_m(math.pi, 4.0) == pytest.approx(2.0)


def test_inflow_by_hand():
    # R = e r, so the logarithm is 1. Free: pi 1e-4 (100 - 64); under pressure: 2 pi 1e-4 x 5 (10 - 8);
    # pressure outside only, roof 9 m: pi 1e-4 (2 x 9 x 10 - 81 - 64)
    free = radial_inflow_m3_per_s(1e-4, 10.0, 8.0, E, 1.0)
    assert free == pytest.approx(36e-4 * math.pi)
    assert radial_inflow_m3_per_s(1e-4, 10.0, 8.0, E, 1.0, thickness_m=5.0) == pytest.approx(20e-4 * math.pi)
    assert radial_inflow_m3_per_s(1e-4, 10.0, 8.0, E, 1.0, thickness_m=9.0) == pytest.approx(35e-4 * math.pi)
    assert radial_inflow_m3_per_s(1e-4, 8.0, 8.0, E, 1.0) == 0.0
    assert radial_inflow_m3_per_s(1e-4, 10.0, 0.0, E, 1.0) == pytest.approx(100e-4 * math.pi)


def test_a_reach_inside_the_pit_is_not_evaluated():
    assert np.isnan(radial_inflow_m3_per_s(1e-4, 10.0, 8.0, [1.0, 0.5], 1.0)).all()


@given(outer=st.floats(0.1, 20.0), inner=st.floats(0.0, 20.0), roof=st.floats(0.1, 20.0))
def test_a_roof_never_adds_water_and_a_high_one_changes_nothing(outer, inner, roof):
    high, low = max(outer, inner), min(outer, inner)
    free = radial_inflow_m3_per_s(1e-4, high, low, 50.0, 2.0)
    assert radial_inflow_m3_per_s(1e-4, high, low, 50.0, 2.0, thickness_m=roof) <= free * (1.0 + 1e-12)
    assert radial_inflow_m3_per_s(1e-4, high, low, 50.0, 2.0, thickness_m=high) == pytest.approx(free)


@given(
    outer=st.floats(5.0, 20.0),
    inner=st.floats(0.0, 5.0),
    roof=st.sampled_from([2.0, 7.0, 30.0, np.inf]),
    at=st.floats(2.0, 100.0),
)
def test_head_at_a_distance_takes_the_same_water(outer, inner, roof, at):
    inflow = radial_inflow_m3_per_s(1e-4, outer, inner, 100.0, 2.0, thickness_m=roof)
    assert head_at_m(100.0, inflow, 1e-4, inner, 2.0, thickness_m=roof) == pytest.approx(outer)
    assert head_at_m(2.0, inflow, 1e-4, inner, 2.0, thickness_m=roof) == pytest.approx(inner, abs=1e-6)
    between = head_at_m(at, inflow, 1e-4, inner, 2.0, thickness_m=roof)
    assert inner - 1e-6 <= between <= outer + 1e-6
    assert np.isnan(head_at_m(1.9, inflow, 1e-4, inner, 2.0, thickness_m=roof))


def test_trench_by_hand():
    # 1e-4 (25 - 9)/40: two sides of k (H2 - h2)/2L each
    assert trench_inflow_m3_per_s_per_m(1e-4, 5.0, 3.0, 40.0) == pytest.approx(4e-5)


def test_wells_by_hand():
    # 2 pi 0.15 x 5 x sqrt(1e-4)/15 = 3.1416e-3
    assert well_yield_m3_per_s(0.15, 5.0, 1e-4) == pytest.approx(math.pi * 1e-3)
    assert n_wells([0.0, 0.010, 0.012], 0.005, 1.0).tolist() == [0.0, 2.0, 3.0]
    assert n_wells(0.010, 0.005, 1.3) == 3.0


def test_neighbours_within_reach_or_not_known():
    assert is_within_reach([126.0, 127.28, 128.0, np.nan], 127.28).tolist() == [True, True, False, True]


@given(k=positives, f=positives)
def test_lengths_and_permeability_scale(k, f):
    assert reach_m(3.0 * k, 2e-4 * f) == pytest.approx(k * math.sqrt(f) * reach_m(3.0, 2e-4))
    assert pit_radius_m(21.0 * k, 8.0 * k) == pytest.approx(k * pit_radius_m(21.0, 8.0))
    for roof in (4.0, 9.0, np.inf):
        inflow = radial_inflow_m3_per_s(1e-4, 10.0, 8.0, 90.0, 6.0, thickness_m=roof)
        scaled = radial_inflow_m3_per_s(1e-4 * f, 10.0 * k, 8.0 * k, 90.0 * k, 6.0 * k, thickness_m=roof * k)
        assert scaled == pytest.approx(f * k * k * inflow)
        head = head_at_m(40.0, inflow, 1e-4, 8.0, 6.0, thickness_m=roof)
        far = head_at_m(40.0 * k, scaled, 1e-4 * f, 8.0 * k, 6.0 * k, thickness_m=roof * k)
        assert far == pytest.approx(k * head)
    assert trench_inflow_m3_per_s_per_m(1e-4 * f, 5.0 * k, 3.0 * k, 40.0 * k) == pytest.approx(4e-5 * f * k)
    assert well_yield_m3_per_s(0.15 * k, 5.0 * k, 1e-4 * f) == pytest.approx(
        k * k * math.sqrt(f) * math.pi * 1e-3
    )
    assert n_wells(0.011 * k, 0.005 * k, 1.0) == 3.0
    assert is_within_reach(100.0 * k, 120.0 * k)
