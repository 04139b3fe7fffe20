"""Laws of dips on whole corridors: they steer, they are priced alike by search, bill and audit."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest
from shapely import LineString, box

from routescreen.assumptions import load_assumptions
from routescreen.screen import Screening, prepare, screen_corridor
from routescreen.search.frame_bill import measure_on_frame
from routescreen.search.halves import find_plan_and_halves
from tests.audit.place import crossing, crossings, place, with_ground

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

STEERED = (
    "[frame]\ncell_m = 20.0\ndefault_ground_counts = true\n[methods.two_pass]\nthermal_spacing_m = 16.0\n"
    "[trench]\npipe_spacing_most_m = 0.8\ndip_spacing_most_m = 0.8\ndip_fill_above_m = 0.2\n"
)
UNSTEERED = STEERED + "[search]\ndip_rating_steers = false\n"
WIDE = "[frame]\ncell_m = 20.0\ndefault_ground_counts = true\n"
# passed slantwise, whichever way the trench takes
MAIN = crossing("water_main", LineString([(420.0, -150.0), (480.0, 150.0)]), depth_m=1.6, diameter_m=0.4)
STREAM = crossing("stream", LineString([(900.0, -150.0), (1000.0, 150.0)]), half_width_m=3.0)


def corridor_with(*features: object) -> CorridorInput:
    """Return the place in dense sand, groundwater 4 m down, with nothing but some features to cross."""
    inp = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0), crossings=crossings(*features))  # type: ignore[arg-type]
    return with_ground(inp, box(-100.0, -300.0, 1600.0, 300.0), soil="sand_dense", groundwater_depth_m=4.0)


@cache
def below_the_main(text: str) -> Screening:
    return screen_corridor(corridor_with(MAIN), load_assumptions(text))


def ways(screening: Screening) -> list[str]:
    return list(screening.corridor.crossings["treatment"])


def ratings(screening: Screening) -> list[str]:
    table = screening.corridor.checks
    return list(table[table["check"] == "cable_rating_dip"]["status"])


def test_where_no_dip_bears_the_current_the_main_is_driven_under() -> None:
    steered, unsteered = below_the_main(STEERED), below_the_main(UNSTEERED)
    assert steered.breaches == unsteered.breaches == ()
    assert ways(steered) == ["trenchless"]
    assert ways(unsteered) == ["open_cut"]
    assert ratings(unsteered) == ["fail"]
    assert ratings(steered) == []
    assert steered.corridor.plan.objective_eur > unsteered.corridor.plan.objective_eur


def test_the_drive_and_the_way_not_taken_say_that_no_dip_would_do() -> None:
    steered = below_the_main(STEERED).corridor
    assert any("no dip of open cut below water main" in reason for reason in steered.reasons)
    ways_ = steered.curves["crossing_ways"]
    (reason,) = ways_[ways_["way"] == "open_cut"]["reason"]
    assert reason.startswith("no dip of open cut below it bears the current")


def test_pipes_spread_in_the_dip_bear_the_current_and_no_drive_is_needed() -> None:
    found = below_the_main(WIDE)
    assert ways(found) == ["open_cut"]
    assert ratings(found) == ["pass"]


def test_where_nothing_passes_it_is_opened_and_told() -> None:
    """No drive may pass under it: it is cut open after all, and check and warning say how warm it is."""
    undriven = STEERED + '[treatments.water_main]\ndrive_under = "no"\n'
    found = below_the_main(undriven)
    assert ways(found) == ["open_cut"]
    assert ratings(found) == ["fail"]
    (told,) = [text for text in found.warnings if "search.dip_rating_steers" in text]
    assert "water_main" in told or "water main" in told


def test_search_bill_and_audit_price_a_dip_alike() -> None:
    """The main and a stream, both passed slantwise: on the frame to the cent."""
    corridor, a = corridor_with(MAIN, STREAM), load_assumptions(WIDE)
    problem, _ = prepare(corridor, a)
    plan, _ = find_plan_and_halves(problem.arrays)
    assert plan is not None
    assert measure_on_frame(problem, plan).total_eur == pytest.approx(plan.objective_eur, abs=0.005)
    found = screen_corridor(corridor, a)
    assert ways(found) == ["open_cut", "open_cut"]
    record = found.corridor.run_record
    bill_eur, audit_eur = (float(record[name]) for name in ("exact_bill_eur", "audit_bill_eur"))
    # the search widens outlines by 0.12 % so that no round end is cut: 8 mm of 6.3 m, at up to 1 000 EUR/m
    assert audit_eur == pytest.approx(bill_eur, abs=8.0)


def in_made_ground(text: str) -> Screening:
    """A stream with water all the year in made ground, the groundwater 10 m down."""
    inp = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0), crossings=crossings(STREAM))
    around = box(-100.0, -300.0, 1600.0, 300.0)
    inp = with_ground(inp, around, soil="made_ground", groundwater_depth_m=10.0)
    return screen_corridor(inp, load_assumptions(text))


def test_banks_in_which_the_ramps_get_too_warm_are_driven_under() -> None:
    """Below the wet bed the cables bear the current, 2.8 m deep in a bank that may dry out in no way."""
    text = (
        "[frame]\ncell_m = 20.0\ndefault_ground_counts = true\n[methods.two_pass]\nthermal_spacing_m = 20.0\n"
    )
    steered, unsteered = in_made_ground(text), in_made_ground(text + "[search]\ndip_rating_steers = false\n")
    assert ways(steered) == ["trenchless"]
    assert ways(unsteered) == ["open_cut"]
    assert ratings(unsteered) == ["pass"]
    table = unsteered.corridor.checks
    assert list(table[table["check"] == "cable_rating_dip_ramp"]["status"]) == ["fail"]


def test_a_stated_bed_is_priced_alike_by_search_bill_and_audit() -> None:
    """The ground stands at 50.0 m, the scoured bed at 49.0 m: deeper than the stream's kind has it."""
    stated = crossing(
        "stream", LineString([(900.0, -150.0), (1000.0, 150.0)]), half_width_m=3.0, base_level_m=49.0
    )
    a = load_assumptions(WIDE)
    deep, usual = (screen_corridor(corridor_with(each), a).corridor for each in (stated, STREAM))
    bill_eur, audit_eur = (float(deep.run_record[name]) for name in ("exact_bill_eur", "audit_bill_eur"))
    assert audit_eur == pytest.approx(bill_eur, abs=8.0)  # see above
    assert bill_eur > float(usual.run_record["exact_bill_eur"])
    assert set(deep.checks[deep.checks["check"] == "trench_bed_cover"]["status"]) == {"pass"}
