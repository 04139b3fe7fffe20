"""Opens a results folder, checks it against the schema, and hands over its tables.

Room: ``resultsread``. Opens files for reading only.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import geopandas as gpd
import pyogrio
from pyproj import CRS

from routescreen.errors import Problem, ResultsError
from routescreen.inputs.files import Files
from routescreen.inputs.problems import Findings
from routescreen.inputs.texts import scratch_folder
from routescreen.results.check import ResultFaultError, conform
from routescreen.resultsread.sound import faults_of
from routescreen.schema import RESULT_LAYERS, SCHEMA_VERSION, Layer

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    import pandas as pd

    from routescreen.inputs.files import OpenFile

__all__ = ["Results", "read_all", "read_results"]

SCREENED, BREACHED = "screened.gpkg", "screened_breach.gpkg"
_HALF = ".screened.gpkg.*.tmp"
_AGAIN = "Run the corridor again with this version of routescreen."
_NEWER = "Read them with the version of routescreen that wrote them, or run the corridor again with this one."
_RUN = "Name the folder that `routescreen run` wrote, or run the corridor first."


@dataclass(frozen=True, slots=True)
class Results:
    """The finished results of one run.

    Attributes
    ----------
    name : str
        The folder, or the file, as the user named it.
    is_in_breach : bool
        Whether it is the plan that the audit found in breach.
    tables : mapping of str to DataFrame
        Every layer that the schema names, in the schema's form; spatial ones as GeoDataFrame.
    crs : CRS
        Of every spatial layer.
    warnings : tuple of str
        What was noticed while reading.
    """

    name: str
    is_in_breach: bool
    tables: Mapping[str, pd.DataFrame]
    crs: CRS
    warnings: tuple[str, ...] = ()

    @property
    def corridor_ids(self) -> tuple[str, ...]:
        """Names of the corridors, in their order."""
        return tuple(str(name) for name in self.tables["alignment"]["corridor_id"])

    def of(self, corridor_id: str) -> dict[str, pd.DataFrame]:
        """Return the rows of one corridor of every table, numbered from 0."""
        return {
            name: table[table["corridor_id"] == corridor_id].reset_index(drop=True)
            for name, table in self.tables.items()
        }


def read_results(named: Path) -> Results:
    """Read a results folder.

    Parameters
    ----------
    named : Path
        The folder, or the GeoPackage in it. Where the folder holds no sound plan but one in breach, that
        one is read.

    Returns
    -------
    Results

    Raises
    ------
    ResultsError
        When the folder is missing, half written, from another version or spoilt; lists every problem.
    """
    path = _geopackage(named)
    findings = Findings()
    with scratch_folder() as scratch:
        file = Files(findings, scratch).open(path)
        if file is None:
            raise ResultsError(findings.problems)
        _require_results(file)
        _require_version(file)
        tables = _tables(file)
    ready, crs = _conforming(tables, str(path))
    faults = faults_of(ready)
    if faults:
        raise ResultsError([replace(fault, file=str(path), remedy=_AGAIN) for fault in faults])
    return Results(str(named), path.name == BREACHED, ready, crs, tuple(findings.warnings))


def _geopackage(named: Path) -> Path:
    """Return the GeoPackage that is meant."""
    if not named.exists():
        beside = named.with_name(f"{named.stem}_screened")
        hint = f" Do you mean {beside}?" if beside.is_dir() else ""
        raise _error(f"There is no such results folder.{hint}", _RUN, named)
    if not named.is_dir():
        return named
    for name in (SCREENED, BREACHED):
        if (named / name).exists():
            return named / name
    if any(named.glob(_HALF)):
        text = "The folder holds only half-written results: a run is at work on it, or was killed."
        raise _error(text, "Wait until the run has ended, or run it again.", named)
    raise _error(f"The folder holds no results: there is no {SCREENED} in it.", _RUN, named)


def _require_results(file: OpenFile) -> None:
    """Tell a GeoPackage of another kind from results, before each layer is named as missing."""
    if "run_record" in file.layers and "alignment" in file.layers:
        return
    if "corridor" in file.layers:
        raise _error("This GeoPackage is an input, not a result.", _RUN, file.path)
    named = {layer.name for layer in RESULT_LAYERS}
    if named.isdisjoint(file.layers):
        raise _error("This GeoPackage holds no results.", _RUN, file.path)
    missing = [layer.name for layer in RESULT_LAYERS if layer.is_required and layer.name not in file.layers]
    raise ResultsError(
        [Problem("The layer is missing.", _AGAIN, file=str(file.path), layer=name) for name in missing]
    )


def _require_version(file: OpenFile) -> None:
    record = _read(file, "run_record")
    if not {"key", "value"} <= set(record.columns):
        return  # the check against the schema says it
    found = {str(value) for value in record.loc[record["key"] == "schema_version", "value"]} or {"none"}
    others = sorted(found - {SCHEMA_VERSION})
    if others:
        text = (
            f"The results are of version {', '.join(others)}; this routescreen reads version {SCHEMA_VERSION}"
        )
        is_newer = any(_numbers(version) > _numbers(SCHEMA_VERSION) for version in others)
        who = "a newer routescreen" if is_newer else "an older routescreen"
        raise _error(f"{text}: {who} wrote them.", _NEWER if is_newer else _AGAIN, file.path)


def _numbers(version: str) -> tuple[int, ...]:
    """Return the numbers of a version, none of what is no version."""
    parts = version.split(".")
    return tuple(int(part) for part in parts) if all(part.isdecimal() for part in parts) else ()


def _tables(file: OpenFile) -> dict[str, pd.DataFrame]:
    """Read every layer that the schema names and the file has; what else it holds is left alone."""
    return {
        layer.name: _known_columns(layer, _read(file, layer.name))
        for layer in RESULT_LAYERS
        if layer.name in file.layers
    }


def _known_columns(layer: Layer, table: pd.DataFrame) -> pd.DataFrame:
    """Keep what the schema names, whole numbers whole; a later build of this version may have added more."""
    geometry = [table.geometry.name] if isinstance(table, gpd.GeoDataFrame) else []
    kept = table[[name for name in (*layer.column_names, *geometry) if name in table.columns]].copy()
    for column in layer.columns:
        if column.name in kept and kept.empty:
            kept[column.name] = kept[column.name].astype(object if column.type == "text" else float)
    return kept


def _read(file: OpenFile, layer: str) -> pd.DataFrame:
    try:
        table: pd.DataFrame = pyogrio.read_dataframe(file.read_path, layer=layer, **file.open_options())
    except (RuntimeError, ValueError) as error:
        text = f"The layer can't be read ({' '.join(str(error).split())})."
        problem = Problem(text, _AGAIN, file=str(file.path), layer=layer)
        raise ResultsError([problem]) from error
    return table


def _conforming(tables: Mapping[str, pd.DataFrame], file: str) -> tuple[dict[str, pd.DataFrame], CRS]:
    """Bring the tables into the schema's form; what breaks it is the file's fault here."""
    alignment = tables["alignment"]
    own = alignment.crs if isinstance(alignment, gpd.GeoDataFrame) else None
    crs = CRS.from_user_input(own) if own is not None else CRS.from_epsg(3857)
    try:
        ready = conform(tables, crs)
    except ResultFaultError as error:
        told = [replace(problem, file=file, remedy=_AGAIN) for problem in error.problems]
        raise ResultsError(told) from error
    if own is None:
        raise ResultsError(
            [Problem("The layer has no coordinate reference system.", _AGAIN, file=file, layer="alignment")]
        )
    return ready, crs


def _error(problem: str, remedy: str, path: Path) -> ResultsError:
    return ResultsError([Problem(problem, remedy, file=str(path))])


def read_all(named: Sequence[Path]) -> list[Results]:
    """Read several results folders.

    Raises
    ------
    ResultsError
        When any can't be used; lists the problems of all.
    """
    read: list[Results] = []
    problems: list[Problem] = []
    for path in named:
        try:
            read.append(read_results(path))
        except ResultsError as error:
            problems.extend(error.problems)
    if problems:
        raise ResultsError(problems)
    return read
