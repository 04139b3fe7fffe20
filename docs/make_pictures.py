"""Draw the pictures of the docs from the demo's input and its results, and those of the checks.

Usage: python docs/make_pictures.py RESULTS/screened.gpkg [CORRIDOR.gpkg] [FOLDER]

The corridor defaults to demo_data/corridor.gpkg, the folder to docs/images. Needs matplotlib.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import matplotlib as mpl
import numpy as np
import shapely
from arc_picture import arc_picture
from cable_pictures import cable_pictures
from check_pictures import PICTURES
from drilled_picture import drilled_picture
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, PathPatch
from matplotlib.path import Path as MplPath
from register_pictures import investigation_picture, land_picture, strip_picture

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

ROOT = Path(__file__).parents[1]
N_STRIPS = 4
STRIP_HALF_WIDTH_M = 300.0
DOTS_PER_INCH = 110

# As the layers' styles in the results: open cut, drive, shafts; the context stays pale behind them.
OPEN_CUT, DRIVE, SHAFT, GROUND, WATER_TABLE = "#a8651b", "#0b3c5d", "#5a2a82", "#5b6168", "#3f86b5"
AREAS = {
    "water": ("#cfe2f1", ("river", "canal", "lake", "stream", "ditch")),
    "woods and wetland": ("#d9e6d2", ("forest", "wetland", "hedge")),
    "protected area": ("#e9dff0", ("protected_area", "water_protection_area")),
    "buildings, wind turbines": ("#8d8078", ("building", "wind_turbine")),
}
LINES = {
    "motorway, main road": ("#e0b08a", 3.0, "-", ("motorway", "main_road")),
    "road, track, path": ("#d9c7ae", 1.2, "-", ("road", "track", "path")),
    "railway": ("#777777", 1.6, "-", ("railway", "tram")),
    "dyke": ("#b6bf94", 2.4, "-", ("dyke", "sea_dyke")),
    "service": (
        "#b98fb0",
        0.9,
        "--",
        ("gas_pipeline", "pipeline", "water_main", "sewer", "power_cable", "telecom"),
    ),
    "power line": ("#b0b0b0", 0.8, ":", ("power_line",)),
    "stream, ditch": ("#9cc3e0", 1.2, "-", ("river", "canal", "stream", "ditch")),
    "hedge": ("#a9c79b", 1.2, "-", ("hedge",)),
}


@dataclass(frozen=True, slots=True)
class Strip:
    """A straight window along the alignment: where it starts, and its direction.

    `start_xy_m` (2,), `direction` (2,) unit, `length_m` of the window [m].
    """

    start_xy_m: NDArray[np.float64]
    direction: NDArray[np.float64]
    length_m: float

    def turned(self, shapes: gpd.GeoSeries) -> gpd.GeoSeries:
        """Return the shapes turned so that the window lies along the x axis from 0."""
        (dx, dy), (x0, y0) = self.direction, self.start_xy_m
        turn = [dx, dy, -dy, dx, -(dx * x0 + dy * y0), dy * x0 - dx * y0]
        window = shapely.box(-60.0, -STRIP_HALF_WIDTH_M, self.length_m + 60.0, STRIP_HALF_WIDTH_M)
        moved = shapes.affine_transform(turn).set_crs(None, allow_override=True)
        return moved[moved.intersects(window)]


@dataclass(frozen=True, slots=True)
class Scene:
    """What is drawn: input layers and result layers of one corridor."""

    corridor: gpd.GeoDataFrame
    features: gpd.GeoDataFrame
    alignment: shapely.LineString
    sections: gpd.GeoDataFrame
    drives: gpd.GeoDataFrame
    shafts: gpd.GeoDataFrame
    compounds: gpd.GeoDataFrame
    strips: gpd.GeoDataFrame
    schedule: gpd.GeoDataFrame
    profile: gpd.GeoDataFrame


def read_scene(results: Path, corridor: Path) -> Scene:
    """Read the layers that are drawn."""
    names = (
        "sections",
        "drives",
        "shafts",
        "compounds",
        "layout_strips",
        "crossing_schedule",
        "long_section",
    )
    tables = [gpd.read_file(results, layer=name) for name in names]
    alignment = gpd.read_file(results, layer="alignment").geometry.iloc[0]
    inputs = [gpd.read_file(corridor, layer=name) for name in ("corridor", "crossings")]
    return Scene(*inputs, alignment, *tables)


def strips_of(alignment: shapely.LineString, n_strips: int) -> list[Strip]:
    """Cut the alignment into windows of equal chainage."""
    at = np.linspace(0.0, alignment.length, n_strips + 1)
    xy = shapely.get_coordinates(shapely.line_interpolate_point(alignment, at))
    step = np.diff(xy, axis=0)
    length = np.hypot(*step.T)
    return [Strip(*of) for of in zip(xy[:-1], step / length[:, None], length.tolist(), strict=True)]


def fill_area(axes: Axes, area: shapely.Polygon, zorder: int, **look: str | float) -> None:
    """Fill a polygon, its holes left open."""
    rings = [area.exterior, *area.interiors]
    path = MplPath.make_compound_path(
        *(MplPath(np.asarray(ring.coords)[:, :2], closed=True) for ring in rings)
    )
    axes.add_patch(PathPatch(path, zorder=zorder, **look))


def draw_context(axes: Axes, scene: Scene, strip: Strip) -> None:
    """Draw the corridor and the features in it."""
    for outline in strip.turned(scene.corridor.geometry).explode():
        if outline.geom_type == "Polygon":
            fill_area(axes, outline, 0, facecolor="#fbf8f1", edgecolor="#b9b3a4", lw=0.8)
    kinds, shapes = scene.features["kind"], scene.features.geometry
    is_area = shapes.geom_type.str.contains("Polygon")
    for colour, members in AREAS.values():
        for area in strip.turned(shapes[is_area & kinds.isin(members)]).explode():
            fill_area(axes, area, 1, facecolor=colour, edgecolor="none")
    for colour, width, dashes, members in LINES.values():
        lines = strip.turned(shapes[~is_area & kinds.isin(members)]).explode()
        for line in lines[lines.geom_type == "LineString"]:
            axes.plot(*line.xy, color=colour, lw=width, ls=dashes, zorder=2, solid_capstyle="butt")


def draw_plan(axes: Axes, scene: Scene, strip: Strip, *, size: float = 1.0) -> None:
    """Draw the plan: sections, sites and shafts."""
    for table, colour in ((scene.strips, "#bfe0dc"), (scene.compounds, "#b9a3cf")):
        for area in strip.turned(table.geometry):
            fill_area(axes, area, 3, facecolor=colour, edgecolor="none", alpha=0.8)
    for construction, colour, width in (("open_cut", OPEN_CUT, 1.6), ("drive", DRIVE, 3.4)):
        of_kind = scene.sections["construction"] == construction
        for line in strip.turned(scene.sections.geometry[of_kind]):
            axes.plot(*line.xy, color=colour, lw=width * size, zorder=4, solid_capstyle="butt")
    is_launch = scene.shafts["role"].str.contains("launch")
    for wanted, marker, face in ((True, "s", SHAFT), (False, "o", "white")):
        points = strip.turned(scene.shafts.geometry[is_launch == wanted])
        axes.plot(points.x, points.y, marker, ms=5.5 * size, mfc=face, mec=SHAFT, mew=1.3, zorder=6)


def label_drives(axes: Axes, scene: Scene, strip: Strip) -> None:
    """Write each drive's short name and length beside it, on alternating sides."""
    middles = strip.turned(scene.drives.geometry.interpolate(0.5, normalized=True))
    for place, (row, point) in enumerate(middles.items()):
        drive = scene.drives.loc[row]
        side = 1 if place % 2 == 0 else -1
        text = f"{drive['drive_id'].rsplit('-', 1)[-1]}  {drive['length_m']:.0f} m"
        axes.annotate(
            text,
            (point.x, point.y),
            (point.x, point.y + side * 150.0),
            ha="center",
            va="center",
            fontsize=7.5,
            color=DRIVE,
            arrowprops={"arrowstyle": "-", "color": DRIVE, "lw": 0.6},
            bbox={"boxstyle": "square,pad=0.15", "fc": "white", "ec": "none", "alpha": 0.85},
            zorder=7,
        )


def plan_legend(figure: Figure) -> None:
    """Draw the legend of the plan below the strips."""
    handles = [
        Line2D([], [], color=OPEN_CUT, lw=1.6, label="open cut"),
        Line2D([], [], color=DRIVE, lw=3.4, label="drive"),
        Line2D([], [], ls="", marker="s", mfc=SHAFT, mec=SHAFT, label="launch shaft"),
        Line2D([], [], ls="", marker="o", mfc="white", mec=SHAFT, label="reception shaft"),
        Patch(fc="#b9a3cf", label="compound"),
        Patch(fc="#bfe0dc", label="layout strip"),
        *(Patch(fc=colour, label=name) for name, (colour, _) in AREAS.items()),
        *(Line2D([], [], color=c, lw=w, ls=d, label=name) for name, (c, w, d, _) in LINES.items()),
    ]
    figure.legend(handles=handles, loc="lower center", ncols=6, fontsize=7.5, frameon=False)


def plan_picture(scene: Scene) -> Figure:
    """Return the plan in strips, each along the alignment."""
    figure = Figure(figsize=(12.0, 11.2), facecolor="white")
    axes_of = figure.subplots(N_STRIPS, 1)
    figure.subplots_adjust(left=0.035, right=0.99, top=0.965, bottom=0.095, hspace=0.16)
    chainage_m = 0.0
    for axes, strip in zip(axes_of, strips_of(scene.alignment, N_STRIPS), strict=True):
        draw_context(axes, scene, strip)
        draw_plan(axes, scene, strip)
        label_drives(axes, scene, strip)
        axes.set_xlim(-40.0, strip.length_m + 40.0)
        axes.set_ylim(-STRIP_HALF_WIDTH_M, STRIP_HALF_WIDTH_M)
        axes.set_aspect("equal")
        axes.set_xticks([])
        axes.set_yticks([])
        end_m = chainage_m + scene.alignment.length / N_STRIPS
        axes.set_title(
            f"chainage {chainage_m / 1e3:.2f} to {end_m / 1e3:.2f} km", fontsize=8, loc="left", pad=2
        )
        north_arrow(axes, strip)
        scale_bar(axes, strip)
        chainage_m = end_m
    plan_legend(figure)
    return figure


def north_arrow(axes: Axes, strip: Strip) -> None:
    """Draw an arrow to the north in the upper right corner."""
    dx, dy = strip.direction
    foot = np.array([strip.length_m - 60.0, STRIP_HALF_WIDTH_M - 110.0])
    tip = foot + 60.0 * np.array([dy, dx])
    axes.annotate("", tip, foot, arrowprops={"arrowstyle": "->", "lw": 0.9}, zorder=8)
    axes.text(*(foot + 75.0 * np.array([dy, dx])), "N", ha="center", va="center", fontsize=7, zorder=8)


def scale_bar(axes: Axes, strip: Strip) -> None:
    """Draw a bar of 200 m in the lower right corner."""
    right, low = strip.length_m, -STRIP_HALF_WIDTH_M + 45.0
    axes.plot([right - 200.0, right], [low, low], color="black", lw=2.0, solid_capstyle="butt", zorder=8)
    axes.text(right - 100.0, low - 8.0, "200 m", ha="center", va="top", fontsize=7, zorder=8)


def draw_profile(axes: Axes, scene: Scene, from_m: float, to_m: float, *, is_detail: bool) -> None:
    """Draw the long section between two chainages."""
    profile = scene.profile[scene.profile["chainage_m"].between(from_m - 1.0, to_m + 1.0)]
    chainage, ground = profile["chainage_m"].to_numpy(), profile["ground_m"].to_numpy()
    invert = profile["invert_m"].to_numpy(dtype=float)
    is_drive = profile["construction"].to_numpy() == "drive"
    low_m = np.nanmin(np.concatenate([invert, ground])) - 4.0
    axes.fill_between(chainage, ground, low_m, color="#efe9dc", lw=0, zorder=0)
    axes.plot(chainage, ground, color=GROUND, lw=1.0, label="ground", zorder=3)
    water = profile["groundwater_m"].to_numpy(dtype=float)
    axes.plot(chainage, water, color=WATER_TABLE, lw=0.8, ls=(0, (4, 3)), label="groundwater", zorder=2)
    for wanted, colour, width, name in ((False, OPEN_CUT, 1.2, "open cut"), (True, DRIVE, 2.2, "drive")):
        line = np.where(is_drive == wanted, invert, np.nan)
        axes.plot(chainage, line, color=colour, lw=width, label=f"invert, {name}", zorder=4)
    draw_shafts_in_profile(axes, scene, from_m, to_m)
    if is_detail:
        name_crossings(axes, scene, from_m, to_m, float(ground.max()))
    axes.set_xlim(from_m, to_m)
    axes.set_ylim(low_m, float(ground.max()) + (7.0 if is_detail else 3.0))
    axes.tick_params(labelsize=7)
    axes.set_ylabel("level (m)", fontsize=8)


def draw_shafts_in_profile(axes: Axes, scene: Scene, from_m: float, to_m: float) -> None:
    """Draw each shaft from the ground down to its bottom."""
    shafts = scene.shafts[scene.shafts["chainage_m"].between(from_m - 0.5, to_m + 0.5)]
    top = shapely.get_z(shafts.geometry.to_numpy())
    axes.vlines(
        shafts["chainage_m"], top - shafts["depth_m"], top, color=SHAFT, lw=2.4, label="shaft", zorder=5
    )


def name_crossings(axes: Axes, scene: Scene, from_m: float, to_m: float, top_m: float) -> None:
    """Mark each crossing and write its kind above the ground."""
    met = scene.schedule[scene.schedule["chainage_m"].between(from_m, to_m)]
    for _, row in met.iterrows():
        half_m = max(row["width_m"], 1.0) / 2.0
        axes.axvspan(
            row["chainage_m"] - half_m, row["chainage_m"] + half_m, color="#7aa6c2", alpha=0.25, lw=0
        )
        axes.text(
            row["chainage_m"],
            top_m + 0.6,
            row["kind"].replace("_", " "),
            rotation=60,
            ha="left",
            va="bottom",
            fontsize=6.5,
            rotation_mode="anchor",
        )


def long_section_picture(scene: Scene) -> Figure:
    """Return the whole long section, heights exaggerated."""
    figure = Figure(figsize=(12.0, 4.2), facecolor="white")
    axes = figure.subplots()
    figure.subplots_adjust(left=0.05, right=0.99, top=0.9, bottom=0.12)
    draw_profile(axes, scene, 0.0, scene.alignment.length, is_detail=False)
    axes.set_xlabel("chainage (m)", fontsize=8)
    figure.legend(*axes.get_legend_handles_labels(), loc="upper center", ncols=5, fontsize=8, frameon=False)
    return figure


def joined_drives(scene: Scene) -> gpd.GeoDataFrame:
    """Return the sections of the longest drive and of those that share shafts with it, in a row."""
    longest = scene.drives.loc[scene.drives["length_m"].idxmax(), "section_id"]
    sections = scene.sections.sort_values("from_chainage_m")
    is_drive = sections["construction"] == "drive"
    run = (~is_drive).cumsum()
    return sections[is_drive & (run == run[sections["section_id"] == longest].iloc[0])]


def drive_picture(scene: Scene) -> Figure:
    """Return the longest drive, and those that share shafts with it, in plan and section."""
    sections = joined_drives(scene)
    drives = scene.drives[scene.drives["section_id"].isin(sections["section_id"])]
    from_m = max(sections["from_chainage_m"].min() - 80.0, 0.0)
    to_m = min(sections["to_chainage_m"].max() + 80.0, scene.alignment.length)
    figure = Figure(figsize=(12.0, 7.0), facecolor="white")
    plan, profile = figure.subplots(2, 1)
    figure.subplots_adjust(left=0.05, right=0.99, top=0.95, bottom=0.08, hspace=0.12)
    ends = shapely.get_coordinates(shapely.line_interpolate_point(scene.alignment, [from_m, to_m]))
    step = ends[1] - ends[0]
    strip = Strip(ends[0], step / np.hypot(*step), float(np.hypot(*step)))
    draw_context(plan, scene, strip)
    draw_plan(plan, scene, strip, size=1.3)
    plan.set_xlim(0.0, strip.length_m)
    plan.set_ylim(-0.16 * strip.length_m, 0.16 * strip.length_m)
    plan.set_aspect("equal")
    plan.set_xticks([])
    plan.set_yticks([])
    names = [
        f"{row.drive_id}, {row.method.replace('_', ' ')}, {row.length_m:.0f} m" for row in drives.itertuples()
    ]
    plan.set_title("; ".join(names), fontsize=9)
    draw_profile(profile, scene, from_m, to_m, is_detail=True)
    profile.set_xlabel("chainage (m), heights exaggerated", fontsize=8)
    profile.legend(loc="lower left", ncols=5, fontsize=7.5, frameon=False)
    return figure


def main(arguments: list[str]) -> int:
    """Draw all pictures; returns the exit code."""
    defaults = [None, ROOT / "demo_data" / "corridor.gpkg", ROOT / "docs" / "images"]
    given = [Path(text) for text in arguments]
    results, corridor, folder = [*given, *defaults[len(given) :]][:3]
    if results is None or corridor is None or folder is None:
        print(__doc__, file=sys.stderr)
        return 2
    mpl.rcParams["font.family"] = "DejaVu Sans"
    scene = read_scene(results, corridor)
    folder.mkdir(parents=True, exist_ok=True)
    pictures = {
        "demo_plan": plan_picture,
        "demo_long_section": long_section_picture,
        "demo_drive": drive_picture,
    }
    for name, picture in pictures.items():
        picture(scene).savefig(folder / f"{name}.png", dpi=DOTS_PER_INCH)
        print(f"{folder / name}.png")
    registers = {
        "register_investigation": investigation_picture(results, corridor),
        "register_land": land_picture(results, corridor),
        "register_strip": strip_picture(),
    }
    for name, figure in registers.items():
        figure.savefig(folder / f"{name}.png", dpi=DOTS_PER_INCH)
        print(f"{folder / name}.png")
    for name, drawn in {**PICTURES, "drilled_bore": drilled_picture, "arc": arc_picture}.items():
        drawn().savefig(folder / f"check_{name}.png", dpi=DOTS_PER_INCH)
        print(f"{folder}/check_{name}.png")
    for name, draw in cable_pictures(results).items():
        draw().savefig(folder / f"{name}.png", dpi=DOTS_PER_INCH)
        print(f"{folder / name}.png")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
