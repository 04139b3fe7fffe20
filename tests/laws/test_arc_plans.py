"""Laws of arcs on whole corridors: they compete where they are enabled, and bill and audit agree."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.screen import Screening, screen_corridor
from tests.audit.place import place, with_ground

OFF = "[frame]\ncell_m = 20.0\n"
# the river asks for 280 m from shaft to shaft, deep in the middle: 7 % at the ends of 2 000 m
ON = OFF + "[methods.arc]\nlike = 'two_pass'\ntitle = 'two-pass on an arc'\narc_radius_m = 2000.0\n"


@cache
def by_the_river(text: str) -> Screening:
    """The place by the river, in dense sand."""
    corridor = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0))
    sand = box(-100.0, -300.0, 1600.0, 300.0)
    return screen_corridor(
        with_ground(corridor, sand, soil="sand_dense", groundwater_depth_m=2.0), load_assumptions(text)
    )


def test_an_arc_wins_where_it_saves_depth() -> None:
    on, off = by_the_river(ON), by_the_river(OFF)
    assert on.breaches == off.breaches == ()
    assert "arc" in {drive.method for drive in on.corridor.plan.drives}
    assert on.corridor.plan.objective_eur < off.corridor.plan.objective_eur
    for drive in on.corridor.plan.drives:
        assert drive.arc_radius_m == (2000.0 if drive.method == "arc" else None)


def test_at_twice_the_price_nothing_changes() -> None:
    dear = "".join(
        f"[methods.arc.drivability.{soil}]\ncost_factor = 9.0\n" for soil in ("sand_dense", "sand_loose")
    )
    plain, dearer = by_the_river(OFF), by_the_river(ON + dear)
    assert dearer.corridor.plan.objective_eur == pytest.approx(plain.corridor.plan.objective_eur, abs=0.005)
    assert "arc" not in {drive.method for drive in dearer.corridor.plan.drives}


def test_bill_on_the_geometry_is_what_the_search_paid() -> None:
    assert abs(by_the_river(ON).frame_error_percent) < 1.0


def test_its_bores_are_drawn_bent() -> None:
    corridor = by_the_river(ON).corridor
    for drive, data in zip(corridor.plan.drives, corridor.drives, strict=True):
        if drive.arc_radius_m is None:
            continue
        x, z = np.array(data.course_m).T
        chord = z[0] + (z[-1] - z[0]) * (x - x[0]) / (x[-1] - x[0])
        assert (chord - z).max() == pytest.approx((x[-1] - x[0]) ** 2 / 8.0 / 2000.0, abs=2e-3)
        assert len(x) > 20
