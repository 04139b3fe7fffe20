"""Result tables of the invented corridor, against figures reckoned by hand.

The alignment runs 300, 300, 400, 200 m, two sides of a 150-80-170 triangle, 250 and 250 m: 2040 m.
"""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point

from routescreen.plan import Drive, Plan, section_runs, vertex_chainage_m
from routescreen.results.check import conform
from routescreen.results.numbering import section_at
from routescreen.results.shapes import bore_line, locate_on_axis
from routescreen.results.tables import result_tables
from routescreen.screened import DriveData
from tests.results import example


@pytest.fixture(scope="module")
def tables():
    return example.tables()


def test_conforms_to_the_schema(tables):
    assert list(conform(tables, example.METRES)) == list(tables)


def test_alignment(tables):
    row = tables["alignment"].iloc[0]
    assert row.length_m == pytest.approx(2040.0)
    assert row.total_eur == 2_137_201.80
    assert row.geometry.length == pytest.approx(2040.0)


def test_sections_follow_one_another(tables):
    sections = tables["sections"]
    assert sections.section_id.tolist() == [f"west-S00{n}" for n in range(1, 8)]
    assert sections.construction.tolist() == [
        "open_cut",
        "drive",
        "drive",
        "drive",
        "open_cut",
        "drive",
        "open_cut",
    ]
    starts = [0.0, 300.0, 600.0, 1000.0, 1200.0, 1540.0, 1790.0]
    assert sections.from_chainage_m.tolist() == pytest.approx(starts)
    assert sections.to_chainage_m.tolist() == pytest.approx([*starts[1:], 2040.0])
    assert sections.length_m.tolist() == pytest.approx([300, 300, 400, 200, 340, 250, 250])
    assert sections.geometry.length.tolist() == pytest.approx([300, 300, 400, 200, 340, 250, 250])
    assert sections.method.isna().tolist() == [True, False, False, False, True, False, True]
    assert sections.amount_eur.tolist() == [1201.5, 886_000.3, 0.0, 0.0, 0.0, 0.0, 0.0]


def test_drives_run_from_launch_to_reception(tables):
    drives = tables["drives"]
    assert drives.section_id.tolist() == ["west-S002", "west-S003", "west-S004", "west-S006"]
    assert drives.launch_shaft_id.tolist() == ["west-H001", "west-H003", "west-H004", "west-H005"]
    assert drives.reception_shaft_id.tolist() == ["west-H002", "west-H002", "west-H003", "west-H006"]
    assert drives.grade_percent.tolist() == pytest.approx([-1.0, 0.0, -2.0, 0.2])
    assert drives.length_m.tolist() == pytest.approx(
        [math.hypot(300, 3), 400.0, math.hypot(200, 4), math.hypot(250, 0.5)]
    )
    # invert = crown less the bore's 0.56 m, of the last 0.34 m; the third is launched at its upper end
    assert [line.coords[0][2] for line in drives.geometry] == pytest.approx([13.44, 8.44, 15.44, 15.66])
    assert [line.coords[-1][2] for line in drives.geometry[:3]] == pytest.approx([10.44, 8.44, 11.44])
    assert drives.amount_eur.tolist() == [780_000.0, 0.0, 0.0, 0.0]


def test_worst_check_is_the_status_of_a_drive(tables):
    assert tables["drives"].status.tolist() == ["pass", "amber", "fail", "not_evaluated"]


def test_drive_without_checks_is_not_evaluated():
    bare = dataclasses.replace(example.corridor(), checks=example.checks().iloc[:0])
    assert set(result_tables([bare], example.METRES)["drives"].status) == {"not_evaluated"}


def test_bores_are_numbered_from_the_left(tables):
    bores = tables["bores"]
    first = bores[bores.drive_id == "west-D001"]
    assert first.bore_id.tolist() == [f"west-D001-B{n}" for n in (1, 2, 3, 4)]
    # eastward, so left is north; 6 m apart
    assert [line.coords[0][1] - example.SOUTH for line in first.geometry] == [9.0, 3.0, -3.0, -9.0]
    assert first.length_m.tolist() == pytest.approx([math.hypot(300, 3)] * 4)
    # launched at the upper end: the line runs west, yet B1 stays the northern one
    back = bores[bores.drive_id == "west-D002"].geometry.iloc[0]
    assert back.coords[0][0] > back.coords[-1][0]
    assert back.coords[0][1] - example.SOUTH == 9.0


def test_shafts(tables):
    shafts = tables["shafts"]
    assert shafts.role.tolist() == [
        "launch",
        "reception+reception",
        "launch+reception",
        "launch",
        "launch",
        "reception",
    ]
    assert shafts.chainage_m.tolist() == pytest.approx([300, 600, 1000, 1200, 1540, 1790])
    # the axis begins 100 m further west and lies 10 m further north, so shafts are right of it
    assert shafts.axis_chainage_m.tolist() == pytest.approx([400, 700, 1100, 1300, 1600, 1850])
    assert shafts.offset_m.tolist() == pytest.approx([10.0] * 6)
    assert [point.z for point in shafts.geometry] == [20.0] * 6
    assert shafts.amount_eur.tolist() == [28_000.1, 28_000.2, 0.0, 0.0, 0.0, 0.0]
    assert shafts.move_left_m.isna().all()


def test_shafts_may_carry_how_far_they_move_and_why():
    """The second shaft of six; areas and alternatives take the names of what they are about."""
    inp = example.corridor()
    moves = pd.DataFrame(
        {"move_left_m": [math.nan, 12.5, *[math.nan] * 4], "reason": [None, "So.", *[None] * 4]}
    )
    area = pd.DataFrame(
        {
            "shaft_index": [1],
            "extra_cost_percent": [5.0],
            "extra_eur": [1000.0],
            "places": [4],
            "area_m2": [100.0],
            "geometry": [example.corridor().compounds[0].outline],
        }
    )
    # row 1 of the example's crossings, the track at 150 m, is the first by chainage
    other = pd.DataFrame(
        {"alternative_index": [0], "about_index": [1], "geometry": [LineString([(0, 0), (1, 0)])]}
        | {name: [1] for name in ("rank", "n_otherwise", "drives", "shafts", "breaches")}
        | {
            name: [0.5]
            for name in (
                *("cost_eur", "extra_eur", "measured_eur", "measured_extra_eur"),
                *("overlap_frac", "departure_overlap_frac", "length_m"),
            )
        }
        | {"instead": ["Track by a drive"]}
    )
    layers = {"shaft_tolerance": area, "alternatives": other}
    told = result_tables([dataclasses.replace(inp, shaft_columns=moves, curves=layers)], example.METRES)
    assert conform(told, example.METRES)
    assert told["shafts"].move_left_m.tolist()[1] == 12.5
    assert told["shafts"].reason.isna().tolist() == [True, False, True, True, True, True]
    assert told["shafts"].reason.iloc[1] == "So."
    assert told["shaft_tolerance"].shaft_id.tolist() == ["west-H002"]
    assert told["alternatives"][["alternative_id", "about_id"]].iloc[0].tolist() == ["west-A001", "west-C001"]
    assert told["drives"].reason.tolist()[0] == told["sections"].reason.tolist()[1]


def test_areas(tables):
    assert tables["compounds"].compound_id.tolist() == [f"west-K00{n}" for n in range(1, 7)]
    assert tables["compounds"].area_m2.tolist() == pytest.approx([3000.0] * 6)
    assert tables["compounds"].length_m.tolist() == pytest.approx([75.0] * 6)
    strip = tables["layout_strips"].iloc[0]
    assert (strip.strip_id, strip.shaft_id, strip.drive_id) == ("west-L001", "west-H002", "west-D001")
    assert strip.area_m2 == pytest.approx(320.0 * 24.0)
    assert (strip.pieces, strip.turn_deg, strip.length_m) == (1, 0.0, 320.0)
    assert tables["drives"]["layout_pieces"].tolist() == [1, 0, 0, 0]


def test_crossings_are_numbered_by_chainage(tables):
    schedule = tables["crossing_schedule"]
    assert schedule.crossing_id.tolist() == [f"west-C00{n}" for n in range(1, 7)]
    assert schedule.kind.tolist() == ["track", "railway", "river", "gas_pipeline", "main_road", "ditch"]
    assert schedule.section_id.tolist() == [f"west-S00{n}" for n in (1, 2, 3, 4, 6, 7)]
    assert [point.x - example.WEST for point in schedule.geometry] == pytest.approx(
        [150, 450, 800, 1100, 1585, 1860]
    )
    assert schedule.extra_if_otherwise_eur.isna().all()


def test_checks_and_bill_name_their_elements(tables):
    assert tables["checks"].element_id.tolist() == [
        "west-D001",
        "west-H002",
        "west-D002",
        "west-C003",
        "west-D003",
        "west-D004",
        "west-D004",
        "west",
    ]
    assert tables["checks"].margin.tolist()[:3] == pytest.approx([700.0, 3.75, 4.5])
    bill = tables["bill"]
    assert bill.section_id.tolist()[:-1] == ["west-S001"] + ["west-S002"] * 4
    assert bill.element_id.tolist()[:-1] == ["west-S001", "west-D001", "west-H001", "west-H002", "west-C002"]
    assert bill[["section_id", "element_id"]].iloc[-1].isna().all()


def test_run_record_begins_with_versions_and_caution(tables):
    record = tables["run_record"]
    assert record.key.tolist() == [
        "routescreen_version",
        "schema_version",
        "caution",
        "input",
        "frame_error_percent",
    ]


def test_amounts_are_added_in_cents():
    tenth = example.bill().iloc[[0] * 10].assign(amount_eur=0.1)
    priced = dataclasses.replace(example.corridor(), bill=tenth)
    tables = result_tables([priced], example.METRES)
    assert tables["alignment"].total_eur[0] == 1.0  # 0.1 added ten times is 0.9999999999999999


def test_several_corridors_stand_one_after_the_other():
    tables = result_tables([example.corridor("west"), example.corridor("east")], example.METRES)
    assert tables["alignment"].corridor_id.tolist() == ["west", "east"]
    assert len(tables["bores"]) == 28
    assert tables["shafts"].shaft_id.is_unique
    assert list(conform(tables, example.METRES)) == list(tables)


def _trench_only():
    xy_m = np.array([[0.0, 0.0], [100.0, 0.0]]) + np.array([example.WEST, example.SOUTH])
    plan = Plan("plain", xy_m, np.array([False]), np.array([False]), (), (), 0.0)
    return dataclasses.replace(
        example.corridor(),
        plan=plan,
        drives=(),
        reasons=("Nothing is crossed.",),
        crossings=example.crossings().iloc[:0],
        checks=example.checks().iloc[:0],
        bill=example.bill().iloc[:1],
        compounds=(),
        strips=(),
    )


def test_corridor_without_drives_or_crossings():
    tables = result_tables([_trench_only()], example.METRES)
    assert {name: len(table) for name, table in tables.items() if len(table) == 0} == dict.fromkeys(
        (
            "drives",
            "bores",
            "shafts",
            "compounds",
            "layout_strips",
            "crossing_schedule",
            "joint_bays",
            "crossing_ways",
            "shaft_tolerance",
            "alternatives",
            "binding_limits",
            "checks",
            "costs_apart",
            "drive_curves",
            "cable_curve",
            "cable_sections",
            "investigation_plan",
            "agreements",
            "hazards",
            "parcels_used",
            "earthworks",
            "constraints",
        ),
        0,
    )
    assert list(conform(tables, example.METRES)) == list(tables)


def test_joints_and_sections_of_cable_are_named():
    bays = pd.DataFrame(
        {
            "bay_index": [0, 1],
            "chainage_m": [300.0, 900.0],
            "level_m": [8.0, 2.0],
            "kind": ["in_trench", "in_shaft"],
            "section_index": [0, 1],
            "shaft_index": [-1, 1],
            "cable_length_m": [300.5, 902.0],
            "section_back_m": [300.5, 601.5],
            "section_on_m": [601.5, 1100.0],
            "pull_from_lower_kN": [34.0, 70.0],
            "pull_from_higher_kN": [60.0, 110.0],
            "side_wall_kN_per_m": [1.0, 2.0],
            "cover": ["cropland", "cropland"],
            "geometry": [Point(1.0, 2.0, 8.0), Point(3.0, 4.0, 2.0)],
        }
    )
    corridor = dataclasses.replace(example.corridor(), curves={"joint_bays": bays})
    table = result_tables([corridor], example.METRES)["joint_bays"]
    assert table["bay_id"].tolist() == ["west-J001", "west-J002"]
    assert table["section_id"].tolist() == ["west-S001", "west-S002"]
    assert table["shaft_id"].isna().tolist() == [True, False]
    assert table["shaft_id"][1] == "west-H002"
    assert [point.z for point in table.geometry] == [8.0, 2.0]
    tables = result_tables([corridor], example.METRES)
    assert list(conform(tables, example.METRES)) == list(tables)


def test_corridors_with_and_without_drives_together():
    tables = result_tables([_trench_only(), example.corridor()], example.METRES)
    assert len(tables["drives"]) == 4
    assert list(conform(tables, example.METRES)) == list(tables)


@pytest.mark.parametrize(
    ("at_m", "is_drive", "section"),
    [
        pytest.param(0.0, False, 0, id="start"),
        pytest.param(2040.0, False, 6, id="end"),
        pytest.param(300.0, False, 0, id="joint-as-open-cut"),
        pytest.param(300.0, True, 1, id="joint-as-drive"),
        pytest.param(1200.0, False, 4, id="joint-after-a-drive"),
        pytest.param(500.0, False, 1, id="inside-a-drive-whatever-is-wanted"),
    ],
)
def test_section_at(at_m, is_drive, section):
    plan = example.plan()
    assert section_at(section_runs(plan), vertex_chainage_m(plan), at_m, is_drive=is_drive) == section


def test_section_outside_the_alignment_is_an_error():
    plan = example.plan()
    with pytest.raises(ValueError, match="2041"):
        section_at(section_runs(plan), vertex_chainage_m(plan), 2041.0, is_drive=False)


@given(st.lists(st.booleans(), min_size=1, max_size=12))
def test_sections_cover_every_piece_once(is_drive):
    at = [piece for piece, wanted in enumerate(is_drive) if wanted]
    drives = tuple(Drive("two_pass", 0, 0, True, 0.0, 0.0, piece, piece + 1) for piece in at)
    xy_m = np.column_stack([np.arange(len(is_drive) + 1.0), np.zeros(len(is_drive) + 1)])
    plan = Plan("x", xy_m, np.array(is_drive), np.zeros(len(is_drive), bool), drives, (), 0.0)
    runs = section_runs(plan)
    assert [piece for run in runs for piece in range(run.from_vertex, run.to_vertex)] == list(
        range(len(is_drive))
    )
    assert [run.drive for run in runs if run.drive is not None] == list(range(len(drives)))
    assert all(a.drive is not None or b.drive is not None for a, b in pairwise(runs))


@given(st.floats(0.0, 6.28), st.floats(-50.0, 50.0), st.floats(1.0, 99.0))
def test_offset_is_right_positive(heading_rad, offset_m, along_m):
    ahead = np.array([math.cos(heading_rad), math.sin(heading_rad)])
    right = np.array([ahead[1], -ahead[0]])
    axis = LineString([(0.0, 0.0), tuple(100.0 * ahead)])
    x_m, y_m = along_m * ahead + offset_m * right
    assert locate_on_axis(axis, (x_m, y_m)) == pytest.approx((along_m, offset_m), abs=1e-6)


@given(st.floats(0.0, 6.28), st.floats(-20.0, 20.0), st.booleans())
def test_bore_lies_square_beside_the_drive(heading_rad, left_m, is_launched_at_lower):
    ahead = 200.0 * np.array([math.cos(heading_rad), math.sin(heading_rad)])
    xy_m = np.array([[0.0, 0.0], ahead])
    drive = Drive("two_pass", 0, 1, is_launched_at_lower, 5.0, 8.0, 0, 1)
    plan = Plan("x", xy_m, np.array([True]), np.array([False]), (drive,), (), 0.0)
    bore = bore_line(plan, drive, DriveData(2, 0.5, 6.0, 5.0, 0.0), left_m)
    lower, upper = (np.array(p) for p in (bore.coords if is_launched_at_lower else bore.coords[::-1]))
    assert upper[:2] - lower[:2] == pytest.approx(ahead, abs=1e-9)
    assert np.cross(np.append(ahead, 0.0), np.append(lower[:2], 0.0))[2] / 200.0 == pytest.approx(left_m)
    assert (lower[2], upper[2]) == (4.5, 7.5)


def test_missing_values_of_the_crossings_stay_missing(tables):
    assert pd.isna(tables["crossing_schedule"].name[0])
    assert math.isnan(tables["crossing_schedule"].cover_m[0])
