"""Compiled work side by side, each in a thread of its own, open to interruption.

Room: ``search``. Knows nothing of what is done.
"""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

LOOK_S = 0.125  # how often the threads are looked at

Result = TypeVar("Result")


def run_side_by_side(
    works: Sequence[Callable[[], Result]], *, look: Callable[[], None] | None = None
) -> list[Result]:
    """Run some works, each in a thread; a fault in one is raised here once all have ended.

    Parameters
    ----------
    works : sequence of callable
    look : callable or None
        Called while they run, some times a second.

    Returns
    -------
    list
        What the works returned, in their order.
    """
    done: dict[int, Result] = {}
    failed: list[BaseException] = []

    def run(number: int) -> None:
        try:
            done[number] = works[number]()
        except BaseException as error:  # noqa: BLE001 - handed on to the caller's thread
            failed.append(error)

    threads = [threading.Thread(target=run, args=(number,), daemon=True) for number in range(len(works))]
    for thread in threads:
        thread.start()
    while any(thread.is_alive() for thread in threads):
        for thread in threads:
            thread.join(LOOK_S)
        if look is not None:
            look()
    if failed:
        raise failed[0]
    return [done[number] for number in range(len(works))]
