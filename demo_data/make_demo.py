"""Make the invented demo: a corridor of 12 km with its ground, its crossings and its rasters.

Room: demo data. Imports nothing of the package. Everything is invented: the place, its names, its ground.
The coordinates lie in the open sea, so that no real place can be taken for it.

Run ``python demo_data/make_demo.py`` to write the demo beside this script, or with ``--out FOLDER``
elsewhere; ``--line FOLDER`` writes the small fixed alignment of the tests instead.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely
from invented_features import Feature, all_features, canal, lumme, pond, sarve
from invented_land import cover_codes, fields, flood_zones, ground_areas, parcels
from invented_line import write_line_corridor
from invented_place import Axis, axis_line, frame_box, make_axis, outline
from shapely import Point, box
from writing import Pin, Tables, write_cover, write_tables, write_terrain

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

SEED = 20250301
ORIGIN_M = (394000.0, 6059000.0)
LENGTH_M = 12000.0
HALF_WIDTH_M = 200.0
END_MARGIN_M = 30.0
RASTER_MARGIN_M = 260.0
PARCEL_MARGIN_M = 250.0
TERRAIN_STEP_M = 5.0

# The ground along the axis: chainage [m], level [m].
LEVELS: tuple[tuple[float, float], ...] = (
    (-1500, 25.5), (0, 24.0), (900, 22.5), (1530, 20.0), (2000, 21.0), (2500, 18.5), (2950, 12.6),
    (3250, 9.9), (3330, 9.6), (3420, 8.7), (3700, 8.4), (4200, 8.2), (4700, 8.0), (4890, 7.4),
    (4980, 6.2), (5060, 5.5), (5600, 5.3), (5790, 5.2), (5850, 5.0), (5950, 5.0), (6060, 5.5),
    (6400, 5.9), (6700, 6.6), (7000, 9.0), (7500, 13.0), (8000, 15.5), (8600, 16.2), (9000, 14.6),
    (9200, 14.0), (9450, 15.2), (9800, 19.6), (9950, 18.2), (10100, 20.0), (10350, 24.5),
    (10700, 30.5), (11000, 32.5), (11500, 30.0), (12000, 28.0), (13500, 27.0),
)  # fmt: skip
# The fall across: chainage [m], rise to the right per metre [-].
CROSS_FALL: tuple[tuple[float, float], ...] = (
    (-1500, 0.0), (2200, 0.004), (3200, 0.0), (6800, 0.0), (7300, 0.022), (8200, 0.022), (8700, 0.002),
    (9200, -0.004), (9700, 0.0), (10800, 0.012), (13500, 0.0),
)  # fmt: skip
SARVE_LEVEL_M, CANAL_LEVEL_M, LUMME_LEVEL_M, POND_LEVEL_M = 4.4, 8.2, 11.8, 21.0
ISLAND_TOP_M = 8.2


@dataclass(frozen=True, slots=True)
class Bank:
    """How a line shapes the ground: height over it, half the flat top, length of the slope [m]."""

    height_m: float
    top_half_m: float
    slope_m: float


BANKS: dict[str, Bank] = {
    "motorway": Bank(1.6, 16.0, 4.0),
    "railway": Bank(1.2, 4.0, 3.5),
    "main_road": Bank(0.6, 5.0, 3.0),
    "road": Bank(0.25, 3.5, 3.0),
    "track": Bank(0.1, 2.0, 2.5),
    "dyke": Bank(4.0, 2.0, 10.0),
    "stream": Bank(-1.1, 2.0, 9.0),
    "ditch": Bank(-0.7, 1.2, 4.0),
}


def smooth_table(
    table: tuple[tuple[float, float], ...], at_m: NDArray[np.float64], blur_m: float
) -> NDArray[np.float64]:
    """Return a table's values, its corners rounded by a running mean of the given width."""
    knots = np.array(table)
    steps = np.linspace(-0.5, 0.5, 9) * blur_m
    shifted = [np.interp(at_m + step, knots[:, 0], knots[:, 1]) for step in steps]
    return np.asarray(np.mean(shifted, axis=0), dtype=np.float64)


def ease(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a smooth step from 0 at 0 to 1 at 1."""
    x = np.clip(x, 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


def roughness(
    x_m: NDArray[np.float64], y_m: NDArray[np.float64], rng: np.random.Generator
) -> NDArray[np.float64]:
    """Return gentle hills as a sum of plane waves of 180 to 1 600 m, standard deviation about 1."""
    n_waves = 24
    length = 180.0 * (1600.0 / 180.0) ** rng.random(n_waves)
    heading, phase = 2.0 * np.pi * rng.random(n_waves), 2.0 * np.pi * rng.random(n_waves)
    weight = (length / length.max()) ** 0.7
    total = np.zeros(x_m.shape)
    for k in range(n_waves):
        along = (x_m - ORIGIN_M[0]) * np.cos(heading[k]) + (y_m - ORIGIN_M[1]) * np.sin(heading[k])
        total += weight[k] * np.sin(2.0 * np.pi * along / length[k] + phase[k])
    return np.asarray(total / np.sqrt(0.5 * np.sum(weight**2)), dtype=np.float64)


def base_level(
    axis: Axis, x_m: NDArray[np.float64], y_m: NDArray[np.float64], rng: np.random.Generator
) -> NDArray[np.float64]:
    """Return the ground without anything built or flowing [m].

    level(s) + fall(s) x offset + roughness, which fades in the marsh and in the river plain; then the
    burial mound on the tongue and the sand rise in the fen.
    """
    s_m, t_m = axis.to_chainage_offset(x_m, y_m)
    fall = smooth_table(CROSS_FALL, s_m, 300.0)
    ground = smooth_table(LEVELS, s_m, 90.0) + fall * np.clip(t_m, -400.0, 400.0)
    height = np.interp(s_m, (2900.0, 3300.0, 6600.0, 7200.0), (0.55, 0.12, 0.12, 0.55))
    ground = ground + height * roughness(x_m, y_m, rng)
    tongue = 1.1 * np.exp(-(((s_m - 4985.0) / 60.0) ** 2) - ((t_m + 20.0) / 55.0) ** 4)
    mound = 1.4 * np.exp(-((s_m - 5005.0) ** 2 + (t_m + 20.0) ** 2) / 11.0**2)
    rise = np.exp(-((np.abs(s_m - 5685.0) / 33.0) ** 4) - (np.abs(t_m + 20.0) / 64.0) ** 4)
    ground = ground + tongue + mound + rise * np.maximum(0.0, ISLAND_TOP_M - ground)
    return np.asarray(ground, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Grid:
    """Pixel centres of a north-up raster: x of each column, y of each row [m]."""

    x_m: NDArray[np.float64]
    y_m: NDArray[np.float64]

    def window(self, bounds_m: tuple[float, float, float, float], margin_m: float) -> tuple[slice, slice]:
        """Return the rows and columns that lie within a margin of the bounds."""
        west, south, east, north = bounds_m
        columns = np.flatnonzero((self.x_m >= west - margin_m) & (self.x_m <= east + margin_m))
        rows = np.flatnonzero((self.y_m >= south - margin_m) & (self.y_m <= north + margin_m))
        if columns.size == 0 or rows.size == 0:
            return slice(0, 0), slice(0, 0)
        return slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1)

    def distance_m(self, shape: BaseGeometry, rows: slice, columns: slice) -> NDArray[np.float64]:
        """Return the distance of each pixel of a window from a shape [m]."""
        x, y = np.meshgrid(self.x_m[columns], self.y_m[rows])
        shapely.prepare(shape)
        return np.asarray(shapely.distance(shape, shapely.points(x, y)), dtype=np.float64)


def add_bank(ground_m: NDArray[np.float64], grid: Grid, shape: BaseGeometry, bank: Bank) -> None:
    """Raise or cut the ground along a line, in place."""
    reach = bank.top_half_m + bank.slope_m
    rows, columns = grid.window(shape.bounds, reach)
    distance = grid.distance_m(shape, rows, columns)
    ground_m[rows, columns] += bank.height_m * np.clip((reach - distance) / bank.slope_m, 0.0, 1.0)


def add_valley(
    ground_m: NDArray[np.float64],
    grid: Grid,
    shape: BaseGeometry,
    floor_m: float,
    flat_m: float,
    side_m: float,
) -> None:
    """Let the ground sink to a valley floor near a river, in place."""
    rows, columns = grid.window(shape.bounds, flat_m + side_m)
    share = ease((grid.distance_m(shape, rows, columns) - flat_m) / side_m)
    part = ground_m[rows, columns]
    ground_m[rows, columns] = np.where(part > floor_m, floor_m + (part - floor_m) * share, part)


def add_water(
    ground_m: NDArray[np.float64], grid: Grid, shape: BaseGeometry, level_m: float, bank_m: float
) -> None:
    """Set the water level inside a shape and let its banks rise from it, in place."""
    rows, columns = grid.window(shape.bounds, bank_m)
    distance = grid.distance_m(shape, rows, columns)
    part = ground_m[rows, columns]
    banks = level_m + (part - level_m) * ease(distance / bank_m)
    ground_m[rows, columns] = np.where(distance <= 0.0, level_m, banks)


def terrain_levels(
    axis: Axis, features: list[Feature], box_m: tuple[float, float, float, float], rng: np.random.Generator
) -> NDArray[np.float32]:
    """Return the terrain of the box to the centimetre, row 0 northernmost; over water the water level."""
    west, south, east, north = box_m
    half = TERRAIN_STEP_M / 2.0
    grid = Grid(np.arange(west + half, east, TERRAIN_STEP_M), np.arange(north - half, south, -TERRAIN_STEP_M))
    x, y = np.meshgrid(grid.x_m, grid.y_m)
    ground = base_level(axis, x, y, rng)
    add_valley(ground, grid, lumme(axis), LUMME_LEVEL_M + 1.3, 40.0, 170.0)
    for feature in features:
        if feature.kind in BANKS:
            add_bank(ground, grid, feature.geometry, BANKS[feature.kind])
    canal_banks = shapely.boundary(shapely.buffer(canal(axis), 8.0))
    add_bank(ground, grid, canal_banks, Bank(0.9, 3.0, 6.0))
    for shape, level_m, bank_m in (
        (sarve(axis), SARVE_LEVEL_M, 8.0),
        (canal(axis), CANAL_LEVEL_M, 5.0),
        (lumme(axis), LUMME_LEVEL_M, 8.0),
        (pond(axis), POND_LEVEL_M, 14.0),
    ):
        add_water(ground, grid, shape, level_m, bank_m)
    return np.round(ground, 2).astype(np.float32)


def pins(axis: Axis) -> list[Pin]:
    """Return what has been agreed: a shaft at the canal, no shaft at the burial mound on the tongue."""
    at = axis.to_xy(np.array([3412.0, 5005.0]), np.array([52.0, -20.0]))
    agreed, refused = (Point(xy) for xy in np.round(at, 2))
    return [Pin("shaft", 25.0, agreed), Pin("no_shaft", 65.0, refused)]


def write_demo(folder: Path) -> None:
    """Write ``corridor.gpkg``, ``ground_cover.tif`` and ``terrain.tif`` into a folder."""
    rng = np.random.default_rng(SEED)
    axis = make_axis(
        origin_m=ORIGIN_M, length_m=LENGTH_M, heading_rad=-0.03, bend_rad=0.30, bend_length_m=7600.0
    )
    corridor = outline(axis, HALF_WIDTH_M, END_MARGIN_M)
    box_m = frame_box(corridor, RASTER_MARGIN_M, 10.0)
    frame = box(*box_m)
    features = all_features(axis, frame)
    plots = fields(axis, rng)
    folder.mkdir(parents=True, exist_ok=True)
    tables = Tables(
        corridor, axis_line(axis), features, ground_areas(axis, frame),
        parcels(plots, features, corridor, PARCEL_MARGIN_M), pins(axis), flood_zones(axis, frame),
    )  # fmt: skip
    write_tables(folder / "corridor.gpkg", tables)
    write_cover(folder / "ground_cover.tif", cover_codes(axis, plots, features, box_m), box_m)
    write_terrain(folder / "terrain.tif", terrain_levels(axis, features, box_m, rng), box_m)


def main() -> None:
    """Read the command line and write the demo, or the small line corridor."""
    parser = argparse.ArgumentParser(description="Write the invented demo.")
    parser.add_argument("--out", type=Path, default=Path(__file__).parent, help="folder of the demo")
    parser.add_argument(
        "--line", type=Path, default=None, help="write the small fixed alignment here instead"
    )
    chosen = parser.parse_args()
    if chosen.line is not None:
        write_line_corridor(chosen.line)
    else:
        write_demo(chosen.out)


if __name__ == "__main__":
    main()
