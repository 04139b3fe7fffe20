"""Findings on cables in one tunnel, by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from routescreen.assumptions import load_assumptions
from tests.audit.cable_place import (
    LEVEL,
    STRAIGHT,
    curve,
    ground,
    row,
)
from tests.audit.place import plan
from tests.audit.proving import prove_plan
from tests.audit.test_cable_proofs import amperes

if TYPE_CHECKING:
    from routescreen.audit.proofs import Proofs


def in_tunnel(text: str = "", water_m: float = -1.5) -> Proofs:
    a = load_assumptions("[methods.enterable]\nis_enabled = true\n" + text)
    tunnel = replace(plan(STRAIGHT, LEVEL).drives[0], method="enterable")
    return prove_plan(replace(plan(STRAIGHT, LEVEL), drives=(tunnel,)), ground(water_m=water_m), a)


def test_four_cables_in_one_tunnel_by_hand() -> None:
    """Crown 6 m deep, bore 2.06 m: axis 7.03 m; pipes 0.6 m apart on a ring of 0.6/root 2 = 0.4243 m.

    Inside a pipe of OD 0.28: 0.5763 K m/W as in open cut. In the fill of 1.0 K m/W to the tunnel's edge, R
    1.0 m: ln(1/0.14) + 2 ln(1/0.6) + ln(1/0.8485) = 3.1521, /2pi = 0.5017. Outside 0.75/2pi x 4 x
    ln(7.03 + root(7.03^2 - 1)) = 4 x 2.6384 x 0.11937 = 1.2598. Ground 11 + 4 e^0.6 e^(-7.03/2.5) = 11.438;
    the pipes lie at 6.73 and 7.33 m, the upper two a little better off.
    """
    found = row(in_tunnel(), "cable_rating", "demo-D001")
    expected = amperes(70.0 - 11.438, 0.5763 + 0.5017 + 1.2598)  # 1 705
    assert found["capacity"] == pytest.approx(expected, rel=5e-3)
    assert found["status"] == "fail"
    points = curve(in_tunnel(), "drive")
    assert points["spacing_m"].to_numpy() == pytest.approx(0.6)
    assert points["depth_m"].to_numpy() == pytest.approx(7.33)


def test_a_tunnel_asks_for_room_and_no_spacing_of_bores() -> None:
    proofs = in_tunnel()
    room = row(proofs, "tunnel_room", "demo-D001")
    assert (room["demand"], room["capacity"]) == (pytest.approx(0.8485 + 0.28, abs=1e-4), 1.6)
    assert room["status"] == "pass"
    assert "thermal_spacing" not in set(proofs.checks["check"])
    narrow = in_tunnel("inside_diameter_m = 1.1\n")
    assert row(narrow, "tunnel_room", "demo-D001")["status"] == "fail"


def test_the_ramp_behind_a_tunnel_begins_with_pipes_across_the_shaft() -> None:
    """6.5 m less a pipe of 0.28 m for four pipes: 2.073 m apart; the field is known as well."""
    proofs = in_tunnel()
    ramps = curve(proofs, "ramp")
    assert ramps["spacing_m"].max() == pytest.approx((6.5 - 0.28) / 3.0)
    assert ramps["rating_A"].notna().all()
    assert row(proofs, "magnetic_field", "demo-D001")["status"] == "pass"
