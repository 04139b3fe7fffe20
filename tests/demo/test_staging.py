"""The demo's staged places, solved by themselves: stretches of the corridor cut out and screened.

What the whole demo gives stands in its README; the stretches are short so that the tests are quick.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from shapely import Point, ops

from routescreen.assumptions import load_assumptions
from routescreen.inputs import Sources, read_inputs
from routescreen.screen import prepare, solve_and_audit
from routescreen.search.geometry import plan_geometry
from routescreen.search.halves import find_plan
from routescreen.search.reasons import section_reasons
from routescreen.search.solve import DriveStep, layout_of_step
from tests.narrow import NARROW

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput
    from routescreen.search.problem import FrameProblem
    from routescreen.search.solve import FramePlan

DEMO = Path(__file__).parents[2] / "demo_data" / "corridor.gpkg"
HALF_WIDTH_M = 199.9


HORST_M = 4_800.0, 6_250.0


@cache
def _demo() -> CorridorInput:
    (corridor,) = read_inputs(Sources(DEMO), load_assumptions())
    return corridor


@pytest.fixture
def demo() -> CorridorInput:
    return _demo()


def _stretch(demo: CorridorInput, from_m: float, to_m: float) -> CorridorInput:
    """Return the demo between two chainages of its axis."""
    assert demo.axis is not None
    axis = ops.substring(demo.axis, from_m, to_m)
    outline = ops.substring(demo.axis, from_m - 30.0, to_m + 30.0).buffer(HALF_WIDTH_M, cap_style="flat")
    pins = demo.pins[demo.pins.intersects(outline).to_numpy()].reset_index(drop=True)
    ends = Point(axis.coords[0]), Point(axis.coords[-1])
    return replace(demo, outline=outline, axis=axis, start=ends[0], end=ends[1], pins=pins)


def _problem(corridor: CorridorInput, cell_m: float, text: str) -> FrameProblem:
    return prepare(corridor, load_assumptions(f"[frame]\ncell_m = {cell_m}\n{text}"))[0]


def _plan(corridor: CorridorInput, cell_m: float = 20.0, text: str = "") -> Plan:
    """Return the plan of a stretch, on a coarser frame than the demo's to be quick."""
    return _audited(_problem(corridor, cell_m, text), corridor)


def _audited(problem: FrameProblem, corridor: CorridorInput) -> Plan:
    solved = solve_and_audit(problem, corridor)
    assert solved.audit.breaches == ()
    return solved.plan


@cache
def _horst() -> FrameProblem:
    """Return the stretch over the fen and its horst on the frame, which several tests look at."""
    return _problem(_stretch(_demo(), *HORST_M), 20.0, "")


@cache
def _plan_over_the_horst() -> Plan:
    return _audited(_horst(), _stretch(_demo(), *HORST_M))


@cache
def _found_over_the_horst() -> FramePlan:
    """Return the same as the search finds it, before the audit."""
    found = find_plan(_horst().arrays)
    assert found is not None
    return found


def _offset_m(demo: CorridorInput, xy_m: tuple[float, float]) -> tuple[float, float]:
    """Chainage and offset of a point on the demo's axis, right positive [m]."""
    assert demo.axis is not None
    at = demo.axis.project(Point(xy_m))
    here = np.array(demo.axis.interpolate(at).coords[0])
    ahead = np.array(demo.axis.interpolate(at + 1.0).coords[0]) - here
    beside = np.array(xy_m) - here
    return float(at), float(beside[0] * ahead[1] - beside[1] * ahead[0])


def test_motorway_and_railway_are_one_two_pass_drive(demo: CorridorInput) -> None:
    plan = _plan(_stretch(demo, 1_300.0, 1_800.0))
    assert [drive.method for drive in plan.drives] == ["two_pass"]


def test_guided_thrust_bores_the_main_road_where_sand_leads_heat_and_walls_fill_and_set_ups_cost_little(
    demo: CorridorInput,
) -> None:
    little = "".join(f"SH{k} = [1.0, 2.0, 3.0]\n" for k in (29, *range(40, 46)))
    little += "DR20 = [400.0, 750.0, 1300.0]\n"
    plan = _plan(_stretch(demo, 2_980.0, 3_600.0), 10.0, f"{NARROW}[rates]\n{little}")
    assert [drive.method for drive in plan.drives] == ["guided_thrust", "two_pass"]
    agreed = demo.pins.set_index("role").geometry["shaft"]
    assert min(agreed.distance(Point(shaft.xy_m)) for shaft in plan.shafts) <= 25.0


def test_in_sand_that_dries_out_one_two_pass_drive_passes_under_main_road_and_canal(
    demo: CorridorInput,
) -> None:
    """Guided thrust boring can pass the road by itself; with the ditch trenched between it costs more."""
    plan = _plan(_stretch(demo, 2_980.0, 3_600.0), 10.0)
    assert [drive.method for drive in plan.drives] == ["two_pass"]
    agreed = demo.pins.set_index("role").geometry["shaft"]
    assert min(agreed.distance(Point(shaft.xy_m)) for shaft in plan.shafts) <= 25.0


def _needs_m(plan: Plan, assumptions: Assumptions) -> list[float]:
    """Return how deep the shaft between two drives must be for each of them [m]."""
    shared = plan.shafts[plan.drives[0].upper_shaft]
    # invert = crown - bore of 0.56 m; the shaft reaches a sump below it [practice]
    return [
        shared.ground_m - (crown - 0.56) + assumptions.shaft.sump_m
        for crown in (plan.drives[0].upper_crown_m, plan.drives[1].lower_crown_m)
    ]


def test_two_drives_share_a_shaft_on_the_horst_at_the_greater_depth(demo: CorridorInput) -> None:
    assumptions, plan = load_assumptions(), _plan_over_the_horst()
    assert [drive.method for drive in plan.drives] == ["two_pass", "two_pass"]
    shared = plan.shafts[plan.drives[0].upper_shaft]
    assert plan.drives[0].upper_shaft == plan.drives[1].lower_shaft
    fen = next(
        shape
        for shape, name in zip(demo.crossings.geometry, demo.crossings["name"], strict=True)
        if name == "Kranich fen"
    )
    (rise,) = (shapely.Polygon(ring) for ring in fen.interiors)
    assert rise.contains(Point(shared.xy_m))
    # by itself one of the drives would do with a much shallower shaft; together they use what is there
    alone = _needs_m(plan_geometry(_horst(), _found_over_the_horst()), assumptions)
    assert abs(alone[0] - alone[1]) > 2.0
    needs = _needs_m(plan, assumptions)
    assert 0.0 <= shared.depth_m - max(needs) < assumptions.shaft.depth_step_m + 1e-6


def test_on_the_horst_only_launches_have_a_place() -> None:
    """Strings of 400 and 740 m can't lie on a rise of 72 m in a fen: both drives are launched from it."""
    problem, frame_plan = _horst(), _found_over_the_horst()
    first, second = (step for step in frame_plan.steps if isinstance(step, DriveStep))
    assert (first.is_launched_at_lower, second.is_launched_at_lower) == (False, True)
    for drive in (first, second):
        turned = replace(drive, is_launched_at_lower=not drive.is_launched_at_lower)
        assert layout_of_step(problem.arrays, drive).n_pieces > 0
        assert layout_of_step(problem.arrays, turned).n_pieces == 0
    told = [text for text in section_reasons(problem, frame_plan) if text.startswith("Drive")]
    assert all("they would have no room" in text for text in told)


def test_the_refused_shaft_costs_money(demo: CorridorInput) -> None:
    stretch = _stretch(demo, *HORST_M)
    pinned, free = _plan_over_the_horst(), _plan(replace(stretch, pins=stretch.pins.iloc[:0]))
    mound = demo.pins.set_index("role")
    at = mound.geometry["no_shaft"]
    assert all(at.distance(Point(shaft.xy_m)) > mound["radius_m"]["no_shaft"] for shaft in pinned.shafts)
    assert any(at.distance(Point(shaft.xy_m)) < mound["radius_m"]["no_shaft"] for shaft in free.shafts)
    assert pinned.objective_eur > free.objective_eur + 0.01


def test_the_bend_of_the_lumme_is_bypassed_in_open_cut(demo: CorridorInput) -> None:
    plan = _plan(_stretch(demo, 8_850.0, 9_550.0), 10.0)
    assert plan.drives == ()
    assert plan.is_narrow.any()
    apex = min(_offset_m(demo, (float(x), float(y)))[1] for x, y in plan.alignment_xy_m)
    assert -152.0 < apex < -71.0 - 20.0  # between the houses and the river's bank with its clearance
