"""What lies at any point of the corridor: terrain, ground cover, soil, water, rock, access.

Room: ``corridor``. Arrays and tables in, arrays out; imports ``errors``, ``project``, ``assumptions``
and the frame.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from scipy.ndimage import minimum_filter1d

from routescreen.corridor import shapes
from routescreen.corridor.frame import to_xy
from routescreen.errors import InputError, Problem
from routescreen.project import GroundSamples

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.frame import Frame
    from routescreen.project import CorridorInput, RasterGrid

ROAD_KINDS = ("main_road", "road", "track")  # what plant may drive on where no access layer is given
BUILDING_KIND = "building"
LEAST_SAMPLES_PER_CELL = 5  # each way, corners included
_COLUMNS_AT_A_TIME = 256


class GroundSampler:
    """Answers what lies at points, from the tables and rasters of one corridor.

    Parameters
    ----------
    corridor : CorridorInput
    assumptions : Assumptions

    Attributes
    ----------
    warnings : tuple of str
        What had to be assumed for want of data.
    """

    def __init__(self, corridor: CorridorInput, assumptions: Assumptions) -> None:
        self._corridor_id = corridor.corridor_id
        self._terrain = corridor.terrain
        self._cover = corridor.ground_cover
        self._default_cover = assumptions.cover_names.index(assumptions.default_cover)
        self._ground = _GroundPolygons.of(corridor.ground, assumptions)
        self._access = shapely.STRtree(_access_lines(corridor))
        is_building = (corridor.crossings["kind"] == BUILDING_KIND).to_numpy(dtype=np.bool_)
        self._buildings = shapely.STRtree(_present(corridor.crossings.geometry.to_numpy()[is_building]))
        self._near_m = assumptions.trench.narrow_within_m
        self.warnings: tuple[str, ...] = ()
        if len(self._access.geometries) == 0:
            self.warnings = ("No road that carries plant is known: access roads are taken as 0 m long.",)

    @property
    def terrain_pixel_m(self) -> float:
        """Size of a terrain pixel [m]; infinite on flat ground."""
        grid = self._terrain
        return np.inf if grid is None else min(grid.pixel_width_m, grid.pixel_height_m)

    def sample(self, xy_m: NDArray[np.float64]) -> GroundSamples:
        """Return what lies at points.

        Parameters
        ----------
        xy_m : ndarray of shape (n, 2)

        Returns
        -------
        GroundSamples

        Raises
        ------
        InputError
            If the terrain has no value at a point.
        """
        ground_m = self.terrain_m(xy_m)
        if np.isnan(ground_m).any():
            raise self.no_terrain(xy_m[np.isnan(ground_m)])
        points = shapes.points(xy_m)
        soil, water_m, rock_m, rock_soil = self._ground.at(points)
        return GroundSamples(
            ground_m=ground_m,
            cover_class=self.cover_class(xy_m),
            soil_class=soil,
            rock_soil_class=rock_soil,
            groundwater_depth_m=water_m,
            rock_depth_m=rock_m,
            access_distance_m=_nearest_distance_m(self._access, points),
            near_building=_is_within(self._buildings, points, self._near_m),
        )

    def terrain_m(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the terrain by bilinear interpolation; NaN where it has no value [m]."""
        if self._terrain is None:
            return np.zeros(len(xy_m))
        return bilinear(self._terrain, xy_m)

    def lowest_near_m(self, xy_m: NDArray[np.float64], within_m: float) -> NDArray[np.float64]:
        """Return the terrain at points, or that of a pixel's middle beside them where it is lower and near.

        Interpolated terrain is lowest in the middle of a pixel, so samples that are no further apart
        than `within_m` miss no pit. inf where there is no value [m].
        """
        level_m = self.terrain_m(xy_m)
        if self._terrain is not None:
            level_m = np.fmin(level_m, lowest_middle(self._terrain, xy_m, within_m))
        return np.where(np.isnan(level_m), np.inf, level_m)

    def cover_class(self, xy_m: NDArray[np.float64]) -> NDArray[np.int16]:
        """Return the cover class of the pixel that each point lies in; the default outside the raster."""
        classes = np.full(len(xy_m), self._default_cover, dtype=np.int16)
        if self._cover is None:
            return classes
        row, column, is_inside = _pixel_of(self._cover, xy_m)
        found = self._cover.values[row[is_inside], column[is_inside]]
        classes[is_inside] = np.where(found >= 0, found, self._default_cover)
        return classes

    def below_at(
        self, xy_m: NDArray[np.float64]
    ) -> tuple[NDArray[np.int16], NDArray[np.float64], NDArray[np.float64], NDArray[np.int16]]:
        """Return what the ground layer says at points, terrain or not.

        Parameters
        ----------
        xy_m : ndarray of shape (n, 2)

        Returns
        -------
        soil_class, groundwater_depth_m, rock_depth_m, rock_soil_class : ndarray of shape (n,)
            As in `GroundSamples`.
        """
        return self._ground.at(shapes.points(xy_m))

    def cover_raster(self) -> tuple[RasterGrid | None, int]:
        """Return the raster of cover classes, gaps filled with the default class, and that class."""
        if self._cover is None:
            return None, self._default_cover
        values = np.where(self._cover.values >= 0, self._cover.values, self._default_cover)
        return replace(self._cover, values=values), self._default_cover

    def cover_boxes(self, is_in_class: NDArray[np.bool_]) -> NDArray[np.object_]:
        """Return boxes that together make up the pixels of some cover classes.

        Parameters
        ----------
        is_in_class : ndarray of bool, shape (n_classes,)

        Returns
        -------
        ndarray of Polygon, shape (n,)
            Neighbours in a row share a box. Empty where there is no ground cover.
        """
        if self._cover is None:
            return np.zeros(0, dtype=object)
        values = np.where(self._cover.values >= 0, self._cover.values, self._default_cover)
        return _run_boxes(self._cover, is_in_class[values])

    def ground_polygons(self) -> tuple[NDArray[np.object_], NDArray[np.int16], NDArray[np.float64]]:
        """Return the polygons of the ground layer, their soil (-1: none) and rock depth (NaN: none) [m]."""
        return self._ground.tree.geometries, self._ground.soil, self._ground.rock_depth_m

    def warn(self, text: str) -> None:
        """Add a warning, once."""
        if text not in self.warnings:
            self.warnings = (*self.warnings, text)

    def no_terrain(self, xy_m: NDArray[np.float64]) -> InputError:
        """Return the error that names where the terrain has no value."""
        text = (
            f"The terrain has no value at {len(xy_m)} points of the corridor, "
            f"the first at {xy_m[0, 0]:.1f}, {xy_m[0, 1]:.1f}."
        )
        remedy = "Give a terrain model without gaps that covers the corridor."
        return InputError([Problem(problem=text, remedy=remedy, layer="terrain", feature=self._corridor_id)])


@dataclass(frozen=True, slots=True)
class FrameGround:
    """What lies on the frame.

    Attributes
    ----------
    node : GroundSamples
        At each node, arrays of shape (nx, ny); `ground_m` is NaN at nodes outside the corridor.
    lowest_ground_m : ndarray of shape (nx, ny)
        Lowest terrain anywhere in the cell [m]; NaN outside the corridor.
    """

    node: GroundSamples
    lowest_ground_m: NDArray[np.float64]


def ground_on_frame(frame: Frame, sampler: GroundSampler) -> FrameGround:
    """Bring everything about the ground onto the frame.

    Parameters
    ----------
    frame : Frame
    sampler : GroundSampler

    Returns
    -------
    FrameGround

    Raises
    ------
    InputError
        If the terrain has no value at a node of the corridor.
    """
    is_valid = frame.is_valid
    samples = sampler.sample(frame.node_xy_m[is_valid])
    blank = {"ground_m": np.nan, "groundwater_depth_m": 0.0, "rock_depth_m": np.inf, "access_distance_m": 0.0}
    arrays: dict[str, NDArray[Any]] = {}
    for name in GroundSamples.__slots__:
        values = getattr(samples, name)
        arrays[name] = np.full(is_valid.shape, blank.get(name, 0), dtype=values.dtype)
        arrays[name][is_valid] = values
    lowest_m = lowest_ground_m(frame, sampler, along_m=0.0, across_m=0.0)
    return FrameGround(node=GroundSamples(**arrays), lowest_ground_m=lowest_m)


def lowest_ground_m(
    frame: Frame, sampler: GroundSampler, *, along_m: float, across_m: float
) -> NDArray[np.float64]:
    """Return the lowest terrain in each cell widened along and across the axis.

    The terrain is sampled at least at its own resolution and at least 5 x 5 times a cell, corners
    included, and the middle of each pixel is met; samples without a value count as outside the corridor
    and are left out.

    Parameters
    ----------
    frame : Frame
    sampler : GroundSampler
    along_m, across_m : float
        How far the cell is widened each way [m].

    Returns
    -------
    ndarray of shape (nx, ny)
        NaN at nodes outside the corridor [m].
    """
    n_sub = _samples_per_cell(frame, sampler) - 1  # steps a cell
    pad = (_steps(along_m, frame.column_spacing_m, n_sub), _steps(across_m, frame.cell_m, n_sub))
    n_columns, _ = frame.shape
    lowest = np.empty(frame.shape)
    for first in range(0, n_columns, _COLUMNS_AT_A_TIME):
        last = min(first + _COLUMNS_AT_A_TIME, n_columns)
        fine = _fine_terrain(frame, sampler, first, last, n_sub, pad)
        for axis, more in enumerate(pad):
            fine = minimum_filter1d(fine, n_sub + 1 + 2 * more, axis=axis, mode="nearest")
        middle = n_sub // 2
        lowest[first:last] = fine[pad[0] + middle :: n_sub, pad[1] + middle :: n_sub][
            : last - first, : frame.shape[1]
        ]
    lowest[~frame.is_valid | np.isinf(lowest)] = np.nan
    return lowest


def _samples_per_cell(frame: Frame, sampler: GroundSampler) -> int:
    """Return the odd number of samples along each side of a cell, both ends counted."""
    steps = int(np.ceil(max(frame.cell_m, frame.column_spacing_m) / sampler.terrain_pixel_m))
    n_steps = max(LEAST_SAMPLES_PER_CELL - 1, steps)
    return n_steps + 1 + n_steps % 2


def _steps(distance_m: float, cell_m: float, n_sub: int) -> int:
    """Return how many fine steps cover a distance."""
    return int(np.ceil(distance_m / cell_m * n_sub - 1e-9))


def _fine_terrain(
    frame: Frame, sampler: GroundSampler, first: int, last: int, n_sub: int, pad: tuple[int, int]
) -> NDArray[np.float64]:
    """Return terrain samples over the cells of some columns with a rim; inf where there is no value."""
    column = first - 0.5 + np.arange(-pad[0], (last - first) * n_sub + pad[0] + 1) / n_sub
    row = -0.5 + np.arange(-pad[1], frame.shape[1] * n_sub + pad[1] + 1) / n_sub
    chainage_m, offset_m = np.meshgrid(
        column * frame.column_spacing_m, frame.offset0_m + row * frame.cell_m, indexing="ij"
    )
    xy = to_xy(frame, chainage_m.ravel(), offset_m.ravel())
    apart_m = max(frame.cell_m, frame.column_spacing_m) / n_sub
    return sampler.lowest_near_m(xy, apart_m).reshape(chainage_m.shape)


def bilinear(grid: RasterGrid, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Interpolate a raster between the middles of its pixels.

    Parameters
    ----------
    grid : RasterGrid
    xy_m : ndarray of shape (n, 2)

    Returns
    -------
    ndarray of shape (n,)
        NaN outside the raster and where a pixel that bears on the point has no value. In the outer
        half pixel the value of the edge is kept.
    """
    column, row, is_inside = _among_middles(grid, xy_m)
    left, upper = column.astype(np.int64), row.astype(np.int64)
    value = np.zeros(len(xy_m))
    for down in (0, 1):
        for across in (0, 1):
            share = np.abs(1 - down - (row - upper)) * np.abs(1 - across - (column - left))
            level = _at_pixel(grid, upper + down, left + across)
            value += np.where(share > 0.0, share * level, 0.0)
    return np.where(is_inside, value, np.nan)


def lowest_middle(grid: RasterGrid, xy_m: NDArray[np.float64], within_m: float) -> NDArray[np.float64]:
    """Return the lowest of the four pixels round each point, counting only those whose middle is near.

    Parameters
    ----------
    grid : RasterGrid
    xy_m : ndarray of shape (n, 2)
    within_m : float
        Largest distance from the point to the middle of a pixel [m].

    Returns
    -------
    ndarray of shape (n,)
        NaN where there is no such pixel.
    """
    column, row, is_inside = _among_middles(grid, xy_m)
    left, upper = column.astype(np.int64), row.astype(np.int64)
    value = np.full(len(xy_m), np.nan)
    for down in (0, 1):
        for across in (0, 1):
            away_m = np.hypot(
                (left + across - column) * grid.pixel_width_m, (upper + down - row) * grid.pixel_height_m
            )
            level = np.where(away_m <= within_m, _at_pixel(grid, upper + down, left + across), np.nan)
            value = np.fmin(value, level)
    return np.where(is_inside, value, np.nan)


def _among_middles(
    grid: RasterGrid, xy_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Return column and row of points counted from the middles of pixels, and whether they are inside."""
    n_rows, n_columns = grid.values.shape
    column = (xy_m[:, 0] - grid.west_m) / grid.pixel_width_m
    row = (grid.north_m - xy_m[:, 1]) / grid.pixel_height_m
    is_inside = (column >= 0.0) & (column <= n_columns) & (row >= 0.0) & (row <= n_rows)
    column = np.clip(np.where(is_inside, column, 0.0) - 0.5, 0.0, n_columns - 1.0)
    row = np.clip(np.where(is_inside, row, 0.0) - 0.5, 0.0, n_rows - 1.0)
    return column, row, is_inside


def _at_pixel(grid: RasterGrid, row: NDArray[np.int64], column: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return the values of pixels; beyond the last row or column that of the last."""
    n_rows, n_columns = grid.values.shape
    values: NDArray[np.float64] = grid.values[np.minimum(row, n_rows - 1), np.minimum(column, n_columns - 1)]
    return values


def _pixel_of(
    grid: RasterGrid, xy_m: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]:
    """Return row and column of the pixel of each point, and whether it lies in the raster."""
    n_rows, n_columns = grid.values.shape
    column = np.floor((xy_m[:, 0] - grid.west_m) / grid.pixel_width_m).astype(np.int64)
    row = np.floor((grid.north_m - xy_m[:, 1]) / grid.pixel_height_m).astype(np.int64)
    is_inside = (column >= 0) & (column < n_columns) & (row >= 0) & (row < n_rows)
    return row, column, is_inside


def _run_boxes(grid: RasterGrid, is_taken: NDArray[np.bool_]) -> NDArray[np.object_]:
    """Return one box for each run of taken pixels in a row."""
    padded = np.pad(is_taken, ((0, 0), (1, 1))).astype(np.int8)
    change = np.diff(padded, axis=1)
    row, first = np.nonzero(change == 1)
    _, last = np.nonzero(change == -1)
    north = grid.north_m - row * grid.pixel_height_m
    west = grid.west_m + first * grid.pixel_width_m
    east = grid.west_m + last * grid.pixel_width_m
    boxes: NDArray[np.object_] = shapely.box(west, north - grid.pixel_height_m, east, north)
    return boxes


@dataclass(frozen=True, slots=True)
class _GroundPolygons:
    """The polygons of the ground layer with their values, and what holds outside them."""

    tree: shapely.STRtree
    soil: NDArray[np.int16]
    groundwater_depth_m: NDArray[np.float64]
    rock_depth_m: NDArray[np.float64]
    rock_soil: NDArray[np.int16]
    default_soil: int
    default_water_m: float
    default_rock_soil: int

    @classmethod
    def of(cls, ground: gpd.GeoDataFrame, assumptions: Assumptions) -> _GroundPolygons:
        """Read the columns of the ground layer; a missing value means the default."""
        names = {name: k for k, name in enumerate(assumptions.soil_names)}
        geometry = ground.geometry.to_numpy()
        is_present = ~(shapely.is_missing(geometry) | shapely.is_empty(geometry))
        rows = ground[is_present]
        return cls(
            tree=shapely.STRtree(geometry[is_present]),
            soil=_class_index(rows, "soil", names),
            groundwater_depth_m=_numbers(rows, "groundwater_depth_m"),
            rock_depth_m=_numbers(rows, "rock_depth_m"),
            rock_soil=_class_index(rows, "rock_soil", names),
            default_soil=names[assumptions.default_soil],
            default_water_m=assumptions.groundwater.default_depth_m,
            default_rock_soil=names[assumptions.default_rock_soil],
        )

    def at(
        self, points: NDArray[np.object_]
    ) -> tuple[NDArray[np.int16], NDArray[np.float64], NDArray[np.float64], NDArray[np.int16]]:
        """Return soil, groundwater depth, rock depth and rock soil; the last of overlapping polygons wins."""
        soil = np.full(len(points), self.default_soil, dtype=np.int16)
        water_m = np.full(len(points), self.default_water_m)
        rock_m = np.full(len(points), np.inf)
        rock_soil = np.full(len(points), self.default_rock_soil, dtype=np.int16)
        if len(self.soil) == 0:
            return soil, water_m, rock_m, rock_soil
        point, polygon = self.tree.query(points, predicate="intersects")
        order = np.argsort(polygon, kind="stable")
        point, polygon = point[order], polygon[order]
        for target, values in (
            (soil, self.soil),
            (water_m, self.groundwater_depth_m),
            (rock_m, self.rock_depth_m),
            (rock_soil, self.rock_soil),
        ):
            found = values[polygon]
            is_given = found >= 0  # NaN and -1 mean not given
            target[point[is_given]] = found[is_given]
        return soil, water_m, rock_m, rock_soil


def _class_index(rows: gpd.GeoDataFrame, column: str, names: dict[str, int]) -> NDArray[np.int16]:
    """Return class indices of a text column; -1 where it is missing."""
    if column not in rows:
        return np.full(len(rows), -1, dtype=np.int16)
    return np.array([names.get(str(value), -1) for value in rows[column]], dtype=np.int16)


def _numbers(rows: gpd.GeoDataFrame, column: str) -> NDArray[np.float64]:
    """Return a column as numbers; NaN where it is missing."""
    if column not in rows:
        return np.full(len(rows), np.nan)
    values: NDArray[np.float64] = rows[column].to_numpy(dtype=np.float64, na_value=np.nan)
    return values


def _access_lines(corridor: CorridorInput) -> NDArray[np.object_]:
    """Return the access layer, else the roads among the crossings that plant may drive on."""
    given = _present(corridor.access.geometry.to_numpy())
    if len(given):
        return given
    crossings = corridor.crossings
    return _present(
        crossings.geometry.to_numpy()[crossings["kind"].isin(ROAD_KINDS).to_numpy(dtype=np.bool_)]
    )


def _present(geometry: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return the geometries that are neither missing nor empty."""
    return geometry[~(shapely.is_missing(geometry) | shapely.is_empty(geometry))]


def _nearest_distance_m(tree: shapely.STRtree, points: NDArray[np.object_]) -> NDArray[np.float64]:
    """Return the distance of each point to the nearest geometry; 0 where there is none at all [m]."""
    distance_m = np.zeros(len(points))
    if len(tree.geometries) and len(points):
        (point, _), found = tree.query_nearest(points, return_distance=True, all_matches=False)
        distance_m[point] = found
    return distance_m


def _is_within(tree: shapely.STRtree, points: NDArray[np.object_], distance_m: float) -> NDArray[np.bool_]:
    """Return whether a geometry lies within a distance of each point."""
    is_near = np.zeros(len(points), dtype=np.bool_)
    if len(tree.geometries) and len(points):
        point, _ = tree.query(points, predicate="dwithin", distance=distance_m)
        is_near[point] = True
    return is_near
