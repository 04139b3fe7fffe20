"""Write the layers and rasters of the demo.

Room: demo data. The only place here that writes files; imports nothing of the package.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import rasterio
import shapely
from invented_features import Feature, access_lines
from rasterio.transform import from_bounds
from shapely import LineString, Point, Polygon

if TYPE_CHECKING:
    from pathlib import Path

    from invented_land import GroundArea
    from numpy.typing import NDArray

CRS = "EPSG:25832"
# The same stamp in every file, so that the same data give the same bytes.
STAMP = "2025-03-01T00:00:00.000Z"
TEXT_COLUMNS = ("feature_id", "kind", "name", "owner", "treatment", "shaft_allowed")
NUMBER_COLUMNS = (
    "min_cover_m", "min_angle_deg", "half_width_m", "depth_m", "diameter_m", "water_depth_m", "scour_m",
    "base_level_m",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Pin:
    """One agreed point: its role, how far it reaches [m] and where it is."""

    role: str
    radius_m: float
    geometry: Point


@dataclass(frozen=True, slots=True)
class Tables:
    """The vector layers of a corridor; `corridor` may be a polygon or, for a fixed alignment, a line."""

    corridor: Polygon | LineString
    axis: LineString | None
    features: list[Feature]
    ground: list[GroundArea]
    parcels: list[tuple[str, str, Polygon]]
    pins: list[Pin]
    flood_zones: list[tuple[float, Polygon]]


def write_tables(target: Path, tables: Tables) -> None:
    """Write the GeoPackage anew."""
    target.unlink(missing_ok=True)
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": STAMP})
    try:
        for name, frame, geometry_type in _layers(tables):
            pyogrio.write_dataframe(
                frame, target, layer=name, driver="GPKG", geometry_type=geometry_type, promote_to_multi=False,
                append=target.exists(),
            )  # fmt: skip
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def _layers(tables: Tables) -> list[tuple[str, gpd.GeoDataFrame, str]]:
    kind = tables.corridor.geom_type
    layers = [("corridor", _frame({"corridor_id": ["demo"]}, [tables.corridor]), kind)]
    if tables.axis is not None:
        ends = [Point(tables.axis.coords[0]), Point(tables.axis.coords[-1])]
        layers += [
            ("axis", _frame({}, [tables.axis]), "LineString"),
            ("terminals", _frame({"role": ["start", "end"]}, ends), "Point"),
        ]
    access = access_lines(tables.features)
    layers += [
        ("crossings", crossings_frame(tables.features), "Unknown"),
        (
            "access",
            _frame({}, access),
            "LineString",
        ),
    ]
    if tables.ground:
        layers.append(("ground", _ground_frame(tables.ground), "Polygon"))
    if tables.parcels:
        ids, owners, shapes = (list(column) for column in zip(*tables.parcels, strict=True))
        layers.append(("parcels", _frame({"parcel_id": ids, "owner": owners}, shapes), "Polygon"))
    if tables.flood_zones:
        levels, zones = (list(column) for column in zip(*tables.flood_zones, strict=True))
        layers.append(("flood_zones", _frame({"level_m": levels}, zones), "Polygon"))
    if tables.pins:
        columns = {"role": [p.role for p in tables.pins], "radius_m": [p.radius_m for p in tables.pins]}
        layers.append(("pins", _frame(columns, [p.geometry for p in tables.pins]), "Point"))
    return layers


def _frame(columns: dict[str, list[str] | list[float]], shapes: list[shapely.Geometry]) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(columns, geometry=shapes, crs=CRS)


def crossings_frame(features: list[Feature]) -> gpd.GeoDataFrame:
    """Return the layer ``crossings`` with every column that it may have, numbered kind by kind."""
    table = pd.DataFrame(
        {name: [getattr(feature, name, None) for feature in features] for name in TEXT_COLUMNS},
        dtype="string",
    )
    number = table.groupby("kind").cumcount() + 1
    table["feature_id"] = table["kind"].str.cat(number.astype("string").str.zfill(2), sep="-")
    for name in NUMBER_COLUMNS:
        table[name] = np.array([getattr(feature, name, None) for feature in features], dtype=np.float64)
    return gpd.GeoDataFrame(table, geometry=[feature.geometry for feature in features], crs=CRS)


def _ground_frame(ground: list[GroundArea]) -> gpd.GeoDataFrame:
    table = pd.DataFrame(
        {
            "soil": pd.array([part.soil for part in ground], dtype="string"),
            "groundwater_depth_m": [part.groundwater_depth_m for part in ground],
            "rock_depth_m": np.array([part.rock_depth_m for part in ground], dtype=np.float64),
            "rock_soil": pd.array([part.rock_soil for part in ground], dtype="string"),
        }
    )
    return gpd.GeoDataFrame(table, geometry=[part.geometry for part in ground], crs=CRS)


def write_terrain(
    target: Path, levels_m: NDArray[np.float32], box_m: tuple[float, float, float, float]
) -> None:
    """Write the elevations [m] of a box."""
    _write_raster(target, levels_m, box_m, predictor=3, nodata=-9999.0)


def write_cover(target: Path, codes: NDArray[np.uint8], box_m: tuple[float, float, float, float]) -> None:
    """Write the ground-cover codes of a box."""
    _write_raster(target, codes, box_m, predictor=2, nodata=0)


def _write_raster(
    target: Path,
    values: NDArray[np.float32] | NDArray[np.uint8],
    box_m: tuple[float, float, float, float],
    *,
    predictor: int,
    nodata: float,
) -> None:
    height, width = values.shape
    with rasterio.open(
        target, "w", driver="GTiff", height=height, width=width, count=1, dtype=values.dtype.name, crs=CRS,
        transform=from_bounds(*box_m, width, height), nodata=nodata, compress="deflate", zlevel=9,
        predictor=predictor, tiled=True, blockxsize=256, blockysize=256,
    ) as raster:  # fmt: skip
        raster.write(values, 1)
