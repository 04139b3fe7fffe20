"""Rating of groups: cases by hand, limits, laws."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.ground_heat import soil_rise_K
from routescreen.engineering.heat import group_log, own_ground_log
from routescreen.engineering.rating import (
    Bedding,
    HeatPath,
    RoundFill,
    dc_rating_A,
    group_rating,
    hottest_position,
    insulation_drop_K,
)

OHM = 1e-5
PATH = HeatPath(
    conductor_ohm_per_m=OHM,
    inside_K_m_per_W=0.6,
    outer_diameter_m=0.3,
    conductor_degC=70.0,
    ground_degC=15.0,
    rho_K_m_per_W=2.0 * math.pi,  # so that the ground's resistance is the logarithm itself
)
FOUR = (-9.0, -3.0, 3.0, 9.0)
depths = st.floats(0.5, 15.0)
spacings = st.floats(0.3, 20.0)


def test_rating_of_one_resistance():
    # sqrt(40 / (1e-5 x 1)) = 2 000 A; too warm: nothing; nothing in the way: no limit
    assert dc_rating_A([40.0, -5.0], OHM, 1.0) == pytest.approx([2000.0, 0.0])
    assert dc_rating_A(40.0, OHM, 0.0) == math.inf


@given(st.floats(1.0, 80.0), st.floats(0.1, 10.0))
def test_rating_scales_with_roots(rise_K, scale):
    here = dc_rating_A(rise_K, OHM, 1.0)
    assert dc_rating_A(rise_K * scale, OHM, 1.0) == pytest.approx(here * math.sqrt(scale))
    assert dc_rating_A(rise_K, OHM * scale, 1.0) == pytest.approx(here / math.sqrt(scale))
    assert dc_rating_A(rise_K, OHM, scale) == pytest.approx(here / math.sqrt(scale))


def test_drop_across_the_insulation():
    # 2000^2 x 1e-5 x 0.4 = 16 K; twice the current four times as much
    assert insulation_drop_K([2000.0, 4000.0], OHM, 0.4) == pytest.approx([16.0, 64.0])


def test_lone_cable():
    # u = 10, ln(10 + sqrt 99) = 2.9932; sqrt(55 / (1e-5 x 3.5932))
    assert group_rating([1.5], [0.0], PATH).rating_A == pytest.approx(math.sqrt(55.0 / 3.5932e-5), rel=1e-4)


def test_two_cables():
    # d' / d = 5 / 4 at 1.5 m depth, 4 m apart: ln 1.25 = 0.2231
    rated = group_rating([1.5, 1.5], [0.0, 4.0], PATH)
    assert rated.by_cable_A == pytest.approx(math.sqrt(55.0 / 3.8163e-5), rel=1e-4)


def test_conductor_is_at_its_limit_in_moist_ground():
    rated = group_rating(np.full(4, 5.0), FOUR, PATH)
    heat = rated.rating_A**2 * OHM
    logs = group_log(np.full(4, 5.0), FOUR, PATH.outer_diameter_m)
    conductor = 15.0 + heat * (0.6 + logs.sum(axis=-1))
    assert conductor.max() == pytest.approx(70.0)
    assert conductor.argmax() == rated.hottest


def test_ratio_of_one_collapses():
    path = replace(PATH, drying_ratio=1.0, drying_rise_K=10.0)
    rated, moist = (group_rating(np.full(4, 2.0), FOUR, p) for p in (path, PATH))
    for name in ("rating_A", "by_cable_A", "drying_A", "dried_A"):
        assert getattr(rated, name) == pytest.approx(moist.moist_A if name != "rating_A" else moist.rating_A)


def test_lone_cable_in_two_zones():
    # (55 + (3 - 1) x 15) / (0.6 + 3 x 2.9932) = 85 / 9.5796, moist 55 / 3.5932: 8.873 < 15.307
    rated = group_rating([1.5], [0.0], replace(PATH, drying_ratio=3.0, drying_rise_K=15.0))
    assert rated.rating_A == pytest.approx(math.sqrt(85.0 / 9.5796e-5), rel=1e-4)
    assert rated.moist_A == pytest.approx(math.sqrt(55.0 / 3.5932e-5), rel=1e-4)
    # dried all round 55 / 9.5796
    assert rated.dried_A == pytest.approx(math.sqrt(55.0 / 9.5796e-5), rel=1e-4)


def test_two_zones_are_those_of_the_ground_around():
    """The rise of the cable's surface, reckoned in the ground: v W T4 - (v - 1) dtheta_x."""
    path = replace(PATH, drying_ratio=3.0, drying_rise_K=15.0, outer_diameter_m=0.02)
    heat = float(group_rating([5.0], [0.0], path).rating_A) ** 2 * OHM
    at_surface = soil_rise_K(
        [5.0],
        [0.01],
        source_depth_m=[5.0],
        source_offset_m=[0.0],
        heat_W_per_m=[heat],
        rho_K_m_per_W=path.rho_K_m_per_W,
        ratio=3.0,
        drying_rise_K=15.0,
    )
    assert 15.0 + heat * 0.6 + at_surface == pytest.approx([70.0], rel=1e-4)


def test_high_boundary_never_dries():
    rated = group_rating([1.5], [0.0], replace(PATH, drying_ratio=3.0, drying_rise_K=54.0))
    assert rated.rating_A == rated.moist_A[0]


def test_neighbours_that_dry_the_ground_dry_it_within_their_isotherm():
    """G 2.9932 + ln(root(9 + 0.31^2)/0.31) = 5.2684; (55 + 30) / (0.6 + 3 x 5.2684) = 5.1814 W/m.

    The cables' surface is then 3 x 27.298 - 30 = 51.89 K warmer: 51.89 + 0.6 x 5.1814 = 55 K.
    """
    path = replace(PATH, drying_ratio=3.0, drying_rise_K=15.0)
    near = group_rating([1.5, 1.5], [0.0, 0.31], path)
    logs = math.acosh(10.0) + math.log(math.hypot(3.0, 0.31) / 0.31)
    assert near.by_cable_A == pytest.approx(math.sqrt(85.0 / (0.6 + 3.0 * logs) / OHM))
    assert near.by_cable_A == pytest.approx(near.drying_A)
    # neighbours alone make 5.1814 x 2.2752 = 11.8 K of the 15 K: dried out all round would be far less
    assert np.all(near.dried_A < 0.9 * near.by_cable_A)


def test_neighbours_far_hotter_than_the_boundary_leave_what_they_leave():
    """At its limit the surface of a cable obeys theta = 15 + 3 (psi - 15), psi that in moist ground."""
    path = replace(PATH, drying_ratio=3.0, drying_rise_K=15.0)
    rated = group_rating(np.full(4, 5.0), np.arange(4) * 0.5, path)
    heat = rated.rating_A**2 * OHM
    psi = heat * group_log(np.full(4, 5.0), np.arange(4) * 0.5, 0.3).sum(axis=-1)
    own = heat * own_ground_log(5.0, 0.3)
    assert (psi - own).max() > 15.0  # neighbours alone dry the ground out
    assert (15.0 + 3.0 * (psi - 15.0) + 0.6 * heat).max() == pytest.approx(55.0)


def test_other_heat_counts_more_in_dried_ground():
    moist = group_rating([1.5], [0.0], PATH, other_rise_K=5.0)
    assert moist.rating_A == pytest.approx(math.sqrt(50.0 / 3.5932e-5), rel=1e-4)
    path = replace(PATH, drying_ratio=3.0, drying_rise_K=15.0)
    # (55 + 30 - 15) / 9.5796
    dry = group_rating([1.5], [0.0], path, other_rise_K=5.0)
    assert dry.drying_A == pytest.approx(math.sqrt(70.0 / 9.5796e-5), rel=1e-4)


def test_heat_main_hotter_than_the_cable_leaves_nothing():
    assert group_rating([1.5], [0.0], PATH, other_rise_K=60.0).rating_A == 0.0


def test_neighbour_is_a_line_source_like_any_other():
    pair = group_rating([1.5, 2.0], [0.0, 3.0], PATH)
    heat = float(pair.by_cable_A[0]) ** 2 * OHM
    rise = soil_rise_K(
        [1.5],
        [0.0],
        source_depth_m=[2.0],
        source_offset_m=[3.0],
        heat_W_per_m=[heat],
        rho_K_m_per_W=PATH.rho_K_m_per_W,
    )
    alone = group_rating([1.5], [0.0], PATH, other_rise_K=rise)
    assert alone.rating_A == pytest.approx(pair.by_cable_A[0])


def test_cold_return_cable_is_no_hindrance():
    with_return = group_rating([1.5, 1.5, 1.5], [-4.0, 0.0, 4.0], PATH, share=[1.0, 0.0, 1.0])
    without = group_rating([1.5, 1.5], [-4.0, 4.0], PATH)
    assert with_return.rating_A == pytest.approx(without.rating_A)
    assert with_return.hottest != 1


def test_half_of_the_current_counts_a_quarter():
    logs = group_log([1.5, 1.5], [0.0, 4.0], 0.3)
    rated = group_rating([1.5, 1.5], [0.0, 4.0], PATH, share=[1.0, 0.5])
    per_A2 = OHM * (0.6 + logs[0, 0] + 0.25 * logs[0, 1])
    assert rated.rating_A == pytest.approx(math.sqrt(55.0 / per_A2))


def test_no_current_at_all():
    with pytest.raises(ValueError, match="at least one cable"):
        group_rating([1.5], [0.0], PATH, share=0.0)


@pytest.mark.parametrize(
    "changed",
    [
        {"drying_ratio": 0.9},
        {"conductor_ohm_per_m": 0.0},
        {"outer_diameter_m": -1.0},
        {"drying_rise_K": -1.0},
    ],
)
def test_impossible_paths(changed):
    with pytest.raises(ValueError, match="must be"):
        replace(PATH, **changed)


def test_above_ground_and_overlap_are_not_evaluated():
    rated = group_rating([[0.1, 1.5], [1.5, 1.5], [1.5, 1.5]], [[0.0, 4.0], [0.0, 0.2], [0.0, 4.0]], PATH)
    assert np.isnan(rated.rating_A).tolist() == [True, True, False]
    assert rated.hottest.tolist()[:2] == [-1, -1]
    assert math.isnan(group_rating([0.1], [0.0], replace(PATH, drying_ratio=2.0, drying_rise_K=9.0)).rating_A)


def test_many_positions_are_each_their_own():
    rng = np.random.default_rng(7)
    depth = rng.uniform(1.0, 12.0, (50, 4))
    temperature, rho = rng.uniform(8.0, 20.0, (50, 1)), rng.uniform(0.7, 3.0, (50, 1))
    ratio = rng.choice([1.0, 2.5], (50, 1))
    path = replace(PATH, ground_degC=temperature, rho_K_m_per_W=rho, drying_ratio=ratio, drying_rise_K=15.0)
    together = group_rating(depth, FOUR, path)
    for i in (0, 17, 49):
        own = replace(path, ground_degC=temperature[i], rho_K_m_per_W=rho[i], drying_ratio=ratio[i])
        assert together.rating_A[i] == pytest.approx(group_rating(depth[i], FOUR, own).rating_A)


@given(depths, spacings, st.floats(0.3, 5.0), st.floats(0.1, 10.0))
def test_size_does_not_count_but_shape_does(depth_m, spacing_m, ratio, scale):
    path = replace(PATH, drying_ratio=1.0 + ratio, drying_rise_K=15.0)
    places = np.arange(3) * spacing_m
    here = group_rating(np.full(3, depth_m), places, path).rating_A
    scaled = replace(path, outer_diameter_m=0.3 * scale)
    there = group_rating(np.full(3, depth_m * scale), places * scale, scaled).rating_A
    assert there == pytest.approx(here, nan_ok=True)


@given(depths, spacings, st.floats(1.0, 30.0), st.floats(0.5, 4.0))
def test_laws_of_a_group(depth_m, spacing_m, boundary_K, ratio):
    path = replace(PATH, drying_ratio=1.0 + ratio, drying_rise_K=boundary_K, rho_K_m_per_W=1.0)
    places = np.arange(4) * spacing_m * 1.01
    rated = group_rating(np.full(4, depth_m), places, path)
    mirrored = group_rating(np.full(4, depth_m), -places[::-1], path)
    assert mirrored.by_cable_A == pytest.approx(rated.by_cable_A[::-1])
    tolerance = 1e-9
    assert np.all(rated.dried_A <= rated.by_cable_A + tolerance)
    assert np.all(rated.by_cable_A <= rated.moist_A + tolerance)
    wider = group_rating(np.full(4, depth_m), 1.3 * places, path)
    assert wider.rating_A >= rated.rating_A - tolerance
    deeper = group_rating(np.full(4, depth_m + 1.0), places, path)
    assert deeper.rating_A <= rated.rating_A + tolerance
    worse = group_rating(np.full(4, depth_m), places, replace(path, rho_K_m_per_W=1.5))
    assert worse.rating_A <= rated.rating_A + tolerance


def test_bedding_like_the_ground_changes_nothing():
    bedding = Bedding([0, 0], 1.5, 1.2, 0.8, PATH.rho_K_m_per_W)
    with_it = group_rating([1.5, 1.5], [-0.25, 0.25], PATH, bedding=bedding)
    assert with_it.rating_A == pytest.approx(group_rating([1.5, 1.5], [-0.25, 0.25], PATH).rating_A)


def test_bedding_as_the_standard_corrects():
    # N (rho_e - rho_c) / (2 pi) ln(...) on top of the resistance with the bedding everywhere
    rho_c, radius_ratio = 1.0, 1.5 / 0.54972
    bedding = Bedding([0, 0], 1.5, 1.0, 1.0, rho_c)
    path = replace(PATH, rho_K_m_per_W=2.0)
    rated = group_rating([1.5, 1.5], [-0.25, 0.25], path, bedding=bedding)
    logs = group_log([1.5, 1.5], [-0.25, 0.25], 0.3)
    everywhere = rho_c / (2.0 * math.pi) * logs[0].sum()
    extra = 2.0 / (2.0 * math.pi) * (2.0 - rho_c) * math.acosh(radius_ratio)
    expected = math.sqrt(55.0 / (OHM * (0.6 + everywhere + extra)))
    assert rated.rating_A == pytest.approx(expected, rel=1e-4)


def test_beddings_of_two_trenches_help_each_their_own():
    places = [-5.25, -4.75, 4.75, 5.25]
    path = replace(PATH, rho_K_m_per_W=2.5)
    bedding = Bedding([0, 0, 1, 1], 1.5, 1.1, 0.7, 1.0)
    better, plain = (
        group_rating([1.5] * 4, places, path, bedding=bedding),
        group_rating([1.5] * 4, places, path),
    )
    assert np.all(better.by_cable_A > plain.by_cable_A)
    assert better.by_cable_A == pytest.approx(better.by_cable_A[::-1])


def test_cold_cable_takes_nothing_of_the_bedding():
    path, places = replace(PATH, rho_K_m_per_W=2.0), [-0.25, 0.25]
    shared = group_rating(
        [1.5, 1.5], places, path, share=[1.0, 0.0], bedding=Bedding([0, 0], 1.5, 1.0, 1.0, 1.0)
    )
    alone = group_rating([1.5], [-0.25], path, bedding=Bedding([0], 1.5, 1.0, 1.0, 1.0))
    assert shared.by_cable_A[0] == pytest.approx(alone.by_cable_A[0])


def test_dried_bedding_is_not_dried():
    bedding = Bedding([0], 1.5, 1.0, 1.0, 1.0)
    path = replace(PATH, rho_K_m_per_W=1.0, drying_ratio=3.0, drying_rise_K=0.0)
    inside = float((own_ground_log(1.5, 0.3) - math.acosh(1.5 / 0.54972)) / (2.0 * math.pi))
    outside = 3.0 * math.acosh(1.5 / 0.54972) / (2.0 * math.pi)
    expected = math.sqrt(55.0 / (OHM * (0.6 + inside + outside)))
    assert group_rating([1.5], [0.0], path, bedding=bedding).rating_A == pytest.approx(expected, rel=1e-4)


def test_hottest_position():
    assert hottest_position([0.0, 10.0, 20.0, 30.0], [2000.0, math.nan, 1800.0, 1800.0]) == (20.0, 1800.0)
    assert np.isnan(hottest_position([0.0], [math.nan])).all()
    assert np.isnan(hottest_position([], [])).all()


# ---- Cables together in a filled tunnel ----


def ring(n: int, radius_m: float, depth_m: float) -> tuple[np.ndarray, np.ndarray]:
    turn = math.pi / n + 2.0 * math.pi * np.arange(n) / n
    return depth_m - radius_m * np.cos(turn), radius_m * np.sin(turn)


def test_a_tunnel_filled_like_the_ground_changes_nothing():
    depth, offset = ring(4, 0.42, 9.0)
    fill = RoundFill(9.0, 2.0, float(PATH.rho_K_m_per_W))
    plain, filled = group_rating(depth, offset, PATH), group_rating(depth, offset, PATH, bedding=fill)
    assert filled.moist_A == pytest.approx(plain.moist_A)


@pytest.mark.parametrize("n", [2, 3, 4, 6])
@pytest.mark.parametrize("ratio", [0.5, 3.0])
def test_a_tunnel_against_line_sources_in_a_cylinder(n, ratio):
    """A source at b in a cylinder of radius R has an image at R^2/b, weighed (k1 - k2)/(k1 + k2).

    On one of n pipes all images of a ring add up to -ln(1 - (b/R)^2n), which the formula leaves out. Far
    below the surface the cylinder's own image is at twice its depth.
    """
    depth_m, b, radius_m, rho_fill = 400.0, 0.4, 1.0, ratio * 2.0 * math.pi
    depth, offset = ring(n, b, depth_m)
    found = group_rating(depth, offset, PATH, bedding=RoundFill(depth_m, 2.0 * radius_m, rho_fill))
    apart = [2.0 * b * math.sin(math.pi * k / n) for k in range(1, n)]
    inside = math.log(radius_m / 0.15) + sum(math.log(radius_m / d) for d in apart)
    weight = (1.0 / ratio - 1.0) / (1.0 / ratio + 1.0)  # conductivities as 1/rho
    images = -weight * math.log(1.0 - (b / radius_m) ** (2 * n))
    resistance = 0.6 + ratio * (inside + images) + n * math.log(2.0 * depth_m / radius_m)
    assert found.rating_A == pytest.approx(math.sqrt(55.0 / (OHM * resistance)), rel=2e-3)
    if n == 2:  # here the images count: without them it would be off by more than rounding
        left_out = resistance - ratio * images
        assert found.rating_A == pytest.approx(math.sqrt(55.0 / (OHM * left_out)), rel=1e-4)


def test_cables_of_one_tunnel_dry_the_ground_as_one_source():
    """Below the boundary of 15 K at its edge the tunnel's ground stays moist, whatever each cable adds."""
    depth, offset = ring(4, 0.42, 9.0)
    path = replace(PATH, drying_ratio=3.0, drying_rise_K=15.0)
    found = group_rating(depth, offset, path, bedding=RoundFill(9.0, 2.0, 3.0))
    outside = 4.0 * math.acosh(9.0)
    edge_K = found.moist_A**2 * OHM * outside
    assert (edge_K > 15.0).all()  # so that the ground does dry out
    expected = (55.0 + 2.0 * 15.0) / (OHM * (55.0 / (OHM * found.moist_A**2) + 2.0 * outside))
    assert found.drying_A == pytest.approx(np.sqrt(expected))
    assert found.by_cable_A == pytest.approx(np.minimum(found.moist_A, found.drying_A))
