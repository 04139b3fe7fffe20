"""Pictures of the registers: where the ground is looked into, land that is taken, soil on the strip.

Drawn by make_pictures.py from the demo's results. Imports the package; needs matplotlib.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon

from routescreen.assumptions import load_assumptions
from routescreen.engineering.soil_heaps import soil_heap

if TYPE_CHECKING:
    from pathlib import Path

    from matplotlib.axes import Axes

A = load_assumptions()
OPEN_CUT, DRIVE, SHAFT, INK = "#a8651b", "#0b3c5d", "#5a2a82", "#5b6168"
STRIP, COMPOUND, LAYOUT, EASEMENT = "#e6cfa8", "#b9a3cf", "#bfe0dc", "#8fb4d8"
SOILS = ("#4a3626", "#a8651b", "#d9c7ae")


def _window(axes: Axes, shapes: gpd.GeoSeries, margin_m: float, aspect: float) -> shapely.Polygon:
    """Set the axes to hold shapes, at equal scales, and return the window."""
    west, south, east, north = shapes.total_bounds
    x, y = (west + east) / 2.0, (south + north) / 2.0
    wide = max(east - west + 2 * margin_m, (north - south + 2 * margin_m) * aspect)
    axes.set_xlim(x - wide / 2.0, x + wide / 2.0)
    axes.set_ylim(y - wide / aspect / 2.0, y + wide / aspect / 2.0)
    axes.set_aspect("equal")
    axes.set_xticks([])
    axes.set_yticks([])
    return shapely.box(*np.ravel([(axes.get_xlim()[k], axes.get_ylim()[k]) for k in (0, 1)]))


def _scale_bar(axes: Axes, length_m: float) -> None:
    (west, east), (south, north) = axes.get_xlim(), axes.get_ylim()
    right, low = east - 0.03 * (east - west), south + 0.07 * (north - south)
    axes.plot([right - length_m, right], [low, low], color="black", lw=2.0, zorder=9)
    axes.text(right - length_m / 2.0, low, f"{length_m:g} m\n", ha="center", va="bottom", fontsize=7)


def _line(axes: Axes, sections: gpd.GeoDataFrame) -> None:
    for construction, colour, width in (("open_cut", OPEN_CUT, 1.6), ("drive", DRIVE, 3.0)):
        for line in sections.geometry[sections["construction"] == construction]:
            axes.plot(*line.xy, color=colour, lw=width, zorder=4, solid_capstyle="butt")


def _areas(axes: Axes, shapes: gpd.GeoSeries, colour: str, zorder: int, **look: float | str) -> None:
    for shape in shapes.explode(index_parts=False):
        if shape.geom_type == "Polygon":
            axes.add_patch(
                Polygon(np.asarray(shape.exterior.coords)[:, :2], fc=colour, zorder=zorder, **look)
            )


def _label_offsets_pt(at_pt: np.ndarray, sides: np.ndarray) -> list[tuple[float, float]]:
    """Return where each borehole's label stands from it, clear of the other labels and signs [pt]."""
    wide, high, sign = 32.0, 19.0, 5.0
    taken = [shapely.box(x - sign, y - sign, x + sign, y + sign) for x, y in at_pt]
    found = []
    for number, ((x, y), side) in enumerate(zip(at_pt, sides, strict=True)):
        tries = [(dx, side * dy) for dy in (17.0, 8.0, 27.0) for dx in (0.0, -26.0, 26.0) if dx or dy > 16.0]
        others = shapely.union_all(taken[:number] + taken[number + 1 :])
        boxes = {
            (dx, dy): shapely.box(x + dx - wide / 2, y + dy - high / 2, x + dx + wide / 2, y + dy + high / 2)
            for dx, dy in tries
        }
        best = next((at for at in tries if not boxes[at].intersects(others)), tries[0])
        taken.append(boxes[best])
        found.append(best)
    return found


def investigation_picture(results: Path, corridor: Path) -> Figure:
    """Boreholes and probings round the drives under the widest crossing."""
    layers = {
        n: gpd.read_file(results, layer=n) for n in ("sections", "drives", "investigation_plan", "shafts")
    }
    features = gpd.read_file(corridor, layer="crossings")
    figure = Figure(figsize=(12.0, 4.6), facecolor="white")
    axes = figure.subplots()
    figure.subplots_adjust(left=0.01, right=0.99, top=0.99, bottom=0.09)
    window = _window(axes, layers["drives"].geometry.iloc[-2:], 140.0, 12.0 / 4.2)
    near = features[features.intersects(window)].clip(window)
    _areas(axes, near.geometry[near["kind"].isin(("river", "canal", "lake"))], "#cfe2f1", 1, ec="none")
    _areas(axes, near.geometry[near["kind"].isin(("wetland", "protected_area"))], "#e3ecdd", 0, ec="none")
    _line(axes, layers["sections"])
    axes.plot(layers["shafts"].geometry.x, layers["shafts"].geometry.y, "s", color=SHAFT, ms=6, zorder=5)
    plan = layers["investigation_plan"]
    for kind, size, face in (("borehole", 6.0, "white"), ("probing", 3.5, INK)):
        points = plan.geometry[plan["kind"] == kind]
        axes.plot(points.x, points.y, "o", ms=size, mfc=face, mec=INK, mew=1.2, zorder=6)
    shown = plan[(plan["kind"] == "borehole") & plan.intersects(window)]
    at_pt = (
        axes.transData.transform(np.column_stack([shown.geometry.x, shown.geometry.y])) * 72.0 / figure.dpi
    )
    offsets_pt = _label_offsets_pt(at_pt, np.where(shown["offset_m"] < 0.0, 1.0, -1.0))
    for row, offset_pt in zip(shown.itertuples(), offsets_pt, strict=True):
        text = f"{row.borehole_id.rsplit('-', 1)[-1]}\n{row.depth_m:.1f} m"
        axes.annotate(
            text,
            (row.geometry.x, row.geometry.y),
            offset_pt,
            textcoords="offset points",
            ha="center",
            va="center",
            fontsize=6.5,
            zorder=7,
        )
    _scale_bar(axes, 100.0)
    handles = [
        Line2D([], [], ls="", marker="o", mfc="white", mec=INK, label="borehole, its depth"),
        Line2D([], [], ls="", marker="o", mfc=INK, mec=INK, ms=3.5, label="probing"),
        Line2D([], [], ls="", marker="s", color=SHAFT, label="shaft"),
        Line2D([], [], color=DRIVE, lw=3.0, label="drive"),
        Line2D([], [], color=OPEN_CUT, lw=1.6, label="open cut"),
        Patch(fc="#cfe2f1", label="water"),
        Patch(fc="#e3ecdd", label="wetland, protected area"),
    ]
    figure.legend(handles=handles, loc="lower center", ncols=7, fontsize=8, frameon=False)
    return figure


def _label_room(window: shapely.Polygon, temporary_m2: float, number: int) -> shapely.Polygon:
    """Return where a parcel's label may stand: away from the line where little of it is to be seen."""
    west, south, east, north = window.bounds
    if temporary_m2 > 0.0:
        return window
    low = south + (0.02 + 0.13 * (number % 3)) * (north - south)  # narrow ones side by side: not in a row
    return shapely.box(west, low, east, low + 0.11 * (north - south))


def land_picture(results: Path, corridor: Path) -> Figure:
    """Parcels, working strip, compounds, layout strips and easement round the first drive."""
    names = ("sections", "drives", "compounds", "layout_strips", "shafts")
    layers = {name: gpd.read_file(results, layer=name) for name in names}
    parcels = gpd.read_file(corridor, layer="parcels")
    used = gpd.read_file(results, layer="parcels_used")
    figure = Figure(figsize=(12.0, 4.6), facecolor="white")
    axes = figure.subplots()
    figure.subplots_adjust(left=0.01, right=0.99, top=0.99, bottom=0.09)
    window = _window(axes, layers["drives"].geometry.iloc[:1], 220.0, 12.0 / 4.2)
    near = parcels[parcels.intersects(window)].merge(
        used[["parcel_id", "temporary_m2", "permanent_m2"]], "left"
    )
    taken = near["temporary_m2"].notna()
    _areas(axes, near.geometry[taken], "#f6efe0", 0, ec="none")
    near.boundary.plot(ax=axes, color="#9a9a9a", lw=0.7, zorder=1)
    axes.set_xlabel("")
    axes.set_ylabel("")
    sections = layers["sections"]
    open_cut = sections[sections["construction"] == "open_cut"]
    _areas(axes, open_cut.buffer(A.working_strip_m / 2.0, cap_style="flat"), STRIP, 2, ec="none")
    _areas(axes, layers["layout_strips"].geometry, LAYOUT, 2, ec="none")
    _areas(axes, layers["compounds"].geometry, COMPOUND, 3, ec="none")
    drive = sections[sections["construction"] == "drive"]
    bores = layers["drives"].set_index("section_id").loc[drive["section_id"]]
    half_m = (bores["bores"] - 1) / 2 * bores["bore_spacing_m"] + bores["bore_diameter_m"] / 2
    half_m = half_m.to_numpy() + A.shaft.drive_protective_margin_m
    _areas(axes, drive.buffer(half_m, cap_style="flat"), "none", 3, ec=DRIVE, hatch="///", lw=0.8)
    _areas(
        axes,
        open_cut.buffer(A.protective_strip_m / 2.0, cap_style="flat"),
        "none",
        3,
        ec=OPEN_CUT,
        lw=0.8,
        ls="--",
    )
    _line(axes, sections)
    axes.plot(layers["shafts"].geometry.x, layers["shafts"].geometry.y, "s", color=SHAFT, ms=5, zorder=5)
    for number, row in enumerate(near[taken].itertuples()):
        middle = shapely.intersection(row.geometry, _label_room(window, row.temporary_m2, number))
        if middle.area > 100.0:
            at = middle.representative_point()
            text = f"{row.parcel_id}\n{row.temporary_m2:.0f} / {row.permanent_m2:.0f} m2"
            axes.text(
                at.x,
                at.y,
                text,
                fontsize=7,
                ha="center",
                va="center",
                zorder=8,
                clip_on=True,
                bbox={"fc": "white", "ec": "none", "alpha": 0.75, "pad": 1.0},
            )
    _scale_bar(axes, 50.0)
    handles = [
        Patch(fc=STRIP, label="working strip"),
        Patch(fc=COMPOUND, label="compound"),
        Patch(fc=LAYOUT, label="layout strip"),
        Patch(fc="none", ec=OPEN_CUT, ls="--", label="protective strip"),
        Patch(fc="none", ec=DRIVE, hatch="///", label="easement over the drive"),
        Patch(fc="#f6efe0", ec="#9a9a9a", label="parcel, for a time / for good"),
    ]
    figure.legend(handles=handles, loc="lower center", ncols=6, fontsize=8, frameon=False)
    return figure


def strip_picture() -> Figure:
    """Section of the working strip of two systems: heaps, haul road, trenches."""
    figure = Figure(figsize=(12.0, 2.5), facecolor="white")
    axes = figure.subplots()
    figure.subplots_adjust(left=0.01, right=0.99, top=0.99, bottom=0.02)
    depth, bottom = A.trench_depth_m, 1.18
    bulk, given = A.soil["sand_dense"].bulking, A.checks.soil
    area = [bottom * h + h * h for h in (depth - A.trench.topsoil_m, depth - given.subsoil_to_m)]
    loose = (
        bulk * A.working_strip_m * A.trench.topsoil_width_frac * A.trench.topsoil_m,
        bulk * 2 * (area[0] - area[1]),
        bulk * 2 * area[1],
    )
    heights = (given.topsoil_heap_m, given.subsoil_heap_m, given.subsoil_heap_m)
    names = ("topsoil", "subsoil", "parent material")
    at, gap = given.gap_m, given.gap_m
    for m2, most, name, colour in zip(loose, heights, names, SOILS, strict=True):
        heap = soil_heap(m2, most_height_m=most, slope_deg=given.heap_slope_deg)
        wide, high = float(heap.width_m), float(heap.height_m)
        run = high / math.tan(math.radians(given.heap_slope_deg))
        axes.add_patch(
            Polygon([(at, 0), (at + run, high), (at + wide - run, high), (at + wide, 0)], fc=colour)
        )
        axes.text(at + wide / 2.0, high + 0.15, f"{name}\n{wide:.1f} m", ha="center", va="bottom", fontsize=8)
        at += wide + gap
    axes.add_patch(Polygon([(at, 0), (at, 0.3), (at + 7, 0.3), (at + 7, 0)], fc="#9a9a9a"))
    axes.text(at + 3.5, 0.45, "haul road\n7.0 m", ha="center", va="bottom", fontsize=8)
    at += 7.0 + gap + A.trench.edge_strip_m
    top = bottom + 2 * depth
    ground = [(0.0, 0.0)]
    for k in (0, 1):
        west = at + k * A.link.trench_spacing_m
        ground += [(west, 0), (west + depth, -depth), (west + depth + bottom, -depth), (west + top, 0)]
    at += A.link.trench_spacing_m + top
    axes.text(
        at - (A.link.trench_spacing_m + top) / 2.0,
        0.3,
        f"two trenches\n{A.link.trench_spacing_m + top:.1f} m",
        ha="center",
        fontsize=8,
    )
    needed = at + A.trench.edge_strip_m + gap
    ground += [(A.working_strip_m, 0.0)]
    axes.plot(*zip(*ground, strict=True), color=INK, lw=1.4)
    axes.annotate("", (0, -2.6), (needed, -2.6), arrowprops={"arrowstyle": "<->", "lw": 0.9})
    axes.text(needed / 2.0, -2.75, f"asked for {needed:.1f} m", ha="center", va="top", fontsize=8)
    axes.annotate("", (0, -3.6), (A.working_strip_m, -3.6), arrowprops={"arrowstyle": "<->", "lw": 0.9})
    axes.text(
        A.working_strip_m / 2.0,
        -3.75,
        f"working strip {A.working_strip_m:g} m",
        ha="center",
        va="top",
        fontsize=8,
    )
    axes.set_xlim(-1.0, A.working_strip_m + 1.0)
    axes.set_ylim(-4.9, 3.6)
    axes.set_aspect("equal")
    axes.axis("off")
    return figure
