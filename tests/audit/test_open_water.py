"""Water that only the ground cover knows is passed under as a lake would be; and unknown depths."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.audit import AuditReport, audit_plan
from routescreen.audit.covers import unmapped_water
from routescreen.audit.drive_checks import UNKNOWN, soil_lengths_m
from routescreen.audit.scene import set_scene
from tests.audit.place import (
    STRAIGHT,
    Run,
    correct_plan,
    crossing,
    crossings,
    place,
    plan,
    with_cover,
    with_ground,
)

ASSUMPTIONS = load_assumptions()
LAKE = ASSUMPTIONS.treatments["lake"]
WATER = list(ASSUMPTIONS.cover).index("water")
POND = box(640.0, -20.0, 660.0, 20.0)  # two by four pixels over the drive, which runs from x 520 to x 800
BED_M = 50.0 - LAKE.water_depth_m - LAKE.scour_m
CHECK = "cover_under_water"


def audited(crown_m: float, *, pond: object = POND, **own: object) -> AuditReport:
    """Audit a level drive under a pond of the ground cover, with nothing else about."""
    inp = replace(with_cover(place(), pond, WATER), crossings=crossings(), **own)
    return audit_plan(plan(STRAIGHT, Run(1, crown_m, crown_m)), inp, ASSUMPTIONS)


def named(report: AuditReport) -> list[str]:
    return [breach.check for breach in report.breaches]


@pytest.mark.parametrize(("more_m", "n"), [(-0.01, 1), (0.01, 0)], ids=["too shallow", "deep enough"])
def test_a_drive_keeps_the_cover_of_a_lake_below_its_assumed_bed(more_m: float, n: int) -> None:
    report = audited(BED_M - LAKE.required_cover_m - more_m)
    assert named(report) == [CHECK] * n
    row = report.checks[report.checks["check"] == CHECK].iloc[0]
    assert row["demand"] == LAKE.required_cover_m
    assert row["capacity"] == pytest.approx(LAKE.required_cover_m + more_m)
    assert row["confidence"] == "assumed"


def test_the_breach_names_drive_and_place() -> None:
    (breach,) = (b for b in audited(BED_M - 1.0).breaches if b.check == CHECK)
    assert (breach.drive, breach.element_id) == (0, "demo-D001")
    assert breach.xy_m is not None
    # flat ground and a level drive: all along the pond alike, and half a bore beside it
    assert 640.0 - 0.28 <= breach.xy_m[0] <= 660.0 + 0.28
    assert breach.chainage_m == pytest.approx(breach.xy_m[0])


def test_a_rising_drive_is_worst_at_the_far_bank() -> None:
    inp = replace(with_cover(place(), POND, WATER), crossings=crossings())
    report = audit_plan(plan(STRAIGHT, Run(1, 43.0, 46.5)), inp, ASSUMPTIONS)
    (breach,) = [b for b in report.breaches if b.check == CHECK]
    assert breach.chainage_m == pytest.approx(660.0 + 0.28, abs=0.001)
    crown_m = 43.0 + 3.5 * (140.28 / 280.0)
    assert breach.capacity == pytest.approx(BED_M - crown_m)


def test_a_terrain_that_is_the_bed_is_lowered_by_the_scour_alone() -> None:
    crown_m = 50.0 - LAKE.scour_m - LAKE.required_cover_m - 0.01
    assert named(audited(crown_m, terrain_is_bed=True)) == []
    # 3.0 m less: neither the lake's cover nor what the method needs anywhere
    assert named(audited(crown_m)) == ["cover", CHECK]


def test_water_under_an_outer_bore_alone_counts() -> None:
    report = audited(BED_M - 1.0, pond=box(640.0, 0.0, 660.0, 10.0))
    assert named(report) == ["cover", CHECK]
    row = report.checks[report.checks["check"] == "cover"].iloc[0]
    assert row["capacity"] == pytest.approx(1.0)
    assert "water of the ground cover's scoured bed to crown" in row["reason"]
    assert named(audited(BED_M - 1.0, pond=box(640.0, 10.0, 660.0, 30.0))) == []


def test_water_that_a_feature_covers_is_left_to_the_feature() -> None:
    inp = with_cover(place(), POND, WATER)
    drawn = replace(inp, crossings=crossings(crossing("lake", POND.buffer(5.0), water_depth_m=1.0)))
    report = audit_plan(plan(STRAIGHT, Run(1, 46.0, 46.0)), drawn, ASSUMPTIONS)
    assert not (report.checks["check"] == CHECK).any()
    assert "cover_under" in set(report.checks["check"])


def test_only_the_part_that_no_feature_covers_is_left() -> None:
    inp = with_cover(place(), POND, WATER)
    half = replace(inp, crossings=crossings(crossing("lake", box(640.0, -30.0, 650.0, 30.0))))
    scene = set_scene(correct_plan(), half, ASSUMPTIONS, axis=None)
    left = unmapped_water(scene.lines[0], scene.ground, scene.features, list(ASSUMPTIONS.cover))
    assert left.bounds[0] == pytest.approx(650.0)
    assert left.bounds[2] == pytest.approx(660.0)


def test_a_road_over_the_water_does_not_make_it_known() -> None:
    inp = with_cover(place(), POND, WATER)
    bridge = replace(inp, crossings=crossings(crossing("road", POND.buffer(5.0))))
    assert CHECK in named(audit_plan(plan(STRAIGHT, Run(1, 46.0, 46.0)), bridge, ASSUMPTIONS))


def test_dry_ground_makes_no_row() -> None:
    report = audit_plan(correct_plan(), place(), ASSUMPTIONS)
    assert not (report.checks["check"] == CHECK).any()


def test_the_soil_is_unknown_where_terrain_is_and_there_is_rock() -> None:
    holed = place().terrain
    assert holed is not None
    values = holed.values.copy()
    values[:, 92:94] = np.nan  # pixel middles x 625 and 635: no level from x 615 to x 645
    inp = replace(place(), terrain=replace(holed, values=values))
    assert UNKNOWN not in soil_lengths_m(set_scene(correct_plan(), inp, ASSUMPTIONS, axis=None), 0)
    rocky = with_ground(inp, box(600.0, -50.0, 640.0, 50.0), rock_depth_m=3.0)
    found = soil_lengths_m(set_scene(correct_plan(), rocky, ASSUMPTIONS, axis=None), 0)
    # rock from x 600 to x 640, its depth below the axis known up to x 615 only
    assert found == pytest.approx({"sand_dense": 240.0, "rock_weak": 15.0, UNKNOWN: 25.0})
    rows = audit_plan(correct_plan(), rocky, ASSUMPTIONS).checks
    unknown = rows[rows["reason"].str.contains("terrain is unknown")]
    assert set(unknown["check"]) == {"drive_length_in_soil", "thrust", "pull_in", "draw_back"}
    assert set(unknown["status"]) == {"not_evaluated"}
