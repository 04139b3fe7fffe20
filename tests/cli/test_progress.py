"""Progress: what a terminal shows of the share done and the time left."""

from __future__ import annotations

import json
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

import pytest

from routescreen.cli.progress import json_progress, time_left
from routescreen.job import _Share
from routescreen.screen import STAGE_SHARES

if TYPE_CHECKING:
    from collections.abc import Callable

    from click.testing import Result

    from tests.cli.conftest import Rooms


@pytest.mark.parametrize(
    ("elapsed_s", "job_frac", "expected"),
    [
        pytest.param(30.0, 0.5, "about 30 s left", id="half-done"),
        pytest.param(8.0, 0.25, "about 25 s left", id="three-quarters-left-rounded-to-five"),
        pytest.param(60.0, 0.2, "about 4 min left", id="minutes"),
        pytest.param(1.0, 0.5, "", id="too-soon"),
        pytest.param(60.0, 0.01, "", id="too-little-done"),
        pytest.param(30.0, 1.0, "about 5 s left", id="only-the-end-is-left"),
    ],
)
def test_time_left(elapsed_s: float, job_frac: float, expected: str) -> None:
    assert time_left(elapsed_s, job_frac) == expected


def test_shares_of_the_stages_sum_to_one() -> None:
    assert sum(STAGE_SHARES.values()) == pytest.approx(1.0)


def test_the_share_of_the_job_rises_and_never_falls() -> None:
    seen: list[tuple[str, float]] = []

    def show(what: str, done_frac: float, job_frac: float) -> None:
        seen.append((what, job_frac))

    share = _Share(show, "west", 1, 2)
    names = list(STAGE_SHARES)
    for name in (*names, "search", "audit"):
        share.show(name, 0.0)
        share.show(name, 0.5)
    fractions = [frac for _, frac in seen]
    assert all(before <= after for before, after in pairwise(fractions))
    assert fractions[0] >= 0.5
    assert fractions[-1] <= 1.0
    assert seen[0][0] == f"west: {names[0]}"


def _lines(*calls: tuple[float, str, float]) -> list[dict[str, object]]:
    """Return what is written of calls, each with its time [s], stage and share of the job."""
    times = iter([0.0, 0.0, *(at_s for at_s, _, _ in calls)])
    written: list[str] = []
    show = json_progress(written.append, clock=lambda: next(times))
    for _, what, job_frac in calls:
        show(what, 0.5, job_frac)
    return [json.loads(line) for line in written]


def test_json_begins_with_reading_before_anything_is_known() -> None:
    assert _lines() == [{"stage": "read input", "done_frac": 0.0, "job_frac": 0.0, "left_s": None}]


def test_json_writes_each_new_stage_at_once_and_an_old_one_seldom() -> None:
    lines = _lines((0.1, "search", 0.1), (0.2, "search", 0.2), (0.7, "search", 0.3), (0.8, "audit", 0.4))
    assert [(line["stage"], line["job_frac"]) for line in lines[1:]] == [
        ("search", 0.1),
        ("search", 0.3),  # 0.2 came 0.1 s after 0.1: too soon
        ("audit", 0.4),
    ]


def test_json_says_the_seconds_left() -> None:
    """A quarter took 10 s, so three quarters take 30."""
    assert _lines((10.0, "search", 0.25))[-1]["left_s"] == 30


def test_a_reader_that_went_away_stops_nothing() -> None:
    def write(text: str) -> None:
        raise BrokenPipeError

    json_progress(write)("search", 0.5, 0.5)


@pytest.mark.parametrize(
    ("more", "stages"),
    [
        pytest.param(
            [], ["read input", "search forward", "write results", "draw sheets"], id="for-a-program"
        ),
        pytest.param(["--quiet"], [], id="quiet-wins"),
    ],
)
def test_the_command_writes_json_lines_on_stderr(
    rooms: Rooms, invoke: Callable[..., Result], more: list[str], stages: list[str]
) -> None:
    result = invoke("run", "corridor.gpkg", "--progress", "json", *more)
    lines = [line for line in result.stderr.splitlines() if line.startswith("{")]
    # a stage that takes its time writes more than one line
    assert [stage for stage, _ in groupby(json.loads(line)["stage"] for line in lines)] == stages
    assert "{" not in result.stdout
