"""Times of a call: wall and processor, the median of several runs, after one that is not counted."""

from __future__ import annotations

import statistics
import time
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable

Value = TypeVar("Value")


def timed(call: Callable[[], Value], *, n_runs: int = 1) -> tuple[Value, float, float]:
    """Return the value of the last of some runs, the median wall and the median processor time [s]."""
    walls, processors = [], []
    for _ in range(n_runs):
        wall, processor = time.perf_counter(), time.process_time()
        value = call()
        walls.append(time.perf_counter() - wall)
        processors.append(time.process_time() - processor)
    return value, statistics.median(walls), statistics.median(processors)
