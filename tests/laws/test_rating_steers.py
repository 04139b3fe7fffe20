"""Laws of the cable's rating on whole corridors: no drive of a plan lies too deep for its cables."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.screen import Screening, prepare, screen_corridor
from routescreen.search.stuck import stuck_at
from routescreen.search.warm_drives import lift_floors
from tests.audit.place import layer, place, with_ground
from tests.narrow import NARROW

COARSE = "[frame]\ncell_m = 20.0\ndefault_ground_counts = true\n"
UNASKED = COARSE + "[search]\nrating_steers = false\n"
FAR_APART = COARSE + "[methods.two_pass]\nthermal_spacing_m = 16.0\n"


@cache
def in_dry_sand(text: str) -> Screening:
    """The place by the river with its groundwater 40 m deep: the ground round all bores may dry out."""
    corridor = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0))
    sand = box(-100.0, -300.0, 1600.0, 300.0)
    corridor = with_ground(corridor, sand, soil="sand_dense", groundwater_depth_m=40.0)
    return screen_corridor(corridor, load_assumptions(text))


def rating_of_drives(screening: Screening) -> list[str]:
    table = screening.corridor.checks
    return list(table[(table["check"] == "cable_rating") & (table["element"] == "drive")]["status"])


def test_unasked_the_cheapest_drive_overheats_its_cables_and_the_finding_says_so() -> None:
    assert in_dry_sand(UNASKED).breaches == ()
    assert rating_of_drives(in_dry_sand(UNASKED)) == ["fail"]


def test_asked_the_bores_further_apart_win_although_they_cost_more() -> None:
    asked = in_dry_sand(FAR_APART)
    assert asked.breaches == ()
    assert rating_of_drives(asked) == ["pass"]
    one, other = (s.corridor.plan for s in (asked, in_dry_sand(UNASKED)))
    assert one.objective_eur > other.objective_eur


def test_where_no_spacing_serves_the_plan_is_told_to_be_too_warm() -> None:
    screening = in_dry_sand(COARSE)
    assert screening.breaches == ()
    assert rating_of_drives(screening) == ["fail"]
    (told,) = [text for text in screening.warnings if "no plan keeps the cables cool enough" in text]
    assert "1905 A" in told
    assert "thermal_spacing_m" in told


def test_floors_are_lifted_only_where_there_is_no_plan_else() -> None:
    corridor = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0))
    sand = box(-100.0, -300.0, 1600.0, 300.0)
    corridor = with_ground(corridor, sand, soil="sand_dense", groundwater_depth_m=40.0)
    problem, _ = prepare(corridor, load_assumptions(COARSE))
    lifted = lift_floors(problem, stuck_at(problem.arrays))
    assert lifted is not None
    before, after = (p.arrays.drive.floor_m for p in (problem, lifted))
    changed = (before != after).any(axis=(0, 2))
    # the river lies at x = 600; its drive reaches to shafts on both banks, columns are 20 m apart
    assert changed[30]
    assert not changed[:20].any()
    assert not changed[45:].any()
    assert lift_floors(lifted, stuck_at(lifted.arrays)) is None


@cache
def in_clay(text: str) -> Screening:
    """The place with a band of dry soft clay across it, x 850 to 1150; from y 20 on one that cools better."""
    corridor = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0))
    rows: list[dict[str, object]] = [
        {"soil": "sand_dense", "groundwater_depth_m": 4.0},
        {"soil": "clay_soft", "groundwater_depth_m": 4.0},
        {"soil": "clay_cool", "groundwater_depth_m": 4.0},
    ]
    areas = [
        box(-100.0, -300.0, 1600.0, 300.0),
        box(850.0, -300.0, 1150.0, 20.0),
        box(850.0, 20.0, 1150.0, 300.0),
    ]
    return screen_corridor(replace(corridor, ground=layer("ground", rows, areas)), load_assumptions(text))


def rating_of_open_cut(screening: Screening) -> list[str]:
    table = screening.corridor.checks
    is_asked = (table["check"] == "cable_rating") & (table["element"] == "section")
    return list(table[is_asked]["status"])


# dried out the soft clay resists so much that its pipes lie 1.05 m apart
TWO_CLAYS = (
    f"{FAR_APART}{NARROW}[soil.clay_soft]\nresistivity_dry_Km_per_W = 4.2\n"
    "[soil.clay_cool]\nlike = 'clay_soft'\nresistivity_saturated_Km_per_W = 0.6\n"
    "resistivity_moist_Km_per_W = 0.6\nresistivity_dry_Km_per_W = 1.2\n[trench]\npipe_spacing_most_m = "
)
WIDER, CLOSE = TWO_CLAYS + "1.5\n", TWO_CLAYS + "0.5\n"


def offset_m(screening: Screening, x_m: float) -> float:
    xy_m = screening.corridor.plan.alignment_xy_m
    return float(np.interp(x_m, xy_m[:, 0], xy_m[:, 1]))


def test_the_trench_keeps_to_ground_in_which_it_may_be_narrow() -> None:
    wider, close = in_clay(WIDER), in_clay(CLOSE)
    assert wider.breaches == close.breaches == ()
    assert offset_m(close, 1000.0) < 1.0 < 19.9 < offset_m(wider, 1000.0)
    assert "fail" in rating_of_open_cut(close)
    assert set(rating_of_open_cut(wider)) == {"pass"}
    assert wider.corridor.plan.objective_eur > close.corridor.plan.objective_eur


@cache
def in_soft_clay(text: str) -> Screening:
    """The place with a band of dry soft clay across it, x 850 to 1150."""
    corridor = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0))
    clay = box(1000.0, -300.0, 1300.0, 300.0)  # no shaft stands in it
    corridor = with_ground(corridor, clay, soil="clay_soft", groundwater_depth_m=4.0)
    return screen_corridor(corridor, load_assumptions(text))


def test_pipes_further_apart_bear_the_current_and_are_paid_for() -> None:
    asked, unasked = in_soft_clay(WIDER), in_soft_clay(CLOSE)
    assert asked.breaches == unasked.breaches == ()
    assert set(rating_of_open_cut(asked)) == {"pass"}
    assert "fail" in rating_of_open_cut(unasked)
    record = asked.corridor.run_record
    told = [text for key, text in record.items() if key.startswith("wider trench")]
    assert len(told) == 1
    assert "clay_soft: pipes 1.05 m apart instead of 0.50 m for 1905 A" in told[0]
    assert not any(key.startswith("wider trench") for key in unasked.corridor.run_record)
    # the search, the bill on the frame, the exact bill and the audit all pay for the room
    frame, before, exact, audit = (
        float(record[f"{name}_eur"])
        for name in ("frame_bill", "exact_bill_before_smoothing", "exact_bill", "audit_bill")
    )
    assert frame == pytest.approx(float(record["objective_eur"]), abs=0.005)
    assert before == pytest.approx(frame, rel=1e-4)
    # where soils meet, take-off and audit cut their pieces half a profile step apart at most
    assert audit == pytest.approx(exact, abs=100.0)
    more_eur = asked.corridor.plan.objective_eur - unasked.corridor.plan.objective_eur
    told_eur = told[0].split("; ")[1].split(" m, ")[1].removesuffix(" EUR more").replace(" ", "")
    assert float(told_eur) == pytest.approx(more_eur, rel=0.01)


def test_where_no_spacing_suffices_the_record_points_to_the_check() -> None:
    corridor = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0))
    peat = box(850.0, -300.0, 1150.0, 300.0)
    corridor = with_ground(corridor, peat, soil="peat", groundwater_depth_m=4.0)
    screening = screen_corridor(corridor, load_assumptions(FAR_APART + NARROW))
    assert "fail" in rating_of_open_cut(screening)
    told = screening.corridor.run_record["wider trench 1"]
    assert told.startswith("peat: pipes 1.50 m apart instead of 0.50 m for 1905 A; ")
    assert told.endswith("; the largest that is tried: see the check cable_rating")


def test_without_floors_there_is_nothing_to_lift() -> None:
    problem, _ = prepare(place(), load_assumptions(UNASKED))
    assert lift_floors(problem, stuck_at(problem.arrays)) is None
