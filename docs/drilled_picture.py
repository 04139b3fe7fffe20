"""Picture of a drilled bore, from its geometry alone.

Drawn by make_pictures.py. Imports the package; needs matplotlib.
"""

from __future__ import annotations

import math

import numpy as np
from matplotlib.figure import Figure

from routescreen.drives.drilled import crowns_m, half_of, run_m

LENGTH_M, START_M, RADIUS_M = 320.0, 49.8, 300.0
ENTRY, LEAVING = math.radians(12.0), math.radians(10.0)


def drilled_picture() -> Figure:
    """Draw the bore of the worked number under a river, and how it sinks."""
    figure = Figure(figsize=(10.0, 3.4), facecolor="white")
    axes = figure.subplots()
    figure.subplots_adjust(left=0.07, right=0.985, top=0.96, bottom=0.15)
    x = np.linspace(0.0, LENGTH_M, 641)
    ground = np.full(len(x), 50.0) - 3.5 * ((x > 130.0) & (x < 190.0))
    axes.fill_between(x, 30.0, ground, color="#e9e1d3", lw=0)
    axes.plot(x, ground, color="#6b5b45", lw=1.4)
    axes.fill_between(x, ground, 50.0, where=ground < 50.0, color="#a9c7dd", lw=0)
    axes.text(160.0, 48.2, "river", fontsize=8, ha="center", va="center")
    axes.plot([130.0, 190.0], [40.5, 40.5], color="#b02a30", lw=1.6)
    axes.text(160.0, 41.0, "ceiling: 6 m under the bed", fontsize=8, ha="center", color="#b02a30")
    lower, upper = half_of(START_M, ENTRY, RADIUS_M), half_of(START_M, LEAVING, RADIUS_M)
    for bottom_m, style, label in ((40.0, "-", "crown, bottom at 40 m"), (37.0, "--", "bottom 3 m lower")):
        axes.plot(
            x, crowns_m(lower, upper, bottom_m, LENGTH_M, x), style, color="#0b3c5d", lw=1.8, label=label
        )
    for half, sign, name in ((lower, 1.0, "entry pit, 12 deg"), (upper, -1.0, "exit pit, 10 deg")):
        pit_m = 0.0 if sign > 0 else LENGTH_M
        axes.plot(pit_m, START_M, "s", color="black", ms=6)
        side = "left" if sign > 0 else "right"
        axes.text(pit_m + sign * 4.0, 51.2, name, fontsize=8, ha=side)
        level_m = pit_m + sign * run_m(half, 40.0)
        axes.plot(level_m, 40.0, "o", color="#0b3c5d", ms=4)
        axes.text(level_m, 38.9, f"{run_m(half, 40.0):.1f} m", fontsize=8, ha="center", va="top")
    axes.set(xlim=(-5.0, LENGTH_M + 5.0), ylim=(33.0, 53.5))
    axes.set_xlabel("distance from the entry in plan (m)", fontsize=9)
    axes.set_ylabel("level (m)", fontsize=9)
    axes.tick_params(labelsize=8)
    axes.legend(fontsize=8, loc="lower right")
    return figure
