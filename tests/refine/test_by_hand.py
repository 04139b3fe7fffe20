"""Shafts move as near to a river as they may, by pencil.

Flat cropland, two-pass drive launched behind the river or, which costs the same, before it, mirrored. The
river's banks lie at x = 604 and 636, a shaft's plan keeps 20 m from them. Its rectangle counts at every
heading between -6 and +6 degrees of the axis (a fifth of the family's 60 degrees), on a circle widened by
1 / cos 3 deg: half of an 8 m by 21 m launch shaft then reaches (4 cos 6 + 10.5 sin 6) / cos 3 = 5.083 m
ahead, half of a 5 m by 21 m reception shaft (2.5 cos 6 + 10.5 sin 6) / cos 3 = 3.589 m.

- Reception: at most at 604 - 20 - 3.589 = 580.411, so at 580 on 10 m, on 5 m and on 5/3 m alike.
- Launch: at least at 636 + 20 + 5.083 = 661.083: at 670 on 10 m, at 665 on 5 m, at 661.667 on 5/3 m.

The drive shrinks from 90 m to 81.667 m.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from routescreen.money import measure
from routescreen.plan import section_runs
from routescreen.screen import Solved, refined
from routescreen.search.reasons import reasons_along
from routescreen.search.stretches import measure_stretches
from routescreen.takeoff import Scope, take_off
from tests.refine.places import DEFAULTS, Case, corridor, river, solved

LAUNCH_REACH_M = (4.0 * math.cos(math.radians(6)) + 10.5 * math.sin(math.radians(6))) / math.cos(
    math.radians(3)
)


@cache
def case() -> Case:
    return solved(corridor(river()))


@cache
def after() -> Solved:
    return refined(case().solved, case().corridor)


def test_the_place_is_as_described() -> None:
    method, kind = DEFAULTS.methods["two_pass"], DEFAULTS.treatments["river"]
    assert kind.shaft_clearance_m == 20.0
    assert round(LAUNCH_REACH_M, 3) == 5.083
    assert (DEFAULTS.frame.cell_m, DEFAULTS.refine.cell_m) == (10.0, 2.0)
    assert method.bore_diameter_m > 0.0
    (drive,) = case().solved.plan.drives
    assert drive.method == "two_pass"


def test_shafts_move_to_the_clearance() -> None:
    before, now = case().solved.plan.shafts, after().plan.shafts
    is_mirrored = case().solved.plan.drives[0].is_launched_at_lower
    first_m, last_m = (570.0, 660.0) if is_mirrored else (580.0, 670.0)
    assert np.array([shaft.xy_m for shaft in before]) == pytest.approx(
        np.array([(first_m, 0.0), (last_m, 0.0)])
    )
    lower_m, upper_m = shafts_m()
    assert np.array([shaft.xy_m for shaft in now]) == pytest.approx(
        np.array([(lower_m, 0.0), (upper_m, 0.0)])
    )
    if after().plan.drives[0].is_launched_at_lower:
        assert lower_m <= 604.0 - 20.0 - LAUNCH_REACH_M
    else:
        assert upper_m >= 636.0 + 20.0 + LAUNCH_REACH_M


def shafts_m() -> tuple[float, float]:
    """Where the shafts stand: the launch 41.667 m and the reception 40 m from the river's middle at 620 m.

    Either end may launch: the ground is alike on both sides, so both cost the same.
    """
    if after().plan.drives[0].is_launched_at_lower:
        return 620.0 - (245.0 / 3.0 - 40.0), 660.0
    return 580.0, 620.0 + (245.0 / 3.0 - 40.0)


def test_the_bill_falls_by_what_the_shorter_drive_saves() -> None:
    """8.333 m of drive become open cut: their metres, one piece of 12 m pipe less (7 for 8), layout, pumps.

    Both shafts are pumped as long as the 4 bores take, at 24 m a day and 245 days of work a year.
    """
    a, rates = DEFAULTS, measure.rates_eur(DEFAULTS)
    less_m = 670.0 - (580.0 + 245.0 / 3.0)
    sampler = after().problem.sampler
    ground = sampler.sample(np.array([[665.0, 0.0]]))
    drive_eur = measure.drive_per_m("two_pass", ground.soil_class, ground.cover_class, a)[0] @ rates
    trench_eur = measure.trench_per_m(ground, np.array([False]), a)[0] @ rates
    depth_m = [shaft.depth_m for shaft in case().solved.plan.shafts]
    whole = [
        measure.drive_fixed(
            "two_pass",
            np.array([length_m]),
            np.array([depth_m[1]]),
            np.array([depth_m[0]]),
            ground.cover_class,
            a,
        )[0]
        @ rates
        for length_m in (90.0, 245.0 / 3.0)
    ]
    assert [shaft.depth_m for shaft in after().plan.shafts] == depth_m  # flat ground
    pumped_months = 2 * 4 * less_m / 24.0 / (245.0 / 12.0)
    pumped_eur = pumped_months * float(rates[measure.bill_items(a).index["SH24"]])
    saved_eur = less_m * (drive_eur - trench_eur) + whole[0] - whole[1] + pumped_eur
    assert saved_eur > 1000.0
    assert after().gains.gain_eur == pytest.approx(saved_eur, abs=0.01)


def test_objective_is_the_bill_on_the_frames() -> None:
    now = after()
    assert measure_stretches(now.stretches).total_eur == pytest.approx(now.plan.objective_eur, abs=0.005)
    assert now.plan.objective_eur < now.frame_plan.objective_eur


def test_plan_runs_on_over_the_seams() -> None:
    plan, (lower_m, upper_m) = after().plan, shafts_m()
    assert plan.alignment_xy_m == pytest.approx(
        np.array([[0.0, 0.0], [lower_m, 0.0], [upper_m, 0.0], [1500.0, 0.0]])
    )
    assert plan.is_drive.tolist() == [False, True, False]
    assert (plan.drives[0].from_vertex, plan.drives[0].to_vertex) == (1, 2)
    assert [(s.incoming, s.outgoing) for s in plan.shafts] == [(None, 0), (0, None)]


def test_reasons_are_one_for_each_section() -> None:
    now = after()
    before, drive, behind = reasons_along(now.problem, now.stretches)
    assert len(section_runs(now.plan)) == 3
    assert before.startswith("Open cut")
    assert drive.startswith("Drive, because no trench is allowed through river river")
    assert behind.startswith("Open cut")


def test_gain_is_told() -> None:
    gains = after().gains
    assert (gains.n_windows, gains.n_accepted, gains.n_refused, gains.n_too_large) == (1, 1, 0, 0)
    exact = take_off(Scope(after().plan, after().problem.sampler, after().problem.crossings, DEFAULTS))
    assert exact.total_eur(DEFAULTS) == pytest.approx(gains.after_eur)
    assert gains.processor_s > 0.0
