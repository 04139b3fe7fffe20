"""Least pressure that holds a face at rest: by hand, limits, and a published formula."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.face_rest import resting_face_kPa, silo_stress_kPa
from routescreen.engineering.pressure_window import WindowFactors, WindowGround, pressure_window

FACTORS = WindowFactors(1.05, 1.5, 10.0, 10.0, 1.1, 1.4, 1.25, 0.9)
PLAIN = WindowFactors(1.0, 1.0, 10.0, 10.0, 1.1, 1.4, 1.25, 0.9)


def sand(
    phi_deg: float = 35.0, water_depth_m: float = 100.0, undrained_kPa: float = math.nan
) -> WindowGround:
    return WindowGround(
        water_depth_m=water_depth_m,
        gamma_kN_per_m3=18.0,
        gamma_sat_kN_per_m3=20.0,
        phi_deg=phi_deg,
        cohesion_kPa=0.0,
        shear_modulus_kPa=10_000.0,
        undrained_kPa=undrained_kPa,
        depth_share=2.0 / 3.0,
        strain_frac=0.05,
    )


def test_by_hand_in_dry_sand() -> None:
    """D 0.56 m, 10 m of cover, 30 deg: l = 0.56 tan 30 = 0.3233, r = 0.56 x 0.3233/1.7666 = 0.10249 m.

    K0 tan phi = 0.5 x 0.57735; x = 28.167: silo 180/28.167 = 6.390 kPa; 18 x 0.28 = 5.04 kPa of wedge; Ka 1/3
    """
    assert silo_stress_kPa(180.0, 10.0, 0.56, 30.0) == pytest.approx(6.390, abs=2e-3)
    assert resting_face_kPa(10.0, 0.56, sand(30.0), FACTORS) == pytest.approx(
        1.5 * (6.390 + 5.04) / 3.0, abs=2e-3
    )


def test_water_counts_whole_and_by_its_factor() -> None:
    """Water at the ground: 10.28 m of it at the axis; 10.19 kN/m3 of the soil left."""
    found = resting_face_kPa(10.0, 0.56, sand(30.0, 0.0), FACTORS)
    silo = (20.0 - 9.81) * 10.0 / 28.167
    assert found == pytest.approx(1.05 * 9.81 * 10.28 + 0.5 * (silo + 10.19 * 0.28), rel=1e-3)


def test_soft_ground_that_does_not_drain_must_not_flow() -> None:
    """Load less 6 cu/1.5: 18 x 10.28 - 4 x 20 kPa; stiff ground asks for the wedge alone."""
    soft = resting_face_kPa(10.0, 0.56, sand(20.0, 100.0, 20.0), FACTORS)
    assert soft == pytest.approx(18.0 * 10.28 - 80.0)
    stiff = resting_face_kPa(10.0, 0.56, sand(20.0, 100.0, 200.0), FACTORS)
    assert stiff == pytest.approx(float(resting_face_kPa(10.0, 0.56, sand(20.0), FACTORS)))


@given(
    cover_m=st.floats(0.0, 40.0),
    diameter_m=st.floats(0.3, 4.0),
    phi_deg=st.floats(0.0, 45.0),
    water_m=st.floats(-5.0, 40.0),
)
def test_arching_never_asks_for_more_than_all_that_lies_above(
    cover_m: float, diameter_m: float, phi_deg: float, water_m: float
) -> None:
    ground = sand(phi_deg, water_m)
    whole = pressure_window(cover_m, diameter_m, ground, FACTORS).face_kPa
    held = resting_face_kPa(cover_m, diameter_m, ground, FACTORS)
    assert held <= whole * (1.0 + 1e-9) + 1e-9
    # without friction nothing arches
    bare = sand(0.0, water_m)
    least = pressure_window(cover_m, diameter_m, bare, FACTORS).face_kPa
    assert resting_face_kPa(cover_m, diameter_m, bare, FACTORS) == pytest.approx(float(least), rel=1e-5)


def test_deep_a_silo_bears_no_more_however_deep() -> None:
    deep = resting_face_kPa(np.array([10.0, 20.0, 40.0]), 0.56, sand(), PLAIN)
    assert np.ptp(deep) < 0.02 * deep[0]


@pytest.mark.parametrize("phi_deg", [25.0, 30.0, 35.0, 40.0])
def test_against_a_published_formula_for_dry_sand(phi_deg: float) -> None:
    """P. A. Vermeer, N. Ruse and T. Marcher, 2002 (from memory): gamma D (1/(9 tan phi) - 0.05).

    Fitted to finite elements for covers of more than a diameter or so: what fails. The wedge under a silo
    with K0 on its sides is cautious: above it, by no more than three times.
    """
    published = 18.0 * 0.56 * (1.0 / (9.0 * math.tan(math.radians(phi_deg))) - 0.05)
    assert published < resting_face_kPa(6.0, 0.56, sand(phi_deg), PLAIN) < 3.0 * published
