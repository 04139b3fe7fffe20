"""Magnetic field and compass error of the finding on hand-made plans, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from routescreen.audit.cable_field import CableField
from routescreen.drives.cable_make import pole_orders
from tests.audit.cable_place import (
    DEFAULTS,
    ONE_SYSTEM,
    curve,
    ground,
    row,
)
from tests.audit.cable_place import close_assumptions as load_assumptions
from tests.audit.cable_place import proved_close as proved
from tests.audit.place import Run, plan
from tests.audit.proving import prove_plan


def test_field_of_one_system_by_hand() -> None:
    """Midway over +-I: 0.2 I s/(h^2 + s^2/4). Trench h 1.74, s 0.5: 61.65 uT; drive h 6.48, s 6: 44.83 uT."""
    proofs = proved(text=ONE_SYSTEM)
    assert row(proofs, "magnetic_field", "demo-D001")["demand"] == pytest.approx(44.83, abs=0.01)
    assert curve(proofs, "open_cut")["field_uT"].to_numpy() == pytest.approx(61.65, abs=0.02)
    # on the ramps the pair lies further apart and not yet deep
    assert row(proofs, "magnetic_field", "demo-S001")["demand"] > 61.7


def test_field_is_least_favourable_over_the_orders_of_the_poles() -> None:
    """Four bores, + - - + or + - + -: with the axes 10.28 m deep the first has more, and that is told."""
    orders = {tuple(order.tolist()) for order in pole_orders(DEFAULTS)}
    assert orders == {(1, -1, 1, -1), (1, -1, -1, 1)}
    found = row(proved(Run(1, 40.0, 40.0)), "magnetic_field", "demo-D001")["demand"]

    def strength(signs: tuple[int, ...]) -> float:
        most = 0.0
        for y in np.linspace(-12.0, 12.0, 2401):
            parts = [
                (0.2 * 1905.0 * sign / complex(y - at, 10.48))
                for sign, at in zip(signs, (-9.0, -3.0, 3.0, 9.0), strict=True)
            ]
            most = max(most, abs(sum(parts)))
        return most

    both_poles = max(strength((1, -1, -1, 1)), strength((1, -1, 1, -1)))
    one_out = max(strength((0, 0, 1, -1)), strength((1, -1, 0, 0)))
    assert found == pytest.approx(max(both_poles, one_out), rel=1e-3)


def _level_peak_uT() -> float:
    """One pair 0.5 m apart, 1.54 m deep: the greatest level part 1 m up, near y = 2.54/root 3."""
    most = 0.0
    for y in np.linspace(-4.0, 4.0, 8001):
        up = 2.54
        level = 0.2 * 1905.0 * up * (1.0 / (up**2 + (y + 0.25) ** 2) - 1.0 / (up**2 + (y - 0.25) ** 2))
        most = max(most, abs(level))
    return most  # about 190.5 x 0.6495/2.54^2 = 19.2 uT


@pytest.mark.parametrize(
    ("line", "earth_uT", "error_deg"),
    [
        pytest.param([(0.0, -200.0), (0.0, 200.0)], 18.0, None, id="northwards: atan(peak / 18)"),
        pytest.param([(0.0, 0.0), (400.0, 0.0)], 18.0, 180.0, id="eastwards: more than the earth's"),
        pytest.param([(0.0, 0.0), (400.0, 0.0)], 20.0, 0.0, id="eastwards: less than the earth's"),
    ],
)
def test_compass_by_hand(line: list[tuple[float, float]], earth_uT: float, error_deg: float | None) -> None:
    a = load_assumptions(f"{ONE_SYSTEM}[checks.land]\nearth_horizontal_uT = {earth_uT}\n")
    proofs = prove_plan(plan(line), ground(), a)
    wanted = math.degrees(math.atan2(_level_peak_uT(), 18.0)) if error_deg is None else error_deg
    assert curve(proofs, "open_cut")["compass_error_deg"].max() == pytest.approx(wanted, abs=0.1)
    found = row(proofs, "compass_error", "demo")
    assert found["status"] == "not_evaluated"
    assert f"by up to {wanted:.0f} deg with both poles" in found["reason"]


def test_cases_of_the_return_are_kept_apart() -> None:
    names = ("both poles", "system 1, pole + out, metallic return", "system 2 out")
    field = CableField(np.array([9.0]), names, np.array([[1.0, 5.0, 9.0]]), np.zeros((1, 3)))
    assert (field.both_poles_uT.tolist(), field.metallic_return_uT.tolist()) == ([1.0], [5.0])
