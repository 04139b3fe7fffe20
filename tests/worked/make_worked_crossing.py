"""Make the input of the worked crossing: one drive of 620 m under a railway and a river.

Room: tests. Imports nothing of the package. The crossing is our own example and wholly invented; its
coordinates lie in the open sea.

Run ``python tests/worked/make_worked_crossing.py FOLDER`` to write ``corridor.gpkg``, ``terrain.tif`` and
``ground_cover.tif``. The terrain is the bed under the river, so the run needs ``--terrain-is-bed``.

All levels are those of the example's steps (`x_m` from the launch): ground at 32.0, the rails' formation at
33.0 from 120 to 134, the river's bed rising from 27.0 at 300 to 27.4 at 380, all water at 30.0. The bed lies
level for `LEVEL_BANK_M` before 300 and after 380, so that between the pixels it is still 27.0 and 27.4 there.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pyogrio
import rasterio
from rasterio.transform import from_bounds
from shapely import LineString, Point, box

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

CRS = "EPSG:25832"
ORIGIN_M = (392000.0, 6072000.0)  # of the launch
START_M, END_M, ASIDE_M = -200.0, 1400.0, 240.0
LAUNCH_M, RECEPTION_M = 0.0, 620.0
GROUND_M, RAIL_M, WATER_M = 32.0, 33.0, 30.0
RAIL_FROM_M, RAIL_TO_M, EMBANKMENT_M = 120.0, 134.0, 2.0
RIVER_FROM_M, RIVER_TO_M, LEVEL_BANK_M = 300.0, 380.0, 1.0
BED_FROM_M, BED_TO_M = 27.0, 27.4
STRIP_M = 2.0  # the water's depth is stated in strips of the river
NO_TRENCH_FROM_M, NO_TRENCH_TO_M = 15.0, 605.0
RASTER_MARGIN_M, TERRAIN_STEP_M, COVER_STEP_M = 280.0, 1.0, 10.0
CROPLAND, WATER = 40, 80  # ESA WorldCover


def bed_m(x_m: np.ndarray) -> np.ndarray:
    """Return the level of the river's bed [m]."""
    return np.interp(x_m, (RIVER_FROM_M, RIVER_TO_M), (BED_FROM_M, BED_TO_M))


def terrain_m(x_m: np.ndarray) -> np.ndarray:
    """Return the terrain along the alignment, under the river its bed [m]."""
    is_river = (x_m > RIVER_FROM_M - LEVEL_BANK_M) & (x_m < RIVER_TO_M + LEVEL_BANK_M)
    is_rail = (x_m > RAIL_FROM_M - EMBANKMENT_M) & (x_m < RAIL_TO_M + EMBANKMENT_M)
    return np.where(is_river, bed_m(x_m), np.where(is_rail, RAIL_M, GROUND_M))


def _at(x_m: float, y_m: float = 0.0) -> tuple[float, float]:
    return ORIGIN_M[0] + x_m, ORIGIN_M[1] + y_m


def _across(from_m: float, to_m: float) -> BaseGeometry:
    return box(*_at(from_m, -ASIDE_M), *_at(to_m, ASIDE_M))


def crossings() -> gpd.GeoDataFrame:
    """Return the railway, the river in strips, and land between the shafts that bears no trench."""
    middles = np.arange(RIVER_FROM_M, RIVER_TO_M + STRIP_M / 2.0, STRIP_M)
    left = np.maximum(middles - STRIP_M / 2.0, RIVER_FROM_M)
    right = np.minimum(middles + STRIP_M / 2.0, RIVER_TO_M)
    rows = [
        {"kind": "railway", "name": "Railway", "half_width_m": (RAIL_TO_M - RAIL_FROM_M) / 2.0,
         "base_level_m": RAIL_M,
         "geometry": LineString([_at(127.0, -ASIDE_M), _at(127.0, ASIDE_M)])},
        {"kind": "protected_area", "name": "Heath",
         "geometry": _across(NO_TRENCH_FROM_M, NO_TRENCH_TO_M)},
    ]  # fmt: skip
    rows += [
        {"kind": "river", "name": "River", "water_depth_m": WATER_M - float(bed_m(x_m)),
         "geometry": _across(float(from_m), float(to_m))}
        for x_m, from_m, to_m in zip(middles, left, right, strict=True)
    ]  # fmt: skip
    return gpd.GeoDataFrame(rows, crs=CRS)


def ground() -> gpd.GeoDataFrame:
    """Return the sand, which rubs twice as much under the river, and the water's depth below ground."""
    rail = (RAIL_FROM_M - EMBANKMENT_M, RAIL_TO_M + EMBANKMENT_M)
    far = RASTER_MARGIN_M
    areas = [
        ("example_sand", GROUND_M, START_M - far, rail[0]),
        ("example_sand", RAIL_M, *rail),
        ("example_sand", GROUND_M, rail[1], RIVER_FROM_M),
        ("example_river_sand", WATER_M, RIVER_FROM_M, RIVER_TO_M),
        ("example_sand", GROUND_M, RIVER_TO_M, END_M + far),
    ]
    return gpd.GeoDataFrame(
        {
            "soil": [soil for soil, _, _, _ in areas],
            "groundwater_depth_m": [level_m - WATER_M for _, level_m, _, _ in areas],
        },
        geometry=[box(*_at(from_m, -far), *_at(to_m, far)) for _, _, from_m, to_m in areas],
        crs=CRS,
    )


def _layers() -> dict[str, gpd.GeoDataFrame]:
    def layer(shapes: list[BaseGeometry], **columns: list[object]) -> gpd.GeoDataFrame:
        return gpd.GeoDataFrame(columns, geometry=shapes, crs=CRS)

    return {
        "corridor": layer([LineString([_at(START_M), _at(END_M)])], corridor_id=["worked"]),
        "crossings": crossings(),
        "ground": ground(),
        "access": layer([LineString([_at(START_M, -150.0), _at(END_M, -150.0)])]),
        "pins": layer(
            [Point(_at(LAUNCH_M)), Point(_at(RECEPTION_M))], role=["shaft", "shaft"], radius_m=[1.5, 1.5]
        ),
    }


def _write_raster(target: Path, along: np.ndarray, step_m: float, nodata: float) -> None:
    """Write values that change along the alignment only."""
    west, south = _at(START_M - RASTER_MARGIN_M, -RASTER_MARGIN_M)
    east, north = _at(END_M + RASTER_MARGIN_M, RASTER_MARGIN_M)
    values = np.broadcast_to(along, (round(2.0 * RASTER_MARGIN_M / step_m), len(along)))
    height, width = values.shape
    with rasterio.open(
        target, "w", driver="GTiff", height=height, width=width, count=1, dtype=values.dtype.name, crs=CRS,
        transform=from_bounds(west, south, east, north, width, height), nodata=nodata, compress="deflate",
    ) as raster:  # fmt: skip
        raster.write(values, 1)


def _middles_m(step_m: float) -> np.ndarray:
    return np.arange(START_M - RASTER_MARGIN_M + step_m / 2.0, END_M + RASTER_MARGIN_M, step_m)


def write_worked_crossing(folder: Path) -> None:
    """Write ``corridor.gpkg``, ``terrain.tif`` and ``ground_cover.tif`` into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    target = folder / "corridor.gpkg"
    target.unlink(missing_ok=True)
    for name, layer in _layers().items():
        pyogrio.write_dataframe(layer, target, layer=name, driver="GPKG", append=target.exists())
    levels = terrain_m(_middles_m(TERRAIN_STEP_M)).astype(np.float32)
    _write_raster(folder / "terrain.tif", levels, TERRAIN_STEP_M, nodata=-9999.0)
    x_m = _middles_m(COVER_STEP_M)
    codes = np.where((x_m > RIVER_FROM_M) & (x_m < RIVER_TO_M), WATER, CROPLAND).astype(np.uint8)
    _write_raster(folder / "ground_cover.tif", codes, COVER_STEP_M, nodata=0.0)


def main() -> None:
    """Read the folder from the command line and write the input there."""
    parser = argparse.ArgumentParser(description="Write the input of the worked crossing.")
    parser.add_argument("folder", type=Path, help="where to write it")
    write_worked_crossing(parser.parse_args().folder)


if __name__ == "__main__":
    main()
