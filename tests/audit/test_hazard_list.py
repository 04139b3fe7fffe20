"""The register of hazards, by hand on the invented place; every register whatever is missing."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, box

from routescreen.assumptions import load_assumptions
from routescreen.audit.hazard_facts import Found
from routescreen.audit.hazard_list import WORDS, cause, unknown
from routescreen.audit.report import Check
from routescreen.engineering.hazard_rules import HAZARD_RULES
from routescreen.engineering.hazards import quantities_needed
from tests.audit.place import (
    STRAIGHT,
    Run,
    across,
    correct_plan,
    crossing,
    crossings,
    layer,
    plan,
)
from tests.audit.proving import prove_plan
from tests.audit.register_place import DEFAULTS, check, ground, only, proved

if TYPE_CHECKING:
    import pandas as pd

    from routescreen.audit.proofs import Proofs
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput


def hazards(proofs: Proofs, **at: object) -> pd.DataFrame:
    table = proofs.curves["hazards"]
    for column, value in at.items():
        table = table[table[column] == value]
    return table


def test_what_holds_everywhere_is_listed_with_its_numbers() -> None:
    proofs = proved()
    space = hazards(proofs, hazard="confined space")
    assert space["shaft_index"].tolist() == [0, 1]
    assert set(space["cause"]) == {"7.25 m deep"}
    eye = hazards(proofs, hazard="water inrush at the eye")
    assert set(eye["cause"]) == {"highest water 5.06 m above the lowest invert"}  # 6.56 - (3.0 - 1.5)
    # river 30 m, strip of the gas main 8 m
    rescue = hazards(proofs, hazard="no rescue shaft").iloc[0]
    assert rescue["cause"].startswith("38 m")
    assert rescue["who_signs"] == "designer, owner of the crossing"


def test_an_eye_above_the_given_water_may_lie_below_the_highest() -> None:
    """Invert 6.56 m deep: given water at 7.0 m leaves it dry, 1.5 m of rise stand 1.06 m above it."""
    found = hazards(proved(ground(groundwater_depth_m=7.0)), hazard="water inrush at the eye")
    assert set(found["cause"]) == {"highest water 1.06 m above the lowest invert"}
    assert hazards(proved(ground(groundwater_depth_m=8.1)), hazard="water inrush at the eye").empty


def test_what_is_not_known_is_not_left_out() -> None:
    table = hazards(proved(), hazard="flood")
    assert table["state"].tolist() == ["not_evaluated"] * 2
    assert "flood zones" in table["cause"].iloc[0]
    old = hazards(proved(over_nothing()), hazard="breakthrough").iloc[0]
    assert (old["state"], old["cause"]) == ("not_evaluated", "not known: cover, old boreholes near the bores")


def test_what_lifts_a_river_bed_breaks_through_it() -> None:
    """The face presses with 96.73 kPa where ground and water weigh 93.07: 1.04 times."""
    found = hazards(proved(), hazard="breakthrough").iloc[0]
    assert (found["state"], "1.04 times" in found["cause"]) == ("applies", True)


def over_nothing() -> CorridorInput:
    """Return the ground without the river: nothing whose bed could be lifted."""
    return replace(ground(), crossings=crossings())


@pytest.mark.parametrize(
    ("x_m", "y_m", "state"),
    [(600.0, 20.0, "applies"), (100.0, 100.0, None)],
    ids=["near the bores", "far from them"],
)
def test_old_boreholes_near_the_bores(x_m: float, y_m: float, state: str | None) -> None:
    rows: list[dict[str, object]] = [{"borehole_id": "B1", "soil": "sand_dense", "top_m": 0.0, "base_m": 5.0}]
    inp = replace(over_nothing(), investigations=layer("investigations", rows, [Point(x_m, y_m)]))
    drawn = correct_plan()
    audited = proved_checks("cover", 0.5)
    found = prove_plan(drawn, inp, DEFAULTS, audited=audited).curves["hazards"]
    states = found.loc[found["hazard"] == "breakthrough", "state"].tolist()
    assert states == ([state] if state else [])


def proved_checks(name: str, margin_m: float, element: str = "demo-D001") -> pd.DataFrame:
    from routescreen.audit.report import checks_table

    return checks_table("demo", [a_check(element, name, 3.0, 3.0 + margin_m)])


def a_check(element: str, name: str, demand: float, capacity: float) -> Check:
    used = demand / capacity
    return Check(
        element, name, demand, capacity, "m", used, "pass" if used <= 1 else "fail", "", 0.0, "assumed", ""
    )


@pytest.mark.parametrize(
    ("check_name", "hazard", "element"),
    [
        ("base_uplift", "uplift", "demo-H001"),
        ("base_heave", "uplift", "demo-H001"),
        ("thrust_wall", "thrust wall fails", "demo-H001"),
        ("flood", "flood", "demo-H002"),
        ("obstruction", "obstruction", "demo-D001"),
        ("pressure_mud", "breakthrough", "demo-D001"),
        ("settlement", "settlement", "demo-D001"),
    ],
)
def test_a_check_that_fails_makes_its_hazard_apply(check_name: str, hazard: str, element: str) -> None:
    from routescreen.audit.report import checks_table

    audited = checks_table("demo", [a_check(element, check_name, 1.25, 1.0)])
    found = prove_plan(correct_plan(), ground(), DEFAULTS, audited=audited).curves["hazards"]
    index = int(element[-1]) - 1
    column = "drive_index" if element[5] == "D" else "shaft_index"
    row = found[(found["hazard"] == hazard) & (found[column] == index)].iloc[0]
    assert row["state"] == "applies"
    if check_name != "flood":
        assert "1.25 times" in row["cause"]


@pytest.mark.parametrize(
    ("feature", "hazard"),
    [
        (crossing("power_line", LineString([(500, 10), (900, 10)])), "high voltage"),
        (crossing("power_cable", across(700.0)), "high voltage"),
        (crossing("landfill", box(600.0, 100.0, 700.0, 200.0)), "gas"),
        (crossing("gas_pipeline", across(700.0)), "high pressure"),
        (crossing("water_main", across(700.0)), "services"),
    ],
    ids=lambda value: value if isinstance(value, str) else str(value[0]["kind"]),
)
def test_what_lies_near_makes_its_hazard_apply(
    feature: tuple[dict[str, object], object], hazard: str
) -> None:
    state = hazards(proved(only(feature)), hazard=hazard, drive_index=0)["state"].tolist()
    assert state == ["applies"]
    assert len(hazards(proved(only()), hazard=hazard, drive_index=0, state="applies")) == 0


def test_the_chance_of_an_obstruction_by_hand() -> None:
    """0.5 events per km on 4 bores of 280 m: 1 - exp(-0.56) = 0.43."""
    often = load_assumptions("[soil.sand_dense]\nevents_per_km = 0.5\n")
    row = hazards(proved(a=often), hazard="obstruction", state="applies").iloc[0]
    assert row["cause"] == "an obstruction is met with a chance of 0.43"
    assert len(hazards(proved(), hazard="obstruction", state="applies")) == 0


def test_services_are_counted() -> None:
    two = only(crossing("water_main", across(700.0)), crossing("sewer", across(740.0), feature_id="s"))
    row = hazards(proved(two), hazard="services", drive_index=0).iloc[0]
    assert "by record: 2; the nearest 0.0 m" in row["cause"]


def test_ground_makes_its_hazards_apply() -> None:
    peat = proved(ground(soil="peat"))
    assert (hazards(peat, hazard="gas")["cause"].str.contains("peat")).all()
    made = proved(ground(soil="made_ground"))
    assert hazards(made, hazard="obstruction")["state"].tolist() == ["applies"]
    assert len(hazards(proved(), hazard="gas", state="applies", shaft_index=0)) == 0


@pytest.mark.parametrize(
    ("zone", "state"), [(box(700.0, -50.0, 900.0, 50.0), ["applies"]), (box(0.0, -50.0, 100.0, 50.0), [])]
)
def test_a_shaft_in_a_flood_zone(zone: Polygon, state: list[str]) -> None:
    """The reception at 800 stands in the zone, or the zone is elsewhere and the shaft out of its reach."""
    inp = replace(ground(), flood_zones=layer("flood_zones", [{"level_m": 50.5}], [zone]))
    table = hazards(proved(inp), hazard="flood", shaft_index=1)
    assert table["state"].tolist() == state
    assert table["cause"].str.contains("flood zone").all()


def test_open_cut_is_not_monitored_as_a_drive() -> None:
    inp = only(crossing("river", across(300.0), treatment="open_cut"))
    table = proved(inp).curves["agreements"]
    assert table["treatment"].tolist() == ["open_cut"]
    assert table["monitoring"].isna().all()


def test_a_shaft_in_a_dykes_zone_may_flood() -> None:
    near = hazards(proved(only(crossing("dyke", across(500.0)))), hazard="flood", shaft_index=0).iloc[0]
    assert (near["state"], near["cause"]) == ("applies", "it stands in a dyke's protection zone")
    far = hazards(proved(only(crossing("dyke", across(400.0)))), hazard="flood", shaft_index=0).iloc[0]
    assert far["state"] == "not_evaluated"


def test_open_cut_and_ramps_by_hand() -> None:
    """Trench 1.88 m deep, water at its highest 1.5 m down; ramps 6.62 m deep."""
    table = hazards(proved())
    cut = table[table["section_index"] == 0].set_index("hazard")
    assert {"trench collapses", "water in the trench"} <= set(cut.index)
    assert cut.loc["trench collapses", "cause"] == "trench 1.88 m deep"
    assert cut.loc["water in the trench", "cause"] == "highest water up to 0.38 m above its bottom"
    assert set(cut["drive_index"]) == set(cut["shaft_index"]) == {-1}
    ramps = table[table["hazard"].isin(["ramp pit collapses", "water in the ramp pit"])]
    assert ramps["shaft_index"].tolist() == [0, 0, 1, 1]
    assert ramps["cause"].iloc[0] == "ramps dug 6.6 m deep at the shaft"
    assert ramps["cause"].iloc[1] == "highest water 5.1 m above the bottom of the ramps"
    # a drive is no open cut
    assert table[table["section_index"] == 1].empty


def test_the_register_is_never_passed() -> None:
    found = check(proved(), "hazards_signed").iloc[0]
    assert found["status"] == "not_evaluated"
    assert f"{len(hazards(proved()))} rows" in found["reason"]


def test_every_quantity_of_the_rules_has_its_words() -> None:
    assert set(quantities_needed(HAZARD_RULES)) <= set(WORDS)


def test_a_check_that_is_missing_makes_a_pass_unknown_but_not_a_failure() -> None:
    rows = [a_check("x", "a", 0.5, 1.0), replace(a_check("x", "a", 0.5, 1.0), utilisation=math.nan)]
    assert math.isnan(Found(rows).utilisation(["x"], "a"))
    assert Found([*rows, a_check("x", "a", 2.0, 1.0)]).utilisation(["x"], "a") == 2.0
    assert math.isnan(Found([]).utilisation(["x"], "a"))
    assert Found([rows[0]]).utilisation(["x"], "a") == 0.5


def test_cause_and_unknown_name_each_quantity_once() -> None:
    rule = next(rule for rule in HAZARD_RULES if rule.hazard == "flood")
    facts = {"flood_above_rim_m": math.nan, "is_in_dyke_zone": 1.0}
    assert cause(rule, facts) == "it stands in a dyke's protection zone"
    assert unknown(rule, facts) == "not known: flood zones and their levels"


@pytest.mark.parametrize(
    ("drawn", "inp"),
    [
        pytest.param(plan([(0.0, 0.0), (1500.0, 0.0)]), only(), id="no drive"),
        pytest.param(plan([(0.0, 0.0), (280.0, 0.0)], Run(0)), only(), id="nothing but a drive"),
        pytest.param(correct_plan(), replace(ground(), ground_cover=None), id="no ground cover"),
        pytest.param(
            plan(STRAIGHT, Run(1, lower_crown_m=-6.0, upper_crown_m=-6.0), ground_m=0.0),
            replace(ground(), terrain=None),
            id="no terrain",
        ),
        pytest.param(
            plan(STRAIGHT, Run(1, method="guided_thrust", lower_crown_m=47.0, upper_crown_m=47.0)),
            ground(),
            id="thrust boring",
        ),
    ],
)
def test_every_register_is_filled_whatever_is_missing(drawn: Plan, inp: CorridorInput) -> None:
    curves = prove_plan(drawn, inp, DEFAULTS).curves
    n_works = len(drawn.shafts) + len(
        np.unique(np.cumsum(np.append(True, drawn.is_drive[1:] | drawn.is_drive[:-1])))
    )
    assert len(curves["earthworks"]) == n_works
    assert (curves["earthworks"]["dug_m3"] > 0.0).all()
    assert (curves["investigation_plan"]["shaft_index"] >= 0).sum() == len(drawn.shafts)
    assert curves["parcels_used"]["permanent_m2"].sum() > 0.0
    assert set(curves["hazards"]["shaft_index"]) - {-1} == set(range(len(drawn.shafts)))
