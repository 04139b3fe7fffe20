"""What is told of one place: the figures of the tables, and which place an id or a chainage means."""

from __future__ import annotations

import pandas as pd
import pytest

from routescreen.answers.places import choose_corridor, find_place
from routescreen.answers.show import explanation_json, explanation_text
from routescreen.answers.told import explain
from routescreen.answers.told_parts import agreement_part, hazard_part
from routescreen.errors import ResultsError
from tests.answers import pair as made


@pytest.fixture(scope="module")
def tables():
    return made.tables_of(made.with_drive())


def _told(tables, at):
    return " ".join(explanation_text(explain(tables, find_place(tables, "west", at))).split())


# --- Places ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at", "kind", "element", "at_m"),
    [
        pytest.param("west-D004", "drive", "west-D004", 1665.0, id="drive-at-its-middle"),
        pytest.param("d004", "drive", "west-D004", 1665.0, id="without-the-corridor-in-any-case"),
        pytest.param("west-H002", "shaft", "west-H002", 600.0, id="shaft"),
        pytest.param("C001", "crossing", "west-C001", 150.0, id="crossing-by-chainage"),
        pytest.param("S001", "section", "west-S001", 150.0, id="section"),
        pytest.param("west-D001-B2", "drive", "west-D001", 450.0, id="a-bore-leads-to-its-drive"),
        pytest.param("K001", "shaft", "west-H001", 300.0, id="a-compound-leads-to-its-shaft"),
        pytest.param("old LINE", "crossing", "west-C002", 450.0, id="name-of-a-crossing"),
        pytest.param("way/8", "crossing", "west-C003", 800.0, id="one-of-a-crossing-s-features"),
        pytest.param("1+234.5", "chainage", "1+234.5", 1234.5, id="kilometres-and-metres"),
        pytest.param("1234.5 m", "chainage", "1+234.5", 1234.5, id="metres"),
        pytest.param("1234.5", "chainage", "1+234.5", 1234.5, id="plain-number"),
        pytest.param("1.2345 km", "chainage", "1+234.5", 1234.5, id="kilometres"),
    ],
)
def test_what_a_word_means(tables, at, kind, element, at_m):
    place = find_place(tables, "west", at)
    assert (place.kind, place.element_id, place.at_m) == (kind, element, pytest.approx(at_m))


@pytest.mark.parametrize(
    ("at", "says"),
    [
        pytest.param("west-D009", "west-D001", id="near-ids-are-named"),
        pytest.param("Lower Ilmm", "Lower Ilm", id="near-names-are-named"),
        pytest.param("3+000", "runs from 0+000.0 to 2+040.0", id="beyond-the-end"),
        pytest.param("-5", "runs from 0+000.0", id="before-the-start"),
        pytest.param("", "Nothing of that name", id="nothing"),
        pytest.param("=cmd|' /C calc'!A0", "Nothing of that name", id="a-formula-is-a-text"),
    ],
)
def test_what_is_not_there_is_said_with_a_remedy(tables, at, says):
    with pytest.raises(ResultsError) as caught:
        find_place(tables, "west", at, "west_screened")
    (problem,) = caught.value.problems
    assert says in problem.problem
    assert problem.remedy
    assert problem.file == "west_screened"


@pytest.mark.parametrize(
    ("asked", "at", "corridor"),
    [(None, "east-D001", "east"), ("west", "D001", "west"), (None, "west-2-D001", "west-2")],
)
def test_the_corridor_that_is_meant(asked, at, corridor):
    assert choose_corridor(("west", "east", "west-2"), asked, at, "r") == corridor


@pytest.mark.parametrize(("asked", "at"), [(None, "1+000"), ("north", "D001")])
def test_a_corridor_that_is_not_clear(asked, at):
    with pytest.raises(ResultsError, match="west"):
        choose_corridor(("west", "east"), asked, at, "r")


# --- What is told ---------------------------------------------------------------------------------------


def test_a_drive_tells_its_figures(tables):
    told = _told(tables, "D004")
    assert (
        "west-D004: guided thrust boring, 250 m, from launch shaft west-H005 at 1+540.0 to reception shaft "
        "west-H006 at 1+790.0; 2 bores of 0.34 m, 2.00 m apart" in told
    )
    # crown at 16.0 and 16.5 m at its ends, bore of 0.34 m
    assert "Launch invert at 15.66 m, ground at 20.00 m; reception invert at 16.16 m" in told
    assert "It rises by 0.20 % from the launch." in told
    assert "main road L 9 (crossings/9), by the drive, cover 3.40 m of 2.50 m required" in told
    assert "230 000.00 EUR" in told
    assert "clearance (m): ?" not in told
    assert "Not evaluated (never a pass) - clearance: As reckoned." in told


def test_cost_is_that_of_the_bill_with_its_share(tables):
    share = 100.0 * 230_000.0 / made.TOTAL_EUR[0]
    assert (
        f"{share:.1f} % of the bill; with every rate low or high 115 000.00 EUR to 460 000.00 EUR"
        in _told(tables, "D004")
    )
    assert "Most of it: Item DR21 (DR21) 150 000.00 EUR; Item SH31 (SH31) 80 000.00 EUR." in _told(
        tables, "D004"
    )


def test_what_fails_comes_before_what_is_amber(tables):
    told = _told(tables, "D003")
    assert "FAILS: grade (%): 9.00 asked, 8.00 there, utilisation 1.12, inputs assumed" in told
    river = _told(tables, "Lower Ilm")
    assert "Of 1 check: 0 fail, 1 amber, 0 pass, 0 not evaluated." in river
    assert "amber: crossing angle (deg): 60.0 asked, 62.0 there, utilisation 0.97" in river


def test_a_shaft_tells_its_base_and_whom_it_serves(tables):
    told = _told(tables, "H001")
    assert (
        "west-H001: launch shaft of west-D001 (two-pass microtunnelling with pull-in, 300 m) at 0+300.0"
        in told
    )
    # ground at 20 m, 7.25 m deep, groundwater at 17 m
    assert "Ground at 20.00 m, 7.25 m deep, so its base is at 12.75 m." in told
    assert "Groundwater at 17.00 m, 4.25 m above its base." in told
    assert "It serves west-D001: The railway allows no trench." in told


def test_a_shared_shaft_serves_both_drives(tables):
    told = _told(tables, "H002")
    assert "west-H002: reception and reception shaft of west-D001" in told
    assert "It serves west-D001" in told
    assert "It serves west-D002" in told


def test_a_chainage_tells_the_profile_between_two_points(tables):
    """Ground is level at 20 m; the only points of open cut have their bottom at 18.22 m, 1.4 m of cover."""
    told = _told(tables, "0+100")
    assert "0+100.0 lies in west-S001, open cut from 0+000.0 to 0+300.0." in told
    assert "Ground 20.00 m; bottom of the trench 18.22 m; cover 1.40 m" in told
    assert "Nothing forces a drive here." in told


def test_every_id_of_a_plan_is_told_and_ends_with_the_caution(tables):
    for layer, column in (
        ("sections", "section_id"),
        ("drives", "drive_id"),
        ("shafts", "shaft_id"),
        ("crossing_schedule", "crossing_id"),
    ):
        for name in tables[layer][column]:
            told = _told(tables, name)
            assert told.startswith(name)
            assert "A screening aid, not a design." in told
            assert "nan" not in told
            assert "None" not in told


def test_the_object_holds_the_rows_that_the_sentences_come_from(tables):
    answer = explanation_json(explain(tables, find_place(tables, "west", "D004")), "west")
    assert (answer["kind"], answer["element_id"], answer["corridor_id"]) == ("drive", "west-D004", "west")
    assert [row["drive_id"] for row in answer["rows"]["drives"]] == ["west-D004"]
    assert sum(row["amount_eur"] for row in answer["rows"]["bill"]) == 230_000.0
    assert {part["heading"] for part in answer["parts"]} >= {"Why", "Checks", "Cost"}


def test_who_must_agree_to_strings_laid_out_across_a_road_is_told_with_the_drive(tables):
    row = {
        "corridor_id": "west",
        "crossing_id": None,
        "drive_id": "west-D001",
        "feature_id": "crossings/12",
        "kind": "road",
        "name": "K 4",
        "owner": "Road board",
        "chainage_m": 610.0,
        "section_id": None,
        "treatment": "strings",
        "lead_low_months": 1.0,
        "lead_expected_months": 2.0,
        "lead_high_months": 3.0,
        "monitoring": None,
        "to_agree": "shut while the strings lie there",
    }
    changed = {**tables, "agreements": pd.DataFrame([row])}
    said = (
        "Road board for road K 4 (crossings/12) (about 2 months, 1 to 3): Shut while the strings lie there."
    )
    assert said in _told(changed, "D001")
    assert said not in _told(changed, "D002")


def test_hazards_name_the_section_drive_or_shaft_that_they_belong_to():
    """Open cut has hazards of its own, of neither a drive nor a shaft."""
    row = {
        "hazard": "trench collapses",
        "state": "applies",
        "cause": "deep",
        "guard": "slopes",
        "who_signs": "x",
    }
    owners = [("p-S001", None, None), (None, "p-D001", None), (None, None, "p-H001"), (None, None, None)]
    table = pd.DataFrame(
        [row | {"section_id": s, "drive_id": d, "shaft_id": h} for s, d, h in owners], dtype=object
    )
    part = hazard_part(table, about="p-D001")
    assert part is not None
    assert [line.split(":")[0] for line in part.lines] == [
        "Trench collapses of p-S001",
        "Trench collapses",
        "Trench collapses of p-H001",
        "Trench collapses",
    ]


@pytest.mark.parametrize(
    ("owner", "begins"),
    [("not known", "Owner not known for p-C001: "), ("Alder Board", "Alder Board for p-C001: ")],
    ids=["not known", "known"],
)
def test_an_agreement_begins_with_the_owner_or_says_that_it_is_not_known(owner, begins):
    row = {"owner": owner, "crossing_id": "p-C001", "to_agree": "open cut", "monitoring": None}
    row |= dict.fromkeys(("lead_low_months", "lead_expected_months", "lead_high_months"))
    part = agreement_part(pd.DataFrame([row], dtype=object))
    assert part is not None
    assert part.lines[0].startswith(begins)
