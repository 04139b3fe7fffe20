"""Small corridors for the tests of this room."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS

from routescreen.corridor.burn import BurnInput, Burnt, burn
from routescreen.corridor.frame import Frame, build_frame
from routescreen.corridor.ground import GroundSampler, ground_on_frame
from routescreen.corridor.treatment import Crossings, resolve_crossings
from routescreen.project import CorridorInput, RasterGrid
from routescreen.schema.inputs import INPUT_LAYERS
from tests.narrow import load_narrow as load_assumptions

ASSUMPTIONS = load_assumptions()
AXIS = shapely.LineString([(0, 0), (400, 0)])
GRID_CRS = CRS.from_epsg(25833)
COLUMNS = {layer.name: [column.name for column in layer.columns] for layer in INPUT_LAYERS}


def table(layer: str, rows: list[dict]) -> gpd.GeoDataFrame:
    """A layer with all its columns from rows that name only what they set."""
    data = {name: [row.get(name) for row in rows] for name in COLUMNS[layer]}
    return gpd.GeoDataFrame(data, geometry=[row["geometry"] for row in rows], crs=GRID_CRS)


def corridor(outline=None, *, fixed_line=None, axis=None, start=None, end=None, **more) -> CorridorInput:
    """A corridor; `crossings`, `ground`, `access`, `pins` are lists of rows."""
    layers = {
        name: table(name, more.get(name, []))
        for name in ("crossings", "ground", "access", "parcels", "investigations", "pins")
    }
    return CorridorInput(
        corridor_id="A",
        crs=GRID_CRS,
        outline=outline,
        fixed_line=fixed_line,
        axis=axis,
        start=None if start is None else shapely.Point(start),
        end=None if end is None else shapely.Point(end),
        terrain=more.get("terrain"),
        ground_cover=more.get("ground_cover"),
        terrain_is_bed=more.get("terrain_is_bed", False),
        **layers,
    )


def crossing(kind: str, geometry, **own) -> dict:
    """A row of the crossings."""
    return {"kind": kind, "geometry": geometry, **own}


def strip(length_m=200.0, width_m=100.0):
    """A straight corridor along x, its middle on y = 0."""
    return shapely.box(0.0, -width_m / 2.0, length_m, width_m / 2.0)


def straight(*rows: dict, width_m=200.0, **more) -> CorridorInput:
    """A straight corridor of 400 m along the x axis with some crossings."""
    return corridor(strip(400.0, width_m), axis=AXIS, crossings=list(rows), **more)


def across(x_m: float) -> shapely.LineString:
    """A line square across that corridor and beyond it."""
    return shapely.LineString([(x_m, -150), (x_m, 150)])


def flat(level_m: float, *, pixel_m=10.0, west_m=-200.0, north_m=300.0, shape=(60, 80)) -> RasterGrid:
    """A level terrain."""
    return RasterGrid(np.full(shape, level_m), west_m, north_m, pixel_m, pixel_m)


def burnt_case(inp: CorridorInput, *, cell_m=10.0, assumptions=ASSUMPTIONS) -> tuple[Frame, Crossings, Burnt]:
    """Everything burnt onto the frame of a corridor."""
    frame = build_frame(inp, cell_m=cell_m)
    crossings = resolve_crossings(inp.crossings, assumptions)
    sampler = GroundSampler(inp, assumptions)
    ground = ground_on_frame(frame, sampler)
    return frame, crossings, burn(BurnInput(frame, inp, crossings, sampler, ground, assumptions))
