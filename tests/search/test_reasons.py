"""What the sentences say, on small invented places whose answer is plain."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from shapely import LineString, box

from routescreen.assumptions import Assumptions, load_assumptions
from routescreen.screen import prepare, solve_and_audit
from routescreen.search.gap_names import feature_title
from routescreen.search.reasons import listed, section_reasons, title
from tests.audit.place import across, crossing, crossings, place, with_cover

if TYPE_CHECKING:
    from routescreen.project import CorridorInput


@pytest.fixture(scope="module")
def assumptions() -> Assumptions:
    """Return the defaults on a coarse frame, to be quick."""
    return load_assumptions("[frame]\ncell_m = 20.0\n")


def reasons(inp: CorridorInput, assumptions: Assumptions) -> tuple[str, ...]:
    narrow = replace(inp, outline=box(0.0, -80.0, 1500.0, 80.0))
    problem, _ = prepare(narrow, assumptions)
    return section_reasons(problem, solve_and_audit(problem, narrow).frame_plan)


@pytest.mark.parametrize(
    ("names", "phrase"),
    [
        pytest.param(["A"], "A", id="one"),
        pytest.param(["A", "B", "A"], "A and B", id="each once"),
        pytest.param(["A", "B", "C", "D"], "A, B, C and D", id="as many as one sentence names"),
        pytest.param(["A", "B", "C", "D", "E", "F"], "A, B, C, D and 2 more", id="the rest is counted"),
    ],
)
def test_names_are_joined(names: list[str], phrase: str) -> None:
    assert listed(names) == phrase


def test_each_section_names_what_decided_it(assumptions: Assumptions) -> None:
    mill = crossing("building", box(380.0, -5.0, 400.0, 15.0), name="Cress mill", feature_id="mill")
    before, drive, behind = reasons(place(mill), assumptions)
    assert before.startswith("Open cut, because nothing on this line forbids a trench")
    assert "keeps clear of Cress mill (building)" in before
    assert "crosses road" in before
    assert drive.startswith("Drive, because no trench is allowed through Alder (river)")
    # 30 m of river with 20 m of clearance on either side and the pits: two methods compete or one is short
    assert "guided thrust boring" in drive
    assert "two-pass microtunnelling with pull-in" in drive
    assert "Alder" not in before + behind
    assert "Cress mill" not in drive + behind
    assert "crosses" in behind
    assert "telecom" in behind


def test_of_many_features_those_are_named_that_the_line_meets(assumptions: Assumptions) -> None:
    """Four streets of a village, joined by the lane that they end in: one crossing of roads."""
    lane = crossing("road", LineString([(600.0, 100.0), (900.0, 100.0)]), name="Back Lane", feature_id="r0")
    streets = [
        crossing("road", LineString([(x, -150.0), (x, 100.0)]), name=f"Street {k}", feature_id=f"r{k}")
        for k, x in enumerate((600.0, 700.0, 800.0), start=1)
    ]
    unnamed = crossing("road", LineString([(900.0, -150.0), (900.0, 100.0)]), feature_id="r9")
    inp = replace(place(), crossings=crossings(lane, *streets, unnamed))
    problem, _ = prepare(inp, assumptions)
    assert len(problem.crossings) == 1

    def at(from_x: float, to_x: float) -> str:
        return title(problem, 0, LineString([(from_x, 0.0), (to_x, 0.0)]))

    assert at(650.0, 750.0) == "Street 2 (road)"
    assert at(550.0, 750.0) == "Street 1 / Street 2 (road)"
    assert at(550.0, 850.0) == "Street 1 / Street 2 and 1 more (road)"
    assert at(850.0, 950.0) == "road r9"
    assert title(problem, 0) == "Back Lane / Street 1 and 2 more (road)"
    assert feature_title(problem, 2) == "road Street 2 (r2)"


def test_a_drive_under_nothing_says_what_the_trench_would_cost() -> None:
    dear = "[cover.built_up]\npermanent_land_eur_per_m2 = [360.0, 360.0, 360.0]\n"
    assumptions = load_assumptions(f"[frame]\ncell_m = 20.0\n{dear}")
    built_up = list(assumptions.cover).index("built_up")
    bare = replace(place(), crossings=crossings(crossing("road", across(200.0))))
    found = reasons(with_cover(bare, box(850.0, -300.0, 1150.0, 300.0), built_up), assumptions)
    drives = [text for text in found if text.startswith("Drive")]
    assert drives
    assert all("costs less than the ways open to a trench" in text for text in drives)
    # 34 m of protective strip at 360 EUR/m2 alone are 12 240 EUR/m, on top of about 10 000 EUR/m
    eur_per_m = [float(text.split("about ")[1].split(" EUR/m")[0].replace(" ", "")) for text in drives]
    assert 15_000.0 < max(eur_per_m) < 25_000.0
    assert any("built-up ground" in text for text in drives)
