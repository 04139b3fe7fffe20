"""Three cases along a drive: by hand, the worst of them, and what isn't evaluated."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.pressure_cases import DriveFluids, case_pressures_kPa, governing_case
from routescreen.engineering.pressure_window import WindowFactors, WindowGround, pressure_window
from routescreen.engineering.window_search import vent_range

FACTORS = WindowFactors(
    water_factor=1.05,
    earth_factor=1.5,
    control_kPa=10.0,
    grout_margin_kPa=10.0,
    tan_phi_factor=1.1,
    cohesion_factor=1.4,
    modulus_factor=1.25,
    amber_share=0.9,
)
CROWN_M, BED_M, WATER_M = np.array([22.0, 23.5, 25.1]), np.array([32.0, 27.0, 32.0]), 30.0
FLUIDS = DriveFluids(
    slurry_kN_per_m3=11.0,
    grout_kN_per_m3=14.0,
    control_kPa=10.0,
    mud_level_m=32.0,
    vent_level_m=32.0,
    injection_kPa=50.0,
)


def window_along(scale=1.0):
    ground = WindowGround(
        water_depth_m=scale * (BED_M - WATER_M),
        gamma_kN_per_m3=18.0,
        gamma_sat_kN_per_m3=20.0,
        phi_deg=33.0,
        cohesion_kPa=0.0,
        shear_modulus_kPa=15_000.0 * scale,
        undrained_kPa=np.nan,
        depth_share=0.5,
        strain_frac=0.05,
    )
    return pressure_window(scale * (BED_M - CROWN_M), 0.56 * scale, ground, FACTORS)


def test_pressures_by_hand():
    window = window_along()
    face, mud, grout = case_pressures_kPa(window, CROWN_M, 0.56, FLUIDS)
    assert face == pytest.approx(window.face_kPa + 20.0 - 11.0 * 0.28)
    assert mud == pytest.approx([110.0, 93.5, 75.9])
    assert grout == pytest.approx([14.0 * 10.0 + 50.0, 14.0 * 8.5 + 50.0, 14.0 * 6.9 + 50.0])


def test_grout_under_the_river_governs_until_the_vent_comes_down():
    window = window_along()
    worst = governing_case(window.utilisation(case_pressures_kPa(window, CROWN_M, 0.56, FLUIDS)))
    assert (worst.point, worst.case) == (1, 2)
    assert worst.utilisation > 1.0
    levels = vent_range(CROWN_M, window.grout_least_kPa, window.limit_kPa, 14.0, 50.0)
    lowered = dataclasses.replace(FLUIDS, vent_level_m=levels.highest_m)
    used = window.utilisation(case_pressures_kPa(window, CROWN_M, 0.56, lowered))
    assert np.max(used[2]) == pytest.approx(1.0)
    assert levels.highest_m < 32.0


def test_worst_of_many_drives_by_hand():
    used = np.array([[[0.2, 0.9], [0.1, 0.1]], [[0.3, 0.1], [0.8, 0.7]], [[0.4, 0.1], [0.2, 1.5]]])
    worst = governing_case(used)
    assert worst.utilisation.tolist() == [0.9, 1.5]
    assert worst.point.tolist() == [1, 1]
    assert worst.case.tolist() == [0, 2]


def test_point_that_is_not_evaluated_leaves_the_drive_so_unless_another_fails():
    used = np.array([[[np.nan, 0.9], [np.nan, 1.1]]] * 3)
    worst = governing_case(used)
    assert np.isnan(worst.utilisation[0])
    assert (worst.point[0], worst.case[0]) == (-1, -1)
    assert worst.utilisation[1] == 1.1
    assert worst.point[1] == 1
    assert np.isnan(governing_case(np.full((3, 2), np.nan)).utilisation)


@given(k=st.floats(0.2, 5.0))
def test_pressures_grow_with_lengths(k):
    one = case_pressures_kPa(window_along(), CROWN_M, 0.56, FLUIDS)
    larger = DriveFluids(
        slurry_kN_per_m3=11.0,
        grout_kN_per_m3=14.0,
        control_kPa=10.0 * k,
        mud_level_m=32.0 * k,
        vent_level_m=32.0 * k,
        injection_kPa=50.0 * k,
    )
    scaled = case_pressures_kPa(window_along(k), k * CROWN_M, 0.56 * k, larger)
    assert scaled == pytest.approx(k * one)
    used = window_along(k).utilisation(scaled)
    assert governing_case(used).utilisation == pytest.approx(
        governing_case(window_along().utilisation(one)).utilisation
    )
