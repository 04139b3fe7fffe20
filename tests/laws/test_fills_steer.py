"""Laws of conducting fill in shafts on whole corridors: it steers, search and bill price it alike."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.money.measure import bill_items
from routescreen.screen import Screening, prepare, screen_corridor
from routescreen.search.frame_bill import measure_on_frame
from routescreen.search.halves import find_plan_and_halves
from tests.audit.place import place, with_ground

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

FILLED = "[frame]\ncell_m = 20.0\ndefault_ground_counts = true\n"
UNFILLED = FILLED + "[search]\nshaft_fill_steers = false\n"
# so dear that no plan would have it if it could help
DEAR = FILLED + "[rates]\nSH29 = [900.0, 1000.0, 1100.0]\n"


def corridor_in_sand() -> CorridorInput:
    """Return the place by the river in dense sand, groundwater 1 m below ground."""
    corridor = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0))
    sand = box(-100.0, -300.0, 1600.0, 300.0)
    return with_ground(corridor, sand, soil="sand_dense", groundwater_depth_m=1.0)


@cache
def screened(text: str) -> Screening:
    return screen_corridor(corridor_in_sand(), load_assumptions(text))


def fill_eur(screening: Screening) -> float:
    bill = screening.corridor.bill
    return float(bill[bill["item"] == "SH29"]["amount_eur"].sum())


def ratings(screening: Screening) -> list[str]:
    table = screening.corridor.checks
    return sorted(table[table["check"] == "cable_rating_shaft"]["status"])


def test_shafts_are_filled_where_cables_would_get_too_warm_and_then_pass() -> None:
    filled, unfilled = screened(FILLED), screened(UNFILLED)
    assert filled.breaches == unfilled.breaches == ()
    assert fill_eur(unfilled) == 0.0
    assert "amber" in ratings(unfilled)
    assert fill_eur(filled) > 0.0
    assert set(ratings(filled)) == {"pass"}
    assert filled.corridor.plan.objective_eur > unfilled.corridor.plan.objective_eur


def test_a_dear_fill_changes_the_plan() -> None:
    """Where it costs a fortune the shafts are shallower or elsewhere; without the switch nothing changes."""
    assert screened(DEAR).breaches == ()
    one, other = screened(DEAR).corridor.plan, screened(UNFILLED).corridor.plan
    levels = [tuple((shaft.xy_m, shaft.depth_m) for shaft in plan.shafts) for plan in (one, other)]
    assert levels[0] != levels[1]


def test_search_and_bill_price_the_fill_alike() -> None:
    a = load_assumptions(FILLED)
    problem, _ = prepare(corridor_in_sand(), a)
    plan, _ = find_plan_and_halves(problem.arrays)
    assert plan is not None
    measured = measure_on_frame(problem, plan)
    assert measured.shafts[:, bill_items(a).index["SH29"]].max() > 0.0
    assert measured.total_eur == pytest.approx(plan.objective_eur, abs=0.005)


def test_bill_and_audit_price_the_fill_alike() -> None:
    """The bill widens outlines by a hair, so that both differ there; the fill adds nothing to that."""
    apart_eur = []
    for text in (FILLED, UNFILLED):
        record = screened(text).corridor.run_record
        apart_eur.append(float(record["exact_bill_eur"]) - float(record["audit_bill_eur"]))
    assert fill_eur(screened(FILLED)) > 1000.0
    assert apart_eur[0] == pytest.approx(apart_eur[1], abs=0.005)
