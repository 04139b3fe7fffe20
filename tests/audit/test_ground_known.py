"""Checks on ground that nobody has described are no pass; what fails stays; the defaults may be meant."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest
from shapely import box

from routescreen.assumptions import Assumptions, load_assumptions
from routescreen.audit import AuditReport, audit_plan, ground_known
from tests.audit.place import correct_plan, place, with_ground
from tests.audit.proving import prove_plan

if TYPE_CHECKING:
    from routescreen.audit.proofs import Proofs
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()
MEANT = load_assumptions("[frame]\ndefault_ground_counts = true\n")
WHOLE = box(-100.0, -300.0, 1600.0, 300.0)
BY_SOIL = ("thrust", "draw_back", "drive_length_in_soil")


def statuses(report: AuditReport, check: str) -> set[str]:
    rows = report.checks[report.checks["check"] == check]
    return set(rows["status"])


def audited(inp: CorridorInput, a: Assumptions = DEFAULTS) -> AuditReport:
    return audit_plan(correct_plan(), inp, a)


@pytest.mark.parametrize("check", [*BY_SOIL, "groundwater_head"])
def test_without_ground_nothing_that_depends_on_it_passes(check: str) -> None:
    assert statuses(audited(place()), check) == {"not_evaluated"}


@pytest.mark.parametrize("check", ["grade", "cover", "cover_under", "pull_in", "shaft_depth"])
def test_what_does_not_depend_on_it_passes_all_the_same(check: str) -> None:
    assert statuses(audited(place()), check) == {"pass"}


def test_not_evaluated_has_no_numbers_and_says_what_was_assumed() -> None:
    table = audited(place()).checks
    row = table[table["check"] == "thrust"].iloc[0]
    assert all(math.isnan(row[column]) for column in ("demand", "capacity", "utilisation"))
    assert "the soil isn't given anywhere on it (sand dense is assumed)" in row["reason"]


def test_where_the_defaults_are_meant_they_count() -> None:
    report = audited(place(), MEANT)
    assert {status for check in BY_SOIL for status in statuses(report, check)} == {"pass"}


def test_soil_alone_leaves_what_depends_on_water() -> None:
    report = audited(with_ground(place(), WHOLE, soil="sand_dense"))
    assert statuses(report, "draw_back") == {"pass"}
    assert statuses(report, "groundwater_head") == {"not_evaluated"}
    assert statuses(report, "thrust") == {"not_evaluated"}  # the face holds the water too


def test_a_gap_under_the_drive_is_told_with_its_share() -> None:
    """Ground as far as x = 660: half of the drive from 520 to 800 m lies beyond it."""
    part = box(-100.0, -300.0, 660.0, 300.0)
    report = audited(with_ground(place(), part, soil="sand_dense", groundwater_depth_m=3.0))
    row = report.checks[report.checks["check"] == "thrust"].iloc[0]
    assert row["status"] == "not_evaluated"
    assert "on 49 % of it" in row["reason"] or "on 50 % of it" in row["reason"]


def test_what_fails_on_the_defaults_stays_a_failure() -> None:
    weak = load_assumptions("[methods.two_pass]\nthrust_capacity_kN = [300, 400, 500]\n")
    assert statuses(audited(place(), weak), "thrust") == {"fail"}


def proved(inp: CorridorInput, a: Assumptions = DEFAULTS) -> Proofs:
    return prove_plan(correct_plan(), inp, a)


def test_the_ratings_are_no_pass_and_a_warning_says_what_is_missing() -> None:
    found = proved(place())
    rated = found.checks[found.checks["check"].isin(["cable_rating", "thermal_spacing", "base_uplift"])]
    assert len(rated) > 0
    assert "pass" not in set(rated["status"])
    assert "No soil is given anywhere on the route, so sand dense is assumed" in found.warnings[0]
    assert "no groundwater is given anywhere on the route" in found.warnings[0]


def test_the_warning_does_not_deny_what_fails_on_the_assumed_ground() -> None:
    """Failures stay, so what depends on the ground is evaluated as far as that goes."""
    weak = load_assumptions("[methods.two_pass]\nthrust_capacity_kN = [300, 400, 500]\n")
    assert statuses(audited(place(), weak), "thrust") == {"fail"}
    (told,) = (text for text in proved(place(), weak).warnings if text.startswith("No soil is given"))
    assert "isn't evaluated" not in told
    assert "what passes or is amber only by that counts as not evaluated" in told
    assert "what fails even so as failed" in told


def test_described_ground_gives_no_warning() -> None:
    inp = with_ground(place(), WHOLE, soil="sand_dense", groundwater_depth_m=3.0)
    assert not any("is given" in told for told in proved(inp).warnings)


def test_a_shaft_on_described_ground_is_judged_by_its_own_place() -> None:
    """Ground round the launch alone: its base is judged, the reception's is not."""
    inp = with_ground(place(), box(500.0, -50.0, 560.0, 50.0), soil="sand_dense", groundwater_depth_m=3.0)
    table = proved(inp).checks
    by_shaft = table[table["check"] == "base_uplift"].set_index("element_id")["status"]
    assert by_shaft["demo-H001"] != "not_evaluated"
    assert by_shaft["demo-H002"] == "not_evaluated"


def test_what_has_no_place_of_its_own_is_looked_up_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """However many crossings a long corridor has, their ground is that of the whole route."""
    made: list[ground_known._Unknown] = []
    judged = ground_known._judged
    monkeypatch.setattr(
        ground_known, "_judged", lambda check, unknown: made.append(unknown) or judged(check, unknown)
    )
    audited(place())
    unknown, sizes = made[0], []
    monkeypatch.setattr(type(unknown), "_look", lambda _, xy_m: sizes.append(len(xy_m)) or ("here", ""))
    unknown._found.clear()
    assert unknown.of("one crossing") == unknown.of("another") == ("here", "")
    assert len(sizes) == 1
    assert unknown.of(unknown._scene.shaft_id(0)) == ("here", "")
    assert sizes[1:] == [1]
