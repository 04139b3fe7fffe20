"""Forces on hand-made drives: by hand, in both directions, at the limits, with inputs missing."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd
import pytest
from shapely import box

from routescreen.assumptions import Assumptions, load_assumptions
from routescreen.audit import AuditReport, audit_plan
from tests.audit.place import Run, across, crossing, crossings, place, plan, with_ground

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()
LENGTH_M = 280.0
WHOLE = box(-100.0, -300.0, 1600.0, 300.0)
DRY_M = 100.0


def bare() -> CorridorInput:
    """Return the place without its crossings: no river stands on the bores."""
    return replace(place(), crossings=crossings())


def audited(run: Run, *, a: Assumptions = DEFAULTS) -> AuditReport:
    inp = with_ground(bare(), WHOLE, soil="sand_dense", groundwater_depth_m=DRY_M)
    xy_m = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
    return audit_plan(plan(xy_m, run), inp, a)


def value(report: AuditReport, check: str, column: str = "demand") -> float:
    rows = report.checks[report.checks["check"] == check]
    assert len(rows) == 1
    return float(rows[column].iloc[0])


# axis 6.28 m deep in dry dense sand (18.5 kN/m3, 35 degrees): 1.5 x 0.27099 x 116.18 + 10 = 57.23 kPa on
# 0.2463 m2: 14.10 kN; friction 1.5 x 1.4 x pi x 0.5 a metre
FACE_KN = 14.10
FRICTION_KN = 1.5 * 1.4 * math.pi * 0.5 * LENGTH_M
# PE OD 0.5 m full of water in grout of 14 kN/m3: 0.60822 + 1.28885 - 2.74889 = -0.85182 kN/m
PIPE_KN = 1.5 * 0.3 * 0.85182 * LENGTH_M + 1.748
ROLLERS_KN = 1.5 * 0.1 * 0.60822 * LENGTH_M + 1.748


def test_level_drive_in_one_soil_by_hand() -> None:
    report = audited(Run(1))
    assert value(report, "thrust") == pytest.approx(FACE_KN + FRICTION_KN, abs=0.02)
    assert value(report, "thrust", "capacity") == pytest.approx(3430.0 / 1.25)
    assert value(report, "pull_in") == pytest.approx(PIPE_KN, abs=0.02)
    assert value(report, "pull_in", "capacity") == pytest.approx(492.0)
    # the string rubs more than the pipe: most when drawing back begins
    assert value(report, "draw_back") == pytest.approx(FRICTION_KN + ROLLERS_KN, abs=0.02)


def test_a_river_stands_on_the_face_however_deep_the_groundwater() -> None:
    """Face under water: u = 9.81 x 6.28 = 61.61 kPa, effective 20.5 x 6.28 - u = 67.13 kPa.

    1.05 u + 1.5 x 0.27099 x 67.13 + 10 = 101.98 kPa on 0.2463 m2: 25.12 kN against 14.10 kN in dry ground.
    """
    inp = with_ground(place(), WHOLE, soil="sand_dense", groundwater_depth_m=DRY_M)
    inp = replace(inp, crossings=crossings(crossing("river", across(600.0))))
    xy_m = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
    report = audit_plan(plan(xy_m, Run(1)), inp, DEFAULTS)
    assert value(report, "thrust") == pytest.approx(25.12 + FRICTION_KN, abs=0.02)


@pytest.mark.parametrize("is_launched_at_lower", [True, False])
def test_the_weight_of_the_string_counts_against_the_launch(is_launched_at_lower: bool) -> None:
    """Rising by 2.8 m along the axis: 1.9 kN/m x 2.8 m either way; the face is deepest at the lower crown."""
    rising = audited(Run(1, 41.2, 44.0, is_launched_at_lower=is_launched_at_lower))
    deep_kPa = 1.5 * 0.270990 * 18.5 * (6.28 + 2.8 - 0.5 / 280.0 * 2.8) + 10.0  # half a metre from the end
    true_frac = math.hypot(1.0, 2.8 / 280.0)
    weight_kN = 1.9 * 2.8 * (1.0 if is_launched_at_lower else -1.0)
    expected = deep_kPa * math.pi * 0.56**2 / 4.0 + FRICTION_KN * true_frac + weight_kN
    assert value(rising, "thrust") == pytest.approx(expected, abs=0.02)


def test_guided_thrust_has_no_pull_in_and_an_open_face() -> None:
    report = audited(Run(1, 46.0, 46.0, method="guided_thrust"))
    casing_m = DEFAULTS.methods["guided_thrust"].driven_outer_diameter_m
    assert value(report, "thrust") == pytest.approx(1.5 * 1.4 * math.pi * casing_m * LENGTH_M, abs=0.02)
    assert value(report, "thrust", "capacity") == pytest.approx(800.0)
    assert not {"pull_in", "draw_back"} & set(report.checks["check"])


@pytest.mark.parametrize(
    ("text", "check"),
    [
        pytest.param("[methods.two_pass]\nthrust_capacity_kN = [900, 1100, 1200]\n", "thrust", id="frame"),
        pytest.param("[pipe.jacking_string]\naxial_capacity_kN = [800, 900, 1000]\n", "thrust", id="string"),
        pytest.param("[checks.pull_in]\ngrout_friction = 1.4\n", "pull_in", id="pipe"),
        pytest.param("[checks.pull_in]\nroller_friction = 8.0\n", "draw_back", id="drawing back"),
    ],
)
def test_what_is_too_weak_is_in_breach(text: str, check: str) -> None:
    report = audited(Run(1), a=load_assumptions(text))
    assert check in {breach.check for breach in report.breaches}
    (breach,) = (b for b in report.breaches if b.check == check)
    assert breach.drive == 0
    assert check not in {b.check for b in audited(Run(1)).breaches}


def test_high_friction_alone_is_amber() -> None:
    """1.5 x 3.5 kPa in dense sand: 8.25 kN/m, 2 309 kN on 280 m; a frame of 2 000 / 1.25 bears 1 600."""
    a = load_assumptions("[methods.two_pass]\nthrust_capacity_kN = [2000, 2000, 2000]\n")
    report = audited(Run(1), a=a)
    rows = report.checks[report.checks["check"] == "thrust_high_friction"]
    assert rows["status"].tolist() == ["amber"]
    assert float(rows["demand"].iloc[0]) == pytest.approx(
        1.5 * 3.5 * math.pi * 0.5 * 280.0 + FACE_KN, abs=0.02
    )
    assert "thrust" not in {breach.check for breach in report.breaches}


def test_unknown_ground_is_not_evaluated() -> None:
    inp = with_ground(bare(), WHOLE, soil="sand_dense", groundwater_depth_m=DRY_M, rock_depth_m=30.0)
    grid = inp.terrain
    assert grid is not None
    values = grid.values.copy()
    values[:, 100] = math.nan  # x from 700 to 710 m
    inp = replace(inp, terrain=replace(grid, values=values))
    xy_m = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
    report = audit_plan(plan(xy_m, Run(1)), inp, DEFAULTS)
    rows = report.checks[report.checks["check"].isin(["thrust", "pull_in", "draw_back"])]
    assert rows["status"].tolist() == ["not_evaluated"] * 3


def test_pipe_bends_down_to_the_bore_within_its_strip_by_hand() -> None:
    """Invert 50 - 44 + 0.56 = 6.56 m deep; in 280 + 20 m a radius of 300^2 / 13.12 m; 25 x 0.5 m at least."""
    report = audited(Run(1))
    assert value(report, "pipe_bend") == pytest.approx(12.5)
    assert value(report, "pipe_bend", "capacity") == pytest.approx(300.0**2 / 13.12, rel=1e-6)
    assert value(report, "pipe_bend", "governing_chainage_m") == pytest.approx(800.0)


@pytest.mark.parametrize(("diameters", "is_breach"), [(13_700, False), (13_730, True)])
def test_too_stiff_a_pipe_is_in_breach(diameters: int, is_breach: bool) -> None:
    """300^2 / 13.12 = 6 859.8 m are 13 719.5 diameters of 0.5 m."""
    report = audited(Run(1), a=load_assumptions(f"[pipe]\ncold_bend_diameters = {diameters}\n"))
    assert ("pipe_bend" in {breach.check for breach in report.breaches}) == is_breach


def test_the_end_that_the_pipe_comes_from_is_the_reception() -> None:
    """Rising by 2.8 m: launched at the upper end, the pipe goes down to 50 - 41.2 + 0.56 = 9.36 m."""
    report = audited(Run(1, 41.2, 44.0, is_launched_at_lower=False))
    room_m = math.hypot(280.0, 2.8) + 20.0
    assert value(report, "pipe_bend", "capacity") == pytest.approx(room_m**2 / (2.0 * 9.36), rel=1e-6)
    assert value(report, "pipe_bend", "governing_chainage_m") == pytest.approx(520.0)


def test_a_weaker_pipe_material_lowers_the_safe_pull() -> None:
    """4 MPa on pi (0.5 - 0.0455) 0.0455 m2 = 0.064968 m2: 259.9 kN instead of the size's 492 kN."""
    report = audited(Run(1), a=load_assumptions("[pipe]\nsafe_pull_stress_MPa = 4.0\n"))
    assert value(report, "pull_in", "capacity") == pytest.approx(259.87, abs=0.02)


# ---- Intermediate stations ----


def tunnel(text: str, run: Run) -> AuditReport:
    return audited(run, a=load_assumptions("[methods.enterable]\nis_enabled = true\n" + text))


# axis 7.03 m deep: 1.5 x 0.27099 x 130.06 + 10 = 62.87 kPa on 3.3329 m2; 1.5 x 1.4 x pi x 2.0 a metre
TUNNEL_FACE_KN = (1.5 * 0.270990 * 18.5 * 7.03 + 10.0) * math.pi * 2.06**2 / 4.0
TUNNEL_KN_PER_M = 1.5 * 1.4 * math.pi * 2.0


def test_a_tunnel_shorter_than_the_frames_run_has_no_stations() -> None:
    report = tunnel("", Run(1, method="enterable"))
    assert value(report, "thrust") == pytest.approx(TUNNEL_FACE_KN + TUNNEL_KN_PER_M * 280.0, abs=0.1)
    assert value(report, "thrust", "capacity") == pytest.approx(12000.0 / 1.25)
    assert "thrust_station" not in set(report.checks["check"])


def test_frame_and_stations_push_their_runs_by_hand() -> None:
    """Rising by 2.8 m along 280 m: 28.3 kN/m x 0.01 on a run; 280 m less 100 m are 2 stations of 90 m."""
    text = "stations_after_m = 100.0\nstation_spacing_m = 90.0\n"
    report = tunnel(text, Run(1, method="enterable"))
    assert value(report, "thrust") == pytest.approx(TUNNEL_FACE_KN + TUNNEL_KN_PER_M * 100.0, abs=0.1)
    station = report.checks[report.checks["check"] == "thrust_station"].iloc[0]
    assert station["demand"] == pytest.approx(TUNNEL_FACE_KN + TUNNEL_KN_PER_M * 90.0, abs=0.1)
    assert station["capacity"] == pytest.approx(8000.0 / 1.25)
    assert "each of 2 stations" in station["reason"]
    level = value(report, "thrust")
    rising, falling = (
        value(tunnel(text, Run(1, *crowns, method="enterable")), "thrust")
        for crowns in ((44.0, 46.8), (46.8, 44.0))
    )
    # the face stays that at the lower crown but for half a metre; the string's weight turns its sign
    assert rising - falling == pytest.approx(2.0 * 28.3 * 2.8 / math.hypot(280.0, 2.8) * 100.0, abs=0.1)
    assert falling < level < rising + 10.0


@pytest.mark.parametrize(
    ("text", "check"),
    [
        pytest.param("thrust_capacity_kN = [1000, 1500, 2000]\n", "thrust", id="frame"),
        pytest.param("station_capacity_kN = [1000, 1500, 2000]\n", "thrust_station", id="station"),
        pytest.param("string_capacity_kN = [1000, 1200, 2000]\n", "thrust_station", id="string"),
    ],
)
def test_a_station_too_weak_is_in_breach(text: str, check: str) -> None:
    runs = "stations_after_m = 100.0\nstation_spacing_m = 90.0\n"
    breaches = {b.check for b in tunnel(runs + text, Run(1, method="enterable")).breaches}
    assert check in breaches
    assert "thrust" not in {b.check for b in tunnel(runs, Run(1, method="enterable")).breaches}


def test_a_run_takes_the_soils_that_rub_most_wherever_they_lie() -> None:
    """100 m of the 280 m lie in made ground of 2.5 kPa: 60 m behind the launch, 40 m at the other end."""
    inp = with_ground(bare(), WHOLE, soil="sand_dense", groundwater_depth_m=DRY_M)
    zones = inp.ground
    assert zones is not None
    made = [zones.iloc[[0]].assign(soil="made_ground") for _ in range(2)]
    made[0].geometry = [box(520.0, -300.0, 580.0, 300.0)]
    made[1].geometry = [box(760.0, -300.0, 800.0, 300.0)]
    rest = zones.assign(
        geometry=[
            WHOLE.difference(box(520.0, -300.0, 580.0, 300.0)).difference(box(760.0, -300.0, 800.0, 300.0))
        ]
    )
    ground = gpd.GeoDataFrame(pd.concat([rest, *made], ignore_index=True), crs=zones.crs)
    text = "[methods.enterable]\nis_enabled = true\nstations_after_m = 150.0\nstation_spacing_m = 90.0\n"
    xy_m = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
    report = audit_plan(
        plan(xy_m, Run(1, method="enterable")), replace(inp, ground=ground), load_assumptions(text)
    )
    rubbed = 1.5 * math.pi * 2.0 * (2.5 * 100.0 + 1.4 * 50.0)
    # made ground: 17.5 kN/m3, 28 degrees, Ka 0.36103
    face_kN = (1.5 * 0.361034 * 17.5 * 7.03 + 10.0) * math.pi * 2.06**2 / 4.0
    assert value(report, "thrust") == pytest.approx(face_kN + rubbed, abs=0.1)
