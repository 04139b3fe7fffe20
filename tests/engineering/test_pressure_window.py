"""The pressure window: by hand, at its limits, by law; vent and least cover."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.engineering.ground_stress import ground_stress
from routescreen.engineering.pressure_window import (
    WindowFactors,
    WindowGround,
    cavity_limit_kPa,
    column_kPa,
    face_peak_kPa,
    least_face_kPa,
    pressure_window,
    prism_pressure_kPa,
)
from routescreen.engineering.thrust import face_pressure_kPa
from routescreen.engineering.window_search import (
    WindowLoads,
    last_opening_m,
    least_cover_m,
    vent_range,
    window_room_kPa,
)

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
SAND = WindowGround(
    water_depth_m=2.0,
    gamma_kN_per_m3=18.0,
    gamma_sat_kN_per_m3=20.0,
    phi_deg=33.0,
    cohesion_kPa=0.0,
    shear_modulus_kPa=15_000.0,
    undrained_kPa=np.nan,
    depth_share=0.5,
    strain_frac=0.05,
)
CLAY = dataclasses.replace(SAND, phi_deg=22.0, cohesion_kPa=3.0, shear_modulus_kPa=3000.0, undrained_kPa=20.0)
LOADS = WindowLoads(slurry_kN_per_m3=11.0, mud_head_m=0.0)


def test_least_face_pressure_is_that_of_the_thrust():
    window = pressure_window(5.0, 0.56, SAND, FACTORS)
    expected = face_pressure_kPa(5.28, 2.0, 18.0, 20.0, 33.0, 1.05, 1.5, 0.0)
    assert window.face_kPa == pytest.approx(expected)
    assert least_face_kPa(ground_stress(5.28, 2.0, 18.0, 20.0), 33.0, FACTORS) == pytest.approx(expected)


def test_prism_by_hand():
    # 50 + 40 (1 + 0.5 x 0.5 x 4) = 130
    crown = dataclasses.replace(
        ground_stress(0.0, 0.0, 18.0, 20.0), water_kPa=np.array(50.0), effective_kPa=np.array(40.0)
    )
    assert prism_pressure_kPa(crown, 30.0, np.arctan(0.5), 2.0, 0.5) == pytest.approx(130.0)
    assert prism_pressure_kPa(crown, 30.0, np.arctan(0.5), -1.0, 0.5) == pytest.approx(90.0)


def test_undrained_ground_has_the_total_stress_cavity_alone():
    window = pressure_window(6.0, 0.56, CLAY, FACTORS)
    # sigma_v = 18 x 2 + 20 x 4 = 116; cu 20/1.4, G 3000/1.25, Rp = 6.28/2:
    # 116 + 14.286 (1 - ln(0.00795 + 0.00595))
    assert window.cavity_kPa == pytest.approx(116.0 + 14.2857 * (1.0 + 4.2756), abs=0.01)
    assert window.prism_kPa == np.inf
    assert window.limit_kPa == window.cavity_kPa
    both = pressure_window(6.0, 0.56, dataclasses.replace(CLAY, undrained_kPa=[20.0, np.nan]), FACTORS)
    assert both.cavity_kPa[0] == pytest.approx(window.cavity_kPa)
    assert both.prism_kPa[1] < np.inf


def test_strain_bound_holds_drained_ground_only():
    free = dataclasses.replace(SAND, strain_frac=np.inf, depth_share=2.0 / 3.0)
    held = dataclasses.replace(SAND, strain_frac=0.01, depth_share=2.0 / 3.0)
    crown = ground_stress(6.0, 2.0, 18.0, 20.0)
    assert cavity_limit_kPa(crown, 6.0, 0.56, held, FACTORS) < cavity_limit_kPa(
        crown, 6.0, 0.56, free, FACTORS
    )
    clay_free = dataclasses.replace(CLAY, strain_frac=np.inf)
    clay_held = dataclasses.replace(CLAY, strain_frac=0.01)
    assert cavity_limit_kPa(crown, 6.0, 0.56, clay_held, FACTORS) == pytest.approx(
        cavity_limit_kPa(crown, 6.0, 0.56, clay_free, FACTORS)
    )


def test_bore_at_the_bed_is_not_evaluated():
    window = pressure_window(0.0, 0.56, SAND, FACTORS)
    assert np.isnan(window.utilisation(10.0))
    assert np.isnan(window_room_kPa(0.0, 0.56, SAND, LOADS, FACTORS))


def test_pressures_by_hand():
    assert face_peak_kPa(86.87, 10.0, 11.0, 0.56) == pytest.approx(86.87 + 20.0 - 3.08)
    # 14 x (32 - 23.5) + 50; above the fluid nothing but what is injected
    assert column_kPa(14.0, 32.0, [23.5, 33.0], 50.0) == pytest.approx([169.0, 50.0])


@given(cover=st.floats(1.0, 20.0), water=st.floats(-5.0, 10.0), k=st.floats(0.2, 5.0))
def test_window_grows_with_lengths_and_strengths(cover, water, k):
    one = pressure_window(
        cover, 0.56, dataclasses.replace(SAND, water_depth_m=water, cohesion_kPa=2.0), FACTORS
    )
    larger = dataclasses.replace(
        SAND, water_depth_m=k * water, cohesion_kPa=2.0 * k, shear_modulus_kPa=15_000.0 * k
    )
    margins = dataclasses.replace(FACTORS, control_kPa=10.0 * k, grout_margin_kPa=10.0 * k)
    scaled = pressure_window(k * cover, 0.56 * k, larger, margins)
    for name in ("face_kPa", "grout_least_kPa", "cavity_kPa", "prism_kPa", "limit_kPa", "amber_kPa"):
        assert getattr(scaled, name) == pytest.approx(k * getattr(one, name)), name
    assert scaled.utilisation(k * 90.0) == pytest.approx(one.utilisation(90.0))
    assert scaled.amber_utilisation(k * 90.0) == pytest.approx(one.amber_utilisation(90.0))
    assert face_peak_kPa(k * 80.0, k * 10.0, 11.0, k) == pytest.approx(
        k * face_peak_kPa(80.0, 10.0, 11.0, 1.0)
    )
    assert column_kPa(14.0, k * 8.0, k * 3.0, k * 50.0) == pytest.approx(k * column_kPa(14.0, 8.0, 3.0, 50.0))
    room = window_room_kPa(
        cover, 0.56, dataclasses.replace(SAND, water_depth_m=water, cohesion_kPa=2.0), LOADS, FACTORS
    )
    assert window_room_kPa(k * cover, 0.56 * k, larger, LOADS, margins) == pytest.approx(k * room, abs=1e-6)


@given(k=st.floats(0.2, 5.0))
def test_each_bound_grows_with_stress(k):
    one = ground_stress(6.0, 2.0, 18.0, 20.0)
    larger = dataclasses.replace(one, water_kPa=k * one.water_kPa, effective_kPa=k * one.effective_kPa)
    prism = prism_pressure_kPa(one, 33.0, 0.5, 6.0, 0.56)
    assert prism_pressure_kPa(larger, 33.0, 0.5, 6.0, 0.56) == pytest.approx(k * prism)
    assert least_face_kPa(larger, 33.0, FACTORS) == pytest.approx(k * least_face_kPa(one, 33.0, FACTORS))
    for soil in (SAND, CLAY):
        stiffer = dataclasses.replace(
            soil,
            cohesion_kPa=k * soil.cohesion_kPa,
            shear_modulus_kPa=k * soil.shear_modulus_kPa,
            undrained_kPa=k * soil.undrained_kPa,
        )
        limit = cavity_limit_kPa(one, 6.0, 0.56, soil, FACTORS)
        assert cavity_limit_kPa(larger, 6.0, 0.56, stiffer, FACTORS) == pytest.approx(k * limit)


def test_utilisation_without_room_is_infinite():
    window = pressure_window(5.0, 0.56, SAND, FACTORS)
    closed = dataclasses.replace(window, prism_kPa=window.crown.water_kPa)
    assert closed.utilisation(window.crown.water_kPa + 1.0) == np.inf


# The vent


def test_vent_by_hand():
    # 14 (z - 23.5) + 50 <= 159.4: z <= 31.314; 14 (z - 22) + 50 >= 60: z >= 22.714; the worst of both points
    levels = vent_range([22.0, 23.5], [60.0, 74.0], [300.0, 159.4], 14.0, 50.0)
    assert levels.highest_m == pytest.approx(31.314, abs=1e-3)
    assert levels.lowest_m == pytest.approx(25.214, abs=1e-3)
    assert levels.is_open


@given(
    crowns=st.lists(st.floats(0.0, 10.0), min_size=1, max_size=6),
    # by a hair of room it is open or not by rounding
    room=st.floats(-20.0, 200.0).filter(lambda room: abs(room) > 1e-4),
    k=st.floats(0.2, 5.0),
)
def test_vent_keeps_each_point_in_its_window_and_no_more(crowns, room, k):
    crown = np.array(crowns)
    least, limit = 120.0 - 5.0 * crown, 120.0 - 5.0 * crown + room
    levels = vent_range(crown, least, limit, 14.0, 50.0)
    for level, is_inside in (
        (levels.lowest_m, True),
        (levels.highest_m, True),
        (levels.highest_m + 0.01, False),
    ):
        pressure = 14.0 * (level - crown) + 50.0
        kept = np.all((pressure >= least - 1e-6) & (pressure <= limit + 1e-6))
        assert kept == (is_inside and bool(levels.lowest_m <= levels.highest_m + 1e-9))
    scaled = vent_range(k * crown, k * least, k * limit, 14.0, k * 50.0)
    assert scaled.highest_m == pytest.approx(k * levels.highest_m, abs=1e-9)
    assert scaled.lowest_m == pytest.approx(k * levels.lowest_m, abs=1e-9)


def test_vent_of_a_window_that_is_not_evaluated_is_not_open():
    levels = vent_range(
        [[22.0, 23.0], [22.0, 23.0]], 60.0, [[300.0, np.nan], [300.0, 300.0]], 14.0, [50.0, 50.0]
    )
    assert levels.is_open.tolist() == [False, True]
    assert np.isnan(levels.highest_m[0])


# The least cover


def cover_m(ground, loads=LOADS, from_m=0.0, to_m=30.0, diameter_m=0.56, **how):
    return least_cover_m(diameter_m, ground, loads, FACTORS, from_m=from_m, to_m=to_m, **how)


def test_window_is_open_from_the_least_cover_on_and_closed_just_above_it():
    found = cover_m(SAND, tolerance_m=1e-4)
    below = np.linspace(found, 30.0, 500)
    assert np.all(window_room_kPa(below, 0.56, SAND, LOADS, FACTORS) >= 0.0)
    assert not window_room_kPa(found - 2e-4, 0.56, SAND, LOADS, FACTORS) >= 0.0
    # refined, the answer comes down by at most the first one's tolerance, never up
    assert 0.0 <= cover_m(SAND, tolerance_m=1e-2) - found <= 1e-2


def test_opening_above_a_closed_stretch_is_not_taken():
    def is_open(depth_m):
        return (depth_m >= np.array([1.0, 6.3])) & ~((depth_m > 2.0) & (depth_m < 5.3))

    found = last_opening_m(is_open, 0.0, 10.0, 1e-6, 20)
    assert found == pytest.approx([5.3, 6.3], abs=1e-6)
    # lengths scaled, the answer scales
    scaled = last_opening_m(lambda depth_m: is_open(depth_m / 3.0), 0.0, 30.0, 3e-6, 20)
    assert scaled == pytest.approx(3.0 * found)


def test_grout_that_needs_much_closes_the_window():
    # u at 5 m of cover is 29.43; 200 kPa above it is more than face and mud ask for
    window = pressure_window(5.0, 0.56, SAND, FACTORS)
    room = window_room_kPa(5.0, 0.56, SAND, LOADS, dataclasses.replace(FACTORS, grout_margin_kPa=200.0))
    assert room == pytest.approx(window.limit_kPa - 229.43)


def test_higher_mud_asks_for_more_cover_until_none_is_enough():
    heads = WindowLoads(slurry_kN_per_m3=11.0, mud_head_m=np.array([0.0, 5.0, 500.0]))
    found = cover_m(SAND, heads)
    assert found[0] <= found[1]
    assert np.isnan(found[2])


def test_answer_depends_on_nobody_else_in_the_batch():
    alone = cover_m(CLAY)
    batch = dataclasses.replace(CLAY, undrained_kPa=np.array([20.0, np.nan, 60.0]))
    assert cover_m(batch)[0] == pytest.approx(alone)


def test_open_all_the_way_starts_at_the_first_cover():
    assert cover_m(SAND, from_m=10.0) == 10.0
    assert np.isnan(cover_m(dataclasses.replace(SAND, phi_deg=np.nan)))


@settings(max_examples=25)
@given(k=st.floats(0.5, 2.0))
def test_least_cover_scales(k):
    larger = dataclasses.replace(SAND, water_depth_m=2.0 * k, shear_modulus_kPa=15_000.0 * k)
    margins = dataclasses.replace(FACTORS, control_kPa=10.0 * k, grout_margin_kPa=10.0 * k)
    scaled = least_cover_m(0.56 * k, larger, LOADS, margins, from_m=0.0, to_m=30.0 * k, tolerance_m=1e-6)
    assert scaled == pytest.approx(k * cover_m(SAND, tolerance_m=1e-6), abs=1e-5)


@pytest.mark.parametrize(
    "how",
    [{"from_m": -1.0}, {"from_m": 5.0, "to_m": 5.0}, {"tolerance_m": 0.0}, {"n_steps": 0}],
)
def test_impossible_search_is_refused(how):
    with pytest.raises(ValueError):
        cover_m(SAND, **how)


def test_impossible_ground_is_refused():
    with pytest.raises(ValueError, match="unit weight"):
        pressure_window(5.0, 0.56, dataclasses.replace(SAND, gamma_kN_per_m3=0.0), FACTORS)
    with pytest.raises(ValueError, match="diameter"):
        pressure_window(5.0, 0.0, SAND, FACTORS)
