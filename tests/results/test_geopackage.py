"""The GeoPackage: valid, styled, whole or not there."""

from __future__ import annotations

import dataclasses
import importlib
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import numpy as np
import pyogrio
import pytest

from routescreen.errors import OutputError
from routescreen.results import geopackage
from routescreen.results.check import ResultFaultError
from routescreen.results.geopackage import write_geopackage
from routescreen.results.tables import result_tables
from routescreen.schema import LAYERS_BY_NAME, RESULT_LAYERS
from tests.results import example
from tests.rights import HAS_MODES, closed_folder

SPATIAL = [layer.name for layer in RESULT_LAYERS if layer.is_spatial]
SYSTEM_PYTHON = Path("/usr/bin/python3")


def _write(path, tables=None, stamp=example.STAMP):
    write_geopackage(example.tables() if tables is None else tables, example.METRES, path, stamp_utc=stamp)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    path = tmp_path_factory.mktemp("results") / "screened.gpkg"
    _write(path)
    return path


@pytest.fixture
def database(written):
    with closing(sqlite3.connect(f"file:{written}?mode=ro", uri=True)) as connection:
        yield connection


def _has_validator():
    if not SYSTEM_PYTHON.exists():
        return False
    command = [SYSTEM_PYTHON, "-c", "import osgeo_utils.samples.validate_gpkg"]
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


@pytest.mark.skipif(not _has_validator(), reason="the validator is not installed (Debian: python3-gdal)")
def test_validator_finds_nothing(written):
    names = ("PROJ_DATA", "PROJ_LIB", "GDAL_DATA")
    clean = {key: value for key, value in os.environ.items() if key not in names}
    command = [SYSTEM_PYTHON, "-m", "osgeo_utils.samples.validate_gpkg", "-k", "--extra", written]
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=clean)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_version_and_soundness(database):
    assert database.execute("pragma application_id").fetchone() == (0x47504B47,)  # "GPKG"
    assert database.execute("pragma user_version").fetchone() == (10300,)
    assert database.execute("pragma integrity_check").fetchall() == [("ok",)]
    assert database.execute("pragma foreign_key_check").fetchall() == []
    assert database.execute("pragma journal_mode").fetchone() == ("delete",)


def test_layers_have_the_declared_geometry_and_columns(database):
    types = dict(database.execute("select table_name, geometry_type_name || z from gpkg_geometry_columns"))
    wanted = {name: LAYERS_BY_NAME[name].geometry[0].upper() for name in SPATIAL}
    assert types == {
        name: f"{text.removesuffix(' Z')}{int(text.endswith(' Z'))}" for name, text in wanted.items()
    }
    for layer in RESULT_LAYERS:
        columns = [row[1] for row in database.execute(f'pragma table_info("{layer.name}")')]
        assert [name for name in columns if name not in ("fid", "geom")] == list(layer.column_names)


def test_columns_that_nothing_fills_are_null_numbers(database):
    query = "select count(*), count(thrust_kN), count(pull_in_utilisation) from drives"
    assert database.execute(query).fetchone() == (4, 0, 0)
    types = {row[1]: row[2] for row in database.execute("pragma table_info(drives)")}
    assert types["thrust_kN"] == "REAL"
    assert types["bores"] == "INTEGER"


def test_values_come_back(written):
    shafts = pyogrio.read_dataframe(written, layer="shafts")
    assert shafts.shaft_id.tolist() == [f"west-H00{n}" for n in range(1, 7)]
    assert shafts.crs == example.METRES
    assert [point.z for point in shafts.geometry] == [20.0] * 6
    profile = pyogrio.read_dataframe(written, layer="long_section")
    assert profile.groundwater_m.tolist()[:2] == [17.0, 17.0]
    assert np.isnan(profile.groundwater_m.iloc[2])


@pytest.mark.parametrize("name", SPATIAL)
def test_style_is_stored_so_that_it_loads(database, name):
    """A GIS that looks for the default style asks for exactly these values."""
    row = database.execute(
        "select f_table_catalog, f_table_schema, f_geometry_column, useAsDefault, styleQML, styleSLD, "
        "update_time from layer_styles where f_table_name = ?",
        (name,),
    ).fetchone()
    assert row[:4] == ("", "", "geom", 1)
    assert row[4].startswith("<!DOCTYPE qgis")
    assert row[5].startswith("<?xml")
    assert row[6] == "2026-03-01T12:00:00.000Z"  # GeoPackage 1.3, table 1: DATETIME [memory]


def test_style_table_is_registered_among_the_contents(database):
    query = "select data_type from gpkg_contents where table_name = 'layer_styles'"
    assert database.execute(query).fetchall() == [("attributes",)]
    named = {name for (name,) in database.execute("select f_table_name from layer_styles")}
    written = {name for (name,) in database.execute("select table_name from gpkg_contents")}
    assert named == written - {"layer_styles"}


def test_tables_carry_their_headings(database):
    query = "select f_geometry_column, styleQML from layer_styles where f_table_name = 'bill'"
    column, qml = database.execute(query).fetchone()
    assert column == ""
    assert 'field="rate_eur" index=' in qml


def test_columns_are_described(database):
    query = (
        "select title, description, constraint_name from gpkg_data_columns "
        "where table_name || '.' || column_name = ?"
    )
    assert database.execute(query, ("shafts.depth_m",)).fetchone() == (
        "Depth (m)",
        "Ground less bore invert plus sump, rounded up to the depth step. [m]",
        None,
    )
    assert database.execute(query, ("drives.status",)).fetchone()[2] == "drives_status"
    query = "select value from gpkg_data_column_constraints where constraint_name = ? order by rowid"
    assert database.execute(query, ("drives_status",)).fetchall() == [
        ("pass",),
        ("amber",),
        ("fail",),
        ("not_evaluated",),
    ]
    (count,) = database.execute("select count(*) from gpkg_data_columns").fetchone()
    assert count == sum(len(layer.columns) for layer in RESULT_LAYERS)


def test_same_tables_give_the_same_bytes(written, tmp_path):
    again = tmp_path / "again.gpkg"
    _write(again)
    assert again.read_bytes() == written.read_bytes()


def test_time_of_change_is_the_runs(database):
    times = {row[0] for row in database.execute("select last_change from gpkg_contents")}
    assert times == {"2026-03-01T12:00:00.000Z"}


NAMES = {
    "quotes": "O'Neill's \"Upper\" Mill; DROP TABLE bill;--",
    "markup": "<script>alert('x')</script> & ]]> <!-- -->",
    "long": "x" * 500,
    "signs": "Größe Łódź 河 🚧 line\nbreak\ttab",
    "empty": "",
}


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES.keys())
def test_any_name_survives(tmp_path, name):
    odd = dataclasses.replace(
        example.corridor(), crossings=example.crossings().assign(name=name, feature_id=name)
    )
    path = tmp_path / "screened.gpkg"
    _write(path, result_tables([odd], example.METRES))
    back = pyogrio.read_dataframe(path, layer="crossing_schedule")
    assert back.name.tolist() == [name] * 6
    assert back.feature_id.tolist() == [name] * 6


def test_corridor_id_with_quotes(tmp_path):
    path = tmp_path / "screened.gpkg"
    _write(path, example.tables("a'b\"c"))
    assert pyogrio.read_dataframe(path, layer="bores").bore_id.iloc[0] == "a'b\"c-D001-B1"


def test_empty_layers_are_typed(tmp_path):
    path = tmp_path / "screened.gpkg"
    tables = {name: table.iloc[:0] for name, table in example.tables().items()}
    _write(path, tables)
    assert pyogrio.read_info(path, layer="drives")["geometry_type"] == "LineString Z"
    assert pyogrio.read_info(path, layer="bill")["features"] == 0


# --- all or nothing


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "screened.gpkg").write_bytes(b"the last good file")
    return tmp_path


def _is_untouched(folder):
    kept = (folder / "screened.gpkg").read_bytes() == b"the last good file"
    return kept and [path.name for path in folder.iterdir()] == ["screened.gpkg"]


def test_replaces_the_old_file_and_leaves_nothing_beside_it(folder):
    with (folder / "screened.gpkg").open("rb") as reader:
        _write(folder / "screened.gpkg")
        assert reader.read() == b"the last good file"
    assert [path.name for path in folder.iterdir()] == ["screened.gpkg"]
    assert pyogrio.read_info(folder / "screened.gpkg", layer="bill")["features"] == 6


@pytest.mark.parametrize(
    ("step", "fault"),
    [
        pytest.param("_write_styles", KeyboardInterrupt(), id="interrupted"),
        pytest.param("describe_columns", RuntimeError("fault"), id="fault-of-ours"),
    ],
)
def test_whatever_happens_the_last_good_file_stays(folder, monkeypatch, step, fault):
    def fail(*_):
        raise fault

    monkeypatch.setattr(geopackage, step, fail)
    with pytest.raises(type(fault)):
        _write(folder / "screened.gpkg")
    assert _is_untouched(folder)


@pytest.mark.parametrize(
    "fault",
    [OSError(28, "No space left on device"), sqlite3.OperationalError("database or disk is full")],
    ids=["system", "database"],
)
def test_fault_while_writing_is_an_output_error(folder, monkeypatch, fault):
    def fail(*_):
        raise fault

    monkeypatch.setattr(geopackage, "describe_columns", fail)
    with pytest.raises(OutputError, match=r"screened\.gpkg.*(space|full)") as caught:
        _write(folder / "screened.gpkg")
    assert caught.value.exit_code == 6
    assert _is_untouched(folder)


@pytest.mark.skipif(sys.platform == "win32", reason="the limit on file sizes is a Unix one")
@pytest.mark.parametrize("limit_bytes", [60_000, 200_000, 350_000])
def test_no_more_space(folder, limit_bytes):
    """The system itself refuses to let the file grow, early, halfway and at the very end."""
    resource = importlib.import_module("resource")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit_bytes, before[1]))
    try:
        with pytest.raises(OutputError) as caught:
            _write(folder / "screened.gpkg")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert caught.value.exit_code == 6
    assert _is_untouched(folder)


def test_rows_that_went_missing_are_noticed(folder, monkeypatch):
    write_layer = geopackage._write_layer

    def lose_a_row(layer, table, path, *, is_first):
        write_layer(layer, table.iloc[1:], path, is_first=is_first)

    monkeypatch.setattr(geopackage, "_write_layer", lose_a_row)
    with pytest.raises(OutputError, match="alignment has 0 rows instead of 1"):
        _write(folder / "screened.gpkg")
    assert _is_untouched(folder)


def test_breach_of_the_schema_writes_nothing(folder):
    tables = example.tables()
    tables["shafts"] = tables["shafts"].assign(depth_m=-1.0)
    with pytest.raises(ResultFaultError, match="depth_m"):
        _write(folder / "screened.gpkg", tables)
    assert _is_untouched(folder)


@pytest.mark.parametrize("ending", ["-wal", "-shm", "-journal"])
def test_file_that_a_gis_has_open_is_refused(folder, ending):
    (folder / f"screened.gpkg{ending}").write_bytes(b"x")
    with pytest.raises(OutputError, match="Close that program"):
        _write(folder / "screened.gpkg")
    assert (folder / "screened.gpkg").read_bytes() == b"the last good file"
    assert (folder / f"screened.gpkg{ending}").exists()


def test_folder_below_a_file(folder):
    with pytest.raises(OutputError, match=r"Not a directory|File exists"):
        _write(folder / "screened.gpkg" / "deeper" / "screened.gpkg")
    assert _is_untouched(folder)


def test_folder_in_the_place_of_the_file(tmp_path):
    (tmp_path / "screened.gpkg").mkdir()
    with pytest.raises(OutputError, match="folder of that name"):
        _write(tmp_path / "screened.gpkg")


@pytest.mark.skipif(sys.platform != "linux", reason="the place that lets nobody write is Linux's")
def test_place_where_nobody_may_write():
    with pytest.raises(OutputError) as caught:
        _write(Path("/proc/results/screened.gpkg"))
    assert caught.value.problems[0].file == "/proc/results/screened.gpkg"


@HAS_MODES
def test_folder_closed_to_writing():
    with closed_folder("screened.gpkg") as folder:
        with pytest.raises(OutputError, match="can't be written to"):
            _write(folder / "screened.gpkg")
        assert (folder / "screened.gpkg").read_text() == "the last good one"
        assert [path.name for path in folder.iterdir()] == ["screened.gpkg"]


def test_folders_are_made(tmp_path):
    _write(tmp_path / "a" / "b" / "screened.gpkg")
    assert [path.name for path in (tmp_path / "a" / "b").iterdir()] == ["screened.gpkg"]
