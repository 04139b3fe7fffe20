"""What has been read for one corridor: tables and arrays, no paths.

Room: between ``inputs`` (which builds it) and ``corridor`` (which uses it). Pure data.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import geopandas as gpd
    import numpy as np
    from numpy.typing import NDArray
    from pyproj import CRS
    from shapely import LineString, Point, Polygon


@dataclass(frozen=True, slots=True)
class RasterGrid:
    """A north-up window of a raster in the project's CRS.

    Attributes
    ----------
    values : ndarray of shape (n_rows, n_columns)
        Row 0 is the northernmost. Terrain: float64, elevation [m], NaN where there is no data.
        Ground cover: int16, index into the assumptions' cover classes in their order.
    west_m, north_m : float
        Outer upper left corner of the upper left pixel [m].
    pixel_width_m, pixel_height_m : float
        Pixel size, both positive [m].
    """

    values: NDArray[Any]
    west_m: float
    north_m: float
    pixel_width_m: float
    pixel_height_m: float


@dataclass(frozen=True, slots=True)
class CorridorInput:
    """One candidate corridor with all that was read for it, in one projected CRS in metres.

    Exactly one of `outline` and `fixed_line` is given. Tables have the columns that
    ``schema.INPUT_LAYERS`` declares, all present, missing values None or NaN. `flood_zones` is None where
    the layer was not given: then nothing is known of floods.
    """

    corridor_id: str
    crs: CRS
    outline: Polygon | None
    fixed_line: LineString | None
    axis: LineString | None
    start: Point | None
    end: Point | None
    crossings: gpd.GeoDataFrame
    ground: gpd.GeoDataFrame
    access: gpd.GeoDataFrame
    parcels: gpd.GeoDataFrame
    investigations: gpd.GeoDataFrame
    pins: gpd.GeoDataFrame
    terrain: RasterGrid | None
    ground_cover: RasterGrid | None
    terrain_is_bed: bool = False
    flood_zones: gpd.GeoDataFrame | None = None
    warnings: tuple[str, ...] = ()
    provenance: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class GroundSamples:
    """What lies at n points; every array has shape (n,).

    Attributes
    ----------
    ground_m : ndarray of float64
        Elevation of the terrain model [m]; 0 on flat ground.
    cover_class, soil_class, rock_soil_class : ndarray of int16
        Indices into the assumptions' cover and soil classes in their order.
    groundwater_depth_m : ndarray of float64
        Depth of the groundwater below ground, >= 0 [m].
    rock_depth_m : ndarray of float64
        Depth of the rock head below ground, inf where there is none [m].
    access_distance_m : ndarray of float64
        Distance to the nearest road that carries plant [m].
    near_building : ndarray of bool
        Whether a building lies within the distance in which the working strip may narrow.
    """

    ground_m: NDArray[np.float64]
    cover_class: NDArray[np.int16]
    soil_class: NDArray[np.int16]
    rock_soil_class: NDArray[np.int16]
    groundwater_depth_m: NDArray[np.float64]
    rock_depth_m: NDArray[np.float64]
    access_distance_m: NDArray[np.float64]
    near_building: NDArray[np.bool_]
