"""The lock that holds up the end of the process, and the removal of a folder that is written to."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

import pytest

from routescreen import unfinished
from routescreen.unfinished import file_work, remove_folder, stop_file_work

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(autouse=True)
def own_lock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the process's lock out of it: once taken it is never given back."""
    monkeypatch.setattr(unfinished, "_LOCK", threading.RLock())


def test_the_end_waits_for_work_that_goes_on() -> None:
    begun, done = threading.Event(), threading.Event()

    def work() -> None:
        with file_work():
            begun.set()
            done.wait(10.0)

    thread = threading.Thread(target=work)
    thread.start()
    begun.wait(10.0)
    assert not stop_file_work(timeout_s=0.05)
    done.set()
    thread.join()
    assert stop_file_work(timeout_s=0.05)


def test_no_work_begins_after_the_end_has() -> None:
    assert stop_file_work(timeout_s=0.05)
    entered = threading.Event()

    def work() -> None:
        with file_work():
            entered.set()

    threading.Thread(target=work, daemon=True).start()
    assert not entered.wait(0.1)


def test_the_end_in_the_thread_that_works_does_not_wait_for_itself() -> None:
    with file_work():
        assert stop_file_work(timeout_s=0.05)


def test_a_folder_goes_with_all_in_it(tmp_path: Path) -> None:
    (tmp_path / "a" / "b").mkdir(parents=True)
    (tmp_path / "a" / "b" / "c").write_text("x")
    assert remove_folder(tmp_path / "a")
    assert list(tmp_path.iterdir()) == []
    assert remove_folder(tmp_path / "a")  # gone is gone


def test_a_folder_goes_while_files_are_made_in_it(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    folder.mkdir()
    begun, stop = threading.Event(), threading.Event()

    def write() -> None:
        number = 0
        while not stop.is_set():
            number += 1
            try:
                (folder / str(number)).write_text("x")
            except FileNotFoundError:
                continue
            if number == 300:  # so many take a while to remove
                begun.set()

    thread = threading.Thread(target=write)
    thread.start()
    begun.wait(10.0)
    try:
        assert remove_folder(folder)
        assert list(tmp_path.iterdir()) == []
    finally:
        stop.set()
        thread.join()
