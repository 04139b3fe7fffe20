"""What lies at a point, read straight from the rasters and polygons of the input.

Room: ``audit``. May use ``project``, ``assumptions``, ``drives`` (the trench's width), numpy and shapely. It
reads the rasters by a bilinear rule and a pixel look-up of its own, so that a slip in the frame's sampling
shows here.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.drives.open_cut import widest_band_m
from routescreen.project import GroundSamples

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.project import CorridorInput, RasterGrid

FAR_M = 1e9


@dataclass(frozen=True, slots=True)
class ZonesAt:
    """The ground polygons at `n_points` points: arrays of equal shape, one entry for each that holds one."""

    n_points: int
    point: NDArray[np.int64]
    zone: NDArray[np.int64]

    def uppermost(self, has_value: NDArray[np.bool_]) -> NDArray[np.int64]:
        """Return the uppermost polygon with a value at each point, -1 where there is none."""
        found = np.full(self.n_points, -1, dtype=np.int64)
        is_given = has_value[self.zone]
        np.maximum.at(found, self.point[is_given], self.zone[is_given])
        return found


@dataclass(frozen=True, slots=True)
class Trees:
    """What finds the ground polygons, roads and buildings near a place."""

    zones: shapely.STRtree
    roads: shapely.STRtree
    buildings: shapely.STRtree


@dataclass(frozen=True, slots=True)
class TrueGround:
    """The ground of one corridor as the input has it; ask it with XY points.

    Attributes
    ----------
    terrain, ground_cover : RasterGrid or None
        None: flat ground at level 0, and all cover unknown.
    unknown_cover, default_soil, default_rock_soil : int
        Class indices where nothing is said.
    default_groundwater_depth_m : float
    zones : ndarray of object, shape (n,)
        Polygons of the ground layer; a later one lies over an earlier one.
    zone_soil, zone_rock_soil : ndarray of int64, shape (n,)
        Class indices, -1 where the polygon says nothing.
    zone_groundwater_m, zone_rock_m : ndarray of shape (n,)
        Depths, NaN where the polygon says nothing [m].
    roads, buildings : ndarray of object
        Geometries from which distances are measured.
    narrow_within_m : float
        Distance to a building within which the working strip may narrow [m].
    trees : Trees
        Planted once: every shaft and every section asks for them.
    """

    terrain: RasterGrid | None
    ground_cover: RasterGrid | None
    unknown_cover: int
    default_soil: int
    default_rock_soil: int
    default_groundwater_depth_m: float
    zones: NDArray[np.object_]
    zone_soil: NDArray[np.int64]
    zone_rock_soil: NDArray[np.int64]
    zone_groundwater_m: NDArray[np.float64]
    zone_rock_m: NDArray[np.float64]
    roads: NDArray[np.object_]
    buildings: NDArray[np.object_]
    narrow_within_m: float
    trees: Trees = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        trees = Trees(*map(shapely.STRtree, (self.zones, self.roads, self.buildings)))
        object.__setattr__(self, "trees", trees)

    def level_m(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the terrain level at points (n, 2), NaN where the raster has none [m]."""
        if self.terrain is None:
            return np.zeros(len(xy_m))
        return bilinear(self.terrain, xy_m)

    def cover_class(self, xy_m: NDArray[np.float64]) -> NDArray[np.int16]:
        """Return the cover class of the pixel that holds each point (n, 2)."""
        classes = np.full(len(xy_m), self.unknown_cover, dtype=np.int16)
        if self.ground_cover is None:
            return classes
        row, column, is_inside = pixel_of(self.ground_cover, xy_m)
        values = self.ground_cover.values[row[is_inside], column[is_inside]]
        classes[is_inside] = np.where(values >= 0, values, self.unknown_cover)
        return classes

    def zones_at(self, xy_m: NDArray[np.float64]) -> ZonesAt:
        """Return the ground polygons at points (n, 2)."""
        at_point, zone = self.trees.zones.query(shapely.points(xy_m), predicate="intersects")
        return ZonesAt(len(xy_m), at_point, zone)

    def soil_class(self, at: ZonesAt) -> NDArray[np.int16]:
        """Return the soil class above the rock."""
        zone = at.uppermost(self.zone_soil >= 0)
        return _chosen(zone, self.zone_soil, self.default_soil).astype(np.int16)

    def groundwater_depth_m(self, at: ZonesAt) -> NDArray[np.float64]:
        """Return the depth of the groundwater below ground [m]."""
        zone = at.uppermost(~np.isnan(self.zone_groundwater_m))
        return _chosen(zone, self.zone_groundwater_m, self.default_groundwater_depth_m)

    def rock(self, at: ZonesAt) -> tuple[NDArray[np.float64], NDArray[np.int16]]:
        """Return the depth of the rock head [m], inf without rock, and the soil class of the rock."""
        depth_m = _chosen(at.uppermost(~np.isnan(self.zone_rock_m)), self.zone_rock_m, np.inf)
        zone = at.uppermost(self.zone_rock_soil >= 0)
        return depth_m, _chosen(zone, self.zone_rock_soil, self.default_rock_soil).astype(np.int16)

    def access_distance_m(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the distance to the nearest road, 0 where no road is known at all [m]."""
        return distance_to_m(self.trees.roads, xy_m) if len(self.roads) else np.zeros(len(xy_m))

    def building_distance_m(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the distance to the nearest building, `FAR_M` without any [m]."""
        return distance_to_m(self.trees.buildings, xy_m)

    def band_width_m(self, assumptions: Assumptions) -> float:
        """Return the width of the band of all trenches, in that soil of the layer that asks for most [m]."""
        is_there = ~(shapely.is_missing(self.zones) | shapely.is_empty(self.zones))
        soils = np.append(self.zone_soil[is_there & (self.zone_soil >= 0)], self.default_soil)
        rocks = np.append(self.zone_rock_soil[is_there & (self.zone_rock_soil >= 0)], self.default_rock_soil)
        has_rock = bool(np.any(self.zone_rock_m[is_there] < assumptions.trench_depth_m))
        return widest_band_m(soils, rocks if has_rock else [], assumptions)

    def samples(self, xy_m: NDArray[np.float64], *, with_surroundings: bool = True) -> GroundSamples:
        """Return all that lies at points (n, 2).

        Without surroundings the way to the nearest road is not known (NaN) and no building is near; looking
        for them takes longer than all else.
        """
        zones = self.zones_at(xy_m)
        rock_depth_m, rock_soil = self.rock(zones)
        return GroundSamples(
            ground_m=self.level_m(xy_m),
            cover_class=self.cover_class(xy_m),
            soil_class=self.soil_class(zones),
            rock_soil_class=rock_soil,
            groundwater_depth_m=self.groundwater_depth_m(zones),
            rock_depth_m=rock_depth_m,
            access_distance_m=self.access_distance_m(xy_m)
            if with_surroundings
            else np.full(len(xy_m), np.nan),
            near_building=(
                self.building_distance_m(xy_m) <= self.narrow_within_m
                if with_surroundings
                else np.zeros(len(xy_m), np.bool_)
            ),
        )


def _chosen(zone: NDArray[np.int64], values: NDArray[np.generic], default: float) -> NDArray[np.float64]:
    """Return the value of each point's polygon, the default where it has none."""
    if len(values) == 0:
        return np.full(len(zone), float(default))
    return np.where(zone >= 0, values[np.maximum(zone, 0)].astype(np.float64), float(default))


def bilinear(grid: RasterGrid, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Interpolate between the centres of the four pixels round each point.

    Within half a pixel of the raster's edge the edge value holds; outside the raster, and beside a
    pixel without data that has a say, the answer is NaN.

    Parameters
    ----------
    grid : RasterGrid
    xy_m : ndarray of shape (n, 2)

    Returns
    -------
    ndarray of shape (n,)
    """
    n_rows, n_columns = grid.values.shape
    across = (xy_m[:, 0] - grid.west_m) / grid.pixel_width_m
    down = (grid.north_m - xy_m[:, 1]) / grid.pixel_height_m
    is_inside = (across >= 0) & (across <= n_columns) & (down >= 0) & (down <= n_rows)
    column = np.clip(np.where(is_inside, across, 0.0) - 0.5, 0.0, n_columns - 1.0)
    row = np.clip(np.where(is_inside, down, 0.0) - 0.5, 0.0, n_rows - 1.0)
    value = _mix(grid.values, row, column)
    return np.where(is_inside, value, np.nan)


def _mix(
    values: NDArray[np.float64], row: NDArray[np.float64], column: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Weigh the four neighbours of fractional pixel positions; a weight of 0 has no say."""
    total = np.zeros(len(row))
    for row_side in (0, 1):
        for column_side in (0, 1):
            r = np.minimum(np.floor(row).astype(np.int64) + row_side, values.shape[0] - 1)
            c = np.minimum(np.floor(column).astype(np.int64) + column_side, values.shape[1] - 1)
            row_share = row % 1.0 if row_side else 1.0 - row % 1.0
            column_share = column % 1.0 if column_side else 1.0 - column % 1.0
            weight = row_share * column_share
            total += np.where(weight > 0.0, weight * values[r, c], 0.0)
    return total


def pixel_of(
    grid: RasterGrid, xy_m: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]:
    """Return row, column and whether the raster holds each point (n, 2)."""
    n_rows, n_columns = grid.values.shape
    column = np.floor((xy_m[:, 0] - grid.west_m) / grid.pixel_width_m).astype(np.int64)
    row = np.floor((grid.north_m - xy_m[:, 1]) / grid.pixel_height_m).astype(np.int64)
    is_inside = (row >= 0) & (row < n_rows) & (column >= 0) & (column < n_columns)
    return row, column, is_inside


def boxes_of_classes(ground: TrueGround, area: shapely.Geometry, classes: list[int]) -> NDArray[np.object_]:
    """Return the ground within an area that has one of some cover classes, as whole pixels.

    What lies outside the raster, or has no value in it, is of the unknown class.

    Parameters
    ----------
    ground : TrueGround
    area : Geometry
    classes : list of int

    Returns
    -------
    ndarray of object
        Boxes of the pixels that meet the area, and the part of it outside the raster.
    """
    grid = ground.ground_cover
    outside = area if grid is None else shapely.difference(area, _extent(grid))
    is_outside = ground.unknown_cover in classes and not shapely.is_empty(outside)
    found = [outside] if is_outside else []
    if grid is not None:
        found += _pixel_boxes(grid, area, ground.unknown_cover, classes)
    boxes = np.empty(len(found), dtype=np.object_)
    boxes[:] = found
    return boxes


def may_hold_classes(ground: TrueGround, areas: NDArray[np.object_], classes: list[int]) -> NDArray[np.bool_]:
    """Return which areas may have ground of some cover classes: by their bounds, in doubt yes.

    What lies outside the raster, or has no value in it, is of the unknown class.

    Parameters
    ----------
    ground : TrueGround
    areas : ndarray of object, shape (n,)
    classes : list of int

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    grid, is_unknown = ground.ground_cover, ground.unknown_cover in classes
    if grid is None:
        return np.full(len(areas), is_unknown)
    n_rows, n_columns = grid.values.shape
    west_m, south_m, east_m, north_m = np.nan_to_num(shapely.bounds(areas)).T
    row, column, is_corner_inside = pixel_of(
        grid, np.column_stack([np.r_[west_m, east_m], np.r_[north_m, south_m]])
    )
    # a pixel more each way: corners may lie on the edges of pixels
    top, bottom = (np.clip(part, 0, n_rows) for part in (row[: len(areas)] - 1, row[len(areas) :] + 2))
    left, right = (
        np.clip(part, 0, n_columns) for part in (column[: len(areas)] - 1, column[len(areas) :] + 2)
    )
    if len(areas) == 0:
        return np.zeros(0, np.bool_)
    first_row, first_column = top.min(), left.min()  # of a long corridor only what these areas lie in
    values = grid.values[first_row : bottom.max(), first_column : right.max()]
    top, bottom, left, right = top - first_row, bottom - first_row, left - first_column, right - first_column
    is_held = np.isin(np.where(values >= 0, values, ground.unknown_cover), classes)
    total = np.zeros((values.shape[0] + 1, values.shape[1] + 1), np.int64)
    total[1:, 1:] = is_held.cumsum(axis=0).cumsum(axis=1)
    count = total[bottom, right] - total[top, right] - total[bottom, left] + total[top, left]
    is_outside = ~is_corner_inside.reshape(2, -1).all(axis=0)
    return np.asarray((count > 0) | (is_unknown & is_outside))


def _extent(grid: RasterGrid) -> shapely.Polygon:
    n_rows, n_columns = grid.values.shape
    east_m = grid.west_m + n_columns * grid.pixel_width_m
    south_m = grid.north_m - n_rows * grid.pixel_height_m
    return shapely.box(grid.west_m, south_m, east_m, grid.north_m)


def _pixel_boxes(
    grid: RasterGrid, area: shapely.Geometry, unknown: int, classes: list[int]
) -> list[shapely.Geometry]:
    """Return the pixels of some classes that meet an area."""
    west_m, south_m, east_m, north_m = shapely.bounds(area)
    corners = np.array([[west_m, north_m], [east_m, south_m]])
    n_rows, n_columns = grid.values.shape
    row, column, _ = pixel_of(grid, corners)
    rows = slice(max(int(row[0]) - 1, 0), max(min(int(row[1]) + 2, n_rows), 0))
    columns = slice(max(int(column[0]) - 1, 0), max(min(int(column[1]) + 2, n_columns), 0))
    values = grid.values[rows, columns]
    r, c = np.nonzero(np.isin(np.where(values >= 0, values, unknown), classes))
    x_m = grid.west_m + (c + columns.start) * grid.pixel_width_m
    y_m = grid.north_m - (r + rows.start) * grid.pixel_height_m
    boxes = shapely.box(x_m, y_m - grid.pixel_height_m, x_m + grid.pixel_width_m, y_m)
    return list(boxes[shapely.intersects(boxes, area)])


def distance_to_m(targets: shapely.STRtree, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the distance from each point (n, 2) to the nearest target, `FAR_M` without targets [m]."""
    if len(targets.geometries) == 0 or len(xy_m) == 0:
        return np.full(len(xy_m), FAR_M)
    points = shapely.points(xy_m)
    nearest = targets.geometries[targets.nearest(points)]
    return np.asarray(shapely.distance(points, nearest), dtype=np.float64)


def lowest_within_m(ground: TrueGround, xy_m: NDArray[np.float64], radius_m: float) -> NDArray[np.float64]:
    """Return the lowest terrain within a radius of each point [m].

    Between pixel middles the terrain has no lowest point of its own, so the pixel middles within the
    radius, the circle and the point itself decide.

    Parameters
    ----------
    ground : TrueGround
    xy_m : ndarray of shape (n, 2)
    radius_m : float

    Returns
    -------
    ndarray of shape (n,)
        NaN only where the point itself has no level.
    """
    grid = ground.terrain
    if grid is None:
        return np.zeros(len(xy_m))
    step_m = min(grid.pixel_width_m, grid.pixel_height_m)
    angle = np.linspace(
        0.0, 2.0 * np.pi, max(16, int(np.ceil(2.0 * np.pi * radius_m / step_m))), endpoint=False
    )
    circle = radius_m * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    lowest = ground.level_m(xy_m)
    for index, point in enumerate(xy_m):
        around = np.concatenate([point + circle, _pixel_middles(grid, point, radius_m)])
        lowest[index] = min(lowest[index], np.nanmin(np.append(ground.level_m(around), np.inf)))
    return lowest


def _pixel_middles(grid: RasterGrid, point: NDArray[np.float64], radius_m: float) -> NDArray[np.float64]:
    """Return the middles of the pixels within a radius of a point, (k, 2) [m]."""
    n_rows, n_columns = grid.values.shape
    x = grid.west_m + (np.arange(n_columns) + 0.5) * grid.pixel_width_m
    y = grid.north_m - (np.arange(n_rows) + 0.5) * grid.pixel_height_m
    x, y = x[np.abs(x - point[0]) <= radius_m], y[np.abs(y - point[1]) <= radius_m]
    middles = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    return np.asarray(middles[np.hypot(*(middles - point).T) <= radius_m], dtype=np.float64)


def true_ground(inp: CorridorInput, assumptions: Assumptions) -> TrueGround:
    """Take the rasters, the ground polygons, roads and buildings of the input.

    Parameters
    ----------
    inp : CorridorInput
    assumptions : Assumptions

    Returns
    -------
    TrueGround
    """
    soils = list(assumptions.soil)
    zones = inp.ground
    return TrueGround(
        terrain=inp.terrain,
        ground_cover=inp.ground_cover,
        unknown_cover=list(assumptions.cover).index(assumptions.default_cover),
        default_soil=soils.index(assumptions.default_soil),
        default_rock_soil=soils.index(assumptions.default_rock_soil),
        default_groundwater_depth_m=assumptions.groundwater.default_depth_m,
        zones=np.asarray(zones.geometry.array, dtype=np.object_),
        zone_soil=_class_indices(zones, "soil", soils),
        zone_rock_soil=_class_indices(zones, "rock_soil", soils),
        zone_groundwater_m=np.asarray(zones["groundwater_depth_m"], dtype=np.float64),
        zone_rock_m=np.asarray(zones["rock_depth_m"], dtype=np.float64),
        roads=_roads(inp),
        buildings=_of_kinds(inp.crossings, ("building",)),
        narrow_within_m=assumptions.trench.narrow_within_m,
    )


def _class_indices(zones: gpd.GeoDataFrame, column: str, classes: list[str]) -> NDArray[np.int64]:
    names = zones[column].tolist()
    return np.array([classes.index(name) if name in classes else -1 for name in names], dtype=np.int64)


def _roads(inp: CorridorInput) -> NDArray[np.object_]:
    """Return what carries plant: the access layer, else the roads and tracks among the crossings.

    Lines piece by piece: the nearest of short ones is found sooner.
    """
    given = np.asarray(inp.access.geometry.array, dtype=np.object_)
    roads = given if len(given) else _of_kinds(inp.crossings, ("main_road", "road", "track"))
    parts = shapely.get_parts(roads)
    is_line = shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING
    xy_m, line = shapely.get_coordinates(parts[is_line], return_index=True)
    ends_m = np.stack([xy_m[:-1], xy_m[1:]], axis=1)[line[1:] == line[:-1]]
    return np.concatenate([np.asarray(shapely.linestrings(ends_m), dtype=np.object_), parts[~is_line]])


def _of_kinds(crossings: gpd.GeoDataFrame, kinds: tuple[str, ...]) -> NDArray[np.object_]:
    is_kind = np.asarray(crossings["kind"].isin(kinds), dtype=np.bool_)
    return np.asarray(crossings.geometry.array, dtype=np.object_)[is_kind]
