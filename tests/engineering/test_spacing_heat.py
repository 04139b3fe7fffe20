"""The table of spacings by heat: by hand, monotone, the same as the rating's own solution."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.engineering.rating import HeatPath, group_rating
from routescreen.engineering.spacing_heat import never_less_below_m, spacing_at_m, spacing_table_m

# A cable in a bore of 0.34 m, 70 degC: T1 0.3681, T3 0.0499, grout 0.0784, pipe 0.0798, ring 0.0309 K m/W.
PATH = HeatPath(
    conductor_ohm_per_m=8.6148e-6,
    inside_K_m_per_W=0.6071,
    outer_diameter_m=0.34,
    conductor_degC=70.0,
    ground_degC=math.nan,
    rho_K_m_per_W=math.nan,
    drying_rise_K=15.0,
)
DEPTHS = np.array([1.5, 2.0, 3.0, 3.42, 5.0, 8.0, 12.0, 20.0])


def table(
    current_A=1905.0, depth_m=DEPTHS, rho=(0.75,), ratio=(1.0,), ground_degC=None, path=PATH, most_m=50.0
):
    ground = np.full(len(depth_m), 12.0) if ground_degC is None else ground_degC
    return spacing_table_m(
        current_A,
        depth_m,
        rho_K_m_per_W=rho,
        drying_ratio=ratio,
        ground_degC=ground,
        n_cables=4,
        path=path,
        most_m=most_m,
    )


def test_two_zones_by_hand():
    """psi = theta below 15 K and 15 + (theta - 15)/v above obeys one and the same equation everywhere.

    Wall of an inner bore: theta = 15 + v (W rho/(2 pi) logs - 15). At 70 degC, ground 12.86 degC and W 31.264
    W/m: 57.14 - 18.98 = 38.16 K; psi 15 + 23.16/3.3333 = 21.95 K; logs 5.881, own 3.695, left 2.186: 3.07 m.
    """
    (needed,) = table(depth_m=[3.42], ratio=(10.0 / 3.0,), ground_degC=[12.86])[0]
    assert needed == pytest.approx(3.07, abs=0.01)


@settings(deadline=None, max_examples=40)  # four tables an example, each solved by bisection
@given(
    current_A=st.floats(1500.0, 2500.0),
    more=st.floats(1.0, 1.3),
    rho=st.floats(0.5, 1.5),
    ratio=st.floats(1.0, 3.5),
)
def test_more_current_worse_ground_or_drier_ground_never_asks_for_less(current_A, more, rho, ratio):
    base = table(current_A, rho=(rho,), ratio=(ratio,))
    slack_m = 1e-9
    assert np.all(table(current_A * more, rho=(rho,), ratio=(ratio,)) >= base - slack_m)
    assert np.all(table(current_A, rho=(rho * more,), ratio=(ratio,)) >= base - slack_m)
    assert np.all(table(current_A, rho=(rho,), ratio=(ratio * more,)) >= base - slack_m)


@settings(deadline=None, max_examples=40)
@given(current_A=st.floats(1500.0, 2500.0), rho=st.floats(0.5, 1.5), ratio=st.floats(1.0, 3.5))
def test_in_ground_of_one_temperature_deeper_never_asks_for_less(current_A, rho, ratio):
    assert np.all(np.diff(table(current_A, rho=(rho,), ratio=(ratio,))[0].clip(max=1e6)) >= -1e-9)


def test_in_ground_that_cools_downwards_deeper_may_ask_for_less_and_the_bound_doesnt():
    cooling = np.where(DEPTHS < 2.0, 35.0, 12.0)  # steeper than any ground, to show it
    raw = table(ground_degC=cooling)[0]
    assert np.any(np.diff(raw) < 0.0)
    bound = never_less_below_m(raw)
    assert np.all(np.diff(bound) >= 0.0)
    assert np.all(bound >= raw)


@pytest.mark.parametrize("ratio", [pytest.param(1.0, id="moist"), pytest.param(10.0 / 3.0, id="drying")])
def test_at_the_spacing_the_rating_is_the_current(ratio):
    needed = table(ratio=(ratio,))[0]
    is_solved = np.isfinite(needed) & (needed > 0.34 + 1e-9)
    assert np.any(is_solved)
    path = replace(PATH, ground_degC=12.0, rho_K_m_per_W=0.75, drying_ratio=ratio)
    places = np.array([-1.5, -0.5, 0.5, 1.5])
    for factor, is_enough in ((1.0001, True), (0.999, False)):
        offsets = factor * needed[is_solved, np.newaxis] * places
        depths = np.broadcast_to(DEPTHS[is_solved, np.newaxis], offsets.shape)
        found = group_rating(depths, offsets, path).rating_A
        assert np.all((found >= 1905.0) == is_enough)


def test_kinds_of_ground_stand_in_rows_and_too_much_is_infinite():
    found = table(rho=(0.75, 5.0), ratio=(1.0, 1.0))
    assert found.shape == (2, len(DEPTHS))
    assert np.array_equal(found[0], table()[0])
    assert np.all(np.isinf(found[1]))


def test_reading_between_depths_is_on_the_safe_side():
    bound = never_less_below_m(table(ratio=(10.0 / 3.0,))[0])
    between = np.array([1.7, 2.9, 4.0, 7.0])
    exact = table(depth_m=between, ratio=(10.0 / 3.0,))[0]
    assert np.all(spacing_at_m(between, DEPTHS, bound) >= exact)


@pytest.mark.parametrize("depth_m", [[3.0, 2.0], [2.0, 2.0], [0.1, 2.0]])
def test_depths_must_grow_below_the_radius(depth_m):
    with pytest.raises(ValueError, match="growing depths"):
        table(depth_m=depth_m)
