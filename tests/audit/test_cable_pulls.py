"""Pulls through drives on hand-made plans, by hand."""

from __future__ import annotations

import math

import pytest

from routescreen.assumptions import load_assumptions
from routescreen.audit.proofs import prove_plan
from tests.audit.cable_place import (
    DEFAULTS,
    LEVEL,
    STRAIGHT,
    ground,
    proved,
    row,
)
from tests.audit.place import Run, plan


def test_pull_through_ramps_and_drive_by_hand() -> None:
    """42 kg/m = 0.41202 kN/m, friction 0.25; each ramp turns twice by acos(1 - 4.74/50) = 25.150 deg.

    3.0 x 1.11598 = 3.348; down 21.947 m of ramp (run 21.430, rise 4.74): + 0.254; x 1.11598 = 4.020; + 280 x
    0.41202 x 0.25 = 32.862; x 1.11598 = 36.673; up the ramp + 4.160 = 40.833; x 1.11598 = 45.569 kN.
    """
    proofs = proved()
    found = row(proofs, "cable_pull", "demo-D001")
    assert found["demand"] == pytest.approx(45.569, abs=0.01)
    assert found["capacity"] == 125.0
    # radius of the ramps: 125 kN (more than the longest drive's pull may be) / 5 kN/m
    assert row(proofs, "side_wall", "demo-D001")["demand"] == pytest.approx(45.569 / 25.0, abs=0.001)
    assert row(proofs, "drum_section", "demo-D001")["demand"] == pytest.approx(280.0 + 2 * 21.947, abs=0.01)


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
    assert f"drum at the lower chainage: {45.569 * math.exp(0.25 * 0.349066):.1f} and" in reason


TWO_DRIVES = [(0.0, 0.0), (520.0, 0.0), (660.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]


def test_a_bend_before_the_drive_counts_as_well() -> None:
    bent = [(520.0 - 520.0 * math.cos(0.349066), -520.0 * math.sin(0.349066)), *STRAIGHT[1:]]
    reason = row(prove_plan(plan(bent, LEVEL), ground(), DEFAULTS), "cable_pull", "demo-D001")["reason"]
    assert "121 deg of bends" in reason  # 4 x 25.15 + 20
    assert f"drum at the higher chainage: {45.569 * math.exp(0.25 * 0.349066):.1f} and" in reason


def test_drives_that_share_a_shaft_are_pulled_each_and_as_one() -> None:
    """Each of 140 m from its ramp into the shaft 4.020 + 140 x 0.41202 x 0.25 kN; as one like 280 m."""
    proofs = prove_plan(plan(TWO_DRIVES, Run(1), Run(2)), ground(), DEFAULTS)
    for element in ("demo-D001", "demo-D002"):
        found = row(proofs, "cable_pull", element)
        assert found["demand"] == pytest.approx(4.020 + 140.0 * 0.41202 * 0.25, abs=0.01)
        assert found["governing_chainage_m"] == pytest.approx(660.0)
        assert row(proofs, "drum_section", element)["demand"] == pytest.approx(140.0 + 21.947, abs=0.01)
    through = row(proofs, "cable_pull_through", "demo-D001")
    assert through["demand"] == pytest.approx(45.569, abs=0.01)
    assert (through["status"], "no joint is needed" in through["reason"]) == ("pass", True)


def test_a_drum_too_small_for_both_drives_needs_a_joint_in_their_shaft() -> None:
    """(15 - 7.5) t / 42 kg/m = 178.6 m: enough for 161.9 m, not for 323.9 m."""
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
    assert "101 deg" in level["reason"]  # 4 x 25.15
    assert "120 deg" in deep["reason"]  # 4 x acos(1 - 6.74/50), 30 deg at most
    through = row(proofs, "cable_pull_through", "demo-D001")
    # ramps 2 x 25.15 + 2 x 30.0, step 2 x 16.26
    turns = math.exp(0.25 * math.radians(2 * 25.15 + 2 * 30.0 + 2 * 16.26))
    straight = 280.0 * 0.41202 * 0.25
    assert 3.0 * turns + straight < through["demand"] < (3.0 + straight + 20.0) * turns
    assert through["demand"] > max(level["demand"], deep["demand"])
