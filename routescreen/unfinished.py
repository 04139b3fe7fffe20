"""Keeps files whole where the process may end at any moment: one lock, and a folder's removal.

Room: ground floor. Imports the standard library only, and knows of no file by name.

The process may end in the main thread while another works on files. Whoever makes a folder or file that
must not be left behind, or puts in place several that belong together, does it within `file_work`. The
end first calls `stop_file_work`, after which none of that can begin, and then looks for what to remove.
"""

from __future__ import annotations

import shutil
import threading
import time
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["file_work", "remove_folder", "stop_file_work"]

# Reentrant, so that an end in the very thread that holds it doesn't wait for itself.
_LOCK = threading.RLock()
_STOP_S = 10.0
_REMOVE_S = 2.0
_AGAIN_S = 0.01


@contextmanager
def file_work() -> Iterator[None]:
    """Hold up the end of the process until the block is done; wait for ever once the end has begun."""
    with _LOCK:
        yield


def stop_file_work(*, timeout_s: float = _STOP_S) -> bool:
    """Wait for work on files to be done and let none begin again, for the rest of the process.

    Parameters
    ----------
    timeout_s : float
        How long to wait at most [s].

    Returns
    -------
    bool
        False where the work was not done in time.
    """
    return _LOCK.acquire(timeout=timeout_s)


def remove_folder(folder: Path, *, timeout_s: float = _REMOVE_S) -> bool:
    """Remove a folder into which another thread may still be writing.

    It is renamed first, so that a writer finds no path any more; what was being made at that moment is
    caught by looking again.

    Parameters
    ----------
    folder : Path
    timeout_s : float
        How long to look again at most [s].

    Returns
    -------
    bool
        Whether it is gone.
    """
    aside = folder.with_name(f"{folder.name}_gone")
    until_s = time.monotonic() + timeout_s
    while True:
        with suppress(OSError):  # where a file in it is open, some systems refuse until it is closed
            folder.rename(aside)
        for path in (aside, folder):
            shutil.rmtree(path, ignore_errors=True)
        if not aside.exists() and not folder.exists():
            return True
        if time.monotonic() > until_s:
            return False
        time.sleep(_AGAIN_S)
