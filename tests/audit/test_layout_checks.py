"""The layout of pipe strings in the audit: the strip of the hand-made plan runs from x = 802.5 to 1102.5."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from shapely import LineString, box

from routescreen.assumptions import load_assumptions
from routescreen.audit import AuditReport, audit_plan
from tests.audit.place import Run, correct_plan, crossing, place, plan, with_cover

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.plan import Plan
    from routescreen.project import CorridorInput

ASSUMPTIONS = load_assumptions()
BUILT_UP = list(ASSUMPTIONS.cover).index("built_up")


def audited(inp: CorridorInput, plan_: Plan | None = None) -> AuditReport:
    return audit_plan(plan_ or correct_plan(), inp, ASSUMPTIONS)


def layout_breaches(report: AuditReport) -> dict[str, tuple[float, float]]:
    return {b.check: (b.demand, b.capacity) for b in report.breaches if b.check.startswith("layout")}


def laid_out(xy_m: Sequence[tuple[float, float]], n_pieces: int = 1) -> Plan:
    """Return the correct plan with its strings laid out otherwise."""
    good = correct_plan()
    drive = replace(good.drives[0], layout_xy_m=tuple(xy_m), n_layout_pieces=n_pieces)
    return replace(good, drives=(drive,))


def bent(legs: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return a line from the shaft's end by legs of (length, turn before it in degrees)."""
    x, y, heading = 802.5, 0.0, 0.0
    xy_m = [(x, y)]
    for length, turn in legs:
        heading += math.radians(turn)
        x, y = x + length * math.cos(heading), y + length * math.sin(heading)
        xy_m.append((x, y))
    return xy_m


def test_a_sound_layout_is_checked_and_passes() -> None:
    checks = audited(place()).checks
    found = checks[checks["check"].str.startswith("layout")]
    assert set(found["check"]) == {
        *("layout_pieces", "layout_length", "layout_start", "layout_in_line", "layout_lead", "layout_land")
    }
    assert set(found["status"]) == {"pass"}
    length = found[found["check"] == "layout_length"].iloc[0]
    assert (length["demand"], length["capacity"]) == pytest.approx((300.0, 300.0))  # 280 m and 20 m to work


@pytest.mark.parametrize(
    ("area", "m2"),
    [
        (box(900.0, -50.0, 1000.0, 50.0), 100.0 * 24.0),  # 4 strings at 6 m
        (box(1090.0, -50.0, 1200.0, 50.0), 12.5 * 24.0),
        (box(1110.0, -50.0, 1200.0, 50.0), None),  # behind its end
        (box(900.0, 20.0, 1000.0, 50.0), None),  # beside it; the strip's edge lies at 12 m
    ],
    ids=["across", "its end", "behind", "beside"],
)
def test_strips_on_built_up_ground(area: object, m2: float | None) -> None:
    found = layout_breaches(audited(with_cover(place(), area, BUILT_UP)))
    assert found == ({} if m2 is None else {"layout_land": (pytest.approx(m2, abs=0.01), 0.0)})


def test_strips_over_a_stream_and_over_a_ditch() -> None:
    banks = box(950.0, -300.0, 953.0, 300.0)
    found = layout_breaches(audited(place(crossing("stream", banks))))
    assert found == {"layout_land": (pytest.approx(3.0 * 24.0), 0.0)}
    assert layout_breaches(audited(place(crossing("ditch", LineString([(950, -300), (950, 300)]))))) == {}


def test_strips_end_where_nothing_is_known() -> None:
    """Of a drive to x = 1 300 strips of 320 m end at 1 622.5: within 200 m of the corridor's end at 1 500."""
    near = plan([(0.0, 0.0), (1000.0, 0.0), (1300.0, 0.0), (1500.0, 0.0)], Run(1))
    assert layout_breaches(audited(place(), near)) == {}
    far = plan([(0.0, 0.0), (1000.0, 0.0), (1390.0, 0.0), (1500.0, 0.0)], Run(1))
    found = layout_breaches(audited(place(), far))  # 1 392.5 + 410 = 1 802.5
    assert found == {"layout_land": (pytest.approx(102.5 * 24.0, abs=1.0), 0.0)}


def test_strings_in_two_pieces_need_half_the_length_and_the_working_room() -> None:
    assert layout_breaches(audited(place(), laid_out([(802.5, 0.0), (962.5, 0.0)], 2))) == {}
    found = layout_breaches(audited(place(), laid_out([(802.5, 0.0), (962.4, 0.0)], 2)))
    assert found == {"layout_length": (160.0, pytest.approx(159.9))}


def test_more_pieces_than_the_method_allows() -> None:
    found = layout_breaches(audited(place(), laid_out([(802.5, 0.0), (1102.5, 0.0)], 21)))
    assert found == {"layout_pieces": (21.0, 20.0)}


def test_a_drive_whose_strings_are_laid_out_nowhere() -> None:
    found = layout_breaches(audited(place(), laid_out([])))
    assert found == {"layout_length": (300.0, 0.0)}


def test_strips_beside_the_line_of_the_drive() -> None:
    found = layout_breaches(audited(place(), laid_out([(802.5, 1.0), (1102.5, 1.0)])))
    assert found == {"layout_start": (1.0, 0.0)}
    found = layout_breaches(audited(place(), laid_out(bent([(300.0, 2.0)]))))
    assert found == {"layout_in_line": (pytest.approx(2.0), 0.0)}


# least radius in the middle of the strings: 25 x 0.5 m of the pipe, and 12 m to the inner edge; the legs
# between kinks of 15 degrees that touch such an arc: 2 x 24.5 x tan 7.5 = 6.451 m
@pytest.mark.parametrize(
    ("legs", "checks"),
    [
        ([(50.0, 0.0), (6.46, -15.0), (243.54, -15.0)], set()),
        ([(50.0, 0.0), (6.40, -15.0), (243.60, -15.0)], {"layout_radius"}),
        ([(50.0, 0.0), (250.0, 16.0)], {"layout_kink"}),
        ([(19.0, 0.0), (281.0, -15.0)], {"layout_lead"}),
        ([(50.0, 0.0), *[(6.5, 15.0)] * 6, (211.0, 15.0)], {"layout_turn"}),
        ([(50.0, 0.0), *[(6.5, -15.0)] * 5, (217.5, -15.0)], set()),
    ],
    ids=["by the arc", "too tight", "a sharp kink", "at the shaft", "round the corner", "a right angle"],
)
def test_bent_strips(legs: list[tuple[float, float]], checks: set[str]) -> None:
    assert set(layout_breaches(audited(place(), laid_out(bent(legs))))) == checks
