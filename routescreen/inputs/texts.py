"""Reads a text file that the user named; makes the folder for temporary copies.

Room: ``inputs``. Opens the user's files for reading only.
"""

from __future__ import annotations

import codecs
import os
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from routescreen.errors import InputError, Problem
from routescreen.unfinished import file_work, remove_folder

if TYPE_CHECKING:
    from collections.abc import Iterator

# Unicode's byte order marks; one shell writes UTF-16 where a command's output is sent to a file.
_MARKED = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}


def read_utf8(path: Path) -> str:
    """Return the text of a UTF-8 file, or of a UTF-16 one that begins with a byte order mark.

    Parameters
    ----------
    path : Path

    Returns
    -------
    str
        Without the mark, lines ending in a line feed.

    Raises
    ------
    InputError
        If there is no such file, it may not be read, or it is neither.
    """
    try:
        data = path.read_bytes()
        encoding = next((name for mark, name in _MARKED.items() if data.startswith(mark)), "utf-8")
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        raise _unreadable(path, "The file is not UTF-8 text.", "Save it as UTF-8.") from error
    except FileNotFoundError as error:
        raise _unreadable(path, "There is no such file.", "Check the path and its spelling.") from error
    except OSError as error:
        problem = f"The file can't be read ({error.strerror})."
        raise _unreadable(path, problem, "Give yourself the right to read it, or name a file.") from error
    return text.replace("\r\n", "\n")


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """Yield a folder for temporary copies, which goes at the end."""
    with file_work():
        folder = tempfile.TemporaryDirectory(prefix=_scratch_prefix())
    with folder as name:
        yield Path(name)


def remove_scratch_folders() -> None:
    """Remove those of this process, for its end at any moment; no file work may be going on."""
    for folder in Path(tempfile.gettempdir()).glob(f"{_scratch_prefix()}*"):
        remove_folder(folder)


def _scratch_prefix() -> str:
    return f"routescreen_{os.getpid()}_"


def _unreadable(path: Path, problem: str, remedy: str) -> InputError:
    return InputError([Problem(problem, remedy, file=str(path))])
