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
    ("kind", "depth_m", "diameter_m", "clear_m", "asked_m", "status", "way"),
    [
        # 1.60 to 2.00: within the pipes' depth; below it by 0.4 m: 2.40 m
        pytest.param("water_main", 1.6, 0.4, 0.0, 0.4, "pass", "2.40", id="overlaps"),
        # underside 1.35: 0.05 m above the pipes; dip to 1.85 m
        pytest.param("power_cable", 1.2, 0.15, 0.05, 0.5, "pass", "1.85", id="just above"),
        # top 1.80: 0.12 m below the pipes, underside 2.30; dip to 2.70 m
        pytest.param("sewer", 1.8, 0.5, 0.12, 0.4, "pass", "2.70", id="just below"),
        # bottom of the dip 2.00 + 3.0 + 0.4 + 0.28 + 0.2 = 5.88 m
        pytest.param("sewer", 2.0, 3.0, 0.32, 0.4, "fail", None, id="a dip of over 5 m"),
        # 2.20 - 1.68 = 0.52; the trench's bottom at 1.88 m is above it too
        pytest.param("sewer", 2.2, 0.6, 0.52, 0.4, "pass", "passed over", id="over it"),
        pytest.param("sewer", 3.7, 0.5, 2.02, 0.4, "pass", "passed over", id="far over it"),
        # telecom asks for 0.3 m: 1.40 - 0.75 = 0.65
        pytest.param("telecom", 0.6, 0.15, 0.65, 0.3, "pass", "passed under", id="under it"),
    ],
)
def test_a_service_in_open_cut(
    kind: str,
    depth_m: float,
    diameter_m: float,
    clear_m: float,
    asked_m: float,
    status: str,
    way: str | None,
) -> None:
    found = row(kind, {"depth_m": depth_m, "diameter_m": diameter_m})
    is_dip = way is not None and way[0].isdigit()
    assert (found["demand"], found["capacity"]) == pytest.approx((asked_m, asked_m if is_dip else clear_m))
    assert f"{clear_m:.2f} m clear" in found["reason"]
    assert found["status"] == status
    assert found["confidence"] == "record"
    assert found["governing_chainage_m"] == pytest.approx(300.0, abs=0.01)
    assert "may be off by 1.00 m, which a trial hole settles" in found["reason"]
    if way is None:
        assert "a dip below would be 5.88 m deep" in found["reason"]
    else:
        said = f"dips until the pipes' tops lie {way} m deep" if is_dip else f"clear, {way};"
        assert said in found["reason"]


def test_the_trench_is_not_dug_into_what_it_passes_over() -> None:
    """0.12 m of 0.10 m clear, but the trench's bottom at 1.88 m meets its top: dip to 2.30 + 0.10 m."""
    near = load_assumptions("[treatments.sewer]\nexposed_clearance_m = 0.1\n")
    found = row("sewer", {"depth_m": 1.8, "diameter_m": 0.5}, near)
    assert "tops lie 2.40 m deep" in found["reason"]


@pytest.mark.parametrize(
    ("depth_m", "status", "told"),
    [
        # 2.90 - 1.68 = 1.22 of 0.4 + 1.0 m; dip to 3.40 + 1.40, bottom 5.28 m
        pytest.param(2.9, "fail", "5.28 m deep", id="too near"),
        pytest.param(3.2, "pass", "1.52 m clear, passed over", id="far enough"),
    ],
)
def test_without_a_trial_hole_the_doubt_about_the_record_counts(
    depth_m: float, status: str, told: str
) -> None:
    undug = load_assumptions("[treatments.sewer]\nhas_trial_hole = false\n")
    found = row("sewer", {"depth_m": depth_m, "diameter_m": 0.5}, undug)
    assert (found["demand"], found["status"]) == (pytest.approx(1.4), status)
    assert told in found["reason"]
    assert "1.00 m of what is asked for are for the doubt" in found["reason"]


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


def test_how_a_kind_would_be_passed_is_said() -> None:
    """A water main mostly lies from 1.50 to 1.80 m: in the pipes' depth."""
    assert "from 1.50 to 1.80 m below the ground, is 0.00 m" in row("water_main", {})["reason"]
    assert "passed under in a dip: ask its owner" in row("water_main", {})["reason"]


def test_services_under_drives_are_left_to_the_drives() -> None:
    found = proved(only(crossing("sewer", across(650.0), depth_m=1.6, diameter_m=0.4)))
    assert check(found, "trench_service_clearance").empty


@pytest.mark.parametrize(
    ("own", "cover", "status", "dip_m"),
    [
        # water 0.5 and scour 0.3 m by kind: 1.40 - 0.80; dip to 0.80 + 2.0
        pytest.param({}, "0.60 m of cover", "pass", "2.80", id="stream by kind"),
        pytest.param({"water_depth_m": 1.2}, "stand 0.10 m above", "pass", "3.50", id="pipes in the water"),
        # bed 3.0 m and scour 0.3 m down: 3.30 + 2.0 + 0.28 + 0.2 = 5.78 m
        pytest.param({"water_depth_m": 3.0}, "stand 1.90 m above", "fail", None, id="too deep for a dip"),
        # a bed stated as a level stands as it is: 50 - 49.8 = 0.2 m
        pytest.param({"base_level_m": 49.8}, "1.20 m of cover", "pass", "2.20", id="level stated"),
        # 50 - 49.0 = 1.0 m, where water and scour of its kind are 0.8 m deep
        pytest.param({"base_level_m": 49.0}, "0.40 m of cover", "pass", "3.00", id="level stated, deeper"),
        pytest.param({"min_cover_m": 0.5}, "0.60 m of cover", "pass", None, id="little is asked for"),
    ],
)
def test_a_stream_in_open_cut(own: dict[str, float], cover: str, status: str, dip_m: str | None) -> None:
    found = row("stream", own, name="trench_bed_cover")
    asked_m = own.get("min_cover_m", 2.0)
    assert found["demand"] == pytest.approx(asked_m)
    assert cover in found["reason"]
    assert found["status"] == status
    if dip_m:
        assert found["capacity"] == pytest.approx(asked_m)
        assert f"dips until the pipes' tops lie {dip_m} m deep" in found["reason"]
    assert "the bill has it" not in found["reason"]


def test_terrain_that_is_the_bed_has_no_water_over_it() -> None:
    """1.40 m less the scour of 0.3 m."""
    inp = replace(only(crossing("stream", across(300.0))), terrain_is_bed=True)
    assert "1.10 m of cover" in check(proved(inp), "trench_bed_cover").iloc[0]["reason"]


def test_a_ditch_asks_for_less_and_its_worst_place_governs() -> None:
    """Bed stated at 49.405 m; the ground falls from 50.0 to 49.9 m between the pixels' middles, 295 and 305.

    The trench follows the ground: at the bank, 298.5, it stands 49.965 m high, the bed 0.56 m below, and
    1.40 - 0.56 = 0.84 m remain.
    """
    inp = only(crossing("ditch", across(300.0), base_level_m=49.405))
    values = np.full((100, 210), 50.0)
    values[:, 60:] = 49.9
    inp = replace(inp, terrain=replace(raster(50.0), values=values))
    found = check(proved(inp), "trench_bed_cover").iloc[0]
    assert found["demand"] == pytest.approx(1.5)
    assert "lies 0.56 m below" in found["reason"]
    assert "0.84 m of cover" in found["reason"]
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
