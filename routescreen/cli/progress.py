"""Progress on a terminal; elsewhere nothing is shown.

Room: ``cli``.
"""

from __future__ import annotations

import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

from routescreen.runlog import Progress, no_progress

if TYPE_CHECKING:
    from collections.abc import Iterator

    from routescreen.cli.interrupt import Interrupt

__all__ = ["shown_progress"]


@contextmanager
def shown_progress(interrupt: Interrupt, *, is_quiet: bool) -> Iterator[Progress]:
    """Give a function that shows what is being done and the share that is done.

    The bars go to stderr, only if that is a terminal and `is_quiet` is false, and vanish at the end.
    """
    if is_quiet or not sys.stderr.isatty():
        yield no_progress
        return
    from rich.console import Console
    from rich.progress import BarColumn, TaskID, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bars

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    tasks: dict[str, TaskID] = {}
    with Bars(*columns, console=Console(stderr=True), transient=True) as bars:
        interrupt.clear_line_first()

        def show(what: str, done_frac: float) -> None:
            if what not in tasks:
                tasks[what] = bars.add_task(what, total=1.0)
            bars.update(tasks[what], completed=done_frac)

        yield show
