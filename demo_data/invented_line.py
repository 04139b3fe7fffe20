"""The small fixed alignment that the tests use: 1.5 km, four crossings.

Room: demo data. Imports nothing of the package.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from invented_features import Feature
from invented_land import CROPS, GRASS, WATER
from rasterio import features as raster_features
from rasterio.transform import from_origin
from shapely import LineString
from writing import Tables, write_cover, write_tables, write_terrain

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

ORIGIN_M = (396000.0, 6064000.0)
LENGTH_M = 1500.0
# The alignment turns by 8 degrees at the track, half way.
TURN_AT_M, TURN_DEG = 800.0, 8.0
MARGIN_M = 300.0
COVER_STEP_M, TERRAIN_STEP_M = 10.0, 5.0
RIVER_AT_M, RIVER_HALF_M, RIVER_LEVEL_M = 1120.0, 18.0, 8.6
# Level of the ground by distance eastwards [m].
GROUND = (
    (-400.0, 14.5),
    (0.0, 14.0),
    (500.0, 12.5),
    (900.0, 10.6),
    (1120.0, 9.8),
    (1400.0, 11.0),
    (2000.0, 13.0),
)


def alignment() -> LineString:
    """Return the line: two straights that meet at a small angle."""
    x0, y0 = ORIGIN_M
    rest = LENGTH_M - TURN_AT_M
    turn = math.radians(TURN_DEG)
    end = (round(x0 + TURN_AT_M + rest * math.cos(turn), 2), round(y0 + rest * math.sin(turn), 2))
    return LineString([(x0, y0), (x0 + TURN_AT_M, y0), end])


def _square_line(x_m: float) -> LineString:
    x0, y0 = ORIGIN_M
    return LineString([(x0 + x_m - 10.0, y0 - MARGIN_M), (x0 + x_m + 10.0, y0 + MARGIN_M + 120.0)])


def features() -> list[Feature]:
    """Return a ditch and a track to be trenched, a railway and a river to be driven."""
    return [
        Feature("ditch", "Line ditch", _square_line(260.0), "Line drainage board"),
        Feature("railway", "Line railway", _square_line(480.0), "Railway office"),
        Feature("track", "Line track", _square_line(800.0), "Line parish"),
        Feature("river", "Line river", _square_line(RIVER_AT_M).buffer(RIVER_HALF_M, cap_style="flat"),
                "Waterway office", water_depth_m=2.0, scour_m=0.5),
    ]  # fmt: skip


def _centres(box_m: tuple[float, float, float, float], step_m: float) -> tuple[NDArray[np.float64], ...]:
    west, south, east, north = box_m
    x = np.arange(west + step_m / 2.0, east, step_m)
    y = np.arange(north - step_m / 2.0, south, -step_m)
    return tuple(np.meshgrid(x, y))


def write_line_corridor(folder: Path) -> None:
    """Write ``corridor.gpkg``, ``ground_cover.tif`` and ``terrain.tif`` of the small alignment."""
    folder.mkdir(parents=True, exist_ok=True)
    line, found = alignment(), features()
    x0, y0 = ORIGIN_M
    box_m = (x0 - MARGIN_M, y0 - MARGIN_M, x0 + LENGTH_M + MARGIN_M, y0 + MARGIN_M + 100.0)
    write_tables(folder / "corridor.gpkg", Tables(line, None, found, [], [], [], []))
    x, y = _centres(box_m, TERRAIN_STEP_M)
    knots = np.array(GROUND)
    ground = np.interp(x - x0, knots[:, 0], knots[:, 1]) + 0.3 * np.sin((x - x0) / 90.0) * np.cos(
        (y - y0) / 120.0
    )
    over_water = _burn(box_m, TERRAIN_STEP_M, found[3], 1, 0) == 1
    write_terrain(
        folder / "terrain.tif",
        np.round(np.where(over_water, RIVER_LEVEL_M, ground), 2).astype(np.float32),
        box_m,
    )
    cover = _burn(box_m, COVER_STEP_M, found[3], WATER, CROPS)
    x, _y = _centres(box_m, COVER_STEP_M)
    meadow = (x - x0 > 1000.0) & (x - x0 < 1260.0) & (cover == CROPS)
    write_cover(folder / "ground_cover.tif", np.where(meadow, GRASS, cover).astype(np.uint8), box_m)


def _burn(
    box_m: tuple[float, float, float, float], step_m: float, feature: Feature, code: int, fill: int
) -> NDArray[np.uint8]:
    west, south, east, north = box_m
    shape = (round((north - south) / step_m), round((east - west) / step_m))
    burnt = raster_features.rasterize(
        [(feature.geometry, code)],
        out_shape=shape,
        fill=fill,
        transform=from_origin(west, north, step_m, step_m),
    )
    return np.asarray(burnt, dtype=np.uint8)
