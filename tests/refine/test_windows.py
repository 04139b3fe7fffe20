"""Where a plan is parted into windows: by hand, on one row of cells 10 m long."""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from routescreen.refine.windows import Reach, Window, find_windows, parted
from routescreen.search.drive_price_kernel import Settled
from routescreen.search.solve import DriveStep, FramePlan, ShaftStep, TrenchStep
from routescreen.search.stretches import Stretch, nodes_along

LINE = Settled(True, 1.0, 4, 4, 0.0, 0.0)
NONE = np.zeros(0, np.int64)
N_FRESH = 5  # columns of 10 m: 50 m of open cut at least between two shafts
SHAFTS = Reach(20.0, 60.0)  # shafts move by 2 columns, 6 columns of open cut belong to a window


@dataclass(frozen=True)
class Way:
    """A plan of one row: lengths in columns, drives negative, and the columns inside a crossing."""

    pieces: tuple[int, ...]
    inside: tuple[int, ...] = ()

    def stretch(self) -> Stretch:
        """Lay the pieces out, open cut move by move."""
        steps: list[TrenchStep | DriveStep] = []
        shafts: list[ShaftStep] = []
        column = 0
        for piece in self.pieces:
            if piece < 0:
                end = column - piece
                steps.append(DriveStep((column, 0), (end, 0), 0, True, LINE, -10.0 * piece, NONE, NONE))
                shafts += [ShaftStep((column, 0), 0, 1, 4), ShaftStep((end, 0), 2, 0, 4)]
                column = end
            else:
                steps += [TrenchStep((column + k, 0), 0, False) for k in range(piece)]
                column += piece
        problem = SimpleNamespace(
            frame=SimpleNamespace(shape=(column + 1, 1), column_spacing_m=10.0),
            burnt=SimpleNamespace(inside_node=np.array(sorted(self.inside), np.int64)),
            arrays=SimpleNamespace(trench=SimpleNamespace(fresh_columns=N_FRESH)),
        )
        return Stretch(cast("Any", problem), FramePlan(0.0, tuple(steps), tuple(shafts)))


def columns(way: Way, reach: Reach = SHAFTS) -> list[tuple[int, int]]:
    """Return the first and the last column of each window."""
    stretch = way.stretch()
    nodes = nodes_along(stretch.plan.steps)
    return [(nodes[w.first][0], nodes[w.last][0]) for w in find_windows(stretch, reach)]


@pytest.mark.parametrize(
    ("way", "expected"),
    [
        pytest.param(Way((30,)), [], id="no drive, no window"),
        pytest.param(Way((30, -8, 30)), [(24, 44)], id="60 m of open cut on either side"),
        pytest.param(Way((3, -8, 30)), [(0, 17)], id="from the terminal where it is nearer"),
        pytest.param(Way((-8, 30)), [(0, 14)], id="the first drive leaves the terminal"),
        pytest.param(Way((30, -8)), [(24, 38)], id="the last drive ends at the terminal"),
        pytest.param(Way((30, -8, -9, 30)), [(24, 53)], id="drives that share a shaft stay together"),
        pytest.param(Way((30, -8, 30, -5, 30)), [(24, 44), (62, 79)], id="two chains, two windows"),
        # 10 columns between: 60 m on either side won't do; the middle leaves 5 to both
        pytest.param(
            Way((30, -8, 10, -5, 30)), [(24, 43), (43, 59)], id="a short run is parted in the middle"
        ),
        # both shafts may move by 2: of 8 columns 4 would be left, one less than the 5 that are asked
        pytest.param(Way((30, -8, 8, -5, 30)), [(24, 57)], id="too short a run joins both chains"),
        pytest.param(
            Way((30, -8, 9, -5, 30)), [(24, 42), (42, 58)], id="the shortest run that may be parted"
        ),
    ],
)
def test_windows_by_hand(way: Way, expected: list[tuple[int, int]]) -> None:
    assert columns(way) == expected


@pytest.mark.parametrize(
    ("inside", "expected"),
    [
        pytest.param((24, 23), [(22, 44)], id="a crossing before: the window reaches beyond it"),
        pytest.param((44, 45, 46), [(24, 47)], id="a crossing behind"),
        pytest.param(tuple(range(1, 25)), [(0, 44)], id="inside as far as the terminal"),
    ],
)
def test_no_window_begins_or_ends_inside_a_crossing(
    inside: tuple[int, ...], expected: list[tuple[int, int]]
) -> None:
    assert columns(Way((30, -8, 30), inside)) == expected


def test_chains_with_nothing_but_a_crossing_between_are_one() -> None:
    assert columns(Way((30, -8, 12, -5, 30), tuple(range(38, 51)))) == [(24, 61)]


def test_any_shaft_place_asks_for_more_open_cut_between() -> None:
    """Where shafts may move by the 5 columns that must lie between them, 15 columns part two chains.

    Each window then ends at least 7 columns from the other chain: 38 + 7 = 45 and 53 - 7 = 46.
    """
    far = Reach(None, 60.0)
    assert columns(Way((30, -8, 14, -5, 30)), far) == [(24, 63)]
    assert columns(Way((30, -8, 15, -5, 30)), far) == [(24, 45), (46, 64)]


def test_parts_make_up_the_plan_and_keep_their_shafts() -> None:
    stretch = Way((30, -8, 30, -5, -6, 30)).stretch()
    windows = find_windows(stretch, SHAFTS)
    parts = parted(stretch, windows)
    assert windows == (Window(24, 37), Window(55, 69))
    assert tuple(step for part in parts for step in part.plan.steps) == stretch.plan.steps
    assert [len(part.plan.shafts) for part in parts] == [0, 2, 0, 4, 0]
    assert [part.n_drives for part in parts] == [0, 1, 0, 2, 0]
