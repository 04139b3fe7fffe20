"""Works in processes of their own: the same results in the same order, and none lost."""

from __future__ import annotations

import os
import signal
import sys
from functools import partial

import pytest

from routescreen import forked
from routescreen.forked import run_forked

IS_PARTED = sys.platform.startswith("linux")


@pytest.fixture
def two(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ask for two processes where they can be parted, on one core as well; elsewhere all is done in one."""
    monkeypatch.setattr(forked, "n_processes", lambda: 2 if IS_PARTED else 1)


def _square(number: int) -> tuple[int, int]:
    return number * number, os.getpid()


@pytest.mark.usefixtures("two")
def test_results_come_in_order_from_two_processes() -> None:
    found = run_forked([partial(_square, number) for number in range(5)], [1.0] * 5)
    assert [square for square, _ in found] == [0, 1, 4, 9, 16]
    assert len({process for _, process in found}) == (2 if IS_PARTED else 1)


def test_one_process_does_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(forked, "n_processes", lambda: 1)
    found = run_forked([partial(_square, number) for number in range(3)], [3.0, 1.0, 2.0])
    assert found == [(number * number, os.getpid()) for number in range(3)]


def test_no_work_at_all() -> None:
    assert run_forked([], []) == []


@pytest.mark.usefixtures("two")
def test_what_was_there_before_is_the_same_object_afterwards() -> None:
    """The second work is done elsewhere; of what it returns the first thing is shared, the other a copy."""
    shared, own = [1, 2], [1, 2]
    found = run_forked([lambda: (shared, own), lambda: (shared, own)], [2.0, 1.0], shared=[shared])
    assert found[1] == ([1, 2], [1, 2])
    assert found[1][0] is shared
    assert (found[1][1] is own) != IS_PARTED


@pytest.mark.usefixtures("two")
def test_a_part_that_ends_early_is_made_up_for() -> None:
    whole = os.getpid()

    def work(number: int) -> int:
        if number == 1 and os.getpid() != whole:
            os.kill(os.getpid(), signal.SIGKILL)
        return number

    assert run_forked([partial(work, number) for number in range(2)], [2.0, 1.0]) == [0, 1]


@pytest.mark.usefixtures("two")
@pytest.mark.parametrize("at", [0, 1])
def test_a_fault_of_a_work_is_raised_wherever_it_was_done(at: int) -> None:
    def work(number: int) -> int:
        if number == at:
            raise ValueError(f"work {number}")
        return number

    with pytest.raises(ValueError, match=f"work {at}"):
        run_forked([partial(work, number) for number in range(2)], [2.0, 1.0])
    if IS_PARTED:
        with pytest.raises(ChildProcessError):  # no part is left behind
            os.waitpid(-1, os.WNOHANG)


@pytest.mark.usefixtures("two")
def test_larger_results_than_a_pipe_holds() -> None:
    found = run_forked([lambda: b"a" * 5_000_000, lambda: b"b" * 5_000_000], [1.0, 1.0])
    assert [len(data) for data in found] == [5_000_000, 5_000_000]


@pytest.mark.usefixtures("two")
def test_the_time_of_the_parts_is_told() -> None:
    """A part that works a while adds to the time of the processor, though this process waits."""

    def busy() -> int:
        return sum(number * number for number in range(3_000_000))

    before = forked.processor_s(), os.times().user
    run_forked([int, busy], [2.0, 1.0])
    told_s, own_s = forked.processor_s() - before[0], os.times().user - before[1]
    assert told_s > own_s + 0.05 or not IS_PARTED
    assert told_s > 0.05
