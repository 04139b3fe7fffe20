"""Opens nothing for writing and touches no side file: whether a file can be read, and its hash.

Room: ``inputs``. A GeoPackage is a SQLite database. One that another program holds open may keep its
latest changes in a file beside it; such a pair is copied and the copy is read, since reading the
original in place would write to its side files.
"""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pyogrio

if TYPE_CHECKING:
    from pathlib import Path

    from routescreen.inputs.problems import Findings

# SQLite file format, sections 1.3.1 to 1.3.7 (sqlite.org/fileformat.html): magic, page size, write
# version, in-header database size and the two counters that say whether that size holds.
_MAGIC = b"SQLite format 3\x00"
_HEADER_BYTES = 100
_WAL_VERSION = 2
_CHUNK_BYTES = 1 << 20
_COPY_ATTEMPTS = 3
# Rasters, and extracts, whose features are told apart by tags: their readers say what is wrong with them.
_WITHOUT_LAYERS = (".tif", ".tiff", ".vrt", ".asc", ".osm", ".pbf")


@dataclass(frozen=True, slots=True)
class OpenFile:
    """A file that passed the checks.

    Attributes
    ----------
    path : Path
        As the user named it.
    read_path : Path
        Where it is read: itself, or a temporary copy.
    is_geopackage : bool
    is_immutable : bool
        Read without locks and side files.
    layers, raster_tables : tuple of str
        Vector layers and raster tables in it.
    sha256 : str
    """

    path: Path
    read_path: Path
    is_geopackage: bool
    is_immutable: bool
    layers: tuple[str, ...]
    raster_tables: tuple[str, ...]
    sha256: str

    def open_options(self) -> dict[str, str]:
        """Return the options that keep the reading libraries off the side files."""
        return {"IMMUTABLE": "YES"} if self.is_immutable else {}


class _UnfitFileError(Exception):
    """A fault of a file with its remedy; never leaves this module."""

    def __init__(self, problem: str, remedy: str) -> None:
        self.problem = problem
        self.remedy = remedy
        super().__init__(problem)


class Files:
    """Checks each file once and remembers the answer.

    Parameters
    ----------
    findings : Findings
    scratch : Path
        Folder for temporary copies.
    """

    def __init__(self, findings: Findings, scratch: Path) -> None:
        self._findings = findings
        self._scratch = scratch
        self._known: dict[Path, OpenFile | None] = {}

    def open(self, path: Path) -> OpenFile | None:
        """Return the checked file; None, with the fault noted, where it can't be used."""
        if path not in self._known:
            self._known[path] = self._open(path)
        return self._known[path]

    def _open(self, path: Path) -> OpenFile | None:
        try:
            _check_readable(path)
            file = self._geopackage(path) if _is_geopackage(path) else self._other(path)
        except _UnfitFileError as fault:
            self._findings.add(fault.problem, fault.remedy, file=path)
            return None
        key = f"input_file.{path.name}.sha256"
        if key in self._findings.provenance:
            key = f"input_file.{path}.sha256"
        self._findings.provenance[key] = file.sha256
        return file

    def _other(self, path: Path) -> OpenFile:
        layers = () if path.suffix.lower() in _WITHOUT_LAYERS else _list_layers(path, self._findings)
        return OpenFile(path, path, False, False, layers, (), sha256_of(path))

    def _geopackage(self, path: Path) -> OpenFile:
        header = _read_header(path)
        is_wal = _WAL_VERSION in header[18:20]
        read_path = path
        if is_wal and _size(_beside(path, "-wal")) > 0:
            read_path, is_wal = self._settled_copy(path), False
        else:
            _check_whole(path, header)
        if _size(_beside(path, "-journal")) > 0:
            raise _UnfitFileError(
                "Another program is writing to the file, or stopped while writing.",
                "Close it there, or open and close it once in a GIS so that it is put in order.",
            )
        layers, raster_tables = _contents(read_path, is_immutable=is_wal)
        return OpenFile(path, read_path, True, is_wal, layers, raster_tables, sha256_of(path))

    def _settled_copy(self, path: Path) -> Path:
        """Copy a database and its write-ahead log while neither changes, and merge the two."""
        wal = _beside(path, "-wal")
        copy = self._scratch / f"{len(self._known)}_{path.name}"
        for _ in range(_COPY_ATTEMPTS):
            before = _stamp(path), _stamp(wal)
            shutil.copyfile(path, copy)
            shutil.copyfile(wal, _beside(copy, "-wal"))
            if before == (_stamp(path), _stamp(wal)):
                break
        else:
            raise _UnfitFileError(
                "Another program keeps writing to the file.", "Wait until it has finished, or close it there."
            )
        try:
            with closing(sqlite3.connect(copy)) as connection:
                connection.execute("PRAGMA journal_mode = DELETE").fetchall()
        except sqlite3.DatabaseError as error:
            raise _damaged(error) from error
        self._findings.warn(f"{path.name} is open in another program: read as it was saved at that moment.")
        return copy


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file, or of all files of a folder in the order of their names.

    Parameters
    ----------
    path : Path

    Returns
    -------
    str
        Hexadecimal digest.
    """
    digest = hashlib.sha256()
    parts = sorted(part for part in path.rglob("*") if part.is_file()) if path.is_dir() else [path]
    for part in parts:
        with part.open("rb") as stream:
            while chunk := stream.read(_CHUNK_BYTES):
                digest.update(chunk)
    return digest.hexdigest()


def _check_readable(path: Path) -> None:
    try:
        if path.is_dir():
            if path.suffix.lower() == ".gdb":
                return
            raise _UnfitFileError("This is a folder, not a file.", "Name a file in it.")
        with path.open("rb") as stream:
            is_empty = not stream.read(1)
    except FileNotFoundError as error:
        raise _UnfitFileError("There is no such file.", "Check the path and its spelling.") from error
    except PermissionError as error:
        raise _UnfitFileError("The file may not be read.", "Give yourself the right to read it.") from error
    except OSError as error:
        raise _UnfitFileError(
            f"The file can't be read ({error.strerror}).", "Check the disk or copy it."
        ) from error
    if is_empty:
        raise _UnfitFileError("The file is empty.", "Export or copy it again.")


def _is_geopackage(path: Path) -> bool:
    return path.suffix.lower() == ".gpkg"


def _read_header(path: Path) -> bytes:
    with path.open("rb") as stream:
        header = stream.read(_HEADER_BYTES)
    if not header.startswith(_MAGIC):
        raise _not_geopackage()
    if len(header) < _HEADER_BYTES:
        raise _truncated()
    return header


def _check_whole(path: Path, header: bytes) -> None:
    page_bytes = int.from_bytes(header[16:18], "big")
    page_bytes = 65536 if page_bytes == 1 else page_bytes
    n_pages = int.from_bytes(header[28:32], "big")
    is_size_valid = header[24:28] == header[92:96]
    if is_size_valid and path.stat().st_size < n_pages * page_bytes:
        raise _truncated()


def _contents(path: Path, *, is_immutable: bool) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the names of the vector layers and of the raster tables."""
    flag = "immutable=1" if is_immutable else "mode=ro"
    try:
        with closing(
            sqlite3.connect(f"{path.resolve().as_uri()}?{flag}", uri=True, timeout=0.5)
        ) as connection:
            rows = connection.execute("SELECT table_name, data_type FROM gpkg_contents").fetchall()
    except sqlite3.DatabaseError as error:
        raise _database_fault(error) from error
    vectors = tuple(str(name) for name, kind in rows if kind in ("features", "attributes"))
    rasters = tuple(str(name) for name, kind in rows if kind in ("tiles", "2d-gridded-coverage"))
    return vectors, rasters


def _database_fault(error: sqlite3.DatabaseError) -> _UnfitFileError:
    text = str(error)
    if "locked" in text or "busy" in text:
        return _UnfitFileError(
            "The file is locked: another program is writing to it.",
            "Wait until it is done, or close it there.",
        )
    if "no such table" in text:
        return _not_geopackage()
    return _damaged(error)


def _list_layers(path: Path, findings: Findings) -> tuple[str, ...]:
    try:
        with findings.listening(path):
            return tuple(str(row[0]) for row in pyogrio.list_layers(path))
    except (pyogrio.errors.DataSourceError, RuntimeError) as error:
        raise _UnfitFileError(
            "No vector data can be read from the file.",
            "Give a GeoPackage, GeoJSON, FlatGeobuf, Shapefile or OpenStreetMap extract (.osm.pbf, .osm).",
        ) from error


def _not_geopackage() -> _UnfitFileError:
    return _UnfitFileError("The file is not a GeoPackage.", "Export the layers to a GeoPackage (.gpkg).")


def _truncated() -> _UnfitFileError:
    return _UnfitFileError(
        "The GeoPackage is cut off: bytes are missing at its end.", "Copy or export it again."
    )


def _damaged(error: Exception) -> _UnfitFileError:
    return _UnfitFileError(f"The GeoPackage is damaged ({error}).", "Copy or export it again.")


def _beside(path: Path, ending: str) -> Path:
    return path.with_name(path.name + ending)


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0


def _stamp(path: Path) -> tuple[int, int]:
    status = path.stat()
    return status.st_size, status.st_mtime_ns
