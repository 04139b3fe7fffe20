"""Geometries: empty, mixed, curved, with heights, invalid, huge."""

from __future__ import annotations

import sqlite3
import struct
from contextlib import closing
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import shapely
from shapely import GeometryCollection, LineString, MultiPoint, MultiPolygon, Polygon

from tests.inputs.site import CRS, SOUTH, area, at, line, point

if TYPE_CHECKING:
    from pathlib import Path

    from tests.inputs.site import Site

ROAD = line((500, -50), (500, 250))
BOW_TIE = Polygon([at(400, 50), at(440, 90), at(440, 50), at(400, 90)])


def put_wkb(path: Path, layer: str, wkb: bytes, kind: str) -> None:
    """Add a feature whose geometry the writing library can't make."""
    header = b"GP" + bytes([0, 1]) + struct.pack("<i", 25_833)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(f"INSERT INTO {layer} (geom, kind) VALUES (?, ?)", (header + wkb, kind))
        connection.commit()


def unindexed(site: Site, shapes: list[object], **columns: object) -> None:
    """Write crossings without a spatial index, whose triggers only the writing library can serve."""
    frame = gpd.GeoDataFrame(columns, geometry=shapes, crs=CRS)
    pyogrio.write_dataframe(
        frame, site.gpkg, layer="crossings", geometry_type="Unknown", layer_options={"SPATIAL_INDEX": "NO"}
    )


@pytest.mark.parametrize("empty", [None, LineString()], ids=["no-geometry", "empty-geometry"])
def test_crossing_without_a_place(site: Site, empty: LineString | None) -> None:
    site.layer("crossings", [ROAD, empty], kind=["road", "railway"])
    problem = site.problem()
    assert (problem.layer, problem.feature) == ("crossings", "crossings/2")
    assert "empty" in problem.problem


def test_empty_geometry_where_it_does_no_harm_is_left_out_and_said(site: Site) -> None:
    site.layer("ground", [area(0, 0, 500, 200), None], soil=["silt", "peat"])
    assert "ground/2" in site.warning("without geometry")
    assert site.read().ground["soil"].tolist() == ["silt"]


def test_empty_layer_of_crossings_is_an_answer(site: Site) -> None:
    site.layer("crossings", [], kind=np.array([], dtype=object))
    assert len(site.read().crossings) == 0


def test_coordinates_that_are_no_numbers(site: Site) -> None:
    unindexed(site, [ROAD], kind=["road"])
    broken = struct.pack("<BII4d", 1, 2, 2, *at(400, 0), float("nan"), SOUTH + 100)
    put_wkb(site.gpkg, "crossings", broken, "track")
    problem = site.problem()
    assert "not numbers" in problem.problem
    assert problem.feature == "crossings/2"


def test_collection_of_mixed_geometries(site: Site) -> None:
    mixed = GeometryCollection([point(500, 100), ROAD])
    site.layer("crossings", [mixed], kind=["road"])
    problem = site.problem()
    assert (problem.feature, problem.value) == ("crossings/1", "GeometryCollection")


def test_collection_of_one_type_counts_as_that_type(site: Site) -> None:
    site.layer("crossings", [GeometryCollection([ROAD, line((600, 0), (600, 200))])], kind=["road"])
    assert site.read().crossings.geom_type.tolist() == ["MultiLineString"]


def test_layer_that_mixes_points_lines_and_areas_is_fine_for_crossings(site: Site) -> None:
    shapes = [point(300, 100), ROAD, area(700, 50, 720, 70)]
    site.layer("crossings", shapes, kind=["wind_turbine", "road", "building"])
    assert site.read().crossings.geom_type.tolist() == ["Point", "LineString", "Polygon"]


@pytest.mark.parametrize(
    ("layer", "shape", "columns"),
    [
        pytest.param("ground", ROAD, {"soil": ["silt"]}, id="line-of-ground"),
        pytest.param("terminals", ROAD, {"role": ["start"]}, id="line-as-terminal"),
        pytest.param("axis", area(0, 0, 10, 10), {}, id="area-as-axis"),
        pytest.param("corridor", point(0, 0), {"corridor_id": ["A"]}, id="point-as-corridor"),
    ],
)
def test_wrong_type_of_geometry(site: Site, layer: str, shape: object, columns: dict[str, list[str]]) -> None:
    site.layer(layer, [shape], **columns)
    wrong = [problem for problem in site.problems() if problem.value == shape.geom_type]
    assert [(problem.layer, problem.feature) for problem in wrong] == [(layer, f"{layer}/1")]


def test_arcs_become_chords_and_it_is_said(site: Site) -> None:
    unindexed(site, [ROAD], kind=["road"])
    # Half a circle of radius 100 m about (500, 100), by its ends and its crown.
    points = [*at(400, 100), *at(500, 200), *at(600, 100)]
    put_wkb(site.gpkg, "crossings", struct.pack("<BII6d", 1, 8, 3, *points), "track")
    with closing(sqlite3.connect(site.gpkg)) as connection:
        connection.execute(
            "UPDATE gpkg_geometry_columns SET geometry_type_name = 'CURVE' WHERE table_name = 'crossings'"
        )
        connection.commit()
    result = site.read()
    [arc] = result.crossings.geometry[result.crossings["kind"] == "track"]
    # Chords of one degree: at most r (1 - cos 0.5 deg) = 0.0038 m inside the arc.
    assert arc.length == pytest.approx(np.pi * 100.0, abs=0.01)
    assert any("arcs" in text for text in result.warnings)


def test_heights_and_measures_are_dropped_and_it_is_said(site: Site) -> None:
    with_height = shapely.force_3d(ROAD, 12.0)
    site.layer("crossings", [with_height], kind=["road"])
    result = site.read()
    assert not shapely.has_z(result.crossings.geometry.to_numpy()).any()
    assert any("crossings has heights" in text for text in result.warnings)


def test_self_crossing_area_is_repaired_whole_and_it_is_said(site: Site) -> None:
    site.layer("crossings", [BOW_TIE], kind=["lake"])
    result = site.read()
    # Two triangles of 40 m base and 20 m height.
    assert result.crossings.geometry[0].area == pytest.approx(2 * 40 * 20 / 2)
    assert "crossings/1" in site.warning("repaired")


def test_overlapping_parts_are_joined_and_leave_no_hole(site: Site) -> None:
    parts = MultiPolygon([area(400, 50, 440, 90), area(420, 50, 460, 90)])
    site.layer("crossings", [parts], kind=["lake"])
    assert site.read().crossings.geometry[0].area == pytest.approx(60 * 40)


@pytest.mark.parametrize(
    "shape",
    [
        pytest.param(Polygon([at(400, 50), at(440, 50), at(400, 50)]), id="area-without-extent"),
        pytest.param(line((400, 50), (400, 50)), id="line-without-extent"),
        pytest.param(
            Polygon([at(400, 50), at(440, 50), at(440, 90), at(440, 150), at(440, 90), at(400, 90)]),
            id="spike-that-repair-would-cut-off",
        ),
    ],
)
def test_invalid_geometry_that_no_repair_keeps_whole(site: Site, shape: object) -> None:
    site.layer("crossings", [shape], kind=["lake"])
    problem = site.problem()
    assert problem.feature == "crossings/1"
    assert "invalid" in problem.problem


def test_area_drawn_as_collapsed_ring_far_from_the_corridor_is_no_concern(site: Site) -> None:
    far = Polygon([at(40_000, 50), at(40_040, 90), at(40_040, 50), at(40_000, 90)])
    site.layer("crossings", [ROAD, far], kind=["road", "lake"])
    assert site.read().crossings["kind"].tolist() == ["road"]


def test_huge_feature_is_cut_to_the_surroundings_and_it_is_said(site: Site) -> None:
    # A coast of 200 001 vertices, 100 km long, that touches the corridor along its northern edge.
    x = np.linspace(-50_000, 50_000, 200_001)
    coast = Polygon([*(at(float(v), 150.0) for v in x), at(50_000, 5_000), at(-50_000, 5_000)])
    site.layer("crossings", [coast], kind=["lake"])
    result = site.read()
    [cut] = result.crossings.geometry
    assert shapely.get_num_coordinates(cut) < 4_000
    assert cut.intersection(area(0, 0, 1000, 200)).area == pytest.approx(1000 * 50)
    assert any("cut to the surroundings" in text for text in result.warnings)


def test_multi_part_point_layer(site: Site) -> None:
    site.layer("terminals", [MultiPoint([at(5, 100)]), MultiPoint([at(995, 100)])], role=["start", "end"])
    result = site.read()
    assert result.start == point(5, 100)
    assert result.end == point(995, 100)


def test_table_without_geometry(site: Site) -> None:
    pyogrio.write_dataframe(gpd.pd.DataFrame({"kind": ["road"]}), site.gpkg, layer="crossings", driver="GPKG")
    assert site.problem().problem == "The table has no geometry."
