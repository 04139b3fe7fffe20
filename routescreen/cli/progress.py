"""Progress on a terminal; elsewhere nothing is shown.

Room: ``cli``.
"""

from __future__ import annotations

import sys
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

from routescreen.runlog import JobProgress, no_job_progress

if TYPE_CHECKING:
    from collections.abc import Iterator

    from routescreen.cli.interrupt import Interrupt

__all__ = ["shown_progress", "time_left"]

LEAST_FRAC = 0.03  # of the job: before, nothing is said of the time left
LEAST_S = 2.0


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
    if job_frac < LEAST_FRAC or elapsed_s < LEAST_S:
        return ""
    left_s = elapsed_s * (1.0 - job_frac) / job_frac
    if left_s < 60.0:
        return f"about {max(5 * round(left_s / 5.0), 5)} s left"
    return f"about {round(left_s / 60.0)} min left"


@contextmanager
def shown_progress(interrupt: Interrupt, *, is_quiet: bool) -> Iterator[JobProgress]:
    """Give a function that shows what is being done, how much of the job is done and the time left.

    The bar goes to stderr, only if that is a terminal and `is_quiet` is false, and vanishes at the end.
    """
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
        task = bars.add_task("read input", total=1.0, left="")

        def show(what: str, done_frac: float, job_frac: float) -> None:
            share = f" {100.0 * done_frac:.0f} %" if 0.0 < done_frac < 1.0 else ""
            left = time_left(time.monotonic() - began, job_frac)
            bars.update(task, description=what + share, completed=job_frac, left=left)

        yield show
