"""What lies within the trenches of open cut, beside them, and within the working strip."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, box

from routescreen.audit import AuditReport, audit_plan
from routescreen.drives.open_cut import widest_band_m
from tests.audit.place import (
    FEATURES,
    STRAIGHT,
    Run,
    across,
    correct_plan,
    crossing,
    crossings,
    place,
    plan,
    with_cover,
    with_ground,
)
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

    Drawn = Callable[[float], tuple[str, shapely.Geometry, float]]

ASSUMPTIONS = load_assumptions()
HALF_BAND_M = widest_band_m([list(ASSUMPTIONS.soil).index("sand_dense")], [], ASSUMPTIONS) / 2.0
GRASSLAND, WATER = (list(ASSUMPTIONS.cover).index(name) for name in ("grassland", "water"))
Feature = tuple[dict[str, object], shapely.Geometry]
# the correct plan is in open cut along y 0 from x 0 to 520 and from x 800 to 1500; 6 cells are 60 m


def audited(*features: Feature, xy_m: list[tuple[float, float]] | None = None) -> AuditReport:
    """Audit the correct plan, or one with other vertices, among these features alone."""
    inp = replace(place(), crossings=crossings(*features))
    return audit_plan(plan(xy_m, Run(1)) if xy_m else correct_plan(), inp, ASSUMPTIONS)


def rows(report: AuditReport, check: str = "trench_alongside") -> pd.DataFrame:
    return report.checks[report.checks["check"] == check].reset_index(drop=True)


def along(kind: str, y_m: float, from_m: float = 900.0, to_m: float = 1300.0, **own: object) -> Feature:
    return crossing(kind, LineString([(from_m, y_m), (to_m, y_m)]), **own)


def test_the_band_reaches_from_the_outer_edge_of_one_trench_to_that_of_the_other() -> None:
    # two trenches 10 m apart; each takes two pipes of 0.28 m at 0.5 m and 0.4 m of bedding: 1.18 m, more
    # than the 0.9 m that EN 1610 asks for between 1.75 m and 4 m of depth
    assert (ASSUMPTIONS.link.n_trenches, ASSUMPTIONS.link.trench_spacing_m) == (2, 10.0)
    assert pytest.approx(10.0 + 1.18) == 2.0 * HALF_BAND_M
    # pipes 0.1 m apart leave 0.78 m of room, so EN 1610 rules; three systems have three trenches
    close = ASSUMPTIONS.trench.model_copy(update={"pipe_spacing_m": 0.1})
    three = ASSUMPTIONS.link.model_copy(update={"n_systems": 3})
    free = ASSUMPTIONS.search.model_copy(update={"rating_steers": False})
    other = ASSUMPTIONS.model_copy(update={"trench": close, "link": three, "search": free})
    assert widest_band_m([2], [], other) == pytest.approx(20.9)


def test_nothing_alongside_is_one_row_for_each_run_of_open_cut() -> None:
    found = rows(audited())
    assert found["element_id"].tolist() == ["demo-S001", "demo-S003"]
    assert found["status"].tolist() == ["pass", "pass"]


@pytest.mark.parametrize("side", [1.0, -1.0], ids=["left", "right"])
def test_a_main_on_top_of_an_outer_trench_is_a_breach_with_section_feature_and_place(side: float) -> None:
    report = audited(along("water_main", side * 5.0, feature_id="main"))
    (breach,) = report.breaches
    assert (breach.check, breach.section, breach.feature_id) == ("trench_alongside", 2, "main")
    assert (breach.demand, breach.capacity) == (45.0, pytest.approx(0.0))
    assert breach.xy_m is not None
    # on the alignment, beside the main: within its length and the 5 m + 2 m that it is kept clear
    assert breach.xy_m[1] == 0.0
    assert 893.0 <= breach.xy_m[0] <= 1307.0
    assert breach.chainage_m == pytest.approx(breach.xy_m[0])


@pytest.mark.parametrize(
    ("kind", "reach_m"),
    [
        ("water_main", 2.0 + 5.0),
        ("telecom", 0.5 + 2.0),
        ("gas_pipeline", 4.0 + 8.0),
        ("road", 5.0),
        ("ditch", 1.5),
    ],
    ids=["main: half-width and clearance", "cable", "gas", "road: its outline alone", "ditch"],
)
@pytest.mark.parametrize(("beyond_m", "n"), [(-0.05, 1), (0.05, 0)], ids=["just within", "just clear"])
def test_what_runs_along_is_kept_off_the_band(kind: str, reach_m: float, beyond_m: float, n: int) -> None:
    report = audited(along(kind, HALF_BAND_M + reach_m + beyond_m))
    assert [b.check for b in report.breaches] == ["trench_alongside"] * n
    assert set(rows(report)["status"]) == ({"fail", "pass"} if n else {"amber", "pass"})


@pytest.mark.parametrize(
    ("row", "more_m"),
    [
        pytest.param({"soil": "sand_loose"}, 0.25, id="pipes 0.75 m apart"),
        pytest.param({"rock_depth_m": 1.0, "rock_soil": "sand_loose"}, 0.25, id="as if rock: 0.75 m"),
        pytest.param({"rock_depth_m": 1.9, "rock_soil": "sand_loose"}, 0.0, id="rock below the trench"),
    ],
)
@pytest.mark.parametrize(("beyond_m", "n"), [(-0.05, 1), (0.05, 0)], ids=["just within", "just clear"])
def test_soil_anywhere_that_asks_for_a_wider_trench_widens_the_band(
    row: dict[str, object], more_m: float, beyond_m: float, n: int
) -> None:
    road = along("road", (11.18 + more_m) / 2.0 + 5.0 + beyond_m)
    inp = with_ground(replace(place(), crossings=crossings(road)), box(0.0, -200.0, 10.0, -190.0), **row)
    report = audit_plan(correct_plan(), inp, ASSUMPTIONS)
    assert [b.check for b in report.breaches] == ["trench_alongside"] * n


@given(y_m=st.floats(0.5, 40.0), side=st.sampled_from([-1.0, 1.0]))
@settings(max_examples=25, deadline=None)
def test_a_main_alongside_is_refused_just_where_it_is_nearer_than_its_clearance(
    y_m: float, side: float
) -> None:
    reach_m = HALF_BAND_M + 2.0 + 5.0
    if abs(y_m - reach_m) > 0.01:
        refused = [b.check for b in audited(along("water_main", side * y_m)).breaches]
        assert ("trench_alongside" in refused) == (y_m < reach_m)


@pytest.mark.parametrize(("beyond_m", "n"), [(-0.05, 1), (0.05, 0)], ids=["just within", "just clear"])
@pytest.mark.parametrize(
    "drawn",
    [
        lambda y: ("stream", box(1150.0, y, 1300.0, y + 30.0), math.nan),
        lambda y: ("ditch", LineString([(900.0, y), (1300.0, y)]), 0.0),
    ],
    ids=["the bank of a stream drawn with its width", "a ditch drawn without any width"],
)
def test_banks_and_lines_without_width_are_kept_off_too(drawn: Drawn, beyond_m: float, n: int) -> None:
    kind, shape, half_width_m = drawn(HALF_BAND_M + beyond_m)
    report = audited(crossing(kind, shape, half_width_m=half_width_m))
    assert [b.check for b in report.breaches] == ["trench_alongside"] * n


@given(
    middle=st.tuples(st.floats(300.0, 1200.0), st.floats(-30.0, 30.0)),
    length_m=st.floats(1.0, 200.0),
    heading_deg=st.floats(0.0, 180.0),
)
@settings(max_examples=40, deadline=None)
def test_a_straight_main_anywhere_is_refused_where_it_is_both_too_near_and_too_flat(
    middle: tuple[float, float], length_m: float, heading_deg: float
) -> None:
    turn = math.radians(heading_deg)
    arm = 0.5 * length_m * np.array([math.cos(turn), math.sin(turn)])
    main = LineString([np.array(middle) - arm, np.array(middle) + arm])
    away_m = box(0.0, -HALF_BAND_M, 1500.0, HALF_BAND_M).distance(main)
    flat_deg = min(heading_deg, 180.0 - heading_deg)
    assume(abs(away_m - 7.0) > 0.03)  # half-width 2 m, clearance 5 m; a round end is drawn with corners
    assume(abs(flat_deg - 45.0) > 0.1)
    inp = replace(place(), crossings=crossings(crossing("water_main", main)))
    report = audit_plan(plan([(0.0, 0.0), (1500.0, 0.0)]), inp, ASSUMPTIONS)
    is_refused = "trench_alongside" in {breach.check for breach in report.breaches}
    assert is_refused == (away_m < 7.0 and flat_deg < 45.0)


@pytest.mark.parametrize(
    ("kind", "asked_deg"), [("water_main", 45.0), ("road", 60.0), ("telecom", 30.0), ("ditch", 45.0)]
)
@pytest.mark.parametrize("steeper_deg", [1.0, -1.0], ids=["steep enough", "too flat"])
def test_what_is_crossed_is_crossed_by_the_whole_band_at_its_angle(
    kind: str, asked_deg: float, steeper_deg: float
) -> None:
    angle = math.radians(asked_deg + steeper_deg)
    dx, dy = 150.0 * math.cos(angle), 150.0 * math.sin(angle)
    report = audited(crossing(kind, LineString([(1100.0 - dx, -dy), (1100.0 + dx, dy)])))
    assert {b.check for b in report.breaches} == (
        set() if steeper_deg > 0.0 else {"crossing_angle", "trench_alongside"}
    )
    row = rows(report).set_index("element_id").loc["demo-S003"]
    assert (row["demand"], row["capacity"]) == pytest.approx((asked_deg, asked_deg + steeper_deg))


def test_a_road_that_turns_along_beside_its_crossing_is_refused_by_the_outer_trench_alone() -> None:
    # square through the alignment up to y 4, then along it at y 4 to the east: inside the outer trench;
    # the alignment itself meets it at x 1100 only, where 10 m along the line still are half square
    bent = LineString([(1100.0, -200.0), (1100.0, 4.0), (1300.0, 4.0)])
    assert "trench_alongside" in {b.check for b in audited(crossing("telecom", bent)).breaches}
    # the same turn 40 m off: only crossed
    clear = LineString([(1100.0, -200.0), (1100.0, 40.0), (1300.0, 40.0)])
    assert audited(crossing("telecom", clear)).breaches == ()


def test_the_round_end_of_a_lane_that_points_at_the_trench_does_not_bar_it() -> None:
    lane = crossing("road", LineString([(1100.0, HALF_BAND_M + 4.0), (1100.0, 150.0)]))
    report = audited(lane)
    assert report.breaches == ()
    row = rows(report).set_index("element_id").loc["demo-S003"]
    assert row["status"] == "amber"
    assert "protect" in row["reason"]


def test_what_asks_for_no_angle_is_listed_with_its_length_and_distance() -> None:
    # a hedge 2 m to each side along y 15: 13 m off the alignment, 120 m long with its round ends
    report = audited(along("hedge", 15.0, 1000.0, 1116.0))
    assert report.breaches == ()
    row = rows(report).set_index("element_id").loc["demo-S003"]
    assert (row["status"], row["unit"]) == ("amber", "m")
    assert row["capacity"] == pytest.approx(13.0 - HALF_BAND_M)
    assert "120.0 m alongside" in row["reason"]


@pytest.mark.parametrize(("gap_m", "n"), [(-0.1, 1), (0.1, 0)], ids=["within the strip", "beside it"])
def test_only_what_the_working_strip_touches_is_listed(gap_m: float, n: int) -> None:
    # 55 m wide: 27.5 m to its edge
    report = audited(along("hedge", 27.5 + 2.0 + gap_m))
    assert (rows(report)["status"] == "amber").sum() == n


def test_what_lies_ahead_of_the_last_trench_is_not_alongside() -> None:
    # 5 m past the shaft at x 520, where the drive begins; nearer than the clearance of the gas main
    report = audited(crossing("gas_pipeline", across(760.0)), crossing("hedge", across(527.0)))
    assert rows(report)["status"].tolist() == ["pass", "pass"]
    assert rows(report)["reason"].tolist() == ["nothing lies alongside"] * 2


def test_what_is_crossed_at_a_bend_is_not_listed_as_alongside_in_the_wedge() -> None:
    # a hedge at 45 deg over the piece before the bend: 5 m on it leaves that piece's strip at its square end,
    # and 5 m further it comes into the strip of the next piece
    bent = [*STRAIGHT[:3], (1100.0, 0.0), (1400.0, 150.0)]
    hedge = crossing("hedge", LineString([(995.0, 100.0), (1195.0, -100.0)]), half_width_m=0.5)
    inp = replace(place(), crossings=crossings(hedge))
    report = audit_plan(plan(bent, Run(1)), inp, ASSUMPTIONS)
    assert set(rows(report)["status"]) == {"pass"}


@pytest.mark.parametrize(
    ("from_m", "is_amber"), [(1441.0, True), (1425.0, False)], ids=["beside the terminal", "beyond 6 cells"]
)
def test_beside_a_terminal_it_is_listed_not_refused(from_m: float, is_amber: bool) -> None:
    # from the terminal at x 1500 back: 1440 m is 6 cells of 10 m off; the outline reaches 5 m further
    report = audited(along("road", 5.0, from_m + 5.0, 1500.0))
    row = rows(report).set_index("element_id").loc["demo-S003"]
    assert row["status"] == ("amber" if is_amber else "fail")
    assert row["unit"] == "deg"
    assert [b.check for b in report.breaches if b.check == "trench_alongside"] == (
        [] if is_amber else ["trench_alongside"]
    )


@pytest.mark.parametrize(
    ("south_m", "n"),
    [(HALF_BAND_M - 0.01, 1), (HALF_BAND_M + 0.01, 0)],
    ids=["under the outer trench", "beside it"],
)
def test_the_corridors_edge_bounds_the_outer_trench(south_m: float, n: int) -> None:
    outline = box(0.0, -south_m, 1500.0, 200.0)
    report = audit_plan(correct_plan(), replace(place(), outline=outline), ASSUMPTIONS)
    named = [b for b in report.breaches if b.check == "trench_in_corridor"]
    assert len(named) == 2 * n  # once a run of open cut
    assert all(b.section in (0, 2) and b.xy_m is not None for b in named)


@pytest.mark.parametrize(
    ("skew", "status"),
    [(0.0, "pass"), (0.005, "pass"), (0.02, "amber")],
    ids=["square end", "a corner of 3 cm", "a corner of 11 cm"],
)
def test_a_corner_beyond_the_corridor_s_end_is_told_once_it_is_more_than_nothing(
    skew: float, status: str
) -> None:
    """The corridor ends at the terminal, its edge skew by so much; the band reaches 5.59 m to the side.

    A millimetre of tolerance is left off the band, and another added to the corridor.
    """
    ends = [(1500.0 + 200.0 * skew, 200.0), (1500.0 - 200.0 * skew, -200.0)]
    outline = Polygon([(-1.0, -200.0), (-1.0, 200.0), *ends])
    report = audit_plan(correct_plan(), replace(place(), outline=outline), ASSUMPTIONS)
    row = rows(report, "trench_in_corridor").set_index("element_id").loc["demo-S003"]
    assert row["status"] == status
    beyond_m = HALF_BAND_M * skew - 0.002
    assert row["demand"] == pytest.approx(beyond_m if status == "amber" else 0.0, abs=0.0002)


def test_a_fixed_alignment_has_no_edge_for_its_trenches() -> None:
    fixed = replace(place(), outline=None, fixed_line=LineString(STRAIGHT), axis=None)
    report = audit_plan(correct_plan(), fixed, ASSUMPTIONS)
    assert report.breaches == ()
    assert len(rows(report, "trench_in_corridor")) == 0


@pytest.mark.parametrize(
    ("pixel", "n"),
    [((300.0, 0.0, 310.0, 10.0), 1), ((300.0, -10.0, 310.0, 0.0), 1), ((300.0, 10.0, 310.0, 20.0), 0)],
    ids=["left trench", "right trench", "beside both"],
)
def test_water_under_an_outer_trench_bars_it(pixel: tuple[float, float, float, float], n: int) -> None:
    report = audit_plan(correct_plan(), with_cover(place(), box(*pixel), WATER), ASSUMPTIONS)
    named = [b for b in report.breaches if b.check == "trench_ground_cover"]
    assert len(named) == n
    for breach in named:
        # the pixel is 10 m long
        assert (breach.section, breach.demand) == (0, pytest.approx(10.0, abs=0.01))
        assert breach.xy_m == pytest.approx((300.0, 0.0), abs=0.01)


def test_ground_cover_outside_the_raster_is_of_the_unknown_class() -> None:
    grid = place().ground_cover
    assert grid is not None
    short = replace(grid, values=grid.values[:, :100])  # it ends at x 700
    cover = dict(ASSUMPTIONS.cover)
    unknown = ASSUMPTIONS.default_cover
    cover[unknown] = cover[unknown].model_copy(update={"trench_allowed": False})
    barring = ASSUMPTIONS.model_copy(update={"cover": cover})
    report = audit_plan(correct_plan(), replace(place(), ground_cover=short), barring)
    (breach,) = [b for b in report.breaches if b.check == "trench_ground_cover"]
    assert (breach.section, breach.xy_m) == (2, pytest.approx((800.0, 0.0), abs=0.01))
    # less what the terminal excuses: a circle of 60 m, at the edge of the band a little nearer
    assert breach.demand == pytest.approx(700.0 - math.sqrt(60.0**2 - HALF_BAND_M**2), abs=0.02)


def test_ground_cover_that_allows_a_trench_is_let_be() -> None:
    report = audit_plan(correct_plan(), with_cover(place(), box(300, 0, 310, 10), GRASSLAND), ASSUMPTIONS)
    assert set(rows(report, "trench_ground_cover")["status"]) == {"pass"}


def test_rows_name_finite_places_on_the_alignment() -> None:
    report = audit_plan(correct_plan(), replace(place(), crossings=crossings(*FEATURES)), ASSUMPTIONS)
    found = rows(report)
    assert np.isfinite(found["governing_chainage_m"]).all()
    assert found["governing_chainage_m"].between(0.0, 1500.0).all()
