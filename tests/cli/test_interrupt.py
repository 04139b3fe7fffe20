"""Ctrl-C at any moment ends with one clean line, exit code 130 and no half file.

Real processes and real signals. Each prints ``ready`` from the moment that is tested.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(os.name == "nt", reason="POSIX signals")

LAST_LINE = "routescreen: interrupted; no half-written file is left."

PRELUDE = """
import sys, time
from pathlib import Path
from routescreen.cli.interrupt import Interrupt, run_in_thread
interrupt = Interrupt.installed()
def ready():
    print("ready", flush=True)
"""

ASLEEP = """
def work():
    ready()
    time.sleep(60)
run_in_thread(work)
"""

IN_MACHINE_CODE = """
import numba
@numba.njit(nogil=True)
def spin(n):
    total = 0.0
    for i in range(n):
        total += i % 7
    return total
spin(10)
def work():
    ready()
    spin(10**13)
run_in_thread(work)
"""

WHILE_LOADING = """
def work():
    ready()
    import geopandas
    time.sleep(60)
run_in_thread(work)
"""

IN_THE_MAIN_THREAD = """
ready()
while True:
    print("x" * 100, file=sys.stderr)
"""

SWALLOWING_EVERYTHING = """
def work():
    ready()
    while True:
        try:
            time.sleep(0.01)
        except BaseException:
            pass
run_in_thread(work)
"""


def _interrupted(code: str, number: int = signal.SIGINT, *, prelude: str = PRELUDE) -> tuple[int, str, str]:
    """Run code, signal it once it is ready, and return exit code, stdout after ``ready``, and stderr."""
    command = [sys.executable, "-c", prelude + code]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"ready\n"
        time.sleep(0.05)
        process.send_signal(number)
        try:
            out, err = process.communicate(timeout=10)
        except subprocess.TimeoutExpired:
            process.kill()
            raise
    return process.returncode, out.decode(), err.decode()


@pytest.mark.parametrize(
    "code",
    [ASLEEP, IN_MACHINE_CODE, WHILE_LOADING, IN_THE_MAIN_THREAD, SWALLOWING_EVERYTHING],
    ids=["waiting", "in compiled code", "while libraries load", "while printing", "in code that catches all"],
)
def test_an_interrupt_ends_at_once_with_one_clean_line(code: str) -> None:
    exit_code, _, err = _interrupted(code)
    assert exit_code == 130
    assert err.splitlines()[-1] == LAST_LINE
    assert "Traceback" not in err


def test_a_request_to_terminate_is_an_interrupt() -> None:
    exit_code, _, err = _interrupted(ASLEEP, signal.SIGTERM)
    assert (exit_code, err) == (130, f"\n{LAST_LINE}\n")


def test_clean_up_happens_even_where_one_fails(tmp_path: Path) -> None:
    half = tmp_path / "half.txt"
    half.write_text("half")
    code = f"""
interrupt.clean_up_with(lambda: Path("/no/such/file").unlink())
interrupt.clean_up_with(lambda: Path({str(half)!r}).unlink())
"""
    assert _interrupted(code + ASLEEP)[0] == 130
    assert not half.exists()


def test_the_answer_goes_to_stdout() -> None:
    code = """
import json
interrupt.answer_with(lambda: json.dumps({"exit_code": 130}))
"""
    _, out, err = _interrupted(code + ASLEEP)
    assert json.loads(out) == {"exit_code": 130}
    assert err == f"\n{LAST_LINE}\n"


def test_progress_is_wiped_before_the_line() -> None:
    _, _, err = _interrupted("interrupt.clear_line_first()\n" + ASLEEP)
    assert err == f"\r\x1b[2K\x1b[?25h{LAST_LINE}\n"


def test_nothing_interrupts_once_the_results_are_written() -> None:
    code = """
interrupt.ignore()
ready()
time.sleep(0.5)
print("whole answer")
"""
    assert _interrupted(code)[:2] == (0, "whole answer\n")


def test_what_the_thread_raises_reaches_the_caller() -> None:
    from routescreen.cli.interrupt import run_in_thread

    def fail() -> None:
        raise KeyError("x")

    with pytest.raises(KeyError, match="x"):
        run_in_thread(fail)
    assert run_in_thread(lambda: 3) == 3
