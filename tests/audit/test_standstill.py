"""The face while the machine stands, against the mud that is left in the bore, by hand."""

from __future__ import annotations

import math

import pytest

from tests.audit.register_place import DEFAULTS, check, ground, proved

# crown 6 m, axis 6.28 m below level ground; mud of 11 kN/m3 open at the launch: 11 x 6.28 kPa at the axis
MUD_KPA = 11.0 * 6.28
PHI = math.radians(35.0)


def needed_kPa(head_m: float, water_m: float) -> float:
    """Water by 1.05 and 1.5 Ka of the silo and the wedge: dense sand of 18.5 kN/m3, 20.5 under water."""
    ahead = math.tan(math.pi / 4.0 - PHI / 2.0)
    slender = (1.0 - math.sin(PHI)) * math.tan(PHI) * 6.0 / (0.56 * ahead / (2.0 * (1.0 + ahead)))
    dry_m = min(max(water_m, 0.0), 6.0)
    effective = 18.5 * dry_m + (20.5 - 9.81) * (6.0 - dry_m)
    silo = effective * (1.0 - math.exp(-slender)) / slender
    return 1.05 * 9.81 * head_m + 1.5 * ahead**2 * (silo + (20.5 - 9.81) * 0.28)


def test_the_mud_holds_the_face() -> None:
    """The highest water counts, 1.5 m down where 3 m are given."""
    found = check(proved(), "pressure_standstill").iloc[0]
    assert found["status"] == "pass"
    assert found["capacity"] == pytest.approx(MUD_KPA, abs=0.05)
    # under the river and beside it: the worst point needs no less than level ground does
    assert found["demand"] >= needed_kPa(6.28 - 3.0, 3.0) - 0.1


def test_water_above_the_launch_asks_for_pressure_while_the_machine_stands() -> None:
    """Water given 2 m above the ground: 8.28 m of it at the axis, more than mud of the same height weighs."""
    found = check(proved(ground(groundwater_depth_m=-2.0)), "pressure_standstill").iloc[0]
    assert found["status"] == "amber"
    assert found["demand"] >= needed_kPa(8.28, -2.0) - 0.1
    assert found["capacity"] == pytest.approx(MUD_KPA, abs=0.05)
    assert "held by the pump or by air" in found["reason"]
    assert DEFAULTS.checks.slurry.unit_weight_kN_per_m3.expected == 11.0
