"""Reads a text file that the user named; names the folder for temporary copies.

Room: ``inputs``. Opens files for reading only.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from routescreen.errors import InputError, Problem

if TYPE_CHECKING:
    from pathlib import Path


def read_utf8(path: Path) -> str:
    """Return the text of a UTF-8 file.

    Parameters
    ----------
    path : Path

    Returns
    -------
    str

    Raises
    ------
    InputError
        If there is no such file, it may not be read, or it is not UTF-8.
    """
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise _unreadable(path, "The file is not UTF-8 text.", "Save it as UTF-8.") from error
    except FileNotFoundError as error:
        raise _unreadable(path, "There is no such file.", "Check the path and its spelling.") from error
    except OSError as error:
        text = f"The file can't be read ({error.strerror})."
        raise _unreadable(path, text, "Give yourself the right to read it, or name a file.") from error


def scratch_prefix() -> str:
    """Return how the names of this process's folders for temporary copies begin."""
    return f"routescreen_{os.getpid()}_"


def _unreadable(path: Path, problem: str, remedy: str) -> InputError:
    return InputError([Problem(problem, remedy, file=str(path))])
