"""What lies at any point of the corridor: terrain, ground cover, soil, water, rock, access.

Room: ``corridor``. Arrays and tables in, arrays out; imports ``errors``, ``project``, ``assumptions``
and the frame.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen.corridor import shapes
from routescreen.corridor.lowest import lowest_ground_m
from routescreen.corridor.raster import bilinear, pixel_of, run_boxes
from routescreen.counted import counted
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
        self._access = shapely.STRtree(_pieces(_access_lines(corridor)))
        is_building = (corridor.crossings["kind"] == BUILDING_KIND).to_numpy(dtype=np.bool_)
        self._buildings = shapely.STRtree(_present(corridor.crossings.geometry.to_numpy()[is_building]))
        self._near_m = assumptions.trench.narrow_within_m
        self.warnings: tuple[str, ...] = ()
        if len(self._access.geometries) == 0:
            self.warnings = ("No road that carries plant is known: access roads are taken as 0 m long.",)

    @property
    def terrain(self) -> RasterGrid | None:
        """The terrain; none: flat ground at level 0."""
        return self._terrain

    def over(self, terrain: RasterGrid | None, ground_cover: RasterGrid | None) -> GroundSampler:
        """Return a sampler of the same tables over other rasters, which takes warnings of its own."""
        other = copy.copy(self)
        other._terrain, other._cover, other.warnings = terrain, ground_cover, ()
        return other

    def sample(self, xy_m: NDArray[np.float64], *, with_surroundings: bool = True) -> GroundSamples:
        """Return what lies at points.

        Parameters
        ----------
        xy_m : ndarray of shape (n, 2)
        with_surroundings : bool
            Without them the way to the nearest road is not known (NaN) and no building is near: looking for
            both takes longer than all else, and only sites and strips need them.

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
            access_distance_m=(
                _nearest_distance_m(self._access, points)
                if with_surroundings
                else np.full(len(points), np.nan)
            ),
            near_building=(
                _is_within(self._buildings, points, self._near_m)
                if with_surroundings
                else np.zeros(len(points), np.bool_)
            ),
        )

    def is_near_building(self, xy_m: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Return whether each point lies so near a building that the working strip may narrow."""
        return _is_within(self._buildings, shapes.points(xy_m), self._near_m)

    def terrain_m(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the terrain by bilinear interpolation; NaN where it has no value [m]."""
        if self._terrain is None:
            return np.zeros(len(xy_m))
        return bilinear(self._terrain, xy_m)

    def cover_class(self, xy_m: NDArray[np.float64]) -> NDArray[np.int16]:
        """Return the cover class of the pixel that each point lies in; the default outside the raster."""
        classes = np.full(len(xy_m), self._default_cover, dtype=np.int16)
        if self._cover is None:
            return classes
        row, column, is_inside = pixel_of(self._cover, xy_m)
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
        return run_boxes(self._cover, is_in_class[values])

    def ground_polygons(self) -> tuple[NDArray[np.object_], NDArray[np.int16], NDArray[np.float64]]:
        """Return the polygons of the ground layer, their soil (-1: none) and rock depth (NaN: none) [m]."""
        return self._ground.tree.geometries, self._ground.soil, self._ground.rock_depth_m

    def trench_soils(self, depth_m: float) -> tuple[NDArray[np.int16], NDArray[np.int16]]:
        """Return the soils that open cut may be dug in, and the rocks in it down to a depth, each once."""
        return self._ground.dug_in(depth_m)

    def warn(self, text: str) -> None:
        """Add a warning, once."""
        if text not in self.warnings:
            self.warnings = (*self.warnings, text)

    def no_terrain(self, xy_m: NDArray[np.float64]) -> InputError:
        """Return the error that names where the terrain has no value."""
        text = (
            f"The terrain has no value at {counted(len(xy_m), 'point')} of the corridor, "
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
    (lowest_m,) = lowest_ground_m(frame, sampler.terrain, [(0.0, 0.0)])
    return FrameGround(node=GroundSamples(**arrays), lowest_ground_m=lowest_m)


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
        shapely.prepare(geometry[is_present])
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

    def dug_in(self, depth_m: float) -> tuple[NDArray[np.int16], NDArray[np.int16]]:
        """Return the classes of soil, and of rock above a depth; polygons may overlap, so all of either."""
        soils = np.unique(np.append(self.soil[self.soil >= 0], np.int16(self.default_soil)))
        if not (self.rock_depth_m < depth_m).any():
            return soils, np.zeros(0, np.int16)
        rocks = np.append(self.rock_soil[self.rock_soil >= 0], np.int16(self.default_rock_soil))
        return soils, np.unique(rocks)

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
        point, polygon = self.tree.query(points)
        # a prepared polygon finds its points much faster than each point its polygons
        is_in = shapely.intersects(self.tree.geometries[polygon], points[point])
        point, polygon = point[is_in], polygon[is_in]
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


def _pieces(geometry: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return lines piece by piece, and whatever else there is: a tree finds the nearest among short ones."""
    parts = shapely.get_parts(geometry)
    is_line = shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING
    xy_m, line = shapely.get_coordinates(parts[is_line], return_index=True)
    ends_m = np.stack([xy_m[:-1], xy_m[1:]], axis=1)[line[1:] == line[:-1]]
    return np.concatenate([shapes.lines(ends_m), parts[~is_line]])


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
