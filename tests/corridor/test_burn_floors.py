"""Floors of drives: the cable bears its current there and not a little deeper, whatever the ground is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from routescreen.assumptions import Assumptions, load_assumptions
from routescreen.corridor.burn_floors import (
    NO_DRIVE_FLOOR_M,
    NO_FLOOR_M,
    NO_WET_CEILING_M,
    DriveFloors,
    drive_floors,
    highest_about_m,
    water_over_beds_m,
)
from routescreen.corridor.treatment import resolve_crossings
from routescreen.drives.cable_make import cable_make, current_shares, surround, undisturbed_degC
from routescreen.drives.methods import MethodGeometry, method_geometry
from routescreen.engineering.rating import HeatPath, group_rating
from routescreen.project import GroundSamples
from tests.corridor.cases import across, crossing, straight

DEFAULTS = load_assumptions()
LEVEL_M = 20.0
TWO_PASS = method_geometry(DEFAULTS, "two_pass")


def ground(
    soil: str, *, water_m: float, rock_m: float = np.inf, rock: str = "rock_hard", level_m: float = LEVEL_M
) -> GroundSamples:
    """One node."""
    names = list(DEFAULTS.soil)

    def one(value: float, dtype: type) -> np.ndarray:
        return np.full((1, 1), value, dtype)

    return GroundSamples(
        ground_m=one(level_m, float),
        cover_class=one(0, np.int16),
        soil_class=one(names.index(soil), np.int16),
        rock_soil_class=one(names.index(rock), np.int16),
        groundwater_depth_m=one(water_m, float),
        rock_depth_m=one(rock_m, float),
        access_distance_m=one(0.0, float),
        near_building=one(0, bool),
    )


def floor_m(
    samples: GroundSamples,
    *,
    a: Assumptions = DEFAULTS,
    water_m: float = 0.0,
    method: MethodGeometry = TWO_PASS,
) -> float:
    return float(floors(samples, a=a, water_m=water_m, method=method).floor_m[0, 0, 0])


def floors(
    samples: GroundSamples,
    *,
    a: Assumptions = DEFAULTS,
    water_m: float = 0.0,
    method: MethodGeometry = TWO_PASS,
) -> DriveFloors:
    return drive_floors(samples, np.full((1, 1), water_m), [method], a, cell_m=10.0)


def rating_A(axis_m: float, soil: str, *, is_wet: bool, column_m: float = 0.0) -> float:
    """The group's rating, put together from its parts, below so much moist ground."""
    way, given, klass = DEFAULTS.methods["two_pass"], DEFAULTS.checks.rating, DEFAULTS.soil[soil]
    around = surround(DEFAULTS, way.pipe_outer_diameter_m, way.bore_diameter_m)
    moist, dry = klass.resistivity_moist_Km_per_W, klass.resistivity_dry_Km_per_W
    path = HeatPath(
        cable_make(DEFAULTS).ohm_per_m,
        around.inside_K_m_per_W,
        around.outer_diameter_m,
        DEFAULTS.cable.conductor_limit_degC,
        undisturbed_degC(DEFAULTS, np.array(axis_m)),
        klass.resistivity_saturated_Km_per_W if is_wet else moist,
        1.0 if is_wet else dry / moist,
        given.drying_rise_K,
        column_m,
        moist,
        dry,
    )
    offsets = 6.0 * (np.arange(4) - 1.5)
    return float(group_rating(np.full(4, axis_m), offsets, path, share=current_shares(DEFAULTS)).rating_A)


@pytest.mark.parametrize(
    ("soil", "water_m", "is_wet", "column_m"),
    [
        pytest.param("clay_stiff", -1.5, True, 0.0, id="the lowest water, 1.5 m lower, at the surface"),
        pytest.param("clay_stiff", 0.0, True, 1.5, id="clay, 1.5 m of it moist"),
        pytest.param("sand_dense", 2.0, True, 3.5, id="sand, 3.5 m of it moist"),
        pytest.param("clay_stiff", 30.0, False, 0.0, id="clay that may dry out"),
    ],
)
def test_just_above_the_floor_the_current_is_borne_and_just_below_it_is_not(
    soil: str, water_m: float, is_wet: bool, column_m: float
) -> None:
    axis_m = LEVEL_M - floor_m(ground(soil, water_m=water_m)) + TWO_PASS.bore_diameter_m / 2.0
    current_A = DEFAULTS.link.current_A
    assert rating_A(axis_m, soil, is_wet=is_wet, column_m=column_m) >= current_A
    assert rating_A(axis_m + 0.01, soil, is_wet=is_wet, column_m=column_m) < current_A


def test_moist_ground_between_two_heights_counts_as_the_higher() -> None:
    level = {water_m: floor_m(ground("sand_dense", water_m=water_m)) for water_m in (2.0, 2.03, 2.1)}
    assert level[2.0] < level[2.03] == level[2.1]


def axis_of(crown_level_m: float) -> float:
    return LEVEL_M - crown_level_m + TWO_PASS.bore_diameter_m / 2.0


def test_between_drying_ground_and_the_groundwater_there_is_a_gap() -> None:
    # dense sand, water at 5.03 m and 1.5 m lower in dry years: it bears the current down to some depth above
    # the water, and again from 0.3 m below the lowest water on
    found = floors(ground("sand_dense", water_m=5.03))
    dry_m, wet_m, deep_m = (
        float(level[0, 0, 0]) for level in (found.dry_floor_m, found.wet_ceiling_m, found.floor_m)
    )
    current_A = DEFAULTS.link.current_A
    assert rating_A(axis_of(dry_m), "sand_dense", is_wet=False) >= current_A
    assert rating_A(axis_of(dry_m) + 0.01, "sand_dense", is_wet=False) < current_A
    assert LEVEL_M - wet_m == pytest.approx(5.03 + 1.5 + 0.3, abs=0.002)
    assert rating_A(axis_of(wet_m), "sand_dense", is_wet=True, column_m=6.53) >= current_A
    # 6.53 m of moist ground above the lowest water count as 6.6 m
    assert rating_A(axis_of(deep_m), "sand_dense", is_wet=True, column_m=6.6) >= current_A
    assert rating_A(axis_of(deep_m) + 0.01, "sand_dense", is_wet=True, column_m=6.6) < current_A


@pytest.mark.parametrize(
    ("soil", "water_m"),
    [
        pytest.param("sand_dense", 1.0, id="the water is reached before the ground is too warm"),
        pytest.param("sand_dense", 30.0, id="below the water it is too warm"),
        pytest.param("sand_dense", 8.0, id="so much ground above the water dries out that it is too warm"),
        pytest.param("sand_dense", np.nan, id="nobody knows where the water is"),
        pytest.param("rock_hard", 8.0, id="rock bears the current at any depth"),
    ],
)
def test_without_two_ranges_there_is_no_gap(soil: str, water_m: float) -> None:
    found = floors(ground(soil, water_m=water_m))
    assert found.dry_floor_m[0, 0, 0] == NO_FLOOR_M
    assert found.wet_ceiling_m[0, 0, 0] == pytest.approx(NO_WET_CEILING_M)


def test_water_of_unknown_depth_counts_as_far_below() -> None:
    unknown, deep = (floor_m(ground("clay_stiff", water_m=w)) for w in (np.nan, 40.0))
    assert unknown == deep
    assert deep > floor_m(ground("clay_stiff", water_m=1.0)) + 4.0


def test_where_drying_ground_bears_nothing_the_bores_lie_below_the_water() -> None:
    close = replace(TWO_PASS, spacing_m=4.0)
    dry = load_assumptions("[soil.sand_dense]\nresistivity_dry_Km_per_W = 12.0\n")
    found = floors(ground("sand_dense", water_m=1.0), a=dry, method=close)
    assert found.dry_floor_m[0, 0, 0] == pytest.approx(NO_DRIVE_FLOOR_M)
    assert LEVEL_M - found.wet_ceiling_m[0, 0, 0] == pytest.approx(1.0 + 1.5 + 0.3, abs=0.002)


def falling_ground(water_m: float, rows: int = 7) -> GroundSamples:
    """Ground that falls by 1 m from row to row."""
    one = ground("sand_dense", water_m=water_m)
    return GroundSamples(
        **{
            name: np.repeat(getattr(one, name), rows, axis=1)
            for name in GroundSamples.__slots__
            if name != "ground_m"
        },
        ground_m=LEVEL_M - np.arange(rows, dtype=float)[np.newaxis, :],
    )


def test_crowns_stand_below_the_lowest_water_under_all_bores() -> None:
    # bores reach 9.28 m aside, rows are 10 m apart
    found = drive_floors(falling_ground(5.0), np.zeros((1, 7)), [TWO_PASS], DEFAULTS, cell_m=10.0)
    # the third row's bores reach into the fourth and touch what counts for the fifth up to its edge
    lowest_m = LEVEL_M - 2.0 - 1.0 - 0.5
    assert found.wet_ceiling_m[0, 0, 2] <= lowest_m - 6.8


@pytest.mark.parametrize(("cell_m", "n_aside"), [(10.0, 1), (2.0, 5)])
def test_no_bore_beside_the_line_lies_too_deep_below_higher_ground(cell_m: float, n_aside: int) -> None:
    # bores reach 9.28 m aside; the ground rises to the first row, and is half a step higher at a cell's edge
    rows, row = 13, 8
    found = drive_floors(falling_ground(5.0, rows), np.zeros((1, rows)), [TWO_PASS], DEFAULTS, cell_m=cell_m)
    level = floors(ground("sand_dense", water_m=5.0))
    higher_m = n_aside + 0.5 - row  # than the single node's ground
    assert found.floor_m[0, 0, row] == pytest.approx(level.floor_m[0, 0, 0] + higher_m, abs=1e-4)
    assert level.dry_floor_m[0, 0, 0] > NO_FLOOR_M
    assert found.dry_floor_m[0, 0, row] == pytest.approx(level.dry_floor_m[0, 0, 0] + higher_m, abs=1e-4)


def test_a_bore_beside_the_line_keeps_out_of_the_gap_of_its_own_ground() -> None:
    # no gap where the water stands high, one where it stands low, a row further
    wet, dry = ground("sand_dense", water_m=1.0), ground("sand_dense", water_m=5.0)
    both = GroundSamples(
        **{
            name: np.concatenate([getattr(one, name) for one in (wet, wet, wet, dry)], axis=1)
            for name in GroundSamples.__slots__
        }
    )
    found = drive_floors(both, np.zeros((1, 4)), [TWO_PASS], DEFAULTS, cell_m=10.0)
    alone = floors(dry)
    assert floors(wet).dry_floor_m[0, 0, 0] == NO_FLOOR_M
    assert found.dry_floor_m[0, 0, 2:].tolist() == [alone.dry_floor_m[0, 0, 0]] * 2
    assert found.dry_floor_m[0, 0, 1] == NO_FLOOR_M
    assert found.wet_ceiling_m[0, 0, 2] <= alone.wet_ceiling_m[0, 0, 0]


def test_rock_that_leads_heat_away_counts_with_the_worse_soil_above_it() -> None:
    alone = floor_m(ground("clay_soft", water_m=0.0))
    assert floor_m(ground("clay_soft", water_m=0.0, rock_m=1.0)) == alone
    # worse ground from a depth on lets the drive come down to it
    worse = floor_m(ground("rock_hard", water_m=0.0, rock_m=9.0, rock="peat"))
    assert worse == pytest.approx(LEVEL_M - 9.0 + TWO_PASS.bore_diameter_m / 2.0, abs=1e-5)


def test_under_water_depth_counts_from_the_bed() -> None:
    dry = floor_m(ground("clay_stiff", water_m=-1.5))
    assert floor_m(ground("clay_stiff", water_m=0.0), water_m=4.0) == pytest.approx(dry - 4.0, abs=1e-5)


def test_no_floor_where_nothing_is_known_or_asked() -> None:
    text = "[search]\nrating_steers = false\n"
    assert floor_m(ground("clay_stiff", water_m=0.0), a=load_assumptions(text)) == NO_FLOOR_M
    unrated = load_assumptions('[cable]\nrating_model = "none"\n')
    assert floor_m(ground("clay_stiff", water_m=0.0), a=unrated) == NO_FLOOR_M


def test_ground_in_which_no_depth_will_do_is_closed() -> None:
    close = replace(TWO_PASS, spacing_m=1.0)
    assert floor_m(ground("peat", water_m=0.0), method=close) == pytest.approx(NO_DRIVE_FLOOR_M)


def test_the_highest_of_a_cell_is_half_way_to_its_highest_neighbour() -> None:
    level = np.array([[0.0, 0.0, 0.0], [0.0, 2.0, 0.0], [0.0, 0.0, np.nan]])
    expected = np.array([[1.0, 1.0, 1.0], [1.0, 2.0, 1.0], [1.0, 1.0, np.nan]])
    np.testing.assert_array_equal(highest_about_m(level), expected)


def test_water_over_beds_counts_inside_the_outline_only() -> None:
    inp = straight(crossing("river", across(100.0), water_depth_m=4.0), crossing("road", across(300.0)))
    features = resolve_crossings(inp.crossings, DEFAULTS).features
    river = int(features.crossing[features.cover_reference == "bed"][0])
    nodes, met = np.array([1, 4]), np.array([river, 1 - river], np.int32)
    depth = water_over_beds_m(features, nodes, met, (2, 3))
    expected = float(features.water_depth_m[features.cover_reference == "bed"][0])
    assert expected > 0.0
    np.testing.assert_array_equal(depth, [[0.0, expected, 0.0], [0.0, 0.0, 0.0]])


def test_without_features_there_is_no_water() -> None:
    features = resolve_crossings(straight().crossings, DEFAULTS).features
    nothing = np.zeros(0, np.int64)
    assert not water_over_beds_m(features, nothing, nothing.astype(np.int32), (2, 2)).any()
    assert shapely.is_empty(features.outline).all()
