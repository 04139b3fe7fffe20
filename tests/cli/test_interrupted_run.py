"""The whole command interrupted at each stage: code 130, no half file, the last good ones left."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(os.name == "nt", reason="POSIX signals")

ROOT = Path(__file__).parents[2]
CORRIDOR = ROOT / "tests" / "data" / "line_corridor" / "corridor.gpkg"
LAST_LINE = "routescreen: interrupted; no half-written file is left."
OLD = "the last good one"


# The whole command with the example's plan in place of a search.
SEARCH_REPLACED = """
import sys
from routescreen import job
from routescreen.cli import main
from tests.cli.conftest import Rooms
rooms = Rooms()
job.read_inputs, job.screen_corridor = rooms.read_inputs, rooms.screen_corridor
job.reckon_effort = rooms.reckon_effort
sys.exit(main(sys.argv[1:]))
"""
WHOLE = ["-m", "routescreen"]


def _interrupted(python: list[str], folder: Path, log: Path, stage: str) -> subprocess.CompletedProcess[str]:
    """Run the command and interrupt it as soon as its log speaks of the stage.

    Temporary files go into a folder of their own beside the log, which must be empty afterwards.
    """
    scratch = log.parent / "scratch"
    scratch.mkdir()
    command = [sys.executable, *python, "run", str(CORRIDOR), "-o", str(folder), "--log", str(log)]
    with subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "TMPDIR": str(scratch)},
    ) as process:
        until = time.monotonic() + 60.0
        while process.poll() is None and time.monotonic() < until:
            if log.exists() and stage in log.read_text(encoding="utf-8"):
                process.send_signal(signal.SIGINT)
                break
            time.sleep(0.002)
        out, err = process.communicate(timeout=60)
    assert list(scratch.iterdir()) == []
    return subprocess.CompletedProcess(command, process.returncode, out, err)


@pytest.mark.parametrize("stage", ["read assumptions", "read input", "screen "])
def test_an_interrupted_run_leaves_what_was_there(tmp_path: Path, stage: str) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "bill.csv").write_text(OLD)
    done = _interrupted(WHOLE, folder, tmp_path / "run.log", stage)
    assert done.returncode == 130
    assert done.stderr.splitlines()[-1] == LAST_LINE
    assert done.stdout == ""
    assert [path.name for path in folder.iterdir()] == ["bill.csv"]
    assert (folder / "bill.csv").read_text() == OLD


def test_an_interrupt_while_writing_leaves_no_half_file(tmp_path: Path) -> None:
    done = _interrupted(["-c", SEARCH_REPLACED], tmp_path / "out", tmp_path / "run.log", "write results")
    left = [path for path in tmp_path.rglob("*") if path.name != "run.log" and path.is_file()]
    assert done.returncode in (0, 130)
    assert not [path for path in left if ".tmp" in path.name]
    if done.returncode == 130:
        assert done.stderr.splitlines()[-1] == LAST_LINE
