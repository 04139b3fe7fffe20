"""Laws of drilled bores on whole corridors: they compete where they are enabled, and bill and audit agree."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.screen import Screening, screen_corridor
from tests.audit.place import place, with_ground

OFF = "[frame]\ncell_m = 20.0\n"
ON = OFF + "[methods.hdd]\nis_enabled = true\n"


@cache
def by_the_river(text: str) -> Screening:
    """The place by the river, in dense sand."""
    corridor = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0))
    sand = box(-100.0, -300.0, 1600.0, 300.0)
    return screen_corridor(
        with_ground(corridor, sand, soil="sand_dense", groundwater_depth_m=2.0), load_assumptions(text)
    )


def test_drilling_wins_where_it_is_enabled() -> None:
    on, off = by_the_river(ON), by_the_river(OFF)
    assert on.breaches == off.breaches == ()
    assert [drive.method for drive in on.corridor.plan.drives] == ["hdd"]
    assert "hdd" not in {drive.method for drive in off.corridor.plan.drives}
    assert on.corridor.plan.objective_eur < off.corridor.plan.objective_eur


def test_its_pits_serve_no_other_drive_and_are_as_deep_as_the_method_says() -> None:
    plan = by_the_river(ON).corridor.plan
    assert {shaft.depth_m for shaft in plan.shafts} == {1.5}
    assert all((shaft.incoming is None) != (shaft.outgoing is None) for shaft in plan.shafts)


def test_bill_on_the_geometry_is_what_the_search_paid() -> None:
    screening = by_the_river(ON)
    assert abs(screening.frame_error_percent) < 1.0


def test_a_railway_in_place_of_the_river_is_not_drilled_under() -> None:
    """The annulus of four drilled bores settles more than a railway bears, however deep."""
    corridor = place()
    rows = corridor.crossings.copy()
    rows.loc[rows["kind"] == "river", "kind"] = "railway"
    narrow = replace(corridor, outline=box(0.0, -80.0, 1500.0, 80.0), crossings=rows)
    sand = box(-100.0, -300.0, 1600.0, 300.0)
    screening = screen_corridor(
        with_ground(narrow, sand, soil="sand_dense", groundwater_depth_m=2.0), load_assumptions(ON)
    )
    over = [d for d in screening.corridor.plan.drives if d.method == "hdd"]
    chainage = [screening.corridor.plan.alignment_xy_m[d.from_vertex, 0] for d in over]
    assert not [at for at in chainage if at == pytest.approx(600.0, abs=120.0)]
