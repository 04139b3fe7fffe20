"""GeoJSON and LandXML: coordinates by another way, rings the right way round, chainages end to end."""

from __future__ import annotations

import json
import math
from xml.etree import ElementTree as ET

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import CRS, Geod
from shapely import LineString, box

from routescreen.results.tables import result_tables
from routescreen.schema import RESULT_LAYERS
from routescreen.tender import geojson_parts, landxml_text
from tests.results import example
from tests.tender.readers import NASTY

XML = "{http://www.landxml.org/schema/LandXML-1.2}"
SPATIAL = [layer.name for layer in RESULT_LAYERS if layer.is_spatial]


@pytest.fixture(scope="module")
def tables():
    return example.tables()


def geojson(table, crs=example.METRES):
    return json.loads("".join(geojson_parts(table, crs)))


@pytest.mark.parametrize("layer", SPATIAL)
def test_every_layer_has_its_features_and_properties(tables, layer):
    table = tables[layer]
    read = geojson(table)
    assert read["type"] == "FeatureCollection"
    assert "crs" not in read  # RFC 7946, section 4
    assert len(read["features"]) == len(table)
    for feature, row in zip(read["features"], table.itertuples(index=False), strict=True):
        assert set(table.columns) - {"geometry"} <= set(feature["properties"])
        assert feature["geometry"]["type"] == row.geometry.geom_type
        assert all(len(c) == 2 for c in _pairs(feature["geometry"]["coordinates"]))


def _pairs(coordinates):
    if isinstance(coordinates[0], float):
        yield coordinates
        return
    for inner in coordinates:
        yield from _pairs(inner)


def test_numbers_words_and_gaps_keep_their_types(tables):
    drive = geojson(tables["drives"])["features"][0]["properties"]
    assert (drive["bores"], type(drive["bores"])) == (4, int)
    assert drive["bore_diameter_m"] == 0.56
    assert drive["thrust_kN"] is None
    # invert: crown at 14 m and 11 m less the bore of 0.56 m
    assert (drive["first_level_m"], drive["last_level_m"]) == (13.44, 10.44)
    shaft = geojson(tables["shafts"])["features"][0]["properties"]
    assert shaft["level_m"] == example.GROUND_M


def test_lengths_on_the_ellipsoid_are_those_of_the_plan():
    """A grid's scale apart: zone 33 within 1.5 km of easting 400 km enlarges by 0.9996 + (100/6371)^2 / 2."""
    line = LineString([(example.WEST, example.SOUTH), (example.WEST + 3000.0, example.SOUTH)])
    table = gpd.GeoDataFrame({"a": [1]}, geometry=[line], crs=example.METRES)
    feature = geojson(table)["features"][0]
    turned = shapely.geometry.shape(feature["geometry"])
    scale = 0.9996 * (1.0 + (98.5 / 6371.0 / 0.9996) ** 2 / 2.0)
    assert Geod(ellps="WGS84").geometry_length(turned) * scale == pytest.approx(3000.0, abs=0.02)
    assert len(feature["geometry"]["coordinates"]) == 13  # a point every 250 m


def test_points_between_keep_a_long_line_where_it_is():
    """Read back, a straight line lies on itself within 3 mm; from end to end it would bend by 0.2 m."""
    line = LineString([(example.WEST, example.SOUTH), (example.WEST + 3000.0, example.SOUTH)])
    table = gpd.GeoDataFrame({"a": [1]}, geometry=[line], crs=example.METRES)
    back = gpd.GeoDataFrame.from_features(geojson(table)["features"], crs=CRS.from_epsg(4326))
    dense = back.geometry.segmentize(0.0001).to_crs(example.METRES).iloc[0]
    away_m = np.abs(shapely.get_coordinates(dense)[:, 1] - example.SOUTH)
    assert away_m.max() < 0.003
    bent = gpd.GeoSeries([line], crs=example.METRES).to_crs(4326).segmentize(0.0001).to_crs(example.METRES)
    assert np.abs(shapely.get_coordinates(bent.iloc[0])[:, 1] - example.SOUTH).max() > 0.2


@pytest.mark.parametrize("is_turned", [False, True], ids=["counterclockwise", "clockwise"])
def test_outer_rings_run_counterclockwise_and_holes_clockwise(is_turned):
    area = box(0, 0, 100, 100) - box(40, 40, 60, 60)
    area = shapely.transform(area, lambda xy: xy + np.array([example.WEST, example.SOUTH]))
    area = shapely.reverse(area) if is_turned else area
    table = gpd.GeoDataFrame({"a": [1]}, geometry=[area], crs=example.METRES)
    outer, hole = geojson(table)["features"][0]["geometry"]["coordinates"]
    assert shapely.is_ccw(shapely.LinearRing(outer))
    assert not shapely.is_ccw(shapely.LinearRing(hole))
    assert outer[0] == outer[-1]


def test_a_layer_without_features_is_still_a_collection(tables):
    read = geojson(tables["drives"].iloc[:0])
    assert (read["type"], read["features"]) == ("FeatureCollection", [])
    assert read["caution"].startswith("A screening aid, not a design.")


@pytest.fixture(scope="module")
def land(tables):
    return ET.fromstring(text_of(tables).encode())


def text_of(tables):
    return landxml_text(tables, example.METRES, made=example.STAMP, version="1")


def test_lines_follow_one_another_and_sum_to_the_length(tables, land):
    (alignment,) = land.iter(f"{XML}Alignment")
    lines = list(alignment.find(f"{XML}CoordGeom"))
    ends = [(line.findtext(f"{XML}Start"), line.findtext(f"{XML}End")) for line in lines]
    assert [end for _, end in ends[:-1]] == [start for start, _ in ends[1:]]
    northing, easting = map(float, ends[0][0].split())
    assert (northing, easting) == (example.SOUTH, example.WEST)
    length_m = sum(float(line.get("length")) for line in lines)
    assert length_m == pytest.approx(float(alignment.get("length")), abs=0.001)
    assert length_m == pytest.approx(1700 + 2 * math.hypot(150, 80), abs=0.001)
    starts = [float(line.get("staStart")) for line in lines]
    assert starts[:4] == [0, 300, 600, 1000]


def test_each_drive_has_its_own_invert_from_shaft_to_shaft(land):
    profiles = {line.get("name"): [p.text for p in line] for line in land.iter(f"{XML}ProfAlign")}
    # crowns at 14 and 11 m, then 9 and 9 m at the shared shaft, each less the bore of 0.56 m
    assert profiles["S002 invert of the bores"] == ["300.000 13.440", "600.000 10.440"]
    assert profiles["S003 invert of the bores"] == ["600.000 8.440", "1000.000 8.440"]


def test_stations_of_a_profile_rise(land):
    for line in land.iter(f"{XML}ProfAlign"):
        stations = [float(p.text.split()[0]) for p in line]
        assert stations == sorted(set(stations))
    (ground,) = land.iter(f"{XML}PntList2D")
    assert ground.text == "0.000 20.000 450.000 20.000 2000.000 20.000"


def test_units_reference_system_and_caution_are_told(land):
    assert land.get("version") == "1.2"
    assert land.find(f"{XML}Units/{XML}Metric").get("linearUnit") == "meter"
    assert land.find(f"{XML}CoordinateSystem").get("epsgCode") == "25833"
    assert land.find(f"{XML}Project").get("desc").startswith("A screening aid, not a design")
    order = [child.tag.removeprefix(XML) for child in land]
    assert order == ["Units", "CoordinateSystem", "Project", "Application", "Alignments"]


@pytest.mark.parametrize("name", NASTY, ids=range(len(NASTY)))
def test_names_stay_text(name):
    tables = result_tables([example.corridor(name)], example.METRES)
    (alignment,) = ET.fromstring(text_of(tables).encode()).iter(f"{XML}Alignment")
    assert alignment.get("name") == "".join(sign if sign.isprintable() else " " for sign in name)
    assert geojson(tables["alignment"])["features"][0]["properties"]["corridor_id"] == name
