"""Closed seasons, nights, tasks that may not be interrupted: arithmetic of dates in hours.

Room: ``engineering``. Pure arrays; times are `numpy.datetime64` in local standard time, days are theirs.
No time zones and no change of the clocks: an hour either way decides nothing here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]
    Times = NDArray[np.datetime64]

_LONGEST_MONTH = np.array([31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


@dataclass(frozen=True, slots=True)
class Season:
    """Part of each year in which a kind of work is closed, both days included.

    Attributes
    ----------
    from_month, from_day, to_month, to_day : int
        First and last closed day; a season may run over the turn of the year.

    Raises
    ------
    ValueError
        If one of them is no day of the year.
    """

    from_month: int
    from_day: int
    to_month: int
    to_day: int

    def __post_init__(self) -> None:
        for month, day in ((self.from_month, self.from_day), (self.to_month, self.to_day)):
            if not (1 <= month <= 12 and 1 <= day <= _LONGEST_MONTH[month - 1]):
                raise ValueError("a season must start and end on a day of the year")


@dataclass(frozen=True, slots=True)
class Night:
    """Hours of each day in which no work is allowed.

    Attributes
    ----------
    from_h, to_h : int
        First closed hour and first open hour, e.g. 20 and 7; equal where nothing is closed.

    Raises
    ------
    ValueError
        If one of them is not from 0 to 24.
    """

    from_h: int
    to_h: int

    def __post_init__(self) -> None:
        if not (0 <= self.from_h <= 24 and 0 <= self.to_h <= 24):
            raise ValueError("hours must be from 0 to 24")


NO_NIGHT = Night(0, 0)


def is_in_season(day: ArrayLike, season: Season) -> NDArray[np.bool_]:
    """Whether days lie in a closed season.

    Parameters
    ----------
    day : array_like of datetime64
    season : Season
    """
    days = np.asarray(day, dtype="datetime64[D]")
    months = days.astype("datetime64[M]")
    month = (months - days.astype("datetime64[Y]")).astype(np.int64) + 1
    in_year = 100 * month + (days - months).astype(np.int64) + 1
    first = 100 * season.from_month + season.from_day
    last = 100 * season.to_month + season.to_day
    after, before = in_year >= first, in_year <= last
    return np.asarray(after & before if first <= last else after | before)


def is_in_night(time: ArrayLike, night: Night) -> NDArray[np.bool_]:
    """Whether times lie in the closed hours of the day.

    Parameters
    ----------
    time : array_like of datetime64
    night : Night
    """
    times = np.asarray(time, dtype="datetime64[h]")
    hour = (times - times.astype("datetime64[D]")).astype(np.int64)
    if night.from_h <= night.to_h:
        return np.asarray((hour >= night.from_h) & (hour < night.to_h))
    return np.asarray((hour >= night.from_h) | (hour < night.to_h))


def is_open(time: ArrayLike, seasons: Sequence[Season], night: Night = NO_NIGHT) -> NDArray[np.bool_]:
    """Whether times lie outside all closed seasons and outside the night.

    Parameters
    ----------
    time : array_like of datetime64
    seasons : sequence of Season
    night : Night
    """
    closed = is_in_night(time, night)
    for season in seasons:
        closed = closed | is_in_season(time, season)
    return ~closed


def open_hours(
    start: np.datetime64, end: np.datetime64, seasons: Sequence[Season], night: Night = NO_NIGHT
) -> float:
    """Hours between two times in which work is allowed, counted by whole hours [h].

    Parameters
    ----------
    start, end : datetime64
        Cut down to the hour.
    seasons : sequence of Season
    night : Night

    Raises
    ------
    ValueError
        If the end lies before the start.
    """
    if end < start:
        raise ValueError("the end must not lie before the start")
    n_hours = int((_hour(end) - _hour(start)).astype(np.int64))
    hours = _hour(start) + np.arange(n_hours)
    return float(is_open(hours, seasons, night).sum())


def task_end(
    start: np.datetime64,
    task_h: ArrayLike,
    seasons: Sequence[Season],
    night: Night = NO_NIGHT,
    *,
    horizon_days: int = 1100,
) -> Times:
    """When a task that may be interrupted is done.

    Parameters
    ----------
    start : datetime64
        Cut down to the hour.
    task_h : array_like
        Hours of work, rounded up to whole ones [h].
    seasons : sequence of Season
    night : Night
    horizon_days : int
        How far ahead is looked [day].

    Returns
    -------
    ndarray of datetime64[h]
        The end of the last hour of work; not-a-time where it isn't done within the horizon.
    """
    hours = _hour(start) + np.arange(24 * horizon_days)
    working = hours[is_open(hours, seasons, night)]
    needed = np.ceil(not_negative("the task", task_h) - 1e-9).astype(np.int64)
    done = np.full(needed.shape, np.datetime64("NaT", "h"))
    is_done = (needed >= 1) & (needed <= working.size)
    done[is_done] = working[needed[is_done] - 1] + np.timedelta64(1, "h")
    return np.where(needed == 0, _hour(start), done)


def unbroken_start(
    start: np.datetime64,
    task_h: ArrayLike,
    seasons: Sequence[Season],
    night: Night = NO_NIGHT,
    *,
    horizon_days: int = 1100,
) -> Times:
    """Earliest start of a task that may not be interrupted, such as a pull-in with its grouting.

    Parameters
    ----------
    start, task_h, seasons, night, horizon_days
        See `task_end`; `NO_NIGHT` where work at night is allowed for this task.

    Returns
    -------
    ndarray of datetime64[h]
        Not-a-time where no open stretch within the horizon is long enough: the task needs leave to work
        through the night, or must become shorter.
    """
    hours = _hour(start) + np.arange(24 * horizon_days)
    allowed = is_open(hours, seasons, night)
    # Hours from each one to the next closed one; the horizon closes the last stretch.
    closed_at = np.flatnonzero(np.append(~allowed, True))
    left = closed_at[np.searchsorted(closed_at, np.arange(hours.size))] - np.arange(hours.size)
    longest_ahead = np.maximum.accumulate(left)
    needed = np.ceil(not_negative("the task", task_h) - 1e-9).astype(np.int64)
    first = np.searchsorted(longest_ahead, np.maximum(needed, 1), side="left")
    found = np.append(hours, np.datetime64("NaT", "h"))[first]
    return np.where(needed == 0, _hour(start), found)


def pull_in_h(
    length_m: ArrayLike, speed_m_per_min: ArrayLike, n_welds: ArrayLike = 0, weld_h: ArrayLike = 0.0
) -> Array:
    """Hours that a pull-in takes without a break, the welds between pieces of the string included [h].

    Parameters
    ----------
    length_m : array_like
        Of the drive [m].
    speed_m_per_min : array_like
        0.5 to 1.5 (common practice, no source) [m/min].
    n_welds, weld_h : array_like
        Pieces less 1; hours for each [-], [h].
    """
    pulling = not_negative("the length", length_m) / positive("the speed", speed_m_per_min) / 60.0
    return np.asarray(pulling + not_negative("the welds", n_welds) * np.asarray(weld_h))


def _hour(time: np.datetime64) -> Times:
    return np.asarray(time, dtype="datetime64[h]")
