"""Water in open cut at its highest, by hand on the invented place.

Trench 1.88 m deep in dense sand (k 1e-4 m/s), two of them; open cut from 0 to 520 and from 800 to 1 500 m.
The 100-year groundwater stands 1.5 m higher than given and is lowered to 0.5 m below the bottom. A building
lies 60 m aside at x 1 000.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from shapely import LineString

from routescreen.assumptions import load_assumptions
from tests.audit.place import FEATURES, crossing, place
from tests.audit.register_place import DEFAULTS, check, ground, only, proved

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

BUILDING = next(f for f in FEATURES if f[0]["kind"] == "building")
REACH, PRICED = "trench_dewatering_reach", "trench_dewatering"


def with_water(depth_m: float, *features: object) -> CorridorInput:
    inp = only(*(features or (BUILDING,)))  # type: ignore[arg-type]
    return ground(inp, groundwater_depth_m=depth_m)


@pytest.mark.parametrize(
    ("water_m", "reach_m", "status"),
    [
        # 2 000 x (1.88 - 3.0 + 1.5 + 0.5) x 0.01
        pytest.param(3.0, 17.6, "pass", id="0.38 m above the bottom at its highest"),
        pytest.param(1.0, 57.6, "pass", id="just not as far as the building"),
        pytest.param(0.8, 61.6, "amber", id="just beyond it"),
        pytest.param(3.4, 0.0, "pass", id="below the bottom even at its highest"),
    ],
)
def test_reach_by_hand(water_m: float, reach_m: float, status: str) -> None:
    found = check(proved(with_water(water_m)), REACH)
    assert found["element_id"].tolist() == ["demo-S001", "demo-S003"]
    row = found.iloc[1]
    assert (row["demand"], row["status"]) == (pytest.approx(reach_m), status)
    if status == "amber":
        assert row["capacity"] == pytest.approx(60.0)
        assert "building" in row["reason"]
        assert "within reach of 500 m of this open cut" in row["reason"]  # looked up in parts so long
        assert 800.0 <= row["governing_chainage_m"] <= 1300.0


def test_a_trench_in_peat_lowers_its_own_water() -> None:
    row = check(proved(ground(only(), soil="peat", groundwater_depth_m=0.5)), REACH).iloc[0]
    assert (row["capacity"], row["status"]) == (0.0, "amber")
    assert "soil peat, 0 m" in row["reason"]


def test_the_factor_beside_a_trench_is_an_assumption() -> None:
    narrow = load_assumptions("[checks.shaft]\ndrawdown_trench_factor = 1500.0\n")
    assert check(proved(with_water(0.8), narrow), REACH).iloc[1]["demand"] == pytest.approx(46.2)


RATE = {code: DEFAULTS.rates[code].expected for code in ("TR40", "TR41")}


@pytest.mark.parametrize(
    ("water_m", "given_m", "highest_m", "eur_per_m"),
    [
        pytest.param(3.0, 0.0, 0.38, 2 * 15.0, id="nothing, then sumps"),
        pytest.param(2.0, 0.0, 1.38, 2 * 120.0, id="nothing, then well points"),
        pytest.param(1.5, 0.38, 1.88, 2 * (120.0 - 15.0), id="sumps, then well points"),
        pytest.param(1.0, 0.88, 2.38, 0.0, id="well points in either case"),
    ],
)
def test_what_the_highest_water_asks_for_beyond_the_bill(
    water_m: float, given_m: float, highest_m: float, eur_per_m: float
) -> None:
    """Cropland, two trenches of 520 m: sumps 15 EUR a metre up to 0.5 m of water, else well points 120."""
    assert (RATE["TR40"], RATE["TR41"]) == (15.0, 120.0)
    row = check(proved(with_water(water_m)), PRICED).iloc[0]
    assert row["demand"] == pytest.approx(highest_m)
    if eur_per_m == 0.0:
        assert row["status"] == "pass"
        return
    assert (row["status"], row["capacity"]) == ("amber", pytest.approx(given_m, abs=1e-9))
    assert "520 m of this open cut" in row["reason"]
    assert f"about {520.0 * eur_per_m:,.0f} EUR more".replace(",", " ") in row["reason"]


def test_a_dyke_beside_the_trench_is_named() -> None:
    dyke = crossing("dyke", LineString([(100.0, 70.0), (400.0, 70.0)]), name="East dyke")  # edge 58 m off
    row = check(proved(with_water(0.8, dyke)), REACH).iloc[0]
    assert (row["status"], row["capacity"]) == ("amber", pytest.approx(58.0))
    assert "dyke East dyke" in row["reason"]


def test_water_that_nobody_gave_is_no_pass() -> None:
    found = proved(place())
    assert set(check(found, REACH)["status"]) == {"not_evaluated"}
    assert set(check(found, PRICED)["status"]) == {"not_evaluated"}
