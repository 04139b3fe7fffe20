"""Progress: what a terminal shows of the share done and the time left."""

from __future__ import annotations

from itertools import pairwise

import pytest

from routescreen.cli.progress import time_left
from routescreen.job import _Share
from routescreen.screen import STAGE_SHARES


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
