"""Dips below what is crossed: how deep by hand, alike in search and audit, and where none is to be made."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, box

from routescreen.assumptions import load_assumptions
from routescreen.audit.dip_rules import crossing_dip
from routescreen.audit.scene import set_scene
from routescreen.corridor.dips import barred_areas, dipped_crossings
from routescreen.corridor.ground import GroundSampler
from routescreen.drives.dip import RUNGS, Dip, bed_dip, ground_rung, service_dip
from tests.audit.place import STRAIGHT, Run, crossing, crossings, layer, place, plan

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions
    from routescreen.corridor.treatment import Crossings
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput

A = load_assumptions()
ACROSS = LineString([(700.0, -150.0), (700.0, 150.0)])
# no room to spread, no more fill: the main bears its current in wet ground only
CLOSE = load_assumptions(
    "[trench]\npipe_spacing_most_m = 0.8\ndip_spacing_most_m = 0.8\ndip_fill_above_m = 0.2\n"
)


def corridor(
    *features: object,
    rows: tuple[dict[str, object], ...] = (),
    areas: tuple[shapely.Geometry, ...] = (),
) -> CorridorInput:
    inp = replace(place(), crossings=crossings(*features))  # type: ignore[arg-type]
    return replace(inp, ground=layer("ground", list(rows), list(areas))) if rows else inp


def dipped(inp: CorridorInput, a: Assumptions = A) -> Crossings:
    return dipped_crossings(inp, GroundSampler(inp, a), a)


@pytest.mark.parametrize(
    ("kind", "own", "depths_m", "is_wet"),
    [
        pytest.param("water_main", {"depth_m": 1.6, "diameter_m": 0.4}, (2.4, 2.4), False, id="under it"),
        pytest.param("sewer", {"depth_m": 2.2, "diameter_m": 0.6}, None, False, id="over it"),
        pytest.param("power_cable", {}, (1.85, 1.85), False, id="as its kind lies"),
        pytest.param("stream", {}, (2.8, 2.3), True, id="water 0.5, scour 0.3, cover 2.0"),
        pytest.param("stream", {"wet_all_year": "no"}, (2.8, 2.3), False, id="a stream that runs dry"),
        pytest.param("ditch", {}, (1.8, 1.5), False, id="a ditch"),
        pytest.param("ditch", {"wet_all_year": "yes"}, (1.8, 1.5), True, id="a ditch that never does"),
        pytest.param("ditch", {"min_cover_m": 0.8}, None, False, id="deep enough as it lies"),
        # the ground stands at 50.0 m: scoured bed 1.0 m down, 2.0 m of cover, scour of 0.3 m above it
        pytest.param("stream", {"base_level_m": 49.0}, (3.0, 2.3), True, id="a stated level"),
        pytest.param("stream", {"base_level_m": 51.0}, (2.0, 2.0), True, id="none above the ground"),
        pytest.param("road", {}, None, False, id="a road"),
    ],
)
def test_depths_by_hand(
    kind: str, own: dict[str, object], depths_m: tuple[float, float] | None, *, is_wet: bool
) -> None:
    (found,) = dipped(corridor(crossing(kind, ACROSS, **own))).dips
    if depths_m is None:
        assert found is None
        return
    assert found is not None
    assert (found.dip.below_ground_m, found.dip.below_bed_m) == pytest.approx(depths_m)
    assert found.dip.is_wet is is_wet


def test_a_stated_level_counts_below_the_highest_bank() -> None:
    """Ground at 50.5 m from y = 0 on, 50.0 m else: 1.5 m to the scoured bed, 2.0 m of cover."""
    inp = corridor(crossing("stream", ACROSS, base_level_m=49.0))
    grid = inp.terrain
    assert grid is not None
    north_m = grid.north_m - (np.arange(len(grid.values)) + 0.5) * grid.pixel_height_m
    values = np.where(north_m[:, np.newaxis] > 0.0, 50.5, 50.0) + np.zeros_like(grid.values)
    (found,) = dipped(replace(inp, terrain=replace(grid, values=values))).dips
    assert found is not None
    assert found.dip.below_ground_m == pytest.approx(3.5)


def test_a_service_is_priced_at_the_least_angle_at_which_it_may_be_passed() -> None:
    """0.4 m wide and 0.4 m to either side, 0.5 m of which are inside, at 45 degrees or more: 0.7 / sin 45."""
    least = {"depth_m": 1.6, "diameter_m": 0.4, "min_angle_deg": 45.0, "half_width_m": 0.25}
    (found,) = dipped(corridor(crossing("water_main", ACROSS, **least))).dips
    assert found is not None
    assert found.stretch_m == pytest.approx(0.7 / math.sin(math.radians(45.0)))
    (wider,) = dipped(corridor(crossing("water_main", ACROSS, **least | {"half_width_m": 2.0}))).dips
    assert wider is not None
    assert wider.stretch_m == 0.0


KINDS = ("water_main", "sewer", "gas_pipeline", "power_cable", "telecom", "stream", "ditch")
LENGTHS = st.one_of(st.none(), st.floats(0.05, 4.0))


@st.composite
def features(draw: st.DrawFn) -> tuple[dict[str, object], shapely.Geometry]:
    kind, x_m = draw(st.sampled_from(KINDS)), draw(st.floats(50.0, 1400.0))
    names = ("depth_m", "diameter_m", "water_depth_m", "scour_m", "min_cover_m")
    own = {name: value for name in names if (value := draw(LENGTHS)) is not None}
    if kind in ("stream", "ditch") and draw(st.booleans()):
        own["base_level_m"] = draw(st.floats(46.0, 51.0))
    wet = draw(st.sampled_from((None, "yes", "no")))
    line = LineString([(x_m, -150.0), (x_m + draw(st.floats(-60.0, 60.0)), 150.0)])
    return crossing(kind, line, **own, **({"wet_all_year": wet} if wet else {}))


@cache
def _scene_plan() -> Plan:
    return plan(STRAIGHT, Run(1))


@settings(max_examples=40, deadline=None)
@given(st.lists(features(), min_size=1, max_size=4), st.booleans())
def test_search_and_audit_reckon_the_same_dips(
    drawn: list[tuple[dict[str, object], shapely.Geometry]], terrain_is_bed: bool
) -> None:
    rows = ({"soil": "silt", "groundwater_depth_m": 2.0}, {"soil": "peat", "groundwater_depth_m": 0.5})
    halves = (box(-100.0, -300.0, 700.0, 300.0), box(700.0, -300.0, 1600.0, 300.0))
    inp = replace(corridor(*drawn, rows=rows, areas=halves), terrain_is_bed=terrain_is_bed)
    assert inp.terrain is not None
    slope_m = np.linspace(0.0, 1.5, len(inp.terrain.values))[:, np.newaxis]
    inp = replace(inp, terrain=replace(inp.terrain, values=inp.terrain.values + slope_m))
    found = dipped(inp)
    scene = set_scene(_scene_plan(), inp, A, axis=None)
    first = [int(scene.features.crossing[list(found.features.crossing).index(k)]) for k in range(len(found))]
    for own, other in zip(found.dips, (crossing_dip(scene, number) for number in first), strict=True):
        assert (own is None) == (other is None)
        if own is not None and other is not None:
            assert own.grounds == other.grounds
            assert own.stretch_m == pytest.approx(other.stretch_m)
            assert own.dip.below_ground_m == pytest.approx(other.dip.below_ground_m)
            assert own.dip.below_bed_m == pytest.approx(other.dip.below_bed_m)
            assert own.dip.is_wet == other.dip.is_wet


def test_it_is_barred_in_the_ground_that_may_dry_out_only() -> None:
    rows = (
        {"soil": "sand_dense", "groundwater_depth_m": 8.0},
        {"soil": "sand_dense", "groundwater_depth_m": 0.0},
    )
    south, north = box(-100.0, -300.0, 1600.0, 20.0), box(-100.0, 20.0, 1600.0, 300.0)
    main = crossing("water_main", ACROSS, depth_m=1.6, diameter_m=0.4)
    inp = corridor(main, rows=rows, areas=(south, north))
    found = dipped(inp, CLOSE)
    barred = shapely.union_all(barred_areas(found, GroundSampler(inp, CLOSE), CLOSE))
    expected = shapely.intersection(found.outline[0], south)
    assert shapely.area(shapely.symmetric_difference(barred, expected)) < 1e-6
    off = CLOSE.model_copy(update={"search": CLOSE.search.model_copy(update={"dip_rating_steers": False})})
    assert len(barred_areas(found, GroundSampler(inp, off), off)) == 0


def test_a_dip_too_deep_to_be_dug_without_proof_is_barred_whatever_it_bears() -> None:
    """Tops 3.80 + 0.4 + 0.4 = 4.60, bottom 5.08 m."""
    main = crossing("water_main", ACROSS, depth_m=1.6, diameter_m=2.6)
    inp = corridor(main)
    assert len(barred_areas(dipped(inp), GroundSampler(inp, A), A)) > 0


@given(st.floats(0.0, 4.0), st.floats(0.05, 2.0), st.floats(0.0, 1.0))
def test_a_dip_leaves_what_is_asked_for_and_none_is_where_it_is_kept(
    top_m: float, diameter_m: float, clear_m: float
) -> None:
    dip = service_dip(top_m, diameter_m, clear_m, A)
    if dip is not None:
        assert dip.below_ground_m - top_m - diameter_m == pytest.approx(clear_m)
        return
    is_over = top_m >= 1.68 + clear_m - 1e-5 and top_m >= 1.88 - 1e-5
    assert is_over or top_m + diameter_m + clear_m <= 1.40 + 1e-5


@given(st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_a_deeper_dip_is_never_on_a_lower_rung(water_m: float, cover_m: float) -> None:
    dip = bed_dip(water_m + cover_m, cover_m, is_wet=False, a=A)
    ground = (A.soil_names.index("sand_dense"), 8.0, math.inf, A.soil_names.index("rock_weak"))
    if dip is None:
        assert water_m + cover_m <= 1.40 + 1e-5
        return
    lower = Dip(dip.below_ground_m + 0.5, dip.below_bed_m + 0.5, is_wet=False)
    order = [ground_rung(A, each, ground) for each in (dip, lower)]
    assert order == sorted(order)
    assert max(order) < len(RUNGS)
