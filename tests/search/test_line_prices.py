"""Lines over the ground: cut where it changes, priced by what lies below, measured the same twice."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.search.ground_lines import cuts_at, edge_segments
from routescreen.search.line_kernel import edges_met, lines_eur

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Two rows of three pixels, 10 m wide and 5 m high, west edge at 100, north edge at 50; a metre costs
# 1, 2, 4 in the northern row, 8, 16, 32 in the southern one, and 64 outside.
CLASSES = np.arange(6, dtype=np.int64).reshape(2, 3)
CORNER, PIXEL, OUTSIDE = (100.0, 50.0), (10.0, 5.0), 6
RATES = 2.0 ** np.arange(7)[None, :]


def price(*lines: tuple[float, float, float, float], rates: NDArray[np.float64] = RATES) -> list[float]:
    xy, eur = np.array(lines), np.empty(len(lines))
    lines_eur(xy, np.zeros(len(lines), np.int64), rates, CLASSES, CORNER, PIXEL, OUTSIDE, eur)
    return eur.tolist()


@pytest.mark.parametrize(
    ("line", "eur"),
    [
        pytest.param((101.0, 48.0, 107.0, 48.0), 6.0, id="within-one-pixel"),
        pytest.param((107.0, 48.0, 101.0, 48.0), 6.0, id="the-other-way"),
        pytest.param((105.0, 48.0, 125.0, 48.0), 5 * 1 + 10 * 2 + 5 * 4, id="across-three-columns"),
        pytest.param((105.0, 48.0, 105.0, 41.0), 3 * 1 + 4 * 8, id="down-across-two-rows"),
        pytest.param((90.0, 48.0, 110.0, 48.0), 10 * 64 + 10 * 1, id="in-from-outside"),
        pytest.param(
            (100.0, 50.0, 120.0, 40.0), math.hypot(10, 5) * (1 + 16), id="through-the-corner-of-four"
        ),
        pytest.param((101.0, 45.0, 104.0, 45.0), 3 * 8, id="along-an-edge-counts-to-the-south"),
        pytest.param((110.0, 48.0, 110.0, 46.0), 2 * 2, id="along-an-edge-counts-to-the-east"),
        pytest.param((110.0 - 2e-10, 48.0, 110.0 + 2e-10, 46.0), 2 * 2, id="along-an-edge-but-for-rounding"),
        pytest.param((110.0, 48.0, 120.0, 48.0), 10 * 2, id="from-edge-to-edge"),
        pytest.param((105.0, 46.0, 105.0, 46.0), 0.0, id="no-length"),
    ],
)
def test_lines_by_hand(line: tuple[float, float, float, float], eur: float) -> None:
    assert price(line) == [pytest.approx(eur, abs=1e-6)]


PLACES = st.tuples(st.floats(85.0, 145.0), st.floats(30.0, 60.0))


@settings(max_examples=200, deadline=None, derandomize=True)
@given(start=PLACES, end=PLACES)
def test_metres_by_pixel_are_those_that_geometry_finds(
    start: tuple[float, float], end: tuple[float, float]
) -> None:
    """A rate of one in a single class measures the length in its pixel; shapely measures it too."""
    line = shapely.LineString([start, end])
    for number in range(6):
        row, column = divmod(number, 3)
        west, north = CORNER[0] + column * PIXEL[0], CORNER[1] - row * PIXEL[1]
        pixel = shapely.box(west, north - PIXEL[1], west + PIXEL[0], north)
        if shapely.intersection(line, pixel.boundary).length > 0.0:
            return  # along an edge: see the cases by hand
        only = np.zeros((1, 7))
        only[0, number] = 1.0
        found = price((*start, *end), rates=only)[0]
        assert found == pytest.approx(shapely.intersection(line, pixel).length, abs=1e-4)
    assert price((*start, *end), rates=np.ones((1, 7)))[0] == pytest.approx(line.length, abs=1e-9)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(start=PLACES, end=PLACES, share=st.floats(0.0, 1.0))
def test_direction_and_cutting_do_not_matter(
    start: tuple[float, float], end: tuple[float, float], share: float
) -> None:
    between = (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
    whole, back, first, rest = price((*start, *end), (*end, *start), (*start, *between), (*between, *end))
    assert back == pytest.approx(whole, rel=1e-9, abs=1e-4)
    assert first + rest == pytest.approx(whole, rel=1e-9, abs=1e-4)


SQUARE = shapely.box(0.0, 0.0, 10.0, 10.0)
WITH_HOLE = shapely.Polygon(SQUARE.exterior, [shapely.box(4.0, 4.0, 6.0, 6.0).exterior])


@pytest.mark.parametrize(
    ("polygon", "line", "shares"),
    [
        pytest.param(SQUARE, (-5.0, 5.0, 15.0, 5.0), [0.25, 0.75], id="in-and-out"),
        pytest.param(WITH_HOLE, (-5.0, 5.0, 15.0, 5.0), [0.25, 0.45, 0.55, 0.75], id="through-the-hole"),
        pytest.param(SQUARE, (2.0, 2.0, 8.0, 3.0), [], id="inside-all-along"),
        pytest.param(SQUARE, (-5.0, 10.0, 15.0, 10.0), [0.25, 0.75], id="along-an-edge"),
        pytest.param(SQUARE, (-5.0, 5.0, 5.0, 15.0), [0.5], id="touches-a-corner"),
        pytest.param(SQUARE, (10.0, 5.0, 20.0, 5.0), [0.0], id="begins-on-the-edge"),
    ],
)
def test_cuts_at_the_edges_of_the_ground(
    polygon: shapely.Polygon, line: tuple[float, float, float, float], shares: list[float]
) -> None:
    edges = edge_segments(np.array([polygon]))
    tree = shapely.STRtree(shapely.linestrings(edges.reshape(-1, 2, 2)))
    owner, found = cuts_at(np.array([(50.0, 0.0, 60.0, 0.0), line]), tree, edges)
    assert set(owner.tolist()) <= {1}
    assert np.unique(found.round(12)).tolist() == pytest.approx(shares)


END = st.tuples(st.integers(0, 12), st.integers(0, 12))
SEGMENT = st.tuples(END, END).filter(lambda ends: ends[0] != ends[1])


@settings(deadline=None)
@given(line=SEGMENT, edges=st.lists(SEGMENT, min_size=1, max_size=6))
def test_no_edge_that_a_line_meets_goes_uncounted(line: tuple, edges: list[tuple]) -> None:
    # whole coordinates make touching ends and common stretches frequent
    count = np.zeros(1, np.int64)
    edge_xy = np.array(edges, float).reshape(-1, 4)
    first = np.array([0, len(edges)])
    edges_met(np.array([line], float).reshape(1, 4), np.zeros(1, np.int64), edge_xy, first, 1e-6, count)
    is_met = shapely.intersects(shapely.LineString(line), [shapely.LineString(edge) for edge in edges])
    # in doubt too many: those that only lie in line with it, one behind the other
    straight = [shapely.LineString(line).distance(shapely.LineString(edge)) for edge in edges]
    in_line = [
        shapely.MultiPoint([*line, *edge]).convex_hull.area == 0.0 and away > 0.0
        for edge, away in zip(edges, straight, strict=True)
    ]
    assert is_met.sum() <= count[0] <= is_met.sum() + sum(in_line)
