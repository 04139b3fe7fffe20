"""Long invented corridors as files, ready for ``routescreen run``: for trials of length and memory.

``python -m benchmarks.long_corridors --length-km 100 -o FOLDER`` writes ``corridor.gpkg`` (corridor, axis,
terminals, crossings), ``terrain.tif`` and ``ground_cover.tif``. Everything is made up and follows from the
seed: an axis that swings gently to both sides, a line across the corridor about every 400 m, lakes and
protected ground that leave a way beside them, rolling ground, patches of ground cover. Rasters are written
window by window, so that memory does not grow with length.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import rasterio
import shapely
from rasterio.transform import from_origin
from rasterio.windows import Window

if TYPE_CHECKING:
    from numpy.typing import NDArray

CRS = "EPSG:3035"  # metres over the whole of a continent
WEST_M, NORTH_M = 3_600_000.0, 3_100_000.0
SWING_M, WAVE_M = 600.0, 9_000.0  # of the axis
HALF_WIDTH_M, MARGIN_M, PIXEL_M = 250.0, 300.0, 10.0
EVERY_M = 400.0
KINDS = (
    "track",
    "road",
    "main_road",
    "railway",
    "ditch",
    "stream",
    "river",
    "gas_pipeline",
    "telecom",
    "hedge",
)
SHARES = (0.24, 0.16, 0.05, 0.05, 0.18, 0.1, 0.04, 0.04, 0.08, 0.06)
AREAS = ("lake", "wetland", "protected_area")
CROPLAND, GRASS, TREES, BUILT = 40, 30, 10, 50  # codes of the ground cover raster


@dataclass(frozen=True, slots=True)
class Axis:
    """The axis of a long corridor: y = swing sin(2 pi x / wave) from the west end."""

    length_m: float

    def y_m(self, x_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how far north of the middle line the axis is."""
        return np.asarray(SWING_M * np.sin(2.0 * math.pi * np.asarray(x_m) / WAVE_M))

    def line(self) -> shapely.LineString:
        """Return the axis as a line of 20 m pieces."""
        x = np.linspace(0.0, self.length_m, max(int(self.length_m / 20.0), 2) + 1)
        return shapely.LineString(np.stack([WEST_M + x, NORTH_M + self.y_m(x)], axis=1))


def write_corridor(folder: Path, length_m: float, *, seed: int = 0) -> None:
    """Write an invented corridor of about a length.

    Parameters
    ----------
    folder : Path
        Made where it is missing.
    length_m : float
        West to east; the axis is some 4 % longer.
    seed : int
    """
    folder.mkdir(parents=True, exist_ok=True)
    axis, rng = Axis(length_m), np.random.default_rng(seed)
    line = axis.line()
    path = folder / "corridor.gpkg"
    path.unlink(missing_ok=True)
    outline = line.buffer(HALF_WIDTH_M, cap_style="flat", join_style="round", quad_segs=4)
    ends = [shapely.Point(line.coords[0]), shapely.Point(line.coords[-1])]
    names = {"corridor_id": ["long"]}
    gpd.GeoDataFrame(names, geometry=[outline], crs=CRS).to_file(path, layer="corridor")
    gpd.GeoDataFrame(names, geometry=[line], crs=CRS).to_file(path, layer="axis")
    roles = {"role": ["start", "end"]}
    gpd.GeoDataFrame(roles, geometry=ends, crs=CRS).to_file(path, layer="terminals")
    _features(axis, rng).to_file(path, layer="crossings")
    _write_rasters(folder, axis, seed)


def _features(axis: Axis, rng: np.random.Generator) -> gpd.GeoDataFrame:
    """Return lines across the corridor and areas beside its middle."""
    kinds: list[str] = []
    shapes: list[shapely.Geometry] = []
    for x in np.arange(EVERY_M, axis.length_m - EVERY_M, EVERY_M):
        at = x + rng.uniform(-0.3, 0.3) * EVERY_M
        kinds.append(str(rng.choice(KINDS, p=SHARES)))
        shapes.append(_across(axis, at, math.radians(rng.uniform(60.0, 120.0))))
        if rng.random() < 0.4:
            kinds.append(str(rng.choice(AREAS)))
            aside = rng.choice([-1.0, 1.0]) * rng.uniform(90.0, 220.0)
            middle = (WEST_M + at + EVERY_M / 2.0, NORTH_M + float(axis.y_m(at + EVERY_M / 2.0)) + aside)
            shapes.append(shapely.Point(middle).buffer(rng.uniform(20.0, 70.0), quad_segs=4))
    columns = {"feature_id": [f"F{k:06d}" for k in range(len(kinds))], "kind": kinds}
    return gpd.GeoDataFrame(columns, geometry=shapes, crs=CRS)


def _across(axis: Axis, x_m: float, angle_rad: float) -> shapely.LineString:
    """Return a line from beyond one edge of the corridor to beyond the other."""
    slope = math.atan(SWING_M * 2.0 * math.pi / WAVE_M * math.cos(2.0 * math.pi * x_m / WAVE_M))
    reach = 1.6 * (HALF_WIDTH_M + MARGIN_M)
    ux, uy = reach * math.cos(slope + angle_rad), reach * math.sin(slope + angle_rad)
    x, y = WEST_M + x_m, NORTH_M + float(axis.y_m(x_m))
    return shapely.LineString([(x - ux, y - uy), (x + ux, y + uy)])


def _write_rasters(folder: Path, axis: Axis, seed: int) -> None:
    """Write terrain and ground cover in blocks of columns, each its own window."""
    margin = HALF_WIDTH_M + MARGIN_M
    n_columns = math.ceil((axis.length_m + 2.0 * margin) / PIXEL_M)
    n_rows = math.ceil(2.0 * (SWING_M + margin) / PIXEL_M)
    west, north = WEST_M - margin, NORTH_M + SWING_M + margin
    profile = {
        "driver": "GTiff",
        "width": n_columns,
        "height": n_rows,
        "count": 1,
        "crs": CRS,
        "transform": from_origin(west, north, PIXEL_M, PIXEL_M),
        "tiled": True,
        "blockxsize": 256,
        "blockysize": 256,
        "compress": "deflate",
    }
    cover = np.random.default_rng([seed, 1]).random((n_rows // 25 + 1, n_columns // 25 + 1))
    y = north - (np.arange(n_rows) + 0.5) * PIXEL_M
    with (
        rasterio.open(folder / "terrain.tif", "w", dtype="float32", nodata=-9999.0, **profile) as terrain,
        rasterio.open(folder / "ground_cover.tif", "w", dtype="uint8", nodata=0, **profile) as covers,
    ):
        for first in range(0, n_columns, 4096):
            columns = np.arange(first, min(first + 4096, n_columns))
            window = Window(first, 0, len(columns), n_rows)
            x = west + (columns + 0.5) * PIXEL_M
            terrain.write(_ground_m(x[None, :], y[:, None]).astype(np.float32), 1, window=window)
            drawn = cover[np.arange(n_rows)[:, None] // 25, columns[None, :] // 25]
            classes = np.select([drawn < 0.62, drawn < 0.85, drawn < 0.97], [CROPLAND, GRASS, TREES], BUILT)
            covers.write(classes.astype(np.uint8), 1, window=window)


def _ground_m(x_m: NDArray[np.float64], y_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return rolling ground: three waves that don't repeat together [m]."""
    waves = ((9.0, 3100.0, 2700.0), (3.0, 830.0, 640.0), (0.6, 190.0, 170.0))
    return 60.0 + sum(
        height * np.sin(2.0 * math.pi * x_m / along) * np.cos(2.0 * math.pi * y_m / across)
        for height, along, across in waves
    )


def main() -> None:
    """Write a corridor of the length asked for."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.long_corridors", description=__doc__)
    parser.add_argument("--length-km", type=float, required=True)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("-o", "--output", type=Path, required=True)
    call = parser.parse_args()
    write_corridor(call.output, 1000.0 * call.length_km, seed=call.seed)


if __name__ == "__main__":
    main()
