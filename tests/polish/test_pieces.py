"""Which straight pieces may be dug and what they cost: by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box

from routescreen.corridor.ground import GroundSampler
from routescreen.corridor.treatment import resolve_crossings
from routescreen.drives.open_cut import widest_band_m
from routescreen.plan import section_runs
from routescreen.takeoff import Scope, trench_eur
from tests.audit.place import WATER, across, crossing, plan, with_cover, with_ground
from tests.polish.cases import ASSUMPTIONS, STRIP_M, judge_and_prices, open_field, piece

NO = np.zeros(1, bool)


def is_ok(inp, *xy_m: float, margin_m: float = 0.0) -> bool:
    judge, _ = judge_and_prices(inp, margin_m=margin_m)
    return bool(judge.judge(piece(*xy_m), NO)[0][0])


def test_a_long_piece_over_open_ground_may_be_dug() -> None:
    assert is_ok(open_field(), 3.3, -7.0, 571.0, 44.4)


@pytest.mark.parametrize(("more_m", "expected"), [(0.01, True), (-0.01, False)], ids=["clear", "too near"])
def test_the_working_strip_keeps_its_clearance(more_m: float, expected: bool) -> None:
    """Half the strip and the clearance of a house beside it."""
    top_m = -STRIP_M / 2.0 - ASSUMPTIONS.treatments["building"].shaft_clearance_m - more_m
    house = crossing("building", box(250.0, top_m - 20.0, 260.0, top_m))
    assert is_ok(open_field(house), 100.0, 0.0, 500.0, 0.0) is expected


def test_a_margin_keeps_off_by_as_much_more() -> None:
    clear_m = ASSUMPTIONS.treatments["building"].shaft_clearance_m
    top_m = -STRIP_M / 2.0 - clear_m - 0.05
    house = crossing("building", box(250.0, top_m - 20.0, 260.0, top_m))
    assert is_ok(open_field(house), 100.0, 0.0, 500.0, 0.0)
    assert not is_ok(open_field(house), 100.0, 0.0, 500.0, 0.0, margin_m=0.1)


@pytest.mark.parametrize(
    ("more_deg", "expected"), [(1.5, True), (-0.5, False)], ids=["steep enough", "too flat"]
)
def test_a_road_is_crossed_at_its_angle(more_deg: float, expected: bool) -> None:
    """A band is asked for one degree more than the least angle."""
    turn = np.radians(ASSUMPTIONS.treatments["road"].min_angle_deg + more_deg)
    run = 400.0 * np.array([np.cos(turn), np.sin(turn)])
    road = crossing("road", LineString([(300.0 - run[0], -run[1]), (300.0 + run[0], run[1])]))
    assert is_ok(open_field(road), 100.0, 0.0, 500.0, 0.0) is expected


def test_the_outer_trench_stays_in_the_corridor() -> None:
    half_m = widest_band_m([list(ASSUMPTIONS.soil).index("sand_dense")], [], ASSUMPTIONS) / 2.0
    assert is_ok(open_field(), 100.0, 200.0 - half_m - 0.01, 500.0, 200.0 - half_m - 0.01)
    assert not is_ok(open_field(), 100.0, 200.0 - half_m + 0.01, 500.0, 200.0 - half_m + 0.01)


@pytest.mark.parametrize(
    ("row", "more_m"),
    [
        pytest.param({"soil": "sand_loose"}, 0.25, id="pipes 0.75 m apart"),
        pytest.param({"rock_depth_m": 1.0, "rock_soil": "sand_loose"}, 0.25, id="as if rock: 0.75 m"),
        pytest.param({"rock_depth_m": 1.9, "rock_soil": "sand_loose"}, 0.0, id="rock below the trench"),
    ],
)
def test_soil_anywhere_in_the_corridor_that_asks_for_a_wider_trench_widens_the_band(
    row: dict[str, object], more_m: float
) -> None:
    inp = with_ground(open_field(), box(0.0, -200.0, 10.0, -190.0), **row)
    y_m = 200.0 - (11.18 + more_m) / 2.0
    assert is_ok(inp, 100.0, y_m - 0.01, 500.0, y_m - 0.01)
    assert not is_ok(inp, 100.0, y_m + 0.01, 500.0, y_m + 0.01)


def test_one_pixel_of_water_bars_a_piece_of_400_m() -> None:
    wet = with_cover(open_field(), box(301.0, -9.0, 309.0, -1.0), WATER)
    assert not is_ok(wet, 100.0, -5.0, 500.0, -5.0)
    assert not is_ok(wet, 100.0, 5.0, 500.0, 5.0)  # its southern trench
    assert is_ok(wet, 100.0, 7.0, 500.0, 7.0)


def test_beside_a_terminal_the_line_counts_alone_and_further_on_the_band() -> None:
    """Half the band is 5.59 m, half the road 5 m: at 9 m aside the outer trench would run in the road."""
    for end_x_m, expected in ((60.0, True), (300.0, False)):
        road = crossing("road", LineString([(-100.0, 9.0), (end_x_m, 9.0)]))
        assert is_ok(open_field(road), 0.0, 0.0, 400.0, 0.0) is expected


@settings(max_examples=60, deadline=None)
@given(
    x_m=st.floats(150.0, 450.0),
    turn_deg=st.floats(-80.0, 80.0),
    y_m=st.floats(-60.0, 60.0),
)
def test_no_piece_steps_over_a_thin_barrier(x_m: float, turn_deg: float, y_m: float) -> None:
    """A sliver of 2 cm from side to side, at any heading and place, is never crossed."""
    turn = np.radians(turn_deg)
    away = 2_000.0 * np.array([-np.sin(turn), np.cos(turn)])
    sliver = LineString([Point(x_m - away[0], -away[1]), Point(x_m + away[0], away[1])]).buffer(0.01)
    inp = open_field(crossing("building", sliver))
    judge, _ = judge_and_prices(inp)
    start = np.array([x_m - 120.0, y_m])
    ends = np.array([[x_m + 120.0, y_m], [x_m + 60.0, y_m + 30.0], [x_m + 120.0, -y_m]])
    pieces = np.concatenate([np.repeat(start[None], 3, axis=0), ends], axis=1)
    crosses = np.array([LineString([p[:2], p[2:]]).intersects(sliver) for p in pieces])
    assert not judge.judge(pieces, np.zeros(3, bool))[0][crosses].any()


def _by_take_off(inp, xy_m: list[tuple[float, float]]) -> float:
    drawn = plan(xy_m)
    scope = Scope(
        drawn,
        GroundSampler(inp, ASSUMPTIONS),
        resolve_crossings(inp.crossings, ASSUMPTIONS),
        ASSUMPTIONS,
    )
    (run,) = section_runs(drawn)
    return trench_eur(scope, run)


def test_pieces_cost_what_the_take_off_measures_of_them() -> None:
    """Two soils, a road and a protected area; edges at whole metres, where cells of 1 m begin."""
    inp = with_ground(
        open_field(
            crossing("road", across(200.0)), crossing("protected_area", box(300.0, -100.0, 350.0, 100.0))
        ),
        box(400.0, -300.0, 700.0, 300.0),
        soil="peat",
        groundwater_depth_m=0.5,
    )
    _, prices = judge_and_prices(inp)
    whole = prices.eur(piece(100.0, 0.0, 500.0, 0.0), NO)[0]
    assert whole == pytest.approx(_by_take_off(inp, [(100.0, 0.0), (500.0, 0.0)]), rel=1e-9)


def test_prices_of_pieces_that_follow_each_other_add_up_inside_a_crossing_too() -> None:
    inp = open_field(crossing("road", across(200.0)))
    _, prices = judge_and_prices(inp)
    xy_m = np.array([[100.0, 0.0, 199.0, 0.0], [199.0, 0.0, 201.0, 0.0], [201.0, 0.0, 300.0, 0.0]])
    parts = prices.eur(xy_m, np.zeros(3, bool))
    assert parts.sum() == pytest.approx(prices.eur(piece(100.0, 0.0, 300.0, 0.0), NO)[0], rel=1e-9)
