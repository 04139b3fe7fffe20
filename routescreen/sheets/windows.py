"""How an alignment is cut into sheets: scale, match lines, and the turn of each plan.

Room: ``sheets``. Pure numbers.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

DENOMINATORS = (100, 200, 250, 500, 1000, 2000, 2500, 5000, 10_000, 20_000, 25_000, 50_000, 100_000, 200_000)
STEEPEST = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05)


@dataclass(frozen=True, slots=True)
class Way:
    """The alignment: points (n, 2) and the chainage of each [m]."""

    xy_m: Array
    chainage_m: Array

    @classmethod
    def of(cls, xy_m: Array) -> Way:
        """Return the way along some points; those that stand on the one before are left out."""
        step = np.hypot(*np.diff(xy_m, axis=0).T)
        kept = np.concatenate([[True], step > 0.0])
        return cls(xy_m[kept], np.concatenate([[0.0], np.cumsum(step[step > 0.0])]))

    @property
    def length_m(self) -> float:
        """Its length [m]."""
        return float(self.chainage_m[-1])

    def at(self, chainage_m: Array | float) -> Array:
        """Return the points at chainages, of shape (.., 2) [m]."""
        return np.stack([np.interp(chainage_m, self.chainage_m, self.xy_m[:, k]) for k in (0, 1)], axis=-1)

    def part(self, from_m: float, to_m: float) -> Array:
        """Return the points from one chainage to another, both ends included [m]."""
        inside = self.chainage_m[(self.chainage_m > from_m) & (self.chainage_m < to_m)]
        return self.at(np.concatenate([[from_m], inside, [to_m]]))

    def heading_rad(self, chainage_m: float) -> float:
        """Return the direction at a chainage [rad]."""
        reach = max(1e-3, 1e-6 * self.length_m)
        a, b = self.at(max(chainage_m - reach, 0.0)), self.at(min(chainage_m + reach, self.length_m))
        return math.atan2(b[1] - a[1], b[0] - a[0])


@dataclass(frozen=True, slots=True)
class Paper:
    """What a plan has room for: along and across the alignment, and beyond each match line [mm]."""

    along_mm: float
    across_mm: float
    overlap_mm: float


@dataclass(frozen=True, slots=True)
class Window:
    """The part of an alignment that one sheet shows.

    Attributes
    ----------
    from_m, to_m : float
        Chainages of its match lines [m].
    shown_from_m, shown_to_m : float
        Chainages between which it is drawn, overlap included [m].
    centre_m : ndarray of shape (2,)
        What stands in the middle of the plan [m].
    heading_rad : float
        Direction that points to the right on the paper [rad].
    denominator : int
        1 m is ``1000 / denominator`` mm.
    """

    from_m: float
    to_m: float
    shown_from_m: float
    shown_to_m: float
    centre_m: Array
    heading_rad: float
    denominator: int

    @property
    def mm_per_m(self) -> float:
        """Millimetres of the paper a metre."""
        return 1000.0 / self.denominator

    def on_paper(self, xy_m: Array, middle_mm: tuple[float, float]) -> Array:
        """Return points on the paper, of shape (n, 2) [mm], the centre at `middle_mm`."""
        cos, sin = math.cos(self.heading_rad), math.sin(self.heading_rad)
        turn = np.array([[cos, -sin], [sin, cos]])
        moved = np.asarray(xy_m, dtype=np.float64)[..., :2] - self.centre_m
        return np.asarray(moved @ turn * self.mm_per_m + np.asarray(middle_mm))

    def on_ground(self, xy_mm: Array, middle_mm: tuple[float, float]) -> Array:
        """Return where points of the paper lie, of shape (n, 2) [m]."""
        cos, sin = math.cos(self.heading_rad), math.sin(self.heading_rad)
        back = np.array([[cos, sin], [-sin, cos]])
        return np.asarray((np.asarray(xy_mm) - np.asarray(middle_mm)) / self.mm_per_m @ back + self.centre_m)


def cut(way: Way, paper: Paper, denominator: int) -> list[Window]:
    """Cut a way into windows of one scale, of like length where it runs straight.

    A window ends where the paper ends along the chainage, or earlier where the alignment would leave the
    plan across.

    Returns
    -------
    list of Window
    """
    most_m = paper.along_mm * denominator / 1000.0
    even_m = way.length_m / max(math.ceil(way.length_m / most_m - 1e-9), 1)
    ends = [0.0]
    while ends[-1] < way.length_m - 1e-6:
        left_m = way.length_m - ends[-1]
        wanted_m = left_m if left_m <= even_m * (1.0 + 1e-9) else even_m
        ends.append(_reach(way, ends[-1], ends[-1] + wanted_m, paper.across_mm * denominator / 1000.0))
    return [window(way, a, b, paper, denominator) for a, b in itertools.pairwise(ends)]


def _reach(way: Way, from_m: float, to_m: float, across_m: float) -> float:
    """Return the furthest chainage to which the way stays within a breadth."""
    if _breadth_m(way, from_m, to_m) <= across_m:
        return to_m
    low, high = min(from_m + across_m, to_m), to_m  # what is no longer than the breadth is no broader
    for _ in range(30):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _breadth_m(way, from_m, middle) <= across_m else (low, middle)
    return low


def _breadth_m(way: Way, from_m: float, to_m: float) -> float:
    across = way.part(from_m, to_m) @ _left(_chord_rad(way, from_m, to_m))
    return float(across.max() - across.min())


def _left(heading_rad: float) -> Array:
    return np.array([-math.sin(heading_rad), math.cos(heading_rad)])


def _chord_rad(way: Way, from_m: float, to_m: float) -> float:
    a, b = way.at(from_m), way.at(to_m)
    if math.hypot(b[0] - a[0], b[1] - a[1]) < 1e-6:
        return way.heading_rad((from_m + to_m) / 2.0)
    return math.atan2(b[1] - a[1], b[0] - a[0])


def window(way: Way, from_m: float, to_m: float, paper: Paper, denominator: int) -> Window:
    """Return the window between two chainages, turned along its chord and centred on what it holds."""
    heading = _chord_rad(way, from_m, to_m)
    along = np.array([math.cos(heading), math.sin(heading)])
    points = way.part(from_m, to_m)
    axes = np.stack([along, _left(heading)])
    own = points @ axes.T
    centre = (own.min(axis=0) + own.max(axis=0)) / 2.0 @ axes
    beyond_m = paper.overlap_mm * denominator / 1000.0
    return Window(
        from_m,
        to_m,
        max(from_m - beyond_m, 0.0),
        min(to_m + beyond_m, way.length_m),
        centre,
        heading,
        denominator,
    )


def cut_to_number(way: Way, paper: Paper, denominator: int, n_most: int) -> list[Window]:
    """Cut a way at the scale asked for, or at the next coarser ones until there are few enough windows.

    Returns
    -------
    list of Window
        More than `n_most` only where even the coarsest scale needs them.
    """
    coarser = [step for step in DENOMINATORS if step > denominator]
    windows: list[Window] = []
    for step in (denominator, *coarser):
        if way.length_m / (paper.along_mm * step / 1000.0) > n_most and step != DENOMINATORS[-1]:
            continue
        windows = cut(way, paper, step)
        if len(windows) <= n_most:
            break
    return windows


def exaggeration(spans_m: Sequence[float], denominator: int, room_mm: float, share: float = 0.8) -> float:
    """Return the steepest exaggeration of heights with which most of some spans of level find room."""
    for times in STEEPEST:
        fits = [span_m * 1000.0 / denominator * times <= room_mm for span_m in spans_m]
        if not fits or sum(fits) >= share * len(fits):
            return times
    return STEEPEST[-1]
