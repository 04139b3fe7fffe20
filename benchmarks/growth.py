"""How the search's time grows with length, width and the longest drive, on typical straight corridors."""

from __future__ import annotations

import numpy as np

from benchmarks.clock import timed
from benchmarks.figures import Figure
from benchmarks.joint import warm_up
from benchmarks.proof import run
from benchmarks.straight import Straight, straight_arrays

LENGTHS_KM = (50, 100, 200, 400, 800)
ROWS = (13, 26, 51, 102)
LONGEST_M = (300.0, 600.0, 1200.0)
SLOPE_MIN, SLOPE_MAX = 0.95, 1.05


def growth(*, is_quick: bool = False) -> list[Figure]:
    """Return the slopes of time over size, both as logarithms; that over length has a target."""
    warm_up()
    lengths, km = ((2, 4, 8), 2) if is_quick else (LENGTHS_KM, 20)
    over_length = _seconds([Straight(100 * length) for length in lengths])
    over_width = _seconds([Straight(100 * km, rows) for rows in ROWS])
    over_drive = _seconds([Straight(100 * km, longest_m=longest) for longest in LONGEST_M])
    figures = [Figure(f"growth_{k}_km", s, "s") for k, s in zip(lengths, over_length, strict=True)]
    figures += [Figure(f"growth_{k}_rows", s, "s") for k, s in zip(ROWS, over_width, strict=True)]
    figures += [Figure(f"growth_drives_{k:g}_m", s, "s") for k, s in zip(LONGEST_M, over_drive, strict=True)]
    slope = log_slope(lengths, over_length)
    return [
        *figures,
        Figure("growth_length_slope_least", slope, "-", None if is_quick else SLOPE_MIN),
        Figure("growth_length_slope_most", slope, "-", None if is_quick else SLOPE_MAX, is_most=True),
        Figure("growth_width_slope", log_slope(ROWS, over_width), "-"),
        Figure("growth_drive_slope", log_slope(LONGEST_M, over_drive), "-"),
    ]


def _seconds(sizes: list[Straight]) -> list[float]:
    """Return the processor time of one pass each [s]."""
    found = []
    for size in sizes:
        arrays = straight_arrays(size)
        found.append(timed(lambda arrays=arrays: run(arrays))[2])  # type: ignore[misc]
    return found


def log_slope(sizes: tuple[float, ...], seconds: list[float]) -> float:
    """Return the slope of log time over log size by least squares."""
    return float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])
