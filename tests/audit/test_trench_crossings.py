"""Open cut at services and beds that it crosses, by hand: pipes from 1.40 to 1.68 m deep on flat ground."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from routescreen.assumptions import Assumptions, load_assumptions
from tests.audit.place import across, crossing, raster
from tests.audit.register_place import DEFAULTS, check, only, proved

if TYPE_CHECKING:
    import pandas as pd


def row(
    kind: str, own: dict[str, float], a: Assumptions = DEFAULTS, name: str = "trench_service_clearance"
) -> pd.Series:
    found = check(proved(only(crossing(kind, across(300.0), **own)), a), name)
    assert len(found) == 1
    return found.iloc[0]


@pytest.mark.parametrize(
    ("kind", "depth_m", "diameter_m", "clear_m", "needed_m", "status", "dip_m"),
    [
        # 1.60 to 2.00: within the pipes' depth; below it by 1.0 + 1.0 m: 4.00 m, bottom 4.48 m
        pytest.param("water_main", 1.6, 0.4, 0.0, 2.0, "amber", "4.00", id="overlaps"),
        # underside 1.35: 0.05 m above the pipes; dip to 3.35 m
        pytest.param("power_cable", 1.2, 0.15, 0.05, 2.0, "amber", "3.35", id="just above"),
        # top 1.80: 0.12 m below the pipes, underside 2.30; dip to 4.30 m, bottom 4.78 m
        pytest.param("sewer", 1.8, 0.5, 0.12, 2.0, "amber", "4.30", id="just below"),
        # bottom of the dip 2.10 + 0.5 + 2.0 + 0.28 + 0.2 = 5.08 m
        pytest.param("sewer", 2.1, 0.5, 0.42, 2.0, "fail", None, id="a dip of over 5 m"),
        # 2.90 - 1.68 = 1.22: clear if the record is right
        pytest.param("sewer", 2.9, 0.5, 1.22, 2.0, "amber", None, id="near by an unsure record"),
        pytest.param("sewer", 3.7, 0.5, 2.02, 2.0, "pass", None, id="far below"),
        # telecom asks for 0.5 m: 1.40 - 0.75 = 0.65, with the record's metre 1.5
        pytest.param("telecom", 0.6, 0.15, 0.65, 1.5, "amber", None, id="above, by an unsure record"),
    ],
)
def test_a_service_in_open_cut(
    kind: str,
    depth_m: float,
    diameter_m: float,
    clear_m: float,
    needed_m: float,
    status: str,
    dip_m: str | None,
) -> None:
    found = row(kind, {"depth_m": depth_m, "diameter_m": diameter_m})
    assert (found["demand"], found["capacity"]) == pytest.approx((needed_m, clear_m))
    assert found["status"] == status
    assert found["confidence"] == "record"
    assert found["governing_chainage_m"] == pytest.approx(300.0, abs=0.01)
    assert ("until the pipes' tops lie" in found["reason"]) == (dip_m is not None)
    if dip_m:
        assert f"tops lie {dip_m} m deep or the service be moved" in found["reason"]


def test_a_record_that_is_sure_asks_for_the_clearance_only() -> None:
    sure = load_assumptions("[treatments.sewer]\nrecord_uncertainty_m = 0.0\n")
    found = row("sewer", {"depth_m": 2.9, "diameter_m": 0.5}, sure)
    assert (found["demand"], found["status"]) == (1.0, "pass")


@pytest.mark.parametrize(
    ("own", "missing"),
    [
        pytest.param({}, "no depth and diameter of", id="neither"),
        pytest.param({"depth_m": 3.9}, "no diameter of", id="no diameter"),
        pytest.param({"diameter_m": 0.3}, "no depth of", id="no depth"),
    ],
)
def test_what_is_only_by_kind_is_not_evaluated(own: dict[str, float], missing: str) -> None:
    found = row("sewer", own)
    assert found["status"] == "not_evaluated"
    assert missing in found["reason"]
    assert math.isnan(found["capacity"])


def test_a_kind_that_would_be_too_near_is_said_so() -> None:
    """A water main mostly lies from 1.50 to 1.80 m: in the pipes' depth."""
    assert "from 1.50 to 1.80 m below the ground, is 0.00 m" in row("water_main", {})["reason"]
    assert "would be too near" in row("water_main", {})["reason"]


def test_services_under_drives_are_left_to_the_drives() -> None:
    found = proved(only(crossing("sewer", across(650.0), depth_m=1.6, diameter_m=0.4)))
    assert check(found, "trench_service_clearance").empty


@pytest.mark.parametrize(
    ("own", "cover_m", "status", "dip_m"),
    [
        # water 0.5 and scour 0.3 m by kind: 1.40 - 0.80; dip to 0.80 + 2.0
        pytest.param({}, 0.6, "amber", "2.80", id="stream by kind"),
        pytest.param({"water_depth_m": 1.2}, -0.1, "amber", "3.50", id="pipes in the water"),
        # bed 3.0 m and scour 0.3 m down: 3.30 + 2.0 + 0.28 + 0.2 = 5.78 m
        pytest.param({"water_depth_m": 3.0}, -1.9, "fail", None, id="too deep for a dip"),
        # a bed stated as a level stands as it is: 50 - 49.8 = 0.2 m
        pytest.param({"base_level_m": 49.8}, 1.2, "amber", "2.20", id="level stated"),
        pytest.param({"min_cover_m": 0.5}, 0.6, "pass", None, id="little is asked for"),
    ],
)
def test_a_stream_in_open_cut(own: dict[str, float], cover_m: float, status: str, dip_m: str | None) -> None:
    found = row("stream", own, name="trench_bed_cover")
    assert found["demand"] == pytest.approx(own.get("min_cover_m", 2.0))
    assert found["capacity"] == pytest.approx(cover_m)
    assert found["status"] == status
    if dip_m:
        assert f"tops lie {dip_m} m deep;" in found["reason"]


def test_terrain_that_is_the_bed_has_no_water_over_it() -> None:
    """1.40 m less the scour of 0.3 m."""
    inp = replace(only(crossing("stream", across(300.0))), terrain_is_bed=True)
    assert check(proved(inp), "trench_bed_cover").iloc[0]["capacity"] == pytest.approx(1.1)


def test_a_ditch_asks_for_less_and_its_worst_place_governs() -> None:
    """Bed stated at 49.4 m; the ground falls from 50.0 to 49.9 m between the pixels' middles, 295 and 305.

    The trench follows the ground: at the bank, 298.5, it stands 49.965 m high, the bed 0.565 m below, and
    1.40 - 0.565 = 0.835 m remain.
    """
    inp = only(crossing("ditch", across(300.0), base_level_m=49.4))
    values = np.full((100, 210), 50.0)
    values[:, 60:] = 49.9
    inp = replace(inp, terrain=replace(raster(50.0), values=values))
    found = check(proved(inp), "trench_bed_cover").iloc[0]
    assert (found["demand"], found["capacity"]) == pytest.approx((1.5, 0.835))
    assert found["governing_chainage_m"] == pytest.approx(298.5)


def test_unknown_terrain_is_not_evaluated() -> None:
    """A ditch from 290 to 310 m, terrain missing from 310 m on: unknown at one bank only."""
    inp = only(crossing("ditch", across(300.0), half_width_m=10.0))
    values = np.full((100, 210), 50.0)
    values[:, 61] = np.nan
    inp = replace(inp, terrain=replace(raster(50.0), values=values))
    assert check(proved(inp), "trench_bed_cover")["status"].tolist() == ["not_evaluated"]


def test_nothing_crossed_nothing_told() -> None:
    found = proved(only(crossing("road", across(300.0))))
    for name in ("trench_service_clearance", "trench_bed_cover"):
        assert check(found, name).empty
