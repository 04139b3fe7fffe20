"""Debian's desktop GIS without a screen, where it is installed: its Python is the system's, not this one."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
GIS_PYTHON = Path("/usr/bin/python3")
_LOOK = "import importlib.util, sys; sys.exit(importlib.util.find_spec('qgis') is None)"


def _has_gis() -> bool:
    if not GIS_PYTHON.exists():
        return False
    return subprocess.run([GIS_PYTHON, "-c", _LOOK], check=False, capture_output=True).returncode == 0


needs_gis = pytest.mark.skipif(not _has_gis(), reason="no desktop GIS for the system's Python (python3-qgis)")


def run_in_gis(script: str, *arguments: str, folder: Path) -> str:
    """Run a script of this repository with the GIS's Python and return what it printed; it must succeed."""
    own = {"PROJ_DATA", "PROJ_LIB", "GDAL_DATA", "PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV"}
    runtime = folder / ".runtime"
    runtime.mkdir(mode=0o700, exist_ok=True)
    settings = {
        **{key: value for key, value in os.environ.items() if key not in own},
        "QT_QPA_PLATFORM": "offscreen",
        "XDG_RUNTIME_DIR": str(runtime),
        "HOME": str(runtime),  # the GIS keeps its settings there
    }
    done = subprocess.run(
        [GIS_PYTHON, ROOT / script, *arguments],
        check=False,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=settings,
        timeout=300,
    )
    assert done.returncode == 0, f"code {done.returncode}: {done.stdout[-1000:]}{done.stderr[-3000:]}"
    return done.stdout
