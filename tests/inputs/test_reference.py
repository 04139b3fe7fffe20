"""Coordinate reference systems: kept, replaced and said, or refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pytest
from pyproj import CRS
from shapely import box

from routescreen.errors import CRSError
from tests.inputs.site import CRS as PROJECT_CRS
from tests.inputs.site import area, line, point

if TYPE_CHECKING:
    from tests.inputs.site import Site

UTM = CRS.from_user_input(PROJECT_CRS)


def in_crs(shapes: list[object], crs: str) -> list[object]:
    return list(gpd.GeoSeries(shapes, crs=PROJECT_CRS).to_crs(crs))


def test_fitting_crs_is_kept_without_a_word(site: Site) -> None:
    result = site.read()
    assert result.crs == UTM
    assert not any("reprojected" in text for text in result.warnings)


def test_no_crs(site: Site) -> None:
    with pytest.warns(UserWarning, match="crs"):
        site.layer("corridor", [area(0, 0, 1000, 200)], crs=None, corridor_id=["A"])
    with pytest.raises(CRSError) as caught:
        site.read()
    assert [(problem.layer, problem.problem[:41]) for problem in caught.value.problems] == [
        ("corridor", "The layer has no coordinate reference sys")
    ]


@pytest.mark.parametrize(
    ("crs", "part"),
    [
        pytest.param("EPSG:4326", "is geographic", id="degrees"),
        pytest.param("EPSG:4258", "is geographic", id="degrees-of-another-datum"),
        pytest.param("EPSG:3857", "lengths that are wrong by", id="web-map-metres-are-no-metres"),
        pytest.param("EPSG:2263", "CRS holds", id="new-york-does-not-hold-in-europe"),
    ],
)
def test_unfit_crs_gives_way_to_the_utm_zone(site: Site, crs: str, part: str) -> None:
    shapes = in_crs([area(0, 0, 1000, 200)], crs)
    site.layer("corridor", shapes, crs=crs, corridor_id=["A"])
    if crs == "EPSG:2263":
        assert "do not lie where" in site.problem().problem
        return
    result = site.read()
    assert result.crs.utm_zone == "33N"
    assert any(part in text and "reprojected" in text for text in result.warnings)
    assert result.outline is not None
    assert result.outline.area == pytest.approx(1000 * 200, rel=1e-6)


def test_us_feet_give_way_to_metres(site: Site) -> None:
    # A strip of 1 000 m x 200 m in New York, in feet: 0.3048006 m each (US survey foot, 1200/3937 m).
    feet = 3937.0 / 1200.0
    west, south = 990_000.0, 200_000.0
    shape = box(west, south, west + 1000 * feet, south + 200 * feet)
    site.layer("corridor", [shape], crs="EPSG:2263", corridor_id=["A"])
    (site.folder / "terrain.tif").unlink()
    result = site.read(is_flat=True)
    assert result.crs.utm_zone == "18N"
    assert result.outline is not None
    # The map scale of either CRS is within 0.1 % of 1 there.
    assert result.outline.area == pytest.approx(200_000.0, rel=2e-3)


def test_degrees_in_a_crs_of_metres(site: Site) -> None:
    site.layer("corridor", in_crs([area(0, 0, 1000, 200)], "EPSG:4326"), crs=PROJECT_CRS, corridor_id=["A"])
    problem = site.problem()
    assert "do not lie where ETRS89 / UTM zone 33N (EPSG:25833) holds" in problem.problem


def test_no_utm_zone_fits_a_corridor_across_many_zones(site: Site) -> None:
    shapes = gpd.GeoSeries.from_wkt(["POLYGON((0 50, 30 50, 30 50.1, 0 50.1, 0 50))"])
    site.layer("corridor", list(shapes), crs="EPSG:4326", corridor_id=["A"])
    with pytest.raises(CRSError, match="No projected CRS fits"):
        site.read()


def test_coordinates_beyond_the_poles(site: Site) -> None:
    shapes = gpd.GeoSeries.from_wkt(["POLYGON((13 530, 13.1 530, 13.1 530.1, 13 530))"])
    site.layer("corridor", list(shapes), crs="EPSG:4326", corridor_id=["A"])
    assert "do not lie where WGS 84" in site.problem().problem


def test_heights_system_of_a_compound_crs_is_left_aside(site: Site) -> None:
    # EPSG:5651 is UTM zone 31 with the zone number in front; a compound of UTM 33 and heights:
    compound = CRS.from_user_input("EPSG:25833+7837")
    site.layer("corridor", [area(0, 0, 1000, 200)], crs=compound.to_wkt(), corridor_id=["A"])
    assert site.read().crs == UTM


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:25832", "EPSG:3857"])
def test_layers_in_other_crs_are_reprojected_and_it_is_said(site: Site, crs: str) -> None:
    crossing = line((500, -50), (510, 250))
    site.layer("crossings", in_crs([crossing], crs), crs=crs, kind=["road"])
    site.layer("terminals", in_crs([point(5, 100), point(995, 100)], crs), crs=crs, role=["start", "end"])
    result = site.read()
    found = result.crossings.geometry[0]
    assert np.allclose(np.array(found.coords), np.array(crossing.coords), atol=0.01)
    assert result.start is not None
    assert result.start.distance(point(5, 100)) < 0.01
    for role in ("crossings", "terminals"):
        assert any(f"layer {role} is reprojected" in text for text in result.warnings)
        assert result.provenance[f"input.{role}.reprojected_to"].endswith("(EPSG:25833)")


def test_layer_without_crs_beside_a_corridor_with_one(site: Site) -> None:
    with pytest.warns(UserWarning, match="crs"):
        site.layer("crossings", [line((500, -50), (500, 250))], crs=None, kind=["road"])
    problem = site.problem()
    assert (problem.layer, "no coordinate reference system" in problem.problem) == ("crossings", True)
