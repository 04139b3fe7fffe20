"""Make the small invented corridor on which the how-tos are run: a polygon, a line, pins and an extract.

Usage: python docs/howto/make_examples.py [FOLDER]      (default: examples)

1.2 km of flat fields between Birch Lane and Mill Wood, names and place invented: a track, a lane, a river
with a row of houses beside it, a railway and a gas pipeline. The extract has the form of OpenStreetMap data,
so that it is read as such, and holds none of it.
"""

from __future__ import annotations

import sys
from pathlib import Path
from xml.etree import ElementTree as ET

import geopandas as gpd
from pyproj import Transformer
from shapely import LineString, Point, box

METRES = "EPSG:25832"
WEST, SOUTH = 540_000.0, 5_900_000.0
LENGTH_M, WIDTH_M, AROUND_M = 1200.0, 120.0, 300.0

# Chainage [m], tags; each crosses the corridor from south to north.
LINES = [
    (150.0, {"highway": "track", "name": "Long Field track"}),
    (330.0, {"highway": "tertiary", "name": "Birch Lane"}),
    (600.0, {"waterway": "river", "name": "Alder"}),
    (860.0, {"railway": "rail", "name": "Mill Wood line", "operator": "Invented Railways"}),
    (1040.0, {"man_made": "pipeline", "substance": "gas", "name": "North main"}),
]
HOUSES_FROM_M, HOUSES = 440.0, 4


def _xy(east_m: float, north_m: float) -> tuple[float, float]:
    return WEST + east_m, SOUTH + north_m


def write_corridors(folder: Path) -> None:
    """Write the polygon, the fixed line, and the polygon with two pins."""
    area = gpd.GeoDataFrame(
        {"corridor_id": ["birch"]}, geometry=[box(*_xy(0, 0), *_xy(LENGTH_M, WIDTH_M))], crs=METRES
    )
    area.to_file(folder / "birch.gpkg", layer="corridor", driver="GPKG")
    line = LineString([_xy(0, 60), _xy(500, 75), _xy(LENGTH_M, 60)])
    fixed = gpd.GeoDataFrame({"corridor_id": ["birch_line"]}, geometry=[line], crs=METRES)
    fixed.to_file(folder / "birch_line.gpkg", layer="corridor", driver="GPKG")
    area.to_file(folder / "birch_pinned.gpkg", layer="corridor", driver="GPKG")
    pins = gpd.GeoDataFrame(
        {"role": ["shaft", "no_shaft"], "radius_m": [30.0, 60.0]},
        geometry=[Point(_xy(740, 60)), Point(_xy(960, 60))],
        crs=METRES,
    )
    pins.to_file(folder / "birch_pinned.gpkg", layer="pins", driver="GPKG")


class Extract:
    """Nodes and ways in the form of OpenStreetMap data."""

    def __init__(self) -> None:
        self.root = ET.Element("osm", version="0.6", generator="invented")
        self._ways: list[ET.Element] = []
        self._number = 0
        self._to_degrees = Transformer.from_crs(METRES, "EPSG:4326", always_xy=True)

    def _node(self, xy_m: tuple[float, float]) -> str:
        self._number += 1
        lon, lat = self._to_degrees.transform(*xy_m)
        attributes = {"id": str(self._number), "lat": f"{lat:.7f}", "lon": f"{lon:.7f}", "version": "1"}
        ET.SubElement(self.root, "node", attributes)
        return attributes["id"]

    def way(self, corners_m: list[tuple[float, float]], tags: dict[str, str]) -> None:
        """Add a way; one whose first corner comes again at the end is an area."""
        nodes = [self._node(_xy(*corner)) for corner in corners_m]
        if corners_m[0] == corners_m[-1]:
            nodes[-1] = nodes[0]
        way = ET.Element("way", id=str(9000 + len(self._ways)), version="1")
        for node in nodes:
            ET.SubElement(way, "nd", ref=node)
        for key, value in tags.items():
            ET.SubElement(way, "tag", k=key, v=value)
        self._ways.append(way)

    def area(
        self, west_m: float, south_m: float, east_m: float, north_m: float, tags: dict[str, str]
    ) -> None:
        """Add a rectangle."""
        corners = [(west_m, south_m), (east_m, south_m), (east_m, north_m), (west_m, north_m)]
        self.way([*corners, corners[0]], tags)

    def write(self, path: Path) -> None:
        """Write the file: nodes first, then ways."""
        self.root.extend(self._ways)
        ET.ElementTree(self.root).write(path, encoding="utf-8", xml_declaration=True)


def write_extract(folder: Path) -> None:
    """Write what lies in and around the corridor."""
    extract = Extract()
    for chainage_m, tags in LINES:
        extract.way([(chainage_m, -AROUND_M), (chainage_m, WIDTH_M + AROUND_M)], tags)
    for number in range(HOUSES):
        west_m = HOUSES_FROM_M + 30.0 * number
        extract.area(west_m, 95.0, west_m + 12.0, 105.0, {"building": "house"})
    north_m = WIDTH_M + AROUND_M
    extract.area(-AROUND_M, -AROUND_M, 600.0, north_m, {"landuse": "farmland"})
    extract.area(600.0, -AROUND_M, LENGTH_M + AROUND_M, north_m, {"landuse": "meadow"})
    extract.write(folder / "birch.osm")


def main() -> None:
    """Write all files of the examples into a folder."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "examples")
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("birch*"):
        if old.is_file():
            old.unlink()
    write_corridors(folder)
    write_extract(folder)
    print("Written:", ", ".join(sorted(path.name for path in folder.glob("birch*"))))


if __name__ == "__main__":
    main()
