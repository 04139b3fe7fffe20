"""Laws of the cable's rating on whole corridors: no drive of a plan lies too deep for its cables."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.screen import Screening, prepare, screen_corridor
from routescreen.search.warm_drives import lift_floors
from tests.audit.place import place, with_ground

COARSE = "[frame]\ncell_m = 20.0\n"
UNASKED = COARSE + "[search]\nrating_steers = false\n"
FAR_APART = COARSE + "[methods.two_pass]\nthermal_spacing_m = 10.0\n"


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
    assert [drive.method for drive in one.drives] != [drive.method for drive in other.drives]
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
    lifted = lift_floors(problem)
    assert lifted is not None
    before, after = (p.arrays.drive.floor_m for p in (problem, lifted))
    changed = (before != after).any(axis=(0, 2))
    # the river lies at x = 600; its drive reaches to shafts on both banks, columns are 20 m apart
    assert changed[30]
    assert not changed[:20].any()
    assert not changed[45:].any()
    assert lift_floors(lifted) is None


def test_without_floors_there_is_nothing_to_lift() -> None:
    problem, _ = prepare(place(), load_assumptions(UNASKED))
    assert lift_floors(problem) is None
