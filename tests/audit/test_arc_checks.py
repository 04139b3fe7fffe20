"""A drive on an arc drawn by hand: its levels, slopes, forces and pulls by hand, and faults planted in it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import box

from routescreen.assumptions import Assumptions, load_assumptions
from routescreen.audit import AuditReport, audit_plan
from tests.audit.place import Run, crossings, place, plan, with_ground
from tests.audit.proving import prove_plan

if TYPE_CHECKING:
    from routescreen.plan import Plan

# the place's drive is 280 m long: 7 % at either end of 2 000 m
RADIUS_M, LENGTH_M = 2000.0, 280.0
ARCS = "[methods.arc]\nlike = 'two_pass'\narc_radius_m = 2000.0\n"
A = load_assumptions(ARCS + "[cable]\nramp_spacing_most_m = 0.1\n")  # ramps of one S-bend
WHOLE = box(-100.0, -300.0, 1600.0, 300.0)
SAG_M = LENGTH_M**2 / (8.0 * RADIUS_M)  # 4.9 m


def arc_plan(
    lower_m: float = 44.0, upper_m: float = 44.0, *, radius_m: float = RADIUS_M, is_lower: bool = True
) -> Plan:
    xy_m = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]
    drawn = plan(xy_m, Run(1, lower_m, upper_m, is_launched_at_lower=is_lower))
    record = drawn.drives[0]
    (x0, y0), (x1, y1) = record.layout_xy_m
    further_m = 1.0 if x1 > x0 else -1.0  # the strings are longer than a straight drive's
    drive = replace(record, method="arc", arc_radius_m=radius_m, layout_xy_m=((x0, y0), (x1 + further_m, y1)))
    return replace(drawn, drives=(drive,))


def audited(drawn: Plan, a: Assumptions = A) -> AuditReport:
    bare = replace(place(), crossings=crossings())
    return audit_plan(drawn, with_ground(bare, WHOLE, soil="sand_dense", groundwater_depth_m=100.0), a)


def values(report: AuditReport, check: str, column: str = "demand") -> list[float]:
    rows = report.checks[(report.checks["check"] == check) & (report.checks["element_id"] == "demo-D001")]
    return [float(value) for value in rows[column]]


def test_the_right_one_breaks_nothing() -> None:
    report = audited(arc_plan())
    assert [breach.check for breach in report.breaches] == []


def test_levels_lengths_and_slopes_by_hand() -> None:
    report = audited(arc_plan())
    # slopes from -0.14/2 to 0.14/2: 280 (1 + 0.07^2/6 - 0.07^4/40)
    true_m = LENGTH_M * (1.0 + 0.07**2 / 6.0 - 0.07**4 / 40.0)
    assert values(report, "drive_length_longest") == [pytest.approx(true_m, abs=1e-4)]
    assert values(report, "grade") == [pytest.approx(7.0), pytest.approx(7.0)]
    assert values(report, "grade", "capacity") == [8.0, 8.0]
    assert values(report, "bore_bend", "capacity") == [pytest.approx(RADIUS_M)]
    assert values(report, "bore_bend") == [600.0]
    assert values(report, "cover", "capacity") == [pytest.approx(6.0)]  # at the shafts
    # groundwater 100 m down, axis 50 - 44 + 4.9 + 0.28 m in the middle
    assert values(report, "groundwater_head") == [pytest.approx(6.0 + SAG_M + 0.28 - 100.0, abs=1e-3)]


def forces_by_hand(mu: float) -> tuple[float, float]:
    """Factor of a bend of 2 atan 0.07, friction 1.5 times after a stop, and the true length."""
    return math.exp(1.5 * mu * 2.0 * math.atan(0.07)), LENGTH_M * (1.0 + 0.07**2 / 6.0 - 0.07**4 / 40.0)


def test_forces_by_hand() -> None:
    """As the straight drive of test_force_checks, the face deeper by the sag, all times the bend's factor."""
    report = audited(arc_plan())
    factor, true_m = forces_by_hand(0.3)
    face_kPa = 1.5 * 0.270990 * 18.5 * (6.28 + SAG_M) + 10.0
    face_kN = face_kPa * math.pi * 0.56**2 / 4.0
    friction_kN = 1.5 * 1.4 * math.pi * 0.5 * true_m
    assert values(report, "thrust") == [pytest.approx(factor * (face_kN + friction_kN), abs=0.02)]
    pipe_kN = 1.5 * 0.3 * 0.85182 * true_m + 1.748
    rollers_kN = 1.5 * 0.1 * 0.60822 * true_m + 1.748
    assert values(report, "pull_in") == [pytest.approx(factor * pipe_kN, abs=0.02)]
    assert values(report, "draw_back") == [pytest.approx(factor * (friction_kN + rollers_kN), abs=0.02)]


def test_a_smooth_wall_presses_no_string_and_a_rough_one_more() -> None:
    thrusts = []
    for friction in (0.0, 0.3, 0.6):
        a = load_assumptions(f"{ARCS}[checks.thrust]\nbend_friction = {friction}\n")
        thrusts += values(audited(arc_plan(), a), "thrust")
    assert thrusts[1] / thrusts[0] == pytest.approx(forces_by_hand(0.3)[0])
    assert thrusts[2] / thrusts[0] == pytest.approx(forces_by_hand(0.6)[0])


@pytest.mark.parametrize(
    ("drawn", "check"),
    [
        pytest.param(arc_plan(radius_m=1500.0), "grade", id="9.3 % at both ends"),
        pytest.param(arc_plan(42.0, 46.0), "grade", id="rises by 8.4 % at its end"),
        pytest.param(arc_plan(46.0, 42.0), "grade", id="falls by 8.4 % at its start"),
        pytest.param(arc_plan(radius_m=550.0), "bore_bend", id="bends too sharply"),
        pytest.param(arc_plan(48.5, 44.0), "cover", id="too high at a shaft"),
    ],
)
def test_a_planted_fault_is_found(drawn: Plan, check: str) -> None:
    assert check in {breach.check for breach in audited(drawn).breaches}


def test_turned_round_the_same_is_found() -> None:
    """A fall of 8.4 % from the launch is one whichever end the launch is."""
    one = audited(arc_plan(46.0, 42.0))
    other = audited(arc_plan(42.0, 46.0, is_lower=False))
    assert sorted(values(one, "grade")) == pytest.approx(sorted(values(other, "grade")))
    assert values(one, "thrust") == pytest.approx(values(other, "thrust"), abs=0.02)


def test_the_cable_bends_once_on_its_way() -> None:
    """The pull grows by the arc's bend: e^(0.25 x 0.13977) on what comes in, and less on the rest."""
    inp = with_ground(
        replace(place(), crossings=crossings()), WHOLE, soil="sand_dense", groundwater_depth_m=100.0
    )
    straight = replace(arc_plan(), drives=(replace(arc_plan().drives[0], arc_radius_m=None),))
    pulls = []
    for drawn in (straight, arc_plan()):
        checks = prove_plan(drawn, inp, A).checks
        rows = checks[(checks["check"] == "cable_pull") & (checks["element_id"] == "demo-D001")]
        pulls += [float(value) for value in rows["demand"]]
    assert pulls[0] < pulls[1] < pulls[0] * math.exp(0.25 * 2.0 * math.atan(0.07))
    # half of the way lies before the bend: 4.478 kN come in from the ramp (test_cable_pulls), 140 m add
    # 14.421, less 0.41202 x 4.9 = 2.019 for the sag of 280^2/16 000 m: 16.880 kN, times e^0.034943 - 1, times
    # the two bends of the ramp behind, 1.132238 each; cosines and the longer way are left out, 0.02 kN
    turned = 0.25 * 2.0 * math.atan(0.07)
    added = (4.478 + 14.421 - 2.019) * (math.exp(turned) - 1.0) * 1.132238**2
    assert pulls[1] - pulls[0] == pytest.approx(added, abs=0.02)


def test_the_drive_sheet_ends_with_the_same_thrust() -> None:
    inp = with_ground(
        replace(place(), crossings=crossings()), WHOLE, soil="sand_dense", groundwater_depth_m=100.0
    )
    proofs = prove_plan(arc_plan(), inp, A)
    curve = proofs.curves["drive_curves"]
    factor, true_m = forces_by_hand(0.3)
    friction_kN = 1.5 * 1.4 * math.pi * 0.5 * true_m
    end_face_kN = (1.5 * 0.270990 * 18.5 * 6.28 + 10.0) * math.pi * 0.56**2 / 4.0
    assert float(curve["thrust_kN"].iloc[-1]) == pytest.approx(factor * (end_face_kN + friction_kN), abs=0.05)
    lowest = curve.loc[np.argmin(curve["crown_m"])]
    assert lowest["crown_m"] == pytest.approx(44.0 - SAG_M, abs=0.05)
