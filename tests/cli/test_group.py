"""The group of commands: help without heavy libraries, versions, usage errors."""

from __future__ import annotations

import subprocess
import sys

import pytest
from click.testing import CliRunner

from routescreen import __version__
from routescreen.cli.group import COMMANDS, group

HEAVY = (
    "numpy",
    "pandas",
    "geopandas",
    "shapely",
    "pyproj",
    "rasterio",
    "pyogrio",
    "scipy",
    "numba",
    "pydantic",
)


def _run(*arguments: str, module: str = "routescreen") -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-X", "importtime", "-m", module, *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)


@pytest.mark.parametrize(
    "arguments",
    [("--help",), *((name, "--help") for name in COMMANDS), ("--version",)],
)
def test_help_loads_no_heavy_library(arguments: tuple[str, ...]) -> None:
    done = _run(*arguments)
    loaded = {line.rsplit("|", 1)[-1].strip().split(".")[0] for line in done.stderr.splitlines()}
    assert done.returncode == 0
    assert "click" in loaded, "the list of imports was not read"
    assert loaded.isdisjoint(HEAVY)


def test_every_command_has_help_and_its_line_in_the_group() -> None:
    runner = CliRunner()
    listed = runner.invoke(group, ["--help"]).output
    for name, line in COMMANDS.items():
        shown = runner.invoke(group, [name, "--help"])
        assert shown.exit_code == 0
        assert name in listed
        assert line in " ".join(listed.split())


def test_version_is_the_package_s() -> None:
    assert CliRunner().invoke(group, ["--version"]).output == f"routescreen, version {__version__}\n"


@pytest.mark.parametrize(
    "arguments", [("fly",), ("run",), ("run", "a.gpkg", "--no-such-flag"), ("run", "a.gpkg", "b.gpkg")]
)
def test_usage_errors_end_with_2(arguments: tuple[str, ...]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "routescreen", *arguments],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 2
    assert "Error:" in done.stderr
    assert "Traceback" not in done.stderr
