"""Slopes that stand: by hand, at the limits, by law."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.engineering.dig_slope import standing_height_m, standing_slope_deg


def test_an_upright_cut_without_friction_stands_to_four_c_over_gamma() -> None:
    assert standing_height_m(90.0, 0.0, 20.0, 16.0) == pytest.approx(5.0)


def test_an_upright_cut_with_friction_by_hand() -> None:
    """4 c/gamma tan(45 + phi/2), Rankine's: 4 x 10/20 tan 60 = 3.464 m."""
    assert standing_height_m(90.0, 30.0, 10.0, 20.0) == pytest.approx(2.0 * math.sqrt(3.0))


def test_sixty_degrees_in_stiff_clay_by_hand() -> None:
    """phi = atan(tan 25/1.25) = 20.46, c = 9.6: 38.4/19.5 x 0.86603 x 0.93694/(1 - 0.77115)."""
    phi_deg = math.degrees(math.atan(math.tan(math.radians(25.0)) / 1.25))
    assert standing_height_m(60.0, phi_deg, 9.6, 19.5) == pytest.approx(6.98, abs=0.01)


def test_sand_stands_at_its_angle_to_any_height_and_steeper_to_none() -> None:
    heights = standing_height_m([20.0, 30.0, 31.0], 30.0, 0.0, 18.0)
    assert heights.tolist() == [np.inf, np.inf, 0.0]
    assert standing_slope_deg([1.0, 20.0], 30.0, 0.0, 18.0).tolist() == pytest.approx([30.0, 30.0])


@settings(deadline=None)  # 60 halvings: slow on a busy machine
@given(
    height=st.floats(0.5, 20.0).map(lambda v: round(v, 3)),
    phi=st.floats(5.0, 40.0).map(lambda v: round(v, 2)),
    cohesion=st.floats(0.5, 60.0).map(lambda v: round(v, 2)),
)
def test_the_steepest_slope_just_stands(height: float, phi: float, cohesion: float) -> None:
    slope = float(standing_slope_deg(height, phi, cohesion, 19.0))
    assert phi <= slope <= 90.0
    assert standing_height_m(slope, phi, cohesion, 19.0) >= height * (1.0 - 1e-9)
    if slope < 89.9:
        assert standing_height_m(slope + 0.05, phi, cohesion, 19.0) < height
    deeper = float(standing_slope_deg(1.5 * height, phi, cohesion, 19.0))
    assert deeper <= slope + 1e-9
