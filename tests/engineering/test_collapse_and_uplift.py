"""Collapse, buoyancy and flotation: by hand, limits, laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.collapse import (
    collapse_pressure_kPa,
    outside_pressure_kPa,
    ovality_reduction,
    pull_reduction,
    warm_modulus_MPa,
)
from routescreen.engineering.uplift import (
    flotation,
    grout_m3,
    net_uplift_kN_per_m,
    scoured_cover_m,
    survey_bed_m,
)

positives = st.floats(0.1, 10.0)
WEIGHING = {"water_kN_per_m3": 9.81, "weight_factor": 0.9, "uplift_factor": 1.0}


def test_collapse_by_hand():
    # 2 x 350 000/(0.7975 x 10^3) = 877.7 kPa round; x 0.62 = 544.2
    assert collapse_pressure_kPa(350.0, 11.0, poisson=0.45) == pytest.approx(877.74, abs=0.01)
    assert collapse_pressure_kPa(350.0, 11.0, poisson=0.45, ovality_factor=0.62) == pytest.approx(
        544.2, abs=0.01
    )


@given(k=positives)
def test_collapse_scales(k):
    one = collapse_pressure_kPa(350.0, 11.0, poisson=0.45)
    assert collapse_pressure_kPa(350.0 * k, 11.0, poisson=0.45) == pytest.approx(k * one)
    # a wall k times as slender bears k^-3
    assert collapse_pressure_kPa(350.0, 1.0 + 10.0 * k, poisson=0.45) == pytest.approx(one / k**3)


def test_oval_pipes_bear_less():
    # (0.95/1.05^2)^3
    assert ovality_reduction([0.0, 0.05]) == pytest.approx([1.0, 0.6398], abs=1e-4)
    assert ovality_reduction(0.06) < ovality_reduction(0.05)
    with pytest.raises(ValueError, match="ovality"):
        ovality_reduction(1.0)


def test_pulled_pipes_bear_less():
    # r = 1/2 at the safe pull: sqrt(3.0419) - 1.09 = 0.6541; not pulled 1.0033, held to 1
    found = pull_reduction([0.0, 492.0, 500.0], 492.0)
    assert found[:2] == pytest.approx([1.0, 0.6541], abs=1e-4)
    assert np.isnan(found[2])


@given(share=st.floats(0.0, 1.0), k=positives)
def test_pull_reduction_falls_and_depends_on_the_share_alone(share, k):
    assert pull_reduction(share, 1.0) >= pull_reduction(1.0, 1.0) - 1e-12
    assert pull_reduction(share, 1.0) <= pull_reduction(share / 2.0, 1.0)
    assert pull_reduction(0.9 * share * k, k) == pytest.approx(pull_reduction(0.9 * share, 1.0))


def test_warm_wall_by_hand():
    found = warm_modulus_MPa(350.0, [45.0, 45.1, np.nan], limit_degC=45.0, warm_share=0.5)
    assert found[:2].tolist() == [350.0, 175.0]
    assert np.isnan(found[2])
    assert warm_modulus_MPa(700.0, 50.0, limit_degC=45.0, warm_share=0.5) == 350.0


def test_outside_pressure_by_hand():
    # 14 x 10 + 50 - 9.81 x 10
    found = outside_pressure_kPa(14.0, 10.0, injection_kPa=50.0, inside_kN_per_m3=9.81, inside_head_m=10.0)
    assert found == pytest.approx(91.9)


@given(k=positives)
def test_pressures_and_volumes_scale(k):
    one = outside_pressure_kPa(14.0, 10.0, injection_kPa=50.0)
    assert outside_pressure_kPa(14.0, 10.0 * k, injection_kPa=50.0 * k) == pytest.approx(k * one)
    assert grout_m3(0.56 * k, 0.5 * k, 620.0 * k, 0.25) == pytest.approx(
        k**3 * grout_m3(0.56, 0.5, 620.0, 0.25)
    )
    uplift = net_uplift_kN_per_m(0.5, 14.0, 0.6, inside_diameter_m=0.4, ballast_kN_per_m3=10.0)
    assert net_uplift_kN_per_m(
        0.5 * k, 14.0, 0.6 * k * k, inside_diameter_m=0.4 * k, ballast_kN_per_m3=10.0
    ) == pytest.approx(k * k * uplift)


def test_uplift_by_hand():
    # empty: 11 pi/4 0.25 - 0.6 = 1.560 in slurry; 14 in grout 2.149; full of water 0.892 of 0.1257 m2
    empty = net_uplift_kN_per_m(0.5, [11.0, 14.0], 0.6)
    assert empty == pytest.approx([1.5598, 2.1489], abs=1e-4)
    full = net_uplift_kN_per_m(0.5, 14.0, 0.6, inside_diameter_m=0.4, ballast_kN_per_m3=9.81)
    assert full == pytest.approx(2.1489 - 9.81 * 0.125664, abs=1e-4)


def test_grout_by_hand():
    # pi/4 (0.3136 - 0.25) = 0.049951 m2 x 100 m x 1.25
    assert grout_m3(0.56, 0.5, 100.0, 0.25) == pytest.approx(6.2439, abs=1e-4)
    with pytest.raises(ValueError, match="annulus"):
        grout_m3(0.5, 0.56, 100.0, 0.25)


def test_bed_levels_by_hand():
    assert survey_bed_m(27.0, 0.3) == pytest.approx(26.7)
    assert scoured_cover_m(27.0, [1.0, 4.0], 23.5) == pytest.approx([2.5, -0.5])


def test_flotation_by_hand():
    # 0.9 (0.6 + 10 x 1 x 0.5) = 5.04 holds 9.81 x 0.19635 = 1.926
    held = flotation(1.0, 0.5, 0.6, 10.0, **WEIGHING)
    assert held.holding_kN_per_m == pytest.approx(5.04)
    assert held.uplift_kN_per_m == pytest.approx(1.9262, abs=1e-4)
    assert held.utilisation == pytest.approx(1.9262 / 5.04, abs=1e-4)


def test_bare_pipe_is_exposed_however_heavy():
    found = flotation([0.0, -1.0, 0.1], 0.5, 100.0, 10.0, **WEIGHING)
    assert found.is_exposed.tolist() == [True, True, False]
    assert found.utilisation.tolist()[:2] == [math.inf, math.inf]
    assert found.utilisation[2] < 1.0
    assert np.isnan(flotation(np.nan, 0.5, 0.6, 10.0, **WEIGHING).utilisation)


@given(cover=st.floats(0.05, 10.0), more=positives, k=positives)
def test_flotation_falls_with_cover_and_scales(cover, more, k):
    one = flotation(cover, 0.5, 0.6, 10.0, **WEIGHING)
    assert flotation(cover + more, 0.5, 0.6, 10.0, **WEIGHING).utilisation < one.utilisation
    scaled = flotation(k * cover, 0.5 * k, 0.6 * k * k, 10.0, **WEIGHING)
    assert scaled.utilisation == pytest.approx(one.utilisation)
    assert scaled.uplift_kN_per_m == pytest.approx(k * k * one.uplift_kN_per_m)
    assert survey_bed_m(k * 27.0, k * 0.3) == pytest.approx(k * 26.7)
    assert scoured_cover_m(k * 27.0, k, k * 23.5) == pytest.approx(k * 2.5)
