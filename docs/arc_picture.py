"""Picture of a drive on an arc beside a straight one under the same ceilings, from their geometry alone.

Drawn by make_pictures.py. Imports the package; needs matplotlib.
"""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from routescreen.drives.arc import below_chord_m
from routescreen.drives.profile import start_level_m

LENGTH_M, RADIUS_M, GROUND_M = 280.0, 2000.0, 50.0
EDGES_M = np.array([0.0, 110.0, 170.0, LENGTH_M])
CEILINGS_M = np.array([48.0, 40.5, 48.0])  # between the edges: cover 2 m, and 6 m under the bed


def arc_picture() -> Figure:
    """Draw both, level end to end: the straight drive as deep all along as the river asks, the arc not."""
    figure = Figure(figsize=(10.0, 3.4), facecolor="white")
    axes = figure.subplots()
    figure.subplots_adjust(left=0.07, right=0.985, top=0.96, bottom=0.15)
    x = np.linspace(0.0, LENGTH_M, 561)
    ground = GROUND_M - 3.5 * ((x > 110.0) & (x < 170.0))
    axes.fill_between(x, 30.0, ground, color="#e9e1d3", lw=0)
    axes.plot(x, ground, color="#6b5b45", lw=1.4)
    axes.fill_between(x, ground, GROUND_M, where=ground < GROUND_M, color="#a9c7dd", lw=0)
    axes.text(140.0, 48.2, "river", fontsize=8, ha="center", va="center")
    for k, ceiling in enumerate(CEILINGS_M):
        axes.plot(EDGES_M[k : k + 2], [ceiling, ceiling], color="#b02a30", lw=1.6)
    axes.text(140.0, 41.0, "ceiling: 6 m under the bed", fontsize=8, ha="center", color="#b02a30")
    lowest = np.minimum([CEILINGS_M[0], *CEILINGS_M], [*CEILINGS_M, CEILINGS_M[-1]])
    for radius_m, style, label in ((np.inf, "--", "straight"), (RADIUS_M, "-", "on an arc of 2 000 m")):
        below = below_chord_m.py_func(0.5 / radius_m, LENGTH_M, x)
        raised = lowest + below_chord_m.py_func(0.5 / radius_m, LENGTH_M, EDGES_M)
        end_m = start_level_m(EDGES_M, raised, len(EDGES_M), 0.0)
        axes.plot(x, end_m - below, style, color="#0b3c5d", lw=1.8, label=f"crown, {label}")
        for at, side in ((0.0, "left"), (LENGTH_M, "right")):
            axes.plot([at, at], [end_m, GROUND_M], style, color="black", lw=2.5)
            text = f"{GROUND_M - end_m:.2f} m to the crown"
            axes.text(at + (4.0 if at == 0.0 else -4.0), end_m + 0.35, text, fontsize=8, ha=side)
    axes.set(xlim=(-5.0, LENGTH_M + 5.0), ylim=(34.0, 53.5))
    axes.set_xlabel("distance from shaft to shaft in plan (m)", fontsize=9)
    axes.set_ylabel("level (m)", fontsize=9)
    axes.tick_params(labelsize=8)
    axes.legend(fontsize=8, loc="lower right")
    return figure
