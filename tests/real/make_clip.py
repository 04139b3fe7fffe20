# ruff: noqa: T201 - a script run by hand says what it made
"""Make the real-data clip of this folder, or the full-size trial corridor, from an OpenStreetMap extract.

    python tests/real/make_clip.py EXTRACT clip tests/real
    python tests/real/make_clip.py EXTRACT trial SOME_FOLDER

EXTRACT is the Neubrandenburg extract that README.md names. Needs `osmium` (PyPI) beside what the package
needs. The features are real; the corridors are drawn for these tests, and the terrain is SYNTHETIC: a
formula, with nothing of the real ground in it but that the valley is low.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pyogrio
import rasterio
import shapely
from rasterio.transform import from_origin
from shapely import LineString, Point

if TYPE_CHECKING:
    import osmium
    from numpy.typing import NDArray

Bounds = tuple[float, float, float, float]

CRS = "EPSG:25833"
# The same stamp in every file, so that the same data give the same bytes.
STAMP = "2025-03-01T00:00:00.000Z"
AROUND_M = 350.0
_NO_TIME = datetime(2016, 1, 1, tzinfo=UTC)
PIXEL_M = 10.0


@dataclass(frozen=True, slots=True)
class Corridor:
    """One corridor drawn for the tests: bends of its axis in UTM zone 33 [m] and its width [m]."""

    name: str
    bends_m: tuple[tuple[float, float], ...]
    width_m: float
    has_axis: bool

    def axis(self) -> LineString:
        """The axis with its bends rounded off by cutting corners four times."""
        points = np.array(self.bends_m)
        for _ in range(4 if len(points) > 2 else 0):
            cut = np.empty((2 * (len(points) - 1), 2))
            cut[0::2] = 0.75 * points[:-1] + 0.25 * points[1:]
            cut[1::2] = 0.25 * points[:-1] + 0.75 * points[1:]
            points = np.vstack([points[:1], cut, points[-1:]])
        return LineString(np.round(points, 2))

    def outline(self) -> shapely.Polygon:
        """The area within half the width of the axis."""
        area = self.axis().buffer(self.width_m / 2, cap_style="flat", join_style="round")
        return shapely.set_precision(area, 0.01)


# About 2.7 km: a high-voltage line, a farm, the tip of a wood, a stream, tracks and a main road, in fields.
CLIP = Corridor("clip", ((376_850.0, 5_936_100.0), (377_600.0, 5_933_500.0)), 400.0, has_axis=True)
# About 12 km: the river with its ditches and ponds, a railway, two high-voltage lines, roads, a motorway.
TRIAL = Corridor(
    "trial",
    (
        (381_200.0, 5_940_350.0),
        (382_300.0, 5_940_000.0),
        (383_400.0, 5_939_750.0),
        (384_700.0, 5_939_850.0),
        (386_500.0, 5_940_570.0),
        (388_300.0, 5_940_650.0),
        (390_500.0, 5_941_000.0),
        (393_300.0, 5_941_100.0),
    ),
    600.0,
    has_axis=False,
)


def synthetic_terrain_m(x_m: NDArray[np.float64], y_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """SYNTHETIC elevation [m]: a valley about x = 383.5 km and gentle waves; not the real ground."""
    valley = 45.0 * (1.0 - np.exp(-(((x_m - 383_500.0) / 2_000.0) ** 2)))
    waves = 3.0 * np.sin(x_m / 410.0) * np.cos(y_m / 530.0) + 1.5 * np.sin((x_m + 2.0 * y_m) / 290.0)
    return 14.0 + valley + waves


def write_corridor(corridor: Corridor, folder: Path) -> None:
    """Write ``corridor.gpkg`` with the outline, the terminals and, where it has one, the axis."""
    path = folder / "corridor.gpkg"
    path.unlink(missing_ok=True)
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": STAMP})
    axis = corridor.axis()
    layers = {
        "corridor": gpd.GeoDataFrame(
            {"corridor_id": [corridor.name]}, geometry=[corridor.outline()], crs=CRS
        ),
        "terminals": gpd.GeoDataFrame(
            {"role": ["start", "end"]}, geometry=[Point(axis.coords[0]), Point(axis.coords[-1])], crs=CRS
        ),
    }
    if corridor.has_axis:
        layers["axis"] = gpd.GeoDataFrame(geometry=[axis], crs=CRS)
    for name, frame in layers.items():
        pyogrio.write_dataframe(frame, path, layer=name, driver="GPKG", dataset_options={"VERSION": "1.3"})


def write_terrain(corridor: Corridor, folder: Path) -> None:
    """Write ``terrain.tif``, the SYNTHETIC terrain round the corridor."""
    west, south, east, north = np.array(corridor.outline().buffer(AROUND_M).bounds) // PIXEL_M * PIXEL_M
    x = np.arange(west, east + PIXEL_M, PIXEL_M) + PIXEL_M / 2
    y = np.arange(north, south - PIXEL_M, -PIXEL_M) - PIXEL_M / 2
    # Rounded to 1 cm so that the file packs well.
    elevation = np.round(synthetic_terrain_m(x[None, :], y[:, None]), 2).astype("float32")
    with rasterio.open(
        folder / "terrain.tif",
        "w",
        driver="GTiff",
        width=len(x),
        height=len(y),
        count=1,
        dtype="float32",
        crs=CRS,
        transform=from_origin(west, north, PIXEL_M, PIXEL_M),
        compress="deflate",
        predictor=3,
    ) as raster:
        raster.write(elevation, 1)
        raster.update_tags(REMARK="SYNTHETIC terrain made by a formula for tests; not the real ground")


def write_extract(extract: Path, corridor: Corridor, target: Path) -> None:
    """Write what lies round the corridor as an extract of its own, whole features, no editors' names."""
    import osmium

    bounds = _lon_lat_bounds(corridor)
    ways, relations = _touching(extract, bounds)
    members = {
        ref for relation in osmium.FileProcessor(extract, osmium.osm.RELATION) if relation.id in relations
        for ref in _member_ways(relation)
    }  # fmt: skip
    nodes = {
        node.ref for way in osmium.FileProcessor(extract, osmium.osm.WAY) if way.id in ways | members
        for node in way.nodes
    }  # fmt: skip
    target.unlink(missing_ok=True)
    with osmium.SimpleWriter(target) as writer:
        for thing in osmium.FileProcessor(extract):
            kept = {"n": nodes, "w": ways | members, "r": relations}[thing.type_str()]
            if thing.id in kept or (thing.is_node() and len(thing.tags) and _is_within(thing, bounds)):
                writer.add(thing.replace(user="", uid=0, changeset=0, version=1, timestamp=_NO_TIME))


def _touching(extract: Path, bounds: Bounds) -> tuple[set[int], set[int]]:
    """Ids of the ways that have a node within the bounds, and of the areas made of such ways."""
    import osmium

    ways = {
        way.id
        for way in osmium.FileProcessor(extract, osmium.osm.NODE | osmium.osm.WAY).with_locations()
        if way.is_way() and any(_is_within(node, bounds) for node in way.nodes if node.location.valid())
    }
    relations = {
        relation.id
        for relation in osmium.FileProcessor(extract, osmium.osm.RELATION)
        if relation.tags.get("type") == "multipolygon" and ways & set(_member_ways(relation))
    }
    return ways, relations


def _is_within(node: osmium.osm.Node | osmium.osm.NodeRef, bounds: Bounds) -> bool:
    west, south, east, north = bounds
    return bool(west <= node.location.lon <= east and south <= node.location.lat <= north)


def _member_ways(relation: osmium.osm.Relation) -> list[int]:
    return [member.ref for member in relation.members if member.type == "w"]


def _lon_lat_bounds(corridor: Corridor) -> Bounds:
    area = gpd.GeoSeries([corridor.outline().buffer(AROUND_M)], crs=CRS).to_crs("EPSG:4326")
    west, south, east, north = area.total_bounds
    return float(west), float(south), float(east), float(north)


def say_what_is_crossed(folder: Path, extract: Path) -> None:
    """Print by kind how many features the corridor's axis meets."""
    from routescreen.assumptions import load_assumptions
    from routescreen.inputs import Sources, read_inputs

    [read] = read_inputs(Sources(folder / "corridor.gpkg", osm=extract), load_assumptions())
    line = LineString([read.start, read.end]) if read.axis is None else read.axis
    print(
        f"{read.corridor_id}: {line.length:.0f} m from terminal to terminal, "
        f"{len(read.crossings)} features around"
    )
    within = read.crossings[read.crossings.intersects(read.outline)]
    print("in the corridor:", within["kind"].value_counts().to_dict())
    for warning in read.warnings:
        print("remark:", warning)


def main(extract: Path, what: str, folder: Path) -> None:
    """Make the clip or the trial in `folder`."""
    corridor = {"clip": CLIP, "trial": TRIAL}[what]
    folder.mkdir(parents=True, exist_ok=True)
    write_corridor(corridor, folder)
    write_terrain(corridor, folder)
    target = folder / f"{corridor.name}.osm.pbf"
    write_extract(extract, corridor, target)
    say_what_is_crossed(folder, target)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], Path(sys.argv[3]))
