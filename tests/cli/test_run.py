"""``routescreen run``: exit codes, answers, files, and what a user never sees."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import jsonschema
import pytest

from routescreen import job
from routescreen.cli.answer import problem_text, text_answer
from routescreen.corridor.effort import Effort
from routescreen.errors import AuditError, InputError, NoPlanError, OutputError, Problem
from routescreen.job import CorridorSummary, JobSummary
from routescreen.schema import CAUTION, summary_json_schema
from tests.cli.conftest import Read, Rooms, Screened
from tests.results import example

if TYPE_CHECKING:
    from collections.abc import Callable

    from click.testing import Result

    Invoke = Callable[..., Result]

FIRST = Problem("The value is not a number.", "Correct it.", file="c.gpkg", layer="crossings", feature="7")
SECOND = Problem("The kind is not known.", "Declare it.", column="kind", value="moat")
STOP = Problem("No drive reaches over the lake.", "Allow 1240 m instead of 1200 m.", layer="corridor")
BREACH = Problem("west-D001: cover is in breach.", "Search again.", column="cover", value="1.9 against 2.0 m")


def _answer(result: Result) -> dict[str, object]:
    answer = json.loads(result.stdout)
    jsonschema.validate(answer, summary_json_schema())
    return answer


def test_done_writes_all_and_ends_with_the_caution(rooms: Rooms, invoke: Invoke, tmp_path: Path) -> None:
    result = invoke("run", "corridor.gpkg")
    assert result.exit_code == 0
    assert result.stdout.splitlines()[-1] == CAUTION
    assert result.stderr == ""
    folder = tmp_path / "corridor_screened"
    assert {path.name for path in folder.iterdir()} == {
        "screened.gpkg",
        "screened.qgs",
        "report.html",
        "sheets.pdf",
        "bill.csv",
        "plan.json",
        "tender.xlsx",
        "tender_bidders.xlsx",
        "tender.x83",
        "alignment.dxf",
        "alignment.xml",
        "geojson",
        "styles",
    }


def test_the_summary_names_figures_that_follow_from_the_plan(rooms: Rooms, invoke: Invoke) -> None:
    """Trench of 300 m, three drives, trench with one bend, a drive of 250 m, trench of 250 m."""
    answer = _answer(invoke("run", "corridor.gpkg", "--json"))
    (west,) = answer["corridors"]
    assert west["drive_m"] == pytest.approx(300 + 400 + 200 + 250)
    assert west["open_cut_m"] == pytest.approx(300 + 2 * (150**2 + 80**2) ** 0.5 + 250)
    assert west["length_m"] == pytest.approx(west["drive_m"] + west["open_cut_m"])
    assert (west["drives"], west["shafts"]) == (4, 6)
    assert west["crossings"] == len(example.crossings())
    assert west["total_eur"] == pytest.approx(example.bill()["amount_eur"].sum(), abs=0.005)
    assert (west["objective_eur"], west["frame_error_percent"]) == (1000.0, 0.125)
    assert west["audit_breaches"] == 0


@pytest.mark.usefixtures("unwritten")
@pytest.mark.parametrize(
    ("percent", "shown"),
    [(0.125, "0.12 %"), (-0.004, "0.00 %"), (-0.006, "-0.01 %")],
    ids=["half to even", "no minus before nothing", "a minus before something"],
)
def test_the_frame_error_is_shown_to_two_places(
    rooms: Rooms, invoke: Invoke, percent: float, shown: str
) -> None:
    rooms.comes_of["west"] = Screened(example.corridor("west"), frame_error_percent=percent)
    assert f"frame error {shown}." in invoke("run", "corridor.gpkg").stdout


@pytest.mark.parametrize(
    ("count", "text"),
    [(0, "0 drives"), (1, "1 drive"), (2, "2 drives"), (None, "? drives")],
    ids=["none", "one", "several", "unknown"],
)
def test_counts_are_said_as_people_do(count: int | None, text: str) -> None:
    summary = JobSummary(0, (CorridorSummary("west", length_m=1.0, drives=count),), 1.0, None)
    assert f", {text}, ? breaches." in text_answer(summary)


def test_the_closing_lines_are_in_the_reports_language() -> None:
    figures = {"length_m": 12_054.0, "open_cut_m": 10_405.0, "drive_m": 1649.0, "drives": 4, "shafts": 7}
    money = dict.fromkeys(
        ("total_eur", "total_low_eur", "total_high_eur", "provisional_eur", "allowances_eur"), 1234.5
    )
    apart = {"overheads_apart_eur": 1.0, "owners_apart_eur": 2.0, "objective_eur": 3.0}
    corridor = CorridorSummary(
        "west", **figures, **money, **apart, crossings=1, frame_error_percent=0.25, audit_breaches=0
    )
    files = ("out/report.html", "out/styles/a.qml", "out/styles/b.qml")
    english = JobSummary(0, (corridor,), 12.3, 900.0, files)
    german = text_answer(replace(english, language="de"))
    assert german.splitlines()[0] == (
        "Korridor west: 12 054 m, 10 405 m im offenen Graben, 1649 m in Vortrieben, 7 Schächte."
    )
    bill = "  Leistungsverzeichnis 1234,50 EUR; Ziel der Suche 3,00 EUR, Fehler des Rasters 0,25 %."
    assert bill in german
    assert "  Prüfung: 1 Kreuzung, 4 Vortriebe, 0 Verstöße.\nGeschrieben:\n  out/report.html\n" in german
    assert "  out/styles (2 Dateien)\nDauer: 12,3 s, größter Speicherbedarf 900 MB.\n" in german
    for word in ("Not in", "Never", "With every", "shaft", "drive", "Took", "Written", "owner"):
        assert word in text_answer(english)
        assert word not in german
    assert text_answer(replace(english, corridors=(CorridorSummary("west"),), language="de")).startswith(
        "Korridor west: kein Plan."
    )


def test_caution_and_warnings_are_in_the_reports_language_too(rooms: Rooms, invoke: Invoke) -> None:
    Path("own.toml").write_text('[report]\nlanguage = "de"\n', encoding="utf-8")
    result = invoke("run", "corridor.gpkg", "--assumptions", "own.toml", "--quiet")
    assert result.output.splitlines()[-1].startswith("Eine Vorprüfung, kein Entwurf.")


@pytest.mark.parametrize(
    ("own", "option", "begins"),
    [
        ("en", "de", "Eine Vorprüfung, kein Entwurf."),
        ("de", "en", "A screening aid, not a design."),
        (None, "de", "Eine Vorprüfung, kein Entwurf."),
    ],
    ids=["German over English", "English over German", "no assumptions"],
)
def test_the_option_of_the_language_wins_over_the_assumptions(
    rooms: Rooms, invoke: Invoke, own: str | None, option: str, begins: str
) -> None:
    arguments = ["run", "corridor.gpkg", "--quiet", "--language", option]
    if own is not None:
        Path("own.toml").write_text(f'[report]\nlanguage = "{own}"\n', encoding="utf-8")
        arguments += ["--assumptions", "own.toml"]
    result = invoke(*arguments)
    assert result.exit_code == 0
    assert result.output.splitlines()[-1].startswith(begins)
    page = Path("corridor_screened/report.html").read_text(encoding="utf-8")
    assert f'<html lang="{option}"' in page


def test_a_language_that_there_is_none_of_is_a_slip(rooms: Rooms, invoke: Invoke) -> None:
    result = invoke("run", "corridor.gpkg", "--language", "xx")
    assert result.exit_code == 2
    assert "it is one of de, en" in result.output
    assert rooms.sources == []


def test_faulty_assumptions_are_told_in_the_language_of_the_option(rooms: Rooms, invoke: Invoke) -> None:
    Path("own.toml").write_text("[trench]\nMO10 = 3\n", encoding="utf-8")
    result = invoke("run", "corridor.gpkg", "--assumptions", "own.toml", "--language", "de")
    assert result.exit_code == 3
    assert result.output.startswith("Fehler: ")
    assert "Abhilfe: Er gehört zu [rates]: dort eintragen." in result.output


def test_a_problem_is_said_where_the_language_knows_it_and_stays_whole_where_not() -> None:
    known = Problem("The run was interrupted.", "Run it again.", layer="pins", feature="3")
    assert problem_text(known, "de") == (
        "Fehler: Ebene pins, Objekt 3: Der Lauf wurde abgebrochen. Abhilfe: Noch einmal starten."
    )
    strange = Problem("Zyx qwv and vut rsn.", "Wuv xyz.")
    assert problem_text(strange, "de") == "Fehler: Zyx qwv and vut rsn. Abhilfe: Wuv xyz."
    assert problem_text(known, "en") == f"Error: {known}"


def test_json_prints_one_object_and_puts_the_caution_on_stderr(rooms: Rooms, invoke: Invoke) -> None:
    result = invoke("run", "corridor.gpkg", "--json")
    answer = _answer(result)
    assert (answer["status"], answer["exit_code"]) == ("done", 0)
    assert "problems" not in answer
    assert result.stderr.splitlines() == [CAUTION]
    assert [name.rsplit("/", 1)[-1] for name in answer["files"]][:6] == [
        "screened.gpkg",
        "sheets.pdf",
        "report.html",
        "screened.qgs",
        "bill.csv",
        "plan.json",
    ]


def test_quiet_leaves_only_the_caution(rooms: Rooms, invoke: Invoke) -> None:
    assert invoke("run", "corridor.gpkg", "--quiet").output.splitlines() == [CAUTION]


@pytest.mark.usefixtures("unwritten")
def test_warnings_go_to_stderr_and_into_the_answer(rooms: Rooms, invoke: Invoke) -> None:
    rooms.reads = [Read("west", warnings=("There is no ground cover.",))]
    rooms.comes_of = {"west": Screened(example.corridor(), warnings=("The steepest move binds.",))}
    result = invoke("run", "corridor.gpkg", "--json")
    assert _answer(result)["warnings"] == ["There is no ground cover.", "The steepest move binds."]
    assert result.stderr.splitlines()[0] == "Warning: There is no ground cover."


@pytest.mark.parametrize(
    ("error", "code"),
    [(InputError([FIRST, SECOND]), 3), (OutputError("closed", (FIRST, SECOND)), 6)],
    ids=["input", "output"],
)
def test_every_problem_is_listed_and_nothing_is_written(
    rooms: Rooms, invoke: Invoke, tmp_path: Path, error: Exception, code: int
) -> None:
    rooms.raises_when_reading = error
    result = invoke("run", "corridor.gpkg", "--json")
    assert result.exit_code == code
    assert result.stderr.splitlines() == [f"Error: {FIRST}", f"Error: {SECOND}"]
    assert _answer(result)["problems"] == [FIRST.as_dict(), SECOND.as_dict()]
    assert list(tmp_path.iterdir()) == []


def test_a_failed_run_leaves_the_last_good_files(rooms: Rooms, invoke: Invoke, tmp_path: Path) -> None:
    assert invoke("run", "corridor.gpkg").exit_code == 0
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    rooms.raises_when_reading = InputError([FIRST])
    assert invoke("run", "corridor.gpkg").exit_code == 3
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before


@pytest.mark.parametrize("error", [NoPlanError("Stuck.", (STOP,)), NoPlanError("Stuck at 3 km.")])
def test_without_a_plan_the_code_is_4_and_nothing_is_written(
    rooms: Rooms, invoke: Invoke, tmp_path: Path, error: NoPlanError
) -> None:
    rooms.comes_of = {"west": error}
    result = invoke("run", "corridor.gpkg", "--json")
    assert result.exit_code == 4
    answer = _answer(result)
    assert answer["corridors"][0]["length_m"] is None
    assert str(error.problems[0] if error.problems else error) in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_breach_writes_only_the_plan_in_breach(rooms: Rooms, invoke: Invoke, tmp_path: Path) -> None:
    rooms.comes_of = {"west": Screened(example.corridor(), breaches=(BREACH,))}
    result = invoke("run", "corridor.gpkg", "-o", "out", "--json")
    assert result.exit_code == 5
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["screened_breach.gpkg"]
    answer = _answer(result)
    assert answer["problems"] == [BREACH.as_dict()]
    assert answer["corridors"][0]["audit_breaches"] == 1


def test_each_corridor_is_screened_and_the_worst_code_returned(
    rooms: Rooms, invoke: Invoke, tmp_path: Path
) -> None:
    rooms.reads = [Read("north"), Read("west"), Read("south"), Read("east")]
    rooms.comes_of = {
        "north": NoPlanError("Stuck.", (STOP,)),
        "south": Screened(example.corridor("south"), breaches=(BREACH,)),
        "east": AuditError("In breach.", (BREACH,)),
    }
    result = invoke("run", "corridor.gpkg", "-o", "out", "--json")
    assert result.exit_code == 5
    names = [corridor["corridor_id"] for corridor in _answer(result)["corridors"]]
    assert names == ["north", "west", "south", "east"]
    assert {"screened.gpkg", "screened_breach.gpkg"} <= {path.name for path in (tmp_path / "out").iterdir()}
    plan = json.loads((tmp_path / "out" / "plan.json").read_text())
    assert [row["corridor_id"] for row in plan["tables"]["alignment"]] == ["west"]


def test_an_internal_fault_is_one_line_that_says_where_the_details_are(
    rooms: Rooms, invoke: Invoke, tmp_path: Path
) -> None:
    rooms.comes_of = {"west": ZeroDivisionError("by\nnought")}
    result = invoke("run", "corridor.gpkg", "--log", "run.log")
    assert result.exit_code == 1
    (line,) = result.stderr.splitlines()
    assert "Internal fault (ZeroDivisionError: by nought)" in line
    assert "run.log" in line
    assert "Traceback" not in result.output
    assert "Traceback" in (tmp_path / "run.log").read_text()


def test_without_a_log_the_details_go_to_a_file_that_is_named(
    rooms: Rooms, invoke: Invoke, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    rooms.comes_of = {"west": ZeroDivisionError("by nought")}
    answer = _answer(invoke("run", "corridor.gpkg", "--json"))
    (fault,) = tmp_path.glob("routescreen-fault-*.log")
    assert answer["problems"][0]["file"] == str(fault)
    assert "ZeroDivisionError: by nought" in fault.read_text()


def test_the_log_has_stages_with_time_and_memory(rooms: Rooms, invoke: Invoke, tmp_path: Path) -> None:
    assert invoke("run", "corridor.gpkg", "--log", "run.log").exit_code == 0
    lines = (tmp_path / "run.log").read_text().splitlines()
    ended = [line for line in lines if re.fullmatch(r" *\d+\.\d s  .+: \d+\.\d s, peak memory \d+ MB", line)]
    stages = [line.split("s  ", 1)[1].split(":")[0] for line in ended]
    assert stages == ["read assumptions", "read input", "screen west", "write results"]
    assert any(line.endswith("search forward") for line in lines)


def test_the_answer_has_seconds_and_memory_by_stage(rooms: Rooms, invoke: Invoke) -> None:
    stages = _answer(invoke("run", "corridor.gpkg", "--json"))["stages"]
    assert [(stage["corridor_id"], stage["stage"]) for stage in stages] == [
        (None, "read assumptions"),
        (None, "read input"),
        ("west", "search forward"),
        (None, "write results"),
    ]
    assert all(stage["seconds"] >= 0.0 and stage["peak_memory_mb"] > 0.0 for stage in stages)


@pytest.mark.usefixtures("unwritten")
def test_a_long_run_is_announced_on_stderr(
    rooms: Rooms, invoke: Invoke, monkeypatch: pytest.MonkeyPatch
) -> None:
    long = Effort(3.6e6, 800.0, 6800.0)
    monkeypatch.setattr(job, "reckon_effort", lambda corridor, assumptions: long)
    assert (
        "Corridor west: about 3 600 000 nodes: expect 13 min or more and 6.8 GB."
        in invoke("run", "a.gpkg").stderr
    )
    assert "nodes" not in invoke("run", "a.gpkg", "--quiet").stderr


def test_a_failed_run_tells_the_stages_it_came_through(rooms: Rooms, invoke: Invoke) -> None:
    rooms.comes_of = {"west": ZeroDivisionError("by nought")}
    stages = _answer(invoke("run", "corridor.gpkg", "--json"))["stages"]
    assert [stage["stage"] for stage in stages] == ["read assumptions", "read input", "search forward"]


def test_a_log_that_cannot_be_written_is_6_before_any_work(rooms: Rooms, invoke: Invoke) -> None:
    result = invoke("run", "corridor.gpkg", "--log", "no/such/folder/run.log")
    assert result.exit_code == 6
    assert "no/such/folder/run.log" in result.stderr
    assert rooms.sources == []


def test_an_output_that_cannot_be_written_is_6_before_any_work(
    rooms: Rooms, invoke: Invoke, tmp_path: Path
) -> None:
    (tmp_path / "out").write_text("a file, not a folder")
    result = invoke("run", "corridor.gpkg", "-o", "out")
    assert result.exit_code == 6
    assert rooms.sources == []
    assert (tmp_path / "out").read_text() == "a file, not a folder"


def test_options_reach_the_reader(rooms: Rooms, invoke: Invoke) -> None:
    options = ["--crossings", "x.gpkg|roads", "--ground-cover", "c.tif", "--osm", "t.osm.pbf", "--flat"]
    assert invoke("run", "corridor.gpkg", *options, "--cover-codes", "clc").exit_code == 0
    (sources,) = rooms.sources
    assert (sources.crossings, sources.ground_cover, sources.osm) == ("x.gpkg|roads", "c.tif", "t.osm.pbf")
    assert (sources.is_flat, sources.terrain_is_bed, sources.cover_codes) == (True, False, "clc")
    assert str(sources.gpkg) == "corridor.gpkg"


@pytest.mark.parametrize(
    ("text", "needle"),
    [(b"[link]\nn_systems = 0\n", "n_systems"), (b"no toml", "no.toml"), (b"\x80\x81", "UTF-8")],
    ids=["a value out of range", "not TOML", "not text"],
)
def test_bad_assumptions_are_3(
    rooms: Rooms, invoke: Invoke, tmp_path: Path, text: bytes, needle: str
) -> None:
    (tmp_path / "no.toml").write_bytes(text)
    result = invoke("run", "corridor.gpkg", "--assumptions", "no.toml")
    assert result.exit_code == 3
    assert needle in result.stderr
    assert "Traceback" not in result.output


def test_what_the_bill_leaves_out_is_told_beside_its_total(rooms: Rooms, invoke: Invoke) -> None:
    rooms.comes_of["west"] = Screened(example.corridor("west"), frame_error_percent=0.0)
    lines = invoke("run", "corridor.gpkg").stdout.splitlines()
    (at,) = [number for number, line in enumerate(lines) if line.startswith("  Bill ")]
    assert lines[at + 1].startswith("  Not in the bill: owner's engineering")
    assert "running of the sites" in lines[at + 1]
    assert lines[at + 2].startswith("  Never priced: converters")
    # the example's amounts are halved and doubled, and nothing in it is provisional
    total_eur = example.bill()["amount_eur"].sum()
    span = f"{total_eur / 2:,.2f} EUR to {total_eur * 2:,.2f} EUR; in it provisional sums 0.00"
    assert span.replace(",", " ") in lines[at + 3]
