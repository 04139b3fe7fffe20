"""Pulls through drives on hand-made plans, by hand."""

from __future__ import annotations

import math

import pytest

from routescreen.audit.pull_ways import pull_ways
from routescreen.audit.scene import set_scene
from tests.audit.cable_place import CLOSE_DEFAULTS as DEFAULTS
from tests.audit.cable_place import (
    LEVEL,
    STRAIGHT,
    ground,
    row,
)
from tests.audit.cable_place import close_assumptions as load_assumptions
from tests.audit.cable_place import (
    proved_close as proved,
)
from tests.audit.place import Run, plan
from tests.audit.proving import prove_plan

CLOSE_BORES = "[methods.guided_thrust]\nthermal_spacing_m = 3.5\n"


def test_pull_through_ramps_and_drive_by_hand() -> None:
    """42 kg/m = 0.41202 kN/m, friction 0.25. The outer cables bear most: up 4.74 m and aside 3.75 m.

    6.0440 m across. Each of their ramps turns twice by acos(1 - 6.0440/50) = 28.4636 deg, e^(0.25 x 0.496784)
    = 1.132238: 3.0 -> 3.397; down 24.839 m of ramp (level part 24.383, rise 4.74): + 0.559 = 3.955; -> 4.478;
    + 280 x 0.41202 x 0.25 = 33.320; -> 37.726; up the ramp + 4.465 = 42.190; -> 47.770 kN.
    """
    proofs = proved()
    found = row(proofs, "cable_pull", "demo-D001")
    assert found["demand"] == pytest.approx(47.770, abs=0.01)
    assert found["capacity"] == 125.0
    # radius of the ramps: 125 kN / 5 kN/m
    assert row(proofs, "side_wall", "demo-D001")["demand"] == pytest.approx(47.770 / 25.0, abs=0.001)
    assert row(proofs, "drum_section", "demo-D001")["demand"] == pytest.approx(280.0 + 2 * 24.839, abs=0.01)


def test_inner_cables_that_move_further_aside_bear_most() -> None:
    """Bores of guided thrust at 1.75 and 5.25 m, pipes at 4.75 and 5.25 m: inner cables 3 m aside.

    Crown at 47 m: axes 3.17 m deep, up 1.63 m; across 3.41422 m: twice acos(1 - 3.41422/50) = 21.2962 deg at
    each end. Factor e^(0.25 x 0.371688) = 1.097376; 18.584 m of ramp, level part root(18.584^2 - 1.63^2) =
    18.513: down 0.41202 (4.628 - 1.63) = 1.235, up 2.579; drive of 280 m + 28.841:
    3 -> 3.292; 4.527 -> 4.968; 33.810 -> 37.102; 39.681 -> 43.544 kN. The outer ones turn far less.
    """
    found = row(proved(Run(1, 47.0, 47.0, "guided_thrust"), text=CLOSE_BORES), "cable_pull", "demo-D001")
    assert found["demand"] == pytest.approx(43.544, abs=0.01)


def test_the_easier_direction_counts_and_both_are_told() -> None:
    """The drum stands at the deep end: there the larger bends meet the small pull, and the pull is uphill."""
    found = row(proved(Run(1, 46.0, 42.0)), "cable_pull", "demo-D001")
    mirrored = row(proved(Run(1, 42.0, 46.0)), "cable_pull", "demo-D001")
    assert found["demand"] == pytest.approx(mirrored["demand"])
    assert {found["governing_chainage_m"], mirrored["governing_chainage_m"]} == {520.0, 800.0}
    assert found["reason"].startswith("drum at the higher")
    assert mirrored["reason"].startswith("drum at the lower")
    assert "; drum at the lower chainage: " in found["reason"]


def test_a_bend_at_the_shaft_adds_its_capstan_factor() -> None:
    """20 deg behind the drive: e^(0.25 x 0.34907) = 1.0912 more at its end if pulled up-chainage."""
    bent = [*STRAIGHT[:3], (800.0 + 700.0 * math.cos(0.349066), 700.0 * math.sin(0.349066))]
    proofs = prove_plan(plan(bent, LEVEL), ground(), DEFAULTS)
    reason = row(proofs, "cable_pull", "demo-D001")["reason"]
    assert f"drum at the lower chainage: {47.770 * math.exp(0.25 * 0.349066):.1f} and" in reason


TWO_DRIVES = [(0.0, 0.0), (520.0, 0.0), (660.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]


def test_a_bend_before_the_drive_counts_as_well() -> None:
    bent = [(520.0 - 520.0 * math.cos(0.349066), -520.0 * math.sin(0.349066)), *STRAIGHT[1:]]
    reason = row(prove_plan(plan(bent, LEVEL), ground(), DEFAULTS), "cable_pull", "demo-D001")["reason"]
    assert "134 deg of bends" in reason  # 4 x 28.464 + 20
    assert f"drum at the higher chainage: {47.770 * math.exp(0.25 * 0.349066):.1f} and" in reason


def test_drives_that_share_a_shaft_are_pulled_each_and_as_one() -> None:
    """Each of 140 m from its ramp into the shaft 4.478 + 140 x 0.41202 x 0.25 kN; as one like 280 m."""
    proofs = prove_plan(plan(TWO_DRIVES, Run(1), Run(2)), ground(), DEFAULTS)
    for element in ("demo-D001", "demo-D002"):
        found = row(proofs, "cable_pull", element)
        assert found["demand"] == pytest.approx(4.478 + 140.0 * 0.41202 * 0.25, abs=0.01)
        assert found["governing_chainage_m"] == pytest.approx(660.0)
        assert row(proofs, "drum_section", element)["demand"] == pytest.approx(140.0 + 24.839, abs=0.01)
    through = row(proofs, "cable_pull_through", "demo-D001")
    assert through["demand"] == pytest.approx(47.770, abs=0.01)
    assert (through["status"], "no joint is needed" in through["reason"]) == ("pass", True)


def test_a_drum_too_small_for_both_drives_needs_a_joint_in_their_shaft() -> None:
    """(15 - 7.5) t / 42 kg/m = 178.6 m: enough for 164.8 m, not for 329.7 m."""
    a = load_assumptions("[cable]\ndrum_gross_t = [10, 15, 20]\n")
    proofs = prove_plan(plan(TWO_DRIVES, Run(1), Run(2)), ground(), a)
    assert row(proofs, "drum_section", "demo-D001")["status"] == "pass"
    through = row(proofs, "cable_pull_through", "demo-D001")
    assert (through["status"], "a joint is needed" in through["reason"]) == ("amber", True)


def test_drives_that_meet_at_two_levels_bend_in_their_shaft() -> None:
    """2 m apart: twice acos(1 - 2/50) = 16.26 deg more than two level drives with the same ramps have."""
    proofs = prove_plan(plan(TWO_DRIVES, Run(1), Run(2, 42.0, 42.0)), ground(), DEFAULTS)
    level, deep = (
        row(prove_plan(plan(STRAIGHT, Run(1, crown, crown)), ground(), DEFAULTS), "cable_pull", "demo-D001")
        for crown in (44.0, 42.0)
    )
    assert "114 deg" in level["reason"]  # 4 x 28.464
    assert "120 deg" in deep["reason"]  # up 6.74, aside 3.75, 7.71 m across: 30 deg at most
    through = row(proofs, "cable_pull_through", "demo-D001")
    # ramps 2 x 28.464 + 2 x 30.0, step 2 x 16.26
    turns = math.exp(0.25 * math.radians(2 * 28.464 + 2 * 30.0 + 2 * 16.26))
    straight = 280.0 * 0.41202 * 0.25
    assert 3.0 * turns + straight < through["demand"] < (3.0 + straight + 20.0) * turns
    assert through["demand"] > max(level["demand"], deep["demand"])


def test_bores_differently_far_apart_move_the_cables_aside_in_the_shaft() -> None:
    """Bores at 9 and 3 m, then at 5.25 and 1.75 m: in the shaft 3.75 m aside outside, 1.25 m inside, level.

    acos(1 - 3.75/50) = 22.3316 and acos(1 - 1.25/50) = 12.8386 deg, twice each. First ramp 28.4636 and
    17.2979 deg. Last ramp: inner cables up 4.74 and aside 3 m, 5.60957 across, acos(1 - 5.60957/50) = 27.4008
    deg and 23.0107 m of run, in which the outer ones climb 4.74 m: L sin t + 45.26 cos t = 50, t = 16.9347.
    """
    # the thinner bore's crown lies 0.11 m lower, its axis at the same level
    which = plan(TWO_DRIVES, Run(1), Run(2, 43.89, 43.89, "guided_thrust"))
    ways = pull_ways(set_scene(which, ground(), load_assumptions(CLOSE_BORES), axis=None), [0, 1])
    assert [way.bend_deg.sum() for way in ways] == pytest.approx(
        [2.0 * (28.4636 + 22.3316 + 16.9347), 2.0 * (17.2979 + 12.8386 + 27.4008)], abs=0.01
    )


RESERVE = "; less than the reserve of"


@pytest.mark.parametrize(
    ("limit_kN", "status"),
    [
        # 47.770 kN x 1.15 = 54.94
        pytest.param(55.1, "pass", id="reserve kept"),
        pytest.param(54.7, "amber", id="too little left"),
        pytest.param(47.5, "fail", id="nothing left"),
    ],
)
def test_a_pull_near_its_limit_is_amber(limit_kN: float, status: str) -> None:
    # the ramps keep the 25 m of the eye of 125 kN
    text = f"[cable]\npull_limit_kN = {limit_kN}\nramp_radius_m = 25.0\n"
    found = row(proved(text=text), "cable_pull", "demo-D001")
    assert (found["status"], found["demand"]) == (status, pytest.approx(47.770, abs=0.01))
    assert (RESERVE in found["reason"]) == (status == "amber")


@pytest.mark.parametrize(
    ("limit_kN_per_m", "status"),
    [
        # 47.770 / 25 = 1.9108; x 1.15 = 2.1974
        pytest.param(2.21, "pass", id="reserve kept"),
        pytest.param(2.18, "amber", id="too little left"),
        pytest.param(1.90, "fail", id="nothing left"),
    ],
)
def test_a_side_wall_near_its_limit_is_amber(limit_kN_per_m: float, status: str) -> None:
    text = f"[cable]\nside_wall_kN_per_m = {limit_kN_per_m}\nramp_radius_m = 25.0\n"
    found = row(proved(text=text), "side_wall", "demo-D001")
    assert (found["status"], RESERVE in found["reason"]) == (status, status == "amber")


def test_the_reserve_is_an_assumption() -> None:
    text = "[cable]\npull_limit_kN = 54.7\nramp_radius_m = 25.0\npull_reserve_frac = 0.1\n"
    assert row(proved(text=text), "cable_pull", "demo-D001")["status"] == "pass"


@pytest.mark.parametrize(("length_m", "status"), [(48.0, "pass"), (47.0, "amber")])
def test_both_ramps_of_a_short_open_cut_need_room(length_m: float, status: str) -> None:
    """Twice 23.83 m."""
    line = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (800.0 + length_m, 0.0), (1100.0, 0.0), (1500.0, 0.0)]
    proofs = prove_plan(plan(line, Run(1), Run(3)), ground(), DEFAULTS)
    found = row(proofs, "ramp_room", "demo-S003")
    assert (found["status"], found["capacity"]) == (status, pytest.approx(length_m))
    assert found["demand"] == pytest.approx(2.0 * 23.830, abs=0.01)
    alone = row(proofs, "ramp_room", "demo-S001")
    assert (alone["status"], alone["demand"]) == ("pass", pytest.approx(23.830, abs=0.01))


@pytest.mark.parametrize(("radius_m", "status"), [(7.0, "pass"), (6.9, "fail")])
def test_pipes_are_laid_cold_in_the_ramps(radius_m: float, status: str) -> None:
    """25 diameters of 0.28 m."""
    found = row(proved(text=f"[cable]\nramp_radius_m = {radius_m}\n"), "ramp_bend", "demo-D001")
    assert (found["status"], found["demand"], found["capacity"]) == (status, pytest.approx(7.0), radius_m)


def test_drives_pulled_as_one_keep_the_reserve_too() -> None:
    """47.770 kN of 54.7: no joint is needed, but less than 15 % are left."""
    a = load_assumptions("[cable]\npull_limit_kN = 54.7\nramp_radius_m = 25.0\n")
    found = row(prove_plan(plan(TWO_DRIVES, Run(1), Run(2)), ground(), a), "cable_pull_through", "demo-D001")
    assert (found["status"], found["demand"]) == ("amber", pytest.approx(47.770, abs=0.01))
    assert "no joint is needed" in found["reason"]
    assert RESERVE in found["reason"]
