"""How deep cables may lie: against the rating itself, the spacing that it asks for, and the limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from routescreen.engineering.rated_depth import rated_depth_m
from routescreen.engineering.rating import HeatPath, group_rating
from routescreen.engineering.rating_solved import spacing_needed_m

PATH = HeatPath(
    conductor_ohm_per_m=8.6148e-6,
    inside_K_m_per_W=0.7,
    outer_diameter_m=0.56,
    conductor_degC=70.0,
    ground_degC=11.0,
    rho_K_m_per_W=np.array([[0.8], [1.0], [2.0]]),
)
OFFSETS = 6.0 * (np.arange(4) - 1.5)


def _depth_m(current_A: float, *, least_m: float = 2.0, path: HeatPath = PATH, **more: float) -> np.ndarray:
    return rated_depth_m(current_A, OFFSETS, lambda _: path, least_m=least_m, most_m=40.0, **more)


def test_single_cable_by_hand() -> None:
    # T = 59 / (I^2 R'), less 0.7 inside: rho / (2 pi) ln(4 L / D) is the rest for a deep axis
    current_A, rho = 2300.0, 1.0
    ground = 59.0 / (current_A**2 * 8.6148e-6) - 0.7
    u = np.exp(ground * 2.0 * np.pi / rho)
    depth_m = 0.56 / 4.0 * (u + 1.0 / u)
    path = replace(PATH, rho_K_m_per_W=np.array([[rho]]))
    found = rated_depth_m(current_A, [0.0], lambda _: path, least_m=0.3, most_m=40.0)
    assert found == pytest.approx([depth_m], abs=1.1e-3)


@pytest.mark.parametrize("current_A", [1500.0, 1905.0])
def test_carried_there_and_not_a_little_deeper(current_A: float) -> None:
    depth = _depth_m(current_A)
    inside = (depth > 2.0) & (depth < 40.0)
    assert inside.any()

    def rating_A(depth_m: np.ndarray) -> np.ndarray:
        return group_rating(np.repeat(depth_m[:, None], 4, axis=1), OFFSETS, PATH).rating_A

    assert np.all(rating_A(depth)[inside] >= current_A)
    assert np.all(rating_A(depth + 2e-3)[inside] < current_A)


def test_the_spacing_needed_at_that_depth_is_the_spacing_it_lies_at() -> None:
    depth = _depth_m(1905.0)[:2]
    path = replace(PATH, rho_K_m_per_W=PATH.rho_K_m_per_W[:2])
    found = spacing_needed_m(1905.0, depth, 4, path, least_m=0.6, most_m=30.0)
    assert found == pytest.approx([6.0, 6.0], abs=2e-3)


def test_worse_ground_and_more_current_lie_less_deep() -> None:
    depth = _depth_m(1800.0)
    assert depth[0] > depth[1] > depth[2]
    assert np.all(_depth_m(1900.0) <= depth)


def test_limits_and_what_is_not_evaluated() -> None:
    assert _depth_m(100.0).tolist() == [40.0, 40.0, 40.0]
    assert _depth_m(9000.0).tolist() == [0.0, 0.0, 0.0]
    unknown = replace(PATH, rho_K_m_per_W=np.array([[np.nan], [0.8]]))
    found = _depth_m(1500.0, path=unknown)
    assert np.isnan(found[0])
    assert found[1] > 2.0
    with pytest.raises(ValueError, match="depths"):
        rated_depth_m(1.0, OFFSETS, lambda _: PATH, least_m=3.0, most_m=2.0)
    with pytest.raises(ValueError, match="tolerance"):
        _depth_m(1.0, tolerance_m=0.0)


def test_what_fails_near_the_surface_is_not_made_good_below() -> None:
    def warm_above(axis_m: np.ndarray) -> HeatPath:
        return replace(PATH, ground_degC=np.where(axis_m < 3.0, 60.0, 11.0))

    found = rated_depth_m(1500.0, OFFSETS, warm_above, least_m=2.0, most_m=40.0)
    assert found.tolist() == [0.0, 0.0, 0.0]
