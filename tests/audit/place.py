"""A small invented place for the audit's tests, and plans drawn on it by hand.

Flat ground at 50 m, cropland, corridor 1 500 m x 400 m along the x axis from (0, 0) to (1500, 0):

- x = 200: a minor road (line), may be cut;
- x = 600: a river (line, 15 m to each bank), may not be cut;
- x = 760: a gas pipeline (line), its top 1.0 m deep by record, 0.6 m thick;
- x 1000 to 1015, y 60 to 75: a building;
- x = 1200: a telecom cable, may be cut.

The correct plan: open cut, a two-pass drive from x = 520 to 800 under river and pipeline, open cut.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS
from shapely import LineString, Point, Polygon, box

from routescreen.plan import Drive, Plan, Shaft
from routescreen.project import CorridorInput, RasterGrid
from routescreen.schema.inputs import INPUTS_BY_NAME

GROUND_M = 50.0
SUMP_M = 0.6
STEP_M = 0.25
RECEPTION_M = 5.0  # length of a two-pass reception shaft
BORE_M = {"two_pass": 0.56, "guided_thrust": 0.34, "enterable": 2.06}
CROPLAND, WATER = 0, 9
CRS_METRES = CRS.from_epsg(25832)


def layer(name: str, rows: list[dict[str, object]], geometry: list[shapely.Geometry]) -> gpd.GeoDataFrame:
    """Return an input layer with all its columns, missing values None or NaN."""
    columns: dict[str, object] = {}
    for column in INPUTS_BY_NAME[name].columns:
        missing = math.nan if column.type == "real" else None
        values = [row.get(column.name, missing) for row in rows]
        columns[column.name] = np.array(values, dtype=float if column.type == "real" else object)
    return gpd.GeoDataFrame(columns, geometry=gpd.GeoSeries(geometry, crs=CRS_METRES), crs=CRS_METRES)


def crossing(
    kind: str, geometry: shapely.Geometry, **own: object
) -> tuple[dict[str, object], shapely.Geometry]:
    """Return one feature: its row and its geometry."""
    return {"kind": kind, "feature_id": own.pop("feature_id", kind), **own}, geometry


def across(x_m: float, *, lean_m: float = 0.0) -> LineString:
    """Return a line from side to side of the corridor through (x, 0)."""
    return LineString([(x_m - lean_m, -300.0), (x_m + lean_m, 300.0)])


FEATURES = (
    crossing("road", across(200.0)),
    crossing("river", across(600.0), name="Alder"),
    crossing("gas_pipeline", across(760.0), depth_m=1.0, diameter_m=0.6),
    crossing("building", box(1000.0, 60.0, 1015.0, 75.0)),
    crossing("telecom", across(1200.0)),
)


def crossings(*features: tuple[dict[str, object], shapely.Geometry]) -> gpd.GeoDataFrame:
    """Return features as the layer of crossings."""
    return layer("crossings", [row for row, _ in features], [geometry for _, geometry in features])


def raster(value: float, *, dtype: str = "float64") -> RasterGrid:
    """Return a raster of one value over the place and 300 m round it, pixels of 10 m."""
    values = np.full((100, 210), value, dtype=dtype)
    return RasterGrid(values, west_m=-300.0, north_m=500.0, pixel_width_m=10.0, pixel_height_m=10.0)


def place(*extra: tuple[dict[str, object], shapely.Geometry]) -> CorridorInput:
    """Return the place with further features."""
    return CorridorInput(
        corridor_id="demo",
        crs=CRS_METRES,
        outline=box(0.0, -200.0, 1500.0, 200.0),
        fixed_line=None,
        axis=LineString([(0.0, 0.0), (1500.0, 0.0)]),
        start=Point(0.0, 0.0),
        end=Point(1500.0, 0.0),
        crossings=crossings(*FEATURES, *extra),
        ground=layer("ground", [], []),
        access=layer("access", [], []),
        parcels=layer("parcels", [], []),
        investigations=layer("investigations", [], []),
        pins=layer("pins", [], []),
        terrain=raster(GROUND_M),
        ground_cover=raster(CROPLAND, dtype="int16"),
    )


def with_pin(inp: CorridorInput, role: str, x_m: float, y_m: float, radius_m: float) -> CorridorInput:
    """Return the place with one pin."""
    pins = layer("pins", [{"role": role, "radius_m": radius_m}], [Point(x_m, y_m)])
    return replace(inp, pins=pins)


def with_ground(inp: CorridorInput, area: Polygon, **row: object) -> CorridorInput:
    """Return the place with one polygon of ground."""
    return replace(inp, ground=layer("ground", [dict(row)], [area]))


def with_cover(inp: CorridorInput, area: Polygon, cover_class: int) -> CorridorInput:
    """Return the place with the pixels whose middle lies in an area set to another cover class."""
    grid = inp.ground_cover
    assert grid is not None
    rows, columns = np.indices(grid.values.shape)
    x = grid.west_m + (columns + 0.5) * grid.pixel_width_m
    y = grid.north_m - (rows + 0.5) * grid.pixel_height_m
    values = np.where(shapely.intersects_xy(area, x, y), cover_class, grid.values).astype("int16")
    return replace(inp, ground_cover=replace(grid, values=values))


@dataclass(frozen=True, slots=True)
class Run:
    """One drive of a hand-made plan: the vertex it leaves from, its crowns, its method, its launch."""

    vertex: int
    lower_crown_m: float = 44.0
    upper_crown_m: float = 44.0
    method: str = "two_pass"
    is_launched_at_lower: bool = True


def plan(
    xy_m: list[tuple[float, float]],
    *runs: Run,
    depth_m: dict[int, float] | None = None,
    narrow: tuple[int, ...] = (),
    ground_m: float = GROUND_M,
) -> Plan:
    """Return a plan with shafts as deep as their drives need, or as `depth_m` says by shaft."""
    vertices = sorted({v for run in runs for v in (run.vertex, run.vertex + 1)})
    shaft_at = {vertex: index for index, vertex in enumerate(vertices)}
    drives = tuple(
        Drive(
            method=run.method,
            lower_shaft=shaft_at[run.vertex],
            upper_shaft=shaft_at[run.vertex + 1],
            is_launched_at_lower=run.is_launched_at_lower,
            lower_crown_m=run.lower_crown_m,
            upper_crown_m=run.upper_crown_m,
            from_vertex=run.vertex,
            to_vertex=run.vertex + 1,
            layout_xy_m=_layout(xy_m[run.vertex], xy_m[run.vertex + 1], run),
        )
        for run in runs
    )
    shafts = tuple(_shaft(xy_m[v], v, runs, ground_m, (depth_m or {}).get(shaft_at[v])) for v in vertices)
    driven = {run.vertex for run in runs}
    pieces = range(len(xy_m) - 1)
    return Plan(
        corridor_id="demo",
        alignment_xy_m=np.array(xy_m, dtype=float),
        is_drive=np.array([piece in driven for piece in pieces]),
        is_narrow=np.array([piece in narrow for piece in pieces]),
        drives=drives,
        shafts=shafts,
        objective_eur=0.0,
    )


def _layout(
    lower_m: tuple[float, float], upper_m: tuple[float, float], run: Run
) -> tuple[tuple[float, float], ...]:
    """Return the middle of the strips: in one piece, straight, 20 m longer than the drive."""
    if run.method != "two_pass":
        return ()
    ends = np.array([lower_m, upper_m] if run.is_launched_at_lower else [upper_m, lower_m])
    length_m = math.hypot(*(ends[1] - ends[0]))
    along = (ends[1] - ends[0]) / length_m
    true_m = math.hypot(length_m, run.upper_crown_m - run.lower_crown_m)
    begin = ends[1] + RECEPTION_M / 2.0 * along
    return tuple(map(tuple, (begin, begin + (true_m + 20.0) * along)))


def _shaft(
    xy_m: tuple[float, float], vertex: int, runs: tuple[Run, ...], ground_m: float, depth_m: float | None
) -> Shaft:
    incoming = next((i for i, run in enumerate(runs) if run.vertex + 1 == vertex), None)
    outgoing = next((i for i, run in enumerate(runs) if run.vertex == vertex), None)
    crowns = [runs[incoming].upper_crown_m - BORE_M[runs[incoming].method]] if incoming is not None else []
    crowns += [runs[outgoing].lower_crown_m - BORE_M[runs[outgoing].method]] if outgoing is not None else []
    need_m = ground_m - min(crowns) + SUMP_M
    rounded_m = math.ceil(round(need_m / STEP_M, 6)) * STEP_M
    return Shaft(xy_m, ground_m, rounded_m if depth_m is None else depth_m, incoming, outgoing)


STRAIGHT = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1500.0, 0.0)]


def correct_plan() -> Plan:
    """Return the plan that breaks nothing."""
    return plan(STRAIGHT, Run(1))
