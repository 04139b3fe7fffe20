"""Ctrl-C at any moment: a clean last line, no half file, exit code 130.

Room: ``cli``. Imports nothing of the package.

Long work runs in a thread of its own while the main thread waits, because Python handles a signal
only in the main thread and only between two steps of the interpreter, never inside compiled code.
The process then ends at once; files are safe because results are renamed into place when whole.
"""

from __future__ import annotations

import os
import signal
import threading
from concurrent.futures import Future
from contextlib import suppress
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import FrameType

__all__ = ["EXIT_INTERRUPTED", "Interrupt", "run_in_thread"]

EXIT_INTERRUPTED = 130
_LAST_LINE = b"routescreen: interrupted; no half-written file is left.\n"
_STDOUT, _STDERR = 1, 2
# A waiting main thread can't be woken by a signal on Windows, so it looks up this often [s].
_WAKE_S = 0.1

_Result = TypeVar("_Result")


class Interrupt:
    """What to do before the process ends when it is interrupted."""

    def __init__(self) -> None:
        self._cleanups: list[Callable[[], None]] = []
        self._answer: Callable[[], str] | None = None
        # The terminal shows ^C, and the interrupted code may have stopped within a line.
        self._line_ahead = b"\n"

    @classmethod
    def installed(cls) -> Interrupt:
        """Return an Interrupt that from now on answers Ctrl-C and the request to terminate."""
        interrupt = cls()
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, interrupt._end)
        return interrupt

    def clean_up_with(self, cleanup: Callable[[], None]) -> None:
        """Have `cleanup` called; its OSError is ignored."""
        self._cleanups.append(cleanup)

    def answer_with(self, answer: Callable[[], str]) -> None:
        """Have the text of `answer` printed on stdout."""
        self._answer = answer

    def clear_line_first(self) -> None:
        """Have the terminal's line with the progress wiped and its cursor shown again."""
        self._line_ahead = b"\r\x1b[2K\x1b[?25h"

    @staticmethod
    def ignore() -> None:
        """Let nothing interrupt any more: the results are written, only the answer is to be printed."""
        if threading.current_thread() is threading.main_thread():
            for number in (signal.SIGINT, signal.SIGTERM):
                signal.signal(number, signal.SIG_IGN)

    def _end(self, number: int, frame: FrameType | None) -> None:  # noqa: ARG002
        for each in (signal.SIGINT, signal.SIGTERM):  # one end is enough
            signal.signal(each, signal.SIG_IGN)
        # Only calls of the system: the interrupted code may hold the locks of print and of the progress.
        for cleanup in self._cleanups:
            with suppress(OSError):
                cleanup()
        with suppress(OSError):
            os.write(_STDERR, self._line_ahead + _LAST_LINE)
        if self._answer is not None:
            with suppress(OSError):
                os.write(_STDOUT, self._answer().encode())
        os._exit(EXIT_INTERRUPTED)


def run_in_thread(work: Callable[[], _Result]) -> _Result:
    """Run `work` in a thread, wait for it, and return its result or raise its exception."""
    future: Future[_Result] = Future()

    def run() -> None:
        try:
            future.set_result(work())
        except BaseException as error:  # noqa: BLE001 - handed over to the waiting thread, whatever it is
            future.set_exception(error)

    thread = threading.Thread(target=run, name="job", daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(_WAKE_S)
    return future.result()
