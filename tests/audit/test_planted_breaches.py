"""The audit of hand-made plans: a correct one breaks nothing, each planted breach is named."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import LineString, box

from routescreen.assumptions import load_assumptions
from routescreen.audit import AuditReport, audit_plan
from tests.audit.place import (
    FEATURES,
    STRAIGHT,
    Run,
    across,
    correct_plan,
    crossing,
    crossings,
    place,
    plan,
    with_cover,
    with_ground,
    with_pin,
)

if TYPE_CHECKING:
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput

ASSUMPTIONS = load_assumptions()
FOREST = list(ASSUMPTIONS.cover).index("forest")
WATER = list(ASSUMPTIONS.cover).index("water")
ALL_IDS = frozenset(row["feature_id"] for row, _ in FEATURES)


def audited(plan_: Plan, inp: CorridorInput, carried: frozenset[str] | None = ALL_IDS) -> AuditReport:
    return audit_plan(plan_, inp, ASSUMPTIONS, carried_feature_ids=carried)


def breached(report: AuditReport) -> set[str]:
    return {breach.check for breach in report.breaches}


def test_a_correct_plan_breaks_nothing() -> None:
    whole = box(-100.0, -300.0, 1600.0, 300.0)
    described = with_ground(place(), whole, soil="sand_dense", groundwater_depth_m=3.0)
    report = audited(correct_plan(), described)
    assert report.breaches == ()
    assert set(report.checks["status"]) == {"pass"}


def test_the_schedule_lists_every_crossing_of_the_correct_plan() -> None:
    table = audited(correct_plan(), place()).crossings
    assert table["kind"].tolist() == ["road", "river", "gas_pipeline", "telecom"]
    assert table["treatment"].tolist() == ["open_cut", "trenchless", "trenchless", "open_cut"]
    np.testing.assert_allclose(table["chainage_m"], [200.0, 600.0, 760.0, 1200.0], atol=1e-9)
    np.testing.assert_allclose(table["width_m"], [10.0, 30.0, 8.0, 1.0], atol=1e-9)
    np.testing.assert_allclose(table["angle_deg"], [90.0, 90.0, 90.0, 90.0], atol=1e-9)
    # river: bed 50 - 2.5 - 1.0 scour = 46.5, crown 44; pipeline: underside 50 - 1.0 - 0.6 = 48.4
    np.testing.assert_allclose(table["cover_m"], [np.nan, 2.5, 4.4, np.nan], atol=1e-9)
    # pipeline: 1.0 clear + 1.0 record + 0.1 % of 280 m
    np.testing.assert_allclose(table["required_cover_m"], [np.nan, 2.5, 2.28, np.nan], atol=1e-9)
    np.testing.assert_allclose(table["clearance_m"], [np.nan, np.nan, 4.4, np.nan], atol=1e-9)
    assert table["section_index"].tolist() == [0, 1, 1, 2]
    assert "expose before work" in table["remark"][2]
    assert "consent" in table["remark"][2]


def test_cover_and_its_utilisation_are_required_by_actual() -> None:
    checks = audited(correct_plan(), place()).checks
    row = checks[checks["check"] == "cover"].iloc[0]
    # under the river from its scoured bed, 50 - 2.5 - 1.0 - 44; on land it is 6.0 m
    assert (row["demand"], row["capacity"]) == pytest.approx((2.0, 2.5))
    assert row["utilisation"] == pytest.approx(2.0 / 2.5)
    assert row["margin"] == pytest.approx(0.5)
    assert "scoured bed of river Alder" in row["reason"]
    assert 585.0 - 0.28 <= row["governing_chainage_m"] <= 615.0 + 0.28 + 1e-9  # half a bore beside it


def test_cover_over_dry_land_alone_counts_from_the_ground() -> None:
    row = audited(correct_plan(), only(FEATURES[0])).checks.query("check == 'cover'").iloc[0]
    assert row["capacity"] == pytest.approx(6.0)
    assert "ground to crown" in row["reason"]


def test_a_stream_narrower_than_the_profile_is_no_less_a_bed() -> None:
    """0.2 m wide, between two of the profile's points, 1 m apart: bed 50 - 0.5 - 0.3 - 44."""
    stream = crossing("stream", across(650.5), half_width_m=0.1)
    row = audited(correct_plan(), only(stream)).checks.query("check == 'cover'").iloc[0]
    assert row["capacity"] == pytest.approx(5.2)


@dataclass(frozen=True)
class Planted:
    """One plan with one fault: what must be named, of which element, at which chainage."""

    plan: Plan
    checks: set[str]
    element: str
    chainage_m: float | None = None
    inp: CorridorInput | None = None
    carried: frozenset[str] | None = None


TWO_DRIVES = [(0.0, 0.0), (300.0, 0.0), (400.0, 0.0), *STRAIGHT[1:]]
SHORT_DRIVE = [(0.0, 0.0), (300.0, 0.0), (340.0, 0.0), *STRAIGHT[1:]]
SHARED = [(0.0, 0.0), (520.0, 0.0), (680.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
HOUSE_OVER_DRIVE = crossing("building", box(640.0, 12.0, 655.0, 27.0), feature_id="house")


def only(*features: tuple[dict[str, object], object]) -> CorridorInput:
    """Return the place with these features instead of its own."""
    return replace(place(), crossings=crossings(*features))


def moved_shaft(metres: float) -> Plan:
    good = correct_plan()
    first = replace(good.shafts[0], xy_m=(520.0, metres))
    return replace(good, shafts=(first, *good.shafts[1:]))


def deep_service() -> CorridorInput:
    features = [f for f in FEATURES if f[0]["kind"] != "gas_pipeline"]
    return only(*features, crossing("gas_pipeline", across(760.0), depth_m=4.0, diameter_m=0.6))


def leaning_river() -> CorridorInput:
    features = [f for f in FEATURES if f[0]["kind"] != "river"]
    return only(*features, crossing("river", across(600.0, lean_m=300.0)))


def stated_cover(kind: str, x_m: float, **own: object) -> CorridorInput:
    """Return the place with one more feature across it that states its own cover or level."""
    return place(crossing(kind, across(x_m), feature_id="stated", **own))


ROUND_THE_CORNER = [*STRAIGHT[:3], (1100.0, 250.0), (1500.0, 0.0)]
SKEW = [(0.0, 0.0), (300.0, -100.0), (430.0, 0.0), *STRAIGHT[1:]]

PLANTED = {
    "cover: crown 1.5 m below ground where 2.0 m are needed": Planted(
        plan(TWO_DRIVES, Run(1, 48.5, 48.5), Run(3)), {"cover"}, "demo-D001"
    ),
    "cover under the scoured bed 2.3 m instead of 2.5 m": Planted(
        plan(STRAIGHT, Run(1, 44.2, 44.2)), {"cover_under"}, "demo-D001"
    ),
    "cover under the bed at one bank only, the drive rising through it": Planted(
        plan(STRAIGHT, Run(1, 43.0, 46.0)), {"cover_under"}, "demo-D001", 615.0
    ),
    "service 1.4 m above the crown, 2.28 m needed": Planted(
        correct_plan(), {"service_clearance"}, "demo-D001", inp=deep_service()
    ),
    "service that states 6 m of cover, 4.2 m are there": Planted(
        correct_plan(),
        {"service_clearance"},
        "demo-D001",
        698.0,
        inp=stated_cover("water_main", 700.0, min_cover_m=6.0),
        carried=ALL_IDS | {"stated"},
    ),
    "road that states a level 4 m below the terrain, 2.0 m are left of 2.5 m": Planted(
        correct_plan(),
        {"cover_under"},
        "demo-D001",
        695.0,
        inp=stated_cover("road", 700.0, base_level_m=46.0),
        carried=ALL_IDS | {"stated"},
    ),
    "graveyard to be passed under at its word of 7 m, 6 m are there": Planted(
        correct_plan(),
        {"cover_under"},
        "demo-D001",
        696.0,
        inp=stated_cover("graveyard", 700.0, treatment="trenchless", min_cover_m=7.0, half_width_m=4.0),
        carried=ALL_IDS | {"stated"},
    ),
    "river at 45 deg where 60 deg is the least": Planted(
        correct_plan(), {"crossing_angle"}, "demo-C002", 600.0, inp=leaning_river()
    ),
    "outer bore 2.72 m beside a house, 5 m needed": Planted(
        correct_plan(), {"clearance_sideways"}, "demo-D001", inp=place(HOUSE_OVER_DRIVE)
    ),
    "shaft 1 m beside a road, 5 m needed": Planted(
        plan([(0.0, 0.0), (210.0, 0.0), (300.0, 0.0), *STRAIGHT[1:]], Run(1), Run(3)),
        {"shaft_clearance"},
        "demo-H001",
        210.0,
    ),
    "trench through the river": Planted(
        plan([(0.0, 0.0), (1500.0, 0.0)]), {"treatment", "trench_clearance"}, "demo-C002", 600.0
    ),
    "working strip over a corner of a house that the trench passes": Planted(
        correct_plan(),
        {"trench_clearance"},
        "demo-S003",
        inp=place(crossing("building", box(1100.0, 20.0, 1110.0, 30.0), feature_id="house")),
    ),
    "working strip 7.5 m beside a house, 10 m needed": Planted(
        correct_plan(),
        {"trench_clearance"},
        "demo-S003",
        inp=place(crossing("building", box(1100.0, 35.0, 1110.0, 45.0), feature_id="house")),
    ),
    "30 m of trench between two shafts, 50 m is the least": Planted(
        plan(
            [(0.0, 0.0), (300.0, 0.0), (490.0, 0.0), *STRAIGHT[1:]],
            Run(1, is_launched_at_lower=False),
            Run(3),
        ),
        {"trench_run"},
        "demo-S003",
    ),
    "drive of 1 300 m, 1 200 m is the longest and 1 000 m in this sand": Planted(
        plan([(0.0, 0.0), (100.0, 0.0), (1400.0, 0.0), (1500.0, 0.0)], Run(1)),
        # 1.5 x 1.4 kPa x pi x 0.5 m x 1 300 m = 4 288 kN on the string, 499 kN on the pipe;
        # its strips would reach 1 222 m beyond the corridor, where nothing is known after 200 m
        {"drive_length_longest", "drive_length_in_soil", "thrust", "pull_in", "draw_back", "layout_land"},
        "demo-D001",
    ),
    "drive of 1 100 m, longer than this sand allows": Planted(
        plan([(0.0, 0.0), (250.0, 0.0), (1350.0, 0.0), (1500.0, 0.0)], Run(1)),
        # 3 629 kN on the string, 423 kN on the pipe; strips to 972 m beyond the corridor
        {"drive_length_in_soil", "thrust", "draw_back", "layout_land"},
        "demo-D001",
    ),
    "drive of 30 m, 40 m is the least": Planted(
        plan([(0.0, 0.0), (300.0, 0.0), (330.0, 0.0), *STRAIGHT[1:]], Run(1), Run(3)),
        {"drive_length_least"},
        "demo-D001",
    ),
    "drive through a soil that the method can't drive": Planted(
        plan(
            [(0.0, 0.0), (300.0, 0.0), (340.0, 0.0), *STRAIGHT[1:]],
            Run(1, 47.5, 47.5, "guided_thrust"),
            Run(3),
        ),
        {"drive_length_in_soil"},
        "demo-D001",
        inp=with_ground(place(), box(315.0, -50.0, 325.0, 50.0), soil="till_boulders"),
    ),
    "rise of 9 m on 100 m, 8 % is the most": Planted(
        plan(TWO_DRIVES, Run(1, 36.0, 45.0), Run(3)), {"grade"}, "demo-D001"
    ),
    "fall of 1 % from its launch where the method may only rise": Planted(
        plan(SHORT_DRIVE, Run(1, 47.5, 47.1, "guided_thrust"), Run(3)),
        {"grade"},
        "demo-D001",
    ),
    "shaft one step deeper than the rule": Planted(
        plan(STRAIGHT, Run(1), depth_m={0: 7.5}), {"shaft_depth_rule"}, "demo-H001", 520.0
    ),
    "shaft shallower than its drive needs": Planted(
        plan(STRAIGHT, Run(1), depth_m={1: 7.0}), {"shaft_depth", "shaft_depth_rule"}, "demo-H002", 800.0
    ),
    "shared shaft as deep as the shallower of its two drives": Planted(
        plan(SHARED, Run(1), Run(2, 42.0, 42.0), depth_m={1: 7.25}),
        {"shaft_depth", "shaft_depth_rule"},
        "demo-H002",
        680.0,
    ),
    "shaft of 21.25 m, 16 m is the most": Planted(
        plan(TWO_DRIVES, Run(1, 30.0, 30.0), Run(3)), {"shaft_depth_most"}, "demo-H001"
    ),
    "shaft of 1.25 m on a method that needs 1.5 m": Planted(
        plan(
            SHORT_DRIVE,
            Run(1, 48.5, 48.5, "guided_thrust"),
            Run(3),
            depth_m={0: 1.25},
        ),
        {"shaft_depth", "shaft_depth_rule", "shaft_depth_least"},
        "demo-H001",
    ),
    "alignment 250 m off the axis in a corridor of 200 m to each side": Planted(
        plan(ROUND_THE_CORNER, Run(1)), {"in_corridor", "trench_in_corridor"}, "demo"
    ),
    "shaft partly outside the corridor": Planted(
        plan(
            [(0.0, 0.0), (300.0, 193.0), (400.0, 193.0), (520.0, 0.0), *STRAIGHT[2:]],
            Run(1),
            Run(3),
        ),
        {"shaft_in_corridor"},
        "demo-H001",
        inp=only(*[f for f in FEATURES if f[0]["kind"] != "road"]),
    ),
    "drive at 37.6 deg to the axis, 30 deg is the most": Planted(
        plan(SKEW, Run(1), Run(3)), {"drive_direction"}, "demo-D001"
    ),
    "pin that the alignment must pass, missed by 60 m": Planted(
        correct_plan(), {"pin_via"}, "demo", 1100.0, inp=with_pin(place(), "via", 1100.0, 80.0, 20.0)
    ),
    "pin that lies over a drive, where no works come to the surface": Planted(
        correct_plan(), {"pin_via"}, "demo", 660.0, inp=with_pin(place(), "via", 660.0, 0.0, 20.0)
    ),
    "agreed shaft that does not stand": Planted(
        correct_plan(), {"pin_shaft"}, "demo", 560.0, inp=with_pin(place(), "shaft", 560.0, 0.0, 20.0)
    ),
    "shaft where none is wanted": Planted(
        correct_plan(), {"pin_no_shaft"}, "demo-H001", inp=with_pin(place(), "no_shaft", 520.0, 30.0, 25.0)
    ),
    "crossing that the search's list does not carry": Planted(
        correct_plan(), {"crossing_carried"}, "demo-C004", 1200.0, carried=ALL_IDS - {"telecom"}
    ),
    "crossing of a kind that no treatment is known for": Planted(
        correct_plan(),
        {"crossing_kind", "treatment", "trench_clearance"},
        "demo-C005",
        inp=place(crossing("moat", across(1300.0))),
        carried=ALL_IDS | {"moat"},
    ),
    "shaft in a wood, by consent only": Planted(
        correct_plan(),
        {"shaft_ground_cover"},
        "demo-H001",
        inp=with_cover(place(), box(505, -5, 525, 5), FOREST),
    ),
    "trench through open water": Planted(
        correct_plan(),
        {"trench_ground_cover"},
        "demo-S001",
        inp=with_cover(place(), box(300, -5, 320, 5), WATER),
    ),
    "3.5 m of groundwater over an open auger, 3 m is the most": Planted(
        plan(SHORT_DRIVE, Run(1, 46.67, 46.67, "guided_thrust"), Run(3)),
        {"groundwater_head"},
        "demo-D001",
        inp=with_ground(place(), box(250, -50, 400, 50), groundwater_depth_m=0.0),
    ),
    "3.5 m of a stream over an open auger whose groundwater lies 3 m deep": Planted(
        plan(SHORT_DRIVE, Run(1, 46.67, 46.67, "guided_thrust"), Run(3)),
        {"groundwater_head"},
        "demo-D001",
        inp=place(crossing("stream", across(325.0))),
        carried=ALL_IDS | {"stream"},
    ),
    "alignment that begins 5 m past its terminal": Planted(
        plan([(5.0, 0.0), *STRAIGHT[1:]], Run(1)), {"terminal"}, "demo", 0.0
    ),
    "drive whose shaft stands 1 m beside the alignment": Planted(
        # the strings, laid out for the drive as it was drawn, lie 0.2 degrees beside its line
        moved_shaft(1.0),
        {"drive_on_alignment", "layout_in_line", "layout_start", "layout_length"},
        "demo-D001",
        520.0,
    ),
    "narrow strip up to 490 m from the only house, 100 m is the most": Planted(
        plan([*STRAIGHT[:3], (950.0, 0.0), (1100.0, 0.0), (1500.0, 0.0)], Run(1), narrow=(3, 4)),
        {"narrow_strip"},
        "demo-S003",
        1500.0,
    ),
    "trench through a house": Planted(
        correct_plan(),
        {"treatment", "trench_clearance"},
        "demo-C004",
        inp=place(crossing("building", box(1150.0, -8.0, 1160.0, 8.0), feature_id="house")),
        carried=ALL_IDS | {"house"},
    ),
    "drive under a house": Planted(
        correct_plan(),
        {"treatment", "clearance_sideways"},
        "demo-C003",
        inp=place(crossing("building", box(640.0, -8.0, 650.0, 8.0), feature_id="house")),
        carried=ALL_IDS | {"house"},
    ),
}


@cache
def planted(name: str) -> AuditReport:
    """Audit a planted case once for all tests."""
    case = PLANTED[name]
    return audited(case.plan, case.inp or place(), case.carried or ALL_IDS)


@pytest.mark.parametrize("name", PLANTED)
def test_a_planted_breach_is_named(name: str) -> None:
    case, report = PLANTED[name], planted(name)
    assert breached(report) == case.checks
    assert case.element in {breach.element_id for breach in report.breaches}
    if case.chainage_m is not None:
        found = [b.chainage_m for b in report.breaches if b.element_id == case.element]
        assert any(chainage == pytest.approx(case.chainage_m, abs=1.0) for chainage in found)


@pytest.mark.parametrize("name", PLANTED)
def test_a_breach_stands_in_the_checks_as_failed(name: str) -> None:
    report = planted(name)
    failed = report.checks[report.checks["status"] == "fail"]
    assert len(failed) == len(report.breaches)
    assert (failed["utilisation"] > 1.0).all()
    assert all(str(breach.as_problem()) for breach in report.breaches)


@pytest.mark.parametrize("name", PLANTED)
def test_a_breach_of_the_works_can_be_closed(name: str) -> None:
    """A search that mends needs the drive, the shaft, or the point of the trench in breach."""
    for breach in planted(name).breaches:
        is_of_the_works = breach.element_id[5:6] in ("S", "D", "H", "C")
        assert not is_of_the_works or breach.drive >= 0 or breach.shaft >= 0 or breach.xy_m is not None


def test_a_shared_shaft_of_the_deeper_drive_is_right() -> None:
    report = audited(plan(SHARED, Run(1), Run(2, 42.0, 42.0)), place())
    assert report.breaches == ()


def test_the_strip_may_narrow_beside_a_house_that_it_would_else_touch() -> None:
    beside = place(crossing("building", box(1005.0, 25.0, 1015.0, 35.0), feature_id="house"))
    vertices = [*STRAIGHT[:3], (940.0, 0.0), (1080.0, 0.0), (1500.0, 0.0)]
    carried = ALL_IDS | {"house"}
    assert breached(audited(plan(vertices, Run(1)), beside, carried)) == {"trench_clearance"}
    # half of 30 m: 10 m to the house, just what is asked
    assert audited(plan(vertices, Run(1), narrow=(3,)), beside, carried).breaches == ()


def test_the_same_drive_is_right_when_launched_from_the_other_end() -> None:
    falling = plan(SHORT_DRIVE, Run(1, 47.5, 47.1, "guided_thrust", False), Run(3))
    assert audited(falling, place()).breaches == ()


def test_a_check_without_its_input_is_not_evaluated() -> None:
    bare = replace(place(), axis=None, start=None, end=None)
    checks = audited(correct_plan(), bare, None).checks
    missing = checks[checks["check"].isin(["drive_direction", "terminal", "crossing_carried"])]
    assert missing["status"].tolist() == ["not_evaluated"] * 4
    assert missing["utilisation"].isna().all()
    terminals = missing[missing["check"] == "terminal"]
    assert set(terminals["confidence"]) == {"assumed"}
    assert set(terminals["source"]) == {"none"}


def test_unknown_terrain_over_a_drive_is_not_evaluated() -> None:
    holed = place().terrain
    values = holed.values.copy()
    values[:, 92:94] = np.nan  # x 620 to 640
    report = audited(correct_plan(), replace(place(), terrain=replace(holed, values=values)))
    row = report.checks[report.checks["check"] == "cover"].iloc[0]
    assert row["status"] == "not_evaluated"


def test_a_drive_may_leave_a_fixed_alignment_by_its_tolerance_only() -> None:
    bowed = LineString([(0.0, 0.0), (660.0, 6.0), (1500.0, 0.0)])
    fixed = replace(place(), outline=None, fixed_line=bowed, axis=None)
    assert breached(audited(correct_plan(), fixed)) == {"near_fixed_alignment"}
    closer = LineString([(0.0, 0.0), (660.0, 4.0), (1500.0, 0.0)])
    assert audited(correct_plan(), replace(fixed, fixed_line=closer)).breaches == ()


@pytest.mark.parametrize("name", PLANTED)
def test_no_number_of_a_check_is_infinite(name: str) -> None:
    checks = planted(name).checks
    assert not np.isinf(checks[["demand", "capacity", "utilisation", "margin"]].to_numpy()).any()
    assert (checks["utilisation"].dropna() >= 0.0).all()
