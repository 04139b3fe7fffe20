"""Files that can't be used, or only with care; and that reading leaves no trace."""

from __future__ import annotations

import hashlib
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from routescreen.inputs import Sources, read_inputs
from tests.inputs.site import line
from tests.rights import HAS_MODES, as_nobody

if TYPE_CHECKING:
    from tests.inputs.site import Site


def snapshot(folder: Path) -> dict[str, tuple[int, bytes]]:
    """Every file with its time and content."""
    return {path.name: (path.stat().st_mtime_ns, path.read_bytes()) for path in sorted(folder.iterdir())}


def set_wal(path: Path) -> None:
    """Put the database into write-ahead mode, as some desktop programs do, and close it."""
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA journal_mode = WAL").fetchone() == ("wal",)


def test_missing_file(site: Site) -> None:
    site.gpkg.unlink()
    problem = site.problem()
    assert (problem.file, problem.problem) == (str(site.gpkg), "There is no such file.")


def test_folder_instead_of_file(site: Site) -> None:
    site.gpkg.unlink()
    site.gpkg.mkdir()
    assert "folder" in site.problem().problem


def test_empty_file(site: Site) -> None:
    site.gpkg.write_bytes(b"")
    assert "empty" in site.problem().problem


def test_text_that_is_called_geopackage(site: Site) -> None:
    site.gpkg.write_text("corridor;crossings\n")
    assert site.problem().problem == "The file is not a GeoPackage."


def test_database_that_is_no_geopackage(site: Site) -> None:
    site.gpkg.unlink()
    with closing(sqlite3.connect(site.gpkg)) as connection:
        connection.execute("CREATE TABLE corridor (corridor_id TEXT)")
    assert site.problem().problem == "The file is not a GeoPackage."


@pytest.mark.parametrize(
    ("n_bytes", "part"),
    [
        pytest.param(60, "cut off", id="not-even-a-header"),
        pytest.param(8_192, "cut off", id="two-pages-left"),
        pytest.param(-1, "cut off", id="one-byte-short"),
    ],
)
def test_truncated(site: Site, n_bytes: int, part: str) -> None:
    site.gpkg.write_bytes(site.gpkg.read_bytes()[:n_bytes])
    assert part in site.problem().problem


def test_damaged_inside(site: Site) -> None:
    content = bytearray(site.gpkg.read_bytes())
    content[110:4_096] = bytes(4_096 - 110)
    site.gpkg.write_bytes(content)
    assert "damaged" in site.problem().problem or "not a GeoPackage" in site.problem().problem


def test_locked_by_a_writer(site: Site) -> None:
    with closing(sqlite3.connect(site.gpkg, isolation_level=None)) as writer:
        writer.execute("BEGIN EXCLUSIVE")
        assert "locked" in site.problem().problem


def test_left_behind_journal(site: Site) -> None:
    site.gpkg.with_name("corridor.gpkg-journal").write_bytes(b"half a transaction")
    before = snapshot(site.folder)
    assert "writing" in site.problem().problem
    assert snapshot(site.folder) == before


def test_write_ahead_mode_is_read_in_place_without_side_files(site: Site) -> None:
    set_wal(site.gpkg)
    before = snapshot(site.folder)
    assert len(site.read().crossings) == 1
    assert snapshot(site.folder) == before


def test_changes_that_still_lie_in_the_write_ahead_file_are_read(site: Site) -> None:
    set_wal(site.gpkg)
    with closing(sqlite3.connect(site.gpkg)) as other:
        other.create_function("ST_IsEmpty", 1, lambda _: 0)
        for name in ("MinX", "MaxX", "MinY", "MaxY"):
            other.create_function(f"ST_{name}", 1, lambda _: 400_500.0)
        other.execute("UPDATE crossings SET kind = 'railway'")
        other.commit()
        before = snapshot(site.folder)
        assert before["corridor.gpkg-wal"][1] != b""
        result = site.read()
        after = snapshot(site.folder)
    assert result.crossings["kind"].tolist() == ["railway"]
    assert any("open in another program" in text for text in result.warnings)
    assert after == before


@HAS_MODES
def test_no_read_rights(site: Site) -> None:
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        locked = Path(folder) / "corridor.gpkg"
        locked.write_bytes(site.gpkg.read_bytes())
        locked.chmod(0o000)
        site.gpkg = locked
        with as_nobody():
            problem = site.problem()
    assert problem.problem == "The file may not be read."


def test_other_source_that_holds_nothing_readable(site: Site) -> None:
    (site.folder / "roads.geojson").write_text("this is no map")
    problem = site.problem(crossings=site.folder / "roads.geojson")
    assert problem.file == str(site.folder / "roads.geojson")
    assert "No vector data" in problem.problem


def test_faults_of_all_files_are_listed_together(site: Site) -> None:
    site.gpkg.write_text("no database")
    (site.folder / "terrain.tif").write_bytes(b"")
    problems = site.problems(crossings="absent.gpkg|roads", osm=site.folder / "absent.osm.pbf")
    assert sorted(Path(str(problem.file)).name for problem in problems) == [
        "absent.gpkg",
        "absent.osm.pbf",
        "corridor.gpkg",
        "terrain.tif",
    ]


def test_reading_changes_no_file(site: Site) -> None:
    site.raster("ground_cover.tif", site.slope().astype("uint8") * 0 + 40)
    before = snapshot(site.folder)
    site.read()
    assert snapshot(site.folder) == before


def test_failed_reading_changes_no_file(site: Site) -> None:
    site.layer("crossings", [line((500, 0), (500, 200))], kind=["unheard_of"])
    before = snapshot(site.folder)
    site.problem()
    assert snapshot(site.folder) == before


def test_hash_of_each_file_stands_in_the_provenance(site: Site) -> None:
    provenance = site.read().provenance
    for name in ("corridor.gpkg", "terrain.tif"):
        expected = hashlib.sha256((site.folder / name).read_bytes()).hexdigest()
        assert provenance[f"input_file.{name}.sha256"] == expected


def test_main_layers_by_their_names(site: Site) -> None:
    result = read_inputs(Sources(site.gpkg), site.assumptions)
    assert [corridor.corridor_id for corridor in result] == ["A"]
