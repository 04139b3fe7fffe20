"""Where layers come from: the GeoPackage, what lies beside it, what the user names."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import pytest

from routescreen.inputs.corridors import named
from tests.inputs.site import CRS, area, line, point

if TYPE_CHECKING:
    from tests.inputs.site import Site

RAIL = line((700, -50), (700, 250))


def test_named_file_with_one_layer(site: Site) -> None:
    path = site.layer("anything", [RAIL], file="rail.gpkg", kind=["railway"])
    result = site.read(crossings=path)
    assert result.crossings["kind"].tolist() == ["railway"]
    assert result.crossings["feature_id"].tolist() == ["anything/1"]
    assert result.provenance["input.crossings.file"] == "rail.gpkg"


def test_named_layer_of_a_file_with_several(site: Site) -> None:
    site.layer("roads", [line((300, 0), (300, 200))], file="more.gpkg", kind=["road"])
    path = site.layer("rails", [RAIL], file="more.gpkg", kind=["railway"])
    assert site.read(crossings=f"{path}|rails").crossings["kind"].tolist() == ["railway"]


def test_layer_that_the_named_file_does_not_have(site: Site) -> None:
    site.layer("roads", [line((300, 0), (300, 200))], file="more.gpkg", kind=["road"])
    path = site.layer("rails", [RAIL], file="more.gpkg", kind=["railway"])
    problem = site.problem(crossings=f"{path}|tracks")
    assert (problem.file, problem.layer) == (str(path), "tracks")
    assert "roads, rails" in problem.remedy


@pytest.mark.parametrize("suffix", ["geojson", "shp", "fgb"])
def test_other_formats(site: Site, suffix: str) -> None:
    path = site.folder / f"rail.{suffix}"
    frame = gpd.GeoDataFrame({"kind": ["railway"]}, geometry=[RAIL], crs=CRS)
    (frame.to_crs(4326) if suffix == "geojson" else frame).to_file(path)
    result = site.read(crossings=path)
    assert result.crossings["kind"].tolist() == ["railway"]
    assert result.crossings.geometry[0].distance(RAIL) < 0.01


def test_layer_of_access_roads_wins_over_crossings(site: Site) -> None:
    site.layer("access", [line((0, 600), (1000, 600))])
    result = site.read()
    assert result.access.geometry.tolist() == [line((0, 600), (1000, 600))]
    assert not any("access" in text for text in result.warnings)


def test_nothing_to_cross_is_said(site: Site) -> None:
    site.layer("crossings", [])
    assert site.read().crossings.empty
    assert "There are no crossings" in site.warning("no crossings:")
    assert "and no crossings of the kinds main_road, road, track" in site.warning("access roads")


def test_a_corridor_without_a_name_is_just_the_corridor() -> None:
    assert named("corridor") == "the corridor"
    assert named("north") == "the corridor north"


def test_without_access_layer_roads_among_the_crossings_stand_for_it(site: Site) -> None:
    shapes = [RAIL, line((500, -50), (500, 250)), area(100, 0, 110, 200)]
    site.layer("crossings", shapes, kind=["railway", "road", "track"])
    result = site.read()
    # The area of the track by its rim, so that a place on it is at no distance either.
    assert result.access.geom_type.tolist() == ["LineString", "LineString"]
    assert any("2 crossings of the kinds main_road, road, track" in text for text in result.warnings)


def test_layer_with_a_slip_in_its_name_is_said(site: Site) -> None:
    site.layer("terminal", [point(0, 100)], role=["start"])
    assert "terminal" in site.warning("layers that are not used")


def test_an_extract_in_place_of_the_geopackage(site: Site) -> None:
    site.gpkg = site.folder / "region.osm"
    site.gpkg.write_text('<?xml version="1.0"?><osm version="0.6"/>', encoding="utf-8")
    assert "--osm" in site.problem().remedy


def test_faults_beside_a_missing_corridor_are_listed_too(site: Site) -> None:
    site.gpkg.unlink()
    site.layer("something", [RAIL])
    found = {(problem.layer, problem.problem) for problem in site.problems(ground=site.folder / "absent.shp")}
    assert found == {
        ("corridor", "The GeoPackage has no layer 'corridor'."),
        (None, "There is no such file."),
    }


ELSEWHERE = [line((50_500, -50), (50_500, 250)), line((50_700, -50), (50_700, 250))]
NEAR_AND_FAR = [line((500, -50), (500, 250)), ELSEWHERE[0]]


@pytest.mark.parametrize(
    ("shapes", "warned"),
    [
        pytest.param(ELSEWHERE, ["Of 2 features of the layer crossings"], id="all of it"),
        pytest.param(NEAR_AND_FAR, [], id="some of it"),
        pytest.param([], [], id="a layer that is empty"),
    ],
)
def test_a_layer_that_lies_elsewhere_is_named(site: Site, shapes: list[object], warned: list[str]) -> None:
    site.layer("crossings", shapes, kind=["road"] * len(shapes))
    found = [text for text in site.read().warnings if "none lies near the corridor" in text]
    assert [text.split(" none")[0] for text in found] == warned


@pytest.mark.parametrize("column", ["min_cover_m", "shaft_allowed", "half_width_m"])
@pytest.mark.filterwarnings("ignore:.*names longer than 10 characters:UserWarning")
@pytest.mark.filterwarnings("ignore:Normalized/laundered field name:RuntimeWarning")
def test_a_column_whose_name_a_shapefile_cut_off_is_not_left_out_in_silence(site: Site, column: str) -> None:
    value = "yes" if column == "shaft_allowed" else 3.0
    path = site.layer("rail", [RAIL], file="rail.shp", kind=["railway"], **{column: [value]})
    problem = site.problem(crossings=path)
    assert problem.column == column[:10]
    assert "cut off after 10 characters" in problem.problem
    assert repr(column) in problem.remedy


def test_a_name_of_ten_characters_that_is_whole_is_known(site: Site) -> None:
    path = site.layer("pipe", [RAIL], file="pipe.shp", kind=["pipeline"], diameter_m=[0.5])
    assert site.read(crossings=path).crossings["diameter_m"].tolist() == [0.5]
