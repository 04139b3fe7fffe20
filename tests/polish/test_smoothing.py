"""Shortcuts and moved bends: what they come to where it can be reckoned by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import box

from routescreen.polish.bends import moved_bends, with_edges
from routescreen.polish.line import Line, line_of, subdivided, without_straight
from routescreen.polish.shortcuts import straightened
from tests.audit.place import Run, crossing, plan
from tests.polish.cases import ASSUMPTIONS, STRIP_M, judge_and_prices, open_field


def trench(*xy_m: tuple[float, float], stays: tuple[int, ...] = ()) -> Line:
    """Return a line of open cut, its ends fixed."""
    n = len(xy_m)
    is_fixed = np.zeros(n, bool)
    is_fixed[[0, -1, *stays]] = True
    return Line(np.array(xy_m, float), np.zeros(n - 1, bool), np.zeros(n - 1, bool), is_fixed)


ZIGZAG = [(100.0, 0.0), (150.0, 10.0), (200.0, 10.0), (250.0, 20.0), (300.0, 20.0), (400.0, 40.0)]


class Everywhere:
    """A judge that lets a trench lie anywhere, with the full strip."""

    def may_be_narrow(self, xy_m):
        return np.zeros(len(xy_m), bool)

    def is_near_building(self, xy_m):
        return np.zeros(len(xy_m), bool)

    def judge(self, xy_m, may_be_narrow):
        return np.ones(len(xy_m), bool), np.zeros(len(xy_m), bool)


class TwoRates:
    """1 a metre above y = 0, 2 below."""

    def eur(self, xy_m, is_narrow):
        length_m = np.hypot(*(xy_m[:, 2:] - xy_m[:, :2]).T)
        low, high = np.minimum(xy_m[:, 1], xy_m[:, 3]), np.maximum(xy_m[:, 1], xy_m[:, 3])
        with np.errstate(invalid="ignore", divide="ignore"):
            below = np.where(high <= 0.0, 1.0, np.where(low >= 0.0, 0.0, -low / (high - low)))
        return length_m * (1.0 + below)

    def edges_met(self, xy_m):
        y1, y2 = xy_m[:, 1], xy_m[:, 3]
        line = np.flatnonzero(y1 * y2 < 0.0)
        share = (y1 / np.where(y1 == y2, 1.0, y1 - y2))[line, None]
        return line, xy_m[line, :2] + share * (xy_m[line, 2:] - xy_m[line, :2])


def test_a_zigzag_over_open_ground_becomes_one_straight_piece() -> None:
    judge, prices = judge_and_prices(open_field())
    line = straightened(subdivided(trench(*ZIGZAG), 20.0, judge.is_near_building), judge, prices, n_span=30)
    assert line.xy_m.tolist() == [[100.0, 0.0], [400.0, 40.0]]
    assert line.lengths_m().sum() == pytest.approx(math.hypot(300.0, 40.0))  # 302.65 m


def test_a_place_to_pass_stays() -> None:
    judge, prices = judge_and_prices(open_field())
    line = straightened(trench(*ZIGZAG, stays=(3,)), judge, prices, n_span=30)
    assert line.xy_m.tolist() == [[100.0, 0.0], [250.0, 20.0], [400.0, 40.0]]
    moved = moved_bends(line, judge, prices, first_step_m=5.0, last_step_m=0.1)
    assert moved.xy_m.tolist() == line.xy_m.tolist()


def test_a_span_limits_what_one_piece_replaces() -> None:
    judge, prices = judge_and_prices(open_field())
    line = straightened(trench(*ZIGZAG), judge, prices, n_span=3)
    assert len(line.xy_m) == 3  # five pieces, at most three by one


def test_a_house_keeps_the_bend_and_the_way_round_it_becomes_the_shortest() -> None:
    """Over the top of a house: two tangents to its corners with half a strip and the clearance.

    From the start the tangent turns off the corner's bearing by the angle whose sine is that distance over
    the way to the corner. Strips have square ends, so a bend further on may cut a little more.
    """
    clear_m = ASSUMPTIONS.treatments["building"].shaft_clearance_m
    off_m = STRIP_M / 2.0 + clear_m
    corner_y_m = 60.0 - off_m
    house = crossing("building", box(290.0, -100.0, 310.0, corner_y_m))
    judge, prices = judge_and_prices(open_field(house))
    start, end = (60.0, 0.0), (540.0, 0.0)
    found = trench(start, (180.0, 90.0), (420.0, 90.0), end)
    line = subdivided(found, 20.0, judge.is_near_building)
    for _ in range(2):
        line = without_straight(straightened(line, judge, prices, n_span=60))
        line = moved_bends(line, judge, prices, first_step_m=5.0, last_step_m=0.01)
    # from the start the tangent that keeps off the corner by off_m
    dx, dy = 290.0 - start[0], corner_y_m - start[1]
    rise = math.atan2(dy, dx) + math.asin(off_m / math.hypot(dx, dy))
    # both tangents meet over the middle of the house; round two corners it is shorter yet
    over_m = 2.0 * (300.0 - start[0]) / math.cos(rise)
    least_m = 2.0 * math.hypot(dx, dy)  # to the corners themselves
    length_m = line.lengths_m().sum()
    assert least_m < length_m <= over_m + 0.05
    assert length_m < found.lengths_m().sum() - 20.0
    assert judge.judge(line.pieces(), np.zeros(len(line.is_drive), bool))[0].all()


def test_two_rates_refract_as_snell_says() -> None:
    """Rates 1 and 2, (0, 10) to (20, -10): 40.376433, crossing at 15.38264; straight 42.426407.

    The sines of the angles to the normal are as 2 to 1. [method: Rowe and Richbourg 1990; numbers
    reckoned again from the condition of refraction below] Here a hundred times as large.
    """
    at = 15.38264
    sines = at / math.hypot(at, 10.0), (20.0 - at) / math.hypot(20.0 - at, 10.0)
    assert sines[0] == pytest.approx(2.0 * sines[1], abs=1e-5)
    assert math.hypot(at, 10.0) + 2.0 * math.hypot(20.0 - at, 10.0) == pytest.approx(40.376433, abs=1e-6)
    line = trench((0.0, 1000.0), (2000.0, -1000.0))
    line = moved_bends(line, Everywhere(), TwoRates(), first_step_m=200.0, last_step_m=0.1)
    assert TwoRates().eur(line.pieces(), None).sum() == pytest.approx(4037.6433, rel=5e-5)
    assert line.xy_m[1] == pytest.approx((100.0 * at, 0.0), abs=20.0)


def test_a_bend_where_nothing_may_be_dug_stays() -> None:
    class Nowhere(Everywhere):
        def judge(self, xy_m, may_be_narrow):
            return np.zeros(len(xy_m), bool), np.zeros(len(xy_m), bool)

    line = trench((0.0, 10.0), (10.0, 0.0), (20.0, -10.0))
    moved = moved_bends(line, Nowhere(), TwoRates(), first_step_m=2.0, last_step_m=0.1)
    assert moved.xy_m.tolist() == line.xy_m.tolist()
    assert straightened(line, Nowhere(), TwoRates(), n_span=5).xy_m.tolist() == line.xy_m.tolist()


def test_a_narrow_piece_is_parted_only_where_a_building_is_near() -> None:
    line = Line(
        np.array([[0.0, 0.0], [40.0, 0.0], [80.0, 0.0]]),
        np.zeros(2, bool),
        np.array([False, True]),
        np.array([True, False, True]),
    )
    found = subdivided(line, 10.0, lambda xy_m: xy_m[:, 0] > 55.0)
    assert found.xy_m[:, 0].tolist() == [0.0, 10.0, 20.0, 30.0, 40.0, 60.0, 70.0, 80.0]
    assert found.is_narrow.tolist() == [False] * 4 + [True] * 3
    # an edge of the ground lies along y = 0, crossed by the second piece where no building is near
    crossing_line = Line(
        np.array([[0.0, -40.0], [80.0, 40.0]]), np.zeros(1, bool), np.array([True]), np.array([True, True])
    )
    assert len(with_edges(crossing_line, Everywhere(), TwoRates()).xy_m) == 2
    wide = Line(crossing_line.xy_m, crossing_line.is_drive, np.array([False]), crossing_line.is_fixed)
    assert with_edges(wide, Everywhere(), TwoRates()).xy_m.tolist() == [
        [0.0, -40.0],
        [40.0, 0.0],
        [80.0, 40.0],
    ]


def test_a_shaft_between_drives_and_a_place_to_pass_are_fixed() -> None:
    drawn = plan([(0.0, 0.0), (100.0, 0.0), (300.0, 0.0), (360.0, 20.0), (500.0, 20.0)], Run(1))
    line = line_of(drawn, np.array([[430.0, 20.0], [10.0, 90.0]]))
    assert line.xy_m[:, 0].tolist() == [0.0, 100.0, 300.0, 360.0, 430.0, 500.0]
    assert line.is_fixed.tolist() == [True, True, True, False, True, True]
    assert line.is_drive.tolist() == [False, True, False, False, False]
