"""The end of the process while another thread works on files: nothing is left, no half set of files.

Each script replaces a room of the job by one that writes at the worst moment: when the clean-up has
already looked, without a pause while it removes, or between two files that belong together.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(os.name == "nt", reason="POSIX signals")

ROOT = Path(__file__).parents[2]
LAST_LINE = "routescreen: interrupted; no half-written file is left."
OLD = "the last good one"

# `removed` is set when the clean-up is done; the process then stays for half a second, in which whoever
# waited for it has its chance.
PRELUDE = """
import os, signal, sys, threading, time
from pathlib import Path
from routescreen import job
from routescreen.cli import job_runner, main
from routescreen.inputs.texts import scratch_folder
from routescreen.results import files
from tests.cli.conftest import Rooms
rooms = Rooms()
job.read_inputs, job.screen_corridor = rooms.read_inputs, rooms.screen_corridor
job.reckon_effort = rooms.reckon_effort
removed = threading.Event()
remove = job_runner.remove_unfinished
def remove_and_wait(folder, *, had_folder):
    remove(folder, had_folder=had_folder)
    removed.set()
    time.sleep(0.5)
job_runner.remove_unfinished = remove_and_wait
def interrupt():
    os.kill(os.getpid(), signal.SIGINT)
def write_on(folder):
    for number in range(10**9):
        if number == 300:  # so many take a while to remove
            interrupt()
        try:
            (folder / str(number)).write_text("x")
        except FileNotFoundError:
            pass
"""
MAIN = "\nsys.exit(main(sys.argv[1:]))\n"

SCRATCH_LATE = """
def read_inputs(sources, assumptions):
    interrupt()
    removed.wait()
    with scratch_folder() as folder:
        (folder / "late").write_text("x")
        time.sleep(60)
job.read_inputs = read_inputs
"""
SCRATCH_BUSY = """
def read_inputs(sources, assumptions):
    with scratch_folder() as folder:
        write_on(folder)
job.read_inputs = read_inputs
"""
RESULT_LATE = """
def write_results(sound, breached, crs, folder, **rest):
    interrupt()
    removed.wait()
    with files.replacing(folder / "plan.json") as temporary:
        temporary.write_text("x")
        time.sleep(60)
job.write_results = write_results
"""
RESULT_BUSY = """
def write_results(sound, breached, crs, folder, **rest):
    with files.replacing(folder / "plan.json") as temporary:
        write_on(temporary.parent)
job.write_results = write_results
"""
# As the job's thread puts the third file of the set in place.
BETWEEN_FILES = """
synced, sync = [], files._sync
def slow_sync(path):
    synced.append(path)
    if len(synced) == 3:
        interrupt()
        time.sleep(0.5)
    sync(path)
files._sync = slow_sync
"""


def _run(code: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the command with its rooms replaced; scratch folders go beside the results folder."""
    scratch = folder.parent / "scratch"
    scratch.mkdir()
    return subprocess.run(
        [sys.executable, "-c", PRELUDE + code + MAIN, "run", "corridor.gpkg", "-o", str(folder)],
        cwd=ROOT,
        env={**os.environ, "TMPDIR": str(scratch)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def _left(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*"))


@pytest.mark.parametrize(
    "code",
    [SCRATCH_LATE, SCRATCH_BUSY, RESULT_LATE, RESULT_BUSY],
    ids=["copies begun late", "copies without a pause", "a result begun late", "a result without a pause"],
)
def test_nothing_is_left_by_a_thread_that_writes(tmp_path: Path, code: str) -> None:
    folder = tmp_path / "out"
    done = _run(code, folder)
    assert (done.returncode, done.stderr.splitlines()[-1:]) == (130, [LAST_LINE])
    assert _left(tmp_path) == ["scratch"]


@pytest.mark.parametrize("code", [RESULT_LATE, RESULT_BUSY], ids=["begun late", "without a pause"])
def test_the_last_good_results_stay(tmp_path: Path, code: str) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "plan.json").write_text(OLD)
    assert _run(code, folder).returncode == 130
    assert _left(tmp_path) == ["out", "out/plan.json", "scratch"]
    assert (folder / "plan.json").read_text() == OLD


def test_files_that_belong_together_are_put_in_place_together(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    (folder / "styles").mkdir(parents=True)
    names = ["bill.csv", "plan.json", "screened.gpkg", "styles/alignment.sld"]
    for name in names:
        (folder / name).write_text(OLD)
    done = _run(BETWEEN_FILES, folder)
    assert (done.returncode, done.stderr.splitlines()[-1:]) == (130, [LAST_LINE])
    assert {(folder / name).read_bytes() == OLD.encode() for name in names} == {False}
    assert not [name for name in _left(tmp_path) if ".tmp" in name]


def test_a_second_interrupt_is_no_second_end(tmp_path: Path) -> None:
    code = SCRATCH_LATE + "\njob_runner.remove_unfinished = lambda *a, **k: (interrupt(), time.sleep(0.3))\n"
    done = _run(code, tmp_path / "out")
    assert (done.returncode, done.stderr.count(LAST_LINE)) == (130, 1)
