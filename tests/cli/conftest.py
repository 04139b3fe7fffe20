"""The command with its reading and searching replaced by an invented corridor; the writing is real."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner, Result

from routescreen import job
from routescreen.cli.group import group
from routescreen.corridor.effort import Effort
from tests.results import example

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pyproj import CRS

    from routescreen.errors import Problem
    from routescreen.screened import ScreenedCorridor


@dataclass(frozen=True)
class Read:
    """Stands for a corridor as read."""

    corridor_id: str
    crs: CRS = example.METRES
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Screened:
    """Stands for a corridor as screened."""

    corridor: ScreenedCorridor
    frame_error_percent: float = 0.125
    breaches: tuple[Problem, ...] = ()
    warnings: tuple[str, ...] = ()


@dataclass
class Rooms:
    """What the replaced rooms do: corridors that are read, and what comes of each of them."""

    reads: list[Read] = field(default_factory=lambda: [Read("west")])
    raises_when_reading: Exception | None = None
    comes_of: dict[str, Screened | Exception] = field(default_factory=dict)
    sources: list[object] = field(default_factory=list)

    def read_inputs(self, sources: object, assumptions: object) -> tuple[Read, ...]:
        self.sources.append(sources)
        if self.raises_when_reading:
            raise self.raises_when_reading
        return tuple(self.reads)

    def reckon_effort(self, read: Read, assumptions: object) -> Effort:
        return Effort(1000.0, 5.0, 400.0)

    def screen_corridor(
        self, read: Read, assumptions: object, progress: Callable[[str, float], None]
    ) -> Screened:
        progress("search forward", 0.5)
        outcome = self.comes_of.get(read.corridor_id) or Screened(example.corridor(read.corridor_id))
        if isinstance(outcome, Exception):
            raise outcome
        return outcome


@pytest.fixture
def rooms(monkeypatch: pytest.MonkeyPatch) -> Rooms:
    replaced = Rooms()
    monkeypatch.setattr(job, "read_inputs", replaced.read_inputs)
    monkeypatch.setattr(job, "screen_corridor", replaced.screen_corridor)
    monkeypatch.setattr(job, "reckon_effort", replaced.reckon_effort)
    return replaced


@pytest.fixture
def unwritten(monkeypatch: pytest.MonkeyPatch) -> None:
    """Replace the writing too, for tests of what the command says: it takes most of a run here."""
    monkeypatch.setattr(job, "write_results", lambda *_, **__: ())


@pytest.fixture
def invoke(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Result]:
    """Run the command in an empty working directory."""
    monkeypatch.chdir(tmp_path)

    def run(*arguments: str) -> Result:
        return CliRunner().invoke(group, list(arguments))

    return run
