"""Where texts may stand: none over another, none beyond its frame.

Room: ``sheets``. Rectangles of any direction; two touch where no side of either parts them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.sheets.lettering import corners_mm

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from routescreen.sheets.marks import Box, Text

    Array = NDArray[np.float64]

GAP_MM = 0.4  # between two texts


class Places:
    """The room of one picture, and what stands in it already."""

    def __init__(self, room: Box) -> None:
        self._room = room
        self._taken = np.empty((0, 4, 2))

    def take(self, corners: Array) -> None:
        """Keep a rectangle free, corners of shape (4, 2) in order [mm]."""
        self._taken = np.concatenate([self._taken, corners[None]])

    def is_free(self, corners: Array) -> bool:
        """Return whether a rectangle lies within the room and clear of all that is taken."""
        low, high = corners.min(axis=0), corners.max(axis=0)
        room = self._room
        if low[0] < room.left or low[1] < room.bottom or high[0] > room.right or high[1] > room.top:
            return False
        if not len(self._taken):
            return True
        near = np.all(self._taken.min(axis=1) < high + GAP_MM, axis=1)
        near &= np.all(self._taken.max(axis=1) > low - GAP_MM, axis=1)
        return not np.any(_touch(corners, self._taken[near]))

    def put(self, candidates: Iterable[Text]) -> Text | None:
        """Take and return the first text that finds room, or None."""
        for text in candidates:
            corners = corners_mm(text)
            if self.is_free(corners):
                self.take(corners)
                return text
        return None


def _touch(own: Array, others: Array) -> NDArray[np.bool_]:
    """Return which of n rectangles come nearer to one than the gap."""
    apart = np.zeros(len(others), dtype=np.bool_)
    for axes in (_axes(own)[None].repeat(len(others), axis=0), _axes(others)):
        ours = np.einsum("kd,nad->nak", own, axes)
        theirs = np.einsum("nkd,nad->nak", others, axes)
        gap = np.maximum(theirs.min(axis=2) - ours.max(axis=2), ours.min(axis=2) - theirs.max(axis=2))
        apart |= np.any(gap >= GAP_MM, axis=1)
    return ~apart


def _axes(corners: Array) -> Array:
    """Return the two directions of rectangles, of shape (.., 2, 2)."""
    sides = np.stack([corners[..., 1, :] - corners[..., 0, :], corners[..., 3, :] - corners[..., 0, :]], -2)
    return np.asarray(sides / np.maximum(np.linalg.norm(sides, axis=-1, keepdims=True), 1e-12))


def spread(wanted_mm: Sequence[float], low_mm: float, high_mm: float, pitch_mm: float) -> list[float] | None:
    """Move places on a line as little as needed to stand a pitch apart between two ends.

    Parameters
    ----------
    wanted_mm : sequence of float
        In rising order [mm].
    low_mm, high_mm, pitch_mm : float

    Returns
    -------
    list of float or None
        None where there is not room for all [mm].

    Notes
    -----
    Least squares under the order: neighbours that crowd are pooled and share the mean of what they want.

    Examples
    --------
    >>> spread([10.0, 10.0, 30.0], 0.0, 40.0, 3.0)
    [8.5, 11.5, 30.0]
    """
    n = len(wanted_mm)
    if n and (n - 1) * pitch_mm > high_mm - low_mm + 1e-9:
        return None
    # with the pitch taken off, "a pitch apart" is "not falling"
    high_start = high_mm - (n - 1) * pitch_mm
    pools: list[list[float]] = []
    for number, value in enumerate(wanted_mm):
        pools.append([min(max(value - number * pitch_mm, low_mm), max(high_start, low_mm)), 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            mean, count = pools.pop()
            before, count_before = pools[-1]
            total = count + count_before
            pools[-1] = [(mean * count + before * count_before) / total, total]
    starts = [mean for mean, count in pools for _ in range(int(count))]
    return [start + number * pitch_mm for number, start in enumerate(starts)]
