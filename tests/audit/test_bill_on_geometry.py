"""The bill on the exact geometry: lengths, counts and places that can be checked by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Polygon, box

from routescreen.assumptions import load_assumptions
from routescreen.audit import AuditReport, audit_plan
from routescreen.money.measure import bill_items, rates_eur
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
INDEX = bill_items(ASSUMPTIONS).index


def audited(inp: object = None, plan_: object = None) -> AuditReport:
    return audit_plan(plan_ or correct_plan(), inp or place(), ASSUMPTIONS)


def quantity(report: AuditReport, item: str) -> list[float]:
    return report.section_quantities[:, INDEX[item]].tolist()


def test_sections_follow_one_another_from_start_to_end() -> None:
    sections = audited().sections
    assert sections["construction"].tolist() == ["open_cut", "drive", "open_cut"]
    assert sections["from_chainage_m"].tolist() == [0.0, 520.0, 800.0]
    assert sections["to_chainage_m"].tolist() == [520.0, 800.0, 1500.0]
    assert sections["section_id"].tolist() == ["demo-S001", "demo-S002", "demo-S003"]


# compounds 75 x 40 and 50 x 30 m, four strips of 6 x 300 m, access roads 4.5 m wide
SITES_M2 = 3000.0 + 1500.0 + 4 * 6.0 * 300.0 + 4.5 * (320.0 + 600.0)


@pytest.mark.parametrize(
    ("item", "by_section"),
    [
        ("TE10", [520.0, 0.0, 700.0]),
        ("TR90", [4 * 520.0, 0.0, 4 * 700.0]),
        ("CA11", [4 * 520.0, 4 * 280.0, 4 * 700.0]),
        ("TR10", [520.0 * 55.0 * 0.7 * 0.3, 0.3 * SITES_M2, 700.0 * 55.0 * 0.7 * 0.3]),
        ("SV10", [520.0, SITES_M2 / 55.0, 700.0]),
        ("TR70_cropland", [520.0 * 55.0, SITES_M2, 700.0 * 55.0]),
        ("UX12", [0.0, 1.0, 0.0]),
        ("DR13", [0.0, 4 * 280.0, 0.0]),
        ("DR10", [0.0, 4.0, 0.0]),
        ("PI11", [0.0, 4 * 24.0, 0.0]),
        ("CR10", [1.0, 0.0, 0.0]),
        ("CR15", [0.0, 0.0, 1.0]),
        ("AG11", [0.0, 1.0, 0.0]),
        ("MN12", [0.0, 1.0, 0.0]),
        ("AG12", [1.0, 1.0, 0.0]),
        ("AG13", [0.0, 0.0, 1.0]),
        ("SH01", [0.0, 2.0, 0.0]),
        ("MO11", [0.0, 1.0, 0.0]),
        ("SH23", [0.0, 4.0, 0.0]),
        ("UX10", [0.0, 2.0, 0.0]),
        ("CO11", [0.0, 320.0 + 600.0, 0.0]),
        ("SH26", [0.0, 7.25 * 21.0 * (8.0 + 5.0), 0.0]),
    ],
    ids=[
        "as-built survey: metres of trench",
        "pipes in the trenches: four",
        "cable pulled: four all along",
        "topsoil: 0.7 of 55 m, and all of the sites, 0.3 m deep",
        "soil watched: by metres of strip",
        "reinstated: strip and sites",
        "explosives looked for under the river",
        "string wear: four bores of 280 m",
        "set-ups: one a bore",
        "welds: 280 m in pieces of 12 m, 24 a bore",
        "road cut once",
        "telecom exposed once",
        "agreement with the waterway",
        "bed survey over the drive",
        "agreements for road and gas pipeline",
        "agreement for telecom",
        "shafts belong to their drive",
        "one launch",
        "thrust walls at the launch only",
        "clearance of ammunition: one a shaft",
        "access roads from x 520 and x 800 to the road at x 200",
        "shafts filled again: 21 m wide, 8 m and 5 m long",
    ],
)
def test_quantities_of_the_correct_plan(item: str, by_section: list[float]) -> None:
    assert quantity(audited(), item) == pytest.approx(by_section)


def test_amounts_are_quantities_at_the_expected_rates() -> None:
    report = audited()
    by_hand = [float(row @ rates_eur(ASSUMPTIONS)) for row in report.section_quantities]
    assert report.section_amounts_eur.tolist() == pytest.approx(by_hand)
    assert report.bill_total_eur == pytest.approx(sum(by_hand))


def test_a_class_of_ground_cover_is_measured_to_the_metre() -> None:
    grassland = list(ASSUMPTIONS.cover).index("grassland")
    report = audited(with_cover(place(), box(300.0, -10.0, 340.0, 10.0), grassland))
    # 40 m of grassland within the first 520 m, the strip 55 m wide
    assert quantity(report, "LA10_grassland") == pytest.approx([40.0 * 55.0, 0.0, 0.0])


def test_a_soil_is_measured_to_the_metre_between_pixels_too() -> None:
    till = with_ground(place(), box(903.0, -50.0, 950.0, 50.0), soil="till_boulders")
    sandy, stony = audited(), audited(till)
    per_m = quantity(sandy, "TR20")[2] / 700.0
    assert quantity(stony, "TR20")[2] == pytest.approx(per_m * (700.0 - 47.0))
    assert quantity(stony, "TR22")[2] > 0.0


def test_a_steep_drive_is_measured_by_its_true_length() -> None:
    report = audited(plan_=plan(STRAIGHT, Run(1, 40.0, 43.0)))
    assert quantity(report, "DR13")[1] == pytest.approx(4.0 * np.hypot(280.0, 3.0))


def test_a_shared_shaft_belongs_to_the_section_before_it() -> None:
    shared = [(0.0, 0.0), (520.0, 0.0), (680.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
    report = audited(plan_=plan(shared, Run(1), Run(2)))
    assert quantity(report, "UX10") == [0.0, 2.0, 1.0, 0.0]


def test_a_drive_under_one_crossing_twice_pays_for_it_once() -> None:
    # a pond in the shape of a horseshoe: the drive passes under both of its arms
    pond = Polygon(
        [(560, -40), (660, -40), (660, 40), (640, 40), (640, -20), (580, -20), (580, 40), (560, 40)]
    )
    report = audited(replace(place(), crossings=crossings(crossing("lake", pond))))
    assert report.crossings["width_m"].tolist() == [20.0, 20.0]
    assert quantity(report, "MN12") == [0.0, 1.0, 0.0]


def test_a_trench_through_one_crossing_twice_pays_for_it_twice() -> None:
    # a road that comes back: cut at x 100 and at x 300
    road = LineString([(100.0, -300.0), (100.0, 100.0), (300.0, 100.0), (300.0, -300.0)])
    report = audited(replace(place(), crossings=crossings(crossing("road", road))))
    assert quantity(report, "CR10") == [2.0, 0.0, 0.0]


def test_metres_inside_an_archaeological_site_are_watched_at_its_factor() -> None:
    site = box(100.0, -50.0, 130.5, 50.0)
    report = audited(replace(place(), crossings=crossings(crossing("archaeological_site", site))))
    factor = ASSUMPTIONS.treatments["archaeological_site"].archaeology_factor
    assert quantity(report, "AR10")[0] == pytest.approx(520.0 + 30.5 * (factor - 1.0))


def test_the_whole_bill_is_the_same_read_from_the_other_end() -> None:
    forward = correct_plan()
    mirrored_xy = [(1500.0 - x, y) for x, y in reversed(STRAIGHT)]
    mirrored = plan(mirrored_xy, Run(1, is_launched_at_lower=False))
    inp = place()
    flipped = inp.crossings.copy()
    flipped.geometry = flipped.geometry.scale(-1.0, 1.0, origin=(750.0, 0.0))
    total_eur = audited(replace(inp, crossings=flipped), mirrored).bill_total_eur
    assert total_eur == pytest.approx(audited(plan_=forward).bill_total_eur)
