"""Where strings lie behind a reception, by hand and against exact geometry."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from benchmarks.oracles.layout import LayoutOracle
from benchmarks.proof_instances import Size, proof_arrays
from routescreen.search.layout import edges_by_square
from routescreen.search.layout_kernel import Layout, clear_m, layout_of

if TYPE_CHECKING:
    from routescreen.search.arrays import LayoutArrays, SearchArrays

NODES = proof_arrays(0, Size(8, 3, 4))


def edges_of(*fields: shapely.Polygon) -> np.ndarray:
    rows = [np.hstack([xy[:-1], xy[1:]]) for xy in map(shapely.get_coordinates, fields)]
    return np.concatenate(rows) if rows else np.zeros((0, 4))


def land(*fields: shapely.Polygon, cell_m: float = 50.0) -> LayoutArrays:
    return edges_by_square(edges_of(*fields), cell_m)


def arrays(*fields: shapely.Polygon, half_width_m: float = 6.0, most_pieces: int = 4) -> SearchArrays:
    """Return a problem with one method whose reception stands at the origin, on open land."""
    xy = NODES.frame.node_xy_m - NODES.frame.node_xy_m[0, 0]
    ours = land(*fields)._replace(
        is_open=np.ones(xy.shape[:2], bool),
        half_width_m=np.array([half_width_m]),
        ahead_m=np.array([20.0]),
        most_pieces=np.array([most_pieces]),
        tie_in_eur=np.array([1000.0]),
        radius_m=np.array([half_width_m + 12.5]),
    )
    return NODES._replace(frame=NODES.frame._replace(node_xy_m=np.ascontiguousarray(xy)), layout=ours)


def laid(s: SearchArrays, true_m: float, heading_deg: float = 0.0) -> Layout:
    turn = math.radians(heading_deg)
    return Layout(*layout_of(s.layout, 0, 0, 0, 0.0, 0.0, math.cos(turn), math.sin(turn), true_m))


WALL = shapely.box(170.0, -400.0, 175.0, 400.0)  # 150 m of string and 20 m of working room fit before it


@pytest.mark.parametrize(
    ("true_m", "pieces"), [(150.0, 1), (149.0, 1), (150.5, 2), (300.0, 2), (310.0, 3), (600.0, 4), (601.0, 0)]
)
def test_pieces_before_a_wall_without_room_to_turn(true_m: float, pieces: int) -> None:
    aside = (shapely.box(-50.0, 6.5, 175.0, 8.0), shapely.box(-50.0, -8.0, 175.0, -6.5))
    assert laid(arrays(WALL, *aside), true_m) == Layout(pieces, 0.0, 0)


def test_open_country_needs_one_piece_whatever_the_length() -> None:
    assert laid(arrays(), 1500.0) == Layout(1, 0.0, 0)


def test_strings_turn_before_a_wall_rather_than_lie_in_two_pieces() -> None:
    """400 m of string: at 75 degrees they come 98 m nearer to the wall, at 60 degrees 193 m."""
    found = laid(arrays(WALL), 400.0)
    assert (found.n_pieces, abs(found.n_kinks), found.bend_m) == (1, 5, 20.0)
    leg_m = 2.0 * 18.5 * math.tan(math.radians(7.5))

    def reach_m(n_kinks: int) -> float:
        """Return how far the outer edge comes towards the wall."""
        turns = [math.radians(15.0 * k) for k in range(1, n_kinks + 1)]
        legs = [leg_m] * (n_kinks - 1) + [400.0 - leg_m * (n_kinks - 1)]
        middle = 20.0 + sum(leg * math.cos(turn) for leg, turn in zip(legs, turns, strict=True))
        return middle + 6.0 * math.sin(turns[-1])

    assert reach_m(5) < 170.0 < reach_m(4)


def test_strings_turn_as_little_as_they_can() -> None:
    """Past the corner of a field at y = 5 one kink to the right is enough."""
    corner = shapely.box(200.0, 5.0, 900.0, 400.0)
    found = laid(arrays(corner), 400.0)
    assert (found.n_pieces, found.n_kinks) == (1, -1)


def test_land_that_is_closed_at_the_shaft_bears_nothing() -> None:
    s = arrays(WALL)
    s.layout.is_open[0, 0] = False
    assert laid(s, 10.0) == Layout(0, 0.0, 0)
    assert laid(arrays(shapely.box(15.0, -40.0, 18.0, 40.0)), 10.0).n_pieces == 0  # no room to work


def millimetres(least_m: float, most_m: float) -> st.SearchStrategy[float]:
    """Return lengths as a survey gives them: the exact geometry divides by zero at 1e-287 m."""
    return st.integers(round(1000.0 * least_m), round(1000.0 * most_m)).map(lambda mm: mm / 1000.0)


fields = st.lists(
    st.builds(
        lambda x, y, w, h, turn: shapely.affinity.rotate(shapely.box(x, y, x + w, y + h), turn),
        millimetres(-300.0, 500.0),
        millimetres(-300.0, 300.0),
        millimetres(0.5, 200.0),
        millimetres(0.5, 200.0),
        st.integers(0, 900).map(lambda tenths_deg: tenths_deg / 10.0),
    ),
    min_size=1,
    max_size=6,
)


@settings(max_examples=200, deadline=None)
@given(
    fields=fields,
    heading=st.floats(-math.pi, math.pi),
    half_m=st.floats(1.0, 30.0),
    cell_m=st.floats(15.0, 120.0),
)
def test_a_band_is_clear_just_as_far_as_exact_geometry_says(
    fields: list[shapely.Polygon], heading: float, half_m: float, cell_m: float
) -> None:
    ux, uy = math.cos(heading), math.sin(heading)
    far = clear_m(land(*fields, cell_m=cell_m), 3.0, -2.0, ux, uy, half_m, 600.0)
    edges = shapely.union_all([field.exterior for field in fields])

    def band(length_m: float) -> shapely.Polygon:
        a, b = np.array([3.0, -2.0]), np.array([3.0 + length_m * ux, -2.0 + length_m * uy])
        aside = half_m * np.array([-uy, ux])
        return shapely.Polygon([a - aside, b - aside, b + aside, a + aside])

    if far > 1e-3:
        assert not band(far - 1e-3).intersects(edges)
    if far < 600.0:
        assert shapely.distance(band(far + 1e-3), edges) < 1e-9


@pytest.mark.parametrize("seed", range(12))
def test_layouts_of_random_problems_are_those_of_trying_all(seed: int) -> None:
    s = proof_arrays(seed, Size(15, 4, 5))
    oracle, rng = LayoutOracle(s), np.random.default_rng(seed)
    n_columns, n_rows = s.layout.is_open.shape
    for _ in range(40):
        launch, reception = ((int(rng.integers(n_columns)), int(rng.integers(n_rows))) for _ in range(2))
        if launch == reception:
            continue
        for method in range(len(s.layout.most_pieces)):
            true_m = float(rng.uniform(10.0, 120.0))
            along = s.frame.node_xy_m[reception] - s.frame.node_xy_m[launch]
            along /= np.hypot(*along)
            place = map(float, s.frame.node_xy_m[reception])
            found = Layout(*layout_of(s.layout, method, *reception, *place, *map(float, along), true_m))
            assert found.n_pieces == (oracle.n_pieces(method, launch, reception, true_m) or 0)
