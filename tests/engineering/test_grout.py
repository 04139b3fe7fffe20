"""Grout in one go or in stages: by hand, by law; the compiled limit against the window's arrays."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.grout_head import grout_head, least_stages
from routescreen.engineering.grout_limit import (
    CrownGround,
    LimitFactors,
    crown_effective_kPa,
    crown_limit_kPa,
    crown_water_kPa,
)
from routescreen.engineering.pressure_window import WindowFactors, WindowGround, pressure_window

CROWN_M, LEAST_KPA, LIMIT_KPA = [22.0, 23.5], [60.0, 74.0], [300.0, 159.4]


def head(planned_kPa: float, wished_kPa: object = math.inf, limit_kPa: object = LIMIT_KPA):
    wished = np.broadcast_to(wished_kPa, len(CROWN_M))
    return grout_head(CROWN_M, LEAST_KPA, limit_kPa, wished, grout_kN_per_m3=14.0, planned_kPa=planned_kPa)


@pytest.mark.parametrize(
    ("planned", "wished", "taken"),
    [
        pytest.param(100.0, math.inf, 100.0, id="planned serves"),
        pytest.param(50.0, math.inf, 74.0, id="raised to hold the water out"),
        pytest.param(200.0, math.inf, (74.0 + 159.4) / 2.0, id="middle of what is allowed"),
        pytest.param(100.0, 90.0, 100.0, id="at most 90 - 21 wished for: what is allowed counts"),
        pytest.param(100.0, [95.0 + 21.0, 90.0], (74.0 + 90.0) / 2.0, id="middle of what is wished for"),
    ],
)
def test_pressure_at_the_highest_crown_by_hand(planned: float, wished: object, taken: float) -> None:
    """The crown 1.5 m lower bears 21 kPa more: at least max(60 - 21, 74), at most min(300 - 21, 159.4)."""
    found = head(planned, wished)
    assert (found.top_m, found.least_kPa, found.most_kPa) == pytest.approx((23.5, 74.0, 159.4))
    assert found.taken_kPa == pytest.approx(taken)


def test_where_none_serves_the_least_is_taken() -> None:
    """At the lower crown 90 - 21 = 69 kPa at most."""
    found = head(50.0, limit_kPa=[90.0, 159.4])
    assert not found.is_open
    assert (found.least_kPa, found.most_kPa, found.taken_kPa) == pytest.approx((74.0, 69.0, 74.0))


def test_where_a_point_is_not_evaluated_none_is_open() -> None:
    assert not head(50.0, limit_kPa=[300.0, np.nan]).is_open
    assert least_stages(CROWN_M, LEAST_KPA, [300.0, np.nan], grout_kN_per_m3=14.0) == 0


def test_stages_by_hand() -> None:
    """10 m down and up again: 14 kN/m3 press 140 kPa more below, 100 kPa more are borne."""
    crown, least, limit = [30.0, 20.0, 30.0], [10.0, 10.0, 10.0], [50.0, 110.0, 50.0]
    assert least_stages(crown, least, limit, grout_kN_per_m3=14.0) == 3
    assert least_stages(crown, least, limit, grout_kN_per_m3=9.0) == 1
    assert least_stages(crown, least, [50.0, 9.0, 50.0], grout_kN_per_m3=9.0) == 0


points = st.lists(
    st.tuples(st.floats(0.0, 20.0), st.floats(0.0, 100.0), st.floats(0.0, 60.0)), min_size=1, max_size=7
)


@given(points=points, weight=st.floats(5.0, 20.0))
def test_stages_are_the_fewest_of_all_partings(points, weight) -> None:
    """Against all ways to part the points; one stage where, and only where, one pressure serves."""
    crown, least, room = (np.array(v) for v in zip(*points, strict=True))
    limit = least + room + 1e-6

    def is_open(part: slice) -> bool:
        return bool(np.max(least[part] + weight * crown[part]) <= np.min(limit[part] + weight * crown[part]))

    fewest = [0, *[math.inf] * len(crown)]
    for end in range(1, len(crown) + 1):
        fewest[end] = min(fewest[start] + 1 for start in range(end) if is_open(slice(start, end)))
    found = least_stages(crown, least, limit, grout_kN_per_m3=weight)
    assert found == fewest[-1]
    one = grout_head(crown, least, limit, math.inf, grout_kN_per_m3=weight, planned_kPa=50.0)
    if abs(one.most_kPa - one.least_kPa) > 1e-9:
        assert one.is_open == (found == 1)
    if one.is_open:
        pressure = one.taken_kPa + weight * (one.top_m - crown)
        assert np.all((pressure >= least - 1e-9) & (pressure <= limit + 1e-9))


# The compiled limit

FACTORS = WindowFactors(1.05, 1.5, 10.0, 10.0, 1.1, 1.4, 1.25, 0.9)
LIMITS = LimitFactors(tan_phi=1.1, cohesion=1.4, modulus=1.25, strain_frac=0.05)


def test_limit_under_a_river_by_hand() -> None:
    """3.5 m of sand under 3.0 m of water: 63.77 + 35.67 (1 + 0.4554 x 0.5903 x 6.25) = 159.4 kPa."""
    ground = CrownGround(3.5, -3.0, 18.0, 20.0, 33.0, 0.0, 15_000.0, math.nan, 0.5)
    assert crown_water_kPa(ground) == pytest.approx(63.77, abs=0.01)
    assert crown_effective_kPa(ground) == pytest.approx(35.67, abs=0.01)
    assert crown_limit_kPa(ground, 0.56, LIMITS) == pytest.approx(159.4, abs=0.1)


def rounded(least: float, most: float) -> st.SearchStrategy[float]:
    return st.floats(least, most).map(lambda value: round(value, 3))


@given(
    cover=rounded(-1.0, 30.0),
    water=rounded(-10.0, 30.0),
    phi=rounded(0.0, 45.0),
    cohesion=rounded(0.0, 200.0),
    modulus=rounded(100.0, 1e6),
    undrained=st.one_of(st.just(math.nan), rounded(0.0, 300.0)),
    share=st.sampled_from([0.5, 0.6667]),
    diameter=rounded(0.1, 3.0),
)
def test_limit_is_that_of_the_window(
    cover, water, phi, cohesion, modulus, undrained, share, diameter
) -> None:
    """Compiled for the search and in arrays for the audit: one value."""
    one = CrownGround(cover, water, 17.0, 20.0, phi, cohesion, modulus, undrained, share)
    ground = WindowGround(water, 17.0, 20.0, phi, cohesion, modulus, undrained, share, 0.05)
    window = pressure_window(cover, diameter, ground, FACTORS)
    assert crown_water_kPa(one) == pytest.approx(float(window.crown.water_kPa))
    assert crown_effective_kPa(one) == pytest.approx(float(window.crown.effective_kPa))
    expected = float(window.limit_kPa)
    assert crown_limit_kPa(one, diameter, LIMITS) == pytest.approx(expected, rel=1e-9, nan_ok=True)
    # the search looks no further where the weight alone is enough
    assert not expected < float(window.crown.total_kPa) - 1e-9
