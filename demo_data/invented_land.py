"""What the invented ground is made of and how the land is divided: soils, parcels, ground cover.

Room: demo data. Pure computation; imports nothing of the package.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from invented_features import (
    Feature,
    canal,
    fen,
    island,
    krahenhus_gardens,
    lumme,
    ostermund_gardens,
    pond,
    sarve,
)
from invented_place import area, oval
from rasterio import features as raster_features
from rasterio.transform import from_origin
from shapely import Polygon

if TYPE_CHECKING:
    from invented_place import Axis
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

# Codes of ESA WorldCover, an open standard.
TREES, SHRUBS, GRASS, CROPS, BUILT, BARE, WATER, WETLAND = 10, 20, 30, 40, 50, 60, 80, 90
COVER_STEP_M = 10.0
OUTER_OFFSET_M = 900.0


@dataclass(frozen=True, slots=True)
class GroundArea:
    """One polygon of the layer ``ground``."""

    soil: str
    groundwater_depth_m: float
    rock_depth_m: float | None
    rock_soil: str | None
    geometry: BaseGeometry


@dataclass(frozen=True, slots=True)
class Parcel:
    """One field, with the ground-cover code that grows on it."""

    owner: str
    code: int
    geometry: Polygon


# Chainage of the west edge of each stretch of ground [m], soil, depth of the groundwater [m].
STRETCHES: tuple[tuple[float, str, float], ...] = (
    (-1200.0, "sand_dense", 4.0),
    (2450.0, "sand_dense", 3.2),
    (3120.0, "sand_dense", 1.4),
    (4935.0, "sand_dense", 0.7),
    (6130.0, "clay_soft", 1.0),
    (7060.0, "clay_stiff", 3.0),
    (8600.0, "gravel", 1.6),
    (9660.0, "clay_stiff", 5.0),
    (13200.0, "clay_stiff", 5.0),
)
ISLAND_WATER_M = 3.2
BAND_FROM_M, BAND_TO_M = 7060.0, 8600.0
WET_BAND_OFFSET_M, ROCK_BAND_OFFSET_M = -62.0, 62.0


def _wavy(at_m: float, offset_m: NDArray[np.float64]) -> NDArray[np.float64]:
    return at_m + 18.0 * np.sin(offset_m / 140.0 + at_m) + 0.05 * offset_m


def ground_areas(axis: Axis, frame: Polygon) -> list[GroundArea]:
    """Return the soils: they cover the corridor and its margin once, without overlap.

    Between 7.06 and 8.6 km the left third is wet silt and the right third a thin soil over rock.
    """
    bands = _side_bands(axis)
    rise = GroundArea("sand_dense", ISLAND_WATER_M, None, None, island(axis))
    deep_rock = area(axis, [(10380, -900), (10420, 0), (10380, 900), (11250, 900), (11280, 0), (11230, -900)])
    special = [*bands, rise, GroundArea("clay_stiff", 5.0, 4.5, "rock_weak", deep_rock)]
    taken = shapely.union_all([part.geometry for part in special])
    plain = [
        GroundArea(soil, water_m, None, None, shapely.difference(_stretch(axis, west, east), taken))
        for (west, soil, water_m), (east, _soil, _water) in itertools.pairwise(STRETCHES)
    ]
    cut = [_cut_ground(part, frame) for part in [*plain, *special]]
    return [piece for pieces in cut for piece in pieces]


def _cut_ground(part: GroundArea, frame: Polygon) -> list[GroundArea]:
    """Cut to the frame and into single polygons, on whole centimetres."""
    inside = shapely.set_precision(shapely.intersection(part.geometry, frame), 0.01)
    return [
        GroundArea(part.soil, part.groundwater_depth_m, part.rock_depth_m, part.rock_soil, piece)
        for piece in shapely.get_parts(inside)
        if piece.geom_type == "Polygon" and piece.area > 1.0
    ]


def _stretch(axis: Axis, west_m: float, east_m: float) -> Polygon:
    offset = np.arange(-OUTER_OFFSET_M, OUTER_OFFSET_M + 1.0, 30.0)
    west = axis.to_xy(_wavy(west_m, offset), offset)
    east = axis.to_xy(_wavy(east_m, offset), offset)
    return Polygon(np.concatenate([west, east[::-1]]))


def flood_zones(axis: Axis, frame: Polygon) -> list[tuple[float, BaseGeometry]]:
    """Return (level [m], area) of what a flood of 100 years reaches.

    The marsh east of the canal, the fen with the sand rise in it, the foreland between the Sarve dykes, and
    the floor of the Lumme valley. The polder is kept dry by its dyke.
    """
    far = OUTER_OFFSET_M
    bands = ((3372.0, 4925.0, 8.9), (4938.0, 5803.0, 7.2), (5815.0, 6030.0, 7.6))
    zones = [(level_m, _band(axis, west, east, far)) for west, east, level_m in bands]
    zones.append((13.8, shapely.buffer(lumme(axis), 60.0)))
    cut = [
        (level_m, shapely.set_precision(shapely.intersection(zone, frame), 0.01)) for level_m, zone in zones
    ]
    return [
        (level_m, piece)
        for level_m, zone in cut
        for piece in shapely.get_parts(zone)
        if piece.geom_type == "Polygon" and piece.area > 1.0
    ]


def _band(axis: Axis, west_m: float, east_m: float, far_m: float) -> Polygon:
    offset = np.linspace(-far_m, far_m, 37)
    west, east = (axis.to_xy(np.full(len(offset), at_m), offset) for at_m in (west_m, east_m))
    return Polygon(np.concatenate([west, east[::-1]]))


def _side_bands(axis: Axis) -> list[GroundArea]:
    """Return the wet left third and the rocky right third of the slope."""
    whole = _stretch(axis, BAND_FROM_M, BAND_TO_M)
    chainage = np.arange(6500.0, 9200.0, 30.0)
    left_edge = axis.to_xy(chainage, WET_BAND_OFFSET_M + 9.0 * np.sin(chainage / 210.0))
    right_edge = axis.to_xy(chainage, ROCK_BAND_OFFSET_M + 8.0 * np.sin(chainage / 170.0))
    far_left = axis.to_xy(chainage, np.full(chainage.shape, -OUTER_OFFSET_M))
    far_right = axis.to_xy(chainage, np.full(chainage.shape, OUTER_OFFSET_M))
    wet = Polygon(np.concatenate([far_left, left_edge[::-1]]))
    rocky = Polygon(np.concatenate([right_edge, far_right[::-1]]))
    return [
        GroundArea("silt", 0.5, None, None, shapely.intersection(whole, wet)),
        GroundArea("clay_stiff", 6.0, 0.4, "rock_hard", shapely.intersection(whole, rocky)),
    ]


def fields(axis: Axis, rng: np.random.Generator) -> list[Parcel]:
    """Return fields in blocks between slightly slanting lines, each with an owner and what grows on it."""
    found: list[Parcel] = []
    chainage = -700.0
    while chainage < axis.length_m + 700.0:
        width = 150.0 + 200.0 * float(rng.random())
        found += _block(axis, chainage, chainage + width, rng)
        chainage += width
    return found


def _block(axis: Axis, from_m: float, to_m: float, rng: np.random.Generator) -> list[Parcel]:
    cuts = [-OUTER_OFFSET_M]
    while cuts[-1] < OUTER_OFFSET_M:
        cuts.append(cuts[-1] + 90.0 + 190.0 * float(rng.random()))
    lean = 0.04 * np.sin(np.array([from_m, to_m]) / 700.0)
    is_valley = 4800.0 < from_m < 6900.0 or 8800.0 < from_m < 9600.0
    grass_share = 0.7 if is_valley else 0.18
    return [
        Parcel(
            f"Owner {1 + int(40 * rng.random()):02d}",
            GRASS if rng.random() < grass_share else CROPS,
            Polygon(
                axis.to_xy(
                    np.array(
                        [from_m + lean[0] * a, to_m + lean[1] * a, to_m + lean[1] * b, from_m + lean[0] * b]
                    ),
                    np.array([a, a, b, b]),
                )
            ),
        )
        for a, b in itertools.pairwise(cuts)
    ]


def parcels(
    plots: list[Parcel], features: list[Feature], corridor: Polygon, margin_m: float
) -> list[tuple[str, str, Polygon]]:
    """Return (parcel id, owner, polygon) near the corridor; ways and waters are parcels of their owners."""
    near = shapely.buffer(corridor, margin_m)
    public = [
        (feature.owner, shapely.buffer(feature.geometry, half_m))
        for kind, half_m in (
            ("motorway", 20.0),
            ("railway", 9.0),
            ("river", 0.0),
            ("canal", 6.0),
            ("dyke", 14.0),
        )
        for feature in features
        if feature.kind == kind
    ]
    taken = shapely.union_all([shape for _owner, shape in public])
    private = [(plot.owner, shapely.difference(plot.geometry, taken)) for plot in plots]
    cut = [
        (owner, piece)
        for owner, shape in [*private, *public]
        for piece in shapely.get_parts(shapely.set_precision(shapely.intersection(shape, near), 0.01))
        if piece.geom_type == "Polygon" and piece.area > 25.0
    ]
    order = np.argsort([piece.bounds[0] for _owner, piece in cut], kind="stable")
    return [(f"F{number:03d}", *cut[k]) for number, k in enumerate(order, start=1)]


def _far_woods(axis: Axis) -> list[Polygon]:
    """Return woods outside the corridor, for the look of the land only."""
    places = ((520, -610, 210, 120), (1150, 640, 260, 130), (2150, -560, 180, 110), (4050, 640, 150, 90))
    places += ((7350, 640, 280, 150), (8350, 690, 160, 110), (8300, -600, 200, 130), (10150, -560, 220, 110))
    places += ((10900, 620, 260, 130), (11900, -600, 200, 120))
    return [oval(axis, (float(s), float(t)), (float(a), float(b)), 2.6) for s, t, a, b in places]


def cover_codes(
    axis: Axis, plots: list[Parcel], features: list[Feature], box_m: tuple[float, float, float, float]
) -> NDArray[np.uint8]:
    """Return the ground cover of the box, one code a pixel, row 0 northernmost."""
    west, south, east, north = box_m
    shape = (round((north - south) / COVER_STEP_M), round((east - west) / COVER_STEP_M))
    layers = [(plot.geometry, plot.code) for plot in plots] + _cover_layers(axis, features)
    burnt = raster_features.rasterize(
        layers, out_shape=shape, fill=CROPS, transform=from_origin(west, north, COVER_STEP_M, COVER_STEP_M)
    )
    return np.asarray(burnt, dtype=np.uint8)


def _cover_layers(axis: Axis, features: list[Feature]) -> list[tuple[BaseGeometry, int]]:
    """Return shapes and codes, later ones over earlier ones."""
    grass_m = {"stream": 18.0, "ditch": 6.0, "dyke": 14.0, "railway": 8.0, "canal": 14.0, "lake": 16.0}
    burnt = [(shapely.buffer(f.geometry, grass_m[f.kind]), GRASS) for f in features if f.kind in grass_m]
    burnt += [(shapely.buffer(lumme(axis), 24.0), GRASS)]
    burnt += [(f.geometry, GRASS) for f in features if f.kind == "protected_area"]
    burnt += [(shapely.buffer(f.geometry, 5.0), SHRUBS) for f in features if f.kind == "hedge"]
    burnt += [(shape, TREES) for shape in _far_woods(axis)]
    burnt += [(f.geometry, TREES) for f in features if f.kind == "forest"]
    burnt += [(fen(axis), WETLAND), (island(axis), GRASS)]
    burnt += [(ostermund_gardens(axis), BUILT), (krahenhus_gardens(axis), BUILT)]
    burnt += [(shapely.buffer(f.geometry, 16.0), BUILT) for f in features if f.kind == "motorway"]
    burnt += [(shapely.buffer(f.geometry, 15.0), BARE) for f in features if f.kind == "wind_turbine"]
    return [*burnt, *((shape(axis), WATER) for shape in (sarve, canal, lumme, pond))]
