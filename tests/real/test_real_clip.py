"""The real clip: what lies in its corridor was read off the tags by eye, way by way."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.inputs import Sources, read_inputs

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

HERE = Path(__file__).parent

# [seen] way id and tag of everything in the corridor that a route must cross or keep away from.
IN_THE_CORRIDOR = {
    "way/96120220": "track",  # highway=track
    "way/96120233": "stream",  # waterway=stream
    "way/199364033": "power_line",  # power=minor_line, 20 kV
    "way/222892567": "main_road",  # highway=primary, ref B 192, Hauptstrasse
    "way/222892572": "main_road",  # highway=primary, ref B 192
    "way/317981167": "main_road",  # highway=primary, ref B 192
    "way/322382001": "path",  # highway=cycleway on an abandoned railway
    "way/23287868": "forest",  # landuse=forest
    "way/284373144": "lake",  # natural=water
    "way/389744301": "lake",  # natural=water
    "way/389744306": "building",
    "way/389744307": "building",
    "way/389744308": "building",
    "way/389744318": "building",
    "way/389744323": "building",
}


@pytest.fixture(scope="module")
def clip() -> CorridorInput:
    sources = Sources(HERE / "corridor.gpkg", osm=HERE / "clip.osm.pbf")
    [only] = read_inputs(sources, load_assumptions())
    return only


def test_nothing_in_the_corridor_is_missed_or_invented(clip: CorridorInput) -> None:
    inside = clip.crossings[clip.crossings.intersects(clip.outline)]
    assert dict(zip(inside["feature_id"], inside["kind"], strict=True)) == IN_THE_CORRIDOR


def test_names_and_numbers_of_the_road(clip: CorridorInput) -> None:
    roads = clip.crossings.set_index("feature_id")["name"]
    # The name where there is one, else the number.
    assert (roads["way/222892567"], roads["way/222892572"]) == ("Hauptstraße", "B 192")


def test_every_geometry_is_valid_and_near(clip: CorridorInput) -> None:
    assert clip.outline is not None
    assert clip.crossings.is_valid.all()
    # Cut to the box of the works margin of 200 m and the reach of access roads, 2 000 m, round the corridor.
    west, south, east, north = clip.outline.bounds
    minimum, maximum = clip.crossings.total_bounds[:2], clip.crossings.total_bounds[2:]
    assert (minimum >= np.array([west, south]) - 2_200.1).all()
    assert (maximum <= np.array([east, north]) + 2_200.1).all()


def test_ground_cover_and_terrain(clip: CorridorInput) -> None:
    names = load_assumptions().cover_names
    assert clip.ground_cover is not None
    assert clip.terrain is not None
    found = {names[index] for index in np.unique(clip.ground_cover.values)}
    assert {"forest", "water", "built_up", "unknown"} <= found
    assert np.isfinite(clip.terrain.values).all()


def test_what_the_planner_is_told(clip: CorridorInput) -> None:
    told = "\n".join(clip.warnings)
    assert "OpenStreetMap has no ground cover for 9" in told
    assert "OpenStreetMap contributors" in clip.provenance["input.clip.osm.pbf.licence"]


def test_terrain_is_labelled_as_synthetic() -> None:
    import rasterio

    with rasterio.open(HERE / "terrain.tif") as dataset:
        assert "SYNTHETIC" in dataset.tags()["REMARK"]
