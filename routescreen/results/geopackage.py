"""The results as one GeoPackage 1.3, styled and described, written all or nothing.

Room: ``results``. Imports ``errors``, ``schema`` and its own neighbours.
"""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing, contextmanager
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pandas as pd
import pyogrio
from pyogrio.errors import DataLayerError, DataSourceError

from routescreen.results.check import conform
from routescreen.results.data_columns import describe_columns
from routescreen.results.files import SIDE_FILES, output_error, replacing
from routescreen.results.styles import qml_texts, sld_texts
from routescreen.schema import LAYERS_BY_NAME, Layer

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import datetime
    from pathlib import Path

    from pyproj import CRS

    from routescreen.errors import OutputError

GEOMETRY_COLUMN = "geom"
_ALMOST_NOTHING_BYTES = 1_000_000


def write_geopackage(
    tables: Mapping[str, pd.DataFrame], crs: CRS, path: Path, *, stamp_utc: datetime
) -> None:
    """Write the result tables as one GeoPackage that opens styled.

    The file is written under a temporary name in the target folder, checked, and then put in place:
    a reader never sees half a file, and a failed run leaves the last good one. The same tables and
    stamp give the same bytes.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        The schema's result layers by name; spatial ones as GeoDataFrame.
    crs : CRS
        Projected coordinate reference system of every spatial layer.
    path : Path
        Target, ending in ``.gpkg``.
    stamp_utc : datetime
        Time of the run with its time zone, kept as the time of last change.

    Raises
    ------
    ResultFaultError
        If a table breaks the schema; nothing is written.
    OutputError
        If the file can't be written or the disk is full; the last good file stays.
    """
    ready = conform(tables, crs)
    with replacing(path) as temporary:
        fill_geopackage(ready, temporary, path, stamp_utc=stamp_utc)


def fill_geopackage(
    ready: Mapping[str, pd.DataFrame], temporary: Path, path: Path, *, stamp_utc: datetime
) -> None:
    """Write tables that conform to the schema under a temporary name and see that all arrived.

    Parameters
    ----------
    ready : mapping of str to DataFrame
        As `check.conform` returns them.
    temporary, path : Path
        The file to write, and the one it will replace, which is the one that errors name.
    stamp_utc : datetime
        Time of the run with its time zone.

    Raises
    ------
    OutputError
        If the file can't be written or is not whole.
    """
    with as_output_error(path), time_of_change(stamp_utc):
        for number, (name, table) in enumerate(ready.items()):
            _write_layer(LAYERS_BY_NAME[name], table, temporary, is_first=number == 0)
        _write_styles(list(ready), temporary, stamp_utc)
        _finish(ready, temporary, path)


@contextmanager
def as_output_error(path: Path) -> Iterator[None]:
    """Turn what the libraries raise while writing into the error that names the file."""
    try:
        yield
    except (DataSourceError, DataLayerError, sqlite3.Error) as error:
        if shutil.disk_usage(path.parent).free < _ALMOST_NOTHING_BYTES:
            raise output_error(path, "The disk is full.", "Free some space.") from error
        remedy = "See whether the disk is full or the folder closed to writing."
        raise output_error(path, f"The GeoPackage could not be written ({error}).", remedy) from error


@contextmanager
def time_of_change(stamp_utc: datetime) -> Iterator[None]:
    """Make the library write the run's time instead of the present one."""
    option = "OGR_CURRENT_DATE"
    before = pyogrio.get_gdal_config_option(option)
    text = stamp_utc.strftime("%Y-%m-%dT%H:%M:%S.000Z")
    pyogrio.set_gdal_config_options({option: text})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({option: before})


def _write_layer(layer: Layer, table: pd.DataFrame, path: Path, *, is_first: bool) -> None:
    options: dict[str, Any] = {"layer_options": {"DESCRIPTION": layer.meaning}}
    if is_first:
        options["dataset_options"] = {"VERSION": "1.3"}
    if isinstance(table, gpd.GeoDataFrame):
        options["geometry_type"] = layer.geometry[0]
        options["promote_to_multi"] = False
        options["layer_options"] |= {"SPATIAL_INDEX": "YES", "GEOMETRY_NAME": GEOMETRY_COLUMN}
    pyogrio.write_dataframe(table, path, layer=layer.name, driver="GPKG", append=not is_first, **options)


def _write_styles(names: list[str], path: Path, stamp_utc: datetime) -> None:
    """Write the table of default styles; each value is there because a GIS asks for it.

    Catalogue and schema must be empty texts, not missing; the table must be registered among the
    contents, which writing it as a layer does; and a style without QML is not loaded on opening.
    """
    qml, sld = qml_texts(), sld_texts()
    rows = [
        {
            "f_table_catalog": "",
            "f_table_schema": "",
            "f_table_name": name,
            "f_geometry_column": GEOMETRY_COLUMN if LAYERS_BY_NAME[name].is_spatial else "",
            "styleName": name,
            "styleQML": qml[name],
            "styleSLD": sld.get(name, ""),
            "useAsDefault": True,
            "description": LAYERS_BY_NAME[name].meaning,
            "owner": "",
            "ui": None,
            "update_time": pd.Timestamp(stamp_utc),
        }
        for name in names
    ]
    pyogrio.write_dataframe(
        pd.DataFrame(rows).astype({"ui": object}),
        path,
        layer="layer_styles",
        driver="GPKG",
        append=True,
        layer_options={"FID": "id"},
    )


def _finish(tables: Mapping[str, pd.DataFrame], temporary: Path, path: Path) -> None:
    """Describe the columns, leave one file in one journal mode, and read back what was written."""
    with closing(sqlite3.connect(temporary, isolation_level=None)) as database:
        database.execute("pragma journal_mode=delete")
        describe_columns(database, list(tables))
        _require_sound(database, tables, path)
    left = [ending for ending in SIDE_FILES if temporary.with_name(temporary.name + ending).exists()]
    if left:
        raise output_error(path, f"Side files were left ({', '.join(left)}).", "Use a local folder.")


def _require_sound(database: sqlite3.Connection, tables: Mapping[str, pd.DataFrame], path: Path) -> None:
    faults = [text for (text,) in database.execute("pragma integrity_check") if text != "ok"]
    faults += [f"foreign key of {row[0]}" for row in database.execute("pragma foreign_key_check")]
    for name, table in tables.items():
        (count,) = database.execute(f'select count(*) from "{name}"').fetchone()
        if count != len(table):
            faults.append(f"{name} has {count} rows instead of {len(table)}")
    if faults:
        raise _unsound(path, faults)


def _unsound(path: Path, faults: list[str]) -> OutputError:
    return output_error(
        path, f"The file is not whole after writing ({'; '.join(faults)}).", "See whether the disk is full."
    )
