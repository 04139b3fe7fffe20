"""Investigation, agreements, constraints, pipelines and hazards, by hand on the invented place."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import LineString, box

from routescreen.audit import Sites
from tests.audit.place import (
    FEATURES,
    across,
    correct_plan,
    crossing,
    layer,
    place,
    raster,
)
from tests.audit.proving import prove_plan
from tests.audit.register_place import DEFAULTS, check, ground, only, proved
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    import pandas as pd

    from routescreen.audit.proofs import Proofs


# ---- Investigation


def boreholes(proofs: Proofs, **at: int) -> pd.DataFrame:
    table = proofs.curves["investigation_plan"]
    for column, value in at.items():
        table = table[table[column] == value]
    return table


def test_boreholes_along_a_drive_by_hand() -> None:
    """River from 585 to 615 with 5 m kept clear: 580 before it, 50 m on, then 100 m on; the shaft is next."""
    table = boreholes(proved(), drive_index=0, shaft_index=-1)
    assert table["chainage_m"].tolist() == pytest.approx([580.0, 630.0, 730.0])
    # outermost bore 9 m off, its radius 0.28 m, 5 m beyond; right looking along x is -y
    assert table["offset_m"].tolist() == pytest.approx([14.28, -14.28, 14.28])
    assert [point.y for point in table["geometry"]] == pytest.approx([-14.28, 14.28, -14.28])
    # invert 50 - 44 + 0.56 m deep, and the larger of 2 m and 1.5 x 0.56 m
    assert table["depth_m"].tolist() == pytest.approx([8.56] * 3)
    assert "river" in table["reason"].iloc[0]
    assert "100 m" in table["reason"].iloc[2]


@pytest.mark.parametrize(
    ("water_m", "depth_m"),
    [
        pytest.param(3.0, 7.25 + 4.25 + 2.0, id="head of 4.25 m and 2 m"),
        pytest.param(100.0, 7.25 + 0.4 * 7.25, id="dry: 0.4 of the depth"),
        pytest.param(7.0, 7.25 + 2.0 + 2.0, id="little water: plug and 2 m"),
    ],
)
def test_borehole_at_a_shaft_by_hand(water_m: float, depth_m: float) -> None:
    table = boreholes(proved(ground(groundwater_depth_m=water_m)), shaft_index=0)
    assert table["depth_m"].tolist() == pytest.approx([depth_m])
    assert table["chainage_m"].tolist() == pytest.approx([520.0])


def test_each_shaft_has_one_borehole_off_its_outline() -> None:
    table = boreholes(proved())
    at_shafts = table[table["shaft_index"] >= 0]
    assert at_shafts["shaft_index"].tolist() == [0, 1]
    assert at_shafts["chainage_m"].tolist() == pytest.approx([520.0, 800.0])
    width_m = 2.0 * (at_shafts["offset_m"] - 5.0)
    assert (width_m > 18.0).all()  # four bores 6 m apart


def test_probings_along_the_trench() -> None:
    """520 m in 6 parts from the terminal on, 700 m in 7; none where a shaft stands."""
    table = boreholes(proved(), drive_index=-1)
    expected = [*(520.0 / 6 * k for k in range(6)), *(800.0 + 100.0 * k for k in range(1, 8))]
    assert table["chainage_m"].tolist() == pytest.approx(expected)
    assert set(table["kind"]) == {"probing"}
    # 1.88 m deep and 2 m below, which is more than 1.5 x 1.18 m
    assert table["depth_m"].tolist() == pytest.approx([3.88] * 13)


def test_names_count_by_chainage() -> None:
    table = boreholes(proved())
    assert table["chainage_m"].is_monotonic_increasing
    assert table["borehole_id"].tolist() == [f"demo-G{k:03d}" for k in range(1, len(table) + 1)]


def test_a_borehole_in_a_wide_river_needs_a_pontoon() -> None:
    """From 580 to 700 m, boreholes at most 50 m apart: one or two must stand in the water."""
    table = boreholes(proved(only(crossing("river", across(640.0), half_width_m=60.0))), drive_index=0)
    inside = table[table["chainage_m"].between(580.0, 700.0, inclusive="neither")]
    assert len(inside) >= 1
    assert inside["remark"].str.contains("pontoon").all()
    assert table.loc[~table.index.isin(inside.index), "remark"].isna().all()


def test_metres_are_held_against_the_bill() -> None:
    """Bill: (2 + 7.25) at each shaft, and 2 between of 7.25 + 2; plan: 2 x 13.5 + 3 x 8.56."""
    found = check(proved(), "investigation_in_bill").iloc[0]
    assert (found["demand"], found["capacity"]) == pytest.approx((2 * 13.5 + 3 * 8.56, 4 * 9.25))
    assert found["status"] == "amber"
    dry = check(proved(only(), load_assumptions("[checks.investigation]\nbase_frac = 0.0\n")), found["check"])
    assert dry["status"].tolist() == ["amber"]


def test_unknown_terrain_is_told() -> None:
    inp = ground()
    assert inp.terrain is not None
    values = np.full((100, 210), 50.0)
    values[:, 100:104] = np.nan  # x from 700 to 740, where a borehole is to stand
    inp = replace(inp, terrain=replace(raster(50.0), values=values))
    assert check(proved(inp), "investigation_in_bill").iloc[0]["status"] == "not_evaluated"


# ---- Agreements


def test_each_crossing_has_its_row() -> None:
    table = proved().curves["agreements"]
    assert table["kind"].tolist() == ["road", "river", "gas_pipeline", "telecom"]
    assert table["treatment"].tolist() == ["open_cut", "trenchless", "trenchless", "open_cut"]
    assert table["crossing_index"].tolist() == [0, 1, 2, 3]
    river = table.iloc[1]
    assert (river["lead_low_months"], river["lead_expected_months"], river["lead_high_months"]) == (6, 9, 12)
    assert "bed" in river["monitoring"]
    assert table["monitoring"].isna().tolist() == [True, False, True, True]
    # bed 50 - 2.5 - 1 = 46.5 m, crown 44 m
    assert "2.50 m below its scoured bed (2.50 m asked for)" in river["to_agree"]
    assert "owner's consent" in table["to_agree"].iloc[2]


def test_a_missing_owner_is_said() -> None:
    found = check(proved(), "owners_known").iloc[0]
    assert found["status"] == "not_evaluated"
    assert "4 of 4" in found["reason"]
    assert set(proved().curves["agreements"]["owner"]) == {"not known"}


def test_owners_are_told() -> None:
    named = [(row | {"owner": f"Owner {k}"}, shape) for k, (row, shape) in enumerate(FEATURES)]
    proofs = proved(only(*named))
    assert proofs.curves["agreements"]["owner"].tolist() == ["Owner 0", "Owner 1", "Owner 2", "Owner 4"]
    assert check(proofs, "owners_known").iloc[0]["status"] == "pass"
    del named[1][0]["owner"]
    found = check(proved(only(*named)), "owners_known").iloc[0]
    assert "1 of 4" in found["reason"]
    assert "river Alder" in found["reason"]


def test_a_railway_wants_possession_and_settlement_limits() -> None:
    inp = ground(place(crossing("railway", across(700.0), owner="Railway office")))
    table = proved(inp).curves["agreements"]
    row = table[table["kind"] == "railway"].iloc[0]
    assert (row["lead_low_months"], row["lead_high_months"]) == (6.0, 18.0)
    assert "alarm at 5 mm, stop at 10 mm" in row["to_agree"]
    assert "possession" in row["to_agree"]


# ---- Constraints


def constraints(proofs: Proofs, name: str) -> pd.DataFrame:
    table = proofs.curves["constraints"]
    return table[table["constraint"] == name]


def test_hours_of_a_pull_in_by_hand() -> None:
    """280 m at 1.5, 1.0 and 0.5 m/min, in one piece."""
    row = constraints(proved(), "uninterruptible").iloc[0]
    hours = [row[name] for name in ("low_h", "expected_h", "high_h")]
    assert hours == pytest.approx([280.0 / v / 60.0 for v in (1.5, 1.0, 0.5)])
    assert row["drive_index"] == 0
    assert "4 strings" in row["reason"]


def test_welds_count_in_a_pull_in() -> None:
    drawn = correct_plan()
    drawn = replace(drawn, drives=(replace(drawn.drives[0], n_layout_pieces=3),))
    row = constraints(prove_plan(drawn, ground(), DEFAULTS), "uninterruptible").iloc[0]
    assert row["expected_h"] == pytest.approx(280.0 / 60.0 + 2 * 2.5)


def test_nights_near_homes_by_hand() -> None:
    """The building 60 m aside: 300 m reach to 1015 + 293.9 m; the reception at 800 is 208.8 m off."""
    table = constraints(proved(), "no_night_work")
    trench, shaft = table[table["shaft_index"] < 0], table[table["shaft_index"] >= 0]
    reach_m = 1015.0 + math.sqrt(300.0**2 - 60.0**2)
    # the launch's side begins at 706 m, inside the drive: only the trench behind the reception is near
    assert trench[["from_chainage_m"]].to_numpy().ravel() == pytest.approx([800.0])
    assert trench["to_chainage_m"].iloc[0] == pytest.approx(reach_m, abs=1.0)
    assert shaft["shaft_index"].tolist() == [1]
    assert (trench["from_h"].iloc[0], trench["to_h"].iloc[0]) == (20.0, 7.0)
    assert "60 m off" in trench["reason"].iloc[0]
    assert "209 m off" in shaft["reason"].iloc[0]


def test_a_pull_in_that_outlasts_the_day_needs_leave_for_the_night() -> None:
    slow = load_assumptions("[checks.pull_in]\nspeed_m_per_min = [0.3, 0.4, 0.5]\n")
    found = check(proved(a=slow), "pull_in_by_day").iloc[0]
    assert (found["status"], found["demand"], found["capacity"]) == (
        "amber",
        pytest.approx(280.0 / 0.3 / 60.0),
        13.0,
    )
    assert check(proved(), "pull_in_by_day").iloc[0]["status"] == "pass"
    far = only(*(f for f in FEATURES if f[0]["kind"] != "building"))
    assert len(check(proved(far, slow), "pull_in_by_day")) == 0


def test_seasons_bind_the_trench_and_not_the_drive_below() -> None:
    """A hedge may not be felled from March to September; the drive doesn't touch the river's bed."""
    inp = ground(place(crossing("hedge", across(300.0))))
    table = constraints(proved(inp), "closed_season")
    assert table["title"].tolist() == ["no felling"]
    assert table[["from_month_day", "to_month_day"]].to_numpy().tolist() == [["03-01", "09-30"]]
    assert (table["from_chainage_m"].iloc[0], table["to_chainage_m"].iloc[0]) == pytest.approx((298.0, 302.0))
    assert len(constraints(proved(), "closed_season")) == 0


def test_open_cut_in_a_flood_zone_has_its_closed_season() -> None:
    """From x 900 to 1 000 and from 1 100 to 1 120; over the drive from 600 to 700 m nothing is dug."""
    areas = [
        box(900.0, -50.0, 1000.0, 50.0),
        box(1100.0, -50.0, 1120.0, 50.0),
        box(600.0, -50.0, 700.0, 50.0),
    ]
    zones = layer("flood_zones", [{}, {}, {}], areas)
    table = constraints(proved(replace(ground(), flood_zones=zones)), "closed_season")
    closed = table[table["title"] == "no shaft or trench in the flood or dyke zone"]
    spans = closed[["from_chainage_m", "to_chainage_m"]].to_numpy().tolist()
    assert spans == [pytest.approx([900.0, 1000.0], abs=1.0), pytest.approx([1100.0, 1120.0], abs=1.0)]
    assert closed[["from_month_day", "to_month_day"]].to_numpy().tolist() == [["10-01", "03-31"]] * 2
    assert (closed["shaft_index"] == -1).all()


@pytest.mark.parametrize(
    ("speed", "status", "said"),
    [
        pytest.param("[0.5, 1.0, 1.5]", "pass", "", id="280 m at 0.5 m/min: 9.3 h"),
        pytest.param("[0.35, 1.0, 1.5]", "amber", "at the low speed", id="at 0.35 m/min: 13.3 h"),
        pytest.param("[0.2, 0.35, 1.5]", "amber", "already at the expected", id="at 0.35 m/min expected"),
    ],
)
def test_a_pull_in_is_held_against_the_hours_of_the_safe_pull(speed: str, status: str, said: str) -> None:
    found = check(
        proved(a=load_assumptions(f"[checks.pull_in]\nspeed_m_per_min = {speed}\n")), "pull_in_duration"
    )
    (row,) = found.to_dict("records")
    slow = float(speed[1:].split(",")[0])
    assert (row["demand"], row["capacity"]) == (pytest.approx(280.0 / slow / 60.0), 12.0)
    assert row["status"] == status
    assert said in row["reason"]


def test_strings_laid_across_a_road_and_a_pipe_are_listed() -> None:
    """Strings on x 800 to 1 100, y -12 to 12: 10 m of a road of 5 m to each side, a telecom line of 0.5 m."""
    inp = only(
        crossing("road", across(900.0)), crossing("telecom", across(1050.0)), crossing("road", across(1300.0))
    )
    sites = Sites((), ((0, box(800.0, -12.0, 1100.0, 12.0)),))
    table = prove_plan(correct_plan(), inp, DEFAULTS, sites=sites).curves["constraints"]
    laid = table[table["constraint"] == "strings_across"]
    assert laid["from_chainage_m"].tolist() == pytest.approx([900.0, 1050.0])
    assert laid["drive_index"].tolist() == [0, 0]
    assert "240 m2 of road" in laid["reason"].iloc[0]
    assert "it is shut, or led over the strings" in laid["reason"].iloc[0]
    assert "must bear rollers and plant" in laid["reason"].iloc[1]
    without = prove_plan(correct_plan(), inp, DEFAULTS).curves["constraints"]
    assert not {"strings_across", "dug_after_pull_in"} & set(without["constraint"])


def test_owners_of_what_strings_lie_across_must_agree() -> None:
    """Strings on x 800 to 1 100, y -12 to 12: 240 m2 of a road, 24 m2 of a line of 1 m; one road is far."""
    inp = only(
        crossing("road", across(900.0), owner=" Road office "),
        crossing("telecom", across(1050.0)),
        crossing("road", across(1300.0)),
    )
    sites = Sites((), ((0, box(800.0, -12.0, 1100.0, 12.0)),))
    table = prove_plan(correct_plan(), inp, DEFAULTS, sites=sites).curves["agreements"]
    rows = table[table["treatment"] == "strings"]
    assert rows["kind"].tolist() == ["road", "telecom"]
    assert rows["crossing_index"].tolist() == [-1, -1]
    assert rows["drive_index"].tolist() == [0, 0]
    assert rows["chainage_m"].tolist() == pytest.approx([900.0, 1050.0])
    assert rows["owner"].tolist() == ["Road office", "not known"]
    lead = DEFAULTS.treatments["road"].lead_months
    assert rows["lead_high_months"].iloc[0] == lead.high
    assert "240 m2 of it: it is shut, or led over the strings" in rows["to_agree"].iloc[0]
    assert set(prove_plan(correct_plan(), inp, DEFAULTS).curves["agreements"]["drive_index"]) == {-1}


def test_the_trench_under_the_strings_waits_for_the_pull_in() -> None:
    """Open cut behind the reception, its strip 27.5 m to each side: strings on it and beside it."""
    on, at_its_edge, beside = (box(802.5, y_m, 1100.0, y_m + 24.0) for y_m in (-12.0, 27.0, 28.0))
    rows = []
    for area in (on, at_its_edge, beside):
        proofs = prove_plan(correct_plan(), ground(), DEFAULTS, sites=Sites((), ((0, area),)))
        rows.append(constraints(proofs, "dug_after_pull_in"))
    assert [len(found) for found in rows] == [1, 1, 0]
    for found in rows[:2]:
        row = found.iloc[0]
        assert (row["from_chainage_m"], row["to_chainage_m"]) == pytest.approx((802.5, 1100.0))
        assert row["length_m"] == pytest.approx(297.5)
        assert row["section_index"] == 2


@pytest.mark.parametrize(
    ("edge_m", "is_told"),
    [pytest.param(29.0, True, id="29 m off"), pytest.param(31.0, False, id="31 m off")],
)
def test_a_borehole_in_a_dykes_protection_zone_says_so(edge_m: float, is_told: bool) -> None:
    """Boreholes at 580 and 14.28 m aside; a dyke across the drive, its edge so far up-chainage of 630 m."""
    dyke = crossing("dyke", across(630.0 + edge_m + 12.0), feature_id="dyke")
    table = boreholes(proved(only(crossing("river", across(600.0)), dyke)), drive_index=0, shaft_index=-1)
    at = table[np.isclose(table["chainage_m"], 630.0)]
    assert len(at) == 1
    remark = at["remark"].iloc[0]
    assert ("protection zone is 30 m" in (remark or "")) == is_told
    if is_told:
        assert "29 m from dyke" in remark
        assert "sealed" in remark


def test_a_machine_must_not_stand_under_the_river() -> None:
    row = constraints(proved(), "must_not_stand").iloc[0]
    assert (row["from_chainage_m"], row["to_chainage_m"]) == pytest.approx((585.0, 615.0), abs=0.01)


# ---- Pipelines


def test_a_pipeline_passed_deep_and_square_is_no_matter() -> None:
    """Underside 50 - 1.0 - 0.6 = 48.4 m, crown 44 m: 4.4 m clear, at 90 degrees, nowhere alongside."""
    proofs = proved()
    clear = check(proofs, "pipeline_clear").iloc[0]
    assert (clear["capacity"], clear["status"]) == (pytest.approx(4.4, abs=0.3), "pass")
    assert check(proofs, "pipeline_angle").iloc[0]["capacity"] == pytest.approx(90.0)
    assert check(proofs, "pipeline_parallel")["status"].tolist() == ["pass"]


@pytest.mark.parametrize(
    ("feature", "name", "capacity"),
    [
        pytest.param(
            crossing("gas_pipeline", across(760.0), depth_m=4.0, diameter_m=0.6),
            "pipeline_clear",
            1.4,
            id="low",
        ),
        pytest.param(
            crossing("pipeline", across(300.0), depth_m=1.0, diameter_m=0.6),
            "pipeline_clear",
            0.0,
            id="same depth",
        ),
        pytest.param(
            crossing("pipeline", across(300.0), depth_m=2.5, diameter_m=0.6),
            "pipeline_clear",
            0.82,
            id="below trench",
        ),
        pytest.param(crossing("pipeline", across(300.0, lean_m=300.0)), "pipeline_angle", 45.0, id="flat"),
        pytest.param(
            crossing("pipeline", LineString([(-100, 120), (500, 120)])),
            "pipeline_parallel",
            120.0,
            id="parallel",
        ),
    ],
)
def test_each_flag_asks_for_a_study(
    feature: tuple[dict[str, object], object], name: str, capacity: float
) -> None:
    found = check(proved(only(feature)), name).iloc[0]
    assert found["status"] == "amber"
    assert found["capacity"] == pytest.approx(capacity, abs=0.01)
    assert "interference" in found["reason"]


def test_length_alongside_by_hand() -> None:
    """Within 300 m of the end at 500 m, 120 m aside: on to 500 + sqrt(300^2 - 120^2) = 774.9 m, by 5 m."""
    found = check(
        proved(only(crossing("pipeline", LineString([(-100, 120), (500, 120)])))), "pipeline_parallel"
    )
    assert "over 775 m, 120 m off" in found["reason"].iloc[0]


def test_an_input_without_pipelines_proves_nothing() -> None:
    found = check(proved(only(crossing("road", across(200.0)))), "pipeline_parallel")
    assert found["status"].tolist() == ["not_evaluated"]
    assert "for want of asking" in found["reason"].iloc[0]


def test_the_project_may_state_that_there_is_none() -> None:
    stated = load_assumptions("[checks.land]\nis_free_of_steel_pipelines = true\n")
    found = check(proved(only(crossing("road", across(200.0))), stated), "pipeline_parallel")
    assert found["status"].tolist() == ["pass"]
    assert "by the project's own word" in found["reason"].iloc[0]
    beside = only(crossing("pipeline", LineString([(-100, 120), (500, 120)])))
    assert check(proved(beside, stated), "pipeline_parallel")["status"].tolist() == ["amber"]


def test_a_pipeline_out_of_reach_is_told_as_none() -> None:
    far = only(crossing("pipeline", LineString([(-100, 301), (1600, 301)])))
    assert "no gas or product pipeline" in check(proved(far), "pipeline_parallel").iloc[0]["reason"]


def test_a_shaft_in_a_flood_zone_has_its_closed_season() -> None:
    """The zone reaches the launch at x 520, the trench from 515 on, and not the reception at x 800."""
    zone = layer("flood_zones", [{}], [box(515.0, -5.0, 522.0, 5.0)])
    table = proved(replace(ground(), flood_zones=zone)).curves["constraints"]
    closed = table[table["reason"].str.contains("a flood zone")]
    assert closed["shaft_index"].tolist() == [-1, 0]
    assert closed["from_month_day"].tolist() == ["10-01", "10-01"]
    assert closed["to_month_day"].tolist() == ["03-31", "03-31"]
    assert not proved().curves["constraints"]["reason"].str.contains("a flood zone").any()
