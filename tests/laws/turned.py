"""The same invented corridor seen otherwise: from its other end, elsewhere, at another bearing."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Callable

    import geopandas as gpd
    from numpy.typing import NDArray

    from routescreen.project import CorridorInput, RasterGrid

LAYERS = ("crossings", "ground", "access", "parcels", "investigations", "pins")
SHAPES = ("outline", "fixed_line", "axis", "start", "end")


def from_the_other_end(corridor: CorridorInput) -> CorridorInput:
    """Return the corridor with start and end exchanged and its lines turned round."""
    return replace(
        corridor,
        start=corridor.end,
        end=corridor.start,
        axis=None if corridor.axis is None else shapely.reverse(corridor.axis),
        fixed_line=None if corridor.fixed_line is None else shapely.reverse(corridor.fixed_line),
    )


def shifted(corridor: CorridorInput, east_m: float, north_m: float) -> CorridorInput:
    """Return the corridor moved as a whole."""
    return _moved(
        corridor,
        lambda xy: xy + np.array([east_m, north_m]),
        lambda grid: replace(grid, west_m=grid.west_m + east_m, north_m=grid.north_m + north_m),
    )


def turned_left(corridor: CorridorInput) -> CorridorInput:
    """Return the corridor turned by a right angle about the origin, rasters and all."""
    return _moved(corridor, lambda xy: np.stack([-xy[:, 1], xy[:, 0]], axis=1), _grid_turned_left)


def _grid_turned_left(grid: RasterGrid) -> RasterGrid:
    east_m = grid.west_m + grid.values.shape[1] * grid.pixel_width_m
    return replace(
        grid,
        values=np.ascontiguousarray(np.rot90(grid.values)),
        west_m=-grid.north_m,
        north_m=east_m,
        pixel_width_m=grid.pixel_height_m,
        pixel_height_m=grid.pixel_width_m,
    )


def _moved(
    corridor: CorridorInput,
    move: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    move_grid: Callable[[RasterGrid], RasterGrid],
) -> CorridorInput:
    def layer(table: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
        moved = shapely.transform(table.geometry.to_numpy(), move)
        return table.set_geometry(moved, crs=table.crs)

    shapes = {name: getattr(corridor, name) for name in SHAPES}
    grids = {"terrain": corridor.terrain, "ground_cover": corridor.ground_cover}
    return replace(
        corridor,
        **{name: None if shape is None else shapely.transform(shape, move) for name, shape in shapes.items()},
        **{name: layer(getattr(corridor, name)) for name in LAYERS},
        **{name: None if grid is None else move_grid(grid) for name, grid in grids.items()},
    )
