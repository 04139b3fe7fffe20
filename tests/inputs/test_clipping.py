"""Features are cut off round the corridor, so that what they do far away makes nothing of them here."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
import shapely
from shapely import LineString, Point, Polygon

from routescreen.corridor.treatment import resolve_crossings
from routescreen.inputs.read import _clipped
from tests.inputs.site import area, line, point

if TYPE_CHECKING:
    from tests.inputs.site import Site

MARGIN_M = 200.0  # frame.works_margin_m


def crossings_of(site: Site, shapes: list[object], **columns: object):
    site.layer("crossings", shapes, **columns)
    return site.read().crossings


def test_ditches_that_meet_far_outside_are_two_crossings(site: Site) -> None:
    """They meet 900 m south of the corridor."""
    shapes = [line((300, 300), (300, -50), (500, -900)), line((700, 300), (700, -50), (500, -900))]
    table = crossings_of(site, shapes, kind=["ditch", "ditch"])
    whole = table.set_geometry(shapes, crs=table.crs)
    assert len(resolve_crossings(whole, site.assumptions)) == 1
    assert len(resolve_crossings(table, site.assumptions)) == 2


def test_lines_stay_lines_within_the_margin(site: Site) -> None:
    table = crossings_of(site, [line((500, -1000), (500, 2000))], kind=["road"])
    (found,) = table.geometry
    assert found.geom_type == "LineString"
    assert found.length == pytest.approx(200.0 + 2 * MARGIN_M)


def test_what_leaves_and_comes_back_is_one_feature_of_two_parts(site: Site) -> None:
    loop = line((300, 0), (300, 1500), (700, 1500), (700, 0))
    table = crossings_of(site, [loop], kind=["stream"], owner=["Land"])
    (found,) = table.geometry
    assert found.geom_type == "MultiLineString"
    assert list(table["owner"]) == ["Land"]
    assert len(resolve_crossings(table, site.assumptions)) == 1  # one feature is one crossing


def test_areas_stay_areas_and_points_points(site: Site) -> None:
    shapes = [area(400, -5000, 600, 5000), point(500, 350), area(100, 50, 120, 70)]
    table = crossings_of(site, shapes, kind=["lake", "wind_turbine", "building"])
    assert [shape.geom_type for shape in table.geometry] == ["Polygon", "Point", "Polygon"]
    assert table.geometry[0].area == pytest.approx(200.0 * (200.0 + 2 * MARGIN_M))
    assert table.geometry[2].equals_exact(shapes[2])  # what lies inside is left as it was drawn


def test_what_only_touches_the_region_leaves_nothing(site: Site) -> None:
    table = crossings_of(site, [line((500, -50), (500, 250))], kind=["road"])
    region = shapely.box(0, 0, 100, 100)
    shapes = [
        Polygon([(100, 0), (200, 0), (200, 100), (100, 100)]),  # an edge in common
        Polygon([(90, 0), (90, 10), (110, 10), (110, 20), (100, 20), (100, 30), (120, 30), (120, 0)]),
        LineString([(100, 100), (200, 200)]),  # a corner in common
        Point(100, 50),
    ]
    rows = table.loc[[0] * 4].reset_index(drop=True).set_geometry(shapes, crs=table.crs)
    found = _clipped(rows, region)
    assert [shape.geom_type for shape in found.geometry] == ["Polygon", "Point"]
    assert found.geometry[0].area == pytest.approx(100.0)
    assert list(found.index) == [0, 1]
