"""Laws of the pressure window on whole corridors: no drive of a plan lies where its window is closed."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.corridor.burn_window import opening_covers_m, window_ground
from routescreen.drives.methods import method_geometry
from routescreen.drives.pressures import window_factors
from routescreen.engineering.pressure_window import face_peak_kPa, pressure_window
from routescreen.screen import Screening, screen_corridor
from tests.audit.place import place, with_ground

ASKED = """
[frame]
cell_m = 20.0
[search]
rating_steers = false
grout_steers = false
[methods.guided_thrust]
is_enabled = false
[methods.enterable]
is_enabled = false
"""
UNASKED = ASKED.replace("rating_steers = false", "rating_steers = false\nwindow_steers = false")
DEFAULTS = load_assumptions()


@cache
def in_peat(text: str) -> Screening:
    """The place by the river, all of it peat with its water just below the ground."""
    corridor = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0))
    peat = box(-100.0, -300.0, 1600.0, 300.0)
    return screen_corridor(
        with_ground(corridor, peat, soil="peat", groundwater_depth_m=0.5), load_assumptions(text)
    )


def pressures(screening: Screening) -> set[str]:
    table = screening.corridor.checks
    return set(table[table["check"].isin(["pressure_face", "pressure_mud"])]["status"])


def test_unasked_the_cheapest_drive_breaks_out_and_the_finding_says_so() -> None:
    assert in_peat(UNASKED).breaches == ()
    assert "fail" in pressures(in_peat(UNASKED))


def test_asked_it_lies_deeper_and_costs_more() -> None:
    asked, unasked = in_peat(ASKED), in_peat(UNASKED)
    assert asked.breaches == ()
    assert "fail" not in pressures(asked)
    one, other = (min(d.lower_crown_m for d in s.corridor.plan.drives) for s in (asked, unasked))
    assert one < other - 1.0
    assert asked.corridor.plan.objective_eur > unasked.corridor.plan.objective_eur


@pytest.mark.parametrize("soil", ["peat", "made_ground", "sand_loose"])
@pytest.mark.parametrize("water_m", [-6.0, -1.0, 1.0])
def test_at_the_cover_the_window_just_opens(soil: str, water_m: float) -> None:
    """A few centimetres less and the face's peak or the mud is more than the ground holds."""
    method = method_geometry(DEFAULTS, "enterable")
    at = list(DEFAULTS.soil).index(soil)
    cover_m = float(opening_covers_m(method, np.array([water_m]), DEFAULTS)[at, 0])

    def room_kPa(cover_m: float) -> float:
        way = DEFAULTS.methods["enterable"]
        ground = window_ground(DEFAULTS.soil[soil], np.array([water_m]), DEFAULTS)
        window = pressure_window(cover_m, method.bore_diameter_m, ground, window_factors(way, DEFAULTS))
        face = face_peak_kPa(window.face_kPa, way.face_control_kPa, 11.0, method.bore_diameter_m)
        mud = 11.0 * (max(-water_m, 0.0) + cover_m)
        return float(window.limit_kPa[0] - max(float(face[0]), mud, float(window.grout_least_kPa[0])))

    assert room_kPa(cover_m + 0.005) >= 0.0
    assert room_kPa(cover_m - 0.05) < 0.0
