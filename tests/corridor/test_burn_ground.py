"""What water of the ground cover and narrow polygons of soil do to drives, by hand."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from routescreen.assumptions import load_assumptions
from routescreen.corridor.burn import BurnInput, burn
from routescreen.corridor.burn_ground import open_water, undriven_soil
from routescreen.corridor.frame import build_frame, cell_quads
from routescreen.corridor.ground import GroundSampler, ground_on_frame
from routescreen.corridor.treatment import resolve_crossings
from routescreen.drives.methods import enabled_methods, method_geometry
from routescreen.project import RasterGrid
from tests.corridor.cases import ASSUMPTIONS, burnt_case, crossing, flat, straight

METHODS = enabled_methods(ASSUMPTIONS)
SIZES = [method_geometry(ASSUMPTIONS, name) for name in METHODS]


def pond(x_m=200.0, *, pixels=2):
    """Water from x_m on, over the whole width of the corridor: pixels of 10 m."""
    values = np.zeros((40, 60), dtype=np.int16)
    first = round((x_m + 100.0) / 10.0)
    values[:, first : first + pixels] = ASSUMPTIONS.cover_names.index("water")
    return RasterGrid(values, -100.0, 200.0, 10.0, 10.0)


def sampled(inp):
    """A burnt frame and the sampler that took the warnings."""
    frame = build_frame(inp, cell_m=10.0)
    sampler = GroundSampler(inp, ASSUMPTIONS)
    crossings = resolve_crossings(inp.crossings, ASSUMPTIONS)
    what = BurnInput(frame, inp, crossings, sampler, ground_on_frame(frame, sampler), ASSUMPTIONS)
    burn(what)
    return burn(what), sampler


# water


@pytest.mark.parametrize(("is_bed", "depth_m"), [(False, 3.0), (True, 0.0)])
def test_water_of_the_ground_cover_is_passed_below_its_bed(is_bed, depth_m):
    """Level 50, a lake's 3 m of water, no scour; widened by the bores: x = 200 .. 220 and the half-width."""
    inp = straight(ground_cover=pond(), terrain=flat(50.0), terrain_is_bed=is_bed)
    _, _, burnt = burnt_case(inp)
    for k, size in enumerate(SIZES):
        column = np.arange(41)
        away_m = np.maximum(np.maximum(200.0 - (10.0 * column + 5.0), 10.0 * column - 5.0 - 220.0), 0.0)
        below_m = np.where(away_m < size.half_width_m - 1e-6, depth_m + max(2.5, size.cover_m), size.cover_m)
        np.testing.assert_allclose(burnt.ceiling_m[k, :, 10], 50.0 - below_m)


def test_water_without_a_feature_is_told_once_with_its_size():
    _, sampler = sampled(straight(ground_cover=pond(), terrain=flat(50.0)))
    told = [text for text in sampler.warnings if "ground cover only" in text]
    assert told == ["4000 m2 of water are known from the ground cover only; a depth of 3.0 m is assumed."]


@pytest.mark.parametrize("kind", ["river", "stream", "lake"])
def test_water_that_a_feature_covers_is_that_feature(kind):
    """The whole pond is drawn: its own depth of 1 m holds, and nothing is told."""
    row = crossing(kind, shapely.box(195, -150, 225, 150), water_depth_m=1.0, scour_m=0.0, min_cover_m=2.5)
    burnt, sampler = sampled(straight(row, ground_cover=pond(), terrain=flat(50.0)))
    assert not any("ground cover only" in text for text in sampler.warnings)
    for k, size in enumerate(SIZES):
        assert burnt.ceiling_m[k, 20, 10] == pytest.approx(49.0 - max(2.5, size.cover_m))


def test_only_the_part_that_no_feature_covers_counts_as_unknown():
    inp = straight(crossing("lake", shapely.box(200, -250, 215, 250)), ground_cover=pond())
    sampler = GroundSampler(inp, ASSUMPTIONS)
    features = resolve_crossings(inp.crossings, ASSUMPTIONS).features
    found = open_water(sampler, features, ASSUMPTIONS, within=inp.outline, is_terrain_bed=False)
    whole = shapely.union_all(found.area)
    assert shapely.symmetric_difference(whole, shapely.box(215, -200, 220, 200)).area < 1e-6
    assert "1000 m2" in sampler.warnings[-1]


def test_a_road_over_water_does_not_hide_it():
    _, sampler = sampled(straight(crossing("road", LineString([(0, 0), (400, 0)])), ground_cover=pond()))
    assert any("4000 m2" in text for text in sampler.warnings)


# soil

# of the defaults no method is shut out of any soil for certain: say so for one that is not the default
SHUT = next(name for name in ASSUMPTIONS.soil_names if name != ASSUMPTIONS.default_soil)
STRICT = load_assumptions("".join(f'[methods.{name}.drivability.{SHUT}]\ngrade = "no"\n' for name in METHODS))


def zone(x_m, width_m, soil, **own):
    return {"soil": soil, "geometry": shapely.box(x_m, -150, x_m + width_m, 150), **own}


@pytest.mark.parametrize("name", METHODS)
def test_a_narrow_seam_between_the_nodes_bars_the_drive(name):
    """Half a metre at x = 203, between the nodes at 200 and 210: no node lies in it."""
    inp = straight(ground=[zone(203.0, 0.5, SHUT)])
    _, _, burnt = burnt_case(inp, assumptions=STRICT)
    k = METHODS.index(name)
    column = np.arange(41)
    away_m = np.maximum(np.maximum(203.0 - (10.0 * column + 5.0), 10.0 * column - 5.0 - 203.5), 0.0)
    np.testing.assert_array_equal(burnt.ceiling_m[k, :, 10] == -1e9, away_m < SIZES[k].half_width_m - 1e-6)


@pytest.mark.parametrize("name", METHODS)
def test_rock_below_the_seam_lets_the_drive_pass_in_it(name):
    inp = straight(ground=[zone(203.0, 0.5, SHUT, rock_depth_m=8.0)], terrain=flat(50.0))
    _, _, burnt = burnt_case(inp, assumptions=STRICT)
    k = METHODS.index(name)
    assert burnt.ceiling_m[k, 20, 10] == pytest.approx(50.0 - max(8.0, SIZES[k].cover_m))


def test_soil_that_every_method_drives_bars_nothing():
    soil = next(
        soil
        for soil in ASSUMPTIONS.soil_names
        if all(
            soil in STRICT.methods[name].drivability and STRICT.methods[name].drivability[soil].grade != "no"
            for name in METHODS
        )
    )
    _, _, burnt = burnt_case(
        straight(ground=[zone(100.0, 200.0, soil, rock_depth_m=2.0)]), assumptions=STRICT
    )
    assert (burnt.ceiling_m > -1e8).all()


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        pytest.param(
            [("shut", 0, 10, None), ("open", 4, 2, None)], {(0, 4): np.inf, (6, 10): np.inf}, id="last"
        ),
        pytest.param([("open", 4, 2, None), ("shut", 0, 10, None)], {(0, 10): np.inf}, id="first-is-hidden"),
        pytest.param(
            [("shut", 0, 10, None), (None, 4, 6, 5.0)], {(0, 4): np.inf, (4, 10): 5.0}, id="rock-alone"
        ),
        pytest.param([("shut", 0, 10, 3.0), (None, 4, 6, 5.0)], {(0, 4): 3.0, (4, 10): 5.0}, id="rock-over"),
        pytest.param([("shut", 0, 10, 3.0), ("open", 10, 5, 9.0)], {(0, 10): 3.0}, id="neighbour"),
        pytest.param([("open", 0, 10, None), (None, 0, 10, 2.0)], {}, id="nothing-shut"),
    ],
)
def test_where_polygons_overlap_the_last_one_holds(rows, expected):
    name = METHODS[0]
    drivability = STRICT.methods[name].drivability
    soils = {
        "shut": SHUT,
        "open": next(soil for soil, how in drivability.items() if how.grade == "yes"),
        None: None,
    }
    ground = [zone(x, width, soils[soil], rock_depth_m=rock_m) for soil, x, width, rock_m in rows]
    found = undriven_soil(GroundSampler(straight(ground=ground), STRICT), STRICT, name)
    by_depth = {}
    for (low, high), below_m in expected.items():
        by_depth.setdefault(below_m, []).append(shapely.box(low, -150, high, 150))
    assert set(found.below_m) == set(by_depth)
    for below_m, boxes in by_depth.items():
        there = shapely.union_all(found.area[found.below_m == below_m])
        assert shapely.symmetric_difference(there, shapely.union_all(boxes)).area < 1e-6


@settings(max_examples=25, deadline=None)
@given(
    st.tuples(st.floats(100, 300), st.floats(-80, 80)),
    st.floats(0.0, 3.1),
    st.sampled_from([0.01, 0.5, 8.0]),
    st.sampled_from(METHODS),
)
def test_no_open_cell_lies_within_a_bore_of_soil_that_bars_it(middle, turn, width_m, name):
    """A thrown seam, whatever its width and direction."""
    end = 60.0 * np.array([np.cos(turn), np.sin(turn)])
    seam = LineString([np.subtract(middle, end), np.add(middle, end)]).buffer(width_m / 2, cap_style="flat")
    frame, _, burnt = burnt_case(straight(ground=[{"soil": SHUT, "geometry": seam}]), assumptions=STRICT)
    k = METHODS.index(name)
    column, row = np.nonzero(frame.is_valid)
    away_m = shapely.distance(cell_quads(frame, column, row), seam)
    is_shut = burnt.ceiling_m[k][column, row] == -1e9
    np.testing.assert_array_equal(is_shut, away_m <= SIZES[k].half_width_m - 1e-6)
    assert is_shut.any()
