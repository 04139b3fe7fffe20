"""Draw the demo's input as a map in strips, to be looked at.

Room: demo data. Needs matplotlib; imports nothing of the package.

``python demo_data/draw_demo.py map.png`` draws the files beside this script.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import matplotlib.pyplot as plt
import numpy as np
import rasterio
import shapely
from matplotlib.colors import LightSource, ListedColormap

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray
    from shapely import Point

N_STRIPS = 6
ACROSS_M = 470.0
LAYERS = ("corridor", "axis", "crossings", "ground", "parcels", "pins", "flood_zones")
COVER_COLOURS: dict[int, str] = {
    10: "#7fa87c",
    20: "#b3c28a",
    30: "#cfe3b4",
    40: "#f3ecd0",
    50: "#dcc9c3",
    60: "#e0dcd2",
    80: "#a9cbe6",
    90: "#bcd9cf",
}
# Colour, width in points, dashes.
LINE_STYLES: dict[str, tuple[str, float, str]] = {
    "motorway": ("#8c2d04", 5.0, "-"),
    "main_road": ("#cc6d1f", 3.0, "-"),
    "road": ("#e8a95b", 2.0, "-"),
    "track": ("#9c7b4b", 1.2, "--"),
    "path": ("#9c7b4b", 0.8, ":"),
    "railway": ("#222222", 2.2, "-"),
    "stream": ("#2b75b3", 1.6, "-"),
    "ditch": ("#2b75b3", 0.8, "-"),
    "dyke": ("#5d7f2e", 4.0, "-"),
    "hedge": ("#2f6b34", 1.6, "-"),
    "gas_pipeline": ("#a6761d", 1.4, "-."),
    "pipeline": ("#7a5195", 1.4, "-."),
    "water_main": ("#1f9ed1", 1.0, "-."),
    "sewer": ("#6b6b3a", 1.0, "-."),
    "power_cable": ("#d01c8b", 1.0, "-."),
    "telecom": ("#7fb800", 1.0, "-."),
    "power_line": ("#555555", 1.0, "-"),
}
AREA_COLOURS: dict[str, str] = {
    "forest": "#3f7d45",
    "wetland": "#2a8f7b",
    "protected_area": "#8e44ad",
    "river": "#2166ac",
    "canal": "#2166ac",
    "lake": "#2166ac",
    "building": "#5b3a33",
}


@dataclass(frozen=True, slots=True)
class Raster:
    """A raster and its extent (west, east, south, north) [m]."""

    values: NDArray[np.float64]
    extent_m: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Demo:
    """All that is drawn."""

    corridor: gpd.GeoDataFrame
    axis: gpd.GeoDataFrame
    crossings: gpd.GeoDataFrame
    ground: gpd.GeoDataFrame
    parcels: gpd.GeoDataFrame
    pins: gpd.GeoDataFrame
    terrain: Raster
    ground_cover: Raster


def read_raster(source: Path) -> Raster:
    """Read the first band of a raster."""
    with rasterio.open(source) as raster:
        box = raster.bounds
        return Raster(raster.read(1).astype(np.float64), (box.left, box.right, box.bottom, box.top))


def read_demo(folder: Path) -> Demo:
    """Read the layers and rasters of the demo."""
    tables = {name: gpd.read_file(folder / "corridor.gpkg", layer=name) for name in LAYERS}
    rasters = {name: read_raster(folder / f"{name}.tif") for name in ("terrain", "ground_cover")}
    return Demo(**tables, **rasters)  # type: ignore[arg-type]  # the names are the fields


def draw_ground(axes: Axes, demo: Demo) -> None:
    """Draw the ground cover with the shade of the terrain on it."""
    codes = sorted(COVER_COLOURS)
    axes.imshow(
        np.searchsorted(codes, demo.ground_cover.values),
        extent=demo.ground_cover.extent_m,
        cmap=ListedColormap([COVER_COLOURS[code] for code in codes]),
        vmin=-0.5,
        vmax=len(codes) - 0.5,
        interpolation="nearest",
    )
    shade = LightSource(azdeg=315, altdeg=40).hillshade(demo.terrain.values, vert_exag=6.0, dx=5.0, dy=5.0)
    axes.imshow(shade, extent=demo.terrain.extent_m, cmap="gray", alpha=0.35, vmin=0.2, vmax=1.0)
    demo.parcels.boundary.plot(ax=axes, color="#8a8a8a", linewidth=0.25, zorder=2)
    demo.ground.boundary.plot(ax=axes, color="#b35806", linewidth=0.8, linestyle=":", zorder=3)


def draw_crossings(axes: Axes, crossings: gpd.GeoDataFrame) -> None:
    """Draw lines, areas and points by kind."""
    shape = crossings.geom_type
    for kind, (colour, width, dash) in LINE_STYLES.items():
        chosen = crossings[(crossings.kind == kind) & (shape == "LineString")]
        if len(chosen):
            chosen.plot(ax=axes, color=colour, linewidth=width, linestyle=dash, zorder=4)
    for kind, colour in AREA_COLOURS.items():
        chosen = crossings[(crossings.kind == kind) & (shape == "Polygon")]
        if len(chosen):
            chosen.plot(ax=axes, facecolor=colour, alpha=0.45, edgecolor=colour, zorder=3)
    crossings[shape == "Point"].plot(ax=axes, color="#111111", marker="1", markersize=120, zorder=5)


def draw_names(axes: Axes, demo: Demo) -> None:
    """Write each name once: areas inside, lines by turns at the upper and the lower edge of the corridor."""
    inside = demo.crossings[demo.crossings.kind != "building"].clip(demo.corridor)
    for k, (name, shape) in enumerate(zip(inside["name"], inside.geometry, strict=True)):
        is_upper = k % 2 == 0
        place = shape.representative_point()
        if shape.geom_type.endswith("LineString"):
            vertices = shapely.get_coordinates(shape)
            pick = int(np.argmax(vertices[:, 1]) if is_upper else np.argmin(vertices[:, 1]))
            place = shapely.Point(vertices[pick])
        side = "bottom" if is_upper else "top"
        axes.text(place.x, place.y, name, fontsize=5.5, rotation=70, va=side, zorder=8, clip_on=True)


def draw_corridor(axes: Axes, demo: Demo) -> None:
    """Draw the outline, the axis with its chainages, and the pins with their radius."""
    demo.corridor.boundary.plot(ax=axes, color="black", linewidth=1.2, zorder=6)
    demo.axis.plot(ax=axes, color="black", linewidth=0.4, zorder=6)
    axis = demo.axis.geometry.iloc[0]
    for chainage in np.arange(0.0, axis.length + 1.0, 100.0):
        at = axis.interpolate(chainage)
        axes.plot(at.x, at.y, "k.", markersize=3, zorder=7)
        axes.text(at.x, at.y, f"{chainage:.0f}", fontsize=5, zorder=8, clip_on=True)
    rings = demo.pins.geometry.buffer(demo.pins["radius_m"]).boundary
    colours = ["#d7301f" if role == "no_shaft" else "#0570b0" for role in demo.pins["role"]]
    rings.plot(ax=axes, color=colours, linewidth=1.6, zorder=7)


def draw_strip(axes: Axes, demo: Demo, start: Point, end: Point) -> None:
    """Draw one stretch of the corridor, between two points of the axis."""
    draw_ground(axes, demo)
    draw_crossings(axes, demo.crossings)
    draw_names(axes, demo)
    draw_corridor(axes, demo)
    middle_m = (start.y + end.y) / 2.0
    axes.set_xlim(start.x - 30.0, end.x + 30.0)
    axes.set_ylim(middle_m - ACROSS_M, middle_m + ACROSS_M)
    axes.set_aspect("equal")
    axes.tick_params(labelsize=5)


def draw_map(demo: Demo, target: Path, from_m: float, to_m: float, n_strips: int) -> None:
    """Draw the stretch between two chainages in strips, one under the other."""
    axis = demo.axis.geometry.iloc[0]
    points = [axis.interpolate(chainage) for chainage in np.linspace(from_m, to_m, n_strips + 1)]
    figure, axes = plt.subplots(n_strips, 1, figsize=(16.0, 7.6 * n_strips), squeeze=False)
    for k in range(n_strips):
        draw_strip(axes[k, 0], demo, points[k], points[k + 1])
    figure.tight_layout()
    figure.savefig(target, dpi=90)


def main() -> None:
    """Read the command line and draw."""
    parser = argparse.ArgumentParser(description="Draw the demo's input.")
    parser.add_argument("target", type=Path, help="picture to write")
    parser.add_argument("--folder", type=Path, default=Path(__file__).parent)
    parser.add_argument("--from-m", type=float, default=0.0)
    parser.add_argument("--to-m", type=float, default=12000.0)
    parser.add_argument("--strips", type=int, default=N_STRIPS)
    chosen = parser.parse_args()
    draw_map(read_demo(chosen.folder), chosen.target, chosen.from_m, chosen.to_m, chosen.strips)


if __name__ == "__main__":
    main()
