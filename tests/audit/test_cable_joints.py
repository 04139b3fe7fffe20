"""Joints and pulls along the whole route on hand-made plans: figures by hand, land that bears no bay."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from routescreen.audit import audit_plan
from routescreen.audit.cable_joints import plan_joints
from routescreen.audit.cable_way import cable_way
from routescreen.audit.joint_sites import bay_areas
from routescreen.audit.scene import set_scene
from tests.audit.cable_place import close_assumptions as load_assumptions
from tests.audit.place import Run, across, crossing, crossings, place, plan, raster, with_cover, with_ground
from tests.audit.proving import prove_plan

if TYPE_CHECKING:
    import pandas as pd

    from routescreen.audit.proofs import Proofs
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput

WHOLE = box(-100.0, -300.0, 1600.0, 300.0)
BUILT_UP, WETLAND = 6, 4
# 42 kg/m weigh 0.412020 kN/m: at friction 0.25 a level metre adds 0.103005 kN, at 0.40 0.164808 kN.
WEIGHT = 42.0 * 9.81 / 1000.0
LEVEL, LEVEL_HIGH = 0.25 * WEIGHT, 0.40 * WEIGHT
DRUM_500 = "[cable]\ndrum_gross_t = [20.0, 28.5, 40.0]\n"  # (28.5 - 7.5) t / 42 kg/m


STRIPS = """[trench]
working_strip_by_n_systems_m = [35.0, 55.0, 75.0]
protective_strip_by_n_systems_m = [15.0, 34.0, 44.0]
narrow_strip_by_n_systems_m = [22.0, 30.0, 40.0]
"""


def ground(*features: object) -> CorridorInput:
    inp = with_ground(place(), WHOLE, soil="sand_dense", groundwater_depth_m=100.0)
    return replace(inp, crossings=crossings(*features))  # type: ignore[arg-type]


def straight(length_m: float = 1500.0, *more: float, narrow: tuple[int, ...] = ()) -> Plan:
    """Return open cut along the x axis, with further vertices on the way."""
    return plan([(x, 0.0) for x in (0.0, *more, length_m)], narrow=narrow)


def proved(which: Plan | None = None, inp: CorridorInput | None = None, text: str = "") -> Proofs:
    return prove_plan(which or straight(), inp or ground(), load_assumptions(text))


def row(proofs: Proofs, check: str, element: str) -> pd.Series:
    table = proofs.checks
    rows = table[(table["check"] == check) & (table["element_id"] == element)]
    assert len(rows) == 1, (check, element)
    return rows.iloc[0]


def bays_m(proofs: Proofs) -> list[float]:
    return proofs.curves["joint_bays"]["chainage_m"].round(3).tolist()


# ---- Where joints lie -------------------------------------------------------------------------------------


def test_the_pull_limits_a_straight_by_hand() -> None:
    """3 + 0.103005 L <= 125 kN: 1 184.4 m, less than a drum of 1 250 m; with the reserve of 15 % 1 026.1 m.

    (125/1.15 - 3)/0.103005. The first place that leaves no more: 1 500 - 1 026.1 = 473.9 m, next place of
    5 m; without the reserve 315.6 m.
    """
    assert bays_m(proved(text="[cable]\npull_reserve_frac = 0.0\n")) == [320.0]
    proofs = proved()
    assert bays_m(proofs) == [475.0]
    assert proofs.n_joint_bays == 1
    sections = proofs.curves["cable_sections"]
    assert sections["length_m"].tolist() == pytest.approx([475.0, 1025.0])
    assert sections["pull_from_lower_kN"].tolist() == pytest.approx([3 + 475 * LEVEL, 3 + 1025 * LEVEL])
    assert sections["pull_from_higher_high_kN"].tolist() == pytest.approx(
        [3 + 475 * LEVEL_HIGH, 3 + 1025 * LEVEL_HIGH]
    )
    assert sections["drum_t"].tolist() == pytest.approx([7.5 + 0.042 * 475, 7.5 + 0.042 * 1025])
    assert sections["status"].tolist() == ["pass", "amber"]
    plan_row = row(proofs, "joint_plan", "demo")
    # 3 + 1 025 x 0.164808 = 171.9 kN at high friction, at the end to which the second is pulled
    assert plan_row["status"] == "amber"
    assert plan_row["reason"].startswith("1 bay a system, 0 of them in shafts; sections of 475 to 1025 m")
    assert "too much is borne then from 475 to 1500 m, most of all 171.9 kN of 125" in plan_row["reason"]
    (bay,) = proofs.curves["joint_bays"].to_dict("records")
    assert (bay["section_back_m"], bay["section_on_m"]) == pytest.approx((475.0, 1025.0))
    assert bay["pull_from_lower_kN"] == pytest.approx(3 + 475 * LEVEL)
    assert bay["pull_from_higher_kN"] == pytest.approx(3 + 1025 * LEVEL)


def test_high_friction_is_heeded_where_it_costs_no_joint() -> None:
    """At 0.40 a section reaches 740.2 m: 1 400 m still take one joint, at 660 m; 1 500 m would take two."""
    proofs = proved(straight(1400.0))
    assert bays_m(proofs) == [660.0]
    told = row(proofs, "joint_plan", "demo")
    assert (told["status"], told["reason"].endswith("they can be pulled at high friction as well")) == (
        "pass",
        True,
    )
    assert set(proofs.curves["cable_sections"]["status"]) == {"pass"}
    assert "at high friction 2 bays would be needed" in row(proved(), "joint_plan", "demo")["reason"]


def test_the_drum_limits_a_section() -> None:
    assert bays_m(proved(text=DRUM_500)) == [500.0, 1000.0]
    assert bays_m(proved(straight(1499.0), text=DRUM_500))[0] < 500.0


def test_no_bay_lies_on_a_crossing() -> None:
    """A road at 500 m bars the only two places with three sections: four are made."""
    proofs = proved(inp=ground(crossing("road", across(500.0), half_width_m=5.0)), text=DRUM_500)
    assert proofs.n_joint_bays == 3
    # neither the bay of 12 m nor the pad of 17.32 m beside it meets the road's 5 m
    assert all(abs(at - 500.0) > 5.0 + math.sqrt(300.0) / 2.0 for at in bays_m(proofs))


def test_a_path_may_lie_under_the_pad_but_not_under_the_bay() -> None:
    """The pad reaches 8.66 m along the line, the bay 6 m: a path of 2 m from 6.4 m on meets the pad only."""
    beside = ground(crossing("path", across(507.4), half_width_m=1.0))
    assert bays_m(proved(inp=beside, text=DRUM_500)) == [500.0, 1000.0]
    assert (
        proved(inp=ground(crossing("path", across(506.9), half_width_m=1.0)), text=DRUM_500).n_joint_bays == 3
    )


def test_bays_and_pads_by_hand() -> None:
    """Two systems 10 m apart: bays 12 x 13 m, a pad of 300 m2 on each side; one system: on either side."""
    side_m = math.sqrt(300.0)
    (way,) = bay_areas(load_assumptions())
    assert way[0] == (0.0, 12.0, 13.0)
    assert way[1] == pytest.approx((-(6.5 + side_m / 2.0), side_m, side_m))
    assert way[2] == pytest.approx((6.5 + side_m / 2.0, side_m, side_m))
    one = bay_areas(load_assumptions("[link]\nn_systems = 1\n"))
    assert [len(areas) for areas in one] == [2, 2]
    assert one[0][1][0] == -one[1][1][0] == pytest.approx(1.5 + side_m / 2.0)
    three = bay_areas(load_assumptions("[link]\nn_systems = 3\n" + STRIPS))
    assert sorted(areas[1][1] for areas in three) == pytest.approx([side_m, 2.0 * side_m])


def test_a_single_pad_lies_on_the_side_that_is_free() -> None:
    """A building all along on the right, 5 m off: one system has its pad on the left, two have no place."""
    wall = crossing("building", box(0.0, -20.0, 1500.0, -5.0))
    assert proved(inp=ground(wall), text="[link]\nn_systems = 1\n").n_joint_bays == 1
    assert proved(inp=ground(wall)).n_joint_bays is None


def test_cheaper_land_is_preferred_among_equally_few() -> None:
    """Built-up land from 300 to 700 m: the pad, 8.66 m each way, is clear of it from 710 m on."""
    inp = with_cover(ground(), box(300.0, -300.0, 700.0, 300.0), BUILT_UP)
    proofs = proved(inp=inp)
    assert bays_m(proofs) == [710.0]
    assert proofs.curves["joint_bays"]["cover"].tolist() == ["cropland"]


def test_no_bay_lies_on_land_that_bears_no_shaft() -> None:
    inp = with_cover(ground(), box(300.0, -300.0, 700.0, 300.0), WETLAND)
    assert bays_m(proved(inp=inp)) == [710.0]


def test_no_bay_lies_in_the_narrow_strip_or_on_a_bend() -> None:
    assert bays_m(proved(straight(1500.0, 700.0, narrow=(0,)))) == [710.0]
    one = math.radians(1.0)
    bent = plan([(0.0, 0.0), (500.0, 0.0), (500.0 + 1000.0 * math.cos(one), 1000.0 * math.sin(one))])
    assert proved(bent, replace(ground(), outline=WHOLE), DRUM_500).n_joint_bays == 3


def test_no_bay_lies_outside_the_corridor() -> None:
    """Bays and pads reach 6.5 + 17.32 m to each side."""
    wide, slim = (replace(ground(), outline=box(0.0, -half, 1500.0, half)) for half in (23.9, 23.7))
    assert proved(inp=wide).n_joint_bays == 1
    assert proved(inp=slim).n_joint_bays is None


# ---- The way along trench, ramps and drives ----


def test_a_bend_in_the_trench_by_hand() -> None:
    """40 deg after 300 m: factor e^(0.25 x 0.69813) = 1.19066.

    (3 + 30.902) 1.19066 + 30.902 = 71.268 kN. 1 m off the corner: R = 1/(1/cos 20 - 1) = 15.582 m, side wall
    40.366 / 15.582 = 2.591 kN/m.
    """
    turn = math.radians(40.0)
    bent = plan([(0.0, 0.0), (300.0, 0.0), (300.0 + 300.0 * math.cos(turn), 300.0 * math.sin(turn))])
    proofs = proved(bent, replace(ground(), outline=WHOLE), "[trench]\ncorner_cut_m = 1.0\n")
    assert proofs.n_joint_bays == 0
    assert row(proofs, "cable_pull", "demo-S001")["demand"] == pytest.approx(71.268, abs=0.01)
    wall = row(proofs, "side_wall", "demo-S001")
    assert wall["demand"] == pytest.approx(2.591, abs=0.001)
    assert wall["governing_chainage_m"] == pytest.approx(300.0)


def test_the_side_wall_asks_for_a_joint() -> None:
    """Half as far off the corner: R 7.791 m and 5.18 kN/m, over 5; a joint before the bend mends it."""
    turn = math.radians(40.0)
    bent = plan([(0.0, 0.0), (300.0, 0.0), (300.0 + 300.0 * math.cos(turn), 300.0 * math.sin(turn))])
    proofs = proved(bent, replace(ground(), outline=WHOLE))
    assert proofs.n_joint_bays == 1
    assert row(proofs, "side_wall", "demo-S001")["demand"] <= 5.0


def test_bends_near_each_other_share_the_way_between_them() -> None:
    """Two of 10 deg 20 m apart: R = 10/tan 5 = 114.30 m; alone 0.5 m off the corner allow 130.90 m."""
    ten, twenty = math.radians(10.0), math.radians(20.0)
    first = (300.0 + 20.0 * math.cos(ten), 20.0 * math.sin(ten))
    line = [
        (0.0, 0.0),
        (300.0, 0.0),
        first,
        (first[0] + 300.0 * math.cos(twenty), first[1] + 300.0 * math.sin(twenty)),
    ]
    scene = set_scene(plan(line), ground(), load_assumptions(), axis=None)
    (way,) = cable_way(scene).ways
    assert way.radius_m[way.bend_deg > 0.0].tolist() == pytest.approx([114.301, 114.301], abs=0.01)
    far = [*line[:2], (300.0 + 300.0 * math.cos(ten), 300.0 * math.sin(ten))]
    scene = set_scene(plan(far), ground(), load_assumptions(), axis=None)
    (way,) = cable_way(scene).ways
    assert way.radius_m[way.bend_deg > 0.0].tolist() == pytest.approx([130.902], abs=0.01)


def test_a_slope_by_hand() -> None:
    """2 % over 600 m: 600.12 m of cable, a = 1.1458 deg: uphill 3 + w L (0.25 cos a + sin a)."""
    values = np.tile(50.0 + 0.02 * (np.arange(210) * 10.0 - 295.0), (100, 1))
    terrain = replace(raster(0.0), values=values)
    proofs = proved(straight(600.0), replace(ground(), terrain=terrain))
    angle, length_m = math.atan(0.02), 600.0 * math.hypot(1.0, 0.02)
    sections = proofs.curves["cable_sections"].iloc[0]
    up, down = (
        3.0 + WEIGHT * length_m * (0.25 * math.cos(angle) + sign * math.sin(angle)) for sign in (1, -1)
    )
    assert sections["length_m"] == pytest.approx(length_m)
    assert (sections["pull_from_lower_kN"], sections["pull_from_higher_kN"]) == pytest.approx((up, down))
    assert sections["drum_at"] == "higher"


def test_a_hump_bends_the_cable_in_elevation() -> None:
    """Up 2 % to x 750, down again: 2 x 1.1458 deg once, over the top."""
    x_m = np.arange(210) * 10.0 - 295.0
    values = np.tile(50.0 - 0.02 * np.abs(x_m - 755.0), (100, 1))
    terrain = replace(raster(0.0), values=values)
    scene = set_scene(straight(), replace(ground(), terrain=terrain), load_assumptions(), axis=None)
    (way,) = cable_way(scene).ways
    assert way.bend_deg.sum() == pytest.approx(2.0 * math.degrees(math.atan(0.02)), rel=1e-3)


WITH_DRIVE = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
# Of the outer cables' ramps, up 4.74 m and aside 3.75 m on arcs of 25 m: 2 R sin t, 2 R t, t = 28.4636 deg;
# inner cables, 1.75 m aside, turn by 17.2979 deg in the same run.
RUN_M, RAMP_M = 23.8300, 24.8392


def test_the_way_through_ramps_and_drive_by_hand() -> None:
    scene = set_scene(plan(WITH_DRIVE, Run(1)), ground(), load_assumptions(), axis=None)
    way = cable_way(scene)
    assert way.nodes.cable_m[-1] == pytest.approx(1500.0 + 2.0 * (RAMP_M - RUN_M), abs=0.01)
    outer, inner = way.ways
    assert outer.bend_deg.sum() == pytest.approx(4.0 * 28.4636, abs=0.01)
    assert inner.bend_deg.sum() == pytest.approx(4.0 * 17.2979, abs=0.01)
    found = plan_joints(scene)
    assert found is not None
    free_m = way.nodes.chainage_m[found.sites.is_free]
    assert not np.any((free_m > 520.0 - RUN_M - 6.0 + 0.01) & (free_m < 800.0 + RUN_M + 6.0 - 0.01))


def test_the_pull_through_trench_ramps_and_drive_by_hand() -> None:
    """300 m of trench, a drive of 280 m, 120 m of trench, no joint; bends e^(0.25 x 0.496784) = 1.132238.

    From the start: 3 + 276.170 x 0.103005 = 31.447; -> 35.605; down the ramp + 0.559 -> 40.946; + 28.841 =
    69.788 -> 79.016; up + 4.465 -> 94.520; + 96.170 m = 104.426 kN.
    From the end: 3 + 9.906 = 12.906, 14.613, 15.171, 17.177, 46.019, 52.104, 56.569, 64.049, 92.496 kN.
    """
    line = [(0.0, 0.0), (300.0, 0.0), (580.0, 0.0), (700.0, 0.0)]
    proofs = proved(plan(line, Run(1)))
    assert proofs.n_joint_bays == 0
    section = proofs.curves["cable_sections"].iloc[0]
    assert section["pull_from_lower_kN"] == pytest.approx(104.426, abs=0.01)
    assert section["pull_from_higher_kN"] == pytest.approx(92.496, abs=0.01)
    assert section["drum_at"] == "higher"
    assert section["side_wall_from_higher_kN_per_m"] == pytest.approx(64.049 / 25.0, abs=0.001)
    for element in ("demo-S001", "demo-S003"):
        found = row(proofs, "cable_pull", element)
        assert found["demand"] == pytest.approx(92.496, abs=0.01)
        assert found["governing_chainage_m"] == 0.0


TWO_DRIVES = [(0.0, 0.0), (520.0, 0.0), (660.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]


@pytest.mark.parametrize(
    "runs",
    [
        pytest.param((Run(1, 46.0, 42.0), Run(2, 43.0, 45.0)), id="step in the shared shaft"),
        pytest.param((Run(1, 42.0, 46.0),), id="rising drive"),
        pytest.param((Run(2, 46.0, 42.0),), id="falling drive"),
    ],
)
def test_on_level_ground_the_cable_comes_back_to_its_level(runs: tuple[Run, ...]) -> None:
    """Ramps, drives and steps add up to nothing: all that goes down comes up again."""
    scene = set_scene(plan(TWO_DRIVES, *runs), ground(), load_assumptions(), axis=None)
    for way in cable_way(scene).ways:
        assert np.abs(way.slope_deg).max() > 0.5
        assert np.sum(way.length_m * np.sin(np.radians(way.slope_deg))) == pytest.approx(0.0, abs=1e-6)


def test_a_place_in_a_shaft_lies_at_the_level_of_the_bore() -> None:
    """Crowns at 46 and 42 m, bores of 0.56 m: axes 0.28 m lower; the trench 1.54 m below 50 m."""
    scene = set_scene(plan(WITH_DRIVE, Run(1, 46.0, 42.0)), ground(), load_assumptions(), axis=None)
    nodes = cable_way(scene).nodes
    assert nodes.level_m[nodes.kind == "in_shaft"].tolist() == pytest.approx([45.72, 41.72])
    assert set(np.round(nodes.level_m[nodes.kind == "in_trench"], 6)) == {48.46}


def test_a_bend_at_a_shaft_counts_once() -> None:
    bent = [*WITH_DRIVE[:3], (800.0 + 700.0 * math.cos(0.349066), 700.0 * math.sin(0.349066))]
    scene = set_scene(plan(bent, Run(1)), ground(), load_assumptions(), axis=None)
    outer = cable_way(scene).ways[0]
    assert outer.bend_deg.sum() == pytest.approx(4.0 * 28.4636 + 20.0, abs=0.01)


SMALL_DRUM = "[cable]\ndrum_gross_t = [10, 15, 20]\n"  # 178.6 m: enough for one drive with its ramp, 164.8 m


def test_a_joint_in_a_shaft_too_short_for_it_is_the_last_choice_and_told() -> None:
    proofs = proved(plan(TWO_DRIVES, Run(1), Run(2)), text=SMALL_DRUM)
    bays = proofs.curves["joint_bays"]
    (shared,) = bays[bays["kind"] != "in_trench"].to_dict("records")
    assert (shared["chainage_m"], shared["kind"], shared["shaft_index"]) == (660.0, "in_longer_shaft", 1)
    room = row(proofs, "joint_bay_room", "demo-H002")
    assert (room["status"], room["demand"], room["capacity"]) == ("amber", 12.0, 8.0)
    # dry and 7.25 m deep, each m2 costs 4.0 x 170 + 3.25 x 230 dug, 0.3 x 340 slab, 6.95 x 24 filled over it,
    # and 0.3 x (0.95 x 32 + 0.05 x 55) of spoil: 1 706.245 EUR; 4 m more of 21 m are 84 m2
    assert "make it 12 m by 21 m, about its middle, where it breaks no limit" in room["reason"]
    assert "about 143 325 EUR, not in the bill" in room["reason"]
    assert not proofs.checks["check"].str.startswith("joint_shaft").any()
    # whole drums: both drives as one, no joint in a shaft
    kinds = proved(plan(TWO_DRIVES, Run(1), Run(2))).curves["joint_bays"]["kind"]
    assert set(kinds) == {"in_trench"}


@pytest.mark.parametrize(
    ("roads_m", "side", "left_m"),
    [
        pytest.param((675.0,), "down-chainage", [], id="room on one side"),
        pytest.param((645.0, 675.0), "up-chainage", [2.0], id="on neither"),
    ],
)
def test_a_shaft_made_longer_for_its_joint_is_judged_at_that_size(
    roads_m: tuple[float, ...], side: str, left_m: list[float]
) -> None:
    """From 656 to 664 m, 6 m from the roads' edges at 650 and 670; 12 m long it ends at 668, 2 m away."""
    inp = ground(*(crossing("road", across(x_m), feature_id=f"r{x_m:g}") for x_m in roads_m))
    proofs = proved(plan(TWO_DRIVES, Run(1), Run(2)), inp, SMALL_DRUM)
    assert side in row(proofs, "joint_bay_room", "demo-H002")["reason"]
    found = proofs.checks[proofs.checks["check"] == "joint_shaft_clearance"]
    assert found["capacity"].tolist() == pytest.approx(left_m)
    assert (found["demand"] == 5.0).all()
    assert (found["status"] == "fail").all()
    assert not audit_plan(plan(TWO_DRIVES, Run(1), Run(2)), inp, load_assumptions(SMALL_DRUM)).breaches


def test_a_shaft_too_short_is_spared_even_if_that_takes_one_joint_more() -> None:
    """Drums of 760 m: one joint would do in the shaft at 750 m only, two do in the trench."""
    line = [(0.0, 0.0), (610.0, 0.0), (750.0, 0.0), (890.0, 0.0), (1500.0, 0.0)]
    text = "[cable]\ndrum_gross_t = [30.0, 39.42, 50.0]\n"
    spared = proved(plan(line, Run(1), Run(2)), text=text).curves["joint_bays"]["kind"]
    assert spared.tolist() == ["in_trench", "in_trench"]
    fits = text + "joint_bay_length_m = 8.0\n"
    assert proved(plan(line, Run(1), Run(2)), text=fits).curves["joint_bays"]["kind"].tolist() == ["in_shaft"]


def test_a_shaft_long_enough_bears_a_joint() -> None:
    text = SMALL_DRUM + "joint_bay_length_m = 8.0\n"
    proofs = proved(plan(TWO_DRIVES, Run(1), Run(2)), text=text)
    assert "in_shaft" in set(proofs.curves["joint_bays"]["kind"])
    assert "joint_bay_room" not in set(proofs.checks["check"])


def test_return_cables_share_the_bays_and_have_rows_of_their_own() -> None:
    proofs = proved(text="[link]\nreturns_per_system = 1\n")
    sections = proofs.curves["cable_sections"]
    assert sections["cable"].tolist() == ["pole", "pole", "return", "return"]
    returns = sections[sections["cable"] == "return"]
    light = 0.25 * 30.0 * 9.81 / 1000.0
    assert returns["pull_from_lower_kN"].tolist() == pytest.approx([3 + 475 * light, 3 + 1025 * light])
    assert row(proofs, "cable_pull_return", "demo-S001")["status"] == "pass"


def test_the_reserve_is_kept_where_it_costs_no_joint() -> None:
    """An eye of 100 kN: (100/1.15 - 3)/0.103005 = 815.1 m with the reserve: one joint from 684.9 m on.

    Without it (100 - 3)/0.103005 = 941.7 m: from 558.3 m on. High friction, 588.6 m, would take two.
    """
    text = "[cable]\npull_limit_kN = 100.0\n"
    proofs = proved(text=text)
    assert bays_m(proofs) == [685.0]
    assert row(proofs, "cable_pull", "demo-S001")["status"] == "pass"
    assert bays_m(proved(text=text + "pull_reserve_frac = 0.0\n")) == [560.0]


def test_too_little_reserve_is_amber() -> None:
    """An eye of 80 kN: 646.2 m with the reserve, 747.5 m without, so 1 400 m take one joint, at 655 m.

    745 m: 79.7 kN of 80.
    """
    proofs = proved(straight(1400.0), text="[cable]\npull_limit_kN = 80.0\n")
    assert bays_m(proofs) == [655.0]
    found = row(proofs, "cable_pull", "demo-S001")
    assert (found["status"], found["demand"]) == ("amber", pytest.approx(3 + 745 * LEVEL))
    assert proofs.curves["cable_sections"]["status"].tolist() == ["amber", "amber"]


# ---- Levels and corners of the trench ----


def _fewest_joints(scene: object, most_m: float, limit_kN: float, wall: float) -> int:
    """Return the least number of joints by a search over all pairs of places, each pulled step by step."""
    found = plan_joints(scene)  # type: ignore[arg-type]
    assert found is not None
    nodes, (way,) = found.way.nodes, found.way.ways
    at = np.flatnonzero(found.sites.is_free)

    def holds(order: range, sign: float) -> bool:
        pull = 3.0
        for k in order:
            slope = math.radians(sign * way.slope_deg[k])
            pull += WEIGHT * way.length_m[k] * (0.25 * math.cos(slope) + math.sin(slope))
            pull = max(pull, 0.0) * math.exp(0.25 * math.radians(way.bend_deg[k]))
            if pull > limit_kN or (way.bend_deg[k] > 0.0 and pull / way.radius_m[k] > wall):
                return False
        return True

    reached = {0: 0}
    for j in at[1:]:
        for i in sorted(reached, key=lambda node: reached[node]):
            if nodes.cable_m[j] - nodes.cable_m[i] > most_m + 1e-6:
                continue
            first, last = nodes.segment[i], nodes.segment[j]
            if holds(range(first, last), 1.0) or holds(range(last - 1, first - 1, -1), -1.0):
                reached[int(j)] = reached[i] + 1
                break
    return reached[int(at[-1])] - 1


@pytest.mark.parametrize("limit_kN", [20.0, 30.0])
def test_no_plan_has_fewer_joints(limit_kN: float) -> None:
    """Bends and hills against a search over all pairs of places."""
    x_m = np.arange(210) * 10.0 - 295.0
    terrain = replace(raster(0.0), values=np.tile(50.0 + 4.0 * np.sin(x_m / 60.0), (100, 1)))
    line = [(0.0, 0.0), (300.0, 60.0), (500.0, -40.0), (900.0, 30.0), (1200.0, -60.0)]
    inp = replace(ground(crossing("road", across(420.0), half_width_m=20.0)), terrain=terrain)
    a = load_assumptions(f"[cable]\npull_limit_kN = {limit_kN}\ndrum_gross_t = [16.0, 20.1, 30.0]\n")
    scene = set_scene(plan(line), inp, a, axis=None)
    found = plan_joints(scene)
    assert found is not None
    assert len(found.plan.nodes) == _fewest_joints(scene, 300.0, limit_kN, 5.0)


def test_without_a_plan_nothing_is_passed() -> None:
    """Wetland all along bears no bay: 1 500 m can't be one section."""
    proofs = proved(inp=with_cover(ground(), WHOLE, WETLAND))
    assert proofs.n_joint_bays is None
    assert "joint_bays" not in proofs.curves
    found = row(proofs, "joint_plan", "demo")
    assert (found["status"], found["capacity"]) == ("fail", 0.0)
    assert row(proofs, "cable_pull", "demo-S001")["status"] == "not_evaluated"
    assert row(proofs, "side_wall", "demo-S001")["status"] == "not_evaluated"


def test_unknown_ground_is_not_evaluated() -> None:
    inp = ground()
    assert inp.terrain is not None
    values = inp.terrain.values.copy()
    values[:, 100:110] = np.nan
    proofs = proved(inp=replace(inp, terrain=replace(inp.terrain, values=values)))
    for check, element in (("joint_plan", "demo"), ("cable_pull", "demo-S001"), ("side_wall", "demo-S001")):
        found = row(proofs, check, element)
        assert found["status"] == "not_evaluated"
        assert "level of the ground" in found["reason"]
