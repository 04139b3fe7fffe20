"""A line that crosses cables: the equation of conduction solved by differences, limits, laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import solve_banded

from routescreen.engineering.crossing_heat import crossing_rise_K, equalising_length_m
from routescreen.engineering.heat import image_log

depths = st.floats(0.3, 12.0)
angles = st.floats(0.0, 90.0)


def rise(depth_m, source_m, angle_deg=90.0, equalising_m=0.8, heat=60.0, rho=1.0):
    return crossing_rise_K(
        depth_m,
        source_depth_m=source_m,
        heat_W_per_m=heat,
        rho_K_m_per_W=rho,
        angle_deg=angle_deg,
        equalising_m=equalising_m,
    )


def test_copper_leads_as_much_heat_as_by_its_own_conductivity():
    # 2 500 mm2 of copper, 401 W/(K m) at 20 degC (from memory): root(401 x 2.5e-3 x 0.6866) = 0.830 m; the
    # law of Wiedemann, Franz and Lorenz gives 0.826 m of 7.2e-6 ohm/m
    assert equalising_length_m(7.2e-6, 0.6866) == pytest.approx(math.sqrt(401.0 * 2.5e-3 * 0.6866), rel=0.01)
    # 1 600 mm2 of aluminium, 1.86e-5 ohm/m, 237 W/(K m) (from memory)
    assert equalising_length_m(1.86e-5, 1.0) == pytest.approx(math.sqrt(237.0 * 1.6e-3), rel=0.02)


@pytest.mark.parametrize(
    ("depth_m", "source_m", "angle_deg"), [(3.0, 1.2, 90.0), (1.54, 1.0, 35.0), (6.0, 9.0, 60.0)]
)
def test_the_conductors_rise_solves_the_equation_of_conduction(depth_m, source_m, angle_deg):
    """l^2 u'' = u - theta on a grid of 1 cm, level at the crossing and 40 m away."""
    length, step = 0.83, 0.01
    z = np.arange(0.0, 40.0 + step / 2.0, step)
    aside = z * math.sin(math.radians(angle_deg))
    theta = (
        60.0
        / (4.0 * math.pi)
        * np.log(((depth_m + source_m) ** 2 + aside**2) / ((depth_m - source_m) ** 2 + aside**2))
    )
    stiff = (length / step) ** 2
    bands = np.zeros((3, len(z)))
    bands[0, 1:], bands[1], bands[2, :-1] = -stiff, 1.0 + 2.0 * stiff, -stiff
    bands[0, 1] = bands[2, -2] = -2.0 * stiff
    expected = solve_banded((1, 1), bands, theta)[0]
    found = float(rise(depth_m, source_m, angle_deg, length))
    assert found == pytest.approx(expected, rel=5e-3)
    assert found >= expected * (1.0 - 1e-4)


@given(depths, depths, angles)
def test_never_more_than_the_ground_at_the_crossing(depth_m, source_m, angle_deg):
    if abs(depth_m - source_m) < 0.05:
        return
    ground = 60.0 / (2.0 * math.pi) * image_log(depth_m, 0.0, source_m, 0.0)
    assert rise(depth_m, source_m, angle_deg) <= ground * (1.0 + 1e-9)
    assert rise(depth_m, source_m, 0.0) == pytest.approx(ground)
    assert rise(depth_m, source_m, angle_deg, 0.0) == pytest.approx(ground)


@given(depths, depths, angles, st.floats(0.0, 30.0), st.floats(0.0, 3.0))
def test_squarer_and_a_better_conductor_is_cooler(depth_m, source_m, angle_deg, more_deg, more_m):
    if abs(depth_m - source_m) < 0.05:
        return
    one = rise(depth_m, source_m, angle_deg)
    assert rise(depth_m, source_m, min(angle_deg + more_deg, 90.0)) <= one + 1e-9
    assert rise(depth_m, source_m, angle_deg, 0.8 + more_m) <= one + 1e-9


def test_at_one_depth_there_is_no_answer():
    assert np.isnan(rise([2.0, -1.0, 2.0], [2.0, 1.0, 0.0])).all()
