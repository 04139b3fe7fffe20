"""Land that bears no pipe string: what is collected, and that a part of it tells the same nearby."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, box

from routescreen.assumptions import load_assumptions
from routescreen.corridor.ground import GroundSampler
from routescreen.corridor.layout_ground import LayoutGround, layout_ground
from routescreen.corridor.treatment import resolve_crossings
from routescreen.search.layout import edges_by_square
from routescreen.search.layout_kernel import clear_m
from tests.audit.place import crossing, crossings, place, with_cover

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()


def ground_of(inp: CorridorInput, text: str = "") -> LayoutGround:
    a = load_assumptions(text)
    return layout_ground(resolve_crossings(inp.crossings, a), GroundSampler(inp, a), a, inp)


def opened(land: LayoutGround, *points: tuple[float, float]) -> list[bool]:
    return land.is_open(np.array(points)).tolist()


def test_features_bar_by_their_outlines_and_only_where_their_kind_says_so() -> None:
    """The river of the place is 30 m wide; the road and the pipeline bear a string."""
    land = ground_of(place())
    assert opened(land, (600.0, 0.0), (614.9, 0.0), (615.1, 0.0)) == [False, False, True]
    assert opened(land, (200.0, 0.0), (760.0, 0.0)) == [True, True]
    assert opened(land, (1005.0, 65.0), (1016.0, 65.0)) == [False, True]  # the house


@pytest.mark.parametrize(
    ("name", "is_barred"), [("built_up", True), ("forest", True), ("paved", False), ("grassland", False)]
)
def test_ground_cover_bars_by_its_class_and_consent_counts_as_yes(name: str, is_barred: bool) -> None:
    inp = with_cover(place(), box(900.0, -50.0, 1000.0, 50.0), DEFAULTS.cover_names.index(name))
    assert opened(ground_of(inp), (950.0, 0.0), (890.0, 0.0)) == [not is_barred, True]


def test_what_lies_beyond_the_surroundings_is_not_known() -> None:
    """The corridor runs to y = 200 and x = 1 500; its surroundings reach 200 m further, round its corners."""
    land = ground_of(place())
    assert opened(land, (750.0, 399.0), (750.0, 401.0), (1699.0, 0.0), (1701.0, 0.0)) == [
        *(True, False),
        *(True, False),
    ]
    assert opened(land, (1640.0, 340.0), (1645.0, 345.0)) == [True, False]  # 141 m aside each way
    assert opened(ground_of(place(), "[frame]\nworks_margin_m = 20.0\n"), (750.0, 221.0)) == [False]


def test_a_fixed_line_has_surroundings_too() -> None:
    line = LineString([(0.0, 0.0), (1500.0, 0.0)])
    land = ground_of(replace(place(), outline=None, fixed_line=line))  # and 5 m that drives may leave it
    assert opened(land, (750.0, 204.0), (750.0, 206.0)) == [True, False]


def test_without_ground_cover_the_default_class_decides() -> None:
    bare = replace(place(), ground_cover=None)
    assert opened(ground_of(bare), (950.0, 0.0)) == [True]
    closed = ground_of(bare, '[cover.unknown]\nlayout_allowed = "no"\n')
    assert opened(closed, (950.0, 0.0)) == [False]


PONDS = tuple(
    crossing("lake", box(x, y, x + 30.0, y + 40.0), feature_id=f"p{x}{y}")
    for x, y in ((300, 100), (450, -120), (900, 30), (1100, -60), (1300, 10))
)


@settings(max_examples=60, deadline=None)
@given(
    x=st.floats(500.0, 900.0),
    y=st.floats(-150.0, 150.0),
    heading=st.floats(-math.pi, math.pi),
    half_m=st.floats(2.0, 25.0),
)
def test_a_part_of_the_land_tells_the_same_as_far_as_it_reaches(
    x: float, y: float, heading: float, half_m: float
) -> None:
    whole = ground_of(replace(place(), crossings=crossings(*PONDS)))
    part = whole.near(box(x - 340.0, y - 340.0, x + 340.0, y + 340.0))
    assert len(part.barred) <= len(whole.barred)
    found = [
        clear_m(edges_by_square(land.edges_m()), x, y, math.cos(heading), math.sin(heading), half_m, 300.0)
        for land in (whole, part)
    ]
    assert found[0] == pytest.approx(found[1], abs=1e-9)
    assert whole.is_open(np.array([[x, y]])) == part.is_open(np.array([[x, y]]))


def test_edges_are_those_of_the_outlines_and_of_the_rim() -> None:
    triangle = shapely.Polygon([(0, 0), (4, 0), (0, 3)])
    ring = box(-10.0, -10.0, 10.0, 10.0)
    barred = np.array([triangle], dtype=object)
    land = LayoutGround(barred, ring, shapely.STRtree(barred))
    edges = land.edges_m()
    assert len(edges) == 3 + 4
    assert np.hypot(*(edges[:, 2:] - edges[:, :2]).T).sum() == pytest.approx(12.0 + 80.0)
