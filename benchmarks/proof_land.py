"""Land for the pipe strings of the invented corridors of the proof."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from routescreen.search.layout import edges_by_square, open_land

if TYPE_CHECKING:
    from routescreen.search.arrays import LayoutArrays

Floats = NDArray[np.float64]


def proof_land(rng: np.random.Generator, node_xy_m: Floats, n_methods: int, longest_m: float) -> LayoutArrays:
    """Lay rectangles that bear no string over and round the frame, in three instances out of four."""
    shape = node_xy_m.shape[:2]
    if rng.random() < 0.25:
        return open_land(n_methods, shape)
    nodes = node_xy_m.reshape(-1, 2)
    low, high = nodes.min(axis=0) - longest_m, nodes.max(axis=0) + longest_m
    n_fields = int(rng.integers(3, 6 + int(np.prod(high - low) / 2500.0)))
    fields = [_field(rng, low, high) for _ in range(n_fields)]
    points = shapely.points(nodes)
    is_open = ~shapely.intersects(shapely.union_all(fields), points).reshape(shape)
    xy_m = np.array([shapely.get_coordinates(field) for field in fields])
    edges = np.concatenate([xy_m[:, :-1], xy_m[:, 1:]], axis=2).reshape(-1, 4)
    half_width_m = rng.uniform(2.0, 7.0, n_methods)
    has_layout = rng.random(n_methods) < 0.8
    return edges_by_square(edges, cell_m=float(rng.uniform(8.0, 60.0)))._replace(
        is_open=is_open,
        half_width_m=half_width_m,
        ahead_m=rng.uniform(3.0, 15.0, n_methods),
        most_pieces=np.where(has_layout, rng.integers(1, 6, n_methods), 0),
        tie_in_eur=rng.uniform(50.0, 900.0, n_methods),
        radius_m=half_width_m + rng.uniform(3.0, 30.0, n_methods),
    )


def _field(rng: np.random.Generator, low: Floats, high: Floats) -> shapely.Polygon:
    """Return a rectangle at any angle, 4 to 40 m by 4 to 40 m."""
    size, angle = rng.uniform(4.0, 40.0, 2) / 2.0, rng.uniform(0.0, np.pi)
    corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * size
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return shapely.Polygon(rng.uniform(low, high) + corners @ turn.T)


def turn_land(land: LayoutArrays) -> LayoutArrays:
    """Return the land of a corridor walked from its other end."""
    edges = land.segment_xy_m * np.array([-1.0, 1.0, -1.0, 1.0])
    squares = edges_by_square(edges, cell_m=land.cell_m)
    return land._replace(
        segment_xy_m=squares.segment_xy_m,
        cell_key=squares.cell_key,
        cell_start=squares.cell_start,
        cell_segment=squares.cell_segment,
        is_open=land.is_open[::-1].copy(),
    )
