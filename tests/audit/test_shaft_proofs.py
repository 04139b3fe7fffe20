"""Findings on hand-made shafts: base, thrust wall, eyes, and what is missing.

Place and sizes: ``shaft_ground``.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.audit import audit_plan
from tests.audit.place import Run, crossing, crossings, layer, plan, raster
from tests.audit.proving import prove_plan
from tests.audit.shaft_ground import (
    DEFAULTS,
    LAUNCH,
    RECEPTION,
    STRAIGHT,
    WHOLE,
    ground,
    proved,
    quantity,
    row,
    rows,
)

DRY_M = 100.0
SHAFT_CHECKS = ("base_uplift", "thrust_wall", "eyes", "dewatering", "dewatering_reach")

# --- base ---------------------------------------------------------------------------------------------------


def test_a_base_above_the_highest_water_is_not_lifted_and_nothing_is_asked_for() -> None:
    proofs = proved(ground(DRY_M))
    for check in ("base_uplift", "eyes", "dewatering"):
        found = row(proofs, check)
        assert (found["status"], found["demand"]) == ("pass", 0.0), check
    assert len(rows(proofs, "base_heave")) == len(rows(proofs, "plug_thickness")) == 0
    assert not proofs.shaft_quantities.any()


def test_a_plug_is_held_by_anchors_that_stand_in_the_bill() -> None:
    """Water 0.5 m below ground at its highest: head 6.75 m; 9.81 (6.75 + 2) = 85.84 kPa; 0.9 x 24 x 2 kPa."""
    proofs = proved(ground(2.0))
    uplift = row(proofs, "base_uplift")
    assert uplift["demand"] == pytest.approx(9.81 * 8.75)
    # anchors of 500 kN every 2.5 m: 80 kPa
    assert uplift["capacity"] == pytest.approx(43.2 + 80.0)
    assert uplift["status"] == "pass"
    thickness = row(proofs, "plug_thickness")
    # 9.81 x 6.75/(0.9 x 24 - 9.81)
    assert (thickness["demand"], thickness["capacity"]) == (pytest.approx(5.6164, abs=1e-4), 2.0)
    assert thickness["status"] == "amber"
    left_kPa = 9.81 * 8.75 - 43.2
    assert quantity(proofs, "SH21") == pytest.approx([left_kPa * 8.0 * 21.0, left_kPa * 5.0 * 21.0])
    assert "7163.10 kN of SH21, 85 957 EUR" in thickness["reason"]


def test_a_thick_plug_needs_no_anchors() -> None:
    """9.81 (6.75 + 6) = 125.1 kPa under 0.9 x 24 x 6 = 129.6."""
    proofs = proved(ground(2.0), "[shaft]\nplug_thickness_m = 6.0\n")
    assert row(proofs, "plug_thickness")["status"] == "pass"
    assert quantity(proofs, "SH21") == [0.0, 0.0]


def test_friction_on_the_walls_takes_its_share_off_the_anchors() -> None:
    proofs = proved(ground(2.0), "[shaft]\nanchor_friction_frac = 0.25\n")
    left_kPa = 0.75 * 9.81 * 8.75 - 43.2
    assert quantity(proofs, "SH21")[0] == pytest.approx(left_kPa * 168.0)
    assert row(proofs, "base_uplift")["capacity"] == pytest.approx(123.2 + 0.25 * 9.81 * 8.75)


def test_a_plug_without_anchors_holds_by_its_weight_alone() -> None:
    """9.81 (6.75 + 2) = 85.84 kPa, of which 0.9 x 24 x 2 = 43.2 are held."""
    text = "[checks.shaft]\nhas_plug_anchors = false\n"
    proofs = proved(ground(2.0), text)
    uplift = row(proofs, "base_uplift")
    assert (uplift["status"], uplift["capacity"]) == ("fail", pytest.approx(43.2))
    assert "no anchors: 42.6 kPa on 168 m2 are held by nothing" in uplift["reason"]
    assert row(proofs, "plug_thickness")["status"] == "fail"
    assert quantity(proofs, "SH21") == [0.0, 0.0]
    thick = proved(ground(2.0), f"[shaft]\nplug_thickness_m = 6.0\n{text}")
    assert row(thick, "base_uplift")["status"] == row(thick, "plug_thickness")["status"] == "pass"


def test_a_base_that_the_closest_anchors_do_not_hold_fails() -> None:
    """100 kN every 2.5 m: 16 kPa; 59.2 against 85.8."""
    proofs = proved(ground(2.0), "[checks.shaft]\nanchor_kN = 100.0\n")
    assert row(proofs, "base_uplift")["status"] == "fail"
    assert row(proofs, "plug_thickness")["status"] == "fail"


def test_a_shaft_priced_as_dry_may_be_wet_at_the_highest_water() -> None:
    """Groundwater at 8.0, in 100 years at 6.5 m: 0.75 m over the base; 9.81 x 1.05 against 0.9 x 24 x 0.3."""
    proofs = proved(ground(8.0))
    uplift = row(proofs, "base_uplift")
    assert (uplift["demand"], uplift["capacity"]) == (pytest.approx(10.3005), pytest.approx(6.48))
    assert uplift["status"] == "amber"
    # gradient 0.75/(0.75 + 2 x 1.5) = 0.2
    heave = row(proofs, "base_heave")
    assert heave["demand"] == pytest.approx(1.35 * 9.81 * 0.2)
    assert heave["capacity"] == pytest.approx(0.9 * (20.5 - 9.81))
    assert heave["status"] == "pass"
    assert quantity(proofs, "SH21") == [0.0, 0.0]


def test_the_reason_says_what_a_tight_shaft_would_cost_more() -> None:
    """168 m2 in dense sand, 7.25 m deep, at expected rates, tight less dry.

    Wall and digging 120 x 4 + 140 x 3.25; digging the plug 0.75 x 370 + 1.25 x 470; concrete 1.7 x 340; its
    surplus soil 1.7 x (0.95 x 32 + 0.05 x 55); filling 0.3 m of slab; four eyes 0.7 x 20 000; two months of
    pumping; no 123 m of wells.
    """
    works = 120.0 * 4.0 + 140.0 * 3.25 + 277.5 + 587.5 + 1.7 * 340.0 + 1.7 * 33.15 + 0.3 * 24.0
    more = 168.0 * works + 56_000.0 + 2.0 * 8_000.0 - 123.0 * 110.0
    reason = row(proved(ground(8.0)), "base_uplift")["reason"]
    assert f"would cost {more:,.0f} EUR more".replace(",", " ") in reason


def test_a_slab_that_is_heavy_enough_passes() -> None:
    """Highest water 6.95 m deep: 9.81 (0.30 + 0.3) = 5.89 kPa against 6.48."""
    assert row(proved(ground(8.45)), "base_uplift")["status"] == "pass"


def test_a_base_that_drains_heaves_without_walls_below_it() -> None:
    assert (
        row(proved(ground(8.0), "[checks.shaft]\nwall_embedment_m = 0.0\n"), "base_heave")["status"] == "fail"
    )


@pytest.mark.parametrize(
    ("soil", "more", "told"),
    [("clay_stiff", {}, "tight ground"), ("sand_dense", {"rock_depth_m": 5.0}, "rock")],
)
def test_heave_of_tight_ground_and_rock_is_not_evaluated(
    soil: str, more: dict[str, float], told: str
) -> None:
    heave = row(proved(ground(8.0, soil, **more)), "base_heave")
    assert heave["status"] == "not_evaluated"
    assert told in heave["reason"]


# --- thrust wall --------------------------------------------------------------------------------------------

# at the axis 6.28 m deep, highest water 0.5 m deep: 18.5 x 0.5 + 10.69 x 5.78; tan2(62.5 degrees) = 3.690
PASSIVE_KPA = math.tan(math.radians(62.5)) ** 2 * (18.5 * 0.5 + 10.69 * 5.78)
# groundwater as given 2.0 m deep: face 1.05 x 9.81 x 4.28 + 1.5 x 0.27099 (18.5 x 2 + 10.69 x 4.28) + 10 on
# the cut of 0.56 m; friction 1.5 x 1.4 kPa over 280 m of a string of 0.5 m
FACE_KPA = 1.05 * 9.81 * 4.28 + 1.5 * 0.270990 * (18.5 * 2.0 + 10.69 * 4.28) + 10.0
THRUST_KN = FACE_KPA * math.pi / 4.0 * 0.56**2 + 1.5 * 1.4 * math.pi * 0.5 * 280.0


def test_a_thrust_wall_by_hand() -> None:
    """Usual 3 m by 3 m, largest 6 m by 4.5 m; the usual one lacks 4 %."""
    proofs = proved(ground(2.0))
    wall, block = row(proofs, "thrust_wall"), row(proofs, "thrust_block")
    assert wall["demand"] == pytest.approx(THRUST_KN, rel=1e-5)
    assert wall["capacity"] == pytest.approx(PASSIVE_KPA * 27.0 * 0.5 / 1.3)
    assert (wall["status"], wall["unit"]) == ("pass", "kN")
    needed_m2 = THRUST_KN / (PASSIVE_KPA * 0.5 / 1.3)
    assert 9.0 < needed_m2 < 10.0
    assert block["demand"] == pytest.approx(needed_m2, rel=1e-5)
    assert block["status"] == "amber"
    assert quantity(proofs, "SH27") == [pytest.approx(4.0 * (needed_m2 / 9.0 - 1.0), rel=1e-4), 0.0]


@pytest.mark.parametrize(
    ("most_m", "width_m"),
    [(3.5, 3.5), (9.0, 6.0), (2.0, 3.0)],
    ids=["as wide as said", "never wider than the bores are apart", "never narrower than the usual one"],
)
def test_a_larger_block_is_as_wide_as_the_assumptions_let_it(most_m: float, width_m: float) -> None:
    proofs = proved(ground(2.0), f"[checks.shaft]\nthrust_block_most_width_m = {most_m}\n")
    assert row(proofs, "thrust_wall")["capacity"] == pytest.approx(PASSIVE_KPA * width_m * 4.5 * 0.5 / 1.3)


def test_the_wall_bears_what_the_audit_says_the_drive_asks_for() -> None:
    checks = audit_plan(plan(STRAIGHT, Run(1, 43.0, 44.0)), ground(2.0), DEFAULTS).checks.set_index("check")
    wall = row(proved(ground(2.0), run=Run(1, 43.0, 44.0)), "thrust_wall")
    assert wall["demand"] == checks.loc["thrust", "demand"]


def test_only_the_launch_has_a_thrust_wall() -> None:
    proofs = proved(ground(2.0), run=Run(1, is_launched_at_lower=False))
    assert len(rows(proofs, "thrust_wall", LAUNCH)) == 0
    assert row(proofs, "thrust_wall", RECEPTION)["demand"] == pytest.approx(THRUST_KN, rel=1e-5)
    assert quantity(proofs, "SH27")[0] == 0.0


def test_a_wall_that_no_block_holds_fails_and_says_what_is_left() -> None:
    share = "[checks.shaft]\nthrust_wall_mobilised_frac = 0.1\n"
    proofs = proved(ground(2.0), share)
    wall = row(proofs, "thrust_wall")
    assert wall["status"] == row(proofs, "thrust_block")["status"] == "fail"
    assert f"{THRUST_KN - PASSIVE_KPA * 27.0 * 0.1 / 1.3:.0f} kN a bore are left to anchors" in wall["reason"]
    # the largest block is measured, three times the usual one
    assert quantity(proofs, "SH27")[0] == pytest.approx(4.0 * 2.0)


def test_in_rock_its_angle_holds_under_the_weight_of_the_lighter() -> None:
    """Weak rock of 34 degrees and 22 kN/m3 from 5 m down: the sand's weight counts all the way."""
    wall = row(proved(ground(2.0, rock_depth_m=5.0)), "thrust_wall")
    passive = math.tan(math.radians(62.0)) ** 2 * (18.5 * 0.5 + 10.69 * 5.78)
    assert wall["capacity"] == pytest.approx(passive * 27.0 * 0.5 / 1.3)
    assert "in rock weak" in wall["reason"]


def test_a_pit_s_larger_wall_is_in_no_bill() -> None:
    pit = Run(1, 46.0, 46.0, method="guided_thrust")
    weak = "[checks.shaft]\nthrust_wall_mobilised_frac = 0.05\n"
    proofs = proved(ground(DRY_M), weak, pit)
    assert row(proofs, "thrust_block")["utilisation"] > 1.0
    assert quantity(proofs, "SH27") == [0.0, 0.0]
    assert "the pit's price holds its wall" in row(proofs, "thrust_block")["reason"]


def test_in_a_dry_shaft_the_block_ends_at_the_foot_of_its_slab() -> None:
    """Axis 0.97 m above the base, slab 0.3 m: at most 2 x 1.27 m high about the axis."""
    assert row(proved(ground(DRY_M)), "thrust_block")["capacity"] == pytest.approx(3.0 * 2.54)


def test_high_friction_is_amber_up_to_what_the_frame_gives() -> None:
    """At 3.5 kPa 2 309 kN and the face; the largest block of 1.5 x 0.5 the passive stress holds less."""
    text = "[checks.shaft]\nthrust_block_most_height_m = 3.0\nthrust_wall_factor = 1.5\n"
    high = row(proved(ground(2.0), text), "thrust_wall_high_friction")
    face_kN = FACE_KPA * math.pi / 4.0 * 0.56**2
    assert high["demand"] == pytest.approx(face_kN + 1.5 * 3.5 * math.pi * 0.5 * 280.0, rel=1e-5)
    assert high["status"] == "amber"
    weak = text + "[methods.two_pass]\nthrust_capacity_kN = [2500.0, 2500.0, 2500.0]\n"
    assert row(proved(ground(2.0), weak), "thrust_wall_high_friction")["demand"] == pytest.approx(2000.0)


def test_a_shaft_that_launches_both_ways_has_eyes_behind_each_wall() -> None:
    xy_m = [(0.0, 0.0), (240.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
    both = plan(xy_m, Run(1, is_launched_at_lower=False), Run(2))
    proofs = prove_plan(both, ground(2.0), DEFAULTS)
    walls = rows(proofs, "thrust_wall", "H002")
    assert len(walls) == len(rows(proofs, "eyes", "H002")) == 2
    assert "the eyes of demo-D002 stand in the wall behind" in walls["reason"].iloc[0]
    assert quantity(proofs, "SH27")[1] == pytest.approx(2.0 * quantity(proved(ground(2.0)), "SH27")[0])


# --- eyes ---------------------------------------------------------------------------------------------------


def test_a_wet_eye_asks_for_treated_ground() -> None:
    eyes = row(proved(ground(2.0)), "eyes")
    assert (eyes["demand"], eyes["capacity"]) == (3.0, 30.0)
    assert len(rows(proved(ground(2.0)), "eyes_priced_dry")) == 0
    # 3 bore diameters rule where the least length doesn't
    short = row(proved(ground(2.0), "[checks.shaft]\neye_length_m = 1.0\n"), "eyes")
    assert short["demand"] == pytest.approx(1.68)


@pytest.mark.parametrize(
    ("area", "element", "room_m", "status"),
    [
        pytest.param(box(530.0, -20.0, 540.0, 0.0), LAUNCH, 6.0, "pass", id="ahead of the launch's wall"),
        pytest.param(box(526.0, -20.0, 530.0, 0.0), LAUNCH, 2.0, "fail", id="too near"),
        pytest.param(box(500.0, -20.0, 510.0, 0.0), LAUNCH, 30.0, "pass", id="behind the launch"),
        pytest.param(box(526.0, 9.5, 530.0, 20.0), LAUNCH, 30.0, "pass", id="beside the outer bore"),
        pytest.param(box(780.0, -20.0, 790.0, 0.0), RECEPTION, 7.5, "pass", id="before the reception's wall"),
    ],
)
def test_ground_is_treated_as_far_as_its_surface_is_free(
    area: object, element: str, room_m: float, status: str
) -> None:
    inp = replace(ground(2.0), crossings=crossings(crossing("building", area)))
    eyes = row(proved(inp), "eyes", element)
    assert (eyes["capacity"], eyes["status"]) == (pytest.approx(room_m), status)


def test_an_eye_that_only_the_highest_water_reaches_is_priced_as_dry() -> None:
    """Invert 6.56, highest water 6.5 m deep; four eyes at 0.3 of the price, in ground too tight for wells."""
    found = row(proved(ground(8.0, "clay_stiff")), "eyes_priced_dry")
    assert (found["status"], found["demand"], found["capacity"]) == ("amber", 4.0, pytest.approx(1.2))
    assert "2.80 eye of SH22, 56 000 EUR more" in found["reason"]
    # water 6.60 m deep at its highest stays below the invert
    assert len(rows(proved(ground(8.1, "clay_stiff")), "eyes_priced_dry")) == 0


def test_wells_in_the_bill_keep_an_eye_dry() -> None:
    """Launch 8 x 21 m, 7.25 m deep, in sand: 58 m of edge, 12 wells of 10.25 m, 123 m at 110 EUR."""
    proofs = proved(ground(8.0))
    assert row(proofs, "eyes")["demand"] == 3.0
    assert len(rows(proofs, "eyes_priced_dry")) == 0
    assert "the bill holds 123.00 m of SH28, 13 530 EUR" in row(proofs, "dewatering")["reason"]


def test_a_pit_holds_no_seal_and_no_block_of_its_own() -> None:
    proofs = proved(ground(3.0), run=Run(1, 46.0, 46.0, method="guided_thrust"))
    assert len(rows(proofs, "eyes_priced_dry")) == 0  # wells round it are in the bill
    assert row(proofs, "base_uplift")["status"] == "amber"
    assert "kept dry by pumping" in row(proofs, "dewatering")["reason"]
    assert not proofs.shaft_quantities.any()


# --- what is missing ----------------------------------------------------------------------------------------


def test_nothing_passes_where_the_terrain_is_unknown() -> None:
    inp = replace(ground(2.0), terrain=raster(math.nan))
    inp = replace(inp, flood_zones=layer("flood_zones", [{"level_m": 50.0}], [WHOLE]))
    checks = proved(inp).checks
    checks = checks[checks["element_id"].str.contains("-H")].set_index("check")
    for check in (*SHAFT_CHECKS, "flood"):
        assert set(checks.loc[[check], "status"]) == {"not_evaluated"}, check


def test_every_shaft_has_every_check_and_says_where() -> None:
    proofs = proved(ground(2.0))
    for element, x_m in ((LAUNCH, 520.0), (RECEPTION, 800.0)):
        for check in ("base_uplift", "eyes", "flood", "dyke_zone", "dewatering", "dewatering_reach"):
            assert row(proofs, check, element)["governing_chainage_m"] == x_m
    assert not proofs.checks["reason"].str.contains("nan|inf ").any()
    assert np.isfinite(proofs.shaft_quantities).all()


def test_the_worked_crossing_needs_anchors_and_larger_blocks() -> None:
    """Ground 32, water 30, sand of 18 and 20 kN/m3, 33 degrees; crowns at 22 and 25.1, blocks 2.5 m square.

    Plug by weight 7.62 m at a base 11.16 m deep, built 11.25: 7.70; the block fails at 1.72 of 982 kN.
    """
    text = """
[soil.sand_dense]
gamma_kN_per_m3 = 18.0
gamma_sat_kN_per_m3 = 20.0
phi_deg = 33.0
tau_kPa = [1.0, 1.12907, 2.0]
[groundwater]
highest_rise_m = 0.0
[checks.shaft]
thrust_block_width_m = 2.5
thrust_block_height_m = 2.5
"""
    inp = replace(ground(2.0), terrain=raster(32.0))
    xy_m = [(0.0, 0.0), (180.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
    deep = plan(xy_m, Run(1, 22.0, 25.1), ground_m=32.0)
    proofs = prove_plan(deep, inp, load_assumptions(text))
    head_m = 11.25 - 2.0
    assert row(proofs, "plug_thickness")["demand"] == pytest.approx(9.81 * head_m / 11.79)
    assert row(proofs, "plug_thickness")["demand"] == pytest.approx(7.62, rel=0.015)
    block = row(proofs, "thrust_block")
    # 1 099.6 kN of friction after a stop, face and string
    assert row(proofs, "thrust_wall")["demand"] == pytest.approx(1692.0, rel=0.005)
    assert block["utilisation"] == pytest.approx(1.72, rel=0.005)
    passive = 3.392 * 120.4
    assert block["utilisation"] == pytest.approx(
        row(proofs, "thrust_wall")["demand"] / (passive * 6.25 * 0.5 / 1.3), rel=0.002
    )
    assert {block["status"], row(proofs, "plug_thickness")["status"]} == {"amber"}
