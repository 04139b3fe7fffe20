"""Cuts and ramps beside shafts: shallow and dry they pass, deep or wet cuts are said to be nobody's proof.

Ramps tell what the bill has for them.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.drives.methods import method_geometry
from tests.audit.place import STRAIGHT, Run, place, plan, with_ground
from tests.audit.proving import prove_plan

if TYPE_CHECKING:
    import pandas as pd

A = load_assumptions()
WHOLE = box(-100.0, -300.0, 1600.0, 300.0)


def rows(check: str, *, water_m: float, crown_m: float = 44.0) -> pd.DataFrame:
    inp = with_ground(place(), WHOLE, soil="sand_dense", groundwater_depth_m=water_m)
    table = prove_plan(plan(STRAIGHT, Run(1, crown_m, crown_m)), inp, A).checks
    return table[table["check"] == check]


def test_only_the_reception_has_an_approach_cut() -> None:
    assert rows("approach_cut", water_m=30.0)["element_id"].tolist() == ["demo-H002"]


def test_both_shafts_have_a_ramp() -> None:
    assert rows("ramp_excavation", water_m=30.0)["element_id"].tolist() == ["demo-H001", "demo-H002"]


def test_a_shallow_dry_cut_passes_with_its_depth() -> None:
    """Crown at 47.24 m: invert 3.32 m down, shaft 4.0 m by steps of 0.25, cut to 4.0 - 0.6 m."""
    row = rows("approach_cut", water_m=30.0, crown_m=47.24).iloc[0]
    assert row["status"] == "pass"
    assert row["demand"] == pytest.approx(3.4)
    assert row["capacity"] == 5.0


@pytest.mark.parametrize(
    ("check", "status"), [("approach_cut", "not_evaluated"), ("ramp_excavation", "amber")]
)
def test_deep_ones_are_no_pass(check: str, status: str) -> None:
    """Crown at 44 m: inverts 6.56 m, axes 6.28 m deep, the ramps' bottom 0.14 + 0.2 m lower."""
    assert set(rows(check, water_m=30.0)["status"]) == {status}


@pytest.mark.parametrize(
    ("check", "status"), [("approach_cut", "not_evaluated"), ("ramp_excavation", "amber")]
)
def test_wet_ones_are_no_pass_and_the_water_is_told(check: str, status: str) -> None:
    """Water 2 m down and its rise of 1.5 m: 0.5 m down at its highest."""
    found = rows(check, water_m=2.0, crown_m=47.24)
    assert set(found["status"]) == {status}
    depth_m = 3.4 if check == "approach_cut" else 50.0 - 47.24 + 0.28 + 0.14 + 0.2
    assert f"{depth_m - 0.5:.1f} m of it under the highest water" in found["reason"].iloc[0]


def test_the_ramps_tell_what_the_bill_has_for_them() -> None:
    """Beyond the trenches, as the earthworks have it."""
    found = rows("ramp_excavation", water_m=30.0, crown_m=47.24)
    assert set(found["status"]) == {"pass"}
    assert found["demand"].tolist() == pytest.approx([3.38, 3.38])
    for reason in found["reason"]:
        assert "m3 dug beyond the trenches" in reason
        assert " 0 m between walls" in reason
    deep = rows("ramp_excavation", water_m=2.0, crown_m=44.0)["reason"]
    for reason in deep:  # 6.62 m deep, 6.12 m under water
        walled = re.search(r"and (\d+) m between walls", reason)
        assert walled is not None
        assert int(walled[1]) > 5


@pytest.mark.parametrize(
    ("crown_m", "run_m", "status"),
    [
        (44.0, 0.0, "pass"),
        (43.6, math.sqrt(4.0 * 25.0 * 0.4 - 0.4**2), "pass"),
        (41.0, math.sqrt(291.0), "amber"),
    ],
    ids=["one-level", "a-little-lower", "3-m-lower"],
)
def test_between_two_drives_the_cables_climb_within_the_shaft_or_not(
    crown_m: float, run_m: float, status: str
) -> None:
    """Two arcs of 25 m rise by h over sqrt(100 h - h^2): 6.31 m for 0.4 m, 17.06 m for 3 m."""
    line = [(0.0, 0.0), (520.0, 0.0), (660.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
    inp = with_ground(place(), WHOLE, soil="sand_dense", groundwater_depth_m=30.0)
    table = prove_plan(plan(line, Run(1, 44.0, 44.0), Run(2, crown_m, crown_m)), inp, A).checks
    digs = table[table["check"] == "ramp_excavation"]
    assert sorted(digs["element_id"]) == ["demo-H001", "demo-H002", "demo-H003"]
    found = digs[digs["element_id"] == "demo-H002"].iloc[0]
    shape = method_geometry(A, "two_pass")
    inside_m = max(shape.launch_plan_m[0], shape.reception_plan_m[0])
    assert (found["demand"], found["capacity"]) == pytest.approx((run_m, inside_m))
    assert found["status"] == status
    reserve = re.search(r"the bill holds one of (\d[\d ]*) EUR as a reserve", found["reason"])
    assert reserve is not None
    assert float(reserve[1].replace(" ", "")) > 100_000.0


def slope_row(soil: str, crown_m: float) -> pd.Series:
    inp = with_ground(place(), WHOLE, soil=soil, groundwater_depth_m=30.0)
    table = prove_plan(plan(STRAIGHT, Run(1, crown_m, crown_m)), inp, A).checks
    found = table[table["check"] == "ramp_slope"]
    assert found["element_id"].tolist() == ["demo-H001", "demo-H002"]
    return found.iloc[0]


def test_deep_in_sand_the_slope_is_no_steeper_than_stands() -> None:
    """tan 35/1.25: 29.26 degrees at any height; the ramps are dug so."""
    found = slope_row("sand_dense", 44.0)
    stands_deg = math.degrees(math.atan(math.tan(math.radians(35.0)) / 1.25))
    assert found["status"] == "pass"
    assert (found["demand"], found["capacity"]) == pytest.approx((stands_deg, stands_deg))
    # 6.28 + 0.34 m deep; bores 18 m, 1.0 m of bottom; faces 2 x 6.62/tan 29.26
    wide = re.search(r"would be ([\d.]+) m wide", found["reason"])
    assert wide is not None
    assert float(wide[1]) == pytest.approx(19.0 + 2.0 * 6.62 * 1.25 / math.tan(math.radians(35.0)), abs=0.06)


def test_the_standard_slope_stands_in_stiff_clay() -> None:
    """60 degrees stand to 6.98 m with 1.25 on strength: 6.62 m are dug."""
    found = slope_row("clay_stiff", 44.0)
    assert (found["status"], found["demand"]) == ("pass", 60.0)
    assert 60.0 < found["capacity"] < 64.0


def test_shallow_ramps_have_no_row_for_their_slope() -> None:
    assert rows("ramp_slope", water_m=30.0, crown_m=47.24).empty


def test_water_is_lowered_for_the_ramps_by_hand() -> None:
    """Water at 2.0 - 1.5 = 0.5 m, bottom 3.38 m, 0.5 m lower: s 3.38 m, R = 3000 x 3.38 x 0.01 = 101.4 m."""
    found = rows("ramp_dewatering_reach", water_m=2.0, crown_m=47.24)
    assert found["demand"].tolist() == pytest.approx([101.4, 101.4], abs=0.1)
    pumped = rows("ramp_dewatering", water_m=2.0, crown_m=47.24)
    assert set(pumped["status"]) == {"pass"}  # one plant does, and the bill has its months
    assert (pumped["demand"] > 0.0).all()
    assert rows("ramp_dewatering", water_m=30.0).empty
