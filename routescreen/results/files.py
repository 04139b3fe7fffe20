"""Writing a file so that a reader sees the old one or the new one, never half of one.

Room: ``results``. Imports ``errors`` and ``unfinished``.
"""

from __future__ import annotations

import os
import shutil
from contextlib import contextmanager
from tempfile import TemporaryFile
from typing import TYPE_CHECKING

from routescreen.errors import OutputError, Problem
from routescreen.unfinished import file_work, remove_folder

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

SIDE_FILES = ("-wal", "-shm", "-journal")
_HIDDEN = ".tmp"


def output_error(path: Path, problem: str, remedy: str) -> OutputError:
    """Return the error that says which file can't be written, why and what to do."""
    fault = Problem(problem, remedy, file=str(path))
    return OutputError(f"The results can't be written: {fault}", (fault,))


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Yield a temporary path below the target folder and put that file in place if all goes well.

    The folder is made where it is missing. Whatever is raised inside, the temporary file and its side
    files go and the last good file stays. They have a hidden folder to themselves, which
    `remove_unfinished` can take away where the process ends in between.

    Parameters
    ----------
    path : Path
        The file to write.

    Yields
    ------
    Path
        Where to write it: the same name in the hidden folder.

    Raises
    ------
    OutputError
        If the folder or the file can't be written, or the disk is full.
    """
    hidden = path.parent / f".{path.name}.{os.getpid()}{_HIDDEN}"
    try:
        with file_work():
            path.parent.mkdir(parents=True, exist_ok=True)
            refuse_open_target(path)
            refuse_closed_folder(path.parent)
            shutil.rmtree(hidden, ignore_errors=True)  # of a process of the same number that was killed
            hidden.mkdir()
        yield hidden / path.name
        _sync(hidden / path.name)
        with file_work():
            (hidden / path.name).replace(path)
        _sync_folder(path.parent)
    except OSError as error:
        raise output_error(path, f"{error.strerror or error}.", _remedy(error)) from error
    finally:
        shutil.rmtree(hidden, ignore_errors=True)


def remove_unfinished(folder: Path) -> None:
    """Remove what `replacing` of this process has not put in place yet in a folder."""
    for hidden in folder.glob(f".*.{os.getpid()}{_HIDDEN}"):
        remove_folder(hidden)


def replace_text(path: Path, text: str) -> None:
    """Write a UTF-8 text as it stands, all or nothing.

    Raises
    ------
    OutputError
        If it can't be written.
    """
    with replacing(path) as temporary:
        temporary.write_bytes(text.encode())


def remove(path: Path) -> None:
    """Delete a file and a database's files beside it, as far as they exist."""
    for name in (path.name, *(path.name + ending for ending in SIDE_FILES)):
        try:
            path.with_name(name).unlink(missing_ok=True)
        except OSError:  # the folder itself is gone or closed: nothing of ours can be in it
            continue


def refuse_open_target(path: Path) -> None:
    """Refuse a database with side files: they would be replayed into the new one.

    Raises
    ------
    OutputError
        If another program has it open, or a folder stands in its place.
    """
    if path.is_dir():
        raise output_error(path, "There is a folder of that name.", "Give another results folder.")
    for ending in SIDE_FILES:
        side = path.with_name(path.name + ending)
        if side.exists():
            raise output_error(
                path,
                f"Another program has it open: {side.name} stands beside it.",
                f"Close that program; if none is running, delete {side.name}.",
            )


def refuse_closed_folder(folder: Path) -> None:
    """Refuse a folder that can't be written to; of one that is not there yet, the one above it.

    Raises
    ------
    OutputError
        If it is closed to writing or a file stands in its place.
    """
    while not folder.exists() and folder != folder.parent:
        folder = folder.parent
    if not folder.is_dir():
        raise output_error(folder, "A file stands where a folder is wanted.", "Give another results folder.")
    try:
        # what permissions promise a read-only or special file system may still refuse: try it
        with file_work(), TemporaryFile(dir=folder):
            pass
    except OSError as error:
        remedy = "Allow it, free some space, or give another folder."
        raise output_error(folder, f"The folder can't be written to ({error.strerror}).", remedy) from error


def _remedy(error: OSError) -> str:
    full = "No space left" in str(error) or "quota" in str(error)
    return "Free some space." if full else "Give a folder that can be written to, or close the file."


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":  # a folder can't be opened there
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
