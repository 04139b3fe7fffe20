"""Days of work against the days that seasons leave, by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from shapely import box

from routescreen.audit.season_proofs import open_days
from routescreen.engineering.seasons import Season
from tests.audit.place import layer
from tests.audit.register_place import DEFAULTS, check, ground, proved
from tests.narrow import load_narrow as load_assumptions

if TYPE_CHECKING:
    import pandas as pd

    from routescreen.assumptions import Assumptions

WINTER = Season(10, 1, 3, 31)


def in_flood_zone(name: str, area: object, a: Assumptions = DEFAULTS) -> pd.DataFrame:
    """Rows of a check with one flood zone on the invented place, closed from October to March."""
    return check(proved(replace(ground(), flood_zones=layer("flood_zones", [{}], [area])), a), name)


def test_days_that_a_season_leaves_by_hand() -> None:
    """April to September: 183 days, of a week 5.5 days are worked."""
    assert open_days([WINTER], DEFAULTS) == pytest.approx(183.0 * 5.5 / 7.0)
    # besides them birds to the end of July: August and September
    assert open_days([WINTER, Season(3, 1, 7, 31)], DEFAULTS) == pytest.approx(61.0 * 5.5 / 7.0)
    # over the turn of the year: November to February
    assert open_days([Season(3, 1, 10, 31)], DEFAULTS) == pytest.approx(120.0 * 5.5 / 7.0, abs=0.8)
    assert open_days([Season(1, 1, 12, 31)], DEFAULTS) == 0.0
    assert open_days([], DEFAULTS) == pytest.approx(365.0 * 5.5 / 7.0)


def test_a_launch_that_needs_longer_than_the_season_leaves_fails_with_both_days() -> None:
    """8 x 21 m, 7.25 m deep on 2 m of plug: 20 + 1554/40 + 10 days, rig 8, block 5.

    Four bores of 280 m at 24 m a day with 4 + 2 + 1 days each: 74.67; April to September leave 143.8.
    """
    found = in_flood_zone("shaft_season", box(515.0, -5.0, 522.0, 5.0)).iloc[0]
    days = 20.0 + 168.0 * 9.25 / 40.0 + 10.0 + 8.0 + 5.0 + 4.0 * (7.0 + 280.0 / 24.0)
    assert (found["status"], found["element_id"]) == ("fail", "demo-H001")
    assert found["demand"] == pytest.approx(days, rel=1e-3)
    assert found["capacity"] == pytest.approx(183.0 * 5.5 / 7.0)
    assert f"{days:.0f} working days" in found["reason"]
    assert "leaves 144 in a row" in found["reason"]
    assert "one bore" not in found["reason"]
    by_two = days - 4.0 * 280.0 / 24.0 * (1.0 - 1.0 / 1.7)
    assert f"in two shifts a day it takes {by_two:.0f} days" in found["reason"]


def test_a_reception_that_fits_only_if_nothing_delays_it_is_amber() -> None:
    """5 x 21 m: slow 35 + 971/20 + 14 days and four bores of 280/13 + 7 + 3 + 2 days."""
    found = in_flood_zone("shaft_season", box(798.0, -5.0, 803.0, 5.0)).iloc[0]
    assert (found["status"], found["element_id"]) == ("amber", "demo-H002")
    slow = 35.0 + 105.0 * 9.25 / 20.0 + 14.0 + 4.0 * (12.0 + 280.0 / 13.0)
    assert found["demand"] == pytest.approx(slow, rel=1e-3)


def test_two_shifts_shorten_the_driving_alone() -> None:
    two = load_assumptions("[programme]\nshifts_per_day = 2\n")
    slow, slow_by_two = (
        in_flood_zone("shaft_season", box(798.0, -5.0, 803.0, 5.0), a).iloc[0] for a in (DEFAULTS, two)
    )
    shorter = 4.0 * 280.0 / 13.0 * (1.0 - 1.0 / 1.7)
    assert slow["demand"] - slow_by_two["demand"] == pytest.approx(shorter, rel=1e-3)


def test_where_no_season_closes_there_is_no_row() -> None:
    assert check(proved(), "shaft_season").empty
    assert check(proved(), "trench_season").empty


def test_open_cut_in_a_flood_zone_by_hand() -> None:
    """From 100 to 400 m: 300 m at 110 x 0.7 m a day."""
    found = in_flood_zone("trench_season", box(100.0, -50.0, 400.0, 50.0)).iloc[0]
    assert (found["status"], found["element_id"]) == ("pass", "demo-S001")
    assert found["demand"] == pytest.approx(300.0 / 77.0, rel=0.01)
    slow = load_assumptions("[programme]\ntrench_m_per_day = [2.0, 3.5, 4.0]\n")
    late = in_flood_zone("trench_season", box(100.0, -50.0, 400.0, 50.0), slow).iloc[0]
    assert (late["status"], late["demand"]) == ("amber", pytest.approx(300.0 / 1.4, rel=0.01))
    slow = load_assumptions("[programme]\ntrench_m_per_day = [1.0, 2.0, 4.0]\n")
    late = in_flood_zone("trench_season", box(100.0, -50.0, 400.0, 50.0), slow).iloc[0]
    assert (late["status"], late["demand"]) == ("fail", pytest.approx(300.0 / 1.4, rel=0.01))
