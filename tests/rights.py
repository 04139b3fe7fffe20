"""Going without a superuser's rights, which no file mode stops, for tests of what may not be done."""

from __future__ import annotations

import os
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

HAS_MODES = pytest.mark.skipif(os.name != "posix", reason="file modes are those of POSIX")


@contextmanager
def as_nobody() -> Iterator[None]:
    """Go without a superuser's rights."""
    is_root = os.geteuid() == 0
    if is_root:
        os.seteuid(65_534)
    try:
        yield
    finally:
        if is_root:
            os.seteuid(0)


@contextmanager
def closed_folder(*names: str) -> Iterator[Path]:
    """Yield a folder with files of these names that may be read but not written to, and go as nobody."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for inner in names:
            (folder / inner).write_text("the last good one")
        folder.chmod(0o555)
        try:
            with as_nobody():
                yield folder
        finally:
            folder.chmod(0o700)
