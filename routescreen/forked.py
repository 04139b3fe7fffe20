"""Long works that keep the interpreter busy, side by side in processes of their own where that is cheap.

Room: ground floor. Imports the standard library only; knows nothing of what is done.

A process is parted in two by the system (``fork``), so that each part has all that was there without a copy;
what a part finds is handed back. That is done on Linux only: elsewhere there is no such call, or libraries
that don't bear it. There, and wherever a part doesn't deliver, all is done in the process itself, with the
same results: works must not depend on one another, nor leave anything behind but what they return.
"""

from __future__ import annotations

import io
import os
import pickle
import signal
import sys
import warnings
from contextlib import suppress
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

__all__ = ["n_processes", "processor_s", "run_forked"]

MOST_PROCESSES = 4  # each takes memory for what it works on
_SIGNALS = (signal.SIGINT, signal.SIGTERM)

Result = TypeVar("Result")


def n_processes() -> int:
    """Return how many processes may work side by side, 1 where they can't be parted."""
    if not sys.platform.startswith("linux"):
        return 1
    return min(len(os.sched_getaffinity(0)), MOST_PROCESSES)


def processor_s() -> float:
    """Return the time of the processor that this process and its ended parts have taken [s]."""
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


def run_forked(
    works: Sequence[Callable[[], Result]],
    sizes: Sequence[float],
    *,
    shared: Sequence[object] = (),
    progress: Callable[[float], None] | None = None,
) -> list[Result]:
    """Run works side by side, each once.

    Parameters
    ----------
    works : sequence of callable
        What they return must be picklable.
    sizes : sequence of float
        About how long each takes, in any unit.
    shared : sequence of object
        What results may refer to and every process has already: it is handed back by its place here, and is
        the same object in what is returned.
    progress : callable or None
        Called with the share of this process's own works that is done [-].

    Returns
    -------
    list
        What the works returned, in their order.

    Raises
    ------
    Exception
        What a work raises.
    """
    shares = _shares(sizes, n_processes())
    children = [_Child.started(works, share, shared) for share in shares[1:]]
    done: dict[int, Result] = {}
    try:
        own = shares[0] if shares else []
        for number, at in enumerate(own):
            if progress is not None:
                progress(number / len(own))
            done[at] = works[at]()
        for child in children:
            if child is not None:
                done.update(child.results(shared))
    finally:
        for child in children:
            if child is not None:
                child.end()
    return [done[at] if at in done else work() for at, work in enumerate(works)]


def _shares(sizes: Sequence[float], n: int) -> list[list[int]]:
    """Return works by process, none empty: the largest first, each to whom has least; that with most first.

    Examples
    --------
    >>> _shares([1.0, 5.0, 2.0, 1.0], 2)
    [[1], [2, 0, 3]]
    """
    shares: list[list[int]] = [[] for _ in range(n)]
    loads = [0.0] * n
    for at in sorted(range(len(sizes)), key=lambda at: -sizes[at]):
        least = loads.index(min(loads))
        shares[least].append(at)
        loads[least] += sizes[at]
    by_load = sorted(range(n), key=lambda number: -loads[number])
    return [shares[number] for number in by_load if shares[number]]


class _Child:
    """A part of this process, and the end of the pipe that it writes to."""

    def __init__(self, pid: int, pipe: int) -> None:
        self._pid, self._pipe = pid, os.fdopen(pipe, "rb")

    @classmethod
    def started(
        cls, works: Sequence[Callable[[], Result]], share: Sequence[int], shared: Sequence[object]
    ) -> _Child | None:
        """Part the process; None where the system refuses."""
        parent = os.getpid()
        out, into = os.pipe()
        before = signal.pthread_sigmask(signal.SIG_BLOCK, _SIGNALS)  # a part must not answer for the whole
        try:
            with warnings.catch_warnings():
                # Threads that wait hold no lock that the works ask for; compiled ones have ended.
                warnings.simplefilter("ignore", DeprecationWarning)
                pid = os.fork()
            if pid == 0:
                _work_on(works, share, shared, into, parent)
        except OSError:
            os.close(out)
            return None
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
            os.close(into)
        return cls(pid, out)

    def results(self, shared: Sequence[object]) -> dict[int, Any]:
        """Wait for what the part has found, by number of work; what is missing it could not do."""
        found: dict[int, Any] = {}
        data = self._pipe.read()
        with suppress(EOFError, pickle.UnpicklingError):
            found = _Unpickler(io.BytesIO(data), shared).load()
        return found

    def end(self) -> None:
        """End the part, whether it is done or not."""
        self._pipe.close()
        with suppress(ProcessLookupError):
            os.kill(self._pid, signal.SIGKILL)
        with suppress(ChildProcessError):
            os.waitpid(self._pid, 0)


def _work_on(
    works: Sequence[Callable[[], Result]],
    share: Sequence[int],
    shared: Sequence[object],
    into: int,
    parent: int,
) -> NoReturn:
    """Do a share of the works in the part that was begun, and end it without a word of its own."""
    try:
        for number in _SIGNALS:
            signal.signal(number, signal.SIG_DFL)
        signal.pthread_sigmask(signal.SIG_UNBLOCK, _SIGNALS)
        found = dict(_done(works, share, parent))
        data = io.BytesIO()
        _Pickler(data, shared).dump(found)
        with os.fdopen(into, "wb") as pipe:
            pipe.write(data.getbuffer())
    finally:
        os._exit(0)  # nothing that is open may be flushed twice; faults come up again in the whole


def _done(
    works: Sequence[Callable[[], Result]], share: Sequence[int], parent: int
) -> Iterator[tuple[int, Result]]:
    for at in share:
        if os.getppid() != parent:  # nobody waits any more
            return
        yield at, works[at]()


class _Pickler(pickle.Pickler):
    """Writes shared objects as their places."""

    def __init__(self, file: io.BytesIO, shared: Sequence[object]) -> None:
        super().__init__(file, protocol=pickle.HIGHEST_PROTOCOL)
        self._places = {id(each): place for place, each in enumerate(shared)}

    def persistent_id(self, obj: object) -> int | None:
        """Return the place of a shared object."""
        return self._places.get(id(obj))


class _Unpickler(pickle.Unpickler):
    """Reads places as shared objects."""

    def __init__(self, file: io.BytesIO, shared: Sequence[object]) -> None:
        super().__init__(file)
        self._shared = shared

    def persistent_load(self, pid: int) -> object:
        """Return the shared object of a place."""
        return self._shared[pid]
