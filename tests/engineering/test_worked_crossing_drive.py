"""An own worked crossing, number by number: the drive under a railway and a river.

Invented data; each figure was worked out by hand twice, so this checks steps and signs. It is nobody's
publication. Figures are held to 0.5 %, or to half a unit of their last digit where that is more.
"""

import math

import numpy as np
import pytest

from routescreen.drives.profile import hull_slope, start_level_m
from routescreen.engineering.cavity import reduced_strength, strain_bound_m, yield_share
from routescreen.engineering.collapse import collapse_pressure_kPa, outside_pressure_kPa, pull_reduction
from routescreen.engineering.ground_stress import active_coefficient, at_rest_coefficient, ground_stress
from routescreen.engineering.pipe import mass_kg_per_m, safe_pull_kN, wall_m
from routescreen.engineering.pressure_window import (
    WindowFactors,
    WindowGround,
    column_kPa,
    face_peak_kPa,
    pressure_window,
)
from routescreen.engineering.pull_in import annulus_drag_kN
from routescreen.engineering.pull_stages import most_pull, pull_stages
from routescreen.engineering.settlement import (
    bores_settlement_mm,
    lost_area_m2,
    sand_trough_width_m,
    settlement_mm,
)
from routescreen.engineering.slurry import spoil_m3
from routescreen.engineering.spacing import bore_spacing_m, deviation_m, deviation_spacing_m
from routescreen.engineering.thrust import face_pressure_kPa, friction_kN_per_m, thrust_kN
from routescreen.engineering.uplift import (
    flotation,
    grout_m3,
    net_uplift_kN_per_m,
    scoured_cover_m,
)

GROUND_M, RAIL_M, WATER_M, SCOUR_M = 32.0, 33.0, 30.0, 1.0
BED_M = {300.0: 27.0, 380.0: 27.4}
LENGTH_M, BORE_M, OUTER_M = 620.0, 0.56, 0.50
SAND = {"gamma_kN_per_m3": 18.0, "gamma_sat_kN_per_m3": 20.0, "phi_deg": 33.0}
SLURRY, GROUT, INJECTION = 11.0, 14.0, 50.0
CROWN_START_M, GRADE = 22.0, 0.005
RUNS_M, RUN_TAU_KPA = np.array([300.0, 80.0, 240.0]), np.array([1.0, 2.0, 1.0])
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
RIVER = WindowGround(
    water_depth_m=27.0 - WATER_M,
    cohesion_kPa=0.0,
    shear_modulus_kPa=15_000.0,
    undrained_kPa=np.nan,
    depth_share=0.5,  # the cautious one
    strain_frac=0.05,
    **SAND,
)


def near(printed: str):
    """A figure as it was written down."""
    digits = len(printed.partition(".")[2])
    return pytest.approx(float(printed), rel=0.005, abs=0.5 * 10.0**-digits)


def crown_m(x_m):
    return CROWN_START_M + GRADE * np.asarray(x_m)


# 1. Profile


def test_profile():
    x = np.array([0.0, 120.0, 134.0, 300.0, 380.0, LENGTH_M])
    bed = (BED_M[300.0] - SCOUR_M - 2.5, BED_M[380.0] - SCOUR_M - 2.5)
    ceiling = np.array([GROUND_M - 2.0, RAIL_M - 3.0, RAIL_M - 3.0, *bed, GROUND_M - 2.0])
    assert ceiling == pytest.approx([30.0, 30.0, 30.0, 23.5, 23.9, 30.0])
    slope = hull_slope(x, ceiling, 6, 310.0, np.empty(6, dtype=np.int64))
    assert slope == pytest.approx(GRADE)
    start = start_level_m(x, ceiling, 6, slope)
    crowns = start + slope * np.array([0.0, 120.0, 300.0, 380.0, 620.0])
    assert crowns == pytest.approx([22.00, 22.60, 23.50, 23.90, 25.10])
    beds = np.array([GROUND_M, RAIL_M, BED_M[300.0], BED_M[380.0], GROUND_M])
    assert beds - crowns == pytest.approx([10.0, 10.4, 3.5, 3.5, 6.9])
    assert math.hypot(LENGTH_M, slope * LENGTH_M) == near("620.008")


@pytest.mark.parametrize("x_m", [300.0, 380.0])
def test_cover_under_the_scoured_bed(x_m):
    cover = scoured_cover_m(BED_M[x_m], SCOUR_M, crown_m(x_m))
    assert cover == pytest.approx(2.5)
    # empty: 0.9 (0.608 + 10.19 x 2.5 x 0.5) = 12.011 holds 9.81 x 0.19635 = 1.926
    held = flotation(cover, OUTER_M, 0.608, 10.19, water_kN_per_m3=9.81, weight_factor=0.9, uplift_factor=1.0)
    assert held.utilisation == pytest.approx(1.926 / 12.011, rel=1e-3)


# 2. Window at x 300, today's bed


def test_stress_at_crown_and_axis():
    layers = (27.0 - WATER_M, 18.0, 20.0)
    crown, axis = ground_stress(3.5, *layers), ground_stress(3.78, *layers)
    assert (crown.water_kPa, crown.effective_kPa, crown.total_kPa) == (
        near("63.77"),
        near("35.67"),
        near("99.43"),
    )
    assert (axis.water_kPa, axis.effective_kPa) == (near("66.51"), near("38.52"))
    assert active_coefficient(33.0) == near("0.2948")


def test_window_under_the_river():
    window = pressure_window(3.5, BORE_M, RIVER, FACTORS)
    assert window.face_kPa == near("86.87")
    assert window.face_kPa - SLURRY * 0.28 == near("83.79")
    peak = face_peak_kPa(window.face_kPa, 10.0, SLURRY, BORE_M)
    assert peak == near("103.8")
    assert window.amber_kPa == near("89.5")
    assert window.amber_utilisation(peak) == near("1.16")
    assert window.cavity_kPa == near("254.3")
    assert window.cavity_kPa - window.crown.water_kPa == near("190.6")
    assert window.prism_kPa == near("159.4")
    assert window.prism_kPa - window.crown.water_kPa == near("95.6")
    assert window.limit_kPa == window.prism_kPa
    assert window.utilisation(peak) == near("0.42")


def test_steps_of_the_cavity_bound():
    strength = reduced_strength(
        33.0, 0.0, 15_000.0, tan_phi_factor=1.1, cohesion_factor=1.4, modulus_factor=1.25
    )
    sine = np.sin(strength.phi_rad)
    assert np.degrees(strength.phi_rad) == near("30.556")
    assert (sine, strength.shear_modulus_kPa) == (near("0.5084"), near("12000"))
    share = yield_share(35.67, strength)
    assert ((0.28 / 1.89) ** 2, share) == (near("0.02195"), near("0.00151"))
    assert -sine / (1.0 + sine) == near("-0.3370")
    assert ((0.28 / 1.89) ** 2 + share) ** (-sine / (1.0 + sine)) == near("3.542")
    assert 35.67 * (1.0 + sine) == near("53.80")
    assert strain_bound_m(0.28, 35.67, strength, 0.05) == near("2.278")
    assert (at_rest_coefficient(33.0), np.tan(strength.phi_rad), 3.5 / BORE_M) == (
        near("0.4554"),
        near("0.5903"),
        near("6.25"),
    )


def test_bolder_plastic_radius_is_held_by_the_strain():
    bolder = pressure_window(3.5, BORE_M, _with_share(2.0 / 3.0), FACTORS)
    assert bolder.cavity_kPa == near("277.8")  # 2/3 of 3.78 is 2.52, the strain bound 2.278


def _with_share(share: float) -> WindowGround:
    values = {name: getattr(RIVER, name) for name in RIVER.__slots__}
    return WindowGround(**{**values, "depth_share": share})


# 3. Grout and mud there


def test_grout_breaks_out_and_mud_at_rest_is_amber():
    window = pressure_window(3.5, BORE_M, RIVER, FACTORS)
    grout = column_kPa(GROUT, GROUND_M, crown_m(300.0), INJECTION)
    assert grout == near("169.0")
    assert window.utilisation(grout) == near("1.10")
    mud = column_kPa(SLURRY, GROUND_M, crown_m(300.0))
    assert mud == near("93.5")
    assert mud > window.amber_kPa
    assert window.amber_kPa == near("89.5")


# 4. Thrust


def test_thrust():
    axis_m = GROUND_M - (CROWN_START_M - BORE_M / 2.0)
    stress = ground_stress(axis_m, GROUND_M - WATER_M, 18.0, 20.0)
    assert (stress.water_kPa, stress.effective_kPa) == (near("81.23"), near("120.4"))
    face = face_pressure_kPa(axis_m, 2.0, 18.0, 20.0, 33.0, 1.05, 1.5, 10.0)
    assert (face - 10.0, face) == (near("138.5"), near("148.5"))
    face_kN = thrust_kN(face, BORE_M, 0.0, 0.0)
    assert face_kN == near("36.6")
    friction = float(np.sum(RUNS_M * friction_kN_per_m.py_func(RUN_TAU_KPA, OUTER_M)))
    weight = 1.9 * GRADE * LENGTH_M
    assert (friction, 1.5 * friction, weight) == (near("1099.6"), near("1649.3"), near("5.9"))
    thrust, restart = (
        thrust_kN(face, BORE_M, friction, weight),
        thrust_kN(face, BORE_M, 1.5 * friction, weight),
    )
    assert (thrust, restart) == (near("1142"), near("1692"))
    capacity = 3433.5 / 1.25
    assert capacity == near("2747")
    assert (thrust / capacity, restart / capacity) == (near("0.42"), near("0.62"))


# 7. Pull-in


PIPE_KN_PER_M = float(mass_kg_per_m(OUTER_M, 11.0, 955.0)) * 9.81e-3


def _friction_in_grout(ballast_kN_per_m3: float) -> float:
    inside = OUTER_M * (1.0 - 2.0 / 11.0)
    uplift = net_uplift_kN_per_m(
        OUTER_M, GROUT, PIPE_KN_PER_M, inside_diameter_m=inside, ballast_kN_per_m3=ballast_kN_per_m3
    )
    return 0.3 * abs(float(uplift))


def _pulling(ballast_kN_per_m3: float) -> dict[str, object]:
    return {
        "run_m": RUNS_M,
        "run_friction_kN_per_m": np.pi * OUTER_M * RUN_TAU_KPA,
        "in_bore_kN_per_m": _friction_in_grout(ballast_kN_per_m3),
        "outside_kN_per_m": 0.1 * PIPE_KN_PER_M,
        "drag_kN": annulus_drag_kN(70.0, BORE_M, OUTER_M),
    }


def test_weights_of_the_pipe():
    assert 1000.0 * wall_m(OUTER_M, 11.0) == near("45.45")
    assert near("0.608") == PIPE_KN_PER_M
    assert net_uplift_kN_per_m(OUTER_M, GROUT, 0.0) == near("2.749")
    assert _friction_in_grout(0.0) / 0.3 == near("2.141")
    assert _friction_in_grout(9.81) / 0.3 == near("0.851")
    assert annulus_drag_kN(70.0, BORE_M, OUTER_M) == near("1.75")


def test_pulls_by_stage():
    stages = pull_stages(np.array([0.0, 310.0, 620.0]), **_pulling(9.81))
    assert list(stages.pipe_kN) == [near("39.5"), near("99.8"), near("160.1")]
    assert list(stages.string_kN) == [near("1099.6"), near("502.7"), near("0")]
    assert list(stages.rig_kN) == [near("1139"), near("602"), near("160")]
    most = most_pull(**_pulling(9.81))
    assert most.pipe_kN[0] == near("160.1")
    assert most.rig_kN[1] == near("1139")


def test_pipe_bears_the_pull_and_the_grout():
    safe = float(safe_pull_kN(OUTER_M, 11.0, 7.58))
    ballasted = float(most_pull(**_pulling(9.81)).pipe_kN[0])
    empty = float(most_pull(**_pulling(0.0)).pipe_kN[0])
    assert (safe, empty) == (near("492.0"), near("399.9"))
    assert (ballasted / safe, empty / safe) == (near("0.33"), near("0.81"))
    collapse = collapse_pressure_kPa(350.0, 11.0, poisson=0.45, ovality_factor=0.62)
    assert (collapse, collapse / 2.0) == (near("544"), near("272"))
    head = GROUND_M - (CROWN_START_M - BORE_M / 2.0) + OUTER_M / 2.0
    assert head == near("10.53")
    outside = outside_pressure_kPa(GROUT, head, injection_kPa=INJECTION)
    assert outside == near("197.4")
    assert outside / (collapse / 2.0) == near("0.73")
    assert outside / (collapse / 2.0 * pull_reduction(empty, safe)) == near("0.99")
    inside = outside_pressure_kPa(
        GROUT, head, injection_kPa=INJECTION, inside_kN_per_m3=9.81, inside_head_m=head
    )
    assert inside / (collapse / 2.0) == near("0.35")


# 8. Settlement at the rail


def test_settlement_at_the_rail():
    depth = RAIL_M - (crown_m(127.0) - BORE_M / 2.0)
    width = sand_trough_width_m(depth)
    area = lost_area_m2(BORE_M, OUTER_M, 0.0)
    assert (depth, width, area) == (near("10.645"), near("2.861"), near("0.04995"))
    assert settlement_mm(0.0, area, width) == near("6.97")
    bores = np.array([-9.0, -3.0, 3.0, 9.0])
    four = bores_settlement_mm(np.array([0.0, 3.0, -3.0, 9.0, -9.0]), bores, area, width)
    assert list(four) == [near("8.14"), near("8.51"), near("8.51"), near("7.74"), near("7.74")]
    grouted = bores_settlement_mm(bores, bores, lost_area_m2(BORE_M, OUTER_M, 0.9), width)
    assert np.max(grouted) == near("0.85")


# 10. Spacing


def test_spacing():
    deviation = {
        "pipe_diameter_m": OUTER_M,
        "bore_diameter_m": BORE_M,
        "deviation_frac": 0.001,
        "length_m": LENGTH_M,
    }
    assert deviation_m(LENGTH_M, 0.001) == near("0.62")
    assert deviation_spacing_m(**deviation) == near("2.30")
    needed = bore_spacing_m(thermal_m=5.40, least_m=0.0, diameters=3.0, **deviation)
    assert needed == near("5.40")
    assert needed <= 6.0


# Volumes of the same drive


def test_spoil_and_grout():
    assert 4.0 * grout_m3(BORE_M, OUTER_M, LENGTH_M, 0.25) == near("154.8")
    assert grout_m3(BORE_M, OUTER_M, LENGTH_M, 0.0) == near("30.97")
    assert spoil_m3(BORE_M, LENGTH_M, 4) == near("610.8")
    assert spoil_m3(BORE_M, LENGTH_M, 4, 1.3) == near("794")
