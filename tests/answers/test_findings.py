"""What a check of the inputs says of the ground, of unknown ground cover and of holes in the polygon."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import Polygon, box

from routescreen.answers.findings import CorridorFacts, Surface, findings_text
from routescreen.assumptions import load_assumptions
from tests.audit.place import place

ASSUMPTIONS = load_assumptions()
PIXELS = Surface(10.0, 10.0)


def facts(outline: Polygon, **own: object) -> CorridorFacts:
    inp = replace(place(), outline=outline)
    given: dict[str, object] = {
        "corridor": inp,
        "length_m": 1500.0,
        "width_m": (120.0, 120.0),
        "area_m2": outline.area,
        "bounds_m": outline.bounds,
        "terrain": None,
        "ground_cover": None,
        "level_m": (441.234, 445.0),
        "cover_frac": {"cropland": 1.0},
        "soil_frac": {"sand_dense": 1.0},
        "known_soil_frac": 1.0,
        "known_water_frac": 1.0,
        "parcels_frac": 1.0,
        "n_nodes": 100,
        "seconds": 10.0,
        "memory_mb": 400.0,
        "warnings": (),
    }
    return CorridorFacts(**(given | own))  # type: ignore[arg-type]


def told(fact: CorridorFacts) -> str:
    return " ".join(findings_text((fact,), ASSUMPTIONS).split())


@pytest.mark.parametrize(
    ("holes", "says"),
    [
        pytest.param([box(100, -10, 120, 10)], "has 1 hole, 400 m2 in all", id="one"),
        pytest.param([box(100, -10, 120, 10), box(300, 0, 310, 10)], "has 2 holes, 500 m2 in all", id="two"),
    ],
)
def test_holes_are_told_with_what_becomes_of_them(holes: list[Polygon], says: str) -> None:
    outline = Polygon(box(0, -60, 1500, 60).exterior, [hole.exterior for hole in holes])
    text = told(facts(outline))
    assert f"The corridor {says}: they lie outside it" in text
    assert "keeps out of them, in open cut and in drives" in text


def test_a_corridor_without_holes_has_none_told() -> None:
    assert "hole" not in told(facts(box(0, -60, 1500, 60))).replace("borehole", "")


def test_the_share_of_unknown_ground_cover_is_told_once_and_of_what_it_is_a_share() -> None:
    shares = {"unknown": 0.9688, "built_up": 0.0312}
    text = told(facts(box(0, -60, 1500, 60), cover_frac=shares, ground_cover=PIXELS))
    assert "Ground cover, by the frame's nodes: unknown 96.9 %, built up 3.1 %." in text
    assert "Ground cover: not known everywhere; where it is not, the class unknown stands for it." in text
    assert text.count("96.9 %") == 1


def test_levels_are_told_to_the_centimetre() -> None:
    text = told(facts(box(0, -60, 1500, 60), terrain=PIXELS))
    assert "The ground lies between 441.23 m and 445.00 m." in text
