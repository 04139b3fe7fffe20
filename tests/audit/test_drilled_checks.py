"""A drilled bore drawn by hand: its levels, lengths and pull by hand, and every fault planted in it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.audit import AuditReport, audit_plan
from routescreen.plan import DrilledCurve, Plan
from tests.audit.place import CROPLAND, Run, place, plan, raster, with_ground

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

A = load_assumptions("[methods.hdd]\nis_enabled = true\n")
ENTRY, LEAVING = math.radians(12.0), math.radians(10.0)
RADIUS_M, BOTTOM_M = 300.0, 40.0
START_M = 50.0 - 1.5 + 0.6 + 0.7  # ground less the pit's depth, sump and bore above its floor
WHOLE = box(-100.0, -300.0, 1600.0, 300.0)
ENDS = (500.0, 820.0)


def run_m(angle: float, bottom_m: float = BOTTOM_M) -> float:
    """From the pit to where it lies level: the corner of both straights, and R tan(a/2) beyond it."""
    return (START_M - bottom_m) / math.tan(angle) + RADIUS_M * math.tan(angle / 2.0)


def half_m(angle: float) -> float:
    """True length of that: the straight up to the bend, and the arc."""
    straight = (START_M - BOTTOM_M) / math.sin(angle) - RADIUS_M * math.tan(angle / 2.0)
    return straight + RADIUS_M * angle


TRUE_M = half_m(ENTRY) + half_m(LEAVING) + ENDS[1] - ENDS[0] - run_m(ENTRY) - run_m(LEAVING)
CURVE = DrilledCurve(BOTTOM_M, ENTRY, LEAVING, RADIUS_M)


def drilled_plan(curve: DrilledCurve = CURVE) -> Plan:
    xy_m = [(0.0, 0.0), (ENDS[0], 0.0), (ENDS[1], 0.0), (1500.0, 0.0)]
    drawn = plan(xy_m, Run(1, START_M, START_M, method="two_pass"), depth_m={0: 1.5, 1: 1.5})
    begin = ENDS[1] + 1.5
    strips = ((begin, 0.0), (begin + TRUE_M + 30.0, 0.0))
    drive = replace(drawn.drives[0], method="hdd", curve=curve, layout_xy_m=strips)
    return replace(drawn, drives=(drive,))


def audited(drawn: Plan, inp: CorridorInput | None = None) -> AuditReport:
    there = with_ground(place() if inp is None else inp, WHOLE, soil="sand_dense", groundwater_depth_m=100.0)
    return audit_plan(drawn, there, A)


def row(report: AuditReport, check: str, element: str = "demo-D001"):
    rows = report.checks[(report.checks["check"] == check) & (report.checks["element_id"] == element)]
    assert len(rows) == 1
    return rows.iloc[0]


def test_the_right_one_breaks_nothing() -> None:
    report = audited(drilled_plan())
    assert [breach.check for breach in report.breaches] == []
    assert not {"thrust", "draw_back", "grade"} & set(report.checks["check"])


def test_lengths_and_levels_by_hand() -> None:
    report = audited(drilled_plan())
    assert row(report, "drive_length_longest")["demand"] == pytest.approx(TRUE_M, abs=1e-6)
    # the river's bed 2.5 m below the water, 1 m of scour: 46.5 m
    assert row(report, "cover_under")["capacity"] == pytest.approx(6.5)
    assert row(report, "cover_under")["demand"] == pytest.approx(6.0)
    assert row(report, "cover")["capacity"] == pytest.approx(6.5)
    # with no water about: the method's own cover is asked from where 6 m below the pit are reached, and there
    # the bore is level
    least_m = min(50.0 - level_m(away_m(6.0, angle), angle) for angle in (ENTRY, LEAVING))
    dry = audited(drilled_plan(), replace(place(), crossings=place().crossings.iloc[:1]))
    assert row(dry, "cover")["capacity"] == pytest.approx(least_m, abs=0.25)  # within a metre's fall
    # 10 m from the pit it has come down by 10 tan of the flatter angle
    assert row(report, "bore_below_ground")["capacity"] == pytest.approx(0.2 + 10.0 * math.tan(LEAVING))


def away_m(cover_m: float, angle: float) -> float:
    fall = max(cover_m, RADIUS_M * (1.0 - math.cos(angle)))
    return fall / math.tan(angle) + RADIUS_M * math.tan(angle / 2.0)


def level_m(x_m: float, angle: float) -> float:
    ahead = run_m(angle) - x_m
    if ahead >= RADIUS_M * math.sin(angle):
        return START_M - x_m * math.tan(angle)
    return BOTTOM_M + RADIUS_M - math.sqrt(RADIUS_M**2 - max(ahead, 0.0) ** 2)


@pytest.mark.parametrize("is_launched_at_lower", [True, False])
def test_pull_by_hand(is_launched_at_lower: bool) -> None:
    """ASTM F1962 with 1.5 times both frictions: the pipe full of water in mud of 11.5 kN/m3 hardly floats."""
    drawn = drilled_plan()
    curve = CURVE if is_launched_at_lower else replace(CURVE, lower_angle_rad=LEAVING, upper_angle_rad=ENTRY)
    drive = replace(drawn.drives[0], is_launched_at_lower=is_launched_at_lower, curve=curve)
    report = audited(replace(drawn, drives=(drive,)))
    pipe = 62.0 * 9.81e-3
    inside_m = 0.5 - 2.0 * 0.0455
    uplift = math.pi / 4.0 * (11.5 * 0.25 - 9.81 * inside_m**2) - pipe
    v_a, v_b = 0.15, 0.45
    down, up = run_m(LEAVING), run_m(ENTRY)  # the pipe goes in at the exit
    deep = START_M - BOTTOM_M
    first = math.exp(v_a * LEAVING) * v_a * pipe * TRUE_M
    saved = v_a * pipe * math.exp(v_a * LEAVING)
    below = math.exp(v_b * LEAVING) * (first + v_b * abs(uplift) * down + uplift * deep - saved * down)
    kept = math.exp(v_b * LEAVING) * saved
    rises = below + (v_b * abs(uplift) - kept) * (TRUE_M - down - up)
    leaves = math.exp(v_b * ENTRY) * (rises + (v_b * abs(uplift) - kept) * up - uplift * deep)
    drag = 70.0 * math.pi / 8.0 * (0.7**2 - 0.5**2)
    expected = max(first, below, rises, leaves) + drag
    assert row(report, "pull_in")["demand"] == pytest.approx(expected, rel=2e-4)
    assert row(report, "rig_pull")["capacity"] == pytest.approx(1500.0 / 1.25)


@pytest.mark.parametrize(
    ("curve", "check"),
    [
        pytest.param(replace(CURVE, bottom_crown_m=41.0), "cover_under", id="too little under the river"),
        pytest.param(replace(CURVE, radius_m=250.0), "bore_bend", id="bent too close"),
        pytest.param(replace(CURVE, lower_angle_rad=math.radians(19.0)), "entry_angle", id="too steep"),
        pytest.param(replace(CURVE, upper_angle_rad=math.radians(5.0)), "exit_angle", id="too flat"),
        pytest.param(replace(CURVE, bottom_crown_m=20.0), "bore_course", id="too deep for its length"),
    ],
)
def test_a_fault_is_found(curve: DrilledCurve, check: str) -> None:
    assert check in {breach.check for breach in audited(drilled_plan(curve)).breaches}


def test_a_hollow_that_lets_it_out_is_found() -> None:
    """Ground down to 42 m at 25 m behind the entry, where the crown lies at 49.8 - 25 tan 12 = 44.5 m."""
    terrain = raster(50.0)
    values = terrain.values.copy()
    x = terrain.west_m + (np.arange(values.shape[1]) + 0.5) * terrain.pixel_width_m
    values[:, (x > 516.0) & (x < 534.0)] = 42.0
    inp = replace(place(), terrain=replace(terrain, values=values))
    assert "bore_below_ground" in {breach.check for breach in audited(drilled_plan(), inp).breaches}


def test_ground_cover_of_the_place_is_farmland() -> None:
    """What the tests above rest on: no water of the ground cover asks for more."""
    assert (place().ground_cover.values == CROPLAND).all()
