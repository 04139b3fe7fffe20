"""The run log: which stage ran how long, with how much memory, and what was said on the way.

Room: beside ``errors``. Imports nothing of the package and opens no file: whoever makes a log says
where its lines go and which clock it reads.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

__all__ = [
    "JobProgress",
    "Pieces",
    "Progress",
    "RunLog",
    "Stage",
    "no_job_progress",
    "no_progress",
    "peak_memory_mb",
]

# Called by long work with what it is doing and the share of that which is done, 0 to 1 [-].
Progress = Callable[[str, float], None]

# The same with the share of the whole job that is done, 0 to 1 [-], as third.
JobProgress = Callable[[str, float, float], None]


def no_progress(what: str, done_frac: float) -> None:
    """Take a report of progress and do nothing."""


def no_job_progress(what: str, done_frac: float, job_frac: float) -> None:
    """Take a report of the whole job's progress and do nothing."""


def peak_memory_mb() -> float | None:
    """Return the most memory that this process has held [MB], None where the system doesn't tell."""
    if sys.platform == "win32":
        return None
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    # POSIX leaves the unit open: bytes on macOS, kibibytes elsewhere.
    return peak / 1e6 if sys.platform == "darwin" else peak * 1024 / 1e6


@dataclass(frozen=True, slots=True)
class Stage:
    """One finished stage of a run.

    Attributes
    ----------
    name : str
    seconds : float
        Time it took [s].
    peak_memory_mb : float or None
        Most memory held up to its end [MB].
    corridor_id : str or None
        The corridor that it worked on; None for all.
    """

    name: str
    seconds: float
    peak_memory_mb: float | None
    corridor_id: str | None = None


@dataclass(slots=True)
class RunLog:
    """Collects the stages and warnings of one run and passes each line on.

    Attributes
    ----------
    write : callable
        Takes each line of the log, without line end.
    tell : callable
        Takes what the user should know while it runs.
    clock : callable
        Returns the time since any fixed moment [s].
    memory : callable
        Returns the peak memory [MB] or None.
    stages : list of Stage
    warnings : list of str
        In the order they were given, each once.
    language : str
        In which the user is told at the end, once that is known.

    Examples
    --------
    >>> ticks = iter([0.0, 1.0, 3.5])
    >>> log = RunLog(print, clock=lambda: next(ticks), memory=lambda: 100.0)
    >>> with log.stage("read"):
    ...     pass
         1.0 s  read ...
         3.5 s  read: 2.5 s, peak memory 100 MB
    """

    write: Callable[[str], None] = field(default=lambda _: None)
    tell: Callable[[str], None] = field(default=lambda _: None)
    clock: Callable[[], float] = time.monotonic
    memory: Callable[[], float | None] = peak_memory_mb
    stages: list[Stage] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    language: str = "en"
    _start: float = field(init=False)

    def __post_init__(self) -> None:
        self._start = self.clock()

    def seconds(self) -> float:
        """Return the time since the log was made [s]."""
        return self.clock() - self._start

    def say(self, text: str) -> None:
        """Write a line with the time since the start."""
        self._line(self.seconds(), text)

    def announce(self, text: str) -> None:
        """Tell the user something while the work goes on, and write it."""
        self.say(text)
        self.tell(text)

    def warn(self, text: str) -> None:
        """Keep a warning for the user and write it."""
        if text not in self.warnings:
            self.warnings.append(text)
            self.say(f"warning: {text}")

    @contextmanager
    def stage(self, name: str, *, is_kept: bool = True) -> Iterator[None]:
        """Measure what happens inside; a stage that fails is written as such.

        Parameters
        ----------
        name : str
        is_kept : bool
            Whether `stages` gets it; one that is made up of pieces is only written.
        """
        began = self.seconds()
        self._line(began, f"{name} ...")
        outcome = "failed after "
        try:
            yield
            outcome = ""
        finally:
            ended = self.seconds()
            stage = Stage(name, ended - began, self.memory())
            if is_kept:
                self.stages.append(stage)
            memory = "" if stage.peak_memory_mb is None else f", peak memory {stage.peak_memory_mb:.0f} MB"
            self._line(ended, f"{name}: {outcome}{stage.seconds:.1f} s{memory}")

    def _line(self, seconds: float, text: str) -> None:
        self.write(f"{seconds:8.1f} s  {text}")


@dataclass(slots=True)
class Pieces:
    """Times the pieces of work on one corridor: each lasts until the next begins.

    Attributes
    ----------
    log : RunLog
        Gets a line as each piece begins for the first time, and its stages at the end. Work that is taken
        up again (the search after the audit found a breach) is added to the piece of that name.
    corridor_id : str
    """

    log: RunLog
    corridor_id: str
    _done: dict[str, Stage] = field(default_factory=dict)
    _name: str | None = None
    _began: float = 0.0

    def begin(self, name: str) -> None:
        """End the piece before and begin this one, unless it is the one at hand."""
        if name == self._name:
            return
        self._end()
        if name not in self._done:
            self.log.say(f"  {name}")
        self._name, self._began = name, self.log.seconds()

    def close(self) -> None:
        """End the last piece and hand all on to the log."""
        self._end()
        self.log.stages.extend(self._done.values())
        self._done = {}

    def _end(self) -> None:
        if self._name is None:
            return
        before = self._done.get(self._name)
        seconds = self.log.seconds() - self._began + (before.seconds if before else 0.0)
        self._done[self._name] = Stage(self._name, seconds, self.log.memory(), self.corridor_id)
        self._name = None
