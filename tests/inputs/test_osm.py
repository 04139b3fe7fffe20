"""Crossings and ground cover straight from an OpenStreetMap extract, on a map drawn for the purpose."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from pyproj import Transformer

from routescreen.inputs.osm_cover import PIXEL_M
from tests.inputs.site import CRS, SOUTH, WEST, line

if TYPE_CHECKING:
    from pathlib import Path

    from routescreen.project import CorridorInput
    from tests.inputs.site import Site

TO_LON_LAT = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)
Points = list[tuple[float, float]]


class Map:
    """An extract in the making; places are distances from the corridor's south-west corner."""

    def __init__(self) -> None:
        self.root = ET.Element("osm", version="0.6", generator="tests")
        self.ways: list[ET.Element] = []
        self.relations: list[ET.Element] = []
        self.n_nodes = 0

    def node(self, x_m: float, y_m: float, **tags: str) -> str:
        self.n_nodes += 1
        lon, lat = TO_LON_LAT.transform(WEST + x_m, SOUTH + y_m)
        node = ET.SubElement(
            self.root, "node", id=str(self.n_nodes), lat=f"{lat:.9f}", lon=f"{lon:.9f}", version="1"
        )
        self._tag(node, tags)
        return str(self.n_nodes)

    def way(self, number: int, points: Points, *, is_closed: bool = False, **tags: str) -> None:
        way = ET.Element("way", id=str(number), version="1")
        refs = [self.node(*point) for point in points]
        for ref in [*refs, *(refs[:1] if is_closed else [])]:
            ET.SubElement(way, "nd", ref=ref)
        self._tag(way, tags)
        self.ways.append(way)

    def area(self, number: int, west: float, south: float, east: float, north: float, **tags: str) -> None:
        self.way(number, [(west, south), (east, south), (east, north), (west, north)], is_closed=True, **tags)

    def relation(self, number: int, members: dict[int, str], **tags: str) -> None:
        relation = ET.Element("relation", id=str(number), version="1")
        for ref, role in members.items():
            ET.SubElement(relation, "member", type="way", ref=str(ref), role=role)
        self._tag(relation, {"type": "multipolygon", **tags})
        self.relations.append(relation)

    def write(self, path: Path) -> Path:
        self.root.extend([*self.ways, *self.relations])
        ET.ElementTree(self.root).write(path, encoding="utf-8", xml_declaration=True)
        return path

    @staticmethod
    def _tag(element: ET.Element, tags: dict[str, str]) -> None:
        for key, value in tags.items():
            ET.SubElement(element, "tag", k=key.replace("__", ":"), v=value)


@pytest.fixture
def drawn() -> Map:
    """A map with fields all round, so that the extract reaches over the whole corridor."""
    drawn = Map()
    drawn.area(1, -1000, -1000, 2000, 1200, landuse="farmland")
    return drawn


def read(site: Site, drawn: Map, **options: object) -> CorridorInput:
    return site.read(osm=drawn.write(site.folder / "map.osm"), **options)


def kinds(result: CorridorInput) -> dict[str, str]:
    """Kind by id of the features from the extract."""
    table = result.crossings[result.crossings["feature_id"].str.match("(way|node|relation)/")]
    return dict(zip(table["feature_id"], table["kind"], strict=True))


def cover_at(site: Site, result: CorridorInput, x_m: float, y_m: float) -> str:
    grid = result.ground_cover
    assert grid is not None
    row, column = int((grid.north_m - SOUTH - y_m) // PIXEL_M), int((WEST + x_m - grid.west_m) // PIXEL_M)
    return site.assumptions.cover_names[int(grid.values[row, column])]


ACROSS = [(300.0, -100.0), (300.0, 300.0)]


# What each way across the corridor is, by its number from 10 on.
WAYS: list[tuple[dict[str, str], str | None]] = [
    ({"highway": "motorway"}, "motorway"),
    ({"highway": "primary"}, "main_road"),
    ({"highway": "residential"}, "road"),
    ({"highway": "track"}, "track"),
    ({"highway": "footway"}, "path"),
    ({"railway": "rail"}, "railway"),
    ({"railway": "tram"}, "tram"),
    ({"waterway": "river"}, "river"),
    ({"waterway": "stream"}, "stream"),
    ({"waterway": "ditch"}, "ditch"),
    ({"waterway": "canal"}, "canal"),
    ({"power": "line"}, "power_line"),
    ({"power": "line", "location": "underground"}, "power_cable"),
    ({"man_made": "pipeline", "substance": "gas"}, "gas_pipeline"),
    ({"man_made": "pipeline", "substance": "heat"}, "pipeline"),
    ({"man_made": "dyke"}, "dyke"),
    ({"barrier": "hedge"}, "hedge"),
    # On a bridge or in a tunnel it is a crossing all the same.
    ({"highway": "primary", "bridge": "yes"}, "main_road"),
    ({"highway": "secondary", "tunnel": "yes"}, "road"),
    ({"waterway": "stream", "tunnel": "culvert"}, "stream"),
    ({"railway": "rail", "bridge": "yes"}, "railway"),
    # No crossings.
    ({"boundary": "administrative"}, None),
    ({"railway": "abandoned"}, None),
    ({"building": "no"}, None),
    ({"name": "Nowhere"}, None),
]


def test_kinds_of_ways(site: Site, drawn: Map) -> None:
    for number, (tags, _) in enumerate(WAYS, 10):
        drawn.way(number, ACROSS, **tags)
    expected = {f"way/{number}": kind for number, (_, kind) in enumerate(WAYS, 10) if kind}
    assert kinds(read(site, drawn)) == expected


AREAS = [
    ({"building": "yes"}, "building"),
    ({"natural": "water"}, "lake"),
    ({"natural": "water", "water": "river"}, "river"),
    ({"waterway": "riverbank"}, "river"),
    ({"landuse": "forest"}, "forest"),
    ({"natural": "wetland"}, "wetland"),
    ({"landuse": "cemetery"}, "graveyard"),
    ({"leisure": "nature_reserve"}, "protected_area"),
]


def test_kinds_of_areas(site: Site, drawn: Map) -> None:
    for number, (tags, _) in enumerate(AREAS, 10):
        drawn.area(number, 300, 50, 340, 90, **tags)
    result = read(site, drawn)
    assert kinds(result) == {f"way/{number}": kind for number, (_, kind) in enumerate(AREAS, 10)}
    areas = result.crossings[result.crossings["feature_id"].str.startswith("way/")].area
    assert areas.tolist() == pytest.approx([40.0 * 40.0] * len(AREAS), rel=1e-3)


def test_wind_turbine_as_a_point(site: Site, drawn: Map) -> None:
    drawn.node(300, 100, power="generator", generator__source="wind")
    assert kinds(read(site, drawn)) == {f"node/{drawn.n_nodes}": "wind_turbine"}


def test_roundabout_is_a_road_and_no_paved_area(site: Site, drawn: Map) -> None:
    drawn.area(7, 300, 50, 400, 150, highway="residential")
    result = read(site, drawn)
    assert kinds(result) == {"way/7": "road"}
    [ring] = result.crossings.geometry[result.crossings["feature_id"] == "way/7"]
    assert ring.geom_type == "LineString"
    assert ring.length == pytest.approx(400.0, rel=1e-3)
    assert cover_at(site, result, 350, 100) == "cropland"


def test_square_tagged_as_area_is_an_area(site: Site, drawn: Map) -> None:
    drawn.area(7, 300, 50, 400, 150, highway="pedestrian", area="yes")
    result = read(site, drawn)
    assert kinds(result) == {"way/7": "road"}
    assert cover_at(site, result, 350, 100) == "paved"


def test_hedge_round_a_meadow_is_kept_beside_the_meadow(site: Site, drawn: Map) -> None:
    drawn.area(7, 300, 50, 400, 150, landuse="meadow", barrier="hedge")
    result = read(site, drawn)
    assert kinds(result) == {"way/7": "hedge"}
    assert cover_at(site, result, 350, 100) == "grassland"


def test_area_of_several_ways_with_an_island(site: Site, drawn: Map) -> None:
    drawn.area(7, 300, 20, 400, 120)
    drawn.area(8, 340, 60, 360, 80)
    drawn.relation(9, {7: "outer", 8: "inner"}, natural="water")
    result = read(site, drawn)
    assert kinds(result) == {"relation/9": "lake"}
    [lake] = result.crossings.geometry[result.crossings["feature_id"] == "relation/9"]
    assert lake.area == pytest.approx(100 * 100 - 20 * 20, rel=1e-3)
    assert cover_at(site, result, 350, 70) == "cropland"
    assert cover_at(site, result, 310, 30) == "water"


def test_small_areas_win_over_large_ones_in_any_order(site: Site, drawn: Map) -> None:
    drawn.area(7, 340, 60, 360, 80, natural="water")
    drawn.area(8, 300, 20, 400, 120, landuse="forest")
    result = read(site, drawn)
    assert cover_at(site, result, 350, 70) == "water"
    assert cover_at(site, result, 320, 30) == "forest"
    assert cover_at(site, result, 600, 100) == "cropland"


def test_unclassified_ground_is_unknown_and_its_share_is_said(site: Site) -> None:
    drawn = Map()
    drawn.area(1, -1000, -1000, 250, 1200, landuse="farmland")
    drawn.way(2, [(2000, -1000), (2000, 1200)], highway="track")
    result = read(site, drawn)
    assert cover_at(site, result, 200, 100) == "cropland"
    assert cover_at(site, result, 600, 100) == "unknown"
    assert any("no ground cover for 75.0 % of the corridor A" in text for text in result.warnings)


def test_area_whose_outline_crosses_itself_is_mended(site: Site, drawn: Map) -> None:
    drawn.way(7, [(300, 50), (340, 90), (340, 50), (300, 90)], is_closed=True, natural="water")
    result = read(site, drawn)
    [lake] = result.crossings.geometry[result.crossings["feature_id"] == "way/7"]
    assert lake.area == pytest.approx(2 * 40 * 20 / 2, rel=1e-3)


def test_names_owners_and_the_layer_beside_the_extract(site: Site, drawn: Map) -> None:
    drawn.way(7, ACROSS, railway="rail", ref="6780", operator="Rail office")
    site.layer("crossings", [line((500, -50), (500, 250))], kind=["gas_pipeline"])
    table = read(site, drawn).crossings
    assert table["kind"].tolist() == ["railway", "gas_pipeline"]
    assert table["feature_id"].tolist() == ["way/7", "crossings/1"]
    assert table["name"].tolist() == ["6780", None]
    assert table["owner"].tolist() == ["Rail office", None]
    assert np.isnan(table["depth_m"]).all()


def test_extract_instead_of_the_layer(site: Site, drawn: Map) -> None:
    drawn.way(7, ACROSS, railway="rail")
    path = drawn.write(site.folder / "map.osm")
    result = site.read(crossings=path)
    assert result.crossings["kind"].tolist() == ["railway"]
    assert result.ground_cover is None


def test_extract_for_the_ground_cover_alone(site: Site, drawn: Map) -> None:
    path = drawn.write(site.folder / "map.osm")
    result = site.read(ground_cover=path)
    assert result.crossings["kind"].tolist() == ["road"]
    assert cover_at(site, result, 500, 100) == "cropland"


def test_layer_of_crossings_is_not_needed_beside_an_extract(site: Site, drawn: Map) -> None:
    site.gpkg.unlink()
    site.layer("corridor", [line((0, 100), (1000, 100))], corridor_id=["A"])
    drawn.way(7, ACROSS, railway="rail")
    assert kinds(read(site, drawn)) == {"way/7": "railway"}


def test_roads_far_round_carry_plant_but_are_no_crossings(site: Site, drawn: Map) -> None:
    drawn.way(7, [(0, 1100), (1000, 1100)], highway="track")
    result = read(site, drawn)
    assert kinds(result) == {}
    # The road of the layer, and the track 900 m north of the corridor.
    assert result.access.geometry.distance(line((0, 100), (1000, 100))).round().tolist() == [1000.0, 0.0]


def test_extract_of_another_place(site: Site) -> None:
    drawn = Map()
    drawn.area(1, 90_000, 90_000, 91_000, 91_000, landuse="farmland")
    problem = site.problem(osm=drawn.write(site.folder / "map.osm"))
    assert "nothing near the corridor" in problem.problem
    # By hand: 99.5 km west of 15 degrees east on a parallel of 3 824 km, and 5 902.5 km up the meridian.
    assert "around 13.51 degrees east, 53.24 degrees north" in problem.problem
    assert "coordinate reference system" in problem.remedy


def test_extract_that_ends_within_the_corridor_is_said(site: Site) -> None:
    drawn = Map()
    drawn.area(1, -1000, -1000, 800, 1200, landuse="farmland")
    result = read(site, drawn)
    assert any("nothing around 20.0 % of the corridor A" in text for text in result.warnings)


@pytest.mark.parametrize("name", ["map.osm", "map.osm.pbf"])
def test_damaged_extract(site: Site, name: str) -> None:
    path = site.folder / name
    path.write_text("<osm version='0.6'><node id='1' lat='5")
    assert site.problem(osm=path).file == str(path)


def test_packed_extract_must_be_unpacked(site: Site) -> None:
    path = site.folder / "map.osm.bz2"
    path.write_bytes(b"BZh9")
    assert "unpack" in site.problem(osm=path).remedy


def test_project_rules_come_first(site: Site, drawn: Map) -> None:
    from routescreen.assumptions import load_assumptions

    rule = "{ kind = 'main_road', geometry = 'line', key = 'military', values = ['trench'] }"
    site.assumptions = load_assumptions(f"[osm]\nown_kinds = [{rule}]\n")
    drawn.way(7, ACROSS, military="trench", highway="track")
    assert kinds(read(site, drawn)) == {"way/7": "main_road"}


def test_licence_stands_in_the_provenance(site: Site, drawn: Map) -> None:
    assert "OpenStreetMap contributors" in read(site, drawn).provenance["input.map.osm.licence"]


def test_extract_without_any_area(site: Site) -> None:
    drawn = Map()
    drawn.way(7, ACROSS, railway="rail")
    result = read(site, drawn)
    assert kinds(result) == {"way/7": "railway"}
    assert cover_at(site, result, 500, 100) == "unknown"
