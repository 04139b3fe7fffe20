"""Findings on hand-made shafts: floods, dykes, pumping and what it harms.

Place and sizes: ``shaft_ground``.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from shapely import LineString, box

from tests.audit.place import Run, across, crossing, crossings, layer, plan, with_cover
from tests.audit.proving import prove_plan
from tests.audit.shaft_ground import (
    DEFAULTS,
    STRAIGHT,
    WHOLE,
    ground,
    proved,
    quantity,
    row,
    rows,
)

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

# --- floods and dykes ---------------------------------------------------------------------------------------


def flooded(level_m: float, area: object = WHOLE) -> CorridorInput:
    return replace(ground(2.0), flood_zones=layer("flood_zones", [{"level_m": level_m}], [area]))


def test_without_flood_zones_floods_are_not_evaluated() -> None:
    found = row(proved(ground(2.0)), "flood")
    assert found["status"] == "not_evaluated"
    assert "flood_zones" in found["reason"]
    assert "0.50 m above ground" in row(proved(ground(1.0)), "flood")["reason"]
    assert quantity(proved(ground(2.0)), "SH25") == [0.0, 0.0]


def elsewhere(water_m: float) -> CorridorInput:
    zones = layer("flood_zones", [{"level_m": 55.0}], [box(1300.0, -50.0, 1400.0, 50.0)])
    return replace(ground(water_m), flood_zones=zones)


@pytest.mark.parametrize(
    ("water_m", "rim_m", "status", "n_rims"),
    [
        pytest.param(1.5, 0.0, "pass", 0.0, id="the highest groundwater just reaches the ground"),
        pytest.param(1.0, 1.0, "pass", 1.0, id="0.5 m above it, and 0.5 m of freeboard"),
        pytest.param(0.25, 1.75, "fail", 1.0, id="higher than any rim"),
    ],
)
def test_groundwater_above_ground_asks_for_a_rim_outside_the_zones_too(
    water_m: float, rim_m: float, status: str, n_rims: float
) -> None:
    proofs = proved(elsewhere(water_m))
    found = row(proofs, "flood")
    assert (found["demand"], found["status"]) == (pytest.approx(rim_m), status)
    assert quantity(proofs, "SH25") == [n_rims, n_rims]
    built = rows(proofs, "flood_rim")["demand"].tolist()
    assert built == ([pytest.approx(50.0 + rim_m)] if n_rims else [])
    if n_rims:
        assert "the highest groundwater reaches" in found["reason"]
        assert found["confidence"] == "assumed"


def test_without_flood_zones_the_rim_that_groundwater_asks_for_is_built_all_the_same() -> None:
    proofs = proved(ground(1.0))
    assert row(proofs, "flood")["status"] == "not_evaluated"
    assert row(proofs, "flood_rim")["demand"] == pytest.approx(51.0)
    assert quantity(proofs, "SH25") == [1.0, 1.0]
    # 1.25 m above ground and 0.5 m of freeboard are more than any rim, whatever floods do
    assert row(proved(ground(0.25)), "flood")["status"] == "fail"


@pytest.mark.parametrize(("level_m", "rim_m"), [(50.4, 1.0), (50.7, 1.2)], ids=["groundwater", "flood"])
def test_the_higher_of_flood_and_groundwater_counts(level_m: float, rim_m: float) -> None:
    """Groundwater 0.5 m above ground, flood 0.4 or 0.7 m."""
    inp = replace(ground(1.0), flood_zones=layer("flood_zones", [{"level_m": level_m}], [WHOLE]))
    assert row(proved(inp), "flood")["demand"] == pytest.approx(rim_m)


@pytest.mark.parametrize(
    ("level_m", "rim_m", "status", "n_rims"),
    [
        pytest.param(49.4, 0.0, "pass", 0.0, id="the ground stands high enough"),
        pytest.param(50.4, 0.9, "pass", 1.0, id="a rim does"),
        pytest.param(51.2, 1.7, "fail", 1.0, id="no rim does"),
    ],
)
def test_the_rim_stands_above_the_flood(level_m: float, rim_m: float, status: str, n_rims: float) -> None:
    proofs = proved(flooded(level_m))
    found = row(proofs, "flood")
    assert (found["demand"], found["status"]) == (pytest.approx(rim_m), status)
    assert found["confidence"] == "record"
    assert quantity(proofs, "SH25") == [n_rims, n_rims]
    built = rows(proofs, "flood_rim")[["demand", "capacity", "status"]].to_numpy().tolist()
    assert built == ([[pytest.approx(50.0 + rim_m), 50.0, "amber"]] if n_rims else [])


def test_outside_the_zones_there_is_no_flood() -> None:
    proofs = proved(flooded(55.0, box(530.0, -50.0, 900.0, 50.0)))
    assert row(proofs, "flood")["demand"] == 0.0
    assert quantity(proofs, "SH25") == [0.0, 1.0]
    # a zone that reaches a corner of the shaft floods it
    assert quantity(proved(flooded(55.0, box(523.0, 10.0, 530.0, 50.0))), "SH25")[0] == 1.0


def test_a_zone_without_a_level_is_not_evaluated_and_paid_for() -> None:
    proofs = proved(flooded(math.nan))
    assert row(proofs, "flood")["status"] == "not_evaluated"
    assert quantity(proofs, "SH25") == [1.0, 1.0]


def test_on_flat_ground_a_level_says_nothing_and_lifts_nothing() -> None:
    inp = replace(flooded(50.4), terrain=None)
    flat = plan(STRAIGHT, Run(1, -6.0, -6.0), ground_m=0.0)
    proofs = prove_plan(flat, inp, DEFAULTS)
    assert row(proofs, "flood")["status"] == "not_evaluated"
    assert row(proofs, "base_uplift")["demand"] == pytest.approx(9.81 * 8.75)
    assert quantity(proofs, "SH25") == [1.0, 1.0]


def test_a_flood_above_the_groundwater_lifts_the_base() -> None:
    """Flood 0.4 m above ground: head 7.65 m."""
    assert row(proved(flooded(50.4)), "base_uplift")["demand"] == pytest.approx(9.81 * 9.65)
    assert row(proved(flooded(49.0)), "base_uplift")["demand"] == pytest.approx(9.81 * 8.75)


def test_of_several_zones_the_highest_level_counts() -> None:
    zones = layer("flood_zones", [{"level_m": 50.1}, {"level_m": 50.4}, {}], [WHOLE] * 3)
    found = row(proved(replace(ground(2.0), flood_zones=zones)), "flood")
    assert found["demand"] == pytest.approx(0.9)


def test_of_several_dykes_the_one_whose_zone_is_nearest_counts() -> None:
    """To the dyke 44 m, 14 m beyond its zone; to the sea dyke 56 m, 6 m beyond its own."""
    both = crossings(crossing("dyke", across(460.0)), crossing("sea_dyke", across(430.0)))
    found = row(proved(replace(ground(2.0), crossings=both)), "dyke_zone")
    assert (found["demand"], found["capacity"]) == (50.0, pytest.approx(56.0))


@pytest.mark.parametrize(
    ("x_m", "kind", "zone_m", "away_m", "status"),
    [
        (480.0, "dyke", 30.0, 24.0, "fail"),
        (460.0, "dyke", 30.0, 44.0, "pass"),
        (420.0, "sea_dyke", 50.0, 66.0, "pass"),
    ],
)
def test_no_shaft_in_the_protection_zone_of_a_dyke(
    x_m: float, kind: str, zone_m: float, away_m: float, status: str
) -> None:
    """The launch's wall stands at 516; a dyke is 12 m wide to each side, a sea dyke 30 m."""
    inp = replace(ground(2.0), crossings=crossings(crossing(kind, across(x_m))))
    found = row(proved(inp), "dyke_zone")
    assert (found["demand"], found["capacity"]) == (zone_m, pytest.approx(away_m))
    assert found["status"] == status


# --- pumping ------------------------------------------------------------------------------------------------


def test_a_tight_shaft_lets_in_what_leaks_and_lowers_nothing() -> None:
    """2 (8 + 21) x 6.75 m of wall and 168 m2 of plug: 559.5 m2 at 1.5 l/s a 1000 m2."""
    proofs = proved(ground(2.0))
    found = row(proofs, "dewatering")
    assert found["demand"] == pytest.approx(0.83925)
    assert found["capacity"] == pytest.approx(50.0 / 3.6)
    assert row(proofs, "dewatering_reach")["demand"] == 0.0
    # were the water lowered: by 6.75 + 0.5 m, 3000 x 7.25 x 0.01
    assert "reach 218 m" in row(proofs, "dewatering_reach")["reason"]


# priced as dry, highest water 6.5 m deep: lowered by 1.25 m; 3000 x 1.25 x sqrt(1e-4) = 37.5 m
RADIUS_M = math.sqrt(168.0 / math.pi)
REACH_M = 37.5


def test_water_to_an_open_pit_by_hand() -> None:
    """Ground that carries water to 5 m below the base: 5.75 m and 4.5 m above its foot."""
    inflow = math.pi * 1e-4 * (5.75**2 - 4.5**2) / math.log((RADIUS_M + REACH_M) / RADIUS_M)
    proofs = proved(ground(8.0))
    assert row(proofs, "dewatering")["demand"] == pytest.approx(1000.0 * inflow)
    reach = row(proofs, "dewatering_reach")
    assert (reach["demand"], reach["status"]) == (pytest.approx(REACH_M), "pass")
    # rock 9 m deep: 2.5 m and 1.25 m above it
    inflow = math.pi * 1e-4 * (2.5**2 - 1.25**2) / math.log((RADIUS_M + REACH_M) / RADIUS_M)
    shallow = row(proved(ground(8.0, rock_depth_m=9.0)), "dewatering")
    assert shallow["demand"] == pytest.approx(1000.0 * inflow)


def test_the_more_permeable_of_soil_and_rock_counts() -> None:
    """Base in rock of 1e-6 m/s under sand of 1e-4: reach as in sand."""
    reach = row(proved(ground(8.0, rock_depth_m=7.0)), "dewatering_reach")
    assert reach["demand"] == pytest.approx(REACH_M)
    # k of the soil counts too where the rock is tighter or looser
    loose = "[soil.rock_weak]\npermeability_m_per_s = 4e-4\n"
    reach = row(proved(ground(8.0, rock_depth_m=7.0), loose), "dewatering_reach")
    assert reach["demand"] == pytest.approx(2.0 * REACH_M)


def test_more_water_than_one_plant_treats_is_amber() -> None:
    found = row(proved(ground(8.0, "gravel")), "dewatering")
    assert found["demand"] > 50.0 / 3.6
    assert found["status"] == "amber"


@pytest.mark.parametrize(
    ("kind", "area", "away_m"),
    [
        pytest.param("building", box(540.0, -5.0, 545.0, 5.0), 16.0, id="building"),
        pytest.param("wetland", box(540.0, -5.0, 545.0, 5.0), 16.0, id="wetland"),
        pytest.param("railway", LineString([(510.0, 37.5), (530.0, 37.5)]), 20.0, id="railway, by its edge"),
    ],
)
def test_what_lies_within_the_reach_is_named(kind: str, area: object, away_m: float) -> None:
    inp = replace(ground(8.0), crossings=crossings(crossing(kind, area, name="Old Mill")))
    reach = row(proved(inp), "dewatering_reach")
    assert (reach["status"], reach["capacity"]) == ("amber", pytest.approx(away_m))
    assert f"{kind} Old Mill ({kind}), {away_m:.0f} m" in reach["reason"]


def test_of_many_of_a_kind_the_nearest_is_named() -> None:
    houses = [
        crossing("building", box(x, 0.0, x + 4.0, 4.0), name=f"No {x:.0f}") for x in (550.0, 540.0, 545.0)
    ]
    reach = row(proved(replace(ground(8.0), crossings=crossings(*houses))), "dewatering_reach")
    assert reach["capacity"] == pytest.approx(16.0)
    assert "building No 540 (building) and 2 more of its kind, 16 m" in reach["reason"]


def test_what_lies_beyond_the_reach_is_not_named_but_is_the_nearest() -> None:
    inp = replace(ground(8.0), crossings=crossings(crossing("building", box(574.0, -5.0, 580.0, 5.0))))
    reach = row(proved(inp), "dewatering_reach")
    assert (reach["status"], reach["capacity"]) == ("pass", pytest.approx(50.0))
    assert "nothing that is listed" in reach["reason"]


def test_ground_cover_and_soils_that_settle_are_named() -> None:
    peat = list(DEFAULTS.cover).index("peat")
    inp = with_cover(ground(8.0), box(540.0, -10.0, 560.0, 10.0), peat)
    reach = row(proved(inp), "dewatering_reach")
    assert (reach["status"], reach["capacity"]) == ("amber", pytest.approx(16.0))
    assert "ground cover peat, 16 m" in reach["reason"]
    soils = layer(
        "ground",
        [{"soil": "sand_dense", "groundwater_depth_m": 8.0}, {"soil": "peat"}],
        [WHOLE, box(544.0, -10.0, 560.0, 10.0)],
    )
    assert "soil peat, 20 m" in row(proved(replace(ground(8.0), ground=soils)), "dewatering_reach")["reason"]


def test_a_reach_beyond_what_was_read_is_amber() -> None:
    """In gravel 3000 x 1.25 x sqrt(3e-3) = 205 m; the corridor ends 200 m away, 10 m more are read."""
    inp, text = ground(8.0, "gravel"), "[frame]\nworks_margin_m = 10.0\n"
    assert row(proved(inp), "dewatering_reach")["status"] == "pass"
    found = row(proved(inp, text), "dewatering_reach")
    assert found["status"] == "amber"
    assert "beyond what was read" in found["reason"]
