"""Progress: a bar on a terminal, or a JSON object a line for a program; elsewhere nothing is shown.

Room: ``cli``.
"""

from __future__ import annotations

import json
import sys
import time
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from routescreen.runlog import JobProgress, no_job_progress

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from routescreen.cli.interrupt import Interrupt

__all__ = ["BAR", "JSON", "json_progress", "shown_progress", "time_left"]

BAR, JSON = "bar", "json"  # the forms in which progress is shown

LEAST_FRAC = 0.03  # of the job: before, nothing is said of the time left
LEAST_S = 2.0
APART_S = 0.5  # between two lines of one stage
_FIRST = "read input"


def time_left(elapsed_s: float, job_frac: float) -> str:
    """Say how long the rest will take if it goes on as so far.

    Parameters
    ----------
    elapsed_s : float
        Time since the start [s].
    job_frac : float
        Share of the job that is done [-].

    Returns
    -------
    str
        Empty as long as nothing can be told.
    """
    left_s = _seconds_left(elapsed_s, job_frac)
    if left_s is None:
        return ""
    if left_s < 60.0:
        return f"about {max(5 * round(left_s / 5.0), 5)} s left"
    return f"about {round(left_s / 60.0)} min left"


def _seconds_left(elapsed_s: float, job_frac: float) -> float | None:
    if job_frac < LEAST_FRAC or elapsed_s < LEAST_S:
        return None
    return elapsed_s * (1.0 - job_frac) / job_frac


def json_progress(write: Callable[[str], object], clock: Callable[[], float] = time.monotonic) -> JobProgress:
    """Return a function that writes progress as one JSON object a line.

    A new stage is written at once, one that goes on at most every `APART_S`, so that a reader isn't flooded.

    Parameters
    ----------
    write : callable
        Takes each line with its end; an OSError of it is ignored, since nobody may be reading any more.
    clock : callable
        Returns the time since any fixed moment [s].
    """
    began = clock()
    last: tuple[str, float] = ("", began)

    def show(what: str, done_frac: float, job_frac: float) -> None:
        nonlocal last
        now = clock()
        if what == last[0] and now - last[1] < APART_S:
            return
        last = (what, now)
        left_s = _seconds_left(now - began, job_frac)
        line = {
            "stage": what,
            "done_frac": round(done_frac, 4),
            "job_frac": round(job_frac, 4),
            "left_s": None if left_s is None else round(left_s),
        }
        with suppress(OSError):
            write(json.dumps(line, ensure_ascii=True) + "\n")

    show(_FIRST, 0.0, 0.0)
    return show


def _write_stderr(text: str) -> None:
    sys.stderr.write(text)
    sys.stderr.flush()


@contextmanager
def shown_progress(interrupt: Interrupt, *, is_quiet: bool, form: str = BAR) -> Iterator[JobProgress]:
    """Give a function that shows what is being done, how much of the job is done and the time left.

    All of it goes to stderr, nothing if `is_quiet`: lines of JSON, if `form` says so, wherever stderr leads;
    else a bar, only if that is a terminal, which vanishes at the end.
    """
    if form == JSON and not is_quiet:
        yield json_progress(_write_stderr)
        return
    if is_quiet or not sys.stderr.isatty():
        yield no_job_progress
        return
    from rich.console import Console
    from rich.progress import BarColumn, TaskProgressColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bars

    began = time.monotonic()
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TaskProgressColumn(),
        TimeElapsedColumn(),
        TextColumn("{task.fields[left]}"),
    )
    with Bars(*columns, console=Console(stderr=True), transient=True) as bars:
        interrupt.clear_line_first()
        task = bars.add_task(_FIRST, total=1.0, left="")

        def show(what: str, done_frac: float, job_frac: float) -> None:
            share = f" {100.0 * done_frac:.0f} %" if 0.0 < done_frac < 1.0 else ""
            left = time_left(time.monotonic() - began, job_frac)
            bars.update(task, description=what + share, completed=job_frac, left=left)

        yield show
