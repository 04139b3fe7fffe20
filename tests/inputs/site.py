"""A small site whose input is sound; each test spoils one thing.

The corridor is 1 000 m x 200 m, from x = 400 000 m, y = 5 900 000 m in UTM zone 33 (EPSG:25833), and the
terrain is x - 400 000 in metres / 100, so that expected values can be seen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import rasterio
from rasterio.transform import from_origin
from shapely import LineString, Point, box

from routescreen.errors import InputError, Problem
from routescreen.inputs import Sources, read_inputs

if TYPE_CHECKING:
    from pathlib import Path

    from routescreen.assumptions import Assumptions
    from routescreen.project import CorridorInput

CRS = "EPSG:25833"
WEST, SOUTH = 400_000.0, 5_900_000.0


def at(x_m: float, y_m: float) -> tuple[float, float]:
    """A place by its distance from the corridor's south-west corner."""
    return WEST + x_m, SOUTH + y_m


def line(*points: tuple[float, float]) -> LineString:
    return LineString([at(*point) for point in points])


def area(west: float, south: float, east: float, north: float) -> Any:
    return box(*at(west, south), *at(east, north))


def point(x_m: float, y_m: float) -> Point:
    return Point(at(x_m, y_m))


# A test's files need not survive a power cut, and waiting for the disk takes most of the time.
pyogrio.set_gdal_config_options({"OGR_SQLITE_SYNCHRONOUS": "OFF"})


class Site:
    """Files of one input in a folder of their own."""

    def __init__(self, folder: Path, assumptions: Assumptions) -> None:
        self.folder = folder
        self.assumptions = assumptions
        self.gpkg = folder / "corridor.gpkg"
        self.layer("corridor", [area(0, 0, 1000, 200)], corridor_id=["A"])
        self.layer("crossings", [line((500, -50), (500, 250))], kind=["road"])
        self.raster("terrain.tif", self.slope())

    def layer(
        self,
        name: str,
        shapes: list[Any],
        *,
        crs: str | None = CRS,
        file: str = "corridor.gpkg",
        **columns: Any,
    ) -> Path:
        """Write a layer anew."""
        path = self.folder / file
        frame = gpd.GeoDataFrame(columns, geometry=gpd.GeoSeries(shapes, crs=crs), crs=crs)
        pyogrio.write_dataframe(frame, path, layer=name)
        return path

    def slope(self, *, pixel_m: float = 10.0, around_m: float = 300.0) -> np.ndarray[Any, Any]:
        n_columns, n_rows = (int((size + 2 * around_m) / pixel_m) for size in (1000.0, 200.0))
        x = (np.arange(n_columns) + 0.5) * pixel_m - around_m
        return np.broadcast_to(x / 100.0, (n_rows, n_columns)).astype("float32").copy()

    def raster(
        self,
        file: str,
        values: np.ndarray[Any, Any],
        *,
        west: float = -300.0,
        north: float = 500.0,
        pixel_m: float = 10.0,
        crs: str | None = CRS,
        **options: Any,
    ) -> Path:
        """Write a raster whose upper left corner is given from the corridor's south-west corner."""
        x, y = at(west, north)
        profile = {
            "driver": "GTiff",
            "width": values.shape[1],
            "height": values.shape[0],
            "count": 1,
            "dtype": values.dtype,
            "crs": crs,
            "transform": from_origin(x, y, pixel_m, pixel_m),
        }
        path = self.folder / file
        with rasterio.open(path, "w", **(profile | options)) as dataset:
            dataset.write(values, 1)
        return path

    def read_all(self, **options: Any) -> tuple[CorridorInput, ...]:
        return read_inputs(Sources(self.gpkg, **options), self.assumptions)

    def read(self, **options: Any) -> CorridorInput:
        [only] = self.read_all(**options)
        return only

    def problems(self, **options: Any) -> tuple[Problem, ...]:
        """All problems of an input that must not be read."""
        with pytest.raises(InputError) as caught:
            self.read_all(**options)
        return caught.value.problems

    def problem(self, **options: Any) -> Problem:
        """The one problem of an input that must not be read; every problem has a remedy."""
        problems = self.problems(**options)
        assert len(problems) == 1, "\n".join(map(str, problems))
        assert problems[0].remedy
        return problems[0]

    def warning(self, part: str, **options: Any) -> str:
        """The one warning that has `part` in it."""
        found = [text for text in self.read(**options).warnings if part in text]
        assert len(found) == 1, found
        return found[0]
