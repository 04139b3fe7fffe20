"""What follows from the assumptions alone is worked out once a run, not once a frame.

Room: ``assumptions``. A plan is found on one frame and refined on many small ones, all with the same
assumptions.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from functools import wraps
from typing import TYPE_CHECKING, Concatenate, ParamSpec, TypeVar

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from routescreen.assumptions import Assumptions

Rest = ParamSpec("Rest")
Answer = TypeVar("Answer")

MOST_KEPT = 4  # some works go to and fro between the run's assumptions and those changed for a part of it


def once_per_assumptions(
    work_out: Callable[Concatenate[Assumptions, Rest], Answer],
) -> Callable[Concatenate[Assumptions, Rest], Answer]:
    """Keep what a function finds for the few assumptions that it was last asked with.

    Parameters
    ----------
    work_out : callable
        Of assumptions and hashable values. Arrays in its answer are marked as not to be written on: all
        frames share them.

    Returns
    -------
    callable
        The same, which looks up what it has been asked before. Assumptions are told by identity (they are
        frozen); one more than `MOST_KEPT` drops all that was kept for those not asked with for longest.
    """
    kept: list[tuple[Assumptions, dict[object, Answer]]] = []

    @wraps(work_out)
    def look_up(a: Assumptions, /, *values: Rest.args, **named: Rest.kwargs) -> Answer:
        if not kept or kept[0][0] is not a:
            last = next((each for each in kept if each[0] is a), (a, {}))
            kept[:] = [last, *(each for each in kept if each[0] is not a)][:MOST_KEPT]
        found, key = kept[0][1], (values, tuple(named.items()))
        if key not in found:
            found[key] = _sealed(work_out(a, *values, **named))
        return found[key]

    return look_up


def _sealed(answer: Answer) -> Answer:
    """Return an answer, its arrays marked as not to be written on, those in tuples and dataclasses too."""
    if isinstance(answer, np.ndarray):
        answer.flags.writeable = False
    elif isinstance(answer, tuple):
        for part in answer:
            _sealed(part)
    elif is_dataclass(answer) and not isinstance(answer, type):
        for field in fields(answer):
            _sealed(getattr(answer, field.name))
    return answer
