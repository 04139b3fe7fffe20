"""The project file: every table in one group, by relative paths, and opened by a real desktop GIS."""

from __future__ import annotations

from collections import Counter
from xml.etree import ElementTree as ET

import pytest
from pyproj import CRS

from routescreen.results.check import conform
from routescreen.results.layer_tree import GROUPS, RELATIONS, title_of
from routescreen.results.project_qgs import project_text
from routescreen.results.tables import result_tables
from routescreen.results.write import write_results
from routescreen.schema import CAUTION, LAYERS_BY_NAME, RESULT_LAYERS
from tests.gis import needs_gis, run_in_gis
from tests.results import example


def _project(corridor_id="west", crs=example.METRES):
    ready = conform(result_tables([example.corridor(corridor_id)], crs), crs)
    return ready, ET.fromstring(project_text(ready, crs, "screened.gpkg").split("\n", 1)[1])


def test_every_result_stands_in_one_group():
    placed = Counter(name for group in GROUPS for name in group.layers)
    assert set(placed) == {layer.name for layer in RESULT_LAYERS}, "see routescreen/results/layer_tree.py"
    assert set(placed.values()) == {1}


def test_tree_and_layers_name_the_tables_that_were_written():
    ready, root = _project()
    nodes = {node.get("id"): node for node in root.iter("layer-tree-layer")}
    layers = {layer.findtext("id"): layer for layer in root.iter("maplayer")}
    assert set(nodes) == set(layers)
    assert {layer.findtext("layername") for layer in layers.values()} == {title_of(name) for name in ready}
    for key, layer in layers.items():
        assert nodes[key].get("source") == layer.findtext("datasource")


def test_paths_are_relative():
    """The folder may be moved or sent: no path of this machine may stand in it."""
    _, root = _project()
    sources = [layer.findtext("datasource") for layer in root.iter("maplayer")]
    assert all(source.startswith("./screened.gpkg|layername=") for source in sources)
    assert root.findtext("properties/Paths/Absolute") == "false"


def test_what_must_be_seen_lies_above_the_rest():
    """Topmost first: no area may hide a line, no line a sign."""
    rank = {"Point": 0, "LineString": 1, "Polygon": 2}
    drawn = [name for group in GROUPS for name in group.layers if LAYERS_BY_NAME[name].is_spatial]
    ranks = [
        rank[LAYERS_BY_NAME[name].geometry[0].split()[0]] for name in drawn if name != "investigation_plan"
    ]
    assert ranks == sorted(ranks)


def test_the_map_opens_on_the_whole_route():
    _, root = _project()
    extent = root.find("mapcanvas/extent")
    west, east = float(extent.findtext("xmin")), float(extent.findtext("xmax"))
    # The example runs 2000 m eastward; a twentieth is left on each side.
    assert (west, east) == (example.WEST - 100.0, example.WEST + 2100.0)


@pytest.mark.parametrize("relation", RELATIONS, ids=lambda r: f"{r.table} of {r.layer}")
def test_tables_are_joined_by_columns_that_are_there(relation):
    assert LAYERS_BY_NAME[relation.table].column(relation.table_column).type == "text"
    assert LAYERS_BY_NAME[relation.layer].column(relation.layer_column).type == "text"
    assert LAYERS_BY_NAME[relation.layer].is_spatial


def test_the_caution_stands_in_the_metadata():
    _, root = _project()
    assert root.findtext("projectMetadata/abstract") == CAUTION


def test_a_system_without_a_number_is_kept_as_text():
    own = CRS.from_proj4(
        "+proj=tmerc +lat_0=0 +lon_0=10.3 +k=1 +x_0=500000 +y_0=0 +ellps=GRS80 +units=m +type=crs"
    )
    _, root = _project(crs=own)
    system = root.find("projectCrs/spatialrefsys")
    assert system.findtext("authid") is None
    assert CRS.from_wkt(system.findtext("wkt")) == own


@pytest.mark.parametrize("name", ['<script>alert("x")</script>', "=cmd|' /C calc'!A0", "Süd & „Nord“ 北"])
def test_names_stay_text(name):
    _, root = _project(name)
    assert root.findtext("title") == f"routescreen: {name}"


def test_control_characters_leave_it_whole():
    _, root = _project("a\x07b\x1bc")
    assert root.findtext("title") == "routescreen: abc"


@needs_gis
def test_a_desktop_gis_opens_it(tmp_path):
    """Two corridors, one with a name that would break XML; the script demands all that the docs promise."""
    corridors = [example.corridor('a "<b>" & c'), example.corridor("east")]
    write_results(corridors, [], example.METRES, tmp_path, stamp_utc=example.STAMP)
    said = run_in_gis("tests/results/open_project.py", str(tmp_path / "screened.qgs"), folder=tmp_path)
    assert 'routescreen: a "<b>" & c, east, EPSG:25833' in said
