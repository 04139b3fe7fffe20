"""Which tags of the open map become which crossing and which ground cover."""

from __future__ import annotations

import pytest

from routescreen.assumptions import load_assumptions


def kind_of(tags: dict[str, str], geometry: str, project: str = "") -> str | None:
    rules = load_assumptions(project).osm.kind_rules
    return next((rule.kind for rule in rules if rule.fits(tags, geometry)), None)


def cover_of(tags: dict[str, str], geometry: str = "polygon") -> str | None:
    rules = load_assumptions().osm.cover_rules
    return next((rule.cover for rule in rules if rule.fits(tags, geometry)), None)


@pytest.mark.parametrize(
    ("tags", "geometry", "kind"),
    [
        ({"highway": "motorway_link"}, "line", "motorway"),
        ({"highway": "trunk"}, "line", "main_road"),
        ({"highway": "primary_link"}, "line", "main_road"),
        ({"highway": "construction", "construction": "motorway"}, "line", "motorway"),
        ({"highway": "construction"}, "line", "road"),
        ({"highway": "living_street"}, "line", "road"),
        ({"highway": "track"}, "line", "track"),
        ({"highway": "bridleway"}, "line", "path"),
        ({"highway": "bus_stop"}, "point", None),
        ({"highway": "proposed"}, "line", None),
        ({"railway": "rail"}, "line", "railway"),
        ({"railway": "rail", "disused": "yes"}, "line", None),
        ({"railway": "abandoned"}, "line", None),
        ({"railway": "razed"}, "line", None),
        ({"railway": "tram", "highway": "residential"}, "line", "tram"),
        ({"waterway": "river"}, "line", "river"),
        ({"waterway": "drain", "tunnel": "culvert"}, "line", "ditch"),
        ({"waterway": "ditch"}, "polygon", None),
        ({"natural": "water"}, "polygon", "lake"),
        ({"natural": "water", "water": "pond"}, "polygon", "lake"),
        ({"natural": "water", "water": "river"}, "polygon", "river"),
        ({"power": "line"}, "line", "power_line"),
        ({"power": "line", "location": "underground"}, "line", "power_cable"),
        ({"power": "cable"}, "line", "power_cable"),
        ({"power": "generator", "generator:source": "wind"}, "point", "wind_turbine"),
        ({"power": "generator", "generator:source": "solar"}, "point", None),
        ({"man_made": "pipeline", "substance": "gas"}, "line", "gas_pipeline"),
        ({"man_made": "pipeline", "substance": "water"}, "line", "water_main"),
        ({"man_made": "pipeline", "substance": "heat"}, "line", "pipeline"),
        ({"man_made": "pipeline"}, "line", "pipeline"),
        ({"man_made": "dyke", "highway": "track"}, "line", "dyke"),
        ({"building": "yes"}, "polygon", "building"),
        ({"building": "no"}, "polygon", None),
        ({"leisure": "nature_reserve", "natural": "wood"}, "polygon", "protected_area"),
        ({"boundary": "protected_area"}, "polygon", "protected_area"),
        ({"boundary": "protected_area", "protect_class": "12"}, "polygon", "water_protection_area"),
        ({"landuse": "cemetery"}, "polygon", "graveyard"),
        ({"landuse": "landfill"}, "polygon", "landfill"),
        ({"landuse": "forest"}, "polygon", "forest"),
        ({"natural": "wetland"}, "polygon", "wetland"),
        ({"barrier": "hedge"}, "line", "hedge"),
        ({"barrier": "hedge"}, "polygon", None),
        ({"barrier": "hedge", "area": "yes"}, "polygon", "hedge"),
        ({"name": "nothing of ours"}, "line", None),
    ],
    ids=str,
)
def test_kind_of_tags(tags: dict[str, str], geometry: str, kind: str | None) -> None:
    assert kind_of(tags, geometry) == kind


@pytest.mark.parametrize(
    ("tags", "cover"),
    [
        ({"landuse": "farmland"}, "cropland"),
        ({"landuse": "meadow"}, "grassland"),
        ({"landuse": "grass"}, "grassland"),
        ({"landuse": "residential"}, "built_up"),
        ({"landuse": "retail"}, "built_up"),
        ({"landuse": "residential", "natural": "water"}, "water"),
        ({"landuse": "forest"}, "forest"),
        ({"natural": "wood"}, "forest"),
        ({"natural": "wetland"}, "wetland"),
        ({"natural": "wetland", "wetland": "bog"}, "peat"),
        ({"natural": "heath"}, "shrubland"),
        ({"natural": "bare_rock"}, "bare"),
        ({"highway": "residential"}, None),
        ({"highway": "pedestrian", "area": "yes"}, "paved"),
        ({"boundary": "administrative"}, None),
    ],
    ids=str,
)
def test_cover_of_tags(tags: dict[str, str], cover: str | None) -> None:
    assert cover_of(tags) == cover


def test_ground_cover_comes_from_areas_alone() -> None:
    assert cover_of({"landuse": "forest"}, "line") is None


def test_a_projects_rule_is_tried_first() -> None:
    rule = "[[osm.own_kinds]]\nkey = 'highway'\nvalues = ['service']\ngeometry = ['line']\nkind = 'track'"
    assert kind_of({"highway": "service"}, "line") == "road"
    assert kind_of({"highway": "service"}, "line", rule) == "track"


def test_every_key_of_every_rule_is_asked_for() -> None:
    keys = set(load_assumptions().osm.tag_keys)
    assert {
        "highway",
        "railway",
        "waterway",
        "generator:source",
        "substance",
        "tunnel",
        "area",
        "name",
    } <= keys


def test_every_kind_that_the_map_can_show_is_reached_by_a_rule() -> None:
    a = load_assumptions()
    reached = {rule.kind for rule in a.osm.kind_rules}
    assert set(a.treatments) - reached == {"contaminated_ground"}
