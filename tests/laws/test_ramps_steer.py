"""Laws of ramps on whole corridors: asked for, the cables bear the current on them, and that is paid for."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.screen import Screening, screen_corridor
from tests.audit.place import place, with_ground

COARSE = "[frame]\ncell_m = 20.0\ndefault_ground_counts = true\n"


@cache
def in_sand(text: str) -> Screening:
    """The place by the river: ramps that rise out of the groundwater into sand that may dry out."""
    corridor = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0))
    sand = box(-100.0, -300.0, 1600.0, 300.0)
    corridor = with_ground(corridor, sand, soil="sand_dense", groundwater_depth_m=4.0)
    return screen_corridor(corridor, load_assumptions(COARSE + text))


def ramp_ratings(screening: Screening) -> set[str]:
    table = screening.corridor.checks
    return set(table[table["check"] == "cable_rating_ramp"]["status"])


def test_asked_the_cables_bear_the_current_on_every_ramp() -> None:
    asked, close = in_sand(""), in_sand("[cable]\nramp_spacing_most_m = 0.1\n")
    assert asked.breaches == close.breaches == ()
    assert "fail" in ramp_ratings(close)
    # amber where moist ground above the groundwater warms so much that it may dry out itself
    assert set() < ramp_ratings(asked) <= {"pass", "amber"}


def test_what_the_ramps_are_longer_is_paid_for_by_search_bill_and_audit() -> None:
    asked, close = in_sand(""), in_sand("[cable]\nramp_spacing_most_m = 0.1\n")
    assert asked.corridor.plan.objective_eur > close.corridor.plan.objective_eur
    record = asked.corridor.run_record
    frame, before, exact, audit = (
        float(record[f"{name}_eur"])
        for name in ("frame_bill", "exact_bill_before_smoothing", "exact_bill", "audit_bill")
    )
    assert frame == pytest.approx(float(record["objective_eur"]), abs=0.005)
    assert before == pytest.approx(frame, rel=1e-4)
    assert audit == pytest.approx(exact, abs=100.0)
