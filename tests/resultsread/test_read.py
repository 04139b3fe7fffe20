"""Results read back: what was written is what is read, and every spoilt folder gives one clear error."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pandas as pd
import pytest

from routescreen.errors import InputError, ResultsError
from routescreen.results.geopackage import write_geopackage
from routescreen.resultsread import read_all, read_results
from routescreen.schema import SCHEMA_VERSION
from tests.results import example

INPUT = Path(__file__).parents[1] / "data" / "line_corridor" / "corridor.gpkg"


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("results") / "west_screened"
    folder.mkdir()
    write_geopackage(example.tables(), example.METRES, folder / "screened.gpkg", stamp_utc=example.STAMP)
    return folder


@pytest.fixture
def copied(sound: Path, tmp_path: Path) -> Path:
    return shutil.copytree(sound, tmp_path / "copied")


def _change(folder: Path, *statements: str) -> None:
    with closing(sqlite3.connect(folder / "screened.gpkg")) as database:
        for name in ("IsEmpty", "MinX", "MaxX", "MinY", "MaxY"):  # named by the triggers of the spatial index
            database.create_function(f"ST_{name}", 1, lambda _: 0)
        for statement in statements:
            database.execute(statement)
        database.commit()


def _problems(folder: Path) -> list[str]:
    with pytest.raises(ResultsError) as caught:
        read_results(folder)
    assert all(problem.remedy and problem.file for problem in caught.value.problems)
    return [f"{p.layer or ''} {p.column or ''} {p.problem}" for p in caught.value.problems]


def test_what_was_written_is_read(sound: Path) -> None:
    written, read = example.tables(), read_results(sound)
    assert read.corridor_ids == ("west",)
    assert not read.is_in_breach
    assert read.crs == example.METRES
    for name in ("sections", "drives", "checks", "bill", "run_record"):
        table = read.tables[name]
        assert len(table) == len(written[name])
        for column in ("section_id", "amount_eur", "reason", "key"):
            if column in table:
                one, other = table[column], written[name][column]
                assert one.tolist() == [None if pd.isna(v) else v for v in other]


def test_reading_changes_nothing_in_the_folder(copied: Path) -> None:
    def state() -> dict[str, str]:
        return {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in copied.iterdir()}

    before = state()
    read_results(copied)
    assert state() == before


def test_the_geopackage_itself_may_be_named(sound: Path) -> None:
    assert read_results(sound / "screened.gpkg").corridor_ids == ("west",)


def test_a_plan_in_breach_is_read_and_said(copied: Path) -> None:
    (copied / "screened.gpkg").rename(copied / "screened_breach.gpkg")
    assert read_results(copied).is_in_breach


def test_a_missing_folder_names_the_one_beside_it(tmp_path: Path) -> None:
    (tmp_path / "corridor_screened").mkdir()
    (problem,) = _problems(tmp_path / "corridor")
    assert "no such results folder" in problem
    assert "corridor_screened" in problem


def test_an_empty_folder(tmp_path: Path) -> None:
    (problem,) = _problems(tmp_path)
    assert "holds no results" in problem


def test_a_half_written_folder(tmp_path: Path) -> None:
    (tmp_path / ".screened.gpkg.77.tmp").mkdir()
    (problem,) = _problems(tmp_path)
    assert "half-written" in problem


def test_a_file_that_is_cut_off(copied: Path) -> None:
    whole = (copied / "screened.gpkg").read_bytes()
    (copied / "screened.gpkg").write_bytes(whole[: len(whole) // 2])
    (problem,) = _problems(copied)
    assert "cut off" in problem


def test_a_file_of_something_else(copied: Path) -> None:
    (copied / "screened.gpkg").write_text("<html>", encoding="utf-8")
    (problem,) = _problems(copied)
    assert "not a GeoPackage" in problem


def test_an_input_is_told_from_results() -> None:
    (problem,) = _problems(INPUT)
    assert "is an input" in problem


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        pytest.param("update run_record set value = '9.9' where key = 'schema_version'", "9.9", id="newer"),
        pytest.param("update run_record set value = '1.0' where key = 'schema_version'", "1.0", id="older"),
        pytest.param("delete from run_record where key = 'schema_version'", "none", id="without"),
    ],
)
def test_another_version_is_refused_in_one_line_whatever_columns_it_lacks(
    copied: Path, statement: str, says: str
) -> None:
    _change(copied, statement)
    _change(copied, "alter table drives drop column method")
    (problem,) = _problems(copied)
    age = "a newer" if says == "9.9" else "an older"
    reads = f"this routescreen reads version {SCHEMA_VERSION}: {age} routescreen wrote them."
    assert f"The results are of version {says}; {reads}" in problem


# What breaks the schema, and what only a look at several tables shows; all of each stand in one error.
AGAINST_THE_SCHEMA = {
    "delete from gpkg_contents where table_name = 'bores'": "bores  The layer is missing",
    "alter table drives drop column method": "drives method The column is missing",
    "update checks set status = 'fine' where fid = 1": "checks status The value is none of",
    "update crossing_schedule set angle_deg = 900 where fid = 1": "angle_deg The value is not within",
    "update sections set reason = null where fid = 1": "sections reason A value is missing",
}
NOT_FITTING_TOGETHER = {
    "update bill set amount_eur = amount_eur + 0.01 where fid = 1": "adds up to 2137201.81 EUR",
    "update sections set to_chainage_m = 550 where section_id = 'west-S002'": "overlap at chainage 600.00 m",
    "update drives set launch_shaft_id = 'west-H099' where fid = 1": "launch_shaft_id It points to nothing",
    "update shafts set shaft_id = 'west-H001' where shaft_id = 'west-H002'": "The id stands twice",
    "update checks set corridor_id = 'east' where fid = 1": "belongs to a corridor that has no alignment",
}


@pytest.mark.parametrize(
    "faults",
    [
        pytest.param(AGAINST_THE_SCHEMA, id="against-the-schema"),
        pytest.param(NOT_FITTING_TOGETHER, id="not-fitting-together"),
    ],
)
def test_every_fault_of_a_spoilt_file_is_listed(copied: Path, faults: dict[str, str]) -> None:
    _change(copied, *faults)
    problems = _problems(copied)
    assert [says for says in faults.values() if not any(says in problem for problem in problems)] == []


def test_what_a_later_build_added_is_left_alone(copied: Path) -> None:
    _change(copied, "alter table drives add column colour text", "create table extra (a integer)")
    assert "colour" not in read_results(copied).tables["drives"]


def test_problems_of_several_folders_stand_together(sound: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        read_all([tmp_path / "one", sound, tmp_path / "two"])
    assert [p.file for p in caught.value.problems] == [str(tmp_path / "one"), str(tmp_path / "two")]
