"""The GeoPackage schema extension: what each column means, and which values it may have.

Room: ``results``. Imports ``schema``. Tables by OGC 12-128r17, GeoPackage 1.3, annex F.9 [memory].
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.schema import LAYERS_BY_NAME, Column

if TYPE_CHECKING:
    import sqlite3

_DEFINITION = "http://www.geopackage.org/spec121/#extension_schema"

_TABLES = """
CREATE TABLE gpkg_data_columns (
  table_name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  name TEXT,
  title TEXT,
  description TEXT,
  mime_type TEXT,
  constraint_name TEXT,
  CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name),
  CONSTRAINT gdc_tn UNIQUE (table_name, name)
);
CREATE TABLE gpkg_data_column_constraints (
  constraint_name TEXT NOT NULL,
  constraint_type TEXT NOT NULL,
  value TEXT,
  min NUMERIC,
  min_is_inclusive BOOLEAN,
  max NUMERIC,
  max_is_inclusive BOOLEAN,
  description TEXT,
  CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value)
);
CREATE TABLE IF NOT EXISTS gpkg_extensions (
  table_name TEXT,
  column_name TEXT,
  extension_name TEXT NOT NULL,
  definition TEXT NOT NULL,
  scope TEXT NOT NULL,
  CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name)
);
"""


def describe_columns(database: sqlite3.Connection, names: list[str]) -> None:
    """Write title, meaning and allowed values of every column of the named layers.

    Parameters
    ----------
    database : sqlite3.Connection
        An open GeoPackage without this extension.
    names : list of str
        Result layers that stand in it.
    """
    database.execute("begin")
    for statement in _TABLES.split(";")[:-1]:
        database.execute(statement)
    columns = [(name, column) for name in names for column in LAYERS_BY_NAME[name].columns]
    database.executemany(
        "insert into gpkg_data_columns values (?, ?, ?, ?, ?, null, ?)",
        [_description(name, column) for name, column in columns],
    )
    constraints = dict.fromkeys(row for name, column in columns for row in _constraints(name, column))
    database.executemany(
        "insert into gpkg_data_column_constraints values (?, ?, ?, ?, ?, ?, ?, ?)", constraints
    )
    database.executemany(
        "insert into gpkg_extensions values (?, null, 'gpkg_schema', ?, 'read-write')",
        [(table, _DEFINITION) for table in ("gpkg_data_columns", "gpkg_data_column_constraints")],
    )
    database.execute("commit")


def _constraint_name(layer: str, column: Column) -> str | None:
    is_range = column.minimum is not None and column.maximum is not None
    return f"{layer}_{column.name}" if column.allowed or is_range else None


def _description(layer: str, column: Column) -> tuple[str | None, ...]:
    unit = f" [{column.unit}]" if column.unit else ""
    meaning = f"{column.meaning}{unit}"
    return (layer, column.name, column.name, column.label, meaning, _constraint_name(layer, column))


def _constraints(layer: str, column: Column) -> list[tuple[str | float | int | None, ...]]:
    name = _constraint_name(layer, column)
    if name is None:
        return []
    if column.allowed:
        return [
            (name, "enum", value, None, None, None, None, value.replace("_", " ")) for value in column.allowed
        ]
    return [(name, "range", None, column.minimum, 1, column.maximum, 1, column.meaning)]
