"""Two plans compared: every difference of a pair that is reckoned by hand, and the laws of any pair."""

from __future__ import annotations

from itertools import pairwise

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import CRS

from routescreen.answers.bills import cents, class_differences, item_differences
from routescreen.answers.compare import NamedPlan, compare_plans
from routescreen.answers.compare_show import comparison_json, comparison_text
from routescreen.answers.plans import Folder, pairs_of
from routescreen.answers.stretches import Route, cost_between, differing_stretches, route_of
from tests.answers import pair as made
from tests.results import example


@pytest.fixture(scope="module")
def plans():
    return made.pair()


@pytest.fixture(scope="module")
def found(plans):
    return compare_plans(*plans)


def _row(table, **where):
    mask = np.logical_and.reduce([table[name] == value for name, value in where.items()])
    assert mask.sum() == 1, where
    return table[mask].iloc[0]


# --- By hand --------------------------------------------------------------------------------------------


def test_the_totals_are_those_of_the_two_bills(found):
    bill = _row(found.figures, figure="bill")
    assert (bill["a"], bill["b"]) == pytest.approx(made.TOTAL_EUR, abs=0.001)
    assert found.extra_eur == pytest.approx(made.EXTRA_EUR, abs=0.001)


@pytest.mark.parametrize(
    ("figure", "unit", "difference"),
    [
        ("length", "m", 0.0),
        ("length in drives", "m", -250.0),
        ("length in open cut", "m", 250.0),
        ("drives", "", -1.0),
        ("shafts", "", -2.0),
        ("crossings passed by drives", "", -1.0),
        ("checks that fail", "", 1.0),
    ],
)
def test_figures_differ_by_the_one_drive(found, figure, unit, difference):
    assert _row(found.figures, figure=figure, unit=unit)["difference"] == pytest.approx(difference)


def test_items_come_by_money(found):
    assert found.items["item"].tolist()[:5] == ["DR21", "SH31", "CR10", "TR90", "TR10"]
    assert found.items["extra_eur"].tolist()[:5] == [-150_000.0, -80_000.0, 35_000.0, 25_000.0, 750.13]


def test_what_another_rate_makes_is_told_apart_from_another_quantity(found):
    """50 m3 more at the mean rate of 12 and 1951.63 / 150.125; the rest of 750.13 comes from the rate."""
    row = _row(found.items, item="TR10")
    by_quantity = round(50.0 * 0.5 * (12.0 + 1951.63 / 150.125), 2)
    assert row["by_quantity_eur"] == by_quantity
    assert row["by_rate_eur"] == round(750.13 - by_quantity, 2)


def test_the_stretch_is_the_drive_with_what_the_trench_costs_there_instead(found):
    row = _row(found.stretches, stretch=1)
    ends = [row[name] for name in ("from_a_m", "to_a_m", "from_b_m", "to_b_m")]
    assert ends == pytest.approx([made.DRIVE_FROM_M, made.DRIVE_TO_M] * 2, abs=1e-6)
    assert row["apart_m"] == pytest.approx(0.0, abs=1e-6)
    assert row["cost_a_eur"] == pytest.approx(230_000.0)
    assert row["cost_b_eur"] == pytest.approx(35_000.0 + 250.0 * 100.0)
    assert row["extra_eur"] == pytest.approx(-170_000.0)
    assert row["reason_b"] == "Open cut, because the owner of L 9 agrees."
    elsewhere = _row(found.stretches, built_a="elsewhere, on the same line")
    assert elsewhere["extra_eur"] == pytest.approx(750.13)


def test_the_drive_and_its_two_pits_are_gone_and_nothing_else_about_the_works(found):
    rows = found.works.to_dict("records")
    assert [(row["works"], row["element_a"], row["element_b"], row["what"]) for row in rows] == [
        ("drive", "west-D004", None, "only in a"),
        ("shaft", "west-H005", None, "only in a"),
        ("shaft", "west-H006", None, "only in a"),
    ]
    assert [row["extra_eur"] for row in rows] == [-150_000.0, -40_000.0, -40_000.0]
    assert "Gone: west-D004 of a at 1+540.0, guided thrust boring, 250 m, 150 000.00 EUR less." in " ".join(
        comparison_text(found).split()
    )


def test_a_drive_launched_from_its_other_end_is_the_same_drive_and_that_is_told(plans):
    drives = plans[0].tables["drives"].copy()
    drives.loc[0, ["launch_shaft_id", "reception_shaft_id"]] = ["west-H002", "west-H001"]
    shafts = plans[0].tables["shafts"].copy()
    shafts.loc[0, "depth_m"] += 0.25
    turned = NamedPlan("turned", "west", {**plans[0].tables, "drives": drives, "shafts": shafts})
    other = compare_plans(plans[0], turned)
    assert other.works[["element_b", "what", "a", "b"]].to_numpy().tolist() == [
        ["west-D001", "launched from", "lower chainage", "higher chainage"],
        ["west-H001", "depth", "7.25 m", "7.50 m"],
    ]
    assert not other.is_same


def _moved(plan: NamedPlan, by_m: float) -> NamedPlan:
    """Return the plan with the lower end of its last drive, under the main road, further on."""
    sections, shafts = plan.tables["sections"].copy(), plan.tables["shafts"].copy()
    sections.loc[sections["section_id"] == "west-S005", "to_chainage_m"] += by_m
    sections.loc[sections["section_id"] == "west-S006", "from_chainage_m"] += by_m
    is_end = shafts["shaft_id"] == "west-H005"
    shafts.loc[is_end, "chainage_m"] += by_m
    shafts.loc[is_end, "geometry"] = shapely.transform(
        shafts.loc[is_end, "geometry"].to_numpy(), lambda xyz: np.add(xyz, [by_m, 0.0, 0.0]), include_z=True
    )
    return NamedPlan("moved", "west", {**plan.tables, "sections": sections, "shafts": shafts})


def test_a_drive_that_has_moved_is_the_same_drive_and_that_is_told(plans):
    for a, b, places in (
        (plans[0], _moved(plans[0], 12.0), ["1+540.0", "1+552.0"]),
        (_moved(plans[0], 12.0), plans[0], ["1+552.0", "1+540.0"]),
    ):
        rows = compare_plans(a, b).works
        assert rows[["element_a", "element_b", "what", "a", "b"]].to_numpy().tolist() == [
            ["west-D004", "west-D004", "place", *places],
            ["west-H005", "west-H005", "place", *places],
        ]
        assert compare_plans(a, b).checks.empty


def test_a_drive_that_shares_less_than_half_or_passes_nothing_the_same_is_another(plans):
    # 250 m long; moved by 130 m it has 120 m left of them
    gone = compare_plans(plans[0], _moved(plans[0], 130.0)).works
    assert set(gone["what"]) == {"only in a", "only in b"}
    schedule = plans[0].tables["crossing_schedule"].copy()
    schedule.loc[schedule["section_id"] == "west-S006", "feature_id"] = "another"
    moved = _moved(plans[0], 12.0)
    elsewhere = NamedPlan("moved", "west", {**moved.tables, "crossing_schedule": schedule})
    assert "only in a" in set(compare_plans(plans[0], elsewhere).works["what"])


def test_the_road_is_the_only_crossing_passed_otherwise(found):
    (row,) = found.crossings.to_dict("records")
    assert (row["name"], row["what"]) == ("L 9", "otherwise")
    assert (row["treatment_a"], row["treatment_b"]) == ("trenchless", "open_cut")
    assert (row["stretch"], row["extra_eur"]) == (1, 35_000.0)


def test_a_check_that_only_fails_in_b_comes_first(found):
    first = found.checks.iloc[0]
    assert (first["check"], first["status_a"], first["status_b"]) == ("trench_allowed", None, "fail")
    assert "NEWLY FAILS: trench allowed" in comparison_text(found)


def test_only_the_assumption_that_differs_is_told(found):
    assert found.assumptions.to_numpy().tolist() == [["rates.TR10", "12", "13"]]
    assert found.inputs.empty


def test_the_text_says_the_sum_and_the_place(found):
    text = " ".join(comparison_text(found).split())
    assert "b costs 169 249.87 EUR less than a" in text
    assert "1+540.0 to 1+790.0 (1+540.0 to 1+790.0 in b), on the same line: 170 000.00 EUR less." in text
    assert "Open cut 250 m instead of 1 drive by guided thrust boring 250 m." in text


# --- Laws -----------------------------------------------------------------------------------------------


def test_a_plan_is_the_same_as_itself(plans):
    for plan in plans:
        same = compare_plans(plan, plan)
        assert same.is_same
        assert same.extra_eur == 0.0
        assert "nothing differs" in comparison_text(same)


@pytest.mark.parametrize("epsg", [25832, 25833])
def test_a_plan_in_another_coordinate_system_is_the_same_plan(plans, epsg):
    """In the zone beside it the plan is turned and some 0.1 % longer."""
    folders = [
        Folder("first", {"west": plans[0].tables}, example.METRES),
        Folder("second", {"west": _in_crs(plans[0].tables, epsg)}, CRS.from_epsg(epsg)),
    ]
    ((a, b),) = pairs_of(folders, None)
    for one, other in ((a, b), (b, a)):
        assert compare_plans(one, other).is_same
    there = NamedPlan("there", "west", folders[1].corridors["west"])
    if epsg != 25833:
        moved = compare_plans(there, NamedPlan("b", "west", _in_crs(plans[1].tables, epsg)))
        row = _row(moved.stretches, stretch=1)
        ends = made.DRIVE_FROM_M, made.DRIVE_TO_M
        assert (row["from_a_m"], row["to_a_m"]) == pytest.approx(ends, abs=0.1)
        assert there.tables["alignment"].length.iloc[0] > 1.0005 * made.LENGTH_M
        assert row["extra_eur"] == pytest.approx(-170_000.0, abs=10.0)


def _in_crs(tables, epsg):
    return {k: t.to_crs(epsg) if isinstance(t, gpd.GeoDataFrame) else t for k, t in tables.items()}


def test_the_pair_is_not_the_same(found):
    assert not found.is_same


@pytest.mark.parametrize("table", ["items", "classes", "stretches"])
def test_differences_add_up_to_that_of_the_totals_to_the_cent(found, table):
    total = cents(getattr(found, table)["extra_eur"])
    assert total == round(100.0 * made.EXTRA_EUR)


def test_exchanged_plans_give_the_mirror_image(plans, found):
    mirror = compare_plans(plans[1], plans[0])
    for name, key in (("figures", ["figure", "unit"]), ("items", ["item"]), ("classes", ["class"])):
        one, other = (getattr(c, name).set_index(key).sort_index() for c in (found, mirror))
        for column in set(one.columns) & {"difference", "extra_eur", "by_quantity_eur", "by_rate_eur"}:
            assert (one[column] + other[column]).abs().max() < 1e-9, (name, column)
    assert found.stretches["extra_eur"].tolist() == [-x for x in mirror.stretches["extra_eur"]]
    assert found.stretches["from_a_m"].tolist()[:1] == mirror.stretches["from_b_m"].tolist()[:1]
    assert found.works["element_a"].tolist() == mirror.works["element_b"].tolist()
    assert found.works["extra_eur"].tolist() == [-x for x in mirror.works["extra_eur"]]
    assert found.crossings["treatment_a"].tolist() == mirror.crossings["treatment_b"].tolist()
    assert found.checks["status_a"].tolist() == mirror.checks["status_b"].tolist()
    assert found.assumptions["a"].tolist() == mirror.assumptions["b"].tolist()


def test_the_object_for_programs_holds_every_table_and_no_nan(found):
    answer = comparison_json(found)
    assert answer["extra_eur"] == pytest.approx(made.EXTRA_EUR)
    assert all(value == value for row in answer["checks"] for value in row.values())
    assert len(answer["items"]) == len(found.items)


LINES = st.lists(
    st.tuples(
        st.sampled_from(["TR10", "TR90", "DR11", "SH01", "XY1"]),
        st.integers(0, 10**6).map(lambda n: n / 1000.0),
        st.integers(1, 10**6).map(lambda n: n / 100.0),
    ),
    max_size=8,
)


def _bill(lines):
    table = pd.DataFrame(lines, columns=["item", "quantity", "rate_eur"])
    amount = (table["quantity"].astype(float) * table["rate_eur"].astype(float)).round(2)
    return table.assign(description="d", unit="m", amount_eur=amount)


@given(LINES, LINES)
@settings(deadline=None, max_examples=25)
def test_any_two_bills_add_up_and_mirror(lines_a, lines_b):
    a, b = _bill(lines_a), _bill(lines_b)
    items, mirror = item_differences(a, b), item_differences(b, a)
    assert cents(items["extra_eur"]) == cents(b["amount_eur"]) - cents(a["amount_eur"])
    assert cents(class_differences(items)["extra_eur"]) == cents(items["extra_eur"])
    assert cents(items["by_quantity_eur"]) + cents(items["by_rate_eur"]) == cents(items["extra_eur"])
    turned = mirror.set_index("item")["extra_eur"].reindex(items["item"])
    assert (turned.to_numpy() == -items["extra_eur"].to_numpy()).all()


# --- Stretches ------------------------------------------------------------------------------------------


def _route(points, cuts=(), built=()):
    line = shapely.LineString(points)
    edges = np.array([0.0, *cuts, line.length])
    kinds = tuple(built) or ("open_cut",) * (len(edges) - 1)
    ids = tuple(f"S{k}" for k in range(len(kinds)))
    bores = tuple(0 if kind == "open_cut" else 4 for kind in kinds)
    return Route(line, edges[:-1], edges[1:], kinds, bores, ids)


STRAIGHT = [(0, 0), (1000, 0)]
DETOUR = [(0, 0), (400, 0), (500, 100), (600, 0), (1000, 0)]


def test_a_detour_begins_where_it_leaves_by_the_tolerance():
    """The detour rises at 45 deg: 5 m off above x = 405. Seen from the straight line it is 5 m off at

    x = 407.07, whose foot on the detour lies 5 m along it. The earlier of both counts.
    """
    (part,) = differing_stretches(_route(STRAIGHT), _route(DETOUR), tolerance_m=5.0)
    along_m = 2.0 * 100.0 * 2.0**0.5
    expected = [405.0, 595.0, 405.0, 400.0 + along_m - 5.0, 100.0]
    assert [part.from_a_m, part.to_a_m, part.from_b_m, part.to_b_m, part.apart_m] == pytest.approx(expected)


def test_lines_nearer_than_the_tolerance_are_the_same():
    beside = [(0, 4), (1000, 4)]
    assert differing_stretches(_route(STRAIGHT), _route(beside), tolerance_m=5.0) == ()


def test_lines_that_never_meet_differ_from_end_to_end():
    far = [(0, 50), (1000, 50)]
    (part,) = differing_stretches(_route(STRAIGHT), _route(far), tolerance_m=5.0)
    assert (part.from_a_m, part.to_a_m, part.apart_m) == (0.0, 1000.0, 50.0)


def test_a_longer_drive_takes_both_drives_whole():
    a = _route(STRAIGHT, (300, 500), ("open_cut", "two_pass", "open_cut"))
    b = _route(STRAIGHT, (300, 560), ("open_cut", "two_pass", "open_cut"))
    (part,) = differing_stretches(a, b, tolerance_m=5.0)
    assert (part.from_a_m, part.to_a_m) == (300.0, 560.0)
    assert differing_stretches(a, a, tolerance_m=5.0) == ()


def test_a_chain_of_drives_is_never_cut():
    built = ("open_cut", "two_pass", "two_pass", "open_cut")
    a, b = _route(STRAIGHT, (300, 500, 700), built), _route(STRAIGHT, (300, 540, 700), built)
    (part,) = differing_stretches(a, b, tolerance_m=5.0)
    assert (part.from_a_m, part.to_a_m, part.from_b_m, part.to_b_m) == (300.0, 700.0, 300.0, 700.0)


WIGGLES = st.lists(st.integers(-60, 60), min_size=3, max_size=9)


@given(WIGGLES, WIGGLES)
@settings(deadline=None, max_examples=60)
def test_stretches_follow_one_another_and_mirror(left, right):
    a, b = (
        _route([(1000.0 * k / (len(offsets) - 1), float(y)) for k, y in enumerate(offsets)])
        for offsets in (left, right)
    )
    parts, mirror = differing_stretches(a, b, tolerance_m=5.0), differing_stretches(b, a, tolerance_m=5.0)
    for route, ends in (
        (a, [(s.from_a_m, s.to_a_m) for s in parts]),
        (b, [(s.from_b_m, s.to_b_m) for s in parts]),
    ):
        edges = [edge for pair in ends for edge in pair]
        assert edges == sorted(edges)
        assert all(-1e-6 <= edge <= route.line.length + 1e-6 for edge in edges)
    own = [edge for s in parts for edge in (s.from_a_m, s.to_a_m, s.from_b_m, s.to_b_m)]
    turned = [edge for s in mirror for edge in (s.from_b_m, s.to_b_m, s.from_a_m, s.to_a_m)]
    assert own == pytest.approx(turned, abs=1e-6)
    # outside the stretches nothing is further off than the tolerance
    for at_m in np.linspace(0.0, a.line.length, 200):
        if not any(s.from_a_m - 1e-6 <= at_m <= s.to_a_m + 1e-6 for s in parts):
            assert shapely.distance(a.at(float(at_m))[0], b.line) <= 5.0 + 1e-6


@given(st.lists(st.floats(0.0, made.LENGTH_M), max_size=4))
@settings(deadline=None, max_examples=15)
def test_costs_of_stretches_end_to_end_add_up(plans, cuts):
    """Cuts inside drives are moved to their ends: no stretch cuts a drive."""
    tables = plans[0].tables
    route = route_of(tables)
    drives = [(300.0, 1200.0), (made.DRIVE_FROM_M, made.DRIVE_TO_M)]
    moved = [next((a for a, b in drives if a < cut < b), cut) for cut in cuts]
    edges = sorted({0.0, *moved, made.LENGTH_M})
    total = sum(cost_between(tables, route, *pair) for pair in pairwise(edges))
    bill = tables["bill"]
    assert total == pytest.approx(bill.loc[bill["section_id"].notna(), "amount_eur"].sum(), abs=0.01)
