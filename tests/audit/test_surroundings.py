"""How far a dig lies from the end of what was read, and what of it lies beyond."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from routescreen.assumptions import load_assumptions
from routescreen.audit.surroundings import Surroundings

MARGIN_M, TOLERANCE_M = 300.0, 2.0
ASSUMPTIONS = load_assumptions(
    f"[frame]\nworks_margin_m = {MARGIN_M}\nfixed_alignment_tolerance_m = {TOLERANCE_M}"
)
WITH_HOLE = shapely.Polygon(
    [(0, 0), (4000, 0), (4000, 2000), (0, 2000)],
    holes=[[(1000, 800), (3000, 800), (3000, 1600), (1000, 1600)]],
)


def around(outline=None, fixed_line=None):
    return Surroundings(SimpleNamespace(outline=outline, fixed_line=fixed_line), ASSUMPTIONS)


def test_a_dig_in_the_middle_of_a_straight_corridor_lies_half_its_width_and_the_margin_from_the_edge():
    here = around(outline=shapely.box(0, 0, 10_000, 500))
    assert here.to_edge_m(shapely.Point(5000, 250)) == pytest.approx(250 + MARGIN_M)
    assert here.to_edge_m(shapely.LineString([(4000, 250), (5000, 100)])) == pytest.approx(100 + MARGIN_M)


def test_a_strip_across_the_edge_lies_beyond_with_the_rest_of_it():
    here = around(outline=shapely.box(0, 0, 10_000, 500))
    assert here.outside_m2(shapely.box(5000, 700, 5100, 790)) == 0.0
    assert here.outside_m2(shapely.box(5000, 790, 5100, 820)) == pytest.approx(100 * 20)
    assert here.outside_m2(shapely.box(5000, 900, 5100, 920)) == pytest.approx(100 * 20)


def test_a_fixed_line_is_read_within_its_tolerance_and_the_margin():
    here = around(fixed_line=shapely.LineString([(0, 0), (10_000, 0)]))
    assert here.to_edge_m(shapely.Point(5000, 0)) == pytest.approx(TOLERANCE_M + MARGIN_M)
    assert here.outside_m2(shapely.box(5000, 290, 5100, 312)) == pytest.approx(100 * 10)


def test_without_corridor_and_line_nothing_ends():
    assert around().to_edge_m(shapely.Point(0, 0)) == math.inf
    assert around().outside_m2(shapely.box(0, 0, 1, 1)) == 0.0


@given(st.floats(-500, 4500), st.floats(-500, 2500), st.floats(1, 800), st.floats(1, 400))
def test_pieces_under_an_index_answer_as_the_whole_edge_does(west_m, south_m, width_m, height_m):
    area = shapely.box(west_m, south_m, west_m + width_m, south_m + height_m)
    region = shapely.buffer(WITH_HOLE, MARGIN_M)
    assert around(outline=WITH_HOLE).to_edge_m(area) == pytest.approx(
        shapely.distance(area, shapely.boundary(region)), abs=1e-9
    )
    assert around(outline=WITH_HOLE).outside_m2(area) == pytest.approx(
        shapely.difference(area, region).area, abs=1e-6
    )
