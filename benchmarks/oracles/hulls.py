"""The lower hull of points by its definition: all chords, no hull built."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

NEAR_M = 1e-9


def lower_hull_slope(
    x_m: NDArray[np.float64] | tuple[float, ...], v_m: NDArray[np.float64] | tuple[float, ...], at_m: float
) -> float:
    """Return the slope of the lower hull at a place, by comparing all chords; no hull is built.

    The hull's height at a place is the lowest of all chords that span it. At a vertex the mean of
    both sides' slopes is returned.
    """
    points = list(zip(x_m, v_m, strict=True))
    near = NEAR_M * max(1.0, at_m)
    left = [p for p in points if p[0] < at_m - near]
    right = [p for p in points if p[0] > at_m + near]
    here = [p for p in points if abs(p[0] - at_m) <= near]

    def slope(p: tuple[float, float], q: tuple[float, float]) -> float:
        return (q[1] - p[1]) / (q[0] - p[0])

    chords = [(p[1] + slope(p, q) * (at_m - p[0]), slope(p, q)) for p in left for q in right]
    lowest = min(chords, default=(math.inf, 0.0))
    if not here or here[0][1] > lowest[0]:
        return lowest[1]
    before = max((slope(p, here[0]) for p in left), default=None)
    after = min((slope(here[0], q) for q in right), default=None)
    sides = [side for side in (before, after) if side is not None]
    return sum(sides) / len(sides)
