"""Stretches of a drive that no rescue shaft reaches and that nobody can track: by hand on the invented place.

The drive runs from x 520 to 800: river 585 to 615, strip of the gas main 756 to 764; crossings lie at right
angles, so lengths are widths.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from shapely import box

from routescreen.assumptions import load_assumptions
from routescreen.audit import audit_plan
from routescreen.audit.bill import shaft_quantities
from routescreen.audit.reach_proofs import longest_span_m
from routescreen.audit.scene import set_scene
from routescreen.money.measure import crossing_drive, rates_eur
from tests.audit.place import Run, correct_plan, crossing, place, with_cover
from tests.audit.register_place import DEFAULTS, check, ground, only, proved

if TYPE_CHECKING:
    import pandas as pd

    from routescreen.project import CorridorInput

WATER = list(load_assumptions().cover).index("water")


def found(name: str, inp: CorridorInput | None = None, text: str = "", run: Run | None = None) -> pd.Series:
    a = load_assumptions(text)
    rows = check(proved(inp, a, run), name)
    assert len(rows) == 1, rows
    return rows.iloc[0]


def wetland(from_m: float, to_m: float, kind: str = "wetland") -> tuple[dict[str, object], object]:
    return crossing(kind, box(from_m, -100.0, to_m, 100.0), feature_id=f"{kind}{from_m:g}")


def test_the_longest_stretch_and_not_the_sum() -> None:
    row = found("unreachable")
    assert (row["demand"], row["capacity"], row["status"]) == (pytest.approx(30.0, abs=0.1), 300.0, "pass")
    assert row["governing_chainage_m"] == pytest.approx(600.0, abs=0.1)
    assert row["confidence"] == "record"
    assert row["element_id"] == "demo-D001"


def test_what_a_bore_costs_that_is_given_up_is_told_where_none_can_be_rescued() -> None:
    """A quarter of the drive: the bill's section less the shaft that stands in it and the wetland's fee."""
    inp = ground(only(wetland(560.0, 740.0)))
    reason = found("unreachable", inp)["reason"]
    told = re.search(r"given up, about (\d[\d ]*) EUR", reason)
    assert told is not None
    assert "PR01" in reason
    scene = set_scene(correct_plan(), inp, DEFAULTS, axis=None)
    section = audit_plan(correct_plan(), inp, DEFAULTS).section_quantities[1]
    others = crossing_drive("wetland", DEFAULTS) + shaft_quantities(scene, 0) + shaft_quantities(scene, 1)
    drive_eur = float((section - others) @ rates_eur(DEFAULTS))
    assert float(told[1].replace(" ", "")) == pytest.approx(drive_eur / 4.0, abs=0.5)
    assert "given up" not in found("unreachable")["reason"]


def test_a_failure_says_where_under_what_and_what_can_be_done() -> None:
    strict = "[methods.two_pass]\nunreachable_fail_m = 160.0\n"
    reason = found("unreachable", only(wetland(560.0, 740.0)), strict)["reason"]
    assert "is 180 m from chainage 560 to 740 m under wetland wetland560" in reason.replace("(", "")
    assert "agree beforehand on a place for a rescue shaft" in reason
    passed = found("unreachable", only(wetland(560.0, 740.0)))["reason"]
    assert "agree beforehand" not in passed


@pytest.mark.parametrize(
    ("text", "status"),
    [
        ("unreachable_amber_m = 31\nunreachable_fail_m = 60", "pass"),
        ("unreachable_amber_m = 29\nunreachable_fail_m = 60", "amber"),
        ("unreachable_amber_m = 20\nunreachable_fail_m = 29", "fail"),
    ],
)
@pytest.mark.parametrize("name", ["unreachable", "tracking_gap"])
def test_both_limits_are_compared(name: str, text: str, status: str) -> None:
    own = text.replace("unreachable", name)
    assert found(name, text=f"[methods.two_pass]\n{own}\n")["status"] == status


def test_a_gap_too_short_for_a_shaft_parts_nothing() -> None:
    """Two wetlands of 100 m, 4 m or 6 m apart: a reception shaft is 5 m long."""
    near = only(wetland(540.0, 640.0), wetland(644.0, 744.0, "graveyard"))
    apart = only(wetland(540.0, 640.0), wetland(646.0, 746.0, "graveyard"))
    assert found("unreachable", near)["demand"] == pytest.approx(204.0, abs=0.1)
    assert found("unreachable", apart)["demand"] == pytest.approx(100.0, abs=0.1)


def test_a_wetland_is_walked_on_a_railway_is_not() -> None:
    assert found("tracking_gap", only(wetland(540.0, 740.0)))["demand"] == 0.0
    railway = found("tracking_gap", only(wetland(540.0, 740.0, "railway")))
    assert (railway["demand"], railway["status"]) == (pytest.approx(200.0, abs=0.1), "amber")


def test_water_of_the_ground_cover_counts_for_both() -> None:
    """Pixels of 10 m, x 640 to 660."""
    inp = replace(ground(with_cover(place(), box(640.0, -20.0, 660.0, 20.0), WATER)))
    inp = replace(inp, crossings=inp.crossings.iloc[:0])
    for name in ("unreachable", "tracking_gap"):
        assert found(name, inp)["demand"] == pytest.approx(20.0, abs=0.01)


def test_water_that_only_some_of_the_bores_meet_counts() -> None:
    """The bores lie 3 and 9 m to each side; the pixels with water from 0 to 10 m to one."""
    inp = replace(ground(with_cover(place(), box(640.0, 0.0, 660.0, 10.0), WATER)))
    inp = replace(inp, crossings=inp.crossings.iloc[:0])
    assert found("unreachable", inp)["demand"] == pytest.approx(20.0, abs=0.01)


def test_a_method_without_a_limit_has_no_row() -> None:
    """An enterable drive is reached from inside and tracked by its own means."""
    proofs = proved(run=Run(1, 42.0, 42.0, method="enterable"))
    assert check(proofs, "unreachable").empty
    assert check(proofs, "tracking_gap").empty


def test_stretches_that_overlap_are_one() -> None:
    assert longest_span_m([(0.0, 10.0), (5.0, 7.0), (10.0, 12.0)], 0.0) == (0.0, 12.0)
    assert longest_span_m([(0.0, 10.0), (5.0, 12.0)], 0.0) == (0.0, 12.0)
    assert longest_span_m([], 5.0) == (0.0, 0.0)
