"""One decorator for all compiled functions, with a cache that can't go stale.

Room: ground floor; imports nothing of the package. numba keys its cache by the source of one file
only, so that a changed callee in another file would leave an old result behind; therefore the
cache's folder carries a hash of every source that compiled code is made from.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

import numba
from numba import config

if TYPE_CHECKING:
    from collections.abc import Callable

# Every file with a compiled function, and every file of the package that those files import.
KERNEL_SOURCES = (
    "compiled.py",
    "drives/profile.py",
    "search/arrays.py",
    "search/drive_kernel.py",
    "search/pass_kernel.py",
)

Function = TypeVar("Function", bound="Callable[..., Any]")


def _source_hash() -> str:
    digest = hashlib.sha256(numba.__version__.encode())
    root = Path(__file__).parent
    for name in KERNEL_SOURCES:
        digest.update((root / name).read_bytes())
    return digest.hexdigest()[:16]


def _cache_folder() -> str:
    """Return a writable folder for compiled code: the user's cache, else a temporary one."""
    base = os.environ.get("NUMBA_CACHE_DIR") or os.environ.get("XDG_CACHE_HOME")
    try:
        roots = [Path(base) if base else Path.home() / ".cache"]
    except RuntimeError:  # a user without a home
        roots = []
    for root in roots:
        folder = root / "routescreen" / _source_hash()
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return str(folder)
    return tempfile.mkdtemp(prefix="routescreen-")


setattr(config, "CACHE_DIR", _cache_folder())  # noqa: B010 - numba declares its settings at run time


def compiled(function: Function) -> Function:
    """Compile a function to machine code, cached on disk; it releases the interpreter lock."""
    return cast("Function", numba.njit(nogil=True, cache=True)(function))
