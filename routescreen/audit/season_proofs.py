"""Days that work takes against the days that its closed seasons leave, at shafts and in open cut.

Room: ``audit``. Days of work by the assumptions' rates, one after another; no calendar is made. Felling is
done before the works and isn't held against them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.bill import SAME_M
from routescreen.audit.drive_checks import soil_lengths_m
from routescreen.audit.report import Limit, Place
from routescreen.audit.shaft_checks import drives_of, is_launch
from routescreen.audit.shaft_site import shaft_site
from routescreen.engineering.seasons import Season, is_in_season

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Literal

    import pandas as pd

    from routescreen.assumptions import Assumptions, Range
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Pace = Literal["expected", "slow"]

SOURCE = "assumptions, [programme], [methods], [shaft]; common practice, no source"
_DAYS_A_WEEK = 7.0


@dataclass(frozen=True, slots=True)
class ShaftDays:
    """Working days at a shaft: to build it, for each of its drives, for the longest bore of them."""

    build: float
    drives: dict[int, float]
    one_bore: float

    @property
    def total(self) -> float:
        """All after one another."""
        return self.build + sum(self.drives.values())


def _taken(value: Range, pace: Pace, *, is_rate: bool = False) -> float:
    """Return a duration, or a rate, as expected or where the work goes slowly."""
    if pace == "expected":
        return float(value.expected)
    return float(value.low if is_rate else value.high)


def drive_days(scene: Scene, index: int, pace: Pace = "expected", n_shifts: int | None = None) -> float:
    """Return the working days that the bores of a drive take, one after another.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the drive.
    pace : {"expected", "slow"}
    n_shifts : int, optional
        Shifts a day, those of the programme where missing.

    Returns
    -------
    float
        NaN where the method has no rate in a soil on the way [day].
    """
    a = scene.assumptions
    way = a.methods[scene.plan.drives[index].method]
    days = _taken(way.setup_days_per_bore, pace) + _taken(way.recovery_days_per_bore, pace)
    if way.has_layout:
        days += _taken(a.programme.pull_in_prepare_days, pace)
    driving = 0.0
    for soil, length_m in soil_lengths_m(scene, index).items():
        entry = way.drivability.get(soil)
        if entry is None or entry.rate_m_per_day is None:
            return float("nan")
        driving += length_m / _taken(entry.rate_m_per_day, pace, is_rate=True)
    if (n_shifts or a.programme.shifts_per_day) >= 2:
        driving /= a.programme.second_shift_factor
    return a.n_bores(scene.plan.drives[index].method) * (days + driving)


def shaft_days(scene: Scene, index: int, pace: Pace = "expected", n_shifts: int | None = None) -> ShaftDays:
    """Return the working days that a shaft takes with all its drives.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the shaft.
    pace, n_shifts
        See `drive_days`.
    """
    a, shaft, site = scene.assumptions, scene.plan.shafts[index], shaft_site(scene, index)
    is_wet = site.depth_m > site.water_depth_m + SAME_M
    plug_m = a.shaft.plug_thickness_m if is_wet else 0.0
    volume_m3 = site.length_m * site.width_m * (site.depth_m + plug_m)
    build = _taken(a.programme.shaft_days, pace)
    build += volume_m3 / _taken(a.programme.shaft_m3_per_day, pace, is_rate=True)
    build += _taken(a.programme.plug_cure_days, pace) if is_wet else 0.0
    drives, one_bore = {}, 0.0
    for drive in drives_of(shaft):
        method = scene.plan.drives[drive].method
        drives[drive] = drive_days(scene, drive, pace, n_shifts)
        one_bore = max(one_bore, drives[drive] / a.n_bores(method))
        if is_launch(scene, shaft, drive):
            build += _taken(a.methods[method].erect_days, pace) + _taken(a.programme.block_frame_days, pace)
    return ShaftDays(build, drives, one_bore)


def open_days(seasons: Sequence[Season], a: Assumptions) -> float:
    """Return the working days in the longest stretch of the year that no season closes.

    Parameters
    ----------
    seasons : sequence of Season
    a : Assumptions

    Returns
    -------
    float
        Days of the stretch x working days a week / 7.
    """
    days = np.arange(np.datetime64("2027-01-01"), np.datetime64("2029-01-01"))  # two years: over their turn
    closed = np.zeros(len(days), dtype=np.bool_)
    for season in seasons:
        closed |= is_in_season(days, season)
    edges = np.flatnonzero(np.concatenate([[True], closed, [True]]))
    longest = min(int(np.diff(edges).max()) - 1, 365)
    return longest * a.programme.days_per_week / _DAYS_A_WEEK


def _season(row: pd.Series) -> Season:
    (from_month, from_day), (to_month, to_day) = (
        (int(part) for part in str(row[name]).split("-")) for name in ("from_month_day", "to_month_day")
    )
    return Season(from_month, from_day, to_month, to_day)


def prove_seasons(scene: Scene, ledger: Ledger, constraints: pd.DataFrame) -> None:
    """Hold the days of work against those that the closed seasons leave.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes the findings.
    constraints : DataFrame
        The list of constraints: its closed seasons.
    """
    closed = constraints[constraints["constraint"] == "closed_season"]
    felling = scene.assumptions.programme.seasons["F"].title
    closed = closed[closed["title"] != felling]
    for index in range(len(scene.plan.shafts)):
        rows = closed[closed["shaft_index"] == index]
        if len(rows):
            _prove_shaft(scene, ledger, index, rows)
    of_trench = closed[(closed["shaft_index"] < 0) & (closed["drive_index"] < 0)]
    for where, rows in of_trench.groupby(["section_index", "title"], sort=True):
        _prove_trench(scene, ledger, int(np.asarray(where, dtype=object)[0]), rows)


def _prove_shaft(scene: Scene, ledger: Ledger, index: int, rows: pd.DataFrame) -> None:
    """Fail where a shaft with its drives needs longer than it may stand; amber where it does if slow."""
    a, days = scene.assumptions, shaft_days(scene, index)
    slow = shaft_days(scene, index, "slow").total
    left = open_days([_season(row) for _, row in rows.iterrows()], a)
    site = shaft_site(scene, index)
    limit = Limit("shaft_season", "days", SOURCE, tolerance=1e-6)
    drives = ", ".join(f"{scene.drive_id(drive)} {one:.0f}" for drive, one in days.drives.items())
    titles = " and ".join(dict.fromkeys(str(title) for title in rows["title"]))
    reason = (
        f"{days.total:.0f} working days ({slow:.0f} if slow): {days.build:.0f} to build it, for its drives "
        f"{drives}; {titles} leaves {left:.0f} in a row"
    )
    if days.total <= left < slow:
        ledger.amber(site.element, limit, slow, left, site.place, f"{reason}: only if nothing delays it")
        return
    if days.total > left:
        whole = "not even one bore fits: " if days.build + days.one_bore > left else ""
        reason += (
            f": {whole}leave to stand through the closed season with guards against what it is closed for, "
            "more rigs or shifts, or another place"
        )
        if a.programme.shifts_per_day < 2:
            by_two = shaft_days(scene, index, n_shifts=2).total
            reason += f"; its drives bored in two shifts a day it takes {by_two:.0f} days"
    ledger.finding(site.element, limit, days.total, left, site.place, reason)


def _prove_trench(scene: Scene, ledger: Ledger, section: int, rows: pd.DataFrame) -> None:
    """Fail where one crew needs longer for an open cut than its season leaves; amber if slow."""
    a = scene.assumptions
    length_m = float(rows["length_m"].sum())
    rate = a.programme.trench_m_per_day
    expected, slow = (
        length_m / (_taken(rate, pace, is_rate=True) * a.programme.wet_trench_factor)
        for pace in ("expected", "slow")
    )
    left = open_days([_season(row) for _, row in rows.iterrows()], a)
    at_m = float(rows["from_chainage_m"].min())
    place = Place(at_m, section=section, xy_m=scene.route.point_at(at_m))
    limit = Limit("trench_season", "days", SOURCE, tolerance=1e-6)
    reason = (
        f"one crew takes {expected:.0f} working days ({slow:.0f} if slow) for {length_m:.0f} m in wet "
        f"ground; {rows['title'].iloc[0]} leaves {left:.0f} in a row"
    )
    if expected <= left < slow:
        ledger.amber(scene.section_id(section), limit, slow, left, place, reason)
        return
    ledger.finding(scene.section_id(section), limit, expected, left, place, reason)
