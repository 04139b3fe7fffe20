"""Cables in one bedding or each in its own: by hand, the better of both, and where neither may be taken."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.bedding_rating import bedded_rating
from routescreen.engineering.heat import backfill_log
from routescreen.engineering.rating import Bedding, HeatPath, group_rating

OHM, INSIDE, RISE_K = 8.6e-6, 0.6, 55.0
PATH = HeatPath(
    conductor_ohm_per_m=OHM,
    inside_K_m_per_W=INSIDE,
    outer_diameter_m=0.28,
    conductor_degC=70.0,
    ground_degC=15.0,
    rho_K_m_per_W=1.2,
    drying_ratio=2.0,
    drying_rise_K=15.0,
)
DEPTH = [1.5, 1.5]


def beddings(spacing_m: float, *, rho: float = 1.0) -> tuple[Bedding, Bedding]:
    return Bedding([0, 0], 1.5, spacing_m + 0.7, 0.7, rho), Bedding([0, 1], 1.5, 0.6, 0.7, rho)


def rated(spacing_m: float, *, rho: float = 1.0, path: HeatPath = PATH):
    together, apart = beddings(spacing_m, rho=rho)
    return bedded_rating(DEPTH, [0.0, spacing_m], path, together=together, apart=apart)


def test_each_in_its_own_bedding_by_hand() -> None:
    # 1 m apart: own ground ln(u + root(u2 - 1)), u = 3 / 0.28; the other ln(root(9 + 1) / 1)
    u = 3.0 / 0.28
    own, other = math.log(u + math.sqrt(u * u - 1.0)), 0.5 * math.log(10.0)
    # 0.6 x 0.7 m as a circle: ln r = 0.6/1.4 (4/pi - 0.6/0.7) ln(1 + 0.49/0.36) + ln 0.3
    r = math.exp(0.6 / 1.4 * (4.0 / math.pi - 0.6 / 0.7) * math.log(1.0 + 0.49 / 0.36) + math.log(0.3))
    left = math.log(1.5 / r + math.sqrt((1.5 / r) ** 2 - 1.0))
    found = rated(1.0)
    moist_rho, two_pi = 1.2, 2.0 * math.pi
    drying = math.sqrt(
        (RISE_K + 15.0)
        / (OHM * (INSIDE + 1.0 / two_pi * (own - left) + 2.0 * moist_rho / two_pi * (left + other)))
    )
    dried = math.sqrt(
        RISE_K / (OHM * (INSIDE + 1.0 / two_pi * (own - left) + 2.0 * moist_rho / two_pi * (left + other)))
    )
    assert found.drying_A == pytest.approx([drying, drying])
    assert found.dried_A == pytest.approx([dried, dried])
    assert found.rating_A == pytest.approx(drying)


@given(spacing_m=st.floats(0.6, 1.3), wet=st.floats(0.3, 2.0), ratio=st.floats(1.0, 4.0))
def test_never_less_than_in_one_bedding_and_moist_never_more(
    spacing_m: float, wet: float, ratio: float
) -> None:
    path = replace(PATH, rho_K_m_per_W=wet, drying_ratio=ratio)
    one = group_rating(DEPTH, [0.0, spacing_m], path, bedding=beddings(spacing_m)[0])
    found = rated(spacing_m, path=path)
    assert found.rating_A >= one.rating_A
    assert np.all(found.by_cable_A <= one.moist_A + 1e-9)


def test_where_dried_ground_is_better_than_the_bedding_one_circle_stands() -> None:
    path = replace(PATH, rho_K_m_per_W=0.4, drying_ratio=1.5, drying_rise_K=8.0)
    one = group_rating(DEPTH, [0.0, 0.6], path, bedding=beddings(0.6)[0])
    own = group_rating(DEPTH, [0.0, 0.6], path, bedding=beddings(0.6)[1])
    assert one.rating_A < own.rating_A < one.moist_A.min()
    assert rated(0.6, path=path).rating_A == one.rating_A


def test_bedding_too_wide_for_its_height_is_not_evaluated() -> None:
    assert np.isnan(backfill_log(1.5, 2.2, 0.7))
    assert np.isnan(rated(1.5).rating_A)
    assert rated(1.5).hottest == -1
