"""Closed seasons, nights, unbroken tasks: by hand, limits, laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.seasons import (
    NO_NIGHT,
    Night,
    Season,
    is_in_night,
    is_in_season,
    is_open,
    open_hours,
    pull_in_h,
    task_end,
    unbroken_start,
)

BIRDS = Season(3, 1, 7, 31)
FLOODS = Season(10, 1, 3, 31)
NIGHT = Night(20, 7)


def at(text):
    return np.datetime64(text, "h")


@pytest.mark.parametrize(
    ("day", "birds", "floods"),
    [
        pytest.param("2026-02-28", False, True, id="the day before"),
        pytest.param("2028-02-29", False, True, id="leap day"),
        pytest.param("2026-03-01", True, True, id="first day"),
        pytest.param("2026-07-31", True, False, id="last day"),
        pytest.param("2026-08-01", False, False, id="the day after"),
        pytest.param("2026-10-01", False, True, id="first day over the turn of the year"),
        pytest.param("2026-12-31", False, True, id="last of the year"),
        pytest.param("2027-01-01", False, True, id="first of the year"),
        pytest.param("2027-03-31", True, True, id="last day over the turn of the year"),
    ],
)
def test_days_in_a_season(day, birds, floods):
    assert is_in_season(day, BIRDS) == birds
    assert is_in_season(np.datetime64(day), FLOODS) == floods


def test_a_common_year_has_153_days_of_birds_and_182_of_floods():
    # 31 + 30 + 31 + 30 + 31; 31 + 30 + 31 + 31 + 28 + 31
    days = np.arange(np.datetime64("2026-01-01"), np.datetime64("2027-01-01"))
    assert is_in_season(days, BIRDS).sum() == 153
    assert is_in_season(days, FLOODS).sum() == 182


def test_days_that_no_year_has_are_refused():
    for dates in ((2, 30, 3, 1), (0, 1, 3, 1), (4, 31, 5, 1), (1, 1, 13, 1)):
        with pytest.raises(ValueError, match="day of the year"):
            Season(*dates)
    with pytest.raises(ValueError, match="0 to 24"):
        Night(20, 25)


def test_hours_of_the_night():
    hours = at("2026-08-03T00") + np.arange(24)
    assert is_in_night(hours, NIGHT).tolist() == 7 * [True] + 13 * [False] + 4 * [True]
    assert is_in_night(hours, Night(1, 3)).sum() == 2
    assert not is_in_night(hours, NO_NIGHT).any()


def test_open_hours_by_hand():
    # a week of 13 h days; from 30 July two days are still closed
    assert open_hours(at("2026-08-03T00"), at("2026-08-10T00"), [], NIGHT) == 91.0
    assert open_hours(at("2026-07-30T00"), at("2026-08-03T00"), [BIRDS], NIGHT) == 26.0
    assert open_hours(at("2026-07-30T00"), at("2026-07-30T00"), [BIRDS], NIGHT) == 0.0
    with pytest.raises(ValueError, match="before the start"):
        open_hours(at("2026-08-03T00"), at("2026-08-02T00"), [])


@pytest.mark.parametrize(
    ("task_h", "end"),
    [
        pytest.param(0.0, "2026-07-30T22", id="nothing to do"),
        pytest.param(1.0, "2026-08-01T08", id="first open hour: 1 August, 7 to 8"),
        pytest.param(12.2, "2026-08-01T20", id="rounded up to 13 h, a full day"),
        pytest.param(14.0, "2026-08-02T08", id="and an hour of the next"),
    ],
)
def test_task_waits_for_season_and_night(task_h, end):
    assert task_end(at("2026-07-30T22"), task_h, [BIRDS], NIGHT) == at(end)


def test_task_that_is_never_done():
    never = task_end(at("2026-08-03T00"), [10.0, 30.0], [], NIGHT, horizon_days=2)
    assert np.isnat(never).tolist() == [False, True]


@pytest.mark.parametrize(
    ("task_h", "start"),
    [
        pytest.param(0.0, "2026-08-03T15", id="nothing to do"),
        pytest.param(5.0, "2026-08-03T15", id="fits before the night"),
        pytest.param(5.1, "2026-08-04T07", id="does not: tomorrow at 7"),
        pytest.param(13.0, "2026-08-04T07", id="a whole day"),
    ],
)
def test_unbroken_task_starts_where_it_fits(task_h, start):
    assert unbroken_start(at("2026-08-03T15"), task_h, [], NIGHT) == at(start)


def test_unbroken_task_longer_than_a_day_needs_the_night():
    assert np.isnat(unbroken_start(at("2026-08-03T15"), 14.0, [], NIGHT, horizon_days=60))
    # with the night: free until the floods of 1 October; after them the birds until the end of July
    assert unbroken_start(at("2026-08-03T15"), 14.0, [BIRDS, FLOODS]) == at("2026-08-03T15")
    assert unbroken_start(at("2026-09-30T11"), 14.0, [BIRDS, FLOODS]) == at("2027-08-01T00")


@given(st.integers(0, 400), st.integers(1, 13), st.integers(0, 23))
def test_unbroken_task_lies_in_open_hours_and_could_not_start_earlier(days, task_h, hour):
    start = at("2026-01-01T00") + np.timedelta64(24 * days + hour, "h")
    found = unbroken_start(start, task_h, [BIRDS], NIGHT)
    assert is_open(found + np.arange(task_h), [BIRDS], NIGHT).all()
    assert found >= start
    for earlier in np.arange(max(start, found - np.timedelta64(48, "h")), found):
        assert not is_open(earlier + np.arange(task_h), [BIRDS], NIGHT).all()


@given(st.integers(0, 400), st.integers(1, 200))
def test_task_takes_its_open_hours(days, task_h):
    start = at("2026-01-01T00") + np.timedelta64(24 * days, "h")
    end = task_end(start, task_h, [BIRDS, FLOODS], NIGHT)
    assert open_hours(start, end, [BIRDS, FLOODS], NIGHT) == task_h


def test_pull_in_by_hand():
    # 600 m at 1 m/min are 10 h; two welds of 2.5 h more
    assert pull_in_h([600.0, 600.0], [1.0, 0.5]).tolist() == [10.0, 20.0]
    assert pull_in_h(600.0, 1.0, 2, 2.5) == 15.0
    with pytest.raises(ValueError, match="speed"):
        pull_in_h(600.0, 0.0)


@given(st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_pull_in_scales(k, f):
    assert pull_in_h(600.0 * k, 1.0 * f) == pytest.approx(10.0 * k / f)
    assert pull_in_h(600.0 * k, 1.0, 2, 2.5 * k) == pytest.approx(15.0 * k)
